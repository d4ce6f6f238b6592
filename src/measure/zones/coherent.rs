//! Neighbours in one zone: labels under a penalty for every neighbour that differs, and the specks that are left.

use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;

/// Rounds over all pixels at most; few change after the third.
const MOST_ROUNDS: u32 = 8;
/// Connected patches of fewer pixels are specks.
pub const SPECK: u64 = 5;

/// Labels (1 and up; 0 for pixels that are not used) that make the sum of costs least, where each of the 8 neighbours with
/// another label costs `penalty`: every pixel in turn, row by row, takes the label that is cheapest as its neighbours are,
/// the lower of two equal ones, until none changes. `cost(i, out)` gives what each label costs a pixel; it is asked again
/// only where a neighbour differs.
///
/// Source: iterated conditional modes, J. Besag, Journal of the Royal Statistical Society B 48 (1986) 259; the penalty is
/// that of R. B. Potts, Proc. Cambridge Phil. Soc. 48 (1952) 106.
///
/// # Errors
/// No memory.
pub fn coherent(
    labels: &mut [u8],
    width: usize,
    zones: usize,
    penalty: f64,
    mut cost: impl FnMut(usize, &mut [f64]),
) -> Result<(), OutOfMemory> {
    if penalty <= 0.0 || width == 0 || zones < 2 {
        return Ok(());
    }
    let mut costs = try_filled_vec(zones as u64, 0.0)?;
    let mut near = try_filled_vec(zones as u64 + 1, 0u32)?;
    for _ in 0..MOST_ROUNDS {
        let mut changed = false;
        for i in 0..labels.len() {
            let own = labels[i];
            if own == 0 {
                continue;
            }
            near.fill(0);
            let mut differs = false;
            for other in neighbours(i, width, labels.len()) {
                let label = labels[other];
                near[usize::from(label).min(zones)] += u32::from(label > 0);
                differs |= label != own && label > 0;
            }
            if !differs {
                continue;
            }
            cost(i, &mut costs);
            let mut best = (own, f64::INFINITY);
            for (label, (&cost, &alike)) in (1u8..).zip(costs.iter().zip(&near[1..])) {
                let total = cost - penalty * f64::from(alike);
                if total < best.1 {
                    best = (label, total);
                }
            }
            changed |= best.0 != own;
            labels[i] = best.0;
        }
        if !changed {
            break;
        }
    }
    Ok(())
}

/// The up to 8 neighbours of a pixel.
fn neighbours(i: usize, width: usize, len: usize) -> impl Iterator<Item = usize> {
    let (x, y, height) = (i % width, i / width, len / width);
    (y.saturating_sub(1)..(y + 2).min(height))
        .flat_map(move |row| {
            (x.saturating_sub(1)..(x + 2).min(width)).map(move |column| row * width + column)
        })
        .filter(move |&other| other != i)
}

/// Pixels in connected patches (8 neighbours) of fewer than [`SPECK`] pixels of one label, and how many such patches there are.
///
/// # Errors
/// No memory.
pub fn specks(labels: &[u8], width: usize) -> Result<(u64, u64), OutOfMemory> {
    let mut seen = try_filled_vec(labels.len() as u64, false)?;
    let (mut pixels, mut patches) = (0, 0);
    let mut waiting = Vec::new();
    for start in 0..labels.len() {
        if seen[start] || labels[start] == 0 {
            continue;
        }
        let mut size = 0u64;
        seen[start] = true;
        waiting.push(start);
        while let Some(i) = waiting.pop() {
            size += 1;
            for other in neighbours(i, width, labels.len()) {
                if !seen[other] && labels[other] == labels[start] {
                    seen[other] = true;
                    waiting.try_reserve(1).map_err(|_| OutOfMemory(waiting.len() as u64 * 8))?;
                    waiting.push(other);
                }
            }
        }
        if size < SPECK {
            pixels += size;
            patches += 1;
        }
    }
    Ok((pixels, patches))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lone_doubtful_pixel_joins_its_neighbours_and_a_sure_one_stays() {
        let mut labels = vec![1u8; 25];
        labels[12] = 2;
        let costs = |sure: f64| {
            move |i: usize, out: &mut [f64]| {
                out.copy_from_slice(if i == 12 { &[1.0, 0.0] } else { &[0.0, 9.0] });
                if i == 12 {
                    out[0] = sure;
                }
            }
        };
        let mut one = labels.clone();
        coherent(&mut one, 5, 2, 0.5, costs(1.0)).unwrap();
        assert_eq!(one, [1u8; 25]);
        let mut other = labels.clone();
        coherent(&mut other, 5, 2, 0.5, costs(50.0)).unwrap();
        assert_eq!(other, labels);
        assert_eq!(specks(&labels, 5).unwrap(), (1, 1));
        let mut none = labels.clone();
        coherent(&mut none, 5, 2, 0.0, costs(1.0)).unwrap();
        assert_eq!(none, labels, "without a penalty nothing changes");
    }

    #[test]
    fn blank_pixels_stay_blank_and_are_nobodys_neighbours() {
        let mut labels = vec![0, 2, 0, 0, 0, 0];
        coherent(&mut labels, 3, 2, 5.0, |_, out| out.copy_from_slice(&[1.0, 0.0])).unwrap();
        assert_eq!(labels, [0, 2, 0, 0, 0, 0]);
        assert_eq!(specks(&labels, 3).unwrap(), (1, 1));
    }
}
