//! What `materials` says, beside its sentence.

use super::elements::OfElement;
use super::part::{
    ElementRow, MaterialRow, MaterialsPart, OfElement as ElementText, Said, SetRow, SettleRow, sources,
};
use super::sentence::{colour_first, point_words, sentence};
use super::{Found, name_of};
use crate::ask::answer::{Answer, Cell, Figure, Method, Number, Row, Table};
use crate::ask::evidence::Evidence;
use crate::ask::verdict::{ALIKE, CONSISTENT, IDENTIFIED, NO_EVIDENCE, WOULD_SHOW};
use crate::ask::words;
use crate::measure::LevelSource;
use crate::numerics::figure::{figure, percent};
use crate::pigment::{Colour, ExplainingSet, MaterialReading, Reach, State, Verdict, knowledge};

pub(super) fn worded(evidence: &Evidence, found: Found) -> Answer {
    let mut answer = blank_answer(evidence);
    answer.judged_pixels = evidence.pixels();
    answer.sentence = sentence(evidence, &found);
    answer.cautions = cautions(evidence, &found);
    answer.figures = figures(&found);
    for one in &found.passed.elements {
        let symbol = one.seen.element.symbol();
        let unit = evidence.sides.get(one.place).map_or("", |side| side.kind.unit());
        match one.seen.state {
            State::Detected => {
                let mean = Number::or_reason(one.seen.mean, unit, "the map gives no mean");
                answer.numbers.insert(format!("mean_{symbol}"), mean);
            }
            State::NotDetected => {
                let limit = Number::or_reason(one.seen.below, unit, "the map gives no limit");
                answer.numbers.insert(format!("limit_{symbol}"), limit);
            }
            _ => {}
        }
    }
    let part = part(evidence, found);
    answer.table = table(&part);
    answer.materials = Some(part);
    answer
}

fn part(evidence: &Evidence, found: Found) -> MaterialsPart {
    let reading = found.reading;
    let colour = found.passed.passage.colour;
    let sets: Vec<SetRow> = reading.sets.iter().map(|set| set_row(set, colour)).collect();
    MaterialsPart {
        elements: element_rows(evidence, &found.passed.elements, &found.passed.idle),
        materials: reading.materials.iter().map(|one| material_row(evidence, &found.passed.elements, one)).collect(),
        sets_text: match sets.len() {
            0 => "No set of up to four of the materials explains everything that is seen.".into(),
            _ => "Sets of materials that explain every element seen, on top of support and ground, the smallest first. A small set is no likelier for being small, and other materials are possible.".into(),
        },
        sets,
        unexplained: reading
            .unexplained
            .iter()
            .map(|element| ElementText {
                element: element.symbol().into(),
                text: format!(
                    "{} is detected and no material that is consistent explains it: a material that is not known here, an admixture, or a line of another element.",
                    element.symbol()
                ),
            })
            .collect(),
        measure_next: found.next,
        readings: reading.readings.iter().map(Said::of_reason).collect(),
        hazards: reading.hazards,
    }
}

fn set_row(set: &ExplainingSet, colour: Option<Colour>) -> SetRow {
    let names = colour_first(set, colour);
    let symbols: Vec<&str> = set.as_companions.iter().map(|element| element.symbol()).collect();
    let text = match symbols.as_slice() {
        [] => words::listed(&names),
        _ => format!("{}; {} only as a frequent companion", words::listed(&names), words::listed(&symbols)),
    };
    let gives = |colour: &Colour| {
        let of = set.materials.iter().filter_map(|id| knowledge().material(id));
        of.into_iter().any(|material| material.colours.contains(colour))
    };
    let text = match colour.filter(|colour| !gives(colour)) {
        Some(colour) => format!(
            "{text}; its {} would come from something else, as a dye that XRF does not see",
            colour.word()
        ),
        None => text,
    };
    SetRow { materials: set.materials.iter().map(|id| (*id).to_owned()).collect(), names, text }
}

