//! Every recipe by hand and at its edges.

use crate::chance::{Chance, Scene};
use limner::condition::{
    Direction, Divisor, Filter, Found, Input, Lines, Recipe, Replacement, Take, derive, hot_pixels, propose,
};
use limner::grid::Grid;
use limner::kind::Kind;
use serde_json::{Value, json};

const NAN: f64 = f64::NAN;

fn grid(width: u32, values: &[f64]) -> Grid<f64> {
    Grid::from_vec(width, u32::try_from(values.len()).unwrap() / width.max(1), values.to_vec()).unwrap()
}

fn of<'a>(values: &'a Grid<f64>, kind: Kind, label: &'a str) -> Input<'a> {
    Input { values, sigma: None, ceiling: None, kind, label }
}

fn recipe(value: Value) -> Recipe {
    serde_json::from_value(value).unwrap()
}

fn near(got: &[f64], want: &[f64]) {
    assert_eq!(got.len(), want.len());
    for (g, w) in got.iter().zip(want) {
        assert!((g.is_nan() && w.is_nan()) || (g - w).abs() <= 1e-12 * w.abs().max(1.0), "{got:?} {want:?}");
    }
}

#[test]
fn a_record_holds_every_default_and_makes_the_same_map_again() {
    let scene = Scene::new(2, 30.0, 60.0);
    let clean = scene.seen((90, 60), |y| if y % 2 == 1 { 0.6 } else { 0.0 });
    let mut scan = Chance::new(4).count(&clean);
    for row in scan.data_mut().chunks_exact_mut(90) {
        row[0] = (row[0] * 1.7).round();
    }
    scan.data_mut()[30 * 90..31 * 90].iter_mut().for_each(|v| *v = (*v * 1.4).round());
    let other = Chance::new(5).count(&clean);
    let inputs = [of(&scan, Kind::Window, "Fe K"), of(&other, Kind::Window, "Mn K")];
    let cases = [
        (json!({"how": "sum"}), json!({"how": "sum"}), 2),
        (json!({"how": "subtract", "k": 0.1}), json!({"how": "subtract", "k": 0.1}), 2),
        (json!({"how": "divide"}), json!({"how": "divide", "by": "map"}), 2),
        (json!({"how": "bin", "by": 2}), json!({"how": "bin", "by": 2, "take": "sum", "most_blank": 0.0}), 1),
        (json!({"how": "smooth"}), json!({"how": "smooth", "sigma_px": 1.0, "filter": "gaussian"}), 1),
        (json!({"how": "dwell", "seconds": 0.05}), json!({"how": "dwell", "seconds": 0.05}), 1),
        (
            json!({"how": "dead_time", "tau_us": 2.0, "dwell_s": 0.05}),
            json!({"how": "dead_time", "tau_us": 2.0, "dwell_s": 0.05}),
            1,
        ),
        (
            json!({"how": "hot_pixels", "pixels": [[3, 4]], "as": "median"}),
            json!({"how": "hot_pixels", "pixels": [[3, 4]], "as": "median"}),
            1,
        ),
        (
            json!({"how": "line_shift", "shift_px": -0.6, "lines": "odd"}),
            json!({"how": "line_shift", "shift_px": -0.6, "lines": "odd", "direction": "across"}),
            1,
        ),
        (
            json!({"how": "line_drift"}),
            json!({"how": "line_drift", "window": 9, "reference": null, "direction": "across", "beyond": 3.0}),
            1,
        ),
    ];
    for (short, full, n) in cases {
        let made = derive(&recipe(short.clone()), &inputs[..n]).unwrap();
        assert_eq!(serde_json::to_value(&made.recipe).unwrap(), full);
        let again = derive(&recipe(full), &inputs[..n]).unwrap();
        let bits = |d: &Grid<f64>| d.data().iter().map(|v| v.to_bits()).collect::<Vec<u64>>();
        assert_eq!(bits(&made.values), bits(&again.values), "{short}");
        assert!(
            !made.account.is_empty() && made.account.iter().all(|s| s.ends_with('.')),
            "{:?}",
            made.account
        );
        assert!(made.findings.iter().all(|s| s.ends_with('.')), "{:?}", made.findings);
    }
    // Found settings stand in the record, too, and give the same map.
    for (short, key) in [(json!({"how": "line_shift"}), "shift_px"), (json!({"how": "turn_round"}), "start")]
    {
        let made = derive(&recipe(short), &inputs[..1]).unwrap();
        let full = serde_json::to_value(&made.recipe).unwrap();
        assert!(!full[key].is_null(), "{full}");
        let again = derive(&recipe(full), &inputs[..1]).unwrap();
        assert_eq!(format!("{:?}", made.values), format!("{:?}", again.values));
    }
    assert!(serde_json::from_value::<Recipe>(json!({"how": "bin", "by": 2, "bye": 1})).is_err());
    assert!(serde_json::from_value::<Recipe>(json!({"how": "guess"})).is_err());
}

