//! A place in words: from the edges of the object where these are marked, else from those of the scan.

use crate::ask::evidence::Evidence;
use crate::ask::object_words;
use crate::geometry::Point;
use crate::geometry::object::Limits;
use crate::numerics::figure::THIN_SPACE;

/// "83 mm from the left, 121 mm from the lower edge, ± 0.8 mm", or counted from the edges of the scan.
pub(super) fn words(evidence: &Evidence, at: Point) -> String {
    let beside = &evidence.beside;
    let limits = Limits { beam_um: beside.beam_um, ..Limits::default() };
    if let Some(place) = beside.known.object.and_then(|frame| frame.place(at, evidence.step, &limits)) {
        return object_words(&place);
    }
    let pixel = format!("pixel ({:.0}, {:.0}) of the grid", at.0.floor(), at.1.floor());
    match evidence.step {
        Some(step) => format!(
            "{:.1}{THIN_SPACE}mm from the left and {:.1}{THIN_SPACE}mm from the upper edge of the scan ({pixel})",
            at.0 * step.x_um() / 1000.0,
            at.1 * step.y_um() / 1000.0
        ),
        None => pixel,
    }
}
