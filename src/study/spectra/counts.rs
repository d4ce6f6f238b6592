//! Counts of a spectrum as a short text, and back.

use crate::reading::MOST_CHANNELS;

/// So many equal counts are worth a run.
const RUN: usize = 3;
/// What no channel has.
const LARGEST: f64 = 1e12;

/// Numbers with blanks between them, "0*12" for twelve equal ones.
pub(super) fn text_of(counts: &[f64]) -> String {
    let mut out: Vec<String> = Vec::new();
    for run in counts.chunk_by(|a, b| a == b) {
        let Some(value) = run.first() else { continue };
        let (plain, short) = (format!("{value}"), format!("{value:e}"));
        let number = if short.len() < plain.len() { short } else { plain };
        if run.len() >= RUN {
            out.push(format!("{number}*{}", run.len()));
        } else {
            out.extend(run.iter().map(|_| number.clone()));
        }
    }
    out.join(" ")
}

/// The counts of such a text; `None` for one that was not written so.
pub(super) fn counts_of(text: &str) -> Option<Vec<f64>> {
    let mut out: Vec<f64> = Vec::new();
    for part in text.split(' ') {
        let (number, times) = match part.split_once('*') {
            Some((number, times)) => (number, times.parse::<usize>().ok()?),
            None => (part, 1),
        };
        if times > MOST_CHANNELS - out.len() {
            return None;
        }
        let value: f64 = number.parse().ok()?;
        out.extend(std::iter::repeat_n(value, times));
    }
    Some(out)
}

/// True for counts that a spectrum can have.
pub(super) fn is_text_of(counts: &[f64]) -> bool {
    counts.len() > 1 && counts.iter().all(|v| (0.0..=LARGEST).contains(v)) && counts.iter().any(|v| *v > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_come_back_in_every_bit_and_runs_are_short() {
        for counts in [
            vec![0.0, 0.0, 0.0, 0.0, 5.0, 12.0, 12.0, 7.0],
            vec![0.1, 1.0 / 3.0, 1e-9, 1e12, 2.5e-7, 123_456_789.0],
            (0..4096).map(|i| f64::from((i * i) % 97)).collect(),
            vec![3.0; MOST_CHANNELS],
        ] {
            let text = text_of(&counts);
            assert_eq!(counts_of(&text), Some(counts), "{}", text.chars().take(60).collect::<String>());
        }
        assert_eq!(text_of(&[0.0, 0.0, 0.0, 4.0, 4.0, 1e12]), "0*3 4 4 1e12");
        assert_eq!(text_of(&[]), "");
    }

    #[test]
    fn what_was_not_written_so_is_refused() {
        for text in
            ["", "1  2", "1,2", "x", "3*", "*3", "3*-1", "1*65537", "1*65536 2", "3*99999999999999999999"]
        {
            assert_eq!(counts_of(text), None, "{text}");
        }
        assert!(!is_text_of(&[0.0, 0.0]) && !is_text_of(&[1.0]) && !is_text_of(&[1.0, -1.0]));
        assert!(
            !is_text_of(&[1.0, f64::NAN]) && !is_text_of(&[1.0, f64::INFINITY]) && is_text_of(&[0.0, 1.0])
        );
    }
}
