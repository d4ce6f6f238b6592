//! Drawings of numbers beside an answer. Places are shares of an axis, 0 to 1, upward; every text is ready to be shown.

use serde::{Deserialize, Serialize};

/// A mark on an axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tick {
    /// Where.
    pub at: f64,
    /// What stands there.
    pub text: String,
}

/// An axis. `low` and `high` are the values at its ends; `scale` says how values rise between them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PlotAxis {
    /// What is measured, with its unit.
    pub label: String,
    /// Its marks.
    pub ticks: Vec<Tick>,
    /// Value at its beginning.
    pub low: f64,
    /// Value at its end.
    pub high: f64,
    /// Word of the scale: "linear", "square root", "logarithmic".
    pub scale: String,
}

/// A line in a plot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlotLine {
    /// What it stands for.
    pub label: String,
    /// Its points.
    pub points: Vec<[f64; 2]>,
}

/// A bar, with what is expected beside it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bar {
    /// What it is.
    pub label: String,
    /// Its length, 1 for the longest of the plot.
    pub share: f64,
    /// Its number.
    pub text: String,
    /// Length of what is held against it.
    pub beside: f64,
    /// Number of what is held against it.
    pub beside_text: String,
}

/// A pair of maps in a matrix.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MatrixCell {
    /// Place of the first map in the list.
    pub a: u32,
    /// Place of the second.
    pub b: u32,
    /// From -1 to 1; `None` where there is no value.
    pub shade: Option<f64>,
    /// The number.
    pub text: String,
    /// Verdict word.
    pub verdict: String,
    /// More in words.
    pub detail: String,
}

/// A map by id and label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MapName {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub label: String,
}

/// A course along a line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Series {
    /// Id of the map.
    pub map: String,
    /// What it is called.
    pub label: String,
    /// Its points from left to right; `None` where there is no value.
    pub points: Vec<Option<[f64; 2]>>,
    /// Lower end of the interval of each point.
    pub low: Vec<Option<f64>>,
    /// Upper end.
    pub high: Vec<Option<f64>>,
}

/// A value with its intervals on a common axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Dot {
    /// What it is of.
    pub label: String,
    /// The value; `None` where there is none.
    pub at: Option<f64>,
    /// Interval from counting alone.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
    /// Interval with the systematic part.
    pub low_all: Option<f64>,
    /// Its upper end.
    pub high_all: Option<f64>,
    /// The value in words.
    pub text: String,
}

/// Where a line of an element lies in a spectrum. It says where the element would show, not that it was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LineMark {
    /// Symbol of the element.
    pub element: String,
    /// The line, or lines that a detector does not part ("Pb Lα").
    pub label: String,
    /// Where.
    pub at: f64,
    /// How strong it is beside the strongest line of its family, 0 to 1. Roughly: it depends on excitation and absorption.
    pub share: f64,
    /// Row of its label, from the top, so that labels near each other stand in different ones.
    pub row: u32,
    /// False where the tube's voltage is known and cannot excite it.
    pub is_excited: bool,
    /// The line with its energy, in words.
    pub text: String,
}

/// A drawing. `key` names it within its answer; `note` says it in words, for those who cannot see it too.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Plot {
    /// Lengths beside expected lengths.
    Bars {
        /// Its name.
        key: String,
        /// Its heading.
        label: String,
        /// Its bars.
        rows: Vec<Bar>,
        /// In words.
        note: String,
    },
    /// Pixels by their values in two maps: counts in the raster of this name, its first row at the top.
    Joint {
        /// Its name.
        key: String,
        /// Its heading.
        label: String,
        /// Name of the raster with the pixels of each bin.
        raster: String,
        /// Across.
        x: PlotAxis,
        /// Upward.
        y: PlotAxis,
        /// Critical levels, a factor and its band.
        lines: Vec<PlotLine>,
        /// In words.
        note: String,
    },
    /// All pairs of maps.
    Matrix {
        /// Its name.
        key: String,
        /// Its heading.
        label: String,
        /// Maps in the order of rows and columns.
        maps: Vec<MapName>,
        /// Pairs, each once.
        cells: Vec<MatrixCell>,
        /// In words.
        note: String,
    },
    /// Courses along a line.
    Profile {
        /// Its name.
        key: String,
        /// Its heading.
        label: String,
        /// Along the line.
        x: PlotAxis,
        /// Values.
        y: PlotAxis,
        /// Its courses.
        series: Vec<Series>,
        /// In words.
        note: String,
    },
    /// Values with both intervals on one axis.
    Dots {
        /// Its name.
        key: String,
        /// Its heading.
        label: String,
        /// The axis.
        x: PlotAxis,
        /// Its values.
        rows: Vec<Dot>,
        /// In words.
        note: String,
    },
    /// Counts by energy.
    Spectrum {
        /// Its name.
        key: String,
        /// Its heading.
        label: String,
        /// Energies.
        x: PlotAxis,
        /// Counts.
        y: PlotAxis,
        /// Its course, from left to right.
        points: Vec<[f64; 2]>,
        /// Lines of chosen elements, from left to right.
        marks: Vec<LineMark>,
        /// In words.
        note: String,
    },
}
