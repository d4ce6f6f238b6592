//! Makes the small example *Tern Sound chart*: eight maps of counts and a photo, the same bytes on every run;
//! and beside them what is true of it.

mod chart;
mod figures;
mod land;
mod letters;
mod paint;
mod palette;
mod passages;
mod photo;
mod random;
mod scan;
mod shape;
mod truth;

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use tiff::encoder::{Compression, DeflateLevel, Rational, TiffEncoder, colortype::Gray16};
use tiff::tags::ResolutionUnit;

use crate::paint::{HEIGHT, LINES, WIDTH};

/// Fixes every random choice of the example.
const SEED: u64 = 1907;
/// Size of the photo; it shows a little more than the scanned field, so that it is not on the grid by itself.
const PHOTO: (u32, u32) = (316, 236);

fn main() -> Result<()> {
    let mut arguments = std::env::args_os().skip(1);
    let (Some(folder), Some(truth), None) = (arguments.next(), arguments.next(), arguments.next()) else {
        bail!("usage: limner-demo-maker OUTDIR TRUTHDIR");
    };
    let (folder, truth) = (PathBuf::from(folder), PathBuf::from(truth));
    fs::create_dir_all(&folder).with_context(|| format!("cannot make the folder {}", folder.display()))?;

    let canvas = chart::paint();
    for (name, map) in LINES.iter().zip(scan::scan(&canvas, SEED)) {
        let path = folder.join(format!("tern_{name}.tif"));
        write_map(&path, &map).with_context(|| format!("cannot write {}", path.display()))?;
    }
    let path = folder.join("photo.png");
    photo::write(&path, &canvas).with_context(|| format!("cannot write {}", path.display()))?;
    truth::write(&truth, &canvas)
}

/// One map as a 16-bit TIFF, deflated, 20 points to the centimetre.
fn write_map(path: &Path, map: &[u16]) -> Result<()> {
    let mut encoder = TiffEncoder::new(BufWriter::new(File::create(path)?))?
        .with_compression(Compression::Deflate(DeflateLevel::Best));
    let mut image = encoder.new_image::<Gray16>(u32::try_from(WIDTH)?, u32::try_from(HEIGHT)?)?;
    image.resolution(ResolutionUnit::Centimeter, Rational { n: 20, d: 1 });
    image.write_data(map)?;
    Ok(())
}
