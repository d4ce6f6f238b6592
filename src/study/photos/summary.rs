//! A photo at a glance.

use super::HeldPhoto;
use crate::stack::Stack;
use crate::study::aligning::AlignmentText;
use serde::Serialize;

/// A photo at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhotoSummary {
    /// Its id.
    pub id: String,
    /// File name.
    pub file: String,
    /// What it is called: a name of the user's own, else the file's.
    pub name: String,
    /// Width of the full photo as it lies now, in pixels.
    pub width: u32,
    /// Its height.
    pub height: u32,
    /// SHA-256 of the file.
    pub file_sha256: String,
    /// "visible", "ultraviolet" or "infrared".
    pub light: String,
    /// "recto" or "verso".
    pub side: String,
    /// Clockwise quarter turns.
    pub turns: u8,
    /// Whether it is mirrored left to right before it is turned.
    pub mirror: bool,
    /// All of it in a few words.
    pub text: String,
    /// Where it lies on the grid.
    pub alignment: Option<AlignmentText>,
}

impl PhotoSummary {
    pub(super) fn of(photo: &HeldPhoto, stack: &Stack) -> Self {
        let (light, side) = (photo.stated.light(), photo.stated.side());
        let orientation = photo.orientation();
        let (width, height) = photo.size;
        let mirrored = if orientation.is_mirrored() { ", mirrored" } else { "" };
        let laid = match &photo.aligned {
            Some(aligned) if aligned.transform().is_ok() => "aligned",
            Some(_) => "alignment not complete",
            None => "not aligned",
        };
        Self {
            id: photo.id(),
            file: photo.file.clone(),
            name: photo.name().to_owned(),
            width,
            height,
            file_sha256: photo.file_sha256.clone(),
            light: light.into(),
            side: side.into(),
            turns: orientation.quarter_turns(),
            mirror: orientation.is_mirrored(),
            text: format!("{light} light, {side}{mirrored}, {laid}"),
            alignment: photo.aligned.as_ref().map(|aligned| aligned.text(photo.size, stack)),
        }
    }
}
