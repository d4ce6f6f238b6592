//! Reads `data/xray.bin`, which `data/make.py` makes: the layout is described there. Read once, when first asked for.

use super::names::{LINES, Shell};
use crate::element::Element;
use crate::numerics::math::{exp, ln};
use std::sync::OnceLock;

/// What the file holds.
static BYTES: &[u8] = include_bytes!("data/xray.bin");
/// ln of the smallest and the largest value that a curve can hold: 1e-6 and 1e6.
const LOW: f64 = -13.815_510_557_964_274;
const HIGH: f64 = 13.815_510_557_964_274;
/// Largest number of vacancies that can be held.
const MOST: f64 = 4.0;

/// A cross-section (cm²/g) over energy (keV): straight in logarithms between its nodes, in pieces between steps.
#[derive(Debug, Clone, Default)]
pub(super) struct Curve(Vec<Piece>);

#[derive(Debug, Clone)]
struct Piece {
    low: f64,
    high: f64,
    /// ln of energy and of value.
    nodes: Vec<(f64, f64)>,
}

impl Curve {
    /// The value; at a step the one above it. `None` outside what is held.
    pub(super) fn at(&self, kev: f64) -> Option<f64> {
        let last = self.0.last()?;
        let piece =
            if kev == last.high { last } else { self.0.iter().find(|p| p.low <= kev && kev < p.high)? };
        let x = ln(kev);
        let next = piece.nodes.partition_point(|node| node.0 <= x).clamp(1, piece.nodes.len() - 1);
        let (a, b) = (piece.nodes.get(next - 1)?, piece.nodes.get(next)?);
        Some(exp(a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)))
    }
}

/// A line as it stands in the file.
#[derive(Debug, Clone, Copy)]
pub(super) struct RawLine {
    /// Place in [`LINES`].
    pub name: usize,
    pub kev: f64,
    /// Share of its shell's lines in xraylib and in xraydb.
    pub rates: [Option<f64>; 2],
}

/// A shell of one element.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct RawShell {
    pub edge: Option<f64>,
    /// In xraylib and in xraydb.
    pub yields: [Option<f64>; 2],
    pub jump: Option<f64>,
}

/// One element.
#[derive(Debug, Clone)]
pub(super) struct Atom {
    /// g/mol.
    pub mass: f64,
    pub shells: [RawShell; 9],
    /// Vacancies in the second shell for each in the first, in the end.
    pub cascade: [[f64; 9]; 9],
    pub lines: Vec<RawLine>,
    pub total: Curve,
    pub scatter: Curve,
    pub chantler: Curve,
    /// Kissel's total; without pieces below Z 70.
    pub kissel: Curve,
    /// Kissel's photoelectric cross-sections of the shells.
    pub partial: [Curve; 9],
}