/// Elements with what is said of each: detected ones first, then what cannot be judged, what support or ground hold, what is
/// not detected and what was not measured.
pub(in crate::ask) fn element_rows(
    evidence: &Evidence,
    elements: &[OfElement],
    idle: &[crate::element::Line],
) -> Vec<ElementRow> {
    let order = [State::Detected, State::CannotBeJudged, State::AsBelow, State::NotDetected];
    let mut out: Vec<ElementRow> = Vec::new();
    for state in order {
        out.extend(
            elements.iter().filter(|one| one.seen.state == state).map(|one| element_row(evidence, one)),
        );
    }
    for line in idle {
        let symbol = line.element.symbol();
        if elements.iter().any(|one| one.seen.element == line.element) {
            continue;
        }
        out.push(ElementRow {
            element: symbol.into(),
            label: line.to_string(),
            state: "not measured".into(),
            text: format!(
                "{line} is not excited at the voltage of the tube that is stated: {symbol} was not measured."
            ),
        });
    }
    out
}

fn state_word(state: State) -> &'static str {
    match state {
        State::Detected => "detected",
        State::AsBelow => "as below",
        State::NotDetected => "not detected",
        State::CannotBeJudged => "cannot be judged",
    }
}

fn unit_of(evidence: &Evidence, one: &OfElement) -> String {
    match evidence.sides.get(one.place).map_or("", |side| side.kind.unit()) {
        "" => "a pixel".into(),
        unit => format!("{unit} a pixel"),
    }
}

fn element_row(evidence: &Evidence, one: &OfElement) -> ElementRow {
    let seen = &one.seen;
    let (label, symbol, unit) = (&seen.label, seen.element.symbol(), unit_of(evidence, one));
    let text = match seen.state {
        State::Detected => {
            let over: Vec<String> =
                evidence.beside.below.iter().map(|asked| format!("“{}”", asked.name)).collect();
            let over = match over.as_slice() {
                [] => "background".to_owned(),
                _ => format!("what {} holds", words::listed(&over)),
            };
            let mean =
                seen.mean.map_or_else(String::new, |mean| format!(": {} {unit} above {over}", figure(mean)));
            format!("{label} is detected{mean}.")
        }
        State::AsBelow => format!(
            "{label} is no more than what {} holds: it asks for no material of the paint and excludes none.",
            one.holds
        ),
        State::NotDetected => {
            let limit = limit(one, &unit);
            let share = seen.below_share.map_or_else(String::new, |share| {
                format!(", {} of its strongest passage in this scan", percent(share))
            });
            format!(
                "{label} is not detected: even if all that was counted there were {symbol}, it would be below {limit}{share}.{}",
                silence(one)
            )
        }
        State::CannotBeJudged => format!("{label} cannot be judged there, because {}.", seen.why),
    };
    ElementRow { element: symbol.into(), label: label.clone(), state: state_word(seen.state).into(), text }
}

fn limit(one: &OfElement, unit: &str) -> String {
    one.seen
        .below
        .map_or_else(|| "a limit that is not known".into(), |below| format!("{} {unit}", figure(below)))
}

/// Why the silence of an element that is not detected excludes nothing; empty where it may.
fn silence(one: &OfElement) -> String {
    match (one.seen.reach, one.seen.no_exclusion.as_str()) {
        (Reach::Soft, _) => {
            " That excludes nothing: its soft X-rays come from the outermost micrometres only.".into()
        }
        (_, "") => String::new(),
        (_, why) => format!(" That excludes nothing: {why}."),
    }
}

