//! What two maps are like in some pixels: correlations, tests, and the correlation without noise.

use crate::ask::evidence::Side;
use crate::kind::Noise;
use crate::measure::together::{
    Corrected, Moments, NoiseOf, Pairs, SharedBackground, Significance, Unreliable, corrected, moments,
    pearson, significance, spearman,
};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::chance::Chance;
use crate::numerics::figure::{percent, rounded};

/// Shuffles of blocks.
pub(super) const SHUFFLES: usize = 399;
/// Counts of neighbours that differ by less than this share of what counting gives were smoothed.
const SMOOTHED: f64 = 0.8;

/// Two maps in some pixels.
#[derive(Debug, Clone, Default)]
pub(in crate::ask) struct Alike {
    pub pixels: usize,
    pub moments: Option<Moments>,
    pub pearson: Option<f64>,
    pub spearman: Option<f64>,
    pub test: Option<Significance>,
    /// The correlation without noise; or why there is none.
    pub corrected: Option<Result<Corrected, String>>,
}

/// Noise of both maps in some pixels; or why it is not known.
pub(super) type Noises = Result<NoiseOf, String>;

impl Alike {
    /// Correlations and test of these pairs.
    pub fn of(pairs: &Pairs, most_pixels: usize, seed: u64) -> Result<Self, OutOfMemory> {
        let (a, b) = pairs.lists()?;
        let mut chance = Chance::new(seed);
        let test = significance(pairs, most_pixels, SHUFFLES, |n| chance.below(n as u64) as usize)?;
        Ok(Self {
            pixels: pairs.count(),
            moments: moments(&a, &b),
            pearson: pearson(&a, &b),
            spearman: spearman(&a, &b)?,
            test,
            corrected: None,
        })
    }

    /// With the correlation that there would be without noise.
    pub fn corrected_by(
        mut self,
        noise: &Noises,
        background: SharedBackground,
        labels: (&str, &str),
    ) -> Self {
        let found = match (noise, &self.moments) {
            (Err(reason), _) => Err(reason.clone()),
            (Ok(_), None) => Err("there are fewer than two pixels".into()),
            (Ok(noise), Some(found)) => {
                corrected(found, self.pixels, *noise, background).map_err(|why| unreliable(why, labels))
            }
        };
        self.corrected = Some(found);
        self
    }

    /// Root of the product of both reliabilities; `None` where they are not known.
    pub fn reliability(&self) -> Option<f64> {
        let Some(Ok(found)) = &self.corrected else { return None };
        Some((found.reliability_a * found.reliability_b).sqrt())
    }

    /// How far both vary together, as a share of their means: root of covariance over the product of the means.
    pub fn common_variation(&self) -> Option<f64> {
        let found = self.moments?;
        let of_means = found.mean_a * found.mean_b;
        (found.mean_a > 0.0 && found.mean_b > 0.0 && found.covariance > 0.0)
            .then(|| (found.covariance / of_means).sqrt())
    }
}

fn unreliable(why: Unreliable, (a, b): (&str, &str)) -> String {
    let name = |is_a: bool| if is_a { a } else { b };
    match why {
        Unreliable::MostlyBackground { is_a } => {
            format!("what varies in {} is no more than an uneven background gives", name(is_a))
        }
        Unreliable::MostlyNoise { is_a, reliability, least } => format!(
            "of the scatter of {} only {} is more than counting noise and background; it takes {}",
            name(is_a),
            percent(reliability),
            percent(least)
        ),
        Unreliable::NoiseIsOther => {
            "the maps agree more than their noise allows, so the noise is not what it was taken for".into()
        }
        Unreliable::Nothing => "a map has one value throughout".into(),
    }
}

/// Noise of the pixels of `pairs`, which were cut from these maps. Counts: their mean, unless neighbours differ by less than
/// counts can. Other kinds: the mean square of their errors, where these are known.
pub(super) fn noise_of(a: &Side, b: &Side, pairs: &Pairs, overlap: bool) -> Result<Noises, Fault> {
    if overlap {
        return Ok(Err("the lines overlap, so the noise of one stands in the other".into()));
    }
    let (width, height) = pairs.size();
    let across = a.signal.values.width() as usize;
    let (left, top) = pairs.origin();
    let mut of = [0.0; 2];
    for (is_a, (slot, side)) in [true, false].into_iter().zip(of.iter_mut().zip([a, b])) {
        let value = |i: usize| pairs.get(i).map(|(one, other)| if is_a { one } else { other });
        let (mut sum, mut n) = (0.0, 0.0);
        match (side.noise(), &side.signal.sigma) {
            (Noise::Counting, _) => {
                let (mut squares, mut neighbours) = (0.0, 0.0);
                for i in 0..width * height {
                    let Some(here) = value(i) else { continue };
                    (sum, n) = (sum + here, n + 1.0);
                    if let Some(next) = (i % width + 1 < width).then(|| value(i + 1)).flatten() {
                        (squares, neighbours) = (squares + (next - here) * (next - here), neighbours + 2.0);
                    }
                }
                if neighbours >= 60.0 && squares / neighbours < SMOOTHED * sum / n {
                    return Ok(Err(format!(
                        "neighbouring pixels of {} differ by less than counts do (variance {} for a mean of {}), as smoothed or scaled values do",
                        side.label(),
                        rounded(squares / neighbours, 2),
                        rounded(sum / n, 2)
                    )));
                }
            }
            (Noise::Empirical, Some(sigma)) => {
                for i in (0..width * height).filter(|&i| value(i).is_some()) {
                    let at = (top + i / width) * across + left + i % width;
                    if let Some(sigma) = sigma.data().get(at).filter(|s| s.is_finite()) {
                        (sum, n) = (sum + sigma * sigma, n + 1.0);
                    }
                }
            }
            _ => {
                return Ok(Err(format!(
                    "{} holds {} values and there is no map of their errors, so its noise is not known",
                    side.label(),
                    side.kind.word()
                )));
            }
        }
        if n == 0.0 {
            return Ok(Err(format!("the noise of {} is not known in these pixels", side.label())));
        }
        *slot = sum / n;
    }
    Ok(Ok(NoiseOf { a: of[0], b: of[1] }))
}
