//! What lines of other elements could give in a map: which pixels that makes doubtful, and what is to be said of it.

use super::{Change, Subject};
use crate::ask::overlaps::{self, Missing, Share, Way, missing_text, said, share_text, way_text};
use crate::ask::settings::Settings;
use crate::ask::words::listed;
use crate::grid::{Grid, Mask};
use crate::kind::{Kind, Noise};
use crate::measure::{Doubt, Level, LevelSource, Rules, Signal};
use crate::notice::Fault;
use crate::numerics::figure::percent;
use crate::physics::{Between, How};
use crate::stack::Map;

/// Maps that are named in one sentence, and told of in cautions.
const MOST_TOLD: usize = 3;
/// What could give less than this share of what the largest could is not told of.
const MUCH: f64 = 0.1;

/// Another map whose lines come into a map.
#[derive(Debug, Clone, PartialEq)]
pub struct Interference {
    /// The other map's label.
    pub label: String,
    /// Counts for each of the other's; `None` where that cannot be said in numbers.
    pub share: Option<Between>,
    /// Whether it was measured in a region taken as pure.
    pub is_measured: bool,
    /// What lies where and how much it may be.
    pub text: String,
    /// The most that it could give, on average over the pixels asked about; 0 where that cannot be said.
    pub mean: f64,
}

/// All that is known of overlaps in a map.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Overlaps {
    /// Maps of the stack that come in.
    pub by: Vec<Interference>,
    /// Elements that were not measured, whose line is one peak with the map's: as clauses, and whether they are so common that
    /// the map alone says nothing.
    pub missing: Vec<(String, bool)>,
    /// Whether the instrument itself gives this line.
    pub is_of_instrument: bool,
    /// Whether its background comes from a region, so that what the instrument gives is in it.
    pub has_blank: bool,
}

impl Overlaps {
    /// What every answer says of them.
    pub fn cautions(&self, label: &str) -> Vec<String> {
        let mut out = Vec::new();
        let untold = self.by.iter().filter(|by| by.share.is_none());
        for by in self.weighty().take(MOST_TOLD).chain(untold) {
            out.push(match by.share {
                Some(_) => format!("{} Pixels of {label} that this could explain are not judged.", by.text),
                None => format!("{} So no pixel of {label} is set aside for it.", by.text),
            });
        }
        for (text, is_ruinous) in &self.missing {
            let then = if *is_ruinous {
                "so that this map alone does not tell them apart"
            } else {
                "so that it may stand in this map"
            };
            out.push(format!("{text}, {then}."));
        }
        if self.is_of_instrument {
            out.push(if self.has_blank {
                format!("The instrument itself gives {label}; it is held against a region, so that only what exceeds that counts.")
            } else {
                format!("The instrument itself gives {label}: what is less than twice the background of the field is not judged. Name a blank or bare region as background.")
            });
        }
        out
    }

    /// Why counts above background may be no signal, as a clause.
    pub fn reason(&self, label: &str) -> String {
        let mut told: Vec<&Interference> = self.weighty().take(MOST_TOLD).collect();
        if told.is_empty() {
            told.extend(self.by.first());
        }
        let names: Vec<&str> = told.iter().map(|by| by.label.as_str()).collect();
        match (names.as_slice(), self.is_of_instrument && !self.has_blank) {
            ([], _) => format!("the instrument itself gives {label}, and no region says how much"),
            (names, false) => format!(
                "all that counts above background could be lines of {}: {}",
                listed(names),
                self.first()
            ),
            (names, true) => format!(
                "all that counts above background could be lines of {} or given by the instrument itself",
                listed(names)
            ),
        }
    }

    /// Those that could give much of what the others do, the largest first.
    fn weighty(&self) -> impl Iterator<Item = &Interference> {
        let largest = self.by.first().map_or(0.0, |by| by.mean);
        self.by.iter().filter(move |by| by.share.is_some() && by.mean > 0.0 && by.mean >= MUCH * largest)
    }

    fn first(&self) -> String {
        as_clause(self.by.first().map_or("", |by| by.text.as_str()))
    }
}

/// What is said of an overlap as a clause after a colon: "Pb Lα lies 9 eV above As Kα, one peak; by theory ...".
pub(in crate::ask) fn as_clause(text: &str) -> String {
    let text = text.trim_end_matches('.');
    let Some((place, share)) = text.split_once(". ") else { return text.replace(": ", ", ") };
    let mut letters = share.chars();
    let first = letters.next().map_or_else(String::new, |letter| letter.to_lowercase().collect());
    // A label keeps its capital.
    let share = match ["By ", "In ", "Where ", "How "].iter().any(|word| share.starts_with(word)) {
        true => format!("{first}{}", letters.as_str()),
        false => share.to_owned(),
    };
    format!("{}; {share}", place.replace(": ", ", "))
}

