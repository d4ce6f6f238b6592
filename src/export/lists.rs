//! Lists of a study as tables: regions, analysis points, files; and the counts of a spectrum.

use super::account::{Account, plain, short_regions};
use super::csv::Csv;
use super::mask::yes;
use super::{Format, SavedFile};
use crate::notice::Fault;
use crate::study::{MapSummary, Study};
use serde::Deserialize;
use serde_json::json;

/// Whether the settings stand in the table.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ListOptions {
    #[serde(default = "yes")]
    record: bool,
}

/// Of which spectrum, and whether the settings stand in the table.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpectrumOptions {
    spectrum: String,
    #[serde(default = "yes")]
    record: bool,
}

fn nothing(what: &str) -> Fault {
    Fault::bad_setting(format!("There are no {what} to save."))
}

/// The regions whose maps are open.
pub fn regions(study: &Study, options: &ListOptions) -> Result<SavedFile, Fault> {
    let all = study.regions();
    if all.is_empty() {
        return Err(nothing("regions"));
    }
    let mut account = Account::of("regions_table");
    account.put("regions", plain(&short_regions(&study.record()))?);
    account.put_grid(study)?;
    account.put_files(study)?;
    let area = study.stack().step().map(|(step, _)| step.pixel_area_mm2());
    let mut csv = Csv::with(options.record.then(|| account.text()));
    csv.heading(&[
        "region",
        "name",
        "role",
        "taken as pure in",
        "how",
        "made",
        "made from maps",
        "pixels",
        "area (mm²)",
        "left (pixels)",
        "top (pixels)",
        "width (pixels)",
        "height (pixels)",
    ]);
    for region in all {
        csv.words(&region.id);
        csv.words(&region.name);
        csv.words(&region.role);
        csv.words_or_nothing(region.pure.as_deref().unwrap_or_default());
        csv.words(&region.how);
        csv.words(&region.text);
        let label = |id: &String| study.stack().find(id).map_or_else(|_| id.clone(), |map| map.label());
        csv.words_or_nothing(&region.makers.iter().map(label).collect::<Vec<_>>().join("; "));
        csv.number(region.pixels as f64);
        csv.number(area.map_or(f64::NAN, |area| area * region.pixels as f64));
        let bounds = region.bounds;
        for side in [bounds.x, bounds.y, bounds.width, bounds.height] {
            csv.number(f64::from(side));
        }
        csv.end();
    }
    Ok(Format::Csv.file("regions", csv.bytes()))
}

/// All analysis points.
pub fn points(study: &Study, options: &ListOptions) -> Result<SavedFile, Fault> {
    let all = study.points();
    if all.is_empty() {
        return Err(nothing("analysis points"));
    }
    let record = study.record();
    let mut account = Account::of("points");
    account.put("points", plain(&record.points)?);
    account.put("object", plain(&record.object)?);
    account.put_grid(study)?;
    account.put_files(study)?;
    let mut csv = Csv::with(options.record.then(|| account.text()));
    csv.heading(&[
        "point",
        "name",
        "x (mm)",
        "y (mm)",
        "x (pixels)",
        "y (pixels)",
        "place",
        "technique",
        "result",
        "speaks of",
        "says",
        "in regions",
    ]);
    for point in all {
        csv.words(&point.id);
        csv.words(&point.name);
        csv.number(point.x_mm.unwrap_or(f64::NAN));
        csv.number(point.y_mm.unwrap_or(f64::NAN));
        csv.number(point.at[0]);
        csv.number(point.at[1]);
        csv.words(&point.place_text);
        csv.words(&point.technique);
        csv.words_or_nothing(&point.result);
        csv.words_or_nothing(&point.pigment_name);
        csv.words_or_nothing(if point.pigment.is_some() { &point.says } else { "" });
        let name = |id: &String| study.region(id).map_or_else(|_| id.clone(), |(region, _)| region.name);
        csv.words_or_nothing(&point.regions.iter().map(name).collect::<Vec<_>>().join("; "));
        csv.end();
    }
    Ok(Format::Csv.file("analysis points", csv.bytes()))
}

