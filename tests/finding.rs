//! "Find it for me" on the example, whose true place is known, moved in known ways; and on pictures that belong to other
//! maps, where nothing may be offered.
#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods)] // a test may fail

#[path = "cases/finding/friends.rs"]
mod friends;
#[path = "cases/finding/scene.rs"]
mod scene;

use limner::geometry::PlaneTransform;
use limner::grid::Samples;
use limner::numerics::chance::Chance;
use limner::register::search::{
    Found, LONGEST_MAP_SIDE, LONGEST_PHOTO_SIDE, SearchInput, SearchSettings, factor, find, prepare,
    prepare_photo,
};
use limner::stack::Plane;
use scene::{Move, TEN, by_chance, error, example, moved, truth};

fn sought(input: &SearchInput) -> Found {
    find(input, &SearchSettings::default(), &mut |_, _| ()).unwrap()
}

fn row(found: &Found, error: f64) -> String {
    format!(
        "error {error:.3} px, start {:.2} found {:.2} beside {:.2}, {:.2} against {:.2}, halves {:.2?} {:.2?}, overlap {:.2}, {}",
        found.measure_start,
        found.measure_found,
        found.measure_beside,
        found.stands_out.0,
        found.stands_out.1,
        found.halves_px[0],
        found.halves_px[1],
        found.overlap,
        if found.is_accepted { "accepted" } else { &found.reason }
    )
}

/// The first sentence of the issue: at least 9 of 10 within one pixel of the maps; and none accepted that is wrong.
#[test]
fn nine_of_ten_moved_photos_are_found_within_a_pixel() {
    let example = example();
    let (mut good, mut wrong) = (0, 0);
    for by in TEN {
        let (photo, truth) = moved(&example.photo, by);
        let found = sought(&SearchInput { photo: photo.clone(), ..example.clone() });
        let off = error(&found.transform, &truth, &photo);
        println!("{by:?}: {}", row(&found, off));
        good += u32::from(found.is_accepted && off <= 1.0);
        wrong += u32::from(found.is_accepted && off > 2.0);
        assert!(!found.is_accepted || found.measure_found > found.measure_start.max(found.measure_beside));
    }
    assert!(good >= 9 && wrong == 0, "{good} found, {wrong} accepted and wrong");
}

fn refused(name: &str, input: &SearchInput, says: &str) {
    let found = sought(input);
    println!("{name}: {}", row(&found, f64::NAN));
    assert!(!found.is_accepted, "{name}: {}", found.reason);
    assert!(
        found.reason.starts_with("Not found: ") && found.reason.contains(says),
        "{name}: {}",
        found.reason
    );
}

#[test]
fn what_cannot_be_found_is_refused() {
    let example = example();
    let with = |photo| SearchInput { photo, ..example.clone() };
    refused("one colour", &with(friends::picture(632, 472, |_, _| [120.0; 3])), "hardly any colours");
    refused("noise", &with(friends::noise(3)), "");
    refused("another painting", &with(friends::other_painting(5)), "does not stand out");
    let one = SearchInput { maps: vec![example.maps[6].clone()], ..example.clone() };
    refused("one map", &one, "at least two maps");
    let twice =
        SearchInput { maps: vec![example.maps[6].clone(), example.maps[6].clone()], ..example.clone() };
    refused("one map twice", &twice, "all show the same");
    let empty = friends::map(1, |_, _| 0.0);
    refused("empty maps", &SearchInput { maps: vec![empty; 4], ..example.clone() }, "at least two maps");
    let blank = limner::grid::Grid::from_vec(300, 220, vec![f32::NAN; 66_000]).unwrap();
    refused("blank maps", &SearchInput { maps: vec![blank; 4], ..example.clone() }, "at least two maps");
    let even: Vec<_> = (0..4).map(|seed| friends::map(seed, |_, _| 20.0)).collect();
    refused("maps without a pattern", &SearchInput { maps: even, ..example.clone() }, "at least two maps");
    let stripes: Vec<_> = (0..4)
        .map(|i| friends::map(u64::from(i), |x, _| if (x + 10 * i) / 30 % 2 == 0 { 40.0 } else { 5.0 }))
        .collect();
    refused("stripes", &SearchInput { maps: stripes, ..example.clone() }, "");
    let speck = PlaneTransform::affine([1e4, 0.0, 0.0], [0.0, 1e4, 0.0]);
    refused("a photo far too large", &SearchInput { start: speck, ..example.clone() }, "ten times as long");
    let backward = SearchSettings { scales: (2.0, 0.5), ..SearchSettings::default() };
    let found = find(&example, &backward, &mut |_, _| ()).unwrap();
    assert!(!found.is_accepted && found.reason.contains("settings"), "{}", found.reason);
    let none = SearchInput { maps: Vec::new(), ..example.clone() };
    refused("no maps", &none, "no maps");
    let upside_down = limner::geometry::Orientation::new(2, false);
    refused("upside down", &with(example.photo.oriented(upside_down).unwrap()), "upside down");
}

