//! Every two of several maps.

use super::judge::{ALPHA, Effort, Judged, judge};
use super::words::blank_answer;
use crate::ask::Progress;
use crate::ask::answer::{Answer, Cell, Method, Number, Row, Table};
use crate::ask::evidence::Evidence;
use crate::ask::pair::Pair;
use crate::ask::plot::{MapName, MatrixCell, Plot};
use crate::ask::verdict::{CANNOT, NO_PATTERN, TOGETHER};
use crate::ask::words as common;
use crate::measure::together::{chained, holm};
use crate::notice::Fault;
use crate::numerics::figure::{hundredths, rounded, stated_percent, whole};

/// Rectangles are tested in so many pixels or squares of them at most: there are many pairs.
const MOST_PIXELS: usize = 128 * 128;

/// One pair.
pub(in crate::ask) struct Entry {
    pub a: usize,
    pub b: usize,
    pub judged: Judged,
    /// Chance by the t-test of what its verdict rests on, corrected for the number of pairs.
    pub corrected_p: Option<f64>,
    pub verdict: &'static str,
    pub reason: String,
}

/// All pairs, and the maps in an order in which like ones are neighbours.
pub(in crate::ask) struct Matrix {
    pub order: Vec<usize>,
    pub entries: Vec<Entry>,
}

impl Matrix {
    fn count(&self, verdict: &str) -> u64 {
        self.entries.iter().filter(|entry| entry.verdict == verdict).count() as u64
    }

    /// Together if any pair is; no common pattern if that is said of every pair.
    pub fn verdict(&self) -> &'static str {
        if self.entries.iter().any(|entry| super::is_strong(entry.verdict)) {
            TOGETHER
        } else if !self.entries.is_empty() && self.count(NO_PATTERN) == self.entries.len() as u64 {
            NO_PATTERN
        } else {
            CANNOT
        }
    }
}

pub(super) fn matrix(evidence: &Evidence, progress: Progress<'_>) -> Result<Matrix, Fault> {
    let n = evidence.sides.len();
    let pairs: Vec<(usize, usize)> = (0..n).flat_map(|a| (a + 1..n).map(move |b| (a, b))).collect();
    let mut entries = Vec::new();
    for (i, &(a, b)) in pairs.iter().enumerate() {
        let (one, other) = (&evidence.sides[a], &evidence.sides[b]);
        progress(i as f64 / pairs.len() as f64, &format!("{} and {}", one.label(), other.label()));
        let pair = Pair { a: one, b: other, evidence };
        let shared = one.roots.iter().any(|root| other.roots.contains(root));
        let effort = Effort { everything: true, most_pixels: MOST_PIXELS };
        let mut judged = judge(&pair, effort, &mut |_, _| {})?;
        if shared {
            judged.verdict = CANNOT;
            judged.reason = "they have numbers from the same map, so they agree by arithmetic alone".into();
        } else if let Some(side) = made(evidence, &[one, other]) {
            judged.verdict = CANNOT;
            judged.reason = format!(
                "“{}” was made from {side}, so it is described there and not tested",
                evidence.asked.name
            );
        }
        let (verdict, reason) = (judged.verdict, judged.reason.clone());
        entries.push(Entry { a, b, judged, corrected_p: None, verdict, reason });
    }
    let chances: Vec<f64> = entries
        .iter()
        .map(|entry| entry.judged.basis().test.and_then(|test| test.p_effective_n).unwrap_or(f64::NAN))
        .collect();
    let corrected = holm(&chances)?;
    for (entry, p) in entries.iter_mut().zip(corrected) {
        entry.corrected_p = Some(p).filter(|p| p.is_finite());
        if entry.verdict == TOGETHER && entry.corrected_p.is_none_or(|p| p >= ALPHA) {
            entry.verdict = CANNOT;
            entry.reason = format!("among {} pairs such a one is to be expected", whole(pairs.len() as u64));
        }
    }
    let alike = |i: usize, j: usize| {
        let (i, j) = (i.min(j), i.max(j));
        entries.iter().find(|entry| (entry.a, entry.b) == (i, j)).and_then(|entry| entry.judged.field.pearson)
    };
    let order = chained(n, alike)?;
    Ok(Matrix { order, entries })
}

/// The name of a side that made the region.
fn made(evidence: &Evidence, sides: &[&crate::ask::evidence::Side]) -> Option<String> {
    let makers = &evidence.asked.makers;
    sides.iter().find(|side| side.roots.iter().any(|root| makers.contains(root))).map(|side| side.label())
}

