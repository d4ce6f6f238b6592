//! What a question may look at. A [`Subject`] keeps its pixels to itself and gives them out only as [`Evidence`]: with the
//! kind of each map, its background and critical level, saturated pixels marked, the region that is asked about, and whether
//! that region may be tested on these maps at all. So no question can leave one of these out.

mod beside;
mod change;
mod doubt;
mod one;
mod side;
mod told;

pub use beside::Beside;
pub(super) use beside::{is_free, is_of_materials, level_below};
pub use change::Change;
pub(in crate::ask) use doubt::as_clause;
pub use doubt::{Interference, Overlaps};
pub use one::crop;
pub use side::Side;
pub(in crate::ask) use side::level_for;

use super::known::{Known, Measuring};
use super::settings::{Background, Settings};
use crate::geometry::Step;
use crate::grid::Mask;
use crate::notice::Fault;
use crate::physics;
use crate::region::Region;
use crate::stack::{Map, MapId, Stack};
use std::collections::BTreeMap;

/// What a question is about.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    stack: &'a Stack,
    regions: &'a [Region],
    beam_um: Option<f64>,
    known: Option<&'a Known>,
}

/// The name of the region that is none.
pub const WHOLE_FIELD: &str = "the whole field";
/// Lines this near, as a share of the lower energy, are neighbours: thickness, dilution and cover change both alike.
/// Common practice, no source.
const NEIGHBOURS: f64 = 0.1;
const BAND: f64 = 0.2;
const BAND_OF_NEIGHBOURS: f64 = 0.1;

/// A region that is asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Its id; `None` for the whole field.
    pub id: Option<String>,
    /// Its name.
    pub name: String,
    /// Word of its role; empty for the whole field.
    pub role: &'static str,
    /// The maps that made it.
    pub makers: Vec<MapId>,
    /// What is to be said of how it was made; empty for most.
    pub caution: String,
    /// Its pixels; `None` for the whole field.
    pub mask: Option<Mask>,
}

/// Maps and a region, ready to be judged. All maps have one size.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// The maps, in the order in which the question names them.
    pub sides: Vec<Side>,
    /// Where it is asked. Its mask is also the region of every side's signal.
    pub asked: Asked,
    /// The regions of a question about several; else empty.
    pub regions: Vec<Asked>,
    /// Settings, with maps and regions named by id and every default filled in.
    pub settings: Settings,
    /// Step between the pixels of these maps.
    pub step: Option<Step>,
    /// Pixels around a strong feature that are not judged.
    pub rim_px: u32,
    /// Share by which a factor between the first two maps varies with thickness, dilution and cover.
    pub k_band: f64,
    /// Why the region may only be described on these maps and not tested; `None` where it may.
    pub untested: Option<String>,
    /// How the scan was made.
    pub measuring: Measuring,
    /// What questions about materials know beside; nothing for others.
    pub beside: Beside,
    /// What is otherwise than asked, to see whether a verdict holds.
    pub change: Change,
}

impl Asked {
    /// A region with its pixels on the maps that are asked.
    fn of(region: &Region, mask: Mask) -> Self {
        Self {
            id: Some(region.id.clone()),
            name: region.name.clone(),
            role: region.role.word(),
            makers: region.makers.clone(),
            caution: region.caution.clone(),
            mask: Some(mask),
        }
    }
}

impl<'a> Subject<'a> {
    /// At least the maps that the settings name; the regions; the beam on the object (µm), where it is known.
    pub fn new(stack: &'a Stack, regions: &'a [Region], beam_um: Option<f64>) -> Self {
        Self { stack, regions, beam_um, known: None }
    }

    /// With what is known beside them.
    pub fn with_known(self, known: &'a Known) -> Self {
        Self { known: Some(known), ..self }
    }

