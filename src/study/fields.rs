//! Several scans of one object: how bright one is against the first, where they overlap.

use super::{MapRecord, Study};
use crate::geometry::{Point, Step, Transform};
use crate::kind::Kind;
use crate::measure::Signal;
use crate::measure::overlap::{FEWEST_BLOCKS, Known, NoRatio, Overlap, Slope, overlap};
use crate::notice::Fault;
use crate::numerics::figure::{figure, percent, relative, rounded};
use crate::register::outline;
use crate::stack::Map;
use serde::Serialize;

/// Standard deviations, and share of the ratio, from which a change over the overlap is told.
const TOLD: (f64, f64) = (4.0, 0.005);
/// How the ratio changes is seen over a pixel of misalignment; for an error of more pixels than this it says nothing.
const MOST_OFF: f64 = 2.0;

/// A line of another scan against the same line of the first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverlapText {
    /// Map of the first scan, by id.
    pub first: String,
    /// Map of the other scan, by id.
    pub second: String,
    /// Mean counts of a pixel of the second over those of a pixel of the first; `None` with the reason in `text`.
    pub ratio: Option<f64>,
    /// Standard deviation.
    pub error: Option<f64>,
    /// 95 % interval.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
    /// The same for each unit of area, where both steps are known.
    pub per_area: Option<f64>,
    /// Pixels of the second for each of the first, by the alignment.
    pub density: Option<f64>,
    /// Blocks compared, and their side in pixels of the grid.
    pub blocks: usize,
    /// Side of a block.
    pub side: u32,
    /// The ratio with the second moved by one pixel of the grid: right, left, down, up.
    pub moved: Vec<f64>,
    /// False where the ratio changes over the overlap, with brightness, or scatters beyond counting and alignment.
    pub is_one: Option<bool>,
    /// Second = offset + slope x first, for each pixel: offset and its standard deviation, slope and its own.
    pub line: Option<[f64; 4]>,
    /// Border of the second scan on the grid.
    pub outline: Vec<[f64; 2]>,
    /// All of it in sentences.
    pub text: Vec<String>,
}

impl Study {
    /// Compares a map of another scan with a map of the first; `first` left out is the only one of the same line there.
    /// `to_first` takes places of the other scan to the grid, as both lie now; `alignment_px` is its error. `step` is that of
    /// the other scan, where it is known.
    ///
    /// # Errors
    /// Unknown maps, maps of one scan, of different lines or binned ones; no memory.
    pub fn compare_fields(
        &self,
        second: &str,
        first: Option<&str>,
        to_first: &Transform,
        (alignment_px, step): (f64, Option<Step>),
    ) -> Result<OverlapText, Fault> {
        let second = self.stack.find(second)?;
        let first = match first {
            Some(name) => self.stack.find(name)?,
            None => self.same_line_in_first(second)?,
        };
        if first.field != 0 || second.field == 0 {
            return Err(Fault::bad_setting(format!(
                "{} and {} must be of the first scan and of another one. Say which scan a map belongs to.",
                first.label(),
                second.label()
            )));
        }
        if first.line.is_none() || first.line != second.line {
            return Err(Fault::bad_setting(format!(
                "{} and {} are not of one line, so that their counts cannot be compared.",
                first.label(),
                second.label()
            )));
        }
        if first.making.is_some() || second.making.is_some() {
            return Err(Fault::bad_setting(
                "Scans are compared by the maps that were measured, not by derived ones.",
            ));
        }
        for map in [first, second] {
            if matches!(map.kind, Kind::DisplayCopy | Kind::Auxiliary) || map.role.is_some() {
                return Err(Fault::bad_setting(format!(
                    "{} holds no counts of a line, so that there is no ratio of counts.",
                    map.label()
                )));
            }
        }
        if first.kind != second.kind {
            return Err(Fault::bad_setting(format!(
                "{} is stated to be “{}” and {} “{}”: their numbers mean different things and have no ratio.",
                first.label(),
                first.kind.word(),
                second.label(),
                second.kind.word()
            )));
        }
        let steps = self.stack.step_of(first).zip(step);
        let known = Known { alignment_px, steps };
        let found = overlap(&Signal::of(first)?, &Signal::of(second)?, to_first, known)?;
        let border = outline(to_first, second.plane.size());
        Ok(OverlapText::of((first, second), found, &border, alignment_px))
    }

