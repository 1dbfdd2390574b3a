//! Worked examples from published numbers, computed with the product's own pieces: its table, its hygiene data, its
//! contact events and its books. Numbered as in the evidence notes; each names its source and what it tolerates.

use smirch::chance::{Key, Luck};
use smirch::model::{Class, Efficiencies, Efficiency};
use smirch::transfer::{Books, Cause, Event, Flow, Removal};

use crate::fixture::content;

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
    table.get(index(from), index(to), wet).mean
}

/// Asserts a number to the precision in which the source gives it.
fn close(what: &str, found: f64, published: f64, tolerance: f64) {
    assert!(
        (found - published).abs() <= tolerance,
        "{what}: {found}, published or worked {published} +- {tolerance}"
    );
}

/// A contact of `area` cm2 between a surface (first) and a hand (second), with fixed efficiencies.
fn contact(area: f64, (surface, to_hand): (f64, f64), (hand, to_surface): (f64, f64)) -> Event {
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
        flow,
    }
}

/// Mean counts after an event: what the event's own means and shares say.
fn expected(event: &Event, (on_a, on_b): (f64, f64)) -> (f64, f64) {
    let (ab, ba) = event.means();
    let there = on_a * event.share_ab(ab);
    let back = on_b * event.share_ba(ba);
    (on_a - there + back, on_b + there - back)
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
    covered(mean)
}

/// What survives a log10 reduction that is certain and misses nothing.
fn covered(reduction: f64) -> f64 {
    let missed = Efficiency { mean: 0.0, sd: 0.0 };
    Removal {
        mean: reduction,
        sd: 0.0,
        missed,
        partial: 0.0,
    }
    .mean_surviving()
}

/// W4. Greene et al. 2015, doi 10.1016/j.ajic.2015.05.008: a glove takes 55.9 % off what a surface gives to a finger
/// (24.1 % becomes 10.6 %) and 47.1 % off what a finger gives to a surface (5.6 % becomes 3.0 %). Tolerance: half of
/// the last published digit.
#[test]
fn w4_a_glove_lowers_transfer_as_published() {
    let to_finger = mean(Class::VegetativeBacterium, "hard-plastic", "skin", false);
    let to_glove = mean(Class::VegetativeBacterium, "hard-plastic", "nitrile", false);
    close("surface to bare finger", to_finger, 0.241, 0.0005);
    close(
        "surface to gloved finger",
        to_finger * (1.0 - 0.559),
        to_glove,
        0.0005,
    );
    let from_finger = mean(Class::VegetativeBacterium, "skin", "hard-plastic", false);
    let from_glove = mean(Class::VegetativeBacterium, "nitrile", "hard-plastic", false);
    close("bare finger to surface", from_finger, 0.056, 0.0005);
    close(
        "gloved finger to surface",
        from_finger * (1.0 - 0.471),
        from_glove,
        0.0005,
    );
}

/// W5. Marples and Towers 1979, doi 10.1017/s0022172400025651: washing takes 95 % away, alcohol 99.99 %, 0.2 ml of
/// ethanol 93 %; Mackintosh and Hoffman 1984 (J Hyg 92:345-55): 0.5 ml of isopropanol 14,000-fold. To three decimals
/// of a log10 reduction.
#[test]
fn w5_shares_removed_and_log_reductions_are_the_same_thing() {
    for (left, reduction) in [
        (0.05, 1.301),
        (0.0001, 4.000),
        (0.07, 1.155),
        (1.0 / 14_000.0, 4.146),
    ] {
        close("log10 reduction", -covered(reduction).log10(), reduction, 1e-9);
        close("share left", covered(reduction) / left, 1.0, 0.0012);
    }
}

/// W5, the chain. Marples and Towers 1979: moist fabric to hand 0.10, wet hand to fabric 0.85, but the whole chain
/// only 0.0006: the hand dries between the grasps. With 0.10 to a hand that has dried the table must give the chain
/// to the one digit that is published; the wet product must miss it about 142 times.
#[test]
fn w5_the_fabric_chain_needs_a_hand_that_dries() {
    let class = Class::VegetativeBacterium;
    let grasp = mean(class, "cotton", "skin", true);
    close("moist fabric to hand", grasp, 0.10, 0.005);
    let (wet, dry) = (
        mean(class, "skin", "cotton", true),
        mean(class, "skin", "cotton", false),
    );
    close("wet hand to fabric", wet, 0.85, 0.005);
    close("the whole chain", grasp * dry, 0.0006, 0.00005);
    close("wet product over the chain", grasp * wet / 0.0006, 142.0, 1.0);
}

/// W6 (a): contact area in a mass balance, efficiencies of Greene et al. 2015, hand of 490 cm2, 12.9 % of it in
/// contact. Worked in double precision, so only the printed digits limit the tolerance.
#[test]
fn w6a_one_contact_moves_what_the_mass_balance_says() {
    let event = contact(0.129 * 490.0, (1000.0, 0.241), (490.0, 0.056));
    let (surface, hand) = expected(&event, (10.0 * 1000.0, 0.0));
    close("moved", hand, 152.3361, 5e-5);
    close("per cm2 of hand", hand / 490.0, 0.310_890, 5e-7);
    close("per cm2 of surface", surface / 1000.0, 9.847_663_9, 5e-8);
    close("total", (surface + hand) / 10_000.0, 1.0, 1e-9);
}

