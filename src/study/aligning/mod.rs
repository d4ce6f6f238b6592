//! Photos and other scans are laid on the grid: from matching points, or by a transform that was found.

mod fields;
mod finding;
mod record;
mod text;

pub use fields::{CompareSettings, FieldText};
pub use finding::{FoundText, Search, find_alignment};
pub use record::{AlignSettings, AlignmentRecord, MOST_POINTS, PointPair};
pub use text::{AlignmentText, PointText};

use super::{Laid, Study};
use crate::geometry::{Orientation, PlaneTransform, Point, Transform};
use crate::notice::Fault;
use crate::register::{self, Fitted, Model, Pair};

/// How exactly a transform that was found is trusted where no points check it, in pixels of the grid: common practice, no
/// source; tests of the search hold it to 1.
const FOUND_ERROR_PX: f64 = 1.0;
/// Points that are enough to say how exact a found transform is, if they lie at both ends of at least this share of the grid.
const ENOUGH_CHECKS: usize = 3;
const WIDE: f64 = 0.5;

/// Farther than this from the grid's origin nothing is seen; only places next to the horizon go there.
const FARTHEST_CHECK: f64 = 1e9;

/// Something laid on the grid as both lie now.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Aligned {
    /// As it stands in the record, but as both lie now.
    pub points: Vec<PointPair>,
    pub model: Option<Model>,
    pub is_found: bool,
    /// Why it cannot be laid, in one sentence.
    fit: Result<Fit, String>,
}

/// A transform with how well it holds.
#[derive(Debug, Clone, PartialEq)]
struct Fit {
    transform: Transform,
    /// Where each point is laid less where it should be, in pixels of the grid; empty where that is zero by construction.
    errors: Vec<(f64, f64)>,
    left_out: Vec<Option<(f64, f64)>>,
    rms: Option<f64>,
    left_out_rms: Option<f64>,
    /// How far a place of the grid may be off.
    error_px: f64,
    /// Nothing shows that error: it is what is usual.
    is_error_assumed: bool,
    /// The point that the others contradict.
    doubtful: Option<usize>,
    /// Points check it, but only in a part of the grid.
    is_narrow: bool,
    /// What the points say of single places, where it was fitted to them.
    fitted: Option<Fitted>,
}

impl Aligned {
    /// From a record: `own` is how what is aligned lies now, seen from its file of `file_size`.
    pub fn of(record: &AlignmentRecord, own: Orientation, file_size: (u32, u32), now: Orientation) -> Self {
        let grid = now_size(record.laid, now);
        let from = PlaneTransform::laid(own, file_size);
        let to = record.grid_turn(now);
        let points: Vec<PointPair> = record.points.iter().map(|pair| pair.moved(&from, &to)).collect();
        let pairs: Vec<Pair> = points.iter().map(PointPair::pair).collect();
        let model = record.model.as_deref().and_then(Model::from_word);
        let fit = match record.transform {
            Some(matrix) => PlaneTransform::new(matrix)
                .and_then(|found| from.inverse().then(&found)?.then(&to))
                .ok_or_else(|| "The transform would lay it on a line.".to_owned())
                .and_then(|found| Fit::checked(found, &pairs, grid)),
            None => {
                let model = model.unwrap_or_else(|| Model::suggested(pairs.len()));
                register::fit(&pairs, model)
                    .map(|fitted| Fit::of(fitted, grid))
                    .map_err(|trouble| trouble.to_string())
            }
        };
        Self { points, model, is_found: record.transform.is_some(), fit }
    }

    /// From what is aligned to the grid.
    ///
    /// # Errors
    /// Why there is none, in one sentence.
    pub fn transform(&self) -> Result<&Transform, &str> {
        self.fit.as_ref().map(|fit| &fit.transform).map_err(String::as_str)
    }

    /// How far a place of the grid may be off, in its pixels: from what the points leave over and where they lie, else what is
    /// usual. `None` where it cannot be laid.
    pub fn error_px(&self) -> Option<f64> {
        self.fit.as_ref().ok().map(|fit| fit.error_px)
    }

