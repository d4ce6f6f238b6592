//! Names of entries: plain letters, so that every system unpacks them alike. The true names stand in the state.

/// Characters of a plain name.
const LONGEST: usize = 60;

/// A text as part of a name: letters and digits without accents, `-`, `_` and `.`; never begins or ends with a point.
/// Empty where nothing of it is left.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        let c = if c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.') { c } else { '_' };
        if !(c == '_' && out.ends_with('_')) {
            out.push(c);
        }
    }
    out.trim_matches(['.', '_']).to_owned()
}

/// The same, cut to a length; a short ending, as of a file's name, is kept.
fn cut(plain: &str) -> String {
    if plain.len() <= LONGEST {
        return plain.to_owned();
    }
    // All of it is ASCII, so that every place is one of a character.
    let ending = plain.rfind('.').map_or("", |at| &plain[at..]);
    let ending = if ending.len() <= 8 { ending } else { "" };
    format!("{}{ending}", &plain[..LONGEST - ending.len()])
}

/// The entry of an input by its place in the record, from 0, and its own name, of which folders are left out.
pub(super) fn of_input(place: usize, name: &str) -> String {
    let own = cut(&plain(name.rsplit(['/', '\\']).next().unwrap_or_default()));
    let sign = if own.is_empty() { "" } else { "-" };
    format!("inputs/{:03}{sign}{own}", place + 1)
}

/// The entry of a region's mask, by its id and name.
pub(super) fn of_mask(id: &str, name: &str) -> String {
    let own = cut(&plain(name));
    let sign = if own.is_empty() { "" } else { "-" };
    format!("regions/{id}{sign}{own}.png")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zip::trouble_of_name;

    #[test]
    fn any_text_makes_a_name_that_every_system_takes() {
        assert_eq!(of_input(0, "Cu-K.tif"), "inputs/001-Cu-K.tif");
        assert_eq!(of_input(11, "../../etc/<b>Größe µ</b>.tif"), "inputs/012-b_.tif");
        assert_eq!(of_input(1233, "скан"), "inputs/1234");
        assert_eq!(of_mask("r1", "Sky, upper left"), "regions/r1-Sky_upper_left.png");
        assert_eq!(of_mask("r2", "..\u{202e}.."), "regions/r2.png");
        let long = of_input(0, &format!("{}.tiff", "x".repeat(500)));
        assert!(long.len() == "inputs/001-".len() + LONGEST && long.ends_with("x.tiff"), "{long}");
        for name in ["", ".", "..", "con", "a:b", "a\\b\\c", "\0", "a\nb", &"ü".repeat(999), "-rf"] {
            assert_eq!(trouble_of_name(&of_input(7, name)), None, "{name}");
            assert_eq!(trouble_of_name(&of_mask("r9", name)), None, "{name}");
        }
    }
}
