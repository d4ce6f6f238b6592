//! How a photo stands in a picture: alone, laid on the grid, mixed with maps, or beside a line.

use super::{PictureSettings, Source};
use crate::ask::words::capital;
use crate::display::{Along, LaidPhoto, Picture, divide_by_photo, mix_photo, picture_of_laid_photo};
use crate::geometry::{PlaneTransform, Window};
use crate::notice::Fault;
use crate::numerics::figure::stated_percent;

/// How a photo is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PhotoWay {
    /// Alone, in its own pixels.
    Own,
    /// Alone, laid on the grid.
    Laid,
    /// With maps, its share of the light.
    Mixed(f64),
    /// Behind a line at this share of the picture, with maps before it.
    Divided(f64, Along),
}

/// What a caption says of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PhotoWords<'a> {
    /// "visible", "ultraviolet" or "infrared".
    pub light: &'a str,
    /// "recto" or "verso".
    pub side: &'a str,
    /// What it is called, where there are several.
    pub name: Option<&'a str>,
}

impl PictureSettings {
    /// Which photo is shown, and how; `None` without one.
    ///
    /// # Errors
    /// Settings of a photo that contradict each other, or that say nothing.
    pub fn photo(&self) -> Result<Option<(&str, PhotoWay)>, Fault> {
        let bad = |what: &str| Err(Fault::bad_setting(what));
        let Some(photo) = self.photo.as_deref() else {
            let has_any = self.on.is_some() || self.mix.is_some() || self.divide.is_some();
            if has_any || self.divide_along.is_some() || self.photo_transform.is_some() {
                return bad(
                    "No photo is named: `on`, `mix`, `divide` and `photo_transform` say how `photo` is shown.",
                );
            }
            return Ok(None);
        };
        let has_maps =
            self.map.is_some() || self.lights.is_some() || self.overlap.is_some() || self.answer.is_some();
        let is_on_grid = match self.on.as_deref() {
            None => false,
            Some("grid") => true,
            Some(other) => return bad(&format!("A photo cannot be shown on “{other}”. There is: grid.")),
        };
        if self.divide.is_none() && self.divide_along.is_some() {
            return bad("`divide_along` needs `divide`: where the line stands, from 0 to 1.");
        }
        let share = |name: &str, share: f64| {
            if (0.0..=1.0).contains(&share) {
                return Ok(share);
            }
            Err(Fault::bad_setting(format!("`{name}` must lie between 0 and 1.")))
        };
        let way = match (has_maps, self.mix, self.divide) {
            (true, Some(mix), None) => PhotoWay::Mixed(share("mix", mix)?),
            (true, None, Some(at)) => PhotoWay::Divided(share("divide", at)?, self.along()?),
            (true, Some(_), Some(_)) => {
                return bad("A photo is mixed with maps or divided from them: give `mix` or `divide`.");
            }
            (true, None, None) => {
                return bad("How is the photo shown with the maps? Give `mix` or `divide`, from 0 to 1.");
            }
            (false, None, None) if is_on_grid => PhotoWay::Laid,
            (false, None, None) if self.photo_transform.is_some() => {
                return bad(
                    "`photo_transform` lays a photo on the grid: give `on: \"grid\"`, or maps with `mix` or `divide`.",
                );
            }
            (false, None, None) => PhotoWay::Own,
            (false, ..) => {
                return bad(
                    "`mix` and `divide` show a photo with maps: give `map`, `lights`, or `answer` with `show`.",
                );
            }
        };
        Ok(Some((photo, way)))
    }

    fn along(&self) -> Result<Along, Fault> {
        match self.divide_along.as_deref() {
            None | Some("x") => Ok(Along::X),
            Some("y") => Ok(Along::Y),
            Some(other) => {
                Err(Fault::bad_setting(format!("A line cannot be moved along “{other}”. There are: x, y.")))
            }
        }
    }

    /// A transform to be looked at instead of the photo's own.
    ///
    /// # Errors
    /// It would lay everything on a line.
    pub fn proposed(&self) -> Result<Option<PlaneTransform>, Fault> {
        let flat = || Fault::bad_setting("`photo_transform` would lay the photo on a line.");
        self.photo_transform.map(|matrix| PlaneTransform::new(matrix).ok_or_else(flat)).transpose()
    }

    /// True for a picture that lies in the photo's own pixels.
    ///
    /// # Errors
    /// As [`PictureSettings::photo`].
    pub fn is_in_own_pixels(&self) -> Result<bool, Fault> {
        Ok(matches!(self.photo()?, Some((_, PhotoWay::Own))))
    }
}

/// Draws a laid photo into a picture of maps, or alone where there is none. The window is on the grid.
///
/// # Errors
/// No memory.
pub fn with_photo(
    maps: Option<Picture>,
    photo: &LaidPhoto<'_>,
    way: PhotoWay,
    window: &Window,
) -> Result<Picture, Fault> {
    let Some(mut picture) = maps else { return Ok(picture_of_laid_photo(photo, window)?) };
    match way {
        PhotoWay::Mixed(share) => mix_photo(&mut picture, photo, window, share)?,
        PhotoWay::Divided(at, along) => divide_by_photo(&mut picture, photo, window, at, along)?,
        PhotoWay::Own | PhotoWay::Laid => {}
    }
    Ok(picture)
}

