//! What an answer is: the same record for page, study file, console and tests.

use super::covered::CoveredPart;
use super::dates::DatesPart;
use super::materials::MaterialsPart;
use super::plot::Plot;
use super::settings::Settings;
use super::verdict;
use super::words::class_labels;
use crate::class::Class;
use crate::digest::sha256_hex;
use crate::grid::Grid;
use crate::numerics::counting::Interval;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A number with its intervals. `value` is `None` where the program abstains, and `reason` says why.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Number {
    /// The number.
    pub value: Option<f64>,
    /// 95 % interval from counting alone; `None` where there is none or it is not bounded.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
    /// The interval with the stated systematic part.
    pub low_all: Option<f64>,
    /// Its upper end.
    pub high_all: Option<f64>,
    /// Unit; empty for a plain number.
    pub unit: String,
    /// Why there is no value; empty where there is one.
    pub reason: String,
}

impl Number {
    /// A plain value.
    pub fn of(value: f64, unit: &str) -> Self {
        Self { value: Some(value).filter(|v| v.is_finite()), unit: unit.into(), ..Self::default() }
    }

    /// A value, or why there is none.
    pub fn or_reason(value: Option<f64>, unit: &str, reason: &str) -> Self {
        match value.filter(|v| v.is_finite()) {
            Some(value) => Self::of(value, unit),
            None => Self { unit: unit.into(), reason: reason.into(), ..Self::default() },
        }
    }

    /// With intervals; an infinite end stays open.
    pub fn within(mut self, counting: Option<Interval>, all: Option<Interval>) -> Self {
        let end = |v: f64| Some(v).filter(|v| v.is_finite());
        (self.low, self.high) = counting.map_or((None, None), |i| (end(i.low), end(i.high)));
        (self.low_all, self.high_all) = all.map_or((None, None), |i| (end(i.low), end(i.high)));
        self
    }
}

/// A map that an answer rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Its id in this study.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// How it was made.
    pub kind: String,
    /// File name.
    pub file: String,
    /// Page in the file.
    pub page: u32,
    /// SHA-256 of the file.
    pub file_sha256: String,
}

/// A region that an answer rests on.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct AskedRegion {
    /// Its id in this study.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Word of its role.
    pub role: String,
    /// The maps that made it, by id.
    pub makers: Vec<String>,
}

/// A table; empty where there is none.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Table {
    /// Headings over the cells; the names of the rows have none.
    pub columns: Vec<String>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// A row of a table, with as many cells as there are columns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// What it is about.
    pub label: String,
    /// One for each column.
    pub cells: Vec<Cell>,
}

/// A cell of a table.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// The number; `None` for words and where there is no value.
    pub value: Option<f64>,
    /// As it is shown.
    pub text: String,
}

impl Cell {
    /// Words.
    pub fn words(text: impl Into<String>) -> Self {
        Self { value: None, text: text.into() }
    }

    /// A number as it is shown.
    pub fn number(value: f64, text: impl Into<String>) -> Self {
        Self { value: Some(value).filter(|v| v.is_finite()), text: text.into() }
    }
}

/// Whether the verdict is the same when something is a little otherwise.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stability {
    /// True if every trial closed with the same verdict.
    pub holds: bool,
    /// The same in words, with what tips it.
    pub text: String,
    /// The trials.
    pub trials: Vec<Trial>,
}

/// The same question with something otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trial {
    /// What is otherwise ("thresholds 20 % higher").
    pub change: String,
    /// The verdict it gives.
    pub verdict: String,
}

/// How something was computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Method {
    /// What was done.
    pub text: String,
    /// Where it is published; empty without a source.
    pub source: String,
    /// What the source is worth: "published", "common practice, no source", "defined here".
    pub basis: String,
}

impl Method {
    /// With a published source.
    pub fn published(text: impl Into<String>, source: &str) -> Self {
        Self { text: text.into(), source: source.into(), basis: "published".into() }
    }

    /// A rule of this program.
    pub fn own(text: impl Into<String>) -> Self {
        Self { text: text.into(), source: String::new(), basis: "defined here".into() }
    }

    /// What everybody does.
    pub fn practice(text: impl Into<String>) -> Self {
        Self { text: text.into(), source: String::new(), basis: "common practice, no source".into() }
    }
}

/// A line of the answer's column of numbers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// What it is.
    pub label: String,
    /// The number as text.
    pub value: String,
    /// Its interval or what it means.
    pub detail: String,
}

/// A picture that the answer has.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shown {
    /// Name for picture settings.
    pub show: String,
    /// What the page calls it.
    pub label: String,
}

