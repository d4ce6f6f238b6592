//! From bytes to text: UTF-8 with or without a mark, UTF-16 with a mark, else the one-byte code of Western Europe.

use crate::grid::try_vec;
use crate::notice::Finding;
use std::borrow::Cow;

/// What the bytes 0x80 to 0x9f mean in windows-1252, which holds Latin-1 (WHATWG Encoding Standard, index
/// windows-1252; from memory). A zero is a byte that no text has.
const UPPER: [u16; 32] = [
    0x20ac, 0, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160, 0x2039, 0x0152, 0,
    0x017d, 0, 0, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a,
    0x0153, 0, 0x017e, 0x0178,
];

/// The text without its byte order mark.
///
/// # Errors
/// [`Finding::UnknownFormat`] for what is no text, [`Finding::Damaged`] for text that ends within a character.
pub(super) fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, Finding> {
    let text = match bytes {
        [0xff, 0xfe, rest @ ..] => Cow::Owned(utf_16(rest, u16::from_le_bytes)?),
        [0xfe, 0xff, rest @ ..] => Cow::Owned(utf_16(rest, u16::from_be_bytes)?),
        _ => {
            let bytes = bytes.strip_prefix(&[0xef, 0xbb, 0xbf]).unwrap_or(bytes);
            match std::str::from_utf8(bytes) {
                Ok(text) => Cow::Borrowed(text),
                Err(_) => Cow::Owned(one_byte(bytes)?),
            }
        }
    };
    // The end-of-file sign of old systems.
    let text = match text {
        Cow::Borrowed(text) => Cow::Borrowed(text.strip_suffix('\x1a').unwrap_or(text)),
        Cow::Owned(mut text) => {
            if text.ends_with('\x1a') {
                text.pop();
            }
            Cow::Owned(text)
        }
    };
    let is_control =
        |byte: u8| byte == 0x7f || (byte < 0x20 && !matches!(byte, b'\t' | b'\n' | 0x0b | 0x0c | b'\r'));
    if text.bytes().any(is_control) || has_upper_controls(&text) {
        return Err(Finding::UnknownFormat);
    }
    Ok(text)
}

/// Control characters U+0080 to U+009F: 0xc2 and a byte below 0xa0 in UTF-8.
fn has_upper_controls(text: &str) -> bool {
    !text.is_ascii()
        && text.as_bytes().windows(2).any(|pair| pair[0] == 0xc2 && pair[1] < 0xa0 && pair[1] != 0x85)
}

fn utf_16(bytes: &[u8], unit: impl Fn([u8; 2]) -> u16) -> Result<String, Finding> {
    if !bytes.len().is_multiple_of(2) {
        return Err(Finding::Damaged { format: "text", what: "it ends within a character".into() });
    }
    let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
    let mut text = text_for(bytes.len() / 2)?;
    for letter in char::decode_utf16(units) {
        push(&mut text, letter.map_err(|_| Finding::UnknownFormat)?)?;
    }
    Ok(text)
}

fn one_byte(bytes: &[u8]) -> Result<String, Finding> {
    let mut text = text_for(bytes.len())?;
    for &byte in bytes {
        let code = match byte {
            0x80..=0x9f => UPPER[usize::from(byte - 0x80)],
            _ => u16::from(byte),
        };
        match char::from_u32(u32::from(code)) {
            Some('\0') | None => return Err(Finding::UnknownFormat),
            Some(letter) => push(&mut text, letter)?,
        }
    }
    Ok(text)
}

fn text_for(letters: usize) -> Result<String, Finding> {
    let room: Vec<u8> = try_vec(letters as u64)?;
    Ok(String::from_utf8(room).unwrap_or_default())
}

fn push(text: &mut String, letter: char) -> Result<(), Finding> {
    text.try_reserve(4).map_err(|_| Finding::NoMemory { bytes: text.len() as u64 })?;
    text.push(letter);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_of_every_code_comes_out_the_same() {
        let want = "x [µm];1,5\r\n";
        let le: Vec<u8> =
            "\u{feff}".encode_utf16().chain(want.encode_utf16()).flat_map(u16::to_le_bytes).collect();
        let be: Vec<u8> =
            "\u{feff}".encode_utf16().chain(want.encode_utf16()).flat_map(u16::to_be_bytes).collect();
        let marked = [b"\xef\xbb\xbf", want.as_bytes()].concat();
        for bytes in [want.as_bytes(), &le, &be, &marked, b"x [\xb5m];1,5\r\n", b"x [\xb5m];1,5\r\n\x1a"] {
            assert_eq!(decode(bytes).unwrap(), want);
        }
        assert_eq!(decode(b"a \x96 b \xb5").unwrap(), "a – b µ");
    }

    #[test]
    fn what_is_no_text_is_refused() {
        for bytes in
            [&b"%PDF-1.7\n\x80\x81"[..], b"1,2\x003", b"\xff\xfe\x00\xd8", b"1\x1b2", "1\u{81}".as_bytes()]
        {
            assert_eq!(decode(bytes), Err(Finding::UnknownFormat), "{bytes:?}");
        }
        assert!(matches!(decode(b"\xff\xfe1\x002"), Err(Finding::Damaged { .. })));
    }
}
