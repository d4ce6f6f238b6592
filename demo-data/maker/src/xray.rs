//! Atomic data of `xray.txt` (made by `tables.py`): which lines an element gives, what is absorbed, what is scattered.

use anyhow::{Context, Result, ensure};

/// Energies of the tube that excite, with their photons.
pub const NODES: usize = 13;
/// Energies between which the scattered continuum is drawn.
pub const CONTS: usize = 15;

/// A line of an element.
#[derive(Debug, Clone)]
pub struct Line {
    pub element: String,
    /// K, L or M.
    pub family: String,
    /// Its name within the family ("La1").
    pub name: String,
    pub kev: f64,
    /// Share of the photons that passes 10 mm of air and the window and stays in the detector.
    pub efficiency: f64,
    /// Escape counts for each count of the line.
    pub escape: f64,
    /// cm2/g of the element that ends in this line, times the photons, at each node.
    pub excited: [f64; NODES],
}

/// What matter does to X-rays.
#[derive(Debug, Clone)]
pub struct Matter {
    pub element: String,
    /// cm2/g at the nodes, at the continuum's energies, at the lines.
    pub at_nodes: Vec<f64>,
    pub at_conts: Vec<f64>,
    pub at_lines: Vec<f64>,
    /// Scattered back, cm2/g, at the continuum's energies.
    pub scatters: Vec<f64>,
}

/// All of it.
pub struct Tables {
    pub lines: Vec<Line>,
    pub matter: Vec<Matter>,
    /// Energy of each point of the continuum, and what the tube and the detector make of it.
    pub conts: Vec<(f64, f64)>,
}

impl Tables {
    /// Reads the tables that the program carries.
    pub fn read() -> Result<Self> {
        let (mut photons, mut out) =
            (Vec::new(), Self { lines: Vec::new(), matter: Vec::new(), conts: Vec::new() });
        for row in include_str!("xray.txt").lines().filter(|row| !row.starts_with('#')) {
            let words: Vec<&str> = row.split(' ').collect();
            let numbers = |from: usize| -> Result<Vec<f64>> {
                words[from..].iter().map(|word| word.parse().with_context(|| row.to_owned())).collect()
            };
            match words[0] {
                "node" => photons.push(numbers(1)?[1]),
                "cont" => out.conts.push((numbers(1)?[0], numbers(1)?[1])),
                "line" => {
                    let values = numbers(4)?;
                    ensure!(values.len() == 3 + NODES && photons.len() == NODES, "{row}");
                    let mut excited = [0.0; NODES];
                    for ((out, value), photons) in excited.iter_mut().zip(&values[3..]).zip(&photons) {
                        *out = value * photons;
                    }
                    out.lines.push(Line {
                        element: words[1].to_owned(),
                        family: words[2].to_owned(),
                        name: words[3].to_owned(),
                        kev: values[0],
                        efficiency: values[1],
                        escape: values[2],
                        excited,
                    });
                }
                "mu" => {
                    let values = numbers(2)?;
                    ensure!(values.len() == NODES + CONTS + out.lines.len(), "{row}");
                    out.matter.push(Matter {
                        element: words[1].to_owned(),
                        at_nodes: values[..NODES].to_vec(),
                        at_conts: values[NODES..NODES + CONTS].to_vec(),
                        at_lines: values[NODES + CONTS..].to_vec(),
                        scatters: Vec::new(),
                    });
                }
                "scatter" => {
                    let element = words[1];
                    let matter = out.matter.iter_mut().find(|matter| matter.element == element);
                    matter.with_context(|| row.to_owned())?.scatters = numbers(2)?;
                }
                other => anyhow::bail!("xray.txt: {other}"),
            }
        }
        ensure!(out.conts.len() == CONTS, "xray.txt: {} points of the continuum", out.conts.len());
        Ok(out)
    }

    /// The lines of a family, by their places.
    pub fn family<'a>(&'a self, element: &'a str, family: &'a str) -> impl Iterator<Item = usize> + 'a {
        (0..self.lines.len())
            .filter(move |&i| self.lines[i].element == element && self.lines[i].family == family)
    }

    /// A line by its name.
    pub fn line(&self, element: &str, name: &str) -> Option<usize> {
        self.lines.iter().position(|line| line.element == element && line.name == name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_lie_where_handbooks_have_them() {
        // Bearden (1967) by way of the usual cards, from memory: Fe Kα 6.40, Cu Kα 8.05, Pb Lα1 10.55, Hg Lα1 9.99, Ba Lα1 4.47.
        let tables = Tables::read().unwrap();
        for (element, name, kev) in [
            ("Fe", "Ka", 6.40),
            ("Cu", "Ka", 8.05),
            ("Pb", "La1", 10.55),
            ("Hg", "La1", 9.99),
            ("Ba", "La1", 4.47),
        ] {
            let line = &tables.lines[tables.line(element, name).unwrap()];
            assert!((line.kev - kev).abs() < 0.015, "{element} {name} {}", line.kev);
        }
    }

    #[test]
    fn air_takes_what_it_should() {
        // One centimetre of air, METHODS of the trade: S 0.66, K 0.85, Fe 0.98 (xraydb, as in the list of pigments), the window a little more.
        let tables = Tables::read().unwrap();
        for (element, share) in [("S", 0.66), ("K", 0.85), ("Fe", 0.98)] {
            let line = &tables.lines[tables.line(element, "Ka").unwrap()];
            assert!(line.efficiency < share + 0.01 && line.efficiency > share - 0.08, "{element}");
        }
    }
}
