//! How a photo lies on maps while it is looked for: from places of the reduced maps to places of the reduced photo.

use crate::geometry::{PlaneTransform, Point};
use crate::numerics::math::{cos, exp, sin};

/// Photo place = `at` + `m` (map place - `centre`), in pixels of the reduced photo and the reduced maps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lay {
    /// Two rows.
    pub m: [f64; 4],
    /// The photo place of the maps' centre.
    pub at: Point,
    /// Centre of the maps.
    pub centre: Point,
}

pub(super) fn times(a: [f64; 4], b: [f64; 4]) -> [f64; 4] {
    [
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
    ]
}

pub(super) fn inverse(m: [f64; 4]) -> [f64; 4] {
    let d = m[0] * m[3] - m[1] * m[2];
    [m[3] / d, -m[1] / d, -m[2] / d, m[0] / d]
}

/// Turned by `angle` (radians, from x toward y) and `scale` times as large.
pub(super) fn turn(angle: f64, scale: f64) -> [f64; 4] {
    let (c, s) = (scale * cos(angle), scale * sin(angle));
    [c, -s, s, c]
}

impl Lay {
    /// The photo place of a map place.
    pub(super) fn photo(&self, map: Point) -> Point {
        let (x, y) = (map.0 - self.centre.0, map.1 - self.centre.1);
        (self.at.0 + self.m[0] * x + self.m[1] * y, self.at.1 + self.m[2] * x + self.m[3] * y)
    }

    /// Changed by small numbers in units of pixels of the maps: a shift across and down, then how far a place `reach` pixels
    /// from the centre moves by turning, by growing, by growing across alone and by slanting.
    pub(super) fn moved(&self, by: &[f64], reach: f64) -> Self {
        let get = |i: usize| by.get(i).copied().unwrap_or(0.0);
        let similar = turn(get(2) / reach, exp(get(3) / reach));
        let (stretch, slant) = (get(4) / reach, get(5) / reach);
        // Sides of a square that grow by half of it each way; a slant that leaves the turn alone.
        let shape = [exp(0.5 * stretch), 0.5 * slant, 0.5 * slant, exp(-0.5 * stretch)];
        let m = times(self.m, times(similar, shape));
        let at = (
            self.at.0 + self.m[0] * get(0) + self.m[1] * get(1),
            self.at.1 + self.m[2] * get(0) + self.m[3] * get(1),
        );
        Self { m, at, centre: self.centre }
    }

    /// From places of the full photo to places of the full grid.
    pub(super) fn transform(&self, photo_factor: f64, map_factor: f64) -> Option<PlaneTransform> {
        let m = inverse(self.m).map(|v| v * map_factor / photo_factor);
        let at = (self.at.0 * photo_factor, self.at.1 * photo_factor);
        let centre = (self.centre.0 * map_factor, self.centre.1 * map_factor);
        PlaneTransform::affine(
            [m[0], m[1], centre.0 - m[0] * at.0 - m[1] * at.1],
            [m[2], m[3], centre.1 - m[2] * at.0 - m[3] * at.1],
        )
    }

    /// The other way: a transform of the full photo as it is near the middle of the grid; `None` if it gives no place there.
    pub(super) fn of(
        transform: &PlaneTransform,
        photo_factor: f64,
        map_factor: f64,
        centre: Point,
    ) -> Option<Self> {
        let photo = |x: f64, y: f64| {
            let place = transform.back((x * map_factor, y * map_factor))?;
            Some((place.0 / photo_factor, place.1 / photo_factor))
        };
        let (at, right, below) =
            (photo(centre.0, centre.1)?, photo(centre.0 + 1.0, centre.1)?, photo(centre.0, centre.1 + 1.0)?);
        let m = [right.0 - at.0, below.0 - at.0, right.1 - at.1, below.1 - at.1];
        (m[0] * m[3] - m[1] * m[2] != 0.0).then_some(Self { m, at, centre })
    }

    /// How far apart two ways to lay the photo are, in pixels of the maps: root mean square over a field of this size,
    /// measured in the photo and brought to the maps by this one's scale.
    pub(super) fn apart(&self, other: &Self, size: (f64, f64)) -> f64 {
        let back = inverse(self.m);
        let mut sum = 0.0;
        for i in 0..25 {
            let place = (size.0 * f64::from(i % 5) / 4.0, size.1 * f64::from(i / 5) / 4.0);
            let (one, two) = (self.photo(place), other.photo(place));
            let (u, v) = (two.0 - one.0, two.1 - one.1);
            let (x, y) = (back[0] * u + back[1] * v, back[2] * u + back[3] * v);
            sum += x * x + y * y;
        }
        (sum / 25.0).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back_as_a_transform() {
        let lay = Lay { m: [1.9, 0.2, -0.1, 2.1], at: (150.0, 120.0), centre: (75.0, 55.0) };
        let transform = lay.transform(4.0, 2.0).unwrap();
        let again = Lay::of(&transform, 4.0, 2.0, lay.centre).unwrap();
        assert!(again.apart(&lay, (150.0, 110.0)) < 1e-9);
        let (u, v) = lay.photo((10.0, 20.0));
        let place = transform.at((4.0 * u, 4.0 * v)).unwrap();
        assert!((place.0 - 20.0).abs() < 1e-9 && (place.1 - 40.0).abs() < 1e-9);
    }

    #[test]
    fn small_moves_are_in_pixels_of_the_maps() {
        let lay = Lay { m: [2.0, 0.0, 0.0, 2.0], at: (150.0, 120.0), centre: (75.0, 55.0) };
        let moved = lay.moved(&[3.0, 4.0], 50.0);
        assert!((lay.apart(&moved, (150.0, 110.0)) - 5.0).abs() < 1e-12);
        let turned = lay.moved(&[0.0, 0.0, 0.01], 50.0);
        let place = (75.0 + 50.0, 55.0);
        assert!((turned.photo(place).1 - lay.photo(place).1 - 0.02).abs() < 1e-6);
    }
}
