//! Pictures to keep, read again with the crate `png`: the file says what it should, the picture's colours are in it,
//! the scale bar has its length, and no word is cut. `PLATES=folder cargo test --test plate` keeps what was drawn.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a test may write files, and may fail

use limner::colour::ColourScale;
use limner::colour::LIGHT_COLOURS;
use limner::display::plate::{Placed, PlateContent, PlateSize, Scale, draw, placed};
use limner::display::{
    Axis, KeyEntry, Light, MapScale, Picture, Scale as ToneScale, picture_of_classes, picture_of_lights,
    picture_of_map,
};
use limner::geometry::{Step, Window};
use limner::grid::{Grid, Samples};
use limner::stack::Plane;

const SETTINGS: &str = r#"{"lights":[{"map":"m1","low":12}],"view":{"x":0}}"#;
const CAPTION: &str = "Fe K, Pb L and Hg L as added light, from the critical level of each to the count that \
    99.5 % of the pixels do not exceed (Fe K 31 to 1\u{202f}240, Pb L 18 to 640, Hg L 9 to 118 counts). \
    Step 500\u{202f}µm. 150 × 110 pixels.";

struct Decoded {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
    dots: Option<(u32, u32, bool)>,
    texts: Vec<(String, String)>,
}

impl Decoded {
    fn of(bytes: &[u8]) -> Self {
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut rgb).unwrap();
        reader.finish().unwrap();
        let info = reader.info();
        assert_eq!((info.color_type, info.bit_depth), (png::ColorType::Rgb, png::BitDepth::Eight));
        let dots = info.pixel_dims.map(|d| (d.xppu, d.yppu, d.unit == png::Unit::Meter));
        let texts = info.utf8_text.iter().map(|t| (t.keyword.clone(), t.get_text().unwrap())).collect();
        Self { width: info.width, height: info.height, rgb, dots, texts }
    }

    fn pixel(&self, x: u32, y: u32) -> [u8; 3] {
        let at = ((y * self.width + x) * 3) as usize;
        [self.rgb[at], self.rgb[at + 1], self.rgb[at + 2]]
    }

    fn text(&self, keyword: &str) -> &str {
        &self.texts.iter().find(|(k, _)| k == keyword).unwrap().1
    }

    /// How far the ink of the sheet stays from its four edges: left, top, right, bottom.
    fn clear(&self) -> [u32; 4] {
        let is_clear = |x: u32, y: u32| self.pixel(x, y) == [255; 3];
        let column = |x: u32| (0..self.height).all(|y| is_clear(x, y));
        let row = |y: u32| (0..self.width).all(|x| is_clear(x, y));
        [
            (0..self.width).take_while(|&x| column(x)).count() as u32,
            (0..self.height).take_while(|&y| row(y)).count() as u32,
            (0..self.width).rev().take_while(|&x| column(x)).count() as u32,
            (0..self.height).rev().take_while(|&y| row(y)).count() as u32,
        ]
    }

    /// The whole factor by which a row of a picture was enlarged on the sheet.
    fn grain_of(&self, row: &[u8]) -> u32 {
        let enlarged = |grain: usize| row.chunks_exact(3).flat_map(|p| p.repeat(grain)).collect::<Vec<u8>>();
        let row_length = self.width as usize * 3;
        let is_there = |wanted: &[u8]| {
            self.rgb.chunks_exact(row_length).any(|line| {
                wanted.len() <= line.len() && line.windows(wanted.len()).step_by(3).any(|part| part == wanted)
            })
        };
        (1..=9).rev().find(|&grain| is_there(&enlarged(grain as usize))).unwrap()
    }

    /// Where a row of pixels first stands on the sheet.
    fn find(&self, first_row: &[u8]) -> Option<(u32, u32)> {
        let row_length = self.width as usize * 3;
        for y in 0..self.height {
            let row = &self.rgb[y as usize * row_length..(y as usize + 1) * row_length];
            if let Some(x) = row.windows(first_row.len()).step_by(3).position(|w| w == first_row) {
                return Some((x as u32, y));
            }
        }
        None
    }
}

fn keep(name: &str, bytes: &[u8]) {
    if let Ok(folder) = std::env::var("PLATES") {
        std::fs::write(format!("{folder}/{name}.png"), bytes).unwrap();
    }
}

