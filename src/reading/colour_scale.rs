//! Tells the picture of a map in the colours of a scale from a photo, by two signs. Either suffices:
//! a bar of the scale is burnt in, and most other colours are colours of the bar; or the picture has few colours, all
//! on one smooth curve that bends. Both are common practice without a source; the limits were set on pictures made by a
//! plotting library in 18 scales, and on photos that packages publish (tests/published). What has neither (a JPEG
//! without a bar, a scale of a single hue without a bar) stays a photo.

use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;
use std::collections::BTreeMap;

/// Difference of the largest and smallest channel from which a pixel counts as coloured.
const COLOURED: u8 = 32;
/// The longest side at which a picture is looked at.
const LONGEST_SIDE: u32 = 1600;

type Colour = [f64; 3];

fn is_coloured([r, g, b]: [u8; 3]) -> bool {
    r.max(g).max(b) - r.min(g).min(b) >= COLOURED
}

fn largest_difference(a: [u8; 3], b: [u8; 3]) -> u8 {
    a.iter().zip(b).map(|(a, b)| a.abs_diff(b)).max().unwrap_or(0)
}

fn distance_squared(a: Colour, b: Colour) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum()
}

/// Of a picture of this size every so-many-th pixel is looked at, across and down, from the upper left one on.
pub(super) fn stride((width, height): (u32, u32)) -> u32 {
    width.max(height).div_ceil(LONGEST_SIDE).max(1)
}

/// True where the colours most likely stand for values. `looked_at` are the pixels that [`stride`] leaves.
pub(super) fn is_colour_mapped(looked_at: &Grid<[u8; 3]>) -> Result<bool, OutOfMemory> {
    let (width, height) = (looked_at.width() as usize, looked_at.height() as usize);
    let upright = looked_at.data();
    let mut turned = try_filled_vec(looked_at.len(), [0; 3])?;
    for (y, row) in looked_at.rows().enumerate() {
        for (x, pixel) in row.iter().enumerate() {
            turned[x * height + y] = *pixel;
        }
    }
    let coloured = upright.iter().filter(|&&pixel| is_coloured(pixel)).count();
    if coloured < 500 || coloured * 20 < upright.len() {
        return Ok(false);
    }
    let all = Flat { width, height, pixels: upright };
    Ok(all.has_bar(upright)
        || Flat { width: height, height: width, pixels: &turned }.has_bar(upright)
        || is_one_bent_curve(upright, coloured))
}

/// A picture row by row.
struct Flat<'a> {
    width: usize,
    height: usize,
    pixels: &'a [[u8; 3]],
}

/// Pixels across in which a bar must be even.
const BAR_WIDTH: usize = 6;

impl Flat<'_> {
    fn at(&self, x: usize, y: usize) -> [u8; 3] {
        self.pixels[y * self.width + x]
    }

    /// True with an upright bar in which colour runs smoothly over a long way, whose colours are most colours of `all`.
    fn has_bar(&self, all: &[[u8; 3]]) -> bool {
        let shortest = (self.height / 6).max(48);
        let is_even = |x: usize, y: usize| {
            (1..BAR_WIDTH).all(|by| largest_difference(self.at(x, y), self.at(x + by, y)) <= 14)
        };
        for x in (0..self.width.saturating_sub(BAR_WIDTH)).step_by(3) {
            let mut start = 0;
            for y in 0..=self.height {
                let goes_on = y < self.height
                    && is_even(x, y)
                    && (y == start || largest_difference(self.at(x, y - 1), self.at(x, y)) <= 30);
                if goes_on {
                    continue;
                }
                if y - start >= shortest && self.is_bar(x, start, y) && self.covers(x, start, y, all) {
                    return true;
                }
                start = if y < self.height && is_even(x, y) { y } else { y + 1 };
            }
        }
        false
    }

    /// True for an even stretch that runs far and without turning back in small steps, and ends sharply at both sides.
    fn is_bar(&self, x: usize, start: usize, end: usize) -> bool {
        let middle = x + BAR_WIDTH / 2;
        let way = |step: usize| -> u32 {
            let places: Vec<usize> = (start..end).step_by(step).collect();
            places
                .windows(2)
                .map(|pair| u32::from(largest_difference(self.at(middle, pair[0]), self.at(middle, pair[1]))))
                .sum()
        };
        let (fine, coarse) = (way(4), way(16));
        let coloured = (start..end).filter(|&y| is_coloured(self.at(middle, y))).count();
        if coarse < 160 || fine * 5 > coarse * 6 || coloured * 5 < (end - start) * 2 {
            return false;
        }
        // Where the bar ends to a side: the first column that is another in most rows.
        let is_other = |column: usize, least: u8| {
            let rows =
                (start..end).filter(|&y| largest_difference(self.at(column, y), self.at(middle, y)) > least);
            rows.count() * 10 >= (end - start) * 7
        };
        let left = (0..x).rev().find(|&column| is_other(column, 20));
        let right = (x + BAR_WIDTH..self.width).find(|&column| is_other(column, 20));
        // A few columns on, past the frame and what a coarse compression smears, it must be clearly another.
        match (left, right) {
            (Some(left), Some(right)) => {
                (right - left) * 3 < self.width
                    && (2..=4).any(|by| is_other(left.saturating_sub(by), 50))
                    && (2..=4).any(|by| is_other((right + by).min(self.width - 1), 50))
            }
            _ => false,
        }
    }

    /// True when three quarters of the coloured pixels have a colour of the bar, near enough.
    fn covers(&self, x: usize, start: usize, end: usize, all: &[[u8; 3]]) -> bool {
        let middle = x + BAR_WIDTH / 2;
        let bar: Vec<Colour> = (start..end).step_by(2).map(|y| self.at(middle, y).map(f64::from)).collect();
        let every = (all.len() / 8000).max(1);
        let (mut seen, mut near) = (0, 0);
        for pixel in all.iter().step_by(every).filter(|&&pixel| is_coloured(pixel)) {
            seen += 1;
            let colour = pixel.map(f64::from);
            near += usize::from(bar.iter().any(|&other| distance_squared(colour, other) < 45.0 * 45.0));
        }
        near * 4 >= seen * 3
    }
}

