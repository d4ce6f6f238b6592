//! Energy windows in names: "6.25-6.55 keV", "6250 to 6550 eV".

/// Energies in keV beyond which nothing is believed: no scanner of maps works there.
const BELIEVED_KEV: (f64, f64) = (0.05, 150.0);

/// The window that a folded name gives, low and high in keV. `None` without two numbers, low below high, with a unit
/// after the second one, or where two different windows are named. Comma or point in the numbers.
pub(super) fn window_kev(folded: &str) -> Option<(f64, f64)> {
    let small = folded.to_ascii_lowercase();
    let bytes = small.as_bytes();
    let mut found: Option<(f64, f64)> = None;
    for at in 0..bytes.len().saturating_sub(1) {
        if bytes.get(at..at + 2) != Some(b"ev") || bytes.get(at + 2).is_some_and(u8::is_ascii_alphanumeric) {
            continue;
        }
        let is_kilo = at > 0 && bytes[at - 1] == b'k';
        let Some(window) = window_before(bytes, at - usize::from(is_kilo), is_kilo) else { continue };
        if found.is_some_and(|other| other != window) {
            return None;
        }
        found = Some(window);
    }
    found
}

fn window_before(bytes: &[u8], unit_at: usize, is_kilo: bool) -> Option<(f64, f64)> {
    let end = skip_back(bytes, unit_at, b" _]", 3);
    let (high, start) = number_before(bytes, end)?;
    let mut end = skip_back(bytes, start, b" _[(", 3);
    let before_sign = end;
    // Dashes of all kinds are three bytes that begin with e2 80 or e2 86.
    end = match bytes.get(..end)? {
        [.., 0xe2, 0x80 | 0x86, _] => end - 3,
        [.., b't', b'o'] | [.., b'.', b'.'] => end - 2,
        [.., b'b', b'i', b's'] => end - 3,
        [.., b'-' | b'~' | b';' | b','] => end - 1,
        _ => end,
    };
    if end == before_sign && before_sign == start {
        return None;
    }
    end = skip_back(bytes, end, b" _", 3);
    end = match bytes.get(..end)? {
        [.., b'k', b'e', b'v'] if is_kilo => end - 3,
        [.., b'e', b'v'] if !is_kilo => end - 2,
        _ => end,
    };
    // "30 6.4 keV" are no window: without a sign or a word between, an underscore must do ("6.25_6.55keV").
    if before_sign == skip_back(bytes, end, b" ", 3) && !bytes.get(end..start)?.contains(&b'_') {
        return None;
    }
    end = skip_back(bytes, end, b" _", 3);
    let (low, _) = number_before(bytes, end)?;
    let scale = if is_kilo { 1.0 } else { 0.001 };
    let (low, high) = (low * scale, high * scale);
    (low < high && low >= BELIEVED_KEV.0 && high <= BELIEVED_KEV.1).then_some((low, high))
}

/// The place after stepping back over not more than `most` of the signs.
fn skip_back(bytes: &[u8], end: usize, signs: &[u8], most: usize) -> usize {
    (0..most).fold(end, |at, _| if at > 0 && signs.contains(&bytes[at - 1]) { at - 1 } else { at })
}

/// A number of at most twelve signs that ends at a place, and where it begins.
fn number_before(bytes: &[u8], end: usize) -> Option<(f64, usize)> {
    let mut start = end;
    while start > 0
        && end - start < 12
        && (bytes[start - 1].is_ascii_digit() || matches!(bytes[start - 1], b'.' | b','))
    {
        start -= 1;
    }
    // A sign before the first digit ("..6.5", ", 6.5") is between the numbers, not of this one.
    while start < end && !bytes[start].is_ascii_digit() {
        start += 1;
    }
    let text = std::str::from_utf8(bytes.get(start..end)?).ok()?;
    // In "6,25,6,55" and "6.25..6.55" the last two parts are the number.
    let parts: Vec<&str> = text.split(['.', ',']).collect();
    let kept = match parts.as_slice() {
        [] => return None,
        [.., whole, part] if !whole.is_empty() && !part.is_empty() => whole.len() + 1 + part.len(),
        [.., last] => last.len(),
    };
    let text = text.get(text.len() - kept..)?;
    let value = text.replace(',', ".").parse().ok()?;
    Some((value, end - kept))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_are_read_in_kev() {
        // Common practice, no source.
        for text in [
            "6.25-6.55 keV",
            "6.25 - 6.55keV",
            "6.25keV-6.55keV",
            "6,25-6,55 keV",
            "6.25\u{2013}6.55 keV",
            "6250-6550 eV",
            "6250eV to 6550eV",
            "roi_6.25_6.55keV",
            "6.25 to 6.55 kev",
            "6.25..6.55 keV",
            "[6.25, 6.55] keV",
            "6,25,6,55 keV",
        ] {
            let (low, high) = window_kev(text).unwrap_or_else(|| panic!("{text}"));
            // The numbers are decimal fractions scaled once; 1e-12 is some thousand times their rounding.
            assert!((low - 6.25).abs() < 1e-12 && (high - 6.55).abs() < 1e-12, "{text}: {low} {high}");
        }
    }

    #[test]
    fn one_energy_or_nonsense_is_no_window() {
        for text in [
            "6.4 keV",
            "50keV",
            "6.55-6.25 keV",
            "0-0 keV",
            "9-900 keV",
            "level 1-2 evening",
            "keV",
            "-keV",
            "eV",
            "1-2",
            "30 6.4 keV",
        ] {
            assert_eq!(window_kev(text), None, "{text}");
        }
        assert_eq!(window_kev("6.2-6.5 keV and 7.2-7.5 keV"), None);
    }
}
