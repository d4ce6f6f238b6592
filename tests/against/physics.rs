//! X-ray data, depths, sensitivities and overlaps against xraylib and xraydb (`parts/physics.py`).

use crate::support::{Section, list, number, text};
use limner::element::{Element, Line};
use limner::physics::{
    Emission, Excitation, Grade, How, Matter, Shell, air_transmission, edge_kev, emissions,
    fluorescence_yield, jump_ratio, line_width_ev, mass_attenuation, overlaps, sensitivity,
    sensitivity_ratio, set_on_kev, window_leak,
};
use serde_json::Value;

const FILE: &str = "physics.json";

fn element(value: &Value) -> Element {
    Element::from_number(number(value) as u8).unwrap()
}

fn line(text: &str) -> Line {
    Line::parse(text).unwrap_or_else(|| panic!("{text} is no line"))
}

/// "Cd Lβ1": the line that a map is called by, and the group.
fn group(text: &str) -> (Line, &str) {
    (line(text.trim_end_matches('1')), text.split_once(' ').unwrap().1)
}

fn shell(name: &str) -> Shell {
    Shell::ALL.into_iter().find(|shell| format!("{shell:?}") == name).unwrap()
}

/// Totals of every element, and on both sides of every edge.
#[test]
fn attenuation_is_the_librarys() {
    let (mut section, values) = Section::of_file(FILE, "attenuation");
    let mut chantler = 0.0f64;
    for row in list(&values["rows"]) {
        section.row();
        let z = element(&row["z"]);
        for (at, (kev, want)) in list(&row["kev"]).iter().zip(list(&row["xraylib"])).enumerate() {
            let got = mass_attenuation(z, number(kev)).unwrap();
            section.near(format!("{} at {kev} keV", z.symbol()), got.value, want);
            assert!(got.low <= got.value && got.value <= got.high);
            // The range takes in the second source; within an edge's smear its straight lines are less exact.
            if let Some(other) = row.get("chantler").map(|all| number(&list(all)[at])) {
                let off = (got.low / other - 1.0).max(1.0 - got.high / other);
                chantler = chantler.max(off);
            }
        }
    }
    assert!(chantler < 0.015, "Chantler lies {chantler} outside the range");
    section.finish();
}

/// Where tables that were made independently disagree, 3 % and more from every edge.
#[test]
fn attenuation_is_that_of_independent_tables_but_for_stated_spots() {
    let (mut section, values) = Section::of_file(FILE, "independent");
    // Kissel's agree within 5 % but for these: the M edges of heavy elements, where the sources disagree among
    // themselves, chromium just above its K edge (both other sources are lower by up to 12 %), sodium where Kissel's
    // totals break, and the edges of light elements.
    let is_spot = |z: u8, kev: f64| match z {
        11 => !(1.3..=33.0).contains(&kev),
        13..=15 | 30..=32 => kev < 2.4,
        24 => (6.0..7.7).contains(&kev),
        60..=82 => kev < 2.85,
        86 | 87 => (2.9..3.5).contains(&kev),
        _ => false,
    };
    // Chantler's lie lower by up to 9 % from 3 to 8 keV; from 8 keV they are within 5 % but for 5 to 7 % below the K
    // edges of As to Zr and about the L edges of Th to U.
    let is_lower = |z: u8, kev: f64| match z {
        33..=40 => kev < 18.0,
        90..=92 => kev < 22.0,
        _ => false,
    };
    let (mut most, mut lower, mut spots, mut low) = (0.0f64, 0.0f64, 0, 0.0f64);
    for row in list(&values["rows"]) {
        section.row();
        let z = element(&row["z"]);
        let both = list(&row["kissel"]).iter().zip(list(&row["chantler"]));
        for (kev, (kissel, chantler)) in list(&row["kev"]).iter().map(number).zip(both) {
            let got = mass_attenuation(z, kev).unwrap().value;
            let off = got / number(chantler) - 1.0;
            if is_spot(z.number(), kev) {
                spots += 1;
            } else {
                section.near(format!("{} at {kev} keV, Kissel", z.symbol()), got, kissel);
                if kev >= 8.0 && is_lower(z.number(), kev) {
                    lower = lower.max(off.abs());
                } else if kev >= 8.0 {
                    most = most.max(off.abs());
                } else if kev >= 3.0 {
                    low = low.max(off.abs());
                }
            }
        }
    }
    println!(
        "Chantler: {most:.4} from 8 keV, {lower:.4} As to Zr and Th to U, {low:.4} from 3 to 8 keV; {spots} in stated spots"
    );
    assert!(most < 0.05 && lower < 0.075 && low < 0.09);
    section.finish();
}

