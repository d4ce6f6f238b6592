//! A map of the plane that meets every one of its points, in triangles: for supports that cockle or warp.

use super::finder::{Finder, best, turn};
use super::mesh::Mesh;
use super::{PlaneTransform, Point};

/// Corners of the frame around the points, and their distance in half-diagonals of the points' extent.
const RING: usize = 12;
const REACH: f64 = 30.0;

/// Between the points each triangle has an affine map of its own; along the edges they agree. Outside the points the map goes
/// on without a step: far out it is the map that fits all points best, shifted by what the nearest point is off it. Places
/// farther from the middle of the points than some 14 times the diagonal of their extent have none.
#[derive(Debug, Clone, PartialEq)]
pub struct Piecewise {
    from: Vec<Point>,
    to: Vec<Point>,
    triangles: Vec<[usize; 3]>,
    there: Finder,
    back: Finder,
}

impl Piecewise {
    /// From pairs of places, and the affine map that fits them best. Otherwise which points are folded: those of triangles
    /// that lie the other way round on the other side, ascending; none where the points give no triangles at all (fewer than
    /// three, two at one place, not finite).
    pub fn new(pairs: &[(Point, Point)], around: &PlaneTransform) -> Result<Self, Vec<usize>> {
        let (from, to, triangles) = net(pairs, around)?;
        let there = Finder::new(&from, RING, &triangles);
        let back = Finder::new(&to, RING, &triangles);
        Ok(Self { from, to, triangles, there, back })
    }

    /// Where one place goes, for a map that is used once. `None` where there is no map, or no place.
    pub fn once(pairs: &[(Point, Point)], around: &PlaneTransform, place: Point) -> Option<Point> {
        let (from, to, triangles) = net(pairs, around).ok()?;
        let (number, weights) = best(&from, triangles.iter().copied().enumerate(), place)?;
        Some(mean(triangles[number].map(|i| to[i]), weights))
    }

    /// Where a place goes; `None` far outside.
    pub fn at(&self, from: Point) -> Option<Point> {
        let (number, weights) = self.there.find(&self.from, &self.triangles, from)?;
        Some(mean(self.triangles[number].map(|i| self.to[i]), weights))
    }

    /// Where a place comes from; `None` far outside.
    pub fn back(&self, to: Point) -> Option<Point> {
        let (number, weights) = self.back.find(&self.to, &self.triangles, to)?;
        Some(mean(self.triangles[number].map(|i| self.from[i]), weights))
    }

    /// How the place changes with x and with y of where it comes from; on an edge, as in one of its triangles.
    pub fn slopes(&self, from: Point) -> Option<[f64; 4]> {
        let (number, _) = self.there.find(&self.from, &self.triangles, from)?;
        let [a, b, c] = self.triangles[number].map(|i| self.from[i]);
        let [u, v, w] = self.triangles[number].map(|i| self.to[i]);
        let whole = turn(a, b, c);
        let (bx, by, cx, cy) = (b.0 - a.0, b.1 - a.1, c.0 - a.0, c.1 - a.1);
        let row = |p: f64, q: f64| ((p * cy - q * by) / whole, (q * bx - p * cx) / whole);
        let ((xx, xy), (yx, yy)) = (row(v.0 - u.0, w.0 - u.0), row(v.1 - u.1, w.1 - u.1));
        Some([xx, xy, yx, yy])
    }

    /// The triangles whose three corners are pairs, by their numbers.
    pub fn triangles(&self) -> impl Iterator<Item = [usize; 3]> {
        let inner = self.triangles.iter().filter(|t| t.iter().all(|&i| i >= RING));
        inner.map(|t| t.map(|i| i - RING))
    }
}

type Net = (Vec<Point>, Vec<Point>, Vec<[usize; 3]>);

