//! Letters and bars drawn into a picture.

use super::survey::{Survey, stored, stored_row};
use crate::grid::try_filled_vec;
use crate::notice::{OutOfMemory, Patch, Sign};
use crate::stack::Plane;
use std::collections::BTreeMap;

/// Fewer pixels at an end of the range are no drawing.
const FEWEST: u64 = 24;
/// A drawing covers no more of the map than this share.
const LARGEST_SHARE: f64 = 0.15;
/// More separate shapes than this are noise.
const MOST_SHAPES: usize = 400;

type Point = (u32, u32);

/// Pixels that touch each other, also at corners.
#[derive(Debug, Clone)]
struct Shape {
    points: Vec<Point>,
    left: u32,
    right: u32,
    top: u32,
    bottom: u32,
}

impl Shape {
    fn width(&self) -> u32 {
        self.right - self.left + 1
    }

    fn height(&self) -> u32 {
        self.bottom - self.top + 1
    }

    fn is_filled(&self) -> bool {
        self.points.len() as u64 == u64::from(self.width()) * u64::from(self.height())
    }

    fn contains(&self, point: Point) -> bool {
        self.points.binary_search(&point).is_ok()
    }

    /// Pixels at exactly this distance (Chebyshev) outside, inside the map.
    fn ring(&self, distance: i64, (width, height): (u32, u32)) -> Vec<Point> {
        let mut out: Vec<Point> = Vec::new();
        for &(x, y) in &self.points {
            for (dx, dy) in
                (-distance..=distance).flat_map(|dx| (-distance..=distance).map(move |dy| (dx, dy)))
            {
                let (at_x, at_y) = (i64::from(x) + dx, i64::from(y) + dy);
                let is_at = dx.abs().max(dy.abs()) == distance;
                if is_at && at_x >= 0 && at_y >= 0 && at_x < i64::from(width) && at_y < i64::from(height) {
                    out.push((at_x as u32, at_y as u32));
                }
            }
        }
        out.sort_unstable();
        out.dedup();
        out.retain(|&point| !self.contains(point));
        out
    }
}

/// Pixels that hold `value`; `None` if there are more than `most`.
fn pixels_at(plane: &Plane, value: f64, most: u64) -> Result<Option<Vec<Point>>, OutOfMemory> {
    let width = plane.width();
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut out = Vec::new();
    for y in 0..plane.height() {
        stored_row(plane, y, &mut row, &mut scratch);
        out.extend((0..width).filter(|&x| row[x as usize] == value).map(|x| (x, y)));
        if out.len() as u64 > most {
            return Ok(None);
        }
    }
    Ok(Some(out))
}

/// Splits points into shapes, in reading order of their first pixel.
fn shapes(points: &[Point]) -> Vec<Shape> {
    let index: BTreeMap<Point, usize> = points.iter().enumerate().map(|(i, &p)| (p, i)).collect();
    let mut is_taken = vec![false; points.len()];
    let mut out = Vec::new();
    for start in 0..points.len() {
        if is_taken[start] {
            continue;
        }
        is_taken[start] = true;
        let mut open = vec![start];
        let mut found = Vec::new();
        while let Some(at) = open.pop() {
            let (x, y) = points[at];
            found.push((x, y));
            for near_y in y.saturating_sub(1)..=y.saturating_add(1) {
                for near_x in x.saturating_sub(1)..=x.saturating_add(1) {
                    if let Some(&next) = index.get(&(near_x, near_y))
                        && !is_taken[next]
                    {
                        is_taken[next] = true;
                        open.push(next);
                    }
                }
            }
        }
        found.sort_unstable();
        let of = |f: &dyn Fn(&Point) -> u32| {
            (found.iter().map(f).min().unwrap_or(0), found.iter().map(f).max().unwrap_or(0))
        };
        let ((left, right), (top, bottom)) = (of(&|p| p.0), of(&|p| p.1));
        out.push(Shape { points: found, left, right, top, bottom });
    }
    out
}