/// Every map and photo with its file, and files that gave neither.
pub fn files(study: &Study, options: &ListOptions) -> Result<SavedFile, Fault> {
    if study.inputs().is_empty() {
        return Err(nothing("files"));
    }
    let record = study.record();
    let mut account = Account::of("files");
    account.put("stated", plain(&record.maps)?);
    account.put("photos", plain(&record.photos)?);
    account.put("derived", plain(&record.derived)?);
    account.put_grid(study)?;
    account.put_files(study)?;
    let mut csv = Csv::with(options.record.then(|| account.text()));
    csv.heading(&[
        "file",
        "SHA-256",
        "bytes",
        "id",
        "name",
        "page from 1",
        "holds",
        "element",
        "line",
        "kind",
        "scan",
        "width (pixels)",
        "height (pixels)",
        "smallest",
        "median",
        "largest",
        "blank (pixels)",
        "saturated (pixels)",
    ]);
    let (maps, photos) = (study.maps(), study.photos());
    for input in study.inputs() {
        let file = |csv: &mut Csv| {
            csv.words(&input.name);
            csv.words(&input.sha256);
            csv.number(input.size as f64);
        };
        let own: Vec<&MapSummary> = maps.iter().filter(|map| map.file_sha256 == input.sha256).collect();
        for map in &own {
            file(&mut csv);
            of_map(&mut csv, map);
        }
        let pictures = photos.iter().filter(|photo| photo.file_sha256 == input.sha256);
        let mut has_photo = false;
        for photo in pictures {
            has_photo = true;
            file(&mut csv);
            csv.words(&photo.id);
            csv.words(&photo.name);
            csv.number(f64::NAN);
            csv.words(&format!("photo, {} light, {}", photo.light, photo.side));
            csv.nothing(4);
            csv.number(f64::from(photo.width));
            csv.number(f64::from(photo.height));
            csv.nothing(5);
            csv.end();
        }
        if own.is_empty() && !has_photo {
            file(&mut csv);
            csv.nothing(15);
            csv.end();
        }
    }
    for map in maps.iter().filter(|map| map.derived.is_some()) {
        csv.nothing(3);
        of_map(&mut csv, map);
    }
    Ok(Format::Csv.file("files", csv.bytes()))
}

/// The rest of the row of a map.
fn of_map(csv: &mut Csv, map: &MapSummary) {
    csv.words(&map.id);
    csv.words(&map.label);
    csv.number(if map.derived.is_some() { f64::NAN } else { f64::from(map.page) + 1.0 });
    csv.words(&match &map.derived {
        Some(derived) => format!("{}, derived: {}", map.role, derived.text),
        None => map.role.clone(),
    });
    csv.words_or_nothing(map.element.as_deref().unwrap_or_default());
    csv.words_or_nothing(map.line.as_deref().unwrap_or_default());
    csv.words(&map.kind);
    csv.number(f64::from(map.field) + 1.0);
    csv.number(f64::from(map.width));
    csv.number(f64::from(map.height));
    for value in [map.low, map.median, map.high] {
        csv.number(value.unwrap_or(f64::NAN));
    }
    csv.number(map.blank as f64);
    csv.number(map.saturated as f64);
    csv.end();
}

/// The counts of a kept spectrum over the energies of its channels.
pub fn spectrum(study: &Study, options: &SpectrumOptions) -> Result<SavedFile, Fault> {
    let (record, counts) = study.spectrum_counts(&options.spectrum)?;
    let summary = study.spectra().into_iter().find(|spectrum| spectrum.id == format!("s{}", record.number));
    let mut account = Account::of("spectrum");
    account.put(
        "spectrum",
        json!({
            "name": record.name, "region": record.region, "how": record.how, "first_kev": record.first_kev,
            "step_kev": record.step_kev, "text": summary.map(|summary| summary.text),
        }),
    );
    account.put("inputs", json!([{ "file": record.name, "file_sha256": record.sha256 }]));
    if let Some(number) = record.region {
        let regions = study.record().regions;
        account.put("region", plain(&regions.iter().find(|region| region.number == number))?);
    }
    let mut csv = Csv::with(options.record.then(|| account.text()));
    csv.heading(&["energy (keV)", "counts"]);
    for (channel, &value) in counts.iter().enumerate() {
        csv.number(record.first_kev + record.step_kev * channel as f64);
        csv.number(value);
        csv.end();
    }
    Ok(Format::Csv.file(crate::stack::file_stem(&record.name), csv.bytes()))
}
