//! Numbers as text: figures that a reader can compare, with thin spaces and no more digits than they deserve.

use super::math::log10;

/// Between groups of three digits, and between a number and its unit: it does not break.
pub const THIN_SPACE: char = '\u{202f}';

/// A whole number with its digits grouped: `1 010`.
pub fn whole(value: u64) -> String {
    let digits = value.to_string();
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(THIN_SPACE);
        }
        out.push(digit);
    }
    out
}

/// A number to `significant` digits, without exponent between 0.0001 and 10^15; whole numbers above that are grouped.
/// "no value" for NaN; infinities in words.
pub fn rounded(value: f64, significant: i32) -> String {
    if value.is_nan() {
        return "no value".into();
    }
    if value.is_infinite() {
        return if value > 0.0 { "no upper limit".into() } else { "no lower limit".into() };
    }
    if value == 0.0 {
        return "0".into();
    }
    let magnitude = value.abs();
    if !(1e-4..1e15).contains(&magnitude) {
        return format!("{value:.*e}", usize::try_from(significant - 1).unwrap_or(0));
    }
    let exponent = log10(magnitude).floor() as i32;
    let decimals = significant - 1 - exponent;
    let sign = if value < 0.0 { "\u{2212}" } else { "" };
    if decimals > 0 {
        return format!("{sign}{magnitude:.*}", usize::try_from(decimals).unwrap_or(0));
    }
    let unit = (0..-decimals).fold(1.0, |u, _| u * 10.0);
    format!("{sign}{}", whole(((magnitude / unit).round() * unit) as u64))
}

/// Three significant digits, the ordinary figure; 1000 and more as whole numbers.
pub fn figure(value: f64) -> String {
    if value.is_finite() && (1000.0..1e15).contains(&value.abs()) {
        let sign = if value < 0.0 { "\u{2212}" } else { "" };
        return format!("{sign}{}", whole(value.abs().round() as u64));
    }
    rounded(value, 3)
}

/// As [`figure`], but a whole number has no decimals: for counts and critical levels.
pub fn count(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        let sign = if value < 0.0 { "\u{2212}" } else { "" };
        return format!("{sign}{}", whole(value.abs() as u64));
    }
    figure(value)
}

/// Two decimals, for numbers between -1 and 1 that stand under each other: `0.34`, `−0.02`. Zero has no sign. "no value" for NaN.
pub fn hundredths(value: f64) -> String {
    let text = format!("{:.2}", value.abs());
    match value {
        _ if value.is_nan() => "no value".into(),
        _ if value < 0.0 && text != "0.00" => format!("−{text}"),
        _ => text,
    }
}

/// A relative spread as a percentage of two digits; unlike a share it may be above 100 %.
pub fn relative(spread: f64) -> String {
    format!("{}{THIN_SPACE}%", rounded(spread * 100.0, 2))
}

/// A share that somebody stated, as a percentage without digits that were not stated: `5 %`, `2.5 %`.
pub fn stated_percent(share: f64) -> String {
    format!("{}{THIN_SPACE}%", (share * 1e6).round() / 1e4)
}

/// Two figures with a dash: `0.21 – 0.32`.
pub fn between(low: f64, high: f64) -> String {
    format!("{} – {}", figure(low), figure(high))
}

/// A share as a percentage: whole from 10 %, one decimal below, `< 0.1 %` and `> 99.9 %` at the ends.
pub fn percent(share: f64) -> String {
    // Adding 0 takes the sign off a zero.
    let p = share * 100.0 + 0.0;
    if p.is_nan() {
        return "no value".into();
    }
    let text = if p == 0.0 || p == 100.0 || (10.0..99.5).contains(&p) {
        format!("{p:.0}")
    } else if p < 0.1 {
        "< 0.1".into()
    } else if p > 99.9 {
        "> 99.9".into()
    } else {
        format!("{p:.1}")
    };
    format!("{text}{THIN_SPACE}%")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hundredths_stand_under_each_other() {
        let texts = [0.336, -0.02, -0.004, 0.0, 1.0, -1.0, f64::NAN].map(hundredths);
        assert_eq!(texts, ["0.34", "−0.02", "0.00", "0.00", "1.00", "−1.00", "no value"]);
    }

    #[test]
    fn figures_as_a_reader_wants_them() {
        let cases = [
            (0.0, "0"),
            (0.263_4, "0.263"),
            (26.34, "26.3"),
            (263.4, "263"),
            (2634.4, "2\u{202f}634"),
            (-0.5, "\u{2212}0.500"),
            (1_234_567.0, "1\u{202f}234\u{202f}567"),
            (f64::NAN, "no value"),
        ];
        for (value, want) in cases {
            assert_eq!(figure(value), want);
        }
        assert_eq!(rounded(1234.0, 2), "1\u{202f}200");
        assert_eq!(rounded(0.000_012_3, 2), "1.2e-5");
    }

    #[test]
    fn shares_never_claim_all_or_nothing_by_rounding() {
        assert_eq!(percent(0.0), "0\u{202f}%");
        assert_eq!(percent(0.000_2), "< 0.1\u{202f}%");
        assert_eq!(percent(0.999_9), "> 99.9\u{202f}%");
        assert_eq!(percent(0.064), "6.4\u{202f}%");
        assert_eq!(percent(0.62), "62\u{202f}%");
        assert_eq!(
            (stated_percent(0.05), stated_percent(0.025)),
            ("5\u{202f}%".into(), "2.5\u{202f}%".into())
        );
        assert_eq!((count(18.0), count(-2.0), count(2.5)), ("18".into(), "\u{2212}2".into(), "2.50".into()));
    }
}