/// Mean and covariance of weighted colours, as the share of the variance along the longest axis; 1 for a line.
fn linearity<'a>(colours: impl Iterator<Item = &'a (Colour, f64)> + Clone) -> f64 {
    let weight: f64 = colours.clone().map(|(_, weight)| weight).sum();
    let mut mean = [0.0; 3];
    for (colour, w) in colours.clone() {
        (0..3).for_each(|i| mean[i] += colour[i] * w / weight);
    }
    let mut covariance = [[0.0; 3]; 3];
    for (colour, w) in colours {
        for i in 0..3 {
            for j in 0..3 {
                covariance[i][j] += (colour[i] - mean[i]) * (colour[j] - mean[j]) * w / weight;
            }
        }
    }
    let trace: f64 = (0..3).map(|i| covariance[i][i]).sum();
    if trace <= 0.0 {
        return 0.0;
    }
    // The largest eigenvalue by power iteration, from a vector that no symmetry makes orthogonal to it.
    let mut vector = [0.8, 0.5, 0.33];
    let mut largest = 0.0;
    for _ in 0..60 {
        let image: Vec<f64> =
            covariance.iter().map(|row| row.iter().zip(vector).map(|(a, b)| a * b).sum()).collect();
        let length = image.iter().map(|v| v * v).sum::<f64>().sqrt();
        if length <= 0.0 {
            return 0.0;
        }
        largest = length;
        (0..3).for_each(|i| vector[i] = image[i] / length);
    }
    largest / trace
}

/// True for 12 to 300 colours, which in every neighbourhood lie on a line and altogether don't.
fn is_one_bent_curve(pixels: &[[u8; 3]], coloured: usize) -> bool {
    const MOST: usize = 4096;
    if coloured * 10 < pixels.len() * 3 {
        return false;
    }
    let mut counts: BTreeMap<[u8; 3], u32> = BTreeMap::new();
    for &pixel in pixels.iter().filter(|&&pixel| is_coloured(pixel)) {
        *counts.entry(pixel).or_default() += 1;
        if counts.len() > MOST {
            return false;
        }
    }
    let mut colours: Vec<(Colour, f64)> =
        counts.into_iter().map(|(colour, count)| (colour.map(f64::from), f64::from(count))).collect();
    colours.sort_by(|a, b| b.1.total_cmp(&a.1));
    // The colours of 98 of 100 pixels; the rest is lettering.
    let mut left = coloured as f64 * 0.98;
    let enough = colours.iter().position(|(_, count)| {
        left -= count;
        left <= 0.0
    });
    colours.truncate(enough.map_or(colours.len(), |last| last + 1));
    if !(12..=300).contains(&colours.len()) {
        return false;
    }
    // Each colour once: how often a map has a value says nothing of its scale.
    let once: Vec<(Colour, f64)> = colours.iter().map(|(colour, _)| (*colour, 1.0)).collect();
    if linearity(once.iter()) > 0.94 {
        return false;
    }
    let total: f64 = colours.iter().map(|(_, weight)| weight).sum();
    let local: f64 = colours
        .iter()
        .map(|(colour, weight)| {
            let near = colours.iter().filter(|(other, _)| distance_squared(*colour, *other) < 40.0 * 40.0);
            if near.clone().count() < 3 { 0.0 } else { weight * linearity(near) }
        })
        .sum();
    local >= 0.93 * total
}
