//! Named checks, each printed with its outcome, and the count at the end.

use crate::stage::Stage;
use anyhow::{Context, Result};
use std::time::{Duration, Instant};

/// No check takes longer; the longest waits for a silent worker to be given up.
const LIMIT: Duration = Duration::from_secs(150);

/// What was checked so far.
pub struct Report {
    passed: u32,
    failed: u32,
    /// Only checks whose name contains one of these.
    only: Option<Vec<String>>,
    /// Whether checks that take minutes are made as well.
    pub is_slow: bool,
}

impl Report {
    /// Nothing checked yet.
    pub fn new(only: Option<Vec<String>>, is_slow: bool) -> Report {
        Report { passed: 0, failed: 0, only, is_slow }
    }

    /// Opens the page anew, runs a check on it, and makes sure that meanwhile nothing went wrong elsewhere on the page
    /// and no request was made. What the check returns is printed beside its name.
    pub async fn check(
        &mut self,
        stage: &Stage,
        name: &str,
        body: impl AsyncFnOnce(&Stage) -> Result<String>,
    ) {
        self.check_within(stage, name, LIMIT, body).await;
    }

    /// As [`Report::check`], with a limit of its own.
    pub async fn check_within(
        &mut self,
        stage: &Stage,
        name: &str,
        limit: Duration,
        body: impl AsyncFnOnce(&Stage) -> Result<String>,
    ) {
        let name = format!("{}: {name}", stage.form.name());
        if self.only.as_ref().is_some_and(|only| !only.iter().any(|text| name.contains(text))) {
            return;
        }
        let whole = async {
            stage.fresh().await?;
            let note = body(stage).await?;
            stage.is_clean().await?;
            Ok(note)
        };
        let start = Instant::now();
        let outcome = tokio::time::timeout(limit, whole).await;
        let name = format!("{:5.1} s  {name}", start.elapsed().as_secs_f64());
        self.note(&name, outcome.context("it does not end").flatten());
    }

    /// Takes the outcome of one check in.
    pub fn note(&mut self, name: &str, outcome: Result<String>) {
        match outcome {
            Ok(note) => {
                self.passed += 1;
                println!("ok      {name}{}{note}", if note.is_empty() { "" } else { ": " });
            }
            Err(error) => {
                self.failed += 1;
                println!("FAILED  {name}: {error:#}");
            }
        }
    }

    /// Prints the count. True when all held and at least one was made.
    pub fn close(&self) -> bool {
        println!("e2e: {} passed, {} failed", self.passed, self.failed);
        self.failed == 0 && self.passed > 0
    }
}
