//! Lists that name maps: "1;Fe K", "map_03.tif, Cu Ka", "Channel 7 = Zn K".

use super::lines::{Record, Records, Separator};
use crate::element::{Guess, guess_line};
use crate::reading::NamedMap;

/// A list of names is short.
const LONGEST: usize = 200_000;

/// Words before the number of a channel. Common practice, no source.
const CHANNEL_WORDS: [&str; 14] = [
    "channel", "chan", "ch", "kanal", "canal", "canale", "map", "karte", "carte", "page", "seite", "nr",
    "no", "roi",
];

/// Endings that a file of a map has.
const ENDINGS: [&str; 10] = ["tif", "tiff", "png", "jpg", "jpeg", "npy", "csv", "txt", "tsv", "dat"];

/// What stands on both sides of the first separator.
fn pair(record: &Record<'_>) -> Option<(String, String)> {
    let owned =
        |(map, name): (&str, &str)| (map.trim().to_owned(), name.trim().trim_matches('"').trim().to_owned());
    for separator in [Separator::Tab, Separator::Semicolon, Separator::Comma] {
        let mut fields = record.fields(separator);
        if let (Some(map), Some(name)) = (fields.next(), fields.next()) {
            return Some(owned((map, name)));
        }
    }
    for sign in ["->", "=>", "=", ":"] {
        if let Some(sides) = record.text.split_once(sign) {
            return Some(owned(sides));
        }
    }
    let (map, name) = record.text.trim().split_once(char::is_whitespace)?;
    let is_key = map.bytes().all(|byte| byte.is_ascii_digit()) || stem(map).is_some();
    is_key.then(|| owned((map, name)))
}

/// A file name without its ending; `None` for what is no file name.
fn stem(map: &str) -> Option<&str> {
    let (stem, ending) = map.rsplit_once('.')?;
    (!stem.is_empty() && ENDINGS.contains(&ending.to_ascii_lowercase().as_str())).then_some(stem)
}

/// The number of a channel out of "7", "Channel 7", "ch07".
fn channel(map: &str) -> Option<&str> {
    let digits = map.len() - map.trim_end_matches(|letter: char| letter.is_ascii_digit()).len();
    let (word, number) = map.split_at(map.len() - digits);
    let word = word.trim().trim_end_matches(['.', '#', '_', '-']).trim().to_lowercase();
    let is_known = word.is_empty() || CHANNEL_WORDS.contains(&word.as_str());
    (!number.is_empty() && number.len() <= 6 && is_known).then_some(number)
}

fn is_line(name: &str) -> bool {
    name.len() <= 80 && matches!(guess_line(name), Guess::Line(_))
}

/// The list, if most lines name a map and an element line; `None` for anything else.
pub(super) fn read(text: &str) -> Option<Vec<NamedMap>> {
    if text.len() > LONGEST {
        return None;
    }
    let (mut out, mut known, mut lines) = (Vec::new(), 0, 0);
    for record in Records::new(text) {
        if record.is_empty(Separator::Blanks) || record.comment().is_some() {
            continue;
        }
        lines += 1;
        let Some((map, name)) = pair(&record) else { continue };
        let (map, name) = match stem(&name) {
            // "Cu Ka, map_03.tif"
            Some(_) if is_line(&map) && stem(&map).is_none() => (name, map),
            _ => (map, name),
        };
        let key = stem(&map).or_else(|| channel(&map));
        let is_known = is_line(&name);
        // A line of titles, or a map without an ending: it counts where its name is one.
        if map.is_empty() || name.is_empty() || (key.is_none() && !is_known) {
            continue;
        }
        // "Fe K;Cu K" is a line of titles.
        if key.is_none() && is_line(&map) {
            continue;
        }
        known += usize::from(is_known);
        out.push(NamedMap { map: key.unwrap_or(&map).to_owned(), name });
    }
    let is_sure = out.len() > 1 || (out.len() == 1 && lines == 1);
    (is_sure && known * 3 >= lines * 2 || (known * 2 > lines && known >= 3)).then_some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(text: &str) -> Option<Vec<(String, String)>> {
        read(text).map(|list| list.into_iter().map(|named| (named.map, named.name)).collect())
    }

    fn pairs(expected: &[(&str, &str)]) -> Option<Vec<(String, String)>> {
        Some(expected.iter().map(|(map, name)| ((*map).to_owned(), (*name).to_owned())).collect())
    }

    #[test]
    fn lists_of_every_form_are_read() {
        assert_eq!(list("1;Fe K\n2;Cu K\n"), pairs(&[("1", "Fe K"), ("2", "Cu K")]));
        assert_eq!(
            list("file,element\nmap_03.tif, Cu Ka\nmap_04.tif,\"Pb La\"\n"),
            pairs(&[("map_03", "Cu Ka"), ("map_04", "Pb La")])
        );
        assert_eq!(
            list("Channel 7 = Zn K\nChannel 8 = Pb L\nChannel 9 = Live time\n"),
            pairs(&[("7", "Zn K"), ("8", "Pb L"), ("9", "Live time")])
        );
        assert_eq!(list("1: Fe K\n2: Cu K"), pairs(&[("1", "Fe K"), ("2", "Cu K")]));
        assert_eq!(list("1 Fe K\n2 Cu K"), pairs(&[("1", "Fe K"), ("2", "Cu K")]));
        assert_eq!(list("scan_a\tFe K\nscan_b\tCu K"), pairs(&[("scan_a", "Fe K"), ("scan_b", "Cu K")]));
        assert_eq!(list("Fe K, a.tif\nCu K, b.tif"), pairs(&[("a", "Fe K"), ("b", "Cu K")]));
    }

    #[test]
    fn tables_and_prose_are_no_lists() {
        for text in [
            "1;2\n3;4",
            "x;y;Cu K\n0;0;1\n1;0;2",
            "Fe K;Cu K\n1;2\n3;4",
            "Fe K;6.40\nCu K;8.05",
            "Dear reader: here is a letter.\nIron = good.",
            "",
            "Fe K;Cu K",
        ] {
            assert_eq!(list(text), None, "{text}");
        }
    }
}
