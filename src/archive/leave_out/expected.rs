//! How large a copy will be, before anything is left out of it.

use super::LeaveOut;
use crate::archive::save;
use crate::notice::Fault;
use crate::study::Study;
use crate::zip::Piece;
use serde::Serialize;

/// Bytes of a photo's pixel in a PNG: a little less than its three channels, as photographs go.
const BYTES_A_PHOTO_PIXEL: f64 = 1.6;
/// Bytes of a file's header.
const HEADER: u64 = 128;
/// A kept answer becomes so many times smaller when it is deflated, roughly.
const DEFLATED: u64 = 4;
/// What a study file has besides.
const FRAME: u64 = 16_000;

/// How large the study of a copy will be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Expected {
    /// Bytes.
    pub bytes: u64,
    /// True where the copy has just so many.
    pub exact: bool,
    /// What else is known beforehand, in sentences; empty where nothing is.
    pub text: String,
}

/// Looks at the study as it is; exact where nothing is left out.
///
/// # Errors
/// As [`save`].
pub fn expected(study: &Study, what: &LeaveOut) -> Result<Expected, Fault> {
    let size = |piece: &Piece| match piece {
        Piece::Bytes(bytes) => bytes.len() as u64,
        Piece::Elsewhere { size, .. } => *size,
    };
    let whole: u64 = save(study)?.iter().map(size).sum();
    if *what == LeaveOut::default() {
        return Ok(Expected { bytes: whole, exact: true, text: String::new() });
    }
    let text = told(study, what);
    if what.findings_only {
        let blob = |bytes: &[u8]| match bytes.first() {
            Some(b'{') => bytes.len() as u64 / DEFLATED,
            _ => bytes.len() as u64,
        };
        let kept: u64 = study.blobs().map(|(_, bytes)| blob(bytes)).sum();
        return Ok(Expected { bytes: kept + FRAME, exact: false, text });
    }
    let (photos, maps) = (study.photos(), study.stack().maps());
    let has_map = |sha256: &str| maps.iter().any(|map| map.making.is_none() && map.source.sha256 == sha256);
    let has_photo = |sha256: &str| photos.iter().any(|photo| photo.file_sha256 == sha256);
    let is_new = |sha256: &str| what.rewrites() || (what.photo && has_photo(sha256));
    let gone: u64 = study.inputs().iter().filter(|one| is_new(&one.sha256)).map(|one| one.size).sum();
    let written = maps.iter().filter(|map| map.making.is_none() && is_new(&map.source.sha256)).map(|map| {
        let (width, height) = map.size_as_read();
        HEADER + u64::from(width) * u64::from(height) * map.plane.sample_type().size()
    });
    let drawn = photos.iter().filter(|photo| !what.photo && is_new(&photo.file_sha256)).map(|photo| {
        let pixels = f64::from(photo.width) * f64::from(photo.height);
        if has_map(&photo.file_sha256) { 0 } else { (pixels * BYTES_A_PHOTO_PIXEL) as u64 }
    });
    let bytes = whole.saturating_sub(gone) + written.sum::<u64>() + drawn.sum::<u64>();
    Ok(Expected { bytes, exact: false, text })
}

fn told(study: &Study, what: &LeaveOut) -> String {
    if !what.lessens() {
        return String::new();
    }
    match study.findings().iter().filter(|finding| !finding.changed.is_empty()).count() {
        0 => String::new(),
        1 => "One finding rests on what was changed since and will be left out.".into(),
        many => format!("{many} findings rest on what was changed since and will be left out."),
    }
}
