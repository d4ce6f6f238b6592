//! Grey pictures as TIFF 6.0: one page, little-endian, not compressed, with the step of the scan as resolution and the record
//! as description.

use crate::PROGRAM;
use crate::geometry::Step;
use crate::grid::try_vec;
use crate::notice::Fault;
use std::io::Cursor;
use tiff::TiffError;
use tiff::encoder::colortype::{ColorType, Gray8, Gray32Float};
use tiff::encoder::{Rational, TiffEncoder, TiffValue};
use tiff::tags::{ResolutionUnit, Tag};

/// PageName (TIFF 6.0, page 55).
const PAGE_NAME: Tag = Tag::Unknown(285);

/// What stands in a file beside its pixels.
pub struct About<'a> {
    /// Pixels in a row and rows.
    pub size: (u32, u32),
    /// Between pixels; `None` where it is not known.
    pub step: Option<Step>,
    /// What is shown.
    pub name: &'a str,
    /// The record, as JSON.
    pub record: &'a str,
}

/// A picture of 32-bit floats. Blank pixels are NaN, and a tag says so to programs that know it.
///
/// # Errors
/// No memory; no pixels.
pub fn of_floats(about: &About<'_>, pixels: &[f32]) -> Result<Vec<u8>, Fault> {
    written::<Gray32Float>(about, pixels, true)
}

/// A picture of 8 bits.
///
/// # Errors
/// As [`of_floats`].
pub fn of_bytes(about: &About<'_>, pixels: &[u8]) -> Result<Vec<u8>, Fault> {
    written::<Gray8>(about, pixels, false)
}

fn written<C: ColorType>(about: &About<'_>, pixels: &[C::Inner], has_blank: bool) -> Result<Vec<u8>, Fault>
where
    [C::Inner]: TiffValue,
{
    let fault = |e: TiffError| Fault::new("not_written", format!("The file could not be written: {e}."));
    let (width, height) = about.size;
    if pixels.is_empty() {
        return Err(Fault::new("not_written", "There is no pixel to write."));
    }
    let record = ascii_json(about.record);
    let room = std::mem::size_of_val(pixels) as u64 + record.len() as u64 + 65_536;
    let bytes: Vec<u8> = try_vec(room)?;
    let mut file = Cursor::new(bytes);
    let mut encoder = TiffEncoder::new(&mut file).map_err(fault)?;
    let mut image = encoder.new_image::<C>(width, height).map_err(fault)?;
    if let Some(step) = about.step {
        image.resolution_unit(ResolutionUnit::Centimeter);
        image.x_resolution(per_centimetre(step.x_um()));
        image.y_resolution(per_centimetre(step.y_um()));
    }
    let tags = image.encoder();
    tags.write_tag(Tag::ImageDescription, record.as_str()).map_err(fault)?;
    tags.write_tag(PAGE_NAME, ascii(about.name).as_str()).map_err(fault)?;
    tags.write_tag(Tag::Software, PROGRAM).map_err(fault)?;
    if has_blank {
        tags.write_tag(Tag::GdalNodata, "nan").map_err(fault)?;
    }
    image.write_data(pixels).map_err(fault)?;
    Ok(file.into_inner())
}

/// Pixels in a centimetre as a fraction of two numbers of 32 bits: exact for every step of up to five decimals of a
/// micrometre, else right to a billionth of the step or a hundred-thousandth of a micrometre.
fn per_centimetre(step_um: f64) -> Rational {
    let largest = f64::from(u32::MAX);
    let mut best = Rational { n: 10_000, d: 1 };
    for shift in 0..=5u32 {
        let scale = 10u32.pow(shift);
        let below = step_um * f64::from(scale);
        if below.round() < 1.0 {
            continue;
        }
        if below.round() > largest {
            break;
        }
        best = Rational { n: 10_000 * scale, d: below.round() as u32 };
        if (below - below.round()).abs() <= below * 1e-12 {
            break;
        }
    }
    best
}

/// The format holds 7 bits: other characters of JSON stand as `\uXXXX`, which means the same.
pub fn ascii_json(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if c.is_ascii() {
            out.push(c);
            continue;
        }
        let mut units = [0u16; 2];
        for unit in c.encode_utf16(&mut units) {
            out.push_str(&format!("\\u{unit:04x}"));
        }
    }
    out
}

/// A name in 7 bits: Greek letters of lines as Latin ones, all else that does not fit as an underscore.
fn ascii(name: &str) -> String {
    let plain = |c: char| match c {
        'α' => 'a',
        'β' => 'b',
        'γ' => 'g',
        c if c.is_ascii() && !c.is_control() => c,
        _ => '_',
    };
    name.chars().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_becomes_an_exact_fraction() {
        for (step, n, d) in [
            (500.0, 10_000, 500),
            (12.5, 100_000, 125),
            (62.125, 10_000_000, 62_125),
            (0.01, 1_000_000, 1),
            (1e6, 10_000, 1_000_000),
        ] {
            let Rational { n: got_n, d: got_d } = per_centimetre(step);
            assert_eq!((got_n, got_d), (n, d), "{step}");
        }
        for step in [100.0 / 3.0, 1e6 / 7.0, 0.012_345_678, 42_949.672_9] {
            let Rational { n, d } = per_centimetre(step);
            let back = 10_000.0 * f64::from(d) / f64::from(n);
            assert!((back - step).abs() <= (step * 1e-9f64).max(1e-5), "{step}: {back}");
        }
    }

    #[test]
    fn text_becomes_seven_bits_and_means_the_same() {
        let json = "{\"a\":\"“Kβ” \u{1f5bc}\"}";
        let plain = ascii_json(json);
        assert!(plain.is_ascii() && plain.contains("\\ud83d\\uddbc"), "{plain}");
        let value = |text: &str| serde_json::from_str::<serde_json::Value>(text).unwrap();
        assert_eq!(value(&plain), value(json));
        assert_eq!(ascii("As Kβ – one\u{0}"), "As Kb _ one_");
    }
}
