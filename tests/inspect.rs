//! Signs of trouble: on made stacks with one known trouble each, and on clean ones where nothing may be said.
#![allow(clippy::unwrap_used, clippy::panic, clippy::cast_possible_wrap)] // a test may fail

#[path = "cases/inspect/clean.rs"]
mod clean;
#[path = "cases/inspect/scene.rs"]
mod scene;
#[path = "cases/inspect/seams.rs"]
mod seams;
#[path = "cases/inspect/single.rs"]
mod single;
#[path = "cases/inspect/stacks.rs"]
mod stacks;
