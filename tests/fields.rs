//! One painted scene scanned as two overlapping fields: the second with a finer step, 0.87 as bright, and turned by 1.5 degrees.
//! The truth is in the formulas; counts are Poisson draws.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)] // a test may fail

use limner::element::Line;
use limner::geometry::{PlaneTransform, Point, Step, Transform};
use limner::grid::{Grid, Onto, Samples, lay};
use limner::inspect;
use limner::measure::Signal;
use limner::measure::overlap::{Known, Overlap, overlap};
use limner::notice::{Lines, Sign};
use limner::numerics::chance::Chance;
use limner::numerics::math;
use limner::register::{Model, Pair, fit, outline};
use limner::stack::{Map, MapId, Source};

const BRIGHT: f64 = 0.87;
const FIRST: (u32, u32) = (160, 120);
const SECOND: (u32, u32) = (150, 170);
/// Steps of 0.5 and 0.4 mm.
const SCALE: f64 = 0.8;
const NAMES: [&str; 6] = ["Ca K", "Fe K", "Cu K", "Zn K", "Pb L", "Hg L"];

/// Counts expected of a pixel of the first scan at a place of its grid.
fn scene(element: usize, x: f64, y: f64) -> f64 {
    let soft = |d: f64| (0.5 - d / 1.6).clamp(0.0, 1.0);
    let round = |cx: f64, cy: f64, r: f64| soft(((x - cx) * (x - cx) + (y - cy) * (y - cy)).sqrt() - r);
    let disc = round(128.0, 40.0, 16.0) + round(60.0, 70.0, 24.0) + round(190.0, 66.0, 15.0);
    let band = soft((y - 92.0 - 5.0 * math::sin(x / 17.0)).abs() - 6.0);
    let bar = soft((x - 142.0 - 0.35 * (y - 60.0)).abs() - 5.0);
    let adds: [[f64; 4]; 6] = [
        [14.0, 30.0, 4.0, 0.0],
        [10.0, 0.0, 45.0, 20.0],
        [8.0, 0.0, 70.0, 0.0],
        [6.0, 2.0, 25.0, 8.0],
        [30.0, 90.0, 0.0, 30.0],
        [5.0, 0.0, 0.0, 40.0],
    ];
    let [ground, of_disc, of_band, of_bar] = adds[element];
    ground * (1.0 + 0.001 * x) + of_disc * disc + of_band * band + of_bar * bar
}

/// From the second scan to the grid of the first.
fn truth() -> Transform {
    let angle = 1.5 * core::f64::consts::PI / 180.0;
    let (c, s) = (SCALE * math::cos(angle), SCALE * math::sin(angle));
    Transform::Plane(PlaneTransform::affine([c, -s, 104.0], [s, c, -7.0]).unwrap())
}

fn drawn(chance: &mut Chance, (width, height): (u32, u32), of: impl Fn(Point) -> f64) -> Samples {
    let mut data = Vec::new();
    for y in 0..height {
        for x in 0..width {
            data.push(chance.poisson(of((f64::from(x) + 0.5, f64::from(y) + 0.5))) as u16);
        }
    }
    Samples::U16(Grid::from_vec(width, height, data).unwrap())
}

fn map(number: usize, name: &str, samples: Samples) -> Map {
    let source = Source { file: format!("{name}.tif"), page: 0, sha256: String::new() };
    Map::new(MapId::new(number as u32 + 1), source, String::new(), Line::parse(name), samples).unwrap()
}

/// Both scans of all lines, the second `bright` times as bright for each pixel.
fn scans(seed: u64, bright: f64) -> (Vec<Map>, Vec<Map>) {
    let (mut chance, rule) = (Chance::new(seed), truth());
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for (element, name) in NAMES.iter().enumerate() {
        first.push(map(element, name, drawn(&mut chance, FIRST, |(x, y)| scene(element, x, y))));
        let of_second = |place: Point| {
            let (x, y) = rule.at(place).unwrap();
            bright * scene(element, x, y)
        };
        second.push(map(element, name, drawn(&mut chance, SECOND, of_second)));
    }
    (first, second)
}

