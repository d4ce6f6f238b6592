//! Requests for pictures: read, completed with defaults, drawn.

mod caption;
mod drawn;
mod photo;

pub use caption::caption;
pub use drawn::{light_defaults, start_limits};
pub use photo::{PhotoWay, PhotoWords, with_photo};

use crate::colour::{ColourScale, LIGHT_COLOURS};
use crate::display::Scale;
use crate::geometry::Window;
use crate::notice::Fault;
use serde::{Deserialize, Serialize};

/// The most lights in one overlay.
pub const MOST_LIGHTS: usize = LIGHT_COLOURS.len();

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

/// A picture as asked for: of one of `map`, `lights`, `overlap`, `answer`, with a photo or not, or of a `photo`.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PictureSettings {
    map: Option<String>,
    colours: Option<String>,
    low: Option<f64>,
    high: Option<f64>,
    scale: Option<String>,
    lights: Option<Vec<LightSetting>>,
    overlap: Option<String>,
    answer: Option<String>,
    show: Option<String>,
    photo: Option<String>,
    on: Option<String>,
    mix: Option<f64>,
    divide: Option<f64>,
    divide_along: Option<String>,
    photo_transform: Option<[f64; 9]>,
    view: Option<View>,
}

/// What a picture is of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source<'a> {
    /// One map.
    Map(&'a str),
    /// Maps as lights.
    Lights,
    /// The share of a map that overlaps could give.
    Overlap(&'a str),
    /// An answer's raster.
    Answer {
        /// Its id.
        id: &'a str,
        /// Which raster.
        show: &'a str,
    },
    /// A photo alone.
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

    /// What it is of; a photo that is shown with maps is passed over.
    ///
    /// # Errors
    /// None or several things are named.
    pub fn source(&self) -> Result<Source<'_>, Fault> {
        match (&self.map, &self.lights, &self.overlap, &self.answer, &self.photo) {
            (Some(map), None, None, None, _) => Ok(Source::Map(map)),
            (None, Some(_), None, None, _) => Ok(Source::Lights),
            (None, None, Some(map), None, _) => Ok(Source::Overlap(map)),
            (None, None, None, Some(id), _) => {
                let show = self
                    .show
                    .as_deref()
                    .ok_or_else(|| Fault::bad_setting("`show` is missing: name a picture of the answer."))?;
                Ok(Source::Answer { id, show })
            }
            (None, None, None, None, Some(photo)) => Ok(Source::Photo(photo)),
            _ => Err(Fault::bad_setting(
                "A picture is of one thing: give `map`, `lights`, `overlap`, `answer` with `show`, or `photo`.",
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
}

fn scale_of(word: Option<&str>) -> Result<Scale, Fault> {
    word.map_or(Ok(Scale::default()), |word| {
        Scale::from_word(word).ok_or_else(|| {
            let choices = Scale::ALL.map(Scale::word).join(", ");
            Fault::bad_setting(format!("There is no scale called “{word}”. There are: {choices}."))
        })
    })
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
        assert!(of(json!({"map": "m1", "lights": []})).source().is_err());
        assert_eq!(of(json!({"map": "m1", "photo": "p1", "mix": 0.5})).source(), Ok(Source::Map("m1")));
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
