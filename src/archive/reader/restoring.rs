//! From the entries of a study file to a study, by the ways by which dropped files come in.

use super::super::readable::kept_answer;
use super::super::{MOST_INPUT, MOST_KEPT, MOST_STATE, STATE, SUMS};
use super::state::State;
use super::words::{damaged, shortened};
use super::{Reader, RestoredInput, unpacked};
use crate::ask::Answer;
use crate::digest::sha256_hex;
use crate::notice::Fault;
use crate::study::{InputRecord, NoticeText};
use crate::zip::Listed;
use std::collections::{BTreeSet, VecDeque};

/// What a notice is about that is about no single file.
const WHOLE: &str = "study file";

/// Something that is to be read or done.
#[derive(Debug)]
pub(super) enum Task {
    State,
    Sums,
    /// The kept answer of a finding.
    Answer {
        sha256: String,
        finding: u32,
    },
    /// The kept picture of a finding, which has this size.
    Picture {
        sha256: String,
        finding: u32,
        size: (u32, u32),
    },
    /// What was stated, before the files come that it was stated of.
    Apply,
    /// An input by its place in the record.
    Input(usize),
}

impl Reader {
    /// The most bytes that an entry may have.
    pub(super) fn most_of(&self, task: &Task) -> u64 {
        match task {
            Task::State => MOST_STATE,
            Task::Sums | Task::Answer { .. } | Task::Picture { .. } => MOST_KEPT,
            Task::Apply => 0,
            Task::Input(_) => MOST_INPUT,
        }
    }

    fn input(&self, place: usize) -> Option<&InputRecord> {
        self.state.as_ref()?.record.inputs.get(place)
    }

    fn tell(&mut self, severity: &str, code: &str, file: &str, text: String) {
        self.notices.push(NoticeText {
            severity: severity.into(),
            code: code.into(),
            file: file.to_owned(),
            text,
            map: None,
            offers: Vec::new(),
        });
    }

    /// An entry that the state names is not there.
    pub(super) fn missing(&mut self, task: &Task) -> Result<(), Fault> {
        match task {
            Task::State => return Err(damaged(&format!("it holds no {STATE}"))),
            Task::Sums | Task::Apply => {}
            // The study says of the finding itself that its answer did not come; a picture can be drawn again.
            Task::Answer { .. } | Task::Picture { .. } => self.spoilt(task, "is missing")?,
            Task::Input(place) => {
                self.done = self.done.saturating_add(self.input(*place).map_or(0, |input| input.size));
                let is_whole = self.state.as_ref().is_none_or(|state| state.record.left_out.is_empty());
                if let Some(name) = self.input(*place).map(|input| input.name.clone()).filter(|_| is_whole) {
                    let text = "It is not in the study file. What was stated of it is kept: open the file itself, and its maps come back as they were.";
                    self.tell("warning", "input_missing", &name, text.into());
                }
            }
        }
        Ok(())
    }

    /// An entry cannot be taken in; `what` goes on after its name. Only the state costs the study.
    pub(super) fn spoilt(&mut self, task: &Task, what: &str) -> Result<(), Fault> {
        match task {
            Task::State => return Err(damaged(&format!("its {STATE} {what}"))),
            Task::Apply => {}
            Task::Sums => {
                self.tell("warning", "sums_damaged", SUMS, format!("The list of checksums {what}; it was not used. Files and answers were checked by the hashes in {STATE}."));
            }
            Task::Answer { finding, .. } => {
                self.tell("error", "answer_refused", WHOLE, format!("The kept answer of the finding f{finding} {what}. It is left out; ask its question again."));
            }
            Task::Picture { finding, .. } => {
                self.tell(
                    "warning",
                    "picture_refused",
                    WHOLE,
                    format!(
                        "The kept picture of the finding f{finding} {what}. It is left out; draw it again."
                    ),
                );
            }
            Task::Input(place) => {
                let Some(input) = self.input(*place) else { return Ok(()) };
                let (name, size) = (input.name.clone(), input.size);
                self.done = self.done.saturating_add(size);
                self.tell("error", "input_damaged", &name, format!("In the study file it {what}. Its maps are left out: open the file itself, and they come back as they were."));
            }
        }
        Ok(())
    }

    /// Takes in the bytes of an entry, which begin at `from` in the file.
    pub(super) fn entry(&mut self, task: Task, entry: &Listed, bytes: &[u8], from: u64) -> Result<(), Fault> {
        if let Task::Input(place) = task {
            return self.take_input(place, bytes, from);
        }
        let outcome = unpacked(entry, bytes).map(|bytes| match &task {
            Task::State => self.take_state(&bytes).map(|()| None),
            Task::Sums => {
                self.take_sums(&bytes);
                Ok(None)
            }
            Task::Answer { sha256, .. } => Ok(self.take_answer(&bytes, sha256)),
            Task::Picture { sha256, size, .. } => Ok(self.take_picture(&bytes, sha256, *size)),
            Task::Apply | Task::Input(_) => Ok(None),
        });
        match outcome {
            Err(what) => self.spoilt(&task, &what),
            Ok(Err(fault)) => Err(fault),
            Ok(Ok(Some(what))) => self.spoilt(&task, what),
            Ok(Ok(None)) => Ok(()),
        }
    }

