//! Is anything weakened as if under a layer: made counts under covers whose thickness is known.
#![allow(clippy::unwrap_used, clippy::panic)] // a test may fail

use limner::ask::{self, Answer, Known, Measuring, Subject};
use limner::element::Line;
use limner::grid::{Grid, Mask, Samples};
use limner::kind::Kind;
use limner::numerics::chance::Chance;
use limner::region::{Region, RegionRole};
use limner::stack::{Map, MapId, Source, Stack};
use serde_json::{Value, json};

const SIDE: u32 = 80;
const PIXELS: usize = (SIDE * SIDE) as usize;

fn at(i: usize) -> (u32, u32) {
    (i as u32 % SIDE, i as u32 / SIDE)
}

/// The half of the star that is covered, and the half that lies bare.
fn is_covered(i: usize) -> bool {
    let (x, y) = at(i);
    (20..45).contains(&x) && (20..60).contains(&y)
}

fn is_bare(i: usize) -> bool {
    let (x, y) = at(i);
    (50..75).contains(&x) && (20..60).contains(&y)
}

fn on_paper(i: usize) -> bool {
    at(i).0 < 12
}

#[derive(Default)]
struct Scene {
    stack: Stack,
    regions: Vec<Region>,
    known: Known,
}

impl Scene {
    /// Regions named, detector and beam at the angles of the covers below.
    fn new() -> Self {
        let measuring =
            Measuring { incidence_deg: Some(90.0), takeoff_deg: Some(45.0), ..Measuring::default() };
        let scene = Self { known: Known { measuring, ..Known::default() }, ..Self::default() };
        scene
            .with_region("covered half", RegionRole::Passage, is_covered)
            .with_region("bare half", RegionRole::Passage, is_bare)
            .with_region("paper", RegionRole::BareSupport, on_paper)
    }

    fn with_region(mut self, name: &str, role: RegionRole, inside: impl Fn(usize) -> bool) -> Self {
        let mask = Mask::from_vec(SIDE, SIDE, (0..PIXELS).map(inside).collect()).unwrap();
        let id = format!("r{}", self.regions.len() + 1);
        let (makers, caution) = (Vec::new(), String::new());
        self.regions.push(Region { id, name: name.into(), role, makers, pure: None, caution, mask });
        self
    }

    /// Counts over a background of 3: the signal of the covered half, and of the bare one.
    fn with(mut self, line: &str, seed: u64, here: f64, bare: f64) -> Self {
        let mut chance = Chance::new(seed);
        let mean = |i: usize| {
            3.0 + if is_covered(i) {
                here
            } else if is_bare(i) {
                bare
            } else {
                0.0
            }
        };
        let values = (0..PIXELS).map(|i| chance.poisson(mean(i)) as u32).collect();
        let samples = Samples::U32(Grid::from_vec(SIDE, SIDE, values).unwrap());
        let number = self.stack.maps().len() as u32 + 1;
        let source = Source { file: format!("{line}.npy"), page: 0, sha256: format!("{number}") };
        let line = Line::parse(line);
        assert!(line.is_some());
        let mut map = Map::new(MapId::new(number), source, String::new(), line, samples).unwrap();
        map.kind = Kind::Window;
        self.stack.push(map);
        self
    }

    fn try_ask(&self, settings: Value) -> Result<Answer, String> {
        let subject = Subject::new(&self.stack, &self.regions, None).with_known(&self.known);
        let asked = ask::ask("covered", settings, &subject, &mut |_, _| {});
        asked.map(|(answer, _)| answer).map_err(|fault| fault.message)
    }

    fn ask(&self, layer: Option<&str>) -> Answer {
        self.try_ask(json!({"region": "covered half", "against": "bare half", "layer": layer})).unwrap()
    }
}

