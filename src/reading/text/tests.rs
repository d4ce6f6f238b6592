//! Small texts of every form.

use super::*;
use crate::grid::Samples;
use crate::reading::Content;

fn values(text: &str) -> (u32, Vec<f64>) {
    let Content::Maps(mut pages) = read(text.as_bytes(), None).unwrap().content else { panic!() };
    let Samples::F64(grid) = pages.remove(0).samples else { panic!() };
    (grid.width(), grid.into_vec())
}

#[test]
fn every_common_way_to_write_a_table() {
    let cases = [
        ("1,2,3\n4,5,6\n", 3),
        ("1;2;3\r\n4;5;6\r\n", 3),
        ("1\t2\t3\n4\t5\t6", 3),
        ("  1  2 3\n4 5  6 \n", 3),
        ("\u{feff}1,2,3\r\n4,5,6", 3),
        ("# Ti K, counts\n1, 2, 3\n4, 5, 6\n\n", 3),
        ("a;b;c\n1;2;3\n4;5;6", 3),
        ("1;2;3;\n4;5;6;\n", 3),
        ("1e0,2E+0,3.0\n4,5,6", 3),
        ("1,0;2,0;3,0\n4,0;5,0;6,0", 3),
        ("1,0 2,0 3,0\n4,0 5,0 6,0", 3),
    ];
    for (text, width) in cases {
        assert_eq!(values(text), (width, vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]), "{text:?}");
    }
    assert_eq!(values("1.234,5;2\n-3,25;0"), (2, vec![1234.5, 2.0, -3.25, 0.0]));
    assert_eq!(values("7\n8\n9"), (1, vec![7.0, 8.0, 9.0]));
}

#[test]
fn empty_fields_are_blank() {
    let (width, data) = values("1,,3\n,nan,NaN\n");
    assert_eq!(width, 3);
    assert!(data[1].is_nan() && data[3].is_nan() && data[4].is_nan() && data[5].is_nan());
    assert_eq!((data[0], data[2]), (1.0, 3.0));
}

#[test]
fn two_readings_are_asked_about_and_each_can_be_had() {
    let text = b"1,5\n2,5\n";
    let Content::Ask { ways, .. } = read(text, None).unwrap().content else { panic!() };
    let keys: Vec<&str> = ways.iter().map(|way| way.key.as_str()).collect();
    assert_eq!(keys, ["line.decimal_comma.all_values", "comma.decimal_point.all_values"]);
    assert!(ways[0].text.contains("one column with decimal commas"), "{:?}", ways[0]);
    assert!(ways[1].text.contains("separated by commas"), "{:?}", ways[1]);
    assert_eq!(ways[1].sample, "1  5 / 2  5");
    for (key, want) in [(keys[0], vec![1.5, 2.5]), (keys[1], vec![1.0, 5.0, 2.0, 5.0])] {
        let Content::Maps(pages) = read(text, Some(key)).unwrap().content else { panic!() };
        let Samples::F64(grid) = &pages[0].samples else { panic!() };
        assert_eq!(grid.data(), want);
    }
    // A key of another file asks again.
    assert!(matches!(read(text, Some("tab.decimal_point.all_values")).unwrap().content, Content::Ask { .. }));
}

#[test]
fn what_is_wrong_is_said_with_its_line() {
    assert_eq!(read(b"1;2;3\n4;5\n", None), Err(Finding::Ragged { line: 2, found: 2, expected: 3 }));
    let text = b"# title\n1;2\n3;four\n";
    assert_eq!(read(text, None), Err(Finding::NotANumber { line: 3, field: 2, text: "four".into() }));
    assert_eq!(read(b"Dear reader, here is a letter.\nYours, A.\n", None), Err(Finding::UnknownFormat));
    assert_eq!(read(b"{\"a\": [1, 2]}", None), Err(Finding::UnknownFormat));
}
