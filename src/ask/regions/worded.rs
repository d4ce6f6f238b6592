//! The answer in words: sentence, table, cautions, method.

use super::drawn;
use super::judge::{ALPHA, Judged, OfMap, Pair};
use super::part::Part;
use crate::ask::answer::{Answer, Cell, Figure, Method, Number, Rasters, Row, Table};
use crate::ask::evidence::{Evidence, Side, WHOLE_FIELD};
use crate::ask::verdict::{DIFFER, NO_DIFFERENCE};
use crate::ask::words;
use crate::notice::Fault;
use crate::numerics::counting::Interval;
use crate::numerics::figure::{THIN_SPACE, figure, percent, rounded, stated_percent, whole};

/// Regions of fewer pixels than this cannot show patches that are larger than they are.
const SMALL: u64 = 400;
/// So many maps are named in a sentence one by one.
const MOST_NAMED: usize = 5;
const MOST_FIGURES: usize = 8;

/// What stands behind a number of a pixel: " counts per pixel"; nothing where a number has no unit.
pub fn unit_of(side: &Side) -> String {
    match side.kind.unit() {
        "" => String::new(),
        unit => format!(" {unit} per pixel"),
    }
}

/// The name of a region in quotation marks; the whole field without.
pub fn name_of(evidence: &Evidence, region: usize) -> String {
    evidence.regions.get(region).map_or_else(|| WHOLE_FIELD.into(), |asked| format!("“{}”", asked.name))
}

pub fn word(evidence: &Evidence, found: &Judged) -> Result<(Answer, Rasters), Fault> {
    let mut rasters = Rasters::new();
    let mut answer = words::blank_answer(evidence, "regions", methods(evidence, found));
    let first = || found.maps.iter().take(1).flat_map(|map| &map.parts);
    answer.pixels = first().map(|part| part.pixels).sum();
    answer.judged_pixels = first().map(|part| part.judged).sum();
    answer.sentence = sentence(evidence, found);
    answer.table = table(evidence, found);
    answer.figures = figures(evidence, found);
    answer.cautions = cautions(evidence, found);
    answer.numbers.insert("comparisons".into(), Number::of(f64::from(found.tested), ""));
    let differ = found.maps.iter().flat_map(|map| &map.pairs).filter(|pair| pair.verdict == DIFFER).count();
    answer.numbers.insert("comparisons_that_differ".into(), Number::of(differ as f64, ""));
    if let ([side], [map]) = (evidence.sides.as_slice(), found.maps.as_slice())
        && let [pair] = map.pairs.as_slice()
    {
        numbers(&mut answer, side, pair);
    }
    answer.plots.extend(drawn::dots(evidence, found));
    answer.plots.extend(drawn::courses(evidence, found, &mut rasters)?);
    Ok((answer, rasters))
}

/// One map and two regions: the numbers of their comparison.
fn numbers(answer: &mut Answer, side: &Side, pair: &Pair) {
    let unit = unit_of(side);
    let of = |value: Option<f64>, unit: &str| Number::or_reason(value, unit.trim(), &pair.reason);
    let no_ratio = if pair.reason.is_empty() {
        "the second region holds nothing that is detected"
    } else {
        &pair.reason
    };
    answer.numbers.insert("difference".into(), of(pair.difference, &unit).within(pair.counting, pair.all));
    let ratio = Number::or_reason(pair.ratio, "", no_ratio).within(pair.ratio_counting, pair.ratio_all);
    answer.numbers.insert("ratio".into(), ratio);
    answer.numbers.insert("cliffs_delta".into(), of(pair.delta, ""));
    answer.numbers.insert("p_difference".into(), of(pair.p, ""));
    answer.numbers.insert("difference_that_would_be_seen".into(), of(pair.would_be_seen, &unit));
}

/// The comparison of a map that says most: one that differs most surely, else one that was tested, else the first.
fn strongest(map: &OfMap) -> Option<&Pair> {
    let with_p = map.pairs.iter().filter(|pair| pair.p.is_some() && pair.reason.is_empty());
    with_p.min_by(|x, y| x.p.partial_cmp(&y.p).unwrap_or(std::cmp::Ordering::Equal)).or(map.pairs.first())
}

