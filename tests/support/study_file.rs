//! Study files in one piece, and read back.

use limner::archive::{Reader, Restored, save};
use limner::notice::Fault;
use limner::study::Study;
use limner::zip::Piece;
use std::collections::BTreeMap;

/// Files by their SHA-256.
pub type Files = BTreeMap<String, Vec<u8>>;

/// A study file as bytes.
pub fn saved(study: &Study, files: &Files) -> Vec<u8> {
    let mut out = Vec::new();
    for piece in save(study).unwrap() {
        match piece {
            Piece::Bytes(bytes) => out.extend(bytes),
            Piece::Elsewhere { source, size } => {
                assert_eq!(files[&source].len() as u64, size);
                out.extend(&files[&source]);
            }
        }
    }
    out
}

/// Reads a study file as a page does, and never holds more than what was wanted. Also that wishes keep to the file.
pub fn restored(file: &[u8]) -> Result<Restored, Fault> {
    let mut reader = Reader::new(file.len() as u64);
    let mut wishes = 0;
    while let Some((from, to)) = reader.wants() {
        assert!(from < to && to <= file.len() as u64, "{from} to {to} of {}", file.len());
        let (share, text) = reader.progress();
        assert!((0.0..=1.0).contains(&share) && !text.is_empty());
        let given = reader.give(&file[from as usize..to as usize]);
        assert!(given.is_ok() || reader.wants().is_none(), "it wants more after a fault");
        wishes += 1;
        assert!(wishes < 50_000, "it never ends");
    }
    reader.finish()
}
