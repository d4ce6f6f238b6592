//! Values worked out by hand.

use super::*;

fn near(got: f64, want: f64) {
    assert!((got - want).abs() < 1e-12, "{got} {want}");
}

fn upper_left() -> ObjectFrame {
    ObjectFrame { corner: Corner::UpperLeft, at: (10.0, 20.0), across: (110.0, 20.0), down: (10.0, 220.0) }
}

#[test]
fn distances_of_a_straight_object() {
    let step = Step::new(500.0, 250.0);
    let exact = Limits { marking_px: 0.0, ..Limits::default() };
    let place = upper_left().place((60.0, 140.0), step, &exact).unwrap();
    // 50 pixels of 0.5 mm; 120 of 0.25 mm; half a step each.
    near(place.from_side, 25.0);
    near(place.from_level, 30.0);
    near(place.from_side_plus_minus, 0.25);
    near(place.from_level_plus_minus, 0.125);
    assert!(place.is_mm && place.plus_minus() == 0.25);
    let beside = upper_left().place((4.0, 10.0), step, &exact).unwrap();
    near(beside.from_side, -3.0);
    near(beside.from_level, -2.5);
    let pixels = upper_left().place((60.0, 140.0), None, &Limits::default()).unwrap();
    near(pixels.from_side, 50.0);
    near(pixels.from_level, 120.0);
    assert!(!pixels.is_mm);
}

#[test]
fn the_other_corners_count_from_their_own_edges() {
    let frame = ObjectFrame {
        corner: Corner::LowerRight,
        at: (110.0, 220.0),
        across: (10.0, 220.0),
        down: (110.0, 20.0),
    };
    let place = frame.place((60.0, 140.0), None, &Limits::default()).unwrap();
    near(place.from_side, 50.0);
    near(place.from_level, 80.0);
    assert_eq!((place.corner.side(), place.corner.level()), ("right", "lower"));
    let beyond = frame.place((113.0, 140.0), None, &Limits::default()).unwrap();
    near(beyond.from_side, -3.0);
}

#[test]
fn edges_that_are_aslant_are_measured_at_right_angles() {
    // The upper edge rises by 3 on 4; the left edge is vertical. In pixels of 1 mm.
    let frame =
        ObjectFrame { corner: Corner::UpperLeft, at: (0.0, 0.0), across: (40.0, -30.0), down: (0.0, 100.0) };
    let place = frame.place((40.0, 20.0), Step::new(1000.0, 1000.0), &Limits::default()).unwrap();
    near(place.from_side, 40.0);
    // 50 below the edge at this column, times 4/5.
    near(place.from_level, 40.0);
    // A step down of twice the size makes it the line through (0, 0) and (40, -60) in mm; (40, 40) is 100 below, times
    // 40 / sqrt(40² + 60²). That is steeper than an upper edge may be.
    let step = Step::new(1000.0, 2000.0);
    assert_eq!(frame.trouble(step), Some(ObjectTrouble::OtherCorner { corner: Corner::UpperLeft }));
    let flatter = ObjectFrame { across: (60.0, -20.0), ..frame };
    // In mm (60, -40); at (30, 40) the edge is at -20: 60 times 60 / sqrt(60² + 40²).
    let place = flatter.place((30.0, 20.0), step, &Limits::default()).unwrap();
    near(place.from_level, 60.0 * 60.0 / 5200.0f64.sqrt());
}

#[test]
fn the_lever_of_the_marks_counts() {
    let step = Step::new(1000.0, 1000.0);
    let at =
        |x: f64, limits: &Limits| upper_left().place((x, 120.0), step, limits).unwrap().from_level_plus_minus;
    let limits = Limits::default();
    // At a mark: that mark's 0.5 and the place's own 0.5.
    near(at(10.0, &limits), 0.5f64.sqrt());
    near(at(110.0, &limits), 0.5f64.sqrt());
    // Half way: (1/4 + 1/4) * 0.25 + 0.25.
    near(at(60.0, &limits), 0.375f64.sqrt());
    // Twice as far as the mark: (1 + 4) * 0.25 + 0.25.
    near(at(210.0, &limits), 1.5f64.sqrt());
    // The alignment shifts both marks: 2² / 2 more, not halved half way, and with the lever beyond.
    let photo = Limits { alignment_px: 2.0, ..limits };
    near(at(60.0, &photo), 2.375f64.sqrt());
    near(at(210.0, &photo), 11.5f64.sqrt());
    // A beam of 3 mm instead of the step of 1 mm.
    near(at(60.0, &Limits { beam_um: Some(3000.0), ..limits }), (0.125 + 2.25f64).sqrt());
    near(at(60.0, &Limits { beam_um: Some(300.0), ..limits }), 0.375f64.sqrt());
}

#[test]
fn marks_that_give_no_edges_are_refused() {
    let frame = upper_left();
    assert_eq!(frame.trouble(None), None);
    let cases = [
        (ObjectFrame { across: (12.0, 20.0), ..frame }, ObjectTrouble::TooNear { edge: "upper" }),
        (ObjectFrame { down: (10.0, 24.0), ..frame }, ObjectTrouble::TooNear { edge: "left" }),
        (ObjectFrame { down: (110.0, 40.0), ..frame }, ObjectTrouble::Parallel),
        (ObjectFrame { down: (f64::NAN, 40.0), ..frame }, ObjectTrouble::NotFinite),
        (
            ObjectFrame { across: frame.down, down: frame.across, ..frame },
            ObjectTrouble::OtherCorner { corner: Corner::UpperLeft },
        ),
        (
            ObjectFrame { corner: Corner::LowerLeft, ..frame },
            ObjectTrouble::OtherCorner { corner: Corner::LowerLeft },
        ),
    ];
    for (frame, want) in cases {
        assert_eq!(frame.trouble(None), Some(want));
        assert_eq!(frame.place((50.0, 50.0), None, &Limits::default()), None);
        assert!(want.to_string().ends_with('.'));
    }
    assert_eq!(frame.place((f64::INFINITY, 50.0), None, &Limits::default()), None);
}

#[test]
fn a_grid_that_is_turned_takes_the_marks_with_it() {
    let size = (150, 300);
    let before = upper_left().place((60.0, 140.0), None, &Limits::default()).unwrap();
    for i in 0..8 {
        let orientation = Orientation::new(i % 4, i >= 4);
        let frame = upper_left().oriented(orientation, size);
        assert_eq!(frame.trouble(None), None, "{orientation:?} {frame:?}");
        // The centre of a pixel, where the pixel goes.
        let (x, y) = orientation.place((60, 140), size);
        let place = frame.place((f64::from(x) + 0.5, f64::from(y) + 0.5), None, &Limits::default()).unwrap();
        let (side, level) = (before.from_side + 0.5, before.from_level + 0.5);
        let want = if orientation.swaps_sides() { (level, side) } else { (side, level) };
        near(place.from_side, want.0);
        near(place.from_level, want.1);
        let back = frame.oriented(orientation.inverse(), orientation.size(size));
        assert_eq!(back, upper_left());
    }
    for corner in Corner::ALL {
        assert_eq!(Corner::from_words(corner.words()), Some(corner));
    }
    assert_eq!(Corner::from_words("left"), None);
}
