//! An alignment at a glance, in words.

use super::Aligned;
use crate::geometry::Step;
use crate::numerics::figure::{THIN_SPACE, rounded};
use crate::stack::Stack;
use core::f64::consts::FRAC_1_SQRT_2;
use serde::Serialize;

/// The error over all of the grid is told beside that of the points where it is so many times theirs, and more than so many pixels.
const FAR: (f64, f64) = (1.5, 1.0);

/// A matching point with how well it holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointText {
    /// Its place in what is aligned.
    pub from: [f64; 2],
    /// Its place on the grid.
    pub to: [f64; 2],
    /// Where it is laid less where it should be, in pixels of the grid; `None` where nothing can be laid.
    pub error_px: Option<[f64; 2]>,
    /// The same by the other points alone.
    pub left_out_px: Option<[f64; 2]>,
    /// Both in words, in pixels and millimetres.
    pub text: String,
}

/// How something is laid on the grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlignmentText {
    /// "similarity", "affine", "homography", "piecewise", or "found".
    pub model: String,
    /// The model that was asked for; `None` where the one that suits is taken.
    pub model_stated: Option<String>,
    /// The matching points.
    pub points: Vec<PointText>,
    /// Root of the mean square error of the points, in pixels of the grid.
    pub rms_px: Option<f64>,
    /// In millimetres.
    pub rms_mm: Option<f64>,
    /// The same by all other points each.
    pub left_out_rms_px: Option<f64>,
    /// In millimetres.
    pub left_out_rms_mm: Option<f64>,
    /// How far a place may be off: what rims are made of.
    pub error_px: Option<f64>,
    /// Row by row, where one rule holds for the whole plane.
    pub transform: Option<[f64; 9]>,
    /// Corners of what is aligned on the grid, from the upper left clockwise; a corner that lies nowhere is `None`.
    pub corners: Vec<Option<[f64; 2]>>,
    /// All of it in one sentence.
    pub text: String,
    /// Place among the points of the one that the others contradict.
    pub doubtful: Option<usize>,
    /// Why it cannot be laid; empty otherwise.
    pub trouble: String,
}

/// A length in pixels of the grid, in millimetres.
fn mm(dx: f64, dy: f64, step: Option<Step>) -> Option<f64> {
    let step = step?;
    let (x, y) = (dx * step.x_um() / 1000.0, dy * step.y_um() / 1000.0);
    Some((x * x + y * y).sqrt())
}

/// Root of the mean square length of errors, in millimetres; steps across and down may differ.
fn rms_mm<'a>(errors: impl Iterator<Item = &'a (f64, f64)>, step: Option<Step>) -> Option<f64> {
    let squares: Option<Vec<f64>> = errors.map(|&(x, y)| mm(x, y, step).map(|mm| mm * mm)).collect();
    let squares = squares.filter(|squares| !squares.is_empty())?;
    Some((squares.iter().sum::<f64>() / squares.len() as f64).sqrt())
}

/// A length as a figure; what is below a hundredth is said to be, because nobody sets a point more exactly.
fn small(length: f64) -> String {
    if length < 0.01 { "less than 0.01".into() } else { rounded(length, 2) }
}

/// "1.2 px (0.6 mm)".
fn length_text(dx: f64, dy: f64, step: Option<Step>) -> String {
    in_words((dx * dx + dy * dy).sqrt(), mm(dx, dy, step))
}

fn in_words(px: f64, mm: Option<f64>) -> String {
    match mm {
        Some(mm) => format!("{}{THIN_SPACE}px ({}{THIN_SPACE}mm)", small(px), small(mm)),
        None => format!("{}{THIN_SPACE}px", small(px)),
    }
}

