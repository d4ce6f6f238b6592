//! Placeholder until its first commit.
fn main() {}
