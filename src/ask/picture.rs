//! Requests for pictures: read, completed with defaults, drawn.

use super::answer::{Answer, Raster, Rasters};
use super::ratio;
use crate::colour::{ColourScale, LIGHT_COLOURS, Rgb};
use crate::display::{
    Axis, Light, MapScale, Picture, RatioScale, Scale, picture_of_classes, picture_of_lights, picture_of_map,
    picture_of_ratio,
};
use crate::geometry::Window;
use crate::measure::{Level, Refusal};
use crate::notice::Fault;
use crate::numerics::figure::count;
use crate::stack::{Map, Stack};
use serde::{Deserialize, Serialize};

/// The most lights in one overlay.
pub const MOST_LIGHTS: usize = LIGHT_COLOURS.len();
/// The rise of a light with its value: about even to the eye.
const GAMMA: f64 = 2.0;

/// A window as asked for.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct View {
    x: f64,
    y: f64,
    width: f64,
    height: f64,
    out_width: u32,
    out_height: Option<u32>,
}

/// A light as asked for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct LightSetting {
    map: String,
    colour: Option<String>,
    low: Option<f64>,
    high: Option<f64>,
    gamma: Option<f64>,
    scale: Option<String>,
}

/// A picture as asked for: exactly one of `map`, `lights`, `answer`, `photo`.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PictureSettings {
    map: Option<String>,
    colours: Option<String>,
    low: Option<f64>,
    high: Option<f64>,
    scale: Option<String>,
    lights: Option<Vec<LightSetting>>,
    answer: Option<String>,
    show: Option<String>,
    photo: Option<String>,
    view: Option<View>,
}

/// What a picture is of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source<'a> {
    /// One map.
    Map(&'a str),
    /// Maps as lights.
    Lights,
    /// An answer's raster.
    Answer {
        /// Its id.
        id: &'a str,
        /// Which raster.
        show: &'a str,
    },
    /// A photo.
    Photo(&'a str),
}

/// A light with everything filled in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightDefaults {
    /// Id of the map.
    pub map: String,
    /// What the key calls it.
    pub label: String,
    /// "#rrggbb".
    pub colour: String,
    /// Dark up to here.
    pub low: f64,
    /// Full from here on.
    pub high: f64,
    /// Power of the rise.
    pub gamma: f64,
}

impl PictureSettings {
    /// Reads settings as they come from a caller.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        serde_json::from_value(settings).map_err(|error| {
            Fault::bad_setting(format!("The settings of the picture are not understood: {error}."))
        })
    }

    /// What it is of.
    ///
    /// # Errors
    /// None or several things are named.
    pub fn source(&self) -> Result<Source<'_>, Fault> {
        match (&self.map, &self.lights, &self.answer, &self.photo) {
            (Some(map), None, None, None) => Ok(Source::Map(map)),
            (None, Some(_), None, None) => Ok(Source::Lights),
            (None, None, Some(id), None) => {
                let show = self
                    .show
                    .as_deref()
                    .ok_or_else(|| Fault::bad_setting("`show` is missing: name a picture of the answer."))?;
                Ok(Source::Answer { id, show })
            }
            (None, None, None, Some(photo)) => Ok(Source::Photo(photo)),
            _ => Err(Fault::bad_setting(
                "A picture is of one thing: give `map`, `lights`, `answer` with `show`, or `photo`.",
            )),
        }
    }

    /// The window asked for; the whole of a source of this size without one.
    ///
    /// # Errors
    /// A window that cannot be drawn.
    pub fn window(&self, (width, height): (u32, u32)) -> Result<Window, Fault> {
        let window = self.view.map_or_else(
            || Window::whole(width, height),
            |v| {
                let View { x, y, width, height, out_width, out_height } = v;
                Window { x, y, width, height, out_width, out_height }
            },
        );
        if window.is_sound() {
            return Ok(window);
        }
        Err(Fault::bad_setting(
            "`view` cannot be drawn: width and height must be above 0 and the picture at most 16 384 pixels a side.",
        ))
    }

    /// The colours and the scale of one map; grey and linear unless asked otherwise.
    ///
    /// # Errors
    /// `bad_setting` naming the choices.
    pub fn map_colours(&self) -> Result<(ColourScale, Scale), Fault> {
        let colours = self.colours.as_deref().map_or(Ok(ColourScale::default()), |key| {
            ColourScale::from_key(key).ok_or_else(|| {
                let choices = ColourScale::all().map(ColourScale::key).join(", ");
                Fault::bad_setting(format!("There are no colours called “{key}”. There are: {choices}."))
            })
        })?;
        let scale = scale_of(self.scale.as_deref())?;
        Ok((colours, scale))
    }

    /// What a caption adds where one map is not drawn in grey on a linear scale; starts with a comma, else empty.
    fn map_words(&self) -> String {
        match self.map_colours() {
            Ok((ColourScale::Grey, Scale::Linear)) | Err(_) => String::new(),
            Ok((colours, Scale::Linear)) => format!(", in {} colours", colours.key()),
            Ok((colours, scale)) => format!(", in {} colours on a {} scale", colours.key(), scale.word()),
        }
    }

    /// The same drawn in another window.
    #[must_use]
    pub fn in_window(&self, window: &Window) -> Self {
        let Window { x, y, width, height, out_width, out_height } = *window;
        Self { view: Some(View { x, y, width, height, out_width, out_height }), ..self.clone() }
    }

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

