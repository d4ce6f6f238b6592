//! From what the maps show of every material to one verdict for each, with its reasons.

use super::judge::{Judged, Maps, Years, is_later};
use super::material::{Alike, Basis, Knowledge};
use super::passage::Passage;
use super::points::{self, AtPoints};
use super::reading::{MaterialReading, Reason, Verdict};
use super::relate;
use super::sight::{self, Sight, bit, elements};
use super::words::{by_fact, by_maps, capital, clause, listed, named, of_element, reasoned, verb, years};

/// How many others a verdict names at most.
const NAMED: usize = 6;
/// How many companions, and how many alike, are given as reasons at most.
const COMPANIONS: usize = 3;

/// The verdict on one of all materials.
pub(super) fn of(
    judged: &Judged,
    all: &[Judged],
    passage: &Passage,
    knowledge: &'static Knowledge,
) -> MaterialReading {
    let at = points::of(judged.material, passage, knowledge);
    let verdict = match (&at.by, judged.maps) {
        (Some((technique, point)), _) => Verdict::Identified { technique: *technique, point: point.clone() },
        (None, Maps::Excluded(element)) => {
            let seen = passage.of(element);
            Verdict::WouldHaveBeenSeen {
                element,
                below: seen.and_then(|seen| seen.below),
                below_share: seen.and_then(|seen| seen.below_share),
            }
        }
        (None, Maps::Whole) => Verdict::Consistent,
        (None, Maps::Part) => match hidden_among(judged, all, passage) {
            from if from.is_empty() => Verdict::Consistent,
            from => Verdict::NotDistinguishable { from },
        },
        (None, Maps::Mute) => Verdict::NoEvidence,
    };
    MaterialReading {
        material: judged.material,
        alike: Vec::new(),
        reasons: reasons(judged, &verdict, at, passage, knowledge),
        verdict,
        fits_colour: judged.fits_colour,
        fits_years: judged.years != Years::Later,
    }
}

/// Materials that are seen whole and show everything that is seen of this one, whose own elements could not be looked at.
/// Where a colour was stated and this one has it, only those that have it too.
fn hidden_among(judged: &Judged, all: &[Judged], passage: &Passage) -> Vec<&'static str> {
    if judged.material.must.is_empty() {
        return Vec::new();
    }
    let mut others: Vec<&Judged> = all
        .iter()
        .filter(|other| {
            other.maps == Maps::Whole
                && !is_later(other.material)
                && judged.seen & !other.seen == 0
                && (passage.colour.is_none() || other.gives_colour || !judged.gives_colour)
        })
        .collect();
    // By its looks it can only hide among those that share a colour with it, where there are any.
    let shares = |other: &&Judged| {
        other.material.colours.iter().any(|colour| judged.material.colours.contains(colour))
    };
    if others.iter().any(shares) {
        others.retain(shares);
    }
    others.sort_by_key(|other| (!other.fits_colour, other.years == Years::Later, other.rank));
    others.iter().take(NAMED).map(|other| other.material.id).collect()
}

fn reasons(
    judged: &Judged,
    verdict: &Verdict,
    at: AtPoints,
    passage: &Passage,
    knowledge: &'static Knowledge,
) -> Vec<Reason> {
    let material = judged.material;
    let mut out = at.reasons;
    let missing: Vec<_> =
        material.must.iter().filter(|e| sight::of(passage, **e) == Sight::Silent).copied().collect();
    for element in &missing {
        out.push(by_fact(of_element(passage, *element), &material.composition, knowledge));
    }
    if let (Verdict::Identified { .. }, false) = (verdict, missing.is_empty()) {
        out.push(reasoned(format!(
            "The point holds for its own place: over the passage {} would have been seen.",
            named(&missing)
        )));
    }
    // Where nothing speaks for it, what else is seen would only look as if it did.
    let speaks = !matches!(verdict, Verdict::WouldHaveBeenSeen { .. } | Verdict::NoEvidence);
    if judged.seen != 0 && speaks {
        let seen = elements(judged.seen);
        let text = format!(
            "{} {} detected and belong{} to it.",
            capital(&named(&seen)),
            verb(seen.len()),
            if seen.len() == 1 { "s" } else { "" }
        );
        out.push(by_fact(text, &material.composition, knowledge));
    }
    if speaks {
        out.extend(relate::of_material(material, passage));
    }
    for element in &material.must {
        if matches!(sight::of(passage, *element), Sight::Held) || judged.open.contains(element) {
            out.push(by_maps(of_element(passage, *element)));
        }
    }
    if let Verdict::NotDistinguishable { from } = verdict {
        let names = super::words::materials_named(from, knowledge);
        out.push(reasoned(format!("All that is seen of it belongs to {} as well.", listed(&names))));
    }
    if material.must.is_empty() {
        out.push(nothing_must_show(judged, passage, knowledge));
    } else if *verdict == Verdict::NoEvidence {
        out.push(reasoned(
            "Nothing of it that must show is seen, and nothing that was looked at excludes it.".to_owned(),
        ));
    }
    for stands in material.stands.iter().filter(|stands| speaks && sight::is_seen(passage, stands.element)) {
        let text = format!(
            "{} is detected; it may stand for {}, which XRF in air does not show: {} It is never more than a hint.",
            capital(stands.element.name()),
            named(&stands.stands_for),
            clause(stands.fact.text)
        );
        out.push(by_fact(text, &stands.fact, knowledge));
    }
    let companions = material.often.iter().filter(|often| judged.companions & bit(often.element) != 0);
    for often in companions.take(if speaks { COMPANIONS } else { 0 }) {
        let text =
            format!("{} is detected as well: {}", capital(often.element.name()), clause(often.fact.text));
        out.push(by_fact(text, &often.fact, knowledge));
    }
    out.extend(colour_reason(judged, passage));
    out.extend(years_reason(judged, passage, knowledge));
    out
}

