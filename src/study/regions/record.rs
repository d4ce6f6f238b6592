//! What is handed in of a region, and how it stands in a record.

use super::colour::{ColourRecord, ColourSettings};
use crate::element::Element;
use crate::geometry::Orientation;
use crate::notice::Fault;
use crate::region::{Rectangle, RegionRole};
use serde::{Deserialize, Serialize};

/// More regions than this a study does not hold: each has a mask of the size of a map.
pub const MOST_REGIONS: usize = 256;
/// More corners than this a polygon does not have: far more than a hand can draw.
pub const MOST_CORNERS: usize = 20_000;
/// Characters of a name.
pub const LONGEST_NAME: usize = 120;
/// The most pixels by which a region grows or shrinks.
pub const MOST_GROWTH: u32 = 64;

/// A region as it is handed in: a name, a role, and one shape. Places are pixels of the grid as the maps lie now.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RegionSettings {
    /// Unique among the regions; "Region 1" and so on where there is none.
    pub name: Option<String>,
    /// A word of [`RegionRole`].
    pub role: Option<String>,
    /// Symbol of the one element that it is taken to be pure in, in a reference region; empty for none.
    pub pure: Option<String>,
    /// Pixels whose centre is in it.
    pub rectangle: Option<RectangleRecord>,
    /// Corners; even-odd rule.
    pub polygon: Option<Vec<[f64; 2]>>,
    /// One number for each pixel of the grid, row by row; 0 is outside.
    pub mask: Option<Vec<u8>>,
    /// The bytes of a PNG of the grid's size.
    pub mask_png: Option<Vec<u8>>,
    /// Values of a map.
    pub threshold: Option<ThresholdSettings>,
    /// Classes of an answer.
    pub classes: Option<ClassesSettings>,
    /// Values of two maps.
    pub cloud: Option<CloudSettings>,
    /// Colours of a photo.
    pub colour: Option<ColourSettings>,
    /// Other regions.
    pub combine: Option<CombineSettings>,
}

/// A rectangle in pixels of the grid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names say it all
pub struct RectangleRecord {
    pub x: f64,
    pub y: f64,
    pub width: f64,
    pub height: f64,
}

/// Where a map is from `low` to `high`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // said above
pub struct ThresholdSettings {
    pub map: String,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

/// Where an answer has one of these classes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // said above
pub struct ClassesSettings {
    pub answer: String,
    pub classes: Vec<u8>,
}

/// Where two maps are within limits: by these, or by a rectangle in the joint plot of an answer.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
#[allow(missing_docs)] // said above
pub struct CloudSettings {
    /// The answer; `from` and `to` are opposite corners in shares of its axes, upward.
    pub answer: Option<String>,
    pub from: Option<[f64; 2]>,
    pub to: Option<[f64; 2]>,
    pub a: Option<String>,
    pub b: Option<String>,
    pub a_low: Option<f64>,
    pub a_high: Option<f64>,
    pub b_low: Option<f64>,
    pub b_high: Option<f64>,
    /// Only pixels of this region.
    pub region: Option<String>,
}

/// How regions become one.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CombineSettings {
    /// The operation.
    pub how: CombineWord,
    /// Regions by id or name.
    pub of: Vec<String>,
    /// Pixels, for growing and shrinking; 1 where it is not given.
    pub by_px: Option<u32>,
}

/// The word of an operation on regions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)] // the names say it all
pub enum CombineWord {
    And,
    Or,
    Without,
    Grown,
    Shrunk,
}

/// A region as it stands in a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegionRecord {
    /// Number in its id.
    pub number: u32,
    /// What it is called (untrusted text).
    pub name: String,
    /// A word of [`RegionRole`].
    pub role: String,
    /// Symbol of the one element that it is taken to be pure in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pure: Option<String>,
    /// How it is made.
    pub shape: Shape,
}

/// How a drawn shape or a mask lay when it was made: turns and mirror of the stack, and the size of the grid then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // said above
pub struct Laid {
    pub turns: u8,
    pub mirror: bool,
    pub width: u32,
    pub height: u32,
}

impl Laid {
    pub(in crate::study) fn of(orientation: Orientation, (width, height): (u32, u32)) -> Self {
        Self { turns: orientation.quarter_turns(), mirror: orientation.is_mirrored(), width, height }
    }

    pub(in crate::study) fn size(self) -> (u32, u32) {
        (self.width, self.height)
    }

    /// What brings it to how the stack lies now.
    pub(in crate::study) fn turn_to(self, now: Orientation) -> Orientation {
        Orientation::new(self.turns, self.mirror).inverse().then(now)
    }
}

