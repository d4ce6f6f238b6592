//! Overlay: maps as lights of their own colours, added in linear light (IEC 61966-2-1).

use super::axis::{Axis, Scale};
use super::key::KeyEntry;
use super::resample::{Sampled, Sampler};
use super::tone::Tone;
use super::{Picture, STEPS, canvas, step};
use crate::colour::Rgb;
use crate::geometry::Window;
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;
use crate::stack::Plane;
use std::collections::BTreeMap;

/// A map shown as a light.
pub struct Light<'a> {
    /// What the key calls it.
    pub label: String,
    /// Its values; all lights of a picture have one size.
    pub plane: &'a Plane,
    /// Its colour at `high`.
    pub colour: Rgb,
    /// Dark up to here.
    pub low: f64,
    /// Full from here on.
    pub high: f64,
    /// Power of the rise between them.
    pub gamma: f64,
    /// How the values are spread before that.
    pub scale: Scale,
}

/// A light counts as on in the key from this share of its full intensity.
const SEEN: f32 = 0.06;
/// About how many pixels of the map are looked at for the key.
const LOOKED_AT: u64 = 200_000;
/// A coincidence in fewer of them than one in this many is left out of the key.
const RARE: u64 = 2000;

/// Draws it. The key lists each light and every coincidence that occurs in the whole map, the frequent first.
pub fn picture_of_lights(lights: &[Light<'_>], window: &Window) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let (width, height) = lights.first().map_or((0, 0), |l| (l.plane.width(), l.plane.height()));
    let mut sampler = Sampler::new(window, width, height)?;
    let tones: Vec<(Tone, [f32; 3])> = lights
        .iter()
        .map(|l| {
            (
                Tone::new(l.low, l.high, l.gamma).along(l.scale, l.low, l.high),
                l.colour.linear().map(|c| c as f32),
            )
        })
        .collect();
    let columns = window.out_width as usize;
    let inside = sampler.inside();
    let steps = &**STEPS;
    let fast: Vec<Rise> = match lights.first() {
        Some(light) if light.plane.is_large() => lights.iter().map(Rise::of).collect(),
        _ => Vec::new(),
    };
    let mut values = try_filled_vec(columns as u64, f32::NAN)?;
    // Red, green and blue apart, so that each is added up in a plain loop.
    let mut sums: Vec<Vec<f32>> = Vec::new();
    for _ in 0..3 {
        sums.push(try_filled_vec(columns as u64, 0.0f32)?);
    }
    for y in 0..window.out_height() {
        if !sampler.is_inside(y) {
            continue;
        }
        let start = y as usize * columns * 4;
        if sampler.repeats(y) {
            rgba.copy_within(start - columns * 4..start, start);
            continue;
        }
        sums.iter_mut().for_each(|sums| sums.fill(0.0));
        for (i, (light, (tone, colour))) in lights.iter().zip(&tones).enumerate() {
            // First the values, then in their places the intensities.
            if let Some(rise) = fast.get(i) {
                sampler.narrow_row_of(light.plane, y, &mut values)?;
                for value in &mut values[inside.clone()] {
                    *value = rise.intensity(*value);
                }
            } else {
                sampler.row_of(light.plane, y, |x, sampled| {
                    values[x] = if let Sampled::Value(value) = sampled { tone.intensity(value) } else { 0.0 };
                })?;
            }
            for (sums, channel) in sums.iter_mut().zip(colour) {
                for (sum, intensity) in sums[inside.clone()].iter_mut().zip(&values[inside.clone()]) {
                    *sum += intensity * channel;
                }
            }
        }
        let row = &mut rgba[start + inside.start * 4..start + inside.end * 4];
        let channels = sums.iter().map(|sums| &sums[inside.clone()]);
        for (channel, sums) in channels.enumerate() {
            for (pixel, &sum) in row.chunks_exact_mut(4).zip(sums) {
                pixel[channel] = step(steps, sum);
            }
        }
        row.chunks_exact_mut(4).for_each(|pixel| pixel[3] = 255);
    }
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key: key(lights, &tones)? })
}

