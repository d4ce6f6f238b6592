//! What may be said of a passage, against cases from handbook knowledge (`tests/cases/materials.toml`, each with its source).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // a test may fail

use limner::element::Element;
use limner::pigment::{
    Colour, Found, MaterialReading, Passage, PassageReading, Reach, Related, Relation, Seen, State,
    Technique, Verdict, knowledge, read,
};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Deserialize)]
struct Cases {
    case: Vec<Case>,
}

/// Lists are words apart by spaces; what they mean is said at the head of the file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    id: String,
    source: String,
    #[serde(default = "yes")]
    panel: bool,
    colour: Option<String>,
    from: Option<i32>,
    to: Option<i32>,
    #[serde(default)]
    seen: String,
    #[serde(default)]
    below: String,
    #[serde(default)]
    not_seen: String,
    #[serde(default)]
    soft: String,
    #[serde(default)]
    unclear: String,
    #[serde(default)]
    relations: Vec<String>,
    #[serde(default)]
    found: Vec<String>,
    #[serde(default)]
    not_found: Vec<String>,
    #[serde(default)]
    consistent: String,
    #[serde(default)]
    would_have_been_seen: String,
    #[serde(default)]
    not_excluded: String,
    #[serde(default)]
    not_consistent: String,
    #[serde(default)]
    identified: String,
    #[serde(default)]
    not_identified: String,
    #[serde(default)]
    alike: Vec<String>,
    unexplained: Option<String>,
    #[serde(default)]
    readings: String,
    #[serde(default)]
    no_readings: String,
    a_set: Option<Vec<String>>,
    #[serde(default)]
    first_set_has: String,
    #[serde(default)]
    first_set_has_one_of: String,
    #[serde(default)]
    first_set_lacks: String,
    #[serde(default)]
    against_colour: String,
    #[serde(default)]
    against_years: String,
    #[serde(default)]
    fits_years: String,
}

fn yes() -> bool {
    true
}

/// Elements that a scan usually gives, hard and soft. What is not named in a case is not detected.
const HARD: &str = "Ti Cr Mn Fe Co Ni Cu Zn As Se Sr Mo Cd Sn Sb Ba Au Hg Pb Bi";
const SOFT: &str = "P S Cl K Ca";

fn element(symbol: &str) -> Element {
    Element::from_symbol(symbol).unwrap_or_else(|| panic!("{symbol}"))
}

fn cases() -> Vec<Case> {
    let cases: Cases = toml::from_str(include_str!("cases/materials.toml")).unwrap();
    cases.case
}

fn seen(symbol: &str, state: State) -> Seen {
    let is_soft = SOFT.split(' ').any(|soft| soft == symbol);
    Seen {
        element: element(symbol),
        label: format!("{symbol} K"),
        state,
        why: if state == State::CannotBeJudged { "an overlap could give it".into() } else { String::new() },
        mean: (state == State::Detected).then_some(100.0),
        below: (state == State::NotDetected).then_some(2.0),
        below_share: (state == State::NotDetected).then_some(0.01),
        reach: if is_soft { Reach::Soft } else { Reach::Hard },
        no_exclusion: String::new(),
    }
}

fn passage(case: &Case) -> Passage {
    let mut elements: BTreeMap<Element, Seen> = BTreeMap::new();
    if case.panel {
        for symbol in HARD.split(' ').chain(SOFT.split(' ')) {
            elements.insert(element(symbol), seen(symbol, State::NotDetected));
        }
    }
    for (list, state) in [
        (&case.not_seen, State::NotDetected),
        (&case.soft, State::NotDetected),
        (&case.below, State::AsBelow),
        (&case.unclear, State::CannotBeJudged),
        (&case.seen, State::Detected),
    ] {
        for symbol in list.split_whitespace() {
            elements.insert(element(symbol), seen(symbol, state));
        }
    }
    let relations = case.relations.iter().map(|text| {
        let mut words = text.splitn(3, ' ');
        let (a, b, word) = (words.next().unwrap(), words.next().unwrap(), words.next().unwrap());
        let relation = match word {
            "together" => Relation::Together,
            "no pattern" => Relation::NoPattern,
            "more than accompanies" => Relation::MoreThanAccompanies,
            "no more than accompanies" => Relation::NoMoreThanAccompanies,
            _ => panic!("{word}"),
        };
        Related {
            a: element(a),
            b: element(b),
            relation,
            sentence: format!("Measured of {a} and {b}: {word}."),
        }
    });
    let point = |text: &String, is_found: bool| {
        let (technique, material) = text.split_once(" | ").unwrap();
        assert!(knowledge().material(material).is_some(), "{material}");
        Found {
            point: "point 1".into(),
            technique: Technique::from_words(technique).unwrap(),
            material: material.into(),
            is_found: Some(is_found),
        }
    };
    Passage {
        elements: elements.into_values().collect(),
        relations: relations.collect(),
        found: case
            .found
            .iter()
            .map(|text| point(text, true))
            .chain(case.not_found.iter().map(|text| point(text, false)))
            .collect(),
        colour: case.colour.as_deref().map(|word| Colour::from_word(word).unwrap()),
        from: case.from,
        to: case.to,
    }
}