fn material_row(evidence: &Evidence, elements: &[OfElement], one: &MaterialReading) -> MaterialRow {
    let known = knowledge();
    let (verdict, verdict_text) = verdict_of(evidence, elements, one);
    let settle = one.material.settle.iter().map(|settle| SettleRow {
        technique: settle.technique.words().into(),
        text: settle.fact.text.to_owned(),
        basis: settle.fact.basis.words().into(),
        source: sources(&settle.fact.sources, known),
    });
    MaterialRow {
        id: one.material.id.into(),
        name: one.material.name.into(),
        verdict: verdict.into(),
        verdict_text,
        reasons: one.reasons.iter().map(Said::of_reason).collect(),
        alike: one.alike.iter().map(|id| name_of(id)).collect(),
        settle_by: settle.collect(),
        fits_colour: one.fits_colour,
        fits_years: one.fits_years,
        hazard: one.material.hazard.into(),
    }
}

fn verdict_of(evidence: &Evidence, elements: &[OfElement], one: &MaterialReading) -> (&'static str, String) {
    match &one.verdict {
        Verdict::Identified { technique, point } => {
            (IDENTIFIED, format!("identified ({}, {})", technique.words(), point_words(point)))
        }
        Verdict::Consistent => (CONSISTENT, CONSISTENT.into()),
        Verdict::NotDistinguishable { from } => {
            let names: Vec<String> = from.iter().map(|id| name_of(id)).collect();
            (ALIKE, format!("not distinguishable from {}", words::listed(&names)))
        }
        Verdict::WouldHaveBeenSeen { element, below, below_share } => {
            let unit = elements
                .iter()
                .find(|found| found.seen.element == *element)
                .map_or_else(String::new, |found| format!(" {}", unit_of(evidence, found)));
            let above = below.map_or_else(|| "its limit".into(), |below| format!("{}{unit}", figure(below)));
            let share = below_share.map_or_else(String::new, |share| {
                format!(" ({} of the strongest passage of {})", percent(share), element.symbol())
            });
            (
                WOULD_SHOW,
                format!("would have been seen above {above} of {} at the surface{share}", element.symbol()),
            )
        }
        Verdict::NoEvidence => (NO_EVIDENCE, NO_EVIDENCE.into()),
    }
}

fn table(part: &MaterialsPart) -> Table {
    let columns = ["verdict", "why", "not told from", "settled by"];
    let rows = part.materials.iter().map(|one| {
        let reasons: Vec<String> = one
            .reasons
            .iter()
            .map(|reason| match reason.source.as_str() {
                "" => format!("{} ({})", reason.text, reason.basis),
                source => format!("{} ({}: {source})", reason.text, reason.basis),
            })
            .collect();
        let settle: Vec<String> =
            one.settle_by.iter().map(|settle| format!("{}: {}", settle.technique, settle.text)).collect();
        let cells = [one.verdict_text.clone(), reasons.join(" "), one.alike.join(", "), settle.join("; ")];
        Row { label: one.name.clone(), cells: cells.into_iter().map(Cell::words).collect() }
    });
    Table { columns: columns.map(str::to_owned).to_vec(), rows: rows.collect() }
}

fn figures(found: &Found) -> Vec<Figure> {
    let of = |state: State| {
        let symbols: Vec<&str> = found
            .passed
            .elements
            .iter()
            .filter(|one| one.seen.state == state)
            .map(|one| one.seen.element.symbol())
            .collect();
        if symbols.is_empty() { "none".to_owned() } else { symbols.join(", ") }
    };
    let line = |label: &str, value: String, detail: &str| Figure {
        label: label.into(),
        value,
        detail: detail.into(),
    };
    let mut out = vec![
        line("detected", of(State::Detected), "beyond background, support and ground"),
        line(
            "no more than support or ground hold",
            of(State::AsBelow),
            "asks for no material and excludes none",
        ),
        line("not detected", of(State::NotDetected), "below the limits in the list of elements"),
        line("cannot be judged", of(State::CannotBeJudged), "the reasons stand in the list of elements"),
    ];
    if !found.passed.idle.is_empty() {
        let lines: Vec<String> = found.passed.idle.iter().map(ToString::to_string).collect();
        out.push(line("not measured", lines.join(", "), "not excited at the voltage of the tube"));
    }
    out
}

