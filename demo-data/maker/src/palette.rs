//! The materials of the chart.

use crate::paint::{Paint, Seen};

// Order of the numbers: Ca, Ti, Mn, Fe, Cu, Zn, Pb, Hg. All are invented to look plausible.

/// The board.
pub const OAK: Paint = Paint {
    adds: [5.0, 0.0, 0.5, 0.6, 0.0, 0.3, 0.0, 0.0],
    passes: [0.0; 8],
    colour: [92, 64, 40],
    hides: 1.0,
    seen: Some(Seen::Oak),
};
/// Rag paper with its size and chalk.
pub const PAPER: Paint = Paint {
    adds: [58.0, 0.0, 0.1, 0.4, 0.0, 0.1, 0.0, 0.0],
    passes: [0.5, 0.6, 0.7, 0.7, 0.8, 0.8, 0.9, 0.9],
    colour: [226, 207, 166],
    hides: 0.98,
    seen: Some(Seen::Paper),
};
/// Dirt that water carried.
pub const STAIN: Paint = Paint {
    adds: [4.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    passes: [1.0; 8],
    colour: [140, 96, 46],
    hides: 0.35,
    seen: None,
};
/// Iron-gall ink with a little zinc.
pub const IRON_GALL: Paint = Paint {
    adds: [0.0, 0.0, 0.0, 88.0, 0.6, 7.5, 0.0, 0.0],
    passes: [0.97; 8],
    colour: [44, 30, 22],
    hides: 0.92,
    seen: Some(Seen::IronGall),
};
/// Red earth: iron, with titanium and manganese at fixed shares.
pub const RED_EARTH: Paint = Paint {
    adds: [8.0, 58.0, 15.0, 255.0, 0.0, 1.0, 0.0, 0.0],
    passes: [0.6, 0.65, 0.75, 0.75, 0.8, 0.8, 0.9, 0.9],
    colour: [150, 70, 40],
    hides: 0.9,
    seen: Some(Seen::RedEarth),
};
/// Copper green.
pub const COPPER_GREEN: Paint = Paint {
    adds: [0.0, 0.0, 0.0, 0.5, 210.0, 0.8, 0.0, 0.0],
    passes: [0.7, 0.75, 0.8, 0.85, 0.9, 0.9, 0.9, 0.9],
    colour: [58, 136, 104],
    hides: 0.82,
    seen: Some(Seen::CopperGreen),
};
/// Red lead.
pub const RED_LEAD: Paint = Paint {
    adds: [0.0, 0.0, 0.0, 0.4, 0.0, 0.0, 310.0, 0.0],
    passes: [0.12, 0.22, 0.36, 0.4, 0.5, 0.55, 0.7, 0.7],
    colour: [214, 84, 36],
    hides: 0.95,
    seen: Some(Seen::RedLead),
};
/// Lead white.
pub const LEAD_WHITE: Paint = Paint {
    adds: [0.0, 0.0, 0.0, 0.3, 0.0, 0.0, 190.0, 0.0],
    passes: [0.16, 0.28, 0.42, 0.48, 0.58, 0.62, 0.75, 0.75],
    colour: [240, 236, 222],
    hides: 0.93,
    seen: Some(Seen::LeadWhite),
};
/// Vermilion.
pub const VERMILION: Paint = Paint {
    adds: [0.0, 0.0, 0.0, 0.3, 0.0, 0.0, 0.0, 235.0],
    passes: [0.1, 0.2, 0.32, 0.36, 0.48, 0.54, 0.6, 0.7],
    colour: [196, 40, 34],
    hides: 0.96,
    seen: Some(Seen::Vermilion),
};
/// Retouch of titanium white and zinc white.
pub const REPAIR: Paint = Paint {
    adds: [6.0, 74.0, 0.0, 0.0, 0.0, 118.0, 0.0, 0.0],
    passes: [0.22, 0.3, 0.36, 0.34, 0.5, 0.5, 0.62, 0.62],
    colour: [232, 228, 214],
    hides: 0.95,
    seen: Some(Seen::Repair),
};
/// Wrought iron of the tacks.
pub const IRON: Paint = Paint {
    adds: [0.0, 0.0, 3.0, 190.0, 0.5, 0.5, 0.0, 0.0],
    passes: [0.05; 8],
    colour: [52, 46, 44],
    hides: 1.0,
    seen: Some(Seen::Iron),
};
