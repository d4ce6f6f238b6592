//! One map in grey.

use super::key::{KeyEntry, Tick};
use super::resample::{Sampled, Sampler};
use super::{Picture, canvas, opaque, patterned};
use crate::colour::{NO_DATA, Rgb};
use crate::geometry::Window;
use crate::notice::OutOfMemory;
use crate::numerics::figure::count;
use crate::stack::Plane;

/// How values become greys: evenly in sRGB steps (so about evenly to the eye) from `low` to `high`.
pub struct GreyScale {
    /// What the numbers are.
    pub label: String,
    /// Black up to here.
    pub low: f64,
    /// White from here on.
    pub high: f64,
    /// Whether the map has pixels without data, for the key.
    pub has_blank: bool,
}

/// Draws it.
pub fn picture_of_map(plane: &Plane, scale: &GreyScale, window: &Window) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let mut sampler = Sampler::new(window, plane.width(), plane.height())?;
    let range = scale.high - scale.low;
    for (y, row) in rgba.chunks_exact_mut(window.out_width as usize * 4).enumerate() {
        let y = y as u32;
        sampler.row_of(plane, y, |x, sampled| {
            let colour = match sampled {
                Sampled::Outside => return,
                Sampled::Blank => patterned(&NO_DATA, x as u32, y),
                Sampled::Value(value) => {
                    let share = if range > 0.0 { ((value - scale.low) / range).clamp(0.0, 1.0) } else { 0.0 };
                    opaque(Rgb([(share * 255.0).round() as u8; 3]))
                }
            };
            row[x * 4..x * 4 + 4].copy_from_slice(&colour);
        })?;
    }
    let tick = |at: f64| Tick { at, text: count(scale.low + at * range) };
    let mut key = vec![KeyEntry::Bar {
        label: scale.label.clone(),
        colours: vec![Rgb([0; 3]), Rgb([255; 3])],
        ticks: if range > 0.0 { vec![tick(0.0), tick(0.5), tick(1.0)] } else { vec![tick(0.0)] },
    }];
    if scale.has_blank {
        key.push(KeyEntry::Fill { label: "no data".into(), colour: NO_DATA });
    }
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};

    #[test]
    fn greys_are_even_steps_and_a_constant_map_is_dark() {
        let plane = Plane::new(Samples::U16(Grid::from_vec(3, 1, vec![0, 51, 900]).unwrap()));
        let scale = GreyScale { label: "counts".into(), low: 0.0, high: 255.0, has_blank: false };
        let rgba = picture_of_map(&plane, &scale, &Window::whole(3, 1)).unwrap().rgba;
        assert_eq!((rgba[0], rgba[4], rgba[8], rgba[11]), (0, 51, 255, 255));
        let flat = GreyScale { label: String::new(), low: 7.0, high: 7.0, has_blank: true };
        let picture = picture_of_map(&plane, &flat, &Window::whole(3, 1)).unwrap();
        assert_eq!((picture.rgba[8], picture.key.len()), (0, 2));
    }
}
