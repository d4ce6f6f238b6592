//! The study as a file.

mod leave_out;

pub use leave_out::{LeaveOut, MAPS, leave_out, rewritten};
