//! Two maps together against scipy, scikit-image and numpy (`tests/reference/parts/together.py`), on whole-number arrays.

use crate::support::{Section, congruential, list, number, text};
use limner::measure::together::{
    Blocks, Pairs, Sets, Spatial, holm, kendall_tau_b, moran, p_of_correlation, partial, parting, pearson,
    products, same_side, share_inside, shifted_round, shuffled, spearman,
};
use limner::numerics::fft::{Complex, Fft2, Way};
use serde_json::Value;

const FILE: &str = "together.json";
const WIDTH: usize = 64;

/// The arrays of `parts/arrays.py`, `counting_arrays`, made again from their formulas.
pub fn map(name: &str) -> Vec<f64> {
    let mut out = Vec::new();
    for y in 0..48_i64 {
        for x in 0..64_i64 {
            let ripple = |across: i64, down: i64, both: i64, modulus: i64| {
                (across * x + down * y + both * x * y) % modulus
            };
            let one = i64::from((x - 18).pow(2) + (y - 16).pow(2) <= 144);
            let two = i64::from((x - 46).pow(2) + (y - 30).pow(2) <= 100);
            let rectangle = i64::from((8..30).contains(&x) && (24..44).contains(&y));
            let iron = 4 + ripple(37, 101, 7, 9) + one * (24 + 3 * (y - 4)) + two * (15 + 2 * (x - 36));
            let value = match name {
                "iron" => iron,
                "manganese" => (15 * iron + ripple(53, 29, 3, 100)) / 100 + 12 * two * i64::from(x >= 46),
                "copper" => 2 + ripple(29, 61, 5, 7) + 25 * rectangle,
                "zinc" => 1 + ripple(31, 17, 11, 5) + 14 * rectangle,
                "lead" => 20 + ripple(41, 73, 13, 23) + x,
                "ground" => ripple(19, 47, 9, 4),
                other => panic!("there is no array {other}"),
            };
            out.push(value as f64);
        }
    }
    out
}

fn pair(a: &str, b: &str) -> Pairs {
    Pairs::of(WIDTH, &map(a), &map(b), |_| true).unwrap()
}

#[test]
fn coefficients() {
    let (mut section, want) = Section::of_file(FILE, "coefficients");
    let (iron, manganese, copper, zinc) = (map("iron"), map("manganese"), map("copper"), map("zinc"));
    section.row();
    let mut near = |name: &str, got: Option<f64>| section.near(name, got, &want[name]);
    near("pearson", pearson(&iron, &manganese));
    let middle = Pairs::of(WIDTH, &iron, &manganese, |i| (4..60).contains(&(i % WIDTH))).unwrap();
    let (a, b) = middle.lists().unwrap();
    near("pearson_masked", pearson(&a, &b));
    near("pearson_iron_copper", pearson(&iron, &copper));
    near("spearman", spearman(&iron, &manganese).unwrap());
    near("kendall_tau_b", kendall_tau_b(&iron, &manganese).unwrap());
    near("share_of_iron", share_inside(&iron, |i| manganese[i] >= 6.0));
    near("share_of_manganese", share_inside(&manganese, |i| iron[i] >= 20.0));
    let of = products(&iron, &manganese).unwrap();
    near("cosine", Some(of.cosine));
    near("b_for_a", Some(of.b_for_a));
    near("a_for_b", Some(of.a_for_b));
    near("same_side", same_side(&iron, &manganese));
    let sets = Sets::count(iron.iter().zip(&manganese).map(|(a, b)| (*a >= 20.0, *b >= 6.0)));
    near("iron_in_manganese", sets.of_a_in_b());
    near("manganese_in_iron", sets.of_b_in_a());
    near("jaccard", sets.jaccard());
    near("dice", sets.dice());
    let r = |one: &[f64], other: &[f64]| pearson(one, other).unwrap();
    near("partial_given_zinc", partial(r(&iron, &manganese), r(&iron, &zinc), r(&manganese, &zinc)));
    section.finish();
}

