//! What several tests need.

pub mod study_file;
pub mod told;
