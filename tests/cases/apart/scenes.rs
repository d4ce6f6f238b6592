//! Painted scenes of two elements, counted with numbers by chance.

use limner::numerics::chance::Chance;
use limner::numerics::math::exp;
use limner::study::{GridRecord, MapRecord, ScanRecord, Study};

pub const WIDTH: usize = 128;
pub const HEIGHT: usize = 96;
/// Step of the scan, in µm.
pub const STEP_UM: f64 = 100.0;
const PIXELS: usize = WIDTH * HEIGHT;

/// What is painted.
#[derive(Clone, Copy, PartialEq)]
pub enum Paint {
    /// A only accompanies B.
    Accessory,
    /// And 5 x 10 pixels of A alone beside the passage, this many standard deviations of the background in each.
    OwnBeside(f64),
    /// And 5 x 10 pixels of A alone within the passage, this many standard deviations of A there in each.
    OwnWithin(f64),
    /// In this share of the passage a second material, with so many times the factor and so many times the B.
    Two(f64, f64, f64),
    /// In this share of the passage B without A.
    Ink(f64),
    /// A is absorbed within the paint (so many times for the mean thickness): it rises more slowly than B.
    Absorbing(f64),
    /// A in the ground everywhere, absorbed by the B over it.
    Under(f64),
    /// B (and A with it) fades out over half of the field; A is absorbed so many times.
    Fading(f64),
}

/// How it is painted and counted.
#[derive(Clone, Copy)]
pub struct Scene {
    pub name: &'static str,
    pub paint: Paint,
    /// The verdict that would be right; the opposite is wrong.
    pub truth: &'static str,
    /// Mean counts of B in the passage.
    pub b: f64,
    /// A for each B.
    pub k: f64,
    /// How uneven B is (standard deviation as a share, over about 10 pixels).
    pub texture: f64,
    /// How uneven k is, and over how many pixels.
    pub k_varies: (f64, f64),
    /// Beams of A and B, full width at half height, in steps.
    pub beams: (f64, f64),
}

pub const NO_MORE: &str = "no more A than accompanies B";
pub const MORE: &str = "more A than accompanies B";

const PLAIN: Scene = Scene {
    name: "",
    paint: Paint::Accessory,
    truth: NO_MORE,
    b: 100.0,
    k: 0.25,
    texture: 0.3,
    k_varies: (0.0, 6.0),
    beams: (1.0, 1.0),
};

const fn accessory(name: &'static str, varies: f64, over: f64, b: f64) -> Scene {
    Scene { name, k_varies: (varies, over), b, ..PLAIN }
}

const fn painted(name: &'static str, paint: Paint, truth: &'static str) -> Scene {
    Scene { name, paint, truth, ..PLAIN }
}