fn cautions(evidence: &Evidence, found: &Found) -> Vec<String> {
    let mut out = Vec::new();
    if evidence.beside.below.is_empty() && evidence.asked.role != "bare support" {
        out.push("No region is marked as bare support or ground: what these hold is not told from what the paint holds. Mark one, and ask again.".into());
    }
    out.extend(background_caution(evidence));
    for one in &found.passed.elements {
        if let Some(side) = evidence.sides.get(one.place).filter(|_| one.seen.state == State::Detected) {
            out.extend(side.overlaps.cautions(&side.label()));
        }
    }
    for (element, asked) in &evidence.beside.pure {
        out.push(format!(
            "“{}” is taken to hold the strong lines of {} only, as stated.",
            asked.name,
            element.symbol()
        ));
    }
    out.push("XRF sees elements, not compounds: “consistent with” says that nothing seen speaks against a material, not that it is there. Elements without a map here were not measured, and nothing is said of them.".into());
    if found.passed.passage.from.is_some() || found.passed.passage.to.is_some() {
        out.push("A date or an attribution is never decided by pigments alone.".into());
    }
    if !found.reading.hazards.is_empty() {
        out.push("Sampling and handling of poisonous pigments are for people trained and licensed for it, by the local rules; X-ray work follows local radiation rules.".into());
    }
    out
}

/// Which backgrounds come from the field itself.
pub(in crate::ask) fn background_caution(evidence: &Evidence) -> Option<String> {
    let from_rule: Vec<String> = evidence
        .sides
        .iter()
        .filter(|side| side.level.as_ref().is_ok_and(|level| level.source == LevelSource::QuietPart))
        .map(|side| side.label())
        .collect();
    (!from_rule.is_empty()).then(|| {
        format!(
            "The background of {} comes from the field itself: the quiet part of each map is taken as empty, and an element present everywhere at one level is not seen by this rule.",
            words::listed(&from_rule)
        )
    })
}

fn blank_answer(evidence: &Evidence) -> Answer {
    words::blank_answer(evidence, "materials", methods())
}

/// How the states of elements and their readings come about.
pub(in crate::ask) fn methods() -> Vec<Method> {
    vec![
        Method::published(
            "Element in the passage: the sum of the region against its background, exact (binomial), with the floor and again with the floor doubled; and the same against each region that is marked as bare support or ground.",
            "J. Przyborowski and H. Wilenski, Biometrika 31 (1940) 313",
        ),
        Method::own(
            "As below: detected, but not surely more than support or ground; or no more than a background that may itself hold the element, because support or ground count more than the quiet part of the field or stand out from the maps beside in energy. Such an element asks for no material and excludes none.",
        ),
        Method::own(
            "Several maps of one element: a line of 4 keV or more decides, a softer one only adds. Nothing is excluded by a soft line, by a line below 9 keV where silver or a heavier element is detected, by an element that support or ground hold, or by a limit above a quarter of the element's strongest passage.",
        ),
        Method::published(
            "How soft lines are swallowed: mass attenuation of lead white, vermilion and ultramarine in oil, and of air.",
            "T. Schoonjans and others, Spectrochimica Acta B 66 (2011) 776 (xraylib; from memory)",
        ),
        Method::own(
            "Overlap: a map cannot be judged unless it counts more than lines of other elements could give at most, by tables or as measured in a region that is taken as pure; nor where a common element that was not measured is one peak with it.",
        ),
        Method::own(
            "Materials: one is consistent with the maps where each element that must show is detected, or could not be judged beside one that is; it would have been seen where one that must show is not detected by a line that excludes. Limits take all that was counted there for signal. Each fact keeps what it rests on.",
        ),
        Method::own(
            "Where to measure next: inside the passage by more than the rim, where the element in question is strongest and most even in a square of the size of the rim and other elements change least; places lie a third of the passage's size apart where they can.",
        ),
    ]
}
