//! Which materials come first where nothing else decides. Common practice, no source.

/// Materials that are met most often in painted objects, by id, the commonest first. Without a colour, only these are
/// listed of what would have been seen and of what the maps are silent on: a list of everything would help nobody.
const COMMON: [&str; 34] = [
    "lead_white",
    "chalk",
    "vermilion",
    "red_ochre",
    "yellow_ochre",
    "azurite",
    "carbon_black",
    "gypsum_anhydrite",
    "lead_tin_yellow_i",
    "red_lead",
    "verdigris",
    "malachite",
    "bone_black",
    "smalt",
    "ultramarine_natural",
    "indigo",
    "red_lake_alum",
    "madder_lake",
    "iron_gall_ink",
    "umber",
    "gold_leaf",
    "orpiment",
    "green_earth",
    "copper_resinate",
    "lead_antimonate",
    "prussian_blue",
    "zinc_white",
    "barium_sulfate",
    "titanium_white_rutile",
    "titanium_white_anatase",
    "chrome_yellow",
    "cobalt_blue",
    "viridian",
    "cadmium_yellow",
];

/// Mixtures that the data hold as one material: two pigments each, and counted as two.
const MIXTURES: [&str; 3] = ["azurite_lead_tin_yellow", "vergaut", "chrome_green"];

/// How many pigments a material is.
pub(super) fn pigments(id: &str) -> u32 {
    if MIXTURES.contains(&id) { 2 } else { 1 }
}

/// Place in the order of commonness: the list first, then the order of the data.
pub(super) fn rank(id: &str, index: usize) -> usize {
    COMMON.iter().position(|common| *common == id).unwrap_or(COMMON.len() + index)
}

/// Whether it belongs to the list.
pub(super) fn is_common(id: &str) -> bool {
    COMMON.contains(&id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_common_material_is_known_and_stands_once() {
        for (at, id) in COMMON.iter().chain(&MIXTURES).enumerate() {
            assert!(crate::pigment::knowledge().material(id).is_some(), "{id}");
            assert!(!COMMON[..at.min(COMMON.len())].contains(id), "{id} twice");
        }
    }
}
