//! The wording of signs and offers.

use super::{Lines, Offer, Sign};
use std::fmt;

impl Lines {
    fn words(self, numbers: &[u32]) -> String {
        let word = match (self, numbers.len()) {
            (Lines::Rows, 1) => "row",
            (Lines::Rows, _) => "rows",
            (Lines::Columns, 1) => "column",
            (Lines::Columns, _) => "columns",
        };
        let shown: Vec<String> = numbers.iter().take(5).map(|n| (n + 1).to_string()).collect();
        match numbers.len() - shown.len() {
            0 => format!("{word} {}", shown.join(", ")),
            more => format!("{word} {} and {more} more", shown.join(", ")),
        }
    }
}

/// A stored number as a user would write it.
fn number(value: f64) -> String {
    if value.abs() >= 1e9 || (value != 0.0 && value.abs() < 1e-3) {
        // A 32-bit number prints short only as one.
        let short = value as f32;
        return if f64::from(short) == value { format!("{short:e}") } else { format!("{value:e}") };
    }
    let short = value as f32;
    if f64::from(short) == value { short.to_string() } else { value.to_string() }
}

fn pixels(count: u64) -> String {
    if count == 1 { "1 pixel".into() } else { format!("{count} pixels") }
}

fn line_difference(columns: i64, rows: i64) -> String {
    let part = |n: i64, one: &str| {
        let plural = if n.abs() == 1 { "" } else { "s" };
        let word = if n > 0 { "more" } else { "fewer" };
        (n != 0).then(|| format!("{} {one}{plural} {word}", n.abs()))
    };
    let parts: Vec<String> = [part(columns, "column"), part(rows, "row")].into_iter().flatten().collect();
    parts.join(" and ")
}

fn several(maps: u64) -> String {
    if maps == 1 { "this map".into() } else { format!("all {maps} maps looked at") }
}

