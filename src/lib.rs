//! Limner core.
