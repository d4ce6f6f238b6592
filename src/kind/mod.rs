//! How a map was made, and what that permits. Imports nothing of this crate but levels below.
//!
//! The program proposes a kind from the numbers themselves; the user states it. A proposal is never silently believed
//! where believing it wrongly would make a strong statement: in doubt the weaker kind is proposed.

mod evidence;
mod propose;

pub use evidence::{Evidence, Gain, KindHint, Spacing};
pub use propose::{Proposal, propose};

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

    /// Whether its numbers are counts or areas of counted peaks: they add up over pixels and maps.
    pub fn is_like_counts(self) -> bool {
        matches!(self, Kind::Window | Kind::Net | Kind::Fitted)
    }

    /// Whether its peaks were parted from others and from what lies below them, by a fit or a subtraction: an error of that goes
    /// to either side.
    pub fn is_parted(self) -> bool {
        matches!(self, Kind::Net | Kind::Fitted)
    }

    /// What stands behind a number; empty where a number is only a shade.
    pub fn unit(self) -> &'static str {
        match self {
            Kind::DisplayCopy | Kind::Auxiliary | Kind::Fitted | Kind::Normalised | Kind::Quantified => "",
            Kind::Window | Kind::Net | Kind::Rate => self.numbers_are(),
        }
    }

    /// What stands on the sheet: "counts"; "fitted, error map" where the errors of a fit are known; "shape only".
    pub fn sheet_text(self, has_error_map: bool) -> String {
        match self {
            Kind::Net | Kind::Fitted | Kind::Rate | Kind::Normalised | Kind::Quantified if has_error_map => {
                format!("{}, error map", self.numbers_are())
            }
            _ => self.numbers_are().to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_lead_back_to_their_kind() {
        for kind in Kind::ALL {
            assert_eq!(Kind::from_word(kind.word()), Some(kind));
        }
        assert_eq!(Kind::from_word("counts"), None);
    }

    #[test]
    fn the_sheet_says_what_the_numbers_are() {
        assert_eq!(Kind::Window.sheet_text(false), "counts");
        assert_eq!(Kind::Fitted.sheet_text(true), "fitted, error map");
        assert_eq!(Kind::DisplayCopy.sheet_text(true), "shape only");
    }
}
