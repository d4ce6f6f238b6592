//! From maps to numbers that can be compared: stabilised, standardised, smoothed where nothing changes.

use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::order;
use crate::numerics::stabilise::{anscombe, inverse_algebraic};

/// A map as zones are made of it.
#[derive(Debug, Clone, Copy)]
pub struct Layer<'a> {
    /// Values, row by row; NaN where there is none.
    pub values: &'a [f64],
    /// Whether they are counts, which scatter as counts do.
    pub is_counts: bool,
}

/// Maps of one size, and which pixels are used.
#[derive(Debug, Clone)]
pub struct Layers<'a> {
    /// Pixels in a row.
    pub width: usize,
    /// The maps.
    pub maps: Vec<Layer<'a>>,
    /// Pixels that are asked about and have data in every map.
    pub used: Vec<bool>,
}

/// How a map was made ready.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    /// Counts whose scatter was made even.
    Stabilised,
    /// Counts summed over squares of so many pixels a side around each pixel, then as above: too faint alone.
    Pooled(u32),
    /// Other values, over their own spread.
    OwnSpread,
}

/// What takes a value of a map to its standardised one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scaling {
    /// How it was made ready.
    pub way: Way,
    /// Taken off after that.
    pub mean: f64,
    /// Divided by after that.
    pub spread: f64,
    /// What noise alone makes of it: one standard deviation, standardised.
    pub noise: f64,
}

/// Standardised values of all maps.
#[derive(Debug, Clone)]
pub struct Field {
    /// Pixels in a row.
    pub width: usize,
    /// As many as pixels; false where there are no numbers.
    pub used: Vec<bool>,
    /// One for each map.
    pub scalings: Vec<Scaling>,
    /// The maps of a pixel one after the other; 0 where it is not used.
    pub values: Vec<f32>,
}

/// Counts below this mean are not stabilised (variance 0.92 at 2).
const FAINT: f64 = 2.0;
/// A map whose bright parts have so many counts is left as it is, however dark the rest.
const BRIGHT: f64 = 10.0;
/// The share of the pixels below what is taken for bright.
const BRIGHT_FROM: f64 = 0.99;
/// The largest squares over which counts are summed.
const MOST_POOLED: u32 = 7;
/// Mean over standard deviation of a normal distribution's median squared difference of two.
const MEDIAN_OF_SQUARES: f64 = 0.454_936_423_119_572_7;

