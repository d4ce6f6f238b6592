//! Names of lines and shells. The order is that of `LINES` in `data/make.py`.

use crate::element::Family::{self, K, L, M};
use crate::element::Member::{self, Alpha, Beta, Gamma};

/// A level with a vacancy that lines fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub enum Shell {
    K,
    L1,
    L2,
    L3,
    M1,
    M2,
    M3,
    M4,
    M5,
}

impl Shell {
    /// Every shell, from the innermost.
    pub const ALL: [Self; 9] =
        [Self::K, Self::L1, Self::L2, Self::L3, Self::M1, Self::M2, Self::M3, Self::M4, Self::M5];

    /// The family of lines that fill it.
    pub fn family(self) -> Family {
        match self {
            Self::K => K,
            Self::L1 | Self::L2 | Self::L3 => L,
            _ => M,
        }
    }

    pub(super) fn index(self) -> usize {
        self as usize
    }
}

/// Name in small Latin letters, shell, member that it is counted with, and the group of lines that a detector does not
/// part, in the trade's letters.
pub(super) const LINES: [(&str, Shell, Member, &str); 40] = [
    ("Ka1", Shell::K, Alpha, "Kα"),
    ("Ka2", Shell::K, Alpha, "Kα"),
    ("Kb1", Shell::K, Beta, "Kβ"),
    ("Kb3", Shell::K, Beta, "Kβ"),
    ("Kb5", Shell::K, Beta, "Kβ"),
    ("Kb2", Shell::K, Beta, "Kβ"),
    ("Kb4", Shell::K, Beta, "Kβ"),
    ("Lb4", Shell::L1, Beta, "Lβ3,4"),
    ("Lb3", Shell::L1, Beta, "Lβ3,4"),
    ("Lb9,10", Shell::L1, Beta, "Lβ9,10"),
    ("Lg2", Shell::L1, Gamma, "Lγ2,3"),
    ("Lg3", Shell::L1, Gamma, "Lγ2,3"),
    ("Lg4", Shell::L1, Gamma, "Lγ4"),
    ("Ln", Shell::L2, Beta, "Lη"),
    ("Lb1", Shell::L2, Beta, "Lβ1"),
    ("Lb17", Shell::L2, Beta, "Lβ17"),
    ("Lg1", Shell::L2, Gamma, "Lγ1"),
    ("Lg5", Shell::L2, Gamma, "Lγ5"),
    ("Lg6", Shell::L2, Gamma, "Lγ6"),
    ("Ll", Shell::L3, Alpha, "Ll"),
    ("La1", Shell::L3, Alpha, "Lα"),
    ("La2", Shell::L3, Alpha, "Lα"),
    ("Lb2,15", Shell::L3, Beta, "Lβ2"),
    ("Lb6", Shell::L3, Beta, "Lβ6"),
    ("Lb5", Shell::L3, Beta, "Lβ5"),
    ("M1-N2", Shell::M1, Gamma, "M1-N"),
    ("M1-N3", Shell::M1, Gamma, "M1-N"),
    ("M2-N4", Shell::M2, Gamma, "M2-N4"),
    ("M2-N1", Shell::M2, Gamma, "M2-N1"),
    ("Mg", Shell::M3, Gamma, "Mγ"),
    ("M3-N4", Shell::M3, Gamma, "Mγ"),
    ("M3-N1", Shell::M3, Gamma, "M3-N1"),
    ("M3-O4,5", Shell::M3, Gamma, "M3-O"),
    ("Mb", Shell::M4, Beta, "Mβ"),
    ("Mz2", Shell::M4, Beta, "Mζ"),
    ("M4-O2", Shell::M4, Beta, "M4-O2"),
    ("Ma1", Shell::M5, Alpha, "Mα"),
    ("Ma2", Shell::M5, Alpha, "Mα"),
    ("Mz1", Shell::M5, Alpha, "Mζ"),
    ("M5-O3", Shell::M5, Alpha, "M5-O3"),
];

/// The group that a map of this family and member is set on.
pub(super) fn principal_group(family: Family, member: Option<Member>) -> &'static str {
    match (family, member) {
        (K, None | Some(Alpha)) => "Kα",
        (K, Some(_)) => "Kβ",
        (L, None | Some(Alpha)) => "Lα",
        (L, Some(Beta)) => "Lβ1",
        (L, Some(Gamma)) => "Lγ1",
        (M, None | Some(Alpha)) => "Mα",
        (M, Some(Beta)) => "Mβ",
        (M, Some(Gamma)) => "Mγ",
    }
}
