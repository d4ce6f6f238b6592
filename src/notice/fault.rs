//! What can be wrong with a call.

use super::Finding;
use std::fmt;

/// Why a call cannot be answered. `message` is one sentence for the user; `detail` may help a programmer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// A stable word for programs.
    pub code: &'static str,
    /// One sentence: what is wrong and what to do.
    pub message: String,
    /// More for a programmer; may be empty.
    pub detail: String,
}

impl Fault {
    /// A fault without detail.
    pub fn new(code: &'static str, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), detail: String::new() }
    }

    /// No map has this id or name.
    pub fn unknown_map(name: &str) -> Self {
        Self::new(
            "unknown_map",
            format!(
                "There is no map called “{name}”. Name it by its id or, where that is unique, as “Cu K”."
            ),
        )
    }

    /// Several maps have this name.
    pub fn ambiguous_map(name: &str, ids: &[String]) -> Self {
        Self::new(
            "ambiguous_map",
            format!("Several maps are called “{name}” ({}). Name one by its id.", ids.join(", ")),
        )
    }

    /// Two maps that cannot be laid over each other.
    pub fn different_sizes(first: &str, second: &str) -> Self {
        Self::new(
            "different_sizes",
            format!(
                "{first} and {second} have different numbers of pixels, so they are not of one scan and cannot be combined."
            ),
        )
    }

    /// Maps of two scans of one object.
    pub fn different_fields(first: &str, second: &str) -> Self {
        Self::new(
            "different_fields",
            format!(
                "{first} and {second} are of different scans: tests stay within one field. Choose maps of one scan."
            ),
        )
    }

    /// A setting that is not understood.
    pub fn bad_setting(what: impl Into<String>) -> Self {
        Self::new("bad_setting", what)
    }
}

/// Memory that was asked for is not to be had; the amount in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OutOfMemory(pub u64);

impl fmt::Display for OutOfMemory {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "this would need {} MB of memory, which the browser does not give", self.0 / 1_000_000)
    }
}

impl std::error::Error for OutOfMemory {}

impl From<OutOfMemory> for Fault {
    fn from(e: OutOfMemory) -> Self {
        Self::new("no_memory", format!("Not done: {e}."))
    }
}

impl From<OutOfMemory> for Finding {
    fn from(e: OutOfMemory) -> Self {
        Finding::NoMemory { bytes: e.0 }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Fault {}
