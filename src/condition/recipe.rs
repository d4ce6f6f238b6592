//! What can be made of maps, as it stands in the settings record, and in words.

use crate::geometry::PlaneTransform;
use crate::notice::Fault;
use crate::numerics::figure::rounded;
use serde::{Deserialize, Serialize};

/// A way to make a map of other maps. `how` names it: `{"how": "subtract", "k": 0.1}`. What is left out takes its
/// default; [`super::derive`] gives back the recipe with every default filled in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "how", rename_all = "snake_case", deny_unknown_fields)]
pub enum Recipe {
    /// Sum of all inputs: detectors, or lines of one element.
    Sum,
    /// First input less `k` times the second.
    Subtract {
        /// Finite and above 0.
        k: f64,
    },
    /// First input divided by the second.
    Divide {
        /// What the second input is; it decides what the result may be called.
        #[serde(default)]
        by: Divisor,
    },
    /// Counts divided by the time that each pixel was counted.
    Dwell {
        /// Seconds, finite and above 0.
        seconds: f64,
    },
    /// True rate of a detector that rests after each count; the second input, if any, is the map of all its counts.
    DeadTime {
        /// Rest after each count in microseconds, finite and above 0.
        tau_us: f64,
        /// Counting time of a pixel in seconds, finite and above 0.
        dwell_s: f64,
    },
    /// Blocks of `by` x `by` pixels; what does not fill a block at the right and lower edge is left out.
    Bin {
        /// Side of a block, 2 to 64.
        by: u32,
        /// Sum or mean; by default the sum of counts, the mean of everything else.
        #[serde(default)]
        take: Option<Take>,
        /// Largest share of blank pixels for which a block is still made, scaled up from the others; 0 to below 1.
        #[serde(default)]
        most_blank: f64,
    },
    /// A smoothed picture, for looking only.
    Smooth {
        /// Standard deviation of the Gaussian in pixels, 0.3 to 20; not used by the median.
        #[serde(default = "one")]
        sigma_px: f64,
        /// Gaussian by default.
        #[serde(default)]
        filter: Filter,
    },
    /// Every second line moved along itself (a scan read in both directions).
    LineShift {
        /// The move in pixels, positive towards larger x (or y for lines that run down), at most 100; found if absent.
        #[serde(default)]
        shift_px: Option<f64>,
        /// Which lines move; odd by default.
        #[serde(default)]
        lines: Lines,
        /// Which way the lines run; across by default.
        #[serde(default)]
        direction: Direction,
    },
    /// Each line divided by its factor of brightness.
    LineDrift {
        /// Lines in the running median (or in the running mean of the margin), odd, 3 to 99.
        #[serde(default = "nine")]
        window: u32,
        /// First and last position along the lines of an empty or uniform margin; without it, lines are held against
        /// their neighbours.
        #[serde(default)]
        reference: Option<[u32; 2]>,
        /// Which way the lines run; across by default.
        #[serde(default)]
        direction: Direction,
        /// A line within this many standard errors of its neighbours is left alone; 0 divides every line.
        #[serde(default = "three")]
        beyond: f64,
    },
    /// The first and last pixels of all lines divided by how much longer they were counted.
    TurnRound {
        /// Factors from the first position inwards; found if both are absent.
        #[serde(default)]
        start: Option<Vec<f64>>,
        /// Factors from the last position inwards.
        #[serde(default)]
        end: Option<Vec<f64>>,
        /// Which way the lines run; across by default.
        #[serde(default)]
        direction: Direction,
    },
    /// The map of another scan laid on the grid of the first, counts kept.
    LayOnGrid {
        /// Takes places of the map to places of the grid: a matrix of 3 x 3, row by row, as the alignment was then.
        transform: [f64; 9],
        /// Pixels across of the grid.
        width: u32,
        /// Pixels down.
        height: u32,
        /// The least share of a pixel of the grid that must be covered, above 0 and at most 1; the rest is scaled up.
        #[serde(default = "one")]
        least_covered: f64,
    },
    /// Single pixels that the user named.
    HotPixels {
        /// Their x and y.
        pixels: Vec<[u32; 2]>,
        /// Blank by default.
        #[serde(default, rename = "as")]
        r#as: Replacement,
    },
}

/// Pixels of the largest grid that a map is laid on: as many as a map can have.
const MOST_LAID: u64 = 100_000_000;

fn one() -> f64 {
    1.0
}

fn three() -> f64 {
    3.0
}

fn nine() -> u32 {
    9
}

