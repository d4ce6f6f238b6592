//! Whether anything speaks against a proposed span of years.
//!
//! Only an element that is detected beyond support, ground and overlaps can fail to fit, and only where everything that
//! could explain it (by its formula, or as a companion of what is seen) begins after the span by years that a verdict may
//! rest on. Years in which a use fades out make no misfit: they are a remark. Pigments alone never decide a date.

use super::common;
use super::judge::{self, Judged, Maps, Years, is_later};
use super::material::{Basis, Knowledge, Material};
use super::passage::{Passage, State};
use super::reading::{MaterialReading, PassageReading, Reason, Verdict};
use super::relate::{self, Ban};
use super::sight::{self, Sight, bit};
use super::words::{by_fact, by_maps, capital, listed, of_element, reasoned, sentence, year, years};
use crate::element::Element;

/// Rows at most.
const ROWS: usize = 40;
/// Materials that one explanation names at most.
const NAMED: usize = 5;

/// Verdict on one element or material against the span, the weightiest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DateVerdict {
    /// Everything that explains it begins after the span.
    Misfit,
    /// Nothing can be said.
    Cannot,
    /// Something that explains it was in use within the span or before, which supports no date within it.
    Fits,
}

/// What a row speaks of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DateOf {
    /// An element that late materials bring.
    Element(Element),
    /// A material that is identified or consistent.
    Material(&'static Material),
}

/// One element or material against the span.
#[derive(Debug, Clone, PartialEq)]
pub struct DateRow {
    /// What it speaks of.
    pub of: DateOf,
    /// The verdict.
    pub verdict: DateVerdict,
    /// First year; of an element the first of any material that could explain it by its formula. `None` where use is as
    /// old as painting.
    pub from: Option<i32>,
    /// Year in which common use fades out; `None` for an element, and where it is still used.
    pub to: Option<i32>,
    /// What is to be said of these years.
    pub years: Reason,
    /// What could explain it, the innocent explanations first.
    pub explanations: Vec<Reason>,
}

/// Elements and materials of a passage against its proposed span: what does not fit first, then what cannot be judged, then
/// what fits; elements before materials. Elements are given where a material of theirs begins after the span and no common one does
/// not; materials that fit are given where they are common or identified, and one that begins
/// after the span is not where older ones explain all that is seen of it. Empty where no span is proposed.
pub fn date_rows(passage: &Passage, reading: &PassageReading) -> Vec<DateRow> {
    date_rows_with(passage, reading, super::knowledge())
}

/// As [`date_rows`], with the knowledge handed in.
pub(super) fn date_rows_with(
    passage: &Passage,
    reading: &PassageReading,
    knowledge: &'static Knowledge,
) -> Vec<DateRow> {
    let span = judge::span(passage);
    if span == (None, None) {
        return Vec::new();
    }
    let about = About { passage, knowledge, all: judge::all(passage, knowledge), end: span.1 };
    let mut rows: Vec<DateRow> = passage
        .elements
        .iter()
        .filter(|seen| matches!(seen.state, State::Detected | State::CannotBeJudged))
        .filter_map(|seen| about.element(seen.element))
        .collect();
    let elements: Vec<(Element, DateVerdict)> = rows
        .iter()
        .filter_map(|row| match row.of {
            DateOf::Element(element) => Some((element, row.verdict)),
            DateOf::Material(_) => None,
        })
        .collect();
    rows.extend(reading.materials.iter().filter_map(|row| about.material(row, &elements)));
    // The sort is stable: elements stay in order of number, materials in that of the reading.
    rows.sort_by_key(|row| (row.verdict, matches!(row.of, DateOf::Material(_))));
    rows.truncate(ROWS);
    rows
}

struct About<'a> {
    passage: &'a Passage,
    knowledge: &'static Knowledge,
    all: Vec<Judged>,
    /// Last year of the span.
    end: Option<i32>,
}

/// What could explain an element.
#[derive(Default)]
struct Explainers<'a> {
    /// Materials in use by the end of the span whose formula holds it.
    older: Vec<&'a Judged>,
    /// Materials in use by then that are seen, and bring it often.
    company: Vec<&'a Judged>,
    /// Materials that bring it often, in use by then, that could not be looked at.
    unseen: Vec<&'a Judged>,
    /// Materials of which nothing must show that bring it often, in use by then.
    silent: Vec<&'a Judged>,
    /// What begins after the span, firmly.
    later: Vec<&'a Judged>,
    /// What begins after the span by a weak year.
    weak: Vec<&'a Judged>,
}