/// [`Tone`] in single precision for large maps. The table is even in the square root of the share, which is as close
/// near black as the eye is.
struct Rise {
    low: f32,
    scale: f32,
    table: Box<[f32; 1 << 12]>,
}

impl Rise {
    const LAST: f32 = 4095.0;

    fn of(light: &Light<'_>) -> Self {
        let gamma = if light.gamma.is_finite() { light.gamma.clamp(0.1, 10.0) } else { 1.0 };
        let scale = if light.high > light.low { 1.0 / (light.high - light.low) } else { f64::INFINITY };
        let mut table = Box::new([0.0; 1 << 12]);
        let axis = Axis::new(light.scale, light.low, light.high);
        for (i, intensity) in table.iter_mut().enumerate() {
            let root = i as f64 / f64::from(Self::LAST);
            let mut share = root * root;
            if light.scale != Scale::Linear && i > 0 {
                share = axis.place(light.low + share * (light.high - light.low)).max(0.0);
            }
            *intensity = crate::numerics::math::pow(share, gamma) as f32;
        }
        Self { low: light.low as f32, scale: scale as f32, table }
    }

    /// Intensity from 0 to 1; 0 for NaN.
    fn intensity(&self, value: f32) -> f32 {
        let above = value - self.low;
        let share = if above > 0.0 { (above * self.scale).min(1.0) } else { 0.0 };
        self.table[usize::from((share.sqrt() * Self::LAST + 0.5) as u16 & 0xfff)]
    }
}