/// Counts of some shape with a little noise, the same every time.
fn plane(width: u32, height: u32, seed: u32) -> Plane {
    let mut state = seed * 7919 + 1;
    let values = (0..width * height)
        .map(|i| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let (x, y) = (i % width, i / width);
            let (dx, dy) = (x.abs_diff(width * (seed + 1) / 5), y.abs_diff(height * (5 - seed) / 6));
            let near = if dx * dx + dy * dy < (height.max(40) / 3).pow(2) { 700 } else { 30 };
            let line = if (x + y * seed) % 41 < 2 { 300 } else { 0 };
            (near + line + (state >> 27)) as u16
        })
        .collect();
    Plane::new(Samples::U16(Grid::from_vec(width, height, values).unwrap()))
}

fn overlay(planes: &[Plane], window: &Window) -> Picture {
    let labels = ["Fe K", "Pb L", "Hg L", "Cu K"];
    let lights: Vec<Light<'_>> = planes
        .iter()
        .zip(labels)
        .zip(LIGHT_COLOURS)
        .map(|((plane, label), colour)| Light {
            label: label.into(),
            plane,
            colour,
            low: 40.0,
            high: 760.0,
            gamma: 2.0,
            scale: ToneScale::Linear,
        })
        .collect();
    picture_of_lights(&lights, window).unwrap()
}

fn content<'a>(picture: &'a Picture, placed: Placed, caption: &'a str) -> PlateContent<'a> {
    let scale = Scale::Step(Step::new(500.0, 500.0).unwrap());
    PlateContent {
        title: "Tern Sound chart: iron, lead and mercury",
        picture,
        placed,
        scale,
        caption,
        settings: SETTINGS,
    }
}

fn of(planes: &[Plane], view: Window, size: PlateSize, caption: &str) -> (Vec<u8>, Picture) {
    let placed = placed(&view, size).unwrap();
    let picture = overlay(planes, &placed.window);
    (draw(&content(&picture, placed, caption), size).unwrap(), picture)
}

fn default_size() -> PlateSize {
    PlateSize::new(None, None, None).unwrap()
}

#[test]
fn the_file_holds_picture_caption_settings_and_resolution() {
    let planes = [1, 2, 3].map(|seed| plane(150, 110, seed));
    let (bytes, picture) = of(&planes, Window::whole(150, 110), default_size(), CAPTION);
    keep("overlay", &bytes);
    assert_eq!(bytes, of(&planes, Window::whole(150, 110), default_size(), CAPTION).0);
    let sheet = Decoded::of(&bytes);
    // 170 mm at 300 dots an inch are 2008 dots; 300 / 0.0254 m is 11 811 dots a metre (ISO/IEC 15948, 11.3.5.3).
    assert_eq!((sheet.width, sheet.dots), (2008, Some((11_811, 11_811, true))));
    assert_eq!((sheet.text("Description"), sheet.text("Settings")), (CAPTION, SETTINGS));
    assert_eq!(sheet.text("Software"), limner::PROGRAM);
    // Every map pixel is an even square of the picture's colour: 4 picture pixels of 3 sheet pixels.
    assert_eq!((picture.width, picture.height), (4 * 150, 4 * 110));
    let first: Vec<u8> = picture.rgba.chunks_exact(4).take(600).flat_map(|p| [&p[..3]; 3].concat()).collect();
    let (left, top) = sheet.find(&first).unwrap();
    for (x, y) in (0..1800).step_by(13).flat_map(|x| (0..1320).step_by(17).map(move |y| (x, y))) {
        let at = ((y / 3 * picture.width + x / 3) * 4) as usize;
        assert_eq!(sheet.pixel(left + x, top + y), picture.rgba[at..at + 3], "{x} {y}");
    }
    // The colours of the key are on the sheet below the picture.
    for entry in &picture.key {
        let (KeyEntry::Light { full, half, .. } | KeyEntry::Both { full, half, .. }) = entry else {
            panic!()
        };
        for colour in [full, half] {
            let below = (top + 1320..sheet.height).flat_map(|y| (0..sheet.width).map(move |x| (x, y)));
            assert!(
                below.into_iter().filter(|&(x, y)| sheet.pixel(x, y) == colour.0).count() > 300,
                "{entry:?}"
            );
        }
    }
}

