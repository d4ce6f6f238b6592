//! The files: maps as TIFF, sums of spectra as text.

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::BufWriter;
use std::path::Path;

use anyhow::{Context, Result};
use tiff::encoder::colortype::{ColorType, Gray8, Gray16, GrayI16};
use tiff::encoder::{Compression, DeflateLevel, Rational, TiffEncoder, TiffValue};
use tiff::tags::{ResolutionUnit, Tag};

use crate::maps::{MAPS, window_kev};
use crate::paint::{HEIGHT, WIDTH};
use crate::spectrum::{CHANNELS, middle_kev};

/// The map of the windows that bears a wrong name, and the one whose pixels it holds.
const WRONGLY_NAMED: (&str, &str) = ("Cr-K", "Mn-K");
/// The map of the windows that is a display copy.
const STRETCHED: &str = "S-K";

/// Counts in energy windows, 16-bit.
pub fn windows(folder: &Path, maps: &[Vec<u32>], windows: &[Vec<(usize, usize)>]) -> Result<()> {
    for (index, map) in MAPS.iter().enumerate() {
        let name = map.name();
        let wanted = if name == WRONGLY_NAMED.0 { WRONGLY_NAMED.1 } else { name.as_str() };
        let from = MAPS.iter().position(|map| map.name() == wanted).context("no such map")?;
        let path = folder.join(format!("tern_{name}.tif"));
        let kev: Vec<String> = windows[index]
            .iter()
            .map(|&window| {
                let (low, high) = window_kev(window);
                format!("{low:.2} to {high:.2}")
            })
            .collect();
        let kev = kev.join(" and ");
        if name == STRETCHED {
            save::<Gray8>(
                &path,
                &stretched(&maps[from]),
                &format!("{} {}, for the screen", map.element, map.family),
            )?;
        } else {
            let counts: Vec<u16> =
                maps[from].iter().map(|&count| u16::try_from(count).unwrap_or(u16::MAX)).collect();
            save::<Gray16>(&path, &counts, &format!("{} {}, counts {kev} keV", map.element, map.family))?;
        }
    }
    Ok(())
}

/// Peak areas of the fit, signed 16-bit.
pub fn fitted(folder: &Path, maps: &[Vec<f64>]) -> Result<()> {
    for (map, areas) in MAPS.iter().zip(maps) {
        let path = folder.join(format!("tern_{}.tif", map.name()));
        let whole: Vec<i16> =
            areas.iter().map(|&area| libm::floor(area + 0.5).clamp(-32768.0, 32767.0) as i16).collect();
        save::<GrayI16>(&path, &whole, &format!("{} {}, fitted", map.element, map.family))?;
    }
    Ok(())
}

/// Counts from the 1st to the 995th of a thousand on 0 to 255.
fn stretched(counts: &[u32]) -> Vec<u8> {
    let mut sorted = counts.to_vec();
    sorted.sort_unstable();
    let at = |share: f64| f64::from(sorted[(share * (sorted.len() - 1) as f64) as usize]);
    let (low, high) = (at(0.001), at(0.995));
    counts
        .iter()
        .map(|&count| {
            libm::floor(((f64::from(count) - low) / (high - low)).clamp(0.0, 1.0) * 255.0 + 0.5) as u8
        })
        .collect()
}

/// One map as a TIFF, deflated, 20 points to the centimetre.
fn save<C: ColorType>(path: &Path, map: &[C::Inner], text: &str) -> Result<()>
where
    [C::Inner]: TiffValue,
{
    let write = || -> Result<()> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        let mut encoder = TiffEncoder::new(BufWriter::new(File::create(path)?))?
            .with_compression(Compression::Deflate(DeflateLevel::Best));
        let mut image = encoder.new_image::<C>(u32::try_from(WIDTH)?, u32::try_from(HEIGHT)?)?;
        image.resolution(ResolutionUnit::Centimeter, Rational { n: 20, d: 1 });
        image.encoder().write_tag(Tag::ImageDescription, text)?;
        image.write_data(map)?;
        Ok(())
    };
    write().with_context(|| format!("cannot write {}", path.display()))
}

/// The sum of the spectra of a passage.
pub struct Sum<'a> {
    name: &'static str,
    mask: &'a [bool],
    counts: Vec<u64>,
}

impl<'a> Sum<'a> {
    /// Of the points of a mask.
    pub fn new(name: &'static str, mask: &'a [bool]) -> Self {
        Self { name, mask, counts: vec![0; CHANNELS] }
    }

    /// Adds a point where it lies in the mask.
    pub fn add(&mut self, point: usize, counts: &[u32]) {
        if self.mask[point] {
            self.counts.iter_mut().zip(counts).for_each(|(sum, &count)| *sum += u64::from(count));
        }
    }
}

/// Two columns, keV and counts.
pub fn spectra(folder: &Path, sums: &[Sum<'_>]) -> Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("cannot make the folder {}", folder.display()))?;
    for sum in sums {
        let mut text = String::from("keV\tcounts\n");
        for (channel, count) in sum.counts.iter().enumerate() {
            writeln!(text, "{:.2}\t{count}", middle_kev(channel))?;
        }
        let path = folder.join(format!("{}-sum.txt", sum.name));
        fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    }
    Ok(())
}
