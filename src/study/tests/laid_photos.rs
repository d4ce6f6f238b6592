//! Photos seen with the maps.

use super::made::derive;
use super::*;

/// A photo of 60 x 40 pixels, red rising to the right and green downward.
fn photo() -> Vec<u8> {
    let pixels: Vec<u8> =
        (0..60 * 40u32).flat_map(|i| [(i % 60 * 4) as u8, (i / 60 * 6) as u8, 120]).collect();
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, 60, 40);
    encoder.set_color(png::ColorType::Rgb);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&pixels).unwrap();
    writer.finish().unwrap();
    file
}

fn with_photo() -> Study {
    let mut study = study();
    assert_eq!(study.open("table.png", &photo()).photos, ["p1"]);
    study
}

/// Half as large, and two pixels to the right.
fn align(study: &mut Study) {
    let pairs = [[0.0, 0.0], [60.0, 0.0], [0.0, 40.0]]
        .map(|[x, y]| json!({"from": [x, y], "to": [x / 2.0 + 2.0, y / 2.0]}));
    study
        .align(AlignSettings::read(json!({"photo": "p1", "model": "affine", "points": pairs})).unwrap())
        .unwrap();
}

fn shown(study: &mut Study, settings: serde_json::Value) -> Result<Shown, Fault> {
    study.picture(&PictureSettings::read(settings)?)
}

#[test]
fn what_is_not_aligned_is_said_and_a_proposal_can_be_looked_at() {
    let mut study = with_photo();
    for settings in [json!({"photo": "p1", "on": "grid"}), json!({"map": "m1", "photo": "p1", "mix": 0.5})] {
        let fault = shown(&mut study, settings).unwrap_err();
        assert_eq!(fault.code, "not_aligned");
        assert!(fault.message.contains("table.png") && fault.message.contains("Align it first"), "{fault}");
    }
    let proposal = json!([0.5, 0, 2, 0, 0.5, 0, 0, 0, 1]);
    let proposed =
        shown(&mut study, json!({"photo": "p1", "on": "grid", "photo_transform": proposal})).unwrap();
    assert!(proposed.caption.contains("laid as proposed"), "{}", proposed.caption);
    align(&mut study);
    let laid = shown(&mut study, json!({"photo": "p1", "on": "grid"})).unwrap();
    assert_eq!(laid.picture.rgba, proposed.picture.rgba);
    assert_eq!(shown(&mut study, json!({"photo": "p9", "on": "grid"})).unwrap_err().code, "unknown_photo");
    let mut alone = Study::new();
    alone.open("table.png", &photo());
    let fault =
        shown(&mut alone, json!({"photo": "p1", "on": "grid", "photo_transform": proposal})).unwrap_err();
    assert_eq!(fault.code, "no_maps");
}

#[test]
fn a_laid_photo_has_the_size_and_the_scale_of_the_grid() {
    let mut study = with_photo();
    align(&mut study);
    study.set_grid(GridRecord { step_x_um: Some(500.0), ..GridRecord::default() }).unwrap();
    let own = shown(&mut study, json!({"photo": "p1"})).unwrap();
    assert_eq!((own.source_size, own.scale_bar), ((60, 40), None));
    assert_eq!(own.caption, "Photo (visible light)");
    let laid = shown(&mut study, json!({"photo": "p1", "on": "grid"})).unwrap();
    assert_eq!(laid.source_size, (30, 20));
    assert_eq!(laid.scale_bar.map(|bar| bar.text), Some("2\u{202f}mm".into()));
    assert_eq!(laid.caption, "Photo (visible light), laid on the maps");
    // Two columns of the grid lie beside the photo; a pixel of the grid is the mean of four of the photo.
    let pixel = |x: usize, y: usize| &laid.picture.rgba[(y * 30 + x) * 4..(y * 30 + x) * 4 + 4];
    assert_eq!((pixel(1, 5)[3], pixel(2, 5)[3]), (0, 255));
    assert!(pixel(10, 5)[0].abs_diff(66) <= 1 && pixel(10, 5)[1].abs_diff(63) <= 1, "{:?}", pixel(10, 5));
    let on_grid = json!({"settings": {"photo": "p1", "on": "grid"}, "width_px": 500});
    let saved = study.saved_picture(&serde_json::from_value(on_grid).unwrap());
    assert!(saved.is_ok(), "{saved:?}");
}

