//! The profile of a map along a line: means over a band that is cut into steps of about one pixel.
//!
//! A step takes each pixel by the area that lies in it (the pixel's square cut by the step's rectangle). A band along rows
//! or columns that begins at pixel edges therefore takes whole pixels; a slanting one shares a pixel between neighbouring
//! steps, whose means are then not independent.

use crate::grid::{Grid, Mask, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Interval, garwood};

/// Where the line runs, in pixels of the map: pixel (0, 0) covers 0..1 x 0..1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Begin (x, y).
    pub from: (f64, f64),
    /// End (x, y).
    pub to: (f64, f64),
    /// Width across the line.
    pub width: f64,
}

/// Longest line and widest band, in pixels.
const LARGEST: f64 = 100_000.0;

impl Band {
    /// Length of the line; `None` for a band that is none: ends that are not finite or the same, a width not above 0, more
    /// than 100 000 pixels either way.
    pub fn length(&self) -> Option<f64> {
        let (dx, dy) = (self.to.0 - self.from.0, self.to.1 - self.from.1);
        let length = (dx * dx + dy * dy).sqrt();
        let usable = |v: f64| v > 0.0 && v <= LARGEST;
        (usable(length) && usable(self.width)).then_some(length)
    }

    /// Number of steps: the length in whole pixels, at least one.
    pub fn steps(&self) -> Option<u32> {
        self.length().map(|length| length.round().max(1.0) as u32)
    }
}

/// One step of a profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Distance of its middle from the begin of the line, in pixels.
    pub at: f64,
    /// Area of map pixels in it, in pixels; less than step times width where the band leaves the map.
    pub area: f64,
    /// The part of that area that has values.
    pub judged: f64,
    /// The part of that area that is saturated.
    pub saturated: f64,
    /// Mean of the values, weighted by area; `None` without values or where anything is saturated: it would be too low.
    pub mean: Option<f64>,
    /// 95 % interval of the mean from counting alone; `None` without a mean, or where a value is negative.
    pub counting: Option<Interval>,
}

/// The steps of a band over a map. NaN is left out. The interval holds for counts only: Garwood's, for a weighted sum scaled
/// to a Poisson count of the same mean and variance (after M. P. Fay and E. J. Feuer, Stat. Med. 16 (1997) 791, from
/// memory); for whole pixels it is Garwood's for their sum. A band that is none ([`Band::length`]) has no steps.
///
/// # Errors
/// Out of memory.
pub fn profile(values: &Grid<f64>, saturated: &Mask, band: &Band) -> Result<Vec<Step>, OutOfMemory> {
    let (Some(length), Some(steps)) = (band.length(), band.steps()) else { return Ok(Vec::new()) };
    let along = ((band.to.0 - band.from.0) / length, (band.to.1 - band.from.1) / length);
    let across = (-along.1, along.0);
    let (step, half) = (length / f64::from(steps), 0.5 * band.width);
    let mut out = try_vec(u64::from(steps))?;
    for k in 0..steps {
        let (begin, end) = (f64::from(k) * step, f64::from(k + 1) * step);
        let corner = |s: f64, t: f64| {
            (band.from.0 + s * along.0 + t * across.0, band.from.1 + s * along.1 + t * across.1)
        };
        let rectangle = [corner(begin, -half), corner(end, -half), corner(end, half), corner(begin, half)];
        out.push(sum_up(values, saturated, &rectangle, 0.5 * (begin + end)));
    }
    Ok(out)
}

