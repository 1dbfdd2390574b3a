//! The numbers of the worked examples: what is given, what the product's pieces make of the same inputs, and how far
//! apart the printed precision lets them be.

use smirch::chance::Key;
use smirch::model::{Class, Efficiencies, Efficiency};
use smirch::transfer::{Cause, Event, Flow, Removal};

use crate::fixture::content;

/// One number that an example gives, and what the product's pieces make of the same inputs.
pub struct Row {
    /// Number of the example.
    pub example: u8,
    /// What is computed.
    pub what: String,
    /// Published, or worked by hand from published inputs.
    pub given: f64,
    /// Computed by the product.
    pub ours: f64,
    /// Largest difference that the printed precision of the source leaves open.
    pub tolerance: f64,
}

impl Row {
    pub fn is_inside(&self) -> bool {
        (self.ours - self.given).abs() <= self.tolerance
    }
}

/// Mean efficiency between two materials, as the table gives it.
fn mean(class: Class, from: &str, to: &str, wet: bool) -> f64 {
    let library = &content().library;
    let index = |id: &str| {
        library
            .materials
            .iter()
            .position(|m| m.id == id)
            .unwrap_or_else(|| panic!("no material `{id}`"))
    };
    let table = Efficiencies::new(library, class).unwrap_or_else(|pair| panic!("no row for {pair:?}"));
    table.get(index(from), index(to), wet, false).mean
}

/// Probability that a curve of the library gives for a dose.
fn curve(id: &str, dose: f64) -> f64 {
    the_curve(id).probability(dose)
}

fn the_curve(id: &str) -> &'static smirch::model::Curve {
    content()
        .library
        .curve(id)
        .unwrap_or_else(|| panic!("no curve `{id}`"))
}

/// A contact of `area` cm2 between a surface (first) and a hand (second), with fixed efficiencies.
pub fn contact(area: f64, (surface, to_hand): (f64, f64), (hand, to_surface): (f64, f64)) -> Event {
    let fixed = |mean| Efficiency { mean, sd: 0.0 };
    let flow = Flow::Contact {
        a: 0,
        b: 1,
        share_a: (area / surface).min(1.0),
        share_b: (area / hand).min(1.0),
        wet: false,
        slide: false,
        ab: fixed(to_hand),
        ba: fixed(to_surface),
    };
    Event {
        key: Key::of("worked"),
        at: 0.0,
        cause: Cause::Touch,
        chance: 1.0,
        follows: false,
        extent: None,
        spots: None,
        flow,
    }
}

/// Mean counts after an event: what the event's own means and shares say.
fn expected(event: &Event, (on_a, on_b): (f64, f64)) -> (f64, f64) {
    let (ab, ba) = event.mean_shares(None);
    let (there, back) = (on_a * ab, on_b * ba);
    (on_a - there + back, on_b + there - back)
}

/// What reaches the second surface of a whole-patch contact with this efficiency.
fn passed(count: f64, efficiency: f64) -> f64 {
    expected(&contact(1.0, (1.0, efficiency), (1.0, 0.0)), (count, 0.0)).1
}

/// What survives of one organism where the product reaches, at full amount and time, with the published mean.
fn survival(product: &str, class: Class) -> f64 {
    let library = &content().library;
    let product = library
        .product(product)
        .unwrap_or_else(|| panic!("no product `{product}`"));
    let reduction = product.reductions.iter().find(|r| r.class == class);
    let mean = reduction
        .unwrap_or_else(|| panic!("{} says nothing of {class:?}", product.id))
        .mean;
    left(mean, 0.0)
}

/// What survives a log10 reduction that is certain and misses a share of the skin altogether.
fn left(reduction: f64, missed: f64) -> f64 {
    Removal {
        mean: reduction,
        sd: 0.0,
        missed: Efficiency {
            mean: missed,
            sd: 0.0,
        },
        partial: 0.0,
    }
    .mean_surviving()
}

struct Rows(Vec<Row>);

impl Rows {
    fn add(&mut self, example: u8, what: impl Into<String>, given: f64, ours: f64, tolerance: f64) {
        self.0.push(Row {
            example,
            what: what.into(),
            given,
            ours,
            tolerance,
        });
    }
}

