//! Files, maps, what was made of them, photos and spectra.

use super::page::{Page, Sheet, Words};
use super::section;
use crate::notice::Fault;
use crate::numerics::figure::whole;
use crate::study::{MapSummary, Study};

/// The marks that lines of other elements give a map (`ask::overlaps`).
const MARKS: [&str; 3] = ["overlap ", "escape ", "pile-up "];

fn headings<const N: usize>(texts: [&str; N]) -> Vec<String> {
    texts.map(str::to_owned).to_vec()
}

/// Names, sizes and hashes.
pub(super) fn files(page: &mut Page, study: &Study) {
    if study.inputs().is_empty() {
        return;
    }
    section(page, "files", "", "Files");
    let (maps, photos) = (study.maps(), study.photos());
    let row = |input: &crate::study::InputRecord| {
        let mut holds: Vec<String> = maps
            .iter()
            .filter(|map| map.file_sha256 == input.sha256 && map.derived.is_none())
            .map(|map| map.label.clone())
            .collect();
        holds.extend(
            photos
                .iter()
                .filter(|photo| photo.file_sha256 == input.sha256)
                .map(|photo| format!("photo: {}", photo.text)),
        );
        vec![
            Words::of(&input.name),
            Words::of(holds.join(", ")),
            Words::Number(whole(input.size)),
            Words::Code(input.sha256.clone()),
        ]
    };
    page.table(&Sheet {
        caption: "",
        class: "files",
        headings: headings(["File", "Holds", "Bytes", "SHA-256"]),
        rows: study.inputs().iter().map(row).collect(),
    });
    page.close();
}

/// The kind of every map, how that was decided, and what was seen in them.
pub(super) fn maps(page: &mut Page, study: &mut Study) -> Result<(), Fault> {
    let all = study.maps();
    if all.is_empty() {
        return Ok(());
    }
    section(page, "maps", "", "Maps");
    let mut kinds: Vec<((String, String), Vec<&str>)> = Vec::new();
    for map in &all {
        let decided = match (map.kind_is_stated, map.derived.is_some()) {
            (true, _) => "stated by the user".to_owned(),
            (_, true) => "follows from how it was made".into(),
            _ => format!("proposed: {}", map.kind_reason),
        };
        let kind = (map.kind.clone(), decided);
        match kinds.iter_mut().find(|(other, _)| *other == kind) {
            Some((_, labels)) => labels.push(&map.label),
            None => kinds.push((kind, vec![&map.label])),
        }
    }
    let kind = |((kind, decided), labels): &((String, String), Vec<&str>)| {
        vec![Words::of(kind), Words::of(decided), Words::of(labels.join(", "))]
    };
    page.table(&Sheet {
        caption: "Kinds",
        class: "short-1",
        headings: headings(["Kind", "How it was decided", "Maps"]),
        rows: kinds.iter().map(kind).collect(),
    });
    let row = |map: &MapSummary| {
        let mut marks: Vec<&str> = Vec::new();
        for mark in &map.marks {
            if !marks.contains(&mark.as_str()) {
                marks.push(mark);
            }
        }
        vec![Words::of(&map.label), Words::Number(map.largest.clone()), Words::of(marks.join(", "))]
    };
    page.table(&Sheet {
        caption: "What to know before using one",
        class: "marks",
        headings: headings(["Map", "Largest value", "Marks"]),
        rows: all.iter().map(row).collect(),
    });
    if all.iter().any(|map| map.marks.iter().any(|mark| MARKS.iter().any(|word| mark.starts_with(word)))) {
        page.paragraph(
            "quiet",
            "“overlap Pb”: lines of Pb can count in this map; “escape Ti”: an escape peak of Ti can; “pile-up Ca”: two X-rays of Ca counted as one can.",
        );
    }
    let mut seen: Vec<String> = Vec::new();
    for notice in study.inspect()? {
        let label =
            notice.map.as_ref().and_then(|id| all.iter().find(|map| map.id == *id)).map(|map| &map.label);
        let text = match label {
            Some(label) if !notice.text.contains(label.as_str()) => format!("{label}: {}", notice.text),
            _ => notice.text.clone(),
        };
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    if !seen.is_empty() {
        page.put("h3", &[("class", "minor")], "What was seen in them").list("", &seen);
    }
    page.close();
    Ok(())
}

/// Whether there is anything but maps as they were read.
pub(super) fn has_made(study: &Study) -> bool {
    study.maps().iter().any(|map| map.derived.is_some())
        || !study.photos().is_empty()
        || !study.spectra().is_empty()
}

/// Maps that were repaired or derived, photos, spectra.
pub(super) fn made(page: &mut Page, study: &Study) {
    if !has_made(study) {
        return;
    }
    section(page, "made", "", "Repaired and derived maps, photos");
    for map in study.maps() {
        if let Some(made) = &map.derived {
            let heading = if made.text == map.label {
                map.label.clone()
            } else {
                format!("{}: {}", map.label, made.text)
            };
            page.put("h3", &[("class", "minor")], &heading).list("", &made.account);
        }
    }
    for photo in study.photos() {
        page.put("h3", &[("class", "minor")], &photo.name);
        let size =
            format!("{} × {} pixels; {}.", whole(photo.width.into()), whole(photo.height.into()), photo.text);
        page.paragraph("", &size);
        if let Some(alignment) = &photo.alignment {
            page.paragraph("", &alignment.text).paragraph("", &alignment.trouble);
        }
    }
    for spectrum in study.spectra() {
        page.put("h3", &[("class", "minor")], &spectrum.name).paragraph("", &spectrum.text);
    }
    page.close();
}
