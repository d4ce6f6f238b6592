//! From counted channels to maps: sums over energy windows, and peak areas of a linear fit.

use anyhow::{Context, Result, ensure};

use crate::layers::Physics;
use crate::paint::{Layer, Paint};
use crate::palette::{LEAD_WHITE, VERMILION};
use crate::spectrum::{CHANNELS, Detector, FIRST_KEV, STEP_KEV, middle_kev, width_kev};
use crate::xray::{CONTS, Tables};

/// A mapped line.
pub struct Mapped {
    pub element: &'static str,
    /// The family, with the member where only that is counted ("Lb").
    pub family: &'static str,
    /// The line under its window, and whose area the fit gives.
    pub main: &'static str,
    /// A line under a second window whose counts are added; empty for none.
    pub also: &'static str,
}

const fn mapped(element: &'static str, family: &'static str, main: &'static str) -> Mapped {
    Mapped { element, family, main, also: "" }
}

/// The maps. Of lead the windows of Lα and Lβ are added, since Lα alone is one peak with As Kα; barium is counted at Lβ alone,
/// since its Lα is one peak with Ti Kα.
pub const MAPS: [Mapped; 22] = [
    mapped("P", "K", "Ka"),
    mapped("S", "K", "Ka"),
    mapped("Ar", "K", "Ka"),
    mapped("K", "K", "Ka"),
    mapped("Ca", "K", "Ka"),
    mapped("Ti", "K", "Ka"),
    mapped("Cr", "K", "Ka"),
    mapped("Mn", "K", "Ka"),
    mapped("Fe", "K", "Ka"),
    mapped("Co", "K", "Ka"),
    mapped("Ni", "K", "Ka"),
    mapped("Cu", "K", "Ka"),
    mapped("Zn", "K", "Ka"),
    mapped("As", "K", "Ka"),
    mapped("Sn", "K", "Ka"),
    mapped("Ba", "Lb", "Lb1"),
    mapped("Au", "L", "La1"),
    mapped("Hg", "L", "La1"),
    mapped("Hg", "M", "Ma"),
    Mapped { element: "Pb", family: "L", main: "La1", also: "Lb1" },
    mapped("Pb", "M", "Ma"),
    mapped("Bi", "L", "La1"),
];

/// Families that the fit knows beside those of the maps.
const OTHERS: [(&str, &str, &str); 4] =
    [("Cl", "K", "Ka"), ("Sn", "L", "La1"), ("Au", "M", "Ma"), ("Bi", "M", "Ma")];

impl Mapped {
    /// "Pb-L", as in the file's name.
    pub fn name(&self) -> String {
        format!("{}-{}", self.element, self.family)
    }

    /// Its windows: first channel and the one behind the last, 0.6 widths to both sides of the line.
    pub fn windows(&self, tables: &Tables) -> Result<Vec<(usize, usize)>> {
        let names = [self.main, self.also].into_iter().filter(|name| !name.is_empty());
        names.map(|name| window(tables, self.element, name)).collect()
    }
}

fn window(tables: &Tables, element: &str, name: &str) -> Result<(usize, usize)> {
    let line = tables.line(element, name).context("no such line")?;
    let kev = tables.lines[line].kev;
    let half = 0.6 * width_kev(kev);
    let inside = |channel: &usize| (middle_kev(*channel) - kev).abs() <= half;
    let first = (0..CHANNELS).find(inside).context("a window without a channel")?;
    Ok((first, first + (first..CHANNELS).take_while(inside).count()))
}

/// Edges of a window in keV.
pub fn window_kev((first, last): (usize, usize)) -> (f64, f64) {
    (FIRST_KEV + first as f64 * STEP_KEV, FIRST_KEV + last as f64 * STEP_KEV)
}

/// The fit: least squares with one weight for each channel over the whole scan, so that each area is a fixed weighted
/// sum of the channels. It takes all lines of a family in the ratio of a thin layer, those of lead and mercury in that of a
/// full layer of lead white and of vermilion; no other layer keeps these.
pub struct Fit {
    /// For each map the weight of each channel.
    rows: Vec<Vec<f64>>,
}

