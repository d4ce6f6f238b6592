//! Alignment from matching points, with the errors that the points leave and those they would have had if left out.

mod checks;
mod doubtful;
mod homography;
mod hull;
mod linear;
mod model;
mod normal;
mod spread;
#[cfg(test)]
mod tests;
mod trouble;

pub use homography::direct_homography;
pub use model::Model;
pub use spread::SETTING_PX;
pub use trouble::{Side, Trouble};

use super::Pair;
use crate::geometry::{Piecewise, PlaneTransform, Point, Transform};
use spread::Spread;

/// More pairs than this are not fitted: points are set by hand, and each is left out once.
pub const MOST_PAIRS: usize = 500;

/// An alignment and how good it is. All errors are of places on the grid, in grid pixels, predicted minus stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The model that was fitted.
    pub model: Model,
    /// From places of what is aligned to the grid.
    pub transform: Transform,
    /// One for each pair, in their order. Of a piecewise alignment all are zero by construction and say nothing.
    pub errors: Vec<Point>,
    /// The error of each pair when the alignment is fitted to all others; `None` where they don't suffice.
    pub left_out: Vec<Option<Point>>,
    /// Root of the mean squared length of `errors`.
    pub rms: f64,
    /// The same of `left_out`, over the pairs that have one; `None` without any. The honest number, above all with few pairs.
    pub left_out_rms: Option<f64>,
    /// The pair that the others contradict, if there is one: worth a look. Named by chance in about one of a hundred sets
    /// without mistakes; never of a piecewise alignment.
    pub doubtful: Option<usize>,
    spread: Spread,
}

impl Fitted {
    /// Expected distance, in grid pixels, between where a place of the grid is said to lie in the picture and where it lies:
    /// the spread of the points about the fit (of a piecewise alignment: of the left-out errors, and outside the points the
    /// warp that is not followed there), and the fit's own uncertainty at this place, which grows outside the points. It
    /// contains the error of setting the points, and so is rather too large than too small. `None` for places that the alignment does not reach.
    pub fn error_at(&self, to: Point) -> Option<f64> {
        self.spread.error_at(self.transform.back(to)?)
    }

    /// Root of the mean square of [`Self::error_at`] over a grid of this size, at 9 x 9 places of it. `None` where not one of them is
    /// reached.
    pub fn error_over(&self, (width, height): (u32, u32)) -> Option<f64> {
        let share = |i: u32| (f64::from(i) + 0.5) / 9.0;
        let places = (0..81).map(|i| (f64::from(width) * share(i % 9), f64::from(height) * share(i / 9)));
        let errors: Vec<f64> = places.filter_map(|place| self.error_at(place)).collect();
        let squares: f64 = errors.iter().map(|e| e * e).sum();
        (!errors.is_empty()).then(|| (squares / errors.len() as f64).sqrt())
    }

    /// True if the points leave no error to be seen, because there are no more of them than the model needs: `error_at`
    /// then rests on [`SETTING_PX`] alone.
    pub fn is_error_assumed(&self) -> bool {
        self.spread.is_assumed()
    }

    /// Grid pixels per pixel of the picture at one of its places: the root of the ratio of areas.
    pub fn scale_at(&self, from: Point) -> Option<f64> {
        let [a, b, c, d] = self.transform.slopes(from)?;
        Some((a * d - b * c).abs().sqrt())
    }

    /// False where `errors` and `rms` are zero by construction, so that only the left-out errors count.
    pub fn errors_count(&self) -> bool {
        self.model != Model::Piecewise
    }
}

