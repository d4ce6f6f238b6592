//! Two maps together, in words and numbers.

use super::joint;
use super::judge::{ALL_SHARE, ALPHA, Judged, Line, MUST_BE_SEEN, STRICT, Share};
use super::numbers::{Alike, SHUFFLES};
use crate::ask::answer::{Answer, Figure, Method, Number, Rasters};
use crate::ask::evidence::Evidence;
use crate::ask::pair::Pair;
use crate::ask::verdict::{NO_PATTERN, TOGETHER};
use crate::ask::words as common;
use crate::kind::{Kind, Noise};
use crate::measure::Z_95;
use crate::measure::together::{How, Significance};
use crate::notice::Fault;
use crate::numerics::figure::{percent, rounded, stated_percent, whole};

pub(super) fn word(pair: &Pair<'_>, found: &Judged) -> Result<(Answer, Rasters), Fault> {
    let mut answer = blank_answer(pair.evidence);
    answer.judged_pixels = found.basis().pixels as u64;
    answer.sentence = sentence(pair, found);
    answer.figures = figures(pair, found);
    numbers(&mut answer, found);
    answer.cautions = cautions(pair, found);
    let mut rasters = Rasters::new();
    if let Some((plot, raster)) = joint::joint(pair, found)? {
        answer.plots.push(plot);
        rasters.insert(joint::RASTER.into(), raster);
    }
    Ok((answer, rasters))
}

fn correlation(r: Option<f64>) -> String {
    r.map_or_else(|| "no value".into(), |r| rounded(r, 2))
}

/// "inside the 1 010 pixels where both are detected".
fn place(pair: &Pair<'_>, found: &Judged) -> String {
    match found.passage.as_ref().map(|passage| (passage.how, passage.pixels)) {
        Some((How::WhereBoth, pixels)) => {
            format!("inside the {} where both are detected", common::counted(pixels))
        }
        _ => pair.evidence.place(),
    }
}

fn sentence(pair: &Pair<'_>, found: &Judged) -> String {
    let (a, b) = pair.labels();
    let (place, basis) = (place(pair, found), found.basis());
    let first = match found.verdict {
        TOGETHER => {
            let line = match found.line {
                Some(Line::Proportional) => ", in proportion".to_owned(),
                Some(Line::RestOfB(rest)) => {
                    format!(", with an offset: about {} of {b} does not go with {a}", percent(rest))
                }
                Some(Line::RestOfA(rest)) => {
                    format!(", with an offset: about {} of {a} does not go with {b}", percent(rest))
                }
                None => String::new(),
            };
            let r = correlation(basis.pearson);
            format!("{} {a} and {b} rise and fall together (correlation {r}){line}", common::capital(&place))
        }
        NO_PATTERN => {
            let seen = found.would_be_seen.map_or_else(String::new, |r| {
                format!("; a correlation of {} or more would have been found", rounded(r, 2))
            });
            let unrelated = match found.passage.as_ref().map(|passage| passage.how) {
                Some(How::WhereBoth) => ", unrelated as far as these maps show",
                _ => "",
            };
            format!("{} {a} and {b} have no common pattern{unrelated}{seen}", common::capital(&place))
        }
        _ => format!(
            "Whether {a} and {b} rise and fall together {place} cannot be judged, because {}",
            found.reason.trim_end_matches('.')
        ),
    };
    format!("{first}.")
}

fn chance(p: Option<f64>) -> String {
    match p {
        None => "no value".into(),
        Some(p) if p < 1e-4 => "< 0.0001".into(),
        // A chance is never known to more than one figure here.
        Some(p) => rounded(p, 1),
    }
}

