//! One map.

use super::Plane;
use crate::element::Line;
use crate::grid::Samples;
use crate::kind::{Evidence, Kind, propose};
use crate::notice::OutOfMemory;
use crate::numerics::order;
use std::fmt;

/// Names a map within a study; the same inputs in the same order give the same ids.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct MapId(String);

impl MapId {
    /// `m1`, `m2`, ...
    pub fn new(number: u32) -> Self {
        Self(format!("m{number}"))
    }

    /// Takes a written id, without checking that such a map exists.
    pub fn from_text(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// As written.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for MapId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Where a map came from: enough to name it again in a saved study.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// File name as the user knows it (untrusted text).
    pub file: String,
    /// Page in the file, from 0.
    pub page: u32,
    /// SHA-256 of the file's bytes, in hexadecimal.
    pub sha256: String,
}

/// What is seen of the values at a glance. Blank pixels are left out of the first three.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stats {
    /// Smallest value; `None` when every pixel is blank.
    pub low: Option<f64>,
    /// Largest value.
    pub high: Option<f64>,
    /// Median (mean of the middle two for an even number).
    pub median: Option<f64>,
    /// Value that 99.5 % of the pixels do not exceed: where a picture's scale may end.
    pub near_high: Option<f64>,
    /// Pixels without data.
    pub blank: u64,
    /// Pixels at the largest value of an integer type.
    pub saturated: u64,
    /// Every value is a whole number.
    pub is_whole: bool,
}

impl Stats {
    fn of(plane: &Plane) -> Result<Self, OutOfMemory> {
        let values = plane.to_f64()?;
        let total = values.len();
        let mut values: Vec<f64> = values.into_vec();
        values.retain(|v| !v.is_nan());
        order::sort(&mut values);
        let ceiling = plane.ceiling();
        let saturated = ceiling.map_or(0, |c| values.iter().rev().take_while(|&&v| v >= c).count() as u64);
        Ok(Self {
            low: values.first().copied(),
            high: values.last().copied(),
            median: order::quantile(&values, 0.5),
            near_high: order::quantile(&values, 0.995),
            blank: total - values.len() as u64,
            saturated,
            is_whole: values.iter().all(|v| v.fract() == 0.0),
        })
    }
}

/// One element map, or a map without an element line.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// Its name in this study.
    pub id: MapId,
    /// Where it came from.
    pub source: Source,
    /// Title of the page in the file, if it has one (untrusted text).
    pub title: String,
    /// Element and line; `None` when unknown.
    pub line: Option<Line>,
    /// How it was made, as proposed or stated.
    pub kind: Kind,
    /// Its pixels.
    pub plane: Plane,
    /// Values at a glance.
    pub stats: Stats,
}

impl Map {
    /// Looks at the values once and proposes a kind.
    pub fn new(
        id: MapId,
        source: Source,
        title: String,
        line: Option<Line>,
        samples: Samples,
    ) -> Result<Self, OutOfMemory> {
        let plane = Plane::new(samples);
        let stats = Stats::of(&plane)?;
        let evidence = Evidence::of(plane.sample_type(), stats.is_whole, stats.low, stats.high);
        let kind = propose(&evidence).kind;
        Ok(Self { id, source, title, line, kind, plane, stats })
    }

    /// What the user calls it: the line, else the page title, else the file name.
    pub fn label(&self) -> String {
        match self.line {
            Some(line) => line.to_string(),
            None if !self.title.is_empty() => self.title.clone(),
            None => self.source.file.clone(),
        }
    }

    /// True for maps whose pixels lie on each other.
    pub fn has_size_of(&self, other: &Map) -> bool {
        self.plane.size() == other.plane.size()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Grid;

    #[test]
    fn blanks_and_saturated_pixels_are_counted_apart() {
        let floats = Samples::F32(Grid::from_vec(2, 2, vec![f32::NAN, 1.0, 3.0, f32::INFINITY]).unwrap());
        let stats = Stats::of(&Plane::new(floats)).unwrap();
        assert_eq!(
            (stats.low, stats.high, stats.median, stats.blank, stats.saturated),
            (Some(1.0), Some(3.0), Some(2.0), 2, 0)
        );
        let counts = Samples::U16(Grid::from_vec(3, 1, vec![65_535, 7, 65_535]).unwrap());
        assert_eq!(Stats::of(&Plane::new(counts)).unwrap().saturated, 2);
    }

    #[test]
    fn a_map_of_blanks_has_no_values() {
        let blank = Samples::F64(Grid::from_vec(1, 2, vec![f64::NAN; 2]).unwrap());
        let stats = Stats::of(&Plane::new(blank)).unwrap();
        assert_eq!((stats.low, stats.high, stats.median, stats.blank), (None, None, None, 2));
    }
}
