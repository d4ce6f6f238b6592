//! The question on regions by the public calls: verdicts, three states, odd maps, the profile, and both CSV files.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test writes files

use limner::ask::{Answer, Plot, Raster, Rasters, Subject, ask};
use limner::export::csv;
use limner::grid::{Grid, Mask, Samples};
use limner::kind::Kind;
use limner::numerics::chance::Chance;
use limner::region::{Region, RegionRole};
use limner::stack::{Map, MapId, Source, Stack};
use serde_json::{Value, json};

const WIDTH: u32 = 60;
const HEIGHT: u32 = 40;

fn map(number: u32, name: &str, kind: Kind, samples: Samples) -> Map {
    let source = Source { file: format!("{name}.tif"), page: 0, sha256: format!("hash of {name}") };
    let mut map = Map::new(MapId::new(number), source, name.into(), None, samples).unwrap();
    map.kind = kind;
    map
}

fn drawn(value: impl FnMut(u32, u32) -> f64) -> Samples {
    let mut value = value;
    let values = (0..WIDTH * HEIGHT).map(|i| value(i % WIDTH, i / WIDTH)).collect();
    Samples::F64(Grid::from_vec(WIDTH, HEIGHT, values).unwrap())
}

fn rectangle(id: &str, name: &str, (x, y, width, height): (u32, u32, u32, u32)) -> Region {
    let inside = |i: u32| (x..x + width).contains(&(i % WIDTH)) && (y..y + height).contains(&(i / WIDTH));
    let mask = Mask::from_vec(WIDTH, HEIGHT, (0..WIDTH * HEIGHT).map(inside).collect()).unwrap();
    Region {
        id: id.into(),
        name: name.into(),
        role: RegionRole::Passage,
        makers: Vec::new(),
        pure: None,
        caution: String::new(),
        mask,
    }
}

fn two() -> Vec<Region> {
    vec![rectangle("r1", "left", (2, 4, 20, 30)), rectangle("r2", "right", (34, 4, 22, 30))]
}

fn asked(maps: Vec<Map>, regions: &[Region], settings: Value) -> (Answer, Rasters) {
    let mut stack = Stack::default();
    maps.into_iter().for_each(|map| stack.push(map));
    let (answer, rasters) =
        ask("regions", settings, &Subject::new(&stack, regions, None), &mut |_, _| {}).unwrap();
    // To be read with --nocapture.
    println!("{}: {}\n  {:?}", answer.verdict, answer.sentence, answer.stability.as_ref().map(|s| &s.text));
    for row in &answer.table.rows {
        let cells: Vec<&str> = row.cells.iter().map(|cell| cell.text.as_str()).collect();
        println!("  {}: {}", row.label, cells.join(" | "));
    }
    (answer, rasters)
}

/// Counts with mean `left` left of the middle and `right` right of it.
fn counts(left: f64, right: f64, seed: u64) -> Samples {
    let mut chance = Chance::new(seed);
    drawn(|x, _| chance.poisson(if x < WIDTH / 2 { left } else { right }) as f64)
}

fn column(answer: &Answer, name: &str) -> usize {
    answer
        .table
        .columns
        .iter()
        .position(|c| c.starts_with(name))
        .unwrap_or_else(|| panic!("no column {name}"))
}

fn state(answer: &Answer, row: usize) -> &str {
    &answer.table.rows[row].cells.last().unwrap().text
}

#[test]
fn a_difference_is_seen_and_said_with_both_intervals() {
    let (answer, _) = asked(vec![map(1, "Cu K", Kind::Window, counts(30.0, 40.0, 1))], &two(), json!({}));
    assert_eq!(answer.verdict, "differ", "{}", answer.sentence);
    assert!(answer.sentence.contains("“left” and “right” differ in Cu K: "), "{}", answer.sentence);
    let difference = &answer.numbers["difference"];
    assert!((difference.value.unwrap() + 10.0).abs() < 1.5, "{difference:?}");
    let ends = [difference.low_all, difference.low, difference.value, difference.high, difference.high_all];
    let ends: Vec<f64> = ends.into_iter().map(Option::unwrap).collect();
    assert!(ends.windows(2).all(|pair| pair[0] < pair[1]), "{ends:?}");
    assert!(answer.numbers["cliffs_delta"].value.unwrap() < -0.5);
    let stability = answer.stability.unwrap();
    assert!(stability.holds, "{}", stability.text);
    assert_eq!(stability.trials.len(), 6);
    assert_eq!(answer.settings.regions.as_deref(), Some(&["r1".to_owned(), "r2".into()][..]));
    assert_eq!((answer.pixels, answer.judged_pixels), (600 + 660, 600 + 660));
}

