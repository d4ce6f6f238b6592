//! Tables and profiles of held answers as files.

use super::*;

#[test]
fn an_answer_gives_its_table_and_its_profile_as_files() {
    let mut study = study();
    let painted = json!({"name": "=painted", "rectangle": {"x": 8, "y": 4, "width": 12, "height": 12}});
    study.add_region(RegionSettings::read(painted).unwrap()).unwrap();
    let line = json!({"from": [0, 10], "to": [30, 10], "width_px": 4});
    let (answer, _) = study.ask("regions", json!({"line": line}), &mut |_, _| {}).unwrap();
    let text = |study: &mut Study, what: &str| {
        let file = study.export(what, json!({"answer": answer.id})).unwrap();
        assert_eq!(file.media_type, "text/csv");
        String::from_utf8(file.bytes).unwrap()
    };
    let table = text(&mut study, "table");
    assert_eq!(table.lines().count(), 1 + 2, "{table}");
    assert!(
        table.starts_with("of,pixels,pixels judged,sum (counts),mean or difference (counts per pixel),"),
        "{table}"
    );
    assert!(table.contains("\"Ti K, “=painted”\",144,144,"), "{table}");
    let profile = text(&mut study, "profile");
    assert_eq!(profile.lines().count(), 1 + 30);
    let Some(cells) = profile.lines().nth(1).map(|line| line.split(',').collect::<Vec<_>>()) else {
        panic!()
    };
    assert_eq!((cells.len(), cells[0], cells[1], cells[5]), (10, "0.5", "", "4"));
    let (other, _) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    assert_eq!(study.export("profile", json!({"answer": other.id})).unwrap_err().code, "bad_setting");
    assert!(study.export("table", json!({"answer": other.id})).is_ok());
    assert_eq!(study.export("table", json!({"answer": "none"})).unwrap_err().code, "answer_not_held");
    assert_eq!(study.export("table", json!({"answr": "none"})).unwrap_err().code, "bad_setting");
}