impl About<'_> {
    fn explainers(&self, element: Element) -> Explainers<'_> {
        let mut out = Explainers::default();
        for judged in self.all.iter().filter(|judged| !is_later(judged.material)) {
            let material = judged.material;
            let ban = relate::ban(material, element, self.passage);
            let is_own = material.key.contains(&element) || material.must.contains(&element);
            let is_company = material.often.iter().any(|often| often.element == element)
                || material.stands.iter().any(|stands| stands.element == element);
            if matches!(judged.maps, Maps::Excluded(_)) || ban == Ban::Both || !(is_own || is_company) {
                continue;
            }
            let is_in_use = matches!(judged.years, Years::Meet | Years::Faded);
            if is_own {
                match judged.years {
                    Years::Later => out.later.push(judged),
                    Years::WeaklyLater => out.weak.push(judged),
                    Years::Meet | Years::Faded => out.older.push(judged),
                }
            } else if ban == Ban::AsCompanion {
                continue;
            } else if material.must.is_empty() {
                if is_in_use {
                    out.silent.push(judged);
                }
            } else if judged.is_possible() {
                match judged.years {
                    Years::Later => {}
                    Years::WeaklyLater => out.weak.push(judged),
                    Years::Meet | Years::Faded => out.company.push(judged),
                }
            } else if is_in_use && self.could_carry(material) {
                out.unseen.push(judged);
            }
        }
        for list in [
            &mut out.older,
            &mut out.company,
            &mut out.unseen,
            &mut out.silent,
            &mut out.later,
            &mut out.weak,
        ] {
            list.sort_by_key(|judged| judged.rank);
        }
        out
    }

    /// Whether all that must show of a material could not be looked at or is seen. What is no more than the support holds
    /// brings no companion beyond the support.
    fn could_carry(&self, material: &Material) -> bool {
        material.must.iter().all(|element| {
            matches!(
                sight::of(self.passage, *element),
                Sight::Beyond | Sight::Open | Sight::Mute | Sight::Unmeasured
            )
        })
    }

    /// A row of an element; `None` where no material of it begins after the span, or a common one of it does not.
    fn element(&self, element: Element) -> Option<DateRow> {
        let by = self.explainers(element);
        if by.older.iter().any(|judged| common::is_common(judged.material.id)) {
            return None;
        }
        let first = by.later.iter().chain(&by.weak).min_by_key(|judged| judged.material.from)?;
        let has_older = !(by.older.is_empty() && by.company.is_empty());
        let is_seen = sight::is_seen(self.passage, element);
        let verdict = match (is_seen, has_older) {
            (false, _) => DateVerdict::Cannot,
            (true, true) => DateVerdict::Fits,
            (true, false) if by.later.is_empty() || !by.weak.is_empty() || !by.unseen.is_empty() => {
                DateVerdict::Cannot
            }
            (true, false) => DateVerdict::Misfit,
        };
        let oldest = by.older.iter().map(|judged| judged.material.from).min().unwrap_or(first.material.from);
        let source = by.older.iter().find(|judged| judged.material.from == oldest).unwrap_or(first).material;
        Some(DateRow {
            of: DateOf::Element(element),
            verdict,
            from: oldest,
            to: None,
            years: by_fact(
                format!("{}: {}", capital(source.name), sentence(source.years.text)),
                &source.years,
                self.knowledge,
            ),
            explanations: self.explain(element, verdict, &by),
        })
    }

    fn explain(&self, element: Element, verdict: DateVerdict, by: &Explainers<'_>) -> Vec<Reason> {
        let name = element.name();
        let mut out = Vec::new();
        if !sight::is_seen(self.passage, element) {
            out.push(by_maps(of_element(self.passage, element)));
        }
        if !by.older.is_empty() {
            out.push(reasoned(format!(
                "{} may belong to {}, in use by {}.",
                capital(name),
                self.names(&by.older),
                self.end_text()
            )));
        }
        if !by.company.is_empty() {
            out.push(reasoned(format!(
                "It may be an accessory element: {} often bring{} it.",
                self.names(&by.company),
                plural(&by.company)
            )));
        }
        if verdict == DateVerdict::Misfit {
            out.extend(innocent(name));
        }
        if !by.unseen.is_empty() {
            out.push(reasoned(format!(
                "It may be an accessory element of {}, which could not be looked at.",
                self.names(&by.unseen)
            )));
        }
        if !by.silent.is_empty() && verdict != DateVerdict::Fits {
            out.push(reasoned(format!(
                "It may come with {}, on which the maps are silent.",
                self.names(&by.silent)
            )));
        }
        if !by.weak.is_empty() {
            out.push(reasoned(format!(
                "The first years of {} are too weak to rest anything on.",
                self.names(&by.weak)
            )));
        }
        if !by.later.is_empty() {
            let which = if verdict == DateVerdict::Fits { "Not of the span would be" } else { "Otherwise" };
            out.push(reasoned(format!("{which}: {}.", self.dated(&by.later))));
        }
        out
    }

    /// A row of a material; `None` for one that is neither identified nor consistent, and for one of little weight that fits.
    fn material(&self, row: &MaterialReading, elements: &[(Element, DateVerdict)]) -> Option<DateRow> {
        let material = row.material;
        let is_identified = matches!(row.verdict, Verdict::Identified { .. });
        if !(is_identified || row.verdict == Verdict::Consistent) || is_later(material) {
            return None;
        }
        let judged = self.all.iter().find(|judged| judged.material.id == material.id)?;
        let of = |verdict: DateVerdict| {
            let is_it = |row: &&(Element, DateVerdict)| row.1 == verdict && judged.seen & bit(row.0) != 0;
            elements.iter().find(is_it).map(|row| row.0)
        };
        let only_it = of(DateVerdict::Misfit);
        let verdict = match (judged.years, is_identified) {
            (Years::Meet | Years::Faded, _) => DateVerdict::Fits,
            (Years::Later, true) => DateVerdict::Misfit,
            (Years::Later, false) if only_it.is_some() => DateVerdict::Misfit,
            (Years::WeaklyLater, true) => DateVerdict::Cannot,
            // One of several, the others older: that it would begin later says nothing of what is there.
            _ => of(DateVerdict::Cannot).map(|_| DateVerdict::Cannot)?,
        };
        if verdict == DateVerdict::Fits && !is_identified && !common::is_common(material.id) {
            return None;
        }
        let mut explanations = Vec::new();
        match (judged.years, verdict) {
            (_, DateVerdict::Misfit) => {
                let many = if is_identified { usize::MAX } else { 1 };
                explanations.extend(innocent(material.name).into_iter().take(many));
                if let (false, Some(element)) = (is_identified, only_it) {
                    explanations.push(reasoned(format!(
                        "It is not identified: the maps are consistent with it, and everything known here that explains {} begins after {}.",
                        element.name(),
                        self.end_text()
                    )));
                }
            }
            (Years::WeaklyLater, _) => {
                explanations.push(reasoned("Its first year is too weak to rest a verdict on.".to_owned()))
            }
            (Years::Later, _) => explanations.push(reasoned(
                "The maps are consistent with it and with older materials: its presence is not shown."
                    .to_owned(),
            )),
            (Years::Faded, _) => explanations.push(reasoned(format!(
                "A remark, no misfit: its common use fades out about {}, which is no last possible year.",
                material.to.map_or_else(String::new, year)
            ))),
            (Years::Meet, _) => {}
        }
        Some(DateRow {
            of: DateOf::Material(material),
            verdict,
            from: material.from,
            to: material.to,
            years: by_fact(sentence(material.years.text), &material.years, self.knowledge),
            explanations,
        })
    }

    fn names(&self, of: &[&Judged]) -> String {
        let names: Vec<&str> = of.iter().take(NAMED).map(|judged| judged.material.name).collect();
        let more = if of.len() > NAMED { " or others" } else { "" };
        format!("{}{more}", listed(&names).replace(" and ", " or "))
    }

    fn dated(&self, of: &[&Judged]) -> String {
        let names: Vec<String> = of
            .iter()
            .take(NAMED)
            .map(|judged| {
                format!("{} ({})", judged.material.name, years(judged.material.from, judged.material.to))
            })
            .collect();
        names.join(", ")
    }

    fn end_text(&self) -> String {
        self.end.map_or_else(|| "the span".to_owned(), year)
    }
}

/// What to think of first where something does not fit. Common practice, no source.
fn innocent(name: &str) -> Vec<Reason> {
    [
        format!("A later repair or retouching may hold {name}: it would keep to an island that ignores the drawing."),
        format!("A ground, a filling or the support may hold {name} where no bare place of it was measured."),
        "It may be an accessory element of something that was not thought of, or dirt, salts or pesticide."
            .to_owned(),
        "A line of another element may be counted as its own beyond the overlaps that were considered.".to_owned(),
    ]
    .into_iter()
    .map(|text| Reason { text, basis: Basis::Practice, source: String::new() })
    .collect()
}

fn plural(of: &[&Judged]) -> &'static str {
    if of.len() == 1 { "s" } else { "" }
}