/// What a cover lets through of Hg Lα and of Hg Mα, the beam on its way in among it: layer, µm, both shares. Computed with xraylib
/// 4.3.0 (`CS_Total`, `CS_FluorLine_Kissel_Cascade`, 40 vol% pigment in C57H98O6, densities 3.80, 2.34 and for the resin C20H30O2
/// 1.07; beam at 90, detector at 45 degrees): one energy of 20.167 keV, Kramers' continuum of 50 kV, the same behind 0.5 mm of Al.
const COVERS: [(&str, f64, f64, f64); 20] = [
    ("azurite_oil", 2.0, 0.9429, 0.584_458),
    ("azurite_oil", 5.0, 0.8634, 0.261_146),
    ("azurite_oil", 10.0, 0.7455, 0.068_197),
    ("ultramarine_oil", 5.0, 0.9843, 0.429_601),
    ("ultramarine_oil", 10.0, 0.9689, 0.184_557),
    ("ultramarine_oil", 20.0, 0.9388, 0.034_061),
    ("varnish", 10.0, 0.9956, 0.696_15),
    ("varnish", 20.0, 0.9913, 0.484_624),
    ("azurite_oil", 2.0, 0.9375, 0.515_44),
    ("azurite_oil", 5.0, 0.8511, 0.193_526),
    ("azurite_oil", 10.0, 0.7245, 0.039_202),
    ("ultramarine_oil", 5.0, 0.9829, 0.340_639),
    ("ultramarine_oil", 10.0, 0.9661, 0.118_962),
    ("varnish", 10.0, 0.9953, 0.641_176),
    ("varnish", 20.0, 0.9905, 0.412_599),
    ("azurite_oil", 5.0, 0.857, 0.258_95),
    ("azurite_oil", 10.0, 0.7345, 0.067_072),
    ("ultramarine_oil", 5.0, 0.9836, 0.429_208),
    ("ultramarine_oil", 10.0, 0.9674, 0.184_22),
    ("varnish", 20.0, 0.9909, 0.484_405),
];

/// Signal of Hg Lα and of Hg Mα in a pixel of the bare star.
const HARD: f64 = 400.0;
const SOFT: f64 = 60.0;

#[test]
fn the_thickness_of_a_cover_lies_in_its_interval_in_19_of_20() {
    let mut held = 0;
    let mut widths = Vec::new();
    for (n, &(layer, um, through_hard, through_soft)) in COVERS.iter().enumerate() {
        let seed = 100 + n as u64;
        // The own layer is up to a tenth thicker or thinner: more of the hard line, hardly more of the soft one.
        let own = 1.0 + 0.2 * (Chance::new(seed ^ 0xabc).share() - 0.5);
        let scene = Scene::new().with("Hg L", seed, HARD * own * through_hard, HARD).with(
            "Hg M",
            seed + 1000,
            SOFT * through_soft,
            SOFT,
        );
        let answer = scene.ask(Some(layer));
        assert_eq!(answer.verdict, "consistent with covered", "{layer} {um}: {}", answer.sentence);
        let part = answer.covered.as_ref().unwrap();
        let (low, high) = (part.thickness_um.low_all.unwrap(), part.thickness_um.high_all.unwrap());
        held += usize::from(low <= um && um <= high);
        widths.push(high / low.max(1e-9));
        assert!(part.thickness_um.value.is_some_and(|v| (0.4..2.5).contains(&(v / um))), "{layer} {um}");
        assert!(part.pairs[0].usable && part.pairs[0].pair == "Hg L / Hg M");
    }
    assert!(held >= 19, "{held} of 20");
    widths.sort_by(f64::total_cmp);
    assert!(widths[10] < 2.5, "an interval is of use only where it is not endless: {widths:?}");
}

#[test]
fn varnish_and_dirt_are_named_as_layers_that_would_do_the_same() {
    let scene = Scene::new().with("Hg L", 1, HARD * 0.9689, HARD).with("Hg M", 2, SOFT * 0.184_557, SOFT);
    let answer = scene.ask(Some("ultramarine_oil"));
    assert_eq!(answer.verdict, "consistent with covered");
    let part = answer.covered.as_ref().unwrap();
    assert_eq!(part.layer.as_ref().map(|layer| layer.id.as_str()), Some("ultramarine_oil"));
    let first: Vec<&str> = part.others.iter().take(3).map(|other| other.id.as_str()).collect();
    assert_eq!(first, ["varnish", "dirt", "glue"]);
    assert!(part.others[0].thickness_um.value.is_some_and(|um| um > 20.0), "{:?}", part.others[0]);
    let caution = answer.cautions.iter().find(|c| c.starts_with("Varnish, dirt and glue")).unwrap();
    assert!(caution.contains("varnish (natural resin):"), "{caution}");
    assert!(answer.cautions.iter().any(|c| c.contains("thinner or thicker")), "{:#?}", answer.cautions);
    assert!(
        part.depth
            .iter()
            .any(|depth| depth.line == "Hg M" && depth.half_um.is_some_and(|um| (0.3..3.0).contains(&um)))
    );
    // Any layer: the thicknesses of all of them stand beside each other.
    let any = scene.ask(None);
    assert_eq!(
        (any.verdict.as_str(), any.covered.as_ref().unwrap().layer.is_none()),
        ("consistent with covered", true)
    );
    // With a thickness known from elsewhere the answer says what that would do.
    let settings = json!({"region": "covered half", "against": "bare half", "layer": "ultramarine_oil", "thickness_um": 10});
    let stated = scene.try_ask(settings).unwrap();
    assert!(
        stated.cautions.iter().any(|c| c.contains("would change Hg L / Hg M by a factor of")),
        "{:#?}",
        stated.cautions
    );
}

