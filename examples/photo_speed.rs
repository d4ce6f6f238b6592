//! Time and memory of large photos, from the bytes of the file to what is kept.
//!
//!     cargo run --release --example photo_speed            JPEGs of 60 and 100 million pixels, made here
//!     cargo run --release --example photo_speed -- FILE .. files at hand

#![allow(clippy::unwrap_used, clippy::disallowed_methods, missing_docs)]
#![allow(unsafe_code)] // an allocator cannot be written without

use image::ImageEncoder;
use image::codecs::jpeg::JpegEncoder;
use limner::display::PhotoPyramid;
use limner::reading::read_photo;
use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

struct Counting;

static HELD: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

// SAFETY: every call goes to the system's allocator unchanged; only counters are kept beside it.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let held = HELD.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        MOST.fetch_max(held, Ordering::Relaxed);
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        HELD.fetch_sub(layout.size(), Ordering::Relaxed);
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// A photo of noise over gradients, as a JPEG.
fn made(width: u32, height: u32) -> Vec<u8> {
    let mut state = 1u32;
    let mut noise = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 27) as u8
    };
    let pixels: Vec<u8> = (0..height)
        .flat_map(|y| (0..width).map(move |x| (x, y)))
        .flat_map(|(x, y)| {
            let grain = noise();
            [(x / 40) as u8 / 2 + grain, (y / 30) as u8 / 2 + grain, ((x + y) / 64) as u8 / 2 + grain]
        })
        .collect();
    let mut file = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut file, 85);
    encoder.write_image(&pixels, width, height, image::ExtendedColorType::Rgb8).unwrap();
    file
}

fn measure(name: &str, file: &[u8]) {
    let before = HELD.load(Ordering::Relaxed);
    MOST.store(before, Ordering::Relaxed);
    let start = Instant::now();
    let Some(outcome) = read_photo(file, None) else { return println!("{name}: no photo alone") };
    let decoded = match outcome {
        Ok(decoded) => decoded,
        Err(finding) => return println!("{name}: {finding}"),
    };
    let read = start.elapsed().as_secs_f64();
    let most = MOST.load(Ordering::Relaxed) - before;
    let photo = decoded.photo;
    let start = Instant::now();
    PhotoPyramid::build(&photo.pixels, photo.size, photo.factor).unwrap();
    let pyramid = start.elapsed().as_secs_f64();
    println!(
        "{name}: {} × {}, file {:.1} MB, read in {read:.2} s with {:.0} MB at most, kept 1/{} {:.0} MB, levels in {pyramid:.2} s",
        photo.size.0,
        photo.size.1,
        file.len() as f64 / 1e6,
        most as f64 / 1e6,
        photo.factor,
        photo.pixels.len() as f64 * 3.0 / 1e6,
    );
}

fn main() {
    let files: Vec<String> = std::env::args().skip(1).collect();
    if files.is_empty() {
        for (width, height) in [(9000, 6667), (12_000, 8334)] {
            measure("JPEG made here", &made(width, height));
        }
    }
    for name in files {
        measure(&name, &std::fs::read(&name).unwrap());
    }
}
