//! Presence and ratios of counts against scipy and statsmodels (`parts/presence.py`), and against what is printed elsewhere.

use crate::support::{Section, list, number, text};
use limner::grid::{Grid, Mask};
use limner::kind::Kind;
use limner::measure::{self, Level, Rules, Signal};
use limner::numerics::counting::{
    critical_count, detection_limit, exact_ratio, garwood, lower_limit, poisson_tail, upper_limit,
};
use limner::numerics::discovery::{Dependence, adjusted, largest_discovered};
use limner::numerics::on_off::{as_sigmas, li_ma, on_off, two_counts};
use limner::numerics::ratios::{Gross, log_ratio, net_ratio};
use limner::numerics::{currie, empty};
use serde_json::Value;

const WIDTH: i64 = 64;
const HEIGHT: i64 = 48;

fn place(i: usize) -> (i64, i64) {
    let i = i64::from(i as u32);
    (i % WIDTH, i / WIDTH)
}

fn in_rectangle(i: usize) -> bool {
    let (x, y) = place(i);
    (8..30).contains(&x) && (24..44).contains(&y)
}

fn in_discs(i: usize) -> (bool, bool) {
    let (x, y) = place(i);
    ((x - 18).pow(2) + (y - 16).pow(2) <= 144, (x - 46).pow(2) + (y - 30).pow(2) <= 100)
}

fn is_empty(i: usize) -> bool {
    !in_rectangle(i) && in_discs(i) == (false, false)
}

/// The integer arrays of the reference by their formulas.
fn array(name: &str) -> Vec<f64> {
    let of = |i: usize| {
        let ((x, y), (one, two)) = (place(i), in_discs(i));
        let ripple = |a: i64, b: i64, c: i64, m: i64| (a * x + b * y + c * x * y) % m;
        let (one, two, inside) = (i64::from(one), i64::from(two), i64::from(in_rectangle(i)));
        let iron = 4 + ripple(37, 101, 7, 9) + one * (24 + 3 * (y - 4)) + two * (15 + 2 * (x - 36));
        match name {
            "iron" => iron,
            "manganese" => (15 * iron + ripple(53, 29, 3, 100)) / 100 + 12 * two * i64::from(x >= 46),
            "copper" => 2 + ripple(29, 61, 5, 7) + 25 * inside,
            "zinc" => 1 + ripple(31, 17, 11, 5) + 14 * inside,
            "lead" => 20 + ripple(41, 73, 13, 23) + x,
            "ground" => ripple(19, 47, 9, 4),
            other => panic!("no array {other}"),
        }
    };
    (0..(WIDTH * HEIGHT) as usize).map(|i| of(i) as f64).collect()
}

fn grid<T>(values: Vec<T>) -> Grid<T> {
    Grid::from_vec(WIDTH as u32, HEIGHT as u32, values).unwrap()
}

fn part(inside: impl Fn(usize) -> bool) -> Mask {
    grid((0..(WIDTH * HEIGHT) as usize).map(inside).collect())
}

fn rows(name: &str) -> (Section, Vec<Value>) {
    let (section, values) = Section::of_file("presence.json", name);
    (section, list(&values["rows"]).to_vec())
}

fn each(name: &str, mut compare: impl FnMut(&mut Section, &Value)) {
    let (mut section, rows) = rows(name);
    for row in &rows {
        section.row();
        compare(&mut section, row);
    }
    section.finish();
}

#[test]
fn currie_1968() {
    each("currie", |section, row| {
        let ratio = row["ratio"].as_f64().unwrap_or(f64::INFINITY);
        let background = number(&row["background"]);
        let found = currie::levels(background, ratio, number(&row["dispersion"]), 0.05);
        let what = format!("background {background}, ratio {ratio}");
        section.near(format!("{what}, critical"), found.critical, &row["critical"]);
        section.near(format!("{what}, detection"), found.detection_limit, &row["detection_limit"]);
        section.near(
            format!("{what}, quantification"),
            found.quantification_limit,
            &row["quantification_limit"],
        );
    });
}

#[test]
fn exact_levels() {
    each("exact", |section, row| {
        let (background, alpha) = (number(&row["background"]), number(&row["alpha"]));
        let critical = critical_count(background, 0.0, alpha);
        section.near(format!("{background}, critical"), critical as f64, &row["critical"]);
        section.near(
            format!("{background}, limit"),
            detection_limit(critical, background, 0.05),
            &row["detection_limit"],
        );
        section.near(format!("{background}, attained"), poisson_tail(critical, background), &row["attained"]);
    });
}

