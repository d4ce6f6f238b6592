//! `regions`: how do regions differ?
//!
//! For every map and region: what it counts and whether the element is detected. For pairs of regions: the difference of the
//! means with both intervals and whether they *differ*. A region is not tested on a map that made it.
//!
//! The rule of the verdict. A pair is tested on a map where both regions have at least 30 pixels that can be used, are worth
//! at least six independent ones, are not saturated in more than one pixel of a hundred, and were not made from the map. It
//! differs where the difference is larger than chance, patches and the floor of the background make it in one of twenty
//! answers: 5 % shared among all pairs and maps that are tested (Bonferroni). The answer is *differ* where one of them does,
//! *no difference seen* where some were tested so well that a difference as large as the larger mean would have been seen, and none
//! does, else *cannot be judged*.

mod drawn;
mod judge;
mod part;
mod worded;
mod zones;

pub use self::drawn::PROFILE;
pub(super) use self::zones::Zones;

use self::judge::Judged;
use super::Progress;
use super::answer::{Answer, Rasters};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::settings::{Line, Settings};
use crate::kind::Noise;
use crate::measure::compare::Band;
use crate::notice::Fault;

/// How do regions differ?
pub(super) struct Regions;

impl Question for Regions {
    type Found = Judged;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        if let Some(line) = settings.line
            && band(&line).length().is_none()
        {
            return Err(Fault::bad_setting(
                "`line` must run between two different places and have a width above 0, all in pixels.",
            ));
        }
        let mut ids: Vec<String> = Vec::new();
        for name in settings.maps.clone().unwrap_or_else(|| subject.element_maps()) {
            let id = subject.find(&name)?.id.to_string();
            if !ids.contains(&id) {
                ids.push(id);
            }
        }
        Ok(ids)
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Judged, Fault> {
        judge::judge(evidence, progress)
    }

    fn verdict(found: &Judged) -> &'static str {
        found.verdict
    }

    fn word(evidence: &Evidence, found: Judged) -> Result<(Answer, Rasters), Fault> {
        worded::word(evidence, &found)
    }

    /// A single map without a background does not keep the others from being tried.
    fn has_trials(evidence: &Evidence) -> bool {
        evidence.regions.len() > 1 && evidence.sides.iter().any(|side| side.noise() != Noise::Unknown)
    }
}

/// The line as a band of the map.
fn band(line: &Line) -> Band {
    let [from, to] = [line.from, line.to].map(|[x, y]| (x, y));
    Band { from, to, width: line.width_px }
}
