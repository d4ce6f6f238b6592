//! What is otherwise in a trial: a verdict that a small change tips is a weak one.

use crate::grid::{Mask, grown};
use crate::kind::{Kind, Noise};
use crate::measure::{Level, Rules, Signal};
use crate::notice::OutOfMemory;
use crate::numerics::chance::Chance;
use crate::region::shrunk;

/// A change of the evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// As asked.
    Nothing,
    /// Every critical level this many times as far above its background.
    Thresholds(f64),
    /// The region one pixel larger.
    Larger,
    /// The region one pixel smaller.
    Smaller,
    /// Each count kept with chance one half, backgrounds taken anew.
    HalfTheCounts,
    /// Backgrounds twice as uncertain.
    TwiceTheFloor,
}

impl Change {
    /// The trials of a question: without a region there is none to change, without counts none to halve.
    pub fn trials(has_region: bool, are_counts: bool) -> Vec<Self> {
        let mut out = vec![Self::Thresholds(1.2), Self::Thresholds(0.8)];
        if has_region {
            out.extend([Self::Larger, Self::Smaller]);
        }
        if are_counts {
            out.push(Self::HalfTheCounts);
        }
        out.push(Self::TwiceTheFloor);
        out
    }

    /// In words, to follow "with".
    pub fn words(self) -> &'static str {
        match self {
            Self::Nothing => "everything as asked",
            Self::Thresholds(times) if times > 1.0 => "thresholds 20 % higher",
            Self::Thresholds(_) => "thresholds 20 % lower",
            Self::Larger => "the region 1 pixel larger",
            Self::Smaller => "the region 1 pixel smaller",
            Self::HalfTheCounts => "half the counts",
            Self::TwiceTheFloor => "twice the uncertainty of the background",
        }
    }

    pub(super) fn region(self, mask: Mask) -> Result<Mask, OutOfMemory> {
        match self {
            Self::Larger => grown(&mask, 1),
            Self::Smaller => shrunk(&mask, 1),
            _ => Ok(mask),
        }
    }

    pub(super) fn rules(self, rules: Rules) -> Rules {
        let floor = if self == Self::TwiceTheFloor { 2.0 * rules.floor } else { rules.floor };
        Rules { floor, ..rules }
    }

    /// The level as it is in this trial, for one that was taken after the evidence was gathered.
    pub fn of_level(self, level: Level, kind: Kind, rules: &Rules) -> Level {
        self.level(level, kind, rules)
    }

    pub(super) fn level(self, level: Level, kind: Kind, rules: &Rules) -> Level {
        match self {
            Self::Thresholds(times) => {
                let critical = level.background + times * (level.critical - level.background);
                level.with_threshold(critical, kind, rules)
            }
            _ => level,
        }
    }

    /// Counts thinned where that is asked; `place` tells maps apart, so that each has numbers by chance of its own.
    pub(super) fn signal(self, mut signal: Signal, seed: u64, place: u64) -> Signal {
        if self != Self::HalfTheCounts || signal.kind.noise() != Noise::Counting {
            return signal;
        }
        let mut chance = Chance::new(seed.wrapping_mul(0x1_0001).wrapping_add(place));
        for value in signal.values.data_mut() {
            if value.is_finite() && *value > 0.0 {
                *value = chance.half_of(value.round() as u64) as f64;
            }
        }
        signal
    }

    /// What a value stated in counts becomes.
    pub(super) fn stated(self, value: f64) -> f64 {
        if self == Self::HalfTheCounts { value / 2.0 } else { value }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_region_grows_and_shrinks_by_a_pixel_but_not_from_the_edge_of_the_grid() {
        let mask = |text: &str| Mask::from_vec(5, 1, text.bytes().map(|c| c == b'#').collect()).unwrap();
        assert_eq!(Change::Larger.region(mask("..#..")).unwrap(), mask(".###."));
        assert_eq!(Change::Smaller.region(mask("####.")).unwrap(), mask("###.."));
        assert_eq!(Change::Nothing.region(mask("#.#..")).unwrap(), mask("#.#.."));
    }
}
