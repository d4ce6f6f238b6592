//! Arithmetic on plain slices and numbers: sums, order statistics, special functions, counting statistics, figures.
//! Imports nothing of this crate. Knows nothing of images. Every function gives the same bits native and in wasm.

pub mod chance;
pub mod cholesky;
pub mod counting;
pub mod currie;
pub mod discovery;
pub mod eigen;
pub mod empty;
pub mod fft;
pub mod fft_any;
pub mod figure;
pub mod math;
pub mod on_off;
pub mod order;
pub mod ratios;
pub mod special;
pub mod stabilise;
pub mod sums;
