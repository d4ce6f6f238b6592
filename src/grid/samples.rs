//! Pixels in the type they came in.

use super::{Grid, try_vec};
use crate::geometry::{Frame, Orientation};
use crate::notice::OutOfMemory;

/// A map's pixels, exactly as read: the bits of a NaN and the sign of a zero included.
#[derive(Debug, Clone, PartialEq)]
pub enum Samples {
    /// 8-bit unsigned.
    U8(Grid<u8>),
    /// 8-bit signed.
    I8(Grid<i8>),
    /// 16-bit unsigned.
    U16(Grid<u16>),
    /// 16-bit signed.
    I16(Grid<i16>),
    /// 32-bit unsigned.
    U32(Grid<u32>),
    /// 32-bit signed.
    I32(Grid<i32>),
    /// 32-bit IEEE 754.
    F32(Grid<f32>),
    /// 64-bit IEEE 754.
    F64(Grid<f64>),
}

/// The eight types of [`Samples`], for records and for the boundary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)] // the names say it all
pub enum SampleType {
    U8,
    I8,
    U16,
    I16,
    U32,
    I32,
    F32,
    F64,
}

impl SampleType {
    /// Bytes in one pixel.
    pub fn size(self) -> u64 {
        match self {
            SampleType::U8 | SampleType::I8 => 1,
            SampleType::U16 | SampleType::I16 => 2,
            SampleType::U32 | SampleType::I32 | SampleType::F32 => 4,
            SampleType::F64 => 8,
        }
    }
}

/// The order of the bytes within a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)] // the names say it all
pub enum ByteOrder {
    Little,
    Big,
}

impl ByteOrder {
    /// The order of the machine that runs.
    pub const NATIVE: ByteOrder =
        if cfg!(target_endian = "little") { ByteOrder::Little } else { ByteOrder::Big };
}

/// Numbers of one type out of bytes; bytes left over at the end are not looked at.
macro_rules! numbers {
    ($type:ty, $bytes:expr, $order:expr) => {{
        const SIZE: usize = size_of::<$type>();
        let mut out: Vec<$type> = try_vec(($bytes.len() / SIZE) as u64)?;
        for chunk in $bytes.chunks_exact(SIZE) {
            let mut word = [0; SIZE];
            word.copy_from_slice(chunk);
            out.push(match $order {
                ByteOrder::Little => <$type>::from_le_bytes(word),
                ByteOrder::Big => <$type>::from_be_bytes(word),
            });
        }
        out
    }};
}

/// Runs one expression for whichever grid is inside.
macro_rules! with_grid {
    ($samples:expr, $grid:ident => $body:expr) => {
        match $samples {
            Samples::U8($grid) => $body,
            Samples::I8($grid) => $body,
            Samples::U16($grid) => $body,
            Samples::I16($grid) => $body,
            Samples::U32($grid) => $body,
            Samples::I32($grid) => $body,
            Samples::F32($grid) => $body,
            Samples::F64($grid) => $body,
        }
    };
}

pub(crate) use with_grid;

impl Samples {
    /// Takes pixels out of bytes, row by row, every bit as it stands. `None` if there are not exactly as many bytes as
    /// `width * height` pixels of this type have.
    pub fn from_bytes(
        sample_type: SampleType,
        (width, height): (u32, u32),
        bytes: &[u8],
        order: ByteOrder,
    ) -> Result<Option<Self>, OutOfMemory> {
        let wanted = (u64::from(width) * u64::from(height)).checked_mul(sample_type.size());
        if wanted != Some(bytes.len() as u64) {
            return Ok(None);
        }
        Ok(match sample_type {
            SampleType::U8 => Grid::from_vec(width, height, numbers!(u8, bytes, order)).map(Samples::U8),
            SampleType::I8 => Grid::from_vec(width, height, numbers!(i8, bytes, order)).map(Samples::I8),
            SampleType::U16 => Grid::from_vec(width, height, numbers!(u16, bytes, order)).map(Samples::U16),
            SampleType::I16 => Grid::from_vec(width, height, numbers!(i16, bytes, order)).map(Samples::I16),
            SampleType::U32 => Grid::from_vec(width, height, numbers!(u32, bytes, order)).map(Samples::U32),
            SampleType::I32 => Grid::from_vec(width, height, numbers!(i32, bytes, order)).map(Samples::I32),
            SampleType::F32 => Grid::from_vec(width, height, numbers!(f32, bytes, order)).map(Samples::F32),
            SampleType::F64 => Grid::from_vec(width, height, numbers!(f64, bytes, order)).map(Samples::F64),
        })
    }

    /// Pixels in a row.
    pub fn width(&self) -> u32 {
        with_grid!(self, g => g.width())
    }

    /// Rows.
    pub fn height(&self) -> u32 {
        with_grid!(self, g => g.height())
    }

    /// Number of pixels.
    pub fn len(&self) -> u64 {
        with_grid!(self, g => g.len())
    }

    /// True without pixels.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The type of a pixel.
    pub fn sample_type(&self) -> SampleType {
        match self {
            Samples::U8(_) => SampleType::U8,
            Samples::I8(_) => SampleType::I8,
            Samples::U16(_) => SampleType::U16,
            Samples::I16(_) => SampleType::I16,
            Samples::U32(_) => SampleType::U32,
            Samples::I32(_) => SampleType::I32,
            Samples::F32(_) => SampleType::F32,
            Samples::F64(_) => SampleType::F64,
        }
    }

