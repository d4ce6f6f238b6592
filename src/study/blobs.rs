//! Bytes that a record names by their SHA-256: kept answers and kept pictures.

use super::Study;
use crate::digest::sha256_hex;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Blobs by their hash. Nothing is taken away while the study is open: an earlier state of it may name it.
#[derive(Debug, Default)]
pub(super) struct Blobs {
    all: BTreeMap<String, Arc<[u8]>>,
    /// Those that came since they were last handed out.
    new: Vec<String>,
}

impl Blobs {
    pub fn get(&self, sha256: &str) -> Option<&[u8]> {
        self.all.get(sha256).map(AsRef::as_ref)
    }

    /// Takes bytes in, and gives their name.
    pub fn put(&mut self, bytes: Vec<u8>) -> String {
        let name = sha256_hex(&bytes);
        if !self.all.contains_key(&name) {
            self.all.insert(name.clone(), bytes.into());
            self.new.push(name.clone());
        }
        name
    }
}

impl Study {
    /// Every blob that the record names and that is here, by its hash.
    pub fn blobs(&self) -> impl Iterator<Item = (&str, &[u8])> {
        let named: std::collections::BTreeSet<&str> =
            self.findings.iter().flat_map(|one| one.blobs()).collect();
        named.into_iter().filter_map(|name| Some((name, self.blobs.get(name)?)))
    }

    /// A blob by its hash; `None` where it did not come with the study.
    pub fn blob(&self, sha256: &str) -> Option<&[u8]> {
        self.blobs.get(sha256)
    }

    /// Takes in bytes that a record names, and gives the name that they have.
    pub fn give_blob(&mut self, bytes: Vec<u8>) -> String {
        self.blobs.put(bytes)
    }

    /// Blobs that came since this was last called: what has to be kept besides the record.
    pub fn take_new_blobs(&mut self) -> Vec<(String, Arc<[u8]>)> {
        let new = std::mem::take(&mut self.blobs.new);
        new.into_iter()
            .filter_map(|name| self.blobs.all.get(&name).map(|bytes| (name.clone(), bytes.clone())))
            .collect()
    }
}
