//! Made scans: an invented panel drawn by plain formulas, each pixel one Poisson draw out of a fixed generator.

use limner::element::Line;
use limner::grid::{Grid, Samples};
use limner::notice::Sign;
use limner::numerics::math;
use limner::stack::{Map, MapId, Plane, Source};

/// s <- 6364136223846793005 s + 1442695040888963407 mod 2^64; the upper bits are used (Knuth's constants).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        let mut chance = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d);
        chance.unit();
        chance
    }

    /// In 0..1.
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// One Poisson draw by multiplying (Knuth), in portions of 30 so that nothing underflows.
    pub fn poisson(&mut self, mean: f64) -> u32 {
        let (mut left, mut n) = (mean, 0);
        while left > 0.0 {
            let portion = left.min(30.0);
            left -= portion;
            let end = math::exp(-portion);
            let mut product = self.unit();
            while product > end {
                n += 1;
                product *= self.unit();
            }
        }
        n
    }
}

/// What a map shows: counts expected where nothing is, and how much each passage adds.
#[derive(Debug, Clone, Copy)]
pub struct Element {
    pub name: &'static str,
    pub background: f64,
    pub disc: f64,
    pub flag: f64,
    pub stripes: f64,
    pub letters: f64,
}

const fn element(name: &'static str, background: f64, adds: [f64; 4]) -> Element {
    Element { name, background, disc: adds[0], flag: adds[1], stripes: adds[2], letters: adds[3] }
}

/// Strong and faint, alike and unlike: Cu and Zn share passages, so do Pb L and Pb M.
pub const ELEMENTS: [Element; 8] = [
    element("Ca K", 6.0, [30.0, 4.0, 2.0, 0.0]),
    element("Fe K", 3.0, [2.0, 60.0, 0.0, 40.0]),
    element("Cu K", 4.0, [0.0, 0.0, 90.0, 0.0]),
    element("Zn K", 1.5, [0.0, 0.0, 30.0, 0.5]),
    element("Pb L", 20.0, [160.0, 0.0, 40.0, 0.0]),
    element("Pb M", 8.0, [60.0, 0.0, 14.0, 0.0]),
    element("Hg L", 0.7, [0.0, 25.0, 0.0, 0.0]),
    element("Ti K", 0.3, [0.0, 0.8, 0.0, 0.3]),
];

fn edge(distance: f64) -> f64 {
    (0.5 - distance / 1.6).clamp(0.0, 1.0)
}

/// How much of each passage lies at a place; the picture has no symmetry.
fn passages(x: f64, y: f64) -> [f64; 4] {
    let disc = edge(((x - 46.0) * (x - 46.0) + (y - 30.0) * (y - 30.0)).sqrt() - 19.0);
    let flag = edge((x - 8.0 - 0.45 * y).max(y - 78.0).max(8.0 - x).max(44.0 - y) - 22.0);
    let wave = 74.0 + 7.0 * (((x / 18.0) % 2.0) - 1.0).abs();
    let stripes = edge((y - wave).abs() - 3.0) + edge((x - 104.0).abs().max(y - 66.0) - 5.0);
    let letters: f64 =
        (0..4).map(|i| edge(((x - 70.0 - 9.0 * f64::from(i)).abs() - 1.2).max((y - 12.0).abs() - 5.0))).sum();
    [disc, flag, stripes.min(1.0), letters.min(1.0)]
}

/// Expected counts at a place (pixel centres at half-integers), times `strength`.
pub fn expected(of: Element, x: f64, y: f64, strength: f64) -> f64 {
    let [disc, flag, stripes, letters] = passages(x, y);
    strength * (of.background + of.disc * disc + of.flag * flag + of.stripes * stripes + of.letters * letters)
}

pub const SIZE: (u32, u32) = (128, 96);

/// A map of counts.
#[derive(Debug, Clone)]
pub struct Counts {
    pub name: String,
    pub size: (u32, u32),
    pub data: Vec<u16>,
}

impl Counts {
    /// Draws `size` pixels; `of(x, y)` is the expectation at a pixel's centre in pixels.
    pub fn drawn(name: &str, size: (u32, u32), chance: &mut Chance, of: impl Fn(f64, f64) -> f64) -> Self {
        let mut data = Vec::new();
        for y in 0..size.1 {
            for x in 0..size.0 {
                data.push(chance.poisson(of(f64::from(x) + 0.5, f64::from(y) + 0.5)).min(65_535) as u16);
            }
        }
        Self { name: name.into(), size, data }
    }

    pub fn at(&self, x: u32, y: u32) -> u16 {
        self.data[(y * self.size.0 + x) as usize]
    }

    /// The same numbers at other places: `from(x, y)` is where pixel (x, y) comes from, `None` gives `fill`.
    pub fn moved(&self, size: (u32, u32), fill: u16, from: impl Fn(u32, u32) -> Option<(u32, u32)>) -> Self {
        let mut data = Vec::new();
        for y in 0..size.1 {
            for x in 0..size.0 {
                data.push(from(x, y).map_or(fill, |(x, y)| self.at(x, y)));
            }
        }
        Self { name: self.name.clone(), size, data }
    }

    /// The same places with other numbers.
    pub fn changed(&self, to: impl Fn(u32, u32, u16) -> u16) -> Self {
        let mut out = self.clone();
        for y in 0..self.size.1 {
            for x in 0..self.size.0 {
                out.data[(y * self.size.0 + x) as usize] = to(x, y, self.at(x, y));
            }
        }
        out
    }

    pub fn f64s(&self) -> Vec<f64> {
        self.data.iter().map(|&v| f64::from(v)).collect()
    }

    pub fn samples(&self) -> Samples {
        Samples::U16(Grid::from_vec(self.size.0, self.size.1, self.data.clone()).unwrap())
    }

    pub fn plane(&self) -> Plane {
        Plane::new(self.samples())
    }
}

/// A stack of the eight elements.
pub fn scan(seed: u64, strength: f64) -> Vec<Counts> {
    let mut chance = Chance::new(seed);
    ELEMENTS
        .iter()
        .map(|&of| Counts::drawn(of.name, SIZE, &mut chance, |x, y| expected(of, x, y, strength)))
        .collect()
}

/// Maps with ids m1, m2 ...
pub fn maps(named: &[(String, Samples)]) -> Vec<Map> {
    named
        .iter()
        .enumerate()
        .map(|(i, (name, samples))| {
            let source = Source { file: format!("{name}.tif"), page: 0, sha256: String::new() };
            let id = MapId::new(i as u32 + 1);
            Map::new(id, source, String::new(), Line::parse(name), samples.clone()).unwrap()
        })
        .collect()
}

pub fn maps_of(counts: &[Counts]) -> Vec<Map> {
    maps(&counts.iter().map(|c| (c.name.clone(), c.samples())).collect::<Vec<_>>())
}

/// Every sign of a stack: those of single maps and those of all, with the ids they are said of.
pub fn all_signs(maps: &[Map]) -> Vec<(Vec<String>, Sign)> {
    let mut out = Vec::new();
    for map in maps {
        for sign in limner::inspect::map(&map.plane).unwrap() {
            out.push((vec![map.id.to_string()], sign));
        }
    }
    let borrowed: Vec<&Map> = maps.iter().collect();
    for found in limner::inspect::stack(&borrowed).unwrap() {
        out.push((found.maps.iter().map(ToString::to_string).collect(), found.sign));
    }
    out
}