/// Every number of every example that applies.
pub fn rows() -> Vec<Row> {
    let mut rows = Rows(Vec::new());
    curves(&mut rows);
    fabric(&mut rows);
    mass_balance(&mut rows);
    repeated(&mut rows);
    chains(&mut rows);
    hygiene(&mut rows);
    holes_and_lapses(&mut rows);
    rows.0
}

fn curves(rows: &mut Rows) {
    for (id, r, d50, off) in [
        ("sars-1-mouse", 2.45e-3, 280.0, 0.025),
        ("sars-1-transgenic-mouse", 2.97e-3, 233.0, 0.025),
        ("mouse-coronavirus", 2.14e-3, 324.0, 0.025),
        ("coronavirus-229e-human", 5.39e-2, 13.0, 0.025),
    ] {
        rows.add(
            1,
            format!("{id}: median dose"),
            d50,
            the_curve(id).dose_for(0.5),
            d50 * off,
        );
        // The slope at nothing is r.
        rows.add(1, format!("{id}: r"), r, curve(id, 1e-6) / 1e-6, r * 0.005);
    }
    rows.add(
        1,
        "sars-1-mouse: dose for 10 %",
        43.0,
        the_curve("sars-1-mouse").dose_for(0.1),
        0.5,
    );
    let points = |rows: &mut Rows, example, id: &str, vectors: &[(f64, f64)], tolerance| {
        for &(dose, p) in vectors {
            rows.add(example, format!("{id}: P({dose})"), p, curve(id, dose), tolerance);
        }
    };
    points(
        rows,
        1,
        "sars-1-mouse",
        &[
            (1.0, 0.002_436),
            (10.0, 0.024_095),
            (43.0, 0.099_566),
            (100.0, 0.216_436),
            (280.0, 0.494_864),
            (1000.0, 0.912_754),
            (16.0, 0.0383),
            (160.0, 0.3231),
        ],
        5e-5,
    );
    points(
        rows,
        1,
        "coronavirus-229e-human",
        &[
            (1.0, 0.052_505),
            (10.0, 0.416_865),
            (43.0, 0.901_643),
            (100.0, 0.995_453),
        ],
        5e-7,
    );
    points(
        rows,
        2,
        "coronavirus-229e-skewed",
        &[
            (1.0, 0.091_120),
            (5.0, 0.325_502),
            (10.804_903, 0.5),
            (50.0, 0.799_373),
            (500.0, 0.965_451),
        ],
        5e-7,
    );
    points(
        rows,
        2,
        "sars-1-mouse-skewed",
        &[
            (10.0, 0.024_338),
            (43.0, 0.100_522),
            (100.0, 0.218_350),
            (281.4627, 0.5),
            (1000.0, 0.914_513),
        ],
        1e-6,
    );
    points(
        rows,
        2,
        "rhinovirus-14",
        &[
            (0.1, 0.078_39),
            (1.0, 0.327_42),
            (3.83, 0.5),
            (10.0, 0.603_41),
            (100.0, 0.776_71),
        ],
        6e-6,
    );
    points(
        rows,
        2,
        "rhinovirus-39",
        &[(0.1, 0.359_60), (0.19, 0.5), (1.0, 0.799_30), (10.0, 0.957_28)],
        6e-6,
    );
    rows.add(
        2,
        "adenovirus-4: median dose",
        1.14,
        the_curve("adenovirus-4").dose_for(0.5),
        0.005,
    );
    // The dose is in virus, the curves in plaques and in TCID50: arithmetic only.
    for (id, dose, p, tolerance) in [
        ("sars-1-mouse", 0.0305, 7.44e-5, 5e-8),
        ("coronavirus-229e-human", 0.0305, 1.64e-3, 5e-6),
        ("sars-1-mouse", 0.6, 1.46e-3, 5e-6),
        ("coronavirus-229e-human", 0.6, 3.18e-2, 5e-5),
    ] {
        rows.add(15, format!("{id}: P({dose})"), p, curve(id, dose), tolerance);
    }
    let after_two = passed(passed(1e5, 0.008), 0.008);
    rows.add(
        18,
        "left of 100,000 after two dry contacts at 0.008",
        6.4,
        after_two,
        1e-9,
    );
    rows.add(
        18,
        "rhinovirus-14: P of that",
        0.5578,
        curve("rhinovirus-14", after_two),
        5e-5,
    );
}

