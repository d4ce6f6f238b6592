//! Relations between elements of the passage, by the questions that ask them.

use super::elements::OfElement;
use crate::ask::Progress;
use crate::ask::apart::Apart;
use crate::ask::driver::Question;
use crate::ask::evidence::{Change, Evidence, is_free};
use crate::ask::settings::Settings;
use crate::ask::together::Together;
use crate::ask::verdict;
use crate::notice::Fault;
use crate::pigment::{Expected, Related, Relation};

/// More relations than this are not asked for.
const MOST: usize = 6;

/// Asks for the relations that reasoning would like to know, inside the region.
pub(super) fn related(
    evidence: &Evidence,
    found: &[OfElement],
    wanted: &[Expected],
    progress: Progress<'_>,
) -> Result<Vec<Related>, Fault> {
    let mut out = Vec::new();
    let wanted = &wanted[..wanted.len().min(MOST)];
    for (i, expected) in wanted.iter().enumerate() {
        let place = |element| found.iter().find(|one| one.seen.element == element).map(|one| one.place);
        let (Some(a), Some(b)) = (place(expected.a), place(expected.b)) else { continue };
        let Some(pair) = of_pair(evidence, (a, b), expected.is_apart) else { continue };
        let text = format!("{} and {}", expected.a.symbol(), expected.b.symbol());
        progress(i as f64 / wanted.len() as f64, &text);
        let (word, sentence) =
            if expected.is_apart { asked::<Apart>(&pair)? } else { asked::<Together>(&pair)? };
        let relation = match word {
            verdict::TOGETHER => Relation::Together,
            verdict::NO_PATTERN => Relation::NoPattern,
            verdict::MORE => Relation::MoreThanAccompanies,
            verdict::NO_MORE => Relation::NoMoreThanAccompanies,
            _ => Relation::CannotBeJudged,
        };
        out.push(Related { a: expected.a, b: expected.b, relation, sentence });
    }
    Ok(out)
}

/// The question about two maps as if it were asked by itself; `None` where the region may not be tested on one of them, or
/// where both are of the same counts.
fn of_pair(evidence: &Evidence, (a, b): (usize, usize), is_apart: bool) -> Option<Evidence> {
    let pair = evidence.of_pair(a, b)?;
    let [one, other] = pair.sides.as_slice() else { return None };
    let is_fair = |side| is_free(&evidence.asked.makers, side);
    if !is_fair(one) || !is_fair(other) || one.roots.iter().any(|root| other.roots.contains(root)) {
        return None;
    }
    let settings = Settings {
        question: if is_apart { "apart" } else { "together" }.into(),
        a: Some(one.id.to_string()),
        b: Some(other.id.to_string()),
        ..evidence.settings.clone()
    };
    // Only the verdict and its sentence are wanted, as in a trial; this one changes nothing.
    Some(Evidence { settings, change: Change::Thresholds(1.0), ..pair })
}

fn asked<Q: Question>(pair: &Evidence) -> Result<(&'static str, String), Fault> {
    let found = Q::judge(pair, &mut |_, _| {})?;
    let word = Q::verdict(&found);
    let (answer, _) = Q::word(pair, found)?;
    Ok((word, answer.sentence))
}
