//! Lines in words: Siegbahn's names ("K", "Ka1", "L-alpha", "Ka+Kb") and IUPAC's by levels ("K-L3", "L3-M5").

use super::words::Word;
use super::{Family, Member};

/// A line as written; `family` is `None` for one that maps are not named by here ("Ll", "K+L"): understood, not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Written {
    pub family: Option<Family>,
    pub member: Option<Member>,
    /// Words that it takes.
    pub used: usize,
    /// Its family letter is a capital.
    pub is_capital: bool,
}

/// Words that a line takes at most, so that a chain without end costs no more than its length.
pub(super) const LONGEST: usize = 8;

fn family_of(letter: char) -> Option<Family> {
    match letter.to_ascii_uppercase() {
        'K' => Some(Family::K),
        'L' => Some(Family::L),
        'M' => Some(Family::M),
        _ => None,
    }
}

/// "a", "alpha12", "beta": a member, perhaps with numbers; `Some(None)` for all of them ("", "series", "ab").
fn member_of(small: &str) -> Option<Option<Member>> {
    let letters = small.trim_end_matches(|c: char| c.is_ascii_digit());
    if small.len() - letters.len() > 2 {
        return None;
    }
    match letters {
        // "K2" is a second scan as likely as a line, and no line is called so.
        "" if !small.is_empty() => None,
        "" | "series" | "line" | "lines" | "shell" | "ab" | "sum" => Some(None),
        "a" | "alpha" => Some(Some(Member::Alpha)),
        "b" | "beta" => Some(Some(Member::Beta)),
        "g" | "gamma" => Some(Some(Member::Gamma)),
        _ => None,
    }
}

/// One piece of text as a line in Siegbahn's way; `None` in the family where the member is not used here.
pub(super) fn siegbahn(text: &str) -> Option<(Option<Family>, Option<Member>)> {
    let mut letters = text.chars();
    let family = family_of(letters.next()?)?;
    let rest = letters.as_str().to_ascii_lowercase();
    if matches!(rest.as_str(), "eta" | "zeta") || (rest == "l" && text.starts_with('L')) {
        return Some((None, None));
    }
    member_of(&rest).map(|member| (Some(family), member))
}

/// A level: shell and subshell, 0 where it is not written ("K", "L3", "M").
fn level(text: &str) -> Option<(char, u8)> {
    let mut letters = text.chars();
    let shell = letters.next().filter(|c| matches!(c, 'K' | 'L' | 'M' | 'N' | 'O'))?;
    let digits = letters.as_str();
    let highest = match shell {
        'K' => 0,
        'L' => 3,
        'M' => 5,
        _ => 7,
    };
    let first = digits.bytes().next().map_or(0, |b| b.wrapping_sub(b'0'));
    let is_right =
        digits.is_empty() || (digits.len() <= 2 && digits.bytes().all(|b| b.is_ascii_digit()) && first > 0);
    (is_right && first <= highest).then_some((shell, first))
}

/// What a transition between levels is called in Siegbahn's way: IUPAC's nomenclature system for X-ray spectroscopy
/// (Jenkins, Manne, Robin, Senemaud 1991), table of correspondence, from memory. Satellites and Ll, Lη, Mζ: not used here.
fn transition(to: (char, u8), from: (char, u8)) -> Option<(Option<Family>, Option<Member>)> {
    let (alpha, beta, gamma) = (Some(Member::Alpha), Some(Member::Beta), Some(Member::Gamma));
    let family = family_of(to.0);
    let member = match (to, from) {
        (('K', _), ('L', _)) => alpha,
        (('K', _), ('M' | 'N' | 'O', _)) => beta,
        (('L', 3), ('M', 4 | 5)) => alpha,
        (('L', 3), ('N', 1 | 4 | 5) | ('O', 1 | 4 | 5)) => beta,
        (('L', 2), ('M', 3 | 4)) => beta,
        (('L', 2), ('N' | 'O', 1 | 4)) => gamma,
        (('L', 1), ('M', 2..=5)) => beta,
        (('L', 1), ('N' | 'O', 2 | 3)) => gamma,
        (('M', 5), ('N', 6 | 7)) => alpha,
        (('M', 4), ('N', 6)) => beta,
        (('M', 3), ('N', 5)) => gamma,
        (('L', _), ('M' | 'N' | 'O', _)) | (('M', _), ('N' | 'O', _)) => return Some((None, None)),
        _ => return None,
    };
    Some((family, member))
}

/// "KL3", "L3M5": two levels in one word.
pub(super) fn joined_levels(text: &str) -> Option<(Option<Family>, Option<Member>)> {
    let cut = text.char_indices().skip(1).find(|(_, c)| c.is_ascii_alphabetic())?.0;
    let (to, from) = (level(text.get(..cut)?)?, level(text.get(cut..)?)?);
    if from.1 == 0 { None } else { transition(to, from) }
}

/// Two levels at a place, with what is listed after them ("K-L2,3", "K-L3,L2"), and the words that they take.
fn levels(words: &[Word], at: usize) -> Option<Written> {
    let (to, next) = (words.get(at)?, words.get(at + 1));
    let pair = next.and_then(|next| {
        let (a, b) = (level(&to.text)?, level(&next.text)?);
        let is_apart = matches!(next.before, '-' | '\u{2010}'..='\u{2015}' | '\u{2192}');
        (is_apart || (b.1 > 0 && (a.0 == 'K' || a.1 > 0))).then(|| transition(a, b))?
    });
    let (found, mut used) = match pair {
        Some(found) => (found, 2),
        None => (joined_levels(&to.text)?, 1),
    };
    while words
        .get(at + used)
        .filter(|_| used < LONGEST)
        .is_some_and(|w| w.before == ',' && (level(&w.text).is_some() || w.text.len() == 1 && w.is_number()))
    {
        used += 1;
    }
    Some(Written { family: found.0, member: found.1, used, is_capital: true })
}