struct Reader<'a>(&'a [u8]);

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (head, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*head)
    }
    fn byte(&mut self) -> Option<usize> {
        self.take::<1>().map(|b| usize::from(b[0]))
    }
    fn short(&mut self) -> Option<f64> {
        self.take().map(|b| f64::from(u16::from_le_bytes(b)))
    }
    fn float(&mut self) -> Option<f64> {
        self.take().map(|b| f64::from(f32::from_le_bytes(b)))
    }
    /// A number, or none where the file says that there is none.
    fn known(&mut self) -> Option<Option<f64>> {
        self.float().map(|value| (value > 0.0).then_some(value))
    }

    fn curve(&mut self) -> Option<Curve> {
        let pieces = self.byte()?;
        let mut out = Vec::new();
        for _ in 0..pieces {
            let (low, high, count) = (self.float()?, self.float()?, self.byte()?);
            let (from, span) = (ln(low), ln(high) - ln(low));
            let mut nodes = Vec::new();
            for _ in 0..count {
                let (place, value) = (self.short()?, self.short()?);
                nodes.push((from + span * place / 65535.0, LOW + (HIGH - LOW) * value / 65535.0));
            }
            (count >= 2 && span > 0.0).then_some(())?;
            out.push(Piece { low, high, nodes });
        }
        Some(Curve(out))
    }

    fn line(&mut self) -> Option<RawLine> {
        let (name, kev) = (self.byte()?, self.float()?);
        let mut rate = || self.short().map(|steps| (steps > 0.0).then_some(steps / 65535.0));
        let rates = [rate()?, rate()?];
        (name < LINES.len()).then_some(RawLine { name, kev, rates })
    }

    fn atom(&mut self, z: u8) -> Option<Atom> {
        let mass = self.float()?;
        let mut shells = [RawShell::default(); 9];
        for shell in &mut shells {
            let (edge, one, other, jump) = (self.known()?, self.known()?, self.known()?, self.known()?);
            *shell = RawShell { edge, yields: [one, other], jump };
        }
        let mut cascade = [[0.0; 9]; 9];
        for (i, row) in cascade.iter_mut().enumerate() {
            for (j, share) in row.iter_mut().enumerate().skip(i) {
                *share = if i == j {
                    1.0
                } else if z < 11 {
                    0.0
                } else {
                    self.short()? / 65535.0 * MOST
                };
            }
        }
        let count = self.byte()?;
        let mut lines = Vec::new();
        for _ in 0..count {
            lines.push(self.line()?);
        }
        let (total, scatter, chantler, kissel) = (self.curve()?, self.curve()?, self.curve()?, self.curve()?);
        let mut partial: [Curve; 9] = Default::default();
        for curve in &mut partial {
            *curve = self.curve()?;
        }
        Some(Atom { mass, shells, cascade, lines, total, scatter, chantler, kissel, partial })
    }
}

/// Versions of the libraries and all elements; `None` for a file of another form.
fn read(bytes: &[u8]) -> Option<(String, Vec<Atom>)> {
    let mut reader = Reader(bytes);
    (&reader.take::<8>()? == b"XRAY 1\n\0").then_some(())?;
    let length = usize::from(u16::from_le_bytes(reader.take()?));
    let (text, rest) = reader.0.split_at_checked(length)?;
    reader.0 = rest;
    let mut atoms = Vec::new();
    for z in 1..=92 {
        atoms.push(reader.atom(z)?);
    }
    reader.0.is_empty().then_some((String::from_utf8_lossy(text).into_owned(), atoms))
}

fn held() -> &'static (String, Vec<Atom>) {
    static HELD: OnceLock<(String, Vec<Atom>)> = OnceLock::new();
    // The file is part of the program; a test reads it to its end.
    HELD.get_or_init(|| read(BYTES).unwrap_or_default())
}

/// One element.
pub(super) fn atom(element: Element) -> Option<&'static Atom> {
    held().1.get(usize::from(element.number()) - 1)
}

impl Atom {
    pub(super) fn shell(&self, shell: Shell) -> &RawShell {
        &self.shells[shell.index()]
    }
}

/// The libraries that the data were made with, with their versions ("xraylib 4.3.0, xraydb 4.5.8").
pub fn data_versions() -> &'static str {
    &held().0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_is_read_to_its_end_and_no_other_is_read() {
        let (versions, atoms) = read(BYTES).unwrap();
        assert_eq!(versions, "xraylib 4.3.0, xraydb 4.5.8");
        assert_eq!(atoms.len(), 92);
        assert!(BYTES.len() < 150_000, "{}", BYTES.len());
        assert!(read(&BYTES[..BYTES.len() - 1]).is_none());
        assert!(read(&[BYTES, b"x"].concat()).is_none());
        assert!(read(b"").is_none() && read(b"XRAY 2\n\0").is_none());
        for atom in &atoms {
            assert!(atom.total.at(0.9).is_some() && atom.total.at(60.0).is_some());
            assert!(atom.total.at(0.89).is_none() && atom.total.at(60.1).is_none());
            assert!(atom.total.at(f64::NAN).is_none());
        }
    }
}
