//! A spectrum as text: energies or channels with their counts, or counts alone.

use super::text::{self, Columns};
use crate::notice::{Fault, Finding};
use crate::numerics::figure::whole;

/// A spectrum has no more channels than this.
pub const MOST_CHANNELS: usize = 65_536;
/// And no fewer.
const FEWEST_CHANNELS: usize = 16;
/// A larger file is no spectrum as text.
const MOST_BYTES: usize = 16_000_000;
/// No channel has more counts than this, so that sums of whole counts stay exact.
const MOST_COUNTS: f64 = 1e12;
/// Energies that a detector of X-rays reaches, and widths of its channels, in keV. Common practice, no source.
const ENERGIES_KEV: (f64, f64) = (-5.0, 200.0);
const STEPS_KEV: (f64, f64) = (0.000_5, 0.5);

/// Energy of the first channel and from one channel to the next, both in keV.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration {
    /// Middle of the first channel.
    pub first_kev: f64,
    /// From one to the next.
    pub step_kev: f64,
}

impl Calibration {
    /// `None` for what no detector of X-rays has, over so many channels.
    pub fn new(first_kev: f64, step_kev: f64, channels: usize) -> Option<Self> {
        let last = first_kev + step_kev * channels.saturating_sub(1) as f64;
        let is_sound = (ENERGIES_KEV.0..=ENERGIES_KEV.1).contains(&first_kev)
            && (STEPS_KEV.0..=STEPS_KEV.1).contains(&step_kev)
            && (0.0..=2.0 * ENERGIES_KEV.1).contains(&last);
        is_sound.then_some(Self { first_kev, step_kev })
    }
}

/// A spectrum as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct SpectrumText {
    /// Counts of each channel: finite, not negative, not all 0.
    pub counts: Vec<f64>,
    /// What the first of two columns says of energies; `None` where it counts channels or there is none.
    pub calibration: Option<Calibration>,
}

/// Reads a spectrum: lines of two numbers (energy in keV or eV, or channel; counts) or of one (counts), under any lines of
/// words. The manner of the text is told as for maps: separators, decimal comma, comments.
///
/// # Errors
/// `bad_spectrum` with one sentence without the name of the file.
pub fn read_spectrum(bytes: &[u8]) -> Result<SpectrumText, Fault> {
    if bytes.len() > MOST_BYTES {
        return Err(bad(format!(
            "It is larger than {} MB, which no spectrum as text is. Give a text with two columns, energy and counts.",
            MOST_BYTES / 1_000_000
        )));
    }
    let manners = text::columns(bytes, MOST_CHANNELS).map_err(|finding| match finding {
        Finding::UnknownFormat => {
            bad("It is no text with numbers. Give a text with two columns, energy and counts.")
        }
        Finding::NotANumber { line, field, text } => bad(format!(
            "Line {line}, value {field} is not a number (“{text}”). Correct it or remove the line."
        )),
        other => bad(other.to_string()),
    })?;
    // Two columns with an even first one, then one column: "0,12" can be two numbers or one.
    let even =
        manners.iter().find(|columns| columns.values.len() == 2 && steps(&columns.values[0]).is_some());
    let chosen = even.or_else(|| manners.iter().find(|columns| columns.values.len() <= 2));
    let Some(columns) = chosen.or(manners.first()) else {
        return Err(bad("It has no numbers."));
    };
    spectrum_of(columns)
}

/// True for the text of two columns that is most likely a spectrum: many lines, the first column even, the second without
/// negative numbers.
pub fn looks_like_spectrum(bytes: &[u8]) -> bool {
    const MANY: usize = 200;
    read_spectrum(bytes).is_ok_and(|read| read.counts.len() > MANY && read.calibration.is_some())
}

fn bad(what: impl Into<String>) -> Fault {
    Fault::new("bad_spectrum", what)
}

