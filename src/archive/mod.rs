//! The study file: a whole study as one plain ZIP, written so that one study gives one file, and read back by the same
//! checked ways by which dropped files come in. `docs/STUDY-FILE.md` says what every entry holds and which are read back.
//! Everything in such a file is untrusted.

mod leave_out;
mod names;
mod readable;
mod reader;
mod saving;
mod told;

pub use leave_out::{Expected, LeaveOut, MAPS, expected, leave_out, rewritten};
pub use reader::{Reader, Restored, RestoredInput};
pub use saving::save;

/// The first entry: the file in words. By its name the file is recognised.
pub const FIRST: &str = "limner-study.txt";
/// The state of the study, and which entry holds what.
pub const STATE: &str = "study.json";
/// SHA-256 of every other entry.
pub const SUMS: &str = "SHA256SUMS";

/// Version of how the entries are laid out; the record within has a version of its own.
const LAYOUT: u32 = 1;

/// The most files that a study file is written or read with.
const MOST_INPUTS: usize = 10_000;
/// The most maps or photos of files of which something is stated.
const MOST_STATED: usize = 100_000;
/// The most derived maps, and scans that are laid.
const MOST_DERIVED: usize = 2_000;
/// The most entries.
const MOST_ENTRIES: u64 = 16_384;
/// The most bytes of the list of entries.
const MOST_LIST: u64 = 16_000_000;
/// The most bytes of the state.
const MOST_STATE: u64 = 256_000_000;
/// The most bytes of a kept answer, of a kept picture, and of the sums.
const MOST_KEPT: u64 = 64_000_000;
/// The most bytes of one input: an array of a 32-bit system holds no more.
const MOST_INPUT: u64 = 0x7fff_0000;

/// Whether a file is a study file, by its first 64 bytes (46 suffice).
pub fn is_study(head: &[u8]) -> bool {
    let name = FIRST.as_bytes();
    let is_first = head.get(30..).is_some_and(|rest| rest.starts_with(name));
    head.starts_with(b"PK\x03\x04") && head.get(26..28) == Some(&[name.len() as u8, 0]) && is_first
}
