//! Photos that are kept reduced are found where they lie: places are those of the full photo.

use super::super::PhotoShape;
use super::*;
use crate::study::find_alignment;

fn file_of(name: &str) -> Vec<u8> {
    let path = format!("{}/demo-data/tern-sound/{name}", env!("CARGO_MANIFEST_DIR"));
    #[allow(clippy::disallowed_methods)] // a test may read files
    std::fs::read(path).unwrap()
}

#[test]
fn a_photo_of_which_means_are_kept_is_found_in_pixels_of_the_full_one() {
    let mut study = Study::new();
    for line in ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"] {
        study.open(&format!("tern_{line}.tif"), &file_of(&format!("tern_{line}.tif")));
    }
    study.open("photo.png", &file_of("photo.png"));
    // The same as if it were made of means of a photo three times as large.
    let pixels = study.photo("p1").unwrap().pixels.clone();
    let shape = PhotoShape {
        number: 2,
        key: "large/0".into(),
        file: "large.jpg".into(),
        file_sha256: "large".into(),
        size: (pixels.width() * 3, pixels.height() * 3),
        pixels,
        factor: 3,
    };
    assert_eq!(study.take_in_photo(shape).unwrap(), "p2");
    let found = |id: &str| find_alignment(&study.subject_to_align(id).unwrap(), &mut |_, _| {}).unwrap();
    let (small, large) = (found("p1"), found("p2"));
    assert!(small.is_accepted && large.is_accepted, "{} {}", small.text, large.text);
    for place in [0, 1, 3, 4] {
        let (small, large) = (small.transform[place], 3.0 * large.transform[place]);
        assert!((small - large).abs() < 1e-3, "{small} {large}");
    }
    for (small, large) in small.corners.iter().flatten().zip(large.corners.iter().flatten()) {
        assert!(
            (small[0] - large[0]).abs() < 0.2 && (small[1] - large[1]).abs() < 0.2,
            "{small:?} {large:?}"
        );
    }
}
