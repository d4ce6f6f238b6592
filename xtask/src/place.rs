//! Where things are in the repository.

use std::path::PathBuf;

/// A path in the repository, written with `/`.
pub fn at(path: &str) -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    root.parent().map(PathBuf::from).unwrap_or(root).join(path)
}

/// Everything built, fetched or made by tests. Fixed, so that the wasm runner of `.cargo/config.toml` is found.
pub fn target(path: &str) -> PathBuf {
    at("target").join(path)
}