#[test]
fn the_scale_bar_is_as_long_as_it_says() {
    let planes = [plane(150, 110, 1)];
    for (width, part) in [(400, 150.0), (1000, 150.0), (2008, 150.0), (2008, 33.3), (3000, 77.0)] {
        let view = Window { width: part, height: part * 0.6, ..Window::whole(150, 110) };
        let size = PlateSize::new(Some(width), None, None).unwrap();
        let (bytes, picture) = of(&planes, view, size, "");
        let sheet = Decoded::of(&bytes);
        let bar = [24; 3];
        // The longest run of ink: no stroke of a letter is as long.
        let run = |y: u32| {
            let row: Vec<bool> = (0..sheet.width).map(|x| sheet.pixel(x, y) == bar).collect();
            row.split(|ink| !ink).map(<[bool]>::len).max().unwrap()
        };
        let longest = (0..sheet.height).map(run).max().unwrap() as f64;
        // 0.5 mm a map pixel, which the first row shows as runs of as many sheet pixels (all but the cut ones).
        let placed = placed(&view, size).unwrap();
        let picture_pixels = 1.0 / placed.window.map_per_picture().0;
        let row = picture.rgba.chunks_exact(4).take(picture.width as usize).flat_map(|p| p[..3].to_vec());
        let grain = sheet.grain_of(&row.collect::<Vec<u8>>());
        let mm_a_pixel = 0.5 / picture_pixels / f64::from(grain);
        let round = [1.0, 2.0, 5.0, 10.0, 20.0].map(|mm| mm / mm_a_pixel);
        let nearest =
            round.into_iter().min_by(|a, b| (a - longest).abs().total_cmp(&(b - longest).abs())).unwrap();
        assert!((nearest - longest).abs() <= 1.0, "{width} {part}: {longest} pixels, not {nearest}");
        let across = f64::from(picture.width * grain);
        assert!(longest <= across / 4.0 + 1.0 && longest > across / 11.0);
    }
}

#[test]
fn no_word_is_cut_whatever_the_caption() {
    let planes = [1, 2, 3, 4].map(|seed| plane(150, 110, seed));
    let long = "The quick survey of the lower margin, repeated. ".repeat(215);
    let no_spaces = "W".repeat(3000);
    let mixed =
        "שלום עולם — مرحبا بالعالم 🦀🖼️ e\u{301} \u{202e}abc\u{202c} 中文 \u{0} \t ends\r\nhere\n\nand here";
    for (name, caption, width) in [
        ("long", long.as_str(), 2008),
        ("no-spaces", &no_spaces, 1000),
        ("mixed", mixed, 1200),
        ("small", CAPTION, 400),
        ("large", CAPTION, 8000),
        ("blank", "", 700),
    ] {
        let size = PlateSize::new(Some(width), None, None).unwrap();
        let (bytes, _) = of(&planes, Window::whole(150, 110), size, caption);
        keep(name, &bytes);
        let sheet = Decoded::of(&bytes);
        let [left, top, right, bottom] = sheet.clear();
        let least = width / 60;
        assert!(
            left >= least && top >= least && right >= least && bottom >= least,
            "{name}: {:?}",
            sheet.clear()
        );
    }
}

#[test]
fn maps_of_any_shape_fit() {
    for (name, width, height) in [
        ("wide", 1200, 30),
        ("tall", 30, 1200),
        ("tiny", 3, 2),
        ("half", 900, 700),
        ("portrait", 500, 760),
        ("big", 3000, 2000),
    ] {
        let planes = [1, 2].map(|seed| plane(width, height, seed));
        let view = Window::whole(width, height);
        let (bytes, picture) = of(&planes, view, default_size(), CAPTION);
        keep(name, &bytes);
        let sheet = Decoded::of(&bytes);
        assert!(sheet.clear().into_iter().all(|edge| edge >= 30), "{name}: {:?}", sheet.clear());
        let shape = f64::from(picture.width) / f64::from(picture.height);
        let want = f64::from(width) / f64::from(height);
        assert!((shape / want - 1.0).abs() < 0.02, "{name}: {shape} {want}");
        assert!(sheet.height < 2 * sheet.width, "{name}: {} x {}", sheet.width, sheet.height);
    }
}

#[test]
fn pixels_that_are_not_square_and_parts_outside_of_the_map() {
    let planes = [plane(150, 110, 1)];
    let view = Window { out_height: Some(220), ..Window::whole(150, 110) };
    let (_, picture) = of(&planes, view, default_size(), "");
    assert!((f64::from(picture.height) / f64::from(picture.width) - 220.0 / 150.0).abs() < 0.01);
    let outside = Window { x: -30.0, y: -20.0, width: 100.0, height: 80.0, ..Window::whole(150, 110) };
    let (bytes, _) =
        of(&planes, outside, default_size(), "The upper left corner, with the surround around it.");
    keep("outside", &bytes);
    let sheet = Decoded::of(&bytes);
    let grey = (0..sheet.width).flat_map(|x| (0..sheet.height).map(move |y| (x, y)));
    assert!(grey.filter(|&(x, y)| sheet.pixel(x, y) == [154; 3]).count() > 500_000);
}

