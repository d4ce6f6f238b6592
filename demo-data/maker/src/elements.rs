//! What of each element lies in a passage, and what the maps can say of it.

use std::fmt::Write as _;

use anyhow::Result;

use crate::maps::MAPS;
use crate::paint::{HEIGHT, WIDTH};
use crate::palette::ALL;
use crate::scan::Given;
use crate::spectrum::Detector;
use crate::truth::rounded;
use crate::xray::Tables;

/// Everything that makes mean counts of a window.
pub struct Means<'a> {
    pub tables: &'a Tables,
    pub detector: &'a Detector,
    pub given: &'a Given,
}

/// Mean counts of a point in one map's window.
#[derive(Clone, Copy, Default)]
struct Part {
    own: f64,
    others: f64,
    continuum: f64,
    /// The strongest of the others: a line's place.
    strongest: Option<(usize, f64)>,
}

impl Means<'_> {
    /// The mean of what the points of a mask give.
    pub fn of(&self, mask: &[bool]) -> Vec<f64> {
        let mut out = vec![0.0; self.given.width];
        let mut count = 0.0;
        for point in (0..WIDTH * HEIGHT).filter(|&point| mask[point]) {
            count += 1.0;
            for (out, value) in out.iter_mut().zip(self.given.of(point)) {
                *out += value;
            }
        }
        out.iter_mut().for_each(|value| *value /= count);
        out
    }

    fn part(&self, given: &[f64], map: usize) -> Result<Part> {
        let mapped = &MAPS[map];
        let windows = mapped.windows(self.tables)?;
        let mut out = Part::default();
        for (place, (shape, times)) in self.detector.shapes.iter().zip(given).enumerate() {
            let inside = windows
                .iter()
                .flat_map(|&(first, last)| first..last)
                .filter_map(|channel| shape.values.get(channel.checked_sub(shape.first)?))
                .sum::<f64>()
                * times;
            match self.tables.lines.get(place) {
                Some(line) if line.element == mapped.element => out.own += inside,
                Some(_) => {
                    out.others += inside;
                    if out.strongest.is_none_or(|(_, most)| inside > most) {
                        out.strongest = Some((place, inside));
                    }
                }
                None => out.continuum += inside,
            }
        }
        // Sums of two photons count as others; no line of their own is named.
        out.others +=
            windows.iter().map(|&(first, last)| self.detector.sums(given, first, last)).sum::<f64>();
        Ok(out)
    }
}

/// A row for each element: `"As": {"state": ..., "why": ..., "maps": {"As-K": [own, others, continuum]}}`.
pub fn rows(means: &Means<'_>, here: &[f64], bare: &[f64], pixels: usize, paints: &[u8]) -> Result<String> {
    let mut elements: Vec<&str> = Vec::new();
    for map in &MAPS {
        if !elements.contains(&map.element) && map.element != "Ar" {
            elements.push(map.element);
        }
    }
    let mut out = Vec::new();
    for element in elements {
        let lies =
            paints.iter().any(|&paint| ALL[usize::from(paint)].made_of.iter().any(|(of, _)| *of == element));
        let (mut maps, mut best) = (String::new(), (false, String::from("nothing beyond the bare paper")));
        let (mut could, mut is_first) = (false, true);
        for (index, map) in MAPS.iter().enumerate().filter(|(_, map)| map.element == element) {
            let (part, below) = (means.part(here, index)?, means.part(bare, index)?);
            let comma = if is_first { "" } else { ", " };
            is_first = false;
            let [own, others, continuum] = [part.own, part.others, part.continuum].map(rounded);
            write!(maps, r#"{comma}"{}": [{own}, {others}, {continuum}]"#, map.name())?;
            let more = part.own - below.own;
            // Five standard errors of the passage's mean, and no less than a tenth of what others put there.
            let error = ((part.own + part.others + part.continuum) / pixels as f64).sqrt();
            let foreign = part.others - below.others;
            let name = part.strongest.map_or_else(String::new, |(place, _)| {
                let line = &means.tables.lines[place];
                format!("{} {} falls into its window", line.element, line.name)
            });
            if lies && more > 5.0 * error && more > 0.1 * foreign && !best.0 {
                best = (true, String::new());
            } else if lies && !best.0 {
                best.1 = if foreign > more.max(5.0 * error) {
                    name.clone()
                } else {
                    "too weak, or too much lies over it".to_owned()
                };
            }
            let total = |part: &Part| part.own + part.others + part.continuum;
            if !lies
                && total(&part) > total(&below)
                && foreign > 3.0 * error
                && foreign > 0.03 * (below.own + below.others + below.continuum)
            {
                could = true;
                best.1 = name;
            }
        }
        let state = match (lies, best.0, could) {
            (true, true, _) => "present",
            (true, false, _) | (false, _, true) => "cannot be judged",
            (false, _, false) => "not",
        };
        out.push(format!(
            r#"      "{element}": {{"lies_there": {lies}, "state": "{state}", "why": "{}", "maps": {{{maps}}}}}"#,
            if state == "not" { "" } else { best.1.as_str() }
        ));
    }
    Ok(out.join(",\n"))
}
