//! The shapes of what is known.

use super::layer::Layer;
use super::relation::RelationReading;
use crate::element::Element;

/// What a fact rests on. It stays with the fact wherever it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// In a publication that was opened, mostly as an abstract or excerpt.
    Found,
    /// In a handbook that was named from memory and not opened.
    Memory,
    /// Computed from formula or tables.
    Computed,
    /// Follows from other facts here; no publication.
    Reasoned,
    /// Common practice, no source.
    Practice,
}

impl Basis {
    /// As shown to the user.
    pub fn words(self) -> &'static str {
        match self {
            Self::Found => "published",
            Self::Memory => "from memory",
            Self::Computed => "computed",
            Self::Reasoned => "reasoned, no source",
            Self::Practice => "common practice, no source",
        }
    }
}

/// A publication or table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Key within the knowledge.
    pub id: &'static str,
    /// Author, title, year, in one line.
    pub text: &'static str,
    /// True where it was named from memory and not opened.
    pub is_from_memory: bool,
}

/// A sentence with what it rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// The sentence, or a clause of one.
    pub text: &'static str,
    /// What it rests on.
    pub basis: Basis,
    /// Keys of [`Source`]; empty for reasoning and common practice.
    pub sources: Vec<&'static str>,
}

/// Colours that a passage is said to look, in the order in which they are offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub enum Colour {
    White,
    Grey,
    Black,
    Brown,
    Red,
    Orange,
    Yellow,
    Green,
    Blue,
    Violet,
    Gold,
    Silver,
}

impl Colour {
    /// Every colour.
    pub const ALL: [Self; 12] = [
        Self::White,
        Self::Grey,
        Self::Black,
        Self::Brown,
        Self::Red,
        Self::Orange,
        Self::Yellow,
        Self::Green,
        Self::Blue,
        Self::Violet,
        Self::Gold,
        Self::Silver,
    ];

    /// The word used in settings and on screen.
    pub fn word(self) -> &'static str {
        match self {
            Self::White => "white",
            Self::Grey => "grey",
            Self::Black => "black",
            Self::Brown => "brown",
            Self::Red => "red",
            Self::Orange => "orange",
            Self::Yellow => "yellow",
            Self::Green => "green",
            Self::Blue => "blue",
            Self::Violet => "violet",
            Self::Gold => "gold",
            Self::Silver => "silver",
        }
    }

    /// By its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|colour| colour.word() == word)
    }
}

/// What a material does on an object.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// A pigment or a mixture that is used as one.
    Pigment,
    /// A dyestuff or a lake: seen, if at all, by its substrate.
    Lake,
    /// Leaf or powder of metal.
    Metal,
    /// Ink.
    Ink,
    /// Support, ground, filler, extender: companions of paint.
    Companion,
    /// What came later and is no paint: dust, fills, pesticide.
    Later,
}

/// Techniques that settle what XRF leaves open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Technique {
    /// Raman spectroscopy.
    Raman,
    /// Fibre-optic reflectance spectroscopy, 350 to 2500 nm.
    Reflectance,
    /// Infrared spectroscopy.
    Infrared,
    /// X-ray diffraction.
    Diffraction,
    /// Microscopy of a cross-section or of particles.
    Microscopy,
    /// Electron microscopy with X-ray analysis of a cross-section.
    ElectronMicroscopy,
    /// XRF at one point for longer, or in helium or vacuum.
    PointXrf,
    /// Luminescence, infrared or ultraviolet pictures.
    Imaging,
    /// Chromatography of a sample.
    Chromatography,
}

impl Technique {
    /// Every technique, in the order in which they are offered.
    pub const ALL: [Self; 9] = [
        Self::Raman,
        Self::Reflectance,
        Self::Infrared,
        Self::Diffraction,
        Self::Microscopy,
        Self::ElectronMicroscopy,
        Self::PointXrf,
        Self::Imaging,
        Self::Chromatography,
    ];