fn sum_up(values: &Grid<f64>, saturated: &Mask, rectangle: &[(f64, f64); 4], at: f64) -> Step {
    let range = |pick: fn(&(f64, f64)) -> f64, size: u32| {
        let low = rectangle.iter().map(pick).fold(f64::INFINITY, f64::min);
        let high = rectangle.iter().map(pick).fold(f64::NEG_INFINITY, f64::max);
        let size = f64::from(size);
        (low.floor().clamp(0.0, size) as u32, high.ceil().clamp(0.0, size) as u32)
    };
    let (left, right) = range(|p| p.0, values.width());
    let (top, bottom) = range(|p| p.1, values.height());
    let mut found = Step { at, area: 0.0, judged: 0.0, saturated: 0.0, mean: None, counting: None };
    let (mut sum, mut squares, mut largest, mut lowest) = (0.0, 0.0, 0.0f64, f64::INFINITY);
    for y in top..bottom {
        for x in left..right {
            let area = shared_area(f64::from(x), f64::from(y), rectangle);
            if area <= 1e-12 {
                continue;
            }
            found.area += area;
            let i = y as usize * values.width() as usize + x as usize;
            let value = values.data()[i];
            if saturated.data()[i] {
                found.saturated += area;
            } else if !value.is_nan() {
                found.judged += area;
                sum += area * value;
                squares += area * area * value;
                largest = largest.max(area);
                lowest = lowest.min(value);
            }
        }
    }
    if found.judged > 0.0 && found.saturated == 0.0 {
        found.mean = Some(sum / found.judged);
        if lowest >= 0.0 {
            // One count stands for `one` of the weighted sum; without counts for the largest share of a pixel.
            let one = if sum > 0.0 { squares / sum } else { largest };
            let Interval { low, high } = garwood(sum / one, 0.05);
            let scale = one / found.judged;
            found.counting = Some(Interval { low: low * scale, high: high * scale });
        }
    }
    found
}

