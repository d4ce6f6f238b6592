use super::super::{picture_of_large_photo, picture_of_photo};
use super::*;
use crate::geometry::PlaneTransform;

fn plane(transform: PlaneTransform) -> Transform {
    Transform::Plane(transform)
}

fn affine(across: [f64; 3], down: [f64; 3]) -> Transform {
    plane(PlaneTransform::affine(across, down).unwrap())
}

/// Runs, edges and single pixels.
fn patterned_photo(width: u32, height: u32) -> Grid<[u8; 3]> {
    let pixels = (0..width * height).map(|i| {
        let (x, y) = (i % width, i / width);
        [(x * 3 % 256) as u8, (y * 5 % 256) as u8, if (x / 9 + y / 7) % 2 == 0 { 220 } else { 30 }]
    });
    Grid::from_vec(width, height, pixels.collect()).unwrap()
}

struct Held {
    size: (u32, u32),
    pixels: Grid<[u8; 3]>,
    pyramid: PhotoPyramid,
    transform: Transform,
}

impl Held {
    fn new(pixels: Grid<[u8; 3]>, transform: Transform) -> Self {
        let size = (pixels.width(), pixels.height());
        Self { size, pyramid: PhotoPyramid::build(&pixels, size, 1).unwrap(), pixels, transform }
    }

    fn laid(&self) -> LaidPhoto<'_> {
        LaidPhoto {
            size: self.size,
            pixels: &self.pixels,
            pyramid: &self.pyramid,
            transform: &self.transform,
        }
    }
}

/// The largest difference of two pictures in linear light, over all channels; they reach equally far.
fn apart_in_light(a: &Picture, b: &Picture) -> f64 {
    let linear = linear();
    let channels = a.rgba.chunks_exact(4).zip(b.rgba.chunks_exact(4)).flat_map(|(a, b)| {
        assert_eq!(a[3], b[3]);
        (0..3).map(|c| f64::from((linear[usize::from(a[c])] - linear[usize::from(b[c])]).abs()))
    });
    channels.fold(0.0, f64::max)
}

#[test]
fn unmoved_and_unscaled_it_is_the_photo_itself() {
    let held = Held::new(patterned_photo(203, 131), plane(PlaneTransform::identity()));
    let whole = Window::whole(203, 131);
    let picture = picture_of_laid_photo(&held.laid(), &whole).unwrap();
    assert_eq!(picture, picture_of_photo(&held.pixels, &whole).unwrap());
    // Also where the window reaches beyond it.
    let beyond = Window { x: -20.0, y: 40.0, width: 260.0, height: 120.0, out_width: 260, out_height: None };
    let picture = picture_of_laid_photo(&held.laid(), &beyond).unwrap();
    assert_eq!(picture, picture_of_photo(&held.pixels, &beyond).unwrap());
}

#[test]
fn made_smaller_it_is_the_mean_by_area_as_of_a_photo_in_its_own_pixels() {
    let held = Held::new(patterned_photo(203, 131), affine([0.5, 0.0, 3.0], [0.0, 0.5, 2.0]));
    // The same window, on the grid and in the photo.
    let on_grid = Window { x: 1.0, y: 1.5, width: 104.0, height: 70.0, out_width: 60, out_height: Some(41) };
    let in_photo = Window { x: -4.0, y: -1.0, width: 208.0, height: 140.0, ..on_grid };
    let (laid, own) = (
        picture_of_laid_photo(&held.laid(), &on_grid).unwrap(),
        picture_of_photo(&held.pixels, &in_photo).unwrap(),
    );
    let apart = laid.rgba.iter().zip(&own.rgba).map(|(a, b)| a.abs_diff(*b)).max();
    assert!(apart <= Some(1), "{apart:?}");
}