    /// Whether counts of another scan came into this map when that was laid on the grid: for looking, whatever is stated.
    pub(super) fn is_laid(&self, map: &Map) -> bool {
        let other = |root| self.stack.by_id(root).is_some_and(|root| root.field != map.field);
        map.making.as_ref().is_some_and(|making| making.how == "lay_on_grid" || map.roots().iter().any(other))
    }

    /// # Errors
    /// A kind that a map which was laid on the grid cannot have.
    pub(super) fn check_kind(&self, map: &Map, stated: &MapRecord) -> Result<(), Fault> {
        let is_copy =
            stated.kind.as_deref().is_none_or(|kind| kind.is_empty() || kind == map.proposal.kind.word());
        if is_copy || !self.is_laid(map) {
            return Ok(());
        }
        Err(Fault::bad_setting(format!(
            "{} was laid on the grid from another scan: neighbours share counts, so it is for looking and has no other kind.",
            map.label()
        )))
    }

    fn same_line_in_first(&self, second: &Map) -> Result<&Map, Fault> {
        let of_line = |map: &&Map| {
            map.making.is_none() && map.role.is_none() && map.line.is_some() && map.line == second.line
        };
        let all: Vec<&Map> = self.stack.on_grid().filter(of_line).collect();
        match all.as_slice() {
            [one] => Ok(one),
            [] => Err(Fault::bad_setting(format!(
                "The first scan has no map of the line of {}.",
                second.label()
            ))),
            _ => Err(Fault::bad_setting(format!(
                "The first scan has several maps of the line of {}. Name one.",
                second.label()
            ))),
        }
    }
}

impl OverlapText {
    fn of(
        (first, second): (&Map, &Map),
        found: Result<Overlap, NoRatio>,
        border: &[Point],
        alignment_px: f64,
    ) -> Self {
        let mut out = Self {
            first: first.id.to_string(),
            second: second.id.to_string(),
            ratio: None,
            error: None,
            low: None,
            high: None,
            per_area: None,
            density: None,
            blocks: 0,
            side: 0,
            moved: Vec::new(),
            is_one: None,
            line: None,
            outline: border.iter().map(|&(x, y)| [x, y]).collect(),
            text: Vec::new(),
        };
        match found {
            Err(trouble) => out.text.push(no_ratio(trouble)),
            Ok(found) => {
                out.text = sentences((first, second), &found, alignment_px);
                out.ratio = Some(found.ratio);
                if alignment_px <= MOST_OFF {
                    out.is_one = Some(is_one(&found));
                    out.error = Some(found.error);
                    (out.low, out.high) = (Some(found.interval.0), Some(found.interval.1));
                }
                (out.per_area, out.density) = (found.per_area, Some(found.density));
                (out.blocks, out.side) = (found.blocks, found.side);
                out.moved = found.moved.to_vec();
                out.line = found.line.map(|l| [l.offset.value, l.offset.error, l.slope.value, l.slope.error]);
            }
        }
        out
    }
}

fn no_ratio(trouble: NoRatio) -> String {
    match trouble {
        NoRatio::Apart => "By this alignment the two scans don't overlap.".into(),
        NoRatio::TooSmall { blocks } => format!(
            "The overlap holds {blocks} blocks that both scans measured wholly; {FEWEST_BLOCKS} are needed for a ratio with its uncertainty."
        ),
        NoRatio::Nothing => {
            "In the overlap a sum of counts is not above 0, so that there is no ratio.".into()
        }
    }
}

fn told(slope: &Slope) -> bool {
    slope.is_beyond(TOLD.0, TOLD.1)
}

/// One ratio: no cause that changes it, and no scatter of the blocks that counting and alignment leave unexplained.
fn is_one(found: &Overlap) -> bool {
    let is_scattered = found.scatter_p.is_some_and(|p| p < 1e-4) && found.spread > TOLD.1;
    ![found.across, found.down, found.with_brightness].iter().any(told) && !is_scattered
}