fn fabric(rows: &mut Rows) {
    let bacterium = Class::VegetativeBacterium;
    let to_finger = mean(bacterium, "hard-plastic", "skin", false);
    let from_finger = mean(bacterium, "skin", "hard-plastic", false);
    rows.add(4, "surface to bare finger", 0.241, to_finger, 0.0005);
    rows.add(
        4,
        "surface to glove, 55.9 % less",
        to_finger * (1.0 - 0.559),
        mean(bacterium, "hard-plastic", "nitrile", false),
        0.0005,
    );
    rows.add(4, "bare finger to surface", 0.056, from_finger, 0.0005);
    rows.add(
        4,
        "glove to surface, 47.1 % less",
        from_finger * (1.0 - 0.471),
        mean(bacterium, "nitrile", "hard-plastic", false),
        0.0005,
    );
    for (share, reduction) in [
        (0.05, 1.301),
        (0.0001, 4.000),
        (0.07, 1.155),
        (1.0 / 14_000.0, 4.146),
    ] {
        let what = format!("log reduction that leaves {share:.6}");
        rows.add(5, what, reduction, -left(reduction, 0.0).log10(), 1e-9);
        let what = format!("share left by {reduction:.3} log10, over {share:.6}");
        rows.add(5, what, 1.0, left(reduction, 0.0) / share, 0.0012);
    }
    let grasp = mean(bacterium, "cotton", "skin", true);
    let (wet, dry) = (
        mean(bacterium, "skin", "cotton", true),
        mean(bacterium, "skin", "cotton", false),
    );
    rows.add(5, "moist fabric to hand", 0.10, grasp, 0.005);
    rows.add(5, "wet hand to fabric", 0.85, wet, 0.005);
    rows.add(
        5,
        "the whole chain, the hand dry by then",
        0.0006,
        grasp * dry,
        0.00005,
    );
    rows.add(
        5,
        "the chain with a wet hand, over the one seen",
        142.0,
        grasp * wet / 0.0006,
        1.0,
    );
    let first = passed(1e6, grasp);
    rows.add(5, "hand after a moist grasp of a million", 1e5, first, 1.0);
    rows.add(5, "second fabric", 600.0, passed(first, dry), 1e-6);
    rows.add(
        5,
        "second fabric after a wash",
        30.0,
        passed(first, dry) * left(1.301, 0.0),
        0.05,
    );
    rows.add(
        5,
        "second fabric after alcohol",
        0.06,
        passed(first, dry) * left(4.0, 0.0),
        0.0005,
    );
    rows.add(
        5,
        "second fabric after 0.2 ml ethanol",
        42.0,
        passed(first, dry) * left(1.155, 0.0),
        0.05,
    );
}

fn mass_balance(rows: &mut Rows) {
    let event = contact(0.129 * 490.0, (1000.0, 0.241), (490.0, 0.056));
    let hand = [0.310_890, 0.614_798, 0.911_881, 1.202_293, 1.486_182];
    let surface = [9.847_664, 9.698_749, 9.553_178, 9.410_877, 9.271_771];
    let moved = [152.3361, 148.9150, 145.5707, 142.3015, 139.1058];
    let mut on = (10_000.0, 0.0);
    for n in 0..5 {
        let after = expected(&event, on);
        let of = n + 1;
        rows.add(6, format!("contact {of}: moved"), moved[n], after.1 - on.1, 5e-5);
        rows.add(
            6,
            format!("contact {of}: per cm2 of hand"),
            hand[n],
            after.1 / 490.0,
            6e-7,
        );
        rows.add(
            6,
            format!("contact {of}: per cm2 of surface"),
            surface[n],
            after.0 / 1000.0,
            6e-7,
        );
        rows.add(
            6,
            format!("contact {of}: total"),
            10_000.0,
            after.0 + after.1,
            1e-5,
        );
        on = after;
    }
    let back = contact(0.13 * 490.0, (1000.0, 0.23), (490.0, 0.23));
    let (on_surface, on_hand) = expected(&back, (0.0, 100.0 * 490.0));
    rows.add(6, "loaded hand, clean surface: moved", 1465.1, on_surface, 0.05);
    rows.add(6, "loaded hand: per cm2 of hand", 97.01, on_hand / 490.0, 0.005);
    rows.add(
        6,
        "loaded hand: per cm2 of surface",
        1.4651,
        on_surface / 1000.0,
        5e-5,
    );
    let desk = contact(0.129 * 490.0, (20_100.0, 0.208), (490.0, 0.208));
    let (on_surface, on_hand) = expected(&desk, (200.0, 0.0));
    rows.add(6, "200 on a wide surface: moved", 0.130_822_69, on_hand, 5e-9);
    rows.add(
        6,
        "200 on a wide surface: per cm2 of hand",
        2.669_850_7e-4,
        on_hand / 490.0,
        5e-12,
    );
    rows.add(
        6,
        "200 on a wide surface: left per cm2",
        0.009_943_740_2,
        on_surface / 20_100.0,
        5e-11,
    );
}

