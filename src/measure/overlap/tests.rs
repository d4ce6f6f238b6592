use super::*;
use crate::geometry::PlaneTransform;
use crate::grid::{Grid, Mask};
use crate::kind::Kind;
use crate::numerics::chance::Chance;

/// A painted scene in pixels of the first grid.
fn scene(x: f64, y: f64) -> f64 {
    let disc = (x - 46.0) * (x - 46.0) + (y - 34.0) * (y - 34.0) < 300.0;
    let bar = (x - 20.0 - 0.4 * y).abs() < 8.0;
    12.0 + 0.05 * x + if disc { 60.0 } else { 0.0 } + if bar { 30.0 } else { 0.0 }
}

fn signal(width: u32, height: u32, values: Vec<f64>, kind: Kind) -> Signal {
    let values = Grid::from_vec(width, height, values).unwrap();
    let saturated = Mask::try_filled(width, height, false).unwrap();
    Signal { values, saturated, kind, sigma: None, region: None, doubt: None }
}

fn drawn(seed: u64, (width, height): (u32, u32), of: impl Fn(f64, f64) -> f64) -> Signal {
    let mut chance = Chance::new(seed);
    let mut data = Vec::new();
    for y in 0..height {
        for x in 0..width {
            data.push(chance.poisson(of(f64::from(x) + 0.5, f64::from(y) + 0.5)) as f64);
        }
    }
    signal(width, height, data, Kind::Window)
}

fn rule() -> Transform {
    let angle = 1.5 * core::f64::consts::PI / 180.0;
    let (c, s) = (0.8 * crate::numerics::math::cos(angle), 0.8 * crate::numerics::math::sin(angle));
    Transform::Plane(PlaneTransform::affine([c, -s, 12.0], [s, c, 3.0]).unwrap())
}

/// The second scan of the scene, its expectation changed by `bent` (of the place on the first grid and the counts).
fn pair(seed: u64, bent: impl Fn(f64, f64, f64) -> f64) -> (Signal, Signal) {
    let rule = rule();
    let first = drawn(2 * seed + 1, (90, 70), scene);
    let second = drawn(2 * seed + 2, (110, 80), |x, y| {
        let (u, v) = rule.at((x, y)).unwrap();
        bent(u, v, scene(u, v))
    });
    (first, second)
}

fn found(pair: &(Signal, Signal), alignment_px: f64) -> Overlap {
    let step = |mm: f64| Step::new(1000.0 * mm, 1000.0 * mm).unwrap();
    let known = Known { alignment_px, steps: Some((step(0.5), step(0.4))) };
    overlap(&pair.0, &pair.1, &rule(), known).unwrap().unwrap()
}

#[test]
fn the_ratio_of_two_draws_of_one_scene_is_found_with_its_interval() {
    let (mut held, mut clean) = (0, 0);
    for seed in 0..40 {
        let found = found(&pair(seed, |_, _, v| 0.87 * v), 0.0);
        assert!((found.ratio - 0.87).abs() < 0.01, "{found:?}");
        assert!((found.density - 1.5625).abs() < 1e-9 && found.blocks >= 60, "{found:?}");
        assert!((found.per_area.unwrap() - found.ratio * 1.5625).abs() < 1e-12);
        held += u32::from(found.interval.0 <= 0.87 && 0.87 <= found.interval.1);
        let is_one = found.scatter_p.unwrap() > 0.001
            && ![found.across, found.down, found.with_brightness].iter().any(|s| s.is_beyond(3.5, 0.005));
        clean += u32::from(is_one);
    }
    assert!((36..=40).contains(&held), "{held} of 40 intervals hold the truth");
    assert!(clean >= 38, "one ratio in {clean} of 40");
}

#[test]
fn drift_dead_time_and_an_offset_are_told() {
    let drift = found(&pair(3, |x, _, v| (0.87 + 0.2 * (x - 50.0) / 70.0) * v), 0.0);
    assert!(drift.across.is_beyond(5.0, 0.1) && drift.across.value > 0.0, "{drift:?}");
    assert!(!drift.down.is_beyond(3.5, 0.005), "{drift:?}");
    let tired = found(&pair(4, |_, _, v| 0.9 * v / (1.0 + 0.004 * v)), 0.0);
    assert!(tired.with_brightness.is_beyond(4.0, 0.05) && tired.with_brightness.value < 0.0, "{tired:?}");
    let raised = found(&pair(5, |_, _, v| 0.87 * v + 6.0), 0.0);
    let line = raised.line.unwrap();
    assert!(
        line.offset.is_beyond(4.0, 0.0) && (line.offset.value - 6.0).abs() < 3.0 * line.offset.error,
        "{line:?}"
    );
    assert!((line.slope.value - 0.87).abs() < 3.0 * line.slope.error, "{line:?}");
}

#[test]
fn a_pixel_of_shift_is_seen_in_the_moved_ratios() {
    let even = found(&pair(6, |_, _, v| 0.87 * v), 0.3);
    let far = even.moved.iter().map(|m| (m - even.ratio).abs()).fold(0.0, f64::max);
    assert!(far > 0.0 && far < 0.02, "{even:?}");
    assert!(even.by_alignment > 0.0 && even.error >= even.by_counting.unwrap(), "{even:?}");
}

#[test]
fn what_gives_no_ratio_says_why() {
    let pair = pair(7, |_, _, v| v);
    let apart = Transform::Plane(PlaneTransform::affine([1.0, 0.0, 500.0], [0.0, 1.0, 0.0]).unwrap());
    let known = Known::default();
    assert_eq!(overlap(&pair.0, &pair.1, &apart, known).unwrap(), Err(NoRatio::Apart));
    let corner = Transform::Plane(PlaneTransform::affine([1.0, 0.0, 80.0], [0.0, 1.0, 60.0]).unwrap());
    let small = overlap(&pair.0, &pair.1, &corner, known).unwrap();
    assert!(matches!(small, Err(NoRatio::TooSmall { blocks: 0..=4 })), "{small:?}");
    let none = signal(90, 70, vec![0.0; 6300], Kind::Window);
    assert_eq!(overlap(&none, &pair.1, &rule(), known).unwrap(), Err(NoRatio::Nothing));
    let blank = signal(90, 70, vec![f64::NAN; 6300], Kind::Window);
    assert_eq!(overlap(&blank, &pair.1, &rule(), known).unwrap(), Err(NoRatio::TooSmall { blocks: 0 }));
}

#[test]
fn without_known_noise_the_blocks_alone_give_the_interval() {
    let (first, mut second) = pair(8, |_, _, v| 0.87 * v);
    second.kind = Kind::Net;
    let found = found(&(first, second), 0.0);
    assert_eq!((found.by_counting, found.scatter), (None, None));
    assert!(found.error == found.by_blocks && (found.ratio - 0.87).abs() < 4.0 * found.error, "{found:?}");
}

/// scipy.stats.t.ppf(0.975, n).
#[test]
fn students_t() {
    for (freedom, t) in [(11.0, 2.200_985), (30.0, 2.042_272), (120.0, 1.979_930)] {
        assert!((student_975(freedom) / t - 1.0).abs() < 1e-4, "{freedom}");
    }
}
