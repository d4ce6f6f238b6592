//! Regions by colours of a photo: held against what is true of the example (`demo-data/truth`), and what becomes of them.

use super::regions::{add, fault, mask, settings};
use super::*;
use crate::reading::mask_of_png;
use crate::study::{AlignSettings, PhotoSettings};
use serde_json::Value;

const WIDTH: usize = 300;
const HEIGHT: usize = 220;

#[allow(clippy::disallowed_methods)] // a test reads files
fn file_of(name: &str) -> Vec<u8> {
    let path = format!("{}/demo-data/{name}", env!("CARGO_MANIFEST_DIR"));
    #[allow(clippy::disallowed_methods)] // a test may read files
    std::fs::read(path).unwrap()
}

/// A map and the photo of the example, not aligned.
fn chart() -> Study {
    let mut study = Study::new();
    study.open("tern_Fe-K.tif", &file_of("tern-sound/tern_Fe-K.tif"));
    study.open("photo.png", &file_of("tern-sound/photo.png"));
    study
}

fn align(study: &mut Study, value: Value) {
    let text = study.align(AlignSettings::read(value).unwrap()).unwrap().unwrap();
    assert_eq!(text.trouble, "");
}

fn truth() -> Value {
    serde_json::from_slice(&file_of("truth/truth.json")).unwrap()
}

fn true_matrix() -> [f64; 9] {
    let rows: [[f64; 3]; 3] = serde_json::from_value(truth()["photo_to_grid"].clone()).unwrap();
    core::array::from_fn(|i| rows[i / 3][i % 3])
}

/// Aligned as it truly lies.
fn aligned() -> Study {
    let mut study = chart();
    align(&mut study, json!({"photo": "p1", "transform": true_matrix()}));
    study
}

/// Aligned by twelve points that a hand set 0.3 pixels of the grid off, in directions by a congruence.
fn aligned_by_hand() -> Study {
    let (mut study, m) = (chart(), true_matrix());
    let mut state = 12_345u64;
    let mut off = || {
        state = (1_103_515_245 * state + 12_345) % 2_147_483_648;
        // Even between -0.52 and 0.52: a standard deviation of 0.3.
        ((state / 1024 % 1000) as f64 / 999.0 - 0.5) * 1.04
    };
    let points: Vec<Value> = (0..12)
        .map(|i| {
            let (u, v) = (50.0 + f64::from(i % 4) * 176.0, 50.0 + f64::from(i / 4) * 186.0);
            let (x, y) = (m[0] * u + m[1] * v + m[2], m[3] * u + m[4] * v + m[5]);
            json!({"from": [u, v], "to": [x + off(), y + off()]})
        })
        .collect();
    align(&mut study, json!({"photo": "p1", "model": "affine", "points": points}));
    study
}

/// A passage of the example as a user would choose it: clicks on the map, what is left out, how alike.
struct Choice {
    passage: &'static str,
    at: &'static [[f64; 2]],
    except: &'static [[f64; 2]],
    alike: f64,
    connected: bool,
    smallest_px: u32,
}

const CHOICES: [Choice; 7] = [
    // One click on the patch.
    Choice {
        passage: "repair",
        at: &[[254.0, 172.0]],
        except: &[],
        alike: 5.0,
        connected: true,
        smallest_px: 0,
    },
    // One click on the disc, not the vermilion of a thin half of the star.
    Choice {
        passage: "compass-disc",
        at: &[[180.0, 104.0]],
        except: &[],
        alike: 18.0,
        connected: true,
        smallest_px: 0,
    },
    // Two clicks on open water, not the frame's white nor the green of the shore, deep and faded.
    Choice {
        passage: "sea",
        at: &[[79.0, 117.0], [97.0, 61.0]],
        except: &[[279.0, 125.0], [95.0, 87.0], [86.0, 88.0]],
        alike: 12.0,
        connected: true,
        smallest_px: 0,
    },
    // On the margin and on the land, not the frame's white nor the water.
    Choice {
        passage: "paper",
        at: &[[217.0, 11.0], [79.0, 101.0]],
        except: &[[21.0, 87.0], [79.0, 117.0]],
        alike: 10.0,
        connected: false,
        smallest_px: 24,
    },
    // On the shore where it is deep, not the water nor where the green has faded.
    Choice {
        passage: "shore",
        at: &[[97.0, 33.0], [97.0, 88.0]],
        except: &[[79.0, 117.0], [92.0, 92.0]],
        alike: 10.0,
        connected: false,
        smallest_px: 24,
    },
    // One click on the board at the left, not the paper.
    Choice {
        passage: "board",
        at: &[[2.0, 100.0]],
        except: &[[10.0, 180.0]],
        alike: 12.0,
        connected: false,
        smallest_px: 0,
    },
    // Three hills, not the foot of one.
    Choice {
        passage: "hills",
        at: &[[51.0, 43.0], [33.0, 103.0], [47.0, 88.0]],
        except: &[[40.0, 42.0]],
        alike: 8.0,
        connected: false,
        smallest_px: 24,
    },
];

