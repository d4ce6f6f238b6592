//! What must hold for any points: made by chance with a stated seed.

use super::*;
use crate::numerics::chance::Chance;

const PLANES: [Model; 3] = [Model::Similarity, Model::Affine, Model::Homography];

/// Points at random places of a picture of 1000 x 700, where a transform takes them, with errors of `noise`.
pub fn scattered(seed: u64, n: usize, noise: f64, to: &PlaneTransform) -> Vec<Pair> {
    let mut chance = Chance::new(seed);
    (0..n)
        .map(|_| {
            let from = (1000.0 * chance.share(), 700.0 * chance.share());
            let (x, y) = to.at(from).unwrap();
            Pair { from, to: (x + noise * chance.normal(), y + noise * chance.normal()) }
        })
        .collect()
}

pub fn truth(model: Model) -> PlaneTransform {
    let matrix = match model {
        Model::Similarity => [0.3, -0.08, 17.0, 0.08, 0.3, -4.0, 0.0, 0.0, 1.0],
        Model::Affine | Model::Piecewise => [0.02, 0.31, 5.0, 0.28, -0.04, 9.0, 0.0, 0.0, 1.0],
        Model::Homography => [0.3, -0.08, 17.0, 0.1, 0.27, -4.0, 3e-4, -2e-4, 1.0],
    };
    PlaneTransform::new(matrix).unwrap()
}

#[test]
fn exact_transforms_are_recovered() {
    for model in PLANES {
        for n in [model.fewest(), 5, 17, 500] {
            let pairs = scattered(3 + n as u64, n.max(model.fewest()), 0.0, &truth(model));
            let fitted = fit(&pairs, model).unwrap();
            assert!(fitted.rms < 1e-9, "{model:?} {n} {}", fitted.rms);
            assert!(fitted.left_out.iter().flatten().all(|e| squared(e).sqrt() < 1e-7), "{model:?} {n}");
            for place in [(0.0, 0.0), (1000.0, 0.0), (333.0, 700.0)] {
                let (got, want) = (fitted.transform.at(place).unwrap(), truth(model).at(place).unwrap());
                assert!((got.0 - want.0).abs() < 1e-7 && (got.1 - want.1).abs() < 1e-7, "{model:?} {n}");
            }
        }
    }
}

#[test]
fn the_order_of_points_changes_nothing() {
    for model in PLANES {
        for n in [6, 11, 60] {
            let mut pairs = scattered(n as u64, n, 1.5, &truth(model));
            let one = fit(&pairs, model).unwrap();
            Chance::new(8).shuffle(&mut pairs);
            let other = fit(&pairs, model).unwrap();
            for place in [(0.0, 0.0), (1000.0, 0.0), (333.0, 700.0)] {
                let (a, b) = (one.transform.at(place).unwrap(), other.transform.at(place).unwrap());
                assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9, "{model:?} {n}");
            }
            assert!((one.rms - other.rms).abs() < 1e-9);
            let (a, b) = (one.left_out_rms.unwrap(), other.left_out_rms.unwrap());
            assert!((a - b).abs() < 1e-9 * a.max(1.0), "{model:?} {n} {a} {b}");
        }
    }
}

#[test]
fn the_refined_homography_has_the_smallest_error() {
    let pairs = scattered(77, 9, 2.0, &truth(Model::Homography));
    let fitted = fit(&pairs, Model::Homography).unwrap();
    let best = *fitted.transform.plane().unwrap().matrix();
    let rms_of = |matrix: [f64; 9]| {
        let plane = PlaneTransform::new(matrix).unwrap();
        let errors = errors_of(&pairs, |from| plane.at(from)).unwrap();
        (errors.iter().map(squared).sum::<f64>() / 9.0).sqrt()
    };
    assert!(fitted.rms < rms_of(*direct_homography(&pairs).unwrap().matrix()));
    for i in 0..8 {
        for change in [-1e-4, 1e-4] {
            let mut other = best;
            other[i] *= 1.0 + change;
            assert!(rms_of(other) >= fitted.rms, "{i} {change}");
        }
    }
}

/// The same with a bend of `most` grid pixels.
pub fn warped_points(seed: u64, n: usize, most: f64) -> Vec<Pair> {
    let mut pairs = scattered(seed, n, 0.0, &truth(Model::Affine));
    for pair in &mut pairs {
        let (x, y) = (pair.from.0 / 1000.0, pair.from.1 / 700.0);
        pair.to.0 += most * 4.0 * x * (1.0 - x);
        pair.to.1 += most * crate::numerics::math::sin(3.0 * y);
    }
    pairs
}

