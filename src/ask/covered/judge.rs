//! Pairs of lines of one element in two regions, and what follows from them.

use super::overlap::{overlap_share, widen};
use super::through::{Change, Thickness, Through, matter};
use crate::ask::evidence::{Asked, Evidence, Side};
use crate::ask::known::Measuring;
use crate::ask::verdict::{CANNOT, COVERED, NO_WEAKENING};
use crate::ask::words;
use crate::grid::Mask;
use crate::kind::{Kind, Noise};
use crate::measure::{Calibration, Rules, calibration, net_mean};
use crate::notice::Fault;
use crate::numerics::counting::{Bounded, Interval, ratio_interval};
use crate::numerics::figure::{percent, rounded};
use crate::numerics::math::ln;
use crate::physics::energy_kev;
use crate::pigment::{self, Layer};

/// Share by which the own layer may be thicker or thinner than the bare one, and by which that changes a ratio of its lines; for
/// neighbours in energy. Common practice, no source.
const BAND: f64 = 0.2;
const BAND_OF_NEIGHBOURS: f64 = 0.1;
const NEIGHBOURS: f64 = 0.15;
/// A layer thicker than this (µm) that would not have been seen makes "no weakening" say too little.
const MOST_UNSEEN_UM: f64 = 100.0;
/// If overlaps could give more than this of the harder line, a pair is not judged; or of the softer one where it is bare.
const MOST_OVERLAP: f64 = 0.1;
const MOST_OVERLAP_OF_SOFT: f64 = 0.3;
/// The layer whose thickness is told where none is chosen.
const ANY: &str = "varnish";

/// What a pair says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// The softer line is weakened as under a cover.
    Weakened,
    /// It is not, and a weakening would have been seen.
    Not,
    /// It is stronger than in the bare region.
    Stronger,
    /// Nothing.
    Open,
}

/// A pair of lines in both regions.
pub struct Pair {
    /// Places of the maps among the sides.
    pub hard: usize,
    pub soft: usize,
    pub band: f64,
    /// Soft for each hard in the region and in the bare one.
    pub here: Option<Calibration>,
    pub bare: Option<Calibration>,
    /// Change of soft for each hard: by counting, and with the floor.
    pub weakened: Option<(Bounded, Bounded)>,
    /// The soft line here over the bare one, with the floor.
    pub soft_left: Option<Bounded>,
    pub says: Says,
    /// Why it says nothing, as a clause; or what it says.
    pub reason: String,
    pub through: Option<Through>,
}

impl Pair {
    /// ln of what hard / soft became: the value, by counting, and with floor and band.
    pub fn ln_change(&self) -> Option<Change> {
        let (plain, all) = self.weakened?;
        let ends = |i: Interval, band: f64| {
            let low = if i.high > 0.0 { -ln(i.high * (1.0 + band)) } else { f64::INFINITY };
            let high = if i.low > 0.0 { -ln(i.low / (1.0 + band)) } else { f64::INFINITY };
            (low, high)
        };
        let value = if plain.value > 0.0 { -ln(plain.value) } else { f64::INFINITY };
        Some((value, ends(plain.interval, 0.0), ends(all.interval, self.band)))
    }

    /// How thick this layer would be.
    pub fn thickness(&self, layer: &Layer) -> Option<Thickness> {
        self.through.as_ref()?.thickness(&matter(layer).ok()?, self.ln_change()?)
    }

    pub fn is_usable(&self) -> bool {
        self.says != Says::Open
    }
}

/// All that was found.
pub struct Found {
    pub pairs: Vec<Pair>,
    pub verdict: &'static str,
    /// Why it cannot be judged.
    pub reason: String,
    /// The layer that was chosen, or the one whose thickness stands for any.
    pub layer: Option<&'static Layer>,
    pub is_any: bool,
    /// The telling pair and what the layer would measure by it.
    pub telling: Option<(usize, Option<Thickness>)>,
    /// Elements with one line only: by how much they are weaker here, a weaker argument.
    pub single: Vec<(usize, Bounded)>,
}