#[test]
fn on_against_off() {
    each("on_off", |section, row| {
        let (on, off, tau) = (number(&row["on"]), number(&row["off"]), number(&row["tau"]));
        let what = format!("{on} against {off}, {tau}");
        let p = on_off(on, off, tau);
        section.near(format!("{what}, p"), p, &row["p"]);
        section.near(format!("{what}, sigmas"), as_sigmas(p), &row["sigmas"]);
        section.near(format!("{what}, by likelihood"), li_ma(on, off, tau), &row["li_ma"]);
    });
}

#[test]
fn intervals_of_a_count() {
    each("garwood", |section, row| {
        let (count, level) = (number(&row["count"]), number(&row["level"]));
        let found = garwood(count, 1.0 - level);
        section.near(format!("{count}, low"), found.low, &row["low"]);
        section.near(format!("{count}, high"), found.high, &row["high"]);
    });
    each("one_sided", |section, row| {
        let (count, confidence) = (number(&row["count"]), number(&row["confidence"]));
        section.near(format!("{count}, lower"), lower_limit(count, confidence), &row["lower"]);
        section.near(format!("{count}, upper"), upper_limit(count, confidence), &row["upper"]);
    });
}

#[test]
fn the_empty_part_of_the_arrays() {
    let outside = part(is_empty);
    each("empty", |section, row| {
        let name = text(&row["array"]);
        let values = array(name);
        let inside: Vec<f64> = (0..values.len()).filter(|&i| is_empty(i)).map(|i| values[i]).collect();
        let found = empty::empty(&inside).unwrap();
        section.near(format!("{name}, pixels"), found.pixels as f64, &row["pixels"]);
        section.near(format!("{name}, sum"), found.sum, &row["sum"]);
        section.near(format!("{name}, mean"), found.mean, &row["mean"]);
        section.near(format!("{name}, low"), found.interval.low, &row["low"]);
        section.near(format!("{name}, high"), found.interval.high, &row["high"]);
        section.near(format!("{name}, chi squared"), found.chi_squared, &row["chi_squared"]);
        section.near(format!("{name}, dispersion"), found.dispersion, &row["dispersion"]);
        section.near(format!("{name}, more"), found.p_more, &row["p_more"]);
        section.near(format!("{name}, less"), found.p_less, &row["p_less"]);
        let by_neighbours = measure::neighbour_gain(&grid(values), &outside).unwrap();
        section.near(format!("{name}, variance"), by_neighbours.variance, &row["neighbour_variance"]);
        section.near(format!("{name}, pairs"), by_neighbours.pairs as f64, &row["pairs"]);
        section.near(format!("{name}, gain"), by_neighbours.gain, &row["gain"]);
        assert_eq!(empty::empty(&inside[..29]), None, "fewer than 30 pixels are refused");
    });
}

#[test]
fn discoveries_among_many() {
    each("discovery", |section, row| {
        let dependence = match text(&row["method"]) {
            "fdr_bh" => Dependence::Positive,
            _ => Dependence::Any,
        };
        let mut p: Vec<f64> = list(&row["p"]).iter().map(number).collect();
        let found = adjusted(&p, dependence);
        for (i, (got, want)) in found.iter().zip(list(&row["adjusted"])).enumerate() {
            section.near(format!("{dependence:?} {i}"), *got, want);
        }
        let discovered = found.iter().filter(|p| **p <= 0.05).count();
        section.near("discovered", discovered as f64, &row["discovered"]);
        let limit = largest_discovered(&mut p, 0.05, dependence);
        let by_limit = limit.map_or(0, |limit| p.iter().filter(|p| **p <= limit).count());
        section.near("discovered by the largest", by_limit as f64, &row["discovered"]);
    });
}

fn signal(values: Vec<f64>) -> Signal {
    let saturated = Mask::try_filled(WIDTH as u32, HEIGHT as u32, false).unwrap();
    Signal { values: grid(values), saturated, kind: Kind::Window, sigma: None, region: None, doubt: None }
}

