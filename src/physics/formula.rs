//! Chemical formulas: "Cu3(CO3)2(OH)2", "2PbCO3·Pb(OH)2", "CaSO4·2H2O", "Na6.9[Al5.6Si6.4O24]S2".

use crate::element::Element;
use crate::notice::Fault;

/// Characters that a formula may have: longer ones are no formulas.
const LONGEST: usize = 300;

/// A formula as plain letters: subscripts as digits, every dot of a hydrate as '·', without blanks beside dots and factors.
/// Other blanks stay, and are refused: they stand between two formulas.
fn plain(formula: &str) -> String {
    let letters: Vec<char> = formula
        .trim()
        .chars()
        .map(|c| match c {
            '\u{2080}'..='\u{2089}' => char::from_digit(u32::from(c).wrapping_sub(0x2080), 10).unwrap_or(c),
            blank if blank.is_whitespace() => ' ',
            '*' | '\u{2022}' | '\u{22c5}' | '\u{2219}' => '·',
            '[' | '{' => '(',
            ']' | '}' => ')',
            other => other,
        })
        .collect();
    let digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    let is_water = |at: usize| {
        let rest = letters.iter().skip(at).skip_while(|c| c.is_ascii_digit() || **c == '.');
        rest.take(3).eq(['H', '2', 'O'].iter())
    };
    let mut out = String::new();
    // Only digits since the last dot, or since the start: a factor, in which a full stop is a decimal point.
    let mut in_factor = true;
    for (at, c) in letters.iter().enumerate() {
        // Else a full stop between digits is one too, but not before water: CaSO4.2H2O.
        let is_decimal = digit(Some(at + 1)) && digit(at.checked_sub(1)) && (in_factor || !is_water(at + 1));
        let next = letters.iter().skip(at).find(|c| **c != ' ');
        if *c == ' ' && (in_factor || next.is_some_and(|c| matches!(c, '·' | '.'))) {
            continue;
        }
        let turned = if *c == '.' && !is_decimal { '·' } else { *c };
        in_factor = turned == '·' || (in_factor && (c.is_ascii_digit() || *c == '.'));
        out.push(turned);
    }
    out
}

struct Parser<'a> {
    rest: &'a str,
    /// Atoms so far, one list for each open bracket.
    open: Vec<Vec<(Element, f64)>>,
}

impl Parser<'_> {
    /// A number at this place; 1 where there is none, `None` where it is not one of use.
    fn number(&mut self) -> Option<f64> {
        let end = self.rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(self.rest.len());
        let (digits, rest) = self.rest.split_at(end);
        self.rest = rest;
        if digits.is_empty() {
            return Some(1.0);
        }
        digits.parse().ok().filter(|n: &f64| n.is_finite() && *n > 0.0 && *n < 1e6)
    }

    fn element(&mut self) -> Option<Element> {
        // Two letters where they make an element: Co is cobalt.
        for length in [2, 1] {
            if let Some(symbol) = self.rest.get(..length)
                && let Some(element) = Element::from_symbol(symbol)
            {
                self.rest = self.rest.get(length..)?;
                return Some(element);
            }
        }
        None
    }

    /// Atoms of one part between dots; `None` where it is not understood, `rest` then starting there.
    fn part(&mut self) -> Option<Vec<(Element, f64)>> {
        let factor = self.number()?;
        self.open = vec![Vec::new()];
        while let Some(next) = self.rest.chars().next() {
            match next {
                '(' => {
                    self.rest = self.rest.get(1..)?;
                    self.open.push(Vec::new());
                }
                ')' if self.open.len() > 1 => {
                    let start = self.rest;
                    self.rest = self.rest.get(1..)?;
                    let count = self.number()?;
                    let inner = self.open.pop().filter(|inner| !inner.is_empty());
                    let (Some(inner), Some(outer)) = (inner, self.open.last_mut()) else {
                        self.rest = start;
                        return None;
                    };
                    outer.extend(inner.into_iter().map(|(element, n)| (element, n * count)));
                }
                '·' => break,
                _ => {
                    let element = self.element()?;
                    let count = self.number()?;
                    self.open.last_mut()?.push((element, count));
                }
            }
        }
        let atoms = self.open.pop().filter(|atoms| self.open.is_empty() && !atoms.is_empty())?;
        Some(atoms.into_iter().map(|(element, n)| (element, n * factor)).collect())
    }
}

