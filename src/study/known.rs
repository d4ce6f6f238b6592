//! What a question may know beside maps and regions, kept with the study and made anew when something that it is made of
//! changes.

use super::Study;
use super::points::{self, PointRecord};
use crate::ask::{AnalysisPoint, Known, Measuring};
use crate::element::{Element, Line};
use crate::notice::Fault;

impl Study {
    /// How the scan was made, analysis points and the object's edges, as the maps lie now.
    pub fn known(&self) -> &Known {
        &self.known
    }

    /// To be called when the scan, points, the object or how the maps lie have changed.
    pub(super) fn know(&mut self) {
        self.known = self.known_now();
        self.overlap_seen = None;
    }

    /// Takes a point, a spectrum or a finding away, if the name is the id of one, and says which it was.
    ///
    /// # Errors
    /// A map or a region is called so.
    pub(super) fn remove_evidence(&mut self, name: &str) -> Result<Option<&'static str>, Fault> {
        let (is_point, is_spectrum) = (self.has_point(name), self.has_spectrum(name));
        let what = match (is_point, is_spectrum, self.has_finding(name)) {
            (true, ..) => "analysis point",
            (_, true, _) => "spectrum",
            (.., true) => "finding",
            _ => return Ok(None),
        };
        if self.number_of_region(name).is_ok() || self.stack.find(name).is_ok() {
            return Err(Fault::bad_setting(format!(
                "“{name}” is the id of the {what}, and a map or a region is called so. Rename that one first."
            )));
        }
        if is_point {
            self.remove_point(name);
            return Ok(Some("point"));
        }
        if !is_spectrum {
            self.remove_finding(name);
            return Ok(Some("finding"));
        }
        self.remove_spectrum(name);
        Ok(Some("spectrum"))
    }

    pub(super) fn known_now(&self) -> Known {
        let scan = &self.scan;
        Known {
            measuring: Measuring {
                anode: scan.anode.as_deref().and_then(Element::from_symbol),
                kv: scan.kv,
                incidence_deg: scan.incidence_deg,
                takeoff_deg: scan.takeoff_deg,
                distance_mm: scan.distance_mm,
                is_without_air: scan.path.as_deref().map(|path| path != "air"),
                resolution_ev: scan.resolution_ev,
            },
            points: self.points.iter().map(|record| self.told_point(record)).collect(),
            own_lines: scan.own_lines.iter().filter_map(|text| Line::parse_typed(text)).collect(),
            object: self.object_frame().map(|(frame, _)| frame),
            has_no_places: self.left_out.iter().any(|text| text == super::PLACES_LEFT_OUT),
        }
    }

    /// A point as questions are told of it.
    pub(super) fn told_point(&self, record: &PointRecord) -> AnalysisPoint {
        AnalysisPoint {
            id: points::id_of(record.number),
            name: record.name.clone(),
            at: self.point_place(record),
            technique: record.technique.clone(),
            result: record.result.clone(),
            pigment: record.pigment.clone(),
            says: record.says(),
        }
    }
}
