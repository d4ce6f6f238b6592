//! Repaired and derived maps: values and their errors out of other values. Never alters an original; every result
//! says what was done. Imports levels 0 to 2 only; knows no files, colours or pages.
