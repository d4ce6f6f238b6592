//! Named checks, each printed with its outcome, and the count at the end.

use anyhow::Result;
use std::future::Future;

/// What was checked so far.
pub struct Report {
    passed: u32,
    failed: u32,
    /// Only checks whose name contains this.
    only: Option<String>,
}

impl Report {
    /// Nothing checked yet.
    pub fn new(only: Option<String>) -> Report {
        Report { passed: 0, failed: 0, only }
    }

    /// Whether a check of this name is asked for.
    pub fn wants(&self, name: &str) -> bool {
        self.only.as_ref().is_none_or(|only| name.contains(only.as_str()))
    }

    /// Runs a check. What it returns is printed beside its name.
    pub async fn check(&mut self, name: &str, body: impl Future<Output = Result<String>>) {
        if !self.wants(name) {
            return;
        }
        match body.await {
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