fn repeated(rows: &mut Rows) {
    let columns: [(&str, f64, [f64; 8]); 5] = [
        (
            "bare, 0.49",
            0.49,
            [0.49, 0.7399, 0.8673, 0.9323, 0.9655, 0.9824, 0.9910, 0.9954],
        ),
        (
            "glove, 0.30",
            0.30,
            [0.30, 0.51, 0.657, 0.7599, 0.8319, 0.8824, 0.9176, 0.9424],
        ),
        (
            "bare, 0.32",
            0.32,
            [0.32, 0.5376, 0.6856, 0.7862, 0.8546, 0.9011, 0.9328, 0.9543],
        ),
        (
            "bare, 0.72",
            0.72,
            [0.72, 0.9216, 0.9780, 0.9939, 0.9983, 0.9995, 0.9999, 1.0],
        ),
        (
            "glove, 0.17",
            0.17,
            [0.17, 0.3111, 0.4282, 0.5254, 0.6061, 0.6731, 0.7286, 0.7748],
        ),
    ];
    for (words, lambda, shares) in columns {
        let event = contact(1.0, (1.0, lambda), (1.0, lambda));
        let mut hand = 0.0;
        for (n, share) in shares.into_iter().enumerate() {
            hand = expected(&event, (1.0, hand)).1;
            rows.add(
                7,
                format!("{words}: share after {} contacts", n + 1),
                share,
                hand,
                5.1e-5,
            );
        }
    }
    let event = contact(1.0, (1.0, 0.0), (1.0, 0.23));
    let deposits = [23.0, 17.71, 13.6367, 10.5003, 8.0852];
    let stays = [77.0, 59.29, 45.6533, 35.1530, 27.0678];
    let mut finger = 100.0;
    for n in 0..5 {
        let (surface, after) = expected(&event, (0.0, finger));
        rows.add(
            7,
            format!("deposit {} of a train", n + 1),
            deposits[n],
            surface,
            5e-5,
        );
        rows.add(
            7,
            format!("left on the finger after {}", n + 1),
            stays[n],
            after,
            5e-5,
        );
        finger = after;
    }
}

