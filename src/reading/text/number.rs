//! Numbers as they are written in tables: either mark for decimals, the other one or a blank or apostrophe between
//! thousands, exponents of C and of Fortran, and the many words for "no value".

/// The sign before decimals; the other one may group thousands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Point,
    Comma,
}

impl Mark {
    pub(super) fn byte(self) -> u8 {
        match self {
            Mark::Point => b'.',
            Mark::Comma => b',',
        }
    }

    fn grouping(self) -> char {
        match self {
            Mark::Point => ',',
            Mark::Comma => '.',
        }
    }
}

/// How a number is written, as far as that says what its marks mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// No value.
    Blank,
    /// Digits only.
    Plain,
    /// Three digits behind the only mark and one to three, not starting with 0, before it: "1.234".
    ThreeDigits,
    /// Anything else.
    Clear,
}

/// Words for "no value", beside the empty field. Those with # are what spreadsheets write for errors (in English, German,
/// French, Spanish, Italian), those with 1.# what older C libraries wrote. Common practice, no source.
const BLANK_WORDS: [&str; 40] = [
    "nan",
    "-nan",
    "+nan",
    "na",
    "n.a.",
    "n/a",
    "n.d.",
    "-",
    "--",
    "inf",
    "-inf",
    "+inf",
    "infinity",
    "-infinity",
    "+infinity",
    "null",
    "none",
    "<na>",
    "nan(ind)",
    "-nan(ind)",
    "1.#qnan",
    "-1.#qnan",
    "1.#inf",
    "-1.#inf",
    "1.#ind",
    "-1.#ind",
    "#n/a",
    "#na",
    "#nv",
    "#num!",
    "#zahl!",
    "#nombre!",
    "#div/0!",
    "#value!",
    "#wert!",
    "#valeur!",
    "#valor!",
    "#valore!",
    "#ref!",
    "#bezug!",
];

/// True for what stands for no value; `field` without blanks around it.
pub(super) fn is_blank(field: &str) -> bool {
    field.is_empty()
        || BLANK_WORDS.iter().any(|word| word.eq_ignore_ascii_case(field))
        // Fortran fills a field that is too narrow with stars.
        || field.bytes().all(|byte| byte == b'*')
}

/// Powers of ten that are exact as f64.
const EXACT: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// A plainly written number at the start of `bytes` and how many bytes it has; `None` where it needs a closer look.
/// `decimal` is the sign before decimals, 0 for none. Correctly rounded: whole digits and power of ten are exact in f64,
/// so that one operation rounds once (Clinger, PLDI 1990).
pub(super) fn plain(bytes: &[u8], decimal: u8) -> Option<(f64, usize)> {
    let mut at = 0;
    let digit = |at: usize| bytes.get(at).map(|byte| byte.wrapping_sub(b'0')).filter(|&digit| digit < 10);
    let is_negative = bytes.first() == Some(&b'-');
    if is_negative || bytes.first() == Some(&b'+') {
        at = 1;
    }
    let start = at;
    let mut whole: u64 = 0;
    while let Some(value) = digit(at) {
        whole = whole.wrapping_mul(10).wrapping_add(u64::from(value));
        at += 1;
    }
    let before = at - start;
    let mut after = 0;
    if decimal != 0 && bytes.get(at) == Some(&decimal) {
        at += 1;
        let start = at;
        while let Some(value) = digit(at) {
            whole = whole.wrapping_mul(10).wrapping_add(u64::from(value));
            at += 1;
        }
        after = at - start;
        if decimal == b',' && (before == 0 || after == 0) {
            return None;
        }
    }
    if before + after == 0 || before + after > 18 || whole > 1 << 53 {
        return None;
    }
    // At most 18, as checked above.
    let mut exponent = -i32::try_from(after).ok()?;
    if matches!(bytes.get(at), Some(b'e' | b'E' | b'd' | b'D')) {
        at += 1;
        let is_small = bytes.get(at) == Some(&b'-');
        if is_small || bytes.get(at) == Some(&b'+') {
            at += 1;
        }
        let (start, mut size) = (at, 0);
        while let Some(value) = digit(at) {
            size = size * 10 + i32::from(value);
            at += 1;
            if at - start > 4 {
                return None;
            }
        }
        if at == start {
            return None;
        }
        exponent += if is_small { -size } else { size };
    }
    let value = match exponent {
        0 => whole as f64,
        1..=22 => whole as f64 * EXACT[exponent as usize],
        -22..=-1 => whole as f64 / EXACT[exponent.unsigned_abs() as usize],
        _ => return None,
    };
    // A product may be beyond 2^53 and is still rounded once.
    Some((if is_negative { -value } else { value }, at))
}

