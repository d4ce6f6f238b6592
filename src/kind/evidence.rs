//! What can be seen of a map's numbers when a kind is to be proposed.

use crate::grid::SampleType;

/// What words or units in a name say of the numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KindHint {
    /// "counts", "cts", "roi", "window".
    Counts,
    /// "cps", "rate".
    Rate,
    /// "net", "background subtracted".
    Net,
    /// "fit", "area".
    Fitted,
    /// "normalised", "relative".
    Normalised,
    /// "wt%", "ppm", "µg/cm²".
    Quantified,
    /// "picture", "rgb", "8bit", "log".
    DisplayCopy,
    /// "error", "sigma", "chi".
    ErrorMap,
}

/// How the values that occur are spaced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spacing {
    /// Too few values to tell, or not looked at.
    Unknown,
    /// Any value occurs.
    Continuous,
    /// All are whole multiples of one step (1 for counts as they are).
    Even {
        /// The step, above 0.
        step: f64,
    },
    /// Whole numbers with regular holes between them: spread by a factor that is no whole number.
    Holes {
        /// Mean step.
        step: f64,
    },
    /// Steps that shrink towards the bright end, as of a logarithm, a root or a gamma curve.
    Shrinking,
}

/// Variance over mean of neighbouring pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// Variance over mean.
    pub gain: f64,
    /// Variance against mean is a straight line through a decade. Where it is not, `gain` says nothing.
    pub is_straight: bool,
    /// Variance of pixels two apart over that of neighbours: 1 for independent pixels, more where smoothed.
    pub correlation: f64,
}

/// What can be seen of a map's numbers. [`Evidence::of`] fills in the least; the rest comes from a closer look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Type of a stored pixel.
    pub sample_type: SampleType,
    /// Every value that is not blank is a whole number.
    pub is_whole: bool,
    /// Smallest value; `None` when every pixel is blank.
    pub low: Option<f64>,
    /// Largest value.
    pub high: Option<f64>,
    /// How the values are spaced.
    pub spacing: Spacing,
    /// More pixels at exactly 0 than a continuous spread would give, and none below.
    pub has_piled_zeros: bool,
    /// Many pixels at exactly the largest value, which is not the type's.
    pub is_clipped: bool,
    /// Every map of the stack ends at exactly 255, or every one at exactly 65535.
    pub shares_full_maximum: bool,
    /// Gain by neighbour differences, where there are enough pixels.
    pub gain: Option<Gain>,
    /// What the name says.
    pub hint: Option<KindHint>,
}

impl Evidence {
    /// What the type and the range alone say.
    pub fn of(sample_type: SampleType, is_whole: bool, low: Option<f64>, high: Option<f64>) -> Self {
        Self {
            sample_type,
            is_whole,
            low,
            high,
            spacing: Spacing::Unknown,
            has_piled_zeros: false,
            is_clipped: false,
            shares_full_maximum: false,
            gain: None,
            hint: None,
        }
    }

    /// Stored as 8-bit integers.
    pub fn is_8_bit(&self) -> bool {
        matches!(self.sample_type, SampleType::U8 | SampleType::I8)
    }

    /// Values below 0 occur.
    pub fn has_negative(&self) -> bool {
        self.low.is_some_and(|low| low < 0.0)
    }

    /// The gain shows that neighbours were mixed: below 0.8 on a straight line, and pixels two apart differ more.
    pub fn is_smoothed(&self) -> bool {
        self.gain
            .is_some_and(|g| g.is_straight && g.gain < SMOOTHED_BELOW && g.correlation > CORRELATED_ABOVE)
    }

    /// The gain shows numbers below those of counting although pixels are independent.
    pub fn is_scaled_down(&self) -> bool {
        self.gain
            .is_some_and(|g| g.is_straight && g.gain < SMOOTHED_BELOW && g.correlation <= CORRELATED_ABOVE)
    }
}

/// A gain below this is no counting (DESIGN section 3).
pub const SMOOTHED_BELOW: f64 = 0.8;
/// Variance two apart over variance of neighbours above which neighbours are taken for mixed. Independent pixels give 1;
/// the mean of three gives 2, a Gaussian of half a pixel about 1.3 (by the correlation of its own weights).
pub const CORRELATED_ABOVE: f64 = 1.12;
