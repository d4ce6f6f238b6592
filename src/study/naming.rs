//! What the names of maps say, and how maps of one line belong together: errors of a fit to the fit, detectors to each
//! other.

use super::Study;
use super::record::map_key;
use crate::element::{Guess, KindHint as Said, Line, NameReading, Role, read_name};
use crate::kind::KindHint;
use crate::notice::OutOfMemory;
use crate::physics::{WindowLine, line_of_window};
use crate::stack::{Map, MapId};

/// What title and file name say together.
pub(super) struct Named {
    pub line: Option<Line>,
    pub role: Option<Role>,
    pub detector: Option<u32>,
    pub hint: Option<KindHint>,
}

impl Named {
    /// A title in the file says more than the file's name.
    pub(super) fn of(title: &str, file: &str) -> Self {
        let both = [read_name(title), read_name(file)];
        let first = |of: fn(&NameReading) -> Option<Line>| both.iter().find_map(of);
        let by_name = first(|reading| match reading.line {
            Guess::Line(line) => Some(line),
            Guess::Ambiguous(..) | Guess::Nothing => None,
        });
        let by_window = first(|reading| {
            let (low, high) = reading.window_kev?;
            match line_of_window(low, high) {
                WindowLine::One(line) => Some(line),
                WindowLine::Candidates(_) | WindowLine::Nothing => None,
            }
        });
        let role = both.iter().find_map(|reading| reading.role);
        let said = both.iter().find_map(|reading| reading.kind_hint);
        let hint = match (role, said) {
            (Some(Role::FitError | Role::FitQuality), _) => Some(KindHint::ErrorMap),
            (_, Some(said)) => Some(match said {
                Said::Counts => KindHint::Counts,
                Said::Rate => KindHint::Rate,
                Said::Net => KindHint::Net,
                Said::Fitted => KindHint::Fitted,
                Said::Normalised => KindHint::Normalised,
                Said::Quantified => KindHint::Quantified,
                Said::DisplayCopy => KindHint::DisplayCopy,
            }),
            _ => None,
        };
        Self { line: by_name.or(by_window), role, detector: both.iter().find_map(|r| r.detector), hint }
    }
}

/// The element map that an error, quality or background map belongs to: the only one of its line, size and detector.
pub(super) fn owner<'a>(map: &Map, maps: &'a [Map]) -> Option<&'a Map> {
    let line = map.role.filter(|role| role.may_have_line()).and(map.line)?;
    let mut fitting = maps.iter().filter(|other| {
        other.role.is_none()
            && other.making.is_none()
            && other.line == Some(line)
            && other.detector == map.detector
            && other.has_size_of(map)
    });
    let first = fitting.next()?;
    fitting.next().is_none().then_some(first)
}

/// Maps of the same line by other detectors, itself included, in their order; empty where there are none.
pub(super) fn detectors_of(map: &Map, maps: &[Map]) -> Vec<MapId> {
    if map.detector.is_none() || map.line.is_none() || map.role.is_some() {
        return Vec::new();
    }
    let of_line = maps.iter().filter(|other| {
        other.line == map.line && other.detector.is_some() && other.role.is_none() && other.has_size_of(map)
    });
    let ids: Vec<MapId> = of_line.map(|other| other.id.clone()).collect();
    if ids.len() > 1 { ids } else { Vec::new() }
}

impl Study {
    /// Tells maps of one name apart, and gives every element map the errors of the map that holds them: the stated one, or
    /// the only one that belongs to it.
    ///
    /// # Errors
    /// No memory; maps before the one that failed have theirs.
    pub(super) fn link_errors(&mut self) -> Result<(), OutOfMemory> {
        self.stack.tell_apart();
        let maps = self.stack.maps();
        let mut links: Vec<(MapId, Option<MapId>)> = Vec::new();
        for map in maps.iter().filter(|map| map.making.is_none()) {
            let stated =
                self.stated.get(&map_key(&map.source)).and_then(|stated| stated.error_map.as_deref());
            let errors = match stated {
                Some(key) => self.map_by_key(key).filter(|errors| errors.has_size_of(map)),
                None => maps.iter().find(|other| {
                    other.role == Some(Role::FitError)
                        && owner(other, maps).is_some_and(|own| own.id == map.id)
                }),
            };
            links.push((map.id.clone(), errors.map(|errors| errors.id.clone())));
        }
        for (id, errors) in links {
            if self.stack.by_id(&id).is_some_and(|map| map.error_map == errors) {
                continue;
            }
            let sigma = match errors.as_ref().and_then(|errors| self.stack.by_id(errors)) {
                Some(errors) => Some(errors.plane.to_f64()?),
                None => None,
            };
            if let Some(map) = self.stack.by_id_mut(&id) {
                (map.sigma, map.error_map) = (sigma, errors);
            }
        }
        Ok(())
    }
}
