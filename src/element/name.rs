//! From the words of a name to an element and line, by graded evidence: only a single best reading is believed.
//!
//! A word is an element with a line ("FeK", "PbLa1"), an element alone ("Fe", "iron", "Blei"), or a line ("K", "Ka",
//! "K-L3"), which an element before it takes. What is as likely a word, an initial, a unit or a running number as an
//! element needs more: a line, a name that says nothing else, or a place where only a symbol stands.

use super::languages::{self, Trust};
use super::lines::{self, Written};
use super::vocabulary as list;
use super::weighing::{Needs, Reading, Support, best_of, is_believed};
use super::words::Word;
use super::{Element, Family, Line, Member};

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

/// Reads the element and line of one part of a name.
pub(super) fn guess_of(words: &[Word]) -> Guess {
    let (readings, rest) = all_readings(words);
    let is_crowded = readings.len() > 1;
    let believed: Vec<Reading> =
        readings.into_iter().filter(|r| is_believed(words, *r, rest, is_crowded)).collect();
    best_of(words, &believed)
}

/// Whether the words hold nothing that tells of an object: only numbers and words of maps, roles, units.
pub(super) fn is_only_of_maps(words: &[Word]) -> bool {
    words.iter().all(is_of_maps)
}

/// Whether a word is a number or of the vocabulary of maps.
pub(super) fn is_of_maps(word: &Word) -> bool {
    word.is_number() || list::is_of_maps(word.letters_and_number().0) || list::is_of_maps(&word.small)
}

/// All readings in the order of the name, and how many words tell of something else.
fn all_readings(words: &[Word]) -> (Vec<Reading>, usize) {
    let (mut readings, mut rest) = (Vec::new(), 0_usize);
    let mut i = 0;
    while i < words.len() {
        // Two levels of an atom without its element ("K-L3") are a line of nobody.
        let is_level_pair = lines::line_at(words, i).is_some_and(|l| l.used > 1 && is_levels(words, i));
        if is_level_pair
            && lines::line_at(words, i + 1).is_none_or(|l| l.used < 2 || !is_levels(words, i + 1))
        {
            i += lines::line_at(words, i).map_or(1, |l| l.used);
            continue;
        }
        match reading_at(words, i) {
            Some(reading) => {
                i += reading.used;
                readings.push(reading);
            }
            None => {
                rest += usize::from(!is_of_maps(&words[i]));
                i += 1;
            }
        }
    }
    (readings, rest)
}

fn is_levels(words: &[Word], at: usize) -> bool {
    words[at].text.len() <= 2
        && words.get(at + 1).is_some_and(|w| {
            w.before != '+' && w.text.starts_with(['K', 'L', 'M', 'N', 'O']) && w.text.len() <= 2
        })
        && words
            .get(at + 1)
            .is_some_and(|w| w.text.len() == 1 || w.text.ends_with(|c: char| c.is_ascii_digit()))
}

fn reading_at(words: &[Word], at: usize) -> Option<Reading> {
    by_number(words, at)
        .or_else(|| line_before(words, at))
        .or_else(|| joined(words, at))
        .or_else(|| symbol_or_name(words, at))
}

fn line_of(element: Element, written: Option<(Option<Family>, Option<Member>)>) -> Line {
    let (family, member) = written.unwrap_or((None, None));
    Line { element, family, member: member.filter(|_| family.is_some()) }
}

/// "Z26 K", "Z=26", and a number that leads the name with a line after it ("26-K", "26 Kalpha").
fn by_number(words: &[Word], at: usize) -> Option<Reading> {
    let word = &words[at];
    let (z, line_at, is_stated) = match word.letters_and_number() {
        ("z", Some(z)) => (z, at + 1, false),
        ("z", None) => (words.get(at + 1)?.number()?, at + 2, word.after == '='),
        _ if at == 0 && !word.text.starts_with('0') => return leading_number(words),
        _ => return None,
    };
    let element = Element::from_number(u8::try_from(z).ok()?).filter(|e| e.number() > 10)?;
    let written = lines::line_at(words, line_at);
    if written.is_none() && !is_stated {
        return None; // a height or a slice as likely
    }
    Some(Reading {
        support: if written.is_some() { Support::WithLine } else { Support::ElementAlone },
        needs: Needs::Nothing,
        line: line_of(element, written.map(|w| (w.family, w.member))),
        or: None,
        at,
        used: line_at - at + written.map_or(0, |w| w.used),
    })
}