fn sentence(evidence: &Evidence, found: &Judged) -> String {
    let count = evidence.regions.len();
    if count < 2 {
        let what = if count == 0 { "There is no region" } else { "There is only one region" };
        let line = if found.profiles.is_empty() { "" } else { " Along the line the maps run as drawn." };
        return format!(
            "How regions differ cannot be judged. {what}; draw two or more to compare them. What the maps count in {} stands in the table.{line}",
            if count == 0 { WHOLE_FIELD.to_owned() } else { name_of(evidence, 0) }
        );
    }
    let maps = || evidence.sides.iter().zip(&found.maps);
    let of = |verdict: &str| maps().filter(|(_, map)| map.verdict == verdict).collect::<Vec<_>>();
    let (differing, alike) = (of(DIFFER), of(NO_DIFFERENCE));
    let mut parts = Vec::new();
    if let [(side, map)] = differing.as_slice() {
        parts.extend(differs(evidence, side, map).map(|text| format!("{text}.")));
    } else if !differing.is_empty() {
        parts.push(format!(
            "{} differ in {}.",
            words::capital(&regions_named(evidence)),
            listed_maps(&differing)
        ));
    }
    if let [(side, map)] = alike.as_slice() {
        parts.extend(unseen(evidence, side, map).map(|text| format!("No difference is seen {text}.")));
    } else if !alike.is_empty() {
        let between = if alike.iter().any(|(_, map)| has_open_pairs(map)) {
            format!(", {JUDGED_PAIRS}")
        } else {
            String::new()
        };
        parts.push(format!("No difference is seen in {}{between}.", listed_maps(&alike)));
    }
    let cannot: Vec<_> =
        maps().filter(|(_, map)| map.verdict != DIFFER && map.verdict != NO_DIFFERENCE).collect();
    match cannot.as_slice() {
        [] => {}
        [(side, map), rest @ ..] if parts.is_empty() => {
            let reason = strongest(map).map_or("there is nothing to compare", |pair| pair.reason.as_str());
            let more = if rest.is_empty() { "" } else { "; the table says why for each map" };
            parts.push(format!(
                "Whether {} differ cannot be judged ({}: {reason}{more}).",
                regions_named(evidence),
                side.label()
            ));
        }
        [(side, _)] => parts.push(format!("{} cannot be judged.", side.label())),
        several => parts.push(format!("{} cannot be judged; the table says why.", listed_maps(several))),
    }
    parts.join(" ")
}

fn regions_named(evidence: &Evidence) -> String {
    let count = evidence.regions.len();
    match count {
        2 => format!("{} and {}", name_of(evidence, 0), name_of(evidence, 1)),
        _ => format!("the {} regions", whole(count as u64)),
    }
}

/// "Fe K, Mn K and 3 more maps".
fn listed_maps(maps: &[(&Side, &OfMap)]) -> String {
    // One more name is no longer than "1 more map".
    let named = if maps.len() == MOST_NAMED + 1 { maps.len() } else { MOST_NAMED };
    let mut names: Vec<String> = maps.iter().take(named).map(|(side, _)| side.label()).collect();
    if maps.len() > named {
        names.push(format!("{} more maps", maps.len() - named));
    }
    words::listed(&names)
}

fn differs(evidence: &Evidence, side: &Side, map: &OfMap) -> Option<String> {
    let pair = strongest(map)?;
    let (mean_a, mean_b) = (map.parts[pair.a].mean()?, map.parts[pair.b].mean()?);
    let (a, b) = (name_of(evidence, pair.a), name_of(evidence, pair.b));
    let tested = map.pairs.iter().filter(|pair| pair.reason.is_empty()).count();
    let more = map.pairs.iter().filter(|pair| pair.verdict == DIFFER).count();
    let pairs = if tested > 1 { format!(" ({more} of {tested} pairs differ in it)") } else { String::new() };
    Some(format!(
        "{a} and {b} differ in {}: {} against {}{}, a difference of {} ({}){pairs}",
        side.label(),
        figure(mean_a),
        figure(mean_b),
        unit_of(side),
        figure(pair.difference?),
        pair.all.map_or_else(
            || "no interval".into(),
            |i| format!("95{THIN_SPACE}% interval with patches and floor {}", from_to(i))
        ),
    ))
}

/// Where not every pair can be judged.
const JUDGED_PAIRS: &str = "between the pairs that can be judged";

/// Whether a map without a difference has pairs of which none can be said either way.
fn has_open_pairs(map: &OfMap) -> bool {
    map.pairs.iter().any(|pair| pair.verdict != NO_DIFFERENCE)
}