#[test]
fn a_warp_is_met_at_every_point_and_better_than_by_a_plane() {
    for n in [10, 30, 500] {
        let pairs = warped_points(n as u64, n, 9.0);
        let fitted = fit(&pairs, Model::Piecewise).unwrap();
        assert!(fitted.rms < 1e-9 && !fitted.errors_count());
        for pair in &pairs {
            let from = fitted.transform.back(pair.to).unwrap();
            assert!((from.0 - pair.from.0).abs() < 1e-6 && (from.1 - pair.from.1).abs() < 1e-6);
        }
        if n > 10 {
            let plane = fit(&pairs, Model::Affine).unwrap();
            assert!(fitted.left_out_rms.unwrap() < 0.5 * plane.left_out_rms.unwrap(), "{n}");
            let (inside, beside) =
                (fitted.transform.at((500.0, 300.0)), fitted.transform.at((4000.0, 300.0)));
            let (inside, beside) = (fitted.error_at(inside.unwrap()), fitted.error_at(beside.unwrap()));
            assert!(inside.unwrap() < 0.5 * beside.unwrap());
        }
        let mut other = pairs.clone();
        Chance::new(n as u64).shuffle(&mut other);
        let other = fit(&other, Model::Piecewise).unwrap();
        assert!((fitted.left_out_rms.unwrap() - other.left_out_rms.unwrap()).abs() < 1e-9);
        for place in [(0.0, 0.0), (-3000.0, 200.0), (1000.0, 0.0), (333.0, 700.0), (612.0, 444.0)] {
            let (a, b) = (fitted.transform.at(place).unwrap(), other.transform.at(place).unwrap());
            assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9, "{n} {place:?}");
        }
        for i in [0, n / 2, n - 1] {
            let others = without(&pairs, i);
            let around = linear::affine(&others).unwrap();
            let at = Piecewise::new(&as_places(&others), &around).unwrap().at(pairs[i].from).unwrap();
            let got = fitted.left_out[i].unwrap();
            assert!(
                (got.0 - (at.0 - pairs[i].to.0)).abs() < 1e-9
                    && (got.1 - (at.1 - pairs[i].to.1)).abs() < 1e-9
            );
        }
    }
}

#[test]
fn an_exact_plane_is_recovered_in_triangles_also_outside() {
    let fitted = fit(&scattered(9, 20, 0.0, &truth(Model::Affine)), Model::Piecewise).unwrap();
    assert!(fitted.left_out_rms.unwrap() < 1e-9);
    for place in [(0.0, 0.0), (-5000.0, 200.0), (1000.0, 0.0), (333.0, 7000.0)] {
        let (got, want) = (fitted.transform.at(place).unwrap(), truth(Model::Affine).at(place).unwrap());
        assert!((got.0 - want.0).abs() < 1e-7 && (got.1 - want.1).abs() < 1e-7, "{place:?}");
    }
}

#[test]
fn exchanged_points_fold_the_picture_and_are_named() {
    let mut pairs = warped_points(4, 30, 5.0);
    (pairs[6].to, pairs[21].to) = (pairs[21].to, pairs[6].to);
    let Err(Trouble::Folded { points }) = fit(&pairs, Model::Piecewise) else { panic!("not folded") };
    assert!(points.contains(&6) && points.contains(&21), "{points:?}");
}

#[test]
fn odd_numbers_never_panic() {
    let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, 1e300, 1e-300, 5.0, -7.25, 9e6];
    let mut chance = Chance::new(5);
    for n in (2..30).chain([500]) {
        for _ in 0..40 {
            let mut number = || odd[chance.below(odd.len() as u64) as usize] + 3.0 * chance.share();
            let pairs: Vec<Pair> =
                (0..n).map(|_| Pair { from: (number(), number()), to: (number(), number()) }).collect();
            for model in Model::ALL {
                if let Ok(fitted) = fit(&pairs, model) {
                    assert!(fitted.rms.is_finite());
                    let _ = (fitted.error_at((f64::NAN, 1.0)), fitted.error_at((1e300, 1.0)));
                }
            }
        }
    }
    // The same without the numbers that are refused at once.
    for _ in 0..2000 {
        let n = 2 + chance.below(12) as usize;
        let mut number = || odd[3 + chance.below(7) as usize % 7] % 1e7;
        let pairs: Vec<Pair> =
            (0..n).map(|_| Pair { from: (number(), number()), to: (number(), number()) }).collect();
        for model in Model::ALL {
            if let Ok(fitted) = fit(&pairs, model) {
                assert!(fitted.rms.is_finite() && fitted.errors.len() == n);
            }
        }
    }
}