/// Every scene of the study.
pub fn all() -> Vec<Scene> {
    let two = |name, share, times, b| painted(name, Paint::Two(share, times, b), NO_MORE);
    vec![
        accessory("accessory, k even", 0.0, 6.0, 100.0),
        accessory("accessory, k varies by 10 % over 12 px", 0.1, 6.0, 100.0),
        accessory("accessory, k varies by 20 % over 12 px", 0.2, 6.0, 100.0),
        accessory("accessory, k varies by 50 % over 12 px", 0.5, 6.0, 100.0),
        accessory("accessory, k varies by 10 % from pixel to pixel", 0.1, 0.0, 100.0),
        accessory("accessory, k varies by 20 % from pixel to pixel", 0.2, 0.0, 100.0),
        accessory("accessory, k varies by 50 % from pixel to pixel", 0.5, 0.0, 100.0),
        accessory("accessory, bright, k varies by 20 % over 12 px", 0.2, 6.0, 1000.0),
        accessory("accessory, bright, k varies by 50 % over 12 px", 0.5, 6.0, 1000.0),
        accessory("accessory, k varies by 50 % over 4 px", 0.5, 2.0, 100.0),
        Scene { name: "accessory, B even", texture: 0.0, ..PLAIN },
        Scene { name: "accessory, A faint (k 0.06)", k: 0.06, ..PLAIN },
        Scene { name: "accessory, A faint (k 0.1), B uneven", k: 0.1, texture: 0.8, ..PLAIN },
        painted("own material beside B, 5 sigma in 50 px", Paint::OwnBeside(5.0), MORE),
        Scene { k: 1.0, ..painted("the same, k 1", Paint::OwnBeside(5.0), MORE) },
        Scene { k: 5.0, ..painted("the same, k 5 (B would not be seen)", Paint::OwnBeside(5.0), MORE) },
        painted("own material within B, 5 sigma in 50 px", Paint::OwnWithin(5.0), MORE),
        Scene { texture: 0.0, ..painted("the same, B even", Paint::OwnWithin(5.0), MORE) },
        Scene { b: 1000.0, ..painted("the same, bright (27 % more A)", Paint::OwnWithin(5.0), MORE) },
        Scene { k: 0.03, ..painted("the same, A else too faint", Paint::OwnWithin(5.0), MORE) },
        Scene { k_varies: (0.2, 6.0), ..painted("10 sigma, k varies by 20 %", Paint::OwnWithin(10.0), MORE) },
        Scene { name: "beams of 2 steps", beams: (2.0, 2.0), ..PLAIN },
        Scene { name: "beams of 2 (A) and 1 step (B)", beams: (2.0, 1.0), ..PLAIN },
        Scene { name: "beams of 1 (A) and 2 steps (B)", beams: (1.0, 2.0), ..PLAIN },
        Scene { name: "beams of 2 and 1, bright, k 1", beams: (2.0, 1.0), b: 1000.0, k: 1.0, ..PLAIN },
        Scene { beams: (2.0, 2.0), ..painted("beams of 2, own beside B", Paint::OwnBeside(8.0), MORE) },
        Scene { name: "B too weak (4 counts), k 5", b: 4.0, k: 5.0, ..PLAIN },
        Scene { name: "B too weak (8 counts), k 5", b: 8.0, k: 5.0, ..PLAIN },
        Scene { name: "B too weak (12 counts), k 5", b: 12.0, k: 5.0, ..PLAIN },
        Scene { name: "B weak (15 counts), k 2", b: 15.0, k: 2.0, ..PLAIN },
        two("two materials, half and half, k x 4", 0.5, 4.0, 1.0),
        two("two materials, half and half, k x 2", 0.5, 2.0, 1.0),
        two("two materials, a tenth with k x 4", 0.1, 4.0, 1.0),
        two("two materials, a tenth with k x 4 and half the B", 0.1, 4.0, 0.5),
        two("two materials, nine tenths with k x 4", 0.9, 4.0, 1.0),
        two("two materials, a tenth with k x 8 and a tenth of B", 0.1, 8.0, 0.1),
        two("two materials, half with k x 8 and a tenth of B", 0.5, 8.0, 0.1),
        Scene { beams: (2.0, 2.0), ..two("two materials, a tenth with k x 4, beams of 2", 0.1, 4.0, 1.0) },
        painted("B without A in 60 % of the passage", Paint::Ink(0.6), NO_MORE),
        Scene { k: 0.1, ..painted("the same in half, A faint", Paint::Ink(0.5), NO_MORE) },
        painted("A absorbed in thick paint", Paint::Absorbing(1.5), NO_MORE),
        painted("B fades out", Paint::Fading(0.0), NO_MORE),
        Scene { k: 1.0, ..painted("B fades out, k 1", Paint::Fading(0.0), NO_MORE) },
        Scene { k: 1.0, ..painted("B fades out, k 1, A absorbed where thick", Paint::Fading(4.0), NO_MORE) },
        Scene {
            k: 3.0,
            b: 300.0,
            ..painted("B fades out, bright, k 3, A absorbed", Paint::Fading(4.0), NO_MORE)
        },
        painted("A in the ground, B absorbs it", Paint::Under(2.0), MORE),
    ]
}

/// A small area of a second material: nothing in two maps tells it from a material of A alone over B.
pub fn small_second() -> Scene {
    let paint = Paint::Two(0.03, 4.0, 1.0);
    Scene { beams: (2.0, 2.0), ..painted("two materials, 3 % with k x 4 (see text)", paint, NO_MORE) }
}

fn blur(field: &[f64], sigma: f64) -> Vec<f64> {
    if sigma <= 0.0 {
        return field.to_vec();
    }
    let arm = (4.0 * sigma).ceil() as usize;
    let weight = |tap: usize| {
        let far = (tap as f64 - arm as f64) / sigma;
        exp(-0.5 * far * far)
    };
    let weights: Vec<f64> = (0..=2 * arm).map(weight).collect();
    let total: f64 = weights.iter().sum();
    let pass = |from: &[f64], step: usize, size: usize| -> Vec<f64> {
        let at = |i: usize| {
            let place = (i / step) % size;
            let taps = weights.iter().enumerate().map(|(tap, weight)| {
                let near = (place + tap).clamp(arm, size - 1 + arm) - arm;
                weight * from[i - place * step + near * step]
            });
            taps.sum::<f64>() / total
        };
        (0..PIXELS).map(at).collect()
    };
    pass(&pass(field, 1, WIDTH), WIDTH, HEIGHT)
}

/// Normal numbers, even over about twice `sigma` pixels, mean 0 and standard deviation 1.
fn uneven(chance: &mut Chance, sigma: f64) -> Vec<f64> {
    let field = blur(&(0..PIXELS).map(|_| chance.normal()).collect::<Vec<_>>(), sigma);
    let mean = field.iter().sum::<f64>() / PIXELS as f64;
    let spread = (field.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / PIXELS as f64).sqrt();
    field.iter().map(|v| (v - mean) / spread).collect()
}

