//! Worked examples from published numbers, computed with the product's own pieces: its table, its hygiene data, its
//! curves, its contact events. One list serves the test and the table in `tests/data/reproductions.md`; examples that
//! do not touch the model stand in it with the reason.

use std::fmt::Write;

use smirch::chance::Luck;
use smirch::transfer::Books;

use crate::worked_rows::{Row, contact, rows};

/// Number, title, where its inputs were published, and why that tolerance, or why it does not apply.
const EXAMPLES: [(u8, &str, &str, &str); 18] = [
    (
        1,
        "Exponential dose-response",
        "Watanabe et al. 2010, doi 10.1111/j.1539-6924.2010.01427.x, table II",
        "parameters are printed to two or three digits: 2.5 % of a median dose, half a per cent of r; vectors to their \
         last digit",
    ),
    (
        2,
        "Beta-Poisson dose-response",
        "Watanabe et al. 2010; QMRA handbook after Hendley et al. 1972",
        "vectors to their last digit",
    ),
    (
        3,
        "Absorbing chain from hand to face",
        "published rates per minute between surfaces, hands, face and air",
        "not applicable: a chain of rates in time, with air; here every touch is an event of its own and nothing is \
         airborne",
    ),
    (
        4,
        "What a glove takes off transfer",
        "Greene et al. 2015, doi 10.1016/j.ajic.2015.05.008",
        "half of the last digit",
    ),
    (
        5,
        "Fabric, hand, fabric, and hand hygiene between",
        "Marples and Towers 1979, doi 10.1017/s0022172400025651; Mackintosh and Hoffman 1984, J Hyg 92:345-55",
        "log reductions to three decimals; the chain to the one digit printed",
    ),
    (
        6,
        "Contact area in a mass balance",
        "efficiencies of Greene et al. 2015, Julian et al. 2010 (doi 10.1111/j.1365-2672.2010.04814.x), Wilson and \
         Jones 2021 (doi 10.1038/s41370-021-00398-2)",
        "to the last digit",
    ),
    (
        7,
        "Repeated contacts with fresh surfaces",
        "shares of King et al. 2020 (doi 10.1111/ina.12682) and Julian et al. 2010",
        "to the last digit; the plain recurrence is not claimed to give the plateaus that King et al. saw",
    ),
    (
        8,
        "Respirator to hand to lip",
        "Fisher et al. 2014 (load), Brady et al. 2017 (doi 10.1080/15459624.2017.1346799), Rusin et al. 2002 (doi \
         10.1046/j.1365-2672.2002.01734.x)",
        "to the last digit; every link is published, the chain is not",
    ),
    (
        9,
        "Spores after rub and wash, then a handshake",
        "Oughton et al. 2009 (Infect Control Hosp Epidemiol 30:939-44), Jabbar et al. 2010 (doi 10.1086/652772)",
        "to the last digit",
    ),
    (
        10,
        "Missed areas cap the log reduction",
        "shares missed in published pictures of hands",
        "to the last digit; an upper limit of what is left, since missed areas are in fact partly wetted",
    ),
    (
        11,
        "Survivors behind a gap in log reduction",
        "published pairs of log reductions",
        "to the last digit",
    ),
    (
        12,
        "Holes in gloves",
        "acceptance quality level 1.5, EN 455-1",
        "to the last digit; the acceptance plans themselves are compared in the tests of our binomial draws",
    ),
    (
        13,
        "Liquid film on skin",
        "published film thickness",
        "not applicable: loads at the start are counts, none is worked out from a volume of liquid",
    ),
    (
        14,
        "Removals and lapses implied by rounded shares",
        "Tomas et al. 2015, JAMA Intern Med 175:1904-10",
        "shares printed to a tenth of a per cent leave 2 removals and half a per cent open",
    ),
    (
        15,
        "One dose, two curves",
        "dose of King et al. 2022; curves of Watanabe et al. 2010",
        "to the last digit; the study itself declines to give a risk",
    ),
    (
        16,
        "Norovirus from steel to finger to steel",
        "Sharps et al. 2012 (doi 10.4315/0362-028x.jfp-12-052) and studies of fingertips",
        "to the last digit",
    ),
    (
        17,
        "Half-lives on surfaces and hands",
        "published rates of dying",
        "not applicable: nothing dies in the minutes of a drill",
    ),
    (
        18,
        "Rhinovirus on fingers",
        "Ansari et al. 1991, doi 10.1128/jcm.29.10.2115-2119.1991",
        "the loss over hours does not apply (nothing dies in a drill); the two dry contacts do, to the last digit",
    ),
];

