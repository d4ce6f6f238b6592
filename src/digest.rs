//! SHA-256 (FIPS 180-4) in hexadecimal, and JSON in one fixed form: names inputs and answers by their content. Imports nothing of this crate.

use serde_json::Value;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The hash of some bytes as 64 hexadecimal digits in small letters.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// JSON with the fields of every object in the order of their names: one text for one content, whichever order they were
/// handed in and however `serde_json` was built.
pub fn canonical_json(value: &Value) -> String {
    sorted(value).to_string()
}

/// The same content with the fields of every object in the order of their names.
pub fn sorted(value: &Value) -> Value {
    match value {
        Value::Object(fields) => {
            let by_name: BTreeMap<&String, &Value> = fields.iter().collect();
            Value::Object(by_name.into_iter().map(|(name, field)| (name.clone(), sorted(field))).collect())
        }
        Value::Array(items) => Value::Array(items.iter().map(sorted).collect()),
        plain => plain.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::{canonical_json, sha256_hex};

    #[test]
    fn the_published_examples() {
        // FIPS 180-4, examples published with the standard.
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(sha256_hex(b""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    }

    #[test]
    fn one_content_has_one_text() {
        let of = |text: &str| canonical_json(&serde_json::from_str(text).unwrap());
        let want = r#"{"a":[{"c":null,"d":1.5}],"b":"x"}"#;
        assert_eq!(of(r#"{"b": "x", "a": [{"d": 1.5, "c": null}]}"#), want);
        assert_eq!(of(want), want);
    }
}
