//! Questions: from maps and settings to an answer with its pixels. One file per question, all asked by the same driver on
//! evidence that none of them can bypass. Knows no page and no files.

mod answer;
mod apart;
mod covered;
mod dates;
mod driver;
mod evidence;
mod faint;
mod known;
mod materials;
mod object_words;
mod overlaps;
mod pair;
pub mod picture;
mod plot;
mod questions;
mod ratio;
mod regions;
mod settings;
mod together;
pub mod verdict;
mod words;

pub use answer::{
    Answer, AskedRegion, Cell, Figure, Input, Method, Number, Raster, Rasters, Row, Shown, Stability, Table,
    Trial,
};
pub use apart::verdict_of as verdict_of_apart;
pub use covered::{CoveredPart, DepthText, LayerText, OtherLayer, PairRow};
pub use dates::{DatesPart, YearsRow};
pub use evidence::{Change, Subject, WHOLE_FIELD};
pub use known::{AnalysisPoint, Known, Measuring, Says};
pub use materials::{ElementRow, MaterialRow, MaterialsPart, NextPlace, OfElement, Said, SetRow, SettleRow};
pub use object_words::object_words;
pub use overlaps::{LineWarning, marks, overlap_view, overlaps};
pub use plot::{Bar, Dot, LineMark, MapName, MatrixCell, Plot, PlotAxis, PlotLine, Series, Tick};
pub use questions::{Choice, Form, Part, Question, Typed, questions, sentence_of};
pub use regions::PROFILE;
pub use settings::{Background, Line, MapBackground, Settings};
pub use together::{Cloud, cloud_of, joint_of};

use crate::notice::Fault;
use crate::region::Region;
use crate::stack::MapId;
use driver::Question as _;

/// Told how far a computation is, from 0 to 1, and what it does.
pub type Progress<'a> = &'a mut dyn FnMut(f64, &str);

/// Keys of the questions that can be asked, in the order in which they are offered.
pub const KEYS: [&str; 8] =
    ["faint", "together", "apart", "ratio", "regions", "materials", "covered", "dates"];

/// Which maps a question needs, so that only these are copied for its computation.
///
/// # Errors
/// The question or a setting is not understood, or a map is not there.
pub fn maps_needed(
    question: &str,
    settings: &serde_json::Value,
    subject: &Subject<'_>,
) -> Result<Vec<MapId>, Fault> {
    known(question)?;
    let settings = Settings::read(question, settings.clone())?;
    let mut names = match question {
        "faint" => faint::Faint::maps(&settings, subject)?,
        "together" => together::Together::maps(&settings, subject)?,
        "apart" => apart::Apart::maps(&settings, subject)?,
        "regions" => regions::Regions::maps(&settings, subject)?,
        "materials" => materials::Materials::maps(&settings, subject)?,
        "covered" => covered::Covered::maps(&settings, subject)?,
        "dates" => dates::Dates::maps(&settings, subject)?,
        _ => ratio::Ratio::maps(&settings, subject)?,
    };
    names.extend(settings.held_out.values().cloned());
    let mut ids: Vec<MapId> = Vec::new();
    let mut take = |id: &MapId| {
        if !ids.contains(id) {
            ids.push(id.clone());
        }
    };
    let maps = names.iter().map(|name| subject.find(name)).collect::<Result<Vec<_>, _>>()?;
    maps.iter().for_each(|map| take(&map.id));
    // Those whose lines come into the peaks of the others, which no question looks at but for that; and those whose lines come into
    // theirs: what could itself be an overlap bounds none.
    if !settings.is_of_zones() {
        let first: Vec<_> = maps.iter().flat_map(|map| subject.reached(map)).collect();
        first.iter().for_each(|map| take(&map.id));
        first.iter().flat_map(|map| subject.reached(map)).for_each(|map| take(&map.id));
    }
    Ok(ids)
}

/// The regions that a question needs: those it names, all of them where it compares regions and names none, those from
/// which a background may be taken, and those in which overlaps can be measured.
///
/// # Errors
/// The question or a setting is not understood, or a region is not there.
pub fn regions_needed<'a>(
    question: &str,
    settings: &serde_json::Value,
    subject: &Subject<'a>,
) -> Result<Vec<&'a Region>, Fault> {
    known(question)?;
    let settings = Settings::read(question, settings.clone())?;
    let mut names: Vec<&String> =
        settings.region.iter().chain(settings.regions.iter().flatten()).chain(&settings.against).collect();
    match &settings.background {
        Some(Background::Region(name)) => names.push(name),
        Some(Background::ByMap(by_map)) => names.extend(by_map.values().filter_map(|one| match one {
            MapBackground::Region(name) => Some(name),
            MapBackground::Value(_) => None,
        })),
        None => {}
    }
    let named = names.into_iter().map(|name| subject.region(name).map(|region| region.id.clone()));
    let named = named.collect::<Result<Vec<_>, _>>()?;
    let compares_all = question == "regions" && settings.regions.is_none() && !settings.is_of_zones();
    let is_needed = |region: &&Region| {
        compares_all || region.role.gives_background() || region.pure.is_some() || named.contains(&region.id)
    };
    Ok(subject.regions().iter().filter(is_needed).collect())
}

/// Asks a question.
///
/// # Errors
/// As [`maps_needed`], and when memory runs out. That nothing can be said is an answer and no error.
pub fn ask(
    question: &str,
    settings: serde_json::Value,
    subject: &Subject<'_>,
    progress: Progress<'_>,
) -> Result<(Answer, Rasters), Fault> {
    known(question)?;
    let settings = Settings::read(question, settings)?;
    match question {
        "faint" => driver::ask::<faint::Faint>(subject, &settings, progress),
        "together" => driver::ask::<together::Together>(subject, &settings, progress),
        "apart" => driver::ask::<apart::Apart>(subject, &settings, progress),
        "regions" if settings.is_of_zones() => driver::ask::<regions::Zones>(subject, &settings, progress),
        "regions" => driver::ask::<regions::Regions>(subject, &settings, progress),
        "materials" => driver::ask::<materials::Materials>(subject, &settings, progress),
        "covered" => driver::ask::<covered::Covered>(subject, &settings, progress),
        "dates" => driver::ask::<dates::Dates>(subject, &settings, progress),
        _ => driver::ask::<ratio::Ratio>(subject, &settings, progress),
    }
}

fn known(question: &str) -> Result<(), Fault> {
    if KEYS.contains(&question) {
        return Ok(());
    }
    Err(Fault::new(
        "unknown_question",
        format!("There is no question “{question}”. There are: {}.", KEYS.join(", ")),
    ))
}
