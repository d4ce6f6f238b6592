//! How far every second line is displaced against its neighbours, as a scan read in both directions leaves them.
//!
//! Each odd line is held against the lines above and below, all stabilised so that noise is alike everywhere, at whole
//! lags from -8 to 8. (What leans in the object leans away from the one and towards the other.) The squared difference
//! summed over all lines and maps is a smooth curve with its minimum at the shift. The curve is smoothed with a Gaussian
//! *over the lags*; the lines are never interpolated: interpolated noise is less noise, and a minimum over interpolated
//! lines is drawn to half pixels. The error is that of the jackknife over blocks of lines, so that what the object does
//! from line to line is in it.

use super::recipe::plain;
use super::values::by_lines;
use super::{Direction, Input};
use crate::grid::{Grid, try_filled_vec};
use crate::kind::Kind;
use crate::notice::OutOfMemory;
use crate::numerics::figure::rounded;
use crate::numerics::math::exp;
use crate::numerics::stabilise::anscombe;
use serde::Serialize;

/// Largest lag that is looked at.
const LAGS: usize = 8;
/// Lags from the end at which no minimum is believed, so that both of its sides are seen.
const RIM: f64 = 3.0;
/// Standard deviation of the Gaussian over the lags: wide enough that lags between whole numbers are known (its
/// spectrum is down to 3e-9 where whole lags repeat).
const SMOOTH: f64 = 1.0;
/// Fewest blocks of lines for the jackknife, and most.
const BLOCKS: (usize, usize) = (8, 24);
/// Lines in a block: neighbouring blocks share the noise of one line, which must be a small part of them.
const LINES_IN_BLOCK: usize = 4;
/// The minimum must lie this many standard errors of noise below the curve two pixels beside it; less is chance, of
/// which there are some ten independent places to look at. And it must not rest on one part of the map: the same depth
/// against its scatter over blocks of lines.
const DEPTH: (f64, f64) = (6.0, 3.0);
/// Variance of that depth for each pair of pixels whose squared difference has the mean 1 (Gaussian of 1 px over the
/// lags: 0.282 of one lag's variance, times 1 + 1/2 less twice the correlation exp(-1) over two pixels).
const DEPTH_VARIANCE: f64 = 0.218;
/// What edges finer than a pixel leave open in px: where the same edge runs through many lines, their scatter does not
/// show it. From simulated scans with edges of no width.
const OF_EDGES_PX: f64 = 0.01;
/// A shift is told from 0 beyond this many standard errors. Two would offer a repair on one sound scan in twenty.
pub const BEYOND: f64 = 3.0;
/// Less than this is not worth the price: moved lines are smeared by part of a pixel.
const LEAST_PX: f64 = 0.05;

/// How far every second line must be moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineShift {
    /// The move that brings the odd lines (1, 3, ... from 0) back, in pixels, positive towards larger x; `None` where
    /// the maps have no feature to tell it by.
    pub shift_px: Option<f64>,
    /// Its standard error, from the scatter over blocks of lines, with 0.01 px for edges finer than a pixel and widened
    /// for the number of blocks, so that twice the error holds 95 %.
    pub standard_error_px: Option<f64>,
    /// Whether the shift is told from 0: beyond three standard errors and at least 0.05 px.
    pub is_told: bool,
    /// Depth of the minimum in standard errors of noise; below 6 it is taken for chance.
    pub depth: Option<f64>,
    /// Pairs of neighbouring lines that were used, of all maps.
    pub lines: u64,
    /// Why there is no shift to repair, or what was found, as one sentence.
    pub text: String,
}

/// Squared differences of one block of lines at each lag, divided by nothing.
type Curve = [f64; 2 * LAGS + 1];

struct Blocks {
    curves: Vec<Curve>,
    lines: u64,
    pixels: f64,
}

/// The stabilised map: counts by Anscombe; other values by the root if none is negative, else as they are. The scale of
/// a map does not matter later.
fn stabilised(input: &Input<'_>, direction: Direction) -> Result<Grid<f64>, OutOfMemory> {
    let mut grid = by_lines(input.values, direction)?;
    let counts = input.kind == Kind::Window;
    let has_negative = grid.data().iter().any(|&v| v < 0.0);
    for value in grid.data_mut() {
        if counts {
            *value = anscombe(*value);
        } else if !has_negative {
            *value = value.sqrt();
        }
    }
    Ok(grid)
}