#[test]
fn paint_that_lies_bare_is_not_weakened() {
    for seed in 0..10 {
        let scene = Scene::new().with("Hg L", seed, HARD, HARD).with("Hg M", seed + 50, SOFT, SOFT);
        let answer = scene.ask(Some("ultramarine_oil"));
        assert_eq!(answer.verdict, "no weakening seen", "{seed}: {}", answer.sentence);
        assert!(answer.sentence.contains("would have been seen"), "{}", answer.sentence);
        let limit = answer.covered.as_ref().unwrap().thickness_um.high_all.unwrap();
        assert!(limit > 0.1 && limit < 5.0, "{limit}");
    }
}

#[test]
fn a_thicker_own_layer_is_no_cover() {
    // Twice the hard line, as much of the soft one: it comes from the top whatever lies below.
    let scene = Scene::new().with("Hg L", 3, 2.0 * HARD, HARD).with("Hg M", 4, SOFT, SOFT);
    let answer = scene.ask(Some("ultramarine_oil"));
    assert_eq!(answer.verdict, "cannot be judged", "{}", answer.sentence);
    assert!(answer.sentence.contains("a thicker layer of Hg"), "{}", answer.sentence);
}

#[test]
fn one_line_of_an_element_is_only_a_weaker_argument() {
    let scene = Scene::new().with("Hg L", 5, 0.4 * HARD, HARD).with("Cu K", 6, 30.0, 30.0);
    let answer = scene.ask(None);
    assert_eq!(answer.verdict, "cannot be judged");
    assert!(answer.sentence.contains("no two lines of one element"), "{}", answer.sentence);
    assert!(answer.cautions.iter().any(|c| c.contains("Hg L alone gives 40")), "{:#?}", answer.cautions);
}

#[test]
fn a_soft_line_in_which_sulfur_may_stand_tells_nothing() {
    // Pb M and S K are one peak (2.35 and 2.31 keV): with sulfur or without a map of it.
    let lead = || Scene::new().with("Pb L", 7, HARD, HARD).with("Pb M", 8, 0.3 * SOFT, SOFT);
    let without = lead().ask(None);
    assert_eq!(without.verdict, "cannot be judged", "{}", without.sentence);
    assert!(without.sentence.contains("S was not measured"), "{}", without.sentence);
    let with = lead().with("S K", 9, 10.0, 60.0).ask(None);
    assert_eq!(with.verdict, "cannot be judged", "{}", with.sentence);
}

#[test]
fn slips_are_refused_in_a_sentence() {
    let scene = Scene::new().with("Hg L", 5, HARD, HARD).with("Hg M", 6, SOFT, SOFT);
    for (settings, word) in [
        (json!({"region": "covered half"}), "`against` is not given"),
        (json!({"region": "covered half", "against": "covered half"}), "the same region"),
        (
            json!({"region": "covered half", "against": "bare half", "layer": "mud"}),
            "There is no layer “mud”",
        ),
        (
            json!({"region": "covered half", "against": "bare half", "thickness_um": -2}),
            "`thickness_um` must lie above 0",
        ),
        (json!({"region": "covered half", "against": "somewhere"}), "no region “somewhere”"),
    ] {
        let message = scene.try_ask(settings.clone()).unwrap_err();
        assert!(message.contains(word), "{settings}: {message}");
    }
}