/// What a map is divided by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Divisor {
    /// Another map.
    #[default]
    Map,
    /// Seconds that each pixel was counted.
    LiveTime,
    /// Current of the tube or ring.
    Current,
    /// Scattered radiation.
    Scatter,
}

/// What becomes of a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Take {
    /// Its sum.
    Sum,
    /// Its mean.
    Mean,
}

/// How a picture is smoothed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Filter {
    /// Gaussian, on stabilised counts.
    #[default]
    Gaussian,
    /// Median of 3 x 3.
    Median,
}

/// Which of the lines; the first line is line 0, so that the odd ones are the 2nd, 4th, ...
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lines {
    /// 1, 3, 5, ... counted from 0.
    #[default]
    Odd,
    /// 0, 2, 4, ... counted from 0.
    Even,
}

impl Lines {
    /// Whether this line is one of them.
    pub fn include(self, line: usize) -> bool {
        (line % 2 == 1) == (self == Lines::Odd)
    }

    pub(super) fn words(self) -> (&'static str, &'static str) {
        match self {
            Lines::Odd => ("odd", "the 2nd, 4th, 6th and so on"),
            Lines::Even => ("even", "the 1st, 3rd, 5th and so on"),
        }
    }
}

/// Which way the scanner's lines run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// Along x: a line is a row.
    #[default]
    Across,
    /// Along y: a line is a column.
    Down,
}

/// What stands where a hot pixel was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Replacement {
    /// Nothing.
    #[default]
    Blank,
    /// The median of the eight neighbours.
    Median,
}

fn refuse(is_wrong: bool, what: &str) -> Result<(), Fault> {
    if is_wrong { Err(Fault::bad_setting(what)) } else { Ok(()) }
}

fn is_amount(value: f64) -> bool {
    value.is_finite() && value > 0.0
}

impl Recipe {
    /// Refuses settings outside their ranges, with a sentence.
    pub fn check(&self) -> Result<(), Fault> {
        match self {
            Recipe::Sum | Recipe::Divide { .. } => Ok(()),
            Recipe::Subtract { k } => {
                refuse(!is_amount(*k), "The factor k of A − k·B must be a number above 0.")
            }
            Recipe::Dwell { seconds } => {
                refuse(!is_amount(*seconds), "The counting time must be a number of seconds above 0.")
            }
            Recipe::DeadTime { tau_us, dwell_s } => refuse(
                !is_amount(*tau_us) || !is_amount(*dwell_s),
                "Dead time needs two numbers above 0: the rest after each count in µs and the counting time of a pixel in s.",
            ),
            Recipe::Bin { by, most_blank, .. } => {
                refuse(!(2..=64).contains(by), "Bins have a side of 2 to 64 pixels.")?;
                refuse(
                    !(0.0..1.0).contains(most_blank),
                    "The largest share of blank pixels in a bin must be 0 or more and below 1.",
                )
            }
            Recipe::Smooth { sigma_px, .. } => refuse(
                !(0.3..=20.0).contains(sigma_px),
                "The width of the smoothing must be 0.3 to 20 pixels.",
            ),
            Recipe::LineShift { shift_px, .. } => refuse(
                shift_px.is_some_and(|s| !s.is_finite() || s.abs() > 100.0),
                "The shift of the lines must be a number of pixels between −100 and 100.",
            ),
            Recipe::LineDrift { window, reference, beyond, .. } => {
                refuse(
                    window % 2 == 0 || !(3..=99).contains(window),
                    "The number of lines to compare with must be odd, 3 to 99.",
                )?;
                refuse(
                    !(0.0..=100.0).contains(beyond),
                    "The number of standard errors beyond which a line is corrected must be 0 to 100.",
                )?;
                refuse(
                    reference.is_some_and(|[first, last]| first > last),
                    "The margin must be given as its first and last position, the smaller first.",
                )
            }
            Recipe::TurnRound { start, end, .. } => {
                let all = || start.iter().chain(end).flatten();
                refuse(
                    all().any(|f| !is_amount(*f)),
                    "The factors of the first and last pixels of the lines must be numbers above 0.",
                )?;
                let is_empty = (start.is_some() || end.is_some()) && all().next().is_none();
                refuse(is_empty, "No factor was given for the first or last pixels of the lines.")
            }
            Recipe::LayOnGrid { transform, width, height, least_covered } => {
                refuse(
                    PlaneTransform::new(*transform).is_none(),
                    "The alignment is no map of the plane: it draws it together to a line. Set its points anew.",
                )?;
                let many = u64::from(*width) * u64::from(*height);
                refuse(many == 0 || many > MOST_LAID, "The grid to lay a map on has no pixel, or too many.")?;
                refuse(
                    !(*least_covered > 0.0 && *least_covered <= 1.0),
                    "The least share of a pixel that must be covered is above 0 and at most 1.",
                )
            }
            Recipe::HotPixels { pixels, .. } => {
                refuse(pixels.is_empty(), "No pixel was named. Name those to be replaced by x and y.")
            }
        }
    }