fn settings_of(choice: &Choice, rim: bool) -> Value {
    let Choice { at, except, alike, connected, smallest_px, .. } = choice;
    json!({"colour": {
        "photo": "p1", "at": at, "except": except, "alike": alike, "connected": connected,
        "smallest_px": smallest_px, "rim": rim,
    }})
}

/// Intersection over union, and the share of the region that is truly of the passage.
fn agreement(study: &Study, choice: &Choice, rim: bool) -> (f64, f64, u64) {
    let truth = mask_of_png(&file_of(&format!("truth/{}.png", choice.passage))).unwrap();
    let (_, got) = study.preview_region(settings(settings_of(choice, rim))).unwrap();
    let count = |of: &dyn Fn(bool, bool) -> bool| {
        got.data().iter().zip(truth.data()).filter(|&(&a, &b)| of(a, b)).count() as f64
    };
    let both = count(&|a, b| a && b);
    (both / count(&|a, b| a || b), both / count(&|a, _| a), got.data().iter().filter(|&&a| a).count() as u64)
}

#[test]
fn passages_of_the_example_are_found_as_they_were_painted() {
    for (how, study, at_least) in [("true", aligned(), 6), ("by hand", aligned_by_hand(), 5)] {
        let mut good = 0;
        for choice in &CHOICES {
            let (iou, precision, _) = agreement(&study, choice, false);
            println!("{how}: {} IoU {iou:.3}, precision {precision:.3}", choice.passage);
            good += usize::from(iou >= 0.9);
        }
        assert!(good >= at_least, "{how}: {good}");
    }
}

#[test]
fn within_the_border_nothing_else_is_left() {
    for (how, study) in [("true", aligned()), ("by hand", aligned_by_hand())] {
        for choice in &CHOICES {
            let (_, precision, pixels) = agreement(&study, choice, true);
            println!("{how}: {} precision {precision:.4} of {pixels}", choice.passage);
            assert!(precision >= 0.99 || pixels == 0, "{how}: {}", choice.passage);
        }
        assert!(agreement(&study, &CHOICES[0], true).2 > 400, "the repair has an inside");
    }
}

#[test]
fn it_says_what_it_is_and_can_be_handed_in_again() {
    let mut study = aligned();
    let value = json!({"name": "red", "colour": {
        "photo": "p1", "at": [[254.0, 172.0], [250.0, 176.0]], "except": [[140, 120]], "smallest_px": 4,
    }});
    let summary = add(&mut study, value);
    assert_eq!((summary.how.as_str(), summary.makers.len(), summary.makers_text.as_str()), ("colour", 0, ""));
    assert_eq!(
        summary.text,
        "like the colour of photo.png at 2 places, not like that at 1 place, ΔE up to 6, these patches, specks below 4 pixels left out, border of 1 pixel left out"
    );
    let colour = summary.colour.unwrap();
    assert_eq!((colour.at.len(), colour.colours.len(), colour.rim_px), (2, 2, Some(1)));
    assert!((colour.at[0][0] - 254.0).abs() < 1e-9 && (colour.at[0][1] - 172.0).abs() < 1e-9);
    assert!(colour.caution.contains("varnish"));
    let again = json!({"colour": {
        "photo": colour.photo, "at": colour.at, "except": colour.except, "alike": colour.alike,
        "connected": colour.connected, "smallest_px": colour.smallest_px, "rim": colour.rim,
    }});
    assert_eq!(study.preview_region(settings(again)).unwrap().1.data(), mask(&study, "red"));
}