impl fmt::Display for Sign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Sign::FillValue { value, pixels: count } => write!(
                f,
                "{} {}, far from all other values. That number usually means “no data”. If it does, leave it out as blank.",
                match count {
                    1 => "One pixel holds the value".to_owned(),
                    _ => format!("{} hold the value", pixels(*count)),
                },
                number(*value)
            ),
            Sign::Margin { is_zero: true, maps, .. } => write!(
                f,
                "The border holds nothing but 0 in {}. If the scan did not go there, leave the border out as blank; if it did, these are real zeros and stay.",
                several(*maps)
            ),
            Sign::Margin { is_zero: false, maps, .. } => write!(
                f,
                "The border holds one and the same number in {}, which no counting gives. Leave it out as blank.",
                several(*maps)
            ),
            Sign::BurntIn { maps: 0 | 1, .. } => write!(
                f,
                "There are shapes like letters or a scale bar, all of them exactly at the end of the range. If they were drawn into the picture and are not on the object, leave that part out as blank."
            ),
            Sign::BurntIn { maps, .. } => write!(
                f,
                "The same shapes stand at the end of the range in {maps} maps, pixel by pixel: letters or a bar drawn into the pictures. Leave that part out as blank."
            ),
            Sign::Curved { curve } => write!(
                f,
                "The steps between its values shrink towards the bright end as those of {curve}. It would then show the shape only. Export the counts, or use it as a picture."
            ),
            Sign::Stretched { step } => write!(
                f,
                "Numbers between common values never occur (a mean step of {step:.2}): the counts were spread over a range by a factor. Export the counts, or use it for its shape only."
            ),
            Sign::Clipped { value, pixels: count } => write!(
                f,
                "{} hold exactly the largest value, {}, and hardly any come near it: what lay above seems to be cut off. Export it without limits, or use it for its shape only.",
                pixels(*count),
                number(*value)
            ),
            Sign::CommonMaximum { value, maps } => write!(
                f,
                "All {maps} maps end at exactly {}, as if each had been stretched to the full range. They would then show shapes only. Export the counts if you can.",
                number(*value)
            ),
            Sign::DroppedLines { lines, numbers } => write!(
                f,
                "There is nothing in {} while the lines on both sides are full: lost while scanning or exporting. Leave {} out as blank.",
                lines.words(numbers),
                if numbers.len() == 1 { "it" } else { "them" }
            ),
            Sign::RepeatedLines { lines, numbers } => write!(
                f,
                "In {} stands an exact copy of the line before, which counting does not give. Leave the copies out as blank.",
                lines.words(numbers)
            ),
            Sign::Enlarged { across, down } => write!(
                f,
                "Every pixel stands {across} × {down} times: the map was enlarged after it was made. Open it as it was measured; in this form each count is counted {} times.",
                across.saturating_mul(*down)
            ),
            Sign::Aborted { row, at_top, column, .. } => {
                match (at_top, column) {
                    (false, Some(column)) => write!(
                        f,
                        "In row {row} all maps end at column {column} and nothing follows: the scan seems to have stopped there."
                    )?,
                    (true, Some(column)) => write!(
                        f,
                        "Nothing stands above row {}, which in all maps begins to be empty at column {column}: the scan seems to have stopped there.",
                        row + 2
                    )?,
                    (false, None) => write!(
                        f,
                        "From row {} on all maps hold one number: the scan may have stopped there, or nothing was counted.",
                        row + 1
                    )?,
                    (true, None) => write!(
                        f,
                        "Up to row {} all maps hold one number: the scan may have stopped there, or nothing was counted.",
                        row + 1
                    )?,
                }
                write!(f, " If it stopped, leave that part out as blank.")
            }
            Sign::LineCount { columns, rows, place } => {
                write!(f, "It has {} than the other maps. ", line_difference(*columns, *rows))?;
                match place {
                    Some(_) => write!(
                        f,
                        "Its pattern shows where it belongs on their grid; lay it there to combine it with them."
                    ),
                    None => write!(
                        f,
                        "Nothing in it shows at which side; find out at the scanner which lines are meant."
                    ),
                }
            }
            Sign::Cropped { x, y, like } => write!(
                f,
                "It seems to be a part of the grid: its pattern fits {} with its corner at column {}, row {}. Lay it there to combine it with the others.",
                like.label,
                x + 1,
                y + 1
            ),
            Sign::Padded { inside } => write!(
                f,
                "It is larger than the other maps, but has a border of one number; the {} × {} pixels inside are as many as theirs. Use the inside only.",
                inside.width, inside.height
            ),
            Sign::SidesSwapped { turn: Some(turn) } => write!(
                f,
                "Width and height have changed places against the other maps; its pattern fits theirs if you {}.",
                turn.in_words()
            ),
            Sign::SidesSwapped { turn: None } => write!(
                f,
                "Width and height have changed places against the other maps. It may have been turned; its pattern does not show how. Turn it by hand if you know."
            ),
            Sign::Turned { turn, like, is_either: false } => write!(
                f,
                "It lies otherwise than the other maps and fits {} only another way. To lay it over them, {}.",
                like.label,
                turn.in_words()
            ),
            Sign::Turned { turn, like, is_either: true } => write!(
                f,
                "It fits {} only another way, so that one of the two lies wrong; nothing here shows which. If it is this one, {}.",
                like.label,
                turn.in_words()
            ),
            Sign::Binned { across, down } => write!(
                f,
                "It has one pixel where the other maps have {across} × {down}: it seems to be binned. It is shown over them, but only maps with as many pixels are combined."
            ),
            Sign::LineShift { pixels, error } => write!(
                f,
                "Every second row lies {:.2} ± {error:.2} pixels to the {} of its neighbours, as in a scan in both directions. Move these rows back to close the contours.",
                pixels.abs(),
                if *pixels > 0.0 { "right" } else { "left" }
            ),
            Sign::Seam { lines, from, to, factor, error, maps } => {
                let (line, ends, side) = match lines {
                    Lines::Columns => ("column", ("upper", "lower"), "to the right"),
                    Lines::Rows => ("row", ("left", "right"), "below"),
                };
                let place = if from.round() == to.round() {
                    format!("Behind {line} {from:.0}")
                } else {
                    format!(
                        "Along a line from {line} {from:.0} at the {} border to {line} {to:.0} at the {} one",
                        ends.0, ends.1
                    )
                };
                write!(
                    f,
                    "{place} {} change by one factor: about {factor:.2} (± {error:.2}) times as bright {side}. So does a seam of two scans, or a beam that changed; paint would change one element more than another. Tests stay within one side: make a region of each and ask within it.",
                    several(*maps)
                )
            }
            Sign::Smoothed { gain, is_correlated: true } => write!(
                f,
                "Neighbouring pixels differ less than counting allows (variance {gain:.2} of the mean) and follow each other: the map was smoothed or interpolated. Export it unsmoothed, or use it for its shape only."
            ),
            Sign::Smoothed { gain, is_correlated: false } => write!(
                f,
                "Neighbouring pixels differ less than counting allows (variance {gain:.2} of the mean): the numbers were scaled down or are not counts. If they are counts times a factor, state the gain."
            ),
            Sign::SameAs { other } => write!(
                f,
                "It holds the same numbers as {}, in every pixel. One of the two may have been exported under a wrong name; compare it with the source.",
                other.label
            ),
            Sign::SumOf { others, is_exact } => {
                let labels: Vec<&str> = others.iter().map(|other| other.label.as_str()).collect();
                write!(
                    f,
                    "It {} the sum of {}. Take it for a sum, so that it is not compared with its own parts.",
                    if *is_exact { "is" } else { "is very nearly" },
                    labels.join(" + ")
                )
            }
            Sign::RootOf { other } => write!(
                f,
                "It follows {} pixel by pixel and grows as its square root: it may be its error map, or the same map drawn with a square root. State which.",
                other.label
            ),
        }
    }
}

impl Offer {
    /// A few words for a button.
    pub fn label(&self) -> String {
        match self {
            Offer::FillValue(value) => format!("Leave {} out as blank", number(*value)),
            Offer::BlankAreas(patches) if patches.len() == 1 => "Leave this part out as blank".into(),
            Offer::BlankAreas(_) => "Leave these parts out as blank".into(),
            Offer::Kind("display copy") => "Use for its shape only".into(),
            Offer::Kind(word) => format!("Take it as {word}"),
            Offer::Turn(turn) => {
                let words = turn.in_words();
                let mut letters = words.chars();
                letters.next().map_or_else(String::new, |first| {
                    first.to_uppercase().collect::<String>() + letters.as_str()
                })
            }
            Offer::Place { x, y } => format!("Lay it at column {}, row {}", x + 1, y + 1),
            Offer::Crop(_) => "Use the inside only".into(),
            Offer::BlankLines { lines, numbers } => {
                let noun = match (lines, numbers.len()) {
                    (Lines::Rows, 1) => "row",
                    (Lines::Rows, _) => "rows",
                    (Lines::Columns, 1) => "column",
                    (Lines::Columns, _) => "columns",
                };
                let which = if numbers.len() == 1 { "this" } else { "these" };
                format!("Leave {which} {noun} out as blank")
            }
            Offer::ShiftRows { pixels } => format!("Move every second row by {:.2} pixels", -pixels),
            Offer::Sides { .. } => "Make a region of each side".into(),
            Offer::Sum => "Take it for a sum".into(),
            Offer::ErrorMap { of } => format!("Take it for the error map of {}", of.label),
        }
    }
}