#[test]
fn no_difference_says_what_would_have_been_seen() {
    let (answer, _) = asked(vec![map(1, "Cu K", Kind::Window, counts(30.0, 30.0, 3))], &two(), json!({}));
    assert_eq!(answer.verdict, "no difference seen", "{}", answer.sentence);
    assert!(answer.sentence.contains("where one of more than"), "{}", answer.sentence);
    let seen = answer.numbers["difference_that_would_be_seen"].value.unwrap();
    let width =
        answer.numbers["difference"].high_all.unwrap() - answer.numbers["difference"].low_all.unwrap();
    assert!(seen > 0.5 * width && seen < width, "{seen} {width}");
}

#[test]
fn several_maps_and_regions_share_the_five_percent() {
    let maps = vec![
        map(1, "Cu K", Kind::Window, counts(30.0, 45.0, 4)),
        map(2, "Fe K", Kind::Window, counts(12.0, 12.0, 5)),
        map(3, "Pb L", Kind::DisplayCopy, counts(90.0, 10.0, 6)),
    ];
    let mut regions = two();
    regions.push(rectangle("r3", "middle", (23, 4, 6, 30)));
    let (answer, _) = asked(maps, &regions, json!({}));
    assert_eq!(answer.verdict, "differ");
    // Three pairs in two maps; the display copy is not tested.
    assert_eq!(answer.numbers["comparisons"].value, Some(6.0));
    assert_eq!(answer.table.rows.len(), 9 + 9);
    assert!(answer.sentence.contains("Pb L cannot be judged"), "{}", answer.sentence);
    assert!(answer.table.rows.iter().any(|row| row.label.starts_with("Pb L")
        && row.cells.last().unwrap().text.contains("is a picture of a map")));
    assert!(
        answer.sentence.contains("No difference is seen between any two of them in Fe K"),
        "{}",
        answer.sentence
    );
    assert!(!answer.numbers.contains_key("difference"));
    let Some(Plot::Dots { rows, .. }) = answer.plots.first() else { panic!("no dots") };
    assert_eq!(rows.len(), 9);
}

#[test]
fn a_region_is_described_and_not_tested_on_the_map_that_made_it() {
    let mut regions = two();
    regions[0].makers = vec![MapId::new(1)];
    let maps = || {
        vec![
            map(1, "Cu K", Kind::Window, counts(30.0, 60.0, 7)),
            map(2, "Fe K", Kind::Window, counts(30.0, 60.0, 8)),
        ]
    };
    let (answer, _) = asked(maps(), &regions, json!({}));
    assert_eq!(answer.verdict, "differ");
    assert!(
        answer.sentence.contains("differ in Fe K") && !answer.sentence.contains("differ in Cu K"),
        "{}",
        answer.sentence
    );
    assert!(
        answer.sentence.contains("Cu K cannot be judged")
            && state(&answer, 4).contains("the region was made from this map"),
        "{}",
        answer.sentence
    );
    let (answer, _) = asked(maps(), &regions, json!({"maps": ["Cu K"]}));
    assert_eq!(answer.verdict, "cannot be judged", "{}", answer.sentence);
    assert_eq!(answer.numbers["p_difference"].value, None);
    // Its mean is told all the same.
    assert!(answer.table.rows[0].cells[column(&answer, "mean or difference")].value.is_some());
    assert!(answer.cautions[0].contains("described and not tested"), "{:?}", answer.cautions);
}

