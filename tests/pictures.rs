//! Pictures of maps in the colours of a scale, drawn by a plotting library (`tests/cases/pictures/make.py`), are not
//! taken for photos nor for values; photos, gradients and drawings are.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

use limner::reading::{Content, read};
use std::path::Path;

fn bytes(path: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

#[test]
fn a_map_in_the_colours_of_a_scale_is_asked_about() {
    let names = [
        "bar_viridis.png",
        "bar_jet.png",
        "bar_hot.png",
        "bar_viridis.jpg",
        "bar_jet.jpg",
        "bar_hot.jpg",
        "plain_viridis.png",
        "plain_inferno.png",
        "plain_jet.png",
    ];
    for name in names {
        let bytes = bytes(&format!("tests/cases/pictures/{name}"));
        let Content::Ask { question, ways } = read(&bytes, None).unwrap().content else { panic!("{name}") };
        assert!(question.contains("cannot be turned back into counts"), "{name}: {question}");
        let keys: Vec<&str> = ways.iter().map(|way| way.key.as_str()).collect();
        assert_eq!(keys, ["photo", "leave_out"], "{name}");
        assert!(matches!(read(&bytes, Some("photo")).unwrap().content, Content::Photo(_)), "{name}");
        assert_eq!(read(&bytes, Some("leave_out")).unwrap_err().code(), "not_read", "{name}");
    }
}

#[test]
fn photos_gradients_and_drawings_stay_photos() {
    let names = [
        "tests/cases/pictures/photo_sky.png",
        "tests/cases/pictures/photo_two_gradients.png",
        "tests/cases/pictures/photo_drawing.png",
        "tests/published/files/matplotlib-grace_hopper.jpg",
        "tests/published/files/matplotlib-logo2.png",
        "tests/published/files/matplotlib-Minduka_Present_Blue_Pack.png",
        "demo-data/tern-sound/photo.png",
    ];
    for name in names {
        let content = read(&bytes(name), None).unwrap().content;
        assert!(matches!(content, Content::Photo(_)), "{name}: {content:?}");
    }
}
