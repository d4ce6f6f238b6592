//! Regions at a glance, in words.

use super::Held;
use super::colour::ColourText;
use super::record::{CombineWord, RectangleRecord, Shape};
use crate::geometry::Step;
use crate::numerics::figure::{THIN_SPACE, count, whole};
use crate::region::{self, turned_place, turned_rectangle};
use crate::stack::{Map, Stack};
use crate::study::{AreaRecord, Study};
use serde::Serialize;

/// A region at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RegionSummary {
    /// Its id; empty for a preview.
    pub id: String,
    /// What it is called (untrusted text).
    pub name: String,
    /// Its role.
    pub role: String,
    /// Symbol of the element that it is taken to be pure in; absent for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pure: Option<String>,
    /// "rectangle", "polygon", "mask", "threshold", "classes", "cloud", "colour" or "combine".
    pub how: String,
    /// How it is made, in a few words; with what is wrong with it now.
    pub text: String,
    /// The maps that made it, by id.
    pub makers: Vec<String>,
    /// The same in words; empty without any.
    pub makers_text: String,
    /// Pixels inside.
    pub pixels: u64,
    /// Its area in words, in pixels where the step is not known.
    pub area_text: String,
    /// The smallest rectangle around its pixels; all zero without any.
    pub bounds: AreaRecord,
    /// As it lies now, of a rectangle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rectangle: Option<RectangleRecord>,
    /// Corners as they lie now, of a polygon.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub polygon: Option<Vec<[f64; 2]>>,
    /// Of a threshold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub threshold: Option<ThresholdText>,
    /// Of values of two maps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cloud: Option<CloudText>,
    /// Of colours of a photo.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<ColourText>,
    /// Of a combination.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub combine: Option<CombineText>,
}

/// A threshold, with the map by id.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // the names say it all
pub struct ThresholdText {
    pub map: String,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

/// Limits in two maps, these by id.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // the names say it all
pub struct CloudText {
    pub a: String,
    pub b: String,
    pub a_low: Option<f64>,
    pub a_high: Option<f64>,
    pub b_low: Option<f64>,
    pub b_high: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<String>,
}

/// A combination, its parts by id.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // the names say it all
pub struct CombineText {
    pub how: CombineWord,
    pub of: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_px: Option<u32>,
}

impl Study {
    pub(super) fn region_summary(&self, held: Held<'_>) -> RegionSummary {
        let Held { region, making } = held;
        let shape = &making.record.shape;
        let now = self.stack.orientation();
        let pixels = making.pixels;
        let bounds = region::bounds(&region.mask).map(AreaRecord::from);
        let id_of = |key: &str| self.map_by_key(key).map_or_else(String::new, |map| map.id.to_string());
        let makers = self.makers_of(shape);
        let labels: Vec<String> = makers.iter().map(|map| map.label()).collect();
        let mut text = self.shape_text(shape);
        let mut add = |more: &str| text = format!("{text}; {more}");
        if !making.trouble.is_empty() {
            add(&making.trouble);
        } else if !making.note.is_empty() {
            add(&making.note);
        } else if pixels == 0 {
            add("no pixel is inside now");
        } else if self.grid_size() != Some((region.mask.width(), region.mask.height())) {
            add("of a grid of another size than the maps have now");
        }
        RegionSummary {
            id: region.id.clone(),
            name: region.name.clone(),
            role: region.role.word().into(),
            pure: region.pure.map(|element| element.symbol().into()),
            how: shape.word().into(),
            text,
            makers: makers.iter().map(|map| map.id.to_string()).collect(),
            makers_text: if labels.is_empty() {
                String::new()
            } else {
                format!("made from {}", listed(&labels, "and"))
            },
            pixels,
            area_text: area_text(pixels, self.stack.step().map(|(step, _)| step)),
            bounds: bounds.unwrap_or(AreaRecord { x: 0, y: 0, width: 0, height: 0 }),
            rectangle: match shape {
                Shape::Rectangle { rectangle, laid } => {
                    Some(turned_rectangle((*rectangle).into(), laid.turn_to(now), laid.size()).into())
                }
                _ => None,
            },
            polygon: match shape {
                Shape::Polygon { polygon, laid } => {
                    let turn = laid.turn_to(now);
                    Some(
                        polygon
                            .iter()
                            .map(|&[x, y]| turned_place((x, y), turn, laid.size()).into())
                            .collect(),
                    )
                }
                _ => None,
            },
            threshold: match shape {
                Shape::Threshold { map, low, high } => {
                    Some(ThresholdText { map: id_of(map), low: *low, high: *high })
                }
                _ => None,
            },
            cloud: match shape {
                Shape::Cloud { a, b, a_low, a_high, b_low, b_high, within } => Some(CloudText {
                    a: id_of(a),
                    b: id_of(b),
                    a_low: *a_low,
                    a_high: *a_high,
                    b_low: *b_low,
                    b_high: *b_high,
                    region: within.map(super::id_of),
                }),
                _ => None,
            },
            colour: match shape {
                Shape::Colour(of) => Some(self.colour_text_of(of)),
                _ => None,
            },
            combine: match shape {
                Shape::Combine { operation, of, by_px } => Some(CombineText {
                    how: *operation,
                    of: of.iter().copied().map(super::id_of).collect(),
                    by_px: matches!(operation, CombineWord::Grown | CombineWord::Shrunk).then_some(*by_px),
                }),
                _ => None,
            },
        }
    }

