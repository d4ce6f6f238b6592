//! Rows of a picture out of the rows of a map.

use crate::geometry::Window;
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::stack::Plane;

/// Which map pixels one picture pixel covers along one axis: first, one past the last, and the shares of the outer two.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Span {
    first: u32,
    end: u32,
    first_share: f64,
    last_share: f64,
}

/// A value in a picture pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sampled {
    /// Outside the map.
    Outside,
    /// No map pixel with data falls on it.
    Blank,
    /// The mean of those that do.
    Value(f64),
}

/// The spans of all picture pixels of one axis; `None` where the pixel's centre is outside the map.
fn spans(start: f64, step: f64, count: u32, length: u32) -> Result<Vec<Option<Span>>, OutOfMemory> {
    let mut out = try_vec(u64::from(count))?;
    out.extend((0..count).map(|i| {
        let centre = start + (f64::from(i) + 0.5) * step;
        if centre < 0.0 || centre >= f64::from(length) {
            return None;
        }
        let nearest = centre as u32;
        if step <= 1.0 {
            return Some(Span { first: nearest, end: nearest + 1, first_share: 1.0, last_share: 1.0 });
        }
        let low = (start + f64::from(i) * step).max(0.0);
        let high = (start + f64::from(i + 1) * step).min(f64::from(length));
        // Away from borders by rounding alone: a share below a millionth of a pixel is none.
        let first = (low + 1e-6).floor() as u32;
        let end = ((high - 1e-6).ceil() as u32).clamp(first + 1, length);
        let share = |pixel: u32| (high.min(f64::from(pixel + 1)) - low.max(f64::from(pixel))).clamp(0.0, 1.0);
        Some(Span { first, end, first_share: share(first), last_share: share(end - 1) })
    }));
    Ok(out)
}

impl Span {
    fn share(&self, pixel: u32) -> f64 {
        match pixel {
            p if p == self.first => self.first_share,
            p if p == self.end - 1 => self.last_share,
            _ => 1.0,
        }
    }
}

/// Where the rows and columns of a picture lie on a plane of pixels.
pub struct Sampler {
    across: Vec<Option<Span>>,
    down: Vec<Option<Span>>,
    sums: Vec<f64>,
    shares: Vec<f64>,
    row: Vec<f64>,
}

impl Sampler {
    /// For a window on a plane of `width` x `height` pixels.
    pub fn new(window: &Window, width: u32, height: u32) -> Result<Self, OutOfMemory> {
        let (step_x, step_y) = window.map_per_picture();
        let across = spans(window.x, step_x, window.out_width, width)?;
        let down = spans(window.y, step_y, window.out_height(), height)?;
        let columns = u64::from(window.out_width);
        Ok(Self {
            across,
            down,
            sums: try_filled_vec(columns, 0.0)?,
            shares: try_filled_vec(columns, 0.0)?,
            row: try_filled_vec(u64::from(width), 0.0)?,
        })
    }

    /// The map pixel under the centre of a picture pixel; `None` outside.
    pub fn nearest(&self, x: u32, y: u32) -> Option<(u32, u32)> {
        let middle = |span: &Span| span.first + (span.end - span.first - 1) / 2;
        let (across, down) = (self.across.get(x as usize)?.as_ref()?, self.down.get(y as usize)?.as_ref()?);
        Some((middle(across), middle(down)))
    }

    /// Picture row `y`: `each` is called for every column. `fill` writes a row of the map as f64, NaN where it is blank.
    pub fn row(
        &mut self,
        y: u32,
        mut fill: impl FnMut(u32, &mut [f64]),
        mut each: impl FnMut(usize, Sampled),
    ) {
        let Some(Some(down)) = self.down.get(y as usize).copied() else {
            (0..self.across.len()).for_each(|x| each(x, Sampled::Outside));
            return;
        };
        self.sums.fill(0.0);
        self.shares.fill(0.0);
        for line in down.first..down.end {
            fill(line, &mut self.row);
            let share_down = down.share(line);
            for (x, span) in self.across.iter().enumerate() {
                let Some(span) = span else { continue };
                for pixel in span.first..span.end {
                    let value = self.row[pixel as usize];
                    if value.is_finite() {
                        let share = share_down * span.share(pixel);
                        self.sums[x] += share * value;
                        self.shares[x] += share;
                    }
                }
            }
        }
        for (x, span) in self.across.iter().enumerate() {
            each(
                x,
                match span {
                    None => Sampled::Outside,
                    Some(_) if self.shares[x] <= 0.0 => Sampled::Blank,
                    // One whole pixel keeps its value to the last bit.
                    Some(_) if self.shares[x] == 1.0 => Sampled::Value(self.sums[x]),
                    Some(_) => Sampled::Value(self.sums[x] / self.shares[x]),
                },
            );
        }
    }

    /// As [`Sampler::row`], of a map.
    pub fn row_of(&mut self, plane: &Plane, y: u32, each: impl FnMut(usize, Sampled)) {
        self.row(y, |line, out| plane.read_row(line, out), each);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};

    fn sampled(values: Vec<f64>, width: u32, window: &Window) -> Vec<Sampled> {
        let height = values.len() as u32 / width;
        let plane = Plane::new(Samples::F64(Grid::from_vec(width, height, values).unwrap()));
        let mut sampler = Sampler::new(window, width, height).unwrap();
        let mut out = Vec::new();
        for y in 0..window.out_height() {
            sampler.row_of(&plane, y, |_, value| out.push(value));
        }
        out
    }

    #[test]
    fn means_are_by_area_and_leave_blanks_out() {
        use Sampled::Value;
        let whole = Window { out_width: 2, ..Window::whole(4, 2) };
        let got = sampled(vec![1.0, 3.0, 10.0, f64::NAN, 5.0, 7.0, 20.0, f64::NAN], 4, &whole);
        assert_eq!(got, [Value(4.0), Value(15.0)]);
        let thirds = Window { out_width: 2, ..Window::whole(3, 1) };
        // 1.5 pixels each: (0 + 6/2) / 1.5 and (6/2 + 12) / 1.5.
        assert_eq!(sampled(vec![0.0, 6.0, 12.0], 3, &thirds), [Value(2.0), Value(10.0)]);
    }

    #[test]
    fn magnified_pixels_are_squares_and_outside_is_outside() {
        use Sampled::{Blank, Outside, Value};
        let window = Window { x: -1.0, y: 0.0, width: 4.0, height: 1.0, out_width: 8 };
        let got = sampled(vec![3.0, f64::NAN], 2, &window);
        let row = [Outside, Outside, Value(3.0), Value(3.0), Blank, Blank, Outside, Outside];
        assert_eq!(got, [row, row].concat());
    }
}
