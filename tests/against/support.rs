//! Sections of the reference, comparison by their tolerance, and files of the reference as the core reads them.

#![allow(clippy::disallowed_methods)] // a test reads its files itself

use limner::kind::Kind;
use limner::measure::Signal;
use limner::reading::{Content, Page, read};
use limner::stack::{Map, MapId, Source};
use serde_json::Value;
use std::fmt::{Debug, Display};
use std::path::{Path, PathBuf};

/// A file of the project, named from its root.
pub fn in_project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The bytes of a file of `tests/reference`.
pub fn bytes_of(file: &str) -> Vec<u8> {
    let path = in_project("tests/reference").join(file);
    std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

pub fn json_of(file: &str) -> Value {
    serde_json::from_slice(&bytes_of(file)).expect("the reference is JSON")
}

/// The only map of a file.
pub fn page_of(file: &str) -> Page {
    match read(&bytes_of(file), None).unwrap_or_else(|finding| panic!("{file}: {finding}")).content {
        Content::Maps(mut pages) if pages.len() == 1 => pages.remove(0),
        other => panic!("{file} does not hold one map: {other:?}"),
    }
}

/// A map of counts, whatever the core would propose of its kind.
pub fn counts_of(file: &str) -> (Map, Signal) {
    let page = page_of(file);
    let source = Source { file: file.into(), page: page.number, sha256: String::new() };
    let mut map = Map::new(MapId::new(1), source, page.title, None, page.samples).unwrap();
    map.kind = Kind::Window;
    let signal = Signal::of(&map).unwrap();
    (map, signal)
}

pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

pub fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("{value} is no text"))
}

pub fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list"))
}

/// One section: its values, its tolerance, how much was compared and what differs.
pub struct Section {
    name: String,
    relative: f64,
    absolute: f64,
    rows: usize,
    compared: usize,
    differences: Vec<String>,
}

impl Section {
    /// A section of `values.json`, with its values.
    pub fn of(name: &str) -> (Self, Value) {
        Self::of_file("values.json", name)
    }

    /// A section of another file of values.
    pub fn of_file(file: &str, name: &str) -> (Self, Value) {
        let values = json_of(file)[name].take();
        let tolerance = &values["tolerance"];
        let stated = |kind: &str| tolerance.get(kind).map_or(0.0, number);
        assert!(stated("relative") > 0.0 || stated("absolute") > 0.0, "{name} states no tolerance");
        (Self::exact(name).within(stated("relative"), stated("absolute")), values)
    }

    /// A section in which everything must be the same.
    pub fn exact(name: &str) -> Self {
        let name = name.to_owned();
        Self { name, relative: 0.0, absolute: 0.0, rows: 0, compared: 0, differences: Vec::new() }
    }

    fn within(self, relative: f64, absolute: f64) -> Self {
        Self { relative, absolute, ..self }
    }

    /// One more row is compared.
    pub fn row(&mut self) {
        self.rows += 1;
    }

    fn compare(&mut self, agrees: bool, difference: impl FnOnce() -> String) {
        self.compared += 1;
        if !agrees {
            self.differences.push(difference());
        }
    }

    /// A number against the reference, where null stands for a number that is not there or not finite.
    pub fn near(&mut self, what: impl Display, got: impl Into<Option<f64>>, want: &Value) {
        let got = got.into().filter(|v| v.is_finite());
        let agrees = match (got, want.as_f64()) {
            (None, None) => want.is_null(),
            // A whole number of the reference stands without a point and must be met exactly.
            (Some(got), Some(_)) if want.is_i64() || want.is_u64() => {
                want.as_i64().is_some_and(|want| (got - want as f64).abs() == 0.0)
            }
            (Some(got), Some(want)) => (got - want).abs() <= (self.relative * want.abs()).max(self.absolute),
            _ => false,
        };
        let relative = match (got, want.as_f64()) {
            (Some(got), Some(want)) => format!(", relative {:.1e}", (got - want) / want),
            _ => String::new(),
        };
        self.compare(agrees, || format!("{what}: core {got:?}, reference {want}{relative}"));
    }

    /// Something that must be the same.
    pub fn same<T: PartialEq + Debug>(&mut self, what: impl Display, got: T, want: T) {
        let agrees = got == want;
        self.compare(agrees, || format!("{what}: core {got:?}, reference {want:?}"));
    }

    /// Rasters of numbers: NaN in the same pixels, all others within `relative`.
    pub fn rasters(&mut self, what: impl Display, got: &[f64], want: &[f64], relative: f64) {
        self.same(format!("{what}, pixels"), got.len(), want.len());
        let agrees = |(g, w): (&f64, &f64)| (g.is_nan() && w.is_nan()) || (g - w).abs() <= relative * w.abs();
        let missed: Vec<usize> =
            (0..got.len().min(want.len())).filter(|&i| !agrees((&got[i], &want[i]))).collect();
        self.compare(missed.is_empty(), || {
            let i = missed[0];
            format!(
                "{what}: {} pixels differ; pixel {i}: core {}, reference {}",
                missed.len(),
                got[i],
                want[i]
            )
        });
    }

    /// Pictures: every byte within `steps`.
    pub fn pictures(&mut self, what: impl Display, got: &[u8], want: &[u8], steps: u64) {
        self.same(format!("{what}, bytes"), got.len(), want.len());
        let off = |(g, w): (&u8, &u8)| u64::from(g.abs_diff(*w));
        let largest = got.iter().zip(want).map(off).max().unwrap_or(u64::MAX);
        let missed = got.iter().zip(want).filter(|&pair| off(pair) > steps).count();
        self.compare(missed == 0 && largest <= steps, || {
            format!("{what}: {missed} bytes differ by more than {steps}, the most by {largest}")
        });
    }

    /// Fails with every difference, or when nothing was compared.
    pub fn finish(self) {
        let Self { name, rows, compared, differences, .. } = self;
        println!("{name}: {rows} rows, {compared} comparisons, {} differences", differences.len());
        assert!(rows > 0 && compared >= rows, "{name}: {rows} rows gave {compared} comparisons");
        assert!(differences.is_empty(), "{name}:\n  {}", differences.join("\n  "));
    }
}

/// s <- (1664525 s + 1013904223) mod 2^32, index floor(s n / 2^32).
pub fn congruential(seed: u64) -> impl FnMut(usize) -> usize {
    let mut state = seed;
    move |n| {
        state = (1_664_525 * state + 1_013_904_223) % (1 << 32);
        ((state * n as u64) >> 32) as usize
    }
}