#[test]
fn of_a_large_photo_the_level_is_used_whose_cells_are_a_picture_pixel() {
    let held = Held::new(patterned_photo(1600, 1200), affine([0.25, 0.0, 0.0], [0.0, 0.25, 0.0]));
    let window = Window::whole(400, 300);
    let laid = picture_of_laid_photo(&held.laid(), &window).unwrap();
    // Cells lie as the picture's pixels do, so it is exact but for the cells' rounding to 8 bits.
    let own = picture_of_photo(&held.pixels, &Window { width: 1600.0, height: 1200.0, ..window }).unwrap();
    assert!(laid.rgba.iter().zip(&own.rgba).all(|(a, b)| a.abs_diff(*b) <= 1));
    // Off them a cell is taken to be even: in light at most a quarter of a cell's edge goes to the neighbour.
    let odd = Window { x: 0.3, y: 0.6, width: 380.0, height: 290.0, out_width: 211, out_height: Some(160) };
    let laid = picture_of_laid_photo(&held.laid(), &odd).unwrap();
    let in_photo = Window { x: 1.2, y: 2.4, width: 1520.0, height: 1160.0, ..odd };
    let own = picture_of_large_photo(&held.pixels, &held.pyramid, &in_photo).unwrap();
    assert!(apart_in_light(&laid, &own) < 0.3);
}

#[test]
fn a_photo_of_which_only_means_are_kept_lies_where_all_of_it_would() {
    let full = patterned_photo(901, 602);
    let whole = Held::new(full.clone(), affine([0.1, 0.01, 3.0], [-0.01, 0.1, 2.0]));
    let mut means = crate::colour::Means::new((901, 602), 3, (false, false)).unwrap();
    full.rows().for_each(|row| means.push(row));
    let pixels = means.finish().unwrap();
    let pyramid = PhotoPyramid::build(&pixels, (901, 602), 3).unwrap();
    let kept = Held { size: (901, 602), pixels, pyramid, transform: whole.transform.clone() };
    let window = Window { x: 0.0, y: 0.0, width: 100.0, height: 70.0, out_width: 100, out_height: None };
    let (all, means) = (
        picture_of_laid_photo(&whole.laid(), &window).unwrap(),
        picture_of_laid_photo(&kept.laid(), &window).unwrap(),
    );
    // Ten pixels of the photo on one of the picture, from cells of four and of three: only cells that a border cuts differ, and an
    // edge that were off by one of them would be 0.2.
    assert!(apart_in_light(&all, &means) < 0.15, "{}", apart_in_light(&all, &means));
}

#[test]
fn between_two_pixels_light_is_mixed_and_beyond_the_last_nothing_is_drawn() {
    let pair = Grid::from_vec(2, 1, vec![[0; 3], [255; 3]]).unwrap();
    let held = Held::new(pair, affine([4.0, 0.0, 0.0], [0.0, 4.0, 0.0]));
    let window = Window { x: -1.0, y: 1.0, width: 10.0, height: 1.0, out_width: 10, out_height: None };
    let picture = picture_of_laid_photo(&held.laid(), &window).unwrap();
    // Centres lie at -0.125, 0.125, ... 2.125 of the photo; light between centres 0.5 and 1.5 rises evenly: 1/8, 3/8, 5/8, 7/8.
    // Their sRGB steps by the formula of IEC 61966-2-1, computed by hand.
    let got: Vec<[u8; 2]> = picture.rgba.chunks_exact(4).map(|p| [p[0], p[3]]).collect();
    let on = |step: u8| [step, 255];
    assert_eq!(
        got,
        [[0, 0], on(0), on(0), on(99), on(165), on(207), on(240), on(255), on(255), [0, 0]],
        "{got:?}"
    );
}

#[test]
fn turned_by_a_quarter_it_is_the_turned_photo() {
    let pixels = patterned_photo(90, 70);
    let turn = crate::geometry::Orientation::new(1, true);
    let turned = pixels.oriented(turn).unwrap();
    let held = Held::new(pixels, plane(PlaneTransform::laid(turn, (90, 70))));
    let window = Window::whole(70, 90);
    let picture = picture_of_laid_photo(&held.laid(), &window).unwrap();
    assert_eq!(picture, picture_of_photo(&turned, &window).unwrap());
}

