//! Pictures in words.

use super::photo::told;
use super::{PhotoWords, PictureSettings, Source};
use crate::ask::answer::Answer;
use crate::numerics::figure::count;
use crate::stack::{Map, Stack};

/// A picture in words; `starts` are the limits that each map of it has unless asked otherwise, in order, and `photo` is the
/// photo that is seen.
pub fn caption(
    stack: &Stack,
    answer: Option<&Answer>,
    settings: &PictureSettings,
    starts: &[(f64, f64)],
    photo: Option<PhotoWords<'_>>,
) -> String {
    told(settings, photo, maps(stack, answer, settings, starts))
}

/// What is seen of maps; empty where there are none.
fn maps(stack: &Stack, answer: Option<&Answer>, settings: &PictureSettings, starts: &[(f64, f64)]) -> String {
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
        Ok(Source::Overlap(name)) => stack.find(name).map_or_else(
            |_| String::new(),
            |map| format!("Share of {} that lines of other elements could give at most", map.label()),
        ),
        Ok(Source::Answer { .. }) => answer.map_or_else(String::new, |answer| answer.sentence.clone()),
        Ok(Source::Photo(_)) | Err(_) => String::new(),
    }
}