#[test]
fn edges_yields_and_jumps() {
    let (mut section, values) = Section::of_file(FILE, "shells");
    let mut far = Vec::new();
    for row in list(&values["rows"]) {
        section.row();
        let (z, shell) = (element(&row["z"]), shell(text(&row["shell"])));
        let name = format!("{} {shell:?}", z.symbol());
        let edge = edge_kev(z, shell).unwrap_or_else(|| panic!("{name} has no edge"));
        if (edge - number(&row["edge"])).abs() > 0.005 {
            far.push((name.clone(), edge - number(&row["edge"])));
        }
        let known = fluorescence_yield(z, shell);
        section.near(format!("{name}, lowest yield"), known.map(|y| y.low), &row["low"]);
        section.near(format!("{name}, highest yield"), known.map(|y| y.high), &row["high"]);
        if let Some(jump) = jump_ratio(z, shell) {
            section.near(format!("{name}, jump"), jump, &row["jump"]);
        }
    }
    println!("edges apart by more than 5 eV: {far:?}");
    // Radioactive elements that no object is painted with, and two more by 6 eV.
    assert!(far.iter().all(|(_, off)| off.abs() < 0.0175), "{far:?}");
    section.finish();
}

#[test]
fn lines_are_those_of_the_second_library() {
    let (mut section, values) = Section::of_file(FILE, "lines");
    // xraydb's Lb2,15 of heavy elements is Lβ2 alone; elements that few objects hold are known less well.
    let (mut far, mut others) = (Vec::new(), 0);
    for row in list(&values["rows"]) {
        section.row();
        let z = element(&row["z"]);
        let known = emissions(z);
        let both = list(&row["kev"]).iter().zip(list(&row["rates"]));
        for (name, (kev, rate)) in list(&row["names"]).iter().map(text).zip(both) {
            let own = |emission: &&Emission| emission.name == if name == "Ma" { "Ma1" } else { name };
            let Some(emission) = known.iter().find(own) else {
                panic!("{} {name} is not held", z.symbol());
            };
            let off = (emission.kev - number(kev)) * 1000.0;
            if off.abs() > 5.0 {
                far.push(format!("{} {name} {off:.0}", z.symbol()));
                let rare = matches!(z.number(), 43 | 52 | 54 | 55 | 57..=71 | 84..=91);
                let most = if name == "Lb2,15" {
                    40.0
                } else if rare {
                    30.0
                } else {
                    8.0
                };
                assert!(off.abs() < most, "{} {name} {off:.1} eV", z.symbol());
                others += usize::from(!rare && name != "Lb2,15");
            } else {
                section.near(format!("{} {name}", z.symbol()), emission.kev, kev);
            }
            if name != "Ma" {
                let rate = number(rate);
                let in_range = emission.rates.low <= rate + 2e-5 && rate - 2e-5 <= emission.rates.high;
                assert!(in_range, "{} {name}: {rate} outside {:?}", z.symbol(), emission.rates);
            }
        }
    }
    println!("{} lines more than 5 eV apart: {far:?}", far.len());
    // Of elements that objects are painted with: Ag Kb2, Sn Lg2 and Lg3, Ba Kb2, Re Mb, Os Mg, Pb Ma, U Ma.
    assert!(others <= 9, "{others}");
    section.finish();
}

fn pigment(row: &Value) -> Matter {
    let (formula, density) = match text(&row["name"]) {
        "lead white" => ("Pb3C2H2O8", 6.70),
        "azurite" => ("Cu3C2H2O8", 3.80),
        "ultramarine" => ("Na7Al6Si6O24S3", 2.34),
        _ => ("HgS", 8.09),
    };
    Matter::of_formula(formula, density).unwrap()
}

/// Rhodium Kα as the tables take it.
fn beam() -> f64 {
    set_on_kev(line("Rh Kα")).unwrap()
}