#[test]
fn sums_differences_and_quotients_carry_their_errors_and_blanks() {
    let (a, b) = (grid(2, &[9.0, 4.0, NAN, 0.0]), grid(2, &[16.0, NAN, 1.0, 4.0]));
    let inputs = [of(&a, Kind::Window, "Fe Kα"), of(&b, Kind::Window, "Fe Kβ")];
    let made = derive(&Recipe::Sum, &inputs).unwrap();
    near(made.values.data(), &[25.0, NAN, NAN, 4.0]);
    near(made.sigma.as_ref().unwrap().data(), &[5.0, NAN, NAN, 2.0]);
    assert_eq!((made.kind, made.label.as_str()), (Kind::Window, "Fe Kα + Fe Kβ"));
    let made = derive(&Recipe::Subtract { k: 0.5 }, &inputs).unwrap();
    near(made.values.data(), &[1.0, NAN, NAN, -2.0]);
    near(made.sigma.as_ref().unwrap().data(), &[13.0f64.sqrt(), NAN, NAN, 1.0]);
    assert_eq!((made.kind, made.label.as_str()), (Kind::Net, "Fe Kα − 0.5·Fe Kβ"));
    let made = derive(&Recipe::Divide { by: Divisor::Map }, &inputs).unwrap();
    // Var = 9/16² + 9²·16/16⁴; 0/4 has 0.
    near(made.values.data(), &[9.0 / 16.0, NAN, NAN, 0.0]);
    near(made.sigma.as_ref().unwrap().data(), &[(9.0f64 / 256.0 + 1296.0 / 65536.0).sqrt(), NAN, NAN, 0.0]);
    assert_eq!(made.kind, Kind::Normalised);
    // Live time is exact; 0 seconds are blank.
    let live = grid(2, &[0.5, 2.0, 1.0, 0.0]);
    let by = Recipe::Divide { by: Divisor::LiveTime };
    let made = derive(&by, &[inputs[0], of(&live, Kind::Auxiliary, "live time")]).unwrap();
    near(made.values.data(), &[18.0, 2.0, NAN, NAN]);
    near(made.sigma.as_ref().unwrap().data(), &[6.0, 1.0, NAN, NAN]);
    assert_eq!(made.kind, Kind::Rate);
    // A fitted map without error map: the error is not known, and that is said.
    let fitted = derive(&Recipe::Sum, &[of(&a, Kind::Fitted, "Zn K"), inputs[1]]).unwrap();
    assert!(
        fitted.sigma.is_none() && fitted.findings.iter().any(|s| s.contains("Zn K")),
        "{:?}",
        fitted.findings
    );
    assert_eq!(fitted.kind, Kind::Fitted);
    // With one it is.
    let sigma = grid(2, &[3.0; 4]);
    let with = Input { sigma: Some(&sigma), ..of(&a, Kind::Fitted, "Zn K") };
    near(
        derive(&Recipe::Sum, &[with, inputs[1]]).unwrap().sigma.unwrap().data(),
        &[5.0, NAN, NAN, 13.0f64.sqrt()],
    );
    // A saturated pixel holds at least what it says: in a sum it is blank, and that is said.
    let full = Input { ceiling: Some(9.0), ..inputs[0] };
    let made = derive(&Recipe::Sum, &[full, inputs[1]]).unwrap();
    near(made.values.data(), &[NAN, NAN, NAN, 4.0]);
    assert!(made.findings.iter().any(|s| s.contains("saturated in 1 pixel;")), "{:?}", made.findings);
    // Rates and counts are no summands of one sum; a picture makes a picture.
    let fault = derive(&Recipe::Sum, &[of(&a, Kind::Rate, "Fe K"), inputs[1]]).unwrap_err();
    assert_eq!(fault.code, "different_kinds");
    assert_eq!(
        derive(&Recipe::Sum, &[of(&a, Kind::DisplayCopy, "x"), inputs[1]]).unwrap().kind,
        Kind::DisplayCopy
    );
}

