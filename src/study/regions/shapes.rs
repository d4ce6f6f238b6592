//! From what is handed in to a shape as it stands in the record: found, checked, limited.

use super::record::{
    ClassesSettings, CloudSettings, CombineSettings, CombineWord, LONGEST_NAME, Laid, MOST_CORNERS,
    MOST_GROWTH, MOST_REGIONS, RectangleRecord, RegionSettings, Shape, ThresholdSettings,
};
use super::{id_of, map_key, summary};
use crate::ask::{self, Cloud};
use crate::grid::Mask;
use crate::notice::Fault;
use crate::numerics::figure::whole;
use crate::reading::mask_of_png;
use crate::region;
use crate::stack::{Map, MapId};
use crate::study::Study;

impl Study {
    /// The shape that is handed in. `me` is the region that it is for, if there is one already.
    ///
    /// # Errors
    /// Not exactly one shape; one that does not fit.
    pub(super) fn shape_of(&self, settings: RegionSettings, me: Option<u32>) -> Result<Shape, Fault> {
        if settings.shapes() != 1 {
            return Err(Fault::bad_setting(
                "Give a region exactly one shape: rectangle, polygon, mask, mask_png, threshold, classes, cloud, colour or combine.",
            ));
        }
        if let Some(of) = settings.rectangle {
            return self.rectangle_of(of);
        }
        if let Some(corners) = settings.polygon {
            return self.polygon_of(corners);
        }
        if let Some(values) = settings.mask {
            return self.mask_handed_in(&values);
        }
        if let Some(bytes) = settings.mask_png {
            return self.mask_of_file(&bytes);
        }
        if let Some(of) = settings.threshold {
            return self.threshold_of(&of);
        }
        if let Some(of) = settings.classes {
            return self.classes_of(&of);
        }
        if let Some(of) = settings.cloud {
            return self.cloud_of(of, me);
        }
        if let Some(of) = settings.colour {
            return self.colour_of(of);
        }
        match settings.combine {
            Some(of) => self.combination_of(&of, me),
            None => Err(Fault::bad_setting("Give the region a shape.")),
        }
    }

    /// How something lies that is handed in now.
    fn laid_now(&self) -> Result<Laid, Fault> {
        let size = self.grid_size().ok_or_else(|| {
            Fault::new("no_maps", "There is no grid yet on which a region could lie. Open a map first.")
        })?;
        Ok(Laid::of(self.stack.orientation(), size))
    }

    fn rectangle_of(&self, of: RectangleRecord) -> Result<Shape, Fault> {
        let laid = self.laid_now()?;
        let finite = [of.x, of.y, of.width, of.height].iter().all(|v| v.is_finite());
        if !finite || of.width <= 0.0 || of.height <= 0.0 {
            return Err(Fault::bad_setting(
                "A rectangle is given by x and y of its upper left corner and a width and height above 0, in pixels.",
            ));
        }
        Ok(Shape::Rectangle { rectangle: of, laid })
    }

    fn polygon_of(&self, corners: Vec<[f64; 2]>) -> Result<Shape, Fault> {
        let laid = self.laid_now()?;
        if corners.len() < 3 {
            return Err(Fault::bad_setting("A polygon needs three corners or more."));
        }
        if corners.len() > MOST_CORNERS {
            return Err(Fault::bad_setting(format!(
                "This outline has {} corners; at most {} are taken. Draw it with fewer, or hand it in as a mask.",
                whole(corners.len() as u64),
                whole(MOST_CORNERS as u64)
            )));
        }
        if corners.iter().flatten().any(|v| !v.is_finite()) {
            return Err(Fault::bad_setting(
                "Every corner of a polygon is given by two numbers, [x, y], in pixels.",
            ));
        }
        Ok(Shape::Polygon { polygon: corners, laid })
    }

    /// Refuses a mask of another length than the grid has pixels, before it is copied.
    ///
    /// # Errors
    /// Another length; no map is open.
    pub fn check_mask_length(&self, length: u64) -> Result<(), Fault> {
        let (width, height) = self.laid_now()?.size();
        let pixels = u64::from(width) * u64::from(height);
        if length == pixels {
            return Ok(());
        }
        Err(Fault::bad_setting(format!(
            "This mask has {} values; it must have {}, one for each pixel of the grid of {} × {} pixels, row by row.",
            whole(length),
            whole(pixels),
            whole(u64::from(width)),
            whole(u64::from(height))
        )))
    }

    fn mask_handed_in(&self, values: &[u8]) -> Result<Shape, Fault> {
        self.check_mask_length(values.len() as u64)?;
        let laid = self.laid_now()?;
        let mut inside: Vec<bool> = crate::grid::try_vec(values.len() as u64)?;
        inside.extend(values.iter().map(|&value| value != 0));
        let mask = Mask::from_vec(laid.width, laid.height, inside);
        let runs =
            written(&mask.ok_or_else(|| Fault::bad_setting("The mask has not the size of the grid."))?)?;
        Ok(Shape::Mask { runs, laid })
    }

