use super::text::{Style, Type};

fn style(is_bold: bool) -> Style {
    Style { size: 100.0, is_bold, grey: 0 }
}

#[test]
fn the_font_has_what_captions_are_written_with() {
    let faces = Type::new().unwrap();
    let wanted = "ABZabz0189 .,:;!?()[]{}/\\|@#%&*+-=<>\"'_~^$ ÄÖÜäöüßéèçñøåæœŁłŐőŠšŽžİıŒ±×−µ°²³·“”‘’„–—…≤≥≈≠Å\
                  \u{2009}\u{202f}\u{a0}ΑΒΓΔΩαβγδεκλμπσω⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉‰€∞→";
    let missing: String = wanted.chars().filter(|&c| !faces.has(c)).collect();
    assert_eq!(missing, "");
}

#[test]
fn widths_are_those_of_the_font_with_kerning() {
    // Advances of 1000 units an em and the pairs of the table GPOS, read with fontTools 4.60.1 from the committed file.
    let faces = Type::new().unwrap();
    let near = |text: &str, is_bold: bool, want: f32| {
        let got = faces.width(text, style(is_bold));
        assert!((got - want).abs() < 0.01, "{text}: {got}, not {want}");
    };
    near("A", false, 63.9);
    near("V", false, 60.0);
    near("AV", false, 63.9 + 60.0 - 4.0);
    near("A", true, 69.0);
    near("−", true, 57.2);
}

#[test]
fn lines_keep_every_character_and_stay_in_their_width() {
    let faces = Type::new().unwrap();
    let style = Style { size: 10.0, is_bold: false, grey: 0 };
    let text = "Where is Ti\u{a0}K without Fe\u{a0}K? שלום 🦀 10\u{202f}mm\n\nDonaudampfschifffahrtsgesellschaftskapitän";
    for width in [5.0, 40.0, 90.0, 1000.0] {
        let lines = faces.lines(text, width, style);
        let letters = |text: &str| text.chars().filter(|c| !matches!(c, ' ' | '\n')).collect::<String>();
        assert_eq!(letters(&lines.concat()), letters(text));
        for line in &lines {
            assert!(faces.width(line, style) <= width || line.chars().count() == 1, "{width}: {line}");
        }
    }
    assert!(faces.lines(text, 1000.0, style).iter().any(String::is_empty));
    assert!(faces.lines("Ti\u{a0}K is", 25.0, style).contains(&"Ti\u{a0}K".to_owned()));
    assert_eq!(faces.lines("so (Fe K) or Pb L, no", 42.0, style), ["so (Fe K)", "or Pb L,", "no"]);
}

#[test]
fn a_character_that_the_font_does_not_have_is_a_box() {
    let faces = Type::new().unwrap();
    let ink = |text: &str| {
        let mut sum = 0.0;
        faces.draw(text, style(false), (0.0, 100.0), |_, _, covered| sum += covered);
        sum
    };
    assert!(!faces.has('🦀') && !faces.has('\u{200f}'));
    // A frame of 6 units of a hundred around 50 x 71.
    for box_of in ["🦀", "\u{200f}", "\u{7}", "ש"] {
        assert!((ink(box_of) - ink("🦀")).abs() < 0.01 && ink(box_of) > 1000.0, "{box_of}");
    }
    assert_eq!(ink(" "), 0.0);
}
