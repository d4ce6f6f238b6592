//! What the list says of an entry, checked before its bytes are asked for.

use crate::zip::{DEFLATED, Listed, STORED, is_bomb};

/// What is wrong with an entry, as the rest of a sentence that begins with its name.
///
/// # Errors
/// Anything that this program does not write.
pub(super) fn check(entry: &Listed, most: u64, is_input: bool) -> Result<(), String> {
    if entry.flags & 1 == 1 {
        return Err("is locked with a password".into());
    }
    match entry.method {
        STORED if entry.packed == entry.unpacked => {}
        STORED => return Err("has sizes that contradict each other".into()),
        DEFLATED if is_input => {
            return Err("is packed, and files in a study file are kept as they are. Pack the folder again without compression".into());
        }
        DEFLATED => {}
        method => return Err(format!("is packed in a way that is not read (number {method})")),
    }
    if is_bomb(entry.packed, entry.unpacked) && entry.method == DEFLATED {
        return Err(format!(
            "claims to unpack from {} to {} bytes, which nothing here does",
            entry.packed, entry.unpacked
        ));
    }
    if entry.unpacked > most {
        return Err(format!(
            "claims {} MB, and at most {} MB are read",
            entry.unpacked / 1_000_000,
            most / 1_000_000
        ));
    }
    Ok(())
}
