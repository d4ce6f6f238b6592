//! Signs of trouble in maps and stacks, and what could be done about each. Proposes, never changes anything.
//! Imports levels 0 to 2 only.
//!
//! Every sign comes from the numbers alone, looks at them as *stored* (blanks left out) and is said only where it is clear:
//! a sign that is wrong costs more than one that is missing. What is not seen stands with each detector:
//!
//! | sign | seen from | not seen |
//! | --- | --- | --- |
//! | fill value | one number apart from all others | 0 inside a map; 255; −1 among counts below 8 |
//! | margin | one number on every map of the stack | on a single map, or where one map counts something there |
//! | drawing | a bar of 10 × 2, three letters, in one map; any shape alike in two | dark in one map; after lossy compression |
//! | curve | 8 common lowest values, first step twice the last | floats without levels; maps whose lowest value is above 2 counts |
//! | stretched | 5 holes between common values | factors below about 1.25; floats |
//! | cut off | 30 pixels at a maximum hardly anything comes near, 20 distinct values | cuts at the type's own end |
//! | lines lost, twice | 30 full places beside, 40 changes along | fainter maps, lines at the border, more than 3 together |
//! | stopped | nothing from a row on in all maps | a column only where the last row ends in the middle |
//! | a line short, cropped | one place fits surely better than any other; r 0.85 | maps that resemble no other |
//! | turned | r 0.9 turned, below 0.6 as it lies, to the pixel about the map's middle | symmetric, faint or unique maps |
//! | row shift | 0.3 to 4 pixels, 5 standard errors | maps without upright edges |
//! | seam | one factor in all maps of three elements along a straight line, 8 standard errors | factors below 1.02 and above 2.5 (1.1 and about 1.5 in busy passages), a part of the line, maps without names |
//! | smoothed | variance below 0.8 of the mean on a straight line | means below 4, less than a decade of means |
//! | other size | a border of one number, sides swapped, whole factors | anything else (that it differs is said when opened) |
//! | copy, sum, root | equal; weights of 0 and 1; 95 % of steps alike | parts that are not open |

mod burnt;
mod fill;
mod gain;
mod levels;
mod lines;
mod margins;
mod same;
mod seam;
mod shift;
mod sizes;
mod strips;
mod survey;
mod turn;

use crate::kind::{Evidence, Gain, KindHint, Spacing};
use crate::notice::{Other, OutOfMemory, Sign};
use crate::stack::{Map, MapId, Plane};
use levels::Levels;
use same::Relation;
use sizes::Seen;
use survey::Survey;

/// What was seen of one map in one reading, for its own signs, for the kind and for the stack. Keep it as long as what is
/// stated of the map's numbers stays the same.
#[derive(Debug, Clone)]
pub struct Look {
    survey: Survey,
    levels: Levels,
    spacing: Spacing,
    gain: Option<Gain>,
    is_clipped: bool,
    signs: Vec<Sign>,
}

impl Look {
    /// Reads every pixel once, and a second time where something is suspect.
    ///
    /// # Errors
    /// No memory.
    pub fn of(plane: &Plane) -> Result<Self, OutOfMemory> {
        let survey = Survey::of(plane)?;
        let (mut signs, levels) = fill::look(plane, &survey, Levels::of(plane)?)?;
        let holds_fill = !signs.is_empty();
        let gain = if holds_fill { None } else { gain::gain(plane)? };
        signs.extend(burnt::in_map(plane, &survey)?);
        let is_drawn = signs.iter().any(|sign| matches!(sign, Sign::BurntIn { .. }));
        let is_clipped = !is_drawn && levels.is_clipped(&survey, plane.samples().ceiling());
        // Saturated pixels stand on no step.
        let stepped = levels.clone().without(plane.samples().ceiling().as_slice());
        let spacing = stepped.spacing();
        match (stepped.curve(), spacing) {
            (Some(curve), _) => signs.push(Sign::Curved { curve }),
            (None, Spacing::Holes { step }) => signs.push(Sign::Stretched { step }),
            _ => {}
        }
        if let (true, Some((_, value))) = (is_clipped, survey.range) {
            signs.push(Sign::Clipped { value, pixels: survey.high_count });
        }
        signs.extend(lines::look(plane, &survey)?);
        let look = Self { survey, levels, spacing, gain, is_clipped, signs };
        Ok(look.with_smoothing(plane))
    }

