//! How the scan was made, as the user states it: entered once, written into every record.

use crate::element::{Element, Line};
use crate::notice::Fault;
use crate::numerics::figure::THIN_SPACE;
use serde::{Deserialize, Deserializer, Serialize};

/// Scan data. Absent fields are not known; `null` or an empty text forgets one.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ScanRecord {
    /// Element of the tube's anode, as a symbol ("Rh").
    pub anode: Option<String>,
    /// Tube voltage in kV.
    pub kv: Option<f64>,
    /// Tube current in µA.
    pub current_ua: Option<f64>,
    /// Filter in the beam, in words ("0.5 mm Al").
    pub filter: Option<String>,
    /// Time a pixel, in milliseconds.
    pub dwell_ms: Option<f64>,
    /// Beam on the object, full width at half maximum in micrometres.
    pub beam_um: Option<f64>,
    /// Angle between beam and surface, in degrees.
    pub incidence_deg: Option<f64>,
    /// Angle between surface and detector, in degrees.
    pub takeoff_deg: Option<f64>,
    /// Distance from object to detector window, in millimetres.
    pub distance_mm: Option<f64>,
    /// Number of detectors.
    pub detectors: Option<u32>,
    /// What lies between object and detector: "air" or "helium".
    pub path: Option<String>,
    /// Day of the scan, as the user writes it.
    pub date: Option<String>,
    /// Width of a line at Mn Kα (5.9 keV), full width at half maximum, in electronvolts.
    pub resolution_ev: Option<f64>,
    /// Lines that the instrument itself gives, as a blank shows them: "Rh L", "Ar K". May be handed in as one text with commas.
    #[serde(deserialize_with = "lines_of")]
    pub own_lines: Vec<String>,
}

/// The longest text of a field.
const LONGEST: usize = 200;
/// An instrument gives no more lines than this.
const MOST_OWN_LINES: usize = 100;

/// A list of texts, one text with commas, or nothing.
fn lines_of<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<String>, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged, expecting = "a list of lines such as “Rh L”")]
    enum Given {
        List(Vec<String>),
        Text(String),
    }
    Ok(match Option::<Given>::deserialize(from)? {
        None => Vec::new(),
        Some(Given::List(list)) => list,
        Some(Given::Text(text)) => text.split([',', ';']).map(str::to_owned).collect(),
    })
}

impl ScanRecord {
    /// Checked.
    ///
    /// # Errors
    /// A value that cannot be one, with the field and what is asked for.
    pub fn checked(mut self) -> Result<Self, Fault> {
        for text in [&mut self.anode, &mut self.filter, &mut self.path, &mut self.date] {
            *text = text.take().map(|t| t.trim().to_owned()).filter(|t| !t.is_empty());
            if text.as_ref().is_some_and(|t| t.len() > LONGEST) {
                return Err(Fault::bad_setting(format!(
                    "A field of the scan is longer than {LONGEST} letters."
                )));
            }
        }
        if let Some(anode) = &self.anode
            && Element::from_symbol(anode).is_none()
        {
            return Err(Fault::bad_setting(format!(
                "“{anode}” is no element. Write the anode as a symbol, for example Rh."
            )));
        }
        if let Some(path) = &self.path
            && !["air", "helium", "vacuum"].contains(&path.as_str())
        {
            return Err(Fault::bad_setting("The path is “air”, “helium” or “vacuum”."));
        }
        let limits = [
            ("The voltage", self.kv, 1.0, 500.0, "kV"),
            ("The current", self.current_ua, 0.01, 1e6, "µA"),
            ("The time a pixel", self.dwell_ms, 0.001, 1e7, "ms"),
            ("The beam", self.beam_um, 0.01, 1e5, "µm"),
            ("The angle of the beam", self.incidence_deg, 1.0, 90.0, "°"),
            ("The angle of the detector", self.takeoff_deg, 1.0, 90.0, "°"),
            ("The distance", self.distance_mm, 0.1, 1000.0, "mm"),
            ("The width of a line at Mn Kα", self.resolution_ev, 60.0, 1000.0, "eV"),
            ("The number of detectors", self.detectors.map(f64::from), 1.0, 1000.0, ""),
        ];
        for (what, value, low, high, unit) in limits {
            if value.is_some_and(|v| !(low..=high).contains(&v)) {
                return Err(Fault::bad_setting(format!(
                    "{what} must lie between {low} and {high}{}{unit}.",
                    if unit.is_empty() { "" } else { " " }
                )));
            }
        }
        self.own_lines = own_lines(&self.own_lines)?;
        Ok(self)
    }