/// An answer without its pixels.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// SHA-256 of this record with an empty id: the same question, settings, inputs and program give the same id.
    pub id: String,
    /// Name and version of the program.
    pub program: String,
    /// Maps it rests on.
    pub inputs: Vec<Input>,
    /// Key of the question.
    pub question: String,
    /// Settings, completed with every default used.
    pub settings: Settings,
    /// Numbers by name.
    pub numbers: BTreeMap<String, Number>,
    /// The regions it rests on; empty for the whole field.
    pub regions: Vec<AskedRegion>,
    /// A table; empty where there is none.
    pub table: Table,
    /// Pixels asked about.
    pub pixels: u64,
    /// Pixels among them that could be judged.
    pub judged_pixels: u64,
    /// One of the verdict words of the question.
    pub verdict: String,
    /// The same with the names of the maps.
    pub verdict_text: String,
    /// The answer in one sentence.
    pub sentence: String,
    /// What to keep in mind.
    pub cautions: Vec<String>,
    /// How it was computed.
    pub method: Vec<Method>,
    /// The numbers that a reader wants first.
    pub figures: Vec<Figure>,
    /// Pictures that it has.
    pub shows: Vec<Shown>,
    /// Drawings of numbers.
    pub plots: Vec<Plot>,
    /// Whether the verdict holds; `None` where nothing could be judged that could tip.
    pub stability: Option<Stability>,
    /// What the numbers in its raster `zones` mean, from 0 on; empty without zones.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<String>,
    /// What `materials` found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub materials: Option<MaterialsPart>,
    /// What `covered` found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covered: Option<CoveredPart>,
    /// What `dates` found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dates: Option<DatesPart>,
}

impl Answer {
    /// What the numbers in its raster `classes` mean, for its maps.
    pub fn class_labels(&self) -> [String; Class::COUNT] {
        let label = |i: usize| self.inputs.get(i).map_or("", |input| input.label.as_str());
        let mut labels = match self.question.as_str() {
            "faint" => super::faint::class_labels(label(0)),
            _ => class_labels(label(0), label(1)),
        };
        if self.settings.region.is_some() {
            labels[Class::Blank as usize] = "outside the region, or no data".into();
        }
        labels
    }

    /// The raster whose pixels are classes or zones, with what its numbers mean; `None` without one.
    pub fn parted<'a>(&self, rasters: &'a Rasters) -> Option<(&'a Grid<u8>, Vec<String>)> {
        match (rasters.get("classes"), rasters.get("zones")) {
            (Some(Raster::U8(classes)), _) => Some((classes, self.class_labels().to_vec())),
            (_, Some(Raster::U8(zones))) => Some((zones, self.zones.clone())),
            _ => None,
        }
    }

    /// Gives it the name that its content has.
    pub fn named(mut self) -> Self {
        self.id = String::new();
        let label = |i: usize| self.inputs.get(i).map_or("", |input| input.label.as_str());
        self.verdict_text = match self.verdict.as_str() {
            verdict::MORE => format!("more {} than accompanies {}", label(0), label(1)),
            verdict::NO_MORE => format!("no more {} than accompanies {}", label(0), label(1)),
            // The question itself fills in the figure.
            verdict::CANNOT if !self.verdict_text.is_empty() => self.verdict_text,
            verdict::NOT_DETECTED if !self.verdict_text.is_empty() => self.verdict_text,
            other => other.to_owned(),
        };
        // The record holds texts and finite numbers, so that it always can be written.
        let bytes = serde_json::to_vec(&self).unwrap_or_default();
        self.id = sha256_hex(&bytes);
        self
    }
}

/// Pixels of an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Raster {
    /// Class numbers.
    U8(Grid<u8>),
    /// Computed values; NaN where there is none.
    F64(Grid<f64>),
}

impl Raster {
    /// Pixels in a row and rows.
    pub fn size(&self) -> (u32, u32) {
        match self {
            Raster::U8(grid) => (grid.width(), grid.height()),
            Raster::F64(grid) => (grid.width(), grid.height()),
        }
    }

    /// Little-endian bytes, row by row; every NaN is the canonical one.
    pub fn le_bytes(&self) -> Vec<u8> {
        match self {
            Raster::U8(grid) => grid.data().to_vec(),
            Raster::F64(grid) => grid.data().iter().flat_map(|v| canonical(*v).to_le_bytes()).collect(),
        }
    }
}

/// The one NaN that is written.
fn canonical(value: f64) -> f64 {
    if value.is_nan() { f64::from_bits(0x7ff8_0000_0000_0000) } else { value }
}

/// Rasters by name.
pub type Rasters = BTreeMap<String, Raster>;
