//! Times the pictures of large maps: how long one takes after the pyramid is made, and how long that takes. Prints one
//! line for each task: its name, the mean processor time and the best time on the wall in milliseconds, and how often it ran.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a clock is what this is about

use limner::colour::{LIGHT_COLOURS, Rgb};
use limner::display::plate::{PlateContent, PlateSize, Scale, draw, placed};
use limner::display::{
    Axis, Light, MapScale, PhotoPyramid, picture_of_classes, picture_of_large_photo, picture_of_lights,
    picture_of_map,
};
use limner::geometry::Window;
use limner::grid::{Grid, Samples};
use limner::stack::{Plane, Reading};
use std::hint::black_box;
use std::time::Instant;

const SIDE: u32 = 4096;

/// Milliseconds that this thread has had of the processor, where the system tells (Linux, in steps of some milliseconds).
fn processor() -> Option<f64> {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    told.split(' ').next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds / 1e6)
}

/// Runs a task for about a second and a half. Prints the mean of the processor's time, which other programs hardly change, and the
/// shortest time on the wall.
fn timed(name: &str, mut task: impl FnMut()) {
    task();
    let (start, before) = (Instant::now(), processor());
    let (mut runs, mut best) = (0, f64::INFINITY);
    while runs < 3 || start.elapsed().as_secs_f64() < 1.5 {
        let one = Instant::now();
        task();
        best = best.min(one.elapsed().as_secs_f64() * 1e3);
        runs += 1;
    }
    let mean = before.zip(processor()).map_or(f64::NAN, |(before, now)| (now - before) / f64::from(runs));
    println!("{name}\t{mean:.1}\t{best:.1}\t{runs}");
}

/// Counts with broad features and noise, the same every time.
fn counts(seed: u32) -> Vec<u16> {
    let mut state = seed.wrapping_mul(0x9e37_79b9) | 1;
    let mut out = Vec::new();
    for y in 0..SIDE {
        for x in 0..SIDE {
            state ^= state << 13;
            state ^= state >> 17;
            state ^= state << 5;
            let feature = if (x / 300 + y / 200 + seed).is_multiple_of(3) { 400 } else { 40 };
            out.push((feature + state % 60) as u16);
        }
    }
    out
}

/// A window whose centre is the map's, `scale` picture pixels a map pixel.
fn window(scale: f64) -> Window {
    let (width, height) = (1000.0 / scale, 700.0 / scale);
    let middle = f64::from(SIDE) / 2.0;
    let (x, y) = (middle - width / 2.0, middle - height / 2.0);
    Window { x, y, width, height, out_width: 1000, out_height: Some(700) }
}

fn main() {
    let grid = |seed| Grid::from_vec(SIDE, SIDE, counts(seed)).unwrap();
    let planes: Vec<Plane> = (1..=3).map(|seed| Plane::new(Samples::U16(grid(seed)))).collect();
    let floats: Vec<f32> = counts(4).into_iter().map(f32::from).collect();
    let float = Plane::new(Samples::F32(Grid::from_vec(SIDE, SIDE, floats).unwrap()));
    let stated =
        planes[0].clone().read_as(Reading { fill_values: vec![65_535.0, 41.0], ..Reading::default() });
    for (name, plane) in [("u16", &planes[0]), ("f32", &float), ("u16 with fill values", &stated)] {
        timed(&format!("make the pyramid, {name}"), || {
            plane.clone().prepare().unwrap();
        });
    }
    timed("  of this: copy the map, u16", || {
        black_box(planes[0].clone());
    });
    for plane in planes.iter().chain([&float, &stated]) {
        plane.prepare().unwrap();
    }
    println!(
        "bytes of a pyramid\t{}\t{}",
        planes[0].pyramid().unwrap().bytes(),
        stated.pyramid().unwrap().bytes()
    );
    let fit = 700.0 / f64::from(SIDE);
    let scales = [
        ("an eighth of fit", fit / 8.0),
        ("half of fit", fit / 2.0),
        ("fit", fit),
        ("1:2", 0.5),
        ("1:1", 1.0),
        ("4:1", 4.0),
    ];
    let mut moved = 0.0;
    for (name, scale) in scales {
        timed(&format!("overlay of three, {name}"), || {
            moved += 1.0;
            let lights: Vec<Light<'_>> = planes
                .iter()
                .zip(LIGHT_COLOURS)
                .map(|(plane, colour)| Light {
                    label: String::new(),
                    plane,
                    colour,
                    low: 60.0,
                    high: 450.0 + moved,
                    gamma: 2.0,
                    scale: limner::display::Scale::Linear,
                })
                .collect();
            black_box(picture_of_lights(&lights, &window(scale)).unwrap());
        });
    }
    for (kind, plane) in [("u16", &planes[0]), ("f32", &float), ("u16 with fill values", &stated)] {
        for (name, scale) in scales {
            timed(&format!("one map, {kind}, {name}"), || {
                moved += 1.0;
                let scale_of = MapScale {
                    label: String::new(),
                    colours: limner::colour::ColourScale::Grey,
                    axis: Axis::new(limner::display::Scale::Linear, 0.0, 300.0 + moved),
                    has_blank: false,
                };
                black_box(picture_of_map(plane, &scale_of, &window(scale)).unwrap());
            });
        }
    }
    let size = PlateSize::new(None, None, None).unwrap();
    let placed = placed(&Window::whole(SIDE, SIDE), size).unwrap();
    let grey = MapScale {
        label: "counts".into(),
        colours: limner::colour::ColourScale::Grey,
        axis: Axis::new(limner::display::Scale::Linear, 0.0, 460.0),
        has_blank: false,
    };
    timed("one map kept as a picture of 170 mm at 300 dpi", || {
        let picture = &picture_of_map(&planes[0], &grey, &placed.window).unwrap();
        let (title, caption, settings) = ("A map", "Counts.", "{}");
        let content = PlateContent { title, picture, placed, scale: Scale::Pixels, caption, settings };
        black_box(draw(&content, size).unwrap());
    });
    let classes =
        Grid::from_vec(10_000, 10_000, (0..100_000_000u32).map(|i| (i / 700 % 5) as u8).collect()).unwrap();
    let labels = ["0", "1", "2", "3", "4", "5"].map(str::to_owned);
    let far = Window { out_width: 1000, ..Window::whole(10_000, 10_000) };
    timed("classes of 100 Mpx, whole", || {
        black_box(picture_of_classes(&classes, &labels, &far).unwrap());
    });
    let photo: Vec<[u8; 3]> =
        (0..100_000_000u32).map(|i| Rgb([(i / 7) as u8, (i / 999) as u8, i as u8]).0).collect();
    let photo = Grid::from_vec(10_000, 10_000, photo).unwrap();
    timed("make the pyramid of a photo of 100 Mpx", || {
        black_box(PhotoPyramid::build(&photo, (photo.width(), photo.height()), 1).unwrap());
    });
    let pyramid = PhotoPyramid::build(&photo, (photo.width(), photo.height()), 1).unwrap();
    timed("photo of 100 Mpx, whole", || {
        black_box(picture_of_large_photo(&photo, &pyramid, &far).unwrap());
    });
}
