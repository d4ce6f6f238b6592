//! Readings of relations between two elements: what a relation suggests, and what it cannot exclude.

use super::material::{Colour, Fact};
use super::passage::Relation;
use crate::element::Element;

/// What a relation between two elements in one passage suggests. A reading to test, never a result: it is shown with its
/// alternatives and with the technique that would tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RelationReading {
    /// Key within the knowledge.
    pub id: &'static str,
    /// First element.
    pub a: Element,
    /// Second element. The order means nothing for [`Relation::Together`] and [`Relation::NoPattern`].
    pub b: Element,
    /// The relation that it is a reading of. One of [`Relation::MoreThanAccompanies`] holds as well where A is detected and
    /// B, measured with a line whose silence says something, is not.
    pub relation: Relation,
    /// Elements that must be detected beside A and B for the reading to be offered; often empty.
    pub with: Vec<Element>,
    /// Elements of which none may be detected for the reading to be offered; often empty. One that was not measured or
    /// cannot be judged does not count as detected.
    pub without: Vec<Element>,
    /// Colours of the passage for which it is offered; empty for any, and a passage whose colour is not stated counts as any.
    pub colours: Vec<Colour>,
    /// What it suggests, as one sentence, with what that rests on.
    pub reading: Fact,
    /// What it cannot exclude, each a clause without a full stop.
    pub alternatives: Vec<&'static str>,
    /// What would tell, as one sentence.
    pub next: &'static str,
    /// Materials that it speaks of, by id.
    pub materials: Vec<&'static str>,
}