pub(super) fn word(evidence: &Evidence, found: &Matrix) -> Answer {
    let mut answer = blank_answer(evidence);
    answer.method.push(Method::published(
        "Chances of the t-test corrected for the number of pairs; the shuffle of blocks must agree, uncorrected, because so many shuffles are not done.",
        "S. Holm, Scandinavian Journal of Statistics 6 (1979) 65",
    ));
    answer.method.push(Method::own(
        "Order of the maps: from the most alike pair on, at either end whatever is most like that end.",
    ));
    answer.judged_pixels =
        found.entries.iter().map(|entry| entry.judged.basis().pixels as u64).max().unwrap_or(0);
    let place_of = |map: usize| found.order.iter().position(|&at| at == map).unwrap_or(map);
    let mut entries: Vec<(usize, usize, &Entry)> = found
        .entries
        .iter()
        .map(|entry| {
            let (one, other) = (place_of(entry.a), place_of(entry.b));
            (one.min(other), one.max(other), entry)
        })
        .collect();
    entries.sort_by_key(|&(one, other, _)| (one, other));
    let label = |place: usize| evidence.sides[found.order[place]].label();
    let r = |value: Option<f64>| value.map_or_else(|| "no value".into(), |r| rounded(r, 2));
    let cell = |value: Option<f64>| match value {
        Some(value) => Cell::number(value, rounded(value, 2)),
        None => Cell::words("no value"),
    };
    let mut rows = Vec::new();
    let mut cells = Vec::new();
    for &(one, other, entry) in &entries {
        let (field, basis) = (&entry.judged.field, entry.judged.basis());
        let reason = if entry.reason.is_empty() { String::new() } else { format!(": {}", entry.reason) };
        let verdict = format!("{}{reason}", entry.verdict);
        rows.push(Row {
            label: format!("{} and {}", label(one), label(other)),
            cells: vec![
                cell(field.pearson),
                cell(field.spearman),
                cell(basis.pearson),
                cell(basis.test.and_then(|test| test.effective_n)),
                cell(entry.corrected_p),
                Cell::words(verdict.clone()),
            ],
        });
        cells.push(MatrixCell {
            a: one as u32,
            b: other as u32,
            shade: field.pearson,
            text: field.pearson.map_or_else(|| "–".into(), hundredths),
            verdict: entry.verdict.into(),
            detail: format!(
                "{} and {}: correlation {}, inside the passage {}; {verdict}",
                label(one),
                label(other),
                r(field.pearson),
                r(basis.pearson)
            ),
        });
    }
    let columns = [
        "correlation",
        "by ranks",
        "inside the passage",
        "independent places",
        "chance, corrected",
        "verdict",
    ];
    answer.table = Table { columns: columns.map(String::from).to_vec(), rows };
    let (together, none, cannot) = (found.count(TOGETHER), found.count(NO_PATTERN), found.count(CANNOT));
    answer.sentence = format!(
        "Of {} pairs of {} maps {}, {} rise and fall together, {} show no common pattern, and {} cannot be judged.",
        whole(found.entries.len() as u64),
        whole(evidence.sides.len() as u64),
        evidence.place(),
        whole(together),
        whole(none),
        whole(cannot)
    );
    for (name, value) in
        [("pairs_together", together), ("pairs_without_pattern", none), ("pairs_not_judged", cannot)]
    {
        answer.numbers.insert(name.into(), Number::of(value as f64, "pairs"));
    }
    answer.cautions = vec![
        format!("Verdicts allow for the number of pairs: one false alarm among all of them has a chance of {}.", stated_percent(ALPHA)),
        "Colour and number of a field of the matrix are the correlation over everything asked, which the drawing of the object makes too. Open a pair to see what is inside the passage.".into(),
    ];
    if found.entries.iter().any(|entry| entry.judged.basis().test.is_some_and(|test| test.binned > 1)) {
        answer
            .cautions
            .push("For the tests pixels are taken together in squares, because there are many pairs.".into());
    }
    answer.cautions.extend(common::level_cautions(evidence));
    let maps = found.order.iter().map(|&at| {
        let side = &evidence.sides[at];
        MapName { id: side.id.to_string(), label: side.label() }
    });
    answer.plots.push(Plot::Matrix {
        key: "pairs".into(),
        label: "All pairs, like maps beside each other".into(),
        maps: maps.collect(),
        cells,
        note: answer.sentence.clone(),
    });
    answer
}