fn scale_of(word: Option<&str>) -> Result<Scale, Fault> {
    word.map_or(Ok(Scale::default()), |word| {
        Scale::from_word(word).ok_or_else(|| {
            let choices = Scale::ALL.map(Scale::word).join(", ");
            Fault::bad_setting(format!("There is no scale called “{word}”. There are: {choices}."))
        })
    })
}

/// A picture in words; `starts` are the limits that each map of it has unless asked otherwise, in order.
pub fn caption(
    stack: &Stack,
    answer: Option<&Answer>,
    settings: &PictureSettings,
    starts: &[(f64, f64)],
) -> String {
    let shown = |map: &Map, low: Option<f64>, high: Option<f64>, start: Option<&(f64, f64)>| {
        let (low, high) = (low.or(start.map(|s| s.0)), high.or(start.map(|s| s.1)));
        match (map.stats.high, low, high) {
            (None, ..) => "no data".to_owned(),
            (_, Some(low), Some(high)) => {
                let unit = map.kind.unit();
                format!("{} to {}{}{unit}", count(low), count(high), if unit.is_empty() { "" } else { " " })
            }
            _ => String::new(),
        }
    };
    match settings.source() {
        Ok(Source::Map(name)) => stack.find(name).map_or_else(
            |_| String::new(),
            |map| {
                let range = shown(map, settings.low, settings.high, starts.first());
                let from = if map.stats.high.is_some() { "shown from " } else { "" };
                let (label, numbers, how) = (map.label(), map.kind.numbers_are(), settings.map_words());
                format!("{label}, {numbers}, {from}{range}{how}")
            },
        ),
        Ok(Source::Lights) => settings.light_maps(stack).map_or_else(
            |_| String::new(),
            |maps| {
                let asked = settings.lights.as_deref().unwrap_or_default();
                let lights = maps.iter().zip(asked).enumerate().map(|(i, (map, light))| {
                    format!("{} ({})", map.label(), shown(map, light.low, light.high, starts.get(i)))
                });
                format!("{}, as added light", lights.collect::<Vec<_>>().join(", "))
            },
        ),
        Ok(Source::Answer { .. }) => answer.map_or_else(String::new, |answer| answer.sentence.clone()),
        Ok(Source::Photo(_)) => "Photo".into(),
        Err(_) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_picture_is_of_exactly_one_thing() {
        let of = |v| PictureSettings::read(v).unwrap();
        assert_eq!(of(json!({"map": "m1"})).source(), Ok(Source::Map("m1")));
        assert!(of(json!({})).source().is_err());
        assert!(of(json!({"map": "m1", "photo": "p1"})).source().is_err());
        assert!(of(json!({"answer": "x"})).source().is_err());
        assert!(PictureSettings::read(json!({"mapp": "m1"})).is_err());
        let window = json!({"map": "m1", "view": {"x": 0, "y": 0, "width": 0, "height": 2, "out_width": 3}});
        assert_eq!(of(window).window((4, 4)).unwrap_err().code, "bad_setting");
    }

    #[test]
    fn unknown_colours_and_scales_are_told_what_there_is() {
        let of = |v| PictureSettings::read(v).unwrap().map_colours();
        let named = json!({"map": "m1", "colours": "viridis", "scale": "square root"});
        assert_eq!(of(named), Ok((ColourScale::Viridis, Scale::SquareRoot)));
        assert_eq!(of(json!({"map": "m1"})), Ok((ColourScale::Grey, Scale::Linear)));
        let fault = of(json!({"map": "m1", "colours": "rainbow"})).unwrap_err();
        assert_eq!(fault.code, "bad_setting");
        assert!(fault.message.contains("grey, viridis, cividis, magma, diverging"), "{}", fault.message);
        let fault = of(json!({"map": "m1", "scale": "log"})).unwrap_err();
        assert!(fault.message.contains("linear, square root, logarithmic"), "{}", fault.message);
    }
}
