//! Counts are kept when a map is laid on another grid.

#![allow(clippy::unwrap_used)] // a test may fail

use limner::geometry::{PlaneTransform, Point, Transform};
use limner::grid::{Grid, Onto, lay};

fn affine(a: [f64; 3], b: [f64; 3]) -> Transform {
    Transform::Plane(PlaneTransform::affine(a, b).unwrap())
}

/// Turned by 17 degrees, scaled, moved.
fn turned(scale: f64, shift: Point) -> Transform {
    let (c, s) = (scale * 0.956_304_755_963_035_4, scale * 0.292_371_704_722_736_7);
    affine([c, -s, shift.0], [s, c, shift.1])
}

/// The map of iron of the references: 64 columns, 48 rows.
fn iron() -> Grid<f64> {
    let mut data = Vec::new();
    for y in 0..48i64 {
        for x in 0..64i64 {
            let near = |cx: i64, cy: i64, r: i64| (x - cx) * (x - cx) + (y - cy) * (y - cy) <= r;
            let mut v = 4 + (37 * x + 101 * y + 7 * x * y) % 9;
            v += if near(18, 16, 144) { 24 + 3 * (y - 4) } else { 0 };
            v += if near(46, 30, 100) { 15 + 2 * (x - 36) } else { 0 };
            data.push(v as f64);
        }
    }
    Grid::from_vec(64, 48, data).unwrap()
}

fn total(grid: &Grid<f64>) -> f64 {
    grid.data().iter().filter(|v| !v.is_nan()).sum()
}

/// 48 rows of 64 onto 20 rows of 27, by overlap areas in numpy.
#[test]
fn the_check_values_of_overlap_areas() {
    let scaled = affine([27.0 / 64.0, 0.0, 0.0], [0.0, 20.0 / 48.0, 0.0]);
    let laid = lay(&iron(), None, &Onto::grid(&scaled, (27, 20)), 1.0).unwrap();
    assert_eq!(total(&iron()), 61180.0);
    assert!((total(&laid.values) - 61180.0).abs() < 1e-8 && laid.beside.abs() < 1e-8);
    assert!((laid.values.get(0, 0).unwrap() - 30.533_333_333_333_33).abs() < 1e-8);
    assert!((laid.values.get(13, 10).unwrap() - 44.755_555_555_555_53).abs() < 1e-8);
    assert!(laid.coverage.data().iter().all(|&c| c == 1.0));
}

#[test]
fn nothing_moved_is_the_same_to_the_bit() {
    let same = Transform::Plane(PlaneTransform::identity());
    let mut iron = iron();
    iron.data_mut()[70] = f64::NAN;
    let laid = lay(&iron, Some(&iron.clone()), &Onto::grid(&same, (64, 48)), 1.0).unwrap();
    let bits = |grid: &Grid<f64>| grid.data().iter().map(|v| v.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(&laid.values), bits(&iron));
    assert_eq!(bits(&laid.variance.unwrap()), bits(&iron));
    assert_eq!(laid.coverage.data()[70], 0.0);
}

#[test]
fn cutting_polygons_gives_what_the_short_way_gives() {
    let scaled = affine([0.731, 0.0, 1.3], [0.0, -0.62, 31.2]);
    // As little turned that nothing is seen of it, but enough to go the long way.
    let nearly = affine([0.731, 1e-13, 1.3], [0.0, -0.62, 31.2]);
    let short = lay(&iron(), Some(&iron()), &Onto::grid(&scaled, (50, 33)), 0.3).unwrap();
    let long = lay(&iron(), Some(&iron()), &Onto::grid(&nearly, (50, 33)), 0.3).unwrap();
    let near = |a: &Grid<f64>, b: &Grid<f64>| {
        a.data().iter().zip(b.data()).all(|(a, b)| (a - b).abs() < 1e-8 || (a.is_nan() && b.is_nan()))
    };
    assert!(near(&short.values, &long.values) && near(&short.coverage, &long.coverage));
    assert!(near(&short.variance.unwrap(), &long.variance.unwrap()));
}

