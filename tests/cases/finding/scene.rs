//! The example's photo and maps, photos moved in known ways, and pictures that belong to nothing.

use limner::geometry::{PlaneTransform, Point};
use limner::grid::{Grid, Samples};
use limner::numerics::chance::Chance;
use limner::numerics::math::{cos, pow, sin};
use limner::reading::{self, Content};
use limner::register::search::{SearchInput, prepare};
use limner::stack::Plane;
use std::path::Path;

/// Names of the example's maps.
pub const MAPS: [&str; 8] = ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"];

fn content(name: &str) -> Content {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/tern-sound").join(name);
    reading::read(&std::fs::read(path).unwrap(), None).unwrap().content
}

fn samples(name: &str) -> Samples {
    match content(name) {
        Content::Maps(mut maps) => maps.remove(0).samples,
        _ => panic!("{name} is no map"),
    }
}

/// Maps and photo of the example.
pub fn example() -> SearchInput {
    let maps = MAPS
        .iter()
        .map(|name| prepare(&Plane::new(samples(&format!("tern_{name}.tif"))), 1).unwrap())
        .collect();
    let Content::Photo(photo) = content("photo.png") else { panic!("no photo") };
    SearchInput { photo: photo.pixels, photo_factor: 1.0, maps, map_factor: 1.0, aspect: 1.0, start: None }
}

/// Where a place of the example's photo lies on its maps (`demo-data/maker/src/scan.rs`).
pub fn truth() -> PlaneTransform {
    let (c, s) = (cos(0.009), sin(0.009));
    // x_mm = 0.25 u - 3.8, y_mm = 0.25 v - 4.8; two map pixels a mm.
    PlaneTransform::affine(
        [0.5 * c, 0.5 * s, -2.0 * (3.8 * c + 4.8 * s)],
        [-0.5 * s, 0.5 * c, -2.0 * (4.8 * c - 3.8 * s)],
    )
    .unwrap()
}

/// How a photo is moved: everything in it is turned, enlarged and shifted about its middle, on the same sheet.
#[derive(Debug, Clone, Copy)]
pub struct Move {
    pub degrees: f64,
    pub scale: f64,
    /// As a share of the field of the maps.
    pub shift: (f64, f64),
}

/// The moved photo and its own truth.
pub fn moved(photo: &Grid<[u8; 3]>, by: Move) -> (Grid<[u8; 3]>, PlaneTransform) {
    let (w, h) = (photo.width(), photo.height());
    let (cx, cy) = (0.5 * f64::from(w), 0.5 * f64::from(h));
    // The field is 300 x 220 pixels of the maps: 600 x 440 of the photo.
    let (sx, sy) = (600.0 * by.shift.0, 440.0 * by.shift.1);
    let angle = by.degrees.to_radians();
    let (c, s) = (cos(angle) / by.scale, sin(angle) / by.scale);
    // From a place of the moved photo to its place in the photo.
    let back = PlaneTransform::affine(
        [c, s, cx - c * (cx + sx) - s * (cy + sy)],
        [-s, c, cy + s * (cx + sx) - c * (cy + sy)],
    )
    .unwrap();
    let mut data = Vec::new();
    for y in 0..h {
        for x in 0..w {
            // Nine rays a pixel.
            let mut sum = [0.0; 3];
            for i in 0..9 {
                let place = (
                    f64::from(x) + (f64::from(i % 3) + 0.5) / 3.0,
                    f64::from(y) + (f64::from(i / 3) + 0.5) / 3.0,
                );
                let colour = colour_at(photo, back.at(place).unwrap());
                (0..3).for_each(|k| sum[k] += colour[k] / 9.0);
            }
            data.push(sum.map(|v| v.round() as u8));
        }
    }
    (Grid::from_vec(w, h, data).unwrap(), back.then(&truth()).unwrap())
}

/// Between pixels in proportion; a dark table beside the photo.
fn colour_at(photo: &Grid<[u8; 3]>, place: Point) -> [f64; 3] {
    let (u, v) = (place.0 - 0.5, place.1 - 0.5);
    let (x, y) = (u.floor(), v.floor());
    let mut out = [0.0; 3];
    for (dx, dy) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
        let weight = (1.0 - (u - x - dx).abs()) * (1.0 - (v - y - dy).abs());
        let inside = x + dx >= 0.0 && y + dy >= 0.0;
        let colour = if inside { photo.get((x + dx) as u32, (y + dy) as u32) } else { None };
        let colour = colour.copied().unwrap_or([58, 56, 54]);
        (0..3).for_each(|k| out[k] += weight * f64::from(colour[k]));
    }
    out
}

/// Root mean square distance of both on the grid, over places of the field that are on the moved photo.
pub fn error(found: &PlaneTransform, truth: &PlaneTransform, photo: &Grid<[u8; 3]>) -> f64 {
    let (mut sum, mut n) = (0.0, 0.0);
    for i in 0..15 * 11 {
        let to = (10.0 + 20.0 * f64::from(i % 15), 10.0 + 20.0 * f64::from(i / 15));
        let from = truth.back(to).unwrap();
        let inside = from.0 >= 0.0
            && from.1 >= 0.0
            && from.0 < f64::from(photo.width())
            && from.1 < f64::from(photo.height());
        if inside {
            let place = found.at(from).unwrap();
            sum += (place.0 - to.0) * (place.0 - to.0) + (place.1 - to.1) * (place.1 - to.1);
            n += 1.0;
        }
    }
    (sum / n).sqrt()
}

/// Ten ways of moving, none kind: what issue and README speak of.
pub const TEN: [Move; 10] = [
    Move { degrees: 10.0, scale: 1.0, shift: (0.0, 0.0) },
    Move { degrees: -10.0, scale: 1.0, shift: (0.0, 0.0) },
    Move { degrees: 0.0, scale: 0.7, shift: (0.0, 0.0) },
    Move { degrees: 0.0, scale: 1.4, shift: (0.0, 0.0) },
    Move { degrees: 0.0, scale: 1.0, shift: (0.15, 0.15) },
    Move { degrees: 0.0, scale: 1.0, shift: (-0.15, 0.15) },
    Move { degrees: 7.0, scale: 0.8, shift: (0.1, -0.12) },
    Move { degrees: -6.0, scale: 1.25, shift: (-0.12, -0.08) },
    Move { degrees: 10.0, scale: 0.7, shift: (0.15, 0.15) },
    Move { degrees: -10.0, scale: 1.4, shift: (-0.15, 0.15) },
];

/// Moves by chance within the range.
pub fn by_chance(chance: &mut Chance) -> Move {
    let mut within = |low: f64, high: f64| low + (high - low) * chance.share();
    Move {
        degrees: within(-10.0, 10.0),
        scale: pow(2.0, within(-0.514_573, 0.485_426)),
        shift: (within(-0.15, 0.15), within(-0.15, 0.15)),
    }
}
