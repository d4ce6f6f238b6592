//! Which of the readings of a name are believed, and which one is best.

use super::Line;
use super::name::{Guess, is_of_maps};
use super::vocabulary as list;
use super::words::Word;

/// How well a reading is supported, from weak to strong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Support {
    /// A word that is an element's symbol or name among others, alone.
    Weak,
    /// A symbol or an element's name, alone.
    ElementAlone,
    /// A symbol with a line, in small letters.
    SmallWithLine,
    /// A symbol as it should be written, with a line.
    WithLine,
}

/// What a reading still needs to be believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Needs {
    Nothing,
    /// No words in the name that tell of something else, or a place that only a symbol has.
    Place,
    /// The same, and small letters: only at the end, after an underscore.
    SturdyPlace,
    /// No words that tell of something else.
    Alone,
    /// No words but those of maps, and no other reading.
    OnlyAlone,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Reading {
    pub support: Support,
    pub needs: Needs,
    pub line: Line,
    /// A second line that it may as well be.
    pub or: Option<Line>,
    pub at: usize,
    pub used: usize,
}

pub(super) fn is_believed(words: &[Word], reading: Reading, rest: usize, is_crowded: bool) -> bool {
    let (first, end) = (&words[reading.at], reading.at + reading.used);
    let is_last = words[end..].iter().take(8).all(is_of_maps) && words.len() - end <= 8;
    let (prev, next) = (reading.at.checked_sub(1).and_then(|i| words.get(i)), words.get(end));
    let is_year = next.is_some_and(|w| w.is_number() && w.text.len() > 2 && matches!(w.before, ' ' | '.'));
    let is_beside_map = [prev, next].into_iter().flatten().any(|w| list::is_beside_symbol(&w.small));
    match reading.needs {
        Needs::Nothing => true,
        Needs::Alone => rest == 0 && !is_year,
        Needs::OnlyAlone => rest == 0 && !is_crowded,
        Needs::Place => {
            !is_year
                && (rest == 0
                    || is_beside_map
                    || (is_last
                        && (first.before == '_' || prev.is_some_and(|w| w.is_number() && w.before == '_'))))
        }
        Needs::SturdyPlace => {
            !is_year && (rest <= 1 || (is_last && first.before == '_' && list::is_sturdy(&first.small)))
        }
    }
}

/// The strongest reading; two of equal strength for different lines, or one beside another element without a word
/// between ("Fe/Mn K"), are ambiguous.
pub(super) fn best_of(words: &[Word], readings: &[Reading]) -> Guess {
    let Some(best) = readings.iter().map(|r| r.support).max() else { return Guess::Nothing };
    let (mut first, mut second): (Option<Line>, Option<Line>) = (None, None);
    let mut last: Option<&Reading> = None;
    for (i, reading) in readings.iter().enumerate() {
        let is_beside = |other: Option<&Reading>| {
            other.is_some_and(|o| {
                let (a, b) = if o.at < reading.at { (o, reading) } else { (reading, o) };
                let gap = b.at - (a.at + a.used);
                gap == 0 || (gap == 1 && list::is_between_elements(&words[b.at - 1].small))
            })
        };
        let is_equal = reading.support == best
            || (reading.support >= Support::ElementAlone
                && (is_beside(last) || is_beside(readings.get(i + 1))));
        last = Some(reading);
        if !is_equal {
            continue;
        }
        for line in [Some(reading.line), reading.or].into_iter().flatten() {
            match first {
                None => first = Some(line),
                // The same element, said once more: the fuller one.
                Some(known)
                    if known.element == line.element && (known.family.is_none() || line.family.is_none()) =>
                {
                    first = if line.family.is_some() { Some(line) } else { first };
                }
                Some(known) if known != line => second = second.or(Some(line)),
                Some(_) => {}
            }
        }
    }
    match (first, second) {
        (Some(first), Some(second)) => Guess::Ambiguous(first, second),
        (Some(first), None) => Guess::Line(first),
        (None, _) => Guess::Nothing,
    }
}
