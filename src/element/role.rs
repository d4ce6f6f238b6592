//! What a map is besides an element's: sum, scatter, times, errors of a fit; and what a name says of how it was made.

use super::words::Word;

/// What an auxiliary map holds instead of an element's line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// All counts of a spectrum.
    Sum,
    /// Coherent (elastic) scatter of the tube's line.
    CoherentScatter,
    /// Incoherent (inelastic) scatter of the tube's line.
    IncoherentScatter,
    /// Scatter, which of the two is not said, or both.
    Scatter,
    /// Live time of the detector.
    LiveTime,
    /// Dead time of the detector.
    DeadTime,
    /// Standard error of a fitted map; may name the line it belongs to.
    FitError,
    /// Chi squared, residual; may name the line it belongs to.
    FitQuality,
    /// Current of the tube, the ring or the beam.
    Current,
    /// Background under a line; may name the line it belongs to.
    Background,
}

impl Role {
    /// Every role.
    pub const ALL: [Role; 10] = [
        Role::Sum,
        Role::CoherentScatter,
        Role::IncoherentScatter,
        Role::Scatter,
        Role::LiveTime,
        Role::DeadTime,
        Role::FitError,
        Role::FitQuality,
        Role::Current,
        Role::Background,
    ];

    /// The words used in records and calls.
    pub fn word(self) -> &'static str {
        match self {
            Role::Sum => "sum",
            Role::CoherentScatter => "coherent scatter",
            Role::IncoherentScatter => "incoherent scatter",
            Role::Scatter => "scatter",
            Role::LiveTime => "live time",
            Role::DeadTime => "dead time",
            Role::FitError => "fit error",
            Role::FitQuality => "fit quality",
            Role::Current => "current",
            Role::Background => "background",
        }
    }

    /// By its words.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }

    /// Whether such a map may belong to a line that its name gives.
    pub fn may_have_line(self) -> bool {
        matches!(self, Role::FitError | Role::FitQuality | Role::Background)
    }
}

/// How a map was made, as far as words and units in its name tell. Weaker than what the values show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum KindHint {
    /// "counts".
    Counts,
    /// "cps", "counts/s".
    Rate,
    /// "net".
    Net,
    /// "fit", "peak area".
    Fitted,
    /// "norm".
    Normalised,
    /// "wt%", "ppm", "ug/cm2".
    Quantified,
    /// "log", "sqrt", "8bit".
    DisplayCopy,
}

const COHERENT: [&str; 9] =
    ["rayleigh", "coh", "coherent", "koharent", "kohaerent", "coerente", "elastic", "elastisch", "elastico"];
const INCOHERENT: [&str; 13] = [
    "compton",
    "incoh",
    "incoherent",
    "inkoharent",
    "inkohaerent",
    "incoerente",
    "inelastic",
    "inelast",
    "inel",
    "inelastisch",
    "anelastico",
    "inelastico",
    "inelastique",
];
const SCATTER: [&str; 8] = [
    "scatter",
    "scattered",
    "scattering",
    "streuung",
    "streustrahlung",
    "diffuse",
    "diffusione",
    "backscatter",
];
const SUM: [&str; 8] = ["sum", "summe", "somme", "somma", "suma", "total", "totale", "gesamt"];
const ERROR: [&str; 14] = [
    "error",
    "errors",
    "err",
    "sigma",
    "uncertainty",
    "uncertainties",
    "stdev",
    "stddev",
    "fehler",
    "erreur",
    "errore",
    "incertitude",
    "incertezza",
    "unsicherheit",
];
const QUALITY: [&str; 9] =
    ["chi2", "chisq", "chisquare", "chisquared", "residual", "residuals", "residuum", "residuo", "gof"];
const BACKGROUND: [&str; 6] = ["background", "bkg", "bkgd", "bgd", "untergrund", "backgr"];
const CURRENT_OF: [&str; 10] =
    ["beam", "tube", "ring", "probe", "anode", "target", "absorbed", "emission", "storage", "filament"];
/// Words that are part of roles only together with others; they say nothing else.
const PARTS: [&str; 16] = [
    "live",
    "dead",
    "time",
    "livetime",
    "deadtime",
    "totzeit",
    "lebendzeit",
    "current",
    "quality",
    "goodness",
    "chi",
    "squared",
    "square",
    "reduced",
    "i0",
    "spectrum",
];

/// Whether a word belongs to the names of roles, and so tells nothing of an object.
pub(super) fn is_role_word(small: &str) -> bool {
    [&COHERENT[..], &INCOHERENT, &SCATTER, &SUM, &ERROR, &QUALITY, &BACKGROUND, &CURRENT_OF, &PARTS]
        .iter()
        .any(|list| list.contains(&small))
}