/// Adds the squared differences of an odd line and an even one beside it to `curve`, and gives how many pixels were
/// compared; `None` if too few. `room` has the width of the map, three times.
fn hold_against(
    odd: &[f64],
    even: &[f64],
    [line, other, weight]: [&mut [f64]; 3],
    curve: &mut Curve,
) -> Option<f64> {
    let width = line.len();
    weight.fill(0.0);
    let mut since_blank = 0;
    for x in 0..width {
        since_blank = if even[x].is_nan() { 0 } else { since_blank + 1 };
        other[x] = if even[x].is_nan() { 0.0 } else { even[x] };
        line[x] = if odd[x].is_nan() { 0.0 } else { odd[x] };
        // A position is used at all lags or at none, so that the lags are compared on the same pixels.
        if since_blank > 2 * LAGS && !odd[x - LAGS].is_nan() {
            weight[x - LAGS] = 1.0;
        }
    }
    let n = crate::numerics::sums::sum(weight);
    if n < 8.0 {
        return None;
    }
    let inside = LAGS..width - LAGS;
    for (step, slot) in curve.iter_mut().enumerate() {
        let start = 2 * LAGS - step;
        let shifted = &other[start..start + inside.len()];
        let (mut sums, mut squares) = ([0.0f64; 8], [0.0f64; 8]);
        let own = line[inside.clone()].chunks(8).zip(weight[inside.clone()].chunks(8));
        for ((a, w), b) in own.zip(shifted.chunks(8)) {
            for lane in 0..a.len() {
                let d = w[lane] * (a[lane] - b[lane]);
                sums[lane] += d;
                squares[lane] += d * d;
            }
        }
        let tree = |l: [f64; 8]| ((l[0] + l[4]) + (l[2] + l[6])) + ((l[1] + l[5]) + (l[3] + l[7]));
        // The line's own level is left out: lines may differ in brightness.
        *slot += tree(squares) - tree(sums) * tree(sums) / n;
    }
    Some(n)
}

/// Curves of one map, by block of lines.
fn blocks_of(grid: &Grid<f64>) -> Result<Option<Blocks>, OutOfMemory> {
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let pairs = height.saturating_sub(1);
    let many = (pairs / LINES_IN_BLOCK).clamp(BLOCKS.0, BLOCKS.1);
    if width < 2 * LAGS + 8 || pairs < 2 * many {
        return Ok(None);
    }
    let mut room = [
        try_filled_vec(width as u64, 0.0)?,
        try_filled_vec(width as u64, 0.0)?,
        try_filled_vec(width as u64, 0.0)?,
    ];
    let mut curves = try_filled_vec(many as u64, [0.0; 2 * LAGS + 1])?;
    let (mut lines, mut pixels, mut held) = (0u64, 0.0, [0u64; BLOCKS.1]);
    let data = grid.data();
    let row = |y: usize| &data[y * width..(y + 1) * width];
    for y in 0..pairs {
        let block = y * many / pairs;
        let (odd, even) = if y % 2 == 1 { (y, y + 1) } else { (y + 1, y) };
        let [a, b, c] = &mut room;
        if let Some(n) = hold_against(row(odd), row(even), [a, b, c], &mut curves[block]) {
            pixels += n;
            lines += 1;
            held[block] += 1;
        }
    }
    Ok((held.iter().filter(|&&n| n > 0).count() >= BLOCKS.0).then_some(Blocks { curves, lines, pixels }))
}

/// The curve between whole lags: a mean of the lags around, weighted by a Gaussian. Weights sum to 1, so that the floor
/// of noise, which is most of the curve, is flat.
fn between(curve: &Curve, lag: f64) -> f64 {
    let (mut sum, mut weights) = (0.0, 0.0);
    for (step, value) in curve.iter().enumerate() {
        let off = (step as f64 - LAGS as f64 - lag) / SMOOTH;
        let weight = exp(-0.5 * off * off);
        sum += weight * value;
        weights += weight;
    }
    sum / weights
}

/// The lag of the minimum between two ends, by golden section.
fn minimum(curve: &Curve, mut low: f64, mut high: f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_a, mut at_b) = (between(curve, a), between(curve, b));
    for _ in 0..30 {
        if at_a <= at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - GOLDEN * (high - low);
            at_a = between(curve, a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + GOLDEN * (high - low);
            at_b = between(curve, b);
        }
    }
    0.5 * (low + high)
}

/// The lowest point over all lags that are believed; `None` where it lies at an end.
fn lowest(curve: &Curve) -> Option<f64> {
    let far = LAGS as f64 - RIM;
    let steps = (8.0 * far) as i32;
    let at = |i: i32| f64::from(i) / 4.0 - far;
    let best = (0..=steps)
        .min_by(|&a, &b| between(curve, at(a)).total_cmp(&between(curve, at(b))))
        .filter(|&i| i > 0 && i < steps)?;
    Some(minimum(curve, at(best) - 0.25, at(best) + 0.25))
}

fn sum_without(curves: &[Curve], left_out: Option<usize>) -> Curve {
    let mut out = [0.0; 2 * LAGS + 1];
    for (_, curve) in curves.iter().enumerate().filter(|(i, _)| Some(*i) != left_out) {
        out.iter_mut().zip(curve).for_each(|(o, c)| *o += c);
    }
    out
}

/// Jackknife over blocks (J. W. Tukey, Ann. Math. Stat. 29 (1958) 614, from memory): the standard error of `figure`.
fn jackknife(curves: &[Curve], figure: impl Fn(&Curve) -> f64) -> f64 {
    let n = curves.len() as f64;
    let parts: Vec<f64> = (0..curves.len()).map(|i| figure(&sum_without(curves, Some(i)))).collect();
    let mean = crate::numerics::sums::sum(&parts) / n;
    ((n - 1.0) / n * crate::numerics::sums::squared_deviations(&parts, mean)).sqrt()
}

