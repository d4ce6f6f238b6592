//! Another form of `regions`: which zones do the maps part the field into?
//!
//! Zones are made by the maps, so that they are described on these maps and never tested: the verdict is *cannot be judged*,
//! and the sentence says what there is. How sure a zone is, is told by parting anew with half of the counts.

mod judge;
mod worded;

use self::judge::Found;
use super::Regions;
use crate::ask::Progress;
use crate::ask::answer::{Answer, Rasters};
use crate::ask::driver::Question;
use crate::ask::evidence::{Evidence, Subject};
use crate::ask::settings::Settings;
use crate::ask::verdict::CANNOT;
use crate::notice::Fault;

/// Which zones do maps part the field into?
pub(in crate::ask) struct Zones;

impl Question for Zones {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        Regions::maps(settings, subject)
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        judge::judge(evidence, progress)
    }

    fn verdict(_: &Found) -> &'static str {
        CANNOT
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        worded::word(evidence, found)
    }

    /// How sure it is, is told by halves of the counts, without asking all of it again.
    fn has_trials(_: &Evidence) -> bool {
        false
    }
}