    /// The same about one place of the grid: larger than elsewhere far from the points, and never said smaller than for the
    /// whole grid.
    pub fn error_near(&self, to: Point) -> Option<f64> {
        let fit = self.fit.as_ref().ok()?;
        let here = fit.fitted.as_ref().and_then(|fitted| fitted.error_at(to));
        Some(here.map_or(fit.error_px, |here| here.max(fit.error_px)))
    }

    /// The same where what is aligned, of this size, lies on the grid: beside it the alignment need not hold.
    pub fn error_shared(&self, own: (u32, u32), grid: (u32, u32)) -> Option<f64> {
        let fit = self.fit.as_ref().ok()?;
        let share = |i: u32, side: u32| (f64::from(i) + 0.5) / 9.0 * f64::from(side);
        let is_inside =
            |&(x, y): &Point| (0.0..f64::from(grid.0)).contains(&x) && (0.0..f64::from(grid.1)).contains(&y);
        let places = (0..81).filter_map(|i| fit.transform.at((share(i % 9, own.0), share(i / 9, own.1))));
        let error = |to: Point| fit.fitted.as_ref()?.error_at(to);
        let errors: Vec<f64> = places.filter(is_inside).filter_map(error).collect();
        if errors.is_empty() {
            return Some(fit.error_px);
        }
        Some((errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64).sqrt())
    }

    /// True where no points show how far it may be off.
    pub fn is_error_assumed(&self) -> bool {
        self.fit.as_ref().is_ok_and(|fit| fit.is_error_assumed)
    }
}

/// Size of the grid as it lies now.
fn now_size(laid: Laid, now: Orientation) -> (u32, u32) {
    laid.turn_to(now).size(laid.size())
}

impl PointPair {
    fn pair(&self) -> Pair {
        Pair { from: self.from.into(), to: self.to.into() }
    }
}

impl Fit {
    fn of(fitted: Fitted, grid: (u32, u32)) -> Self {
        let counts = fitted.errors_count();
        Self {
            error_px: fitted.error_over(grid).unwrap_or(FOUND_ERROR_PX),
            is_error_assumed: fitted.is_error_assumed(),
            doubtful: fitted.doubtful,
            rms: counts.then_some(fitted.rms),
            errors: if counts { fitted.errors.clone() } else { Vec::new() },
            left_out_rms: fitted.left_out_rms,
            is_narrow: false,
            transform: fitted.transform.clone(),
            left_out: fitted.left_out.clone(),
            fitted: Some(fitted),
        }
    }

    /// A transform that did not come from these points, held against them. As where it is fitted, one point of the assumed error
    /// is added, so that few points that agree by luck do not make it exact.
    ///
    /// # Errors
    /// It gives a point no place.
    fn checked(found: PlaneTransform, pairs: &[Pair], grid: (u32, u32)) -> Result<Self, String> {
        let mut errors = Vec::new();
        for (number, pair) in (1..).zip(pairs) {
            let is_near = |(x, y): &Point| x.abs() < FARTHEST_CHECK && y.abs() < FARTHEST_CHECK;
            let (x, y) = found.at(pair.from).filter(is_near).ok_or_else(|| {
                format!("Point {number} lies on or beyond the horizon of this transform; check both.")
            })?;
            errors.push((x - pair.to.0, y - pair.to.1));
        }
        let squares: f64 = errors.iter().map(|(x, y)| x * x + y * y).sum();
        let rms = (!errors.is_empty()).then(|| (squares / errors.len() as f64).sqrt());
        let is_narrow = !is_wide(pairs, grid);
        let is_error_assumed = errors.len() < ENOUGH_CHECKS || is_narrow;
        let with_one_more = ((squares + FOUND_ERROR_PX * FOUND_ERROR_PX) / (errors.len() + 1) as f64).sqrt();
        Ok(Self {
            transform: Transform::Plane(found),
            left_out: vec![None; errors.len()],
            errors,
            error_px: match rms {
                Some(rms) if is_error_assumed => rms.max(FOUND_ERROR_PX),
                Some(_) => with_one_more,
                None => FOUND_ERROR_PX,
            },
            rms,
            left_out_rms: None,
            is_error_assumed,
            doubtful: None,
            is_narrow: is_narrow && !pairs.is_empty(),
            fitted: None,
        })
    }
}

