//! Signs of trouble as notices, each with the calls that would do something about it.

use super::Study;
use super::record::AreaRecord;
use super::summary::{NoticeText, OfferText};
use crate::condition::{self, Input};
use crate::element::Role;
use crate::geometry::{Area, Orientation};
use crate::inspect::{self, Look};
use crate::kind::Kind;
use crate::notice::{Fault, Finding, Lines, Notice, Offer, Patch, Sign};
use crate::numerics::figure::count;
use crate::stack::{Map, MapId};
use serde_json::{Value, json};

impl Study {
    /// What is odd in the stack as a whole, and what could be done about it. Derived maps are left out: a sum of others
    /// is no surprise there.
    ///
    /// # Errors
    /// No memory.
    pub fn inspect(&mut self) -> Result<Vec<NoticeText>, Fault> {
        let read: Vec<MapId> =
            self.stack.maps().iter().filter(|map| map.making.is_none()).map(|map| map.id.clone()).collect();
        for id in &read {
            if !self.looks.contains_key(id)
                && let Some(map) = self.stack.by_id(id)
            {
                let look = Look::of(&map.plane)?;
                self.looks.insert(id.clone(), look);
            }
        }
        let maps: Vec<(&Map, &Look)> =
            read.iter().filter_map(|id| Some((self.stack.by_id(id)?, self.looks.get(id)?))).collect();
        let mut fields: Vec<u32> = maps.iter().map(|(map, _)| map.field).collect();
        fields.sort_unstable();
        fields.dedup();
        let mut found = Vec::new();
        // Each scan is a stack of its own.
        for field in fields {
            let of_field: Vec<(&Map, &Look)> =
                maps.iter().copied().filter(|(map, _)| map.field == field).collect();
            found.extend(inspect::stack_of(&of_field)?);
        }
        for found in &mut found {
            found.maps.retain(|id| self.stack.by_id(id).is_some_and(|map| !is_known(&found.sign, map)));
        }
        found.retain(|found| !found.maps.is_empty());
        let mut notices: Vec<NoticeText> =
            found.iter().map(|found| self.notice_of(&found.sign, &found.maps)).collect();
        for (map, look) in &maps {
            let own = look.signs().iter().filter(|sign| {
                // Said of all maps that have it.
                let with_others = found
                    .iter()
                    .any(|other| other.sign.code() == sign.code() && other.maps.contains(&map.id));
                !is_known(sign, map) && !with_others
            });
            notices.extend(own.map(|sign| self.notice_of(sign, std::slice::from_ref(&map.id))));
        }
        notices.extend(self.hot_pixels(&maps)?);
        // Of another size, and nothing tells how it would lie on the others.
        let Some((stack_width, stack_height)) = self.stack.commonest_size() else { return Ok(notices) };
        for (map, _) in &maps {
            let (width, height) = map.plane.size();
            let is_told =
                found.iter().any(|found| found.maps.contains(&map.id) && found.sign.is_about_size());
            if map.field == 0 && (width, height) != (stack_width, stack_height) && !is_told {
                let finding = Finding::OtherSize { width, height, stack_width, stack_height };
                let notice = NoticeText::of(&Notice { file: map.source.file.clone(), finding });
                notices.push(NoticeText { map: Some(map.id.to_string()), ..notice });
            }
        }
        Ok(notices)
    }

    /// Single pixels that stand out, of maps that are not too large to look at every neighbourhood here.
    fn hot_pixels(&self, maps: &[(&Map, &Look)]) -> Result<Vec<NoticeText>, Fault> {
        let mut notices = Vec::new();
        for (map, _) in
            maps.iter().filter(|(map, _)| map.kind == Kind::Window && map.plane.len() <= MOST_FOR_HOT_PIXELS)
        {
            let (values, label) = (map.plane.to_f64()?, map.label());
            let ceiling = map.plane.ceiling();
            let input = Input { values: &values, sigma: None, kind: map.kind, ceiling, label: &label };
            let Some(mut hot) = condition::hot_pixels(&[input])? else { continue };
            // Fine drawing has single bright pixels too: unasked, only what is far above all of the picture is told.
            let ordinary = map.stats.near_high.unwrap_or(f64::INFINITY);
            hot.listed.retain(|pixel| pixel.value > FAR_ABOVE * ordinary);
            if hot.listed.is_empty() {
                continue;
            }
            let shown = hot
                .listed
                .iter()
                .take(3)
                .map(|p| format!("{} in column {}, row {}", count(p.value), p.x + 1, p.y + 1));
            let finding =
                Finding::HotPixels { label, total: hot.listed.len() as u64, shown: shown.collect() };
            let pixels: Vec<[u32; 2]> = hot.listed.iter().map(|pixel| [pixel.x, pixel.y]).collect();
            let notice = NoticeText::of(&Notice { file: String::new(), finding });
            let offers = vec![OfferText {
                label: if pixels.len() == 1 {
                    "Make a copy without it".into()
                } else {
                    "Make a copy without them".into()
                },
                call: "derive".into(),
                args: vec![json!({"how": "hot_pixels", "of": [map.id.as_str()], "pixels": pixels})],
            }];
            notices.push(NoticeText { map: Some(map.id.to_string()), offers, ..notice });
        }
        Ok(notices)
    }

    /// A sign of some maps as a notice.
    pub(super) fn notice_of(&self, sign: &Sign, maps: &[MapId]) -> NoticeText {
        let maps: Vec<&Map> = maps.iter().filter_map(|id| self.stack.by_id(id)).collect();
        let text = match maps.as_slice() {
            [map] => format!("{}: {sign}", map.label()),
            _ => sign.to_string(),
        };
        NoticeText {
            severity: sign.severity().word().into(),
            code: sign.code().into(),
            file: String::new(),
            text,
            map: if let [map] = maps.as_slice() { Some(map.id.to_string()) } else { None },
            offers: sign.offer().map(|offer| self.offers_of(&offer, &maps)).unwrap_or_default(),
        }
    }