/// Which maps make pairs: places of the harder and of the softer.
pub fn places(sides: &[(Option<crate::element::Line>, Kind)]) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    for (i, (a, kind_a)) in sides.iter().enumerate() {
        for (j, (b, kind_b)) in sides.iter().enumerate().skip(i + 1) {
            let (Some(a), Some(b)) = (a, b) else { continue };
            let is_whole =
                |line: &crate::element::Line, kind: Kind| line.member.is_none() && kind == Kind::Fitted;
            let holds_other = a.family == b.family && (is_whole(a, *kind_a) || is_whole(b, *kind_b));
            if a.element != b.element
                || holds_other
                || kind_a.noise() == Noise::Unknown
                || kind_b.noise() == Noise::Unknown
            {
                continue;
            }
            let (Some(at_a), Some(at_b)) = (energy_kev(*a), energy_kev(*b)) else { continue };
            if at_a > at_b {
                out.push((i, j));
            } else if at_b > at_a {
                out.push((j, i));
            }
        }
    }
    out
}

pub fn judge(evidence: &Evidence, measuring: &Measuring) -> Result<Found, Fault> {
    let chosen = evidence.settings.layer.as_deref().and_then(pigment::layer);
    let layer = chosen.or_else(|| pigment::layer(ANY));
    let kinds: Vec<_> = evidence.sides.iter().map(|side| (side.line, side.kind)).collect();
    let Some((bare, bare_mask)) = evidence.regions.first().and_then(|bare| Some((bare, bare.mask.as_ref()?)))
    else {
        return Ok(nothing("there is no region that is taken as bare", layer, chosen.is_none()));
    };
    let Some(here_mask) = evidence.asked.mask.as_ref() else {
        return Ok(nothing("no region is named", layer, chosen.is_none()));
    };
    let rules = evidence.rules();
    let masks = (here_mask, bare_mask);
    let mut pairs = Vec::new();
    for (hard, soft) in places(&kinds) {
        let (of_hard, of_soft) = (&evidence.sides[hard], &evidence.sides[soft]);
        let mut pair = pair((hard, soft), (of_hard, of_soft), masks, &rules, measuring);
        if pair.reason.is_empty() {
            widen(&mut pair, of_soft, masks);
            let made = made_of(bare, of_hard, of_soft);
            (pair.says, pair.reason) = match made {
                Some(reason) => (Says::Open, reason),
                None => says(&pair, (of_hard, of_soft), masks, layer),
            };
        }
        pairs.push(pair);
    }
    let single = single(evidence, masks, &pairs, &rules);
    let (verdict, reason) = verdict(&pairs);
    let wanted = match verdict {
        COVERED => Says::Weakened,
        NO_WEAKENING => Says::Not,
        _ => Says::Weakened,
    };
    // The lines farthest apart tell most.
    let distance = |pair: &Pair| {
        let kev = |place: usize| evidence.sides[place].line.and_then(energy_kev).unwrap_or(1.0);
        kev(pair.hard) / kev(pair.soft)
    };
    let best = pairs
        .iter()
        .enumerate()
        .filter(|(_, pair)| pair.says == wanted)
        .max_by(|a, b| distance(a.1).total_cmp(&distance(b.1)));
    let telling = best.map(|(place, pair)| (place, layer.and_then(|layer| pair.thickness(layer))));
    Ok(Found { verdict, reason, layer, is_any: chosen.is_none(), telling, single, pairs })
}

fn nothing(reason: &str, layer: Option<&'static Layer>, is_any: bool) -> Found {
    Found {
        pairs: Vec::new(),
        verdict: CANNOT,
        reason: reason.into(),
        layer,
        is_any,
        telling: None,
        single: Vec::new(),
    }
}

