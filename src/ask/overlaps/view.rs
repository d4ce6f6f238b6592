//! The overlap view: which share of what a map counts overlaps could give.

use crate::ask::evidence::Subject;
use crate::ask::settings::Settings;
use crate::grid::Grid;
use crate::notice::Fault;

/// Of each pixel of a map the share, 0 to 100 %, of what it counts above background that lines of other maps could give at
/// most; NaN where it has no data or is not above its critical level. What it says of the overlaps, in words.
///
/// # Errors
/// No such map, or one without a background; no memory.
pub fn overlap_view(subject: &Subject<'_>, map: &str) -> Result<(Grid<f64>, Vec<String>), Fault> {
    let settings = Settings::read("faint", serde_json::json!({ "map": map }))?;
    let evidence = subject.evidence(&settings, &[map.to_owned()])?;
    let Some(side) = evidence.sides.first() else { return Err(Fault::unknown_map(map)) };
    let level = side.level.as_ref().map_err(|reason| {
        Fault::new(
            "no_background",
            format!(
                "The share that overlaps could give of {} cannot be shown, because {reason}.",
                side.label()
            ),
        )
    })?;
    let signal = &side.signal;
    let mut shares = Grid::try_filled(signal.values.width(), signal.values.height(), f64::NAN)?;
    for (i, share) in shares.data_mut().iter_mut().enumerate() {
        let value = signal.anywhere(i).filter(|value| *value >= level.critical);
        if let Some(net) = value.map(|value| value - level.background).filter(|net| *net > 0.0) {
            *share = (100.0 * signal.overlap_at(i) / net).clamp(0.0, 100.0);
        }
    }
    let by = side.overlaps.by.iter().map(|by| by.label.clone());
    Ok((shares, by.collect()))
}
