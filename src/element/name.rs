//! From a file or page name to an element and line.
//!
//! The name is cut into words at everything that is no letter or digit. A word is an element with a line ("FeK",
//! "PbLa1"), an element alone ("Fe", "iron"), or a line alone ("K", "Ka", "L-alpha"); an element alone takes the line
//! that follows it. Evidence is graded; only a single best reading is believed, otherwise nothing is.

use super::{Element, Family, Line, Member, table};

/// What a name says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Guess {
    /// One reading is best.
    Line(Line),
    /// Two readings are equally good.
    Ambiguous(Line, Line),
    /// No element in it.
    Nothing,
}

/// How well a reading is supported, from weak to strong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Support {
    /// A symbol in small letters, alone.
    SmallLetters,
    /// A symbol that is also an everyday word or abbreviation, alone.
    AlsoAWord,
    /// A symbol or an element's name, alone.
    ElementAlone,
    /// A symbol with a line, in small letters.
    SmallWithLine,
    /// A symbol as it should be written, with a line.
    WithLine,
}

/// Symbols that alone are more often a word, an initial or a unit than an element.
const ALSO_WORDS: [&str; 19] =
    ["In", "As", "I", "No", "At", "He", "Be", "C", "N", "O", "P", "S", "V", "W", "Y", "U", "H", "B", "F"];

/// Reads element and line from a name; the ending ".tif" and the like may still be on it.
pub fn guess_line(name: &str) -> Guess {
    let stem = without_ending(name);
    let words: Vec<String> = words(stem);
    let mut readings: Vec<(Support, Line)> = Vec::new();
    let mut i = 0;
    while i < words.len() {
        if let Some((support, line)) = element_with_line(&words[i]) {
            readings.push((support, line));
        } else if let Some((element, exact, support)) = element_alone(&words[i]) {
            let following = words
                .get(i + 1)
                .zip(words.get(i + 2))
                .and_then(|(a, b)| line_word(&format!("{a}{b}"), exact));
            let next = words.get(i + 1).and_then(|w| line_word(w, exact));
            if let Some((family, member)) = following.or(next) {
                let support = if exact { Support::WithLine } else { Support::SmallWithLine };
                readings.push((support, Line { element, family: Some(family), member }));
                i += if following.is_some() { 2 } else { 1 };
            } else {
                readings.push((support, Line { element, family: None, member: None }));
            }
        }
        i += 1;
    }
    let Some(best) = readings.iter().map(|r| r.0).max() else { return Guess::Nothing };
    // In small letters alone a two-letter word is too often just a word, unless the name is nothing else.
    if best == Support::SmallLetters && words.len() > 2 {
        return Guess::Nothing;
    }
    if best == Support::AlsoAWord && words.len() > 1 {
        return Guess::Nothing;
    }
    let mut lines = readings.iter().filter(|r| r.0 == best).map(|r| r.1);
    match (lines.next(), lines.find(|line| Some(line) != readings.iter().find(|r| r.0 == best).map(|r| &r.1)))
    {
        (Some(first), None) => Guess::Line(first),
        (Some(first), Some(second)) => Guess::Ambiguous(first, second),
        (None, _) => Guess::Nothing,
    }
}

fn without_ending(name: &str) -> &str {
    let name = name.rsplit(['/', '\\']).next().unwrap_or(name);
    match name.rsplit_once('.') {
        Some((stem, ending))
            if !stem.is_empty() && ENDINGS.contains(&ending.to_ascii_lowercase().as_str()) =>
        {
            stem
        }
        _ => name,
    }
}

const ENDINGS: [&str; 10] = ["tif", "tiff", "png", "jpg", "jpeg", "npy", "csv", "txt", "tsv", "dat"];

