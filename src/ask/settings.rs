//! Settings of the questions that compare two maps: read, checked, completed.

use super::{Progress, Subject, words};
use crate::measure::{Level, Refusal, Rules, Signal, level};
use crate::notice::{Fault, OutOfMemory};
use crate::stack::Map;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// As handed in, and as written into the answer with every default filled in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PairSettings {
    /// The first map, by id or by a unique label.
    pub a: String,
    /// The second map.
    pub b: String,
    /// `None` is the whole field, which is all there is so far.
    pub region: Option<String>,
    /// Backgrounds that the caller knows, by map.
    pub background: BTreeMap<String, f64>,
    /// Values from which on a map counts as detected, by map, where the caller knows better.
    pub presence: BTreeMap<String, f64>,
    /// Systematic share of a background.
    pub floor: f64,
    /// Share by which a factor between two elements varies with thickness, dilution and cover.
    pub k_band: f64,
    /// A's signal for each unit of B's; `None` to take it from the maps.
    pub k: Option<f64>,
    /// Pixels around a strong feature that are not judged.
    pub rim_px: u32,
    /// Chance that background reaches the critical level.
    pub alpha: f64,
    /// Chance to miss a signal at the detection limit.
    pub beta: f64,
}

impl Default for PairSettings {
    fn default() -> Self {
        let Rules { floor, alpha, beta } = Rules::default();
        Self {
            a: String::new(),
            b: String::new(),
            region: None,
            background: BTreeMap::new(),
            presence: BTreeMap::new(),
            floor,
            k_band: 0.2,
            k: None,
            rim_px: 1,
            alpha,
            beta,
        }
    }
}

impl PairSettings {
    /// Reads settings as they come from a caller.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        let read: Self = serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The settings are not understood: {error}.")))?;
        let within = |name: &str, value: f64, low: f64, high: f64| {
            if (low..=high).contains(&value) {
                return Ok(());
            }
            Err(Fault::bad_setting(format!("`{name}` is {value}; it must lie between {low} and {high}.")))
        };
        within("floor", read.floor, 0.0, 1.0)?;
        within("k_band", read.k_band, 0.0, 10.0)?;
        within("alpha", read.alpha, 1e-9, 0.2)?;
        within("beta", read.beta, 1e-6, 0.5)?;
        within("rim_px", f64::from(read.rim_px), 0.0, 64.0)?;
        if let Some(k) = read.k {
            within("k", k, 0.0, 1e9)?;
        }
        if read.region.is_some() {
            return Err(Fault::bad_setting(
                "Regions cannot be named yet: leave `region` out to ask about the whole field.",
            ));
        }
        Ok(read)
    }

    /// The rules in force.
    pub fn rules(&self) -> Rules {
        Rules { floor: self.floor, alpha: self.alpha, beta: self.beta }
    }
}

/// Two maps ready to be compared.
pub(super) struct Pair<'a> {
    pub a: &'a Map,
    pub b: &'a Map,
    /// Settings with maps named by id.
    pub settings: PairSettings,
}

/// Values and backgrounds of both.
pub(super) struct Sides {
    pub a: Signal,
    pub b: Signal,
    pub levels: (Level, Level),
}

impl Sides {
    /// Both levels, as the measures take them.
    pub fn at(&self) -> (&Level, &Level) {
        (&self.levels.0, &self.levels.1)
    }
}

impl<'a> Pair<'a> {
    /// Finds the maps and checks that they can be compared.
    pub fn find(subject: &Subject<'a>, settings: PairSettings) -> Result<Self, Fault> {
        for (name, value) in [("a", &settings.a), ("b", &settings.b)] {
            if value.is_empty() {
                return Err(Fault::bad_setting(format!(
                    "`{name}` is not given. Name a map by its id or as “Cu K”."
                )));
            }
        }
        let (a, b) = (subject.stack.find(&settings.a)?, subject.stack.find(&settings.b)?);
        if a.id == b.id {
            return Err(Fault::bad_setting(
                "A map cannot be compared with itself. Choose two different maps.",
            ));
        }
        if !a.has_size_of(b) {
            return Err(Fault::different_sizes(&a.label(), &b.label()));
        }
        if a.shares_numbers_with(b) {
            return Err(Fault::bad_setting(format!(
                "{} and {} have numbers from the same map, so they agree by arithmetic alone. Choose maps that were measured apart.",
                a.label(),
                b.label()
            )));
        }
        let by_id = |named: &BTreeMap<String, f64>| -> Result<BTreeMap<String, f64>, Fault> {
            named
                .iter()
                .map(|(name, &value)| {
                    let map = subject.stack.find(name)?;
                    if map.id != a.id && map.id != b.id {
                        return Err(Fault::bad_setting(format!(
                            "“{name}” is none of the two maps that are compared."
                        )));
                    }
                    Ok((map.id.to_string(), value))
                })
                .collect()
        };
        let settings = PairSettings {
            a: a.id.to_string(),
            b: b.id.to_string(),
            background: by_id(&settings.background)?,
            presence: by_id(&settings.presence)?,
            ..settings
        };
        Ok(Self { a, b, settings })
    }

    /// Values and backgrounds of both maps; or which map has no background, and why.
    pub fn sides(&self, progress: Progress<'_>) -> Result<Result<Sides, String>, OutOfMemory> {
        progress(0.05, "Background of the first map");
        let (a, level_a) = self.side(self.a)?;
        progress(0.3, "Background of the second map");
        let (b, level_b) = self.side(self.b)?;
        let refused =
            |map: &Map, refusal: Refusal| Ok(Err(format!("{}: {}", map.label(), words::refused(refusal))));
        match (level_a, level_b) {
            (Err(refusal), _) => refused(self.a, refusal),
            (_, Err(refusal)) => refused(self.b, refusal),
            (Ok(level_a), Ok(level_b)) => Ok(Ok(Sides { a, b, levels: (level_a, level_b) })),
        }
    }

    fn side(&self, map: &Map) -> Result<(Signal, Result<Level, Refusal>), OutOfMemory> {
        let rules = self.settings.rules();
        let signal = Signal::of(map)?;
        let found = match self.settings.background.get(map.id.as_str()) {
            Some(&stated) => Level::stated(stated, map.kind, &rules),
            None => level(&signal, &rules)?,
        };
        Ok((signal, found.map(|level| self.with_threshold(level, map, &rules))))
    }

    /// A threshold that the caller states stands in for the critical level.
    pub fn with_threshold(&self, level: Level, map: &Map, rules: &Rules) -> Level {
        match self.settings.presence.get(map.id.as_str()) {
            Some(&threshold) if threshold.is_finite() => level.with_threshold(threshold, rules),
            _ => level,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn settings_are_completed_and_slips_are_refused_with_their_name() {
        let read = PairSettings::read(json!({"a": "Ti K", "b": "m2"})).unwrap();
        assert_eq!((read.floor, read.k_band, read.rim_px, read.k), (0.05, 0.2, 1, None));
        for (settings, want) in [
            (json!({"a": "Ti K", "flor": 0.1}), "flor"),
            (json!({"floor": 2}), "`floor` is 2"),
            (json!({"alpha": 0}), "`alpha`"),
            (json!({"rim_px": -1}), "not understood"),
            (json!({"region": "sky"}), "whole field"),
            (json!("Ti K"), "not understood"),
        ] {
            let fault = PairSettings::read(settings.clone()).unwrap_err();
            assert!(fault.code == "bad_setting" && fault.message.contains(want), "{settings}: {fault}");
        }
    }
}
