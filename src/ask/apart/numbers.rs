//! The numbers of `apart`.

use super::{Judged, two};
use crate::ask::answer::{Answer, Number};
use crate::ask::pair::Pair;
use crate::ask::words;
use crate::class::Class;
use crate::measure::{Level, UpperLimit, upper_limit};
use crate::numerics::counting::Interval;

/// Names of all numbers, for an answer that has none of them.
pub(super) const NAMES: [&str; 14] = [
    "a_without_b_pixels",
    "a_without_b_area_mm2",
    "a_without_b_share",
    "a_without_b_pixels_inner",
    "a_without_b_area_mm2_inner",
    "a_without_b_share_inner",
    "k",
    "k_low",
    "k_high",
    "k_spread",
    "excess_pixels",
    "excess_area_mm2",
    "deficit_pixels",
    "independent_upper_limit",
];

/// Unit of the upper limit.
pub(super) const PER_PIXEL: &str = "counts a pixel";

/// How much A may be there beyond what accompanies B.
pub(super) fn limit_of(pair: &Pair<'_>, at: (&Level, &Level), judged: &Judged) -> Option<UpperLimit> {
    upper_limit(&two(pair, at, &pair.evidence.rules()), judged.outcome.with.as_ref()?)
}

pub(super) fn numbered(
    mut answer: Answer,
    pair: &Pair<'_>,
    judged: &Judged,
    limit: Option<&UpperLimit>,
) -> Answer {
    let (found, step) = (&judged.outcome, pair.evidence.step);
    let counts = &found.classes.counts;
    let inner = counts.by_class[Class::AOnly as usize];
    for (ending, pixels) in [("", counts.a_only_with_rims.max(inner)), ("_inner", inner)] {
        let mut put =
            |name: &str, number: Number| answer.numbers.insert(format!("a_without_b_{name}{ending}"), number);
        put("pixels", Number::of(pixels as f64, "pixels"));
        put("area_mm2", words::area_number(pixels, step));
        put("share", Number::or_reason(words::share(pixels, counts.a), "", "A is detected nowhere"));
    }
    let unknown = "B is surely there in fewer than 30 pixels";
    let with = found.with;
    let mut put = |name: &str, number: Number| answer.numbers.insert(name.to_owned(), number);
    let band = with.map(|w| Interval { low: w.k_low, high: w.k_high });
    put("k", Number::or_reason(with.map(|w| w.k), "", unknown).within(with.map(|w| w.counting), band));
    put("k_low", Number::or_reason(with.map(|w| w.k_low), "", unknown));
    put("k_high", Number::or_reason(with.map(|w| w.k_high), "", unknown));
    let spread = with.filter(|w| w.bin > 0).map(|w| w.spread);
    put("k_spread", Number::or_reason(spread, "", "k does not come from single places"));
    let untested = if with.is_some() { "the maps hold neither counts nor errors" } else { unknown };
    let excess = found.excess.as_ref();
    put("excess_pixels", Number::or_reason(excess.map(|e| e.pixels as f64), "pixels", untested));
    let area = excess
        .map_or_else(|| Number::or_reason(None, "mm²", untested), |e| words::area_number(e.pixels, step));
    put("excess_area_mm2", area);
    put("deficit_pixels", Number::or_reason(excess.map(|e| e.deficit_pixels as f64), "pixels", untested));
    // One-sided: the value is the limit itself, its systematic part the limit at the lower end of the band.
    let mut number = Number::or_reason(limit.map(|l| l.per_pixel), PER_PIXEL, untested);
    number.high_all = limit.map(|l| l.per_pixel_with_band);
    put("independent_upper_limit", number);
    answer
}