/// Sixty searches; how often what is true is found, and whether anything wrong is ever accepted.
#[test]
#[ignore = "minutes"]
fn study_of_moved_and_changed_photos() {
    let example = example();
    let mut chance = Chance::new(2026);
    let changes: [(&str, f64, [f64; 3], f64); 5] = [
        ("as taken", 1.0, [1.0; 3], 0.0),
        ("darker, gamma 1.6", 1.6, [0.8; 3], 2.0),
        ("lighter, gamma 0.6", 0.6, [1.1; 3], 2.0),
        ("colour cast", 1.0, [1.15, 0.95, 0.65], 2.0),
        ("noise of 20", 1.0, [1.0; 3], 20.0),
    ];
    let mut wrong = 0;
    for (name, gamma, gains, spread) in changes {
        let (mut good, mut refusals, mut errors, mut ratio) = (0, 0, Vec::new(), f64::INFINITY);
        for i in 0..12 {
            let by = by_chance(&mut chance);
            let (photo, truth) = moved(&example.photo, by);
            let photo = friends::taken_otherwise(&photo, gamma, gains, spread, i);
            let found = sought(&SearchInput { photo: photo.clone(), ..example.clone() });
            let off = error(&found.transform, &truth, &photo);
            println!("  {name} {by:?}: {}", row(&found, off));
            good += u32::from(found.is_accepted && off <= 1.0);
            wrong += u32::from(found.is_accepted && off > 2.0);
            refusals += u32::from(!found.is_accepted);
            ratio = ratio.min(found.stands_out.0 / found.stands_out.1);
            errors.push(off);
        }
        errors.sort_by(f64::total_cmp);
        println!("| {name} | 12 | {good} | {refusals} | {:.2} | {:.2} | {ratio:.2} |", errors[6], errors[11]);
    }
    assert_eq!(wrong, 0);
}

/// Photos of other things: none may be accepted.
#[test]
#[ignore = "minutes"]
fn study_of_photos_of_other_things() {
    let example = example();
    let mut accepted = 0;
    for seed in 0..12 {
        for (name, photo) in [("painting", friends::other_painting(seed)), ("clouds", friends::clouds(seed))]
        {
            let found = sought(&SearchInput { photo, ..example.clone() });
            println!("{name} {seed}: {}", row(&found, f64::NAN));
            accepted += u32::from(found.is_accepted);
        }
    }
    assert_eq!(accepted, 0);
}