    /// The words used in records, in calls and on screen.
    pub fn words(self) -> &'static str {
        match self {
            Self::Raman => "Raman",
            Self::Reflectance => "reflectance (FORS)",
            Self::Infrared => "infrared (FTIR)",
            Self::Diffraction => "X-ray diffraction",
            Self::Microscopy => "microscopy",
            Self::ElectronMicroscopy => "electron microscopy (SEM-EDX)",
            Self::PointXrf => "point XRF",
            Self::Imaging => "imaging",
            Self::Chromatography => "chromatography",
        }
    }

    /// By its words.
    pub fn from_words(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|technique| technique.words() == words)
    }
}

/// An element that often comes with a material and need not: of its ore, its making, its trade form or its alteration. What a
/// painter mixes into it, or puts over or under it, is another material and stands in none of these.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Often {
    /// The element.
    pub element: Element,
    /// How and why.
    pub fact: Fact,
}

/// An element that stands for another too soft to be seen: what rests on it is never more than *consistent with*.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stands {
    /// The one that is seen (K).
    pub element: Element,
    /// Those that it stands for (Al, Si).
    pub stands_for: Vec<Element>,
    /// How and why.
    pub fact: Fact,
}

/// Another material that XRF does not tell from this one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike {
    /// Its id.
    pub id: &'static str,
    /// Why.
    pub fact: Fact,
}

/// A technique that tells a material from those alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settle {
    /// The technique.
    pub technique: Technique,
    /// What it looks for ("a strong band near 400 cm⁻¹").
    pub fact: Fact,
    /// Whether finding that alone identifies the material. One that only narrows does not.
    pub identifies: bool,
}

/// A pigment or companion material.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Material {
    /// Key within the knowledge: small letters and underscores.
    pub id: &'static str,
    /// Its name, in small letters but for proper names.
    pub name: &'static str,
    /// Other names.
    pub other_names: Vec<&'static str>,
    /// What it does.
    pub used_as: Use,
    /// Colours that it can have, the commonest first; empty for one without colour of its own.
    pub colours: Vec<Colour>,
    /// Formulas ("Cu3(CO3)2(OH)2"); empty for mixtures without one.
    pub formulas: Vec<&'static str>,
    /// What the formulas, and with them `key`, `must` and `invisible`, rest on; its text says of `must` what is not obvious
    /// and is empty otherwise.
    pub composition: Fact,
    /// Elements above silicon that belong to the formulas.
    pub key: Vec<Element>,
    /// Of these, the ones that must show if it is there in quantity and near the surface. Empty where XRF cannot show it.
    pub must: Vec<Element>,
    /// Elements that often come with it.
    pub often: Vec<Often>,
    /// Elements of the formulas that do not show in air (silicon and lighter).
    pub invisible: Vec<Element>,
    /// Elements that stand for invisible ones.
    pub stands: Vec<Stands>,
    /// First year of use, negative before our era; `None` where use is as old as painting.
    pub from: Option<i32>,
    /// Year in which common use fades out; not the last possible one. `None` where it is still used.
    pub to: Option<i32>,
    /// What is to be said of these years.
    pub years: Fact,
    /// True where the first year is so weak that no verdict may rest on it.
    pub is_start_weak: bool,
    /// Others that XRF does not tell from it.
    pub alike: Vec<Alike>,
    /// What would settle it.
    pub settle: Vec<Settle>,
    /// Hazard in one sentence, by general recollection of hazard classes ([`Basis::Memory`]); empty for none that is known.
    pub hazard: &'static str,
}

/// All that is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Knowledge {
    /// Materials, in the order of the data.
    pub materials: Vec<Material>,
    /// Readings of relations between elements, in the order of the data.
    pub relations: Vec<RelationReading>,
    /// Layers that may lie over something else.
    pub layers: Vec<Layer>,
    /// Publications and tables.
    pub sources: Vec<Source>,
}