fn key(lights: &[Light<'_>], tones: &[(Tone, [f32; 3])]) -> Result<Vec<KeyEntry>, OutOfMemory> {
    let mixed = |members: &[usize], at: f64| {
        let mut sum = [0.0; 3];
        for &i in members {
            let intensity = crate::numerics::math::pow(at, lights[i].gamma);
            for (total, channel) in sum.iter_mut().zip(lights[i].colour.linear()) {
                *total += intensity * channel;
            }
        }
        Rgb::from_linear(sum)
    };
    let mut entries: Vec<KeyEntry> = (0..lights.len())
        .map(|i| KeyEntry::Light {
            label: lights[i].label.clone(),
            full: mixed(&[i], 1.0),
            half: mixed(&[i], 0.5),
        })
        .collect();
    let mut coincidences: Vec<(u64, u32)> =
        coincidences(lights, tones)?.into_iter().map(|(set, n)| (n, set)).collect();
    // Frequent first; equal ones in the order of the lights.
    coincidences.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    entries.extend(coincidences.into_iter().map(|(_, set)| {
        let members: Vec<usize> = (0..lights.len()).filter(|i| set >> i & 1 == 1).collect();
        let names: Vec<&str> = members.iter().map(|&i| lights[i].label.as_str()).collect();
        KeyEntry::Both { label: names.join(" + "), full: mixed(&members, 1.0), half: mixed(&members, 0.5) }
    }));
    Ok(entries)
}

/// Sets of two and more lights that are on in one pixel, and in how many pixels of those looked at.
fn coincidences(lights: &[Light<'_>], tones: &[(Tone, [f32; 3])]) -> Result<BTreeMap<u32, u64>, OutOfMemory> {
    let mut found = BTreeMap::new();
    let Some(first) = lights.first() else { return Ok(found) };
    let (width, height) = (first.plane.width(), first.plane.height());
    let stride = (1..).find(|s| first.plane.len() / (s * s) <= LOOKED_AT).unwrap_or(1) as u32;
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut sets = try_filled_vec(u64::from(width), 0u32)?;
    let mut looked_at = 0;
    let seen: Vec<f64> = lights.iter().zip(tones).map(|(light, (tone, _))| seen_from(light, tone)).collect();
    for y in (0..height).step_by(stride as usize) {
        sets.fill(0);
        for (i, (light, &seen)) in lights.iter().zip(&seen).enumerate() {
            light.plane.read_row(y, &mut row);
            for x in (0..width as usize).step_by(stride as usize) {
                sets[x] |= u32::from(row[x] >= seen) << i;
            }
        }
        for x in (0..width as usize).step_by(stride as usize) {
            looked_at += 1;
            if sets[x].count_ones() > 1 {
                *found.entry(sets[x]).or_insert(0) += 1;
            }
        }
    }
    found.retain(|_, n| *n * RARE >= looked_at);
    Ok(found)
}

/// The smallest value at which a light counts as on, by halving; intensities rise with the value.
fn seen_from(light: &Light<'_>, tone: &Tone) -> f64 {
    let (mut dark, mut bright) =
        (light.low, if light.high > light.low { light.high } else { light.low.next_up() });
    loop {
        let middle = dark + (bright - dark) / 2.0;
        if !(dark < middle && middle < bright) {
            return bright;
        }
        if tone.intensity(middle) >= SEEN {
            bright = middle;
        } else {
            dark = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};

    fn light(plane: &Plane, colour: [u8; 3]) -> Light<'_> {
        Light {
            label: format!("{colour:?}"),
            plane,
            colour: Rgb(colour),
            low: 0.0,
            high: 10.0,
            gamma: 1.0,
            scale: Scale::Linear,
        }
    }

    #[test]
    fn light_is_added_and_not_paint() {
        let a = Plane::new(Samples::U8(Grid::from_vec(3, 1, vec![10, 0, 10]).unwrap()));
        let b = Plane::new(Samples::U8(Grid::from_vec(3, 1, vec![0, 10, 10]).unwrap()));
        let picture =
            picture_of_lights(&[light(&a, [255, 0, 0]), light(&b, [0, 255, 0])], &Window::whole(3, 1))
                .unwrap();
        assert_eq!(picture.rgba, [255, 0, 0, 255, 0, 255, 0, 255, 255, 255, 0, 255]);
        let labels: Vec<&KeyEntry> = picture.key.iter().collect();
        assert!(
            matches!(labels[2], KeyEntry::Both { label, full: Rgb([255, 255, 0]), .. } if label.contains(" + "))
        );
        // Half of the light is the step 188 of 255 (IEC 61966-2-1).
        assert!(matches!(labels[0], KeyEntry::Light { half: Rgb([188, 0, 0]), .. }));
    }

    #[test]
    fn large_maps_rise_as_small_ones_do_to_half_a_step_of_the_picture() {
        let plane = Plane::new(Samples::U8(Grid::from_vec(1, 1, vec![0]).unwrap()));
        for gamma in [0.5, 1.0, 2.0, 3.0] {
            let light = Light { low: 10.0, high: 110.0, gamma, ..light(&plane, [255; 3]) };
            let (rise, tone) = (Rise::of(&light), Tone::new(10.0, 110.0, gamma));
            for i in 0..100_000 {
                let value = i as f32 / 800.0;
                let [got, want] = [rise.intensity(value), tone.intensity(f64::from(value))]
                    .map(|light| crate::colour::encode(f64::from(light)) * 255.0);
                assert!((got - want).abs() <= 0.5, "{gamma} {value}: {got} {want}");
            }
            assert_eq!(
                (rise.intensity(f32::NAN), rise.intensity(9.0), rise.intensity(900.0)),
                (0.0, 0.0, 1.0)
            );
        }
    }

    #[test]
    fn only_coincidences_that_occur_are_in_the_key() {
        let a = Plane::new(Samples::U8(Grid::from_vec(2, 1, vec![10, 0]).unwrap()));
        let b = Plane::new(Samples::U8(Grid::from_vec(2, 1, vec![0, 10]).unwrap()));
        let picture =
            picture_of_lights(&[light(&a, [255, 0, 0]), light(&b, [0, 255, 0])], &Window::whole(2, 1))
                .unwrap();
        assert_eq!(picture.key.len(), 2);
    }

    #[test]
    fn a_blank_pixel_gives_no_light_and_outside_is_transparent() {
        let a = Plane::new(Samples::F32(Grid::from_vec(1, 1, vec![f32::NAN]).unwrap()));
        let window = Window::whole(2, 1);
        assert_eq!(
            picture_of_lights(&[light(&a, [255; 3])], &window).unwrap().rgba,
            [0, 0, 0, 255, 0, 0, 0, 0]
        );
    }
}
