//! What a stack of layers gives: each layer's lines, weakened in itself and in what lies above, and the scattered continuum.

use anyhow::{Context, Result};

use crate::paint::Layer;
use crate::palette::ALL;
use crate::xray::{CONTS, NODES, Tables};

/// The tube looks straight down, the detector looks up at 45 degrees: 1 / sin 45.
const OUT: f64 = core::f64::consts::SQRT_2;

/// Share of the scattered radiation that is seen. Chosen, not derived: this simple model of an unfiltered tube scatters
/// more into the detector than a filtered beam and a right angle between tube and detector do.
const SCATTER: f64 = 0.10;

/// A paint with all that its elements do.
struct Medium {
    /// g/cm2 of a full layer.
    full: f64,
    at_nodes: [f64; NODES],
    at_conts: [f64; CONTS],
    at_lines: Vec<f64>,
    scatters: [f64; CONTS],
    /// Its lines: place, and what each node excites.
    gives: Vec<(usize, [f64; NODES])>,
}

/// All paints, ready to be stacked.
pub struct Physics {
    media: Vec<Medium>,
    /// Number of lines; the continuum's points follow them.
    lines: usize,
    /// Photons of the tube at the points of the continuum, with the detector.
    continuum: Vec<f64>,
}

impl Physics {
    /// From the tables.
    pub fn new(tables: &Tables) -> Result<Self> {
        let mut media = Vec::new();
        for paint in ALL {
            let mut medium = Medium {
                full: paint.density * paint.full_um * 1e-4,
                at_nodes: [0.0; NODES],
                at_conts: [0.0; CONTS],
                at_lines: vec![0.0; tables.lines.len()],
                scatters: [0.0; CONTS],
                gives: Vec::new(),
            };
            for &(element, share) in paint.made_of {
                let matter = tables.matter.iter().find(|matter| matter.element == element);
                let matter = matter.with_context(|| format!("{element} is not in xray.txt"))?;
                add(&mut medium.at_nodes, &matter.at_nodes, share);
                add(&mut medium.at_conts, &matter.at_conts, share);
                add(&mut medium.at_lines, &matter.at_lines, share);
                add(&mut medium.scatters, &matter.scatters, share);
                for (place, line) in
                    tables.lines.iter().enumerate().filter(|(_, line)| line.element == element)
                {
                    medium.gives.push((place, line.excited.map(|q| q * share * line.efficiency)));
                }
            }
            media.push(medium);
        }
        let continuum = tables.conts.iter().map(|&(_, photons)| SCATTER * photons).collect();
        Ok(Self { media, lines: tables.lines.len(), continuum })
    }

    /// Lines, then points of the continuum.
    pub fn width(&self) -> usize {
        self.lines + CONTS
    }

    /// Adds what `stack` (from the board upward) gives, in units of the tube.
    pub fn give(&self, stack: &[Layer], out: &mut [f64]) {
        let (mut into, mut back) = ([1.0; NODES], [1.0; CONTS]);
        // Lines that some layer of this stack gives, and how much of each still comes through.
        let mut through = vec![f64::NAN; self.lines];
        for layer in stack {
            for &(place, _) in &self.media[usize::from(layer.paint)].gives {
                through[place] = 1.0;
            }
        }
        for layer in stack.iter().rev() {
            let medium = &self.media[usize::from(layer.paint)];
            let mass = medium.full * layer.amount;
            if mass <= 0.0 {
                continue;
            }
            let within: [f64; NODES] = core::array::from_fn(|n| libm::exp(-medium.at_nodes[n] * mass));
            for &(place, ref excited) in &medium.gives {
                let out_of = OUT * medium.at_lines[place];
                let own = libm::exp(-out_of * mass);
                let made: f64 = (0..NODES)
                    .filter(|&n| excited[n] > 0.0)
                    .map(|n| excited[n] * into[n] * depth(medium.at_nodes[n] + out_of, mass, within[n] * own))
                    .sum();
                out[place] += through[place] * made;
            }
            for n in 0..CONTS {
                let both = (1.0 + OUT) * medium.at_conts[n];
                let own = libm::exp(-both * mass);
                out[self.lines + n] +=
                    back[n] * medium.scatters[n] * self.continuum[n] * depth(both, mass, own);
                back[n] *= own;
            }
            for (place, through) in through.iter_mut().enumerate().filter(|(_, through)| !through.is_nan()) {
                *through *= libm::exp(-OUT * medium.at_lines[place] * mass);
            }
            for (into, within) in into.iter_mut().zip(within) {
                *into *= within;
            }
        }
    }
}

/// Mass from which a line of a layer comes: (1 - exp(-mu m)) / mu, with `left` that exponential.
fn depth(mu: f64, mass: f64, left: f64) -> f64 {
    if mu * mass < 1e-5 { mass } else { (1.0 - left) / mu }
}

fn add(out: &mut [f64], values: &[f64], share: f64) {
    for (out, value) in out.iter_mut().zip(values) {
        *out += share * value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::{LEAD_WHITE, PAPER, VARNISH, VERMILION};

    fn given(stack: &[(u8, f64)]) -> (Vec<f64>, Tables) {
        let tables = Tables::read().unwrap();
        let physics = Physics::new(&tables).unwrap();
        let layers: Vec<Layer> = stack.iter().map(|&(paint, amount)| Layer { paint, amount }).collect();
        let mut out = vec![0.0; physics.width()];
        physics.give(&layers, &mut out);
        (out, tables)
    }

    #[test]
    fn a_thin_layer_gives_in_proportion_and_a_thick_one_no_more() {
        let of = |amount: f64| {
            let (out, tables) = given(&[(LEAD_WHITE.index, amount)]);
            out[tables.line("Pb", "Ma").unwrap()]
        };
        assert!((of(2e-4) / of(1e-4) - 2.0).abs() < 1e-2);
        assert!((of(20.0) / of(10.0) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_cover_weakens_a_line_by_its_own_optical_depth() {
        let (bare, tables) = given(&[(VERMILION.index, 1.0)]);
        let (covered, _) = given(&[(VERMILION.index, 1.0), (VARNISH.index, 1.0)]);
        let share =
            |name: &str| covered[tables.line("Hg", name).unwrap()] / bare[tables.line("Hg", name).unwrap()];
        // 40 um of varnish, 1.1 g/cm3: 0.78 x 230 + 0.12 x 520 = 240 cm2/g at 2.19 keV (C and O between 2 and 3 keV in the tables of
        // Hubbell and Seltzer, 1995, from memory) makes exp(-1.414 x 240 x 0.0044) = 0.22, less what the tube loses.
        assert!((0.18..0.23).contains(&share("Ma")), "{}", share("Ma"));
        assert!(share("La1") > 0.95, "{}", share("La1"));
    }

    #[test]
    fn lead_hides_the_chalk_of_the_paper() {
        let (bare, tables) = given(&[(PAPER.index, 1.0)]);
        let (under, _) = given(&[(PAPER.index, 1.0), (LEAD_WHITE.index, 1.0)]);
        let calcium = tables.line("Ca", "Ka").unwrap();
        assert!(under[calcium] < 0.1 * bare[calcium]);
    }
}
