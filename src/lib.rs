//! The core of Limner: from the bytes of element maps to pictures, numbers and sentences.
//!
//! Conventions that hold everywhere:
//!
//! - Maps are row-major, `[height, width]`, y downward; pixel centres lie at half-integers.
//! - A *blank* pixel has no data (any value that is not finite). It is carried along and never counted.
//! - A *saturated* pixel holds the largest value of its integer type: at least that much was counted.
//! - Names carry their unit where they have one (`step_x_um`, `area_mm2`).
//! - Operations on maps are total: without data they give no answer, never zero and never a panic.
//! - The same input and settings give the same bytes, native and in wasm (see `numerics::math`).
//!
//! Modules are layers: each imports only from those above it in the list below, and `tests/layers.rs` checks it.

// Level 0
pub mod digest;
pub mod geometry;
pub mod grid;
pub mod notice;
pub mod numerics;
pub mod zip;
// Level 1
pub mod class;
pub mod colour;
pub mod element;
pub mod kind;
pub mod npy;
// Level 2
pub mod physics;
pub mod stack;
// Level 3
pub mod condition;
pub mod display;
pub mod inspect;
pub mod measure;
pub mod reading;
pub mod region;
pub mod register;
// Level 4
pub mod pigment;
// Level 5
pub mod ask;
// Level 6
pub mod study;
// Level 7
pub mod archive;
pub mod export;
pub mod report;
// Level 8
#[cfg(target_arch = "wasm32")]
pub mod wasm;

/// Name and version, as written into every answer.
pub const PROGRAM: &str = concat!("limner ", env!("CARGO_PKG_VERSION"));
