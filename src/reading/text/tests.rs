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

fn error(text: &str) -> String {
    read(text.as_bytes(), None).unwrap_err().to_string()
}

fn keys(text: &str) -> Vec<String> {
    match read(text.as_bytes(), None).unwrap().content {
        Content::Ask { ways, .. } => ways.into_iter().map(|way| way.key).collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_line_of_numbers_with_a_slip_is_no_header() {
    for text in [
        "1;2x;3\n4;5;6\n",
        "1.5;2,25\n3;4\n",
        "1x;9;3\n4;5;6\n",
        "1x;9;3;5\n4;5;6;7\n",
        "1;2;3..0\n4;5;6\n7;8;9\n",
    ] {
        assert!(error(text).starts_with("Line 1, value "), "{text}: {}", error(text));
    }
    assert!(error("A;1;2\nB;3;4\n").starts_with("Line 1, value 1 is not a number (“A”)"));
    assert_eq!(values("Width;64\nHeight;48\n9;1\n2;5\n"), (2, vec![9.0, 1.0, 2.0, 5.0]));
}

#[test]
fn lines_far_down_may_contradict_the_first_ones() {
    // Points that group thousands, told by the last line only; decimals told by the last line only.
    let many = "1.234;2.345\n".repeat(100_000);
    let (width, data) = values(&format!("{many}1.234.567;3\n"));
    assert_eq!((width, data[0], data[200_000]), (2, 1234.0, 1_234_567.0));
    let mixed = "1.234;987\n12;3.456\n".repeat(50_000);
    assert_eq!(values(&format!("{mixed}0.5;3\n")).1[0], 1.234);
    assert_eq!(keys(&mixed).len(), 2);
    // A column at the right end that has its first value far down; another one that is too many.
    let empty = "5;4;\n".repeat(300_000);
    assert_eq!(values(&empty).0, 2);
    assert_eq!(values(&format!("{empty}5;4;3\n")).0, 3);
    assert!(
        error(&format!("{empty}5;4;;3\n")).starts_with("Line 300001 has 4 values"),
        "{}",
        error(&format!("{empty}5;4;;3\n"))
    );
    assert!(error(&format!("{many}1;2\n3;x\n4;5\n")).starts_with("Line 100002, value 2 is not"));
    assert!(error(&format!("{many}1;2\n3\n4;5\n")).starts_with("Line 100002 has 1 values"));
}

#[test]
fn three_digits_are_only_said_where_nothing_decides() {
    let says = |text: &str| {
        let findings = read(text.as_bytes(), None).unwrap().findings;
        findings.iter().any(|finding| finding.code() == "three_digits")
    };
    assert!(says("1.234;2.345\n3.456;2.222\n"));
    assert!(says("1,234;2,345\n3,456;2,222\n"));
    assert!(!says("1.234;0.345\n3.456;2.222\n"));
    assert!(!says("1.234;2345.5\n3.456;2.222\n"));
    assert!(!says(&format!("{}0.234;2.345\n", "1.234;2.345\n".repeat(100_000))));
}

#[test]
fn small_matrices_are_no_axes_and_large_ones_are_asked_about() {
    assert_eq!(values("1 2 3\n4 5 6\n7 8 9\n").0, 3);
    assert_eq!(
        keys("1 2 3 4\n5 9 6 7\n8 1 2 3\n"),
        ["blank.decimal_point.without_first_line", "blank.decimal_point.all_values"]
    );
    // Eight in a row that rise unevenly are asked about, seven are not.
    assert_eq!(keys("1 2 4 7 8 9 12 30\n5 9 6 7 1 1 1 1\n").len(), 2);
    assert_eq!(values("1 2 4 7 8 9 12\n5 9 6 7 1 1 1\n").0, 7);
}

#[test]
fn positions_off_the_grid_are_refused_and_jitter_is_said() {
    let table = |x: &dyn Fn(i32, i32) -> f64| {
        let lines: Vec<String> = (0..48)
            .map(|i| (i % 8, i / 8))
            .map(|(column, row)| format!("{};{row};{}", x(column, row), column * row))
            .collect();
        format!("x;y;Cu K\n{}\n", lines.join("\n"))
    };
    let even = read(table(&|x, _| f64::from(x) * 0.1 + 0.3).as_bytes(), None).unwrap();
    assert!(even.findings.iter().all(|finding| finding.code() != "jitter"), "{:?}", even.findings);
    let jitter = read(table(&|x, y| f64::from(x) + 0.25 * f64::from(y % 2)).as_bytes(), None).unwrap();
    assert!(
        jitter.findings.iter().any(|finding| finding.to_string().contains("up to 13 % of a step")),
        "{:?}",
        jitter.findings
    );
    let off = error(&table(&|x, y| f64::from(x) + 0.17 * f64::from(y)));
    assert!(off.starts_with("The positions make no grid"), "{off}");
    assert!(error("x;y;z\n1;2;3\n4;5;6\n").starts_with("The positions make no grid"));
}

#[test]
fn sizes_are_limited_before_memory_is_taken() {
    // Positions that claim a grid of 10^12 pixels.
    let lines: String = (0..64).map(|i| format!("{};{};1\n", i % 8, i / 8)).collect();
    let far = error(&format!("x;y;Cu K\n{lines}1000000;1000000;1\n"));
    assert!(far.starts_with("The positions make no grid"), "{far}");
}
