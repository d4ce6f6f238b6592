//! Maps that a computation needs, handed to a worker of its own; and derived maps handed back.

use super::arrays::{grid_in, grid_out, mask_in, mask_out, samples_in, samples_out};
use super::convert::{fault_out, field, from_js, set, to_js, unexpected};
use super::known::{known_in, known_out};
use crate::ask::Known;
use crate::condition::{Derived, Found, Recipe};
use crate::element::{Element, Line, Role};
use crate::geometry::{Orientation, Step};
use crate::kind::Kind;
use crate::region::{Region, RegionRole};
use crate::stack::{Making, Map, MapId, Plane, Reading, Source, Stack, Stats};
use crate::study::{AreaRecord, Study};
use js_sys::{Array, Object};
use serde::{Deserialize, Serialize};
use wasm_bindgen::{JsCast, JsValue};

/// What a map is, beside its pixels.
#[derive(Serialize, Deserialize)]
struct MapHead {
    id: String,
    file: String,
    page: u32,
    sha256: String,
    title: String,
    name: String,
    distinction: String,
    line: Option<String>,
    kind: String,
    role: Option<String>,
    detector: Option<u32>,
    low: Option<f64>,
    high: Option<f64>,
    median: Option<f64>,
    near_high: Option<f64>,
    blank: u64,
    saturated: u64,
    is_whole: bool,
    fill_values: Vec<f64>,
    blank_areas: Vec<AreaRecord>,
    gain: f64,
    offset: f64,
    /// The maps that were read which it rests on, for a derived map; empty otherwise.
    roots: Vec<String>,
    /// How a derived map was made, in words; empty otherwise.
    making: String,
    /// Pixels of the scan in one of its own, across and down.
    cell: (u32, u32),
    /// The scan that it belongs to.
    field: u32,
}

/// What a region is, beside its pixels.
#[derive(Serialize, Deserialize)]
struct RegionHead {
    id: String,
    name: String,
    role: String,
    /// The maps that made it and those that these rest on, also such as are not handed over.
    makers: Vec<String>,
    /// Symbol of the element that it is taken to be pure in.
    pure: Option<String>,
    caution: String,
}

/// What is handed to a computation.
pub(super) struct Handed {
    pub stack: Stack,
    pub regions: Vec<Region>,
    pub beam_um: Option<f64>,
    pub known: Known,
}

/// The maps and the regions that a question needs, and what is known of the scan:
/// `{step, maps: [{head, pixels}], regions: [{head, mask}], beam_um, known}`.
pub(super) fn question_out(study: &Study, ids: &[MapId], needed: &[&Region]) -> Result<JsValue, JsValue> {
    let regions = Array::new();
    for region in needed {
        let head = RegionHead {
            id: region.id.clone(),
            name: region.name.clone(),
            role: region.role.word().into(),
            makers: region.makers.iter().map(MapId::to_string).collect(),
            pure: region.pure.map(|element| element.symbol().into()),
            caution: region.caution.clone(),
        };
        let one = Object::new();
        set(&one, "head", &to_js(&head)?)?;
        set(&one, "mask", &mask_out(&region.mask)?)?;
        regions.push(&one);
    }
    let out = maps_out(study.stack(), ids)?;
    set(&out, "regions", &regions)?;
    set(&out, "beam_um", &to_js(&study.scan().beam_um)?)?;
    set(&out, "known", &known_out(study.known())?)?;
    Ok(out.into())
}

/// What [`question_out`] or [`subject_out`] handed over; without regions and facts of the scan after the latter.
pub(super) fn handed_in(subject: &JsValue) -> Result<Handed, JsValue> {
    let mut regions = Vec::new();
    if let Ok(all) = field(subject, "regions").dyn_into::<Array>() {
        for one in all.iter() {
            let head: RegionHead = from_js(field(&one, "head"))?;
            let role = RegionRole::from_word(&head.role);
            regions.push(Region {
                id: head.id,
                name: head.name,
                role: role.ok_or_else(|| fault_out(unexpected("a role that is none")))?,
                makers: head.makers.iter().map(|id| MapId::from_text(id)).collect(),
                pure: head.pure.as_deref().and_then(Element::from_symbol),
                caution: head.caution,
                mask: mask_in(&field(&one, "mask")).map_err(fault_out)?,
            });
        }
    }
    let known = known_in(&field(subject, "known"))?;
    Ok(Handed { stack: subject_in(subject)?, regions, beam_um: field(subject, "beam_um").as_f64(), known })
}

/// The maps that a derivation needs, with the step: `{step, maps: [{head, pixels}]}`.
pub(super) fn subject_out(stack: &Stack, ids: &[MapId]) -> Result<JsValue, JsValue> {
    maps_out(stack, ids).map(Into::into)
}