fn figures(pair: &Pair<'_>, found: &Judged) -> Vec<Figure> {
    let (a, b) = pair.labels();
    let line = |label: &str, value: String, detail: String| Figure { label: label.into(), value, detail };
    let mut out = Vec::new();
    let interval = |test: Option<&Significance>| {
        test.and_then(|test| test.interval(Z_95)).map_or_else(String::new, |(low, high)| {
            format!("95 % from {} to {}", rounded(low, 2), rounded(high, 2))
        })
    };
    if let (Some(within), Some(passage)) = (&found.within, &found.passage) {
        out.push(line(
            "correlation inside the passage",
            correlation(within.pearson),
            format!("{}; {}", common::counted(passage.pixels), interval(within.test.as_ref())),
        ));
        out.push(line("by ranks", correlation(within.spearman), String::new()));
    }
    out.push(line(
        &format!("correlation {}", pair.evidence.place()),
        correlation(found.field.pearson),
        format!("by ranks {}; {}", correlation(found.field.spearman), interval(found.field.test.as_ref())),
    ));
    let basis = found.basis();
    match &basis.corrected {
        Some(Ok(corrected)) => out.push(line(
            "without counting noise",
            rounded(corrected.r, 2),
            format!(
                "{} of the scatter of {a} and {} of that of {b} is pattern",
                percent(corrected.reliability_a),
                percent(corrected.reliability_b)
            ),
        )),
        Some(Err(reason)) => out.push(line("without counting noise", "no value".into(), reason.clone())),
        None => {}
    }
    if let Some(test) = basis.test {
        let blocks = test.shuffled.map_or_else(
            || "too few blocks to shuffle".to_owned(),
            |shuffled| {
                let (side, n) = (shuffled.side * test.binned, whole(shuffled.blocks as u64));
                format!(
                    "chance by shuffling {n} blocks of {side} × {side} pixels {}",
                    chance(Some(shuffled.p))
                )
            },
        );
        out.push(line(
            "independent places",
            test.effective_n.map_or_else(|| "no value".into(), |n| rounded(n, 2)),
            format!("chance by the t-test {}; {blocks}", chance(test.p_effective_n)),
        ));
    }
    let share = |share: &Share| {
        let text = share.value.map_or_else(|| "no value".into(), |v| percent(v.clamp(0.0, 1.0)));
        let moved = match (share.low, share.high) {
            (Some(low), Some(high)) => format!(
                "{} to {} with the threshold 20 % higher and lower",
                percent(low.clamp(0.0, 1.0)),
                percent(high.clamp(0.0, 1.0))
            ),
            _ => String::new(),
        };
        (text, moved)
    };
    for (of, at, found) in [(&a, &b, &found.shares[0]), (&b, &a, &found.shares[1])] {
        let (text, moved) = share(found);
        out.push(line(&format!("{of} signal where {at} is detected"), text, moved));
    }
    let levels = [pair.a, pair.b].into_iter().filter_map(|side| Some((side, side.level.as_ref().ok()?)));
    out.extend(levels.map(|(side, level)| common::level_figure(side, level)));
    out
}

fn numbers(answer: &mut Answer, found: &Judged) {
    let reason =
        if found.reason.is_empty() { "there is none in these pixels" } else { found.reason.as_str() };
    let mut put = |name: &str, number: Number| {
        answer.numbers.insert(name.into(), number);
    };
    let mut all = |end: &str, alike: &Alike| {
        let test = alike.test;
        let mut pearson = Number::or_reason(alike.pearson, "", "one of the maps has one value throughout");
        if let (Some(_), Some((low, high))) = (alike.pearson, test.and_then(|test| test.interval(Z_95))) {
            (pearson.low_all, pearson.high_all) = (Some(low), Some(high));
        }
        put(&format!("pearson{end}"), pearson);
        let no_rank = "one of the maps has one value throughout";
        put(&format!("spearman{end}"), Number::or_reason(alike.spearman, "", no_rank));
        let corrected = match &alike.corrected {
            Some(Ok(corrected)) => Number::of(corrected.r, ""),
            Some(Err(reason)) => Number::or_reason(None, "", reason),
            None => Number::or_reason(None, "", reason),
        };
        put(&format!("pearson_noise_corrected{end}"), corrected);
        let patchy = "the maps are too patchy for these pixels";
        let of = |value: Option<f64>| Number::or_reason(value, "", patchy);
        put(&format!("effective_n{end}"), of(test.and_then(|test| test.effective_n)));
        put(&format!("p_effective_n{end}"), of(test.and_then(|test| test.p_effective_n)));
        put(&format!("p_block_shuffle{end}"), of(test.and_then(|test| test.shuffled).map(|s| s.p)));
    };
    all("", &found.field);
    all("_in_passage", found.within.as_ref().unwrap_or(&found.field));
    let share = |share: &Share| Number {
        low: share.value.and(share.low),
        high: share.value.and(share.high),
        ..Number::or_reason(share.value, "", "there is no signal above background to share")
    };
    put("share_of_a_where_b", share(&found.shares[0]));
    put("share_of_b_where_a", share(&found.shares[1]));
    put("cosine", Number::or_reason(found.cosine, "", "one of the maps is 0 throughout"));
    put("same_side", Number::or_reason(found.same_side, "", "there are no pixels"));
    let none = "neither is detected in any pixel";
    put("jaccard", Number::or_reason(found.sets.and_then(|sets| sets.jaccard()), "", none));
    put("dice", Number::or_reason(found.sets.and_then(|sets| sets.dice()), "", none));
    put("would_be_seen", Number::or_reason(found.would_be_seen.filter(|r| *r < 1.0), "", reason));
    let passage = found.passage.as_ref().map(|passage| passage.pixels as f64);
    put("passage_pixels", Number::or_reason(passage, "pixels", reason));
}

