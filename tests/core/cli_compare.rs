//! `smirch compare` as a user meets it: what it prints and writes, and what it says to what cannot be compared.

use crate::cli::run;
use crate::fixture::{Scratch, content};

const GLOVES: &str = "us-gloves-first";
const GOWN: &str = "uk-agp";

/// Percentages stand beside people of a hundred; the verdict, the tracer's warning and the caution are there.
#[test]
fn it_prints_frequencies_verdicts_and_cautions() {
    let said = run(&["compare", "classic-tracer", GLOVES, GOWN, "--repeats", "200"])
        .ends(0)
        .quietly()
        .prints(&[
            "200 repeats, each with the same start and the same draws of chance for all",
            "of 100 people",
            "trainee: does it to the letter, without a slip",
            "trainee: usual practice",
            "counted of people: enough to be seen under the lamp, 5 or more on one patch",
            " % (",
            "hands and wrists [hands]",
            "eyes, nostrils or lips [mucosa]",
            "room [room]",
            "of 100 attempts, both ways with the same start and the same draws of chance",
            "a stress test of technique, not a risk of infection",
            "Training aid, not a clinical device",
        ]);
    let again = run(&["compare", "classic-tracer", GLOVES, GOWN, "--repeats", "200"]);
    assert_eq!(said.out, again.out, "the same seed prints something else");
    let one = run(&[
        "compare",
        "classic-tracer",
        GLOVES,
        GOWN,
        "--repeats",
        "50",
        "--target",
        "neck",
    ])
    .ends(0)
    .prints(&["[neck]"]);
    assert!(
        !one.out.contains("[hands]"),
        "only the neck was asked for: {}",
        one.out
    );
}

#[test]
fn sequences_with_a_trainee_scripts_by_name_and_script_files_are_compared() {
    let scratch = Scratch::new("compare");
    let copy = include_str!("../../scenarios/scripts/classic-tracer/no-rub.ron");
    let file = scratch.write("mine.ron", copy);
    run(&[
        "compare",
        "classic-tracer",
        GOWN,
        "no-rub",
        "classic-tracer/gown-first",
        &file.to_string_lossy(),
        "--trainee",
        "usual",
        "--repeats",
        "100",
    ])
    .ends(0)
    .quietly()
    .prints(&["trainee: usual practice", "first less second"]);
}

#[test]
fn json_csv_and_pictures_hold_the_same_numbers() {
    let scratch = Scratch::new("compare");
    let (json, csv) = (scratch.path("out.json"), scratch.path("out.csv"));
    for picture in ["out.svg", "out.png"] {
        run(&[
            "compare".as_ref(),
            "classic-tracer".as_ref(),
            GLOVES.as_ref(),
            "no-rub".as_ref(),
            "--repeats".as_ref(),
            "60".as_ref(),
            "--json".as_ref(),
            json.as_os_str(),
            "--csv".as_ref(),
            csv.as_os_str(),
            "--svg".as_ref(),
            scratch.path(picture).as_os_str(),
        ])
        .ends(0)
        .quietly();
    }
    let read = |path| std::fs::read(path).expect("it was written");
    assert!(read(scratch.path("out.svg")).starts_with(b"<"), "no SVG");
    assert!(read(scratch.path("out.png")).starts_with(b"\x89PNG"), "no PNG");
    let value: serde_json::Value = serde_json::from_slice(&read(json)).expect("it is JSON");
    assert_eq!(value["format"], 3);
    let people = value["people"].as_array().expect("a list");
    assert_eq!(people.len(), 2, "two sorts of people");
    assert_eq!(people[0]["comparison"]["repeats"], 60);
    let written = read(csv);
    let mut rows = csv::Reader::from_reader(&*written);
    let rows: Vec<csv::StringRecord> = rows.records().map(|r| r.expect("it is CSV")).collect();
    let targets: Vec<&serde_json::Value> = people
        .iter()
        .flat_map(|p| p["comparison"]["targets"].as_array().expect("a list"))
        .collect();
    assert_eq!(
        rows.len(),
        2 * targets.len(),
        "one line per people, target and way"
    );
    for (n, row) in rows.iter().enumerate() {
        let brought = &targets[n / 2]["contenders"][n % 2];
        assert_eq!(people[n * 2 / rows.len()]["trainee"], row[3], "{row:?}");
        let place = format!("{row:?}");
        assert_eq!(targets[n / 2]["target"], row[1], "{place}");
        let people = &people[n * 2 / rows.len()];
        let per = targets.len() / 2;
        let seen = &people["doubt"]["ways"][n % 2][n / 2 % per]["seen"];
        for (column, value) in [
            (18, &seen["median"]),
            (19, &seen["range"]["low"]),
            (20, &seen["range"]["high"]),
            (5, &brought["probability"]),
            (11, &brought["counts"]["mean"]),
            (14, &brought["expected"]),
        ] {
            if value.is_null() {
                assert!(
                    ["hands-peak", "two-places"].contains(&&row[1][..]),
                    "{place}: no number"
                );
                assert_eq!(&row[column], "", "{place}");
                continue;
            }
            let of = |number: Option<f64>| {
                number.unwrap_or_else(|| panic!("column {column} is no number: {place}"))
            };
            let (csv, json) = (of(row[column].parse().ok()), of(value.as_f64()));
            // The reader of JSON may be off in the last bit.
            assert!(
                (csv - json).abs() <= 1e-14 * json.abs(),
                "column {column} is {csv} in CSV and {json} in JSON: {place}"
            );
        }
    }
}