fn spectrum_of(columns: &Columns) -> Result<SpectrumText, Fault> {
    if columns.is_longer {
        return Err(bad(format!(
            "It has more than {} lines, which is the most that a spectrum can have.",
            whole(MOST_CHANNELS as u64)
        )));
    }
    let (axis, counts) = match columns.values.as_slice() {
        [counts] => (None, counts),
        [axis, counts] => (Some(axis), counts),
        other => {
            return Err(bad(format!(
                "Its lines have {} numbers. A spectrum has two columns, energy and counts, or one of counts.",
                whole(other.len() as u64)
            )));
        }
    };
    let channels = counts.len();
    if channels < FEWEST_CHANNELS {
        return Err(bad(format!(
            "It has {channels} lines of numbers; a spectrum has at least {FEWEST_CHANNELS} channels."
        )));
    }
    if let Some(place) = counts.iter().position(|v| !(0.0..=MOST_COUNTS).contains(v)) {
        let what = match counts[place] {
            v if v.is_nan() => "no number of counts",
            v if v < 0.0 => "counts below 0, so something was taken away from what was counted",
            _ => "more counts than can be",
        };
        return Err(bad(format!("The channel {} has {what}.", whole(place as u64 + 1))));
    }
    if counts.iter().all(|v| *v == 0.0) {
        return Err(bad("No channel has a count."));
    }
    let calibration = match axis {
        None => None,
        Some(axis) => {
            let title = columns.titles.first().map_or("", String::as_str);
            let (first, step) = steps(axis).ok_or_else(|| {
                bad("Its first column does not rise in even steps, so it is no energy and no number of a channel.")
            })?;
            match unit_of(title, first, step, channels) {
                Unit::Channels => None,
                Unit::Kev(kev) => {
                    let calibration = Calibration::new(rounded(first * kev), rounded(step * kev), channels);
                    Some(calibration.ok_or_else(|| {
                        bad("Its first column says no energies that a detector of X-rays has, in keV or in eV.")
                    })?)
                }
            }
        }
    };
    Ok(SpectrumText { counts: counts.clone(), calibration })
}

/// The first value and the step of a column that rises evenly: no value lies off by more than half a step, as rounding to
/// the last digit may move it.
fn steps(axis: &[f64]) -> Option<(f64, f64)> {
    let (&first, &last) = (axis.first()?, axis.last()?);
    if axis.len() < 2 {
        return None;
    }
    let step = (last - first) / (axis.len() - 1) as f64;
    let is_near = |(i, v): (usize, &f64)| (v - (first + step * i as f64)).abs() <= 0.501 * step;
    let rises = axis.windows(2).all(|pair| pair[1] > pair[0]);
    (step.is_finite() && step > 0.0 && rises && axis.iter().enumerate().all(is_near)).then_some((first, step))
}

enum Unit {
    Channels,
    /// So many keV.
    Kev(f64),
}

/// What the first column counts: by its title, or by its numbers.
fn unit_of(title: &str, first: f64, step: f64, channels: usize) -> Unit {
    let title = title.to_lowercase();
    let says = |unit: &str| title.split(|c: char| !c.is_alphanumeric()).any(|word| word == unit);
    if says("kev") {
        return Unit::Kev(1.0);
    }
    if says("ev") {
        return Unit::Kev(0.001);
    }
    let is_channel = ["channel", "kanal", "canal", "canale", "kanaal"].iter().any(|word| says(word));
    if is_channel || (step == 1.0 && first.fract() == 0.0) {
        return Unit::Channels;
    }
    // Both are believed only where the other one cannot be meant.
    let fits = |kev: f64| Calibration::new(first * kev, step * kev, channels).is_some();
    match (fits(1.0), fits(0.001)) {
        (true, false) => Unit::Kev(1.0),
        (false, true) => Unit::Kev(0.001),
        _ => Unit::Channels,
    }
}

