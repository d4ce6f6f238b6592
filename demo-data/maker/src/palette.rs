//! The materials of the chart: what they are made of, as shares of the mass of the dry layer, binder included.

use crate::paint::{Paint, Seen};

/// All of them, each at its own `index`.
pub const ALL: [&Paint; 22] = [
    &OAK,
    &SHADE,
    &PAPER,
    &EDGE,
    &STAIN,
    &INDIGO,
    &IRON_GALL,
    &RED_EARTH,
    &COPPER_GREEN,
    &RED_LEAD,
    &LEAD_WHITE,
    &VERMILION,
    &WORN,
    &SMALT,
    &YELLOW,
    &BONE_BLACK,
    &BOLE,
    &GOLD,
    &VARNISH,
    &REPAIR,
    &RUST,
    &IRON,
];

/// The board.
pub const OAK: Paint = Paint {
    index: 0,
    id: "oak",
    made_of: &[
        ("C", 0.49),
        ("H", 0.06),
        ("O", 0.447),
        ("Ca", 0.0011),
        ("K", 0.0009),
        ("S", 0.0003),
        ("Cl", 0.0002),
        ("P", 0.0001),
        ("Mn", 0.000_05),
        ("Fe", 0.000_04),
    ],
    density: 0.7,
    full_um: 8000.0,
    colour: [92, 64, 40],
    hides: 1.0,
    seen: Some(Seen::Oak),
};
/// The grain of the board, for the eye only.
pub const SHADE: Paint = Paint {
    index: 1,
    id: "",
    made_of: &[],
    density: 1.0,
    full_um: 0.0,
    colour: [40, 26, 16],
    hides: 0.6,
    seen: None,
};
/// Rag paper with its size and chalk.
pub const PAPER: Paint = Paint {
    index: 2,
    id: "paper_filler",
    made_of: &[
        ("C", 0.415),
        ("H", 0.058),
        ("O", 0.485),
        ("Ca", 0.028),
        ("Si", 0.005),
        ("Al", 0.003),
        ("K", 0.0019),
        ("S", 0.0016),
        ("Cl", 0.0009),
        ("P", 0.0003),
        ("Fe", 0.000_22),
        ("Mn", 0.000_02),
    ],
    density: 0.75,
    full_um: 170.0,
    colour: [226, 207, 166],
    hides: 0.98,
    seen: Some(Seen::Paper),
};
/// Browned edges of the paper, for the eye only.
pub const EDGE: Paint = Paint {
    index: 3,
    id: "",
    made_of: &[],
    density: 1.0,
    full_um: 0.0,
    colour: [140, 96, 46],
    hides: 0.35,
    seen: None,
};
/// Dirt that water carried.
pub const STAIN: Paint = Paint {
    index: 4,
    id: "dust_salts",
    made_of: &[
        ("C", 0.45),
        ("O", 0.46),
        ("H", 0.04),
        ("Ca", 0.025),
        ("K", 0.01),
        ("S", 0.008),
        ("Cl", 0.006),
        ("Fe", 0.001),
    ],
    density: 1.2,
    full_um: 2.0,
    colour: [140, 96, 46],
    hides: 0.35,
    seen: None,
};
/// A wash of indigo in gum.
pub const INDIGO: Paint = Paint {
    index: 5,
    id: "indigo",
    made_of: &[("C", 0.58), ("H", 0.05), ("N", 0.05), ("O", 0.32)],
    density: 1.3,
    full_um: 4.0,
    colour: [108, 140, 152],
    hides: 0.66,
    seen: Some(Seen::Indigo),
};
/// Iron-gall ink with zinc and a little copper of its vitriol.
pub const IRON_GALL: Paint = Paint {
    index: 6,
    id: "iron_gall_ink",
    made_of: &[
        ("C", 0.37),
        ("H", 0.035),
        ("O", 0.405),
        ("Fe", 0.115),
        ("S", 0.048),
        ("Zn", 0.014),
        ("K", 0.011),
        ("Cu", 0.0012),
        ("Mn", 0.0008),
    ],
    density: 1.4,
    full_um: 6.0,
    colour: [44, 30, 22],
    hides: 0.92,
    seen: Some(Seen::IronGall),
};
/// Red earth: iron, with titanium and manganese at fixed shares.
pub const RED_EARTH: Paint = Paint {
    index: 7,
    id: "red_ochre",
    made_of: &[
        ("Fe", 0.27),
        ("O", 0.38),
        ("Si", 0.13),
        ("Al", 0.075),
        ("C", 0.08),
        ("H", 0.01),
        ("Ti", 0.021),
        ("K", 0.014),
        ("Ca", 0.009),
        ("Mn", 0.008),
    ],
    density: 2.3,
    full_um: 13.0,
    colour: [150, 70, 40],
    hides: 0.9,
    seen: Some(Seen::RedEarth),
};
/// Copper green: verdigris in gum.
pub const COPPER_GREEN: Paint = Paint {
    index: 8,
    id: "verdigris",
    made_of: &[("Cu", 0.24), ("C", 0.29), ("H", 0.05), ("O", 0.42)],
    density: 1.6,
    full_um: 14.0,
    colour: [58, 136, 104],
    hides: 0.82,
    seen: Some(Seen::CopperGreen),
};
/// Red lead.
pub const RED_LEAD: Paint = Paint {
    index: 9,
    id: "red_lead",
    made_of: &[("Pb", 0.78), ("O", 0.13), ("C", 0.08), ("H", 0.01)],
    density: 4.8,
    full_um: 12.0,
    colour: [214, 84, 36],
    hides: 0.95,
    seen: Some(Seen::RedLead),
};
/// Lead white.
pub const LEAD_WHITE: Paint = Paint {
    index: 10,
    id: "lead_white",
    made_of: &[("Pb", 0.66), ("O", 0.21), ("C", 0.115), ("H", 0.015)],
    density: 3.4,
    full_um: 11.0,
    colour: [240, 236, 222],
    hides: 0.93,
    seen: Some(Seen::LeadWhite),
};
/// Vermilion.
pub const VERMILION: Paint = Paint {
    index: 11,
    id: "vermilion",
    made_of: &[("Hg", 0.75), ("S", 0.12), ("C", 0.075), ("O", 0.045), ("H", 0.01)],
    density: 4.4,
    full_um: 10.0,
    colour: [196, 40, 34],
    hides: 0.96,
    seen: Some(Seen::Vermilion),
};
/// What is left of vermilion on the worn pennant: a few grains.
pub const WORN: Paint = Paint {
    index: 12,
    id: "vermilion",
    made_of: &[("Hg", 0.30), ("S", 0.048), ("C", 0.35), ("O", 0.27), ("H", 0.032)],
    density: 1.6,
    full_um: 0.05,
    colour: [206, 120, 104],
    hides: 0.7,
    seen: Some(Seen::Pennant),
};
/// Smalt, coarse, in gum.
pub const SMALT: Paint = Paint {
    index: 13,
    id: "smalt",
    made_of: &[
        ("O", 0.43),
        ("Si", 0.27),
        ("C", 0.07),
        ("H", 0.01),
        ("K", 0.09),
        ("Co", 0.052),
        ("As", 0.032),
        ("Fe", 0.016),
        ("Ca", 0.01),
        ("Bi", 0.009),
        ("Ni", 0.007),
        ("Al", 0.004),
    ],
    density: 1.9,
    full_um: 32.0,
    colour: [70, 88, 150],
    hides: 0.9,
    seen: Some(Seen::Smalt),
};
/// Lead-tin yellow of the first type.
pub const YELLOW: Paint = Paint {
    index: 14,
    id: "lead_tin_yellow_i",
    made_of: &[("Pb", 0.62), ("Sn", 0.178), ("O", 0.125), ("C", 0.067), ("H", 0.01)],
    density: 4.2,
    full_um: 16.0,
    colour: [236, 206, 92],
    hides: 0.93,
    seen: Some(Seen::Yellow),
};
/// Bone black in gum.
pub const BONE_BLACK: Paint = Paint {
    index: 15,
    id: "bone_black",
    made_of: &[("Ca", 0.30), ("P", 0.14), ("O", 0.35), ("C", 0.195), ("H", 0.012), ("Mg", 0.003)],
    density: 1.7,
    full_um: 30.0,
    colour: [38, 34, 33],
    hides: 0.95,
    seen: Some(Seen::BoneBlack),
};
/// Red bole under the gilding.
pub const BOLE: Paint = Paint {
    index: 16,
    id: "bole",
    made_of: &[
        ("O", 0.46),
        ("Si", 0.20),
        ("Al", 0.12),
        ("C", 0.06),
        ("H", 0.015),
        ("Fe", 0.11),
        ("K", 0.02),
        ("Ti", 0.006),
        ("Ca", 0.008),
        ("Mn", 0.001),
    ],
    density: 1.9,
    full_um: 22.0,
    colour: [150, 74, 56],
    hides: 0.95,
    seen: None,
};
/// Gold leaf.
pub const GOLD: Paint = Paint {
    index: 17,
    id: "gold_leaf",
    made_of: &[("Au", 1.0)],
    density: 19.3,
    full_um: 0.25,
    colour: [214, 172, 82],
    hides: 0.95,
    seen: Some(Seen::Gold),
};
/// Old natural-resin varnish.
pub const VARNISH: Paint = Paint {
    index: 18,
    id: "varnish",
    made_of: &[("C", 0.78), ("H", 0.10), ("O", 0.12)],
    density: 1.1,
    full_um: 40.0,
    colour: [150, 96, 40],
    hides: 0.22,
    seen: None,
};
/// Retouch of titanium white and barium sulfate.
pub const REPAIR: Paint = Paint {
    index: 19,
    id: "repair",
    made_of: &[("Ti", 0.36), ("Ba", 0.10), ("O", 0.31), ("S", 0.023), ("C", 0.187), ("H", 0.02)],
    density: 2.3,
    full_um: 30.0,
    colour: [232, 228, 214],
    hides: 0.95,
    seen: Some(Seen::Repair),
};
/// Rust around the tacks.
pub const RUST: Paint = Paint {
    index: 20,
    id: "rust",
    made_of: &[("Fe", 0.3), ("O", 0.4), ("C", 0.25), ("H", 0.04), ("Mn", 0.002)],
    density: 1.6,
    full_um: 3.0,
    colour: [140, 96, 46],
    hides: 0.35,
    seen: None,
};
/// Tacks, more rust than iron at their faces.
pub const IRON: Paint = Paint {
    index: 21,
    id: "iron",
    made_of: &[("Fe", 0.24), ("O", 0.40), ("C", 0.31), ("H", 0.045), ("Mn", 0.001)],
    density: 2.2,
    full_um: 70.0,
    colour: [52, 46, 44],
    hides: 1.0,
    seen: Some(Seen::Iron),
};

/// The place of a paint in the order in which the chart was made.
pub fn laid(paint: u8) -> usize {
    const ORDER: [&Paint; 22] = [
        &OAK,
        &SHADE,
        &PAPER,
        &EDGE,
        &STAIN,
        &INDIGO,
        &COPPER_GREEN,
        &RED_EARTH,
        &BOLE,
        &GOLD,
        &SMALT,
        &LEAD_WHITE,
        &YELLOW,
        &RED_LEAD,
        &VERMILION,
        &BONE_BLACK,
        &WORN,
        &IRON_GALL,
        &VARNISH,
        &REPAIR,
        &RUST,
        &IRON,
    ];
    ORDER.iter().position(|other| other.index == paint).unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_paint_is_whole_and_in_its_place() {
        for (place, paint) in ALL.iter().enumerate() {
            assert_eq!(usize::from(paint.index), place, "{}", paint.id);
            let sum: f64 = paint.made_of.iter().map(|(_, share)| share).sum();
            assert!(paint.made_of.is_empty() || (sum - 1.0).abs() < 0.01, "{}: {sum}", paint.id);
            assert!(laid(paint.index) < ALL.len());
        }
    }
}
