//! Study files in one piece, and read back.

use limner::archive::{self, Reader};
use limner::notice::Fault;
use limner::study::{NoticeText, Study};
use limner::zip::Piece;
use std::collections::BTreeMap;

/// Files by their hash.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The file of a study.
pub fn whole_file(study: &Study, files: &Files) -> Vec<u8> {
    let mut out = Vec::new();
    for piece in archive::save(study).unwrap() {
        match piece {
            Piece::Bytes(bytes) => out.extend(bytes),
            Piece::Elsewhere { source, size } => {
                let file = &files[&source];
                assert_eq!(file.len() as u64, size);
                out.extend(file);
            }
        }
    }
    out
}

/// The study of a file, with what was to be told.
pub fn restored(file: &[u8]) -> Result<(Study, Vec<NoticeText>), Fault> {
    let mut reader = Reader::new(file.len() as u64);
    while let Some((from, to)) = reader.wants() {
        reader.give(&file[from as usize..to as usize])?;
    }
    let restored = reader.finish()?;
    Ok((restored.study, restored.opened.notices))
}
