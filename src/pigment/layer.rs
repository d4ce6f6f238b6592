//! Layers that may lie over something else, for what they let through.

use super::material::Fact;

/// One constituent of a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerPart {
    /// Formula ("Pb3(CO3)2(OH)2"), without water of crystallisation apart.
    pub formula: &'static str,
    /// Density in g/cm³.
    pub density_g_cm3: f64,
    /// Its share of the layer's volume; the shares of a layer add up to 1.
    pub share: f64,
}

/// A layer as it is typically made. What is computed with it holds for this composition only.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Key within the knowledge.
    pub id: &'static str,
    /// Its name, in small letters.
    pub name: &'static str,
    /// Its constituents.
    pub parts: Vec<LayerPart>,
    /// What was assumed.
    pub fact: Fact,
}

/// Every layer, in the order in which they are offered.
pub fn layers() -> &'static [Layer] {
    &super::knowledge().layers
}

/// By its id.
pub fn layer(id: &str) -> Option<&'static Layer> {
    layers().iter().find(|layer| layer.id == id)
}