    /// What is known beside maps and regions; `None` where nothing was handed over.
    pub fn known(&self) -> Option<&'a Known> {
        self.known
    }

    /// The stack, to find names in. Not for pixels: these come as evidence.
    pub(super) fn find(&self, name: &str) -> Result<&'a Map, Fault> {
        self.stack.find(name)
    }

    /// All maps. Not for pixels: these come as evidence.
    pub(super) fn maps(&self) -> &'a [Map] {
        self.stack.maps()
    }

    /// Maps of element lines, by id: those of the size of the first.
    pub(super) fn element_maps(&self) -> Vec<String> {
        let maps = || self.stack.maps().iter().filter(|map| map.role.is_none());
        let Some(first) = maps().next() else { return Vec::new() };
        maps().filter(|map| map.has_size_of(first)).map(|map| map.id.to_string()).collect()
    }

    /// The same, those whose element is known.
    ///
    /// # Errors
    /// There is none.
    pub(super) fn maps_of_elements(&self) -> Result<Vec<String>, Fault> {
        let mut ids = self.element_maps();
        ids.retain(|id| self.find(id).is_ok_and(|map| map.line.is_some()));
        if ids.is_empty() {
            return Err(Fault::bad_setting(
                "There is no map of a known element. Open element maps, or state which element each map is of.",
            ));
        }
        Ok(ids)
    }

    /// All regions.
    pub(super) fn regions(&self) -> &'a [Region] {
        self.regions
    }

    /// A region by id or name.
    pub(super) fn region(&self, name: &str) -> Result<&'a Region, Fault> {
        let found = self.regions.iter().find(|region| region.id == name);
        found.or_else(|| self.regions.iter().find(|region| region.name == name)).ok_or_else(|| {
            Fault::new("unknown_region", format!("There is no region “{name}”. Draw it first, or leave `region` out to ask about the whole field."))
        })
    }

    /// Gathers the evidence for maps named by id or label.
    ///
    /// # Errors
    /// Unknown maps or regions, maps of different sizes, an empty region, no memory.
    pub(super) fn evidence(&self, settings: &Settings, names: &[String]) -> Result<Evidence, Fault> {
        self.gathered(settings, names, (Change::Nothing, None))
    }

    /// The same evidence with something otherwise. Backgrounds are taken anew only where counts are others.
    ///
    /// # Errors
    /// No memory.
    pub(super) fn evidence_with(
        &self,
        settings: &Settings,
        names: &[String],
        (change, before): (Change, &Evidence),
    ) -> Result<Evidence, Fault> {
        self.gathered(settings, names, (change, Some(before)))
    }

    fn gathered(
        &self,
        settings: &Settings,
        names: &[String],
        (change, before): (Change, Option<&Evidence>),
    ) -> Result<Evidence, Fault> {
        let maps: Vec<&Map> = names.iter().map(|name| self.find(name)).collect::<Result<_, _>>()?;
        let Some(&first) = maps.first() else {
            return Err(Fault::bad_setting("There is no map to ask about. Open element maps first."));
        };
        if let Some(fault) = maps.iter().find_map(|map| first.misfit(map)) {
            return Err(fault);
        }
        let mut settings = self.by_id(settings)?;
        if settings.question == "regions" {
            if !settings.is_of_zones() {
                settings.regions.get_or_insert_with(|| self.regions.iter().map(|r| r.id.clone()).collect());
            }
            settings.maps.get_or_insert_with(|| maps.iter().map(|map| map.id.to_string()).collect());
        }
        let by_map = match &settings.background {
            Some(Background::ByMap(by_map)) => by_map.keys().collect(),
            _ => Vec::new(),
        };
        let is_asked = |id: &str| {
            maps.iter().any(|map| map.id.as_str() == id)
                || settings.held_out.values().any(|other| other == id)
        };
        if let Some(other) =
            settings.presence.keys().chain(by_map).chain(settings.held_out.keys()).find(|id| !is_asked(id))
        {
            return Err(Fault::bad_setting(format!(
                "{} is none of the maps that are asked about.",
                self.find(other)?.label()
            )));
        }
        let asked = match &settings.region {
            Some(name) => self.asked(name, first, change)?,
            None => Asked {
                id: None,
                name: WHOLE_FIELD.into(),
                role: "",
                makers: Vec::new(),
                caution: String::new(),
                mask: None,
            },
        };
        let regions = settings.regions.iter().flatten().chain(&settings.against);
        let regions = regions.map(|name| self.asked(name, first, change));
        let regions = regions.collect::<Result<Vec<_>, _>>()?;
        let mut sides = Vec::new();
        for (place, &map) in maps.iter().enumerate() {
            let before = before.and_then(|before| before.sides.get(place));
            sides.push(side::side(self, map, &settings, (&asked, place as u64), (change, before))?);
        }
        let step = self.stack.step_of(first);
        let rim_px = settings.rim_px.unwrap_or_else(|| self.rim(step));
        let k_band = settings.k_band.unwrap_or_else(|| band(&sides));
        let is_of_zones = settings.is_of_zones();
        let takes = |name: &str| !is_of_zones && Settings::taken(&settings.question).contains(&name);
        let settings = Settings {
            rim_px: settings.rim_px.or(takes("rim_px").then_some(rim_px)),
            k_band: settings.k_band.or(takes("k_band").then_some(k_band)),
            ..settings
        };
        let is_of_materials = is_of_materials(&settings.question);
        // These tell each map by itself whether the region may be tested on it.
        let untested = if is_of_materials { None } else { untested(&sides, &asked) };
        let beside = match before {
            Some(before) => before.beside.clone(),
            None if is_of_materials => Beside::of(self, &settings, (&maps, &sides), &asked)?,
            None => Beside::default(),
        };
        let measuring = self.known.map_or_else(Measuring::default, |known| known.measuring);
        Ok(Evidence {
            sides,
            asked,
            regions,
            settings,
            step,
            rim_px,
            k_band,
            untested,
            measuring,
            beside,
            change,
        })
    }

    /// A beam reaches as far beside a feature as it is wide.
    fn rim(&self, step: Option<Step>) -> u32 {
        match (self.beam_um, step) {
            (Some(beam), Some(step)) => ((beam / step.x_um().min(step.y_um())).ceil() as u32).clamp(1, 64),
            _ => 1,
        }
    }

    fn asked(&self, name: &str, map: &Map, change: Change) -> Result<Asked, Fault> {
        let region = self.region(name)?;
        let mask = change.region(self.mask_on(region, map)?)?;
        if change == Change::Nothing && !mask.data().contains(&true) {
            return Err(Fault::bad_setting(format!(
                "“{}” has no pixel of {}. Draw it larger.",
                region.name,
                map.label()
            )));
        }
        Ok(Asked::of(region, mask))
    }

    /// The region's pixels on a map: of a binned map those whose pixels of the scan are all inside.
    pub(super) fn mask_on(&self, region: &Region, map: &Map) -> Result<Mask, Fault> {
        if map.field != 0 {
            return Err(Fault::bad_setting(format!(
                "“{}” lies on the grid of the first scan, and {} is of another scan. Leave the region out to ask about the whole field.",
                region.name,
                map.label()
            )));
        }
        let (width, height) = map.plane.size();
        if (region.mask.width(), region.mask.height()) == (width, height) {
            return Ok(region.mask.clone());
        }
        let (across, down) = map.cell();
        let fits = |own: u32, cell: u32, of: u32| cell > 0 && of / cell == own;
        if !fits(width, across, region.mask.width()) || !fits(height, down, region.mask.height()) {
            return Err(Fault::bad_setting(format!(
                "“{}” lies on another grid than {}. Choose a map of the region's size.",
                region.name,
                map.label()
            )));
        }
        let mut mask = Mask::try_filled(width, height, true)?;
        for y in 0..height {
            for x in 0..width {
                let all = (0..down).all(|dy| {
                    (0..across).all(|dx| region.mask.get(x * across + dx, y * down + dy) == Some(&true))
                });
                mask.data_mut()[y as usize * width as usize + x as usize] = all;
            }
        }
        Ok(mask)
    }

    /// The same settings with maps and regions by id.
    fn by_id(&self, settings: &Settings) -> Result<Settings, Fault> {
        let map = |name: &String| self.find(name).map(|map| map.id.to_string());
        let region = |name: &String| self.region(name).map(|region| region.id.clone());
        let mut presence = BTreeMap::new();
        for (name, value) in &settings.presence {
            presence.insert(map(name)?, *value);
        }
        let mut held_out = BTreeMap::new();
        for (name, other) in &settings.held_out {
            held_out.insert(map(name)?, map(other)?);
        }
        Ok(Settings {
            map: settings.map.as_ref().map(map).transpose()?,
            a: settings.a.as_ref().map(map).transpose()?,
            b: settings.b.as_ref().map(map).transpose()?,
            maps: settings.maps.as_ref().map(|maps| maps.iter().map(map).collect()).transpose()?,
            region: settings.region.as_ref().map(region).transpose()?,
            against: settings.against.as_ref().map(region).transpose()?,
            regions: settings.regions.as_ref().map(|all| all.iter().map(region).collect()).transpose()?,
            background: settings.background.as_ref().map(|b| side::background_by_id(self, b)).transpose()?,
            presence,
            held_out,
            ..settings.clone()
        })
    }
}

/// 0.2, or 0.1 where the lines of the first two maps are neighbours in energy.
fn band(sides: &[Side]) -> f64 {
    let energy = |side: &Side| side.line.and_then(physics::energy_kev);
    match sides {
        [a, b, ..] => match (energy(a), energy(b)) {
            (Some(a), Some(b)) if (a - b).abs() <= NEIGHBOURS * a.min(b) => BAND_OF_NEIGHBOURS,
            _ => BAND,
        },
        _ => BAND,
    }
}

/// A region is not tested on the maps that made it.
fn untested(sides: &[Side], asked: &Asked) -> Option<String> {
    let made = sides.iter().filter(|side| side.roots.iter().any(|root| asked.makers.contains(root)));
    let names: Vec<String> = made.map(Side::label).collect();
    if names.is_empty() {
        return None;
    }
    let names = names.join(" and ");
    Some(format!(
        "“{}” was made from {names}, so {names} can be described there but not tested: a region is no evidence for what it was chosen by",
        asked.name
    ))
}
