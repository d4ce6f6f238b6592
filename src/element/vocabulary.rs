//! Lists of words by which names are weighed. Common practice of file names in five languages, no source.

use super::role;

/// Symbols that without a line are more often a word, an initial, a unit or a day, or whose element no scanner maps.
const NEED_LINE: [&str; 35] = [
    "H", "He", "Li", "Be", "B", "C", "N", "O", "F", "Ne", "V", "W", "Y", "U", "I", "In", "At", "Po", "Mo",
    "La", "Os", "Pa", "Ra", "Ac", "Fr", "Rn", "Pm", "Tc", "Re", "Ho", "Er", "Tb", "Es", "Am", "No",
];

/// Symbols that are also words, abbreviations or initials: alone, they need a place where only a symbol stands.
const LIKE_WORDS: [&str; 38] = [
    "As", "Au", "Si", "Se", "Al", "Ni", "Co", "Ca", "Na", "Ta", "Ti", "S", "P", "Ar", "Ir", "Sm", "Pr", "Nd",
    "Th", "Eu", "Mo", "Re", "La", "In", "He", "Be", "Ne", "No", "At", "Po", "Pa", "Os", "I", "Er", "Ho", "C",
    "Ra", "Ac",
];

/// Two small letters that are a word, a unit or a code in one of the languages.
const SMALL_WORDS: [&str; 44] = [
    "as", "in", "at", "be", "he", "co", "mo", "am", "pa", "la", "re", "no", "os", "se", "si", "ne", "ni",
    "po", "al", "au", "ca", "na", "ho", "er", "ti", "li", "es", "ta", "ra", "ac", "fr", "pr", "th", "nd",
    "tb", "mg", "cd", "sc", "sm", "lu", "ir", "eu", "pm", "ar",
];

/// Two small letters that at the end of a longer name still are a symbol.
const STURDY: [&str; 14] =
    ["fe", "cu", "zn", "pb", "hg", "mn", "sr", "sb", "zr", "rb", "sn", "bi", "ag", "ba"];

/// Symbols of which "…ka", "…kb" in letters of one size is no word ("feka", not "moka", "sika", "inka", "paka").
const JOINED_K: [&str; 20] = [
    "fe", "cu", "zn", "mn", "cr", "ca", "ti", "sr", "zr", "rb", "as", "br", "ba", "sn", "sb", "ag", "cd",
    "rh", "cl", "al",
];
/// The same for "…la", "…lb", "…ma" ("pbla", not "tela", "gala", "aula", "bala").
const JOINED_L: [&str; 6] = ["pb", "hg", "sn", "sb", "pt", "cd"];

const OF_MAPS: [&str; 107] = [
    "map",
    "maps",
    "mapping",
    "mapa",
    "mapas",
    "mappa",
    "mappe",
    "karte",
    "karten",
    "carte",
    "cartes",
    "carta",
    "xrf",
    "maxrf",
    "ma",
    "mxrf",
    "rfa",
    "xray",
    "x",
    "ray",
    "scan",
    "scans",
    "image",
    "img",
    "bild",
    "element",
    "elements",
    "elemental",
    "elementmap",
    "elementkarte",
    "elementverteilung",
    "line",
    "lines",
    "intensity",
    "intensities",
    "int",
    "distribution",
    "verteilung",
    "repartition",
    "distribuzione",
    "distribucion",
    "page",
    "channel",
    "chan",
    "ch",
    "roi",
    "counts",
    "count",
    "cts",
    "cps",
    "kcps",
    "rate",
    "wt",
    "at",
    "mass",
    "fraction",
    "percent",
    "ppm",
    "ppb",
    "ug",
    "mg",
    "ng",
    "cm2",
    "cm",
    "kg",
    "g",
    "s",
    "sec",
    "per",
    "second",
    "net",
    "fit",
    "fitted",
    "peak",
    "norm",
    "normalised",
    "normalized",
    "log",
    "log10",
    "sqrt",
    "bit",
    "8bit",
    "16bit",
    "32bit",
    "uint8",
    "uint16",
    "float",
    "float32",
    "raw",
    "data",
    "corr",
    "corrected",
    "det",
    "detector",
    "detektor",
    "detecteur",
    "rivelatore",
    "sdd",
    "kev",
    "ev",
    "file",
    "plane",
    "slice",
    "layer",
    "signal",
    "series",
    "spectrum",
];
/// Articles and prepositions that stand before an element's name in the title of a map.
const LINKS: [&str; 18] = [
    "of", "de", "du", "des", "del", "dell", "della", "dello", "di", "d", "l", "von", "vom", "fur", "for",
    "le", "il", "el",
];

/// What stands directly beside a symbol only in the name of a map.
const BESIDE: [&str; 24] = [
    "map",
    "maps",
    "mapa",
    "mappa",
    "karte",
    "carte",
    "xrf",
    "maxrf",
    "element",
    "counts",
    "cps",
    "ppm",
    "wt",
    "net",
    "intensity",
    "distribution",
    "verteilung",
    "error",
    "err",
    "sigma",
    "fehler",
    "erreur",
    "errore",
    "roi",
];

/// Words before a single letter that make a label of it ("object K", "sample S").
const LABELLED: [&str; 39] = [
    "object", "objekt", "panel", "sample", "probe", "area", "detail", "folio", "part", "teil", "room", "box",
    "plate", "fig", "figure", "version", "spot", "point", "photo", "foto", "group", "set", "type", "series",
    "zone", "site", "region", "section", "vitamin", "letter", "label", "block", "item", "page", "row",
    "column", "case", "side", "vol",
];

pub(super) fn needs_line(symbol: &str) -> bool {
    NEED_LINE.contains(&symbol)
}

pub(super) fn is_like_a_word(symbol: &str) -> bool {
    LIKE_WORDS.contains(&symbol)
}

pub(super) fn is_small_word(small: &str) -> bool {
    SMALL_WORDS.contains(&small)
}

pub(super) fn is_sturdy(small: &str) -> bool {
    STURDY.contains(&small)
}

/// "feka1", "cukalpha", "pbla": an element with a member, in small letters, that is no word.
pub(super) fn is_joined_small(small: &str) -> bool {
    let (Some(head), Some(family), Some(member)) = (small.get(..2), small.get(2..3), small.get(3..)) else {
        return false;
    };
    let letters = member.trim_end_matches(|c: char| c.is_ascii_digit());
    match (family, letters) {
        (_, "alpha" | "beta" | "gamma") => true,
        ("k", "a" | "b") => JOINED_K.contains(&head),
        ("l" | "m", "a" | "b") => JOINED_L.contains(&head),
        _ => false,
    }
}

/// Whether a word tells of maps and files and not of an object.
pub(super) fn is_of_maps(small: &str) -> bool {
    OF_MAPS.contains(&small) || LINKS.contains(&small) || role::is_role_word(small)
}

pub(super) fn is_beside_symbol(small: &str) -> bool {
    BESIDE.contains(&small)
}

pub(super) fn is_labelled(small: &str) -> bool {
    LABELLED.contains(&small)
}

/// Words between two elements of a list or a ratio.
pub(super) fn is_between_elements(small: &str) -> bool {
    matches!(
        small,
        "and"
            | "und"
            | "et"
            | "e"
            | "y"
            | "or"
            | "oder"
            | "ou"
            | "o"
            | "vs"
            | "minus"
            | "plus"
            | "over"
            | "to"
    )
}