fn row<'a>(reading: &'a PassageReading, id: &str) -> Option<&'a MaterialReading> {
    assert!(knowledge().material(id).is_some(), "{id} is no material");
    reading.materials.iter().find(|row| row.material.id == id)
}

fn is_consistent(row: &MaterialReading) -> bool {
    matches!(row.verdict, Verdict::Consistent | Verdict::Identified { .. })
}

/// Ids that a material is said not to be told from.
fn not_told_from(row: &MaterialReading) -> Vec<&'static str> {
    match &row.verdict {
        Verdict::NotDistinguishable { from } => from.iter().chain(&row.alike).copied().collect(),
        _ => row.alike.clone(),
    }
}

/// What is wrong with a reading.
fn faults(case: &Case, reading: &PassageReading) -> Vec<String> {
    let mut out = Vec::new();
    let said =
        |id: &str| row(reading, id).map_or("not listed".to_owned(), |row| format!("{:?}", row.verdict));
    for id in case.consistent.split_whitespace() {
        if !row(reading, id).is_some_and(is_consistent) {
            out.push(format!("{id} should be consistent: {}", said(id)));
        }
    }
    for wanted in case.would_have_been_seen.split_whitespace() {
        let (id, symbol) = wanted.split_once(':').map_or((wanted, None), |(id, symbol)| (id, Some(symbol)));
        let is_right = row(reading, id).is_some_and(|row| match row.verdict {
            Verdict::WouldHaveBeenSeen { element, .. } => {
                // Which of several missing elements is named is not for the case to say, unless it is the only one.
                let missing = row.material.must.iter().filter(|must| lacks(case, **must)).count();
                symbol.is_none_or(|symbol| symbol == element.symbol() || missing > 1)
            }
            _ => false,
        });
        if !is_right {
            out.push(format!("{wanted} would have been seen: {}", said(id)));
        }
    }
    for id in case.not_excluded.split_whitespace() {
        let gives_colour = knowledge().material(id).is_some_and(|material| {
            material.colours.iter().any(|colour| Some(colour.word()) == case.colour.as_deref())
        });
        let is_right = row(reading, id)
            .map_or(!gives_colour, |row| !matches!(row.verdict, Verdict::WouldHaveBeenSeen { .. }));
        if !is_right {
            out.push(format!("{id} is not excluded, and is named where it has the colour: {}", said(id)));
        }
    }
    for id in case.not_consistent.split_whitespace() {
        if row(reading, id).is_some_and(is_consistent) {
            out.push(format!("{id} should not be consistent: {}", said(id)));
        }
    }
    let is_identified =
        |id: &str| row(reading, id).is_some_and(|row| matches!(row.verdict, Verdict::Identified { .. }));
    out.extend(
        case.identified
            .split_whitespace()
            .filter(|id| !is_identified(id))
            .map(|id| format!("{id} is identified")),
    );
    out.extend(
        case.not_identified
            .split_whitespace()
            .filter(|id| is_identified(id))
            .map(|id| format!("{id} is not identified")),
    );
    for row in &reading.materials {
        let id = row.material.id;
        if matches!(row.verdict, Verdict::Identified { .. })
            && !case.identified.split_whitespace().any(|wanted| wanted == id)
        {
            out.push(format!("{id} is identified by nothing"));
        }
    }
    for group in &case.alike {
        let ids: Vec<&str> = group.split_whitespace().collect();
        for id in &ids {
            for other in ids.iter().filter(|other| *other != id) {
                if !row(reading, id).is_some_and(|row| not_told_from(row).contains(other)) {
                    out.push(format!("{id} is not told from {other}: {}", said(id)));
                }
            }
        }
    }
    if let Some(wanted) = &case.unexplained {
        let is: Vec<&str> = reading.unexplained.iter().map(|element| element.symbol()).collect();
        if is.join(" ") != *wanted {
            out.push(format!("unexplained '{wanted}', not '{}'", is.join(" ")));
        }
    }
    let reads = |id: &str| {
        let known =
            knowledge().relations.iter().find(|known| known.id == id).unwrap_or_else(|| panic!("{id}"));
        let text = known.reading.text.trim_end_matches('.');
        reading.readings.iter().any(|reason| reason.text.contains(text))
    };
    out.extend(
        case.readings.split_whitespace().filter(|id| !reads(id)).map(|id| format!("reading {id} is missing")),
    );
    out.extend(
        case.no_readings
            .split_whitespace()
            .filter(|id| reads(id))
            .map(|id| format!("reading {id} does not belong")),
    );
    out.extend(of_sets(case, reading));
    for (ids, wanted, is) in
        [(&case.against_years, false, "against the years"), (&case.fits_years, true, "within the years")]
    {
        for id in ids.split_whitespace() {
            if row(reading, id).is_none_or(|row| row.fits_years != wanted) {
                out.push(format!("{id} is {is}"));
            }
        }
    }
    for id in case.against_colour.split_whitespace() {
        if row(reading, id).is_none_or(|row| row.fits_colour) {
            out.push(format!("{id} is against the colour"));
        }
    }
    out
}

