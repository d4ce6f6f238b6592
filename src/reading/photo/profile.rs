//! What a file says of its colours: the name of an ICC profile. Source: ICC.1:2022, 7.2 and 7.3 (header, table of tags),
//! 10.15 (multiLocalizedUnicodeType); ICC.1:2001-04, 6.5.17 (textDescriptionType).

use crate::notice::Finding;

/// The longest name that is shown.
const LONGEST_NAME: usize = 60;

fn number(bytes: &[u8], at: usize) -> Option<usize> {
    let word: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
    usize::try_from(u32::from_be_bytes(word)).ok()
}

/// What the profile calls itself; empty where it says nothing that can be read.
fn name(profile: &[u8]) -> Option<String> {
    let tags = number(profile, 128)?.min(1000);
    let entry = (0..tags).map(|tag| 132 + 12 * tag).find(|&at| profile.get(at..at + 4) == Some(b"desc"))?;
    let (start, length) = (number(profile, entry + 4)?, number(profile, entry + 8)?);
    let tag = profile.get(start..start.checked_add(length)?)?;
    let text = match tag.get(..4)? {
        b"desc" => {
            let end = 12usize.checked_add(number(tag, 8)?)?;
            tag.get(12..end)?.iter().map(|&byte| char::from(byte)).collect::<String>()
        }
        b"mluc" => {
            let (length, start) = (number(tag, 20)?, number(tag, 24)?);
            let words = tag.get(start..start.checked_add(length)?)?.as_chunks::<2>().0;
            char::decode_utf16(words.iter().map(|&word| u16::from_be_bytes(word)))
                .map_while(Result::ok)
                .collect()
        }
        _ => return None,
    };
    let shown: String = text.chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
    Some(shown.trim().to_owned())
}

/// What is to be said of a profile; nothing of one that is sRGB by its name.
pub(in crate::reading) fn finding(profile: &[u8]) -> Option<Finding> {
    let name = name(profile).unwrap_or_default();
    let is_srgb = name.to_ascii_lowercase().contains("srgb");
    (!is_srgb).then_some(Finding::ColourProfile { name })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A profile of one tag, as the standard lays it out.
    fn profile(tag: &[u8]) -> Vec<u8> {
        let mut out = vec![0; 128];
        out[36..40].copy_from_slice(b"acsp");
        out.extend(1u32.to_be_bytes());
        out.extend(b"desc");
        out.extend(144u32.to_be_bytes());
        out.extend((tag.len() as u32).to_be_bytes());
        out.extend(tag);
        out
    }

    fn old(name: &str) -> Vec<u8> {
        let length = (name.len() as u32 + 1).to_be_bytes();
        profile(&[b"desc\0\0\0\0", length.as_slice(), name.as_bytes(), &[0]].concat())
    }

    #[test]
    fn names_of_both_forms_are_read_and_srgb_says_nothing() {
        let named = |name: &str| Some(Finding::ColourProfile { name: name.into() });
        assert_eq!(finding(&old("Wide gamut\u{7} 2")), named("Wide gamut 2"));
        assert_eq!(finding(&old("sRGB IEC61966-2.1")), None);
        let wide: Vec<u8> = "Weit".encode_utf16().flat_map(u16::to_be_bytes).collect();
        let words = [1u32, 12, 0x6465_4445, 8, 28].map(u32::to_be_bytes).concat();
        let tag = [b"mluc\0\0\0\0".as_slice(), &words, &wide].concat();
        assert_eq!(finding(&profile(&tag)), named("Weit"));
    }

    #[test]
    fn a_damaged_profile_is_one_without_a_name() {
        let good = old("Wide gamut");
        for length in 0..good.len() {
            assert_eq!(finding(&good[..length]), Some(Finding::ColourProfile { name: String::new() }));
        }
        assert!(finding(&[255; 300]).is_some());
    }
}