fn nothing_must_show(judged: &Judged, passage: &Passage, knowledge: &'static Knowledge) -> Reason {
    let material = judged.material;
    let open: Vec<_> = material.key.iter().copied().filter(|e| !sight::is_seen(passage, *e)).collect();
    let text = if material.key.is_empty() {
        "None of its elements shows in XRF in air: maps are silent on it and never exclude it.".to_owned()
    } else if judged.maps == Maps::Mute {
        "No element of it must show: maps are silent on it and never exclude it.".to_owned()
    } else if open.is_empty() {
        "No element of it must show; those that are seen belong to many materials.".to_owned()
    } else {
        format!("No element of it must show; {} need not be seen.", named(&open))
    };
    by_fact(text, &material.composition, knowledge)
}

fn colour_reason(judged: &Judged, passage: &Passage) -> Option<Reason> {
    let colour = passage.colour.filter(|_| !judged.fits_colour)?;
    let own: Vec<&str> = judged.material.colours.iter().map(|colour| colour.word()).collect();
    Some(Reason {
        text: format!(
            "By itself it is {}, the passage is said to look {}; colour narrows the list and excludes nothing.",
            own.join(" or "),
            colour.word()
        ),
        basis: Basis::Reasoned,
        source: String::new(),
    })
}

fn years_reason(judged: &Judged, passage: &Passage, knowledge: &'static Knowledge) -> Option<Reason> {
    let (material, span) = (judged.material, super::judge::span(passage));
    let (of_use, proposed) = (years(material.from, material.to), years(span.0, span.1));
    let text = match judged.years {
        Years::Meet => return None,
        Years::Later => format!("Its years of use ({of_use}) begin after the proposed span ({proposed})."),
        Years::WeaklyLater => format!(
            "Its years of use ({of_use}) would begin after the proposed span ({proposed}), but the first year is too weak to rest anything on."
        ),
        Years::Faded => format!(
            "Its common use ({of_use}) fades out before the proposed span ({proposed}); that is not the last possible year."
        ),
    };
    Some(by_fact(text, &material.years, knowledge))
}

/// Says of each material why XRF does not tell it from those alike, where the knowledge says why.
pub(super) fn explain_alike(rows: &mut [(Judged, MaterialReading)], knowledge: &'static Knowledge) {
    for (judged, row) in rows {
        // Those of which the same is said together.
        let mut told: Vec<(&Alike, Vec<&str>)> = Vec::new();
        for id in &row.alike {
            let named = judged.material.alike.iter().find(|alike| alike.id == *id);
            let Some((alike, other)) = named.zip(knowledge.material(id)) else { continue };
            match told.iter_mut().find(|(first, _)| first.fact == alike.fact) {
                Some((_, names)) => names.push(other.name),
                None => told.push((alike, vec![other.name])),
            }
        }
        for (alike, names) in told {
            let more = names.len().saturating_sub(NAMED);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            let shown: Vec<&str> = names.into_iter().take(NAMED).collect();
            let shown = if more.is_empty() { listed(&shown) } else { shown.join(", ") };
            let text = format!("XRF does not tell it from {shown}{more}: {}", clause(alike.fact.text));
            row.reasons.push(by_fact(text, &alike.fact, knowledge));
        }
    }
}
