//! A line as a person types it to correct one.

use super::words::{self, Word};
use super::{Element, Line, languages, lines, name};

/// See [`Line::parse_typed`].
pub(super) fn parse(text: &str) -> Option<Line> {
    if let Some(line) = Line::parse(text.trim()) {
        return Some(line);
    }
    if text.len() > 200 {
        return None;
    }
    let words = words::words(&words::folded(text));
    let first = words.first()?;
    if let Some((element, used)) = element_at(&words) {
        if used == words.len() {
            return Some(Line { element, family: None, member: None });
        }
        let rest: Vec<Word> = words.get(used..)?.iter().map(with_capital).collect();
        let written = lines::line_at(&rest, 0).filter(|w| w.used == rest.len())?;
        return Some(Line { element, family: Some(written.family?), member: written.member });
    }
    // "cuka", "CuK", "PbLa1": one word; in letters of one size with its member, so that "ink" is none.
    for length in [2, 1] {
        let (Some(head), Some(tail)) = (first.text.get(..length), first.text.get(length..)) else { continue };
        let Some(element) = Element::from_symbol(&name::capitalised(head)) else { continue };
        let mut rest: Vec<Word> = words.clone();
        let piece = Word { text: tail.to_owned(), small: tail.to_lowercase(), ..first.clone() };
        rest[0] = with_capital(&piece);
        let Some(written) = lines::line_at(&rest, 0).filter(|w| w.used == rest.len()) else { continue };
        let is_clear =
            written.member.is_some() || head == element.symbol() && tail.starts_with(['K', 'L', 'M']);
        if is_clear {
            return Some(Line { element, family: Some(written.family?), member: written.member });
        }
    }
    None
}

/// "26", "Z=26", "z26", "fe", "FE", "iron", "Blei", and how many words that took.
fn element_at(words: &[Word]) -> Option<(Element, usize)> {
    let first = words.first()?;
    let by_number = |z: u32| u8::try_from(z).ok().and_then(Element::from_number);
    if let Some(z) = first.number() {
        return Some((by_number(z)?, 1));
    }
    match first.letters_and_number() {
        ("z", Some(z)) => return Some((by_number(z)?, 1)),
        ("z", None) => return Some((by_number(words.get(1)?.number()?)?, 2)),
        _ => {}
    }
    Element::from_symbol(&name::capitalised(&first.text))
        .or_else(|| languages::element_named(&first.small).map(|found| found.0))
        .map(|element| (element, 1))
}

/// A word with the letter of its family as a capital.
fn with_capital(word: &Word) -> Word {
    let mut letters = word.text.chars();
    let first: String = letters.next().map(|c| c.to_ascii_uppercase()).into_iter().collect();
    Word { text: format!("{first}{}", letters.as_str()), ..word.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corrections_are_understood_as_typed() {
        // Common practice, no source.
        for (text, want) in [
            ("cu ka", "Cu Kα"),
            ("Pb La", "Pb Lα"),
            ("fe", "Fe"),
            ("FE", "Fe"),
            ("Fe Kα", "Fe Kα"),
            (" iron ", "Fe"),
            ("iron k", "Fe K"),
            ("Blei L", "Pb L"),
            ("or", "Au"),
            ("26", "Fe"),
            ("26 ka", "Fe Kα"),
            ("Z=82 L", "Pb L"),
            ("z82", "Pb"),
            ("cuka", "Cu Kα"),
            ("CuK", "Cu K"),
            ("pb-lb1", "Pb Lβ"),
            ("Fe K-L3", "Fe Kα"),
            ("Fe Ka+Kb", "Fe K"),
            ("k", "K"),
            ("k ka", "K Kα"),
            ("co", "Co"),
            ("as kbeta", "As Kβ"),
        ] {
            assert_eq!(parse(text).map(|line| line.to_string()).as_deref(), Some(want), "{text}");
        }
    }

    #[test]
    fn what_is_not_understood_is_said() {
        for text in [
            "",
            " ",
            "ka",
            "fe mn",
            "iron maiden",
            "0",
            "93",
            "999999999999",
            "Fe Q",
            "Fe Ll",
            "ink",
            "Xx",
            "é",
            "Fe K L",
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }
}
