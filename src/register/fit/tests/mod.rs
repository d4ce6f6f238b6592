//! Alignment against values by numpy, scipy and scikit-image, and what must hold for any points.

mod any;
mod expected;

use super::*;

fn pairs(values: &[(f64, f64, f64, f64)]) -> Vec<Pair> {
    values.iter().map(|&(x, y, u, v)| Pair { from: (x, y), to: (u, v) }).collect()
}

/// Six points.
fn six() -> Vec<Pair> {
    pairs(&[
        (10.0, 12.0, 31.0, 40.0),
        (200.0, 18.0, 432.0, 71.0),
        (190.0, 150.0, 398.0, 350.0),
        (15.0, 160.0, 26.0, 349.0),
        (100.0, 80.0, 222.0, 194.0),
        (60.0, 120.0, 131.0, 270.0),
    ])
}

fn lengths(errors: &[Point]) -> Vec<f64> {
    errors.iter().map(|e| squared(e).sqrt()).collect()
}

fn assert_near(got: &[f64], want: &[f64], within: f64) {
    assert_eq!(got.len(), want.len());
    for (g, w) in got.iter().zip(want) {
        assert!((g - w).abs() <= within, "{got:?} {want:?}");
    }
}

#[test]
fn affine_as_numpy_has_it() {
    let fitted = fit(&six(), Model::Affine).unwrap();
    // numpy 2.4.6, linalg.lstsq.
    let want = [
        2.1121345117923602,
        -0.09801523460327008,
        13.075147067526723,
        0.11147063645925574,
        2.0980902507880606,
        12.82260810172947,
    ];
    assert_near(&fitted.transform.plane().unwrap().matrix()[..6], &want, 1e-11);
    let residuals = [
        2.2058879804445573,
        2.5618628923132176,
        2.1134946822895246,
        3.2966535612350003,
        5.9663687467302475,
        3.224293677339868,
    ];
    assert_near(&lengths(&fitted.errors), &residuals, 1e-10);
    assert_near(&[fitted.rms], &[3.4822763980822478], 1e-12);
    let leverages = [
        0.7090096436048628,
        0.6897728142639921,
        0.6263704977642057,
        0.5616289315814973,
        0.17178343650955824,
        0.24143467627588383,
    ];
    assert_near(&linear::leverages(&six()), &leverages, 1e-13);
    let left_out = [
        7.580622285121958,
        8.258021895261203,
        5.656658988764001,
        7.520235249849475,
        7.203875181613782,
        4.25051551461706,
    ];
    let got: Vec<Point> = fitted.left_out.iter().map(|e| e.unwrap()).collect();
    assert_near(&lengths(&got), &left_out, 1e-10);
}

#[test]
fn the_affine_errors_left_out_are_those_of_fitting_anew() {
    let six = six();
    let fitted = fit(&six, Model::Affine).unwrap();
    for (i, left_out) in fitted.left_out.iter().enumerate() {
        let anew = fit(&without(&six, i), Model::Affine).unwrap();
        let (x, y) = anew.transform.at(six[i].from).unwrap();
        let (dx, dy) = left_out.unwrap();
        assert!((dx - (x - six[i].to.0)).abs() < 1e-10 && (dy - (y - six[i].to.1)).abs() < 1e-10);
    }
}

#[test]
fn homography_as_others_have_it() {
    // scikit-image 0.26.0, ProjectiveTransform.
    let direct = [
        2.140535731462207,
        -0.10089588218795421,
        12.593392001241142,
        0.12441995266265823,
        2.109781732464668,
        11.74358886551662,
        6.303114480360364e-05,
        -2.5347681151332136e-06,
    ];
    let got = direct_homography(&six()).unwrap();
    assert_near(&got.matrix()[..6], &direct[..6], 1e-8);
    assert_near(&got.matrix()[6..8], &direct[6..], 1e-12);
    // scipy 1.17.1, optimize.least_squares from there; its own stopping rule leaves some 1e-6.
    let refined = [
        2.1406731882157835,
        -0.1008166089767776,
        12.593578114890386,
        0.12448142292779485,
        2.1091717082223345,
        11.813478301850367,
        6.339059488729207e-05,
        -2.0199259410355406e-06,
    ];
    let fitted = fit(&six(), Model::Homography).unwrap();
    let matrix = fitted.transform.plane().unwrap().matrix();
    assert_near(&matrix[..6], &refined[..6], 1e-5);
    assert_near(&matrix[6..8], &refined[6..], 1e-9);
    assert_near(&[fitted.rms], &[3.3835164632326413], 1e-9);
    assert!(fitted.left_out_rms.unwrap() > 2.0 * fitted.rms, "eight numbers from six points");
}

#[test]
fn similarity_as_umeyama_has_it() {
    let fitted = fit(&six(), Model::Similarity).unwrap();
    // scikit-image 0.26.0, SimilarityTransform.
    let [a, _, x, b, _, y, ..] = *fitted.transform.plane().unwrap().matrix();
    assert_near(
        &[(a * a + b * b).sqrt(), x, y],
        &[2.1091434815649936, 14.424944558005336, 12.506208605555258],
        1e-10,
    );
    assert_near(&[crate::numerics::math::atan2(b, a)], &[0.05072453618194427], 1e-12);
    let residuals = [
        3.405059169583168,
        1.9611880430202764,
        1.353824589849786,
        3.6125710175134302,
        5.944053430187008,
        3.464488829607243,
    ];
    assert_near(&lengths(&fitted.errors), &residuals, 1e-10);
}

