//! x
pub mod geometry;
pub mod grid;
pub mod notice;
pub mod numerics;
pub mod element;
pub mod kind;
pub mod colour;
pub mod stack;