    fn take_state(&mut self, bytes: &[u8]) -> Result<(), Fault> {
        let state = State::read(bytes)?;
        self.state_sum = sha256_hex(bytes);
        self.total = state.record.inputs.iter().fold(0, |total, input| total.saturating_add(input.size));
        let (mut seen, mut tasks) = (BTreeSet::new(), VecDeque::new());
        for finding in &state.record.findings {
            let number = finding.number;
            if let Some(sha256) = finding.answer.clone().filter(|id| seen.insert(id.clone())) {
                tasks.push_back(Task::Answer { sha256, finding: number });
            }
            if let Some(kept) = finding.picture.as_ref().filter(|kept| seen.insert(kept.png.clone())) {
                let (sha256, size) = (kept.png.clone(), (kept.width, kept.height));
                tasks.push_back(Task::Picture { sha256, finding: number, size });
            }
        }
        tasks.push_back(Task::Apply);
        tasks.extend((0..state.record.inputs.len()).map(Task::Input));
        self.tasks.append(&mut tasks);
        self.state = Some(state);
        Ok(())
    }

    /// The state has no hash elsewhere: if it is not the one that was saved, that is told, and it is read as it is.
    fn take_sums(&mut self, bytes: &[u8]) {
        let text = String::from_utf8_lossy(bytes);
        let line = text.lines().find_map(|line| line.strip_suffix(STATE).map(str::trim_end));
        if line.is_some_and(|sum| sum != self.state_sum) {
            self.tell("warning", "state_changed", STATE, "The study was changed in the file after it was saved. Reproduce its findings before relying on them.".into());
        }
    }

    /// A kept answer is taken for one only if its hash is its name.
    fn take_answer(&mut self, bytes: &[u8], sha256: &str) -> Option<&'static str> {
        let kept = [Some(bytes.to_vec()), kept_answer(bytes)].into_iter().flatten();
        let Some(kept) = kept.into_iter().find(|kept| sha256_hex(kept) == sha256) else {
            return Some("was changed after it was kept, and edited numbers cannot be kept");
        };
        if serde_json::from_slice::<Answer>(&kept).is_err() {
            return Some("is not an answer of this program");
        }
        self.study.give_blob(kept);
        None
    }

    fn take_picture(
        &mut self,
        bytes: &[u8],
        sha256: &str,
        (width, height): (u32, u32),
    ) -> Option<&'static str> {
        if sha256_hex(bytes) != sha256 {
            return Some("was changed after it was kept");
        }
        // Signature, length and name of the first chunk, then width and height (ISO/IEC 15948, 5.2 and 11.2.2).
        let sides = [width.to_be_bytes(), height.to_be_bytes()].concat();
        if !bytes.starts_with(b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR")
            || bytes.get(16..24) != Some(sides.as_slice())
        {
            return Some("is not the picture that the study says it is");
        }
        self.study.give_blob(bytes.to_vec());
        None
    }

    pub(super) fn apply(&mut self) -> Result<(), Fault> {
        let Some(state) = &self.state else { return Err(damaged("it was read in the wrong order")) };
        if !state.record.left_out.is_empty() {
            let text = format!(
                "This is a copy from which something was left out: {}.",
                shortened(&state.record.left_out.join("; "))
            );
            let (severity, code) = ("info", "left_out");
            let record = state.record.clone();
            self.tell(severity, code, WHOLE, text);
            return self.study.apply(record).map_err(unfit);
        }
        self.study.apply(state.record.clone()).map_err(unfit)
    }

    fn take_input(&mut self, place: usize, bytes: &[u8], from: u64) -> Result<(), Fault> {
        let Some(input) = self.input(place).cloned() else { return Ok(()) };
        if bytes.len() as u64 != input.size || sha256_hex(bytes) != input.sha256 {
            return self.spoilt(&Task::Input(place), "was changed or damaged: its SHA-256 is another one");
        }
        self.done = self.done.saturating_add(input.size);
        let opened = self.study.open_as(&input.name, bytes, input.way.as_deref());
        let is_kept = opened.is_kept;
        for ask in &opened.asks {
            let text = format!("{} Open the file itself to choose.", ask.question);
            self.tell("error", "ask", &ask.file, text);
        }
        // What was only worth knowing was told when the file was first opened.
        self.notices.extend(opened.notices.into_iter().filter(|notice| notice.severity != "info"));
        if is_kept {
            let to = from + bytes.len() as u64;
            self.inputs.push(RestoredInput {
                name: input.name,
                sha256: input.sha256,
                way: input.way,
                from,
                to,
            });
        }
        Ok(())
    }
}

/// A record that cannot be stated.
fn unfit(fault: Fault) -> Fault {
    let detail = if fault.detail.is_empty() { fault.code.to_owned() } else { fault.detail };
    Fault {
        detail,
        ..damaged(&format!(
            "what it states does not fit together ({})",
            shortened(fault.message.trim_end_matches('.'))
        ))
    }
}
