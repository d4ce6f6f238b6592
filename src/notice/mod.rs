//! What the program has to say about files and calls: [`Notice`] for what was found while reading, [`Fault`] for a call
//! that cannot be answered. Both carry their wording, so that a thing is said in one way everywhere.
//! Imports nothing of this crate.

mod fault;
mod offer;
mod sign;
mod sign_words;
mod table;

pub use fault::{Fault, OutOfMemory};
pub use offer::Offer;
pub use sign::{Curve, Lines, Other, Patch, Sign, Turn};
pub use table::TableFinding;

use std::fmt;

/// How much a notice matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; nothing to do.
    Info,
    /// Read, but something should be checked.
    Warning,
    /// Not read.
    Error,
}

impl Severity {
    /// The word used in records.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Info => "info",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// One sentence about one file.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Name of the file as the user knows it (untrusted text).
    pub file: String,
    /// What was found.
    pub finding: Finding,
}

/// What can be found while reading. The wording is in `Display`: what is wrong, then what to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// No bytes at all.
    Empty,
    /// None of the formats that are read.
    UnknownFormat,
    /// The format is known, the content contradicts itself; the text is the reader's own.
    Damaged {
        /// Name of the format.
        format: &'static str,
        /// What contradicts what.
        what: String,
    },
    /// Sound, but of a sort that is not read.
    NotRead {
        /// Name of the format.
        format: &'static str,
        /// What it is and what to do instead.
        what: String,
    },
    /// Over a limit that is checked before memory is taken.
    TooLarge {
        /// Pixels across.
        width: u64,
        /// Pixels down.
        height: u64,
        /// The limit in pixels.
        limit: u64,
    },
    /// Memory ran out.
    NoMemory {
        /// Bytes asked for.
        bytes: u64,
    },
    /// A table row of another length.
    Ragged {
        /// Line number, from 1.
        line: u64,
        /// Fields in it.
        found: u64,
        /// Fields in the lines before.
        expected: u64,
    },
    /// Not a number where one should be.
    NotANumber {
        /// Line number, from 1.
        line: u64,
        /// Field number, from 1.
        field: u64,
        /// What stands there.
        text: String,
    },
    /// No element or line could be taken from the name.
    NoElement,
    /// Stored with white as zero; turned over while reading.
    WhiteIsZero,
    /// Proposed to be a picture of a map, and why.
    DisplayCopy {
        /// What was seen, one sentence.
        reason: String,
    },
    /// Another size than the maps before.
    OtherSize {
        /// Its width.
        width: u32,
        /// Its height.
        height: u32,
        /// Width of the stack.
        stack_width: u32,
        /// Height of the stack.
        stack_height: u32,
    },
    /// The same bytes are already open.
    AlreadyOpen {
        /// The name they came with first.
        first_name: String,
    },
    /// Single pixels far above their neighbours.
    HotPixels {
        /// What the map is called.
        label: String,
        /// How many there are.
        total: u64,
        /// The strongest, in words.
        shown: Vec<String>,
    },
    /// A list of names, and how many maps got one.
    NamesTaken {
        /// Maps that were named.
        named: usize,
    },
    /// A resolution tag that is a screen's or printer's, not a scan's.
    ScreenResolution {
        /// Dots per inch as tagged.
        dots_per_inch: f64,
    },
    /// Something about a table of text.
    Table(TableFinding),
    /// Marked as stored with white as zero, in numbers that have no end to be turned over at.
    WhiteIsZeroKept,
    /// A channel of transparency that is no map.
    TransparencyDropped,
    /// A map out of a picture whose values are those of a picture, whatever they look like: it can be a display copy
    /// and nothing else.
    GreyPicture {
        /// Name of the format.
        format: &'static str,
    },
    /// A photo with more pixels than are read.
    PhotoTooLarge {
        /// Pixels in a row, as claimed.
        width: u64,
        /// Rows.
        height: u64,
        /// The most pixels.
        limit: u64,
        /// The most along a side.
        side: u64,
    },
    /// A profile of colours that is not applied.
    ColourProfile {
        /// What it calls itself; may be empty (untrusted text).
        name: String,
    },
    /// Colours for printing, turned into those of a screen without a profile.
    PrintColours,
    /// Two columns of text that are most likely energies and counts.
    LooksLikeSpectrum,
}

impl Finding {
    /// How much it matters.
    pub fn severity(&self) -> Severity {
        match self {
            Finding::Empty
            | Finding::UnknownFormat
            | Finding::Damaged { .. }
            | Finding::NotRead { .. }
            | Finding::TooLarge { .. }
            | Finding::PhotoTooLarge { .. }
            | Finding::NoMemory { .. }
            | Finding::Ragged { .. }
            | Finding::NotANumber { .. } => Severity::Error,
            Finding::Table(about) => about.severity(),
            Finding::NoElement
            | Finding::DisplayCopy { .. }
            | Finding::OtherSize { .. }
            | Finding::WhiteIsZeroKept
            | Finding::PrintColours
            | Finding::GreyPicture { .. } => Severity::Warning,
            Finding::TransparencyDropped
            | Finding::ColourProfile { .. }
            | Finding::WhiteIsZero
            | Finding::AlreadyOpen { .. }
            | Finding::NamesTaken { .. }
            | Finding::HotPixels { .. }
            | Finding::LooksLikeSpectrum
            | Finding::ScreenResolution { .. } => Severity::Info,
        }
    }

