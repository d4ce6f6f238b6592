//! Regions and analysis points.

use super::page::{Page, Sheet, Words};
use super::{outlines, section};
use crate::notice::Fault;
use crate::study::Study;

/// The regions, with a drawing of where they lie.
pub(super) fn regions(page: &mut Page, study: &Study) -> Result<(), Fault> {
    let all = study.regions();
    if all.is_empty() {
        return Ok(());
    }
    section(page, "regions", "", "Regions");
    outlines::drawing(page, study, &all)?;
    let row = |(place, region): (usize, &crate::study::RegionSummary)| {
        let made = region.makers_text.strip_prefix("made from ").unwrap_or(&region.makers_text);
        let made = if made.is_empty() { "no map" } else { made };
        let role = match &region.pure {
            Some(element) => format!("{}, pure in {element}", region.role),
            None => region.role.clone(),
        };
        vec![
            Words::of((place + 1).to_string()),
            Words::of(&region.name),
            Words::of(role),
            Words::of(&region.text),
            Words::of(made),
            Words::Number(region.area_text.clone()),
        ]
    };
    page.table(&Sheet {
        caption: "",
        class: "",
        headings: ["No.", "Region", "Role", "How it is drawn", "Made from", "Area"]
            .map(str::to_owned)
            .to_vec(),
        rows: all.iter().enumerate().map(row).collect(),
    });
    page.close();
    Ok(())
}

/// Where other techniques measured.
pub(super) fn points(page: &mut Page, study: &Study) {
    let all = study.points();
    if all.is_empty() {
        return;
    }
    section(page, "points", "", "Analysis points");
    if all.iter().any(|point| point.place_text.starts_with("x ")) {
        page.paragraph("", "x to the right and y downward from the upper left corner of the scan.");
    }
    let regions = study.regions();
    let row = |point: &crate::study::PointSummary| {
        let named =
            |id: &String| regions.iter().find(|region| region.id == *id).map(|region| region.name.clone());
        let within: Vec<String> = point.regions.iter().filter_map(named).collect();
        let says = if point.pigment_name.is_empty() {
            String::new()
        } else {
            format!("{} {}", point.pigment_name, point.says)
        };
        vec![
            Words::of(&point.name),
            Words::of(&point.place_text),
            Words::of(within.join(", ")),
            Words::of(&point.technique),
            Words::of(&point.result),
            Words::of(says),
        ]
    };
    page.table(&Sheet {
        caption: "",
        class: "",
        headings: ["Point", "Where", "In region", "Technique", "Result", "Material"]
            .map(str::to_owned)
            .to_vec(),
        rows: all.iter().map(row).collect(),
    });
    page.close();
}