fn leading_number(words: &[Word]) -> Option<Reading> {
    let element = Element::from_number(u8::try_from(words[0].number()?).ok()?).filter(|e| e.number() > 10)?;
    let written = lines::line_at(words, 1).filter(|w| w.is_capital && w.family.is_some())?;
    let line = line_of(element, Some((written.family, written.member)));
    // "26 K" is potassium, number 26, as likely; "82 La" lanthanum; "14 L" and "12 M" are sizes or sides.
    let or = Element::from_symbol(&words[1].text).filter(|_| written.used == 1).map(|element| Line {
        element,
        family: None,
        member: None,
    });
    let is_size = written.member.is_none() && written.family != Some(Family::K);
    (!is_size).then_some(Reading {
        support: Support::WithLine,
        needs: Needs::Alone,
        line,
        or,
        at: 0,
        used: 1 + written.used,
    })
}

/// "Kα Fe": the line before its element.
fn line_before(words: &[Word], at: usize) -> Option<Reading> {
    let written = lines::line_at(words, at).filter(|w| w.is_capital && w.member.is_some())?;
    if Element::from_symbol(&words[at].text).is_some_and(|_| written.used == 1) {
        return None;
    }
    let place = at + written.used;
    let element = Element::from_symbol(&words.get(place)?.text)?;
    if lines::line_at(words, place + 1).is_some() || element.symbol().len() < 2 {
        return None;
    }
    Some(Reading {
        support: Support::WithLine,
        needs: Needs::Nothing,
        line: line_of(element, Some((written.family, written.member))),
        or: None,
        at,
        used: written.used + 1,
    })
}

/// "FeK", "CuKa1", "PbLalpha", "PbL3M5", "feka", "FEKA": an element and a line in one word.
fn joined(words: &[Word], at: usize) -> Option<Reading> {
    let word = &words[at].text;
    for length in [2, 1] {
        let (Some(head), Some(tail)) = (word.get(..length), word.get(length..)) else { continue };
        let Some(element) = Element::from_symbol(&capitalised(head)).filter(|_| !tail.is_empty()) else {
            continue;
        };
        let is_right = head == element.symbol();
        let Some(found) = lines::joined_levels(tail).or_else(|| lines::siegbahn(tail)) else { continue };
        let is_capital = tail.starts_with(|c: char| c.is_ascii_uppercase());
        let is_believed = match (is_right, is_capital) {
            // One letter and a family is a word or a country as likely ("OK", "UK", "PM", "CL").
            (true, true) => {
                length == 2 || found.1.is_some() || ["SK", "PK", "VK", "KK", "YK"].contains(&word.as_str())
            }
            // "Feka", "feka", "FEKA": in letters of one size a member is asked for, and no word of a language.
            (false, false) | (true, false) => length == 2 && list::is_joined_small(&words[at].small),
            (false, true) => {
                length == 2 && head == head.to_uppercase() && list::is_joined_small(&words[at].small)
            }
        };
        if !is_believed {
            continue;
        }
        let mut reading = Reading {
            support: if is_right && is_capital { Support::WithLine } else { Support::SmallWithLine },
            needs: Needs::Nothing,
            line: line_of(element, Some(found)),
            or: None,
            at,
            used: 1,
        };
        extend(words, &mut reading);
        return Some(reading);
    }
    None
}

/// Further members after a joined word: "FeKa+Kb", "FeKa1,2", "FeKaKb".
fn extend(words: &[Word], reading: &mut Reading) {
    while let Some(next) = words.get(reading.at + reading.used).filter(|_| reading.used < lines::LONGEST) {
        if next.before == ',' && next.is_number() && next.text.len() == 1 && reading.line.member.is_some() {
            reading.used += 1;
            continue;
        }
        let is_joined = matches!(next.before, '+' | '&') || (next.before == '\0' && next.small == "kb");
        let also = match next.small.as_str() {
            "b" | "beta" | "g" | "gamma" => Some((reading.line.family, Some(Member::Beta))),
            _ => lines::siegbahn(&next.text).filter(|_| next.text != "Mg"),
        };
        let Some((family, member)) = also.filter(|_| is_joined) else { return };
        if family != reading.line.family {
            (reading.line.family, reading.line.member) = (None, None);
        } else if member != reading.line.member {
            reading.line.member = None;
        }
        reading.used += 1;
    }
}