    /// A stable word for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Finding::Empty => "empty",
            Finding::UnknownFormat => "unknown_format",
            Finding::Damaged { .. } => "damaged",
            Finding::NotRead { .. } => "not_read",
            Finding::TooLarge { .. } => "too_large",
            Finding::NoMemory { .. } => "no_memory",
            Finding::Ragged { .. } => "ragged",
            Finding::NotANumber { .. } => "not_a_number",
            Finding::NoElement => "no_element",
            Finding::WhiteIsZero => "white_is_zero",
            Finding::DisplayCopy { .. } => "display_copy",
            Finding::OtherSize { .. } => "other_size",
            Finding::AlreadyOpen { .. } => "already_open",
            Finding::NamesTaken { .. } => "names_taken",
            Finding::HotPixels { .. } => "hot_pixels",
            Finding::ScreenResolution { .. } => "screen_resolution",
            Finding::Table(about) => about.code(),
            Finding::WhiteIsZeroKept => "white_is_zero_kept",
            Finding::TransparencyDropped => "transparency_dropped",
            Finding::GreyPicture { .. } => "grey_picture",
            Finding::PhotoTooLarge { .. } => "photo_too_large",
            Finding::ColourProfile { .. } => "colour_profile",
            Finding::PrintColours => "print_colours",
            Finding::LooksLikeSpectrum => "looks_like_spectrum",
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Finding::Empty => write!(f, "The file is empty. Copy it again from where it was made."),
            Finding::UnknownFormat => write!(
                f,
                "This is none of the formats read here (TIFF, PNG, JPEG, NPY, delimited text, or a ZIP of these). Export the map as one of these."
            ),
            Finding::Damaged { format, what } => {
                write!(f, "The {format} file is damaged: {what}. Copy or export it again.")
            }
            Finding::NotRead { format, what } => write!(f, "{format}: {what}"),
            Finding::TooLarge { width, height, limit } => write!(
                f,
                "The file claims {width} × {height} pixels; at most {limit} million are read. Bin or crop the map before opening it.",
                limit = limit / 1_000_000
            ),
            Finding::NoMemory { bytes } => write!(
                f,
                "There is not enough memory left for it ({} MB more). Close other tabs or bin the map.",
                bytes / 1_000_000
            ),
            Finding::Ragged { line, found, expected } => write!(
                f,
                "Line {line} has {found} values where the lines before have {expected}. Complete or remove that line."
            ),
            Finding::NotANumber { line, field, text } => {
                write!(
                    f,
                    "Line {line}, value {field} is not a number (“{text}”). Correct it or leave it empty."
                )
            }
            Finding::NoElement => {
                write!(
                    f,
                    "No element could be read from the name. Name the map by hand to ask about it by element."
                )
            }
            Finding::WhiteIsZero => {
                write!(f, "Stored with white as zero; read so that larger numbers are larger counts.")
            }
            Finding::DisplayCopy { reason } => write!(
                f,
                "{reason} It is taken for a picture of the map: it can be looked at, but questions need its counts. If these are counts, state its kind."
            ),
            Finding::OtherSize { width, height, stack_width, stack_height } => write!(
                f,
                "It has {width} × {height} pixels, most maps have {stack_width} × {stack_height}, and nothing tells how it would lie on them. It is kept, but cannot be combined with them."
            ),
            Finding::AlreadyOpen { first_name } => {
                write!(f, "The same file is already open as “{first_name}”; left as it is.")
            }
            Finding::HotPixels { label, total, shown } => write!(
                f,
                "{label}: {} far above {} neighbours ({}{}). It may be a fault of the detector or a real particle; nothing in the numbers tells which.",
                if *total == 1 { "one pixel stands".into() } else { format!("{total} pixels stand") },
                if *total == 1 { "its" } else { "their" },
                shown.join("; "),
                if *total > shown.len() as u64 { "; ..." } else { "" }
            ),
            Finding::NamesTaken { named: 0 } => {
                write!(f, "A list of names; it will name maps that are opened and have no element yet.")
            }
            Finding::NamesTaken { named } => write!(f, "A list of names; {named} maps were named by it."),
            Finding::ScreenResolution { dots_per_inch } => write!(
                f,
                "Its resolution tag ({dots_per_inch:.0} dpi) is that of a screen or printer, not of a scan, and is not used. State the step of the scan."
            ),
            Finding::Table(about) => about.fmt(f),
            Finding::WhiteIsZeroKept => write!(
                f,
                "Marked as stored with white as zero, but its numbers have no largest value to turn them over at; they are kept as they stand. Check that larger numbers are larger counts."
            ),
            Finding::TransparencyDropped => {
                write!(f, "Its transparency is left out; the values are as they stand.")
            }
            Finding::GreyPicture { format: "JPEG" } => write!(
                f,
                "JPEG changes values: this is a picture of the map, not its counts. It can be looked at; for questions open the map as TIFF, NPY or text."
            ),
            Finding::PhotoTooLarge { width, height, limit, side } => write!(
                f,
                "The photo claims {width} × {height} pixels; at most {} million are read, and {side} along a side. Save a smaller copy of it.",
                limit / 1_000_000
            ),
            Finding::ColourProfile { name } => {
                let named = if name.is_empty() { String::new() } else { format!(" (“{name}”)") };
                write!(
                    f,
                    "Its colour profile{named} is not applied: its colours are taken as sRGB, so differences of colour hold within this photo only."
                )
            }
            Finding::PrintColours => write!(
                f,
                "Its colours are for printing (CMYK) and were turned into RGB without a profile: they are not those of the print, and differences of colour hold within this photo only."
            ),
            Finding::LooksLikeSpectrum => write!(
                f,
                "It looks like a spectrum, energies with their counts, and is no map then. Add it to a region as its spectrum."
            ),
            Finding::GreyPicture { .. } => write!(
                f,
                "Grey stored as colour: this is a picture of the map, not its counts. It can be looked at; for questions open the map as TIFF, NPY or text."
            ),
        }
    }
}