#[test]
fn pixels_of_a_map() {
    each("pixels", |section, row| {
        let values = array(text(&row["array"]));
        let inside: Vec<f64> = (0..values.len()).filter(|&i| is_empty(i)).map(|i| values[i]).collect();
        let background = empty::empty(&inside).unwrap().mean;
        section.near("background", background, &row["background"]);
        let rules = Rules { floor: 0.0, ..Rules::default() };
        let level = Level::stated(background, Kind::Window, &rules).unwrap();
        section.near("critical", level.critical, &row["critical"]);
        let above = measure::shares(&signal(values.clone()), &level, &rules).unwrap()[0];
        section.near("above", above.above as f64, &row["above"]);
        for (q, name) in [(0.05, "discovered_05"), (0.01, "discovered_01")] {
            let found = measure::discoveries(&signal(values.clone()), &level, &rules, q).unwrap();
            section.near(name, found.pixels as f64, &row[name]);
        }
        let p: Vec<f64> = values.iter().map(|&v| poisson_tail(v as u64, background)).collect();
        let adjusted = adjusted(&p, Dependence::Positive);
        section.near("30, 50", adjusted[30 * 64 + 50], &row["adjusted_30_50"]);
        section.near("10, 20", adjusted[10 * 64 + 20], &row["adjusted_10_20"]);
    });
}

#[test]
fn ratios_of_two_counts() {
    each("net_ratio", |section, row| {
        let gross = |counts: &str, background: &str| Gross {
            counts: number(&row[counts]),
            background: number(&row[background]),
            exposure: number(&row["exposure"]),
        };
        let found = net_ratio(gross("a", "background_a"), gross("b", "background_b"));
        section.near("ratio", found.map(|f| f.0), &row["ratio"]);
        section.near("variance", found.map(|f| f.1), &row["variance"]);
    });
    each("pairs", |section, row| {
        let (a, b, exposure) = (number(&row["a"]), number(&row["b"]), number(&row["exposure"]));
        let what = format!("{a} to {b}");
        let found = exact_ratio(a, b, 0.05);
        section.near(format!("{what}, low"), found.low / exposure, &row["low"]);
        section.near(format!("{what}, high"), found.high / exposure, &row["high"]);
        section.near(format!("{what}, p"), two_counts(a, b, exposure, 1.0), &row["p"]);
        let (value, sd) = log_ratio(a, b);
        section.near(format!("{what}, logarithm"), value, &row["log_ratio"]);
        section.near(format!("{what}, its sd"), sd, &row["log_sd"]);
    });
}

#[test]
fn means_of_ratios_are_biased_and_ratios_of_sums_are_used() {
    each("bias", |section, row| {
        let mu = number(&row["mu"]);
        let chance = |k: u64| poisson_tail(k, mu) - poisson_tail(k + 1, mu);
        let mean = |of: &dyn Fn(f64) -> f64| (1..200).map(|k| chance(k) * of(k as f64)).sum::<f64>() * mu;
        section.near(
            format!("{mu}, above zero"),
            mean(&|k| 1.0 / k) / poisson_tail(1, mu),
            &row["above_zero"],
        );
        let none = chance(0) * mu;
        section.near(format!("{mu}, half"), mean(&|k| 1.0 / (k + 0.5)) + none / 0.5, &row["plus_half"]);
        section.near(format!("{mu}, one"), mean(&|k| 1.0 / (k + 1.0)) + none, &row["plus_one"]);
    });
    each("field", |section, row| {
        let (zinc, copper) = (array("zinc"), array("copper"));
        let inside = |values: &[f64]| {
            let kept = values.iter().enumerate().map(|(i, &v)| if in_rectangle(i) { v } else { f64::NAN });
            signal(kept.collect())
        };
        let rules = Rules { floor: 0.0, ..Rules::default() };
        let none = Level::stated(0.0, Kind::Window, &rules).unwrap();
        let found = measure::ratio(&inside(&zinc), &inside(&copper), (&none, &none), 0.0, 0.0).unwrap();
        section.near("pixels", found.pixels as f64, &row["pixels"]);
        section.near("ratio", found.of_sums, &row["ratio"]);
        section.near("low", found.counting.map(|i| i.low), &row["low"]);
        section.near("high", found.counting.map(|i| i.high), &row["high"]);
        let ratios: Vec<f64> = found.raster.data().iter().copied().filter(|v| !v.is_nan()).collect();
        section.near(
            "mean of ratios",
            ratios.iter().sum::<f64>() / ratios.len() as f64,
            &row["mean_of_ratios"],
        );

        let empty_copper: Vec<f64> = (0..copper.len()).filter(|&i| is_empty(i)).map(|i| copper[i]).collect();
        let background = empty::empty(&empty_copper).unwrap().mean;
        section.near("background", background, &row["background_copper"]);
        let level = Level::stated(background, Kind::Window, &rules).unwrap();
        let blocks = measure::shares(&signal(copper.clone()), &level, &rules).unwrap()[2];
        section.near("critical of a block", blocks.critical, &row["critical_of_block"]);
        section.near("blocks", blocks.above as f64, &row["blocks"]);
        let block = |values: &[f64]| -> f64 {
            (32..36).map(|y| (16..20).map(|x| values[y * 64 + x]).sum::<f64>()).sum()
        };
        section.near("a block", block(&zinc) / block(&copper), &row["ratio_of_block_8_4"]);
    });
}