    fn mask_of_file(&self, bytes: &[u8]) -> Result<Shape, Fault> {
        let laid = self.laid_now()?;
        if !bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Err(Fault::new("mask_not_read", "This is no PNG file. Save the mask as PNG."));
        }
        let mask = mask_of_png(bytes).map_err(|finding| Fault::new("mask_not_read", finding.to_string()))?;
        if (mask.width(), mask.height()) != laid.size() {
            return Err(Fault::bad_setting(format!(
                "This picture has {} × {} pixels and the grid {} × {}. A mask must have one pixel for each of the grid.",
                mask.width(),
                mask.height(),
                laid.width,
                laid.height
            )));
        }
        Ok(Shape::Mask { runs: written(&mask)?, laid })
    }

    fn threshold_of(&self, of: &ThresholdSettings) -> Result<Shape, Fault> {
        let map = self.stack.find(&of.map)?;
        limits_are_sound("threshold", of.low, of.high)?;
        if of.low.is_none() && of.high.is_none() {
            return Err(Fault::bad_setting("Give the threshold a `low`, a `high`, or both."));
        }
        Ok(Shape::Threshold { map: map_key(&map.source), low: of.low, high: of.high })
    }

    fn classes_of(&self, of: &ClassesSettings) -> Result<Shape, Fault> {
        let (answer, rasters) = self.held(&of.answer)?;
        let (classes, labels) = answer.parted(rasters).ok_or_else(|| {
            Fault::bad_setting("This answer has no classes or zones of which a region could be made.")
        })?;
        let named: Option<Vec<String>> =
            of.classes.iter().map(|&class| labels.get(usize::from(class)).cloned()).collect();
        let named = named.filter(|named| !named.is_empty()).ok_or_else(|| {
            let all: Vec<String> =
                labels.iter().enumerate().map(|(i, label)| format!("{i} {label}")).collect();
            Fault::bad_setting(format!("Name one or several of the answer's classes: {}.", all.join(", ")))
        })?;
        let ids: Vec<MapId> = answer.inputs.iter().map(|input| MapId::from_text(&input.id)).collect();
        let maps: Vec<&Map> = ids.iter().filter_map(|id| self.stack.by_id(id)).collect();
        let first = maps.first().filter(|_| maps.len() == ids.len()).ok_or_else(|| {
            Fault::bad_setting("A map of this answer is no longer there. Ask again to make a region of it.")
        })?;
        let mask = self.on_grid(region::classes(classes, &of.classes)?, first)?;
        let laid = Laid::of(self.stack.orientation(), (mask.width(), mask.height()));
        let text = format!("{}, from an answer to “{}”", summary::listed(&named, "or"), answer.question);
        // Where it was asked in a region, the maps that made that one chose these pixels too.
        let asked_in = answer.regions.iter().flat_map(|region| &region.makers);
        let chosen_by = asked_in.filter_map(|id| self.stack.by_id(&MapId::from_text(id)));
        let mut made_from: Vec<String> =
            maps.iter().copied().chain(chosen_by).map(|map| map_key(&map.source)).collect();
        made_from.sort();
        made_from.dedup();
        Ok(Shape::Classes { runs: written(&mask)?, laid, made_from, text })
    }

    /// A name for a region of one zone of an answer: "Zone 2 (more Fe K)"; `None` for anything else, and where the name is too long.
    pub(super) fn name_of_zone(&self, settings: &RegionSettings) -> Option<String> {
        let of = settings.classes.as_ref()?;
        let (answer, _) = self.held(&of.answer).ok()?;
        let [class] = of.classes.as_slice() else { return None };
        let label = answer.zones.get(usize::from(*class)).filter(|_| *class > 0)?;
        let name = match label.split_once(": ") {
            Some((zone, makeup)) => format!("Z{} ({makeup})", zone.trim_start_matches('z')),
            None => label.clone(),
        };
        (name.chars().count() <= LONGEST_NAME).then_some(name)
    }

    fn cloud_of(&self, of: CloudSettings, me: Option<u32>) -> Result<Shape, Fault> {
        let of = match (&of.answer, of.from, of.to) {
            (Some(answer), Some(from), Some(to)) => {
                self.cloud_of_answer(answer, from, to, of.region.clone())?
            }
            (None, None, None) => of,
            _ => {
                return Err(Fault::bad_setting(
                    "A part of an answer's plot is given by the answer and two opposite corners: {answer, from, to}.",
                ));
            }
        };
        let (Some(a), Some(b)) = (&of.a, &of.b) else {
            return Err(Fault::bad_setting("Name the two maps, `a` and `b`, whose values are limited."));
        };
        let (a, b) = (self.stack.find(a)?, self.stack.find(b)?);
        limits_are_sound(&a.label(), of.a_low, of.a_high)?;
        limits_are_sound(&b.label(), of.b_low, of.b_high)?;
        let within = of.region.as_deref().map(|name| self.part(name, me)).transpose()?;
        Ok(Shape::Cloud {
            a: map_key(&a.source),
            b: map_key(&b.source),
            a_low: of.a_low,
            a_high: of.a_high,
            b_low: of.b_low,
            b_high: of.b_high,
            within,
        })
    }

    /// A rectangle in the joint plot of an answer, by values, where the answer was asked: the plot shows only the pixels there.
    fn cloud_of_answer(
        &self,
        answer: &str,
        from: [f64; 2],
        to: [f64; 2],
        region: Option<String>,
    ) -> Result<CloudSettings, Fault> {
        let (answer, _) = self.held(answer)?;
        let Cloud { a, b, a_low, a_high, b_low, b_high } = ask::cloud_of(answer, from, to)?;
        Ok(CloudSettings {
            a: Some(a),
            b: Some(b),
            a_low: Some(a_low),
            a_high: Some(a_high),
            b_low: Some(b_low),
            b_high: Some(b_high),
            region: region.or_else(|| answer.settings.region.clone()),
            ..CloudSettings::default()
        })
    }

    fn combination_of(&self, of: &CombineSettings, me: Option<u32>) -> Result<Shape, Fault> {
        let by_px = of.by_px.unwrap_or(1);
        let grows = matches!(of.how, CombineWord::Grown | CombineWord::Shrunk);
        let fits = if grows { of.of.len() == 1 } else { (2..=MOST_REGIONS).contains(&of.of.len()) };
        if !fits {
            return Err(Fault::bad_setting(if grows {
                "One region is grown or shrunk at a time: name it in `of`."
            } else {
                "Name two regions or more in `of`."
            }));
        }
        if !(1..=MOST_GROWTH).contains(&by_px) || (!grows && of.by_px.is_some()) {
            return Err(Fault::bad_setting(format!(
                "`by_px` is how far a region is grown or shrunk: 1 to {MOST_GROWTH} pixels."
            )));
        }
        let parts: Vec<u32> = of.of.iter().map(|name| self.part(name, me)).collect::<Result<_, _>>()?;
        Ok(Shape::Combine { operation: of.how, of: parts, by_px })
    }

    /// The number of a region that another one, `me`, shall be made of.
    ///
    /// # Errors
    /// There is none; it is made of `me` itself.
    fn part(&self, name: &str, me: Option<u32>) -> Result<u32, Fault> {
        let part = self.find_region(name)?;
        let mut on = vec![part.making.record.number];
        let mut seen = Vec::new();
        while let Some(number) = on.pop() {
            if Some(number) == me {
                return Err(Fault::bad_setting(format!(
                    "{} would be made of itself. Choose other regions.",
                    self.held_region(number).map_or_else(|| id_of(number), |held| held.region.name.clone())
                )));
            }
            if !seen.contains(&number) {
                seen.push(number);
                on.extend(
                    self.held_region(number).iter().flat_map(|held| held.making.record.shape.regions()),
                );
            }
        }
        Ok(part.making.record.number)
    }

    /// A mask of a map as one of the grid: the same for a map whose pixels are those of the scan, each pixel many for a binned
    /// one.
    ///
    /// # Errors
    /// The map has another number of pixels than the grid; no memory.
    pub(super) fn on_grid(&self, mask: Mask, map: &Map) -> Result<Mask, Fault> {
        if map.field != 0 {
            return Err(Fault::bad_setting(format!(
                "{} is of another scan, so a region made from it would not lie on the maps of the first one.",
                map.label()
            )));
        }
        let (width, height) = self.grid_size().unwrap_or_default();
        if map.cell() == (1, 1) && (mask.width(), mask.height()) == (width, height) {
            return Ok(mask);
        }
        if map.cell() != (1, 1)
            && let Some(mask) = region::enlarged(&mask, map.cell(), map.orientation, (width, height))?
        {
            return Ok(mask);
        }
        Err(Fault::bad_setting(format!(
            "{} has another number of pixels than the grid of {} × {}, so a region made from it would not lie on the other maps.",
            map.label(),
            whole(u64::from(width)),
            whole(u64::from(height))
        )))
    }

    /// The size of the grid on which regions lie; `None` without maps.
    pub(in crate::study) fn grid_size(&self) -> Option<(u32, u32)> {
        summary::grid_size(&self.stack)
    }
}

fn limits_are_sound(what: &str, low: Option<f64>, high: Option<f64>) -> Result<(), Fault> {
    let finite = low.iter().chain(&high).all(|v| v.is_finite());
    let in_order = low.zip(high).is_none_or(|(low, high)| low <= high);
    if finite && in_order {
        return Ok(());
    }
    Err(Fault::bad_setting(format!(
        "The limits of {what} must be numbers, and the low one not above the high one."
    )))
}

fn written(mask: &Mask) -> Result<String, Fault> {
    region::runs_of(mask).ok_or_else(|| {
        Fault::bad_setting(
            "This mask is scattered over too many single pixels to be kept. Smooth it, or make the region by a threshold.",
        )
    })
}
