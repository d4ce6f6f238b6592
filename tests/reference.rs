//! The core against what numpy, scipy, scikit-image, colour-science, tifffile and Pillow compute from the same definitions
//! (`tests/reference/README.md`). Each section of `values.json` is one test with the tolerance that the section states;
//! the manifest of input files is one more. Every difference of a section is listed before the test fails.
//!
//! What the core gives to nobody is not compared: `rounds`, the arms and raw sums of the pixels that k rests on, and
//! `means` of the coarse picture (its colours are).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

#[path = "against/accompany.rs"]
mod accompany;
#[path = "against/alignment.rs"]
mod alignment;
#[path = "against/areas.rs"]
mod areas;
#[path = "against/background.rs"]
mod background;
#[path = "against/colour.rs"]
mod colour;
#[path = "against/compare.rs"]
mod compare;
#[path = "against/condition.rs"]
mod condition;
#[path = "against/demo.rs"]
mod demo;
#[path = "against/fields.rs"]
mod fields;
#[path = "against/files.rs"]
mod files;
#[path = "against/finding.rs"]
mod finding;
#[path = "against/hand.rs"]
mod hand;
#[path = "against/laid.rs"]
mod laid;
#[path = "against/pairs.rs"]
mod pairs;
#[path = "against/physics.rs"]
mod physics;
#[path = "against/presence.rs"]
mod presence;
#[path = "against/support.rs"]
mod support;
#[path = "against/tables.rs"]
mod tables;
#[path = "against/together.rs"]
mod together;
#[path = "against/zones.rs"]
mod zones;
