//! Two maps that a question compares.

use super::evidence::{Evidence, Side, Subject};
use super::settings::Settings;
use crate::measure::Level;
use crate::notice::Fault;

/// Two sides of one evidence.
#[derive(Clone, Copy)]
pub(super) struct Pair<'e> {
    pub a: &'e Side,
    pub b: &'e Side,
    pub evidence: &'e Evidence,
}

impl<'e> Pair<'e> {
    /// The maps `a` and `b` of the settings, checked: named, different, and measured apart.
    pub fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        let a = subject.find(Settings::named(settings.a.as_ref(), "a")?)?;
        let b = subject.find(Settings::named(settings.b.as_ref(), "b")?)?;
        if a.id == b.id {
            return Err(Fault::bad_setting(
                "A map cannot be compared with itself. Choose two different maps.",
            ));
        }
        if let Some(fault) = a.misfit(b) {
            return Err(fault);
        }
        if a.shares_numbers_with(b) {
            return Err(Fault::bad_setting(format!(
                "{} and {} have numbers from the same map, so they agree by arithmetic alone. Choose maps that were measured apart.",
                a.label(),
                b.label()
            )));
        }
        Ok(vec![a.id.to_string(), b.id.to_string()])
    }

    /// The first two sides; `None` where there are fewer.
    pub fn of(evidence: &'e Evidence) -> Option<Self> {
        match evidence.sides.as_slice() {
            [a, b, ..] => Some(Self { a, b, evidence }),
            _ => None,
        }
    }

    /// Two sides and their levels; or why nothing can be said of them.
    pub fn with_levels(evidence: &'e Evidence) -> Result<(Self, (&'e Level, &'e Level)), String> {
        let pair = Self::of(evidence).ok_or_else(|| "there are no two maps".to_owned())?;
        Ok((pair, pair.levels()?))
    }

    /// Both levels; or which map has none, and why.
    pub fn levels(&self) -> Result<(&'e Level, &'e Level), String> {
        let of = |side: &'e Side| side.level.as_ref().map_err(Clone::clone);
        Ok((of(self.a)?, of(self.b)?))
    }

    pub fn labels(&self) -> (String, String) {
        (self.a.label(), self.b.label())
    }
}