#[test]
fn depths_of_pigments_and_paint() {
    let (mut section, values) = Section::of_file(FILE, "depths");
    for row in list(&values["rows"]) {
        section.row();
        let (pure, kev) = (pigment(row), number(&row["kev"]));
        let name = format!("{} in {}", row["line"], row["name"]);
        for (key, matter) in [("pure", pure.clone()), ("paint", pure.in_oil(0.4))] {
            let escape = matter.escape_depth_um(kev, 45.0).unwrap();
            section.near(format!("{name}, escape, {key}"), escape.value, &row[format!("escape_{key}")]);
            let depth = matter.information_depth_um(0.99, (beam(), 90.0), (kev, 45.0)).unwrap();
            section.near(format!("{name}, depth, {key}"), depth.value, &row[format!("depth_{key}")]);
            assert!(depth.low <= depth.value && depth.value <= depth.high && escape.low < escape.high);
        }
        let chantler = number(&row["chantler"]);
        let range = pure.attenuation(kev).unwrap();
        assert!(range.low < chantler * 1.01 && chantler * 0.99 < range.high, "{name}: {chantler} {range:?}");
    }
    section.finish();
}

#[test]
fn covers_let_through() {
    let (mut section, values) = Section::of_file(FILE, "covers");
    for row in list(&values["rows"]) {
        section.row();
        let paint = pigment(row).in_oil(0.4);
        let through = paint.transmission(number(&row["um"]), number(&row["degrees"]), number(&row["kev"]));
        section.near(format!("{row}"), through.unwrap().value, &row["share"]);
    }
    section.finish();
}

#[test]
fn pairs_of_lines_change_under_a_cover() {
    let (mut section, values) = Section::of_file(FILE, "pairs");
    for row in list(&values["rows"]) {
        section.row();
        let paint = pigment(row).in_oil(0.4);
        let through = |at: usize| paint.transmission(10.0, 45.0, number(&row["kev"][at])).unwrap().value;
        section.near(format!("{row}"), through(0) / through(1), &row["change"]);
    }
    section.finish();
}

#[test]
fn zinc_against_copper() {
    let (mut section, values) = Section::of_file(FILE, "zinc_and_copper");
    let (zinc, copper) = (line("Zn Kα"), line("Cu Kα"));
    for row in list(&values["rows"]) {
        section.row();
        let beam = Excitation::Mono { kev: number(&row["kev"]) };
        let k = sensitivity_ratio(zinc, copper, beam).unwrap();
        section.near(format!("{}, Kissel", row["kev"]), k.value, &row["kissel"]);
        let (one, other) = (number(&row["kissel"]), number(&row["elam"]));
        assert!(k.low < one.min(other) + 0.003 && k.high > one.max(other) - 0.003, "{k:?} {row}");
        let copper = sensitivity(copper, beam).unwrap();
        section.near(format!("{}, copper, Kissel", row["kev"]), copper.value, &row["copper_kissel"]);
        section.near(format!("{}, copper, Elam", row["kev"]), copper.low, &row["copper_elam"]);
    }
    section.finish();

    let (mut section, values) = Section::of_file(FILE, "tube");
    for row in list(&values["rows"]) {
        section.row();
        let tube = Excitation::Tube { kv: number(&row["kv"]), anode: Element::from_symbol("Rh") };
        let k = sensitivity_ratio(zinc, copper, tube).unwrap();
        section.near("tube", k.value, &row["kissel"]);
        section.near("tube, Elam", k.low, &row["elam"]);
        let filtered = Excitation::Filtered { kv: number(&row["kv"]) };
        section.near("filtered", sensitivity_ratio(zinc, copper, filtered).unwrap().value, &row["filtered"]);
        // 0.93 to 1.17 unless the spectrum is known.
        assert!((k.low - 0.93).abs() < 0.005 && (k.high - 1.17).abs() < 0.005, "{k:?}");
    }
    section.finish();
}