/// Boxes around shapes that stand near each other (nearer than the higher of both, at least 4 pixels), grown by 2 for rims
/// that a smooth drawing has.
fn patches(shapes: &[&Shape], (width, height): (u32, u32)) -> Vec<Patch> {
    let mut boxes: Vec<(u32, u32, u32, u32)> =
        shapes.iter().map(|s| (s.left, s.top, s.right, s.bottom)).collect();
    let near = |a: &(u32, u32, u32, u32), b: &(u32, u32, u32, u32)| {
        let room = (a.3 - a.1 + 1).max(b.3 - b.1 + 1).clamp(4, 40);
        a.0 <= b.2 + room && b.0 <= a.2 + room && a.1 <= b.3 + room && b.1 <= a.3 + room
    };
    'again: loop {
        for i in 0..boxes.len() {
            for j in i + 1..boxes.len() {
                if near(&boxes[i], &boxes[j]) {
                    let (a, b) = (boxes[i], boxes.remove(j));
                    boxes[i] = (a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3));
                    continue 'again;
                }
            }
        }
        break;
    }
    let grown = |(left, top, right, bottom): (u32, u32, u32, u32)| {
        let (x, y) = (left.saturating_sub(2), top.saturating_sub(2));
        let (end_x, end_y) = ((right + 3).min(width), (bottom + 3).min(height));
        Patch { x, y, width: end_x - x, height: end_y - y }
    };
    boxes.into_iter().map(grown).collect()
}

fn is_small(patches: &[Patch], (width, height): (u32, u32)) -> bool {
    let area: u64 = patches.iter().map(|p| u64::from(p.width) * u64::from(p.height)).sum();
    area as f64 <= LARGEST_SHARE * f64::from(width) * f64::from(height)
}

/// No rim: the pixels just outside are as those further out. A beam blurs what is on an object; a drawing has no beam.
fn has_no_rim(plane: &Plane, shape: &Shape, end: f64) -> bool {
    let mean = |distance: i64| {
        let ring: Vec<f64> = shape
            .ring(distance, plane.size())
            .into_iter()
            .filter_map(|(x, y)| stored(plane, x, y))
            .filter(|v| !v.is_nan() && *v != end)
            .collect();
        (!ring.is_empty()).then(|| ring.iter().sum::<f64>() / ring.len() as f64)
    };
    match (mean(1), mean(2)) {
        (Some(near), Some(far)) => (near - far).abs() <= 0.15 * (end - far).abs() && (end - far).abs() > 0.0,
        _ => false,
    }
}

/// Runs of at least three shapes of about one height on one line, each a letter's width from the next.
fn letters(shapes: &[Shape]) -> Vec<&Shape> {
    let mut candidates: Vec<&Shape> = shapes
        .iter()
        .filter(|s| (5..=80).contains(&s.height()) && s.width() <= 2 * s.height())
        .filter(|s| !s.is_filled() || s.width() * 2 <= s.height())
        .collect();
    candidates.sort_by_key(|s| (s.left, s.top));
    let mut out: Vec<&Shape> = Vec::new();
    for first in &candidates {
        let mut run = vec![*first];
        for next in &candidates {
            let last = run[run.len() - 1];
            let height = f64::from(last.height());
            let is_level = last.bottom.abs_diff(next.bottom) <= 1
                && f64::from(last.height().abs_diff(next.height())) <= (0.2 * height).max(1.0);
            if next.left > last.right && f64::from(next.left - last.right) <= 1.5 * height && is_level {
                run.push(next);
            }
        }
        // Three letters alike in all (1, 1, 1) are a grid of points or a fence.
        let is_varied = run.iter().any(|s| s.points.len() != run[0].points.len());
        if run.len() >= 3 && is_varied {
            for shape in run {
                if !out.iter().any(|o| o.left == shape.left && o.top == shape.top) {
                    out.push(shape);
                }
            }
        }
    }
    out
}