fn untold(text: &str) -> LineShift {
    LineShift {
        shift_px: None,
        standard_error_px: None,
        is_told: false,
        depth: None,
        lines: 0,
        text: text.to_owned(),
    }
}

/// How far the odd lines of one scan must be moved, from all its maps together. Total: maps that carry no answer give
/// the reason in `text`. Maps of another size than the first are not used. Blocks of the same lines are summed over
/// maps, each map weighted by its own noise.
pub fn estimate_line_shift(inputs: &[Input<'_>], direction: Direction) -> Result<LineShift, OutOfMemory> {
    let Some(first) = inputs.first() else { return Ok(untold("No map to look at.")) };
    let size = |i: &Input<'_>| (i.values.width(), i.values.height());
    let mut curves: Vec<Curve> = Vec::new();
    let (mut lines, mut pixels) = (0, 0.0);
    for input in inputs.iter().filter(|input| size(input) == size(first)) {
        let Some(found) = blocks_of(&stabilised(input, direction)?)? else { continue };
        let floor = sum_without(&found.curves, None).into_iter().fold(f64::INFINITY, f64::min);
        // A map without any scatter has no noise to be weighted by, and a constant one nothing to tell.
        if floor.is_nan() || floor <= 0.0 {
            continue;
        }
        // So that a squared difference has the mean 1 in every map.
        let scale = found.pixels / floor;
        lines += found.lines;
        pixels += found.pixels;
        // Maps of one size have the same blocks.
        curves.resize(found.curves.len(), [0.0; 2 * LAGS + 1]);
        for (sum, curve) in curves.iter_mut().zip(&found.curves) {
            sum.iter_mut().zip(curve).for_each(|(s, v)| *s += v * scale);
        }
    }
    // Blocks of blank lines are no evidence.
    curves.retain(|curve| curve.iter().any(|&v| v > 0.0));
    if curves.len() < BLOCKS.0 {
        return Ok(untold(
            "No shift can be told: there are too few lines with data, or nothing in them changes. At least 17 lines of 24 pixels are needed.",
        ));
    }
    Ok(judged(&curves, lines, pixels))
}

fn judged(curves: &[Curve], lines: u64, pixels: f64) -> LineShift {
    let whole_curve = sum_without(curves, None);
    let featureless = "No shift can be told: the maps have too little in them that stands out of the noise.";
    let Some(lag) = lowest(&whole_curve) else { return LineShift { lines, ..untold(featureless) } };
    let depth_of =
        |curve: &Curve| 0.5 * (between(curve, lag - 2.0) + between(curve, lag + 2.0)) - between(curve, lag);
    let depth = depth_of(&whole_curve) / (DEPTH_VARIANCE * pixels).sqrt();
    let over_blocks = depth_of(&whole_curve) / jackknife(curves, depth_of);
    let scatter = jackknife(curves, |curve| minimum(curve, lag - 1.0, lag + 1.0));
    // Student's t over the normal quantile at 95 %, as a series in 1 / freedom (0.3 % off at 7).
    let freedom = curves.len() as f64 - 1.0;
    let widened = 1.0 + 1.2 / freedom + 1.6 / (freedom * freedom);
    let error = (scatter * scatter * widened * widened + OF_EDGES_PX * OF_EDGES_PX).sqrt();
    let stands_out = depth >= DEPTH.0 && over_blocks >= DEPTH.1 && error.is_finite();
    if !stands_out {
        let depth = Some(depth).filter(|d| d.is_finite());
        return LineShift { lines, depth, ..untold(featureless) };
    }
    // The odd lines stand `lag` to the right of the others; they go back by as much.
    let shift = -lag;
    let is_told = shift.abs() > BEYOND * error && shift.abs() >= LEAST_PX;
    let figures = format!("{} ± {} px", plain((shift * 1e3).round() / 1e3), rounded(error, 2));
    let text = if is_told {
        format!(
            "Every second line, from the second on, is displaced; moving these lines by {figures} brings them back."
        )
    } else if shift.abs() <= BEYOND * error {
        format!("No shift of every second line can be told from none: {figures}.")
    } else {
        format!(
            "Every second line is displaced by less than {LEAST_PX} px ({figures}), which is not worth moving it."
        )
    };
    LineShift {
        shift_px: Some(shift),
        standard_error_px: Some(error),
        is_told,
        depth: Some(depth),
        lines,
        text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parabolas_have_their_minimum_where_it_is() {
        let curve: Curve = core::array::from_fn(|i| (i as f64 - LAGS as f64 - 1.3).powi(2));
        assert!((lowest(&curve).unwrap() - 1.3).abs() < 1e-3);
        assert_eq!(lowest(&[1.0; 17]), None);
        assert_eq!(lowest(&core::array::from_fn(|i| i as f64)), None);
    }
}