/// Few maps, faint maps, photos in black and white: what is refused and what is found, and nothing wrong.
#[test]
#[ignore = "minutes"]
fn study_of_poor_maps() {
    let example = example();
    let of = |which: &[usize]| which.iter().map(|&i| example.maps[i].clone()).collect::<Vec<_>>();
    let thinned = |part: f64| {
        let faint = |(seed, map): (usize, &limner::grid::Grid<f32>)| friends::thinned(map, part, seed as u64);
        example.maps.iter().enumerate().map(faint).collect::<Vec<_>>()
    };
    let all = || example.maps.clone();
    let cases = [
        ("black and white", all(), true),
        ("lead and iron", of(&[6, 3]), false),
        ("lead and iron, black and white", of(&[6, 3]), true),
        ("titanium and zinc", of(&[1, 5]), false),
        ("calcium, copper, mercury", of(&[0, 4, 7]), false),
        ("a tenth of the counts", thinned(0.1), false),
        ("a fiftieth of the counts", thinned(0.02), false),
    ];
    let mut wrong = 0;
    for (name, maps, is_grey) in cases {
        let (mut good, mut refusals, mut errors) = (0, 0, Vec::new());
        for by in [TEN[1], TEN[6], TEN[7]] {
            let (photo, truth) = moved(&example.photo, by);
            let photo = if is_grey { friends::grey(&photo) } else { photo };
            let found = sought(&SearchInput { photo: photo.clone(), maps: maps.clone(), ..example.clone() });
            let off = error(&found.transform, &truth, &photo);
            println!("  {name} {by:?}: {}", row(&found, off));
            good += u32::from(found.is_accepted && off <= 1.0);
            wrong += u32::from(found.is_accepted && off > 2.0);
            refusals += u32::from(!found.is_accepted);
            errors.push(off);
        }
        println!("| {name} | 3 | {good} | {refusals} | {errors:.2?} |");
    }
    assert_eq!(wrong, 0);
}

/// Beyond the range: it must not be offered unless it is right all the same.
#[test]
#[ignore = "minutes"]
fn study_beyond_the_range() {
    let example = example();
    let mut wrong = 0;
    for by in [
        Move { degrees: 40.0, scale: 1.0, shift: (0.0, 0.0) },
        Move { degrees: 90.0, scale: 1.0, shift: (0.0, 0.0) },
        Move { degrees: -25.0, scale: 1.2, shift: (0.1, 0.0) },
        Move { degrees: 0.0, scale: 0.4, shift: (0.0, 0.0) },
        Move { degrees: 0.0, scale: 2.5, shift: (0.0, 0.0) },
        Move { degrees: 5.0, scale: 2.0, shift: (0.2, 0.2) },
        Move { degrees: 0.0, scale: 1.0, shift: (0.7, 0.6) },
        Move { degrees: 18.0, scale: 0.55, shift: (0.3, 0.0) },
    ] {
        let (photo, truth) = moved(&example.photo, by);
        let found = sought(&SearchInput { photo: photo.clone(), ..example.clone() });
        let off = error(&found.transform, &truth, &photo);
        println!("{by:?}: {}", row(&found, off));
        wrong += u32::from(found.is_accepted && off > 2.0);
    }
    assert_eq!(wrong, 0);
    let (photo, _) = moved(&example.photo, Move { degrees: 0.0, scale: 1.0, shift: (0.0, 0.0) });
    let right = SearchInput { photo, start: Some(truth()), ..example };
    println!("started where it is: {}", row(&sought(&right), 0.0));
}

/// 20 maps of 1.7 Mpx and a photo of 24 Mpx: the example enlarged, the photo moved.
#[test]
#[ignore = "speed: run alone, in release"]
fn study_of_large_pictures() {
    let example = example();
    let by = Move { degrees: 6.0, scale: 0.9, shift: (0.1, -0.05) };
    let (photo, truth) = moved(&example.photo, by);
    // 1500 x 1100 pixels; 5688 x 4248.
    let planes: Vec<Plane> = (0..20)
        .map(|i| Plane::new(Samples::F32(friends::enlarged(&example.maps[i % 8], 5, i as u64))))
        .collect();
    let photo = friends::enlarged_photo(&photo, 9);
    let large = |k: f64| PlaneTransform::affine([k, 0.0, 0.0], [0.0, k, 0.0]).unwrap();
    let truth = large(1.0 / 9.0).then(&truth).unwrap();
    let started = std::time::Instant::now();
    let map_factor = factor(planes[0].size(), LONGEST_MAP_SIDE);
    let photo_factor = factor((photo.width(), photo.height()), LONGEST_PHOTO_SIDE);
    let input = SearchInput {
        photo: prepare_photo(&photo, photo_factor).unwrap(),
        photo_factor: f64::from(photo_factor),
        maps: planes.iter().map(|p| prepare(p, map_factor).unwrap()).collect(),
        map_factor: f64::from(map_factor),
        ..example.clone()
    };
    let prepared = started.elapsed();
    let mut ticks = 0;
    let found = find(&input, &SearchSettings::default(), &mut |_, _| ticks += 1).unwrap();
    let to_old = found.transform.then(&large(1.0 / 5.0)).unwrap();
    let off = 5.0 * error(&to_old, &truth, &photo);
    println!(
        "prepared in {prepared:?}, all {:?}, {ticks} reports, reduced by {map_factor} and {photo_factor}: {}",
        started.elapsed(),
        row(&found, off)
    );
    assert!(found.is_accepted && off < 3.0);
}

