//! Pictures and maps that have nothing to do with each other, or not enough.

use limner::grid::Grid;
use limner::numerics::chance::Chance;
use limner::numerics::math::{exp, pow, sin};

/// Pixels by a rule.
pub fn picture(width: u32, height: u32, mut of: impl FnMut(u32, u32) -> [f64; 3]) -> Grid<[u8; 3]> {
    let data = (0..width * height)
        .map(|i| of(i % width, i / width).map(|v| v.round().clamp(0.0, 255.0) as u8))
        .collect();
    Grid::from_vec(width, height, data).unwrap()
}

/// Another painting: patches of a few colours with curved borders, in a dark frame.
pub fn other_painting(seed: u64) -> Grid<[u8; 3]> {
    let mut chance = Chance::new(seed);
    let waves: Vec<[f64; 4]> = (0..6)
        .map(|_| {
            let mut next = || chance.share();
            [0.005 + 0.025 * next(), 0.005 + 0.025 * next(), 6.3 * next(), 0.5 + next()]
        })
        .collect();
    let paints = [
        [196.0, 60.0, 40.0],
        [228.0, 214.0, 180.0],
        [60.0, 96.0, 70.0],
        [40.0, 44.0, 92.0],
        [150.0, 120.0, 60.0],
    ];
    picture(632, 472, |x, y| {
        if x < 28 || y < 28 || x >= 604 || y >= 444 {
            return [52.0, 38.0, 30.0];
        }
        let (u, v) = (f64::from(x), f64::from(y));
        let height: f64 =
            waves.iter().map(|[a, b, c, d]| d * sin(a * u + b * v + c) * sin(b * u - a * v)).sum();
        let base = paints[((height + 3.0).max(0.0) as usize).min(4)];
        base.map(|c| c + 6.0 * chance.normal())
    })
}

/// Noise in every pixel.
pub fn noise(seed: u64) -> Grid<[u8; 3]> {
    let mut chance = Chance::new(seed);
    picture(632, 472, |_, _| [0; 3].map(|_: i32| 255.0 * chance.share()))
}

/// Clouds of colour: noise with patterns of every size up to a quarter of the field.
pub fn clouds(seed: u64) -> Grid<[u8; 3]> {
    let mut chance = Chance::new(seed);
    let spots: Vec<([f64; 4], [f64; 3])> = (0..140)
        .map(|i| {
            let radius = 140.0 / pow(f64::from(i) + 1.0, 0.5);
            let place = [632.0 * chance.share(), 472.0 * chance.share(), radius, 0.0];
            (place, [0; 3].map(|_: i32| 160.0 * (chance.share() - 0.5)))
        })
        .collect();
    picture(632, 472, |x, y| {
        let mut out = [128.0; 3];
        for ([u, v, r, _], colour) in &spots {
            let d = (f64::from(x) - u) * (f64::from(x) - u) + (f64::from(y) - v) * (f64::from(y) - v);
            let weight = exp(-d / (r * r));
            (0..3).for_each(|k| out[k] += weight * colour[k]);
        }
        out
    })
}

/// Counts by a rule for their mean.
pub fn map(seed: u64, mean: impl Fn(u32, u32) -> f64) -> Grid<f32> {
    let mut chance = Chance::new(seed);
    let data = (0..300 * 220).map(|i| chance.poisson(mean(i % 300, i / 300)) as f32).collect();
    Grid::from_vec(300, 220, data).unwrap()
}

/// How a photo was taken otherwise: gamma, gain of each channel, noise of this spread, all on the code values.
pub fn taken_otherwise(
    photo: &Grid<[u8; 3]>,
    gamma: f64,
    gains: [f64; 3],
    spread: f64,
    seed: u64,
) -> Grid<[u8; 3]> {
    let mut chance = Chance::new(seed);
    picture(photo.width(), photo.height(), |x, y| {
        let rgb = photo.get(x, y).unwrap();
        core::array::from_fn(|k| {
            255.0 * pow(f64::from(rgb[k]) / 255.0, gamma) * gains[k] + spread * chance.normal()
        })
    })
}

/// Each pixel of a map as `by` x `by` pixels with Poisson counts of a sixth of it as their mean.
pub fn enlarged(map: &Grid<f32>, by: u32, seed: u64) -> Grid<f32> {
    let mut chance = Chance::new(seed);
    let (width, height) = (map.width() * by, map.height() * by);
    let data = (0..width * height)
        .map(|i| chance.poisson(f64::from(map.row(i / width / by)[(i % width / by) as usize]) / 6.0) as f32)
        .collect();
    Grid::from_vec(width, height, data).unwrap()
}

/// Each pixel of a photo as `by` x `by` pixels.
pub fn enlarged_photo(photo: &Grid<[u8; 3]>, by: u32) -> Grid<[u8; 3]> {
    let (width, height) = (photo.width() * by, photo.height() * by);
    let data = (0..width * height).map(|i| photo.row(i / width / by)[(i % width / by) as usize]).collect();
    Grid::from_vec(width, height, data).unwrap()
}

/// Poisson counts of a part of each count as their mean.
pub fn thinned(map: &Grid<f32>, part: f64, seed: u64) -> Grid<f32> {
    let mut chance = Chance::new(seed);
    let data = map.data().iter().map(|v| chance.poisson(part * f64::from(*v)) as f32).collect();
    Grid::from_vec(map.width(), map.height(), data).unwrap()
}

/// In black and white.
pub fn grey(photo: &Grid<[u8; 3]>) -> Grid<[u8; 3]> {
    picture(photo.width(), photo.height(), |x, y| {
        let [r, g, b] = photo.row(y)[x as usize].map(f64::from);
        [0.3 * r + 0.6 * g + 0.1 * b; 3]
    })
}