#[test]
fn classes_and_scales_have_their_key() {
    let size = default_size();
    let raster = Grid::from_vec(150, 110, (0..16_500u32).map(|i| (i % 150 / 25) as u8).collect()).unwrap();
    let labels = [
        "no data",
        "neither Ti K nor Fe K",
        "Ti K without Fe K",
        "Fe K without Ti K",
        "both Ti K and Fe K",
        "cannot be judged: saturated, at the rim of a strong feature, or Fe K would not have been seen",
    ]
    .map(str::to_owned);
    let placed = placed(&Window::whole(150, 110), size).unwrap();
    let window = placed.window;
    let classes = picture_of_classes(&raster, &labels, &window).unwrap();
    let bytes = draw(&content(&classes, placed, CAPTION), size).unwrap();
    keep("classes", &bytes);
    let sheet = Decoded::of(&bytes);
    let Some(KeyEntry::Class { colour, .. }) = classes.key.get(1) else { panic!() };
    let below = |y: u32| y > sheet.height * 2 / 3;
    let marks = (0..sheet.height).filter(|&y| below(y)).flat_map(|y| (0..sheet.width).map(move |x| (x, y)));
    let (mut ground, mut mark) = (0, 0);
    for (x, y) in marks {
        ground += u32::from(sheet.pixel(x, y) == colour.ground.0);
        mark += u32::from(sheet.pixel(x, y) == colour.mark.0);
    }
    // Dots of 2 x 2 in 5 x 5 pixels.
    assert!(mark > 500 && (f64::from(ground) / f64::from(mark) - 21.0 / 4.0).abs() < 1.0, "{ground} {mark}");
    let map = plane(150, 110, 2);
    let grey = MapScale {
        label: "counts".into(),
        colours: ColourScale::Grey,
        axis: Axis::new(ToneScale::Linear, 30.0, 1240.0),
        has_blank: true,
    };
    let mut single = picture_of_map(&map, &grey, &window).unwrap();
    let unknown = PlateContent {
        scale: Scale::Pixels,
        title: "",
        ..content(&single, placed, "Fe K, counts, 30 to 1\u{202f}031.")
    };
    keep("single", &draw(&unknown, size).unwrap());
    if let Some(KeyEntry::Bar { ticks, colours, .. }) = single.key.first_mut() {
        *colours = (0..=16).map(|i| limner::colour::diverging(f64::from(i) / 8.0 - 1.0)).collect();
        *ticks = (0..=8)
            .map(|i| limner::display::Tick {
                at: f64::from(i * i) / 64.0,
                text: format!("{}.25", i * 10_000),
            })
            .collect();
    }
    keep("ratio", &draw(&content(&single, placed, CAPTION), size).unwrap());
}

#[test]
fn sizes_that_cannot_be_made_are_refused_with_a_sentence() {
    let refused = |px, mm, dpi| PlateSize::new(px, mm, dpi).unwrap_err().message;
    assert!(refused(Some(399), None, None).contains("between 400 and 8000"));
    assert!(refused(None, Some(1000.0), Some(600.0)).contains("23622 pixels wide"));
    assert!(refused(None, Some(f64::NAN), None).contains("width_mm"));
    assert!(refused(Some(1000), Some(100.0), Some(300.0)).contains("leave one of them out"));
    assert!(refused(Some(1000), None, Some(0.0)).contains("dots per inch"));
    let from_both = PlateSize::new(Some(1000), Some(84.667), None).unwrap();
    assert!((from_both.dots_per_inch() - 300.0).abs() < 0.01);
    let picture = Picture { width: 2, height: 2, rgba: vec![0; 16], key: Vec::new() };
    let other = placed(&Window::whole(3, 2), default_size()).unwrap();
    assert!(draw(&content(&picture, other, ""), default_size()).is_err());
    let endless = "word ".repeat(200_000);
    let fitting = placed(&Window::whole(150, 110), default_size()).unwrap();
    let picture = overlay(&[plane(150, 110, 1)], &fitting.window);
    let fits = content(&picture, fitting, &endless);
    assert!(draw(&fits, default_size()).unwrap_err().message.contains("Shorten the caption"));
}