impl Layers<'_> {
    /// Number of pixels, used or not.
    pub fn pixels(&self) -> usize {
        self.used.len()
    }

    /// Values of a map in the pixels that are used.
    fn values(&self, map: usize) -> Result<Vec<f64>, OutOfMemory> {
        let mut out = try_vec(self.pixels() as u64)?;
        out.extend(self.maps[map].values.iter().zip(&self.used).filter(|(_, used)| **used).map(|(v, _)| *v));
        Ok(out)
    }

    /// How a map is made ready: by what it counts.
    ///
    /// # Errors
    /// No memory.
    pub fn way(&self, map: usize) -> Result<Way, OutOfMemory> {
        if !self.maps[map].is_counts {
            return Ok(Way::OwnSpread);
        }
        let mut values = self.values(map)?;
        let mean = values.iter().sum::<f64>() / (values.len() as f64).max(1.0);
        let bright = order::low_quantile_unsorted(&mut values, BRIGHT_FROM).unwrap_or(0.0);
        if mean >= FAINT || bright >= BRIGHT {
            return Ok(Way::Stabilised);
        }
        let side = (3..=MOST_POOLED).step_by(2).find(|&s| mean * f64::from(s * s) >= FAINT);
        Ok(Way::Pooled(side.unwrap_or(MOST_POOLED)))
    }

    /// Whether neighbours of a map are more alike than chance makes them: its lag-one correlation, to the right and down,
    /// and that over its standard error without any pattern, 1 / √pairs. `None` where nothing varies.
    pub fn pattern(&self, map: usize) -> Option<(f64, f64)> {
        let Layer { values, is_counts } = self.maps[map];
        let of = |i: usize| if is_counts { anscombe(values[i]) } else { values[i] };
        let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
        for i in (0..self.pixels()).filter(|&i| self.used[i]) {
            n += 1.0;
            sum += of(i);
        }
        let mean = sum / n;
        for i in (0..self.pixels()).filter(|&i| self.used[i]) {
            squares += (of(i) - mean) * (of(i) - mean);
        }
        if n < 2.0 || squares.is_nan() || squares <= 1e-12 * n * (1.0 + mean * mean) {
            return None;
        }
        let (mut products, mut pairs) = (0.0, 0.0);
        for i in (0..self.pixels()).filter(|&i| self.used[i]) {
            let right = (i % self.width + 1 < self.width).then_some(i + 1);
            let down = Some(i + self.width);
            for other in [right, down].into_iter().flatten() {
                if other < self.pixels() && self.used[other] {
                    products += (of(i) - mean) * (of(other) - mean);
                    pairs += 1.0;
                }
            }
        }
        if pairs < 1.0 {
            return None;
        }
        let correlation = products / pairs / (squares / n);
        Some((correlation, correlation * f64::sqrt(pairs)))
    }

    /// Standardised values, each map made ready in its way; with `like`, standardised as that field is.
    ///
    /// Counts: Anscombe's transformation, then mean 0 and standard deviation 1 (over n). Other values: less their median,
    /// over the distance of their 5th and 95th percentile by 3.29, a standard deviation where they are normal.
    ///
    /// # Errors
    /// No memory.
    pub fn standardised(&self, like: Option<&Field>) -> Result<Field, OutOfMemory> {
        let p = self.maps.len();
        let mut values = try_filled_vec(self.pixels() as u64 * p as u64, 0.0f32)?;
        let mut scalings = Vec::new();
        for map in 0..p {
            let way = match like {
                Some(field) => field.scalings[map].way,
                None => self.way(map)?,
            };
            let ready = self.ready(map, way)?;
            let scaling = match like {
                Some(field) => field.scalings[map],
                None => self.scaling(way, &ready)?,
            };
            for (i, value) in ready.iter().enumerate().filter(|(i, _)| self.used[*i]) {
                values[i * p + map] = ((value - scaling.mean) / scaling.spread) as f32;
            }
            scalings.push(scaling);
        }
        Ok(Field { width: self.width, used: self.used.clone(), scalings, values })
    }

    fn scaling(&self, way: Way, ready: &[f64]) -> Result<Scaling, OutOfMemory> {
        let mut seen: Vec<f64> = try_vec(ready.len() as u64)?;
        seen.extend(ready.iter().zip(&self.used).filter(|(_, used)| **used).map(|(v, _)| *v));
        let n = (seen.len() as f64).max(1.0);
        let mean = seen.iter().sum::<f64>() / n;
        let deviation = (seen.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt();
        if way != Way::OwnSpread {
            let spread = if deviation > 0.0 { deviation } else { 1.0 };
            return Ok(Scaling { way, mean, spread, noise: 1.0 / spread });
        }
        let mut squares: Vec<f64> = try_vec(ready.len() as u64)?;
        let is_pair = |i: usize| i % self.width + 1 < self.width && self.used[i] && self.used[i + 1];
        squares.extend(
            (0..self.pixels().saturating_sub(1))
                .filter(|&i| is_pair(i))
                .map(|i| (ready[i + 1] - ready[i]) * (ready[i + 1] - ready[i])),
        );
        order::sort(&mut seen);
        let q = |share: f64| order::quantile(&seen, share).unwrap_or(0.0);
        let wide = (q(0.95) - q(0.05)) / 3.29;
        let spread = [wide, deviation].into_iter().find(|s| *s > 0.0).unwrap_or(1.0);
        let median = order::low_quantile_unsorted(&mut squares, 0.5).unwrap_or(0.0);
        let noise = (median / 2.0 / MEDIAN_OF_SQUARES).sqrt();
        Ok(Scaling { way, mean: q(0.5), spread, noise: if noise > 0.0 { noise / spread } else { 0.1 } })
    }

    /// The map made ready, NaN or 0 where no pixel is used.
    fn ready(&self, map: usize, way: Way) -> Result<Vec<f64>, OutOfMemory> {
        let values = self.maps[map].values;
        let mut out = try_vec(values.len() as u64)?;
        match way {
            Way::OwnSpread => out.extend_from_slice(values),
            Way::Stabilised => out.extend(values.iter().map(|&v| anscombe(v))),
            Way::Pooled(side) => {
                out.extend(pooled(values, &self.used, self.width, side)?.into_iter().map(anscombe));
            }
        }
        Ok(out)
    }
}

/// Sums over squares of `side` pixels around each used pixel, as if every pixel of them had data.
fn pooled(values: &[f64], used: &[bool], width: usize, side: u32) -> Result<Vec<f64>, OutOfMemory> {
    let (reach, height) = (side as usize / 2, values.len() / width.max(1));
    let mut out = try_filled_vec(values.len() as u64, 0.0)?;
    for y in 0..height {
        for x in 0..width {
            if !used[y * width + x] {
                continue;
            }
            let (mut sum, mut pixels) = (0.0, 0.0);
            for row in y.saturating_sub(reach)..(y + reach + 1).min(height) {
                for i in row * width + x.saturating_sub(reach)..row * width + (x + reach + 1).min(width) {
                    if used[i] {
                        sum += values[i];
                        pixels += 1.0;
                    }
                }
            }
            out[y * width + x] = sum * f64::from(side * side) / pixels;
        }
    }
    Ok(out)
}

