//! Proposes a kind from evidence, with the reason in words.

use super::{Evidence, Kind, KindHint, Spacing};

/// A kind and why it is proposed. Never more than a proposal: the user states the kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposal {
    /// The kind.
    pub kind: Kind,
    /// One sentence: what is seen.
    pub reason: String,
}

fn because(kind: Kind, reason: impl Into<String>) -> Proposal {
    Proposal { kind, reason: reason.into() }
}

fn number(value: f64) -> String {
    let short = value as f32;
    if f64::from(short) == value { short.to_string() } else { format!("{value:.4}") }
}

/// What speaks for a picture of a map, the weakest kind; it goes before every word in a name.
fn picture(evidence: &Evidence, high: f64) -> Option<&'static str> {
    let Evidence { spacing, .. } = evidence;
    if evidence.is_8_bit() && high >= 255.0 {
        return Some("It is stored in 8 bits and reaches 255: stretched to the full range.");
    }
    if evidence.shares_full_maximum {
        return Some(
            "Every map of the stack ends at the full value of its type: each was stretched to the full range.",
        );
    }
    if matches!(spacing, Spacing::Shrinking) {
        return Some("The steps between its values shrink towards the bright end: drawn with a curve.");
    }
    if matches!(spacing, Spacing::Holes { .. }) {
        return Some("Numbers between common values never occur: the counts were spread over a range.");
    }
    if evidence.is_clipped {
        return Some("Many pixels hold exactly the largest value: what lay above was cut off.");
    }
    if evidence.is_smoothed() && evidence.is_whole {
        return Some("Neighbouring pixels differ less than counting allows and follow each other: smoothed.");
    }
    None
}

/// What the numbers alone say, where nothing speaks for a picture.
fn by_numbers(evidence: &Evidence) -> Proposal {
    let whole_from_0 = evidence.is_whole && !evidence.has_negative();
    if !whole_from_0 && evidence.has_negative() {
        let values = if evidence.is_whole { "values" } else { "values, fractions among them," };
        return because(
            Kind::Fitted,
            format!(
                "It holds {values} below 0, which no counting gives: fitted, or with a background taken off."
            ),
        );
    }
    match evidence.spacing {
        Spacing::Even { step } if whole_from_0 && step > 1.0 => because(
            Kind::Normalised,
            format!(
                "Every value is a multiple of {}: counts times a factor. If so, state the gain and take them as counts.",
                number(step)
            ),
        ),
        Spacing::Even { step } if !whole_from_0 => because(
            Kind::Rate,
            format!(
                "Every value is a multiple of {}: counts divided by one time, or by another number. If you know it, state the gain.",
                number(step)
            ),
        ),
        _ if whole_from_0 && evidence.is_scaled_down() => because(
            Kind::Normalised,
            "Whole numbers, but neighbouring pixels differ less than counting allows: scaled down.",
        ),
        _ if whole_from_0 => because(Kind::Window, "Whole numbers from 0, as counting gives them."),
        _ if evidence.has_piled_zeros => because(
            Kind::Fitted,
            "Fractions with many pixels at exactly 0 and none below: a fit that allows no negative areas.",
        ),
        _ => because(Kind::Fitted, "Fractions, which counting does not give."),
    }
}