/// Ten matching points in the overlap, set with this error in pixels along each axis; the fit and its error.
fn aligned(seed: u64, off: f64) -> (Transform, f64) {
    let (mut chance, rule) = (Chance::new(1000 + seed), truth());
    let pairs: Vec<Pair> = (0..10)
        .map(|i| {
            let place =
                (110.0 + 11.0 * f64::from(i % 5), 12.0 + 86.0 * f64::from(i / 5) + 5.0 * f64::from(i % 3));
            let to = (place.0 + off * chance.normal(), place.1 + off * chance.normal());
            Pair { from: rule.back(place).unwrap(), to }
        })
        .collect();
    let fitted = fit(&pairs, Model::Similarity).unwrap();
    let error = fitted.left_out_rms.unwrap();
    (fitted.transform, error)
}

fn compared(first: &Map, second: &Map, (rule, alignment_px): &(Transform, f64)) -> Overlap {
    let step = |mm: f64| Step::new(1000.0 * mm, 1000.0 * mm).unwrap();
    let known = Known { alignment_px: *alignment_px, steps: Some((step(0.5), step(0.4))) };
    overlap(&Signal::of(first).unwrap(), &Signal::of(second).unwrap(), rule, known).unwrap().unwrap()
}

#[test]
fn the_ratio_is_found_within_a_hundredth_and_its_interval_holds_it() {
    let lines = [1, 4];
    let (mut held, mut one) = ([0, 0], 0);
    for seed in 0..20 {
        let ((first, second), alignment) = (scans(seed, BRIGHT), aligned(seed, 0.3));
        for (at, line) in lines.into_iter().enumerate() {
            let found = compared(&first[line], &second[line], &alignment);
            assert!((found.ratio / BRIGHT - 1.0).abs() < 0.01, "seed {seed}: {found:?}");
            assert!(
                (found.interval.1 - found.interval.0) < 0.05,
                "an interval that says something: {found:?}"
            );
            assert!((found.per_area.unwrap() - found.ratio / (SCALE * SCALE)).abs() < 1e-9);
            held[at] += u32::from(found.interval.0 <= BRIGHT && BRIGHT <= found.interval.1);
            let drifts = [found.across, found.down, found.with_brightness];
            one += u32::from(!drifts.iter().any(|slope| slope.is_beyond(4.0, 0.005)));
        }
    }
    assert!(held.iter().all(|&held| held >= 19), "of 20 intervals {held:?} hold the truth");
    assert!(one >= 38, "one ratio in {one} of 40");
}

fn seams(maps: &[Map]) -> Vec<Sign> {
    let borrowed: Vec<&Map> = maps.iter().collect();
    let found = inspect::stack(&borrowed).unwrap();
    found.into_iter().map(|found| found.sign).filter(|sign| sign.code() == "seam").collect()
}

/// The first scan, and beside it what the second adds, laid on the same grid.
fn mosaic(first: &[Map], second: &[Map], rule: &Transform) -> Vec<Map> {
    let size = (215, FIRST.1);
    let joined = |(number, (first, second)): (usize, (&Map, &Map))| {
        let counts = second.plane.to_f64().unwrap();
        let laid = lay(&counts, Some(&counts), &Onto::grid(rule, size), 1.0).unwrap();
        let mut values = laid.values;
        for y in 0..FIRST.1 {
            for x in 0..FIRST.0 {
                values.data_mut()[(y * size.0 + x) as usize] = first.plane.value(x, y).unwrap();
            }
        }
        map(number, NAMES[number], Samples::F64(values))
    };
    first.iter().zip(second).enumerate().map(joined).collect()
}

