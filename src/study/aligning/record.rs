//! How something is laid on the grid, as it stands in a record.

use crate::geometry::{Orientation, PlaneTransform, Point};
use crate::notice::Fault;
use crate::study::Laid;
use serde::{Deserialize, Serialize};

/// The most matching points.
pub const MOST_POINTS: usize = 500;
/// Farther than this from its origin no point lies.
const FARTHEST: f64 = 1e7;
/// The same in a record, where places are those of the file: turned, they lie farther out by the size of what is aligned.
const FARTHEST_OF_FILE: f64 = 2.0 * FARTHEST;

/// A matching point: the same place in what is aligned and on the grid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // said above
pub struct PointPair {
    pub from: [f64; 2],
    pub to: [f64; 2],
}

/// How something was laid on the grid. Places of what is aligned are those of its file, places of the grid those of the
/// grid as it lay then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AlignmentRecord {
    /// A word of [`crate::register::Model`]; `None` for the one that suits the number of points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub model: Option<String>,
    /// Matching points; with `transform` they only check it.
    pub points: Vec<PointPair>,
    /// A transform that was found or handed in, row by row.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transform: Option<[f64; 9]>,
    /// How the grid lay.
    pub laid: Laid,
}

/// What is aligned, and how: `photo`, or `map` for the scan that it belongs to.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AlignSettings {
    /// A photo by id or name.
    pub photo: Option<String>,
    /// A map of another scan.
    pub map: Option<String>,
    /// "similarity", "affine", "homography", "piecewise"; left out, the one that suits the number of points.
    pub model: Option<String>,
    /// Matching points. None, and no transform: the alignment is taken away.
    pub points: Vec<PointPair>,
    /// A transform that was found, from what is aligned as it lies now to the grid as it lies now, row by row.
    pub transform: Option<[f64; 9]>,
}

impl AlignSettings {
    /// Reads them as they come from a caller.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        let read: Self = serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The alignment is not understood: {error}.")))?;
        if read.points.len() > MOST_POINTS {
            return Err(Fault::bad_setting(format!("There are at most {MOST_POINTS} matching points.")));
        }
        if !read.points.iter().all(|pair| pair.is_within(FARTHEST)) {
            return Err(Fault::bad_setting("A matching point is given by two places: `from` and `to`."));
        }
        Ok(read)
    }
}

impl PointPair {
    fn is_within(&self, farthest: f64) -> bool {
        self.from.iter().chain(&self.to).all(|v| v.abs() <= farthest)
    }

    /// The same pair with its places moved.
    pub(super) fn moved(&self, from: &PlaneTransform, to: &PlaneTransform) -> Self {
        let moved = |rule: &PlaneTransform, [x, y]: [f64; 2]| {
            let (x, y): Point = rule.at((x, y)).unwrap_or((x, y));
            [x, y]
        };
        Self { from: moved(from, self.from), to: moved(to, self.to) }
    }
}

impl AlignmentRecord {
    /// True if this program can have written it.
    pub(in crate::study) fn is_sound(&self) -> bool {
        let transform = self.transform.is_none_or(|matrix| PlaneTransform::new(matrix).is_some());
        let model =
            self.model.as_deref().is_none_or(|word| crate::register::Model::from_word(word).is_some());
        let points = self.points.iter().all(|pair| pair.is_within(FARTHEST_OF_FILE));
        self.points.len() <= MOST_POINTS && points && transform && model
    }

    /// What moves places of the grid as it lay then to where they lie now.
    pub(super) fn grid_turn(&self, now: Orientation) -> PlaneTransform {
        PlaneTransform::laid(self.laid.turn_to(now), self.laid.size())
    }
}