#[test]
fn odd_maps_get_an_answer_or_a_reason() {
    let mut chance = Chance::new(9);
    let mut noise = || chance.normal();
    let slope = |x: u32, y: u32| 3.0 * f64::from(x) + 2.0 * f64::from(y);
    let cases: Vec<(&str, Kind, Samples, &str, &str)> = vec![
        (
            "constant",
            Kind::Window,
            drawn(|_, _| 7.0),
            "cannot be judged",
            "all its pixels have the same value",
        ),
        (
            "blank",
            Kind::Window,
            drawn(|_, _| f64::NAN),
            "cannot be judged",
            "only 0 of its 600 pixels can be used",
        ),
        (
            "few",
            Kind::Window,
            drawn(|x, y| if y == 5 { f64::from(x % 3) } else { f64::NAN }),
            "cannot be judged",
            "only 20 of its 600 pixels",
        ),
        (
            "saturated",
            Kind::Window,
            Samples::U8(
                Grid::from_vec(
                    WIDTH,
                    HEIGHT,
                    (0..WIDTH * HEIGHT).map(|i| if i % 3 == 0 { 255 } else { (i * 7 % 90) as u8 }).collect(),
                )
                .unwrap(),
            ),
            "cannot be judged",
            "are saturated",
        ),
        ("slope", Kind::Window, drawn(slope), "cannot be judged", "its pattern is so coarse"),
        (
            "stretched",
            Kind::DisplayCopy,
            drawn(|x, y| f64::from((x * 31 + y * 17) % 256)),
            "cannot be judged",
            "only its shape can be used",
        ),
        (
            "negative",
            Kind::Net,
            drawn(|x, _| noise() - 4.0 + if x < 30 { 3.0 } else { 0.0 }),
            "differ",
            "negative: ",
        ),
        ("fitted", Kind::Fitted, counts(3.2, 3.2, 10), "no difference seen", "No difference"),
    ];
    for (name, kind, samples, verdict, words) in cases {
        let (answer, _) = asked(vec![map(1, name, kind, samples)], &two(), json!({}));
        assert_eq!(answer.verdict, verdict, "{name}: {}", answer.sentence);
        assert!(answer.sentence.contains(words), "{name}: {}", answer.sentence);
        let text = serde_json::to_string(&answer).unwrap();
        assert!(!text.contains("NaN") && !text.contains("inf"), "{name}: {text}");
    }
    // One pixel.
    let one = map(1, "one", Kind::Window, Samples::F64(Grid::from_vec(1, 1, vec![5.0]).unwrap()));
    let dot = |id: &str| Region {
        mask: Mask::from_vec(1, 1, vec![true]).unwrap(),
        ..rectangle(id, id, (0, 0, 1, 1))
    };
    let (answer, _) =
        asked(vec![one], &[dot("a"), dot("b")], json!({"line": {"from": [0, 0.5], "to": [1, 0.5]}}));
    assert_eq!(answer.verdict, "cannot be judged", "{}", answer.sentence);
    assert!(answer.sentence.contains("share 1 pixel"), "{}", answer.sentence);
}

#[test]
fn three_states_are_told_for_each_region() {
    let background = rectangle("r3", "ground", (0, 36, 60, 4));
    let background = Region { role: RegionRole::Ground, ..background };
    let mut regions = two();
    regions.push(background);
    let mut chance = Chance::new(21);
    let samples = drawn(|x, y| chance.poisson(if x < 30 && y < 36 { 14.0 } else { 2.0 }) as f64);
    let (answer, _) =
        asked(vec![map(1, "Ti K", Kind::Window, samples)], &regions, json!({"regions": ["left", "right"]}));
    assert_eq!(state(&answer, 0), "detected");
    assert!(state(&answer, 1).starts_with("not detected (below "), "{}", state(&answer, 1));
    let copy = map(1, "Ti K", Kind::DisplayCopy, counts(3.0, 9.0, 2));
    let (answer, _) = asked(vec![copy], &two(), json!({}));
    assert!(state(&answer, 0).starts_with("cannot be judged here: "), "{}", state(&answer, 0));
}

#[test]
fn one_region_or_none_is_described() {
    for (regions, words) in
        [(vec![], "There is no region"), (vec![two().remove(0)], "There is only one region")]
    {
        let (answer, _) =
            asked(vec![map(1, "Cu K", Kind::Window, counts(30.0, 40.0, 1))], &regions, json!({}));
        assert_eq!((answer.verdict.as_str(), answer.table.rows.len()), ("cannot be judged", 1));
        assert!(answer.sentence.contains(words), "{}", answer.sentence);
        assert!(answer.stability.is_none());
    }
}

#[test]
fn shared_pixels_are_left_out_and_regions_that_share_much_are_not_compared() {
    let of = |second: (u32, u32, u32, u32)| {
        let regions = [rectangle("r1", "left", (12, 4, 18, 30)), rectangle("r2", "right", second)];
        asked(vec![map(1, "Cu K", Kind::Window, counts(30.0, 40.0, 1))], &regions, json!({})).0
    };
    assert_eq!(of((29, 4, 30, 30)).verdict, "differ");
    let much = of((22, 4, 30, 30));
    assert!(
        much.verdict == "cannot be judged" && much.sentence.contains("share 240 pixels"),
        "{}",
        much.sentence
    );
}