fn made_of(bare: &Asked, hard: &Side, soft: &Side) -> Option<String> {
    let side = [hard, soft].into_iter().find(|s| s.roots.iter().any(|root| bare.makers.contains(root)))?;
    Some(format!("“{}” was made from {}, so it is described there and not tested", bare.name, side.label()))
}

fn pair(
    (hard, soft): (usize, usize),
    (of_hard, of_soft): (&Side, &Side),
    (here, bare): (&Mask, &Mask),
    rules: &Rules,
    measuring: &Measuring,
) -> Pair {
    let kev = |side: &Side| side.line.and_then(energy_kev).unwrap_or(f64::NAN);
    let are_near = kev(of_hard) / kev(of_soft) < 1.0 + NEIGHBOURS;
    let band = if are_near { BAND_OF_NEIGHBOURS } else { BAND };
    let mut out = Pair {
        hard,
        soft,
        band,
        here: None,
        bare: None,
        weakened: None,
        soft_left: None,
        says: Says::Open,
        reason: String::new(),
        through: of_hard.line.zip(of_soft.line).and_then(|(h, s)| Through::new(h, s, measuring)),
    };
    let (at_hard, at_soft) = match (&of_hard.level, &of_soft.level) {
        (Ok(hard), Ok(soft)) => (hard, soft),
        (Err(reason), _) | (_, Err(reason)) => return Pair { reason: reason.clone(), ..out },
    };
    let share =
        |mask: &Mask| calibration((&of_soft.signal, &of_hard.signal), (at_soft, at_hard), mask, rules);
    let left = |mask: &Mask| net_mean((&of_soft.signal, at_soft), &of_hard.signal, mask, rules);
    (out.here, out.bare) = (share(here), share(bare));
    let (Some(of_here), Some(of_bare)) = (&out.here, &out.bare) else {
        out.reason = format!(
            "{} is too faint in one of the regions, or one has fewer than 30 pixels that can be used",
            of_hard.label()
        );
        return out;
    };
    let bounded = |c: &Calibration, i: Interval| Bounded { value: c.value, interval: i };
    let change = |i: Interval, j: Interval| {
        let (x, y) = (bounded(of_here, i), bounded(of_bare, j));
        ratio_interval(x, y).map(|interval| Bounded { value: x.value / y.value, interval })
    };
    out.weakened = change(of_here.counting, of_bare.counting).zip(change(of_here.all, of_bare.all));
    out.soft_left = left(here).zip(left(bare)).and_then(|((_, x), (_, y))| {
        ratio_interval(x, y).map(|interval| Bounded { value: x.value / y.value, interval })
    });
    if out.weakened.is_none() {
        out.reason = format!("{} is not detected in the region that is taken as bare", of_soft.label());
    }
    out
}

fn says(
    pair: &Pair,
    (hard, soft): (&Side, &Side),
    (here, bare): (&Mask, &Mask),
    layer: Option<&'static Layer>,
) -> (Says, String) {
    let open = |reason: String| (Says::Open, reason);
    for side in [soft, hard] {
        let Ok(level) = &side.level else { continue };
        if let Some(text) = side.overlap_doubt() {
            return open(text);
        }
        // In the softer line overlaps are in the interval already, unless they could give most of it in the bare region.
        let (masks, most): (&[&Mask], f64) = if std::ptr::eq(side, soft) {
            (&[bare], MOST_OVERLAP_OF_SOFT)
        } else {
            (&[here, bare], MOST_OVERLAP)
        };
        for mask in masks {
            let share = overlap_share(side, level, mask);
            if share > most {
                let much = if share < 1.0 { format!("up to {} of", percent(share)) } else { "all of".into() };
                return open(format!("{much} {} there could be lines of other elements", side.label()));
            }
        }
        if side.is_uneven {
            return open(format!(
                "the quiet part of {0}, from which its background comes, is uneven; name a region without {0} as background",
                side.label()
            ));
        }
    }
    let Some((_, all)) = pair.weakened else { return open("no ratio can be had".into()) };
    let by = 1.0 + pair.band;
    let Interval { low, high } = all.interval;
    if high * by < 1.0 {
        // A thicker own layer gives more of the hard line and no less of the soft one.
        return match pair.soft_left {
            Some(left) if left.interval.high * by < 1.0 => (
                Says::Weakened,
                format!("{} is left with {} beside {}", soft.label(), left_over(all), hard.label()),
            ),
            _ => open(format!(
                "{0} is weaker beside {1}, but not by itself: a thicker layer of {2} does that without any cover",
                soft.label(),
                hard.label(),
                soft.line.map_or("it", |line| line.element.symbol())
            )),
        };
    }
    if low > by {
        return (
            Says::Stronger,
            format!("{} is stronger beside {} than in the bare region", soft.label(), hard.label()),
        );
    }
    if all.value * by < 1.0 {
        return open(format!("{} seems weakened, but counting and background could do that", soft.label()));
    }
    let unseen = layer.and_then(|layer| pair.thickness(layer)).map_or(f64::INFINITY, |t| t.all.1);
    if unseen <= MOST_UNSEEN_UM {
        return (Says::Not, format!("{} is not weakened beside {}", soft.label(), hard.label()));
    }
    open(format!(
        "even a thick layer would hardly have been seen in {} beside {}",
        soft.label(),
        hard.label()
    ))
}