#[test]
fn it_follows_the_photo_and_the_grid_and_comes_back_with_both() {
    let mut study = aligned();
    let red = settings_of(&CHOICES[0], true);
    add(&mut study, red.clone());
    add(&mut study, json!({"combine": {"how": "grown", "of": ["r1"], "by_px": 1}}));
    let before = (mask(&study, "r1"), mask(&study, "r2"));
    // The photo is turned: the region stays where it is, because the alignment follows the photo.
    let turns = PhotoSettings { turns: Some(1), ..PhotoSettings::default() };
    study.set_photo("p1", turns).unwrap();
    assert_eq!(mask(&study, "r1").iter().filter(|&&a| a).count(), before.0.iter().filter(|&&a| a).count());
    study.set_photo("p1", PhotoSettings { turns: Some(0), ..PhotoSettings::default() }).unwrap();
    assert_eq!((mask(&study, "r1"), mask(&study, "r2")), before);
    // The alignment moves by ten pixels to the right: so do both regions.
    let mut moved = true_matrix();
    moved[2] += 10.0;
    align(&mut study, json!({"photo": "p1", "transform": moved}));
    for (name, before) in [("r1", &before.0), ("r2", &before.1)] {
        let after = mask(&study, name);
        assert!((10..WIDTH).all(|x| (0..HEIGHT).all(|y| after[y * WIDTH + x] == before[y * WIDTH + x - 10])));
    }
    // Without alignment it says so, and comes back with it.
    study.align(AlignSettings::read(json!({"photo": "p1"})).unwrap()).unwrap();
    let summary = &study.regions()[0];
    assert!(summary.pixels == 0 && summary.text.contains("does not lie on the maps yet"), "{}", summary.text);
    align(&mut study, json!({"photo": "p1", "transform": true_matrix()}));
    assert_eq!((mask(&study, "r1"), mask(&study, "r2")), before);
    // A wider beam, a wider border.
    study.set_scan(ScanRecord { beam_um: Some(1500.0), ..ScanRecord::default() }).unwrap();
    let narrower = mask(&study, "r1");
    assert!(narrower.iter().filter(|&&a| a).count() < before.0.iter().filter(|&&a| a).count());
    // Another study: waits for the photo, then is the same.
    let mut other = Study::new();
    other.apply(study.record()).unwrap();
    other.open("tern_Fe-K.tif", &file_of("tern-sound/tern_Fe-K.tif"));
    assert!(other.regions().is_empty());
    other.open("photo.png", &file_of("tern-sound/photo.png"));
    assert_eq!((other.record(), other.regions()), (study.record(), study.regions()));
    assert_eq!(mask(&other, "r2"), mask(&study, "r2"));
    // The grid is turned: the same pixels of the object.
    other.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    let turned = other.region("r1").unwrap().1.clone();
    let back = turned.oriented(crate::geometry::Orientation::new(3, false)).unwrap();
    assert_eq!(back.data(), narrower);
}

#[test]
fn what_cannot_be_is_said_in_one_sentence() {
    let mut study = chart();
    let of = |value: Value| json!({"colour": value});
    let said = |study: &mut Study, value: Value| fault(study, of(value)).message;
    let at = json!([[254, 172]]);
    assert_eq!(said(&mut study, json!({"at": at})), "No photo lies on the maps yet. Align one first.");
    assert_eq!(
        said(&mut study, json!({"photo": "p1", "at": at})),
        "photo.png does not lie on the maps yet. Align it first."
    );
    let mut study = aligned();
    assert!(said(&mut study, json!({"photo": "p7", "at": at})).contains("no photo called"));
    assert!(said(&mut study, json!({"at": []})).contains("Pick a colour"));
    assert!(said(&mut study, json!({"at": [[-80, 6]]})).contains("beside photo.png"));
    assert!(said(&mut study, json!({"at": at, "alike": 0})).contains("CIEDE2000"));
    assert!(said(&mut study, json!({"at": at, "smallest_px": 5_000_000})).contains("Specks"));
    assert!(
        said(&mut study, json!({"at": at, "alike": 5, "smallest_px": 16000}))
            .starts_with("No pixel of the maps")
    );
    // The red line of the scroll is two pixels wide: with its border nothing is left of it.
    let line = json!({"at": [[240.5, 28.5]], "alike": 12, "connected": true});
    assert!(said(&mut study, line).starts_with("Nothing is left once the border is left out."));
    let many: Vec<[f64; 2]> = vec![[254.0, 172.0]; 65];
    assert!(said(&mut study, json!({"at": many})).contains("At most 64"));
    assert!(study.regions().is_empty());
}

