//! How every question is asked: its evidence is gathered, judged, judged again with something otherwise, and worded.

use super::answer::{Answer, Number, Rasters, Stability, Trial};
use super::evidence::{Asked, Change, Evidence, Subject};
use super::settings::Settings;
use super::words::listed;
use super::{Progress, verdict};
use crate::kind::Noise;
use crate::notice::Fault;

/// A question: how it names its maps, judges its evidence and words what it found.
pub(super) trait Question {
    /// What judging finds.
    type Found;

    /// The maps it rests on, by id or label, in the order of its evidence.
    ///
    /// # Errors
    /// A setting that is missing, or maps that cannot be asked about together.
    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault>;

    /// Judges the evidence. In a trial ([`Evidence::is_trial`]) only the verdict is wanted.
    ///
    /// # Errors
    /// No memory.
    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Self::Found, Fault>;

    /// The verdict word.
    fn verdict(found: &Self::Found) -> &'static str;

    /// What is compared between trials and named where it tips: the verdict word, unless a question says more closely.
    fn told(found: &Self::Found) -> String {
        Self::verdict(found).into()
    }

    /// Says what was found. Verdict, id and stability are filled in by the driver.
    ///
    /// # Errors
    /// No memory.
    fn word(evidence: &Evidence, found: Self::Found) -> Result<(Answer, Rasters), Fault>;

    /// Whether it is judged again with something otherwise: where there is a verdict that could tip.
    fn has_trials(evidence: &Evidence) -> bool {
        evidence.levels().is_ok()
    }
}

/// Share of the whole that the first judging is taken to last.
const FIRST: f64 = 0.4;

pub(super) fn ask<Q: Question>(
    subject: &Subject<'_>,
    settings: &Settings,
    progress: Progress<'_>,
) -> Result<(Answer, Rasters), Fault> {
    let names = Q::maps(settings, subject)?;
    progress(0.0, "Backgrounds");
    let evidence = subject.evidence(settings, &names)?;
    let has_trials = Q::has_trials(&evidence) && evidence.untested.is_none();
    let part = if has_trials { FIRST } else { 1.0 };
    let found = Q::judge(&evidence, &mut |share, text| progress(part * (0.2 + 0.8 * share), text))?;
    let word = Q::verdict(&found);
    let stability = if has_trials {
        let told = Q::told(&found);
        Some(stability::<Q>(subject, settings, (&names, &evidence, &told), progress)?)
    } else {
        None
    };
    let (mut answer, rasters) = Q::word(&evidence, found)?;
    answer.verdict = word.into();
    answer.stability = stability;
    answer.regions = evidence.asked_regions();
    answer.cautions.extend(evidence.overlap_cautions());
    answer.cautions.extend(evidence.region_cautions());
    if let Some(reason) = &evidence.untested {
        describe(&mut answer, reason);
    }
    progress(1.0, "");
    Ok((answer.named(), rasters))
}

/// Takes back what would be a test of what was chosen by these very maps.
fn describe(answer: &mut Answer, reason: &str) {
    if !verdict::abstains(&answer.verdict) {
        let of_element = verdict::words(&answer.question).contains(&verdict::CANNOT_HERE);
        answer.verdict = if of_element { verdict::CANNOT_HERE } else { verdict::CANNOT }.into();
        answer.verdict_text = String::new();
        answer.sentence = format!("{reason}.");
    }
    for (_, number) in answer.numbers.iter_mut().filter(|(name, _)| name.starts_with("p_")) {
        *number = Number::or_reason(None, &number.unit, reason);
    }
    if !answer.sentence.contains(reason) {
        answer.cautions.insert(0, format!("{reason}."));
    }
}