/// The value of a field without blanks around it, as [`read`] gives it.
pub(super) fn value(field: &str, mark: Mark) -> Option<f64> {
    // Most numbers of many digits need nothing but the other mark and letter.
    let bytes = field.as_bytes();
    let mut clean = [0; 40];
    let Some(room) = clean.get_mut(..bytes.len()) else { return read(field, mark).map(|(value, _)| value) };
    for (place, &byte) in room.iter_mut().zip(bytes) {
        *place = match byte {
            b'0'..=b'9' | b'-' | b'+' | b'e' | b'E' => byte,
            b'd' | b'D' => b'e',
            _ if byte == mark.byte() => b'.',
            _ => return read(field, mark).map(|(value, _)| value),
        };
    }
    let is_plain = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_digit);
    let starts = is_plain(bytes.first()) || (bytes.first() == Some(&b'-') && is_plain(bytes.get(1)));
    match std::str::from_utf8(room).map(str::parse::<f64>) {
        Ok(Ok(value)) if value.is_finite() && starts && is_plain(bytes.last()) => Some(value),
        _ => read(field, mark).map(|(value, _)| value),
    }
}

/// The number in a field without blanks around it, and how it is written; NaN for no value and for what is not finite;
/// `None` for anything else.
pub(super) fn read(field: &str, mark: Mark) -> Option<(f64, Shape)> {
    if is_blank(field) {
        return Some((f64::NAN, Shape::Blank));
    }
    if field.len() > 400 {
        return None;
    }
    let mut clean = String::new();
    let mut rest = field;
    if let Some(after) = rest.strip_prefix(['-', '\u{2212}']) {
        clean.push('-');
        rest = after;
    } else {
        rest = rest.strip_prefix('+').unwrap_or(rest);
    }
    let split = rest.find(['e', 'E', 'd', 'D']).unwrap_or(rest.len());
    let (digits, exponent) = rest.split_at(split);
    let (whole, decimals) = match digits.split_once(char::from(mark.byte())) {
        Some((whole, decimals)) => (whole, Some(decimals)),
        None => (digits, None),
    };
    let groups = ungrouped(whole, mark, &mut clean)?;
    if let Some(decimals) = decimals {
        let is_missing = whole.is_empty() || decimals.is_empty();
        if !is_digits(decimals)
            || (mark == Mark::Comma && is_missing)
            || (whole.is_empty() && decimals.is_empty())
        {
            return None;
        }
        clean.push('.');
        clean.push_str(decimals);
    } else if whole.is_empty() {
        return None;
    }
    if !exponent.is_empty() {
        let size = &exponent[1..];
        let (sign, size) = match size.strip_prefix(['-', '\u{2212}']) {
            Some(size) => ("-", size),
            None => ("", size.strip_prefix('+').unwrap_or(size)),
        };
        if size.is_empty() || size.len() > 6 || !is_digits(size) {
            return None;
        }
        clean.push('e');
        clean.push_str(sign);
        clean.push_str(size);
    }
    let value: f64 = clean.parse().ok()?;
    let value = if value.is_finite() { value } else { f64::NAN };
    let is_three = |before: &str, after: &str| {
        (1..=3).contains(&before.len()) && !before.starts_with('0') && after.len() == 3 && exponent.is_empty()
    };
    let shape = match (groups, decimals) {
        (Groups::None, None) if exponent.is_empty() => Shape::Plain,
        (Groups::None, Some(decimals)) if is_three(whole, decimals) => Shape::ThreeDigits,
        (Groups::OneByMark, None) if exponent.is_empty() => Shape::ThreeDigits,
        _ => Shape::Clear,
    };
    Some((value, shape))
}

