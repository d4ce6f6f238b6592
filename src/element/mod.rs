//! Elements, X-ray lines and the names that files give them. Imports nothing numeric: no energies here.

mod languages;
mod lines;
mod name;
mod reading;
mod role;
mod table;
mod typed;
mod vocabulary;
mod weighing;
mod window;
mod words;

pub use name::Guess;
pub use reading::{NameReading, guess_line, read_name};
pub use role::{KindHint, Role};

use std::fmt;

/// A chemical element by its atomic number, 1 to 92.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Element(u8);

impl Element {
    /// `None` outside 1..=92.
    pub fn from_number(z: u8) -> Option<Self> {
        (1..=92).contains(&z).then_some(Self(z))
    }

    /// By its symbol, exactly as written in the periodic table ("Fe", not "FE").
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        let index = table::ELEMENTS.iter().position(|(s, _)| *s == symbol)?;
        Self::from_number(u8::try_from(index + 1).ok()?)
    }

    /// Atomic number.
    pub fn number(self) -> u8 {
        self.0
    }

    /// Chemical symbol.
    pub fn symbol(self) -> &'static str {
        table::ELEMENTS[usize::from(self.0) - 1].0
    }

    /// English name, in small letters.
    pub fn name(self) -> &'static str {
        table::ELEMENTS[usize::from(self.0) - 1].1
    }
}

/// Series of lines, by the shell whose vacancy is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub enum Family {
    K,
    L,
    M,
}

/// A member or group of members within a family (IUPAC writes them by levels; maps are named in Siegbahn's way).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub enum Member {
    Alpha,
    Beta,
    Gamma,
}

/// What a map is a map of: an element and, where the name says so, the family and member of its lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Line {
    /// The element.
    pub element: Element,
    /// The family; `None` where the name gives the element alone.
    pub family: Option<Family>,
    /// The member; `None` for the sum of the family.
    pub member: Option<Member>,
}

impl Line {
    /// Parses what [`fmt::Display`] writes: "Cu K", "As Kβ", "Pb Lα", "Fe". Greek letters only.
    pub fn parse(text: &str) -> Option<Self> {
        let (symbol, rest) = text.split_once(' ').unwrap_or((text, ""));
        let element = Element::from_symbol(symbol)?;
        let mut letters = rest.chars();
        let family = match letters.next() {
            None => None,
            Some('K') => Some(Family::K),
            Some('L') => Some(Family::L),
            Some('M') => Some(Family::M),
            Some(_) => return None,
        };
        let member = match letters.next() {
            None => None,
            Some('α') => Some(Member::Alpha),
            Some('β') => Some(Member::Beta),
            Some('γ') => Some(Member::Gamma),
            Some(_) => return None,
        };
        letters.next().is_none().then_some(Self { element, family, member })
    }

    /// What a person types to correct a line: symbol, name (English, German, French, Italian, Spanish) or atomic number
    /// in letters of any size, then the line in Siegbahn's or IUPAC's way: "cu ka", "Pb La", "fe", "iron", "26",
    /// "Fe K-L3". `None` when any part of the text is not understood.
    pub fn parse_typed(text: &str) -> Option<Self> {
        typed::parse(text)
    }

    /// "K", "Lα", or "" where only the element is known.
    pub fn family_text(self) -> String {
        let family = match self.family {
            None => return String::new(),
            Some(Family::K) => "K",
            Some(Family::L) => "L",
            Some(Family::M) => "M",
        };
        let member = match self.member {
            None => "",
            Some(Member::Alpha) => "α",
            Some(Member::Beta) => "β",
            Some(Member::Gamma) => "γ",
        };
        format!("{family}{member}")
    }
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.element.symbol())?;
        if self.family.is_some() {
            write!(f, " {}", self.family_text())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_order_of_atomic_number() {
        // IUPAC periodic table: a few fixed points through all rows.
        for (z, symbol, name) in [
            (1, "H", "hydrogen"),
            (19, "K", "potassium"),
            (26, "Fe", "iron"),
            (50, "Sn", "tin"),
            (80, "Hg", "mercury"),
            (92, "U", "uranium"),
        ] {
            let element = Element::from_number(z).unwrap();
            assert_eq!((element.symbol(), element.name()), (symbol, name));
            assert_eq!(Element::from_symbol(symbol), Some(element));
        }
        assert!(Element::from_number(0).is_none() && Element::from_number(93).is_none());
        assert!(Element::from_symbol("FE").is_none());
    }

    #[test]
    fn lines_are_written_and_read_alike() {
        for text in ["Cu K", "As Kβ", "Pb Lα", "Pb M", "Fe"] {
            assert_eq!(Line::parse(text).unwrap().to_string(), text);
        }
        assert!(Line::parse("Cu Q").is_none());
        assert!(Line::parse("Xx K").is_none());
    }
}
