//! Facts about X-rays, each with its source: lines, edges, yields, attenuation, what layers let through, how much a
//! line gives for its element, which lines lie on each other. Imports only `element` and below; knows nothing of
//! maps.
//!
//! Where sources disagree a number is a [`Between`]. Energies are in keV, cross-sections in cm²/g, angles in degrees
//! to the surface.

mod data;
mod facts;
mod falls;
mod formula;
mod lines;
mod matter;
mod names;
mod overlap;
mod sensitivity;
mod table;
mod width;

pub use data::data_versions;
pub use facts::{
    Between, Emission, atomic_weight, edge_kev, emissions, fluorescence_yield, is_excited, jump_ratio,
    mass_attenuation,
};
pub use falls::{escape_share, family_lines, set_on_kev};
pub use lines::{WindowLine, energy_kev, line_of_window, lines_in_window};
pub use matter::{Matter, Relief, air_transmission, relief};
pub use names::Shell;
pub use overlap::{Grade, How, Overlap, overlaps};
pub use sensitivity::{Excitation, sensitivity, sensitivity_ratio};
pub use width::{line_width_ev, window_leak};
