//! A map of another scan laid on the grid of the first. For looking at both, and for pictures of the whole object; nothing is
//! tested on it, because neighbours hold counts of the same pixels.

use super::values::{pixels, roots, variance};
use super::{Derived, Found, Input, Recipe};
use crate::geometry::{PlaneTransform, Transform};
use crate::grid::{Onto, lay};
use crate::kind::Kind;
use crate::notice::Fault;
use crate::numerics::figure::{count, percent};

/// Lays the first input on a grid of `size`; values are sums of counts in each of its pixels.
pub(super) fn lay_on_grid(
    input: &Input<'_>,
    transform: [f64; 9],
    (width, height): (u32, u32),
    least_covered: f64,
) -> Result<Derived, Fault> {
    let recipe = Recipe::LayOnGrid { transform, width, height, least_covered };
    let rule = PlaneTransform::new(transform)
        .map(Transform::Plane)
        .ok_or_else(|| Fault::bad_setting("The alignment is no map of the plane. Set its points anew."))?;
    let spread = variance(input)?;
    let laid = lay(input.values, spread.as_ref(), &Onto::grid(&rule, (width, height)), least_covered)?;
    let covered = laid.values.data().iter().filter(|v| !v.is_nan()).count() as u64;
    if covered == 0 {
        return Err(Fault::new(
            "cannot_be_judged",
            format!("By this alignment {} does not lie on the grid. Check its points.", input.label),
        ));
    }
    let all: f64 = input.values.data().iter().filter(|v| !v.is_nan()).sum();
    let mut account = vec![
        "Laid on the grid of the first scan: each pixel gives its counts to the pixels of the grid by the area of it that lies in each, so that sums are kept.".to_owned(),
        "Neighbours share counts: their noise is not independent. For looking, not for tests; these stay within one scan.".to_owned(),
        format!("{} of the grid are covered, {} of it.", pixels(covered), percent(covered as f64 / f64::from(width) / f64::from(height))),
    ];
    if least_covered < 1.0 {
        account.push(format!(
            "Pixels that are covered to {} or more are scaled up to the whole pixel.",
            percent(least_covered)
        ));
    }
    if laid.beside.abs() > 1e-9 * all.abs() {
        account.push(format!("Beside the grid lies {} of a sum of {}.", count(laid.beside), count(all)));
    }
    match &laid.variance {
        Some(_) => account
            .push("The error of each pixel is propagated; that neighbours share it is not in it.".to_owned()),
        None => account.push(super::values::unknown_error(&[input.label])),
    }
    let label = recipe.sentence(&[input.label.to_owned()]);
    Ok(Derived {
        values: laid.values,
        sigma: roots(laid.variance),
        kind: Kind::DisplayCopy,
        cell: (1, 1),
        recipe,
        account,
        findings: Vec::new(),
        found: Found::Nothing,
        label,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::derive;
    use crate::grid::Grid;

    fn laid(transform: [f64; 9], (width, height): (u32, u32)) -> Result<Derived, Fault> {
        let values = Grid::from_vec(4, 4, (0..16).map(|i| f64::from(i % 5)).collect()).unwrap();
        let input = Input { values: &values, sigma: None, kind: Kind::Window, ceiling: None, label: "Fe K" };
        derive(&Recipe::LayOnGrid { transform, width, height, least_covered: 1.0 }, &[input])
    }

    #[test]
    fn counts_and_their_errors_are_kept_and_nothing_may_be_tested() {
        let half = laid([0.5, 0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.0, 1.0], (2, 2)).unwrap();
        // Sums of 2 x 2 of 0 1 2 3 / 4 0 1 2 / 3 4 0 1 / 2 3 4 0.
        assert_eq!(half.values.data(), [5.0, 8.0, 12.0, 5.0]);
        let sigma = half.sigma.unwrap();
        assert!(sigma.data().iter().zip([5.0f64, 8.0, 12.0, 5.0]).all(|(s, v)| (s - v.sqrt()).abs() < 1e-12));
        assert_eq!(half.kind, Kind::DisplayCopy);
        assert!(half.account[1].contains("Neighbours share counts"));
        assert_eq!(half.label, "Fe K, laid on the grid of the first scan");
        assert!(half.account.iter().all(|text| !text.contains("Beside")), "{:?}", half.account);
    }

    #[test]
    fn what_cannot_be_laid_is_refused_in_words() {
        let flat = laid([1.0, 1.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 1.0], (2, 2)).unwrap_err();
        assert_eq!(flat.code, "bad_setting");
        assert_eq!(
            laid([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0], (0, 2)).unwrap_err().code,
            "bad_setting"
        );
        let beside = laid([1.0, 0.0, 50.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0], (2, 2)).unwrap_err();
        assert!(beside.message.contains("does not lie on the grid"), "{}", beside.message);
        let part = laid([1.0, 0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0], (3, 4)).unwrap();
        assert!(
            part.account.iter().any(|text| text == "Beside the grid lies 9 of a sum of 30."),
            "{:?}",
            part.account
        );
    }
}