    /// The recipe in words, with the names of its inputs: “Fe K, every second line moved by 0.43 px to the right”.
    pub fn sentence(&self, labels: &[String]) -> String {
        let a = labels.first().map_or("the map", String::as_str);
        let b = labels.get(1).map_or("another map", String::as_str);
        match self {
            Recipe::Sum => match labels {
                [] => "sum of maps".into(),
                [first, rest @ ..] if rest.len() > 5 => {
                    format!("sum of {} maps: {first} to {}", labels.len(), rest[rest.len() - 1])
                }
                _ => labels.join(" + "),
            },
            Recipe::Subtract { k } if *k == 1.0 => format!("{a} − {b}"),
            Recipe::Subtract { k } => format!("{a} − {}·{b}", plain(*k)),
            Recipe::Divide { by } => match by {
                Divisor::Map => format!("{a} / {b}"),
                Divisor::LiveTime => format!("{a} divided by live time ({b})"),
                Divisor::Current => format!("{a} divided by current ({b})"),
                Divisor::Scatter => format!("{a} divided by scatter ({b})"),
            },
            Recipe::Dwell { seconds } => format!("{a} per second, each pixel counted {} s", plain(*seconds)),
            Recipe::DeadTime { tau_us, .. } => {
                format!("{a} per second, corrected for {} µs of rest after each count", plain(*tau_us))
            }
            Recipe::Bin { by, take, .. } => match take {
                Some(Take::Mean) => format!("{a}, means of {by} × {by} pixels"),
                Some(Take::Sum) => format!("{a}, sums of {by} × {by} pixels"),
                None => format!("{a}, binned {by} × {by}"),
            },
            Recipe::Smooth { sigma_px, filter: Filter::Gaussian } => {
                format!("{a}, smoothed over {} px, for looking only", plain(*sigma_px))
            }
            Recipe::Smooth { .. } => format!("{a}, median of 3 × 3 pixels, for looking only"),
            Recipe::LineShift { shift_px, lines, direction } => {
                let which = match lines {
                    Lines::Odd => "every second line",
                    Lines::Even => "every second line, from the first,",
                };
                match shift_px {
                    Some(shift) => format!("{a}, {which} moved by {}", moved_words(*shift, *direction)),
                    None => format!("{a}, {which} moved by what is found"),
                }
            }
            Recipe::LineDrift { reference: None, .. } => {
                format!("{a}, lines brought to the level of their neighbours")
            }
            Recipe::LineDrift { reference: Some(_), .. } => {
                format!("{a}, lines brought to one level by the margin")
            }
            Recipe::TurnRound { start, end, .. } => {
                let n = start.iter().chain(end).flatten().count();
                match n {
                    0 => format!("{a}, longer dwell at the ends of the lines divided out"),
                    1 => format!("{a}, longer dwell divided out at one end of the lines"),
                    _ => format!("{a}, longer dwell divided out at {n} places at the ends of the lines"),
                }
            }
            Recipe::LayOnGrid { .. } => format!("{a}, laid on the grid of the first scan"),
            Recipe::HotPixels { pixels, r#as } => {
                let n = pixels.len();
                let things = if n == 1 { "pixel" } else { "pixels" };
                match r#as {
                    Replacement::Blank => format!("{a}, {n} {things} made blank"),
                    Replacement::Median => {
                        format!("{a}, {n} {things} replaced by the median of their neighbours")
                    }
                }
            }
        }
    }
}

/// A stated number without digits that were not stated, at most six.
pub(super) fn plain(value: f64) -> String {
    let text = rounded(value, 6);
    if text.contains('.') && !text.contains('e') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// "0.43 px to the right".
pub(super) fn moved_words(shift: f64, direction: Direction) -> String {
    let side = match (direction, shift >= 0.0) {
        (Direction::Across, true) => "to the right",
        (Direction::Across, false) => "to the left",
        (Direction::Down, true) => "downward",
        (Direction::Down, false) => "upward",
    };
    format!("{} px {side}", plain(shift.abs()))
}