/// "between “A” and “B” in Fe K: one of more than 2.1 counts per pixel (8 %) would have been seen".
fn unseen(evidence: &Evidence, side: &Side, map: &OfMap) -> Option<String> {
    let tested = map.pairs.iter().filter(|pair| pair.verdict == NO_DIFFERENCE);
    // Of several pairs the one that was seen least well.
    let pair = tested
        .max_by(|x, y| x.would_be_seen.partial_cmp(&y.would_be_seen).unwrap_or(std::cmp::Ordering::Equal))?;
    let seen = pair.would_be_seen?;
    let larger = map.parts[pair.a].mean()?.max(map.parts[pair.b].mean()?);
    let share = if larger > 0.0 {
        format!(" ({} of the larger mean)", percent(seen / larger))
    } else {
        String::new()
    };
    let between = if has_open_pairs(map) {
        JUDGED_PAIRS.to_owned()
    } else if map.pairs.len() > 1 {
        "between any two of them".to_owned()
    } else {
        format!("between {} and {}", name_of(evidence, pair.a), name_of(evidence, pair.b))
    };
    Some(format!(
        "{between} in {}, where one of more than {}{}{share} would have been seen",
        side.label(),
        figure(seen),
        unit_of(side)
    ))
}

/// "−15.1 to −5.31": a dash would run into the signs.
fn from_to(interval: Interval) -> String {
    format!("{} to {}", figure(interval.low), figure(interval.high))
}

fn state_text(part: &Part, unit: &str) -> String {
    match (part.state.below, part.state.reason.as_str()) {
        (Some(limit), _) => format!("not detected (below {}{unit})", figure(limit)),
        (None, "") => part.state.word.into(),
        (None, reason) => format!("{}: {reason}", part.state.word),
    }
}

/// A row for each map in each region, then a row for each comparison. Numbers have their units in the headings, or in a column
/// of their own where the maps have several.
fn table(evidence: &Evidence, found: &Judged) -> Table {
    let unit = evidence.sides.first().map_or("", |side| side.kind.unit());
    let is_one = evidence.sides.iter().all(|side| side.kind.unit() == unit);
    let own = |text: &str, per: &str| {
        if is_one && !unit.is_empty() { format!("{text} ({unit}{per})") } else { text.to_owned() }
    };
    let mean = |text: &str| own(text, " per pixel");
    let mut columns = vec![
        "pixels".to_owned(),
        "pixels judged".into(),
        own("sum", ""),
        mean("mean or difference"),
        mean("from, by counting"),
        mean("to, by counting"),
        mean("from, with patches and floor"),
        mean("to, with patches and floor"),
        mean("spread"),
        "worth of independent pixels".into(),
        "ratio of signals".into(),
        "ratio from".into(),
        "ratio to".into(),
        "Cliff's delta".into(),
        mean("difference that would be seen"),
        "state or verdict".into(),
    ];
    if !is_one {
        columns.insert(0, "unit".into());
    }
    let mut rows = Vec::new();
    let mut push = |label: String, side: &Side, cells: Vec<Cell>| {
        let of_unit = (!is_one).then(|| Cell::words(side.kind.numbers_are()));
        rows.push(Row { label, cells: of_unit.into_iter().chain(cells).collect() });
    };
    for (side, map) in evidence.sides.iter().zip(&found.maps) {
        for (i, part) in map.parts.iter().enumerate() {
            push(format!("{}, {}", side.label(), name_of(evidence, i)), side, of_part(part, &unit_of(side)));
        }
    }
    for (side, map) in evidence.sides.iter().zip(&found.maps) {
        for pair in &map.pairs {
            let (a, b) = (name_of(evidence, pair.a), name_of(evidence, pair.b));
            push(format!("{}, {a} less {b}", side.label()), side, of_pair(pair));
        }
    }
    Table { columns, rows }
}

fn cell(value: Option<f64>) -> Cell {
    value.filter(|v| v.is_finite()).map_or_else(Cell::default, |v| Cell::number(v, figure(v)))
}

fn ends(interval: Option<Interval>) -> [Cell; 2] {
    [cell(interval.map(|i| i.low)), cell(interval.map(|i| i.high))]
}

fn of_part(part: &Part, unit: &str) -> Vec<Cell> {
    let number = |n: u64| Cell::number(n as f64, whole(n));
    let mut cells = vec![number(part.pixels), number(part.judged)];
    cells.push(cell(part.spread.map(|_| part.sum)));
    cells.push(cell(part.mean()));
    cells.extend(ends(part.counting));
    cells.extend(ends(part.all));
    cells.push(cell(part.spread.map(|spread| spread.variance.sqrt())));
    cells.push(cell(part.patchy.map(|patchy| patchy.effective)));
    cells.resize(cells.len() + 5, Cell::default());
    cells.push(Cell::words(state_text(part, unit)));
    cells
}

