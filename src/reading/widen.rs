//! Numbers of types that files have and maps don't: halves become floats of 32 bits, integers of 64 bits become what
//! holds each of them exactly.

use crate::grid::{ByteOrder, Grid, SampleType, Samples, try_vec};
use crate::notice::Finding;

/// A type of number as files store it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stored {
    /// One that maps have too.
    Kept(SampleType),
    /// 16-bit IEEE 754.
    F16,
    /// 64-bit signed.
    I64,
    /// 64-bit unsigned.
    U64,
}

impl Stored {
    /// Bytes in one number.
    pub(super) fn size(self) -> u64 {
        match self {
            Stored::Kept(kept) => kept.size(),
            Stored::F16 => 2,
            Stored::I64 | Stored::U64 => 8,
        }
    }

    /// Pixels out of bytes, each with exactly the value that is stored.
    ///
    /// # Errors
    /// Bytes that don't fit the size; 64-bit integers that neither 32 bits nor a float of 64 bits hold exactly.
    pub(super) fn samples(
        self,
        format: &'static str,
        size: (u32, u32),
        bytes: &[u8],
        order: ByteOrder,
    ) -> Result<Samples, Finding> {
        let differs = || Finding::Damaged { format, what: "its size and its data differ".into() };
        match self {
            Stored::Kept(kept) => Samples::from_bytes(kept, size, bytes, order)?.ok_or_else(differs),
            Stored::F16 => {
                let halves = bytes.as_chunks::<2>().0.iter().map(|&word| match order {
                    ByteOrder::Little => u16::from_le_bytes(word),
                    ByteOrder::Big => u16::from_be_bytes(word),
                });
                grid(size, halves.map(float_of_half))?.map(Samples::F32).ok_or_else(differs)
            }
            Stored::I64 => whole(format, size, || {
                bytes.as_chunks::<8>().0.iter().map(move |&word| {
                    i128::from(match order {
                        ByteOrder::Little => i64::from_le_bytes(word),
                        ByteOrder::Big => i64::from_be_bytes(word),
                    })
                })
            }),
            Stored::U64 => whole(format, size, || {
                bytes.as_chunks::<8>().0.iter().map(move |&word| {
                    i128::from(match order {
                        ByteOrder::Little => u64::from_le_bytes(word),
                        ByteOrder::Big => u64::from_be_bytes(word),
                    })
                })
            }),
        }
    }
}

fn grid<T>((width, height): (u32, u32), values: impl Iterator<Item = T>) -> Result<Option<Grid<T>>, Finding> {
    let mut data = try_vec(u64::from(width) * u64::from(height))?;
    data.extend(values);
    Ok(Grid::from_vec(width, height, data))
}

/// The narrowest of unsigned 32 bits, signed 32 bits and a float of 64 bits that holds every value exactly.
fn whole<I: Iterator<Item = i128>>(
    format: &'static str,
    size: (u32, u32),
    values: impl Fn() -> I,
) -> Result<Samples, Finding> {
    let differs = || Finding::Damaged { format, what: "its size and its data differ".into() };
    let (low, high) = values().fold((0, 0), |(low, high): (i128, i128), v| (low.min(v), high.max(v)));
    if low >= 0 && high <= i128::from(u32::MAX) {
        let narrow = values().map(|v| u32::try_from(v).unwrap_or_default());
        return grid(size, narrow)?.map(Samples::U32).ok_or_else(differs);
    }
    if low >= i128::from(i32::MIN) && high <= i128::from(i32::MAX) {
        let narrow = values().map(|v| i32::try_from(v).unwrap_or_default());
        return grid(size, narrow)?.map(Samples::I32).ok_or_else(differs);
    }
    if let Some(value) = values().find(|&v| (v as f64) as i128 != v) {
        return Err(Finding::NotRead {
            format,
            what: format!(
                "it holds whole numbers of 64 bits, of which {value} is more than can be kept exactly. Save it as integers of 32 bits, or as floats of 64."
            ),
        });
    }
    grid(size, values().map(|v| v as f64))?.map(Samples::F64).ok_or_else(differs)
}

/// The float of 32 bits with the value of a half, bit by bit: every half has one, and a NaN keeps its payload.
/// IEEE 754-2019, table 3.5.
fn float_of_half(half: u16) -> f32 {
    let (sign, exponent, fraction) =
        (u32::from(half >> 15) << 31, u32::from(half >> 10) & 0x1f, u32::from(half) & 0x3ff);
    f32::from_bits(match (exponent, fraction) {
        (0, 0) => sign,
        (0, _) => {
            // Subnormal: fraction × 2^-24, with its highest bit moved into the hidden place.
            let shift = fraction.leading_zeros() - 21;
            sign | ((113 - shift) << 23) | ((fraction << shift & 0x3ff) << 13)
        }
        (31, _) => sign | 0x7f80_0000 | (fraction << 13),
        _ => sign | ((exponent + 112) << 23) | (fraction << 13),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_have_their_values() {
        // IEEE 754-2019: largest, smallest normal, largest and smallest subnormal, one third rounded.
        let cases = [
            (0x7bffu16, 65504.0f32),
            (0x0400, 6.103_515_6e-5),
            (0x03ff, 6.097_555_e-5),
            (0x0001, 5.960_464_5e-8),
            (0x3555, 0.333_251_95),
            (0x3c00, 1.0),
            (0xc500, -5.0),
        ];
        for (half, want) in cases {
            assert_eq!(float_of_half(half), want, "{half:04x}");
        }
        assert_eq!(float_of_half(0x8000).to_bits(), 0x8000_0000);
        assert_eq!(float_of_half(0xfc00), f32::NEG_INFINITY);
        assert_eq!(float_of_half(0x7e01).to_bits(), 0x7fc0_2000);
        // Every finite half times 2^24 is a whole number with a simple formula.
        for half in (0..0x7c00u16).chain(0x8000..0xfc00) {
            let (exponent, fraction) = (u32::from(half >> 10) & 31, f64::from(half & 0x3ff));
            let units =
                if exponent == 0 { fraction } else { (fraction + 1024.0) * f64::from(1 << (exponent - 1)) };
            let sign = if half >> 15 == 1 { -1.0 } else { 1.0 };
            assert_eq!(f64::from(float_of_half(half)) * 16_777_216.0, sign * units, "{half:04x}");
        }
    }

    #[test]
    fn whole_numbers_of_64_bits_are_kept_exactly_or_refused() {
        let of = |values: [i64; 2]| {
            let bytes: Vec<u8> = values.iter().flat_map(|v| v.to_be_bytes()).collect();
            Stored::I64.samples("NPY", (2, 1), &bytes, ByteOrder::Big)
        };
        let pair = |a, b| Grid::from_vec(2, 1, vec![a, b]).unwrap();
        assert_eq!(
            of([0, 4_294_967_295]).unwrap(),
            Samples::U32(Grid::from_vec(2, 1, vec![0, u32::MAX]).unwrap())
        );
        assert_eq!(of([-1, 5]).unwrap(), Samples::I32(Grid::from_vec(2, 1, vec![-1, 5]).unwrap()));
        assert_eq!(of([-1, 1 << 53]).unwrap(), Samples::F64(pair(-1.0, 9_007_199_254_740_992.0)));
        let refusal = of([0, (1 << 53) + 1]).unwrap_err().to_string();
        assert!(refusal.contains("9007199254740993"), "{refusal}");
        let bytes: Vec<u8> = [u64::MAX, 0].iter().flat_map(|v| v.to_le_bytes()).collect();
        assert!(Stored::U64.samples("NPY", (2, 1), &bytes, ByteOrder::Little).is_err());
    }
}
