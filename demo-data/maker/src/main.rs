//! Makes the small example *Tern Sound chart*: eight maps of counts and a photo, the same bytes on every run.

mod chart;
mod figures;
mod land;
mod letters;
mod paint;
mod palette;
mod random;
mod scan;
mod shape;
mod truth;

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use tiff::encoder::{Compression, DeflateLevel, Rational, TiffEncoder, colortype::Gray16};
use tiff::tags::ResolutionUnit;

use crate::paint::{Canvas, HEIGHT, LINES, WIDTH, encode};

/// Fixes every random choice of the example.
const SEED: u64 = 1907;
/// Size of the photo; it shows a little more than the scanned field, so that it is not on the grid by itself.
const PHOTO: (u32, u32) = (316, 236);

fn main() -> Result<()> {
    let mut arguments = std::env::args_os().skip(1);
    let (Some(folder), truth, None) = (arguments.next(), arguments.next(), arguments.next()) else {
        bail!("usage: limner-demo-maker OUTDIR [TRUTHFILE]");
    };
    let folder = PathBuf::from(folder);
    fs::create_dir_all(&folder).with_context(|| format!("cannot make the folder {}", folder.display()))?;

    let canvas = chart::paint();
    for (name, map) in LINES.iter().zip(scan::scan(&canvas, SEED)) {
        let path = folder.join(format!("tern_{name}.tif"));
        write_map(&path, &map).with_context(|| format!("cannot write {}", path.display()))?;
    }
    if let Some(truth) = truth {
        let text = truth::rows(&canvas).join("\n") + "\n";
        fs::write(&truth, text).with_context(|| format!("cannot write {}", truth.display()))?;
    }
    let path = folder.join("photo.png");
    write_photo(&path, &canvas).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
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

/// The photo: twice as fine as the maps, turned by half a degree and shifted, on a grey table.
fn write_photo(path: &Path, canvas: &Canvas) -> Result<()> {
    let (sine, cosine) = (libm::sin(0.009), libm::cos(0.009));
    let mut bytes = Vec::new();
    for row in 0..PHOTO.1 {
        for column in 0..PHOTO.0 {
            let mut light = [0.0; 3];
            for (right, down) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let (x, y) = ((f64::from(column) + right) * 0.25 - 1.9, (f64::from(row) + down) * 0.25 - 2.4);
                let place = (cosine * x + sine * y, cosine * y - sine * x);
                for (total, part) in light.iter_mut().zip(canvas.light_at(place).unwrap_or([0.16; 3])) {
                    *total += part / 4.0;
                }
            }
            bytes.extend(light.map(encode));
        }
    }
    let writer = BufWriter::new(File::create(path)?);
    PngEncoder::new_with_quality(writer, CompressionType::Best, FilterType::Adaptive).write_image(
        &bytes,
        PHOTO.0,
        PHOTO.1,
        ExtendedColorType::Rgb8,
    )?;
    Ok(())
}