/// Area that the pixel with its corner at (x, y) shares with a rectangle: the square, cut at the four sides in turn
/// (Sutherland and Hodgman's clipping), then the area of what is left.
fn shared_area(x: f64, y: f64, rectangle: &[(f64, f64); 4]) -> f64 {
    // A convex shape of four corners cut four times has at most eight.
    let mut shape = [(0.0, 0.0); 8];
    // Coordinates from the pixel's corner keep the digits of the area.
    shape[..4].copy_from_slice(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]);
    let mut corners = 4;
    for side in 0..4 {
        let (p, q) = (rectangle[side], rectangle[(side + 1) % 4]);
        let (px, py, dx, dy) = (p.0 - x, p.1 - y, q.0 - p.0, q.1 - p.1);
        // Above 0 inside: the rectangle turns from x to y, as its corners are given.
        let inside = |c: (f64, f64)| dx * (c.1 - py) - dy * (c.0 - px);
        let mut cut = [(0.0, 0.0); 8];
        let mut kept = 0;
        for i in 0..corners {
            let (c, next) = (shape[i], shape[(i + 1) % corners]);
            let (here, there) = (inside(c), inside(next));
            if here >= 0.0 && kept < 8 {
                cut[kept] = c;
                kept += 1;
            }
            if (here > 0.0 && there < 0.0 || here < 0.0 && there > 0.0) && kept < 8 {
                let share = here / (here - there);
                cut[kept] = (c.0 + share * (next.0 - c.0), c.1 + share * (next.1 - c.1));
                kept += 1;
            }
        }
        (shape, corners) = (cut, kept);
        if corners < 3 {
            return 0.0;
        }
    }
    let twice: f64 = (0..corners)
        .map(|i| {
            let (a, b) = (shape[i], shape[(i + 1) % corners]);
            a.0 * b.1 - a.1 * b.0
        })
        .sum();
    (0.5 * twice).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp() -> (Grid<f64>, Mask) {
        let values = (0..200).map(|i| f64::from(i % 20)).collect();
        (Grid::from_vec(20, 10, values).unwrap(), Mask::try_filled(20, 10, false).unwrap())
    }

    fn band(from: (f64, f64), to: (f64, f64), width: f64) -> Band {
        Band { from, to, width }
    }

    #[test]
    fn along_a_row_the_steps_are_whole_pixels_with_garwoods_interval() {
        let (values, saturated) = ramp();
        let steps = profile(&values, &saturated, &band((0.0, 4.5), (20.0, 4.5), 3.0)).unwrap();
        assert_eq!(steps.len(), 20);
        for (x, step) in steps.iter().enumerate() {
            assert_eq!((step.at, step.area, step.mean), (x as f64 + 0.5, 3.0, Some(x as f64)));
            let Interval { low, high } = garwood(3.0 * x as f64, 0.05);
            let got = step.counting.unwrap();
            assert!((got.low - low / 3.0).abs() < 1e-12 && (got.high - high / 3.0).abs() < 1e-12);
        }
    }

    #[test]
    fn backwards_is_the_same_the_other_way_round() {
        let (values, saturated) = ramp();
        let there = profile(&values, &saturated, &band((2.0, 1.0), (17.0, 8.0), 2.5)).unwrap();
        let back = profile(&values, &saturated, &band((17.0, 8.0), (2.0, 1.0), 2.5)).unwrap();
        for (a, b) in there.iter().zip(back.iter().rev()) {
            assert!((a.mean.unwrap() - b.mean.unwrap()).abs() < 1e-9 && (a.area - b.area).abs() < 1e-9);
        }
    }

    #[test]
    fn a_slanting_band_inside_the_map_has_its_whole_area_and_follows_the_slope() {
        let (values, saturated) = ramp();
        let line = band((3.0, 3.0), (15.0, 7.0), 1.7);
        let steps = profile(&values, &saturated, &line).unwrap();
        let step = line.length().unwrap() / steps.len() as f64;
        for s in &steps {
            assert!((s.area - step * 1.7).abs() < 1e-9, "{s:?}");
            // The ramp is x - 1/2 at pixel centres: its mean over a symmetric band is near that at the middle.
            let x = 3.0 + s.at / line.length().unwrap() * 12.0;
            assert!((s.mean.unwrap() - (x - 0.5)).abs() < 0.35, "{s:?} {x}");
        }
    }

    #[test]
    fn blank_saturated_negative_and_outside() {
        let (mut values, mut saturated) = ramp();
        values.data_mut()[0] = f64::NAN;
        saturated.data_mut()[2] = true;
        values.data_mut()[3] = -1.0;
        let steps = profile(&values, &saturated, &band((-2.0, 0.5), (5.0, 0.5), 1.0)).unwrap();
        let seen: Vec<_> = steps.iter().map(|s| (s.area, s.judged, s.mean, s.counting.is_some())).collect();
        let want = [
            (0.0, 0.0, None, false),
            (0.0, 0.0, None, false),
            (1.0, 0.0, None, false),
            (1.0, 1.0, Some(1.0), true),
            (1.0, 0.0, None, false),
            (1.0, 1.0, Some(-1.0), false),
            (1.0, 1.0, Some(4.0), true),
        ];
        assert_eq!(seen, want);
        assert_eq!(steps[4].saturated, 1.0);
    }

    #[test]
    fn a_step_without_counts_is_below_something_and_not_nothing() {
        let values = Grid::try_filled(10, 3, 0.0).unwrap();
        let saturated = Mask::try_filled(10, 3, false).unwrap();
        let steps = profile(&values, &saturated, &band((0.0, 1.5), (10.0, 1.5), 3.0)).unwrap();
        let interval = steps[0].counting.unwrap();
        assert!(interval.low == 0.0 && (interval.high - 3.688_879_45 / 3.0).abs() < 1e-6, "{interval:?}");
    }

    #[test]
    fn what_is_no_band_has_no_steps() {
        let (values, saturated) = ramp();
        for line in [
            band((1.0, 1.0), (1.0, 1.0), 2.0),
            band((1.0, 1.0), (5.0, 1.0), 0.0),
            band((f64::NAN, 1.0), (5.0, 1.0), 1.0),
            band((0.0, 0.0), (1e9, 0.0), 1.0),
        ] {
            assert_eq!(profile(&values, &saturated, &line).unwrap(), []);
        }
    }
}