#[test]
fn models_have_words_and_suggestions() {
    for model in Model::ALL {
        assert_eq!(Model::from_word(model.word()), Some(model));
        assert_eq!(fit(&six()[..1], model), Err(Trouble::TooFew { model, pairs: 1 }));
    }
    assert_eq!(Model::from_word("Affine"), None);
    let suggested = [0, 2, 3, 7, 8, 40].map(Model::suggested);
    use Model::{Affine, Homography, Similarity};
    assert_eq!(suggested, [Similarity, Similarity, Affine, Affine, Homography, Homography]);
}

#[test]
fn points_that_cannot_hold_a_model_are_refused() {
    let line = pairs(&[(0.0, 0.0, 0.0, 0.0), (50.0, 50.0, 10.0, 10.0), (100.0, 101.0, 20.0, 20.0)]);
    assert_eq!(fit(&line, Model::Affine), Err(Trouble::OnALine { side: Side::From }));
    assert!(fit(&line, Model::Similarity).is_ok(), "a similarity needs no third direction");
    let mut twice = six();
    twice[4].from = twice[1].from;
    assert_eq!(fit(&twice, Model::Affine), Err(Trouble::SamePlace { first: 1, second: 4, side: Side::From }));
    twice = six();
    twice[4].to = twice[1].to;
    assert_eq!(
        fit(&twice, Model::Homography),
        Err(Trouble::SamePlace { first: 1, second: 4, side: Side::To })
    );
    twice[2].to.1 = f64::NAN;
    assert_eq!(fit(&twice, Model::Homography), Err(Trouble::NotFinite { point: 2 }));
    // Three of the four on a line.
    let four = pairs(&[
        (0.0, 0.0, 0.0, 0.0),
        (100.0, 0.0, 100.0, 0.0),
        (50.0, 0.4, 50.0, 0.4),
        (50.0, 100.0, 50.0, 100.0),
    ]);
    assert_eq!(fit(&four, Model::Homography), Err(Trouble::ThreeOnALine));
    assert!(fit(&four, Model::Affine).is_ok());
    let many: Vec<Pair> =
        (0..501).map(f64::from).map(|i| Pair { from: (i, i * i), to: (i, i * i) }).collect();
    assert_eq!(fit(&many, Model::Affine), Err(Trouble::TooMany { pairs: 501 }));
}

#[test]
fn a_similarity_is_never_mirrored() {
    let mirrored: Vec<Pair> =
        six().iter().map(|p| Pair { from: (300.0 - p.from.0, p.from.1), ..*p }).collect();
    assert_eq!(fit(&mirrored, Model::Similarity), Err(Trouble::Mirrored));
    let affine = fit(&mirrored, Model::Affine).unwrap();
    assert_near(&[affine.rms], &[fit(&six(), Model::Affine).unwrap().rms], 1e-10);
    let [a, b, c, d] = affine.transform.slopes((0.0, 0.0)).unwrap();
    assert!(a * d - b * c < 0.0);
}

#[test]
fn where_a_pair_cannot_be_left_out_there_is_no_error() {
    let three = fit(&six()[..3], Model::Affine).unwrap();
    assert_eq!((three.left_out.clone(), three.left_out_rms), (vec![None; 3], None));
    assert!(three.rms < 1e-10 && three.is_error_assumed());
    // Without the fourth, the others lie on a line.
    let four = pairs(&[
        (0.0, 0.0, 1.0, 0.0),
        (100.0, 0.0, 100.0, 0.0),
        (50.0, 0.0, 50.0, 3.0),
        (50.0, 100.0, 50.0, 100.0),
    ]);
    let fitted = fit(&four, Model::Affine).unwrap();
    assert_eq!(fitted.left_out.iter().map(Option::is_some).collect::<Vec<_>>(), [true, true, true, false]);
    assert!(!fitted.is_error_assumed());
}

#[test]
fn the_expected_error_grows_away_from_the_points() {
    for model in [Model::Similarity, Model::Affine, Model::Homography] {
        let fitted = fit(&six(), model).unwrap();
        let middle = fitted.error_at((215.0, 200.0)).unwrap();
        let beside = fitted.error_at((800.0, 200.0)).unwrap();
        let far = fitted.error_at((2000.0, 200.0)).unwrap();
        assert!(middle < beside && beside < far, "{model:?} {middle} {beside} {far}");
        let scale = fitted.scale_at((100.0, 80.0)).unwrap();
        assert!((scale - 2.11).abs() < 0.03, "{scale}");
    }
    let small = fit(&six(), Model::Affine).unwrap().error_over((430, 350)).unwrap();
    let large = fit(&six(), Model::Affine).unwrap().error_over((2000, 2000)).unwrap();
    assert!(4.0 < small && small < 8.0 && large > 1.5 * small, "{small} {large}");
    // s² = (sum of squares + 2 / 4) / (12 - 6 + 2), at a point twice its leverage more than 2.
    let fitted = fit(&six(), Model::Affine).unwrap();
    let squares = 6.0 * fitted.rms * fitted.rms;
    let at = fitted.transform.at((10.0, 12.0)).unwrap();
    let want = ((squares + 0.5) / 8.0 * (2.0 + 2.0 * 0.7090096436048628)).sqrt();
    assert_near(&[fitted.error_at(at).unwrap()], &[want], 1e-9);
}
