//! `covered`: is anything weakened in a region against another, as if something lay over it?
//!
//! Lines of one element that differ in energy are weakened by a cover by different factors, whatever is below. The ratio of a soft
//! line to a hard one in the region is held against that in a region that is taken as bare.
//!
//! The rule of the verdict. *Consistent with covered* takes a pair whose soft line is weaker beside the hard one by more than
//! counting, the floor of both backgrounds and a band for the thickness of the own layer make, and weaker by itself too: a
//! thicker own layer gives more of the hard line and no less of the soft one. *No weakening seen* takes a pair in which a stated layer
//! of at most 100 µm would have been seen. What overlaps could give, lines of elements that were not measured, and pairs that
//! disagree keep it from being judged.

mod judge;
mod overlap;
mod part;
mod through;
mod words;

pub use self::part::{CoveredPart, DepthText, LayerText, OtherLayer, PairRow};

use super::Progress;
use super::answer::{Answer, Rasters};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::settings::Settings;
use crate::kind::Noise;
use crate::notice::Fault;
use crate::pigment;
use judge::Found;

/// Is anything weakened as if under a layer?
pub(super) struct Covered;

/// The thickest layer that may be stated, in µm.
const MOST_UM: f64 = 2000.0;

impl Question for Covered {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        let named = |region: &Option<String>, what: &str| match region
            .as_deref()
            .filter(|name| !name.is_empty())
        {
            Some(name) => subject.region(name),
            None => Err(Fault::bad_setting(format!(
                "`{what}` is not given. Name the region that may be covered in `region` and one that lies bare in `against`."
            ))),
        };
        let (here, bare) = (named(&settings.region, "region")?, named(&settings.against, "against")?);
        if here.id == bare.id {
            return Err(Fault::bad_setting("`region` and `against` are the same region. Name two."));
        }
        if let Some(layer) = settings.layer.as_deref().filter(|layer| !layer.is_empty())
            && pigment::layer(layer).is_none()
        {
            let all: Vec<&str> = pigment::layers().iter().map(|layer| layer.id).collect();
            return Err(Fault::bad_setting(format!(
                "There is no layer “{layer}”. There are: {}.",
                all.join(", ")
            )));
        }
        if settings.thickness_um.is_some_and(|um| !(um > 0.0 && um <= MOST_UM)) {
            return Err(Fault::bad_setting(format!(
                "`thickness_um` must lie above 0 and be at most {MOST_UM} µm."
            )));
        }
        let ids = subject.maps_of_elements()?;
        let maps = ids.iter().map(|id| subject.find(id)).collect::<Result<Vec<_>, _>>()?;
        // A region is no evidence for what it was chosen by: such maps are left out, unless no pair is left then.
        let made = |map: &crate::stack::Map| {
            map.roots().iter().any(|root| here.makers.contains(root) || bare.makers.contains(root))
        };
        let pairs = judge::places(&maps.iter().map(|map| (map.line, map.kind)).collect::<Vec<_>>());
        let shares = |&(a, b): &(usize, usize)| maps[a].shares_numbers_with(maps[b]);
        let pairs: Vec<(usize, usize)> = pairs.into_iter().filter(|pair| !shares(pair)).collect();
        let free = pairs.iter().filter(|(a, b)| !made(maps[*a]) && !made(maps[*b]));
        let free: Vec<&(usize, usize)> = free.collect();
        let used = if free.is_empty() { pairs.iter().collect() } else { free };
        if used.is_empty() {
            return Ok(ids);
        }
        let is_used = |place: &usize| used.iter().any(|(a, b)| a == place || b == place);
        Ok((0..ids.len()).filter(is_used).map(|place| ids[place].clone()).collect())
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        progress(0.3, "Pairs of lines");
        judge::judge(evidence, &evidence.measuring)
    }

    fn verdict(found: &Found) -> &'static str {
        found.verdict
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        Ok((words::worded(evidence, &found), Rasters::new()))
    }

    /// A single map without a background does not keep the others from being tried.
    fn has_trials(evidence: &Evidence) -> bool {
        evidence.sides.iter().any(|side| side.noise() != Noise::Unknown)
    }
}
