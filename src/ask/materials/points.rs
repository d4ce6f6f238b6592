//! Results of other techniques at points of the passage.

use super::states;
use crate::ask::evidence::Evidence;
use crate::ask::known::Says;
use crate::notice::OutOfMemory;
use crate::pigment::{Found, Technique};

/// What was found at points inside the region. A point beside it speaks of another place, however near.
pub(super) fn found(evidence: &Evidence) -> Result<Vec<Found>, OutOfMemory> {
    let Some(side) = evidence.sides.first() else { return Ok(Vec::new()) };
    let mask = states::mask(evidence, side)?;
    let is_inside = |(x, y): (f64, f64)| {
        x >= 0.0 && y >= 0.0 && mask.get(x as u32, y as u32).is_some_and(|inside| *inside)
    };
    let points = evidence.beside.known.points.iter().filter(|point| is_inside(point.at));
    let told = points.filter_map(|point| {
        Some(Found {
            point: point.name.clone(),
            technique: Technique::from_words(&point.technique)?,
            material: point.pigment.clone()?,
            is_found: match point.says {
                Says::Found => Some(true),
                Says::NotFound => Some(false),
                Says::Open => None,
            },
        })
    });
    Ok(told.collect())
}
