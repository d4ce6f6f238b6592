//! Turning and mirroring pictures of pixels.

use super::Area;

/// How a picture is laid: first mirrored left to right (or not), then turned clockwise by quarter turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Orientation {
    quarter_turns: u8,
    is_mirrored: bool,
}

impl Orientation {
    /// Any number of quarter turns; four are none.
    pub fn new(quarter_turns: u8, is_mirrored: bool) -> Self {
        Self { quarter_turns: quarter_turns % 4, is_mirrored }
    }

    /// What brings a picture upright that bears this number in its tag *Orientation* (TIFF 6.0 tag 274, the same in
    /// Exif); plain for a number that means nothing. Which number means what: TIFF 6.0, page 36.
    pub fn of_tag(number: u64) -> Self {
        match number {
            2 => Self::new(0, true),
            3 => Self::new(2, false),
            4 => Self::new(2, true),
            5 => Self::new(3, true),
            6 => Self::new(1, false),
            7 => Self::new(1, true),
            8 => Self::new(3, false),
            _ => Self::default(),
        }
    }

    /// Clockwise quarter turns, 0 to 3.
    pub fn quarter_turns(self) -> u8 {
        self.quarter_turns
    }

    /// Whether it is mirrored before it is turned.
    pub fn is_mirrored(self) -> bool {
        self.is_mirrored
    }

    /// True where nothing is changed.
    pub fn is_plain(self) -> bool {
        self == Self::default()
    }

    /// True where width and height change places.
    pub fn swaps_sides(self) -> bool {
        self.quarter_turns % 2 == 1
    }

    /// This first, then `next`.
    pub fn then(self, next: Self) -> Self {
        // A mirror reverses the sense of the turns that came before it.
        let before = if next.is_mirrored { 4 - self.quarter_turns } else { self.quarter_turns };
        Self::new(before + next.quarter_turns, self.is_mirrored != next.is_mirrored)
    }

    /// What takes it back.
    pub fn inverse(self) -> Self {
        // Mirrored and turned is a reflection, which is its own inverse.
        if self.is_mirrored { self } else { Self::new(4 - self.quarter_turns, false) }
    }

    /// Width and height of a picture that had these before.
    pub fn size(self, (width, height): (u32, u32)) -> (u32, u32) {
        if self.swaps_sides() { (height, width) } else { (width, height) }
    }

    /// Where the pixel `(x, y)` of a picture of `size` (before) goes.
    pub fn place(self, (x, y): (u32, u32), size: (u32, u32)) -> (u32, u32) {
        let (x, y) = self.place_anywhere((i64::from(x), i64::from(y)), size);
        // Pixels of the picture stay on it.
        (x as u32, y as u32)
    }

    /// The same for a place that may lie beside the picture.
    pub fn place_anywhere(self, (x, y): (i64, i64), size: (u32, u32)) -> (i64, i64) {
        let (width, height) = (i64::from(size.0), i64::from(size.1));
        let x = if self.is_mirrored { width - 1 - x } else { x };
        match self.quarter_turns {
            0 => (x, y),
            1 => (height - 1 - y, x),
            2 => (width - 1 - x, height - 1 - y),
            _ => (y, width - 1 - x),
        }
    }

    /// Whether columns, and whether rows, of the picture before run against the way of what they become.
    pub fn runs_backward(self) -> (bool, bool) {
        let size = (2, 2);
        let (first, right, down) =
            (self.place((0, 0), size), self.place((1, 0), size), self.place((0, 1), size));
        (right.0 < first.0 || right.1 < first.1, down.0 < first.0 || down.1 < first.1)
    }

    /// Where an area of a picture of `size` (before) goes, cut at the picture's border; `None` if none of it is inside.
    pub fn area(self, area: Area, size: (u32, u32)) -> Option<Area> {
        let right = area.x.saturating_add(area.width).min(size.0);
        let lower = area.y.saturating_add(area.height).min(size.1);
        if area.x >= right || area.y >= lower {
            return None;
        }
        let (ax, ay) = self.place((area.x, area.y), size);
        let (bx, by) = self.place((right - 1, lower - 1), size);
        let (x, y) = (ax.min(bx), ay.min(by));
        Some(Area { x, y, width: ax.max(bx) - x + 1, height: ay.max(by) - y + 1 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> impl Iterator<Item = Orientation> {
        (0..8).map(|i| Orientation::new(i % 4, i >= 4))
    }

    #[test]
    fn one_after_the_other_is_the_same_as_both_at_once_and_the_inverse_leads_back() {
        let size = (3, 2);
        let pixels = || (0..3).flat_map(|x| (0..2).map(move |y| (x, y)));
        for first in all() {
            for second in all() {
                for at in pixels() {
                    let by_steps = second.place(first.place(at, size), first.size(size));
                    assert_eq!(first.then(second).place(at, size), by_steps, "{first:?} {second:?}");
                }
            }
            assert!(first.then(first.inverse()).is_plain(), "{first:?}");
        }
    }

    #[test]
    fn a_tag_says_where_the_first_row_and_column_are() {
        // TIFF 6.0, page 36: where the 0th row and the 0th column lie, by number.
        let sides = [
            (1, "top", "left"),
            (2, "top", "right"),
            (3, "bottom", "right"),
            (4, "bottom", "left"),
            (5, "left", "top"),
            (6, "right", "top"),
            (7, "right", "bottom"),
            (8, "left", "bottom"),
        ];
        let size = (3, 2);
        for (number, row, column) in sides {
            let laid = Orientation::of_tag(number);
            let (width, height) = laid.size(size);
            let side = |places: Vec<(u32, u32)>| {
                let all = |is: &dyn Fn((u32, u32)) -> bool| places.iter().all(|&place| is(place));
                let sides = [
                    (all(&|(x, _)| x == 0), "left"),
                    (all(&|(x, _)| x == width - 1), "right"),
                    (all(&|(_, y)| y == 0), "top"),
                    (all(&|(_, y)| y == height - 1), "bottom"),
                ];
                sides.iter().filter(|(is, _)| *is).map(|(_, name)| *name).collect::<Vec<_>>()
            };
            let first_row = side((0..3).map(|x| laid.place((x, 0), size)).collect());
            let first_column = side((0..2).map(|y| laid.place((0, y), size)).collect());
            assert_eq!((first_row, first_column), (vec![row], vec![column]), "{number}");
            let backward = laid.runs_backward();
            let far = |side: &str| matches!(side, "right" | "bottom");
            assert_eq!(backward, (far(column), far(row)), "{number}");
        }
        assert!(Orientation::of_tag(0).is_plain() && Orientation::of_tag(9).is_plain());
    }

    #[test]
    fn a_clockwise_turn_takes_the_upper_left_to_the_upper_right() {
        assert_eq!(Orientation::new(1, false).place((0, 0), (3, 2)), (1, 0));
        assert_eq!(Orientation::new(0, true).place((0, 0), (3, 2)), (2, 0));
        let area = Area { x: 0, y: 1, width: 2, height: 9 };
        let turned = Orientation::new(1, false).area(area, (3, 2));
        assert_eq!(turned, Some(Area { x: 0, y: 0, width: 1, height: 2 }));
        assert_eq!(Orientation::default().area(Area { x: 3, ..area }, (3, 2)), None);
    }
}
