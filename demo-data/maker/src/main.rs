//! Makes the example *Tern Sound chart*: one scan as maps of energy windows and as maps of fitted peak areas, a photo, spectra
//! of two passages, the same bytes on every run; and beside them what is true of it.

mod chart;
mod elements;
mod figures;
mod land;
mod layers;
mod letters;
mod maps;
mod paint;
mod palette;
mod passages;
mod photo;
mod random;
mod scan;
mod shape;
mod spectrum;
mod truth;
mod write;
mod xray;

use std::path::PathBuf;

use anyhow::{Context, Result, bail};

use crate::elements::Means;
use crate::layers::Physics;
use crate::maps::{Fit, MAPS};
use crate::paint::{HEIGHT, WIDTH};
use crate::spectrum::{CHANNELS, Detector};
use crate::xray::Tables;

/// Fixes every random choice of the example.
const SEED: u64 = 1907;
/// Size of the photo; it shows a little more than the scanned field, so that it is not on the grid by itself.
const PHOTO: (u32, u32) = (632, 472);

fn main() -> Result<()> {
    let mut arguments = std::env::args_os().skip(1);
    let (Some(folder), seed, None) = (arguments.next(), arguments.next(), arguments.next()) else {
        bail!("usage: limner-demo-maker FOLDER [SEED]");
    };
    let folder = PathBuf::from(folder);
    let seed = match seed {
        Some(seed) => seed.to_string_lossy().parse().context("the seed is a whole number")?,
        None => SEED,
    };

    let tables = Tables::read()?;
    let (physics, detector) = (Physics::new(&tables)?, Detector::new(&tables));
    let canvas = chart::paint();
    let given = scan::give(&canvas, &tables, &physics);
    let means = Means { tables: &tables, detector: &detector, given: &given };

    let masks = truth::masks(&canvas);
    let mask = |name: &str| {
        masks
            .iter()
            .find(|(passage, ..)| passage.name == name)
            .map(|(_, _, inner)| inner)
            .context("no such passage")
    };
    let everywhere = means.of(&vec![true; WIDTH * HEIGHT]);
    let mut mean = vec![0.0; CHANNELS];
    detector.answer(&everywhere, &mut mean);
    let fit = Fit::new(&tables, &physics, &detector, &mean, &means.of(mask("support")?))?;

    let windows = MAPS.iter().map(|map| map.windows(&tables)).collect::<Result<Vec<_>>>()?;
    let mut counted = vec![vec![0_u32; WIDTH * HEIGHT]; MAPS.len()];
    let mut fitted = vec![vec![0.0; WIDTH * HEIGHT]; MAPS.len()];
    let mut sums: Vec<write::Sum<'_>> = ["frame-red", "smalt"]
        .into_iter()
        .map(|name| Ok(write::Sum::new(name, mask(name)?)))
        .collect::<Result<_>>()?;
    scan::count(&given, &detector, seed, |point, counts| {
        for (map, windows) in windows.iter().enumerate() {
            counted[map][point] = windows.iter().flat_map(|&(first, last)| &counts[first..last]).sum();
            fitted[map][point] = fit.area(map, counts);
        }
        sums.iter_mut().for_each(|sum| sum.add(point, counts));
    });

    write::windows(&folder.join("tern-sound"), &counted, &windows)?;
    write::fitted(&folder.join("tern-sound-fitted"), &fitted)?;
    write::spectra(&folder.join("spectra"), &sums)?;
    let path = folder.join("tern-sound/photo.png");
    photo::write(&path, &canvas).with_context(|| format!("cannot write {}", path.display()))?;
    truth::write(&folder.join("truth"), &canvas, &means)
}