fn of_pair(pair: &Pair) -> Vec<Cell> {
    let mut cells = vec![Cell::default(), Cell::default(), Cell::default(), cell(pair.difference)];
    cells.extend(ends(pair.counting));
    cells.extend(ends(pair.all));
    cells.extend([Cell::default(), Cell::default(), cell(pair.ratio)]);
    cells.extend(ends(pair.ratio_all));
    cells.extend([cell(pair.delta), cell(pair.would_be_seen)]);
    let verdict = pair.verdict;
    cells.push(Cell::words(if pair.reason.is_empty() {
        verdict.into()
    } else {
        format!("{verdict}: {}", pair.reason)
    }));
    cells
}

fn figures(evidence: &Evidence, found: &Judged) -> Vec<Figure> {
    let mut out = Vec::new();
    // What could be judged goes before the rest, which the table has too.
    let is_judged = |map: &OfMap| map.verdict == DIFFER || map.verdict == NO_DIFFERENCE;
    let any = found.maps.iter().any(is_judged);
    for (side, map) in evidence.sides.iter().zip(&found.maps).filter(|(_, map)| !any || is_judged(map)) {
        let Some(pair) = strongest(map) else { continue };
        let Some(difference) = pair.difference else { continue };
        let counting = pair.counting.map(|i| format!("{} by counting", from_to(i)));
        let all = pair.all.map(|i| format!("{} with patches and floor", from_to(i)));
        let delta = pair.delta.map(|delta| format!("Cliff's delta {}", rounded(delta, 2)));
        let detail: Vec<String> = [counting, all, delta].into_iter().flatten().collect();
        out.push(Figure {
            label: format!(
                "{}: {} less {}",
                side.label(),
                name_of(evidence, pair.a),
                name_of(evidence, pair.b)
            ),
            value: format!("{}{}", figure(difference), unit_of(side)),
            detail: detail.join("; "),
        });
    }
    out.truncate(MOST_FIGURES);
    if found.tested > 1 {
        out.push(Figure {
            label: "comparisons".into(),
            value: whole(u64::from(found.tested)),
            detail: format!("{} is shared among them", stated_percent(ALPHA)),
        });
    }
    out
}

fn cautions(evidence: &Evidence, found: &Judged) -> Vec<String> {
    let mut out = Vec::new();
    let made: Vec<String> = evidence
        .regions
        .iter()
        .filter(|asked| evidence.sides.iter().any(|side| side.roots.iter().any(|r| asked.makers.contains(r))))
        .map(|asked| format!("“{}”", asked.name))
        .collect();
    if !made.is_empty() {
        out.push(format!(
            "{} came from the values of a map: on that map it is described and not tested, for a region is no evidence for what it was chosen by.",
            made.join(" and ")
        ));
    }
    if found.tested > 0 {
        out.push("A difference of signals is none of amounts: thickness, what lies over it and what surrounds it change them too. A region that was drawn because it looks different in a map is no test of that map; name a second line or detector as held out.".into());
        let is_small = |part: &Part| part.refused.is_none() && part.pixels < SMALL;
        if found.maps.iter().flat_map(|map| &map.parts).any(is_small) {
            out.push(format!(
                "A region of fewer than {} pixels cannot show patches that are larger than itself: where the field is so patchy, “differ” is said of these places and not of what they are painted with.",
                whole(SMALL)
            ));
        }
    }
    out.extend(words::level_cautions(evidence));
    out
}

fn methods(evidence: &Evidence, found: &Judged) -> Vec<Method> {
    let mut out = vec![
        Method::published(
            "Interval of a count, for a mean over the pixels of a region.",
            "F. Garwood, Biometrika 28 (1936) 437",
        ),
        Method::published(
            "Worth of a region in independent pixels: n² / 1'R1, with correlations R that fall exponentially with distance between at most 64 blocks, their length by restricted maximum likelihood.",
            "H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545; R. Vallejos and F. Osorio, Spatial Statistics 9 (2014) 88",
        ),
        Method::published(
            "Difference of means with unequal variances; degrees of freedom from what the regions are worth.",
            "B. L. Welch, Biometrika 34 (1947) 28",
        ),
        Method::practice(format!(
            "{} is shared evenly among the {} comparisons that are tested (Bonferroni); intervals of differences with patches and floor hold for all of them at once.",
            stated_percent(ALPHA),
            whole(u64::from(found.tested))
        )),
        Method::own(format!(
            "The background may differ by {} of itself from region to region (floor); where it is not known, the lower mean stands for it.",
            stated_percent(evidence.rules().floor)
        )),
        Method::published(
            "Cliff's delta: how much oftener a pixel of the first region is above one of the second than below it.",
            "N. Cliff, Psychological Bulletin 114 (1993) 494",
        ),
    ];
    if evidence.regions.len() > 4 {
        out.push(Method::own("With more than four regions the first one is compared with each other one."));
    }
    out
}