/// What a caption says of the photo after `maps`, which are said already.
pub(super) fn told(settings: &PictureSettings, photo: Option<PhotoWords<'_>>, maps: String) -> String {
    let (Ok(Some((_, way))), Some(PhotoWords { light, side, name })) = (settings.photo(), photo) else {
        return maps;
    };
    let name = name.map_or_else(String::new, |name| format!(" “{name}”"));
    let side = if side == "recto" { String::new() } else { format!(", {side}") };
    let proposed = if settings.photo_transform.is_some() { ", laid as proposed" } else { "" };
    let photo = format!("hoto{name} ({light} light{side}{proposed})");
    // The sentence of an answer has ended.
    let is_sentence = matches!(settings.source(), Ok(Source::Answer { .. }));
    let added = |sentence: String, rest: String| match maps.as_str() {
        "" => sentence,
        maps if is_sentence => format!("{maps} {sentence}"),
        maps => format!("{maps}, {rest}"),
    };
    match way {
        PhotoWay::Own => format!("P{photo}"),
        PhotoWay::Laid => format!("P{photo}, laid on the maps"),
        PhotoWay::Mixed(share) => {
            let light = format!("the p{photo}, {} of the light", stated_percent(share));
            added(format!("With {light}."), format!("with {light}"))
        }
        PhotoWay::Divided(_, along) => {
            let (before, after) = match along {
                Along::X => ("left of the line", "right of it"),
                Along::Y => ("above the line", "below it"),
            };
            added(
                format!("{} its picture, {after} the p{photo}.", capital(before)),
                format!("{before}; {after} the p{photo}"),
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn way(settings: Value) -> Result<Option<PhotoWay>, Fault> {
        let settings = PictureSettings::read(settings).unwrap();
        let way = settings.photo()?.map(|(_, way)| way);
        Ok(way)
    }

    #[test]
    fn a_photo_is_shown_in_one_way_and_what_is_unclear_is_said() {
        assert_eq!(way(json!({"map": "m1"})), Ok(None));
        assert_eq!(way(json!({"photo": "p1"})), Ok(Some(PhotoWay::Own)));
        assert_eq!(way(json!({"photo": "p1", "on": "grid"})), Ok(Some(PhotoWay::Laid)));
        assert_eq!(way(json!({"map": "m1", "photo": "p1", "mix": 0.4})), Ok(Some(PhotoWay::Mixed(0.4))));
        let divided = json!({"lights": [], "photo": "p1", "divide": 0.5, "divide_along": "y"});
        assert_eq!(way(divided), Ok(Some(PhotoWay::Divided(0.5, Along::Y))));
        for wrong in [
            json!({"map": "m1", "mix": 0.5}),
            json!({"map": "m1", "photo": "p1"}),
            json!({"map": "m1", "photo": "p1", "mix": 0.5, "divide": 0.5}),
            json!({"map": "m1", "photo": "p1", "mix": 1.5}),
            json!({"map": "m1", "photo": "p1", "divide": -0.1}),
            json!({"map": "m1", "photo": "p1", "divide": 0.1, "divide_along": "z"}),
            json!({"map": "m1", "photo": "p1", "mix": 0.1, "divide_along": "x"}),
            json!({"photo": "p1", "mix": 0.5}),
            json!({"photo": "p1", "on": "table"}),
            json!({"photo": "p1", "photo_transform": [1, 0, 0, 0, 1, 0, 0, 0, 1]}),
        ] {
            assert_eq!(way(wrong.clone()).unwrap_err().code, "bad_setting", "{wrong}");
        }
        let flat = json!({"photo": "p1", "on": "grid", "photo_transform": [1, 1, 0, 1, 1, 0, 0, 0, 1]});
        assert!(PictureSettings::read(flat).unwrap().proposed().is_err());
    }

    #[test]
    fn captions_say_which_light_is_whose() {
        let words = |light, side, name| Some(PhotoWords { light, side, name });
        let of = |settings: Value, photo, maps: &str| {
            told(&PictureSettings::read(settings).unwrap(), photo, maps.to_owned())
        };
        let visible = words("visible", "recto", None);
        assert_eq!(of(json!({"map": "m1"}), None, "Fe K, counts"), "Fe K, counts");
        assert_eq!(of(json!({"photo": "p1"}), visible, ""), "Photo (visible light)");
        assert_eq!(
            of(json!({"photo": "p1", "on": "grid"}), words("infrared", "verso", Some("a")), ""),
            "Photo “a” (infrared light, verso), laid on the maps"
        );
        assert_eq!(
            of(json!({"map": "m1", "photo": "p1", "mix": 0.4}), visible, "Fe K, counts"),
            "Fe K, counts, with the photo (visible light), 40\u{202f}% of the light"
        );
        assert_eq!(
            of(json!({"map": "m1", "photo": "p1", "divide": 0.4}), visible, "Fe K, counts"),
            "Fe K, counts, left of the line; right of it the photo (visible light)"
        );
        assert_eq!(
            of(json!({"answer": "a", "show": "classes", "photo": "p1", "mix": 0.5}), visible, "More Ti."),
            "More Ti. With the photo (visible light), 50\u{202f}% of the light."
        );
        let proposed = json!({"photo": "p1", "on": "grid", "photo_transform": [1, 0, 0, 0, 1, 0, 0, 0, 1]});
        assert_eq!(of(proposed, visible, ""), "Photo (visible light, laid as proposed), laid on the maps");
    }
}
