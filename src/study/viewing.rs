//! What stands around a picture: histograms for its limits, choices of colours, and the picture as a file.

use super::Study;
use crate::ask::picture::{PictureSettings, start_limits};
use crate::colour::ColourScale;
use crate::digest::canonical_json;
use crate::display::plate::{self, PlateContent, PlateSize};
use crate::display::{HistogramSettings, Scale, histogram};
use crate::geometry::Window;
use crate::measure::thresholds;
use crate::notice::Fault;
use crate::numerics::figure::count;
use serde::{Deserialize, Serialize};

/// How a histogram shall be.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct HistogramRecord {
    scale: Option<String>,
    bins: Option<u32>,
    low: Option<f64>,
    high: Option<f64>,
}

/// A place on an axis with words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TickText {
    /// 0 to 1 along the axis.
    pub at: f64,
    /// What stands there.
    pub text: String,
}

/// A value that parts a map in two, for looking.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThresholdText {
    /// Name of the method.
    pub name: String,
    /// The value.
    pub value: f64,
    /// Both in words.
    pub text: String,
}

/// A histogram ready to be drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HistogramText {
    /// Lower end of the axis.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Heights, 0 to 1.
    pub bars: Vec<f64>,
    /// Values between the bars: one more than bars.
    pub edges: Vec<f64>,
    /// Their places along the axis, 0 to 1.
    pub places: Vec<f64>,
    /// Round values along the axis.
    pub ticks: Vec<TickText>,
    /// From here on a value counts as detected; `None` where no background can be had.
    pub critical: Option<f64>,
    /// The limits to begin with.
    pub start: Limits,
    /// Thresholds for looking, never a decision.
    pub thresholds: Vec<ThresholdText>,
    /// What the numbers are.
    pub unit: String,
    /// All of it in one sentence.
    pub text: String,
}

/// Limits of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[allow(missing_docs)] // the names say it all
pub struct Limits {
    pub low: f64,
    pub high: f64,
}

/// A choice of colours.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ColoursText {
    /// For picture settings.
    pub key: String,
    /// What it is called.
    pub label: String,
}

/// How a picture shall be saved.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ExportSettings {
    /// What it shows, as for `picture`; `view` names the part.
    pub settings: serde_json::Value,
    /// Width of the sheet in pixels.
    pub width_px: Option<u32>,
    /// Width of the sheet in millimetres.
    pub width_mm: Option<f64>,
    /// Dots per inch.
    pub dpi: Option<f64>,
    /// A title above the picture.
    pub title: String,
}

impl Study {
    /// The histogram of a map, with the limits to begin with.
    ///
    /// # Errors
    /// No such map, a map without values, a word that is not understood, no memory.
    pub fn histogram(&mut self, name: &str, settings: &HistogramRecord) -> Result<HistogramText, Fault> {
        let id = self.stack.find(name)?.id.clone();
        let level = self.level(&id)?;
        let map = self.stack.find(id.as_str())?;
        let scale = match settings.scale.as_deref() {
            None => Scale::default(),
            Some(word) => Scale::from_word(word).ok_or_else(|| {
                let choices = Scale::ALL.map(Scale::word).join(", ");
                Fault::bad_setting(format!("There is no scale called “{word}”. There are: {choices}."))
            })?,
        };
        let (low, high) = start_limits(map, &level);
        let asked = HistogramSettings {
            scale,
            bins: settings.bins.unwrap_or(HistogramSettings::default().bins),
            low: settings.low,
            high: settings.high,
        };
        let made = histogram(&map.plane, &map.stats, &asked, &[])?;
        if made.bars.is_empty() {
            return Err(Fault::new("no_values", made.text));
        }
        let found = thresholds(&map.plane, &map.stats)?;
        let found = found.iter().flat_map(|found| &found.found);
        let found = found.filter_map(|(method, value)| {
            let (name, value) = (method.name().to_owned(), (*value)?);
            let text = format!("{name}: {}", count(value));
            Some(ThresholdText { name, value, text })
        });
        Ok(HistogramText {
            low: made.axis.low(),
            high: made.axis.high(),
            critical: level.ok().map(|level| level.critical),
            start: Limits { low, high },
            thresholds: found.collect(),
            unit: map.kind.unit().into(),
            ticks: made.ticks.into_iter().map(|tick| TickText { at: tick.at, text: tick.text }).collect(),
            bars: made.bars,
            edges: made.edges,
            places: made.places,
            text: made.text,
        })
    }

    /// Colours to choose from for a single map.
    pub fn colours(&self) -> Vec<ColoursText> {
        let text = |scale: ColourScale| ColoursText { key: scale.key().into(), label: scale.label().into() };
        ColourScale::all().into_iter().map(text).collect()
    }

    /// A picture with its key, scale bar and caption as a PNG file; the same settings give the same bytes.
    ///
    /// # Errors
    /// As [`Study::picture`]; a size that cannot be made.
    pub fn saved_picture(&mut self, export: &ExportSettings) -> Result<Vec<u8>, Fault> {
        Ok(self.plate(export)?.0)
    }

    /// The same with the picture's caption.
    pub(super) fn plate(&mut self, export: &ExportSettings) -> Result<(Vec<u8>, String), Fault> {
        let settings = PictureSettings::read(export.settings.clone())?;
        let size = PlateSize::new(export.width_px, export.width_mm, export.dpi)?;
        let source_size = self.source_size(&settings)?;
        let mut view = settings.window(source_size)?;
        let step = self.step_of_picture(&settings)?;
        // Pixels as high as they are for each of their width.
        let aspect = step.map_or(1.0, |step| step.y_um() / step.x_um());
        if view.out_height.is_none() && aspect != 1.0 {
            view = with_aspect(view, aspect);
        }
        let placed = plate::placed(&view, size)?;
        let shown = self.picture(&settings.in_window(&placed.window))?;
        let is_photo = settings.is_in_own_pixels()?;
        let scale = match step {
            _ if is_photo => plate::Scale::None,
            Some(step) => plate::Scale::Step(step),
            None => plate::Scale::Pixels,
        };
        let record = canonical_json(
            &serde_json::json!({ "settings": export.settings, "inputs": self.inputs_of(&settings) }),
        );
        let content = PlateContent {
            title: export.title.trim(),
            picture: &shown.picture,
            placed,
            scale,
            caption: &shown.caption,
            settings: &record,
        };
        Ok((plate::draw(&content, size)?, shown.caption))
    }
}

/// A window whose map pixels are drawn `aspect` times as high as wide, so finely that the height's rounding is no matter.
fn with_aspect(view: Window, aspect: f64) -> Window {
    let out_width = 16_384.0f64.min(16_384.0 * view.width / (view.height * aspect)).max(1.0).floor();
    let out_height = (out_width * view.height * aspect / view.width).round().clamp(1.0, 16_384.0);
    Window { out_width: out_width as u32, out_height: Some(out_height as u32), ..view }
}
