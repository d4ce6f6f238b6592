//! Base64 (RFC 4648, section 4), for pictures in the page and for the hash of its style.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Writes bytes at the end of a text.
pub(super) fn push(out: &mut String, bytes: &[u8]) {
    out.reserve(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |place: usize| u32::from(three.get(place).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            let letter = LETTERS.get((all >> (18 - 6 * place) & 63) as usize).copied().unwrap_or(b'=');
            out.push(if place > three.len() { '=' } else { char::from(letter) });
        }
    }
}

/// Base64 of what hexadecimal digits stand for.
pub(super) fn of_hex(hex: &str) -> String {
    let digit = |c: u8| char::from(c).to_digit(16).unwrap_or(0) as u8;
    let bytes: Vec<u8> =
        hex.as_bytes().chunks(2).map(|two| two.iter().fold(0u8, |sum, &c| (sum << 4) | digit(c))).collect();
    let mut out = String::new();
    push(&mut out, &bytes);
    out
}

#[cfg(test)]
mod tests {
    use super::{of_hex, push};

    #[test]
    fn the_published_examples() {
        // RFC 4648, section 10.
        for (plain, want) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            let mut out = String::new();
            push(&mut out, plain.as_bytes());
            assert_eq!(out, want);
        }
        assert_eq!(of_hex("666f6f62"), "Zm9vYg==");
    }
}