/// Fits a model to pairs. Pairs of a mirrored picture: an affine or aslant alignment takes them as they are; for a
/// similarity, mirror their `from` first.
pub fn fit(pairs: &[Pair], model: Model) -> Result<Fitted, Trouble> {
    checks::checked(pairs, model)?;
    let plane = plane_of(pairs, model)?;
    let (from, to, _) = linear::normalised(pairs);
    let spread = Spread::of(model, &plane, pairs, from, to).ok_or(Trouble::NoResult)?;
    let transform = match model {
        Model::Piecewise => Transform::Piecewise(warped(pairs, &plane)?),
        _ => Transform::Plane(plane.clone()),
    };
    let errors = errors_of(pairs, |from| transform.at(from)).ok_or(Trouble::Horizon)?;
    let squares: f64 = errors.iter().map(squared).sum();
    let left_out = left_out(pairs, model, &errors);
    let spread = if model == Model::Piecewise {
        let (squares, free) = left_over(pairs, &left_out);
        let about = errors_of(pairs, |from| plane.at(from)).ok_or(Trouble::NoResult)?;
        spread.with_errors(squares, free).with_warp(pairs, about.iter().map(squared).sum())
    } else {
        spread.with_errors(squares, 2.0 * pairs.len() as f64 - spread::parameters(model) as f64)
    };
    Ok(Fitted {
        model,
        transform,
        rms: (squares / pairs.len() as f64).sqrt(),
        left_out_rms: rms_of(&left_out),
        doubtful: doubtful::doubtful(pairs, model, &errors, &spread),
        errors,
        left_out,
        spread,
    })
}

/// Triangles between the pairs, continued by the affine fit.
fn warped(pairs: &[Pair], around: &PlaneTransform) -> Result<Piecewise, Trouble> {
    Piecewise::new(&as_places(pairs), around).map_err(|points| match points.is_empty() {
        true => Trouble::NoResult,
        false => Trouble::Folded { points },
    })
}

fn as_places(pairs: &[Pair]) -> Vec<(Point, Point)> {
    pairs.iter().map(|pair| (pair.from, pair.to)).collect()
}

/// The squares of left-out errors, and what they would sum to if every coordinate had the variance 1 and the fit to the
/// others its share of it.
fn left_over(pairs: &[Pair], left_out: &[Option<Point>]) -> (f64, f64) {
    let leverages = linear::leverages(pairs);
    left_out.iter().zip(leverages).fold((0.0, 0.0), |(squares, free), (error, leverage)| match error {
        Some(error) if leverage < 1.0 => (squares + squared(error), free + 2.0 / (1.0 - leverage)),
        _ => (squares, free),
    })
}

fn plane_of(pairs: &[Pair], model: Model) -> Result<PlaneTransform, Trouble> {
    match model {
        Model::Similarity => linear::similarity(pairs),
        Model::Affine | Model::Piecewise => linear::affine(pairs),
        Model::Homography => homography::homography(pairs),
    }
}

/// Predicted minus stated; `None` where a place has no prediction.
fn errors_of(pairs: &[Pair], at: impl Fn(Point) -> Option<Point>) -> Option<Vec<Point>> {
    pairs.iter().map(|pair| at(pair.from).map(|(x, y)| (x - pair.to.0, y - pair.to.1))).collect()
}

/// Errors of pairs left out, one at a time. Those of an affine fit follow from the leverages (PRESS; D. M. Allen,
/// Technometrics 16 (1974) 125, from memory), those of the others from fitting anew.
fn left_out(pairs: &[Pair], model: Model, errors: &[Point]) -> Vec<Option<Point>> {
    let leverages = if model == Model::Affine { linear::leverages(pairs) } else { Vec::new() };
    // Triangles want ten pairs to be worth it; with nine they can be made.
    let needed = if model == Model::Piecewise { Model::Affine } else { model };
    (0..pairs.len())
        .map(|i| {
            let others = without(pairs, i);
            checks::hold(&others, needed).ok()?;
            if let Some(leverage) = leverages.get(i) {
                let rest = 1.0 - leverage;
                return Some((errors[i].0 / rest, errors[i].1 / rest));
            }
            let plane = plane_of(&others, model).ok()?;
            let (x, y) = match model {
                Model::Piecewise => Piecewise::once(&as_places(&others), &plane, pairs[i].from)?,
                _ => plane.at(pairs[i].from)?,
            };
            Some((x - pairs[i].to.0, y - pairs[i].to.1))
        })
        .collect()
}

fn without(pairs: &[Pair], i: usize) -> Vec<Pair> {
    pairs[..i].iter().chain(&pairs[i + 1..]).copied().collect()
}

fn squared(error: &Point) -> f64 {
    error.0 * error.0 + error.1 * error.1
}

fn rms_of(errors: &[Option<Point>]) -> Option<f64> {
    let known = errors.iter().flatten().count();
    let squares: f64 = errors.iter().flatten().map(squared).sum();
    (known > 0).then(|| (squares / known as f64).sqrt())
}