#[test]
fn the_seam_of_a_mosaic_is_found_at_its_place_and_none_in_the_single_fields() {
    for seed in 0..6 {
        let ((first, second), (rule, _)) = (scans(seed, BRIGHT), aligned(seed, 0.3));
        assert_eq!(seams(&first), [], "first field, seed {seed}");
        assert_eq!(seams(&second), [], "second field, seed {seed}");
        let found = seams(&mosaic(&first, &second, &rule));
        let [Sign::Seam { lines: Lines::Columns, from, to, factor, error, .. }] = found.as_slice() else {
            panic!("seed {seed}: {found:?}")
        };
        assert!((from - 160.0).abs() < 1.6 && (to - 160.0).abs() < 1.6, "seed {seed}: {from} {to}");
        // Laid on coarser pixels, counts of more than one come together.
        let truth = BRIGHT / (SCALE * SCALE);
        assert!(
            (factor / truth - 1.0).abs() < (2.0 * error / truth).min(0.08),
            "seed {seed}: {factor} ± {error}"
        );
    }
}

/// The border by geometry: the polygon of the second scan on the grid holds the place of its upper left corner.
#[test]
fn the_border_of_a_field_is_known_from_its_alignment() {
    let border = outline(&truth(), SECOND);
    assert_eq!(border.len(), 4);
    assert!((border[0].0 - 104.0).abs() < 1e-9 && (border[0].1 + 7.0).abs() < 1e-9, "{border:?}");
    let long = ((border[1].0 - border[0].0).powi(2) + (border[1].1 - border[0].1).powi(2)).sqrt();
    assert!((long - 120.0).abs() < 1e-9);
}

/// The tables of `docs/STUDIES.md`: `cargo test --test fields -- --ignored --nocapture`.
#[test]
#[ignore = "a study: some minutes"]
fn the_tables_of_the_study() {
    println!("| points off by, px | error, % | half interval, % | holds, % | one ratio, % |");
    for off in [0.01, 0.3, 1.0] {
        let (mut error, mut half, mut held, mut one, mut n) = (0.0, 0.0, 0, 0, 0);
        for seed in 100..200 {
            let ((first, second), alignment) = (scans(seed, BRIGHT), aligned(seed, off));
            for line in [1, 4] {
                let found = compared(&first[line], &second[line], &alignment);
                n += 1;
                error += (found.ratio / BRIGHT - 1.0).powi(2);
                half += 0.5 * (found.interval.1 - found.interval.0) / BRIGHT;
                held += u32::from(found.interval.0 <= BRIGHT && BRIGHT <= found.interval.1);
                let drifts = [found.across, found.down, found.with_brightness];
                let is_even = found.scatter_p.is_none_or(|p| p >= 1e-4) || found.spread <= 0.005;
                one += u32::from(is_even && !drifts.iter().any(|slope| slope.is_beyond(4.0, 0.005)));
            }
        }
        let share = |v: u32| 100.0 * f64::from(v) / f64::from(n);
        let root = 100.0 * (error / f64::from(n)).sqrt();
        println!(
            "| {off} | {root:.2} | {:.2} | {:.1} | {:.1} |",
            100.0 * half / f64::from(n),
            share(held),
            share(one)
        );
    }
    println!("| factor at the seam | found within 2 px | elsewhere | mean factor |");
    for factor in [0.7, 0.8, 0.87, 0.92, 0.96, 1.0, 1.04, 1.1, 1.36, 2.0] {
        let (mut right, mut wrong, mut mean) = (0, 0, 0.0);
        for seed in 300..310 {
            let ((first, second), (rule, _)) = (scans(seed, factor * SCALE * SCALE), aligned(seed, 0.3));
            for sign in seams(&mosaic(&first, &second, &rule)) {
                match sign {
                    Sign::Seam { lines: Lines::Columns, from, to, factor, .. }
                        if (from - 160.0).abs() < 2.0 && (to - 160.0).abs() < 2.0 =>
                    {
                        right += 1;
                        mean += factor;
                    }
                    _ => wrong += 1,
                }
            }
        }
        println!("| {factor} | {right} of 10 | {wrong} | {:.3} |", mean / f64::from(right));
    }
}
