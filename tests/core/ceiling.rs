//! From a patch with a great deal on it alone: the ceiling of every path is what counting organisms finds.

use smirch::analysis::{CEILING_LOAD, Haven, Plan, Progress, Way, ceiling, havens, outsides};
use smirch::chance::{Key, Luck};
use smirch::model::Owner;
use smirch::transfer::Books;

use crate::cli::run;
use crate::fixture::{script, setup};

/// Organism by organism, with the lucks of the ceiling: where anything was after any event.
fn counted(scenario: &str, name: &str, patch: usize, repeats: u64) -> Vec<f64> {
    let setup = setup(scenario);
    let plan = Plan::new(&setup, &[], &script(name).actions).expect("built-in scripts can be done");
    let dry = vec![0.0; setup.sites.len()];
    let events: Vec<_> = (0..plan.len())
        .filter_map(|n| plan.event_when(n, &dry).cloned())
        .collect();
    let member = |haven: Haven, site: usize| {
        let id = setup.sites[site].id.as_str();
        match (haven, setup.sites[site].owner) {
            (Haven::Floor, Owner::Room(_)) => id == "floor",
            // Inside and outside the room.
            (Haven::BinSurround, Owner::Room(piece)) => {
                let piece = &setup.library.furniture[piece];
                let id = piece.stands_for.as_deref().unwrap_or(&piece.id);
                id == "bin-lid" || id == "bin-pedal"
            }
            (Haven::Shoes, Owner::Body(_)) => id.contains("shoe"),
            (Haven::Neck, Owner::Body(_)) => id.starts_with("neck"),
            _ => false,
        }
    };
    let asked = [Haven::Neck, Haven::Shoes, Haven::Floor, Haven::BinSurround];
    let mut hits = vec![0.0; asked.len()];
    for n in 0..repeats {
        let luck = Luck::new(Key(1).within(n).0);
        let mut loads = vec![0; setup.sites.len()];
        loads[patch] = 1_000_000;
        let mut books = Books::open(&loads);
        let mut seen = vec![false; asked.len()];
        let mut before = None;
        for event in &events {
            before = Some(books.apply(event, luck, before.as_ref()));
            for (haven, seen) in asked.iter().zip(&mut seen) {
                *seen |= (0..setup.sites.len()).any(|site| member(*haven, site) && books.any(site));
            }
        }
        for (hits, seen) in hits.iter_mut().zip(seen) {
            *hits += f64::from(u8::from(seen));
        }
    }
    hits.iter().map(|hits| hits / repeats as f64).collect()
}

#[test]
fn the_ceiling_is_what_counting_finds() {
    let (scenario, name) = ("classic-tracer", "classic-tracer/rubbed-eye");
    let setup = setup(scenario);
    let actions = &script(name).actions;
    let repeats = 400;
    let asked = [Haven::Neck, Haven::Shoes, Haven::Floor, Haven::BinSurround];
    let all = ceiling(
        &setup,
        &Way::Script(actions),
        &asked,
        CEILING_LOAD,
        repeats,
        1,
        &Progress::default(),
    )
    .expect("built-in scripts can be done");
    let patches = outsides(&setup);
    let mut between = 0;
    for &patch in patches.iter().step_by(3) {
        let row = all
            .iter()
            .find(|row| !row.wet && row.patch == setup.sites[patch].id)
            .expect("every outside has a row");
        let found = row.reached.iter().zip(counted(scenario, name, patch, repeats));
        for (haven, (reach, counted)) in asked.iter().zip(found) {
            // Lucks are shared but for the moves themselves, which are a coin at most per repeat.
            let noise = 4.0 * (0.25_f64 / repeats as f64).sqrt();
            assert!(
                (reach.share - counted).abs() <= noise,
                "{} to {}: {:.3} by chance, {counted:.3} by counting",
                row.patch,
                haven.label(),
                reach.share
            );
            between += usize::from(counted > 0.05 && counted < 0.95);
        }
    }
    assert!(
        between > 0,
        "no path was neither sure nor shut, so little was compared"
    );
}

#[test]
fn a_kit_with_one_pair_of_gloves_has_no_inner_ones() {
    assert!(!havens(&setup("classic-tracer")).contains(&Haven::InnerGloves));
    let double = setup("double-gloves");
    assert!(havens(&double).contains(&Haven::InnerGloves));
    let inner = |id: &str| id.contains("inner-glove");
    let patches = outsides(&double);
    assert_eq!(
        patches.iter().filter(|&&s| inner(&double.sites[s].id)).count(),
        12,
        "six parts of either inner glove have a row"
    );
}

#[test]
fn the_table_says_of_whom_and_of_what() {
    let said = run(&["odds", "classic-tracer", "--ceiling", "--repeats", "20"]).ends(0);
    said.prints(&[
        "1000000 ",
        "does it to the letter, without a slip, all dry",
        "usual practice, no recent training, patch wet throughout",
        "own clothing",
    ]);
    run(&["odds", "classic-tracer", "--ceiling", "--target", "neck"])
        .ends(2)
        .complains(&["--target"]);
}