#[test]
fn a_damaged_record_is_refused() {
    let mut study = aligned();
    add(&mut study, settings_of(&CHOICES[0], true));
    let record = serde_json::to_value(study.record()).unwrap();
    for (field, value) in [("alike", json!(-1)), ("at", json!([])), ("at", json!([[1e99, 0]]))] {
        let mut damaged = record.clone();
        damaged["regions"][0]["shape"][field] = value;
        let read: crate::study::Record = serde_json::from_value(damaged).unwrap();
        assert!(Study::new().apply(read).unwrap_err().message.contains("damaged"), "{field}");
    }
}

/// Aligned by twelve points in the upper left corner, over so much of the photo.
fn aligned_in_a_corner(reach: f64) -> Study {
    let (mut study, m) = (chart(), true_matrix());
    let off = [0.2, -0.3, 0.1, -0.1, 0.3, -0.2, 0.05, 0.25, -0.15, 0.15, -0.25, -0.05];
    let points: Vec<Value> = (0..12)
        .map(|i| {
            let (u, v) = (40.0 + reach * 180.0 * f64::from(i % 4), 40.0 + reach * 190.0 * f64::from(i / 4));
            let (x, y) = (m[0] * u + m[1] * v + m[2], m[3] * u + m[4] * v + m[5]);
            json!({"from": [u, v], "to": [x + off[i as usize], y + off[(5 * i as usize + 3) % 12]]})
        })
        .collect();
    align(&mut study, json!({"photo": "p1", "model": "affine", "points": points}));
    study
}

fn add_or_fault(mut study: Study, value: Value) -> String {
    fault(&mut study, value).message
}

#[test]
fn far_from_the_points_the_border_is_wider_and_a_border_that_is_kept_is_said() {
    // The repair lies in the lower right corner, far from the points.
    let repair = |rim: bool| settings_of(&CHOICES[0], rim);
    let colour =
        |study: &Study, rim| study.preview_region(settings(repair(rim))).map(|(s, _)| s.colour.unwrap());
    let over_the_grid = |study: &Study| study.photos()[0].alignment.clone().unwrap().error_px.unwrap();
    let wide = aligned_in_a_corner(1.0);
    assert_eq!(colour(&wide, true).unwrap().rim_px, Some(1));
    let corner = aligned_in_a_corner(0.13);
    let rim = colour(&corner, true).unwrap().rim_px.unwrap();
    assert!(f64::from(rim) > over_the_grid(&corner).ceil(), "{rim} {}", over_the_grid(&corner));
    assert_eq!(colour(&corner, true).unwrap().caution.matches("border").count(), 0);
    let kept = colour(&corner, false).unwrap().caution;
    assert!(kept.contains(&format!("within {rim} pixels of it another paint may be counted in")), "{kept}");
    // From so small a corner nothing can be said there.
    let far = add_or_fault(aligned_in_a_corner(0.005), repair(true));
    assert!(far.starts_with("The photo may be off by too much"), "{far}");
    // A photo that was found and not checked.
    assert!(colour(&aligned(), true).unwrap().caution.contains("No points show how far the photo is off"));
}

#[test]
fn answers_say_of_a_region_by_colour_what_it_can_be_trusted_for() {
    let mut study = aligned_by_hand();
    add(
        &mut study,
        json!({"name": "hills", "colour": {"photo": "p1", "at": [[50, 44]], "alike": 12, "rim": false}}),
    );
    add(&mut study, json!({"name": "wider", "combine": {"how": "grown", "of": ["hills"], "by_px": 1}}));
    for region in ["hills", "wider"] {
        let settings = json!({"map": "Fe K", "region": region});
        let (answer, _) = study.ask("faint", settings, &mut |_, _| {}).unwrap();
        let named = |text: &&String| text.starts_with(&format!("“{region}”: "));
        let said = answer.cautions.iter().find(named).unwrap();
        assert!(said.contains("not calibrated") && said.contains("Its border is kept"), "{said}");
    }
    let (answer, _) = study.ask("faint", json!({"map": "Fe K"}), &mut |_, _| {}).unwrap();
    assert!(
        answer.cautions.iter().all(|text| !text.contains("calibrated")),
        "the whole field is no such region"
    );
}
