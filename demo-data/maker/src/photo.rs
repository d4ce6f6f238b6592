//! The photo: twice as fine as the maps, turned by half a degree and shifted, on a grey table.

use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use anyhow::Result;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};

use crate::PHOTO;
use crate::paint::{Canvas, encode};
use crate::shape::Point;

/// Where a place of the photo, in its pixels, lies on the sheet, in units of the drawing.
pub fn place((u, v): Point) -> Point {
    let (sine, cosine) = (libm::sin(0.009), libm::cos(0.009));
    let (x, y) = (u * 0.125 - 1.9, v * 0.125 - 2.4);
    (cosine * x + sine * y, cosine * y - sine * x)
}

/// Writes it as PNG.
pub fn write(path: &Path, canvas: &Canvas) -> Result<()> {
    let mut bytes = Vec::new();
    for row in 0..PHOTO.1 {
        for column in 0..PHOTO.0 {
            let mut light = [0.0; 3];
            for (right, down) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let place = place((f64::from(column) + right, f64::from(row) + down));
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
