//! What is known of pigments and companion materials, and what maps say of them. Knows no pixels: it reasons from
//! [`Passage`], a record of which elements were seen, not seen or could not be judged.

mod layer;
mod load;
mod material;
mod passage;
mod reading;
mod relation;

pub use layer::{Layer, LayerPart, layer, layers};
pub use load::knowledge;
pub use material::{
    Alike, Basis, Colour, Fact, Knowledge, Material, Often, Settle, Source, Stands, Technique, Use,
};
pub use passage::{Expected, Found, Passage, Reach, Related, Relation, Seen, State};
pub use reading::{ExplainingSet, MaterialReading, PassageReading, Reason, ToSettle, Verdict};
pub use relation::RelationReading;

#[cfg(test)]
mod tests;
