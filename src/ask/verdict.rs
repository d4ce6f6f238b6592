//! The words in which a question may close. There are no others.

/// Of an element in a region.
pub const DETECTED: &str = "detected";
/// Of an element in a region; the figure stands in the sentence and in `verdict_text`.
pub const NOT_DETECTED: &str = "not detected (below x)";
/// Of an element in a region.
pub const CANNOT_HERE: &str = "cannot be judged here";
/// `together`.
pub const TOGETHER: &str = "rise and fall together";
/// `together`.
pub const NO_PATTERN: &str = "no common pattern";
/// `apart`.
pub const MORE: &str = "more A than accompanies B";
/// `apart`.
pub const NO_MORE: &str = "no more A than accompanies B";
/// `ratio`.
pub const ONE: &str = "one value";
/// `ratio`.
pub const SEVERAL: &str = "several values";
/// `regions`.
pub const DIFFER: &str = "differ";
/// `regions`.
pub const NO_DIFFERENCE: &str = "no difference seen";
/// `materials`, of a material; technique and point stand in the row.
pub const IDENTIFIED: &str = "identified (technique, point)";
/// `materials`.
pub const CONSISTENT: &str = "consistent with";
/// `materials`, of a material; the others stand in the row.
pub const ALIKE: &str = "not distinguishable from ...";
/// `materials`, of a material; x stands in the row.
pub const WOULD_SHOW: &str = "would have been seen above x at the surface";
/// `materials`.
pub const NO_EVIDENCE: &str = "no evidence in these maps";
/// `covered`.
pub const COVERED: &str = "consistent with covered";
/// `covered`.
pub const NO_WEAKENING: &str = "no weakening seen";
/// `dates`.
pub const MISFIT: &str = "does not fit";
/// `dates`.
pub const FITS: &str = "fits, which supports no date within the span";
/// Every question but `faint` and `materials`.
pub const CANNOT: &str = "cannot be judged";

/// Whether a verdict is none: the program abstains.
pub fn abstains(verdict: &str) -> bool {
    verdict == CANNOT || verdict == CANNOT_HERE
}

/// The words of a question; empty for an unknown one.
pub fn words(question: &str) -> &'static [&'static str] {
    match question {
        "faint" => &[DETECTED, NOT_DETECTED, CANNOT_HERE],
        "together" => &[TOGETHER, NO_PATTERN, CANNOT],
        "apart" => &[MORE, NO_MORE, CANNOT],
        "ratio" => &[ONE, SEVERAL, CANNOT],
        "regions" => &[DIFFER, NO_DIFFERENCE, CANNOT],
        "materials" => &[IDENTIFIED, CONSISTENT, ALIKE, WOULD_SHOW, NO_EVIDENCE],
        "covered" => &[COVERED, NO_WEAKENING, CANNOT],
        "dates" => &[MISFIT, FITS, CANNOT],
        _ => &[],
    }
}