    /// The value at a pixel as f64 (exact for every type), `None` outside. A blank comes back as it is stored.
    pub fn value(&self, x: u32, y: u32) -> Option<f64> {
        #[allow(clippy::unnecessary_cast)] // one arm is f64 already
        {
            with_grid!(self, g => g.get(x, y).map(|&v| v as f64))
        }
    }

    /// Writes row `y` as f64 into `out`, which must have `width` places. A row outside writes nothing.
    pub fn read_row(&self, y: u32, out: &mut [f64]) {
        #[allow(clippy::unnecessary_cast)] // one arm is f64 already
        {
            with_grid!(self, g => for (slot, &v) in out.iter_mut().zip(g.row(y)) { *slot = v as f64 })
        }
    }

    /// Every value as f64, row by row; NaN wherever the pixel is blank (not finite).
    pub fn to_f64(&self) -> Result<Grid<f64>, OutOfMemory> {
        let mut data: Vec<f64> = try_vec(self.len())?;
        #[allow(clippy::unnecessary_cast)] // one arm is f64 already
        {
            with_grid!(self, g => data.extend(g.data().iter().map(|&v| v as f64)));
        }
        if matches!(self, Samples::F32(_) | Samples::F64(_)) {
            for v in &mut data {
                if !v.is_finite() {
                    *v = f64::NAN;
                }
            }
        }
        Ok(Grid::from_vec(self.width(), self.height(), data).unwrap_or_else(|| unreachable!()))
    }

    /// The largest value the type can hold, where reaching it means that counting stopped: `None` for
    /// 32-bit integers and floats.
    pub fn ceiling(&self) -> Option<f64> {
        match self.sample_type() {
            SampleType::U8 => Some(f64::from(u8::MAX)),
            SampleType::I8 => Some(f64::from(i8::MAX)),
            SampleType::U16 => Some(f64::from(u16::MAX)),
            SampleType::I16 => Some(f64::from(i16::MAX)),
            // No counter of 32 bits is ever full.
            SampleType::U32 | SampleType::I32 | SampleType::F32 | SampleType::F64 => None,
        }
    }

    /// Turned and mirrored; every bit as stored.
    ///
    /// # Errors
    /// No memory.
    pub fn oriented(&self, orientation: Orientation) -> Result<Self, OutOfMemory> {
        Ok(match self {
            Samples::U8(g) => Samples::U8(g.oriented(orientation)?),
            Samples::I8(g) => Samples::I8(g.oriented(orientation)?),
            Samples::U16(g) => Samples::U16(g.oriented(orientation)?),
            Samples::I16(g) => Samples::I16(g.oriented(orientation)?),
            Samples::U32(g) => Samples::U32(g.oriented(orientation)?),
            Samples::I32(g) => Samples::I32(g.oriented(orientation)?),
            Samples::F32(g) => Samples::F32(g.oriented(orientation)?),
            Samples::F64(g) => Samples::F64(g.oriented(orientation)?),
        })
    }

    /// The part that a frame shows; zero where it reaches beside the pixels.
    ///
    /// # Errors
    /// No memory.
    pub fn framed(&self, frame: &Frame) -> Result<Self, OutOfMemory> {
        Ok(match self {
            Samples::U8(g) => Samples::U8(g.framed(frame)?),
            Samples::I8(g) => Samples::I8(g.framed(frame)?),
            Samples::U16(g) => Samples::U16(g.framed(frame)?),
            Samples::I16(g) => Samples::I16(g.framed(frame)?),
            Samples::U32(g) => Samples::U32(g.framed(frame)?),
            Samples::I32(g) => Samples::I32(g.framed(frame)?),
            Samples::F32(g) => Samples::F32(g.framed(frame)?),
            Samples::F64(g) => Samples::F64(g.framed(frame)?),
        })
    }

    /// The pixels as little-endian bytes, row by row, as stored (bits of a NaN included).
    pub fn le_bytes(&self) -> Result<Vec<u8>, OutOfMemory> {
        let mut out = try_vec(self.len().saturating_mul(self.sample_type().size()))?;
        with_grid!(self, g => for v in g.data() { out.extend_from_slice(&v.to_le_bytes()) });
        Ok(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nan_bits_survive_and_become_blank_only_in_computing() {
        let odd = f32::from_bits(0xffc1_2345);
        let samples = Samples::F32(Grid::from_vec(2, 1, vec![odd, 1.5]).unwrap());
        assert_eq!(&samples.le_bytes().unwrap()[..4], &0xffc1_2345u32.to_le_bytes());
        let computed = samples.to_f64().unwrap();
        assert!(computed.data()[0].is_nan());
        assert_eq!(computed.data()[1], 1.5);
    }

    #[test]
    fn bytes_of_either_order_give_the_same_pixels_and_a_wrong_number_gives_none() {
        let of = |bytes: &[u8], order| Samples::from_bytes(SampleType::U16, (2, 1), bytes, order).unwrap();
        let want = Some(Samples::U16(Grid::from_vec(2, 1, vec![0x0102, 0x0304]).unwrap()));
        assert_eq!(of(&[1, 2, 3, 4], ByteOrder::Big), want);
        assert_eq!(of(&[2, 1, 4, 3], ByteOrder::Little), want);
        assert_eq!(of(&[1, 2, 3], ByteOrder::Big), None);
    }

    #[test]
    fn infinite_is_blank() {
        let samples = Samples::F64(Grid::from_vec(2, 1, vec![f64::INFINITY, -0.0]).unwrap());
        assert!(samples.to_f64().unwrap().data()[0].is_nan());
    }
}