#[test]
fn every_worked_example_that_applies_comes_out_as_given() {
    let wrong: Vec<String> = rows()
        .iter()
        .filter(|r| !r.is_inside())
        .map(|r| {
            format!(
                "W{} {}: {}, given {} +- {}",
                r.example, r.what, r.ours, r.given, r.tolerance
            )
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_example_has_rows_or_a_reason_why_not() {
    let rows = rows();
    for (n, title, _, why) in EXAMPLES {
        let counted = rows.iter().filter(|r| r.example == n).count();
        assert_eq!(
            counted == 0,
            why.starts_with("not applicable"),
            "W{n} {title}: {counted} rows, but `{why}`"
        );
    }
}

/// W6 again with particles: the books must move 152.3361 of 10,000 on average. Binomial spread over 40,000 contacts
/// gives a standard error of 0.061; four of them are allowed.
#[test]
fn the_books_move_as_many_on_average_as_the_mass_balance() {
    let event = contact(0.129 * 490.0, (1000.0, 0.241), (490.0, 0.056));
    let draws = 40_000_u32;
    let sum: u64 = (0..u64::from(draws))
        .map(|seed| {
            let mut books = Books::open(&[10_000, 0]);
            books.apply(&event, Luck::new(seed), None).moved_ab
        })
        .sum();
    let mean = sum as f64 / f64::from(draws);
    assert!((mean - 152.3361).abs() < 0.25, "mean moved by the books: {mean}");
}

/// W12 again with drills: a pair has a holed glove in 2.9775 % (EN 455-1). Standard error 0.00085; four of them.
#[test]
fn one_glove_of_a_pair_is_holed_as_often_as_two_independent_ones() {
    let seeds = 40_000_u64;
    let setup = crate::fixture::setup("classic-tracer");
    let holed = (0..seeds)
        .filter(|&seed| {
            let drill = smirch::drill::Drill::begin(setup.clone(), seed);
            drill.state().faults.iter().any(|f| f.fault == "pinhole")
        })
        .count();
    let share = holed as f64 / seeds as f64;
    assert!(
        (share - 0.029_775).abs() < 0.0034,
        "drills with a holed glove: {share}"
    );
}

/// The section of the record that lists all of this.
pub fn section() -> String {
    let mut text = String::from(
        "\n## Worked examples\n\n\
         Published inputs through the product's own table, curves, hygiene data and contact events. \"Given\" is \
         published, or worked by hand from published inputs.\n\n",
    );
    let rows = rows();
    for (n, title, source, why) in EXAMPLES {
        let _ = writeln!(text, "**W{n}. {title}.** {source}. Tolerance: {why}.\n");
        let own: Vec<&Row> = rows.iter().filter(|r| r.example == n).collect();
        if own.is_empty() {
            continue;
        }
        text.push_str("| what | given | ours | |\n|---|---|---|---|\n");
        for r in own {
            let inside = if r.is_inside() { "inside" } else { "outside" };
            let _ = writeln!(
                text,
                "| {} | {} | {} | {inside} |",
                r.what,
                digits(r.given),
                digits(r.ours)
            );
        }
        text.push('\n');
    }
    text.replace("Tolerance: not applicable:", "Not applicable:")
}

/// Seven significant digits without idle zeros.
fn digits(x: f64) -> String {
    let places = (6.0 - x.abs().max(1e-12).log10().floor()).clamp(0.0, 12.0) as usize;
    let text = format!("{x:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
