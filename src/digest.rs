//! SHA-256 (FIPS 180-4) in hexadecimal: names inputs and answers by their content. Imports nothing of this crate.

use sha2::{Digest, Sha256};

/// The hash of some bytes as 64 hexadecimal digits in small letters.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::sha256_hex;

    #[test]
    fn the_published_examples() {
        // FIPS 180-4, examples published with the standard.
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(sha256_hex(b""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    }
}
