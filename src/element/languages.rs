//! Names of the elements that scanners see in German, French, Italian and Spanish, and further English ones; without
//! accents, in small letters. Dictionary forms, from memory; common practice, no source.

use super::{Element, table};

/// How far a name can be trusted among other words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Trust {
    /// Hardly ever another word.
    Sure,
    /// Also an ordinary word in one of the languages ("lead", "rame", "calcio").
    AlsoAWord,
    /// So common a word that it must stand alone ("or").
    OnlyAlone,
}

/// Names in languages, with the atomic number.
const NAMES: [(u8, &[&str]); 48] = [
    (11, &["natrium", "sodio"]),
    (12, &["magnesio"]),
    (13, &["aluminum", "alluminio", "aluminio"]),
    (14, &["silizium", "silicium", "silicio"]),
    (15, &["phosphor", "phosphore", "fosforo"]),
    (16, &["sulphur", "schwefel", "soufre", "zolfo", "azufre"]),
    (17, &["chlor", "chlore", "cloro"]),
    (19, &["kalium", "potassio", "potasio"]),
    (20, &["kalzium", "calcio"]),
    (22, &["titan", "titane", "titanio"]),
    (23, &["vanadin", "vanadio"]),
    (24, &["chrom", "chrome", "cromo"]),
    (25, &["mangan", "manganeso"]),
    (26, &["eisen", "fer", "ferro", "hierro"]),
    (27, &["kobalt", "cobalto"]),
    (28, &["nichel", "niquel"]),
    (29, &["kupfer", "cuivre", "rame", "cobre"]),
    (30, &["zink", "zinco", "cinc"]),
    (31, &["gallio", "galio"]),
    (32, &["germanio"]),
    (33, &["arsen", "arsenico"]),
    (34, &["selen", "selenio"]),
    (35, &["brom", "brome", "bromo"]),
    (37, &["rubidio"]),
    (38, &["stronzio", "estroncio"]),
    (39, &["ittrio", "itrio"]),
    (40, &["zirkonium", "zirkon", "zirconio", "circonio"]),
    (41, &["niob", "niobio"]),
    (42, &["molybdan", "molybdaen", "molybdene", "molibdeno"]),
    (45, &["rodio"]),
    (46, &["palladio", "paladio"]),
    (47, &["silber", "argent", "argento", "plata"]),
    (48, &["kadmium", "cadmio"]),
    (50, &["zinn", "etain", "stagno", "estano"]),
    (51, &["antimon", "antimoine", "antimonio"]),
    (52, &["tellur", "tellure", "tellurio", "telurio"]),
    (53, &["iod", "jod", "iode", "iodio", "yodo"]),
    (55, &["cesium", "casium", "cesio"]),
    (56, &["baryum", "bario"]),
    (57, &["lanthan", "lanthane", "lantanio", "lantano"]),
    (58, &["cer", "cerio"]),
    (74, &["wolfram", "wolframio", "tungstene", "tungsteno"]),
    (78, &["platin", "platine", "platino"]),
    (79, &["or", "oro"]),
    (80, &["quecksilber", "quicksilver", "mercure", "mercurio"]),
    (82, &["blei", "plomb", "piombo", "plomo"]),
    (83, &["bismut", "wismut", "bismuto"]),
    (92, &["uran", "uranio"]),
];

/// Names that are also ordinary words, in any of the five languages (a metal that things are made of or covered with, a
/// pond, a kick, a match, a moon, a browser, money ...), and so need a line or a name that says nothing else.
const ORDINARY: [&str; 27] = [
    "lead", "tin", "gold", "silver", "neon", "argon", "carbon", "fer", "ferro", "argent", "argento",
    "chrome", "cromo", "titan", "platine", "phosphor", "fosforo", "cer", "uran", "oro", "plata", "rame",
    "stagno", "calcio", "cobre", "zirkon", "iode",
];

/// An element by its name in one of the five languages, small letters without accents.
pub(super) fn element_named(small: &str) -> Option<(Element, Trust)> {
    if small.len() < 2 || small.len() > 12 {
        return None;
    }
    let english = || table::ELEMENTS.iter().zip(1_u8..).find(|((_, name), _)| *name == small).map(|(_, z)| z);
    let other = || NAMES.iter().find(|(_, names)| names.contains(&small)).map(|(z, _)| *z);
    let element = Element::from_number(english().or_else(other)?)?;
    let trust = match small {
        "or" => Trust::OnlyAlone,
        _ if ORDINARY.contains(&small) => Trust::AlsoAWord,
        _ => Trust::Sure,
    };
    Some((element, trust))
}

/// Words that make a material or a thing of an element's name before them: "lead white", "gold leaf", "copper plate".
const THINGS: [&str; 34] = [
    "white", "yellow", "blue", "red", "green", "black", "brown", "grey", "gray", "leaf", "foil", "oxide",
    "gall", "plate", "sheet", "coin", "frame", "nail", "nails", "object", "ring", "ware", "point", "thread",
    "alloy", "glaze", "paint", "panel", "wire", "salt", "soap", "soaps", "copy", "fiber",
];

/// Words between a thing and what it is made of: "vaso de plata", "of lead"; not a map's name unless a map stands before.
const MADE_OF: [&str; 16] = [
    "of", "from", "in", "on", "with", "de", "di", "en", "con", "avec", "mit", "aus", "auf", "sur", "su",
    "made",
];

/// Whether the word makes a thing of the element's name before it.
pub(super) fn is_thing(small: &str) -> bool {
    THINGS.contains(&small)
}

/// Whether the word makes what follows a material.
pub(super) fn is_made_of(small: &str) -> bool {
    MADE_OF.contains(&small)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_stands_for_two_elements() {
        let mut seen: Vec<&str> = table::ELEMENTS.iter().map(|(_, name)| *name).collect();
        for (z, names) in NAMES {
            for name in names {
                assert!(!seen.contains(name), "{name} stands twice");
                assert_eq!(element_named(name).map(|found| found.0.number()), Some(z), "{name}");
                seen.push(name);
            }
        }
        for word in ORDINARY {
            assert!(seen.contains(&word), "{word} is no name of an element");
        }
    }

    #[test]
    fn near_words_of_languages_are_kept_apart() {
        for (word, symbol) in
            [("zink", "Zn"), ("zinn", "Sn"), ("zinc", "Zn"), ("cinc", "Zn"), ("rame", "Cu"), ("oro", "Au")]
        {
            assert_eq!(element_named(word).map(|found| found.0.symbol()), Some(symbol));
        }
        assert!(element_named("silicone").is_none() && element_named("ironing").is_none());
    }
}
