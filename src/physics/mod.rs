//! Facts about X-ray lines, each with its source. Imports only `element` and below; knows nothing of maps.

mod lines;
mod table;

pub use lines::{WindowLine, energy_kev, line_of_window, lines_in_window};