/// Places on both sides, the frame's first, and the triangles between them.
fn net(pairs: &[(Point, Point)], around: &PlaneTransform) -> Result<Net, Vec<usize>> {
    let nothing = Vec::new;
    let off = |(from, to): &(Point, Point)| around.at(*from).map(|at| (to.0 - at.0, to.1 - at.1));
    let off: Vec<Point> = pairs.iter().map(off).collect::<Option<_>>().ok_or_else(nothing)?;
    let mut from = frame(pairs).ok_or_else(nothing)?;
    let mut to = Vec::new();
    for corner in &from {
        let distance = |i: &usize| {
            let (x, y) = (pairs[*i].0.0 - corner.0, pairs[*i].0.1 - corner.1);
            x * x + y * y
        };
        let nearer =
            |a: &usize, b: &usize| distance(a).total_cmp(&distance(b)).then(pairs_differ(pairs, *a, *b));
        let nearest = (0..pairs.len()).min_by(nearer).ok_or_else(nothing)?;
        let at = around.at(*corner).ok_or_else(nothing)?;
        to.push((at.0 + off[nearest].0, at.1 + off[nearest].1));
    }
    from.extend(pairs.iter().map(|pair| pair.0));
    to.extend(pairs.iter().map(|pair| pair.1));
    let mut mesh = Mesh::of(&from, RING).ok_or_else(nothing)?;
    let [a, b, c, d] = around.slopes(from[RING]).ok_or_else(nothing)?;
    let grows = a * d - b * c;
    let is_sound = |t: [usize; 3]| {
        let (before, after) = (turn(from[t[0]], from[t[1]], from[t[2]]), turn(to[t[0]], to[t[1]], to[t[2]]));
        before > 0.0 && after / grows > 1e-6 * before
    };
    let folded = mesh.mended(is_sound);
    if folded.is_empty() {
        return Ok((from, to, mesh.triangles));
    }
    let mut points: Vec<usize> = folded.iter().flatten().filter(|&&i| i >= RING).map(|i| i - RING).collect();
    points.sort_unstable();
    points.dedup();
    Err(points)
}

/// So that of points at equal distance the same one is taken whatever their order.
fn pairs_differ(pairs: &[(Point, Point)], a: usize, b: usize) -> core::cmp::Ordering {
    let (a, b) = (pairs[a].0, pairs[b].0);
    a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
}

/// Corners of a regular polygon far around the places of the pairs; `None` without three of them.
fn frame(pairs: &[(Point, Point)]) -> Option<Vec<Point>> {
    let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    for &((x, y), _) in pairs {
        low = (low.0.min(x), low.1.min(y));
        high = (high.0.max(x), high.1.max(y));
    }
    let (width, height) = (high.0 - low.0, high.1 - low.1);
    let radius = REACH * 0.5 * (width * width + height * height).sqrt();
    let centre = (0.5 * (low.0 + high.0), 0.5 * (low.1 + high.1));
    // Cosines of 0, 30, 60 ... 330 degrees; the sines are those of 90 degrees less.
    let root = 0.5 * 3.0f64.sqrt();
    let cosines = [1.0, root, 0.5, 0.0, -0.5, -root, -1.0, -root, -0.5, 0.0, 0.5, root];
    let corner = |i: usize| (centre.0 + radius * cosines[i], centre.1 + radius * cosines[(i + 9) % RING]);
    (pairs.len() >= 3 && radius.is_finite() && radius > 0.0).then(|| (0..RING).map(corner).collect())
}