fn stability<Q: Question>(
    subject: &Subject<'_>,
    settings: &Settings,
    (names, evidence, word): (&[String], &Evidence, &str),
    progress: Progress<'_>,
) -> Result<Stability, Fault> {
    let are_counts = evidence.sides.iter().all(|side| side.noise() == Noise::Counting);
    let changes = Change::trials(evidence.asked.mask.is_some() || !evidence.regions.is_empty(), are_counts);
    let mut trials = Vec::new();
    for (i, change) in changes.iter().enumerate() {
        let done = FIRST + (1.0 - FIRST) * i as f64 / changes.len() as f64;
        let text = format!("The same with {}", change.words());
        progress(done, &text);
        let otherwise = subject.evidence_with(settings, names, (*change, evidence))?;
        // Of a thin region a pixel less leaves nothing, which says nothing of the verdict.
        if is_emptied(evidence, &otherwise) {
            continue;
        }
        let step = (1.0 - FIRST) / changes.len() as f64;
        let found = Q::judge(&otherwise, &mut |share, _| progress(done + step * share, &text))?;
        trials.push(Trial { change: change.words().into(), verdict: Q::told(&found) });
    }
    Ok(summary(trials, word))
}

/// Whether a region that has pixels has none in a trial.
fn is_emptied(before: &Evidence, now: &Evidence) -> bool {
    fn has_pixels(asked: &Asked) -> bool {
        asked.mask.as_ref().is_none_or(|mask| mask.data().contains(&true))
    }
    let regions = before.regions.iter().zip(&now.regions).chain([(&before.asked, &now.asked)]);
    regions.into_iter().any(|(before, now)| has_pixels(before) && !has_pixels(now))
}

fn summary(trials: Vec<Trial>, word: &str) -> Stability {
    let tips: Vec<String> = trials
        .iter()
        .filter(|trial| trial.verdict != word)
        .map(|trial| format!("with {} it would be “{}”", trial.change, trial.verdict))
        .collect();
    let all: Vec<&str> = trials.iter().map(|trial| trial.change.as_str()).collect();
    // What could not be judged does not "hold"; it may only be near a verdict.
    let text = match (tips.is_empty(), verdict::abstains(word)) {
        (true, false) => {
            format!("Holds with {}. Other backgrounds and a shift between maps were not tried.", listed(&all))
        }
        (true, true) => format!("The same with {}.", listed(&all)),
        (false, false) => format!("Does not hold throughout: {}.", tips.join("; ")),
        (false, true) => format!("Near a verdict: {}.", tips.join("; ")),
    };
    Stability { holds: tips.is_empty(), text, trials }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trial(change: &str, verdict: &str) -> Trial {
        Trial { change: change.into(), verdict: verdict.into() }
    }

    #[test]
    fn what_tips_a_verdict_is_said() {
        let holds = summary(
            vec![trial("half the counts", "differ"), trial("thresholds 20 % lower", "differ")],
            "differ",
        );
        assert!(
            holds.holds && holds.text.starts_with("Holds with half the counts and thresholds 20 % lower.")
        );
        let tips =
            summary(vec![trial("half the counts", "cannot be judged"), trial("x", "differ")], "differ");
        assert!(
            !tips.holds
                && tips.text
                    == "Does not hold throughout: with half the counts it would be “cannot be judged”.",
            "{}",
            tips.text
        );
    }

    #[test]
    fn what_was_chosen_by_its_map_gets_no_verdict_whatever_the_question_says() {
        let mut answer = Answer {
            question: "faint".into(),
            verdict: verdict::DETECTED.into(),
            sentence: "Cu K is detected.".into(),
            ..Answer::default()
        };
        answer.numbers.insert("p_on_off".into(), Number::of(0.01, ""));
        answer.numbers.insert("mean".into(), Number::of(4.0, "counts"));
        describe(&mut answer, "“sky” was made from Cu K");
        assert_eq!(
            (answer.verdict.as_str(), answer.sentence.as_str()),
            (verdict::CANNOT_HERE, "“sky” was made from Cu K.")
        );
        assert_eq!((answer.numbers["p_on_off"].value, answer.numbers["mean"].value), (None, Some(4.0)));
    }
}
