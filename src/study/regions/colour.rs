//! Regions by colours that were picked from a photo. No map made them.

use super::pixels_text;
use super::record::Shape;
use crate::geometry::Point;
use crate::grid::Mask;
use crate::notice::Fault;
use crate::numerics::figure::{count, whole};
use crate::region::{Lab, Patches, pixels, shrunk};
use crate::study::Study;
use crate::study::aligning::Aligned;
use crate::study::photos::{HeldPhoto, hex};
use serde::{Deserialize, Serialize};

/// How alike where nothing is said, in CIEDE2000: common practice, no source.
const ALIKE: f64 = 6.0;
/// Black and white differ by this much.
const MOST_ALIKE: f64 = 100.0;
/// The most picked places, and as many that are left out.
const MOST_PICKS: usize = 64;
/// The largest speck that can be asked away, in pixels.
const MOST_SPECK: u32 = 1_000_000;
/// Farther than this from its origin no place of a photo lies.
const FARTHEST: f64 = 1e7;
/// The widest border that is left out, in pixels; where it would be wider, nothing is said of the inside either.
const WIDEST_BORDER: u32 = 64;

/// Colours of a photo as they are handed in. Places are those of the grid as it lies now.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ColourSettings {
    /// A photo by id or name; left out, the only one that is aligned.
    pub photo: Option<String>,
    /// Places whose colours are wanted.
    pub at: Vec<[f64; 2]>,
    /// How far a colour may differ from the nearest wanted one, in CIEDE2000; 6 where it is not given.
    pub alike: Option<f64>,
    /// Places whose colours are not wanted: what is nearer to one of these than to a wanted one is outside.
    pub except: Vec<[f64; 2]>,
    /// Only patches on which a wanted colour was picked; true where it is not given.
    pub connected: Option<bool>,
    /// Patches of fewer pixels are left out; holes stay as they are.
    pub smallest_px: Option<u32>,
    /// Whether the border is left out; true where it is not given.
    pub rim: Option<bool>,
}

/// Colours of a photo as they stand in a record. Places are those of the photo as its file gives it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // said above
pub struct ColourRecord {
    pub photo: String,
    pub at: Vec<[f64; 2]>,
    pub alike: f64,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub except: Vec<[f64; 2]>,
    pub connected: bool,
    #[serde(default)]
    pub smallest_px: u32,
    pub rim: bool,
}

/// Colours of a photo at a glance: as they can be handed in again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColourText {
    /// The photo by id; empty where it is not open.
    pub photo: String,
    /// Places on the grid as it lies now; none where the photo is not aligned.
    pub at: Vec<[f64; 2]>,
    /// The colours there ("#rrggbb").
    pub colours: Vec<String>,
    /// How far a colour may differ, in CIEDE2000.
    pub alike: f64,
    /// Places whose colours are left out.
    pub except: Vec<[f64; 2]>,
    /// The colours there.
    pub except_colours: Vec<String>,
    /// Only patches on which a colour was picked.
    pub connected: bool,
    /// Patches of fewer pixels are left out.
    pub smallest_px: u32,
    /// Whether the border is left out.
    pub rim: bool,
    /// How wide the border is now, in pixels of the grid.
    pub rim_px: Option<u32>,
    /// What these colours can be trusted for, in sentences.
    pub caution: String,
}

/// Where all patches are narrower than their borders.
const NOTHING_LEFT: &str = "nothing is left once the border is left out";
/// Where the photo lies too unsurely.
const TOO_FAR: &str = "the photo may be off by too much on the maps for a border to be left out";
const CAUTION: &str = "The colours are those of this photo, which is not calibrated: light and varnish move them, and so does what \
                       lies over the paint.";

impl ColourRecord {
    /// True if this program can have written it.
    pub(super) fn is_sound(&self) -> bool {
        let places = self.at.iter().chain(&self.except).flatten().all(|v| v.abs() <= FARTHEST);
        let picks = (1..=MOST_PICKS).contains(&self.at.len()) && self.except.len() <= MOST_PICKS;
        let alike = self.alike > 0.0 && self.alike <= MOST_ALIKE;
        places && picks && alike && self.smallest_px <= MOST_SPECK
    }
}