/// What is wrong with the sets.
fn of_sets(case: &Case, reading: &PassageReading) -> Vec<String> {
    let mut out = Vec::new();
    let sets: Vec<BTreeSet<&str>> =
        reading.sets.iter().map(|set| set.materials.iter().copied().collect()).collect();
    for wanted in case.a_set.iter().flatten() {
        let wanted: BTreeSet<&str> = wanted.split_whitespace().collect();
        if !sets.contains(&wanted) {
            out.push(format!("{wanted:?} is no set: {sets:?}"));
        }
    }
    let first = sets.first().cloned().unwrap_or_default();
    for id in case.first_set_has.split_whitespace() {
        if !first.contains(id) {
            out.push(format!("{id} should be in the first set: {sets:?}"));
        }
    }
    for id in case.first_set_lacks.split_whitespace() {
        if first.contains(id) {
            out.push(format!("{id} should not be in the first set: {sets:?}"));
        }
    }
    let one_of: Vec<&str> = case.first_set_has_one_of.split_whitespace().collect();
    if !one_of.is_empty() && !one_of.iter().any(|id| first.contains(id)) {
        out.push(format!("one of {one_of:?} should be in the first set: {sets:?}"));
    }
    out
}

/// Whether a case says that an element is not detected with a hard line.
fn lacks(case: &Case, wanted: Element) -> bool {
    passage(case).of(wanted).is_some_and(Seen::excludes)
}

#[test]
fn every_case_is_read_as_the_handbooks_say() {
    let mut wrong = Vec::new();
    for case in cases() {
        let faults = faults(&case, &read(&passage(&case)));
        wrong.extend(faults.into_iter().map(|fault| format!("{}: {fault}", case.id)));
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn there_are_cases_enough_and_each_has_a_source() {
    let cases = cases();
    let ids: BTreeSet<&str> = cases.iter().map(|case| case.id.as_str()).collect();
    assert_eq!(ids.len(), cases.len(), "two cases of one name");
    assert!(cases.len() >= 80, "{}", cases.len());
    assert!(cases.iter().all(|case| !case.source.is_empty()));
}

#[test]
fn no_case_makes_a_strong_statement_that_its_elements_do_not_bear() {
    // Whatever the case asks: "would have been seen" only for an element that must show and is not detected with a hard line,
    // "identified" only by a point.
    for case in cases() {
        let passage = passage(&case);
        for row in &read(&passage).materials {
            match &row.verdict {
                Verdict::WouldHaveBeenSeen { element, .. } => {
                    assert!(row.material.must.contains(element), "{}: {}", case.id, row.material.id);
                    assert!(
                        passage.of(*element).is_some_and(Seen::excludes),
                        "{}: {}",
                        case.id,
                        row.material.id
                    );
                }
                Verdict::Identified { point, .. } => {
                    assert!(passage.found.iter().any(|found| found.point == *point), "{}", case.id);
                }
                Verdict::Consistent => {
                    // Something of it is seen, and nothing that must show is missing.
                    assert!(
                        !row.material.must.iter().any(|must| lacks(&case, *must)),
                        "{}: {}",
                        case.id,
                        row.material.id
                    );
                }
                Verdict::NotDistinguishable { .. } | Verdict::NoEvidence => {}
            }
        }
    }
}