impl Scaling {
    /// The value of a pixel that has this standardised one; not below 0 for counts.
    pub fn value(&self, standardised: f64) -> f64 {
        let ready = standardised * self.spread + self.mean;
        match self.way {
            Way::OwnSpread => ready,
            Way::Stabilised => inverse_algebraic(ready.max(0.0)).max(0.0),
            Way::Pooled(side) => inverse_algebraic(ready.max(0.0)).max(0.0) / f64::from(side * side),
        }
    }
}

impl Field {
    /// Numbers of a pixel.
    pub fn maps(&self) -> usize {
        self.scalings.len()
    }

    /// The standardised values of a pixel.
    pub fn pixel(&self, i: usize) -> &[f32] {
        let p = self.maps();
        &self.values[i * p..(i + 1) * p]
    }

    /// Every so-many-th pixel that is used, at most `most`: where among them is drawn by chance in each run.
    ///
    /// # Errors
    /// No memory.
    pub fn sample(&self, most: usize, seed: u64) -> Result<Vec<usize>, OutOfMemory> {
        let n = self.used.iter().filter(|&&used| used).count();
        let mut places = try_vec(n as u64)?;
        places.extend((0..self.used.len()).filter(|&i| self.used[i]));
        if n <= most {
            return Ok(places);
        }
        let mut chance = crate::numerics::chance::Chance::new(seed.wrapping_mul(0x3_0007).wrapping_add(11));
        let mut out = try_vec(most as u64)?;
        for k in 0..most as u64 {
            let (from, to) = (k * n as u64 / most as u64, (k + 1) * n as u64 / most as u64);
            out.push(places[(from + chance.below(to - from)) as usize]);
        }
        Ok(out)
    }

    /// The numbers of some pixels, in f64.
    ///
    /// # Errors
    /// No memory.
    pub fn rows(&self, of: &[usize]) -> Result<Vec<f64>, OutOfMemory> {
        let mut out = try_vec(of.len() as u64 * self.maps() as u64)?;
        for &i in of {
            out.extend(self.pixel(i).iter().map(|&v| f64::from(v)));
        }
        Ok(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layers<'a>(width: usize, maps: &[(&'a [f64], bool)]) -> Layers<'a> {
        let used = (0..maps[0].0.len()).map(|i| maps.iter().all(|(v, _)| v[i].is_finite())).collect();
        let maps = maps.iter().map(|&(values, is_counts)| Layer { values, is_counts }).collect();
        Layers { width, maps, used }
    }

    #[test]
    fn standardised_maps_have_mean_0_and_deviation_1_and_come_back() {
        let values: Vec<f64> = (0..400).map(|i| f64::from(i * 37 % 50)).collect();
        let field = layers(20, &[(&values, true)]).standardised(None).unwrap();
        let mean = field.values.iter().map(|&v| f64::from(v)).sum::<f64>() / 400.0;
        let square = field.values.iter().map(|&v| f64::from(v) * f64::from(v)).sum::<f64>() / 400.0;
        assert!(mean.abs() < 1e-5 && (square - 1.0).abs() < 1e-5, "{mean} {square}");
        assert!((field.scalings[0].value(f64::from(field.values[7])) - values[7]).abs() < 1e-4);
    }

    #[test]
    fn faint_counts_are_pooled_and_blank_pixels_are_not_counted_among_them() {
        let mut values: Vec<f64> = (0..400).map(|i| f64::from(i * 37 % 10 / 5)).collect();
        values[21] = f64::NAN;
        let of = layers(20, &[(&values, true)]);
        assert_eq!(of.way(0).unwrap(), Way::Pooled(3));
        let field = of.standardised(None).unwrap();
        assert!(!field.used[21] && field.values[21] == 0.0);
        let even = vec![0.5; 25];
        let sums = pooled(&even, &[true; 25], 5, 3).unwrap();
        assert!(sums.iter().all(|&sum| (sum - 4.5).abs() < 1e-12), "{sums:?}");
    }

    #[test]
    fn a_pattern_is_told_from_chance_and_a_constant_has_none() {
        let mut chance = crate::numerics::chance::Chance::new(4);
        let noise: Vec<f64> = (0..2500).map(|_| chance.poisson(5.0) as f64).collect();
        let stripes: Vec<f64> =
            (0..2500).map(|i| chance.poisson(if i % 50 < 8 { 8.0 } else { 5.0 }) as f64).collect();
        assert!(layers(50, &[(&noise, true)]).pattern(0).unwrap().1 < 4.0);
        assert!(layers(50, &[(&stripes, true)]).pattern(0).unwrap().1 > 4.0);
        assert_eq!(layers(50, &[(&[7.0; 2500], true)]).pattern(0), None);
    }
}
