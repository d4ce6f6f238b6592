//! Positions along one axis as numbers of pixels: the even step that they follow, found without knowing their order.

/// An even row of places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lattice {
    /// The smallest place.
    pub(super) origin: f64,
    /// Distance of neighbours; 0 for a single place.
    pub(super) step: f64,
    /// Places from the smallest to the largest.
    pub(super) count: u64,
    /// The largest distance of a position from its place, in steps.
    pub(super) jitter: f64,
}

/// The farthest that a position may lie from its place, in steps.
const MOST_JITTER: f64 = 0.3;
/// A gap between places is at least so many times one within a place.
const BREAK: f64 = 2.0;
/// Breaks that are tried, from the widest gaps down.
const MOST_BREAKS: usize = 8;

impl Lattice {
    /// The place of a position, from 0.
    pub(super) fn index(&self, position: f64) -> u64 {
        if self.step <= 0.0 {
            return 0;
        }
        let place = ((position - self.origin) / self.step).round();
        (place.max(0.0) as u64).min(self.count.saturating_sub(1))
    }

    /// Through the middles of clusters, which rise; `None` where they follow no even step.
    fn through(middles: &[f64]) -> Option<Self> {
        let (Some(&first), Some(&last)) = (middles.first(), middles.last()) else { return None };
        if middles.len() == 1 {
            return Some(Self { origin: first, step: 0.0, count: 1, jitter: 0.0 });
        }
        let mut gaps: Vec<f64> = middles.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let in_order = gaps.clone();
        gaps.sort_unstable_by(f64::total_cmp);
        let rough = gaps[gaps.len() / 2];
        if !(rough > 0.0 && (last - first) / rough < 1e9) {
            return None;
        }
        // The straight line of least squares through number of place and middle.
        let (mut place, mut places) = (0.0, Vec::new());
        places.push(0.0);
        for gap in &in_order {
            let steps = (gap / rough).round();
            if steps < 1.0 || (gap / rough - steps).abs() > MOST_JITTER * 1.5 {
                return None;
            }
            place += steps;
            places.push(place);
        }
        let count = middles.len() as f64;
        let mean_place = places.iter().sum::<f64>() / count;
        let mean = middles.iter().map(|middle| middle - first).sum::<f64>() / count;
        let (mut across, mut square) = (0.0, 0.0);
        for (place, middle) in places.iter().zip(middles) {
            across += (place - mean_place) * (middle - first - mean);
            square += (place - mean_place) * (place - mean_place);
        }
        let step = across / square;
        let origin = first + mean - step * mean_place;
        (step > 0.0).then_some(Self { origin, step, count: place as u64 + 1, jitter: 0.0 })
    }

    /// With the jitter of these positions; `None` if one lies too far from its place.
    fn holding(mut self, positions: &[f64]) -> Option<Self> {
        for &position in positions {
            let place = self.origin + self.step * self.index(position) as f64;
            let distance = if self.step > 0.0 { (position - place).abs() / self.step } else { 0.0 };
            self.jitter = self.jitter.max(distance);
        }
        (self.jitter <= MOST_JITTER).then_some(self)
    }
}

/// Every even row of places that positions could follow, the finest first; `positions` rise, are finite and differ.
pub(super) fn lattices(positions: &[f64]) -> Vec<Lattice> {
    let mut gaps: Vec<f64> = positions.windows(2).map(|pair| pair[1] - pair[0]).collect();
    gaps.sort_unstable_by(f64::total_cmp);
    let mut thresholds: Vec<f64> = gaps
        .windows(2)
        .rev()
        .filter(|pair| pair[1] >= BREAK * pair[0])
        .take(MOST_BREAKS)
        // The geometric mean, so that a gap of rounding errors is as far from it as a step is.
        .map(|pair| pair[0].max(pair[1] * 1e-6).sqrt() * pair[1].sqrt())
        .collect();
    thresholds.push(0.0);
    thresholds.reverse();
    let mut out: Vec<Lattice> = Vec::new();
    for threshold in thresholds {
        let mut middles: Vec<f64> = Vec::new();
        let (mut low, mut high) = (f64::NAN, f64::NAN);
        for &position in positions {
            if position - high > threshold || high.is_nan() {
                if !high.is_nan() {
                    middles.push(low + (high - low) / 2.0);
                }
                low = position;
            }
            high = position;
        }
        if !high.is_nan() {
            middles.push(low + (high - low) / 2.0);
        }
        if let Some(found) = Lattice::through(&middles).and_then(|lattice| lattice.holding(positions))
            && out.iter().all(|other| other.count != found.count)
        {
            out.push(found);
        }
    }
    out.sort_by_key(|lattice| std::cmp::Reverse(lattice.count));
    out
}

/// The pair of rows of places that `pixels` positions fill best: nearest to one position a place.
pub(super) fn best_pair(across: &[Lattice], down: &[Lattice], pixels: u64) -> Option<(Lattice, Lattice)> {
    let filled = |x: &Lattice, y: &Lattice| {
        let share = pixels as f64 / (x.count as f64 * y.count as f64);
        share.min(1.0 / share)
    };
    let mut best: Option<(f64, Lattice, Lattice)> = None;
    for x in across {
        for y in down {
            let share = filled(x, y);
            if best.is_none_or(|(most, ..)| share > most) {
                best = Some((share, *x, *y));
            }
        }
    }
    best.map(|(_, x, y)| (x, y))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_positions_give_their_step_wherever_they_start() {
        for (start, step, count) in [(0.0, 1.0, 5), (-12.5, 0.25, 40), (1000.3, 0.1, 333), (3.0, 2.0, 2)] {
            let positions: Vec<f64> = (0..count).map(|i| start + step * f64::from(i)).collect();
            let found = lattices(&positions)[0];
            assert_eq!(found.count, count as u64);
            assert!((found.step - step).abs() < 1e-9 && (found.origin - start).abs() < 1e-9, "{found:?}");
            assert!(found.jitter < 1e-6);
            assert_eq!(found.index(positions[1]), 1);
        }
        assert_eq!(lattices(&[4.0]), [Lattice { origin: 4.0, step: 0.0, count: 1, jitter: 0.0 }]);
        assert!(lattices(&[]).is_empty());
    }

    #[test]
    fn missing_places_leave_their_gap() {
        let found = lattices(&[0.0, 1.0, 2.0, 5.0, 6.0])[0];
        assert_eq!((found.count, found.step), (7, 1.0));
        assert_eq!(found.index(5.0), 5);
    }

    #[test]
    fn jitter_is_gathered_and_measured() {
        let positions: Vec<f64> =
            (0..50).flat_map(|i| [-0.04, 0.0, 0.03].map(|off| f64::from(i) * 0.5 + off)).collect();
        let across = lattices(&positions);
        let down = lattices(&[0.0, 1.0, 2.0]);
        let (x, _) = best_pair(&across, &down, 150).unwrap();
        assert_eq!(x.count, 50);
        assert!((x.step - 0.5).abs() < 1e-3 && x.jitter > 0.06 && x.jitter < 0.1, "{x:?}");
    }

    #[test]
    fn uneven_positions_are_no_lattice() {
        assert!(
            lattices(&[0.0, 1.0, 2.5, 4.0, 4.7, 6.1])
                .iter()
                .all(|found| found.count > 10 || found.count == 1)
        );
    }
}
