//! Reading a study file, without knowing where it lies: the reader says which bytes it wants, one part after the other, and
//! whoever holds the file gives them. Nothing is kept of an input but what the study keeps; at no time is there more than
//! one of them.

mod entry;
mod list;
mod restoring;
mod state;
mod words;

use super::{STATE, SUMS};
use crate::notice::Fault;
use crate::study::{NoticeText, Opened, Study};
use crate::zip::{self, End, LOCAL_HEAD, Listed, TAIL, WIDE_END, end_in, local_length, wide_end};
use list::{List, Place};
use restoring::Task;
use serde::Serialize;
use state::State;
use std::collections::VecDeque;
use words::{cut_off, damaged};

/// A study that was brought back.
#[derive(Debug)]
pub struct Restored {
    /// The study.
    pub study: Study,
    /// All its maps and photos, and what is to be told.
    pub opened: Opened,
    /// The files that it was made of, where they lie in the study file.
    pub inputs: Vec<RestoredInput>,
}

/// An input as it lies in a study file: as it came, so that a part of the file is the file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RestoredInput {
    /// Its name (untrusted text).
    pub name: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// The way in which it was chosen to be read.
    pub way: Option<String>,
    /// Its first byte in the study file.
    pub from: u64,
    /// The byte after its last.
    pub to: u64,
}

/// What the bytes are that come next.
#[derive(Debug)]
enum Step {
    Tail,
    Wide(End),
    List(Place),
    Head(Task, Listed),
    Body(Task, Listed),
    Done,
}

/// Reads a study file. Begin with [`Reader::wants`] and [`Reader::give`] what it wants, until it wants nothing more; then
/// [`Reader::finish`].
#[derive(Debug)]
pub struct Reader {
    size: u64,
    step: Step,
    wish: Option<(u64, u64)>,
    fault: Option<Fault>,
    list: List,
    tasks: VecDeque<Task>,
    /// SHA-256 of the state as it was read.
    state_sum: String,
    state: Option<State>,
    study: Study,
    notices: Vec<NoticeText>,
    inputs: Vec<RestoredInput>,
    /// Bytes of inputs that were read, and of all.
    done: u64,
    total: u64,
}

impl Reader {
    /// Of a file of so many bytes.
    pub fn new(size: u64) -> Self {
        let mut new = Self {
            size,
            step: Step::Tail,
            wish: None,
            fault: None,
            list: List::default(),
            tasks: VecDeque::new(),
            state_sum: String::new(),
            state: None,
            study: Study::new(),
            notices: Vec::new(),
            inputs: Vec::new(),
            done: 0,
            total: 0,
        };
        if size < 22 {
            new.fail(cut_off());
        } else {
            new.wish = Some((size.saturating_sub(TAIL), size));
        }
        new
    }

    /// The bytes that are to be given next: from the first to the one after the last. `None` when there is nothing more to
    /// give, also after a fault.
    pub fn wants(&self) -> Option<(u64, u64)> {
        self.wish
    }

    /// Takes the bytes that were wanted.
    ///
    /// # Errors
    /// A file that cannot be restored, in one sentence: nothing more is wanted then, and [`Reader::finish`] says the same. What
    /// costs a single file or a kept answer is no error but a notice.
    pub fn give(&mut self, bytes: &[u8]) -> Result<(), Fault> {
        let Some((from, to)) = self.wish.take() else {
            return Err(Fault::new(
                "unexpected",
                "More of the study file was handed over than was asked for.",
            ));
        };
        let outcome = if bytes.len() as u64 == to - from {
            self.take(bytes, from)
        } else {
            Err(damaged("a part of it could not be read"))
        };
        if let Err(fault) = &outcome {
            self.fail(fault.clone());
        }
        outcome
    }

    fn fail(&mut self, fault: Fault) {
        self.step = Step::Done;
        self.wish = None;
        self.tasks.clear();
        self.study = Study::new();
        self.fault = Some(fault);
    }

    /// How far it is, from 0 to 1, and what it does.
    pub fn progress(&self) -> (f64, String) {
        let share = if self.total == 0 { 0.0 } else { self.done as f64 / self.total as f64 };
        let text = match &self.step {
            Step::Head(Task::Input(place), _) | Step::Body(Task::Input(place), _) => {
                let inputs = self.state.as_ref().map_or(&[][..], |state| state.record.inputs.as_slice());
                let name = inputs.get(*place).map_or("", |input| input.name.as_str());
                format!("Reading {} ({} of {})", words::shortened(name), place + 1, inputs.len())
            }
            Step::Done => "Restored".to_owned(),
            _ => "Reading the study".to_owned(),
        };
        (share, text)
    }

    /// The study.
    ///
    /// # Errors
    /// The fault that [`Reader::give`] told of, or a file that was not given to its end.
    pub fn finish(self) -> Result<Restored, Fault> {
        if let Some(fault) = self.fault {
            return Err(fault);
        }
        if !matches!(self.step, Step::Done) {
            return Err(Fault::new("unexpected", "The study file was not read to its end."));
        }
        let opened = Opened {
            sha256: None,
            maps: self.study.maps().into_iter().map(|map| map.id).collect(),
            photos: self.study.photos().into_iter().map(|photo| photo.id).collect(),
            notices: self.notices,
            asks: Vec::new(),
            is_kept: true,
        };
        Ok(Restored { study: self.study, opened, inputs: self.inputs })
    }

