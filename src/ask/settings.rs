//! Settings of all questions: read, checked, completed.

use crate::measure::Rules;
use crate::measure::zones::{By, MOST_ZONES, Wish};
use crate::notice::Fault;
use crate::pigment::Colour;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A background that the caller names: one region for every map, or for each map a value or a region.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Background {
    /// A region, by id or name.
    Region(String),
    /// By map.
    ByMap(BTreeMap<String, MapBackground>),
}

/// The background of one map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum MapBackground {
    /// Counts in a pixel.
    Value(f64),
    /// A region, by id or name.
    Region(String),
}

/// A line across the field, in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Where it begins.
    pub from: [f64; 2],
    /// Where it ends.
    pub to: [f64; 2],
    /// How wide the band is whose pixels are taken together.
    #[serde(default = "one")]
    pub width_px: f64,
}

fn one() -> f64 {
    1.0
}

/// As handed in, and as written into the answer with every default used filled in. Each question takes some of them
/// ([`Settings::taken`]); what it does not take stays away.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// The key of the question they belong to; not written, because it stands beside them.
    #[serde(skip)]
    pub question: String,
    /// The map that is asked about, by id or by a unique label.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub map: Option<String>,
    /// The first of two maps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub a: Option<String>,
    /// The second of two maps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub b: Option<String>,
    /// Several maps; absent for all that hold an element line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub maps: Option<Vec<String>>,
    /// Where it is asked, by id or name; absent for the whole field.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<String>,
    /// Several regions; absent for all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub regions: Option<Vec<String>>,
    /// A line along which values are read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<Line>,
    /// Backgrounds that the caller names.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub background: Option<Background>,
    /// Values from which on a map counts as detected, by map, where the caller knows better.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub presence: BTreeMap<String, f64>,
    /// Systematic share of a background.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub floor: Option<f64>,
    /// Share by which a factor between two elements varies with thickness, dilution and cover; absent for 0.2, or 0.1 for
    /// neighbours in energy.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub k_band: Option<f64>,
    /// A's signal for each unit of B's; absent to take it from the maps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub k: Option<f64>,
    /// Pixels around a strong feature that are not judged; absent for what beam and step give, else 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rim_px: Option<u32>,
    /// Chance that background reaches the critical level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alpha: Option<f64>,
    /// Chance to miss a signal at the detection limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beta: Option<f64>,
    /// How many zones the field is parted into; 0 to choose. Any setting of zones makes a question about them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zones: Option<u32>,
    /// How zones are made: "means" (groups of like pixels) or "parts" (parts of the counts).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zones_by: Option<String>,
    /// How much neighbours count for zones, 0 (not at all) to 3.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coherence: Option<u32>,
    /// What the passage looks like, a word of [`crate::pigment::Colour`]; it narrows and never decides.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// First year of the proposed span; negative before our era.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<i32>,
    /// Last year of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<i32>,
    /// The region that is taken to lie bare, by id or name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub against: Option<String>,
    /// The layer that may lie over it, by a key of the layers that can be chosen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layer: Option<String>,
    /// Its thickness in micrometres, where it is known from elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thickness_um: Option<f64>,
    /// Where procedures that use chance begin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// For a map that suggested the question, another of the same element on which it is tested.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub held_out: BTreeMap<String, String>,
}

/// Settings that every question about maps takes.
const COMMON: [&str; 7] = ["background", "presence", "floor", "alpha", "beta", "seed", "held_out"];
/// Numbers outside of these ends are refused.
const ENDS: [(&str, f64, f64); 5] =
    [("floor", 0.0, 1.0), ("k_band", 0.0, 1.0), ("alpha", 1e-9, 0.2), ("beta", 1e-6, 0.5), ("k", 0.0, 1e9)];
const MOST_RIM: u32 = 64;
const MOST_COHERENCE: u32 = 3;
/// How much neighbours count for zones unless asked otherwise.
pub(super) const COHERENCE: u32 = 2;
/// JavaScript keeps whole numbers exactly up to here.
const LARGEST_SEED: u64 = 9_007_199_254_740_991;