#[test]
fn bins_sum_and_blank_or_are_scaled_where_that_was_stated() {
    #[rustfmt::skip]
    let scan = grid(5, &[
        1.0, 2.0, 3.0, NAN, 9.0,
        4.0, 5.0, 6.0, 3.0, 9.0,
        9.0, 9.0, 9.0, 9.0, 9.0,
    ]);
    let input = of(&scan, Kind::Window, "Ca K");
    let strict = derive(&recipe(json!({"how": "bin", "by": 2})), &[input]).unwrap();
    near(strict.values.data(), &[12.0, NAN]);
    near(strict.sigma.as_ref().unwrap().data(), &[12.0f64.sqrt(), NAN]);
    assert_eq!((strict.cell, strict.kind, strict.values.width()), ((2, 2), Kind::Window, 2));
    assert!(strict.account.iter().any(|s| s.contains("last 1 of the columns")), "{:?}", strict.account);
    let scaled = derive(&recipe(json!({"how": "bin", "by": 2, "most_blank": 0.25})), &[input]).unwrap();
    near(scaled.values.data(), &[12.0, 16.0]);
    near(scaled.sigma.as_ref().unwrap().data(), &[12.0f64.sqrt(), 12.0f64.sqrt() * 4.0 / 3.0]);
    assert_eq!(scaled.kind, Kind::Net);
    let mean = derive(&Recipe::Bin { by: 2, take: None, most_blank: 0.0 }, &[of(&scan, Kind::Rate, "Ca K")])
        .unwrap();
    near(mean.values.data(), &[3.0, NAN]);
    assert_eq!(mean.recipe, Recipe::Bin { by: 2, take: Some(Take::Mean), most_blank: 0.0 });
    assert_eq!(derive(&recipe(json!({"how": "bin", "by": 4})), &[input]).unwrap_err().code, "bad_setting");
}

#[test]
fn dead_time_of_all_counts_corrects_each_map() {
    let (own, all) = (grid(3, &[1000.0, 1000.0, 1000.0]), grid(3, &[5e4, 2e5, 6e5]));
    let made = derive(
        &Recipe::DeadTime { tau_us: 2.0, dwell_s: 1.0 },
        &[of(&own, Kind::Window, "Fe K"), of(&all, Kind::Auxiliary, "sum")],
    )
    .unwrap();
    near(made.values.data(), &[1000.0 / 0.9, 1000.0 / 0.6, NAN]);
    assert!(made.findings.iter().any(|s| s.contains("cannot count that fast")), "{:?}", made.findings);
    let sigma = (1000.0f64 / 0.81 + (1000.0 * 2e-6 / 0.81f64).powi(2) * 5e4).sqrt();
    near(&made.sigma.unwrap().data()[..1], &[sigma]);
    let alone =
        derive(&Recipe::DeadTime { tau_us: 2.0, dwell_s: 1.0 }, &[of(&own, Kind::Window, "Fe K")]).unwrap();
    assert!(alone.findings.iter().any(|s| s.contains("the least there can be")));
    let rate = derive(&Recipe::Dwell { seconds: 2.0 }, &[of(&own, Kind::Rate, "Fe K")]).unwrap_err();
    assert_eq!(rate.code, "different_kinds");
}