/// Whether points lie over enough of the grid, across and down, to speak for all of it.
fn is_wide(pairs: &[Pair], (width, height): (u32, u32)) -> bool {
    let span = |of: fn(&Pair) -> f64| {
        let ends = pairs
            .iter()
            .map(of)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        ends.1 - ends.0
    };
    span(|pair| pair.to.0) >= WIDE * f64::from(width) && span(|pair| pair.to.1) >= WIDE * f64::from(height)
}

impl Study {
    /// Lays a photo, or the scan that a map belongs to, on the grid; `None` where the alignment was taken away. Points that
    /// are too few, or that no transform fits, are kept, with what is wrong in `trouble`.
    ///
    /// # Errors
    /// Nothing of this name; no grid; settings that are not understood. Nothing is changed then.
    pub fn align(&mut self, settings: AlignSettings) -> Result<Option<AlignmentText>, Fault> {
        if let Some(word) = &settings.model
            && Model::from_word(word).is_none()
        {
            let all = Model::ALL.map(Model::word).join(", ");
            return Err(Fault::bad_setting(format!("“{word}” is no way to align. There are: {all}.")));
        }
        let size = self.grid_size().ok_or_else(|| {
            Fault::new("no_maps", "There are no maps yet on which it could be laid. Open a map first.")
        })?;
        let laid = Laid::of(self.stack.orientation(), size);
        match (&settings.photo, &settings.map) {
            (Some(photo), None) => {
                let place = self.photo_place(photo)?;
                let photo = &mut self.photos[place];
                photo.stated.alignment =
                    alignment_of(&settings, photo.orientation(), photo.file_size(), laid)?;
                self.photo_stated.insert(photo.key.clone(), photo.stated.clone());
                self.align_photo(place);
                self.regions_after_photos();
                let photo = &self.photos[place];
                Ok(photo.aligned.as_ref().map(|aligned| aligned.text(photo.size, &self.stack)))
            }
            (None, Some(map)) => self.align_field(map, &settings, laid),
            _ => {
                Err(Fault::bad_setting("Name what is to be aligned: a `photo`, or a `map` of another scan."))
            }
        }
    }

    /// Lays a photo as what is stated of it says.
    pub(super) fn align_photo(&mut self, place: usize) {
        let now = self.stack.orientation();
        let photo = &mut self.photos[place];
        let record = photo.stated.alignment.as_ref();
        photo.aligned = record.map(|record| Aligned::of(record, photo.orientation(), photo.file_size(), now));
    }

    /// Lays all photos again: to be called when the grid was turned.
    pub(super) fn align_all(&mut self) {
        for place in 0..self.photos.len() {
            self.align_photo(place);
        }
    }
}

/// What stands in the record: places of the file, and of the grid as it lies now.
fn alignment_of(
    settings: &AlignSettings,
    own: Orientation,
    file_size: (u32, u32),
    laid: Laid,
) -> Result<Option<AlignmentRecord>, Fault> {
    if settings.points.is_empty() && settings.transform.is_none() {
        return Ok(None);
    }
    let to_file = PlaneTransform::laid(own, file_size).inverse();
    let same = PlaneTransform::identity();
    let transform = match settings.transform {
        None => None,
        Some(matrix) => {
            let of_file = PlaneTransform::new(matrix).and_then(|found| to_file.inverse().then(&found));
            let fault = || Fault::bad_setting("This transform would lay everything on a line.");
            Some(*of_file.ok_or_else(fault)?.matrix())
        }
    };
    let points = settings.points.iter().map(|pair| pair.moved(&to_file, &same)).collect();
    Ok(Some(AlignmentRecord { model: settings.model.clone(), points, transform, laid }))
}