#[test]
fn what_cannot_be_compared_is_said_with_a_hint() {
    let tracer = |rest: &[&str]| {
        let mut arguments = vec!["compare", "classic-tracer"];
        arguments.extend(rest);
        run(&arguments)
    };
    tracer(&[GLOVES])
        .ends(2)
        .complains(&["only `us-gloves-first` to compare", "hint: name two"]);
    tracer(&[GLOVES, GLOVES])
        .ends(2)
        .complains(&["`us-gloves-first` is named twice", "hint:"]);
    tracer(&[GLOVES, "uk-agq"]).ends(2).complains(&[
        "unknown sequence or script `uk-agq`",
        "hint:",
        "`uk-agp`",
    ]);
    tracer(&[GLOVES, "gown-frist"])
        .ends(2)
        .complains(&["unknown sequence or script `gown-frist`", "`gown-first`"]);
    tracer(&[GLOVES, "study-gown"]).ends(1).complains(&[
        "sequence `study-gown`: step `gown` cannot be followed",
        "the left glove has to come off first",
        "hint: `classic-tracer` is made for us-gloves-first",
    ]);
    tracer(&[GLOVES, GOWN, "--repeats", "0"])
        .ends(2)
        .complains(&["no repeats were asked for", "hint:"]);
    tracer(&[GLOVES, GOWN, "--repeats", "500001"])
        .ends(2)
        .complains(&["500001 repeats are too many", "hint: at most 500000"]);
    tracer(&[GLOVES, GOWN, "--target", "nekc"])
        .ends(2)
        .complains(&["unknown target `nekc`", "`neck`"]);
    tracer(&[GLOVES, GOWN, "--trainee", "usuel"])
        .ends(2)
        .complains(&["unknown trainee `usuel`", "`usual`"]);
    tracer(&[
        GLOVES,
        GOWN,
        "us-2020",
        "manitoba",
        "no-rub",
        "--svg",
        "never-written.svg",
    ])
    .ends(2)
    .complains(&["5 ways cannot be told apart in one picture", "hint: at most 4"]);
}

/// Two kits that are loaded alike: what differs is the kit, and the same start is named after each.
#[test]
fn a_way_can_be_done_in_another_scenario_of_the_same_organism() {
    let single = ["compare", "study-virus-single-gloves", "study-single-gloves"];
    let with =
        |other: &'static str| run(&[&single[..], &[other, "--repeats", "300", "--target", "hands"]].concat());
    with("study-virus-double-gloves/study-double-gloves")
        .ends(0)
        .prints(&[
            "(Comparison: virus on the kit, two pairs of gloves) brings less",
            "Whole kit, one pair of gloves, no cleaning\n",
        ]);
    with("classic-tracer/uk-agp").ends(2).complains(&[
        "`classic-tracer` has",
        "their counts cannot be compared",
        "hint: name a scenario with the same organism",
    ]);
    with("study-virus-double-gloves/study-double-glove")
        .ends(2)
        .complains(&["`study-double-gloves`"]);
    // The scenario of a file takes the place of the built-in one with its id: there is only one to compare in.
    with("study-virus-single-gloves/study-single-gloves")
        .ends(2)
        .complains(&[
            "in the very scenario that is compared in",
            "give the file another id",
        ]);
}

#[test]
fn every_preset_runs_and_says_what_is_known_with_sources() {
    for duel in &content().library.duels {
        run(&["compare", "--preset", &duel.id, "--repeats", "50"])
            .ends(0)
            .prints(&[&duel.known, &duel.open]);
    }
    let slip = run(&["compare", "--preset", "straps-or-frnot"]).ends(2);
    assert!(slip.err.contains("straps-or-front"), "{}", slip.err);
}

/// What was named with a preset is done, not passed over.
#[test]
fn a_trainee_is_heeded_with_a_preset_and_with_scripts() {
    let run = |more: &[&str]| {
        let arguments = [
            "compare",
            "--preset",
            "gloves-or-gown-first",
            "--repeats",
            "120",
            "--target",
            "hands",
        ];
        run(&[&arguments[..], more].concat()).ends(0)
    };
    let usual = run(&["--trainee", "usual"]).prints(&["trainee: usual practice"]);
    let letter = run(&["--trainee", "flawless"]).prints(&["trainee: does it to the letter, without a slip"]);
    assert!(!usual.out.contains("to the letter"), "{}", usual.out);
    assert_ne!(usual.out, letter.out, "the trainee makes no difference");
    let both = run(&[]);
    for said in [&usual, &letter] {
        let seen = said
            .out
            .lines()
            .find(|l| l.contains("    seen: "))
            .expect("there are odds");
        assert!(
            both.out.contains(seen),
            "side by side has other numbers than `{seen}`: {}",
            both.out
        );
    }
}