#[test]
fn threshold_of_no_correlation() {
    let (mut section, want) = Section::of_file(FILE, "parting");
    for (name, a, b) in [("copper_zinc", "copper", "zinc"), ("iron_manganese", "iron", "manganese")] {
        section.row();
        let found = parting(&map(a), &map(b)).unwrap().unwrap();
        let want = &want[name];
        section.near(format!("{name}, slope"), found.slope, &want["slope"]);
        section.near(format!("{name}, offset"), found.offset, &want["offset"]);
        section.near(format!("{name}, a"), found.found.map(|t| t.a), &want["a"]);
        section.near(format!("{name}, b"), found.found.map(|t| t.b), &want["b"]);
        section.near(format!("{name}, below"), found.found.map(|t| t.below), &want["below"]);
        section.near(format!("{name}, above"), found.found.map(|t| t.above as f64), &want["above"]);
    }
    section.finish();
}

#[test]
fn shuffled_blocks() {
    let (mut section, want) = Section::of_file(FILE, "shuffling");
    let iron_manganese = pair("iron", "manganese");
    let blocks = Blocks::of(&iron_manganese, 8).unwrap();
    section.row();
    section.same("blocks", blocks.count(), 48);
    let moved = |step: usize, start: usize| {
        let order: Vec<usize> = (0..48).map(|i| (step * i + start) % 48).collect();
        blocks.correlation(&order, |_| 0)
    };
    section.near("5 i + 7", moved(5, 7), &want["five_i_and_seven"]);
    section.near("11 i + 3", moved(11, 3), &want["eleven_i_and_three"]);
    let spread = |found: &[f64]| {
        let mean = found.iter().sum::<f64>() / found.len() as f64;
        (found.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (found.len() as f64 - 1.0)).sqrt()
    };
    let run = |blocks: &Blocks<'_>, seed: u64, times: usize| -> Vec<f64> {
        let mut chance = congruential(seed);
        (0..times)
            .map(|_| {
                let order = shuffled(blocks.count(), &mut chance).unwrap();
                blocks.correlation(&order, |_| 0).unwrap()
            })
            .collect()
    };
    let found = run(&blocks, 12345, 199);
    let observed = pearson(&map("iron"), &map("manganese")).unwrap();
    section.near("mean", found.iter().sum::<f64>() / 199.0, &want["mean"]);
    section.near("spread", spread(&found), &want["spread"]);
    section.near("most", found.iter().copied().fold(-1.0, f64::max), &want["most"]);
    let as_large = found.iter().filter(|r| **r >= observed).count();
    section.near("p", (1 + as_large) as f64 / 200.0, &want["p"]);
    let iron_copper = pair("iron", "copper");
    for row in list(&want["spreads"]) {
        section.row();
        let side = number(&row["side"]) as usize;
        let blocks = Blocks::of(&iron_copper, side).unwrap();
        section.near(format!("side {side}"), spread(&run(&blocks, 777, 99)), &row["spread"]);
    }
    section.finish();
}

#[test]
fn shifts_round_the_field() {
    let (mut section, want) = Section::of_file(FILE, "shifting");
    section.row();
    let found = shifted_round(&pair("iron", "manganese")).unwrap().unwrap();
    section.near("3 down, 5 right", found[3 * WIDTH + 5], &want["three_down_five_right"]);
    let share = |found: &[f64]| {
        let as_large = found.iter().filter(|r| **r >= found[0] - 1e-12).count();
        as_large as f64 / found.len() as f64
    };
    section.near("share, manganese", share(&found), &want["share_manganese"]);
    let copper = shifted_round(&pair("iron", "copper")).unwrap().unwrap();
    section.near("share, copper", share(&copper), &want["share_copper"]);
    section.finish();
}

fn effective_of(row: &Value) -> Pairs {
    let inside = |i: usize| {
        let (x, y) = ((i % WIDTH).abs_diff(30), (i / WIDTH).abs_diff(24));
        row["mask"].is_null() || x * x + y * y <= 400
    };
    let pairs = Pairs::of(WIDTH, &map(text(&row["a"])), &map(text(&row["b"])), inside).unwrap();
    // Means instead of the reference's sums: a factor changes no correlation.
    pairs.binned(number(&row["side"]) as usize).unwrap()
}

