//! What is known of pigments and companion materials, and what maps say of them. Knows no pixels: it reasons from
//! [`Passage`], a record of which elements were seen, not seen or could not be judged.

mod common;
mod expected;
mod judge;
mod layer;
mod load;
#[cfg(test)]
mod made;
mod material;
mod passage;
mod points;
mod read;
mod reading;
mod relate;
mod relation;
mod sets;
mod settle;
mod sight;
mod verdict;
mod words;
mod years;

pub use expected::expected;
pub use layer::{Layer, LayerPart, layer, layers};
pub use load::knowledge;
pub use material::{
    Alike, Basis, Colour, Fact, Knowledge, Material, Often, Settle, Source, Stands, Technique, Use,
};
pub use passage::{Expected, Found, Passage, Reach, Related, Relation, Seen, State};
pub use read::read;
pub use reading::{ExplainingSet, MaterialReading, PassageReading, Reason, ToSettle, Verdict};
pub use relation::RelationReading;
pub use years::{DateOf, DateRow, DateVerdict, date_rows};

#[cfg(test)]
mod tests;