#[test]
fn hot_pixels_are_listed_and_only_named_ones_replaced() {
    let (mut false_alarms, mut found) = (0, 0);
    for seed in 0..20 {
        let flat = Grid::try_filled(60, 50, 3.0 + f64::from(seed)).unwrap();
        let mut scan = Chance::new(u64::try_from(seed).unwrap()).count(&flat);
        let mut other = Chance::new(99 + u64::try_from(seed).unwrap()).count(&flat);
        let at = 20 * 60 + 31;
        scan.data_mut()[at] += 90.0;
        if seed % 2 == 0 {
            other.data_mut()[at] += 60.0;
        }
        let inputs = [of(&scan, Kind::Window, "Fe K"), of(&other, Kind::Window, "Pb L")];
        let hot = hot_pixels(&inputs).unwrap().unwrap();
        for pixel in &hot.listed {
            if (pixel.x, pixel.y) == (31, 20) {
                found += 1;
                let want: &[&str] = if seed % 2 == 0 { &["Pb L"] } else { &[] };
                assert_eq!(pixel.also_in, want);
            } else {
                false_alarms += 1;
            }
        }
        assert_eq!(hot.total, hot.listed.len() as u64);
    }
    println!("hot pixels: {found} of 20 planted found, {false_alarms} others in 60 000 pixels of noise");
    assert!(found >= 18 && false_alarms <= 1, "{found} {false_alarms}");
    let scan = grid(3, &[1.0, 2.0, 3.0, 4.0, 99.0, 6.0, 7.0, 8.0, 9.0]);
    let blank =
        derive(&recipe(json!({"how": "hot_pixels", "pixels": [[1, 1]]})), &[of(&scan, Kind::Window, "Fe K")]);
    let blank = blank.unwrap();
    assert!(blank.values.data()[4].is_nan() && blank.kind == Kind::Window);
    assert_eq!(blank.values.data().iter().filter(|v| v.is_nan()).count(), 1);
    let median = Recipe::HotPixels { pixels: vec![[1, 1]], r#as: Replacement::Median };
    let median = derive(&median, &[of(&scan, Kind::Window, "Fe K")]).unwrap();
    assert_eq!((median.values.data()[4], median.kind), (6.0, Kind::Net));
    let Found::HotPixels(listed) = &median.found else { panic!("{:?}", median.found) };
    assert_eq!((listed[0].value, listed[0].replacement), (99.0, 6.0));
    let outside = Recipe::HotPixels { pixels: vec![[3, 0]], r#as: Replacement::Blank };
    assert_eq!(derive(&outside, &[of(&scan, Kind::Window, "Fe K")]).unwrap_err().code, "bad_setting");
    assert_eq!(hot_pixels(&[of(&scan, Kind::Fitted, "Fe K")]).unwrap(), None);
}

#[test]
fn lines_that_run_down_are_repaired_like_those_that_run_across() {
    let scan = Chance::new(8)
        .count(&Scene::new(3, 5.0, 60.0).seen((80, 60), |y| if y % 2 == 1 { 0.7 } else { 0.0 }));
    let mut turned = Grid::try_filled(60, 80, 0.0).unwrap();
    for y in 0..60 {
        for x in 0..80 {
            turned.data_mut()[x * 60 + y] = scan.data()[y * 80 + x];
        }
    }
    let across = derive(&recipe(json!({"how": "line_shift"})), &[of(&scan, Kind::Window, "Fe K")]).unwrap();
    let down = recipe(json!({"how": "line_shift", "direction": "down"}));
    let down = derive(&down, &[of(&turned, Kind::Window, "Fe K")]).unwrap();
    for y in 0..60 {
        for x in 0..80 {
            let (a, b) = (across.values.data()[y * 80 + x], down.values.data()[x * 60 + y]);
            assert!(a.to_bits() == b.to_bits() || (a.is_nan() && b.is_nan()));
        }
    }
    assert!(down.label.contains("upward"), "{}", down.label);
    // The even lines can move instead, the other way.
    let even = Recipe::LineShift { shift_px: None, lines: Lines::Even, direction: Direction::Across };
    let even = derive(&even, &[of(&scan, Kind::Window, "Fe K")]).unwrap();
    let (Recipe::LineShift { shift_px: Some(a), .. }, Recipe::LineShift { shift_px: Some(b), .. }) =
        (&across.recipe, &even.recipe)
    else {
        panic!()
    };
    assert_eq!(*a, -b);
    assert_eq!(&scan.data()[80..160], &even.values.data()[80..160]);
}

#[test]
fn nothing_is_repaired_where_nothing_is_told() {
    let flat = Grid::try_filled(100, 80, 20.0).unwrap();
    let noise = Chance::new(1).count(&flat);
    for scan in [&flat, &noise] {
        for how in ["line_shift", "turn_round", "line_drift"] {
            let fault = derive(&recipe(json!({"how": how})), &[of(scan, Kind::Window, "Fe K")]).unwrap_err();
            assert_eq!(fault.code, "nothing_to_repair", "{how}: {}", fault.message);
            assert!(fault.message.contains("left as it is"), "{}", fault.message);
        }
    }
    let faint = Chance::new(1).count(&Grid::try_filled(100, 80, 2.0).unwrap());
    let fault =
        derive(&recipe(json!({"how": "line_drift"})), &[of(&faint, Kind::Window, "Fe K")]).unwrap_err();
    assert_eq!(fault.code, "cannot_be_judged");
    assert!(fault.message.contains("10 counts"), "{}", fault.message);
    let seen = propose(&[of(&noise, Kind::Window, "Fe K")], Direction::Across).unwrap();
    assert_eq!(seen.offers, Vec::new());
}

#[test]
fn what_is_wrong_with_a_scan_is_offered_in_words() {
    let scene = Scene::new(6, 40.0, 60.0);
    let scans: Vec<Grid<f64>> = (0..3)
        .map(|m| {
            let mut clean = scene.seen((120, 96), |y| if y % 2 == 1 { -0.43 } else { 0.0 });
            clean.data_mut().chunks_exact_mut(120).for_each(|row| row[0] *= 1.8);
            clean.data_mut()[40 * 120..41 * 120].iter_mut().for_each(|v| *v *= 0.6);
            Chance::new(m).count(&clean)
        })
        .collect();
    let names = ["Fe K", "Mn K", "Co K"];
    let inputs: Vec<Input<'_>> = scans.iter().zip(names).map(|(s, n)| of(s, Kind::Window, n)).collect();
    let seen = propose(&inputs, Direction::Across).unwrap();
    let offers: Vec<&str> = seen.offers.iter().map(|(_, text)| text.as_str()).collect();
    println!("{offers:#?}\n{:#?}", seen.text);
    assert_eq!(offers.len(), 3);
    assert!(
        offers[0].starts_with("Fe K, every second line moved by 0.4")
            && offers[0].ends_with("px to the right")
    );
    assert_eq!(offers[1], "Fe K, longer dwell divided out at one end of the lines");
    assert_eq!(offers[2], "Fe K, lines brought to the level of their neighbours");
    for (recipe, text) in &seen.offers {
        let made = derive(recipe, &inputs[..1]).unwrap();
        assert_eq!(&made.label, text);
        assert_eq!(made.kind, Kind::Net);
    }
}

#[test]
fn every_recipe_is_total() {
    let shapes: Vec<Grid<f64>> = vec![
        grid(1, &[]),
        Grid::from_vec(0, 0, Vec::new()).unwrap(),
        Grid::from_vec(7, 0, Vec::new()).unwrap(),
        Grid::from_vec(0, 9, Vec::new()).unwrap(),
        grid(1, &[4.0]),
        grid(1, &[4.0; 200]),
        grid(200, &[4.0; 200]),
        grid(2, &[4.0; 200]),
        grid(40, &[NAN; 1600]),
        grid(40, &[0.0; 1600]),
        grid(40, &[-3.0; 1600]),
        grid(40, &[1e300; 1600]),
        Chance::new(3).count(&Grid::try_filled(33, 47, 25.0).unwrap()),
        {
            let mut holes = Chance::new(3).count(&Grid::try_filled(60, 60, 25.0).unwrap());
            holes.data_mut().iter_mut().step_by(3).for_each(|v| *v = NAN);
            holes
        },
    ];
    let recipes = [
        Recipe::Sum,
        Recipe::Subtract { k: 2.0 },
        Recipe::Divide { by: Divisor::Scatter },
        Recipe::Dwell { seconds: 0.1 },
        Recipe::DeadTime { tau_us: 5.0, dwell_s: 0.01 },
        Recipe::Bin { by: 3, take: None, most_blank: 0.5 },
        Recipe::Smooth { sigma_px: 3.0, filter: Filter::Gaussian },
        Recipe::Smooth { sigma_px: 1.0, filter: Filter::Median },
        recipe(json!({"how": "line_shift"})),
        recipe(json!({"how": "line_shift", "shift_px": 77.7, "direction": "down"})),
        recipe(json!({"how": "line_drift"})),
        recipe(json!({"how": "line_drift", "reference": [0, 2], "direction": "down", "beyond": 0.0})),
        recipe(json!({"how": "turn_round"})),
        recipe(json!({"how": "turn_round", "start": [1.5], "end": []})),
        recipe(json!({"how": "hot_pixels", "pixels": [[0, 0]], "as": "median"})),
    ];
    let (mut made, mut refused) = (0, 0);
    for shape in &shapes {
        for kind in Kind::ALL {
            let inputs = [of(shape, kind, "A"), of(shape, kind, "B")];
            for recipe in &recipes {
                let n = if matches!(recipe, Recipe::Sum | Recipe::Subtract { .. } | Recipe::Divide { .. }) {
                    2
                } else {
                    1
                };
                match derive(recipe, &inputs[..n]) {
                    Ok(derived) => {
                        made += 1;
                        if let Some(sigma) = &derived.sigma {
                            assert_eq!(sigma.len(), derived.values.len());
                        }
                    }
                    Err(fault) => {
                        refused += 1;
                        assert!(fault.message.ends_with('.'), "{}", fault.message);
                    }
                }
            }
            let _ = propose(&inputs, Direction::Across).unwrap();
            let _ = propose(&inputs, Direction::Down).unwrap();
        }
    }
    println!("{made} maps made, {refused} refused with a sentence");
    assert!(made > 500 && refused > 200);
    assert_eq!(derive(&Recipe::Sum, &[]).unwrap_err().code, "no_map");
    let small = grid(1, &[1.0]);
    let pair = [of(&shapes[12], Kind::Window, "A"), of(&small, Kind::Window, "B")];
    assert_eq!(derive(&Recipe::Sum, &pair).unwrap_err().code, "different_sizes");
    let with = Input { sigma: Some(&small), ..pair[0] };
    assert_eq!(
        derive(&recipe(json!({"how": "dwell", "seconds": 1.0})), &[with]).unwrap_err().code,
        "different_sizes"
    );
    for bad in [
        json!({"how": "subtract", "k": -1.0}),
        json!({"how": "bin", "by": 1}),
        json!({"how": "bin", "by": 2, "most_blank": 1.0}),
        json!({"how": "smooth", "sigma_px": 1000.0}),
        json!({"how": "line_shift", "shift_px": 1e9}),
        json!({"how": "line_drift", "window": 4}),
        json!({"how": "line_drift", "reference": [5, 2]}),
        json!({"how": "turn_round", "start": [0.0]}),
        json!({"how": "turn_round", "start": []}),
        json!({"how": "hot_pixels", "pixels": []}),
        json!({"how": "dwell", "seconds": 0.0}),
        json!({"how": "dead_time", "tau_us": 0.0, "dwell_s": 1.0}),
    ] {
        assert_eq!(derive(&recipe(bad.clone()), &pair[..1]).unwrap_err().code, "bad_setting", "{bad}");
    }
}