/// Without the last digits that dividing adds: nine are kept.
fn rounded(value: f64) -> f64 {
    format!("{value:.8e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counts of 64 channels.
    fn count(i: usize) -> usize {
        (i * 37) % 23
    }

    fn text(line: impl Fn(usize) -> String) -> Vec<u8> {
        (0..64).map(|i| line(i) + "\n").collect::<String>().into_bytes()
    }

    fn read(bytes: &[u8]) -> (Vec<f64>, Option<(f64, f64)>) {
        let read = read_spectrum(bytes).unwrap();
        (read.counts, read.calibration.map(|c| (c.first_kev, c.step_kev)))
    }

    fn fault(bytes: &[u8]) -> String {
        let fault = read_spectrum(bytes).unwrap_err();
        assert_eq!(fault.code, "bad_spectrum");
        fault.message
    }

    #[test]
    fn energies_channels_and_counts_alone_are_read_in_every_manner() {
        let counts: Vec<f64> = (0..64).map(|i| count(i) as f64).collect();
        let kev = Some((0.05, 0.02));
        for (bytes, calibration) in [
            (text(|i| format!("{:.3}\t{}", 0.05 + 0.02 * i as f64, count(i))), kev),
            (text(|i| format!("{:.2} {}", 0.05 + 0.02 * i as f64, count(i))), kev),
            (text(|i| format!("{:.3},{}", 0.05 + 0.02 * i as f64, count(i))), kev),
            (text(|i| format!("{:.3};{}", 0.05 + 0.02 * i as f64, count(i)).replace('.', ",")), kev),
            (text(|i| format!("{};{}", 50 + 20 * i, count(i))), kev),
            (text(|i| format!("{},{}", i, count(i))), None),
            (text(|i| format!("{}\t{}", i + 1, count(i))), None),
            (text(|i| count(i).to_string()), None),
            (text(|i| format!("{}.0", count(i))), None),
            (text(|i| format!("{},0", count(i))), None),
        ] {
            let shown = String::from_utf8_lossy(&bytes[..40]).into_owned();
            assert_eq!(read(&bytes), (counts.clone(), calibration), "{shown}");
            let mut headed = b"# sum of a region\n\nLive time;100,5 s\nEnergy;Counts\n".to_vec();
            headed.extend(&bytes);
            headed.extend(b"# end\n");
            assert_eq!(read(&headed).0, counts, "{shown}");
        }
    }

    #[test]
    fn a_title_says_what_the_first_column_counts_where_numbers_do_not() {
        let titled = |title: &str, line: &dyn Fn(usize) -> String| {
            let mut bytes = format!("{title}\tcounts\n").into_bytes();
            bytes.extend(text(line));
            read(&bytes).1
        };
        // A step of 1 is of channels, unless it is said to be of energies.
        assert_eq!(titled("E [eV]", &|i| format!("{}\t{}", 100 + i, count(i))), Some((0.1, 0.001)));
        assert_eq!(titled("n", &|i| format!("{}\t{}", 100 + i, count(i))), None);
        // So are steps of a quarter, which could be one or the other.
        assert_eq!(
            titled("Energy (keV)", &|i| format!("{}\t{}", 0.25 * i as f64, count(i))),
            Some((0.0, 0.25))
        );
        assert_eq!(titled("Channel", &|i| format!("{}\t{}", 0.25 * i as f64, count(i))), None);
        assert_eq!(titled("Kanal", &|i| format!("{}\t{}", 10 * i, count(i))), None);
    }

    #[test]
    fn what_is_no_spectrum_is_refused_in_one_sentence() {
        assert!(fault(b"").contains("no text with numbers"));
        assert!(fault(b"\x89PNG\r\n\x1a\n\0").contains("no text with numbers"));
        assert!(fault(b"only words\nhere\n").contains("no text with numbers"));
        assert!(fault(b"{\"counts\": [1, 2]}").contains("no text with numbers"));
        assert!(fault(b"0.1\t5\n0.2\t6\n").contains("at least 16 channels"));
        assert!(fault(&text(|i| format!("{i}\t{}\t7", count(i)))).contains("3 numbers"));
        assert!(fault(&text(|i| format!("{}\t{}", i * i, count(i)))).contains("even steps"));
        assert!(fault(&text(|i| format!("{}\t{}", 64 - i, count(i)))).contains("even steps"));
        assert!(
            fault(&text(|i| format!("{i}\t{}", i64::try_from(count(i)).unwrap() - 5)))
                .contains("channel 1 has counts below 0")
        );
        assert!(fault(&text(|i| format!("{i}\t{}", if i == 5 { "nan" } else { "3" }))).contains("channel 6"));
        assert!(fault(&text(|i| format!("{i}\t1e{i}"))).contains("more counts than can be"));
        assert!(fault(&text(|i| format!("{i}\t0"))).contains("No channel has a count"));
        assert!(
            fault(&text(|i| if i == 40 { "x;y;z".into() } else { format!("{i}\t1") })).contains("Line 41")
        );
        assert!(fault(&text(|i| format!("keV {}", i))).contains("no text"));
        let far: Vec<u8> =
            (0..64).map(|i| format!("{} 3\n", 1e6 + 900.0 * f64::from(i))).collect::<String>().into();
        assert_eq!(read(&far).1, None, "no energies: taken for channels, so that they are asked for");
        let many = "1\n".repeat(MOST_CHANNELS + 1);
        assert!(fault(many.as_bytes()).contains("more than 65\u{202f}536 lines"));
        assert_eq!(read(&many.as_bytes()[2..]).0.len(), MOST_CHANNELS);
        assert!(fault(&vec![b'1'; MOST_BYTES + 1]).contains("16 MB"));
    }

    #[test]
    fn calibrations_of_no_detector_are_none() {
        assert!(Calibration::new(0.0, 0.01, 4096).is_some() && Calibration::new(-0.96, 0.02, 2048).is_some());
        for (first, step) in
            [(f64::NAN, 0.01), (0.0, f64::NAN), (0.0, 0.0), (0.0, -0.01), (0.0, 10.0), (900.0, 0.01)]
        {
            assert_eq!(Calibration::new(first, step, 1024), None, "{first} {step}");
        }
        assert_eq!(Calibration::new(-5.0, 0.001, 1024), None, "all of it below zero");
    }

    #[test]
    fn only_many_lines_of_energies_look_like_a_spectrum() {
        let of = |lines: usize| -> Vec<u8> {
            (0..lines).map(|i| format!("{:.2}\t{}\n", 0.02 * i as f64, count(i))).collect::<String>().into()
        };
        assert!(looks_like_spectrum(&of(1024)) && !looks_like_spectrum(&of(200)));
        assert!(!looks_like_spectrum("1 2\n".repeat(400).as_bytes()));
    }
}
