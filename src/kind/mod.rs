//! How a map was made, and what that permits. Imports nothing of this crate but levels below.
//!
//! The program proposes a kind from the numbers themselves; the user states it. A proposal is never silently believed
//! where believing it wrongly would make a strong statement: in doubt the weaker kind is proposed.

/// The kinds of the trade; `Auxiliary` holds no element line (sum, scatter, live time, fit error).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Counts in an energy window.
    Window,
    /// Window minus background.
    Net,
    /// Peak area of a fit.
    Fitted,
    /// Counts per second.
    Rate,
    /// Divided by something so that values are relative.
    Normalised,
    /// Concentration or mass per area.
    Quantified,
    /// A picture of a map: 8 bits, stretched, logarithmic, gamma or clipped.
    DisplayCopy,
    /// No element line.
    Auxiliary,
}

/// How the noise of a map is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Noise {
    /// Counting statistics.
    Counting,
    /// Only from the spread of the values themselves.
    Empirical,
    /// Not at all: shape only.
    Unknown,
}

impl Kind {
    /// Every kind, in the order in which they are offered.
    pub const ALL: [Kind; 8] = [
        Kind::Window,
        Kind::Net,
        Kind::Fitted,
        Kind::Rate,
        Kind::Normalised,
        Kind::Quantified,
        Kind::DisplayCopy,
        Kind::Auxiliary,
    ];

    /// The word used in records and calls.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Window => "window",
            Kind::Net => "net",
            Kind::Fitted => "fitted",
            Kind::Rate => "rate",
            Kind::Normalised => "normalised",
            Kind::Quantified => "quantified",
            Kind::DisplayCopy => "display copy",
            Kind::Auxiliary => "auxiliary",
        }
    }

    /// By its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// What the numbers are called on screen.
    pub fn numbers_are(self) -> &'static str {
        match self {
            Kind::Window => "counts",
            Kind::Net => "net counts",
            Kind::Fitted => "fitted",
            Kind::Rate => "counts per second",
            Kind::Normalised => "normalised",
            Kind::Quantified => "quantified",
            Kind::DisplayCopy => "shape only",
            Kind::Auxiliary => "auxiliary",
        }
    }

    /// How far the numbers may be used.
    pub fn noise(self) -> Noise {
        match self {
            Kind::Window => Noise::Counting,
            Kind::Net | Kind::Fitted | Kind::Rate | Kind::Normalised | Kind::Quantified => Noise::Empirical,
            Kind::DisplayCopy | Kind::Auxiliary => Noise::Unknown,
        }
    }
}

/// What can be seen of a map's numbers when a kind is to be proposed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Stored as 8-bit integers.
    pub is_8_bit: bool,
    /// Every value that is not blank is a whole number.
    pub is_whole: bool,
    /// Smallest value; `None` when every pixel is blank.
    pub low: Option<f64>,
    /// Largest value.
    pub high: Option<f64>,
}

/// Proposes a kind. Eight bits that reach 255 (or that start at 0 and hold every sign of stretching) are taken for a
/// display copy; other whole numbers from 0 for counts; anything else for a fit. Common practice, no source.
pub fn propose(evidence: Evidence) -> Kind {
    let (Some(low), Some(high)) = (evidence.low, evidence.high) else { return Kind::Window };
    if evidence.is_8_bit && high >= 255.0 {
        return Kind::DisplayCopy;
    }
    if evidence.is_whole && low >= 0.0 { Kind::Window } else { Kind::Fitted }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn proposals_are_the_weaker_kind_in_doubt() {
        let counts = Evidence { is_8_bit: false, is_whole: true, low: Some(0.0), high: Some(900.0) };
        assert_eq!(propose(counts), Kind::Window);
        assert_eq!(propose(Evidence { is_8_bit: true, high: Some(255.0), ..counts }), Kind::DisplayCopy);
        assert_eq!(propose(Evidence { is_8_bit: true, high: Some(40.0), ..counts }), Kind::Window);
        assert_eq!(propose(Evidence { is_whole: false, ..counts }), Kind::Fitted);
        assert_eq!(propose(Evidence { low: Some(-3.0), ..counts }), Kind::Fitted);
    }

    #[test]
    fn words_lead_back_to_their_kind() {
        for kind in Kind::ALL {
            assert_eq!(Kind::from_word(kind.word()), Some(kind));
        }
        assert_eq!(Kind::from_word("counts"), None);
    }
}