/// The role that the words give. `has_line`: an element is read in the same name; `is_alone`: nothing else is in it.
/// Words that are also said of other things ("sum", "current", "background", "error") need one or the other.
pub(super) fn role_of(words: &[Word], has_line: bool, is_alone: bool) -> Option<Role> {
    let follows = |i: usize, wanted: &[&str]| {
        words.get(i + 1).is_some_and(|next: &Word| wanted.contains(&next.small.as_str()))
    };
    let (mut coherent, mut incoherent, mut scatter, mut ratio) = (false, false, false, false);
    let mut role = None;
    for (i, word) in words.iter().enumerate() {
        let (letters, _) = word.letters_and_number();
        coherent |= COHERENT.contains(&letters);
        incoherent |= INCOHERENT.contains(&letters);
        scatter |= SCATTER.contains(&letters) && !follows(i, &["plot", "plots", "diagram", "chart"]);
        ratio |= matches!(letters, "ratio" | "quotient");
        let found = match letters {
            "livetime" | "lebendzeit" => Some(Role::LiveTime),
            "live" if follows(i, &["time", "times"]) => Some(Role::LiveTime),
            "temps" if follows(i, &["vif", "actif"]) => Some(Role::LiveTime),
            "tempo" | "tiempo" if follows(i, &["vivo"]) => Some(Role::LiveTime),
            "deadtime" | "totzeit" => Some(Role::DeadTime),
            "dead" if follows(i, &["time", "times"]) => Some(Role::DeadTime),
            "temps" if follows(i, &["mort"]) => Some(Role::DeadTime),
            "tempo" | "tiempo" if follows(i, &["morto", "muerto"]) => Some(Role::DeadTime),
            "chi" if follows(i, &["2", "sq", "square", "squared"]) || word.small == "chi2" => {
                Some(Role::FitQuality)
            }
            "fit" if follows(i, &["quality", "residual", "residuals"]) => Some(Role::FitQuality),
            "goodness" if follows(i, &["of"]) => Some(Role::FitQuality),
            "fit" if follows(i, &["error", "errors", "err", "uncertainty"]) => Some(Role::FitError),
            l if QUALITY.contains(&l) && (has_line || is_alone) => Some(Role::FitQuality),
            l if ERROR.contains(&l) && (has_line || is_alone) => Some(Role::FitError),
            l if BACKGROUND.contains(&l) && (has_line || is_alone) => Some(Role::Background),
            "bg" | "fond" | "fondo" | "sfondo" if has_line => Some(Role::Background),
            l if CURRENT_OF.contains(&l) && follows(i, &["current"]) => Some(Role::Current),
            "current" if is_alone => Some(Role::Current),
            "i" if word.text == "I0" && (is_alone || words.len() <= 2) => Some(Role::Current),
            // "Fe sum" is iron, of several lines or detectors; "sum" alone is the spectrum's.
            l if SUM.contains(&l) && !has_line && (is_alone || follows(i, &["counts", "spectrum"])) => {
                Some(Role::Sum)
            }
            _ => None,
        };
        // The more telling one of two: "fit error", "sum of background".
        role = role.max(found);
    }
    if coherent || incoherent || scatter {
        let which = match (coherent, incoherent) {
            _ if ratio => return role,
            (true, false) => Role::CoherentScatter,
            (false, true) => Role::IncoherentScatter,
            _ => Role::Scatter,
        };
        // An error or a background of the scatter is still that.
        return role.filter(|r| r.may_have_line()).or(Some(which));
    }
    role
}

/// What words and units tell of how the map was made. `has_subject`: an element or a role is read in the same name,
/// without which "log", "net", "fit", "area" are words of other things.
pub(super) fn kind_hint(words: &[Word], has_subject: bool) -> Option<KindHint> {
    let mut best = None;
    for (i, word) in words.iter().enumerate() {
        let next = words.get(i + 1);
        let next_is = |wanted: &[&str]| next.is_some_and(|n| wanted.contains(&n.small.as_str()));
        let found = match word.small.as_str() {
            "log" | "log10" | "ln" | "sqrt" | "logarithmic" if has_subject => Some(KindHint::DisplayCopy),
            "8bit" | "uint8" | "8bits" | "thumbnail" | "preview" if has_subject => {
                Some(KindHint::DisplayCopy)
            }
            "8" if next_is(&["bit", "bits"]) && has_subject => Some(KindHint::DisplayCopy),
            "ppm" | "ppb" | "wtpct" | "wtpercent" | "atpct" => Some(KindHint::Quantified),
            "wt" | "at" | "mass" | "weight" | "w" | "gew" if word.after == '%' => Some(KindHint::Quantified),
            "ug" | "mg" | "ng" | "g" if next_is(&["cm2", "cm", "kg", "g"]) && word.after == '/' => {
                Some(KindHint::Quantified)
            }
            "concentration" | "concentrations" | "conc" | "konzentration" | "concentrazione"
            | "concentracion" | "quantified" | "quant"
                if has_subject =>
            {
                Some(KindHint::Quantified)
            }
            "mass" | "weight" if next_is(&["fraction", "percent"]) => Some(KindHint::Quantified),
            "norm" | "normalised" | "normalized" | "normiert" | "normalise" | "normalizzato"
            | "normalizado"
                if has_subject =>
            {
                Some(KindHint::Normalised)
            }
            "cps" | "kcps" => Some(KindHint::Rate),
            "counts" | "cts" if word.after == '/' && next_is(&["s", "sec", "second"]) => Some(KindHint::Rate),
            "counts" if next_is(&["per"]) => Some(KindHint::Rate),
            "count" if next_is(&["rate"]) => Some(KindHint::Rate),
            "fit" | "fitted" | "fits" if has_subject => Some(KindHint::Fitted),
            "peak" if next_is(&["area", "areas"]) => Some(KindHint::Fitted),
            // "area 3" is a place on the object.
            "area" if has_subject && i > 0 && next.is_none() => Some(KindHint::Fitted),
            "net" if has_subject || next_is(&["counts", "area", "intensity"]) => Some(KindHint::Net),
            "counts" | "cts" => Some(KindHint::Counts),
            _ => None,
        };
        // "net peak area" is net; otherwise what was done last weighs more.
        best = match (best, found) {
            (Some(KindHint::Net), Some(KindHint::Fitted)) => best,
            (a, b) => a.max(b),
        };
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roles_are_written_and_read_alike() {
        for role in Role::ALL {
            assert_eq!(Role::from_word(role.word()), Some(role));
        }
        assert_eq!(Role::from_word("Sum"), None);
    }
}
