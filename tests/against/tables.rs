//! Tables of single numbers: counting levels and intervals, special functions, quantiles and colours.

use crate::support::{Section, list, number, text};
use limner::colour::{Rgb, decode, encode, lab_of};
use limner::numerics::counting::{
    Bounded, Interval, critical_count, detection_limit, exact_ratio, garwood, ratio_interval,
    wide_poisson_tail,
};
use limner::numerics::order;
use limner::numerics::special::{beta_inc, beta_inverse_odds, gamma_p_q, gamma_q_inverse};
use serde_json::Value;

/// Every row of a section that is one table, with what names the row in a message.
fn each_row(name: &str, mut compare: impl FnMut(&mut Section, &str, &Value)) {
    let (mut section, values) = Section::of(name);
    for row in list(&values["rows"]) {
        section.row();
        compare(&mut section, &row.to_string(), row);
    }
    section.finish();
}

fn whole(value: &Value) -> u64 {
    value.as_u64().unwrap_or_else(|| panic!("{value} is no whole number"))
}

#[test]
fn critical() {
    each_row("critical", |section, what, row| {
        let (mean, variance) = (number(&row["mean"]), number(&row["relative_variance"]));
        let level = critical_count(mean, variance, number(&row["alpha"]));
        section.same(what, level, whole(&row["critical"]));
        let tail = |n: u64| wide_poisson_tail(n, mean, variance);
        section.near(format!("tail {what}"), tail(whole(&row["critical"])), &row["tail"]);
        section.near(format!("tail below {what}"), tail(whole(&row["critical"]) - 1), &row["tail_below"]);
    });
}

#[test]
fn detection_limits() {
    each_row("detection_limit", |section, what, row| {
        let limit =
            detection_limit(whole(&row["critical"]), number(&row["background"]), number(&row["beta"]));
        section.near(what, limit, &row["limit"]);
    });
}

#[test]
fn poisson_start() {
    each_row("poisson_start", |section, what, row| {
        section.near(what, gamma_q_inverse(number(&row["q"]) + 1.0, number(&row["share"])), &row["mean"]);
    });
}

#[test]
fn garwood_intervals() {
    each_row("garwood", |section, what, row| {
        let interval = garwood(number(&row["count"]), 1.0 - number(&row["level"]));
        section.near(format!("low {what}"), interval.low, &row["low"]);
        section.near(format!("high {what}"), interval.high, &row["high"]);
    });
}

#[test]
fn ratio_of_counts() {
    each_row("ratio_of_counts", |section, what, row| {
        let interval = exact_ratio(number(&row["a"]), number(&row["b"]), 1.0 - number(&row["level"]));
        section.near(format!("low {what}"), interval.low, &row["low"]);
        section.near(format!("high {what}"), interval.high, &row["high"]);
        let share = |odds: f64| if odds.is_infinite() { 1.0 } else { odds / (1.0 + odds) };
        section.near(format!("share low {what}"), share(interval.low), &row["share_low"]);
        section.near(format!("share high {what}"), share(interval.high), &row["share_high"]);
    });
}

#[test]
fn mover() {
    each_row("mover", |section, what, row| {
        let bounded = |value: &Value, arms: &Value| {
            let (value, down, up) = (number(value), number(&arms[0]), number(&arms[1]));
            Bounded { value, interval: Interval { low: value - down, high: value + up } }
        };
        let interval = ratio_interval(bounded(&row["x"], &row["x_arms"]), bounded(&row["y"], &row["y_arms"]));
        section.near(format!("low {what}"), interval.map(|i| i.low), &row["low"]);
        section.near(format!("high {what}"), interval.map(|i| i.high), &row["high"]);
    });
}

#[test]
fn gamma() {
    each_row("gamma", |section, what, row| {
        let (lower, upper) = gamma_p_q(number(&row["a"]), number(&row["x"]));
        section.near(format!("lower {what}"), lower, &row["lower"]);
        section.near(format!("upper {what}"), upper, &row["upper"]);
    });
}

#[test]
fn gamma_inverse() {
    each_row("gamma_inverse", |section, what, row| {
        let (a, p) = (number(&row["a"]), number(&row["p"]));
        section.near(format!("upper {what}"), gamma_q_inverse(a, p), &row["upper"]);
        // The core inverts the upper function only. Where 1 - p would keep too few digits of p, the reference's x is
        // put into the lower function, which must then give p.
        if p < 1e-9 {
            let lower = gamma_p_q(a, number(&row["lower"])).0;
            section.near(format!("lower function at {what}"), lower, &row["p"]);
        } else {
            section.near(format!("lower {what}"), gamma_q_inverse(a, 1.0 - p), &row["lower"]);
        }
    });
}

#[test]
fn beta() {
    each_row("beta", |section, what, row| {
        let x = number(&row["x"]);
        section.near(what, beta_inc(number(&row["a"]), number(&row["b"]), x, 1.0 - x), &row["value"]);
    });
}

#[test]
fn beta_inverse() {
    each_row("beta_inverse", |section, what, row| {
        let odds = beta_inverse_odds(number(&row["a"]), number(&row["b"]), number(&row["p"]));
        section.near(what, odds / (1.0 + odds), &row["value"]);
    });
}

#[test]
fn quantiles() {
    each_row("quantiles", |section, _, row| {
        let name = text(&row["name"]);
        let mut values: Vec<f64> = list(&row["values"]).iter().map(number).collect();
        order::sort(&mut values);
        section.near(format!("median of {name}"), order::quantile(&values, 0.5), &row["median"]);
        section.same(name, list(&row["quantiles"]).len(), list(&row["shares"]).len());
        for (share, want) in list(&row["shares"]).iter().zip(list(&row["quantiles"])) {
            section.near(format!("{share} of {name}"), order::quantile(&values, number(share)), want);
        }
    });
}

#[test]
fn srgb() {
    let (mut section, values) = Section::of("srgb");
    let decoded = list(&values["decode_of_each_byte"]);
    section.same("bytes", decoded.len(), 256);
    for (byte, want) in (0u8..=255).zip(decoded) {
        section.row();
        section.near(format!("decoded {byte}"), decode(f64::from(byte) / 255.0), want);
        let [red, _, _] = Rgb([byte, 0, 0]).linear();
        section.near(format!("linear red of {byte}"), red, want);
    }
    for row in list(&values["encode"]) {
        section.row();
        section.near(format!("encoded {}", row["linear"]), encode(number(&row["linear"])), &row["encoded"]);
    }
    section.finish();
}

#[test]
fn lab() {
    each_row("lab", |section, _, row| {
        let hex = text(&row["colour"]);
        let lab = lab_of(Rgb::from_hex(hex).unwrap());
        section.same(hex, list(&row["lab"]).len(), 3);
        for (name, (got, want)) in ["L*", "a*", "b*"].iter().zip(lab.into_iter().zip(list(&row["lab"]))) {
            section.near(format!("{name} of {hex}"), got, want);
        }
    });
}
