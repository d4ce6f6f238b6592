use super::*;

#[test]
fn what_is_stated_changes_what_is_used_and_never_what_is_stored() {
    let samples = Samples::U16(Grid::from_vec(3, 2, vec![65_535, 10, 20, 30, 40, 50]).unwrap());
    let plane = Plane::new(samples.clone());
    assert_eq!((plane.value(0, 0), plane.ceiling()), (Some(65_535.0), Some(65_535.0)));
    let plane = plane.read_as(Reading {
        fill_values: vec![65_535.0],
        blank_areas: vec![Area { x: 1, y: 1, width: 9, height: 9 }],
        gain: 10.0,
        offset: 10.0,
    });
    let values = plane.to_f64().unwrap();
    assert!(values.data()[0].is_nan() && values.data()[4].is_nan() && values.data()[5].is_nan());
    assert_eq!(values.data()[1..4], [0.0, 1.0, 2.0]);
    assert!(plane.value(2, 1).unwrap().is_nan());
    assert_eq!((plane.value(3, 0), plane.ceiling()), (None, None));
    assert_eq!(plane.samples(), &samples);
}

#[test]
fn a_part_of_a_row_is_what_the_whole_row_holds_there() {
    let values: Vec<f32> = (0..40).map(|i| if i % 7 == 3 { f32::INFINITY } else { i as f32 }).collect();
    let plane = Plane::new(Samples::F32(Grid::from_vec(20, 2, values).unwrap()));
    let stated = Reading {
        fill_values: vec![8.0, 34.0, 0.1],
        blank_areas: vec![Area { x: 5, y: 1, width: 4, height: 1 }],
        gain: 4.0,
        offset: 1.0,
    };
    let unscaled = plane.clone().read_as(Reading { gain: 1.0, offset: 0.0, ..stated.clone() });
    let stated = plane.clone().read_as(stated);
    for plane in [plane, unscaled, stated] {
        let mut whole = [0.0; 20];
        plane.read_row(1, &mut whole);
        let (mut part, mut narrow) = ([0.0; 9], [0.0f32; 9]);
        plane.read_part(1, 6, &mut part);
        plane.read_part_f32(1, 6, &mut narrow);
        assert!(whole[6..15].iter().any(|v| v.is_nan()) && whole[6..15].iter().any(|v| v.is_finite()));
        for ((a, b), c) in whole[6..15].iter().zip(part).zip(narrow) {
            assert_eq!(a.to_bits(), b.to_bits());
            assert!(a.is_nan() == c.is_nan() && (a.is_nan() || *a as f32 == c));
        }
    }
}

#[test]
fn a_copy_is_equal_and_what_is_stated_makes_the_pyramid_anew() {
    let plane = Plane::new(Samples::U8(Grid::try_filled(1024, 1024, 3).unwrap()));
    plane.prepare().unwrap();
    assert!(plane.pyramid.get().is_some() && plane.clone() == plane);
    assert!(!plane.pyramid().unwrap().has_blank());
    let stated = plane.read_as(Reading { fill_values: vec![3.0], ..Reading::default() });
    assert!(stated.pyramid().unwrap().has_blank());
    let small = Plane::new(Samples::U8(Grid::try_filled(1023, 1024, 3).unwrap()));
    small.prepare().unwrap();
    assert!(small.pyramid.get().is_none());
}

#[test]
fn infinite_is_blank() {
    let plane = Plane::new(Samples::F32(Grid::from_vec(2, 1, vec![f32::INFINITY, 1.5]).unwrap()));
    let mut row = [0.0; 2];
    plane.read_row(0, &mut row);
    assert!(row[0].is_nan() && plane.value(0, 0).unwrap().is_nan());
    assert_eq!(row[1], 1.5);
}
