//! Names of files.

/// Characters of a name, without its ending.
const LONGEST: usize = 100;
/// Names that some systems keep for devices, whatever follows the point.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];
const NUMBERED_DEVICES: [&str; 2] = ["com", "lpt"];

/// A name that every usual file system takes: without characters that are refused somewhere or that turn text round, not too
/// long, no name of a device. A title without anything left is "export".
pub fn file_name(title: &str, ending: &str) -> String {
    let is_refused = |c: char| {
        c.is_control()
            || "<>:\"/\\|?*".contains(c)
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    let spaced: String = title.chars().map(|c| if is_refused(c) { ' ' } else { c }).collect();
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let bare = words.join(" ");
    let short: String = bare.trim_matches(['.', ' ']).chars().take(LONGEST).collect();
    let short = short.trim_end_matches(['.', ' ']);
    let small = short.split('.').next().unwrap_or_default().trim_end().to_ascii_lowercase();
    let is_numbered = NUMBERED_DEVICES.iter().any(|device| {
        small
            .strip_prefix(device)
            .is_some_and(|rest| rest.len() == 1 && rest.bytes().all(|byte| byte.is_ascii_digit()))
    });
    let stem = match short {
        "" => "export".to_owned(),
        _ if is_numbered || DEVICES.contains(&small.as_str()) => format!("export {short}"),
        _ => short.to_owned(),
    };
    format!("{stem}.{ending}")
}

#[cfg(test)]
mod tests {
    use super::file_name;

    #[test]
    fn every_title_becomes_a_name() {
        for (title, want) in [
            ("Cu K", "Cu K.tif"),
            ("../../etc/passwd", "etc passwd.tif"),
            ("a<b>:\"c\"|?*\\d\u{0}\n", "a b c d.tif"),
            (" .hidden. ", "hidden.tif"),
            ("CON", "export CON.tif"),
            ("lpt1.x", "export lpt1.x.tif"),
            ("console", "console.tif"),
            ("gnp.\u{202e}exe", "gnp. exe.tif"),
            ("", "export.tif"),
            ("...", "export.tif"),
            ("As Kβ", "As Kβ.tif"),
        ] {
            assert_eq!(file_name(title, "tif"), want, "{title:?}");
        }
        assert_eq!(file_name(&"é".repeat(300), "csv").chars().count(), 104);
    }
}
