//! Places and lengths: the step of a scan, windows on a map, areas, scale bars.
//! Imports nothing of this crate. Knows nothing of maps.

mod frame;
pub mod object;
mod orientation;
mod transform;

pub use frame::Frame;
pub use orientation::Orientation;
pub use transform::{Piecewise, PlaneTransform, Point, Transform};

/// Distance between neighbouring pixel centres, in micrometres; both above 0 and finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    x_um: f64,
    y_um: f64,
}

impl Step {
    /// `None` unless both steps are finite and between 0.01 µm and 1 m: anything else is a slip of the unit.
    pub fn new(x_um: f64, y_um: f64) -> Option<Self> {
        let sane = |v: f64| (0.01..=1e6).contains(&v);
        (sane(x_um) && sane(y_um)).then_some(Self { x_um, y_um })
    }

    /// Across, in micrometres.
    pub fn x_um(self) -> f64 {
        self.x_um
    }

    /// Down, in micrometres.
    pub fn y_um(self) -> f64 {
        self.y_um
    }

    /// The step of the same scan laid so; its own inverse, since only the sides change places.
    pub fn oriented(self, orientation: Orientation) -> Self {
        if orientation.swaps_sides() { Self { x_um: self.y_um, y_um: self.x_um } } else { self }
    }

    /// Area of one pixel in mm².
    pub fn pixel_area_mm2(self) -> f64 {
        self.x_um * self.y_um / 1e6
    }
}

/// A rectangle of whole pixels; may reach outside the map it is used on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)] // the names say it all
pub struct Area {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub height: u32,
}

impl Area {
    /// True for a pixel inside.
    pub fn contains(&self, x: u32, y: u32) -> bool {
        let inside = |at: u32, start: u32, length: u32| at >= start && at - start < length;
        inside(x, self.x, self.width) && inside(y, self.y, self.height)
    }

    /// Columns of it in row `y` of a map of this width; `None` where there are none.
    pub fn columns_of_row(&self, y: u32, map_width: u32) -> Option<core::ops::Range<usize>> {
        let end = self.x.saturating_add(self.width).min(map_width);
        let occurs = y >= self.y && y - self.y < self.height && self.x < end;
        occurs.then_some(self.x as usize..end as usize)
    }
}

/// A window on a map, in map pixels, and how wide its picture shall be. May reach outside the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Left edge in map pixels.
    pub x: f64,
    /// Upper edge in map pixels.
    pub y: f64,
    /// Width in map pixels, above 0.
    pub width: f64,
    /// Height in map pixels, above 0.
    pub height: f64,
    /// Width of the picture in picture pixels, at least 1.
    pub out_width: u32,
    /// Height of the picture in picture pixels, at least 1, where a map pixel is not to be a square (another step down
    /// than across); `None` to keep the shape that the window has in map pixels.
    pub out_height: Option<u32>,
}

/// The longest side of a picture that is made at once; a screen of today has half of it.
pub const LARGEST_PICTURE_SIDE: u32 = 16_384;

impl Window {
    /// The whole of a map at one picture pixel a map pixel.
    pub fn whole(width: u32, height: u32) -> Self {
        let (width, height, out_width) = (f64::from(width), f64::from(height), width.max(1));
        Self { x: 0.0, y: 0.0, width, height, out_width, out_height: None }
    }

    /// True if every number is finite, the sides are positive and the picture is of a size that can be made.
    pub fn is_sound(&self) -> bool {
        let finite = [self.x, self.y, self.width, self.height].iter().all(|v| v.is_finite() && v.abs() < 1e9);
        let limits = 1..=LARGEST_PICTURE_SIDE;
        let positive = finite && self.width > 0.0 && self.height > 0.0 && limits.contains(&self.out_width);
        positive && limits.contains(&self.out_height())
    }

    /// Height of the picture: as stated, else the window's shape is kept, rounded to whole pixels, at least 1.
    pub fn out_height(&self) -> u32 {
        if let Some(stated) = self.out_height {
            return stated;
        }
        ((f64::from(self.out_width) * self.height / self.width).round() as u32).max(1)
    }

    /// Map pixels for each picture pixel, across and down.
    pub fn map_per_picture(&self) -> (f64, f64) {
        (self.width / f64::from(self.out_width), self.height / f64::from(self.out_height()))
    }
}

/// A round length for a scale bar: the largest of 1, 2, 5 times a power of ten that is not above `longest`.
/// `None` unless `longest` is finite and above 0.
pub fn round_length(longest: f64) -> Option<f64> {
    if !longest.is_finite() || longest <= 0.0 {
        return None;
    }
    let mut decade = 1.0;
    while decade > longest {
        decade /= 10.0;
    }
    while decade * 10.0 <= longest {
        decade *= 10.0;
    }
    [5.0, 2.0, 1.0].into_iter().map(|m| m * decade).find(|&length| length <= longest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_a_plausible_length() {
        assert_eq!(Step::new(500.0, 250.0).unwrap().pixel_area_mm2(), 0.125);
        assert!(Step::new(0.0, 1.0).is_none());
        assert!(Step::new(f64::NAN, 1.0).is_none());
        assert!(Step::new(1e9, 1.0).is_none());
    }

    #[test]
    fn scale_bars_have_round_lengths() {
        assert_eq!(round_length(37.0), Some(20.0));
        assert_eq!(round_length(5.0), Some(5.0));
        assert_eq!(round_length(0.7), Some(0.5));
        assert_eq!(round_length(0.0), None);
        assert_eq!(round_length(f64::NAN), None);
    }

    #[test]
    fn windows_of_impossible_size_are_unsound() {
        assert!(Window::whole(150, 110).is_sound());
        assert!(!Window { out_width: 0, ..Window::whole(2, 2) }.is_sound());
        assert!(!Window { width: f64::NAN, ..Window::whole(2, 2) }.is_sound());
        assert!(!Window { width: 1.0, height: 1e6, out_width: 4000, ..Window::whole(2, 2) }.is_sound());
        assert_eq!(Window { out_width: 75, ..Window::whole(150, 110) }.out_height(), 55);
        assert!(!Window { out_height: Some(0), ..Window::whole(2, 2) }.is_sound());
    }

    #[test]
    fn a_stated_height_makes_pixels_that_are_not_square() {
        let window = Window { out_height: Some(220), ..Window::whole(150, 110) };
        assert_eq!((window.out_height(), window.map_per_picture()), (220, (1.0, 0.5)));
    }
}