    /// Only whole numbers can be held against counting: a fit has a variance of its own.
    fn with_smoothing(mut self, plane: &Plane) -> Self {
        let evidence = self.evidence(plane, None, false);
        let is_correlated = evidence.is_smoothed();
        let is_plain = matches!(evidence.spacing, Spacing::Even { step } if step == 1.0);
        if let Some(gain) = self.gain.filter(|_| evidence.is_whole && is_plain)
            && (is_correlated || evidence.is_scaled_down())
        {
            self.signs.push(Sign::Smoothed { gain: gain.gain, is_correlated });
        }
        self
    }

    /// Signs of the map for itself.
    pub fn signs(&self) -> &[Sign] {
        &self.signs
    }

    /// Evidence for the kind. `shares_full_maximum` is what [`share_full_maximum`] says of the stack.
    pub fn evidence(&self, plane: &Plane, hint: Option<KindHint>, shares_full_maximum: bool) -> Evidence {
        let (mut low, mut high) = (self.survey.range.map(|r| r.0), self.survey.range.map(|r| r.1));
        for sign in &self.signs {
            // A number that means "no data" is no evidence.
            if let Sign::FillValue { value, .. } = sign {
                (low, high) = (low.filter(|v| v != value), high.filter(|v| v != value));
            }
        }
        let (low, high) =
            (low.or(self.levels.values.first().copied()), high.or(self.levels.values.last().copied()));
        let mut evidence = Evidence::of(plane.sample_type(), self.survey.is_whole, low, high);
        evidence.spacing = self.spacing;
        evidence.has_piled_zeros = self.levels.has_piled_zeros();
        evidence.is_clipped = self.is_clipped;
        evidence.gain = self.gain;
        evidence.hint = hint;
        evidence.shares_full_maximum = shares_full_maximum;
        evidence
    }
}

/// True if at least three maps are integers of 16 bits, or all of 8 bits, and every one ends at exactly the full value of
/// its type that is not a fill value: counting would not end there in all of them.
pub fn share_full_maximum(maps: &[(&Map, &Look)]) -> bool {
    let Some((first, _)) = maps.first() else { return false };
    let ends_full = |(map, look): &(&Map, &Look)| {
        let full = map.plane.samples().ceiling();
        let is_fill = |v: f64| {
            look.signs.iter().any(|sign| matches!(sign, Sign::FillValue { value, .. } if *value == v))
        };
        map.plane.sample_type() == first.plane.sample_type()
            && full.is_some_and(|full| look.survey.range.is_some_and(|r| r.1 == full) && !is_fill(full))
    };
    maps.len() >= 3 && maps.iter().all(ends_full)
}

/// A sign of a stack, with the maps it is said of, in their order. Its offer is meant for each of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The maps.
    pub maps: Vec<MapId>,
    /// What is seen.
    pub sign: Sign,
}

/// Signs of one map by itself.
///
/// # Errors
/// No memory.
pub fn map(plane: &Plane) -> Result<Vec<Sign>, OutOfMemory> {
    Ok(Look::of(plane)?.signs)
}

/// Signs that only maps together give, each map read anew.
///
/// # Errors
/// No memory.
pub fn stack(maps: &[&Map]) -> Result<Vec<Found>, OutOfMemory> {
    let mut looks = Vec::new();
    for map in maps {
        looks.push(Look::of(&map.plane)?);
    }
    let seen: Vec<(&Map, &Look)> = maps.iter().copied().zip(&looks).collect();
    stack_of(&seen)
}