impl Aligned {
    /// In words; `size` is that of what is aligned, as it lies now.
    pub fn text(&self, size: (u32, u32), stack: &Stack) -> AlignmentText {
        let step = stack.step().map(|(step, _)| step);
        let fit = self.fit.as_ref().ok();
        let points = self.points.iter().enumerate().map(|(i, pair)| {
            let error = fit.and_then(|fit| fit.errors.get(i).copied());
            let left_out = fit.and_then(|fit| fit.left_out.get(i).copied().flatten());
            let off = error.map(|(x, y)| format!("off by {}", length_text(x, y, step)));
            let alone =
                left_out.map(|(x, y)| format!("{} by the other points alone", length_text(x, y, step)));
            PointText {
                from: pair.from,
                to: pair.to,
                error_px: error.map(Into::into),
                left_out_px: left_out.map(Into::into),
                text: [off, alone].into_iter().flatten().collect::<Vec<_>>().join(", "),
            }
        });
        let rms = fit.and_then(|fit| fit.rms);
        let left_out_rms = fit.and_then(|fit| fit.left_out_rms);
        let (width, height) = (f64::from(size.0), f64::from(size.1));
        let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
        let corner = |at| fit.and_then(|fit| fit.transform.at(at)).map(Into::into);
        AlignmentText {
            model: self.word().into(),
            model_stated: self.model.map(|model| model.word().into()),
            points: points.collect(),
            rms_px: rms,
            rms_mm: rms.and(fit).and_then(|fit| rms_mm(fit.errors.iter(), step)),
            left_out_rms_px: left_out_rms,
            left_out_rms_mm: left_out_rms
                .and(fit)
                .and_then(|fit| rms_mm(fit.left_out.iter().flatten(), step)),
            error_px: self.error_px(),
            transform: fit.and_then(|fit| fit.transform.plane()).map(|plane| *plane.matrix()),
            corners: corners.into_iter().map(corner).collect(),
            text: self.sentences(step),
            doubtful: fit.and_then(|fit| fit.doubtful),
            trouble: self.fit.as_ref().err().cloned().unwrap_or_default(),
        }
    }

    fn word(&self) -> &'static str {
        if self.is_found {
            return "found";
        }
        self.model.unwrap_or_else(|| crate::register::Model::suggested(self.points.len())).word()
    }

    fn sentences(&self, step: Option<Step>) -> String {
        let doubtful = self.fit.as_ref().ok().and_then(|fit| fit.doubtful);
        match doubtful {
            Some(place) => {
                format!(
                    "{} Point {} is contradicted by the others: look at it again.",
                    self.sentence(step),
                    place + 1
                )
            }
            None => self.sentence(step),
        }
    }

    fn sentence(&self, step: Option<Step>) -> String {
        let fit = match &self.fit {
            Ok(fit) => fit,
            Err(trouble) => return trouble.clone(),
        };
        let number = self.points.len();
        let many = if number == 1 { "point" } else { "points" };
        match (self.is_found, fit.rms, fit.left_out_rms) {
            (true, None, _) => "Found from the pictures themselves; no point checks it yet.".into(),
            (true, Some(rms), _) => {
                let which =
                    if number == 1 { "the point that checks it is" } else { "the points that check it are" };
                let said = match (number, fit.is_narrow) {
                    (_, false) => "",
                    (1, true) => " It says nothing of places far from it.",
                    (_, true) => " They lie in a part of the maps and say nothing of the rest.",
                };
                format!(
                    "Found from the pictures themselves; {which} off by {} (root mean square of {number}).{said}",
                    in_words(rms, rms_mm(fit.errors.iter(), step))
                )
            }
            (false, _, Some(left_out)) if !fit.is_error_assumed => {
                let far = if fit.error_px > FAR.0 * left_out && fit.error_px > FAR.1 {
                    format!(
                        " Far from them it is known less well: over all of the grid a place is off by about {}. Spread the points.",
                        in_words(
                            fit.error_px,
                            mm(fit.error_px * FRAC_1_SQRT_2, fit.error_px * FRAC_1_SQRT_2, step)
                        )
                    )
                } else {
                    String::new()
                };
                format!(
                    "{number} {many}, {}; each by the other points alone is off by {} (root mean square).{far}",
                    self.word(),
                    in_words(left_out, rms_mm(fit.left_out.iter().flatten(), step))
                )
            }
            (false, ..) => format!(
                "{number} {many}, {}: nothing is left over that could show an error. Add more points.",
                self.word()
            ),
        }
    }
}