/// What is printed elsewhere, by name.
#[test]
fn published() {
    let near = |what: &str, got: f64, want: f64, half_a_digit: f64| {
        assert!((got - want).abs() <= half_a_digit, "{what}: {got}, printed {want}");
    };
    // L. A. Currie, Anal. Chem. 40 (1968) 586, table II, in its factors.
    for (background, root) in [(1.0, 1.0), (100.0, 10.0), (400.0, 20.0)] {
        let (paired, known) = (
            currie::levels(background, 1.0, 1.0, 0.05),
            currie::levels(background, f64::INFINITY, 1.0, 0.05),
        );
        near("Currie 2.33", paired.critical / root, 2.33, 0.005);
        near("Currie 2.71 + 4.65", (paired.detection_limit - 2.71) / root, 4.65, 0.006);
        near("Currie 1.64", known.critical / root, 1.64, 0.005);
        near("Currie 2.71 + 3.29", (known.detection_limit - 2.71) / root, 3.29, 0.006);
        near(
            "Currie 50 (1 + ...)",
            paired.quantification_limit,
            50.0 * (1.0 + (1.0 + background / 12.5f64).sqrt()),
            1e-9,
        );
    }
    // The exact paired result: L. A. Currie, ACS Symp. Ser. 945 (2007), ch. 3: the first pair detected is 5 against 0.
    assert!(on_off(5.0, 0.0, 1.0) <= 0.05 && on_off(4.0, 0.0, 1.0) > 0.05);
    // F. Garwood's interval: 0 to 3.689 for no count (documentation of R's epitools); 25 counts (GraphPad's guide).
    near("Garwood 0", garwood(0.0, 0.05).high, 3.689, 5e-4);
    for (alpha, low, high) in [(0.05, 16.18, 36.90), (0.1, 17.38, 34.92), (0.01, 14.00, 41.00)] {
        near("Garwood 25, low", garwood(25.0, alpha).low, low, 5e-3);
        near("Garwood 25, high", garwood(25.0, alpha).high, high, 5e-3);
    }
    // Y. Benjamini and Y. Hochberg, J. Royal Stat. Soc. B 57 (1995) 289: four of fifteen, Bonferroni three.
    let fifteen = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
        0.6528, 0.7590, 1.0,
    ];
    let of = |dependence| adjusted(&fifteen, dependence).iter().filter(|p| **p <= 0.05).count();
    assert_eq!((of(Dependence::Positive), of(Dependence::Any)), (4, 3));
    assert_eq!(fifteen.iter().filter(|p| **p * 15.0 <= 0.05).count(), 3);
    // R: poisson.test(c(11, 6+8+7), c(800, 1083+1050+878)): ratio 1.971488, 0.8584264 to 4.2772659, p 0.07967.
    let exposure = 800.0 / 3011.0;
    let found = exact_ratio(11.0, 21.0, 0.05);
    near("R, ratio", 11.0 / 21.0 / exposure, 1.971_488, 5e-7);
    near("R, low", found.low / exposure, 0.858_426_4, 5e-8);
    near("R, high", found.high / exposure, 4.277_265_9, 5e-8);
    near("R, p", two_counts(11.0, 21.0, exposure, 1.0), 0.079_67, 5e-6);
}
