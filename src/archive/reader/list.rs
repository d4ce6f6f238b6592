//! The list of entries, checked as a whole before any of them is read.

use super::super::{MOST_ENTRIES, MOST_LIST, STATE};
use super::words::{damaged, foreign, shortened};
use crate::notice::Fault;
use crate::zip::{End, LOCAL_HEAD, Listed, listed_at, trouble_of_name};
use std::collections::BTreeMap;

/// Where the list is: how many entries, from and to which byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) count: u64,
    pub(super) from: u64,
    pub(super) to: u64,
}

impl Place {
    /// Checks where the end record says that the list is. `end` is where that record itself begins.
    pub(super) fn checked((count, size, at): (u64, u64, u64), end: u64) -> Result<Self, Fault> {
        if count > MOST_ENTRIES || size > MOST_LIST {
            return Err(damaged(&format!(
                "it claims to hold {count} entries, and a study file holds at most {MOST_ENTRIES}"
            )));
        }
        match at.checked_add(size) {
            Some(to) if to <= end => Ok(Self { count, from: at, to }),
            _ => Err(damaged("its list of entries is not where it should be")),
        }
    }
}

/// Whether the end record needs the larger one, because a number does not fit into it.
pub(super) fn needs_wide(end: &End) -> bool {
    end.count == 0xffff || end.size == 0xffff_ffff || end.at == 0xffff_ffff
}

/// The entries by their paths.
#[derive(Debug, Default)]
pub(super) struct List {
    by_path: BTreeMap<String, Listed>,
    /// Places of all entries and of the list itself, in order.
    starts: Vec<u64>,
}

impl List {
    /// Reads a list and holds all its entries against each other.
    pub(super) fn read(bytes: &[u8], place: Place) -> Result<Self, Fault> {
        let (mut list, mut at) = (Self::default(), 0);
        let (mut spans, mut lower) = (Vec::new(), std::collections::BTreeSet::new());
        for _ in 0..place.count {
            let (entry, next) =
                listed_at(bytes, at).ok_or_else(|| damaged("its list of entries is spoilt"))?;
            at = next;
            let end =
                entry.at.checked_add(LOCAL_HEAD + entry.name).and_then(|at| at.checked_add(entry.packed));
            match end {
                Some(end) if end <= place.from => spans.push((entry.at, end)),
                _ => return Err(damaged("an entry of it reaches into its list of entries")),
            }
            let folder = entry.path.strip_suffix('/').filter(|_| entry.unpacked == 0);
            if let Some(trouble) = trouble_of_name(folder.unwrap_or(&entry.path)) {
                return Err(foreign(&format!(
                    "an entry of it is called “{}”, and {trouble}",
                    shortened(&entry.path)
                )));
            }
            if !lower.insert(entry.path.to_lowercase()) {
                return Err(damaged(&format!("two entries are called “{}”", shortened(&entry.path))));
            }
            list.by_path.insert(entry.path.clone(), entry);
        }
        if at != bytes.len() {
            return Err(damaged("its list of entries has another length than it claims"));
        }
        spans.sort_unstable();
        if spans.windows(2).any(|pair| pair[0].1 > pair[1].0) {
            return Err(damaged("two of its entries lie over each other"));
        }
        list.starts = spans.into_iter().map(|(start, _)| start).chain([place.from]).collect();
        if list.by_path.contains_key(STATE) {
            return Ok(list);
        }
        Err(foreign(&format!(
            "it holds no {STATE}. If maps are packed in it, drop it on the page; if a study file was unpacked and packed again, pack what is in the folder and not the folder"
        )))
    }

    pub(super) fn find(&self, path: &str) -> Option<&Listed> {
        self.by_path.get(path)
    }

    /// Where what follows an entry begins: up to there it may reach.
    pub(super) fn after(&self, entry: &Listed) -> u64 {
        let next = self.starts.partition_point(|&start| start <= entry.at);
        self.starts.get(next).copied().unwrap_or(entry.at)
    }
}