fn is_digits(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Groups {
    None,
    /// Two groups with the other mark between them.
    OneByMark,
    Clear,
}

/// Puts the digits of "1.234.567" into `clean`. Groups are of three digits, all with the same sign between them.
fn ungrouped(whole: &str, mark: Mark, clean: &mut String) -> Option<Groups> {
    if is_digits(whole) {
        clean.push_str(whole);
        return Some(Groups::None);
    }
    let sign = whole.chars().find(|letter| !letter.is_ascii_digit())?;
    let may_group = sign == mark.grouping()
        || matches!(sign, '\'' | '\u{2019}' | ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}');
    if !may_group {
        return None;
    }
    let mut count = 0;
    for (index, group) in whole.split(sign).enumerate() {
        let fits = match index {
            0 => (1..=3).contains(&group.len()) && !group.starts_with('0'),
            _ => group.len() == 3,
        };
        if !fits || !is_digits(group) {
            return None;
        }
        clean.push_str(group);
        count += 1;
    }
    Some(if count == 2 && sign == mark.grouping() { Groups::OneByMark } else { Groups::Clear })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_every_country_are_read() {
        let cases = [
            ("1.5", Mark::Point, 1.5),
            ("-1,5", Mark::Comma, -1.5),
            ("+.5", Mark::Point, 0.5),
            ("5.", Mark::Point, 5.0),
            ("1.234,5", Mark::Comma, 1234.5),
            ("1,234.5", Mark::Point, 1234.5),
            ("1.234.567", Mark::Comma, 1_234_567.0),
            ("1'234.5", Mark::Point, 1234.5),
            ("1\u{202f}234,5", Mark::Comma, 1234.5),
            ("1 234", Mark::Point, 1234.0),
            ("1E+03", Mark::Point, 1000.0),
            ("1,5E+03", Mark::Comma, 1500.0),
            ("1.5D+03", Mark::Point, 1500.0),
            ("\u{2212}2", Mark::Point, -2.0),
            ("0.1", Mark::Point, 0.1),
            ("1000000000000000000000000", Mark::Point, 1e24),
            ("2.2250738585072014e-308", Mark::Point, 2.2250738585072014e-308),
        ];
        for (field, mark, want) in cases {
            assert_eq!(read(field, mark).map(|(value, _)| value), Some(want), "{field}");
        }
    }

    #[test]
    fn what_is_no_number_is_none() {
        let cases = [
            ("1,5", Mark::Point),
            ("1.5", Mark::Comma),
            ("1,", Mark::Comma),
            (",5", Mark::Comma),
            (".", Mark::Point),
            ("12,34,567", Mark::Point),
            ("0,123", Mark::Point),
            ("1.234,567.8", Mark::Comma),
            ("1.2.3", Mark::Point),
            ("1e", Mark::Point),
            ("e5", Mark::Point),
            ("0x10", Mark::Point),
            ("1 23", Mark::Point),
            ("four", Mark::Point),
            ("+", Mark::Point),
            ("1-2", Mark::Point),
            ("1.234'567,5", Mark::Comma),
        ];
        for (field, mark) in cases {
            assert_eq!(read(field, mark).map(|(value, _)| value), None, "{field}");
        }
    }

    #[test]
    fn words_for_no_value_are_blank() {
        for field in
            ["", "NaN", "nan", "NA", "n.a.", "-", "inf", "-Inf", "#N/A", "#NV", "1.#QNAN", "****", "1e999"]
        {
            assert!(read(field, Mark::Point).unwrap().0.is_nan(), "{field}");
        }
    }

    #[test]
    fn three_digits_behind_a_mark_are_told() {
        let shape = |field, mark| read(field, mark).unwrap().1;
        for mark in [Mark::Point, Mark::Comma] {
            assert_eq!(shape("1.234", mark), Shape::ThreeDigits);
            assert_eq!(shape("12,345", mark), Shape::ThreeDigits);
            assert_eq!(shape("987", mark), Shape::Plain);
        }
        assert_eq!(shape("0.123", Mark::Point), Shape::Clear);
        assert_eq!(shape("1.234.567", Mark::Comma), Shape::Clear);
    }

    #[test]
    fn the_quick_way_and_the_standard_library_agree_in_every_bit() {
        let mut state: u64 = 1;
        for round in 0..200_000_u32 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let digits = (state >> 11) % 10_u64.pow(1 + round % 17);
            let text = match round % 4 {
                0 => format!("{digits}"),
                1 => format!("-{}.{:03}", digits / 1000, digits % 1000),
                2 => format!("{}.{:05}e-{}", digits / 100_000, digits % 100_000, round % 17),
                _ => format!("{}e+{}", digits, round % 22),
            };
            let standard = text.parse::<f64>().unwrap();
            assert_eq!(value(&text, Mark::Point).unwrap().to_bits(), standard.to_bits(), "{text}");
            assert_eq!(
                value(&text.replace('.', ","), Mark::Comma).unwrap().to_bits(),
                standard.to_bits(),
                "{text}"
            );
            assert_eq!(read(&text, Mark::Point).unwrap().0.to_bits(), standard.to_bits(), "{text}");
            if let Some((value, length)) = plain(text.as_bytes(), b'.') {
                assert_eq!(length, text.len());
                assert_eq!(value.to_bits(), text.parse::<f64>().unwrap().to_bits(), "{text}");
            }
        }
    }
}