/// The line at a place of the name, or `None`. Members joined by "+" make the family's sum ("Ka+Kb" is K).
pub(super) fn line_at(words: &[Word], at: usize) -> Option<Written> {
    if let Some(found) = levels(words, at) {
        return Some(found);
    }
    let word = words.get(at)?;
    let mut found = single(words, at)?;
    found.is_capital = word.text.starts_with(|c: char| c.is_ascii_uppercase());
    while let Some(next) = words.get(at + found.used).filter(|_| found.used < LONGEST) {
        let is_listed = matches!(next.before, '+' | ',' | '&');
        if is_listed && next.is_number() && next.text.len() == 1 && found.member.is_some() {
            found.used += 1;
            continue;
        }
        if next.before == '\0' && next.small == "kb" && found.family == Some(Family::K) {
            (found.member, found.used) = (None, found.used + 1);
            continue;
        }
        if !matches!(next.before, '+' | '&') {
            break;
        }
        let also = single(words, at + found.used).or_else(|| {
            member_of(&next.small).filter(|m| m.is_some()).map(|member| Written {
                family: found.family,
                member,
                used: 1,
                is_capital: true,
            })
        });
        let Some(also) = also else { break };
        if also.family != found.family {
            (found.family, found.member) = (None, None);
        } else if also.member != found.member {
            found.member = None;
        }
        found.used += also.used;
    }
    Some(found)
}

/// "Ka", "K alpha", "K-a", "K alpha 1" at a place.
fn single(words: &[Word], at: usize) -> Option<Written> {
    let word = words.get(at)?;
    let plain = |found: (Option<Family>, Option<Member>), used| Written {
        family: found.0,
        member: found.1,
        used,
        is_capital: true,
    };
    if let Some(next) = words.get(at + 1).filter(|next| word.text.len() == 1 && !next.is_number())
        && let Some(found) =
            siegbahn(&format!("{}{}", word.text, next.small)).filter(|f| f.1.is_some() || f.0.is_none())
        && matches!(next.before, '-' | '_' | ' ' | '(' | '\0')
    {
        // A number of its own after a spelled member is part of it: "K alpha 1".
        let has_number = matches!(next.small.as_str(), "alpha" | "beta" | "gamma")
            && words
                .get(at + 2)
                .is_some_and(|w| matches!(w.before, ' ' | '-') && matches!(w.text.as_str(), "1" | "2"));
        return Some(plain(found, if has_number { 3 } else { 2 }));
    }
    // "Mg" is magnesium.
    siegbahn(&word.text).filter(|_| word.text != "Mg").map(|found| plain(found, 1))
}

#[cfg(test)]
mod tests {
    use super::super::words::{folded, words};
    use super::*;

    fn read(text: &str) -> Option<(Option<Family>, Option<Member>, usize)> {
        line_at(&words(&folded(text)), 0).map(|w| (w.family, w.member, w.used))
    }

    #[test]
    fn levels_are_the_lines_of_siegbahn() {
        // IUPAC 1991, table of correspondence, from memory.
        let (k, l, m) = (Some(Family::K), Some(Family::L), Some(Family::M));
        let (alpha, beta, gamma) = (Some(Member::Alpha), Some(Member::Beta), Some(Member::Gamma));
        for (text, family, member) in [
            ("K-L3", k, alpha),
            ("K-L2", k, alpha),
            ("K-M3", k, beta),
            ("K-N2", k, beta),
            ("L3-M5", l, alpha),
            ("L3-M4", l, alpha),
            ("L2-M4", l, beta),
            ("L3-N5", l, beta),
            ("L1-M3", l, beta),
            ("L2-N4", l, gamma),
            ("L1-N3", l, gamma),
            ("M5-N7", m, alpha),
            ("M4-N6", m, beta),
            ("M3-N5", m, gamma),
            ("L3-M1", None, None),
            ("L2-M1", None, None),
        ] {
            assert_eq!(read(text), Some((family, member, 2)), "{text}");
        }
        assert_eq!(read("K-L2,3"), Some((k, alpha, 3)));
        assert_eq!(read("L3M5"), Some((l, alpha, 1)));
        assert_eq!(read("L3-K"), None);
        assert_eq!(read("L9-M5"), None);
    }

    #[test]
    fn lines_are_read_in_siegbahns_way() {
        let k = Some(Family::K);
        assert_eq!(read("K"), Some((k, None, 1)));
        assert_eq!(read("Ka1"), Some((k, Some(Member::Alpha), 1)));
        assert_eq!(read("K alpha 1"), Some((k, Some(Member::Alpha), 3)));
        assert_eq!(read("Ka1,2"), Some((k, Some(Member::Alpha), 2)));
        assert_eq!(read("Ka+Kb"), Some((k, None, 2)));
        assert_eq!(read("Kα + β"), Some((k, None, 2)));
        assert_eq!(read("K(a+b)"), Some((k, None, 3)));
        assert_eq!(read("K2"), None);
        assert_eq!(read("Ll"), Some((None, None, 1)));
        assert_eq!(read("K+L"), Some((None, None, 2)));
    }
}
