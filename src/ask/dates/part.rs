//! The part of an answer that is about dates: plain records for page, file and tests.

use serde::{Deserialize, Serialize};

/// One element or material against the proposed span.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct YearsRow {
    /// Its key: the symbol of an element, the key of a material.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Whether it is an element.
    pub is_element: bool,
    /// First year of use; `None` where use is as old as painting.
    pub from: Option<i32>,
    /// Year in which common use fades out; `None` where it is still used, and for an element.
    pub to: Option<i32>,
    /// What is to be said of these years.
    pub years_text: String,
    /// A verdict word of the question.
    pub verdict: String,
    /// The same, with what it is said of.
    pub verdict_text: String,
    /// What could explain it, the innocent explanations first.
    pub explanations: Vec<String>,
    /// What the years rest on.
    pub basis: String,
    /// Their sources; empty without any.
    pub source: String,
}

/// What a question about dates found.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DatesPart {
    /// What does not fit first.
    pub rows: Vec<YearsRow>,
}
