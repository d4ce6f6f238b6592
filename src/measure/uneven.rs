//! Whether the quiet part of a map, taken for its background, is even: a faint element spread over part of the field hides in
//! it, and with it the negative answers that rest on such a background.

use super::{Level, LevelSource, Rules, Signal};
use crate::grid::try_vec;
use crate::kind::Noise;
use crate::notice::OutOfMemory;

/// Side of the blocks whose means are compared, in pixels.
const SIDE: u32 = 16;
/// A block with fewer quiet pixels than this is left out.
const FEWEST_IN_BLOCK: u64 = 64;
/// Blocks in which most pixels are quiet; fewer say nothing.
const FEWEST_BLOCKS: usize = 4;
/// The scatter of the blocks must exceed chance by so many standard deviations of a chi squared.
const SURELY: f64 = 5.0;
/// Unevenness below this share of a single pixel's scatter hides nothing that a pixel could show.
const OF_A_PIXEL: f64 = 0.2;

/// Whether means of blocks of 16 x 16 quiet pixels scatter more than counting, twice the floor of the background and a fifth of
/// a pixel's own scatter allow. False where the background does not come from the field, or where there are fewer than four blocks.
/// The rule and its numbers are this program's own; the scatter is that of a one-way analysis by moments.
///
/// # Errors
/// No memory.
pub fn is_uneven(signal: &Signal, level: &Level, rules: &Rules) -> Result<bool, OutOfMemory> {
    if level.source != LevelSource::QuietPart || signal.kind.noise() == Noise::Unknown {
        return Ok(false);
    }
    let (width, height) = (signal.values.width(), signal.values.height());
    let mut blocks: Vec<(f64, f64)> = try_vec(u64::from(width / SIDE + 1) * u64::from(height / SIDE + 1))?;
    for top in (0..height).step_by(SIDE as usize) {
        for left in (0..width).step_by(SIDE as usize) {
            let (mut n, mut sum) = (0u64, 0.0);
            for y in top..(top + SIDE).min(height) {
                for x in left..(left + SIDE).min(width) {
                    let i = y as usize * width as usize + x as usize;
                    if let Some(value) = signal.anywhere(i).filter(|&value| value < level.critical) {
                        n += 1;
                        sum += value;
                    }
                }
            }
            if n >= FEWEST_IN_BLOCK {
                blocks.push((n as f64, sum / n as f64));
            }
        }
    }
    if blocks.len() < FEWEST_BLOCKS {
        return Ok(false);
    }
    let pixels: f64 = blocks.iter().map(|(n, _)| n).sum();
    let mean = blocks.iter().map(|(n, block)| n * block).sum::<f64>() / pixels;
    // What one pixel scatters by chance; a mixture of levels must not count as chance.
    let by_chance = match signal.kind.noise() {
        Noise::Counting => level.background.max(0.0),
        _ => level.variance,
    };
    let between: f64 = blocks.iter().map(|(n, block)| n * (block - mean) * (block - mean)).sum();
    let freedom = blocks.len() as f64 - 1.0;
    let is_sure = between > by_chance * (freedom + SURELY * (2.0 * freedom).sqrt());
    let beyond = ((between - freedom * by_chance) / pixels).max(0.0).sqrt();
    let allowed = (2.0 * rules.floor * level.background.abs()).max(OF_A_PIXEL * by_chance.sqrt());
    Ok(is_sure && beyond > allowed)
}

#[cfg(test)]
mod tests {
    use super::super::level;
    use super::super::testing::counts;
    use super::*;
    use crate::kind::Kind;
    use crate::numerics::chance::Chance;

    fn of(kind: Kind, value: impl Fn(u32, u32, &mut Chance) -> f64) -> bool {
        let mut chance = Chance::new(11);
        let values = (0..96u32).flat_map(|y| (0..128u32).map(move |x| (x, y)));
        let mut signal = counts(128, 96, values.map(|(x, y)| value(x, y, &mut chance)).collect());
        signal.kind = kind;
        let rules = Rules::default();
        let level = level(&signal, &rules).unwrap().unwrap();
        is_uneven(&signal, &level, &rules).unwrap()
    }

    #[test]
    fn an_even_field_is_even_and_two_levels_are_not() {
        for mean in [0.2, 3.0, 20.0, 200.0] {
            assert!(!of(Kind::Window, |_, _, chance| chance.poisson(mean) as f64), "{mean}");
        }
        for (one, other) in [(20.0, 28.0), (10.0, 14.0), (2.0, 8.0), (1.0, 3.0), (3.0, 4.5)] {
            let value =
                |x: u32, _: u32, chance: &mut Chance| chance.poisson(if x < 64 { one } else { other }) as f64;
            assert!(of(Kind::Window, value), "{one} and {other}");
        }
        // Within the floor.
        assert!(!of(Kind::Window, |x, _, chance| chance.poisson(if x < 64 { 20.0 } else { 20.8 }) as f64));
        let fitted = |high: f64| {
            move |x: u32, _: u32, c: &mut Chance| if x < 64 { 0.0 } else { high } + 2.0 * c.normal()
        };
        assert!(of(Kind::Fitted, fitted(3.0)) && !of(Kind::Fitted, fitted(0.0)));
    }

    #[test]
    fn a_bright_passage_beside_an_even_field_is_no_unevenness() {
        let value = |x: u32, y: u32, chance: &mut Chance| {
            let painted = (40..80).contains(&x) && (30..60).contains(&y);
            chance.poisson(if painted { 90.0 } else { 4.0 }) as f64
        };
        assert!(!of(Kind::Window, value));
    }
}