#[test]
fn mixed_and_divided_pictures_are_of_their_maps_and_name_the_photo() {
    let mut study = with_photo();
    align(&mut study);
    let map = shown(&mut study, json!({"map": "m1"})).unwrap();
    let laid = shown(&mut study, json!({"photo": "p1", "on": "grid"})).unwrap();
    let settings = json!({"map": "m1", "photo": "p1", "mix": 0.4});
    let mixed = shown(&mut study, settings.clone()).unwrap();
    assert_eq!((&mixed.picture.key, mixed.source_size), (&map.picture.key, map.source_size));
    assert_eq!(
        mixed.caption,
        format!("{}, with the photo (visible light), 40\u{202f}% of the light", map.caption)
    );
    let light =
        |picture: &Picture, i: usize| crate::colour::Rgb([0, 1, 2].map(|c| picture.rgba[i * 4 + c])).linear();
    for i in 0..600 {
        let (maps, photo) = (light(&map.picture, i), light(&laid.picture, i));
        let reaches = laid.picture.rgba[i * 4 + 3] == 255;
        let want = [0, 1, 2].map(|c| if reaches { 0.6 * maps[c] + 0.4 * photo[c] } else { maps[c] });
        let want = crate::colour::Rgb::from_linear(want).0;
        // The photo's own picture is rounded to steps, which the mixture is not before its end.
        assert!((0..3).all(|c| mixed.picture.rgba[i * 4 + c].abs_diff(want[c]) <= 1), "{i}");
    }
    let read = PictureSettings::read(settings).unwrap();
    let inputs = study.inputs_of(&read);
    assert_eq!(inputs.len(), 2);
    assert_eq!(inputs[1]["file_sha256"], json!(study.photos()[0].file_sha256));
    assert_eq!(inputs[1]["transform"][0], json!(0.5));
    let divided =
        shown(&mut study, json!({"map": "m1", "photo": "p1", "divide": 0.5, "divide_along": "x"})).unwrap();
    assert!(divided.caption.ends_with("left of the line; right of it the photo (visible light)"));
    let row = |picture: &Picture, columns: std::ops::Range<usize>| {
        picture.rgba[columns.start * 4..columns.end * 4].to_vec()
    };
    assert_eq!(row(&divided.picture, 0..14), row(&map.picture, 0..14));
    assert_eq!(row(&divided.picture, 16..30), row(&laid.picture, 16..30));
}

#[test]
fn under_a_binned_map_the_photo_lies_where_it_lies_under_the_others() {
    let mut study = with_photo();
    align(&mut study);
    derive(&mut study, json!({"how": "bin", "by": 2, "of": ["m1"]})).unwrap();
    let window = |x: f64, width: f64, height: f64| json!({"x": x, "y": 0.0, "width": width, "height": height, "out_width": 40, "out_height": 30});
    let of_bins = json!({"map": "d1", "photo": "p1", "mix": 1.0, "view": window(2.0, 10.0, 8.0)});
    let of_grid = json!({"photo": "p1", "on": "grid", "view": window(4.0, 20.0, 16.0)});
    let (bins, grid) = (shown(&mut study, of_bins).unwrap(), shown(&mut study, of_grid).unwrap());
    assert_eq!(bins.picture.rgba, grid.picture.rgba);
    let cut = super::files::bytes_file(7, 5, |x, y| (x * 3 + y) as u8);
    study.open("Zn-K.npy", &cut);
    let fault = shown(&mut study, json!({"map": "m3", "photo": "p1", "mix": 0.5})).unwrap_err();
    assert_eq!(fault.code, "different_sizes");
    assert!(fault.message.contains("Zn K does not lie on the grid"), "{fault}");
}
