//! How far a place may be off: from the errors that the points leave and from where the place lies among them.

use super::super::Pair;
use super::checks::places;
use super::homography::place_and_slopes;
use super::hull::{distance_outside, outline};
use super::normal::Normal;
use super::trouble::Side;
use super::{Model, squared};
use crate::geometry::{PlaneTransform, Point};
use crate::numerics::cholesky;

/// What is assumed of a point before any error is seen: one standard deviation of setting it, in grid pixels, across and
/// down. Common practice, no source.
pub const SETTING_PX: f64 = 0.5;

/// What is needed to say how well a place is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    model: Model,
    normal: Normal,
    /// Between normalised places; used by homographies only.
    aslant: Vec<f64>,
    /// Cholesky factor of the sums of products of slopes.
    lower: Vec<f64>,
    /// Of one coordinate, in grid pixels squared.
    variance: f64,
    is_assumed: bool,
    warp: Option<Warp>,
}

/// What a place outside the points of a warped support may be off in addition.
#[derive(Debug, Clone, PartialEq)]
struct Warp {
    /// Of one coordinate of the points about the affine map that fits them best, in grid pixels squared.
    variance: f64,
    outline: Vec<Point>,
    /// How far the points reach, across and down in the mean.
    extent: f64,
}

impl Warp {
    /// Variance of one coordinate that the warp adds outside the points, where its last value is kept. As for the simplest
    /// warp, a parabola over the whole extent, which at its end is as steep as the root of 180 times its spread over the extent:
    /// at a share d of the extent outside, 180 d² times its variance in two coordinates, 90 d² in each.
    fn beyond(&self, from: Point, noise: f64) -> f64 {
        let share = distance_outside(&self.outline, from) / self.extent;
        90.0 * share * share * (self.variance - noise).max(0.0)
    }
}

impl Spread {
    /// For a plane that was fitted to pairs by `model`. `None` if the points do not hold it.
    pub fn of(
        model: Model,
        plane: &PlaneTransform,
        pairs: &[Pair],
        from: Normal,
        to: Normal,
    ) -> Option<Self> {
        let aslant = match (model, from.transform(), to.transform()) {
            (Model::Homography, Some(a), Some(b)) => {
                a.inverse().then(plane)?.then(&b)?.matrix()[..8].to_vec()
            }
            _ => Vec::new(),
        };
        let k = parameters(model);
        let mut spread = Self {
            model,
            normal: from,
            aslant,
            lower: vec![0.0; k * k],
            variance: SETTING_PX * SETTING_PX,
            is_assumed: true,
            warp: None,
        };
        for pair in pairs {
            for row in spread.slopes(pair.from) {
                for i in 0..k {
                    (0..k).for_each(|j| spread.lower[i * k + j] += row[i] * row[j]);
                }
            }
        }
        cholesky::decompose(&mut spread.lower, k)?;
        Some(spread)
    }

    /// With the variance that sums of squares leave over so many free numbers; one point of the assumed error is added, so
    /// that few points that agree by luck are not believed to be without error.
    pub fn with_errors(mut self, squares: f64, free: f64) -> Self {
        self.variance = (squares + 2.0 * SETTING_PX * SETTING_PX) / (free + 2.0);
        self.is_assumed = free < 0.5;
        self
    }

    /// With the warp that triangles follow inside the points and nothing is known of outside: the sum of squares that the
    /// affine map under it leaves.
    pub fn with_warp(mut self, pairs: &[Pair], squares: f64) -> Self {
        let outline = outline(&places(pairs, Side::From));
        let lengths = outline.iter().flat_map(|a| outline.iter().map(|b| squared(&(a.0 - b.0, a.1 - b.1))));
        let extent = (0.5 * lengths.fold(0.0, f64::max)).sqrt();
        let variance = squares / (2.0 * pairs.len() as f64 - 6.0);
        self.warp = Some(Warp { variance, outline, extent });
        self
    }

    /// True where the points leave no error to be seen, so that only [`SETTING_PX`] speaks.
    pub fn is_assumed(&self) -> bool {
        self.is_assumed
    }

    /// The fit's own variance at a place of the picture, as a share of the variance of one coordinate: across, of both, down
    /// (for an affine fit its leverage, nothing, and its leverage again).
    pub fn leverage(&self, from: Point) -> [f64; 3] {
        let k = parameters(self.model);
        let [across, down] = self.slopes(from).map(|row| {
            let mut part = row[..k].to_vec();
            cholesky::solve_lower(&self.lower, k, &mut part);
            part
        });
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        [product(&across, &across), product(&across, &down), product(&down, &down)]
    }

    /// Expected distance (root of the mean square) between where a place is said to lie and where it lies.
    pub fn error_at(&self, from: Point) -> Option<f64> {
        let beyond = self.warp.as_ref().map_or(0.0, |warp| warp.beyond(from, self.variance));
        let [across, _, down] = self.leverage(from);
        let error = ((self.variance + beyond) * (2.0 + across + down)).sqrt();
        error.is_finite().then_some(error)
    }

    fn slopes(&self, from: Point) -> [[f64; 8]; 2] {
        let (x, y) = self.normal.at(from);
        match self.model {
            Model::Similarity => {
                [[x, -y, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0], [y, x, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0]]
            }
            Model::Homography => place_and_slopes(&self.aslant, (x, y)).1,
            Model::Affine | Model::Piecewise => {
                [[x, y, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, x, y, 1.0, 0.0, 0.0]]
            }
        }
    }
}

/// Free numbers of a model; those of a warp are the ones of the affine map under it.
pub fn parameters(model: Model) -> usize {
    match model {
        Model::Similarity => 4,
        Model::Affine | Model::Piecewise => 6,
        Model::Homography => 8,
    }
}
