//! A part of a map, or more than the map: how a map that was cut or padded is laid on the grid of the others.

use super::{Area, Orientation};

/// A rectangle of whole pixels that may begin before a map and end beyond it; `(x, y)` is the map pixel that becomes the
/// upper left one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)] // said above
pub struct Frame {
    pub x: i64,
    pub y: i64,
    pub width: u32,
    pub height: u32,
}

/// Farther than this from a map nothing is framed.
const FARTHEST: i64 = 1 << 24;

impl Frame {
    /// True if it has pixels and lies within reach of a map.
    pub fn is_sound(&self) -> bool {
        let near = |v: i64| (-FARTHEST..=FARTHEST).contains(&v);
        near(self.x) && near(self.y) && self.width > 0 && self.height > 0
    }

    /// The part of a map of `size` that is inside, in pixels of the frame; `None` without any.
    pub fn inside(&self, size: (u32, u32)) -> Option<Area> {
        let span = |start: i64, length: u32, all: u32| {
            let first = (-start).max(0);
            let end = (i64::from(all) - start).min(i64::from(length));
            (first < end).then_some((first as u32, (end - first) as u32))
        };
        let (x, width) = span(self.x, self.width, size.0)?;
        let (y, height) = span(self.y, self.height, size.1)?;
        Some(Area { x, y, width, height })
    }

    /// The parts of the frame that a map of `size` does not fill, in pixels of the frame, without overlaps.
    pub fn padding(&self, size: (u32, u32)) -> Vec<Area> {
        let whole = Area { x: 0, y: 0, width: self.width, height: self.height };
        let Some(inside) = self.inside(size) else { return vec![whole] };
        let (right, lower) = (inside.x + inside.width, inside.y + inside.height);
        [
            Area { height: inside.y, ..whole },
            Area { y: lower, height: self.height - lower, ..whole },
            Area { y: inside.y, width: inside.x, height: inside.height, ..whole },
            Area { x: right, y: inside.y, width: self.width - right, height: inside.height },
        ]
        .into_iter()
        .filter(|area| area.width > 0 && area.height > 0)
        .collect()
    }

    /// An area of the map in pixels of the frame; `None` if none of it is inside.
    pub fn area(&self, area: Area) -> Option<Area> {
        let of = Frame {
            x: self.x - i64::from(area.x),
            y: self.y - i64::from(area.y),
            width: self.width,
            height: self.height,
        };
        of.inside((area.width, area.height))
    }

    /// An area of the frame in pixels of the map; `None` if none of it is on the map.
    pub fn area_on_map(&self, area: Area) -> Option<Area> {
        let span = |start: i64, at: u32, length: u32| {
            let first = (start + i64::from(at)).max(0);
            let end = start + i64::from(at) + i64::from(length);
            let first_place = u32::try_from(first).ok()?;
            (first < end).then_some((first_place, u32::try_from(end - first).ok()?))
        };
        let (x, width) = span(self.x, area.x, area.width)?;
        let (y, height) = span(self.y, area.y, area.height)?;
        Some(Area { x, y, width, height })
    }

    /// The same frame around a map of `size` that is laid so.
    pub fn oriented(&self, orientation: Orientation, size: (u32, u32)) -> Self {
        let corner = |x: i64, y: i64| orientation.place_anywhere((x, y), size);
        let (ax, ay) = corner(self.x, self.y);
        let (bx, by) = corner(self.x + i64::from(self.width) - 1, self.y + i64::from(self.height) - 1);
        let (width, height) = orientation.size((self.width, self.height));
        Self { x: ax.min(bx), y: ay.min(by), width, height }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_map_does_not_fill_is_padding() {
        let frame = Frame { x: -1, y: 1, width: 4, height: 3 };
        assert_eq!(frame.inside((2, 3)), Some(Area { x: 1, y: 0, width: 2, height: 2 }));
        let pixels: u32 = frame.padding((2, 3)).iter().map(|a| a.width * a.height).sum();
        assert_eq!(pixels, 12 - 4);
        assert_eq!(Frame { x: 9, ..frame }.inside((2, 3)), None);
        assert_eq!(Frame { x: 9, ..frame }.padding((2, 3)).len(), 1);
        assert!(!Frame { width: 0, ..frame }.is_sound() && !Frame { x: i64::MIN, ..frame }.is_sound());
    }

    #[test]
    fn areas_and_frames_go_there_and_back() {
        let frame = Frame { x: -1, y: 1, width: 4, height: 3 };
        let area = Area { x: 0, y: 1, width: 2, height: 1 };
        let framed = frame.area(area).unwrap();
        assert_eq!(framed, Area { x: 1, y: 0, width: 2, height: 1 });
        assert_eq!(frame.area_on_map(framed), Some(area));
        for i in 0..8 {
            let orientation = Orientation::new(i % 4, i >= 4);
            let laid = frame.oriented(orientation, (2, 3));
            assert_eq!(laid.oriented(orientation.inverse(), orientation.size((2, 3))), frame);
        }
    }
}