#[test]
fn one_repeat_and_five_are_told_without_nonsense() {
    for repeats in ["1", "5"] {
        let said = run(&["compare", "classic-tracer", GLOVES, GOWN, "--repeats", repeats]).ends(0);
        for nonsense in [
            "inf ",
            "inf)",
            "NaN",
            "brings less",
            "of 100 attempts",
            "first less second",
        ] {
            assert!(!said.out.contains(nonsense), "{repeats} repeats: {}", said.out);
        }
        said.prints(&["too few to tell", "too few repeats for an interval"]);
    }
}

/// A file whose scenario has the id of a built-in one: what is meant by that id cannot be told.
#[test]
fn two_scenarios_of_one_id_are_not_taken_for_each_other() {
    let scratch = Scratch::new("twice");
    let text = content().scenario_texts["classic-tracer"].clone();
    let spoiled = text.replacen("label: \"", "label: \"Mine: ", 1);
    let file = scratch.write("mine.ron", spoiled);
    let file = file.to_string_lossy().into_owned();
    run(&[
        "compare",
        &file,
        GLOVES,
        &format!("classic-tracer/{GOWN}"),
        "--repeats",
        "50",
    ])
    .ends(2)
    .complains(&[
        "could be meant for",
        "hint: give the scenario",
        "an id of its own",
    ]);
    run(&["compare", &file, GLOVES, GOWN, "--repeats", "50"])
        .ends(0)
        .prints(&["Mine: "]);
}

/// Whoever leaves the gown on brings less to the neck, and that is no merit of the way.
#[test]
fn ways_that_end_with_other_kit_on_are_no_match_for_each_other() {
    let scratch = Scratch::new("unlike");
    let json = scratch.path("unlike.json");
    run(&[
        "compare",
        "respiratory-room",
        "uk-agp",
        "uk-droplet",
        "--repeats",
        "100",
        "--target",
        "neck",
        "--stated",
        "--json",
        &json.to_string_lossy(),
    ])
    .ends(0)
    .prints(&[
        "no verdict, since they do not end alike",
        "everything comes off",
        "still on: gown, respirator",
    ])
    .prints_none(&["brings less", "of 100 attempts"]);
    let told = std::fs::read_to_string(&json).expect("it is written");
    assert!(
        told.contains("do not end alike") && !told.contains("brings less"),
        "{told}"
    );
    for duel in &content().library.duels {
        let [one, other] = smirch::analysis::Side::both(content(), duel).expect("it can be played");
        assert_eq!(one.unlike(&other), None, "{}", duel.id);
    }
}

/// Of three repeats nothing is told of a hundred people.
#[test]
fn of_a_handful_of_repeats_nothing_is_told_of_people() {
    run(&[
        "odds",
        "respiratory-room",
        "--repeats",
        "3",
        "--stated",
        "--target",
        "hands",
    ])
    .ends(0)
    .prints(&["of 3 repeats, too few to tell of people"])
    .prints_none(&["of 100 people", "none, in this model"]);
    run(&[
        "compare",
        "respiratory-room",
        "uk-agp",
        "us-2020",
        "--repeats",
        "3",
        "--stated",
        "--target",
        "hands",
    ])
    .ends(0)
    .prints(&["too few to tell", "of 3 repeats"])
    .prints_none(&["of 100 people", "none, in this model"]);
}

/// A script leaves nothing to people but their lapses, a sequence much: laid beside each other they have other people in them,
/// and that is said of those who lapse.
#[test]
fn a_script_beside_a_sequence_is_said_to_have_other_people_in_it() {
    const OTHERS: &str = "part of a difference between the two may be that";
    let of = |first: &str, second: &str, who: &str| {
        let asked = [
            "--target",
            "hands",
            "--stated",
            "--repeats",
            "40",
            "--trainee",
            who,
        ];
        run(&[&["compare", "classic-tracer", first, second][..], &asked].concat()).ends(0)
    };
    of(GOWN, "no-rub", "usual").prints(&["of a sequence chooses what is usual", OTHERS]);
    let scripts = of("gown-first", "no-rub", "usual").prints(&["of a sequence they choose what is usual"]);
    assert!(!scripts.out.contains(OTHERS), "{}", scripts.out);
    for said in [of(GOWN, GLOVES, "usual"), of(GOWN, "no-rub", "flawless")] {
        assert!(!said.out.contains("whoever lapses"), "{}", said.out);
    }
}
