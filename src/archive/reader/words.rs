//! What can be wrong with a study file as a whole.

use crate::notice::Fault;

const COPY: &str = "Copy it again from where it was saved.";

/// A file that was one and is spoilt.
pub(super) fn damaged(what: &str) -> Fault {
    Fault::new("damaged_study", format!("The study file is damaged: {what}. {COPY}"))
}

/// A file that ends too early.
pub(super) fn cut_off() -> Fault {
    let what = "This is no study file, or only a part of one: the list of what is in it, which stands at its end, is missing.";
    Fault::new("damaged_study", format!("{what} {COPY}"))
}

/// A file that was never one, or was packed anew in another way.
pub(super) fn foreign(what: &str) -> Fault {
    Fault::new("no_study", format!("This is no study file: {what}."))
}

/// A file that another version wrote.
pub(super) fn other_version(what: &str) -> Fault {
    Fault::new("other_version", what)
}

/// More than is read of something.
pub(super) fn too_many(what: &str, found: usize, most: usize) -> Fault {
    damaged(&format!("it claims {found} {what}, and a study holds at most {most}"))
}

/// Untrusted text for a sentence: on one line, not long.
pub(super) fn shortened(text: &str) -> String {
    let plain = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    let mut out: String = text.chars().take(120).map(plain).collect();
    if text.chars().nth(120).is_some() {
        out.push_str(" ...");
    }
    out
}