/// Words of letters and digits, Greek letters written out; a number standing before letters is cut off ("04Fe" -> "Fe").
fn words(stem: &str) -> Vec<String> {
    let spelled: String = stem
        .chars()
        .flat_map(|c| match c {
            'α' => "alpha".chars().collect::<Vec<_>>(),
            'β' => "beta".chars().collect(),
            'γ' => "gamma".chars().collect(),
            c => vec![c],
        })
        .collect();
    spelled
        .split(|c: char| !c.is_ascii_alphanumeric())
        .map(|w| w.trim_start_matches(|c: char| c.is_ascii_digit()))
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

/// "K", "Ka", "Kalpha", "KA1", "La12": a line without its element.
fn line_word(word: &str, is_exact: bool) -> Option<(Family, Option<Member>)> {
    let mut letters = word.chars();
    let first = letters.next()?;
    let family = match first.to_ascii_uppercase() {
        'K' => Family::K,
        'L' => Family::L,
        'M' => Family::M,
        _ => return None,
    };
    if is_exact && !first.is_ascii_uppercase() {
        return None;
    }
    let rest: String = letters.as_str().to_ascii_lowercase();
    let letters = rest.trim_end_matches(|c: char| c.is_ascii_digit());
    // "K2" is a second scan as likely as a line, and no line is called so.
    if letters.is_empty() && !rest.is_empty() {
        return None;
    }
    let member = match letters {
        "" | "series" | "line" | "lines" | "shell" => None,
        "a" | "alpha" => Some(Member::Alpha),
        "b" | "beta" => Some(Member::Beta),
        "g" | "gamma" => Some(Member::Gamma),
        _ => return None,
    };
    Some((family, member))
}

/// "FeK", "CuKa1", "PbLalpha", "fek": an element and a line in one word.
fn element_with_line(word: &str) -> Option<(Support, Line)> {
    let is_small = word.chars().next()?.is_ascii_lowercase();
    for length in [2, 1] {
        let (Some(head), Some(tail)) = (word.get(..length), word.get(length..)) else { continue };
        if tail.is_empty() {
            continue;
        }
        let Some(element) = Element::from_symbol(&capitalised(head)) else { continue };
        let is_written_right = head == element.symbol();
        // In small letters "cal", "tam" and the like are words: ask for a member too.
        let Some((family, member)) = line_word(tail, is_written_right) else { continue };
        if !is_written_right && (member.is_none() || !is_small) {
            continue;
        }
        let support = if is_written_right { Support::WithLine } else { Support::SmallWithLine };
        return Some((support, Line { element, family: Some(family), member }));
    }
    None
}

fn element_alone(word: &str) -> Option<(Element, bool, Support)> {
    if let Some(element) = Element::from_symbol(word) {
        let support = if ALSO_WORDS.contains(&word) { Support::AlsoAWord } else { Support::ElementAlone };
        return Some((element, true, support));
    }
    let small = word.to_ascii_lowercase();
    if let Some(index) = table::ELEMENTS.iter().position(|(_, name)| *name == small) {
        return Some((Element::from_number(u8::try_from(index + 1).ok()?)?, true, Support::ElementAlone));
    }
    if word.len() == 2 && word == small {
        let element = Element::from_symbol(&capitalised(word))?;
        let is_word =
            ALSO_WORDS.contains(&element.symbol()) || ["co", "mo", "am", "pa", "la", "re"].contains(&word);
        return (!is_word).then_some((element, false, Support::SmallLetters));
    }
    None
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map(|c| c.to_ascii_uppercase())
        .into_iter()
        .chain(letters.map(|c| c.to_ascii_lowercase()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Name, what must be read ("" for nothing, "?" for ambiguous). Common practice of file names, no source.
    const CASES: &[(&str, &str)] = &[
        ("Cu-K.tif", "Cu K"),
        ("cu_ka.png", "Cu Kα"),
        ("Pb M", "Pb M"),
        ("scan3_Hg-L.tif", "Hg L"),
        ("04 Fe Kα.tif", "Fe Kα"),
        ("As_Ka1.tif", "As Kα"),
        ("As K-beta.csv", "As Kβ"),
        ("map_Zn.tif", "Zn"),
        ("K.tif", "K"),
        ("K-K.tif", "K K"),
        ("K_Ka.tif", "K Kα"),
        ("Ka.tif", ""),
        ("pb_m.npy", "Pb M"),
        ("PbLa.tif", "Pb Lα"),
        ("FeK.tif", "Fe K"),
        ("FeKa1.tif", "Fe Kα"),
        ("feka.tif", "Fe Kα"),
        ("S-K.tif", "S K"),
        ("SK.tif", "S K"),
        ("iron.tif", "Fe"),
        ("Copper K.tif", "Cu K"),
        ("fe.tif", "Fe"),
        ("tern_Ti-K.tif", "Ti K"),
        ("folder/Mn K.tif", "Mn K"),
        ("scan.tif", ""),
        ("scan_2.tif", ""),
        ("As found.tif", ""),
        ("In situ.tif", ""),
        ("No 3.tif", ""),
        ("CO.tif", ""),
        ("photo.png", ""),
        ("Chan_07.tif", ""),
        ("local copy.tif", ""),
        ("camera.tif", ""),
        ("Fe and Mn.tif", "?"),
        ("", ""),
    ];

    #[test]
    fn names_are_read_as_a_person_would() {
        for (name, want) in CASES {
            let got = match guess_line(name) {
                Guess::Line(line) => line.to_string(),
                Guess::Ambiguous(..) => "?".into(),
                Guess::Nothing => String::new(),
            };
            assert_eq!(got, *want, "{name}");
        }
    }
}