/// "0.31 (0.28 – 0.35) of what it had".
fn left_over(all: Bounded) -> String {
    let (low, high) = (all.interval.low.max(0.0), all.interval.high);
    format!(
        "{} ({} – {}) of what it has there",
        rounded(all.value.max(0.0), 2),
        rounded(low, 2),
        rounded(high, 2)
    )
}

fn verdict(pairs: &[Pair]) -> (&'static str, String) {
    let any = |says: Says| pairs.iter().any(|pair| pair.says == says);
    let cannot = |reason: String| (CANNOT, reason);
    if pairs.is_empty() {
        return cannot(
            "there are no two lines of one element among these maps; a soft and a hard one are needed, as Hg M and Hg L"
                .into(),
        );
    }
    match (any(Says::Weakened), any(Says::Stronger), any(Says::Not)) {
        (true, false, _) => (COVERED, String::new()),
        (true, true, _) => cannot("pairs of lines disagree: one is weakened, another stronger".into()),
        (false, true, _) => cannot(
            "the softer line is stronger there than in the region that is taken as bare: that one may be covered, or hold a thicker layer"
                .into(),
        ),
        (false, false, true) => {
            let doubts: Vec<&str> =
                pairs.iter().filter(|p| p.reason.contains("weaker beside") || p.reason.contains("seems weakened")).map(|p| p.reason.as_str()).collect();
            match doubts.first() {
                Some(doubt) => cannot((*doubt).to_owned()),
                None => (NO_WEAKENING, String::new()),
            }
        }
        (false, false, false) => {
            let reasons: Vec<&str> = pairs.iter().map(|pair| pair.reason.as_str()).collect();
            cannot(words::listed(&reasons[..reasons.len().min(2)]))
        }
    }
}

/// Elements of which only one map is there: what is left of it.
fn single(
    evidence: &Evidence,
    (here, bare): (&Mask, &Mask),
    pairs: &[Pair],
    rules: &Rules,
) -> Vec<(usize, Bounded)> {
    let in_pair = |place: usize| pairs.iter().any(|pair| pair.hard == place || pair.soft == place);
    let mut out = Vec::new();
    for (place, side) in evidence.sides.iter().enumerate().filter(|(place, _)| !in_pair(*place)) {
        let Ok(level) = &side.level else { continue };
        let mean = |mask: &Mask| net_mean((&side.signal, level), &side.signal, mask, rules);
        if let (Some((_, x)), Some((_, y))) = (mean(here), mean(bare))
            && y.interval.low > 0.0
            && let Some(interval) = ratio_interval(x, y)
        {
            out.push((place, Bounded { value: x.value / y.value, interval }));
        }
    }
    out
}