fn mean(places: [Point; 3], weights: [f64; 3]) -> Point {
    let sum = |of: fn(&Point) -> f64| places.iter().zip(weights).map(|(place, w)| w * of(place)).sum::<f64>();
    (sum(|p| p.0), sum(|p| p.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(bend: f64) -> Vec<(Point, Point)> {
        let place = |i: i32| (f64::from(i % 5) * 100.0, f64::from(i / 5) * 80.0);
        let bent = |(x, y): Point| (2.0 * x + bend * y * (320.0 - y) / 25_600.0 + 7.0, 2.0 * y - 3.0);
        (0..25).map(place).map(|p| (p, bent(p))).collect()
    }

    fn double() -> PlaneTransform {
        PlaneTransform::affine([2.0, 0.0, 7.0], [0.0, 2.0, -3.0]).unwrap()
    }

    #[test]
    fn every_point_is_met_and_the_way_back_leads_back() {
        let pairs = grid(12.0);
        let map = Piecewise::new(&pairs, &double()).unwrap();
        let near = |a: Point, b: Point| (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9;
        for &(from, to) in &pairs {
            assert!(near(map.at(from).unwrap(), to) && near(map.back(to).unwrap(), from));
        }
        for i in 0..600 {
            let place = (f64::from(i % 30) * 40.0 - 400.0, f64::from(i / 30) * 40.0 - 240.0);
            let to = map.at(place).unwrap();
            assert!(near(map.back(to).unwrap(), place), "{place:?} {to:?} {:?}", map.back(to));
            let once = Piecewise::once(&pairs, &double(), place).unwrap();
            assert!(near(once, to));
        }
        assert_eq!(map.triangles().count(), 32);
        assert_eq!((map.at((1e6, 0.0)), map.at((f64::NAN, 0.0)), map.back((0.0, -1e7))), (None, None, None));
    }

    #[test]
    fn outside_it_goes_on_without_a_step() {
        let map = Piecewise::new(&grid(12.0), &double()).unwrap();
        let mut before = map.at((-3000.0, 150.0)).unwrap();
        for i in 0..6400 {
            let x = -3000.0 + f64::from(i + 1);
            let at = map.at((x, 150.0)).unwrap();
            assert!((at.0 - before.0 - 2.0).abs() < 0.3 && (at.1 - before.1).abs() < 0.3, "{x}");
            before = at;
        }
        // The map that is the same everywhere goes on as it is.
        let flat = Piecewise::new(&grid(0.0), &double()).unwrap();
        let (x, y) = flat.at((-2500.0, 3000.0)).unwrap();
        assert!((x + 4993.0).abs() < 1e-9 && (y - 5997.0).abs() < 1e-9);
        let slopes = flat.slopes((-2500.0, 3000.0)).unwrap();
        assert!(slopes.iter().zip([2.0, 0.0, 0.0, 2.0]).all(|(a, b)| (a - b).abs() < 1e-9));
    }

    #[test]
    fn folds_are_found_and_mirrored_pictures_are_none() {
        let mut pairs = grid(12.0);
        // The middle point beyond its neighbour to the right.
        pairs[12].1.0 += 260.0;
        let folded = Piecewise::new(&pairs, &double()).unwrap_err();
        assert!(folded.contains(&12) && folded.len() < 9, "{folded:?}");
        assert_eq!(Piecewise::once(&pairs, &double(), (1.0, 1.0)), None);
        let mirrored: Vec<(Point, Point)> = grid(12.0).iter().map(|&((x, y), to)| ((-x, y), to)).collect();
        let around = PlaneTransform::affine([-2.0, 0.0, 7.0], [0.0, 2.0, -3.0]).unwrap();
        assert!(Piecewise::new(&mirrored, &around).is_ok());
        assert_eq!(Piecewise::new(&pairs[..2], &double()), Err(Vec::new()));
    }

    #[test]
    fn points_nearly_in_line_along_an_edge_do_not_fold() {
        // Along the left edge one point lies inward in one picture and outward in the other.
        let mut pairs = grid(0.0);
        pairs[10].0.0 = 1.5;
        pairs[10].1.0 = 7.0 - 2.0;
        let map = Piecewise::new(&pairs, &double()).unwrap();
        let (x, _) = map.at(pairs[10].0).unwrap();
        assert!((x - 5.0).abs() < 1e-9);
    }
}
