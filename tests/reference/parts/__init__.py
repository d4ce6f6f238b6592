"""The reference values, in one module for each kind of thing that is computed."""
