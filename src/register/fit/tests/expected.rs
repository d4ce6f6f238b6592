//! Expected errors come true: many invented sets with a known spread, the true place against the one that is found.

use super::any::{scattered, truth, warped_points};
use super::*;
use crate::numerics::chance::Chance;

/// Root of the mean of (true distance / expected distance)² at a place of the picture, over many sets of points that are
/// set with an error of `noise`; the place itself is set with the same error.
fn ratio(model: Model, n: usize, noise: f64, place: Point) -> f64 {
    let rounds = 600;
    let mut chance = Chance::new(1);
    let (mut sum, mut fits) = (0.0, 0.0);
    for seed in 0..rounds {
        let pairs = scattered(1000 + seed, n, noise, &truth(model));
        let Ok(fitted) = fit(&pairs, model) else { continue };
        let Some(found) = fitted.transform.at(place) else { continue };
        let set = truth(model).at(place).unwrap();
        let set = (set.0 + noise * chance.normal(), set.1 + noise * chance.normal());
        let off = squared(&(found.0 - set.0, found.1 - set.1)).sqrt();
        sum += (off / fitted.error_at(found).unwrap()).powi(2);
        fits += 1.0;
    }
    assert!(fits > 0.9 * rounds as f64, "{model:?} {n}");
    (sum / fits).sqrt()
}

#[test]
fn expected_errors_come_true() {
    for (model, n) in [
        (Model::Similarity, 4),
        (Model::Similarity, 12),
        (Model::Affine, 6),
        (Model::Affine, 12),
        (Model::Homography, 14),
    ] {
        for place in [(500.0, 350.0), (20.0, 20.0), (1300.0, 900.0)] {
            // As large as is assumed before any error is seen.
            let same = ratio(model, n, 0.5, place);
            assert!((0.8..1.25).contains(&same), "{model:?} {n} {place:?}: {same}");
        }
        // Points that are set far better: expected too large, never too small.
        let fine = ratio(model, n, 0.05, (500.0, 350.0));
        assert!(fine < 1.05, "{model:?} {n}: {fine}");
    }
    // With few points and a large error it is seen less well.
    let coarse = ratio(Model::Affine, 8, 3.0, (500.0, 350.0));
    assert!((0.8..1.3).contains(&coarse), "{coarse}");
}

#[test]
fn expected_errors_of_a_warp_are_not_too_small() {
    let bend = |(x, y): Point| {
        (12.0 * 4.0 * (x / 1000.0) * (1.0 - x / 1000.0), 12.0 * crate::numerics::math::sin(3.0 * y / 700.0))
    };
    for (n, place) in [
        (14, (500.0, 350.0)),
        (40, (500.0, 350.0)),
        (40, (150.0, 600.0)),
        (40, (-150.0, 350.0)),
        (40, (1150.0, 800.0)),
    ] {
        let (mut sum, mut fits) = (0.0, 0.0);
        for seed in 0..100 {
            let mut pairs = warped_points(50 + seed, n, 12.0);
            let mut chance = Chance::new(seed);
            for pair in &mut pairs {
                pair.to.0 += 0.5 * chance.normal();
                pair.to.1 += 0.5 * chance.normal();
            }
            let Ok(fitted) = fit(&pairs, Model::Piecewise) else { continue };
            let found = fitted.transform.at(place).unwrap();
            let flat = truth(Model::Affine).at(place).unwrap();
            let is_at = (flat.0 + bend(place).0, flat.1 + bend(place).1);
            let off = squared(&(found.0 - is_at.0, found.1 - is_at.1)).sqrt();
            sum += (off / fitted.error_at(found).unwrap()).powi(2);
            fits += 1.0;
        }
        let ratio = (sum / fits).sqrt();
        assert!(fits > 60.0 && (0.1..1.25).contains(&ratio), "{n} {place:?}: {ratio} of {fits}");
    }
}

#[test]
fn a_point_that_is_set_wrongly_is_named_and_others_hardly_ever() {
    for (model, n) in
        [(Model::Similarity, 5), (Model::Affine, 7), (Model::Affine, 20), (Model::Homography, 12)]
    {
        let (mut named, mut found) = (0, 0);
        for seed in 0..600 {
            let mut pairs = scattered(7919 * seed + 13, n, 0.7, &truth(model));
            named += usize::from(fit(&pairs, model).is_ok_and(|fitted| fitted.doubtful.is_some()));
            pairs[n / 2].to.0 += 20.0;
            found += usize::from(fit(&pairs, model).is_ok_and(|fitted| fitted.doubtful == Some(n / 2)));
        }
        assert!(named <= 14, "{model:?} {n}: {named} of 600 named without a mistake");
        assert!(found >= 420, "{model:?} {n}: {found} of 600 mistakes found");
    }
    assert_eq!(fit(&scattered(5, 9, 0.0, &truth(Model::Affine)), Model::Affine).unwrap().doubtful, None);
    assert_eq!(fit(&six()[..4], Model::Affine).unwrap().doubtful, None);
}
