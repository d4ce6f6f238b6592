//! Smoothing where nothing changes.

use super::field::Field;
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;

impl Field {
    /// Means of a pixel and of those within `reach` pixels of it, across and down, that differ from it by no more than noise:
    /// half the squared difference, in units of the noise and summed over the p maps, is at most p + 2 √(2 p), two standard
    /// deviations above what noise alone gives. So edges and thin lines stay.
    ///
    /// Source: after J.-S. Lee, Computer Vision, Graphics, and Image Processing 24 (1983) 255, for several maps at once.
    ///
    /// # Errors
    /// No memory.
    pub fn smoothed(&self, reach: usize) -> Result<Field, OutOfMemory> {
        let p = self.maps();
        let mut out = Field { values: Vec::new(), ..self.clone_without_values() };
        out.values = try_filled_vec(self.values.len() as u64, 0.0f32)?;
        let weights: Vec<f32> =
            self.scalings.iter().map(|s| (0.5 / (s.noise * s.noise).max(1e-12)) as f32).collect();
        let most = p as f32 + 2.0 * (2.0 * p as f32).sqrt();
        let height = self.used.len() / self.width.max(1);
        let mut sums = vec![0.0f32; p];
        for y in 0..height {
            for x in 0..self.width {
                let i = y * self.width + x;
                if !self.used[i] {
                    continue;
                }
                let own = &self.values[i * p..(i + 1) * p];
                sums.fill(0.0);
                let mut alike = 0.0f32;
                for row in y.saturating_sub(reach)..(y + reach + 1).min(height) {
                    let from = row * self.width + x.saturating_sub(reach);
                    let to = row * self.width + (x + reach + 1).min(self.width);
                    for other in (from..to).filter(|&other| self.used[other]) {
                        let values = &self.values[other * p..(other + 1) * p];
                        let mut far = 0.0f32;
                        for ((a, b), weight) in own.iter().zip(values).zip(&weights) {
                            far += (a - b) * (a - b) * weight;
                        }
                        if far <= most {
                            alike += 1.0;
                            for (sum, value) in sums.iter_mut().zip(values) {
                                *sum += value;
                            }
                        }
                    }
                }
                for (slot, sum) in out.values[i * p..(i + 1) * p].iter_mut().zip(&sums) {
                    *slot = sum / alike;
                }
            }
        }
        Ok(out)
    }

    fn clone_without_values(&self) -> Field {
        Field {
            width: self.width,
            used: self.used.clone(),
            scalings: self.scalings.clone(),
            values: Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::measure::zones::{Layer, Layers};

    #[test]
    fn smoothing_leaves_edges_where_they_are() {
        let values: Vec<f64> = (0..400).map(|i| if i % 20 < 10 { 4.0 } else { 400.0 }).collect();
        let maps = vec![Layer { values: &values, is_counts: true }];
        let layers = Layers { width: 20, maps, used: vec![true; 400] };
        let field = layers.standardised(None).unwrap();
        let smooth = field.smoothed(2).unwrap();
        let worst = field.values.iter().zip(&smooth.values).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
        assert!(worst < 1e-6, "{worst}");
    }
}