/// Counts of A and B of a scene.
pub fn counted(scene: &Scene, seed: u64) -> (Vec<u16>, Vec<u16>) {
    const UNDER: (f64, f64) = (3.0, 4.0);
    let mut chance = Chance::new(seed);
    let bumps = uneven(&mut chance, 5.0);
    let factors = uneven(&mut chance, scene.k_varies.1);
    let at = |i: usize| ((i % WIDTH) as f64, (i / WIDTH) as f64);
    let passage = |i: usize| {
        let (x, y) = at(i);
        let round = ((x - 50.0) / 38.0) * ((x - 50.0) / 38.0) + ((y - 48.0) / 34.0) * ((y - 48.0) / 34.0);
        f64::from(u8::from(round <= 1.0))
    };
    let lumps = |i: usize| exp(scene.texture * bumps[i] - 0.5 * scene.texture * scene.texture);
    // The column left of which so much of the passage lies.
    let border = |share: f64| {
        let mut columns: Vec<usize> = (0..PIXELS).filter(|&i| passage(i) > 0.0).map(|i| i % WIDTH).collect();
        columns.sort_unstable();
        columns[(share * (columns.len() - 1) as f64) as usize] as f64
    };
    let within = |i: usize, left: f64, top: f64| {
        let (x, y) = at(i);
        (left..left + 5.0).contains(&x) && (top..top + 10.0).contains(&y)
    };
    let saturating = |thick: f64, times: f64| {
        if times > 0.0 {
            scene.k * scene.b * (1.0 - exp(-times * thick)) / times
        } else {
            scene.k * scene.b * thick
        }
    };
    let mut means = (Vec::new(), Vec::new());
    let edge = match scene.paint {
        Paint::Two(share, ..) | Paint::Ink(share) => border(share),
        _ => 0.0,
    };
    for (i, factor) in factors.iter().enumerate() {
        let (x, y) = at(i);
        let k = scene.k * (1.0 + scene.k_varies.0 * factor).max(0.0);
        let mut b = scene.b * passage(i) * lumps(i);
        let mut a = k * b;
        match scene.paint {
            Paint::Accessory => {}
            Paint::OwnBeside(sigmas) => {
                a += if within(i, 112.0, 40.0) { sigmas * UNDER.0.sqrt() } else { 0.0 };
            }
            Paint::OwnWithin(sigmas) => {
                let sigma = (UNDER.0 + scene.k * scene.b * (1.0 + scene.k)).sqrt();
                a += if within(i, 48.0, 44.0) { sigmas * sigma } else { 0.0 };
            }
            Paint::Two(_, times, of_b) if x < edge => {
                b *= of_b;
                a *= times * of_b;
            }
            Paint::Ink(_) if x < edge => a = 0.0,
            Paint::Two(..) | Paint::Ink(_) => {}
            Paint::Absorbing(times) => a = saturating(b / scene.b, times),
            Paint::Under(times) => {
                a = if x > 20.0 { 40.0 * exp(-times * b / scene.b) } else { 0.0 };
            }
            Paint::Fading(times) => {
                let fade = ((90.0 - x) / 60.0).clamp(0.0, 1.0);
                b = if y > 10.0 && y < 86.0 { scene.b * fade * lumps(i) } else { 0.0 };
                a = saturating(b / scene.b, times);
            }
        }
        means.0.push(a);
        means.1.push(b);
    }
    let mut count = |means: &[f64], beam: f64, under: f64| -> Vec<u16> {
        // Full width at half height over standard deviation.
        let seen = blur(means, beam / 2.354_820_045);
        seen.iter().map(|mean| chance.poisson(mean + under) as u16).collect()
    };
    (count(&means.0, scene.beams.0, UNDER.0), count(&means.1, scene.beams.1, UNDER.1))
}

/// A map as NPY.
pub fn npy(values: &[u16], width: usize) -> Vec<u8> {
    let header = format!(
        "{{'descr': '<u2', 'fortran_order': False, 'shape': ({}, {width}), }}\n",
        values.len() / width
    );
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend((header.len() as u16).to_le_bytes());
    bytes.extend(header.as_bytes());
    values.iter().for_each(|value| bytes.extend(value.to_le_bytes()));
    bytes
}

/// A study of a scene: `Ti K` is A, `Fe K` is B, both stated to be counts.
pub fn study(scene: &Scene, seed: u64) -> Study {
    let (a, b) = counted(scene, seed);
    let mut study = Study::new();
    study.open("Ti-K.npy", &npy(&a, WIDTH));
    study.open("Fe-K.npy", &npy(&b, WIDTH));
    let window = || MapRecord { kind: Some("window".into()), ..MapRecord::default() };
    study.set_map("Ti K", window()).expect("a map of the study");
    study.set_map("Fe K", window()).expect("a map of the study");
    let beam = scene.beams.0.max(scene.beams.1) * STEP_UM;
    study.set_grid(GridRecord { step_x_um: Some(STEP_UM), ..GridRecord::default() }).expect("a step");
    study.set_scan(ScanRecord { beam_um: Some(beam), ..ScanRecord::default() }).expect("a beam");
    study
}
