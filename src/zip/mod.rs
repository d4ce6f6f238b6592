//! ZIP files (APPNOTE.TXT 6.3.10 of the format's maintainer): written so that one content gives one file, byte for byte, and
//! the low parts of reading them: where the list of entries is, what it says, and unpacking with limits held first.
//! Knows nothing of what is in the files. Imports only `notice` (what is wrong is said in a sentence) and `grid` (memory).

mod read;
mod write;

pub use read::{
    End, LOCAL_HEAD, Listed, TAIL, WIDE_END, end_in, inflated, is_bomb, listed_at, local_length, wide_end,
};
pub use write::{Content, Piece, write, write_whole};

/// An entry that is kept as it is.
pub const STORED: u64 = 0;
/// An entry that is deflated (RFC 1951).
pub const DEFLATED: u64 = 8;

/// The most bytes of a name. The format has room for more, file systems have not.
pub const LONGEST_NAME: usize = 240;

/// What is wrong with a path of an entry, if anything: paths are relative, go down only, and mean the same on every system.
pub fn trouble_of_name(path: &str) -> Option<&'static str> {
    let is_part = |part: &str| !part.is_empty() && part != "." && part != "..";
    if path.is_empty() {
        Some("it is empty")
    } else if path.len() > LONGEST_NAME {
        Some("it is too long")
    } else if path.contains('\\') || path.contains(':') {
        Some("it holds a character that some systems take for a folder or a drive")
    } else if path.chars().any(char::is_control) {
        Some("it holds a control character")
    } else if path.starts_with('/') {
        Some("it begins at the root of the disk")
    } else if !path.split('/').all(is_part) {
        Some("it leads out of its folder")
    } else {
        None
    }
}

#[cfg(test)]
mod tests;
