//! What can be exported, in words.

use super::Format;
use serde::Serialize;

/// A format that something is written in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FormatText {
    /// For the option `format`.
    pub format: &'static str,
    /// What the file is good for, in a few words.
    pub label: &'static str,
    /// How its name ends.
    pub ending: &'static str,
}

/// Something that can be exported.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Offer {
    /// The first argument of the call.
    pub what: &'static str,
    /// What it is.
    pub label: &'static str,
    /// The formats; the first is taken where none is asked for.
    pub formats: Vec<FormatText>,
    /// What has to be named: "map", "answer", "region", "spectrum", "settings" of a picture; empty for nothing.
    pub needs: &'static str,
}

fn offer(
    what: &'static str,
    label: &'static str,
    needs: &'static str,
    formats: &[(Format, &'static str)],
) -> Offer {
    let text = |&(format, label): &(Format, &'static str)| FormatText {
        format: format.word(),
        label,
        ending: format.ending(),
    };
    Offer { what, label, formats: formats.iter().map(text).collect(), needs }
}

/// Everything that can be exported.
pub fn offers() -> Vec<Offer> {
    use Format::{Csv, Json, Npy, Npz, Png, Tiff};
    let table = [(Csv, "table (CSV)")];
    vec![
        offer(
            "picture",
            "picture with key and scale bar",
            "settings",
            &[(Png, "picture with its settings (PNG)")],
        ),
        offer(
            "map",
            "map as numbers",
            "map",
            &[
                (Tiff, "32-bit numbers with resolution (TIFF)"),
                (Npz, "arrays with errors and settings (NPZ)"),
                (Npy, "the array alone (NPY)"),
            ],
        ),
        offer(
            "raster",
            "pixels of an answer as numbers",
            "answer",
            &[
                (Tiff, "numbers with resolution (TIFF)"),
                (Npz, "array with settings (NPZ)"),
                (Npy, "the array alone (NPY)"),
            ],
        ),
        offer(
            "mask",
            "mask of a region",
            "region",
            &[
                (Png, "picture, white inside (PNG)"),
                (Tiff, "picture, 255 inside (TIFF)"),
                (Npz, "array with settings, for other programs (NPZ)"),
                (Npy, "the array alone, for other programs (NPY)"),
                (Csv, "list of pixels, for other programs (CSV)"),
            ],
        ),
        offer("answer", "answer with all its numbers", "answer", &[(Json, "record (JSON)")]),
        offer("table", "table of an answer", "answer", &table),
        offer("profile", "profile along a line", "answer", &table),
        offer("regions_table", "all regions", "", &table),
        offer("points", "all analysis points", "", &table),
        offer("files", "all files, maps and photos", "", &table),
        offer("spectrum", "spectrum of a region", "spectrum", &table),
        offer("record", "settings record of the study", "", &[(Json, "record (JSON)")]),
    ]
}