#[test]
fn zinc_and_copper_of_compounds_and_in_thick_layers() {
    let (zinc, copper) = (line("Zn Kα"), line("Cu Kα"));
    let k = |excitation| sensitivity_ratio(zinc, copper, excitation).unwrap().value;
    let (one, tube) = (k(Excitation::Mono { kev: beam() }), k(Excitation::Tube { kv: 50.0, anode: None }));
    let (mut section, values) = Section::of_file(FILE, "expected");
    for row in list(&values["rows"]) {
        section.row();
        let matter = Matter::of_formula(text(&row["formula"]), 4.0).unwrap();
        let ratio = matter.mass_fraction(zinc.element) / matter.mass_fraction(copper.element);
        section.near(format!("{}, mass", row["formula"]), ratio, &row["mass"]);
        section.near(format!("{}, counts", row["formula"]), ratio * one, &row["counts"]);
        section.near(format!("{}, counts, tube", row["formula"]), ratio * tube, &row["counts_tube"]);
    }
    section.finish();

    let (mut section, values) = Section::of_file(FILE, "thick");
    let slope = std::f64::consts::FRAC_1_SQRT_2;
    let taken = |mu: &dyn Fn(f64) -> f64, line: Line| mu(beam()) + mu(set_on_kev(line).unwrap()) / slope;
    for row in list(&values["rows"]) {
        section.row();
        if let Some(share) = row.get("zinc").map(number) {
            let of = |symbol: &str, kev: f64| {
                mass_attenuation(Element::from_symbol(symbol).unwrap(), kev).unwrap().value
            };
            let brass = |kev: f64| (1.0 - share) * of("Cu", kev) + share * of("Zn", kev);
            let counts = share / (1.0 - share) * one * taken(&brass, copper) / taken(&brass, zinc);
            section.near(format!("brass, {share}"), counts, &row["counts"]);
        } else {
            let matter = Matter::of_formula(text(&row["formula"]), 4.0).unwrap();
            let mu = |kev: f64| matter.attenuation(kev).unwrap().value;
            section.near(format!("{row}"), taken(&mu, copper) / taken(&mu, zinc), &row["factor"]);
        }
    }
    section.finish();
}

#[test]
fn lines_of_bare_thin_layers() {
    let (mut section, values) = Section::of_file(FILE, "bare");
    for row in list(&values["rows"]) {
        section.row();
        let beam = Excitation::Mono { kev: number(&row["kev"]) };
        let got = sensitivity_ratio(line(text(&row["a"])), line(text(&row["b"])), beam).unwrap();
        section.near(format!("{row}"), got.value, &row["ratio"]);
    }
    section.finish();
}

/// Distances, grades and leaks of the pairs that matter on painted objects, at 135 eV.
#[test]
fn overlaps_of_lines() {
    let (mut section, values) = Section::of_file(FILE, "overlaps");
    for row in list(&values["rows"]) {
        section.row();
        let ((wanted, _), (by, via)) = (group(text(&row["wanted"])), group(text(&row["by"])));
        let (one, other) = (set_on_kev(wanted).unwrap(), set_on_kev(by).unwrap());
        let name = format!("{} / {}", row["wanted"], row["by"]);
        section.near(format!("{name}, keV"), one, &row["kev"][0]);
        section.near(format!("{name}, other, keV"), other, &row["kev"][1]);
        let leak = window_leak(number(&row["kev"][1]), number(&row["kev"][0]), 0.6, 135.0);
        section.near(format!("{name}, leak"), leak, &row["leak"]);
        let widths = (other - one).abs() * 1000.0 / line_width_ev(f64::midpoint(one, other), 135.0);
        assert!((widths - number(&row["widths"])).abs() < 0.02, "{name}: {widths}");

        let found = overlaps(wanted, &[by], 135.0);
        let direct = found.iter().find(|o| o.how == How::Line).unwrap_or_else(|| panic!("{name}: {found:?}"));
        if direct.via == via {
            assert!((direct.delta_ev - number(&row["delta"])).abs() < 3.0, "{name}: {direct:?}");
            let grade = match number(&row["widths"]) {
                w if w < 0.5 => Grade::SamePeak,
                w if w < 1.0 => Grade::Near,
                _ => Grade::Partly,
            };
            assert_eq!(direct.grade, grade, "{name}");
        } else {
            // A stronger line of the same element lies nearer.
            println!("{name}: by {} at {:.0} eV", direct.via, direct.delta_ev);
            assert!(direct.delta_ev.abs() < number(&row["delta"]).abs(), "{name}: {direct:?}");
        }
        assert!(direct.share.low <= direct.share.value && direct.share.value <= direct.share.high);
    }
    section.finish();
}

#[test]
fn air_on_the_way_to_the_detector() {
    let (mut section, values) = Section::of_file(FILE, "air");
    for row in list(&values["rows"]) {
        section.row();
        let got = air_transmission(number(&row["kev"]), number(&row["mm"])).unwrap();
        section.near(format!("{row}"), got, &row["share"]);
    }
    section.finish();
}

#[test]
fn compounds_by_mass() {
    let (mut section, values) = Section::of_file(FILE, "masses");
    for row in list(&values["rows"]) {
        section.row();
        let matter = Matter::of_formula(text(&row["formula"]), 1.0).unwrap();
        assert_eq!(matter.mass_fractions().len(), list(&row["z"]).len());
        for (z, share) in list(&row["z"]).iter().zip(list(&row["shares"])) {
            section.near(format!("{row}"), matter.mass_fraction(element(z)), share);
        }
    }
    section.finish();
}
