//! Times the pictures of large maps: how long one takes after the pyramid is made, and how long that takes. Prints one
//! line for each task: its name and the best and the median of its runs in milliseconds.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a clock is what this is about

use limner::colour::{LIGHT_COLOURS, Rgb};
use limner::display::{
    GreyScale, Light, PhotoPyramid, picture_of_classes, picture_of_large_photo, picture_of_lights,
    picture_of_map,
};
use limner::geometry::Window;
use limner::grid::{Grid, Samples};
use limner::stack::{Plane, Reading};
use std::hint::black_box;
use std::time::Instant;

const SIDE: u32 = 4096;

/// Milliseconds that this thread has had of the processor, where the system tells (Linux); a clock on the wall counts
/// what other programs do as well.
fn clock(start: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds = told.split(' ').next().and_then(|n| n.parse::<f64>().ok());
    nanoseconds.map_or_else(|| start.elapsed().as_secs_f64() * 1e3, |n| n / 1e6)
}

fn timed(name: &str, runs: usize, mut task: impl FnMut()) {
    let start = Instant::now();
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let before = clock(start);
            task();
            clock(start) - before
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("{name}\t{:.1}\t{:.1}", times[0], times[runs / 2]);
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
            let feature = if (x / 300 + y / 200 + seed) % 3 == 0 { 400 } else { 40 };
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
        timed(&format!("make the pyramid, {name}"), 5, || {
            plane.clone().prepare().unwrap();
        });
    }
    timed("  of this: copy the map, u16", 5, || {
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
        timed(&format!("overlay of three, {name}"), 15, || {
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
                })
                .collect();
            black_box(picture_of_lights(&lights, &window(scale)).unwrap());
        });
    }
    for (kind, plane) in [("u16", &planes[0]), ("f32", &float), ("u16 with fill values", &stated)] {
        for (name, scale) in scales {
            timed(&format!("one map, {kind}, {name}"), 15, || {
                moved += 1.0;
                let scale_of =
                    GreyScale { label: String::new(), low: 0.0, high: 300.0 + moved, has_blank: false };
                black_box(picture_of_map(plane, &scale_of, &window(scale)).unwrap());
            });
        }
    }
    let classes =
        Grid::from_vec(10_000, 10_000, (0..100_000_000u32).map(|i| (i / 700 % 5) as u8).collect()).unwrap();
    let labels = ["0", "1", "2", "3", "4", "5"].map(str::to_owned);
    let far = Window { out_width: 1000, ..Window::whole(10_000, 10_000) };
    timed("classes of 100 Mpx, whole", 5, || {
        black_box(picture_of_classes(&classes, &labels, &far).unwrap());
    });
    let photo: Vec<[u8; 3]> =
        (0..100_000_000u32).map(|i| Rgb([(i / 7) as u8, (i / 999) as u8, i as u8]).0).collect();
    let photo = Grid::from_vec(10_000, 10_000, photo).unwrap();
    timed("make the pyramid of a photo of 100 Mpx", 3, || {
        black_box(PhotoPyramid::build(&photo).unwrap());
    });
    let pyramid = PhotoPyramid::build(&photo).unwrap();
    timed("photo of 100 Mpx, whole", 5, || {
        black_box(picture_of_large_photo(&photo, &pyramid, &far).unwrap());
    });
}