    /// The maps that made it, each once, in the order of the stack: its own and those of its parts.
    pub(super) fn makers_of(&self, shape: &Shape) -> Vec<&Map> {
        let mut keys: Vec<String> = Vec::new();
        let mut seen: Vec<u32> = Vec::new();
        let mut shapes = vec![shape];
        while let Some(shape) = shapes.pop() {
            keys.extend(shape.maps().into_iter().map(str::to_owned));
            for number in shape.regions() {
                if !seen.contains(&number) {
                    seen.push(number);
                    shapes.extend(self.held_region(number).map(|held| &held.making.record.shape));
                }
            }
        }
        let is_maker = |map: &&Map| keys.contains(&super::map_key(&map.source));
        self.stack.maps().iter().filter(is_maker).collect()
    }

    /// How it is made, in a few words.
    fn shape_text(&self, shape: &Shape) -> String {
        let map = |key: &str| self.map_by_key(key);
        let named = |number: u32| {
            self.held_region(number).map_or_else(|| super::id_of(number), |held| held.region.name.clone())
        };
        match shape {
            Shape::Rectangle { .. } => "rectangle".into(),
            Shape::Polygon { polygon, .. } => format!("drawn, {} corners", whole(polygon.len() as u64)),
            Shape::Mask { .. } => "a mask that was handed in".into(),
            Shape::Threshold { map: key, low, high } => limits_text(map(key), *low, *high),
            Shape::Classes { text, .. } => text.clone(),
            Shape::Cloud { a, b, a_low, a_high, b_low, b_high, within } => {
                let (a, b) = (limits_text(map(a), *a_low, *a_high), limits_text(map(b), *b_low, *b_high));
                let within = within.map_or_else(String::new, |number| format!(", in {}", named(number)));
                format!("{a} and {b}{within}")
            }
            Shape::Colour(of) => self.colour_words(of),
            Shape::Combine { operation, of, by_px } => {
                let names: Vec<String> = of.iter().copied().map(named).collect();
                let first = names.first().map_or("", String::as_str);
                let many = if *by_px == 1 { "pixel" } else { "pixels" };
                match operation {
                    CombineWord::And => format!("in {}", listed(&names, "and")),
                    CombineWord::Or => format!("in {}", listed(&names, "or")),
                    CombineWord::Without => {
                        format!("{first} without {}", listed(&names[1.min(names.len())..], "and"))
                    }
                    CombineWord::Grown => format!("{first} grown by {by_px} {many}"),
                    CombineWord::Shrunk => format!("{first} shrunk by {by_px} {many}"),
                }
            }
        }
    }
}

/// "Cu K from 12 to 40 counts".
fn limits_text(map: Option<&Map>, low: Option<f64>, high: Option<f64>) -> String {
    let label = map.map_or_else(|| "a map that is not open".to_owned(), Map::label);
    let unit = match map.map_or("", |map| map.kind.unit()) {
        "" => String::new(),
        unit => format!(" {unit}"),
    };
    match (low, high) {
        (Some(low), Some(high)) => format!("{label} from {} to {}{unit}", count(low), count(high)),
        (Some(low), None) => format!("{label} from {}{unit}", count(low)),
        (None, Some(high)) => format!("{label} up to {}{unit}", count(high)),
        (None, None) => format!("where {label} has data"),
    }
}

/// "A, B and C".
pub(super) fn listed(names: &[String], word: &str) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} {word} {last}", first.join(", ")),
    }
}

/// "35 mm²", or "1 010 pixels" where the step is not known.
pub(super) fn area_text(pixels: u64, step: Option<Step>) -> String {
    match step {
        Some(step) => format!("{}{THIN_SPACE}mm²", count(pixels as f64 * step.pixel_area_mm2())),
        None => pixels_text(pixels),
    }
}

/// "1 010 pixels".
pub(in crate::study) fn pixels_text(pixels: u64) -> String {
    format!("{} {}", whole(pixels), if pixels == 1 { "pixel" } else { "pixels" })
}

/// The size of the grid on which regions lie: the commonest among the maps whose pixels are those of the scan.
pub(super) fn grid_size(stack: &Stack) -> Option<(u32, u32)> {
    let sizes: Vec<(u32, u32)> =
        stack.on_grid().filter(|map| map.cell() == (1, 1)).map(|map| map.plane.size()).collect();
    let mut best: Option<((u32, u32), usize)> = None;
    for &size in &sizes {
        let times = sizes.iter().filter(|&&other| other == size).count();
        if best.is_none_or(|(_, most)| times > most) {
            best = Some((size, times));
        }
    }
    best.map(|(size, _)| size).or_else(|| stack.commonest_size())
}
