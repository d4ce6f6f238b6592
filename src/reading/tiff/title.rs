//! What the pages of a TIFF file are called: PageName, a short plain ImageDescription, or the channel names of an
//! OME-XML description (an open standard). Texts of programs about themselves are no titles.

use super::directory::Directory;

/// Tag 285 of TIFF 6.0.
const PAGE_NAME: u16 = 285;
/// Tag 270 of TIFF 6.0.
const IMAGE_DESCRIPTION: u16 = 270;
/// Longer texts describe, they don't name.
const LONGEST_TITLE: usize = 80;

/// One line of at most 80 characters, or nothing.
fn line(text: &str) -> Option<String> {
    let text = text.trim();
    let fits = !text.is_empty() && text.chars().count() <= LONGEST_TITLE && !text.contains(char::is_control);
    fits.then(|| text.to_owned())
}

/// A description that is a title: no markup, no list of settings.
fn plain(description: &str) -> Option<String> {
    line(description).filter(|text| !text.starts_with(['<', '{', '[']) && !text.contains('='))
}

/// A title for each page, empty where there is none. A description that all pages share names none of them.
pub(super) fn of_pages(directories: &[Directory<'_>]) -> Vec<String> {
    let descriptions: Vec<Option<String>> =
        directories.iter().map(|page| page.text(IMAGE_DESCRIPTION).and_then(|text| plain(&text))).collect();
    let is_shared = descriptions.len() > 1 && descriptions.iter().all(|text| *text == descriptions[0]);
    directories
        .iter()
        .zip(descriptions)
        .map(|(page, description)| {
            let name = page.text(PAGE_NAME).and_then(|text| line(&text));
            name.or(description.filter(|_| !is_shared)).unwrap_or_default()
        })
        .collect()
}

/// Names of the channels, where the file's description is OME-XML: the attribute Name of each element Channel, empty
/// for a channel without one. Empty for any other description.
pub(super) fn channels(first: &Directory<'_>) -> Vec<String> {
    first.text(IMAGE_DESCRIPTION).map(|text| channels_of_xml(&text)).unwrap_or_default()
}

fn channels_of_xml(text: &str) -> Vec<String> {
    if !text.trim_start().starts_with('<') || !text.contains("<OME") {
        return Vec::new();
    }
    let mut names = Vec::new();
    for rest in text.split("<Channel").skip(1) {
        // "<ChannelAnnotation" is another element.
        if !rest.starts_with([' ', '\t', '\n', '\r', '/', '>']) {
            continue;
        }
        let tag = rest.split('>').next().unwrap_or_default();
        let name = tag.split_once(" Name=").and_then(|(_, value)| {
            let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
            value[1..].split(quote).next()
        });
        names.push(name.and_then(|name| line(&unescaped(name))).unwrap_or_default());
    }
    names
}

/// The five entities that XML has without a declaration.
fn unescaped(text: &str) -> String {
    let pairs = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&amp;", "&")];
    pairs.iter().fold(text.to_owned(), |text, (entity, sign)| text.replace(entity, sign))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_is_one_short_plain_line() {
        assert_eq!(plain(" Cu K \n"), Some("Cu K".into()));
        for text in ["", "a=b", "{\"shape\": [3, 4]}", "<OME/>", "two\nlines", &"long ".repeat(20)] {
            assert_eq!(plain(text), None, "{text:?}");
        }
    }

    #[test]
    fn channel_names_of_ome_xml() {
        let text = "<?xml version=\"1.0\"?><OME><Image><Pixels SizeC=\"3\"><Channel ID=\"Channel:0\" Name=\"Cu K\"/>\
                    <Channel Name='A &amp; B' ID=\"Channel:1\"></Channel><Channel ID=\"Channel:2\"/></Pixels></Image></OME>";
        assert_eq!(channels_of_xml(text), ["Cu K", "A & B", ""]);
        assert!(channels_of_xml("<Channel Name=\"x\"/>").is_empty());
        assert!(channels_of_xml("<OME <Channel Name=").iter().all(String::is_empty));
        assert!(channels_of_xml("<OME><ChannelX Name=\"a\"/></OME>").is_empty());
    }
}