/// Any similarity, shear or aslant view: what lies on the grid and beside it is the whole; an even field stays even.
#[test]
fn sums_are_kept_whatever_the_rule() {
    let mut state = 5u64;
    for _ in 0..20 {
        // The upper bits of a congruence (Knuth's constants).
        let mut part = |low: f64, high: f64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            low + (high - low) * ((state >> 11) as f64 / (1u64 << 53) as f64)
        };
        let plane = PlaneTransform::new([
            part(0.5, 1.5),
            part(-0.3, 0.3),
            part(-5.0, 15.0),
            part(-0.3, 0.3),
            part(0.5, 1.5),
            part(-5.0, 15.0),
            part(-1e-3, 1e-3),
            part(-1e-3, 1e-3),
            1.0,
        ]);
        let rule = Transform::Plane(plane.unwrap());
        let iron = iron();
        let wide = Onto { transform: &rule, origin: (-200.0, -200.0), side: 1.0, size: (500, 500) };
        let laid = lay(&iron, None, &wide, 1e-9).unwrap();
        let gathered: f64 = laid
            .values
            .data()
            .iter()
            .zip(laid.coverage.data())
            .filter(|(v, _)| !v.is_nan())
            .map(|(v, covered)| v * covered)
            .sum();
        assert!((gathered - 61180.0).abs() < 1e-3, "{gathered}");
        assert!(laid.beside.abs() < 1e-6, "{}", laid.beside);
        let narrow = lay(&iron, None, &Onto::grid(&rule, (30, 30)), 1.0).unwrap();
        assert!(narrow.beside > 0.0 && narrow.coverage.data().iter().all(|&c| c < 1.0 + 1e-9));
    }
}

#[test]
fn an_even_field_stays_even_when_turned() {
    let even = Grid::try_filled(40, 30, 8.0).unwrap();
    let laid = lay(&even, Some(&even), &Onto::grid(&turned(0.8, (14.0, 3.0)), (40, 40)), 1.0).unwrap();
    let seen: Vec<f64> = laid.values.data().iter().copied().filter(|v| !v.is_nan()).collect();
    assert!(seen.len() > 300 && seen.iter().all(|v| (v - 12.5).abs() < 1e-9), "8 / 0.8²");
    let spread = laid.variance.unwrap();
    // Counts shared between pixels: each has less variance than as many counts of its own.
    assert!(spread.data().iter().filter(|v| !v.is_nan()).all(|&v| v > 0.0 && v < 12.5));
}

#[test]
fn blanks_leave_what_they_touch_blank_or_scaled_up() {
    let mut even = Grid::try_filled(10, 10, 4.0).unwrap();
    even.data_mut()[45] = f64::NAN;
    let half = affine([1.0, 0.0, 0.5], [0.0, 1.0, 0.0]);
    let whole = lay(&even, None, &Onto::grid(&half, (12, 10)), 1.0).unwrap();
    assert!(whole.values.get(5, 4).unwrap().is_nan() && whole.values.get(6, 4).unwrap().is_nan());
    assert!(whole.values.get(0, 0).unwrap().is_nan() && whole.values.get(11, 0).unwrap().is_nan());
    assert_eq!(whole.values.get(7, 4), Some(&4.0));
    let part = lay(&even, None, &Onto::grid(&half, (12, 10)), 0.5).unwrap();
    assert_eq!((part.values.get(5, 4), part.coverage.get(5, 4)), (Some(&4.0), Some(&0.5)));
    assert!(part.values.get(11, 4).unwrap().is_nan(), "nothing reaches there");
}

#[test]
fn a_plane_seen_edge_on_is_refused_and_an_empty_map_lies_nowhere() {
    let edge_on =
        Transform::Plane(PlaneTransform::new([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, -0.019_999, 0.0, 1.0]).unwrap());
    let even = Grid::try_filled(50, 50, 1.0).unwrap();
    assert_eq!(lay(&even, None, &Onto::grid(&edge_on, (4000, 4000)), 1.0).unwrap_err().code, "bad_setting");
    let none = Grid::from_vec(0, 0, Vec::new()).unwrap();
    let laid = lay(&none, None, &Onto::grid(&turned(1.0, (0.0, 0.0)), (3, 3)), 1.0).unwrap();
    assert!(laid.values.data().iter().all(|v| v.is_nan()));
}
