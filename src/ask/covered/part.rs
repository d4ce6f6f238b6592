//! What `covered` adds to an answer.

use crate::ask::answer::Number;
use serde::{Deserialize, Serialize};

/// Pairs of lines, the layer, how thick it would be.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct CoveredPart {
    /// Pairs of lines of one element, the most telling first.
    pub pairs: Vec<PairRow>,
    /// The layer that was chosen; `None` for any.
    pub layer: Option<LayerText>,
    /// How thick that layer would be, in µm.
    pub thickness_um: Number,
    /// Other layers that would do the same.
    pub others: Vec<OtherLayer>,
    /// Out of what depth the signal comes.
    pub depth: Vec<DepthText>,
}

/// Two lines of one element in both regions.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PairRow {
    /// "Hg L / Hg M".
    pub pair: String,
    /// The map of the harder line, by label.
    pub hard: String,
    /// The map of the softer one.
    pub soft: String,
    /// Counts of the harder for each of the softer in the region.
    pub here: Number,
    /// The same in the region that is taken as bare.
    pub bare: Number,
    /// The first over the second: above 1 where the softer line is weakened.
    pub ratio: Number,
    /// What follows.
    pub text: String,
    /// Whether a verdict may rest on it.
    pub usable: bool,
}

/// A layer.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LayerText {
    /// Its key.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What was assumed of it.
    pub text: String,
}

/// Another layer that would weaken as much.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct OtherLayer {
    /// Its key.
    pub id: String,
    /// Its name.
    pub name: String,
    /// How thick it would be, in µm.
    pub thickness_um: Number,
    /// In words.
    pub text: String,
}

/// Out of what depth a line comes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct DepthText {
    /// The map.
    pub line: String,
    /// Half of its counts come from above this depth, in µm; `None` where no paint of the element is known here.
    pub half_um: Option<f64>,
    /// In words.
    pub text: String,
}
