use super::*;
use crate::grid::{Grid, Samples};

fn sampled(values: Vec<f64>, width: u32, window: &Window) -> Vec<Sampled> {
    let height = values.len() as u32 / width;
    let plane = Plane::new(Samples::F64(Grid::from_vec(width, height, values).unwrap()));
    let mut sampler = Sampler::new(window, width, height).unwrap();
    let mut out = Vec::new();
    for y in 0..window.out_height() {
        sampler.row_of(&plane, y, |_, value| out.push(value)).unwrap();
    }
    out
}

#[test]
fn means_are_by_area_and_leave_blanks_out() {
    use Sampled::Value;
    let whole = Window { out_width: 2, ..Window::whole(4, 2) };
    let got = sampled(vec![1.0, 3.0, 10.0, f64::NAN, 5.0, 7.0, 20.0, f64::NAN], 4, &whole);
    assert_eq!(got, [Value(4.0), Value(15.0)]);
    let thirds = Window { out_width: 2, ..Window::whole(3, 1) };
    // 1.5 pixels each: (0 + 6/2) / 1.5 and (6/2 + 12) / 1.5.
    assert_eq!(sampled(vec![0.0, 6.0, 12.0], 3, &thirds), [Value(2.0), Value(10.0)]);
}

#[test]
fn magnified_pixels_are_squares_and_outside_is_outside() {
    use Sampled::{Blank, Outside, Value};
    let window = Window { x: -1.0, width: 4.0, out_width: 8, ..Window::whole(2, 1) };
    let got = sampled(vec![3.0, f64::NAN], 2, &window);
    let row = [Outside, Outside, Value(3.0), Value(3.0), Blank, Blank, Outside, Outside];
    assert_eq!(got, [row, row].concat());
}

/// A large map with edges, lines, noise and blanks, and the mean straight from the definition.
fn large() -> (Vec<f32>, u32, u32) {
    let (width, height) = (1187u32, 953u32);
    let mut state = 1u32;
    let values = (0..width * height).map(|i| {
        let (x, y) = (i % width, i / width);
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let field = if (x / 97 + y / 61) % 2 == 0 { 900.0 } else { 100.0 };
        if (x / 40) % 9 == 4 && y % 50 < 20 { f32::NAN } else { field + (state >> 25) as f32 }
    });
    (values.collect(), width, height)
}

fn by_definition(values: &[f32], (width, height): (u32, u32), window: &Window, x: u32, y: u32) -> (f64, f64) {
    let (step_x, step_y) = window.map_per_picture();
    let ends = |start: f64, step: f64, at: u32, length: u32| {
        let low = (start + f64::from(at) * step).max(0.0);
        (low, (start + f64::from(at + 1) * step).min(f64::from(length)))
    };
    let (left, right) = ends(window.x, step_x, x, width);
    let (top, bottom) = ends(window.y, step_y, y, height);
    let share =
        |low: f64, high: f64, at: u32| (high.min(f64::from(at) + 1.0) - low.max(f64::from(at))).max(0.0);
    let (mut sum, mut area) = (0.0, 0.0);
    for line in top as u32..(bottom.ceil() as u32).min(height) {
        for column in left as u32..(right.ceil() as u32).min(width) {
            let value = f64::from(values[(line * width + column) as usize]);
            if value.is_finite() {
                let part = share(left, right, column) * share(top, bottom, line);
                (sum, area) = (sum + part * value, area + part);
            }
        }
    }
    (sum / area, area / (step_x * step_y))
}

/// Largest and root mean square error of picture pixels that are full of data, and how many these are.
fn errors(step: f64) -> (f64, f64, u32) {
    let (values, width, height) = large();
    let plane = Plane::new(Samples::F32(Grid::from_vec(width, height, values.clone()).unwrap()));
    assert!(plane.is_large());
    let (wide, high) = (60.0 * step, 40.0 * step);
    let window = Window { x: -11.3, y: 5.7, width: wide, height: high, out_width: 60, out_height: Some(40) };
    let mut sampler = Sampler::new(&window, width, height).unwrap();
    let (mut largest, mut squares, mut count) = (0.0f64, 0.0, 0u32);
    for y in 0..40 {
        let each = |x: usize, sampled: Sampled| {
            let want = || by_definition(&values, (width, height), &window, x as u32, y);
            let Sampled::Value(got) = sampled else {
                let is_outside = sampled == Sampled::Outside;
                return assert!(is_outside || want().0.is_nan(), "{step}: {x} {y}");
            };
            assert!((100.0..=1028.0).contains(&got), "{got}");
            let (want, share) = want();
            if share > 0.999 {
                let error = (got - want).abs();
                (largest, squares, count) = (largest.max(error), squares + error * error, count + 1);
            }
        };
        sampler.row_of(&plane, y, each).unwrap();
    }
    (largest, (squares / f64::from(count)).sqrt(), count)
}

#[test]
fn large_maps_show_the_mean_by_area_to_a_stated_error() {
    // Below 8 map pixels a picture pixel the map's own are read: nothing but single precision.
    for step in [1.7, 7.9] {
        let (largest, mean, count) = errors(step);
        assert!(count > 1000 && largest <= 1e-3 && mean <= 1e-4, "{step}: {largest} {mean} {count}");
    }
    // From 8 on a border may cut cells. One that cuts off the part a of a cell whose light half lies there gives
    // at most a (1 - a), so a quarter of the cell, to the wrong side; with two cells a side that is an eighth of
    // the picture pixel for each of its borders: of the 928 between the darkest and the lightest value of this
    // map 116 for one border with an edge along it, 232 for two. The mean over this map, which is all edges, is
    // far below.
    for step in [8.0, 13.1, 16.5, 23.0, 40.3] {
        let (largest, mean, count) = errors(step);
        assert!(count > 100 && largest <= 232.0 && mean <= 46.0, "{step}: {largest} {mean} {count}");
    }
}

#[test]
fn cells_that_lie_as_picture_pixels_do_lose_nothing() {
    let (values, width, height) = large();
    let plane = Plane::new(Samples::F32(Grid::from_vec(width, height, values.clone()).unwrap()));
    let window = Window { x: 16.0, y: 8.0, width: 960.0, height: 800.0, out_width: 60, out_height: Some(50) };
    let mut sampler = Sampler::new(&window, width, height).unwrap();
    let mut seen = 0;
    for y in 0..50 {
        sampler
            .row_of(&plane, y, |x, sampled| {
                if let Sampled::Value(got) = sampled {
                    let (want, _) = by_definition(&values, (width, height), &window, x as u32, y);
                    assert!((got - want).abs() < 1e-3, "{x} {y}: {got} {want}");
                    seen += 1;
                }
            })
            .unwrap();
    }
    assert!(seen > 2900, "{seen}");
}
