//! Sums of a map over narrow bands: rows gathered into a few bands give profiles across, columns give profiles down. What a
//! search for lines right across the map needs, kept small.

use super::survey::spread;
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;
use crate::numerics::sums;

/// Bands at most.
const MOST_BANDS: u32 = 32;
/// Lines in a band: few enough that a line three degrees aslant moves less than half a pixel within it.
const LINES: (u32, u32) = (4, 16);
/// Shorter maps have no bands.
const SHORTEST: u32 = 40;

/// Bands of one direction, each with a profile along it.
#[derive(Debug, Clone, Default)]
pub(super) struct Bands {
    /// Length of a profile.
    pub length: usize,
    /// Middle of each band, in pixels across its direction.
    pub middles: Vec<f64>,
    /// First line of each and how many it has.
    lines: Vec<(u32, u32)>,
    /// Places of the map in one of the profile.
    pub bin: u32,
    /// Sums, band by band.
    pub sums: Vec<f32>,
    /// Pixels with data, band by band.
    pub pixels: Vec<u16>,
}

impl Bands {
    fn of(length: u32, across: u32) -> Result<Self, OutOfMemory> {
        if across < SHORTEST {
            return Ok(Self::default());
        }
        let height = (across / 12).clamp(LINES.0, LINES.1);
        let lines: Vec<(u32, u32)> =
            spread(across / height, MOST_BANDS).map(|band| (band * height, height)).collect();
        let many = lines.len() as u64 * u64::from(length);
        Ok(Self {
            length: length as usize,
            middles: lines.iter().map(|&(first, n)| f64::from(first) + 0.5 * f64::from(n)).collect(),
            lines,
            bin: 1,
            sums: try_filled_vec(many, 0.0)?,
            pixels: try_filled_vec(many, 0)?,
        })
    }

    /// The band that a line lies in.
    fn holding(&self, line: u32) -> Option<usize> {
        let at = self.lines.partition_point(|&(first, _)| first <= line).checked_sub(1)?;
        let (first, n) = self.lines[at];
        (line < first + n).then_some(at)
    }

    /// Sum and pixels of a part of a profile; nothing beside the map.
    pub fn part(&self, band: usize, from: i64, to: i64) -> (f64, u32) {
        let inside = |v: i64| usize::try_from(v).unwrap_or(0).min(self.length);
        let range = band * self.length + inside(from)..band * self.length + inside(to).max(inside(from));
        let sum = self.sums[range.clone()].iter().map(|&v| f64::from(v)).sum();
        (sum, self.pixels[range].iter().map(|&n| u32::from(n)).sum())
    }

    /// Pixels that each place of a profile could have.
    pub fn most_of(&self, band: usize) -> u32 {
        self.lines[band].1 * self.bin
    }

    /// Profiles of `bin` places in one; what does not fill one at the end is left out.
    pub fn binned(&self, bin: u32) -> Self {
        let by = bin.max(1) as usize;
        let length = self.length / by;
        let mut out =
            Self { length, bin: self.bin * bin.max(1), sums: Vec::new(), pixels: Vec::new(), ..self.clone() };
        for band in 0..self.middles.len() {
            for i in 0..length {
                let range = band * self.length + i * by..band * self.length + (i + 1) * by;
                out.sums.push(self.sums[range.clone()].iter().sum());
                out.pixels.push(self.pixels[range].iter().sum());
            }
        }
        out
    }
}

/// Both directions.
#[derive(Debug, Clone, Default)]
pub(super) struct Strips {
    /// Bands of rows, profiles from left to right: for upright lines.
    pub across: Bands,
    /// Bands of columns, profiles from top to bottom: for level lines.
    pub down: Bands,
}

impl Strips {
    pub fn of((width, height): (u32, u32)) -> Result<Self, OutOfMemory> {
        Ok(Self { across: Bands::of(width, height)?, down: Bands::of(height, width)? })
    }

    /// Takes row `y`, NaN where it is blank.
    pub fn add(&mut self, y: u32, row: &[f64], has_blank: bool) {
        if let Some(band) = self.across.holding(y) {
            let range = band * self.across.length..(band + 1) * self.across.length;
            let sums = self.across.sums[range.clone()].iter_mut().zip(&mut self.across.pixels[range]);
            for ((sum, pixels), &v) in sums.zip(row).filter(|(_, v)| !v.is_nan()) {
                *sum += v as f32;
                *pixels += 1;
            }
        }
        for band in 0..self.down.lines.len() {
            let (first, n) = self.down.lines[band];
            let part = &row[first as usize..(first + n) as usize];
            let slot = band * self.down.length + y as usize;
            if has_blank {
                let held = part.iter().filter(|v| !v.is_nan());
                self.down.pixels[slot] = held.clone().count() as u16;
                self.down.sums[slot] = held.sum::<f64>() as f32;
            } else {
                self.down.pixels[slot] = n as u16;
                self.down.sums[slot] = sums::sum(part) as f32;
            }
        }
    }
}