fn with_line() -> (Answer, Rasters) {
    let maps = vec![
        map(1, "=Cu, \"K\"", Kind::Window, counts(30.0, 40.0, 1)),
        map(2, "Fe K", Kind::Fitted, counts(12.0, 12.0, 5)),
    ];
    let line = json!({"from": [0, 20], "to": [60, 20], "width_px": 4});
    asked(maps, &two(), json!({"line": line}))
}

#[test]
fn the_profile_has_its_plot_and_its_numbers() {
    let (answer, rasters) = with_line();
    let Some(Plot::Profile { x, y, series, .. }) = answer.plots.get(1) else { panic!("no profile") };
    assert_eq!((x.label.as_str(), series.len(), series[0].points.len()), ("distance (pixels)", 2, 60));
    assert!(x.ticks.len() > 2 && y.ticks.len() > 2);
    // Counts have an interval, fitted values have none.
    assert!(series[0].low.iter().all(Option::is_some) && series[1].low.iter().all(Option::is_none));
    let Raster::F64(numbers) = &rasters["profile"] else { panic!("no numbers") };
    assert_eq!((numbers.width(), numbers.height()), (60, 2 + 8));
    let [_, at] = series[0].points[40].unwrap();
    let mean = numbers.get(40, 2).unwrap();
    assert!((0.0..=1.0).contains(&at) && (30.0..50.0).contains(mean), "{at} {mean}");
    let fault = |line: Value| {
        let mut stack = Stack::default();
        stack.push(map(1, "Cu K", Kind::Window, counts(1.0, 2.0, 1)));
        ask("regions", json!({"line": line}), &Subject::new(&stack, &[], None), &mut |_, _| {}).unwrap_err()
    };
    assert_eq!(fault(json!({"from": [3, 3], "to": [3, 3]})).code, "bad_setting");
    assert_eq!(fault(json!({"from": [3, 3], "to": [9, 3], "width_px": 0})).code, "bad_setting");
}

/// Rows as Python's `csv` reads them.
fn read_by_python(bytes: &[u8], name: &str) -> Vec<Vec<String>> {
    let path = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, bytes).unwrap();
    let script = "import csv, json, sys\nwith open(sys.argv[1], encoding='utf-8', newline='') as f:\n    print(json.dumps(list(csv.reader(f, strict=True))))";
    let out = std::process::Command::new("python3").args(["-c", script]).arg(&path).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).unwrap()
}

#[test]
fn python_reads_the_files_back() {
    let (answer, rasters) = with_line();
    let bytes = csv::table(&answer, None).unwrap();
    assert!(bytes.ends_with(b"\r\n") && !bytes.windows(2).any(|two| two[1] == b'\n' && two[0] != b'\r'));
    let rows = read_by_python(&bytes, "table.csv");
    assert_eq!(rows.len(), 1 + answer.table.rows.len());
    assert_eq!(rows[0][1..], answer.table.columns);
    for (got, want) in rows[1..].iter().zip(&answer.table.rows) {
        let label = if want.label.starts_with('=') { format!("'{}", want.label) } else { want.label.clone() };
        assert_eq!(got[0], label);
        for (got, want) in got[1..].iter().zip(&want.cells) {
            match want.value {
                Some(value) => assert_eq!(got.parse::<f64>().unwrap(), value),
                None => assert_eq!(got, &want.text),
            }
        }
    }
    let rows = read_by_python(&csv::profile(&answer, &rasters, None).unwrap(), "profile.csv");
    let Raster::F64(numbers) = &rasters["profile"] else { panic!("no numbers") };
    assert_eq!((rows.len(), rows[0].len()), (61, 10));
    assert_eq!(rows[0][0], "distance (pixels)");
    assert_eq!(rows[0][2], "'=Cu, \"K\" mean (counts per pixel)");
    for (x, row) in rows[1..].iter().enumerate() {
        for (y, got) in row.iter().enumerate() {
            let want = *numbers.get(x as u32, y as u32).unwrap();
            assert!(
                if want.is_nan() { got.is_empty() } else { got.parse::<f64>().unwrap() == want },
                "{x} {y} {got}"
            );
        }
    }
}