fn chains(rows: &mut Rows) {
    // The last link is the table's own: finger to lip.
    let lip = mean(Class::EnvelopedVirus, "skin", "mucosa", true);
    for (te, on_hand, bare, rubbed, well_rubbed) in [
        (0.022, 98.41, 33.36, 0.4712, 0.3336),
        (0.027, 120.77, 40.94, 0.5783, 0.4094),
        (0.076, 339.95, 115.24, 1.6278, 1.1524),
        (0.154, 688.84, 233.52, 3.2985, 2.3352),
    ] {
        let hand = passed(4473.0, te);
        let what = |end: &str| format!("respirator at {te}: {end}");
        rows.add(8, what("hand"), on_hand, hand, 0.005);
        rows.add(8, what("lip"), bare, passed(hand, lip), 0.005);
        rows.add(
            8,
            what("lip after 1.85 log10"),
            rubbed,
            passed(hand, lip) * left(1.85, 0.0),
            5.1e-5,
        );
        rows.add(
            8,
            what("lip after 2.0 log10"),
            well_rubbed,
            passed(hand, lip) * left(2.0, 0.0),
            5.1e-5,
        );
    }
    rows.add(
        8,
        "sars-1-mouse: P of 33.36",
        0.0781,
        curve("sars-1-mouse", 33.36),
        5e-5,
    );
    rows.add(
        8,
        "sars-1-mouse: P of 0.4712",
        0.001_149,
        curve("sars-1-mouse", 0.4712),
        5e-7,
    );
    let (steel_finger, finger_steel) = (
        mean(Class::NonEnvelopedVirus, "steel", "skin", false),
        mean(Class::NonEnvelopedVirus, "skin", "steel", true),
    );
    rows.add(
        16,
        "a million: second surface",
        9100.0,
        passed(passed(1e6, steel_finger), finger_steel),
        0.5,
    );
    rows.add(
        16,
        "a million, at most 0.009 left by a wash first: finger",
        630.0,
        passed(1e6 * 0.009, steel_finger),
        0.05,
    );
}

fn hygiene(rows: &mut Rows) {
    let by_product = |product| survival(product, Class::Spore);
    for (words, share, after, shaken) in [
        ("soap and water, warm", by_product("soap-and-water"), 72.4, 21.7),
        ("soap, cold, 1.88", left(1.88, 0.0), 131.8, 39.5),
        ("antibacterial soap, 1.51", left(1.51, 0.0), 309.0, 92.7),
        ("wipe, 0.57", left(0.57, 0.0), 2691.5, 807.5),
        ("alcohol rub", by_product("alcohol-rub"), 8709.6, 2612.9),
    ] {
        rows.add(
            9,
            format!("{words}: left of 10,000 spores"),
            after,
            1e4 * share,
            0.05,
        );
        rows.add(
            9,
            format!("{words}: after the handshake"),
            shaken,
            passed(1e4 * share, 0.30),
            0.05,
        );
    }
    for (ml, missed, cap, [two, three, four]) in [
        (1, 0.0710, 1.1487, [1.0953, 1.1431, 1.1482]),
        (2, 0.0168, 1.7747, [1.5746, 1.7500, 1.7722]),
        (3, 0.0102, 1.9914, [1.6968, 1.9512, 1.9872]),
    ] {
        let reduction = |of| -left(of, missed).log10();
        rows.add(10, format!("{ml} ml: the cap"), cap, reduction(300.0), 5.1e-5);
        for (of, given) in [(2.0, two), (3.0, three), (4.0, four)] {
            rows.add(
                10,
                format!("{ml} ml: {of} log10 where it reaches"),
                given,
                reduction(of),
                5.1e-5,
            );
        }
    }
    rows.add(
        11,
        "3.34 beside 4.00",
        4.571,
        left(3.34, 0.0) / left(4.0, 0.0),
        5e-4,
    );
    rows.add(
        11,
        "3.37 beside 3.75",
        2.399,
        left(3.37, 0.0) / left(3.75, 0.0),
        5e-4,
    );
}

fn holes_and_lapses(rows: &mut Rows) {
    let pinhole = content()
        .library
        .fault("pinhole")
        .unwrap_or_else(|| panic!("there is no fault `pinhole`"))
        .chance;
    rows.add(12, "one glove holed", 0.015, pinhole, 0.0005);
    rows.add(
        12,
        "one of a pair holed",
        0.029_775,
        1.0 - (1.0 - pinhole).powi(2),
        5e-7,
    );
    rows.add(
        12,
        "both layers on one hand holed",
        0.000_225,
        pinhole.powi(2),
        5e-7,
    );
    // Shares solved for counts, beside the counts that the fit uses.
    let gloves = (200.0 - 0.378 * 435.0) / (0.529 - 0.378);
    rows.add(14, "glove removals among 435", gloves, 234.0, 2.0);
    let lapses = (0.460 - 0.300) / (0.703 - 0.300);
    rows.add(14, "share of removals with a lapse", lapses, 172.0 / 435.0, 0.005);
}