    fn take(&mut self, bytes: &[u8], from: u64) -> Result<(), Fault> {
        match std::mem::replace(&mut self.step, Step::Done) {
            Step::Tail => self.tail(bytes, from),
            Step::Wide(end) => {
                let at = end.wide_at.unwrap_or_default();
                let wide = wide_end(bytes)
                    .ok_or_else(|| damaged("its list of entries is not where it should be"))?;
                self.want_list(Place::checked(wide, at)?)
            }
            Step::List(place) => {
                self.list = List::read(bytes, place)?;
                self.tasks = VecDeque::from([Task::State, Task::Sums]);
                self.next()
            }
            Step::Head(task, entry) => {
                let body = self.body_of(&entry, bytes);
                match body {
                    Ok((from, to)) if from == to => {
                        self.entry(task, &entry, &[], from)?;
                        self.next()
                    }
                    Ok(wish) => {
                        self.wish = Some(wish);
                        self.step = Step::Body(task, entry);
                        Ok(())
                    }
                    Err(what) => {
                        self.spoilt(&task, &what)?;
                        self.next()
                    }
                }
            }
            Step::Body(task, entry) => {
                self.entry(task, &entry, bytes, from)?;
                self.next()
            }
            Step::Done => Ok(()),
        }
    }

    /// Finds the end record.
    fn tail(&mut self, bytes: &[u8], from: u64) -> Result<(), Fault> {
        let end = end_in(bytes).ok_or_else(cut_off)?;
        // A file within this one may have an end record of its own; that of this file is at its very end.
        if end.length() != (bytes.len() - end.place) as u64 {
            return Err(cut_off());
        }
        let place = from + end.place as u64;
        match end.wide_at.filter(|_| list::needs_wide(&end)) {
            None => self.want_list(Place::checked((end.count, end.size, end.at), place)?),
            Some(at) if at.checked_add(WIDE_END).is_some_and(|to| to <= place) => {
                self.step = Step::Wide(end);
                self.wish = Some((at, at + WIDE_END));
                Ok(())
            }
            Some(_) => Err(damaged("its list of entries is not where it should be")),
        }
    }

    fn want_list(&mut self, place: Place) -> Result<(), Fault> {
        if place.from == place.to {
            return Err(words::foreign("it is an empty ZIP file"));
        }
        self.wish = Some((place.from, place.to));
        self.step = Step::List(place);
        Ok(())
    }

    /// Where the bytes of an entry are, by its head; or what is wrong with that.
    fn body_of(&self, entry: &Listed, head: &[u8]) -> Result<(u64, u64), String> {
        let length = local_length(head).ok_or("begins with something else than an entry")?;
        if head.get(LOCAL_HEAD as usize..) != Some(entry.path.as_bytes()) {
            return Err("has another name in the list than before its bytes".into());
        }
        let from = entry.at.saturating_add(length);
        let to = from.saturating_add(entry.packed);
        if to > self.list.after(entry) || to > self.size {
            return Err("reaches into the next one".into());
        }
        Ok((from, to))
    }

    /// Goes on to the next thing that needs bytes; does on the way what needs none.
    fn next(&mut self) -> Result<(), Fault> {
        while let Some(task) = self.tasks.pop_front() {
            if matches!(task, Task::Apply) {
                self.apply()?;
                continue;
            }
            let path = self.path_of(&task);
            let Some(entry) = path.as_deref().and_then(|path| self.list.find(path)).cloned() else {
                self.missing(&task)?;
                continue;
            };
            if let Err(what) = entry::check(&entry, self.most_of(&task), matches!(task, Task::Input(_))) {
                self.spoilt(&task, &what)?;
                continue;
            }
            let head = (entry.at, entry.at + LOCAL_HEAD + entry.name);
            self.wish = Some(head);
            self.step = Step::Head(task, entry);
            return Ok(());
        }
        self.step = Step::Done;
        Ok(())
    }

    /// The entry that a task is about.
    fn path_of(&self, task: &Task) -> Option<String> {
        let by_hash = |sha256: &str| self.state.as_ref()?.paths.get(sha256).cloned();
        match task {
            Task::State => Some(STATE.to_owned()),
            Task::Sums => Some(SUMS.to_owned()),
            Task::Apply => None,
            Task::Answer { sha256, .. } | Task::Picture { sha256, .. } => by_hash(sha256),
            Task::Input(place) => by_hash(&self.state.as_ref()?.record.inputs.get(*place)?.sha256),
        }
    }
}

/// The bytes of an entry, unpacked and held against their checksum.
fn unpacked<'a>(entry: &Listed, bytes: &'a [u8]) -> Result<std::borrow::Cow<'a, [u8]>, String> {
    let unpacked = if entry.method == zip::DEFLATED {
        let out =
            zip::inflated(bytes, entry.unpacked).map_err(|error| format!("cannot be unpacked: {error}"))?;
        out.ok_or("does not unpack to what it claims")?.into()
    } else {
        std::borrow::Cow::Borrowed(bytes)
    };
    if u64::from(crc32fast::hash(&unpacked)) == entry.crc32 {
        Ok(unpacked)
    } else {
        Err("has a wrong checksum".into())
    }
}