impl Study {
    /// From what is handed in to what is kept.
    ///
    /// # Errors
    /// No such photo, or one that is not aligned; no place, or one beside the photo; a number that cannot be one.
    pub(super) fn colour_of(&self, of: ColourSettings) -> Result<Shape, Fault> {
        let photo = match &of.photo {
            Some(name) => self.photo(name)?,
            None => self.only_aligned()?,
        };
        photo.transform()?;
        if of.at.is_empty() {
            return Err(Fault::bad_setting("Pick a colour: give one place or more in `at`."));
        }
        if of.at.len() > MOST_PICKS || of.except.len() > MOST_PICKS {
            return Err(Fault::bad_setting(format!("At most {MOST_PICKS} colours are picked or left out.")));
        }
        let alike = of.alike.unwrap_or(ALIKE);
        if !(alike > 0.0 && alike <= MOST_ALIKE) {
            return Err(Fault::bad_setting(
                "How alike colours must be is a difference above 0 and up to 100 (CIEDE2000).",
            ));
        }
        let smallest_px = of.smallest_px.unwrap_or(0);
        if smallest_px > MOST_SPECK {
            return Err(Fault::bad_setting("Specks of at most a million pixels are left out."));
        }
        let places = |places: &[[f64; 2]]| -> Result<Vec<[f64; 2]>, Fault> {
            places.iter().map(|&at| photo.file_place(at.into()).map(Into::into)).collect()
        };
        Ok(Shape::Colour(ColourRecord {
            photo: photo.key.clone(),
            at: places(&of.at)?,
            alike,
            except: places(&of.except)?,
            connected: of.connected.unwrap_or(true),
            smallest_px,
            rim: of.rim.unwrap_or(true),
        }))
    }

    fn only_aligned(&self) -> Result<&HeldPhoto, Fault> {
        let mut aligned = self.photos.iter().filter(|photo| photo.transform().is_ok());
        match (aligned.next(), aligned.next()) {
            (Some(photo), None) => Ok(photo),
            (None, _) => Err(Fault::new("not_aligned", "No photo lies on the maps yet. Align one first.")),
            (Some(_), Some(_)) => {
                Err(Fault::bad_setting("Several photos lie on the maps. Name one in `photo`."))
            }
        }
    }

    /// How wide the border is within which two paints may be mixed: how far a place may be off, over the grid or at a picked
    /// place, whichever is more, rounded up, and half a beam; at least one pixel.
    fn border_px(&self, photo: &HeldPhoto, of: &ColourRecord) -> u32 {
        let at = of.at.iter().filter_map(|&at| photo.grid_place(at.into()));
        let near = at.filter_map(|at| photo.aligned.as_ref()?.error_near(at)).fold(0.0, f64::max);
        let error = photo.aligned.as_ref().and_then(|aligned| aligned.error_px()).unwrap_or(1.0).max(near);
        let step = self.stack.step().map(|(step, _)| step.x_um().min(step.y_um()));
        let beam = self.scan.beam_um.zip(step).map_or(0.0, |(beam, step)| beam / step);
        (error.ceil() + beam / 2.0).ceil().max(1.0) as u32
    }

    /// Pixels whose colour is alike, and what is to be said of them.
    ///
    /// A pixel is inside where more than half of 3 x 3 places in it differ by at most `alike` (CIEDE2000) from the nearest
    /// wanted colour and are not nearer to one that is left out. Then patches without a picked place go, then specks, then the
    /// border.
    ///
    /// # Errors
    /// The photo is not open, not aligned, or clipped at a picked place; no memory.
    pub(super) fn colour_mask(&self, of: &ColourRecord) -> Result<(Mask, String), Fault> {
        let photo = self.photo_by_key(&of.photo).ok_or_else(|| {
            Fault::new(
                "photo_waits",
                "The photo of which this region is made is not open. Open its file first.",
            )
        })?;
        let size = self.grid_size().unwrap_or_default();
        let colours = |places: &[[f64; 2]]| -> Result<Vec<Lab>, Fault> {
            places.iter().map(|&at| photo.colour_at(at.into(), size)).collect()
        };
        let alike = photo.alike(&self.alike, size, colours(&of.at)?, colours(&of.except)?)?;
        let mut mask = Mask::try_filled(size.0, size.1, false)?;
        for (inside, &difference) in mask.data_mut().iter_mut().zip(alike.differences.data()) {
            *inside = f64::from(difference) <= of.alike;
        }
        let mut notes: Vec<String> = Vec::new();
        if alike.clipped > 0 {
            notes.push(format!("{} left out because the photo is clipped there", pixels_text(alike.clipped)));
        }
        if of.connected || of.smallest_px > 1 {
            let patches = Patches::of(&mask)?;
            let picked: Vec<u32> = of
                .at
                .iter()
                .filter_map(|&at| photo.grid_place(at.into()))
                .filter_map(|(x, y): Point| patches.near(x.floor() as i64, y.floor() as i64))
                .collect();
            mask = patches.kept(|number, size| {
                (!of.connected || picked.contains(&number)) && size >= u64::from(of.smallest_px)
            })?;
        }
        if pixels(&mask) == 0 {
            notes.insert(0, "no pixel of the maps is as alike".into());
            return Ok((mask, notes.join("; ")));
        }
        if of.rim {
            let border = self.border_px(photo, of);
            if border > WIDEST_BORDER {
                mask.data_mut().fill(false);
                notes.insert(0, TOO_FAR.into());
                return Ok((mask, notes.join("; ")));
            }
            let whole_patches = Patches::of(&mask)?;
            let inner = shrunk(&mask, border)?;
            let (all, left) = (whole_patches.len(), whole_patches.touched(&inner)?);
            if left == 0 {
                notes.insert(0, NOTHING_LEFT.into());
            } else if left < all {
                notes.push(format!(
                    "{} of {} patches are too narrow to be left without the border",
                    whole((all - left) as u64),
                    whole(all as u64)
                ));
            }
            mask = inner;
        }
        Ok((mask, notes.join("; ")))
    }

