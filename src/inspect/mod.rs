//! Signs of trouble in maps and stacks, and what could be done about each. Proposes, never changes anything.
//! Imports levels 0 to 2 only.
