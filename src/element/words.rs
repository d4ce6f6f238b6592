//! A name cut into words, with the letters folded to plain ones and what stood between the words kept.

/// A word of a name: letters and digits without anything between them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Word {
    /// As written, accents taken off and Greek letters spelled.
    pub text: String,
    /// The same in small letters.
    pub small: String,
    /// The most telling sign before it: "%", else the first other than space and
    /// underscore, else one of these; NUL where nothing
    /// stands between it and the word before it (or the start).
    pub before: char,
    /// The same after it; NUL at the end.
    pub after: char,
}

impl Word {
    /// Digits only.
    pub fn is_number(&self) -> bool {
        self.text.bytes().all(|b| b.is_ascii_digit())
    }

    /// Letters and the number that ends the word: "det2" is "det" and 2; `None` for the number where none ends it.
    pub fn letters_and_number(&self) -> (&str, Option<u32>) {
        let letters = self.small.trim_end_matches(|c: char| c.is_ascii_digit());
        (letters, self.small.get(letters.len()..).and_then(|digits| digits.parse().ok()))
    }

    /// The number it is, if it is one of not more than nine digits.
    pub fn number(&self) -> Option<u32> {
        if self.is_number() { self.text.parse().ok() } else { None }
    }
}

/// A letter as the plain letters that stand for it; `None` for a mark that is dropped (combining accents).
fn fold(c: char) -> Option<&'static str> {
    Some(match c {
        'α' | 'ɑ' => "alpha",
        'β' => "beta",
        'γ' => "gamma",
        'ζ' => "zeta",
        'η' => "eta",
        'σ' => "sigma",
        'χ' => "chi",
        'µ' | 'μ' => "u",
        'à' | 'á' | 'â' | 'ä' | 'ã' | 'å' => "a",
        'À' | 'Á' | 'Â' | 'Ä' | 'Ã' | 'Å' => "A",
        'è' | 'é' | 'ê' | 'ë' => "e",
        'È' | 'É' | 'Ê' | 'Ë' => "E",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'Ì' | 'Í' | 'Î' | 'Ï' => "I",
        'ò' | 'ó' | 'ô' | 'ö' | 'õ' => "o",
        'Ò' | 'Ó' | 'Ô' | 'Ö' | 'Õ' => "O",
        'ù' | 'ú' | 'û' | 'ü' => "u",
        'Ù' | 'Ú' | 'Û' | 'Ü' => "U",
        'ñ' => "n",
        'Ñ' => "N",
        'ç' => "c",
        'Ç' => "C",
        'ß' => "ss",
        'œ' => "oe",
        'æ' => "ae",
        '⁰' | '₀' => "0",
        '¹' | '₁' => "1",
        '²' | '₂' => "2",
        '³' | '₃' => "3",
        '⁴' | '₄' => "4",
        '⁵' | '₅' => "5",
        '\u{300}'..='\u{36f}' => "",
        _ => return None,
    })
}

/// The name with accents taken off, Greek letters spelled and raised or lowered digits as plain ones.
pub(super) fn folded(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars() {
        match fold(c) {
            Some(plain) => out.push_str(plain),
            None => out.push(c),
        }
    }
    out
}

/// Whether a sign belongs to a word. Letters of scripts with capitals do (a word of theirs is no word of ours), others
/// (as Chinese characters, written without spaces beside Latin letters) part words.
fn is_of_a_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || (!c.is_ascii() && (c.is_lowercase() || c.is_uppercase()))
}

/// Words of a folded name. Besides at signs, a word is cut after leading digits ("04Fe"), before a capital that follows
/// three or more letters ("mapFe"; not "FeKa") and before a letter that follows digits that follow such ("scan3Hg").
/// Ordinal endings ("2nd", "4th") go with their number.
pub(super) fn words(folded: &str) -> Vec<Word> {
    let mut out: Vec<Word> = Vec::new();
    let mut between = '\0';
    let mut run = String::new();
    for c in folded.chars().map(Some).chain(std::iter::once(None)) {
        if let Some(c) = c.filter(|c| is_of_a_word(*c)) {
            run.push(c);
            continue;
        }
        if !run.is_empty() {
            push_run(&mut out, &run, between);
            run.clear();
            between = '\0';
        }
        let Some(c) = c else { break };
        if c == '%' {
            between = c;
        } else if matches!(between, '\0' | ' ' | '_')
            && (!(c.is_whitespace() || c.is_control()) || between == '\0')
        {
            between = if c.is_whitespace() || c.is_control() { ' ' } else { c };
        }
        if let Some(last) = out.last_mut() {
            last.after = between;
        }
    }
    out
}

fn push_run(out: &mut Vec<Word>, run: &str, before: char) {
    let mut before = before;
    let mut push = |piece: &str| {
        out.push(Word { text: piece.to_owned(), small: piece.to_lowercase(), before, after: '\0' });
        before = '\0';
    };
    let rest = run.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = &run[..run.len() - rest.len()];
    if !digits.is_empty() {
        push(digits);
        if matches!(rest, "st" | "nd" | "rd" | "th") {
            return;
        }
    }
    let mut piece = String::new();
    let mut letters = 0_usize;
    let mut last = '\0';
    let mut last_letter = '\0';
    for c in rest.chars() {
        let is_new_word = letters >= 3
            && ((c.is_ascii_uppercase() && last.is_ascii_lowercase())
                || (c.is_ascii_alphabetic()
                    && last.is_ascii_digit()
                    && !matches!(last_letter, 'K' | 'L' | 'M' | 'N')));
        if is_new_word {
            push(&piece);
            piece.clear();
            letters = 0;
        }
        if !c.is_ascii_digit() {
            letters += 1;
            last_letter = c;
        }
        piece.push(c);
        last = c;
    }
    if !piece.is_empty() {
        push(&piece);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(name: &str) -> Vec<String> {
        words(&folded(name)).into_iter().map(|w| w.text).collect()
    }

    #[test]
    fn names_are_cut_where_a_reader_would() {
        // Common practice of file names, no source.
        assert_eq!(cut("04Fe Kα"), ["04", "Fe", "Kalpha"]);
        assert_eq!(cut("mapFeKa"), ["map", "FeKa"]);
        assert_eq!(cut("scan3Hg-L"), ["scan3", "Hg", "L"]);
        assert_eq!(cut("PbL3M5"), ["PbL3M5"]);
        assert_eq!(cut("Fe2O3"), ["Fe2O3"]);
        assert_eq!(cut("2nd_4th"), ["2", "4"]);
        assert_eq!(cut("e\u{301}tain Étain"), ["etain", "Etain"]);
        assert_eq!(cut("\u{0}Fe\u{0}Mn"), ["Fe", "Mn"]);
    }

    #[test]
    fn what_stands_between_is_kept() {
        let got = words("a _ + b%");
        assert_eq!((got[0].after, got[1].before, got[1].after), ('+', '+', '%'));
        assert_eq!(words("a_ b")[1].before, '_');
    }
}
