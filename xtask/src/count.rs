//! How many checks passed and failed, read from what the test programs print.

use std::ops::AddAssign;

/// Checks done.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Count {
    /// Those that held.
    pub passed: u64,
    /// Those that did not.
    pub failed: u64,
}

impl Count {
    /// One check.
    pub fn one(held: bool) -> Count {
        Count { passed: u64::from(held), failed: u64::from(!held) }
    }

    /// The count of a program that ended: one that failed without a failed check (it did not compile, it
    /// crashed), or that ran no check at all, counts as one failure.
    pub fn settled(self, succeeded: bool) -> Count {
        let ran_none = self.passed + self.failed == 0;
        let lost = self.failed == 0 && (!succeeded || ran_none);
        Count { failed: self.failed + u64::from(lost), ..self }
    }

    /// From `test result: ok. 3 passed; 0 failed; ...`, one line for each test program.
    pub fn of_cargo(output: &str) -> Count {
        let mut count = Count::default();
        for line in output.lines().filter(|line| line.trim_start().starts_with("test result: ")) {
            count += Count { passed: before(line, " passed"), failed: before(line, " failed") };
        }
        count
    }

    /// From the closing lines of node's test runner: `ℹ pass 3`, `ℹ fail 0`, `ℹ cancelled 0`.
    pub fn of_node(output: &str) -> Count {
        let after = |word: &str| -> u64 {
            let line = output.lines().rev().find_map(|line| line.strip_prefix("ℹ ")?.strip_prefix(word));
            line.and_then(|number| number.trim().parse().ok()).unwrap_or_default()
        };
        Count { passed: after("pass "), failed: after("fail ") + after("cancelled ") }
    }

    /// From the last line of the form `name: 3 passed, 0 failed`.
    pub fn of_named(output: &str, name: &str) -> Count {
        let line = output.lines().rev().find(|line| line.starts_with(&format!("{name}: ")));
        let line = line.unwrap_or_default();
        Count { passed: before(line, " passed"), failed: before(line, " failed") }
    }
}

impl AddAssign for Count {
    fn add_assign(&mut self, other: Count) {
        self.passed += other.passed;
        self.failed += other.failed;
    }
}

/// The number right before a word.
fn before(line: &str, word: &str) -> u64 {
    let text = line.split_once(word).map_or("", |(before, _)| before);
    text.rsplit(|c: char| !c.is_ascii_digit())
        .next()
        .and_then(|number| number.parse().ok())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::Count;

    #[test]
    fn cargo_lines_are_summed() {
        let output = "running 2 tests\ntest result: ok. 12 passed; 0 failed; 1 ignored; 0 measured; 0 filtered out\n\
                      test result: FAILED. 3 passed; 4 failed; 0 ignored\n";
        assert_eq!(Count::of_cargo(output), Count { passed: 15, failed: 4 });
    }

    #[test]
    fn node_lines_are_read_and_cancelled_tests_fail() {
        let output = "✔ a\nℹ tests 9\nℹ pass 6\nℹ fail 2\nℹ cancelled 1\nℹ skipped 0\n";
        assert_eq!(Count::of_node(output), Count { passed: 6, failed: 3 });
    }

    #[test]
    fn named_lines_are_read_from_the_last() {
        let output = "e2e: 1 passed, 0 failed\nother: 9 passed, 9 failed\ne2e: 20 passed, 3 failed\n";
        assert_eq!(Count::of_named(output, "e2e"), Count { passed: 20, failed: 3 });
        assert_eq!(Count::of_named(output, "reference"), Count::default());
    }

    #[test]
    fn a_crash_and_no_test_at_all_are_failures() {
        assert_eq!(Count { passed: 3, failed: 0 }.settled(false), Count { passed: 3, failed: 1 });
        assert_eq!(Count::default().settled(true), Count { passed: 0, failed: 1 });
        assert_eq!(Count { passed: 3, failed: 2 }.settled(false), Count { passed: 3, failed: 2 });
        assert_eq!(Count { passed: 3, failed: 0 }.settled(true), Count { passed: 3, failed: 0 });
    }
}