pub(super) fn cautions(pair: &Pair<'_>, found: &Judged) -> Vec<String> {
    let (a, b) = pair.labels();
    let mut out = Vec::new();
    let stop = |text: &String| format!("{}.", text.trim_end_matches('.'));
    let causes = &found.causes;
    out.extend(
        [&causes.overlap, &causes.near, &causes.third, &causes.shadow].into_iter().flatten().map(stop),
    );
    if causes.same_element {
        out.push(format!(
            "{a} and {b} are of one element: that they rise and fall together says nothing of materials."
        ));
    }
    if found.verdict == TOGETHER {
        out.push("Counts that rise and fall together are no proof of one material: two materials laid on together, and everything that lies under or over both, do the same.".into());
        out.push("Distance and tilt of the surface, dwell, dead time and drift let all lines rise and fall together. Compare with a map of scatter or with a line that should not take part.".into());
    }
    if found.passage.as_ref().is_some_and(|passage| passage.how == How::Everything) {
        out.push("Neither map is there in part only, so everything that is asked about is taken for one passage. If it holds several, their drawing alone can make a correlation.".into());
    }
    let shape_only = |kind: Kind| kind.noise() == Noise::Unknown;
    if shape_only(pair.a.kind) || shape_only(pair.b.kind) {
        out.push("A picture of a map may be stretched: its ranks keep their order, its correlation does not keep its size.".into());
    }
    if let Some(test) = found.basis().test.filter(|test| test.binned > 1) {
        out.push(format!(
            "For the tests the pixels are taken together by {0} × {0}; the number of independent places hardly changes by it.",
            test.binned
        ));
    }
    out.extend(common::level_cautions(pair.evidence));
    out
}

pub(super) fn blank_answer(evidence: &Evidence) -> Answer {
    let own = vec![
        Method::own(
            "Passage: everything that is asked about if each map is detected there in nine of ten pixels or more, or in no more than chance gives; else where more than half of the 3 × 3 pixels around hold both, rims left out. Two materials that fill the same figure are correlated over the field whatever they are.",
        ),
        Method::published(
            "Correlation of the values (pearson) and of their ranks (spearman).",
            "K. Pearson, Philosophical Transactions A 187 (1896) 253; C. Spearman, American Journal of Psychology 15 (1904) 72",
        ),
        Method::published(
            "effective_n and p_effective_n: t-test with an effective number of pixels from the correlations of each map with itself, averaged over rings of distance; every ring. Other classes of distance give other numbers: no more than one figure of p means anything.",
            "P. Dutilleul, Biometrics 49 (1993) 305; P. Clifford, S. Richardson and D. Hémon, Biometrics 45 (1989) 123",
        ),
        Method::published(
            format!(
                "p_block_shuffle: {SHUFFLES} shuffles of blocks, each mirrored by chance, three times as wide as the shorter of the distances over which the maps lose their correlation with themselves (two to three times in a small passage)."
            ),
            "S. V. Costes and others, Biophysical Journal 86 (2004) 3993",
        ),
        Method::own(format!(
            "“Rise and fall together” takes a chance below {} in both tests, a positive correlation of the ranks too, a common variation of more than {} of the means and of more than half of the backgrounds, and that it is still found without the means of lines and columns of the scan. “No common pattern” takes a chance of {} or more in both, and that a correlation of {} would have been found.",
            stated_percent(STRICT),
            stated_percent(ALL_SHARE),
            stated_percent(ALPHA),
            MUST_BE_SEEN
        )),
        Method::published(
            "pearson_noise_corrected: correlation over the root of the product of both reliabilities, with what a shared background explains taken off. Reliability: share of the variance that is neither counting noise nor background. It must be a tenth at least.",
            "C. Spearman, American Journal of Psychology 15 (1904) 72",
        ),
        Method::published(
            "share_of_a_where_b, share_of_b_where_a: share of the signal above background in pixels where the other is detected; low and high with that threshold 20 % further from and nearer to the background. Known as M1 and M2. cosine is known as the overlap coefficient, same_side as the intensity correlation quotient.",
            "E. M. M. Manders, F. J. Verbeek and J. A. Aten, Journal of Microscopy 169 (1993) 375; Q. Li and others, Journal of Neuroscience 24 (2004) 4070",
        ),
    ];
    common::blank_answer(evidence, "together", own)
}