/// A start given by hand is improved, and one that is right is left alone or improved within a twentieth of a pixel.
#[test]
fn a_start_is_taken_up() {
    let example = example();
    let near = PlaneTransform::affine([0.47, 0.03, 12.0], [-0.03, 0.47, 8.0]).unwrap();
    let settings =
        SearchSettings { scales: (0.9, 1.1), turn: 6.0, shift: Some(0.1), ..SearchSettings::default() };
    let input = SearchInput { start: Some(near.clone()), ..example.clone() };
    let mut last = 0.0;
    let found = find(&input, &settings, &mut |share, what| {
        assert!(share >= last && share <= 1.0 && !what.is_empty());
        last = share;
    })
    .unwrap();
    let before = error(&near, &truth(), &example.photo);
    let after = error(&found.transform, &truth(), &example.photo);
    println!("before {before:.2}: {}", row(&found, after));
    assert!(found.is_accepted && before > 2.0 && after < 0.3 && last > 0.99);
    // The same again gives the same bytes.
    assert_eq!(find(&input, &settings, &mut |_, _| ()).unwrap(), found);
}

/// Turned by a quarter, and mirrored, with maps whose pixels are no squares.
#[test]
fn quarter_turns_mirroring_and_oblong_pixels() {
    let example = example();
    let photo = example.photo.oriented(limner::geometry::Orientation::new(1, true)).unwrap();
    // Two rows in one: pixels twice as high as wide.
    let maps: Vec<_> = example
        .maps
        .iter()
        .map(|m| {
            let data = (0..110)
                .flat_map(|y| {
                    m.row(2 * y).iter().zip(m.row(2 * y + 1)).map(|(a, b)| a + b).collect::<Vec<_>>()
                })
                .collect();
            limner::grid::Grid::from_vec(300, 110, data).unwrap()
        })
        .collect();
    let input = SearchInput { photo, maps, aspect: 2.0, ..example.clone() };
    let settings = SearchSettings { turned_too: true, ..SearchSettings::default() };
    let found = find(&input, &settings, &mut |_, _| ()).unwrap();
    // Where the corner pixel of the photo went when it was laid so.
    let orientation = limner::geometry::Orientation::new(1, true);
    let mut worst: f64 = 0.0;
    for place in [(0, 0), (631, 0), (0, 471), (631, 471), (300, 200)] {
        let laid = orientation.place(place, (632, 472));
        let want = truth().at((f64::from(place.0) + 0.5, f64::from(place.1) + 0.5)).unwrap();
        let got = found.transform.at((f64::from(laid.0) + 0.5, f64::from(laid.1) + 0.5)).unwrap();
        worst = worst.max((got.0 - want.0).abs()).max((2.0 * got.1 - want.1).abs());
    }
    println!("worst {worst:.2}: {}, {}", row(&found, worst), found.reason);
    assert!(found.is_accepted && worst < 1.0 && found.reason.contains("mirrored"));
    // Not asked for, it is not found, and the sentence says why.
    refused("turned and not asked", &SearchInput { start: None, ..input }, "");
}
