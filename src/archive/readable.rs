//! JSON laid out for a reader and brought back byte for byte: only space between its parts is added, so that what a hash was
//! taken of can be had again from the readable text.

/// Lists and objects of up to so many bytes without others in them stand on one line.
const LONGEST_LINE: usize = 96;

/// Where a text that began before `at` with a quotation mark ends: just after its closing mark.
fn text_end(bytes: &[u8], mut at: usize) -> usize {
    while at < bytes.len() {
        match bytes[at] {
            b'\\' => at += 2,
            b'"' => return at + 1,
            _ => at += 1,
        }
    }
    bytes.len()
}

/// The end of a list or object that begins at `at`, where it is short and has no other in it.
fn short_end(bytes: &[u8], at: usize) -> Option<usize> {
    let mut place = at + 1;
    while place < bytes.len() && place - at < LONGEST_LINE {
        match bytes[place] {
            b'{' | b'[' => return None,
            b'}' | b']' => return Some(place + 1),
            b'"' => place = text_end(bytes, place + 1),
            _ => place += 1,
        }
    }
    None
}

/// JSON without spaces, laid out. [`compact`] brings it back.
pub(super) fn pretty(json: &str) -> String {
    let bytes = json.as_bytes();
    let (mut out, mut depth, mut at) = (Vec::new(), 0usize, 0);
    // Up to which place all stands on one line.
    let mut line_end = 0;
    let line = |out: &mut Vec<u8>, depth: usize| {
        out.push(b'\n');
        out.resize(out.len() + 2 * depth, b' ');
    };
    while at < bytes.len() {
        let byte = bytes[at];
        let is_inline = at < line_end;
        match byte {
            b'"' => {
                let end = text_end(bytes, at + 1);
                out.extend_from_slice(&bytes[at..end]);
                at = end;
                continue;
            }
            b'{' | b'[' => {
                out.push(byte);
                line_end = short_end(bytes, at).unwrap_or(line_end);
                if at >= line_end {
                    depth += 1;
                    line(&mut out, depth);
                }
            }
            b'}' | b']' => {
                if !is_inline {
                    depth = depth.saturating_sub(1);
                    line(&mut out, depth);
                }
                out.push(byte);
            }
            b',' => {
                out.push(byte);
                if is_inline {
                    out.push(b' ');
                } else {
                    line(&mut out, depth);
                }
            }
            b':' => out.extend_from_slice(b": "),
            _ => out.push(byte),
        }
        at += 1;
    }
    out.push(b'\n');
    // Only spaces and line ends were put between characters.
    String::from_utf8_lossy(&out).into_owned()
}

/// JSON without the space between its parts.
pub(super) fn compact(json: &[u8]) -> Vec<u8> {
    let (mut out, mut at) = (Vec::new(), 0);
    while at < json.len() {
        let end = if json[at] == b'"' { text_end(json, at + 1) } else { at + 1 };
        if !json[at].is_ascii_whitespace() {
            out.extend_from_slice(&json[at..end]);
        }
        at = end;
    }
    out
}

/// The text of the field `id` of the outermost object of compact JSON, as its place between the quotation marks.
fn id_of(json: &[u8]) -> Option<std::ops::Range<usize>> {
    let (mut depth, mut at) = (0usize, 0);
    while at < json.len() {
        match json[at] {
            b'"' => {
                let end = text_end(json, at + 1);
                if depth == 1 && json[at..].starts_with(b"\"id\":\"") {
                    return Some(end + 2..text_end(json, end + 2).checked_sub(1)?);
                }
                at = end;
                continue;
            }
            b'{' | b'[' => depth += 1,
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        at += 1;
    }
    None
}

fn with_id(json: &[u8], id: &str) -> Option<Vec<u8>> {
    let place = id_of(json)?;
    let (before, after) = (json.get(..place.start)?, json.get(place.end..)?);
    Some([before, id.as_bytes(), after].concat())
}

/// A kept answer for a reader: laid out, with its id. As it is, where that could not be brought back.
pub(super) fn shown_answer(kept: &[u8], id: &str) -> Vec<u8> {
    let shown = with_id(kept, id)
        .and_then(|json| String::from_utf8(json).ok())
        .map(|json| pretty(&json).into_bytes());
    match shown {
        Some(shown) if kept_answer(&shown).as_deref() == Some(kept) => shown,
        _ => kept.to_vec(),
    }
}

/// The kept answer of what [`shown_answer`] made; its hash says whether it is that.
pub(super) fn kept_answer(shown: &[u8]) -> Option<Vec<u8>> {
    with_id(&compact(shown), "")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::digest::sha256_hex;

    #[test]
    fn what_is_laid_out_comes_back_byte_for_byte() {
        for json in [
            r#"{"a":[1,-2.5e-3,null,true],"b":{"c":"x: [1, {\"}\\","d":[]},"e":{}}"#,
            r#"[[[1,2],[3,4]],"a\\","\"",{"long":"0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789"}]"#,
            "\"Größe  \\n µ\"",
            "[]",
            "1",
        ] {
            let shown = pretty(json);
            assert_eq!(compact(shown.as_bytes()), json.as_bytes(), "{shown}");
            assert_eq!(
                serde_json::from_str::<serde_json::Value>(&shown).unwrap(),
                serde_json::from_str::<serde_json::Value>(json).unwrap()
            );
        }
        assert_eq!(
            pretty(r#"{"a":[1,2],"b":{"c":{"d":1}}}"#),
            "{\n  \"a\": [1, 2],\n  \"b\": {\n    \"c\": {\"d\": 1}\n  }\n}\n"
        );
    }

    #[test]
    fn an_answer_is_shown_with_its_id_and_kept_without() {
        let kept =
            br#"{"id":"","inputs":[{"id":"m1"}],"sentence":"\"id\":\"x\"","value":0.30000000000000004}"#;
        let id = sha256_hex(kept);
        let shown = shown_answer(kept, &id);
        assert!(String::from_utf8_lossy(&shown).contains(&format!("\"id\": \"{id}\"")));
        assert_eq!(kept_answer(&shown).unwrap(), kept);
        let edited = String::from_utf8(shown).unwrap().replace("0.30000000000000004", "0.4");
        assert_ne!(sha256_hex(&kept_answer(edited.as_bytes()).unwrap()), id);
        // What has no id, or spaces of its own, is kept as it is.
        for other in [&b"{\"a\": 1}"[..], b"{ \"id\":\"\"}", b"", b"\"", b"{\"id\":\"", b"\xff"] {
            assert_eq!(shown_answer(other, "x"), other);
        }
    }

    #[test]
    fn odd_bytes_never_panic() {
        let mut chance = crate::numerics::chance::Chance::new(3);
        let letters = b"{}[]\",:\\ \n1aid\xc3\xa4";
        for _ in 0..5000 {
            let bytes: Vec<u8> =
                (0..chance.below(40)).map(|_| letters[chance.below(letters.len() as u64) as usize]).collect();
            let _ = (compact(&bytes), kept_answer(&bytes), shown_answer(&bytes, "id"));
            let _ = pretty(&String::from_utf8_lossy(&bytes));
        }
    }
}