/// Drawings in one map: a filled bar at least 10 long, 2 thick and four times as long as thick, or three letters in a row,
/// all at exactly the largest value and without a rim.
///
/// Not seen: drawings in the dark, smoothed ones, those after a lossy compression, single letters.
pub(super) fn in_map(plane: &Plane, survey: &Survey) -> Result<Option<Sign>, OutOfMemory> {
    let Some((low, high)) = survey.range else { return Ok(None) };
    let most = survey.used() / 20;
    if low == high || survey.high_count < FEWEST || survey.high_count > most {
        return Ok(None);
    }
    let Some(points) = pixels_at(plane, high, most.min(50_000))? else { return Ok(None) };
    let shapes = shapes(&points);
    if shapes.len() > MOST_SHAPES {
        return Ok(None);
    }
    let sharp: Vec<Shape> = shapes.into_iter().filter(|shape| has_no_rim(plane, shape, high)).collect();
    let mut drawn: Vec<&Shape> = sharp
        .iter()
        .filter(|s| {
            let (long, thick) = (s.width().max(s.height()), s.width().min(s.height()));
            s.is_filled() && long >= 10 && thick >= 2 && long >= 4 * thick
        })
        .collect();
    drawn.extend(letters(&sharp));
    let found = patches(&drawn, plane.size());
    Ok((!drawn.is_empty() && is_small(&found, plane.size()))
        .then_some(Sign::BurntIn { patches: found, maps: 1 }))
}

/// Drawings that stand in at least two maps and 60 % of those that could hold them, pixel by pixel. The second is which
/// maps hold them (indices). All maps of one size.
pub(super) fn in_stack(
    maps: &[(&Plane, &Survey)],
    at_high: bool,
) -> Result<Option<(Sign, Vec<usize>)>, OutOfMemory> {
    let end = |survey: &Survey| survey.range.map(|(low, high)| if at_high { high } else { low });
    let pixels = |survey: &Survey| if at_high { survey.high_count } else { survey.low_count };
    let mut could: Vec<usize> = (0..maps.len())
        .filter(|&i| {
            let survey = maps[i].1;
            survey.range.is_some_and(|(low, high)| low < high)
                && (FEWEST..=survey.used() / 5).contains(&pixels(survey))
        })
        .collect();
    could.sort_by_key(|&i| (pixels(maps[i].1), i));
    let Some(&base) = could.first().filter(|_| could.len() >= 2) else { return Ok(None) };
    let is_at = |i: usize, (x, y): Point| stored(maps[i].0, x, y) == end(maps[i].1);
    let Some(value) = end(maps[base].1) else { return Ok(None) };
    let Some(mut points) = pixels_at(maps[base].0, value, 200_000)? else { return Ok(None) };
    let votes = |point: Point| could.iter().filter(|&&i| is_at(i, point)).count();
    points.retain(|&point| votes(point) >= 2.max((could.len() * 3).div_ceil(5)));
    if (points.len() as u64) < FEWEST {
        return Ok(None);
    }
    let holders: Vec<usize> = could
        .iter()
        .copied()
        .filter(|&i| points.iter().filter(|&&p| is_at(i, p)).count() * 10 >= points.len() * 9)
        .collect();
    let size = maps[base].0.size();
    let found = shapes(&points);
    if holders.len() < 2 || found.len() > MOST_SHAPES {
        return Ok(None);
    }
    // The outline is the same in all: hardly a pixel beside it is at the end in any of them.
    let drawn: Vec<&Shape> = found
        .iter()
        .filter(|shape| {
            let ring = shape.ring(1, size);
            let beside = ring.iter().filter(|&&p| holders.iter().any(|&i| is_at(i, p))).count();
            shape.points.len() >= 6 && beside * 10 <= ring.len()
        })
        .collect();
    let area: u64 = drawn.iter().map(|s| s.points.len() as u64).sum();
    let patches = patches(&drawn, size);
    let mut holders = holders;
    holders.sort_unstable();
    Ok((area >= FEWEST && is_small(&patches, size))
        .then_some((Sign::BurntIn { patches, maps: holders.len() as u64 }, holders)))
}
