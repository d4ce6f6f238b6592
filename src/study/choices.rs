//! What there is to choose from: materials, covering layers, techniques.

use crate::pigment::{self, Colour, Technique};
use serde::Serialize;

/// A material to choose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MaterialChoice {
    /// Its id.
    pub id: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Other names, to find it by.
    pub other_names: Vec<&'static str>,
    /// Words of the colours that it can have, the commonest first.
    pub colours: Vec<&'static str>,
}

/// A layer that may lie over something else.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LayerChoice {
    /// Its id.
    pub id: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What is assumed of it.
    pub text: &'static str,
    /// What that rests on, in words.
    pub basis: &'static str,
}

/// Materials that a result can speak of, in the order of their names.
pub fn materials() -> Vec<MaterialChoice> {
    let all = pigment::knowledge().materials.iter().map(|material| MaterialChoice {
        id: material.id,
        name: material.name,
        other_names: material.other_names.clone(),
        colours: material.colours.iter().copied().map(Colour::word).collect(),
    });
    let mut all: Vec<MaterialChoice> = all.collect();
    all.sort_by_key(|material| material.name.to_lowercase());
    all
}

/// Layers that may lie over something else, in the order in which they are offered.
pub fn layers() -> Vec<LayerChoice> {
    let all = pigment::layers().iter().map(|layer| LayerChoice {
        id: layer.id,
        name: layer.name,
        text: layer.fact.text,
        basis: layer.fact.basis.words(),
    });
    all.collect()
}

/// The techniques that a point can be of, in the words that are handed in.
pub fn techniques() -> Vec<&'static str> {
    Technique::ALL.into_iter().map(Technique::words).collect()
}