/// W6 (b): five such contacts of the same patch.
#[test]
fn w6b_five_contacts_follow_the_recurrence() {
    let event = contact(0.129 * 490.0, (1000.0, 0.241), (490.0, 0.056));
    let hand = [0.310_890, 0.614_798, 0.911_881, 1.202_293, 1.486_182];
    let surface = [9.847_664, 9.698_749, 9.553_178, 9.410_877, 9.271_771];
    let mut on = (10_000.0, 0.0);
    for n in 0..5 {
        on = expected(&event, on);
        close("per cm2 of hand", on.1 / 490.0, hand[n], 5e-7);
        close("per cm2 of surface", on.0 / 1000.0, surface[n], 5e-7);
        close("total", (on.0 + on.1) / 10_000.0, 1.0, 1e-9);
    }
}

/// W6 (c): the other way, 0.23 both ways (Julian et al. 2010, mean), 13 % of a loaded hand on a clean surface.
#[test]
fn w6c_a_loaded_hand_gives_to_a_clean_surface() {
    let event = contact(0.13 * 490.0, (1000.0, 0.23), (490.0, 0.23));
    let (surface, hand) = expected(&event, (0.0, 100.0 * 490.0));
    close("moved", surface, 1465.1, 0.05);
    close("per cm2 of hand", hand / 490.0, 97.01, 0.005);
    close("per cm2 of surface", surface / 1000.0, 1.4651, 5e-5);
}

/// W6 (a) again with particles: the books must move 152.3361 of 10,000 on average. Binomial spread over 40,000
/// contacts gives a standard error of 0.061; four of them are allowed.
#[test]
fn w6a_the_books_move_as_many_on_average() {
    let event = contact(0.129 * 490.0, (1000.0, 0.241), (490.0, 0.056));
    let draws = 40_000_u32;
    let sum: u64 = (0..u64::from(draws))
        .map(|seed| {
            let mut books = Books::open(&[10_000, 0]);
            books.apply(&event, Luck::new(seed), None).moved_ab
        })
        .sum();
    close(
        "mean moved by the books",
        sum as f64 / f64::from(draws),
        152.3361,
        0.25,
    );
}

/// W7: a finger with 100 touches five clean surfaces, each taking 23 % (Julian et al. 2010) of what is left.
#[test]
fn w7_deposits_fall_from_one_clean_surface_to_the_next() {
    let event = contact(1.0, (1.0, 0.0), (1.0, 0.23));
    let deposits = [23.0, 17.71, 13.6367, 10.5003, 8.0852];
    let left = [77.0, 59.29, 45.6533, 35.1530, 27.0678];
    let mut finger = 100.0;
    for n in 0..5 {
        let (surface, after) = expected(&event, (0.0, finger));
        close("deposit", surface, deposits[n], 5e-5);
        close("left on the finger", after, left[n], 5e-5);
        finger = after;
    }
}

/// W9: spores on hands, 10,000 of them, after soap and water (2.14 log10) or a rub (0.06), both Oughton et al. 2009
/// (Infect Control Hosp Epidemiol 30:939-44); then a handshake that moves 30 % (Jabbar et al. 2010, doi
/// 10.1086/652772). The last printed digit.
#[test]
fn w9_spores_survive_a_rub_and_not_a_wash() {
    let handshake = contact(1.0, (1.0, 0.0), (1.0, 0.30));
    for (product, left, shaken) in [("soap-and-water", 72.4, 21.7), ("alcohol-rub", 8709.6, 2612.9)] {
        let residual = 1e4 * survival(product, Class::Spore);
        close(product, residual, left, 0.05);
        close(
            "after the handshake",
            expected(&handshake, (0.0, residual)).0,
            shaken,
            0.05,
        );
    }
}

/// W12: with a hole in 1.5 % of gloves, the usual acceptance quality level (EN 455-1), a pair has one in 2.9775 %.
#[test]
fn w12_one_glove_of_a_pair_is_holed_as_often_as_two_independent_ones() {
    let pinhole = content()
        .library
        .fault("pinhole")
        .unwrap_or_else(|| panic!("there is no fault `pinhole`"));
    close("chance for one glove", pinhole.chance, 0.015, 0.0005);
    let seeds = 40_000_u64;
    let setup = crate::fixture::setup("classic-tracer");
    let holed = (0..seeds)
        .filter(|&seed| {
            let drill = smirch::drill::Drill::begin(setup.clone(), seed);
            drill.state().faults.iter().any(|f| f.fault == "pinhole")
        })
        .count();
    // Standard error 0.00085; four of them.
    close(
        "drills with a holed glove",
        holed as f64 / seeds as f64,
        0.029_775,
        0.0034,
    );
}