fn symbol_or_name(words: &[Word], at: usize) -> Option<Reading> {
    let word = &words[at];
    let (text, small) = (word.text.as_str(), word.small.as_str());
    if word.after == '%' && matches!(small, "at" | "wt") || (small == "mg" && word.after == '/') {
        return None;
    }
    if let Some(element) = Element::from_symbol(text) {
        let written = lines::line_at(words, at + 1).filter(|w| is_line_of(words, at + 1, element, *w));
        let is_initial = text.len() == 1 && at > 0 && list::is_labelled(&words[at - 1].small);
        let needs = match written {
            // "Si La", "In La": the article of three languages.
            Some(_) if list::is_like_a_word(element.symbol()) && words[at + 1].text == "La" => Needs::Alone,
            Some(_) => Needs::Nothing,
            None if list::needs_line(element.symbol()) || is_initial => return None,
            None if list::is_like_a_word(element.symbol()) => Needs::Place,
            None => Needs::Nothing,
        };
        return Some(with_line(element, written, needs, Support::WithLine, at));
    }
    if let Some((element, trust)) = languages::element_named(small) {
        return named(words, at, element, trust);
    }
    if word.text.len() != 2 || !word.text.is_ascii() {
        return None;
    }
    let element = Element::from_symbol(&capitalised(text))?;
    let is_capital = text == text.to_uppercase();
    let is_a_word = list::is_small_word(small) || (is_capital && list::is_like_a_word(element.symbol()));
    let written = lines::line_at(words, at + 1)
        .filter(|w| w.is_capital == is_capital || w.member.is_some())
        .filter(|w| is_line_of(words, at + 1, element, *w))
        .filter(|w| !is_a_word || w.family == Some(Family::K));
    let needs = match written {
        // "AS K": the letter is taken with the word, so that it is no potassium, and believed in a name of maps.
        Some(w) if is_capital && is_a_word && w.member.is_none() => Needs::Alone,
        Some(_) => Needs::Nothing,
        None if list::needs_line(element.symbol()) || text == "CO" => return None,
        None if is_capital || is_a_word => Needs::Alone,
        None => Needs::SturdyPlace,
    };
    Some(with_line(element, written, needs, Support::SmallWithLine, at))
}

fn with_line(
    element: Element,
    written: Option<Written>,
    needs: Needs,
    support: Support,
    at: usize,
) -> Reading {
    let line = line_of(element, written.map(|w| (w.family, w.member)));
    let alone = if support == Support::WithLine { Support::ElementAlone } else { Support::Weak };
    let support = if line.family.is_some() { support } else { alone };
    Reading { support, needs, line, or: None, at, used: 1 + written.map_or(0, |w| w.used) }
}

/// An element by its name: a thing made of it ("gold leaf", "vaso de plata") is none.
fn named(words: &[Word], at: usize, element: Element, trust: Trust) -> Option<Reading> {
    let written = lines::line_at(words, at + 1).filter(|w| is_line_of(words, at + 1, element, *w));
    if words.get(at + 1).is_some_and(|next| languages::is_thing(&next.small)) && written.is_none() {
        return None;
    }
    let is_made_of = at > 1 && languages::is_made_of(&words[at - 1].small) && !is_of_maps(&words[at - 2]);
    if is_made_of && written.is_none() {
        return None;
    }
    let needs = match trust {
        Trust::OnlyAlone => Needs::OnlyAlone,
        Trust::AlsoAWord if written.is_none() => Needs::Alone,
        _ => Needs::Nothing,
    };
    Some(with_line(element, written, needs, Support::WithLine, at))
}

/// Whether a line that is read after an element is its own. In small letters "k" or a member is asked for, or an
/// element that shows the family to scanners ("pb_m", not "fe_m"), and "la" must end its word ("pb_la").
fn is_line_of(words: &[Word], at: usize, element: Element, written: Written) -> bool {
    let word = &words[at];
    if written.is_capital {
        return true;
    }
    let is_tied = matches!(word.before, '_' | '-');
    let z = element.number();
    match (written.family, written.member) {
        (Some(Family::K), Some(_)) => true,
        (Some(Family::K), None) => is_tied || at + 1 == words.len(),
        (Some(Family::L), None) => z >= 47 && is_tied,
        (Some(Family::M), None) => z >= 73 && is_tied,
        (Some(_), Some(_)) => is_tied || word.small.len() > 2 || at + 1 == words.len(),
        (None, _) => false,
    }
}

pub(super) fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map(|c| c.to_ascii_uppercase())
        .into_iter()
        .chain(letters.map(|c| c.to_ascii_lowercase()))
        .collect()
}