impl Fit {
    /// For a scan of this mean spectrum, on a sheet whose bare support gives `bare`.
    pub fn new(
        tables: &Tables,
        physics: &Physics,
        detector: &Detector,
        mean: &[f64],
        bare: &[f64],
    ) -> Result<Self> {
        let thick = |paint: &Paint| {
            let mut given = vec![0.0; physics.width()];
            physics.give(&[Layer { paint: paint.index, amount: 1.0 }], &mut given);
            given
        };
        let (lead, mercury) = (thick(&LEAD_WHITE), thick(&VERMILION));
        let mut shapes: Vec<Vec<f64>> = Vec::new();
        let families = MAPS.iter().map(|map| (map.element, &map.family[..1], map.main)).chain(OTHERS);
        for (element, family, main) in families {
            let mut shape = vec![0.0; CHANNELS];
            let main = tables.line(element, main).context("no such line")?;
            let strength = |line: usize| match element {
                "Pb" => lead[line],
                "Hg" => mercury[line],
                _ => tables.lines[line].excited.iter().sum::<f64>() * tables.lines[line].efficiency,
            };
            for line in tables.family(element, family) {
                detector.shapes[line].add(strength(line) / strength(main), &mut shape);
            }
            shapes.push(shape);
        }
        // What the bare sheet scatters, bent by a parabola below the tube's lines; these and what lies above for themselves.
        let lines = tables.lines.len();
        for power in 0..5 {
            let mut shape = vec![0.0; CHANNELS];
            for n in 0..11 {
                detector.shapes[lines + n].add(bare[lines + n], &mut shape);
            }
            for (channel, value) in shape.iter_mut().enumerate() {
                *value *= libm::pow((middle_kev(channel) - 6.0) / 6.0, f64::from(power)) / bare[lines + 6];
            }
            shapes.push(shape);
        }
        for n in [10, 11, 12, 13, 14] {
            let mut shape = vec![0.0; CHANNELS];
            detector.shapes[lines + n].add(1.0, &mut shape);
            shapes.push(shape);
        }
        ensure!(lines + CONTS == detector.shapes.len(), "lines and continuum");
        let weights: Vec<f64> = mean.iter().map(|mean| 1.0 / (mean + 0.05)).collect();
        let count = shapes.len();
        let mut normal = vec![vec![0.0; count]; count];
        for (i, row) in normal.iter_mut().enumerate() {
            for (j, value) in row.iter_mut().enumerate() {
                *value = (0..CHANNELS).map(|c| weights[c] * shapes[i][c] * shapes[j][c]).sum();
            }
        }
        let mut right: Vec<Vec<f64>> =
            shapes.iter().map(|shape| shape.iter().zip(&weights).map(|(s, w)| s * w).collect()).collect();
        solve(&mut normal, &mut right)?;
        right.truncate(MAPS.len());
        Ok(Self { rows: right })
    }

    /// The area of a map's line in these counts.
    pub fn area(&self, map: usize, counts: &[u32]) -> f64 {
        self.rows[map].iter().zip(counts).map(|(weight, &count)| weight * f64::from(count)).sum()
    }
}

/// Gauss's elimination with the largest element of each column first; `right` becomes the solution for all its columns.
fn solve(matrix: &mut [Vec<f64>], right: &mut [Vec<f64>]) -> Result<()> {
    let count = matrix.len();
    for column in 0..count {
        let best =
            (column..count).max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()));
        let best = best.context("an empty matrix")?;
        matrix.swap(column, best);
        right.swap(column, best);
        let pivot = matrix[column][column];
        ensure!(pivot.abs() > 0.0, "shapes that no fit can tell apart");
        for row in 0..count {
            if row == column {
                continue;
            }
            let times = matrix[row][column] / pivot;
            let (from, to) = (matrix[column].clone(), &mut matrix[row]);
            to.iter_mut().zip(&from).for_each(|(to, from)| *to -= times * from);
            let (from, to) = (right[column].clone(), &mut right[row]);
            to.iter_mut().zip(&from).for_each(|(to, from)| *to -= times * from);
        }
    }
    for (row, values) in right.iter_mut().enumerate() {
        values.iter_mut().for_each(|value| *value /= matrix[row][row]);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fit_gives_back_what_it_was_made_of() {
        let tables = Tables::read().unwrap();
        let detector = Detector::new(&tables);
        let bare = vec![1.0; tables.lines.len() + CONTS];
        let fit = Fit::new(&tables, &Physics::new(&tables).unwrap(), &detector, &vec![1.0; CHANNELS], &bare)
            .unwrap();
        // Arsenic in the ratio of a thin layer, 1e6 counts in Kα, on an even continuum of the bare sheet.
        let mut given = vec![0.0; tables.lines.len() + CONTS];
        let alpha = tables.line("As", "Ka").unwrap();
        let strength =
            |line: usize| tables.lines[line].excited.iter().sum::<f64>() * tables.lines[line].efficiency;
        for line in tables.family("As", "K") {
            given[line] = 1e6 * strength(line) / strength(alpha);
        }
        let mut mean = vec![0.0; CHANNELS];
        for (shape, times) in detector.shapes.iter().zip(&given) {
            shape.add(*times, &mut mean);
        }
        let counts: Vec<u32> = mean.iter().map(|&mean| libm::floor(mean + 0.5) as u32).collect();
        for (index, map) in MAPS.iter().enumerate() {
            let wanted = if map.element == "As" { 1e6 } else { 0.0 };
            let area = fit.area(index, &counts);
            assert!((area - wanted).abs() < 2e3, "{} {area}", map.name());
        }
    }
}