    /// What is known, in one line; empty where nothing is.
    pub fn text(&self) -> String {
        let number = |value: Option<f64>, unit: &str| value.map(|v| format!("{v}{THIN_SPACE}{unit}"));
        let parts = [
            self.anode.as_ref().map(|anode| format!("{anode} anode")),
            number(self.kv, "kV"),
            number(self.current_ua, "µA"),
            self.filter.as_ref().map(|filter| format!("filter {filter}")),
            number(self.dwell_ms, "ms a pixel"),
            number(self.beam_um, "µm beam"),
            self.incidence_deg.map(|v| format!("beam at {v}°")),
            self.takeoff_deg.map(|v| format!("detector at {v}°")),
            number(self.distance_mm, "mm away"),
            self.detectors.map(|n| format!("{n} detector{}", if n == 1 { "" } else { "s" })),
            self.path.as_ref().map(|path| format!("in {path}")),
            number(self.resolution_ev, "eV wide at Mn Kα"),
            (!self.own_lines.is_empty())
                .then(|| format!("{} from the instrument itself", self.own_lines.join(", "))),
            self.date.clone(),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// Lines as the program writes them, each once.
fn own_lines(texts: &[String]) -> Result<Vec<String>, Fault> {
    let mut lines: Vec<String> = Vec::new();
    for text in texts.iter().map(|text| text.trim()).filter(|text| !text.is_empty()) {
        let line = Line::parse_typed(text).filter(|line| line.family.is_some()).ok_or_else(|| {
            let shown: String = text.chars().take(40).collect();
            Fault::bad_setting(format!(
                "“{shown}” is no line that an instrument gives. Write it as “Rh L” or “Ar K”."
            ))
        })?;
        let written = line.to_string();
        if !lines.contains(&written) {
            lines.push(written);
        }
        if lines.len() > MOST_OWN_LINES {
            return Err(Fault::bad_setting(format!(
                "At most {MOST_OWN_LINES} lines of the instrument are kept."
            )));
        }
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_the_instrument_are_read_from_a_list_or_one_text_and_written_in_one_way() {
        let of = |value: serde_json::Value| {
            let scan: ScanRecord = serde_json::from_value(serde_json::json!({ "own_lines": value })).unwrap();
            scan.checked().map(|scan| scan.own_lines)
        };
        let want = Ok(vec!["Rh L".to_owned(), "Ar K".to_owned(), "Fe Kα".to_owned()]);
        assert_eq!(of(serde_json::json!(["Rh L", "ar k", "Fe Ka", "Ar K", ""])), want);
        assert_eq!(of(serde_json::json!("rh l, Ar K; Fe-Ka,")), want);
        assert_eq!(of(serde_json::json!(null)), Ok(Vec::new()));
        for wrong in ["Ar", "the tube", "Xx K"] {
            let message = of(serde_json::json!([wrong])).unwrap_err().message;
            assert!(message.contains(wrong) && message.contains("Ar K"), "{message}");
        }
        let many: Vec<String> = (12..92).flat_map(|z| ["K", "L", "M"].map(|f| format!("{z} {f}"))).collect();
        assert!(of(serde_json::json!(many)).unwrap_err().message.contains("At most"));
        assert!(serde_json::from_value::<ScanRecord>(serde_json::json!({"own_lines": 7})).is_err());
    }

    #[test]
    fn what_cannot_be_is_refused_with_the_field() {
        let of = |scan: ScanRecord| scan.checked();
        let scan = ScanRecord {
            anode: Some(" Rh ".into()),
            kv: Some(50.0),
            filter: Some(String::new()),
            ..ScanRecord::default()
        };
        let scan = of(scan).unwrap();
        assert_eq!((scan.anode.as_deref(), &scan.filter), (Some("Rh"), &None));
        assert_eq!(scan.text(), "Rh anode, 50\u{202f}kV");
        let scan = ScanRecord {
            resolution_ev: Some(140.0),
            own_lines: vec!["Rh L".into(), "Ar K".into()],
            ..ScanRecord::default()
        };
        assert_eq!(scan.text(), "140\u{202f}eV wide at Mn Kα, Rh L, Ar K from the instrument itself");
        for (wrong, word) in [
            (ScanRecord { anode: Some("Rhodium".into()), ..ScanRecord::default() }, "Rhodium"),
            (ScanRecord { kv: Some(f64::NAN), ..ScanRecord::default() }, "voltage"),
            (ScanRecord { dwell_ms: Some(-1.0), ..ScanRecord::default() }, "time a pixel"),
            (ScanRecord { resolution_ev: Some(20.0), ..ScanRecord::default() }, "between 60 and 1000 eV"),
            (ScanRecord { path: Some("water".into()), ..ScanRecord::default() }, "helium"),
        ] {
            assert!(of(wrong).unwrap_err().message.contains(word), "{word}");
        }
    }
}
