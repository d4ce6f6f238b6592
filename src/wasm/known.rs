//! What is known beside maps and regions, handed to a worker of its own.

use super::convert::{fault_out, from_js, to_js, unexpected};
use crate::ask::{AnalysisPoint, Known, Measuring, Says};
use crate::element::{Element, Line};
use crate::geometry::object::{Corner, ObjectFrame};
use serde::{Deserialize, Serialize};
use wasm_bindgen::JsValue;

#[derive(Default, Serialize, Deserialize)]
struct KnownHead {
    anode: Option<String>,
    kv: Option<f64>,
    incidence_deg: Option<f64>,
    takeoff_deg: Option<f64>,
    distance_mm: Option<f64>,
    is_without_air: Option<bool>,
    resolution_ev: Option<f64>,
    points: Vec<PointHead>,
    own_lines: Vec<String>,
    object: Option<ObjectHead>,
    has_no_places: bool,
}

#[derive(Serialize, Deserialize)]
struct PointHead {
    id: String,
    name: String,
    at: [f64; 2],
    technique: String,
    result: String,
    pigment: Option<String>,
    /// True for found, false for not found, `None` for open.
    is_found: Option<bool>,
}

#[derive(Serialize, Deserialize)]
struct ObjectHead {
    corner: String,
    at: [f64; 2],
    across: [f64; 2],
    down: [f64; 2],
}

pub(super) fn known_out(known: &Known) -> Result<JsValue, JsValue> {
    let Measuring { anode, kv, incidence_deg, takeoff_deg, distance_mm, is_without_air, resolution_ev } =
        known.measuring;
    let points = known.points.iter().map(|point| PointHead {
        id: point.id.clone(),
        name: point.name.clone(),
        at: point.at.into(),
        technique: point.technique.clone(),
        result: point.result.clone(),
        pigment: point.pigment.clone(),
        is_found: match point.says {
            Says::Found => Some(true),
            Says::NotFound => Some(false),
            Says::Open => None,
        },
    });
    to_js(&KnownHead {
        anode: anode.map(|anode| anode.symbol().into()),
        kv,
        incidence_deg,
        takeoff_deg,
        distance_mm,
        is_without_air,
        resolution_ev,
        points: points.collect(),
        own_lines: known.own_lines.iter().map(ToString::to_string).collect(),
        object: known.object.as_ref().map(|frame| ObjectHead {
            corner: frame.corner.words().into(),
            at: frame.at.into(),
            across: frame.across.into(),
            down: frame.down.into(),
        }),
        has_no_places: known.has_no_places,
    })
}

/// What [`known_out`] handed over; nothing where nothing was.
pub(super) fn known_in(value: &JsValue) -> Result<Known, JsValue> {
    if value.is_undefined() {
        return Ok(Known::default());
    }
    let head: KnownHead = from_js(value.clone())?;
    let object = head.object.map(|of| {
        let corner = Corner::from_words(&of.corner);
        let corner = corner.ok_or_else(|| fault_out(unexpected("a corner that is none")))?;
        Ok::<_, JsValue>(ObjectFrame {
            corner,
            at: of.at.into(),
            across: of.across.into(),
            down: of.down.into(),
        })
    });
    let points = head.points.into_iter().map(|point| AnalysisPoint {
        id: point.id,
        name: point.name,
        at: point.at.into(),
        technique: point.technique,
        result: point.result,
        pigment: point.pigment,
        says: match point.is_found {
            Some(true) => Says::Found,
            Some(false) => Says::NotFound,
            None => Says::Open,
        },
    });
    let own_line =
        |text: String| Line::parse_typed(&text).ok_or_else(|| fault_out(unexpected("a line that is none")));
    Ok(Known {
        measuring: Measuring {
            anode: head.anode.as_deref().and_then(Element::from_symbol),
            kv: head.kv,
            incidence_deg: head.incidence_deg,
            takeoff_deg: head.takeoff_deg,
            distance_mm: head.distance_mm,
            is_without_air: head.is_without_air,
            resolution_ev: head.resolution_ev,
        },
        points: points.collect(),
        own_lines: head.own_lines.into_iter().map(own_line).collect::<Result<_, _>>()?,
        object: object.transpose()?,
        has_no_places: head.has_no_places,
    })
}