#[test]
fn aslant_it_is_drawn_up_to_the_horizon() {
    // The horizon is where 1 - x/40 is 0 on the way back.
    let back = PlaneTransform::new([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, -1.0 / 40.0, 0.0, 1.0]).unwrap();
    let held = Held::new(patterned_photo(2000, 100), plane(back.inverse()));
    let window = Window { x: 0.0, y: 0.0, width: 80.0, height: 4.0, out_width: 160, out_height: None };
    let picture = picture_of_laid_photo(&held.laid(), &window).unwrap();
    let reached: Vec<bool> = picture.rgba.chunks_exact(4).take(160).map(|p| p[3] == 255).collect();
    assert!(reached[..70].iter().all(|&on| on) && !reached[80..].iter().any(|&on| on));
}

#[test]
fn light_of_maps_and_photo_is_mixed_by_hand() {
    let photo = Grid::from_vec(2, 1, vec![[255, 0, 188]; 2]).unwrap();
    let held = Held::new(photo, plane(PlaneTransform::identity()));
    let maps = |rgba: Vec<u8>| Picture { width: 3, height: 1, rgba, key: Vec::new() };
    let window = Window::whole(3, 1);
    let before = vec![0, 255, 99, 255, 0, 0, 0, 0, 10, 20, 30, 255];
    let mut mixed = maps(before.clone());
    mix_photo(&mut mixed, &held.laid(), &window, 0.4).unwrap();
    // Red: 0.4 of full light is the step 170; green: 0.6 is 203; blue: 0.6 of 0.1248 (step 99) and 0.4 of 0.5029 (step 188)
    // are 0.2760, the step 143 (IEC 61966-2-1, by hand). Beside the maps stays empty; beyond the photo they stand alone.
    assert_eq!(mixed.rgba, [170, 203, 143, 255, 0, 0, 0, 0, 10, 20, 30, 255]);
    let mut none = maps(before.clone());
    mix_photo(&mut none, &held.laid(), &window, 0.0).unwrap();
    assert_eq!(none.rgba, before);
    let mut whole = maps(before);
    mix_photo(&mut whole, &held.laid(), &window, 1.0).unwrap();
    assert_eq!(whole.rgba, [255, 0, 188, 255, 0, 0, 0, 0, 10, 20, 30, 255]);
}

#[test]
fn a_line_divides_maps_and_photo_both_ways() {
    let held =
        Held::new(Grid::from_vec(6, 4, vec![[9, 9, 9]; 24]).unwrap(), plane(PlaneTransform::identity()));
    let window = Window::whole(8, 4);
    let divided = |at: f64, along: Along| {
        let mut picture = Picture { width: 8, height: 4, rgba: [7, 7, 7, 255].repeat(32), key: Vec::new() };
        divide_by_photo(&mut picture, &held.laid(), &window, at, along).unwrap();
        let shades: Vec<u8> =
            picture.rgba.chunks_exact(4).map(|p| if p[3] == 0 { 1 } else { p[0] }).collect();
        shades
    };
    // Maps, the hairs, the photo, and nothing where it does not reach.
    assert_eq!(divided(0.5, Along::X), [7, 7, 7, 0, 255, 9, 1, 1].repeat(4));
    let flat = [[7; 8], [0; 8], [255, 255, 255, 255, 255, 255, 1, 1], [9, 9, 9, 9, 9, 9, 1, 1]].concat();
    assert_eq!(divided(0.5, Along::Y), flat);
    assert_eq!(divided(0.0, Along::X), [255, 9, 9, 9, 9, 9, 1, 1].repeat(4));
    assert_eq!(divided(1.0, Along::X), [7, 7, 7, 7, 7, 7, 7, 0].repeat(4));
}