/// Proposes a kind. What speaks for a picture goes first, then words of the name as far as the numbers allow them, then
/// the numbers. In doubt the weaker kind. Common practice, no source; the limits of each piece of evidence stand in
/// `inspect`.
///
/// With no value at all, counts are proposed: nothing can be answered of such a map anyway.
pub fn propose(evidence: &Evidence) -> Proposal {
    let (Some(_), Some(high)) = (evidence.low, evidence.high) else {
        return because(Kind::Window, "It has no values; nothing speaks for any kind.");
    };
    if evidence.hint == Some(KindHint::ErrorMap) {
        return because(Kind::Auxiliary, "Its name says that it holds errors or the quality of a fit.");
    }
    if let Some(reason) = picture(evidence, high) {
        return because(Kind::DisplayCopy, reason);
    }
    let says = |what: &str| format!("Its name says that it holds {what}.");
    match evidence.hint {
        Some(KindHint::DisplayCopy) => {
            because(Kind::DisplayCopy, "Its name says that it is a picture of a map.")
        }
        Some(KindHint::Rate) => because(Kind::Rate, says("counts per second")),
        Some(KindHint::Net) => because(Kind::Net, says("counts without background")),
        Some(KindHint::Fitted) => because(Kind::Fitted, says("areas of a fit")),
        Some(KindHint::Normalised) => because(Kind::Normalised, says("relative values")),
        Some(KindHint::Quantified) => because(Kind::Quantified, says("amounts")),
        Some(KindHint::Counts) => {
            let found = by_numbers(evidence);
            if found.kind == Kind::Window {
                return because(
                    Kind::Window,
                    "Whole numbers from 0, and its name says that they are counts.",
                );
            }
            because(found.kind, format!("{} Its name says counts, which does not fit.", found.reason))
        }
        Some(KindHint::ErrorMap) | None => by_numbers(evidence),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Gain;
    use super::*;
    use crate::grid::SampleType::{F32, U8, U16};

    fn counts() -> Evidence {
        Evidence::of(U16, true, Some(0.0), Some(900.0))
    }

    #[test]
    fn proposals_are_the_weaker_kind_in_doubt() {
        let eight = Evidence { sample_type: U8, ..counts() };
        let smooth = Gain { gain: 0.4, is_straight: true, correlation: 1.8 };
        let even = |step| Spacing::Even { step };
        let table = [
            (counts(), Kind::Window),
            (Evidence { high: Some(65_535.0), ..counts() }, Kind::Window),
            (Evidence { high: Some(65_535.0), shares_full_maximum: true, ..counts() }, Kind::DisplayCopy),
            (Evidence { high: Some(255.0), ..eight }, Kind::DisplayCopy),
            (Evidence { high: Some(255.0), hint: Some(KindHint::Counts), ..eight }, Kind::DisplayCopy),
            (Evidence { high: Some(40.0), ..eight }, Kind::Window),
            (Evidence { sample_type: F32, is_whole: false, ..counts() }, Kind::Fitted),
            (Evidence { is_whole: false, has_piled_zeros: true, ..counts() }, Kind::Fitted),
            (Evidence { low: Some(-3.0), ..counts() }, Kind::Fitted),
            (Evidence { low: Some(-3.0), hint: Some(KindHint::Counts), ..counts() }, Kind::Fitted),
            (Evidence { low: Some(-3.0), hint: Some(KindHint::Net), ..counts() }, Kind::Net),
            (Evidence { spacing: even(1.0), ..counts() }, Kind::Window),
            (Evidence { spacing: even(10.0), ..counts() }, Kind::Normalised),
            (Evidence { spacing: even(0.5), is_whole: false, ..counts() }, Kind::Rate),
            (Evidence { spacing: Spacing::Holes { step: 3.4 }, ..counts() }, Kind::DisplayCopy),
            (Evidence { spacing: Spacing::Shrinking, ..counts() }, Kind::DisplayCopy),
            (Evidence { is_clipped: true, ..counts() }, Kind::DisplayCopy),
            (Evidence { gain: Some(smooth), ..counts() }, Kind::DisplayCopy),
            (Evidence { gain: Some(Gain { is_straight: false, ..smooth }), ..counts() }, Kind::Window),
            (Evidence { gain: Some(Gain { correlation: 1.0, ..smooth }), ..counts() }, Kind::Normalised),
            (Evidence { hint: Some(KindHint::ErrorMap), ..counts() }, Kind::Auxiliary),
            (Evidence { hint: Some(KindHint::Quantified), is_whole: false, ..counts() }, Kind::Quantified),
            (Evidence { low: None, high: None, ..counts() }, Kind::Window),
        ];
        for (evidence, kind) in table {
            let proposal = propose(&evidence);
            assert_eq!(proposal.kind, kind, "{evidence:?}: {}", proposal.reason);
            assert!(proposal.reason.ends_with('.'), "{}", proposal.reason);
        }
    }
}
