//! PNG and JPEG. Grey is a map in PNG, colour a photo.

mod jpeg;
mod mask;
mod png;

pub(super) use self::jpeg::{photo_of_jpeg, read_jpeg};
pub(super) use self::png::{photo_of_png, read_png};
pub use mask::mask_of_png;

use crate::notice::Finding;

/// What deflate can at most make of a byte.
const MOST_INFLATION: u64 = 1032;

fn claims_too_much(format: &'static str, (width, height): (u32, u32), bytes: &[u8]) -> Finding {
    damaged(
        format,
        &format!("it claims {width} × {height} pixels, which its {} bytes cannot hold", bytes.len()),
    )
}

const TOO_MUCH_MEMORY: &str = "it needs more memory than is allowed. Bin or crop it before opening it.";

fn not_read(format: &'static str, what: &str) -> Finding {
    Finding::NotRead { format, what: what.into() }
}

fn damaged(format: &'static str, what: &str) -> Finding {
    Finding::Damaged { format, what: what.to_owned() }
}

#[cfg(test)]
mod tests;