fn maps_out(stack: &Stack, ids: &[MapId]) -> Result<Object, JsValue> {
    let maps = Array::new();
    for map in ids.iter().filter_map(|id| stack.by_id(id)) {
        let stats = &map.stats;
        let head = MapHead {
            id: map.id.to_string(),
            file: map.source.file.clone(),
            page: map.source.page,
            sha256: map.source.sha256.clone(),
            title: map.title.clone(),
            name: map.name.clone(),
            distinction: map.distinction.clone(),
            line: map.line.map(|line| line.to_string()),
            kind: map.kind.word().into(),
            role: map.role.map(|role| role.word().into()),
            detector: map.detector,
            low: stats.low,
            high: stats.high,
            median: stats.median,
            near_high: stats.near_high,
            blank: stats.blank,
            saturated: stats.saturated,
            is_whole: stats.is_whole,
            fill_values: map.plane.reading().fill_values.clone(),
            blank_areas: map.plane.reading().blank_areas.iter().map(|&area| area.into()).collect(),
            gain: map.plane.reading().gain,
            offset: map.plane.reading().offset,
            roots: map.making.iter().flat_map(|making| &making.roots).map(|id| id.to_string()).collect(),
            making: map.making.as_ref().map_or_else(String::new, |making| making.text.clone()),
            cell: map.cell(),
            field: map.field,
        };
        let one = Object::new();
        set(&one, "head", &to_js(&head)?)?;
        set(&one, "pixels", &samples_out(map.plane.samples())?)?;
        if let Some(sigma) = &map.sigma {
            set(&one, "sigma", &grid_out(sigma)?)?;
        }
        maps.push(&one);
    }
    let out = Object::new();
    set(&out, "step", &to_js(&stack.step().map(|(step, _)| [step.x_um(), step.y_um()]))?)?;
    set(&out, "maps", &maps)?;
    Ok(out)
}

pub(super) fn subject_in(subject: &JsValue) -> Result<Stack, JsValue> {
    let mut stack = Stack::default();
    let step: Option<[f64; 2]> = from_js(field(subject, "step"))?;
    stack.state_step(step.and_then(|[x, y]| Step::new(x, y)));
    let maps: Array =
        field(subject, "maps").dyn_into().map_err(|_| fault_out(unexpected("a subject without maps")))?;
    for one in maps.iter() {
        let head: MapHead = from_js(field(&one, "head"))?;
        let samples = samples_in(&field(&one, "pixels")).map_err(fault_out)?;
        let kind = Kind::from_word(&head.kind).ok_or_else(|| fault_out(unexpected("a kind that is none")))?;
        let source = Source { file: head.file, page: head.page, sha256: head.sha256 };
        let reading = Reading {
            fill_values: head.fill_values,
            blank_areas: head.blank_areas.into_iter().map(Into::into).collect(),
            gain: head.gain,
            offset: head.offset,
        };
        let line = head.line.as_deref().and_then(Line::parse);
        let stats = Stats {
            low: head.low,
            high: head.high,
            median: head.median,
            near_high: head.near_high,
            blank: head.blank,
            saturated: head.saturated,
            is_whole: head.is_whole,
        };
        let plane = Plane::new(samples).read_as(reading);
        let mut map = Map::with_stats(MapId::from_text(&head.id), source, head.title, line, (plane, stats));
        map.name = head.name;
        map.distinction = head.distinction;
        map.kind = kind;
        map.role = head.role.as_deref().and_then(Role::from_word);
        map.detector = head.detector;
        map.sigma = sigma_in(&one)?;
        map.field = head.field;
        map.making = making_of(head.roots, head.making, (head.cell, head.field));
        stack.push(map);
    }
    Ok(stack)
}

/// As much of a making as a computation looks at: which measured maps it rests on, and the size of its
/// pixels as the map lies.
fn making_of(roots: Vec<String>, text: String, (cell, field): ((u32, u32), u32)) -> Option<Making> {
    if roots.is_empty() {
        return None;
    }
    let roots: Vec<MapId> = roots.iter().map(|id| MapId::from_text(id)).collect();
    Some(Making {
        of: roots.clone(),
        roots,
        how: String::new(),
        text,
        account: Vec::new(),
        cell,
        kind: Kind::Auxiliary,
        laid: Orientation::default(),
        field,
    })
}

/// What a derived map is, beside its pixels.
#[derive(Serialize, Deserialize)]
struct DerivedHead {
    kind: String,
    cell: (u32, u32),
    recipe: Recipe,
    account: Vec<String>,
    findings: Vec<String>,
    label: String,
}

pub(super) fn derived_out(derived: &Derived) -> Result<JsValue, JsValue> {
    let head = DerivedHead {
        kind: derived.kind.word().into(),
        cell: derived.cell,
        recipe: derived.recipe.clone(),
        account: derived.account.clone(),
        findings: derived.findings.clone(),
        label: derived.label.clone(),
    };
    let out = Object::new();
    set(&out, "head", &to_js(&head)?)?;
    set(&out, "values", &grid_out(&derived.values)?)?;
    if let Some(sigma) = &derived.sigma {
        set(&out, "sigma", &grid_out(sigma)?)?;
    }
    Ok(out.into())
}

pub(super) fn derived_in(result: &JsValue) -> Result<Derived, JsValue> {
    let head: DerivedHead = from_js(field(result, "head"))?;
    Ok(Derived {
        values: grid_in(&field(result, "values")).map_err(fault_out)?,
        sigma: sigma_in(result)?,
        kind: Kind::from_word(&head.kind).ok_or_else(|| fault_out(unexpected("a kind that is none")))?,
        cell: head.cell,
        recipe: head.recipe,
        account: head.account,
        findings: head.findings,
        found: Found::Nothing,
        label: head.label,
    })
}

fn sigma_in(value: &JsValue) -> Result<Option<crate::grid::Grid<f64>>, JsValue> {
    let sigma = field(value, "sigma");
    if sigma.is_undefined() { Ok(None) } else { grid_in(&sigma).map(Some).map_err(fault_out) }
}