impl Settings {
    /// The names of the settings that a question takes; empty for an unknown question.
    pub fn taken(question: &str) -> Vec<&'static str> {
        let own: &[&str] = match question {
            "faint" => &["map", "region"],
            "together" => &["a", "b", "maps", "region", "rim_px"],
            "apart" => &["a", "b", "region", "k_band", "k", "rim_px"],
            "ratio" => &["a", "b", "region", "k_band", "rim_px"],
            "regions" => {
                &["maps", "regions", "line", "k_band", "rim_px", "region", "zones", "zones_by", "coherence"]
            }
            "materials" => &["region", "colour", "from", "to", "rim_px"],
            "covered" => &["region", "against", "layer", "thickness_um", "rim_px"],
            "dates" => &["region", "from", "to", "rim_px"],
            _ => return Vec::new(),
        };
        own.iter().chain(&COMMON).copied().collect()
    }

    /// Reads settings as they come from a caller and fills in the plain defaults of the question.
    ///
    /// # Errors
    /// `unknown_question`; `bad_setting` with one sentence that names the setting.
    pub fn read(question: &str, settings: serde_json::Value) -> Result<Self, Fault> {
        let taken = Self::taken(question);
        if let Some(fields) = settings.as_object()
            && let Some(other) =
                fields.iter().find(|(name, value)| !value.is_null() && !taken.contains(&name.as_str()))
        {
            return Err(Fault::bad_setting(format!(
                "`{}` is no setting of this question. It takes: {}.",
                other.0,
                taken.join(", ")
            )));
        }
        // What is null is as good as absent.
        let settings = match settings {
            serde_json::Value::Object(fields) => {
                serde_json::Value::Object(fields.into_iter().filter(|(_, value)| !value.is_null()).collect())
            }
            other => other,
        };
        let mut read: Self = serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The settings are not understood: {error}.")))?;
        // "Any colour" is none.
        read.colour = read.colour.filter(|colour| !colour.is_empty());
        read.checked()?;
        let read = read.of_zones(question)?;
        let Rules { floor, alpha, beta } = Rules::default();
        let takes = |name: &str| taken.contains(&name);
        let is_of_zones = read.is_of_zones();
        let fill = |value: Option<f64>, name: &str, default: f64| {
            value.or((takes(name) && !is_of_zones).then_some(default))
        };
        Ok(Self {
            question: question.into(),
            floor: fill(read.floor, "floor", floor),
            alpha: fill(read.alpha, "alpha", alpha),
            beta: fill(read.beta, "beta", beta),
            seed: read.seed.or(Some(1)),
            ..read
        })
    }

    fn checked(&self) -> Result<(), Fault> {
        let values = [self.floor, self.k_band, self.alpha, self.beta, self.k];
        for ((name, low, high), value) in ENDS.into_iter().zip(values) {
            if value.is_some_and(|value| !(low..=high).contains(&value)) {
                return Err(Fault::bad_setting(format!(
                    "`{name}` is {}; it must lie between {low} and {high}.",
                    value.unwrap_or_default()
                )));
            }
        }
        if let Some(rim) = self.rim_px.filter(|&rim| rim > MOST_RIM) {
            return Err(Fault::bad_setting(format!(
                "`rim_px` is {rim}; it must lie between 0 and {MOST_RIM}."
            )));
        }
        if let Some(colour) = self.colour.as_deref().filter(|word| Colour::from_word(word).is_none()) {
            let words: Vec<&str> = Colour::ALL.into_iter().map(Colour::word).collect();
            return Err(Fault::bad_setting(format!(
                "`colour` is “{colour}”, which is none of: {}. Leave it out for any colour.",
                words.join(", ")
            )));
        }
        if let (Some(from), Some(to)) = (self.from, self.to)
            && from > to
        {
            return Err(Fault::bad_setting(format!(
                "`from` is {from} and `to` is {to}; the first year must not be the later one."
            )));
        }
        if self.seed.is_some_and(|seed| seed > LARGEST_SEED) {
            return Err(Fault::bad_setting(format!("`seed` must be a whole number up to {LARGEST_SEED}.")));
        }
        Ok(())
    }

    /// Whether zones are asked for.
    pub fn is_of_zones(&self) -> bool {
        self.zones.is_some() || self.zones_by.is_some() || self.coherence.is_some()
    }

    /// Settings of zones checked and completed; without any, those that go with zones only are refused.
    fn of_zones(self, question: &str) -> Result<Self, Fault> {
        if question != "regions" {
            return Ok(self);
        }
        if !self.is_of_zones() {
            return match self.region {
                Some(_) => Err(Fault::bad_setting(
                    "`region` goes with `zones` only. Name the regions that are compared in `regions`.",
                )),
                None => Ok(self),
            };
        }
        let of_regions = self.regions.is_some() || self.line.is_some() || self.k_band.is_some();
        let of_levels = self.background.is_some() || !self.presence.is_empty() || self.rim_px.is_some();
        if of_regions || of_levels || self.floor.is_some() || self.alpha.is_some() || self.beta.is_some() {
            return Err(Fault::bad_setting(
                "With `zones` go `maps`, `region`, `zones_by`, `coherence`, `seed` and `held_out` only. Name in `region` what shall be parted.",
            ));
        }
        let most = MOST_ZONES as u32;
        if self.zones.is_some_and(|zones| zones == 1 || zones > most) {
            return Err(Fault::bad_setting(format!(
                "`zones` is the number of zones, 2 to {most}, or 0 to let the maps choose it."
            )));
        }
        let by = self.zones_by.unwrap_or_else(|| "means".into());
        if !["means", "parts"].contains(&by.as_str()) {
            return Err(Fault::bad_setting("`zones_by` is \"means\" or \"parts\"."));
        }
        let coherence = self.coherence.unwrap_or(COHERENCE);
        if coherence > MOST_COHERENCE {
            return Err(Fault::bad_setting(format!(
                "`coherence` is how much neighbours count for zones: 0 to {MOST_COHERENCE}."
            )));
        }
        Ok(Self {
            zones: Some(self.zones.unwrap_or(0)),
            zones_by: Some(by),
            coherence: Some(coherence),
            ..self
        })
    }

    /// What zones are wished for.
    pub(super) fn zones_wished(&self) -> Wish {
        Wish {
            by: if self.zones_by.as_deref() == Some("parts") { By::Parts } else { By::Means },
            zones: self.zones.filter(|&zones| zones > 0).map(|zones| zones as usize),
            coherence: self.coherence.unwrap_or(COHERENCE),
            seed: self.seed.unwrap_or(1),
        }
    }

    /// The rules in force.
    pub fn rules(&self) -> Rules {
        let default = Rules::default();
        Rules {
            floor: self.floor.unwrap_or(default.floor),
            alpha: self.alpha.unwrap_or(default.alpha),
            beta: self.beta.unwrap_or(default.beta),
        }
    }

    /// What must be named and is not: one sentence.
    pub(super) fn named<'a>(value: Option<&'a String>, name: &str) -> Result<&'a str, Fault> {
        value.map(String::as_str).filter(|value| !value.is_empty()).ok_or_else(|| {
            Fault::bad_setting(format!("`{name}` is not given. Name a map by its id or as “Cu K”."))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn settings_are_completed_and_slips_are_refused_with_their_name() {
        let read = Settings::read("apart", json!({"a": "Ti K", "b": "m2", "region": null})).unwrap();
        assert_eq!(
            (read.floor, read.alpha, read.seed, read.k, read.region),
            (Some(0.05), Some(0.001), Some(1), None, None)
        );
        for (settings, want) in [
            (json!({"a": "Ti K", "flor": 0.1}), "flor"),
            (json!({"floor": 2}), "`floor` is 2"),
            (json!({"alpha": 0}), "`alpha`"),
            (json!({"rim_px": -1}), "not understood"),
            (json!({"rim_px": 65}), "`rim_px` is 65"),
            (json!({"map": "Ti K"}), "`map` is no setting of this question"),
            (json!({"background": 4}), "not understood"),
            (json!("Ti K"), "not understood"),
        ] {
            let fault = Settings::read("apart", settings.clone()).unwrap_err();
            assert!(fault.code == "bad_setting" && fault.message.contains(want), "{settings}: {fault}");
        }
    }

    #[test]
    fn any_setting_of_zones_completes_the_others_and_they_go_with_no_regions() {
        let read = |settings| Settings::read("regions", settings);
        let zones = read(json!({"zones": 0, "region": "sky"})).unwrap();
        assert_eq!(
            (zones.zones, zones.zones_by.as_deref(), zones.coherence),
            (Some(0), Some("means"), Some(2))
        );
        assert_eq!(zones.zones_wished().zones, None);
        assert!(!read(json!({"regions": ["r1"]})).unwrap().is_of_zones());
        for (settings, want) in [
            (json!({"region": "sky"}), "goes with `zones` only"),
            (json!({"zones": 1}), "2 to 10"),
            (json!({"zones": 11}), "2 to 10"),
            (json!({"zones": 3, "line": {"from": [0, 0], "to": [1, 1]}}), "With `zones` go"),
            (json!({"zones_by": "colour"}), "`zones_by`"),
            (json!({"coherence": 4}), "0 to 3"),
        ] {
            let fault = read(settings.clone()).unwrap_err();
            assert!(fault.message.contains(want), "{settings}: {fault}");
        }
        assert!(Settings::read("apart", json!({"zones": 3})).is_err());
    }

    #[test]
    fn a_background_is_a_region_or_one_for_each_map() {
        let of = |value| Settings::read("faint", json!({"background": value})).unwrap().background.unwrap();
        assert_eq!(of(json!("support")), Background::Region("support".into()));
        let by_map = BTreeMap::from([
            ("m1".to_owned(), MapBackground::Value(2.0)),
            ("m2".to_owned(), MapBackground::Region("support".into())),
        ]);
        assert_eq!(of(json!({"m1": 2, "m2": "support"})), Background::ByMap(by_map));
    }
}
