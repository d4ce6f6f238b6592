//! Sums, differences and quotients of maps, counting time and dead time, each with its error.

use super::recipe::plain;
use super::values::{
    added, blanks, different_kinds, mapped, no_longer_counts, pixels, pixels_are, roots, unknown_error,
    variance, zipped,
};
use super::{Derived, Divisor, Found, Input, Recipe};
use crate::grid::Grid;
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};

/// The second map of a recipe of two.
pub(super) fn second<'a, 'b>(rest: &'a [Input<'b>], what: &str) -> Result<&'a Input<'b>, Fault> {
    match rest {
        [second] => Ok(second),
        [] => Err(Fault::new("no_map", format!("Name a second map to {what}."))),
        _ => Err(Fault::new("no_map", format!("Name only one map to {what}."))),
    }
}

fn labels(inputs: &[&Input<'_>]) -> Vec<String> {
    inputs.iter().map(|input| input.label.to_owned()).collect()
}

/// A result of plain arithmetic; its account starts with the recipe in words and what is known of the error.
fn made(
    recipe: Recipe,
    inputs: &[&Input<'_>],
    values: Grid<f64>,
    variance: Option<Grid<f64>>,
    kind: Kind,
) -> Derived {
    let label = recipe.sentence(&labels(inputs));
    let mut account = vec![format!("Made as {label}.")];
    let empty = blanks(&values);
    if empty > 0 {
        account.push(format!("{} blank: no data in at least one of the maps.", pixels_are(empty)));
    }
    let without: Vec<&str> = (inputs.iter())
        .filter(|input| input.sigma.is_none() && input.kind != Kind::Window)
        .map(|input| input.label)
        .collect();
    let mut findings = Vec::new();
    if variance.is_some() {
        account
            .push("Its error comes from the errors of the maps it is made of, taken as independent.".into());
    } else if !without.is_empty() {
        findings.push(unknown_error(&without));
    }
    let sigma = super::values::blanked(&values, roots(variance));
    Derived { values, sigma, kind, cell: (1, 1), recipe, account, findings, found: Found::Nothing, label }
}

/// The kind of the sum of all, or which two cannot be added.
fn kind_of_sum(inputs: &[Input<'_>]) -> Result<Kind, Fault> {
    let mut kind = inputs[0].kind;
    for input in &inputs[1..] {
        kind = added(kind, input.kind).ok_or_else(|| different_kinds(&inputs[0], input))?;
    }
    Ok(kind)
}

pub(super) fn sum(inputs: &[Input<'_>]) -> Result<Derived, Fault> {
    if inputs.len() < 2 {
        return Err(Fault::new("no_map", "A sum needs at least two maps. Name a second one."));
    }
    let kind = kind_of_sum(inputs)?;
    let mut values = mapped(inputs[0].values, |v| v)?;
    let mut error = variance(&inputs[0])?;
    let add = |sum: &mut Grid<f64>, part: &Grid<f64>| {
        sum.data_mut().iter_mut().zip(part.data()).for_each(|(s, v)| *s += v);
    };
    for input in &inputs[1..] {
        add(&mut values, input.values);
        error = match (error, variance(input)?) {
            (Some(mut sum), Some(part)) => {
                add(&mut sum, &part);
                Some(sum)
            }
            _ => None,
        };
    }
    let all: Vec<&Input<'_>> = inputs.iter().collect();
    let mut made = made(Recipe::Sum, &all, values, error, kind);
    made.account.push("A sum is never compared with its own parts: they rise and fall together because they are the same counts.".into());
    if inputs.iter().any(|input| input.kind == Kind::Auxiliary) {
        made.findings.push(
            "At least one of the maps holds no element line; its numbers were added as they are.".into(),
        );
    }
    Ok(made)
}

pub(super) fn subtract(a: &Input<'_>, b: &Input<'_>, k: f64) -> Result<Derived, Fault> {
    let is_scatter_from_counts = b.kind == Kind::Auxiliary && a.kind.is_like_counts();
    let kind = match added(a.kind, b.kind) {
        Some(kind) => no_longer_counts(kind),
        None if is_scatter_from_counts => no_longer_counts(a.kind),
        None => return Err(different_kinds(a, b)),
    };
    let values = zipped(a.values, b.values, |a, b| a - k * b)?;
    let error = match (variance(a)?, variance(b)?) {
        (Some(a), Some(b)) => Some(zipped(&a, &b, |a, b| a + k * k * b)?),
        _ => None,
    };
    let mut made = made(Recipe::Subtract { k }, &[a, b], values, error, kind);
    made.findings.push(
        "k itself is taken as exact. Where it may be wrong by a tenth, so may the part that was taken away; negative values are kept.".into(),
    );
    Ok(made)
}

pub(super) fn divide(a: &Input<'_>, b: &Input<'_>, by: Divisor) -> Result<Derived, Fault> {
    let kind = match (a.kind, b.kind, by) {
        (Kind::DisplayCopy, _, _) | (_, Kind::DisplayCopy, _) => Kind::DisplayCopy,
        (Kind::Auxiliary, _, _) => Kind::Auxiliary,
        (Kind::Rate, _, Divisor::LiveTime) => {
            return Err(Fault::new(
                "different_kinds",
                format!("{} holds rates, which are already divided by time.", a.label),
            ));
        }
        (Kind::Window | Kind::Net | Kind::Fitted, _, Divisor::LiveTime) => Kind::Rate,
        _ => Kind::Normalised,
    };
    let quotient = |a: f64, b: f64| if b > 0.0 { a / b } else { f64::NAN };
    let values = zipped(a.values, b.values, quotient)?;
    let exact_divisor = by == Divisor::LiveTime && b.sigma.is_none();
    let of_b = if exact_divisor { Some(mapped(b.values, |_| 0.0)?) } else { variance(b)? };
    let (mut error, mut weak) = (None, 0u64);
    if let (Some(of_a), Some(of_b)) = (variance(a)?, of_b) {
        let near_zero = |(&b, &v): (&f64, &f64)| b > 0.0 && b * b < 25.0 * v;
        weak = b.values.data().iter().zip(of_b.data()).filter(|&pair| near_zero(pair)).count() as u64;
        // Var(A/B) = (Var A + (A/B)² Var B) / B², pixel by pixel over the variance of A.
        let mut sum = of_a;
        let others = b.values.data().iter().zip(of_b.data()).zip(values.data());
        for (slot, ((b, of_b), ratio)) in sum.data_mut().iter_mut().zip(others) {
            *slot = (*slot + ratio * ratio * of_b) / (b * b);
        }
        error = Some(sum);
    }
    let mut made = made(Recipe::Divide { by }, &[a, b], values, error, kind);
    let refused = (a.values.data().iter().zip(b.values.data()))
        .filter(|(a, b)| !a.is_nan() && !b.is_nan() && **b <= 0.0)
        .count() as u64;
    if refused > 0 {
        made.account.push(format!(
            "Among them {} blank because {} is 0 or below there.",
            pixels_are(refused),
            b.label
        ));
    }
    if exact_divisor {
        made.account.push("Live time is taken as exact.".into());
    }
    if weak > 0 {
        made.findings.push(format!(
            "In {} {} is less than five times its own error; there the quotient is no better than a guess and its error too small.",
            pixels(weak),
            b.label
        ));
    }
    if by == Divisor::Scatter {
        made.findings.push(
            "Scatter depends on the matrix as well as on the beam: dividing by it can make a difference where there is none.".into(),
        );
    }
    Ok(made)
}

/// Counts, rates and what they become by division through time.
fn kind_per_second(input: &Input<'_>) -> Result<Kind, Fault> {
    match input.kind {
        Kind::Window | Kind::Net | Kind::Fitted => Ok(Kind::Rate),
        Kind::DisplayCopy | Kind::Auxiliary => Ok(input.kind),
        Kind::Rate | Kind::Normalised | Kind::Quantified => Err(Fault::new(
            "different_kinds",
            format!(
                "{} holds {} values, not counts; they cannot be divided by a counting time. State its kind if that is wrong.",
                input.label,
                input.kind.word()
            ),
        )),
    }
}

pub(super) fn dwell(input: &Input<'_>, seconds: f64) -> Result<Derived, Fault> {
    let kind = kind_per_second(input)?;
    let values = mapped(input.values, |n| n / seconds)?;
    let error = match variance(input)? {
        Some(v) => Some(mapped(&v, |v| v / (seconds * seconds))?),
        None => None,
    };
    Ok(made(Recipe::Dwell { seconds }, &[input], values, error, kind))
}

/// True rate of a detector that rests for `tau` seconds after each count and does not notice what comes meanwhile
/// (non-paralysable): n = m / (1 - m tau), per second. `None` where m tau reaches 1: no true rate is that high.
pub fn true_rate(measured: f64, tau: f64) -> Option<f64> {
    let awake = 1.0 - measured * tau;
    (awake > 0.0).then(|| measured / awake)
}

pub(super) fn dead_time(
    input: &Input<'_>,
    all: Option<&Input<'_>>,
    tau_us: f64,
    dwell_s: f64,
) -> Result<Derived, Fault> {
    let kind = kind_per_second(input)?;
    if all.is_some_and(|all| !matches!(all.kind, Kind::Window | Kind::Auxiliary)) {
        return Err(Fault::new(
            "different_kinds",
            "The map of all counts must hold counts; state its kind if it does.",
        ));
    }
    let tau = tau_us * 1e-6;
    let counted = all.unwrap_or(input).values;
    let awake = mapped(counted, |n| {
        let share = 1.0 - n / dwell_s * tau;
        if share > 0.0 { share } else { f64::NAN }
    })?;
    let values = zipped(input.values, &awake, |n, share| n / dwell_s / share)?;
    let error = match variance(input)? {
        None => None,
        Some(own) => Some(dead_time_variance(input, all, &own, &awake, tau, dwell_s)?),
    };
    let over =
        counted.data().iter().zip(awake.data()).filter(|(n, s)| !n.is_nan() && s.is_nan()).count() as u64;
    let inputs: Vec<&Input<'_>> = [Some(input), all].into_iter().flatten().collect();
    let mut made = made(Recipe::DeadTime { tau_us, dwell_s }, &inputs, values, error, kind);
    let lowest = awake.data().iter().filter(|v| !v.is_nan()).fold(f64::INFINITY, |a, &b| a.min(b));
    if lowest.is_finite() {
        made.account
            .push(format!("The largest correction is a factor of {}.", plain((1e4 / lowest).round() / 1e4)));
    }
    if over > 0 {
        made.findings.push(format!(
            "{} blank: at {} µs a detector cannot count that fast. Check both times.",
            pixels_are(over),
            plain(tau_us)
        ));
    }
    if all.is_none() {
        made.findings.push(format!(
            "The correction is the least there can be: it rests on the counts of {} alone, but a detector also rests after every count outside it. Name the map of all counts as second map if there is one.",
            input.label
        ));
    }
    Ok(made)
}

/// Errors by first order. Counts of a resting detector scatter a little less than Poisson counts do, so this is no
/// smaller than the true error.
fn dead_time_variance(
    input: &Input<'_>,
    all: Option<&Input<'_>>,
    own: &Grid<f64>,
    awake: &Grid<f64>,
    tau: f64,
    dwell_s: f64,
) -> Result<Grid<f64>, OutOfMemory> {
    let t2 = dwell_s * dwell_s;
    let Some(all) = all else {
        return zipped(own, awake, |v, share| v / t2 / (share * share * share * share));
    };
    let direct = zipped(own, awake, |v, share| v / t2 / (share * share))?;
    let rate = zipped(input.values, awake, |n, share| n / dwell_s * tau / (share * share))?;
    let of_all = all.sigma.map_or_else(|| mapped(all.values, |v| v.max(0.0)), |s| mapped(s, |s| s * s))?;
    let through = zipped(&rate, &of_all, |slope, v| slope * slope * v / t2)?;
    zipped(&direct, &through, |a, b| a + b)
}