/// Atoms of a formula, each element once, in order of atomic number. Brackets of any kind, decimals, subscripts as
/// letters, parts joined by dots with a factor before them.
pub(super) fn atoms(formula: &str) -> Result<Vec<(Element, f64)>, Fault> {
    let refused = |at: &str| {
        let place = if at.is_empty() { "its end".to_owned() } else { format!("“{at}”") };
        Fault::new(
            "bad_formula",
            format!(
                "The formula “{formula}” is not understood at {place}: write it as Cu3(CO3)2(OH)2 or CaSO4·2H2O."
            ),
        )
    };
    if formula.chars().count() > LONGEST {
        return Err(Fault::new(
            "bad_formula",
            "This formula has more than 300 letters: write a shorter one.",
        ));
    }
    let text = plain(formula);
    let mut parser = Parser { rest: &text, open: Vec::new() };
    let mut all: Vec<(Element, f64)> = Vec::new();
    loop {
        let Some(atoms) = parser.part() else { return Err(refused(parser.rest)) };
        all.extend(atoms);
        match parser.rest.strip_prefix('·') {
            Some(rest) => parser.rest = rest,
            None => break,
        }
    }
    all.sort_by_key(|(element, _)| *element);
    all.dedup_by(|b, a| {
        a.0 == b.0 && {
            a.1 += b.1;
            true
        }
    });
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(formula: &str) -> String {
        let atoms = atoms(formula).unwrap();
        atoms
            .iter()
            .map(|(element, n)| format!("{}{n} ", element.symbol()))
            .collect::<String>()
            .trim()
            .to_owned()
    }

    #[test]
    fn formulas_are_counted() {
        // Counted by hand.
        for (formula, atoms) in [
            ("HgS", "S1 Hg1"),
            ("Cu3(CO3)2(OH)2", "H2 C2 O8 Cu3"),
            ("2PbCO3·Pb(OH)2", "H2 C2 O8 Pb3"),
            ("CaSO4·2H2O", "H4 O6 S1 Ca1"),
            ("CaSO4.2H2O", "H4 O6 S1 Ca1"),
            ("CaSO₄ · 2 H₂O", "H4 O6 S1 Ca1"),
            ("CaSO4.0.5H2O", "H1 O4.5 S1 Ca1"),
            ("Na6.9[Al5.6Si6.4O24]S2", "O24 Na6.9 Al5.6 Si6.4 S2"),
            ("Cu(CH3COO)2·3Cu(AsO2)2", "H6 C4 O16 Cu4 As6"),
            ("Fe4[Fe(CN)6]3", "C18 N18 Fe7"),
            ("CoO", "O1 Co1"),
            ("Pb0.5Sn0.5", "Sn0.5 Pb0.5"),
            ("PbCrO4.PbO", "O5 Cr1 Pb2"),
            (" 2 PbCO3 . Pb(OH)2 ", "H2 C2 O8 Pb3"),
        ] {
            assert_eq!(counted(formula), atoms, "{formula}");
        }
    }

    #[test]
    fn what_is_no_formula_is_refused_in_one_sentence() {
        for formula in [
            "",
            "·",
            "Xx",
            "Cu3(CO3",
            "Cu3CO3)2",
            "()",
            "Cu()",
            "Cu-3",
            "Cu0",
            "cu",
            "CuO·",
            "Cu1e9",
            "Cu1.2.3",
            "ΩO",
            "Cu3(CO3)0",
            "Cu99999999",
            "((((((",
            "é",
            "Bi Bi2S3",
            "C S",
            "2PbCO3 Pb(OH)2",
            "CaSO4·2H2O CaSO4",
            "(Cu,Zn)2CO3(OH)2",
        ] {
            let fault = atoms(formula).unwrap_err();
            assert_eq!(fault.code, "bad_formula");
            assert!(fault.message.ends_with('.') && !fault.message.contains('\n'), "{formula}: {fault}");
        }
        assert!(atoms(&"(".repeat(100_000)).is_err());
        assert!(atoms(&"C".repeat(301)).is_err());
        assert_eq!(counted(&"C".repeat(300)), "C300");
    }
}