    fn offers_of(&self, offer: &Offer, maps: &[&Map]) -> Vec<OfferText> {
        let changes: Vec<Value> = maps.iter().filter_map(|map| self.change_of(offer, map)).collect();
        if let Offer::ShiftRows { .. } = offer {
            // Each map by itself: what is found in one need not be the same in another.
            let repair = |map: &&Map| OfferText {
                label: format!("Repair {}", map.label()),
                call: "derive".into(),
                args: vec![json!({"how": "line_shift", "of": [map.id.as_str()]})],
            };
            return maps.iter().map(repair).collect();
        }
        if let Offer::Sides { lines, from, to } = offer {
            // Regions lie on the grid of the first scan.
            let Some((width, height)) =
                self.stack.commonest_size().filter(|_| maps.iter().all(|map| map.field == 0))
            else {
                return Vec::new();
            };
            return sides(*lines, (*from, *to), (f64::from(width), f64::from(height)));
        }
        if changes.is_empty() {
            return Vec::new();
        }
        vec![OfferText { label: offer.label(), call: "set_maps".into(), args: vec![Value::Array(changes)] }]
    }

    /// What `set_maps` would state of a map.
    fn change_of(&self, offer: &Offer, map: &Map) -> Option<Value> {
        let id = map.id.as_str();
        let reading = map.plane.reading();
        let blank = |more: Vec<Area>| {
            let areas: Vec<AreaRecord> =
                reading.blank_areas.iter().copied().chain(more).map(AreaRecord::from).collect();
            json!({"id": id, "blank_areas": areas})
        };
        Some(match offer {
            Offer::FillValue(value) => {
                let values: Vec<f64> = reading.fill_values.iter().copied().chain([*value]).collect();
                json!({"id": id, "fill_values": values})
            }
            Offer::BlankAreas(patches) => blank(patches.iter().map(area).collect()),
            Offer::BlankLines { lines, numbers } => {
                let (width, height) = map.plane.size();
                let line = |&at: &u32| match lines {
                    Lines::Rows => Area { x: 0, y: at, width, height: 1 },
                    Lines::Columns => Area { x: at, y: 0, width: 1, height },
                };
                blank(numbers.iter().map(line).collect())
            }
            Offer::Kind(kind) => json!({"id": id, "kind": kind}),
            Offer::Turn(turn) => {
                // The sign speaks of the map as it lies; what is stated comes before the turn of the whole stack.
                let stack = self.stack.orientation();
                let now = map.orientation;
                let own = now.then(Orientation::new(turn.quarter_turns, turn.mirror)).then(stack.inverse());
                json!({"id": id, "turns": own.quarter_turns(), "mirror": own.is_mirrored()})
            }
            Offer::Place { x, y } => {
                let (width, height) = self.stack.commonest_size()?;
                json!({"id": id, "frame": {"x": -x, "y": -y, "width": width, "height": height}})
            }
            Offer::Crop(inside) => {
                json!({"id": id, "frame": {"x": inside.x, "y": inside.y, "width": inside.width, "height": inside.height}})
            }
            Offer::Sum => json!({"id": id, "role": "sum", "kind": "auxiliary"}),
            Offer::ErrorMap { .. } => json!({"id": id, "role": "fit error", "kind": "auxiliary"}),
            Offer::ShiftRows { .. } | Offer::Sides { .. } => return None,
        })
    }
}

/// Each side of a line as a region to be added.
fn sides(lines: Lines, (from, to): (f64, f64), (width, height): (f64, f64)) -> Vec<OfferText> {
    let (before, behind, words) = match lines {
        Lines::Columns => (
            [[0.0, 0.0], [from, 0.0], [to, height], [0.0, height]],
            [[from, 0.0], [width, 0.0], [width, height], [to, height]],
            ("Left of the seam", "Right of the seam"),
        ),
        Lines::Rows => (
            [[0.0, 0.0], [width, 0.0], [width, to], [0.0, from]],
            [[0.0, from], [width, to], [width, height], [0.0, height]],
            ("Above the seam", "Below the seam"),
        ),
    };
    let one = |name: &str, polygon: [[f64; 2]; 4]| OfferText {
        label: format!("Make a region: {}", name.to_lowercase()),
        call: "add_region".into(),
        args: vec![json!({"name": name, "polygon": polygon})],
    };
    vec![one(words.0, before), one(words.1, behind)]
}

/// Pixels of the largest map in which single pixels are looked for at every inspection.
const MOST_FOR_HOT_PIXELS: u64 = 4_000_000;

/// Times the value that 99.5 % of the pixels do not exceed.
const FAR_ABOVE: f64 = 2.0;

/// True where the map's kind or what it holds says already what the sign says.
fn is_known(sign: &Sign, map: &Map) -> bool {
    match sign {
        Sign::Stretched { .. }
        | Sign::Clipped { .. }
        | Sign::Curved { .. }
        | Sign::Smoothed { .. }
        | Sign::CommonMaximum { .. } => map.kind == Kind::DisplayCopy,
        Sign::SumOf { .. } => map.role == Some(Role::Sum),
        Sign::RootOf { .. } => map.role == Some(Role::FitError),
        _ => false,
    }
}

fn area(patch: &Patch) -> Area {
    let Patch { x, y, width, height } = *patch;
    Area { x, y, width, height }
}