#[test]
fn effective_numbers() {
    let (mut section, want) = Section::of_file(FILE, "effective");
    for row in list(&want["rows"]) {
        section.row();
        let what = format!(
            "{} and {}, side {}, most {}, {}",
            row["a"], row["b"], row["side"], row["most"], row["mask"]
        );
        let pairs = effective_of(row);
        let (a, b) = pairs.lists().unwrap();
        let r = pearson(&a, &b).unwrap();
        section.near(format!("n, {what}"), pairs.count() as f64, &row["n"]);
        section.near(format!("r, {what}"), r, &row["r"]);
        let spatial = Spatial::of(&pairs).unwrap().unwrap();
        let most = row["most"].as_u64().map(|most| most as usize);
        let effective = spatial.effective_n(most).unwrap();
        section.near(what.clone(), effective, &row["effective"]);
        if !row["brute_force"].is_null() {
            section.near(format!("by brute force, {what}"), effective, &row["brute_force"]);
        }
        section.near(format!("p, {what}"), effective.and_then(|n| p_of_correlation(r, n)), &row["p"]);
        section.near(format!("short, {what}"), spatial.effective_n_short(None), &row["short_every_lag"]);
        if !row["short_16"].is_null() {
            section.near(
                format!("short, 16 rings, {what}"),
                spatial.effective_n_short(Some(16)),
                &row["short_16"],
            );
        }
    }
    section.row();
    let values = |name: &str| -> Vec<f64> { list(&want["corner"][name]).iter().map(number).collect() };
    let corner = Pairs::of(8, &values("a"), &values("b"), |_| true).unwrap();
    let spatial = Spatial::of(&corner).unwrap().unwrap();
    section.near("corner", spatial.effective_n_short(None), &want["corner"]["short_every_lag"]);
    // The same 6 x 8 pixels with known correlations; what values they hold is then of no account.
    let falling = |distance: f64| limner::numerics::math::exp(-distance / 2.0);
    let known = spatial.effective_n_known(falling, falling).unwrap();
    section.near("known correlations", known, &want["known"]["effective"]);
    section.finish();
}

#[test]
fn neighbours() {
    let (mut section, want) = Section::of_file(FILE, "neighbours");
    section.row();
    let spatial = Spatial::of(&pair("iron", "manganese")).unwrap().unwrap();
    for (name, got) in ["rings_iron", "rings_manganese"].iter().zip(spatial.autocorrelation()) {
        section.same(name, list(&want[name]).len(), 17);
        for (k, want) in list(&want[name]).iter().enumerate() {
            section.near(format!("{name} {k}"), got[k], want);
        }
    }
    let [iron, manganese] = spatial.lengths(0);
    section.near("length of iron", iron.map(|k| k as f64), &want["length_iron"]);
    section.near("length of manganese", manganese.map(|k| k as f64), &want["length_manganese"]);
    for (name, want) in want["moran"].as_object().unwrap() {
        section.near(format!("Moran's I of {name}"), moran(WIDTH, &map(name), |_| true), want);
    }
    section.finish();
}

#[test]
fn transform() {
    let (mut section, want) = Section::of_file(FILE, "transform");
    section.row();
    let fft = Fft2::holding(16, 8);
    let mut values: Vec<Complex> = (0..128)
        .map(|i| {
            let (x, y) = (i % 16, i / 16);
            Complex::new(f64::from((7 * x + 3 * y * y) % 11), f64::from((5 * x * y + 2 * x) % 13))
        })
        .collect();
    fft.run(&mut values, Way::Forward);
    section.same("numbers", list(&want["real"]).len(), values.len());
    for (i, value) in values.iter().enumerate() {
        section.near(format!("real {i}"), value.re, &want["real"][i]);
        section.near(format!("imaginary {i}"), value.im, &want["imaginary"][i]);
    }
    section.finish();
}

#[test]
fn tails_of_a_correlation() {
    let (mut section, want) = Section::of_file(FILE, "tails");
    for row in list(&want["rows"]) {
        section.row();
        section.near(row, p_of_correlation(number(&row["r"]), number(&row["n"])), &row["p"]);
    }
    section.finish();
}

#[test]
fn many_chances() {
    let (mut section, want) = Section::of_file(FILE, "many");
    for row in list(&want["rows"]) {
        section.row();
        let chances: Vec<f64> = list(&row["chances"]).iter().map(number).collect();
        let found = holm(&chances).unwrap();
        section.same("chances", found.len(), list(&row["adjusted"]).len());
        for (got, want) in found.iter().zip(list(&row["adjusted"])) {
            section.near(row, *got, want);
        }
    }
    section.finish();
}
