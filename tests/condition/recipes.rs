//! Every recipe by hand and at its edges.
