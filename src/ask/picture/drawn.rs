//! Maps, overlays and answers drawn as asked for.

use super::{LightDefaults, MOST_LIGHTS, PictureSettings, scale_of};
use crate::ask::answer::{Answer, Raster, Rasters};
use crate::ask::ratio;
use crate::colour::{LIGHT_COLOURS, Rgb};
use crate::display::{
    Axis, Light, MapScale, Picture, RatioScale, picture_of_classes, picture_of_lights, picture_of_map,
    picture_of_ratio, picture_of_share, picture_of_zones,
};
use crate::grid::Grid;
use crate::measure::{Level, Refusal};
use crate::notice::Fault;
use crate::stack::{Map, Stack};

/// The rise of a light with its value: about even to the eye.
const GAMMA: f64 = 2.0;

impl PictureSettings {
    /// Draws one map; between these limits where none are asked for.
    ///
    /// # Errors
    /// Unknown colours or an unknown scale, a bad window, no memory.
    pub fn of_map(&self, map: &Map, (start_low, start_high): (f64, f64)) -> Result<Picture, Fault> {
        let (colours, scale) = self.map_colours()?;
        let low = self.low.unwrap_or(start_low);
        let high = self.high.unwrap_or(start_high.max(low));
        let scale = MapScale {
            label: map.kind.numbers_are().into(),
            colours,
            axis: Axis::new(scale, low, high),
            has_blank: map.stats.blank > 0,
        };
        Ok(picture_of_map(&map.plane, &scale, &self.window(map.plane.size())?)?)
    }

    /// Maps of the lights, in order.
    ///
    /// # Errors
    /// None, too many, unknown maps, or maps of different sizes.
    pub fn light_maps<'a>(&self, stack: &'a Stack) -> Result<Vec<&'a Map>, Fault> {
        let lights = self.lights.as_deref().unwrap_or_default();
        if lights.is_empty() || lights.len() > MOST_LIGHTS {
            return Err(Fault::bad_setting(format!(
                "An overlay has 1 to {MOST_LIGHTS} lights; these are {}.",
                lights.len()
            )));
        }
        let maps: Vec<&Map> = lights.iter().map(|light| stack.find(&light.map)).collect::<Result<_, _>>()?;
        if let Some(fault) = maps.iter().find_map(|map| maps[0].misfit(map)) {
            return Err(fault);
        }
        Ok(maps)
    }

    /// Draws an overlay; `defaults` are those of its maps, in order.
    ///
    /// # Errors
    /// A colour that is none, a bad window, no memory.
    pub fn of_lights(&self, maps: &[&Map], defaults: &[LightDefaults]) -> Result<Picture, Fault> {
        let asked = self.lights.as_deref().unwrap_or_default();
        let lights: Vec<Light<'_>> = asked
            .iter()
            .zip(maps)
            .zip(defaults)
            .map(|((asked, map), default)| {
                let hex = asked.colour.as_deref().unwrap_or(&default.colour);
                let colour = Rgb::from_hex(hex).ok_or_else(|| {
                    Fault::bad_setting(format!("“{hex}” is no colour. Write it as #rrggbb."))
                })?;
                Ok(Light {
                    label: map.label(),
                    plane: &map.plane,
                    colour,
                    low: asked.low.unwrap_or(default.low),
                    high: asked.high.unwrap_or(default.high),
                    gamma: asked.gamma.unwrap_or(default.gamma),
                    scale: scale_of(asked.scale.as_deref())?,
                })
            })
            .collect::<Result<_, Fault>>()?;
        let size = maps.first().map_or((0, 0), |map| map.plane.size());
        Ok(picture_of_lights(&lights, &self.window(size)?)?)
    }

    /// Draws the share of a map that overlaps could give, in per cent.
    ///
    /// # Errors
    /// Unknown colours, a bad window, no memory.
    pub fn of_overlap(&self, map: &Map, per_cent: &Grid<f64>) -> Result<Picture, Fault> {
        let (colours, _) = self.map_colours()?;
        let label = format!("% of {} that overlaps could give", map.label());
        let words = (label.as_str(), "no data, or not above background");
        Ok(picture_of_share(per_cent, words, colours, &self.window(map.plane.size())?)?)
    }

    /// Draws an answer.
    ///
    /// # Errors
    /// The answer has no such picture, a bad window, no memory.
    pub fn of_answer(&self, answer: &Answer, rasters: &Rasters, show: &str) -> Result<Picture, Fault> {
        let nothing = || Fault::bad_setting(format!("This answer has no picture called “{show}”."));
        if !answer.shows.iter().any(|shown| shown.show == show) {
            return Err(nothing());
        }
        let label = |i: usize| answer.inputs.get(i).map_or("", |input| input.label.as_str());
        let (a, b) = (label(0), label(1));
        match (show, rasters.get(show), rasters.get("classes")) {
            ("zones", Some(Raster::U8(zones)), _) => {
                Ok(picture_of_zones(zones, &answer.zones, &self.window((zones.width(), zones.height()))?)?)
            }
            ("classes", Some(Raster::U8(classes)), _) => Ok(picture_of_classes(
                classes,
                &answer.class_labels(),
                &self.window((classes.width(), classes.height()))?,
            )?),
            ("count_ratio", Some(Raster::F64(raster)), Some(Raster::U8(states))) => {
                let middle = answer
                    .numbers
                    .get("count_ratio")
                    .and_then(|n| n.value)
                    .filter(|&v| v > 0.0)
                    .unwrap_or(1.0);
                let scale = RatioScale {
                    label: format!("counts {a} / {b}"),
                    fills: ratio::fill_labels(a, b),
                    middle,
                };
                Ok(picture_of_ratio(
                    raster,
                    states,
                    &scale,
                    &self.window((raster.width(), raster.height()))?,
                )?)
            }
            _ => Err(nothing()),
        }
    }
}

/// The limits between which a map is shown unless asked otherwise: from its critical level, so that background is dark,
/// or from its lowest value where no critical level can be had; to a high percentile, so that a few bright pixels do not
/// make all others dark.
pub fn start_limits(map: &Map, level: &Result<Level, Refusal>) -> (f64, f64) {
    let stats = &map.stats;
    let low = level.map_or_else(|_| stats.low.unwrap_or(0.0), |level| level.critical);
    let candidates = [stats.near_high, stats.high].into_iter().flatten();
    (low, candidates.into_iter().find(|&high| high > low).unwrap_or(low + 1.0))
}

/// How a map is shown as a light unless asked otherwise: between its limits; dark up to its median where no critical level
/// can be had.
pub fn light_defaults(map: &Map, level: &Result<Level, Refusal>, place: usize) -> LightDefaults {
    let (mut low, mut high) = start_limits(map, level);
    if level.is_err() {
        low = map.stats.median.unwrap_or(low);
        high = if high > low { high } else { low + 1.0 };
    }
    let colour = LIGHT_COLOURS[place % MOST_LIGHTS].hex();
    LightDefaults { map: map.id.to_string(), label: map.label(), colour, low, high, gamma: GAMMA }
}
