//! One map in grey or on a colour scale.

use super::axis::{Axis, Scale};
use super::key::KeyEntry;
use super::resample::{Sampled, Sampler};
use super::{Picture, canvas, opaque, patterned};
use crate::colour::{ColourScale, NO_DATA, Rgb};
use crate::geometry::Window;
use crate::notice::OutOfMemory;
use crate::stack::Plane;

/// How values become colours. Grey is even in sRGB steps (so about even to the eye).
pub struct MapScale {
    /// What the numbers are.
    pub label: String,
    /// The colours.
    pub colours: ColourScale,
    /// The first colour up to its start, the last from its end on.
    pub axis: Axis,
    /// Whether the map has pixels without data, for the key.
    pub has_blank: bool,
}

/// Draws it. Where several map pixels fall on a picture pixel, their values are averaged before the scale is applied. Blank
/// stays blank on every scale.
pub fn picture_of_map(plane: &Plane, scale: &MapScale, window: &Window) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let mut sampler = Sampler::new(window, plane.width(), plane.height())?;
    let colours = scale.colours.table();
    let steps = Steps::new(scale.axis);
    for (y, row) in rgba.chunks_exact_mut(window.out_width as usize * 4).enumerate() {
        let y = y as u32;
        sampler.row_of(plane, y, |x, sampled| {
            let colour = match sampled {
                Sampled::Outside => return,
                Sampled::Blank => patterned(&NO_DATA, x as u32, y),
                Sampled::Value(value) => opaque(colours[usize::from(steps.of(value))]),
            };
            row[x * 4..x * 4 + 4].copy_from_slice(&colour);
        })?;
    }
    let mut key = vec![KeyEntry::Bar {
        label: scale.label.clone(),
        colours: bar(scale.colours),
        ticks: scale.axis.ticks(),
    }];
    if scale.has_blank {
        key.push(KeyEntry::Fill { label: "no data".into(), colour: NO_DATA });
    }
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key })
}

/// As many colours as a bar needs so that those between them can be drawn straight.
fn bar(colours: ColourScale) -> Vec<Rgb> {
    match colours {
        ColourScale::Grey => vec![colours.colour(0), colours.colour(255)],
        _ => (0..=255u8).step_by(5).map(|step| colours.colour(step)).collect(),
    }
}

/// The nearest of 256 steps for a value.
struct Steps {
    axis: Axis,
    /// On a logarithmic axis the values at which one step ends and the next begins; looking among them is faster than a
    /// logarithm for each pixel.
    borders: Vec<f64>,
}

impl Steps {
    fn new(axis: Axis) -> Self {
        let is_looked_up = axis.scale() == Scale::Logarithmic && axis.has_length();
        let border = |step: u8| axis.value((f64::from(step) + 0.5) / 255.0);
        Self { axis, borders: if is_looked_up { (0..255).map(border).collect() } else { Vec::new() } }
    }

    fn of(&self, value: f64) -> u8 {
        if self.borders.is_empty() {
            return (self.axis.place(value) * 255.0).round() as u8;
        }
        self.borders.partition_point(|&border| border <= value) as u8
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};

    fn drawn(values: Vec<f64>, colours: ColourScale, axis: Axis) -> Picture {
        let width = values.len() as u32;
        let plane = Plane::new(Samples::F64(Grid::from_vec(width, 1, values).unwrap()));
        let scale = MapScale { label: "counts".into(), colours, axis, has_blank: true };
        picture_of_map(&plane, &scale, &Window::whole(width, 1)).unwrap()
    }

    #[test]
    fn greys_are_even_steps_and_a_constant_map_is_dark() {
        let rgba =
            drawn(vec![0.0, 51.0, 900.0], ColourScale::Grey, Axis::new(Scale::Linear, 0.0, 255.0)).rgba;
        assert_eq!((rgba[0], rgba[4], rgba[8], rgba[11]), (0, 51, 255, 255));
        let flat = drawn(vec![0.0, 7.0, 900.0], ColourScale::Grey, Axis::new(Scale::Linear, 7.0, 7.0));
        assert_eq!((flat.rgba[8], flat.key.len()), (0, 2));
    }

    #[test]
    fn every_scale_puts_its_ends_at_the_limits_and_leaves_blank_blank() {
        for colours in ColourScale::all() {
            for scale in Scale::ALL {
                let picture =
                    drawn(vec![-5.0, 0.0, 200.0, 1e9, f64::NAN], colours, Axis::new(scale, 0.0, 200.0));
                let pixel =
                    |x: usize| Rgb([picture.rgba[x * 4], picture.rgba[x * 4 + 1], picture.rgba[x * 4 + 2]]);
                assert_eq!((pixel(0), pixel(1)), (colours.colour(0), colours.colour(0)));
                assert_eq!((pixel(2), pixel(3)), (colours.colour(255), colours.colour(255)));
                assert!(pixel(4) == NO_DATA.ground || pixel(4) == NO_DATA.mark);
                let KeyEntry::Bar { colours: bar, .. } = &picture.key[0] else { panic!() };
                assert_eq!((bar[0], bar[bar.len() - 1]), (colours.colour(0), colours.colour(255)));
            }
        }
    }

    #[test]
    fn steps_that_are_looked_up_are_those_of_the_place() {
        let axis = Axis::new(Scale::Logarithmic, 0.0, 60_000.0);
        let steps = Steps::new(axis);
        for value in 0..=65_535u32 {
            let value = f64::from(value);
            let place = axis.place(value) * 255.0;
            // At a border rounding may decide either way.
            assert!((f64::from(steps.of(value)) - place).abs() <= 0.5 + 1e-9, "{value}");
        }
    }
}
