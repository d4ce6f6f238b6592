//! Arithmetic on plain slices and numbers: sums, order statistics, special functions, counting statistics, figures.
//! Imports nothing of this crate. Knows nothing of images. Every function gives the same bits native and in wasm.

pub mod chance;
pub mod counting;
pub mod figure;
pub mod math;
pub mod order;
pub mod special;
pub mod stabilise;
pub mod sums;