/// "0.870 (0.862 to 0.878)".
fn with_interval(found: &Overlap) -> String {
    let digits = |v: f64| rounded(v, 3);
    format!("{} ({} to {})", digits(found.ratio), digits(found.interval.0), digits(found.interval.1))
}

/// By a scan that may lie too far off: the ratio as it is, without an interval and without a word of what follows from places.
fn unsure((first, second): (&Map, &Map), found: &Overlap, alignment_px: f64) -> Vec<String> {
    vec![
        format!(
            "By this alignment a pixel of {} holds {} times the counts of a pixel of {}, where they overlap.",
            second.label(),
            rounded(found.ratio, 3),
            first.label()
        ),
        format!(
            "It has no interval: the scans lie on each other within {} px only. Align them by more points, spread over the overlap.",
            figure(alignment_px)
        ),
    ]
}

/// "by less than 0.1 %", "by up to 1.5 %".
fn up_to(share: f64) -> String {
    let text = percent(share);
    text.strip_prefix("< ")
        .map_or_else(|| format!("by up to {text}"), |least| format!("by less than {least}"))
}

fn sentences((first, second): (&Map, &Map), found: &Overlap, alignment_px: f64) -> Vec<String> {
    if alignment_px > MOST_OFF {
        return unsure((first, second), found, alignment_px);
    }
    let mut out = vec![format!(
        "Where the scans overlap, a pixel of {} holds {} times the counts of a pixel of {} (95 % interval; {} blocks of {} × {} pixels).",
        second.label(),
        with_interval(found),
        first.label(),
        found.blocks,
        found.side,
        found.side
    )];
    match found.per_area {
        Some(per_area) => {
            out.push(format!("For each mm², by the steps of both scans, it is {}.", rounded(per_area, 3)))
        }
        None => out.push(format!(
            "By the alignment {} pixels of it lie on one of the first, so that for the same area it is {}.",
            figure(found.density),
            rounded(found.ratio * found.density, 3)
        )),
    }
    let share = |v: f64| percent(v / found.ratio);
    let counted = match found.by_counting {
        Some(counted) => format!("counting {}", share(counted)),
        None => "counting not known".into(),
    };
    out.push(format!(
        "Standard deviations: {counted}, scatter between blocks {}, alignment {} (for {} px).",
        share(found.by_blocks),
        share(found.by_alignment),
        figure(alignment_px)
    ));
    let farthest = found.moved.iter().map(|m| (m - found.ratio).abs()).fold(0.0, f64::max);
    out.push(format!("One pixel of misalignment would change the ratio {}.", up_to(farthest / found.ratio)));
    let change = |slope: &Slope, from_to: &str| {
        format!(
            "No one ratio holds: it {} by {} ± {} of its mean {from_to}.",
            if slope.value < 0.0 { "falls" } else { "rises" },
            relative(slope.value.abs()),
            relative(slope.error)
        )
    };
    for (slope, words) in [
        (&found.across, "from the left to the right end of the overlap"),
        (&found.down, "from the upper to the lower end of the overlap"),
        (&found.with_brightness, "from dark to bright blocks, as dead time or another background would"),
    ] {
        if told(slope) {
            out.push(change(slope, words));
        }
    }
    if is_one(found) {
        out.push(match found.scatter {
            Some(_) => "One ratio holds for all blocks, as far as counting and alignment show.".into(),
            None => "No change over the overlap is seen; how far blocks may scatter is not known, because noise is not.".into(),
        });
    } else if !out.iter().any(|text| text.starts_with("No one ratio holds")) {
        out.push(format!(
            "No one ratio holds: blocks scatter by {} beyond counting and alignment, without a direction.",
            percent(found.spread)
        ));
    }
    if let Some(line) = found.line.filter(|line| line.offset.is_beyond(TOLD.0, 0.0)) {
        out.push(format!(
            "An offset is seen: second = {} (± {}) + {} (± {}) × first, for each pixel. The backgrounds differ, and the slope is the factor of what lies above them.",
            figure(line.offset.value),
            figure(line.offset.error),
            rounded(line.slope.value, 3),
            rounded(line.slope.error, 2)
        ));
    }
    out.push("Tests stay within one field; the ratio is for comparing, not for joining counts.".into());
    out
}
