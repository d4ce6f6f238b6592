//! The reading of a passage: every material that something is to be said of.

use super::common;
use super::judge::{self, Judged, Years};
use super::material::Knowledge;
use super::passage::Passage;
use super::reading::{MaterialReading, PassageReading, Verdict};
use super::sight;
use super::words::{capital, listed, sentence};
use super::{points, relate, sets, settle, verdict};

/// Reads a passage against all that is known. Pure: the same record gives the same reading.
///
/// Which rows are given: everything identified or consistent; what is not distinguishable from it where its colour fits;
/// what would have been seen or leaves no evidence only where it has the stated colour, and without a stated colour only
/// where it is common. Rows stand by verdict, then paint before what is none, then colour, years, how much
/// of what is seen belongs to it, commonness.
pub fn read(passage: &Passage) -> PassageReading {
    read_with(passage, super::knowledge())
}

/// As [`read`], with the knowledge handed in.
pub(super) fn read_with(passage: &Passage, knowledge: &'static Knowledge) -> PassageReading {
    let all = judge::all(passage, knowledge);
    let verdicts: Vec<MaterialReading> =
        all.iter().map(|judged| verdict::of(judged, &all, passage, knowledge)).collect();
    let mut rows: Vec<(Judged, MaterialReading)> =
        all.into_iter().zip(verdicts).filter(|(judged, row)| is_listed(judged, row, passage)).collect();
    rows.sort_by_key(|(judged, row)| order(judged, row));
    add_alike(&mut rows, passage);
    verdict::explain_alike(&mut rows, knowledge);
    let unexplained = sets::unexplained(&rows, passage);
    let sets = sets::find(&rows, &unexplained, passage, &relate::held(passage, knowledge));
    let to_settle = settle::propose(&rows, passage, knowledge);
    let mut readings = relate::readings(passage, knowledge);
    readings.extend(points::unknown(passage, knowledge));
    let hazards = hazards(&rows, &sets);
    let materials = rows.into_iter().map(|(_, row)| row).collect();
    PassageReading { materials, sets, unexplained, to_settle, readings, hazards }
}

/// Strength of a verdict, the strongest first.
pub(super) fn strength(verdict: &Verdict) -> u8 {
    match verdict {
        Verdict::Identified { .. } => 0,
        Verdict::Consistent => 1,
        Verdict::NotDistinguishable { .. } => 2,
        Verdict::WouldHaveBeenSeen { .. } => 3,
        Verdict::NoEvidence => 4,
    }
}

type Order = (u8, bool, bool, u8, u32, u32, usize);

fn order(judged: &Judged, row: &MaterialReading) -> Order {
    (
        strength(&row.verdict),
        judged.is_no_paint(),
        !row.fits_colour,
        match judged.years {
            Years::Meet | Years::WeaklyLater => 0,
            Years::Faded => 1,
            Years::Later => 2,
        },
        u32::MAX - judged.seen.count_ones(),
        u32::MAX - judged.companions.count_ones(),
        judged.rank,
    )
}

/// Whether a row says something to the reader.
fn is_listed(judged: &Judged, row: &MaterialReading, passage: &Passage) -> bool {
    let is_asked = match passage.colour {
        Some(_) => judged.gives_colour,
        None => common::is_common(judged.material.id),
    };
    match row.verdict {
        Verdict::Identified { .. } | Verdict::Consistent => true,
        Verdict::NotDistinguishable { .. } => judged.fits_colour,
        Verdict::WouldHaveBeenSeen { .. } | Verdict::NoEvidence => {
            // What a point speaks of is listed whatever its colour.
            is_asked || passage.found.iter().any(|found| found.material == judged.material.id)
        }
    }
}

/// Whether a row is identified or consistent.
pub(super) fn is_consistent(row: &MaterialReading) -> bool {
    matches!(row.verdict, Verdict::Identified { .. } | Verdict::Consistent)
}

/// Names for each consistent material the others that XRF does not tell from it: those that the knowledge names, and
/// those of like colour that must show the same elements and of which the same are seen.
fn add_alike(rows: &mut [(Judged, MaterialReading)], passage: &Passage) {
    let names = |a: &Judged, id: &str| a.material.alike.iter().any(|alike| alike.id == id);
    let alike: Vec<Vec<&'static str>> = rows
        .iter()
        .map(|(judged, row)| {
            if !is_consistent(row) {
                return Vec::new();
            }
            let others = rows.iter().filter(|(other, its)| {
                other.material.id != judged.material.id
                    && is_consistent(its)
                    && (names(judged, other.material.id)
                        || names(other, judged.material.id)
                        || is_same(judged, other, passage))
            });
            others.map(|(other, _)| other.material.id).collect()
        })
        .collect();
    for ((_, row), ids) in rows.iter_mut().zip(alike) {
        row.alike = ids;
    }
}

/// Whether two materials must show the same elements, of which the same are seen, and have a colour in common.
fn is_same(a: &Judged, b: &Judged, passage: &Passage) -> bool {
    let colour = match passage.colour {
        Some(_) if a.gives_colour || b.gives_colour => a.gives_colour && b.gives_colour,
        _ => a.material.colours.iter().any(|colour| b.material.colours.contains(colour)),
    };
    let must = |of: &Judged| sight::bits(&of.material.must);
    colour && must(a) == must(b) && must(a) != 0 && a.seen == b.seen
}

/// Hazards of what is identified, of what is consistent and fits the colour, and of what stands in a set; materials of the
/// same hazard together.
fn hazards(rows: &[(Judged, MaterialReading)], sets: &[super::reading::ExplainingSet]) -> Vec<String> {
    let mut out: Vec<(&'static str, Vec<&'static str>)> = Vec::new();
    for (judged, row) in rows {
        let material = judged.material;
        let is_in_set = sets.iter().any(|set| set.materials.contains(&material.id));
        let is_asked = match row.verdict {
            Verdict::Identified { .. } => true,
            Verdict::Consistent | Verdict::NotDistinguishable { .. } => judged.fits_colour || is_in_set,
            _ => false,
        };
        if material.hazard.is_empty() || !is_asked {
            continue;
        }
        match out.iter_mut().find(|(hazard, _)| *hazard == material.hazard) {
            Some((_, names)) => names.push(material.name),
            None => out.push((material.hazard, vec![material.name])),
        }
    }
    out.into_iter()
        .map(|(hazard, names)| capital(&format!("{}: {}", listed(&names), sentence(hazard))))
        .collect()
}