    /// In a few words.
    pub(super) fn colour_words(&self, of: &ColourRecord) -> String {
        let photo = self.photo_by_key(&of.photo);
        let name = photo.map_or("a photo that is not open", HeldPhoto::name);
        let places = |number: usize| format!("{number} {}", if number == 1 { "place" } else { "places" });
        let mut words = vec![format!("like the colour of {name} at {}", places(of.at.len()))];
        if !of.except.is_empty() {
            words.push(format!("not like that at {}", places(of.except.len())));
        }
        words.push(format!("ΔE up to {}", count(of.alike)));
        let patch = if of.at.len() == 1 { "this patch" } else { "these patches" };
        words.push(if of.connected { patch } else { "every patch" }.to_owned());
        if of.smallest_px > 1 {
            words.push(format!("specks below {} left out", pixels_text(u64::from(of.smallest_px))));
        }
        if of.rim {
            words.push(match photo.filter(|photo| photo.transform().is_ok()) {
                Some(photo) => {
                    format!("border of {} left out", pixels_text(u64::from(self.border_px(photo, of))))
                }
                None => "border left out".to_owned(),
            });
        }
        words.join(", ")
    }

    /// What the region can be trusted for: its colours, and where they lie.
    fn colour_caution(&self, of: &ColourRecord, photo: Option<&HeldPhoto>) -> String {
        let mut out = vec![CAUTION.to_owned()];
        if let Some(photo) = photo.filter(|photo| photo.transform().is_ok()) {
            if photo.aligned.as_ref().is_some_and(Aligned::is_error_assumed) {
                out.push("No points show how far the photo is off on the maps.".into());
            }
            if !of.rim {
                let wide = pixels_text(u64::from(self.border_px(photo, of)));
                out.push(format!("Its border is kept: within {wide} of it another paint may be counted in."));
            }
        }
        out.join(" ")
    }

    /// What answers about a region of this shape must say of how it was made; also where it is made of others.
    pub(super) fn caution_of(&self, shape: &Shape) -> String {
        match shape {
            Shape::Colour(of) => self.colour_caution(of, self.photo_by_key(&of.photo)),
            _ => {
                let parts = shape.regions().into_iter().filter_map(|number| self.held_region(number));
                let mut said: Vec<&str> =
                    parts.map(|part| part.region.caution.as_str()).filter(|text| !text.is_empty()).collect();
                said.dedup();
                said.join(" ")
            }
        }
    }

    /// As it can be handed in again.
    pub(super) fn colour_text_of(&self, of: &ColourRecord) -> ColourText {
        let photo = self.photo_by_key(&of.photo);
        let size = self.grid_size().unwrap_or_default();
        let on_grid = |places: &[[f64; 2]]| -> Vec<[f64; 2]> {
            let place = |at: &[f64; 2]| photo?.grid_place((*at).into()).map(Into::into);
            places.iter().filter_map(place).collect()
        };
        let colours = |places: &[[f64; 2]]| -> Vec<String> {
            let colour = |at: &[f64; 2]| photo?.colour_at((*at).into(), size).ok().map(hex);
            places.iter().filter_map(colour).collect()
        };
        ColourText {
            photo: photo.map_or_else(String::new, HeldPhoto::id),
            at: on_grid(&of.at),
            colours: colours(&of.at),
            alike: of.alike,
            except: on_grid(&of.except),
            except_colours: colours(&of.except),
            connected: of.connected,
            smallest_px: of.smallest_px,
            rim: of.rim,
            rim_px: photo
                .filter(|photo| of.rim && photo.transform().is_ok())
                .map(|photo| self.border_px(photo, of)),
            caution: self.colour_caution(of, photo),
        }
    }
}

/// Why there is no region, as a sentence with what to do; the note begins with the reason.
pub(super) fn said(note: &str) -> String {
    let advice = if note.starts_with(NOTHING_LEFT) {
        "Keep the border, or pick colours of a wider passage."
    } else if note.starts_with(TOO_FAR) {
        "Align it by more points, spread over all of it."
    } else {
        "Pick another colour, or allow a larger difference."
    };
    let mut letters = note.chars();
    let first = letters.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}. {advice}", letters.as_str())
}