/// How a region is made. Maps are named as [`super::super::Record::maps`] names them, regions by their numbers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "how", rename_all = "lowercase", deny_unknown_fields)]
#[allow(missing_docs)] // the names are those of the settings
pub enum Shape {
    Rectangle {
        rectangle: RectangleRecord,
        laid: Laid,
    },
    Polygon {
        polygon: Vec<[f64; 2]>,
        laid: Laid,
    },
    /// A mask that was handed in, as lengths of runs ([`crate::region::runs_of`]).
    Mask {
        runs: String,
        laid: Laid,
    },
    Threshold {
        map: String,
        low: Option<f64>,
        high: Option<f64>,
    },
    /// Pixels as an answer had them: with the maps that it rests on and what they are in words.
    Classes {
        runs: String,
        laid: Laid,
        made_from: Vec<String>,
        text: String,
    },
    Cloud {
        a: String,
        b: String,
        a_low: Option<f64>,
        a_high: Option<f64>,
        b_low: Option<f64>,
        b_high: Option<f64>,
        /// Only pixels of this region.
        within: Option<u32>,
    },
    /// Like picked colours of a photo.
    Colour(ColourRecord),
    Combine {
        operation: CombineWord,
        of: Vec<u32>,
        by_px: u32,
    },
}

impl RegionSettings {
    /// Reads `{name?, role?, rectangle | polygon | ...}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The region is not understood: {error}.")))
    }

    /// How many shapes are given.
    pub(super) fn shapes(&self) -> usize {
        [
            self.rectangle.is_some(),
            self.polygon.is_some(),
            self.mask.is_some(),
            self.mask_png.is_some(),
            self.threshold.is_some(),
            self.classes.is_some(),
            self.cloud.is_some(),
            self.colour.is_some(),
            self.combine.is_some(),
        ]
        .into_iter()
        .map(usize::from)
        .sum()
    }
}

impl Shape {
    /// The maps that it is made of, by key.
    pub fn maps(&self) -> Vec<&str> {
        match self {
            Self::Rectangle { .. }
            | Self::Polygon { .. }
            | Self::Mask { .. }
            | Self::Colour(_)
            | Self::Combine { .. } => Vec::new(),
            Self::Threshold { map, .. } => vec![map],
            Self::Classes { made_from, .. } => made_from.iter().map(String::as_str).collect(),
            Self::Cloud { a, b, .. } => vec![a, b],
        }
    }

    /// The regions that it is made of, by number.
    pub fn regions(&self) -> Vec<u32> {
        match self {
            Self::Combine { of, .. } => of.clone(),
            Self::Cloud { within, .. } => within.iter().copied().collect(),
            _ => Vec::new(),
        }
    }

    /// True where its pixels change with those of maps or other regions, and not only as the grid is turned.
    pub(in crate::study) fn follows(&self) -> bool {
        matches!(self, Self::Threshold { .. } | Self::Cloud { .. } | Self::Combine { .. })
    }

    /// True where its pixels change with how a photo is laid.
    pub(in crate::study) fn follows_photos(&self) -> bool {
        self.photo().is_some()
    }

    /// The photo that it is made of, by key.
    pub fn photo(&self) -> Option<&str> {
        match self {
            Self::Colour(of) => Some(&of.photo),
            _ => None,
        }
    }

    /// The word for `how`.
    pub(super) fn word(&self) -> &'static str {
        match self {
            Self::Rectangle { .. } => "rectangle",
            Self::Polygon { .. } => "polygon",
            Self::Mask { .. } => "mask",
            Self::Threshold { .. } => "threshold",
            Self::Classes { .. } => "classes",
            Self::Cloud { .. } => "cloud",
            Self::Colour(_) => "colour",
            Self::Combine { .. } => "combine",
        }
    }
}

impl From<RectangleRecord> for Rectangle {
    fn from(RectangleRecord { x, y, width, height }: RectangleRecord) -> Self {
        Self { x, y, width, height }
    }
}

impl From<Rectangle> for RectangleRecord {
    fn from(Rectangle { x, y, width, height }: Rectangle) -> Self {
        Self { x, y, width, height }
    }
}

/// The role of a word.
///
/// # Errors
/// A word that is none.
/// The symbol of the element that a region is taken to be pure in; `None` for an empty one.
pub(super) fn pure_of(symbol: Option<&str>) -> Result<Option<String>, Fault> {
    let Some(symbol) = symbol.map(str::trim).filter(|symbol| !symbol.is_empty()) else { return Ok(None) };
    match Element::from_symbol(symbol) {
        Some(element) => Ok(Some(element.symbol().into())),
        None => Err(Fault::bad_setting(format!(
            "“{symbol}” is no element. Write the one that the region is taken to be pure in as a symbol, for example Pb."
        ))),
    }
}

pub(super) fn role_of(word: &str) -> Result<RegionRole, Fault> {
    RegionRole::from_word(word.trim()).ok_or_else(|| {
        let all = RegionRole::ALL.map(RegionRole::word).join(", ");
        Fault::bad_setting(format!("“{word}” is no role of a region. There are: {all}."))
    })
}
