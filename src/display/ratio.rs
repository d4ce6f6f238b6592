//! A count-ratio map on a diverging scale around the ratio of sums.

use super::key::{KeyEntry, Tick};
use super::resample::{Sampled, Sampler};
use super::{Picture, canvas, occurring, opaque, patterned};
use crate::class::Class;
use crate::colour::{CLASS_COLOURS, LOWER_LIMIT, NO_DATA, Rgb, UPPER_LIMIT, diverging};
use crate::geometry::Window;
use crate::grid::{Grid, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::figure::rounded;
use crate::numerics::math::log2;
use crate::numerics::order;

/// What is drawn.
pub struct RatioScale {
    /// What the bar measures, as "Ti K / Fe K".
    pub label: String,
    /// What the key calls pixels where only A is detected, where only B is, and where neither is.
    pub fills: [String; 3],
    /// The middle of the scale.
    pub middle: f64,
}

/// Factors at which a scale may end.
const ENDS: [f64; 9] = [1.25, 1.5, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0, 100.0];

/// Draws it. Only pixels where both are detected have a place on the scale; where one is not, the ratio has only a limit,
/// and a fill says which. The scale is even in the logarithm of the ratio and ends at the smallest of a few round factors
/// that holds 95 % of these pixels. Downscaled, places on the scale are averaged.
pub fn picture_of_ratio(
    raster: &Grid<f64>,
    states: &Grid<u8>,
    scale: &RatioScale,
    window: &Window,
) -> Result<Picture, OutOfMemory> {
    let place = |ratio: f64| log2(ratio / scale.middle);
    let end = end_of(raster, states, scale.middle)?;
    let reach = log2(end);
    let mut rgba = canvas(window)?;
    let mut sampler = Sampler::new(window, raster.width(), raster.height())?;
    let nearest = Sampler::new(window, raster.width(), raster.height())?;
    let occurs = occurring(states);
    let fill_of = |state: u8| match state {
        s if s == Class::AOnly as u8 => LOWER_LIMIT,
        s if s == Class::BOnly as u8 => UPPER_LIMIT,
        s if s == Class::Neither as u8 => CLASS_COLOURS[1],
        s if s == Class::Blank as u8 => NO_DATA,
        _ => CLASS_COLOURS[5],
    };
    for (y, row) in rgba.chunks_exact_mut(window.out_width as usize * 4).enumerate() {
        let y = y as u32;
        let places = |line: u32, out: &mut [f64]| {
            for ((slot, &ratio), &state) in out.iter_mut().zip(raster.row(line)).zip(states.row(line)) {
                let has_place = state == Class::Both as u8 && ratio > 0.0;
                *slot = if has_place { (place(ratio) / reach).clamp(-1.0, 1.0) } else { f64::NAN };
            }
        };
        sampler.row(y, places, |x, sampled| {
            let colour = match sampled {
                Sampled::Outside => return,
                Sampled::Value(t) => opaque(diverging(t)),
                Sampled::Blank => {
                    let state = nearest.nearest(x as u32, y).and_then(|(x, y)| states.get(x, y).copied());
                    patterned(&fill_of(state.unwrap_or(0)), x as u32, y)
                }
            };
            row[x * 4..x * 4 + 4].copy_from_slice(&colour);
        });
    }
    let colours: Vec<Rgb> = (0..=16).map(|i| diverging(f64::from(i) / 8.0 - 1.0)).collect();
    let half = [1.25, 1.5, 2.0, 3.0, 5.0, 10.0].into_iter().rev().find(|f| f * f <= end + 1e-9);
    let mut ticks = vec![(-1.0, scale.middle / end), (0.0, scale.middle), (1.0, scale.middle * end)];
    if let Some(half) = half {
        let at = log2(half) / reach;
        ticks.extend([(-at, scale.middle / half), (at, scale.middle * half)]);
    }
    ticks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let ticks =
        ticks.into_iter().map(|(t, ratio)| Tick { at: (t + 1.0) / 2.0, text: rounded(ratio, 2) }).collect();
    let mut key = vec![KeyEntry::Bar { label: scale.label.clone(), colours, ticks }];
    let [only_a, only_b, neither] = &scale.fills;
    for (state, label) in
        [(3usize, only_b.as_str()), (2, only_a), (1, neither), (5, "cannot be judged"), (0, "no data")]
    {
        if occurs[state] {
            key.push(KeyEntry::Fill { label: label.into(), colour: fill_of(state as u8) });
        }
    }
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key })
}

fn end_of(raster: &Grid<f64>, states: &Grid<u8>, middle: f64) -> Result<f64, OutOfMemory> {
    let mut factors = try_vec(raster.len())?;
    let pixels = raster.data().iter().zip(states.data());
    let both = pixels.filter(|(ratio, state)| **state == Class::Both as u8 && **ratio > 0.0);
    factors.extend(both.map(|(&ratio, _)| (ratio / middle).max(middle / ratio)));
    let wanted = order::low_quantile_unsorted(&mut factors, 0.95).unwrap_or(1.0);
    Ok(ENDS.into_iter().find(|&end| end >= wanted).unwrap_or(ENDS[8]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_is_pale_and_the_ends_are_the_ends_of_the_scale() {
        let raster = Grid::from_vec(4, 1, vec![0.5, 0.25, 1.0, f64::NAN]).unwrap();
        let states = Grid::from_vec(4, 1, vec![4, 4, 4, 2]).unwrap();
        let scale = RatioScale {
            label: "A / B".into(),
            fills: ["at least".into(), "at most".into(), "neither".into()],
            middle: 0.5,
        };
        let picture = picture_of_ratio(&raster, &states, &scale, &Window::whole(4, 1)).unwrap();
        assert_eq!(&picture.rgba[..3], &diverging(0.0).0);
        assert_eq!(&picture.rgba[4..7], &diverging(-1.0).0);
        assert_eq!(&picture.rgba[8..11], &diverging(1.0).0);
        let KeyEntry::Bar { ticks, .. } = &picture.key[0] else { panic!() };
        let texts: Vec<&str> = ticks.iter().map(|t| t.text.as_str()).collect();
        assert_eq!(texts, ["0.25", "0.40", "0.50", "0.62", "1.0"]);
        assert!(matches!(&picture.key[1], KeyEntry::Fill { label, .. } if label == "at least"));
    }
}
