//! What other techniques found at points of the passage.

use super::material::{Knowledge, Material, Settle, Technique};
use super::passage::{Found, Passage};
use super::reading::Reason;
use super::words::{by_fact, capital, reasoned};

/// What points say of one material.
#[derive(Debug, Clone, Default)]
pub(super) struct AtPoints {
    /// Technique and point that identify it.
    pub by: Option<(Technique, String)>,
    /// What every point says of it, in words.
    pub reasons: Vec<Reason>,
}

/// What the points of a passage say of a material. Only a technique that identifies it raises it; "not found" excludes
/// nothing; a technique that says both at one point raises nothing. XRF at a point sees elements as the maps do.
pub(super) fn of(material: &Material, passage: &Passage, knowledge: &Knowledge) -> AtPoints {
    let mut found: Vec<&Found> = passage.found.iter().filter(|found| found.material == material.id).collect();
    found.sort_by(|a, b| (a.technique, &a.point).cmp(&(b.technique, &b.point)));
    let mut out = AtPoints::default();
    let mut later = Vec::new();
    for result in &found {
        let (technique, point) = (capital(result.technique.words()), named(&result.point));
        let settle = material.settle.iter().filter(|settle| settle.technique == result.technique);
        let identifies = settle.clone().find(|settle| settle.identifies);
        let is_contradicted = found.iter().any(|other| {
            other.technique == result.technique
                && other.point == result.point
                && other.is_found == Some(false)
        });
        match (result.is_found, identifies) {
            (Some(false), _) => later
                .push(reasoned(format!("{technique} at {point} did not find it, which excludes nothing."))),
            (None, _) => later.push(reasoned(format!("{technique} at {point} left it open."))),
            (Some(true), _) if is_contradicted => later.push(reasoned(format!(
                "{technique} at {point} is recorded both as found and as not found: it decides nothing."
            ))),
            (Some(true), Some(settle)) if can_identify(settle) => {
                let text = format!("{technique} at {point} found it{}", looked_for(settle));
                out.reasons.push(by_fact(text, &settle.fact, knowledge));
                out.by.get_or_insert_with(|| (result.technique, result.point.clone()));
            }
            (Some(true), _) => {
                let text = format!(
                    "{technique} at {point} fits it and does not identify it: the verdict stays that of the maps."
                );
                later.push(match settle.clone().next() {
                    Some(settle) => by_fact(text, &settle.fact, knowledge),
                    None => reasoned(text),
                });
            }
        }
    }
    out.reasons.append(&mut later);
    out.reasons.dedup();
    out
}

/// A point by the name that the user gave it.
fn named(point: &str) -> String {
    format!("point “{point}”")
}

/// What a technique looks for, as the end of a sentence.
fn looked_for(settle: &Settle) -> String {
    match settle.fact.text.trim().trim_end_matches('.') {
        "" => ".".to_owned(),
        text => format!(" ({text})."),
    }
}

/// XRF at a point sees elements, not compounds: whatever it shows, it identifies no material.
pub(super) fn can_identify(settle: &Settle) -> bool {
    settle.identifies && settle.technique != Technique::PointXrf
}

/// Results that speak of a material that is not known here.
pub(super) fn unknown(passage: &Passage, knowledge: &Knowledge) -> Vec<Reason> {
    passage
        .found
        .iter()
        .filter(|found| knowledge.material(&found.material).is_none())
        .map(|found| {
            reasoned(format!(
                "The result of {} at {} speaks of a material that is not known here; it was not used.",
                found.technique.words(),
                named(&found.point)
            ))
        })
        .collect()
}
