//! What questions about materials know beside their maps and their region. It is the same in every trial.

use super::{Asked, Side, Subject};
use crate::ask::known::Known;
use crate::ask::settings::Settings;
use crate::element::Element;
use crate::measure::{self, Level, LevelSource, Rules, level_of_region};
use crate::notice::{Fault, OutOfMemory};
use crate::region::{Region, RegionRole};
use crate::stack::{Map, MapId};

/// Side of the blocks whose means are compared for the strongest passage, in pixels.
const BLOCK: u32 = 8;

/// What lies beside the maps and the region of a question.
#[derive(Debug, Clone, Default)]
pub struct Beside {
    /// How the scan was made, where other techniques measured, where the object lies.
    pub known: Known,
    /// Diameter of the beam on the object (µm), where it is known.
    pub beam_um: Option<f64>,
    /// Support and ground, as far as they lie under what is asked about.
    pub below: Vec<Asked>,
    /// Regions that are taken to hold the strong lines of one element only.
    pub pure: Vec<(Element, Asked)>,
    /// Places of maps that hold the same numbers.
    pub same: Vec<(usize, usize)>,
    /// For each map, the region of `below` that surely counts more of it than the quietest part of the field.
    pub held_by: Vec<Option<String>>,
    /// For each map, the largest mean above background of a block of 8 x 8 pixels; `None` where none is surely above it.
    pub strongest: Vec<Option<f64>>,
}

/// Whether a question is about materials.
pub(in crate::ask) fn is_of_materials(question: &str) -> bool {
    matches!(question, "materials" | "dates")
}

impl Beside {
    pub(super) fn of(
        subject: &Subject<'_>,
        settings: &Settings,
        (maps, sides): (&[&Map], &[Side]),
        asked: &Asked,
    ) -> Result<Self, Fault> {
        let Some(first) = maps.first() else { return Ok(Self::default()) };
        let mut out = Self {
            known: subject.known.cloned().unwrap_or_default(),
            beam_um: subject.beam_um,
            ..Self::default()
        };
        let own_role = RegionRole::from_word(asked.role);
        let is_below = |region: &Region| match (region.role, own_role) {
            (_, Some(RegionRole::BareSupport)) => false,
            (RegionRole::Ground, Some(RegionRole::Ground)) => false,
            (RegionRole::BareSupport | RegionRole::Ground, _) => true,
            _ => false,
        };
        for region in subject.regions {
            let Ok(mask) = subject.mask_on(region, first) else { continue };
            let one = Asked::of(region, mask);
            if let Some(element) = region.pure {
                out.pure.push((element, one.clone()));
            }
            if is_below(region) && asked.id.as_ref() != Some(&region.id) {
                out.below.push(one);
            }
        }
        for (i, a) in sides.iter().enumerate() {
            for (j, b) in sides.iter().enumerate().skip(i + 1) {
                if is_same(a, b) {
                    out.same.push((i, j));
                }
            }
        }
        let rules = settings.rules();
        for side in sides {
            out.held_by.push(held_by(side, &out.below, &rules)?);
            out.strongest.push(strongest(side));
        }
        Ok(out)
    }
}

/// The same numbers in every pixel, blank ones alike, and not one number throughout.
fn is_same(a: &Side, b: &Side) -> bool {
    let (a, b) = (a.signal.values.data(), b.signal.values.data());
    let are_equal = a.iter().zip(b).all(|(x, y)| x == y || (x.is_nan() && y.is_nan()));
    let first = a.iter().find(|v| !v.is_nan());
    are_equal && a.len() == b.len() && a.iter().any(|v| !v.is_nan() && Some(v) != first)
}

/// A region can be held against a map that did not make it.
pub(in crate::ask) fn is_free(makers: &[MapId], side: &Side) -> bool {
    !side.roots.iter().any(|root| makers.contains(root))
}

/// The first of the regions whose sum is more than the quiet part of the field, with the floor doubled.
fn held_by(side: &Side, below: &[Asked], rules: &Rules) -> Result<Option<String>, OutOfMemory> {
    let free: Vec<&Asked> = below.iter().filter(|asked| is_free(&asked.makers, side)).collect();
    if free.is_empty() {
        return Ok(None);
    }
    let twice = Rules { floor: 2.0 * rules.floor, ..*rules };
    let Ok(level) = measure::level(&side.signal, &twice)? else { return Ok(None) };
    for asked in free {
        let Some(mask) = &asked.mask else { continue };
        let signal = super::crop(side, mask)?;
        if measure::presence(&signal, &level, &twice).is_some_and(|found| found.p <= rules.alpha) {
            return Ok(Some(asked.name.clone()));
        }
    }
    Ok(None)
}

/// The brightest block of the field above the background, of those that lines of others could not give entirely: the lead of a
/// border is no strongest passage of arsenic.
fn strongest(side: &Side) -> Option<f64> {
    let level = side.level.as_ref().ok()?;
    let signal = &side.signal;
    let (width, height) = (signal.values.width(), signal.values.height());
    let mut most = None::<f64>;
    for top in (0..height).step_by(BLOCK as usize / 2) {
        for left in (0..width).step_by(BLOCK as usize / 2) {
            let (mut n, mut sum, mut of_others) = (0u32, 0.0, 0.0);
            for y in top..(top + BLOCK).min(height) {
                for x in left..(left + BLOCK).min(width) {
                    let i = y as usize * width as usize + x as usize;
                    if let Some(value) = signal.anywhere(i) {
                        n += 1;
                        sum += value;
                        of_others += signal.overlap_at(i);
                    }
                }
            }
            // What lines of others could give entirely is no passage of this element.
            let is_own = of_others <= 0.0 || of_others < sum - f64::from(n) * level.background;
            if 2 * n >= BLOCK * BLOCK && is_own {
                let mean = sum / f64::from(n);
                most = Some(most.map_or(mean, |most| most.max(mean)));
            }
        }
    }
    let net = most? - level.background;
    // Of some thousand blocks one lies so high by chance.
    let chance = 5.0 * (level.variance.max(most?.max(0.0)) / f64::from(BLOCK * BLOCK)).sqrt();
    (net > chance && net > 0.5 * level.background.max(0.0)).then_some(net)
}

/// The background of a map in one of the regions below; `None` where it made the region or the region gives none.
///
/// # Errors
/// No memory.
pub(in crate::ask) fn level_below(
    side: &Side,
    asked: &Asked,
    rules: &Rules,
) -> Result<Option<Level>, OutOfMemory> {
    let Some(mask) = asked.mask.as_ref().filter(|_| is_free(&asked.makers, side)) else { return Ok(None) };
    let found = level_of_region(&side.signal, mask, rules)?;
    Ok(found.ok().filter(|level| level.source == LevelSource::Region))
}
