//! A file that claims to be huge is refused before memory is taken: measured by an allocator that counts. One test
//! only, because the counter counts for the whole program.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)]
#![allow(unsafe_code)] // an allocator cannot be written without

#[allow(dead_code)]
#[path = "odd/making.rs"]
mod making;

use limner::reading::read;
use making::{
    PNG_START, Packed, chunk, deflated, npy, packed, plain_tags, png_header, tiff, with, without, zip_of,
};
use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicUsize, Ordering};

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

/// What a refusal may take beside the file itself: buffers of decoders and sentences.
const ALLOWED: usize = 2_000_000;

#[test]
fn what_claims_to_be_huge_is_refused_without_the_memory() {
    let pixels = [0u8; 12];
    let plain = || plain_tags(3, 2, 16, 12);
    let of = |changed: &[_]| tiff(&with(plain(), changed), &pixels);
    let tiles = |side: u32| {
        let tags = without(plain(), &[273, 278, 279]);
        let tiled = [
            (322, 4, 1, side),
            (323, 4, 1, side),
            (324, 4, 1, 8),
            (325, 4, 1, 12),
            (317, 3, 1, 3),
            (339, 3, 1, 3),
        ];
        tiff(&with(tags, &[&tiled[..], &[(258, 3, 1, 32), (259, 3, 1, 8)]].concat()), &pixels)
    };
    let claim = |side: u32| {
        let data = deflated(&[0; 1000]);
        [PNG_START, &png_header(side, side, 0, 16), &chunk(b"IDAT", &data), &chunk(b"IEND", &[])].concat()
    };
    let zeros = packed(&[0; 100_000]);
    let bomb =
        |unpacked| zip_of(&[Packed { name: "a", data: &zeros, method: 8, flags: 0, unpacked, checksum: 0 }]);
    let mut jpeg = making::jpeg(16, 16);
    let frame = jpeg.windows(2).position(|pair| pair == [0xff, 0xc0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0x27, 0x0f, 0x27, 0x0f]);
    let cases = [
        ("TIFF of 60000 × 60000", of(&[(256, 4, 1, 60_000), (257, 4, 1, 60_000)])),
        ("TIFF of 9999 × 9999, deflated", of(&[(256, 4, 1, 9999), (257, 4, 1, 9999), (259, 3, 1, 8)])),
        ("TIFF of 9999 × 9999, plain", of(&[(256, 4, 1, 9999), (257, 4, 1, 9999)])),
        ("TIFF with a billion strips", of(&[(273, 4, 1_000_000_000, 8), (279, 4, 1_000_000_000, 8)])),
        ("TIFF with a billion bits per sample", of(&[(258, 3, 1_000_000_000, 8)])),
        ("TIFF with tiles of 4 billion a side", tiles(u32::MAX)),
        ("TIFF with tiles of 100000 a side", tiles(100_000)),
        ("PNG of 60000 × 60000", claim(60_000)),
        ("PNG of 9999 × 9999", claim(9999)),
        ("JPEG of 9999 × 9999", jpeg),
        ("NPY of 60000 × 60000", npy("<f8", "False", "(60000, 60000)", &pixels)),
        ("NPY of 9999 × 9999", npy("<f8", "False", "(9999, 9999)", &pixels)),
        ("NPY with a header of 4 GB", b"\x93NUMPY\x02\x00\xff\xff\xff\xff{'descr'".to_vec()),
        ("ZIP of 1.9 GB", bomb(1_900_000_000)),
        ("ZIP of 4 GB", bomb(4_000_000_000)),
    ];
    for (name, bytes) in &cases {
        let before = HELD.load(Ordering::Relaxed);
        MOST.store(before, Ordering::Relaxed);
        let outcome = read(bytes, None);
        let taken = MOST.load(Ordering::Relaxed) - before;
        println!(
            "{name}: {taken} bytes; {}",
            outcome.as_ref().map_or_else(|f| f.to_string(), |_| "read".into())
        );
        // An archive with a refused file in it is an archive whose only file was refused: an error too.
        assert!(outcome.is_err(), "{name} was read");
        assert!(taken < ALLOWED, "{name} took {taken} bytes");
    }
}