/// The size that most maps have; of sizes equally common the one that comes first.
fn commonest_size(maps: &[(&Map, &Look)]) -> Option<(u32, u32)> {
    let times = |size| maps.iter().filter(|(map, _)| map.plane.size() == size).count();
    let mut best = None;
    for (map, _) in maps {
        let size = map.plane.size();
        if best.is_none_or(|(_, most)| times(size) > most) {
            best = Some((size, times(size)));
        }
    }
    best.map(|(size, _)| size)
}

/// Signs that only maps together give, out of looks that are kept. Maps of the commonest size are the stack; the others are
/// held against it. The same order of maps gives the same signs in the same order.
///
/// # Errors
/// No memory.
pub fn stack_of(maps: &[(&Map, &Look)]) -> Result<Vec<Found>, OutOfMemory> {
    let Some(size) = commonest_size(maps).filter(|(width, height)| *width > 0 && *height > 0) else {
        return Ok(Vec::new());
    };
    let (full, odd): (Vec<_>, Vec<_>) = maps.iter().copied().partition(|(map, _)| map.plane.size() == size);
    let other = |map: &Map| Other { id: map.id.to_string(), label: map.label() };
    let ids = |indices: &[usize]| indices.iter().map(|&i| full[i].0.id.clone()).collect::<Vec<_>>();
    let all: Vec<usize> = (0..full.len()).collect();
    let mut out = Vec::new();
    if share_full_maximum(&full)
        && let Some(value) = full[0].0.plane.samples().ceiling().filter(|&v| v > 255.0)
    {
        out.push(Found { maps: ids(&all), sign: Sign::CommonMaximum { value, maps: full.len() as u64 } });
    }
    let seen: Vec<(&Plane, &Survey)> = full.iter().map(|(map, look)| (&map.plane, &look.survey)).collect();
    out.extend(margins::shared(&seen)?.map(|sign| Found { maps: ids(&all), sign }));
    for at_high in [true, false] {
        let drawn = burnt::in_stack(&seen, at_high)?;
        out.extend(drawn.map(|(sign, which)| Found { maps: ids(&which), sign }));
    }
    let planes: Vec<&Plane> = seen.iter().map(|(plane, _)| *plane).collect();
    out.extend(shift::look(&planes)?.map(|sign| Found { maps: ids(&all), sign }));
    let surveys: Vec<(&Map, &Survey)> = full.iter().map(|(map, look)| (*map, &look.survey)).collect();
    out.extend(seam::look(&surveys).into_iter().map(|sign| Found { maps: ids(&all), sign }));
    let coarse: Vec<Vec<f64>> = full.iter().map(|(_, look)| look.survey.coarse.clone()).collect();
    for wrong in turn::wrong(&coarse, size.0 == size.1) {
        let laid = turn::turned_plane(seen[wrong.map].0, wrong.turn)?;
        if !sizes::lie_on_each_other(&laid, seen[wrong.like].0)? {
            continue;
        }
        let like = other(full[wrong.like].0);
        let sign = Sign::Turned { turn: wrong.turn, like, is_either: wrong.is_either };
        out.push(Found { maps: ids(&[wrong.map]), sign });
    }
    for (i, relation) in same::relations(&seen)? {
        let sign = match relation {
            Relation::Same(j) => Sign::SameAs { other: other(full[j].0) },
            Relation::Sum(parts, is_exact) => {
                Sign::SumOf { others: parts.iter().map(|&j| other(full[j].0)).collect(), is_exact }
            }
            Relation::Root(j) => Sign::RootOf { other: other(full[j].0) },
        };
        out.push(Found { maps: ids(&[i]), sign });
    }
    let others: Vec<Other> = full.iter().map(|(map, _)| other(map)).collect();
    let stack: Vec<Seen<'_>> =
        seen.iter().zip(&others).map(|(&(plane, survey), other)| Seen { plane, survey, other }).collect();
    for (map, look) in odd {
        let name = other(map);
        let seen = Seen { plane: &map.plane, survey: &look.survey, other: &name };
        out.extend(sizes::look(seen, &stack)?.map(|sign| Found { maps: vec![map.id.clone()], sign }));
    }
    Ok(out)
}