/// The doubt about each pixel and what is to be said.
///
/// # Errors
/// No memory.
pub(super) fn of(
    subject: &Subject<'_>,
    (map, signal, level): (&Map, &Signal, Option<&Level>),
    asked: Option<&Mask>,
    (settings, rules): (&Settings, &Rules),
) -> Result<(Option<Doubt>, Overlaps), Fault> {
    let mut found = Overlaps::default();
    let mut most: Option<Grid<f32>> = None;
    let mut spread = 1.0f64;
    for way in subject.ways(map) {
        let other = overlaps::held(subject, map, &way, settings, rules)?;
        let share = overlaps::share(subject, (map, signal, level), (&way, &other), (settings, rules))?;
        if is_nothing(&way, &share, level) {
            continue;
        }
        let own = overlaps::most(&way, &other, &share)?;
        spread = spread.max(1.0 + share.used.map_or(0.0, |share| share.high));
        let mean = own.as_ref().map_or(0.0, |own| mean(own, asked));
        if let Some(own) = own {
            most = Some(match most {
                None => own,
                Some(mut all) => {
                    for (sum, one) in all.data_mut().iter_mut().zip(own.data()) {
                        *sum += *one;
                    }
                    all
                }
            });
        }
        found.by.push(Interference {
            label: way.map.label(),
            share: share.used,
            is_measured: share.measured.is_some(),
            text: format!("{} {}", way_text(&way.nearest), share_text(map, &way, &share)),
            mean,
        });
    }
    found.by.sort_by(|a, b| b.mean.total_cmp(&a.mean));
    for missing in subject.missing(map) {
        let Missing { element, overlap, .. } = &missing;
        let is_ruinous = said(overlap.wanted, *element, How::Line).is_ruinous;
        found.missing.push((missing_text(&missing), is_ruinous));
    }
    found.is_of_instrument = is_own_line(subject, map);
    found.has_blank = level.is_some_and(|level| level.source != LevelSource::QuietPart);
    if found.is_of_instrument
        && !found.has_blank
        && let Some(level) = level
    {
        let (width, height) = (signal.values.width(), signal.values.height());
        let own = level.background.max(0.0) as f32;
        match &mut most {
            None => most = Some(Grid::try_filled(width, height, own)?),
            Some(all) => all.data_mut().iter_mut().for_each(|sum| *sum += own),
        }
    }
    if map.kind == Kind::Rate {
        // A rate scatters by more than its number where a pixel took less than a second.
        spread *= 10.0;
    }
    Ok((most.map(|most| Doubt::new(most, spread, rules.alpha)), found))
}

/// Mean over the pixels asked about; unbounded ones count for nothing but themselves.
fn mean(most: &Grid<f32>, asked: Option<&Mask>) -> f64 {
    let inside = |i: &usize| asked.is_none_or(|mask| mask.data().get(*i) == Some(&true));
    let pixels = (0..most.data().len()).filter(inside).map(|i| f64::from(most.data()[i]));
    let (sum, n) = pixels.filter(|v| v.is_finite()).fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
    if n > 0.0 { sum / n } else { 0.0 }
}

/// Whether a way can be left out: even the brightest pixel of the other map gives less than a fiftieth of the background, or of
/// a count.
fn is_nothing(way: &Way<'_>, share: &Share, level: Option<&Level>) -> bool {
    let background = level.map_or(1.0, |level| level.background.max(1.0));
    let brightest = way.map.stats.high.unwrap_or(0.0);
    let is_counted = way.map.kind.noise() != Noise::Unknown;
    is_counted && share.used.is_some_and(|share| share.high * brightest < 0.02 * background)
}

/// Whether the instrument gives the line of a map.
fn is_own_line(subject: &Subject<'_>, map: &Map) -> bool {
    map.line.zip(subject.known()).is_some_and(|(line, known)| known.is_own(line))
}

impl super::Side {
    /// What overlaps make of it as a whole: a clause where an element that is common in paint and was not measured is one
    /// peak with it, so that this map alone says nothing of its element. `None` where it does.
    pub fn overlap_doubt(&self) -> Option<String> {
        self.overlaps.missing.iter().find(|(_, is_ruinous)| *is_ruinous).map(|(text, _)| text.clone())
    }

    /// What overlaps could give at most of what is counted above background in pixels that are asked about and kept, as a
    /// share; 0 without overlaps or without a background.
    pub fn overlap_share(&self, keep: impl Fn(usize) -> bool) -> f64 {
        self.level.as_ref().map_or(0.0, |level| self.signal.overlap_share(level.background, keep))
    }

    /// Why a share that overlaps could give keeps something from being judged, as a clause; `than` follows a share.
    pub fn overlap_reason(&self, share: f64, than: &str) -> String {
        let label = self.label();
        if share < 1.0 {
            return format!(
                "up to {} of {label} there could be lines of other elements{than}",
                percent(share)
            );
        }
        self.overlaps.reason(&label)
    }

    /// The trial in which counts are halved has half the overlap.
    pub(super) fn doubt_in(before: &Self, change: Change) -> Option<Doubt> {
        let times =
            if change == Change::HalfTheCounts && before.noise() == Noise::Counting { 0.5 } else { 1.0 };
        before.signal.doubt.as_ref().map(|doubt| doubt.scaled(times))
    }
}

#[cfg(test)]
mod tests {
    use super::as_clause;

    #[test]
    fn what_is_said_of_an_overlap_reads_on_as_a_clause() {
        let clause = |text| as_clause(text);
        assert_eq!(
            clause(
                "Pb Lα lies 9 eV above As Kα: one peak. By theory 0.9 counts of As K come with each count of Pb L."
            ),
            "Pb Lα lies 9 eV above As Kα, one peak; by theory 0.9 counts of As K come with each count of Pb L"
        );
        assert_eq!(
            clause("Cu Kβ lies 274 eV above Zn Kα: its edge reaches in."),
            "Cu Kβ lies 274 eV above Zn Kα, its edge reaches in"
        );
    }
}
