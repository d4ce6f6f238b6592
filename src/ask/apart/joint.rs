//! The joint histogram of `apart`: B across, A upward, with what accompanies B.

use crate::ask::answer::Raster;
use crate::ask::pair::Pair;
use crate::ask::plot::{Plot, PlotLine};
use crate::ask::together::histogram;
use crate::display::Axis;
use crate::measure::{Accompaniment, Level};
use crate::notice::OutOfMemory;
use crate::numerics::figure::{between, figure};

/// Points of a line; between them it is straight, also over an axis that is not.
const POINTS: u32 = 32;

/// The plot and its raster; `None` where no pixel has both values.
pub(super) fn joint(
    pair: &Pair<'_>,
    at: (&Level, &Level),
    with: Option<&Accompaniment>,
) -> Result<Option<(Plot, Raster)>, OutOfMemory> {
    let (a, b) = pair.labels();
    let swapped = Pair { a: pair.b, b: pair.a, evidence: pair.evidence };
    let Some(with) = with else { return histogram(&swapped, "", |_, _| Vec::new()) };
    let told = format!(
        " The lines are {a} for each {b} {}, with the band {}.",
        figure(with.k),
        between(with.k_low, with.k_high)
    );
    histogram(&swapped, &told, |x, y| {
        let line = |label: String, k: f64| PlotLine { label, points: points((x, y), at, k) };
        vec![
            line(format!("{} for each {b}", figure(with.k)), with.k),
            line(format!("{}, end of the band", figure(with.k_low)), with.k_low),
            line(format!("{}, end of the band", figure(with.k_high)), with.k_high),
        ]
    })
}

/// Background of A and k times B above its own, from there to the end of the axis across or upward.
fn points((x, y): (&Axis, &Axis), at: (&Level, &Level), k: f64) -> Vec<[f64; 2]> {
    let start = x.place(at.1.background).clamp(0.0, 1.0);
    let mut out = Vec::new();
    for i in 0..=POINTS {
        let u = start + (1.0 - start) * f64::from(i) / f64::from(POINTS);
        let value = at.0.background + k * (x.value(u) - at.1.background);
        if !value.is_finite() || value > y.high() {
            break;
        }
        out.push([u, y.place(value).clamp(0.0, 1.0)]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::display::Scale;
    use crate::kind::Kind;
    use crate::measure::Rules;

    #[test]
    fn a_line_begins_at_both_backgrounds_and_ends_at_the_edge() {
        let level = |value| Level::stated(value, Kind::Window, &Rules::default()).unwrap();
        let (x, y) = (Axis::new(Scale::Linear, 0.0, 100.0), Axis::new(Scale::Linear, 0.0, 50.0));
        let (a, b) = (level(5.0), level(20.0));
        let line = points((&x, &y), (&a, &b), 0.5);
        assert!((line[0][0] - 0.2).abs() < 1e-12 && (line[0][1] - 0.1).abs() < 1e-12, "{line:?}");
        // At B 100: 5 + 0.5 x 80 = 45 of 50.
        let last = line[line.len() - 1];
        assert!((last[0] - 1.0).abs() < 1e-12 && (last[1] - 0.9).abs() < 1e-12, "{line:?}");
        // A steeper one leaves at the top before the right end.
        let steep = points((&x, &y), (&a, &b), 5.0);
        assert!(steep.len() > 1 && steep[steep.len() - 1][0] < 0.4, "{steep:?}");
    }
}
