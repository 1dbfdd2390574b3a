//! Faults planted in good content files: every one is found, at its line and column, with the nearest name that was
//! probably meant.

use crate::broken::files;
use smirch::content::Checked;

use crate::fixture::{Scratch, content};

/// A fault that was planted: the text to find and what to put there, then what must be said of it.
struct Planted {
    find: &'static str,
    put: &'static str,
    at: &'static str,
    brief: &'static str,
    hint: &'static str,
}

fn plant(
    find: &'static str,
    put: &'static str,
    at: &'static str,
    brief: &'static str,
    hint: &'static str,
) -> Planted {
    Planted {
        find,
        put,
        at,
        brief,
        hint,
    }
}

/// Plants all faults in one file and expects each to be reported at its line and column, with its hint.
fn all_are_found(name: &str, planted: &[Planted]) {
    let (path, text) = files()
        .iter()
        .find(|(path, _)| path.ends_with(name))
        .unwrap_or_else(|| panic!("there is no content file {name}"));
    let mut spoiled = text.clone();
    for p in planted {
        assert!(
            spoiled.contains(p.find),
            "{path} no longer holds {:?}, in which a fault is planted here",
            p.find
        );
        spoiled = spoiled.replacen(p.find, p.put, 1);
    }
    let scratch = Scratch::new("planted");
    let file = scratch.write("planted.ron", &spoiled);
    let faults = content().check(std::slice::from_ref(&file)).faults;
    let shown: String = faults.iter().map(|f| format!("{f}\n")).collect();
    for p in planted {
        let put = spoiled
            .find(p.put)
            .unwrap_or_else(|| panic!("{:?} was not planted", p.put));
        let inside = p
            .put
            .find(p.at)
            .unwrap_or_else(|| panic!("{:?} is not in {:?}", p.at, p.put));
        let before = &spoiled[..put + inside];
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|&c| c != '\n').count() + 1;
        let place = format!("{}:{line}:{column}: ", file.display());
        let found = faults.iter().find(|f| f.to_string().starts_with(&place));
        let found =
            found.unwrap_or_else(|| panic!("nothing is reported at {place}{}\n\nall:\n{shown}", p.brief));
        assert!(
            found.brief.contains(p.brief),
            "at {place}\"{}\" does not say \"{}\"",
            found.brief,
            p.brief
        );
        let hint = &found.hint;
        assert!(
            hint.contains(p.hint),
            "at {place}the hint \"{hint}\" does not say \"{}\"",
            p.hint
        );
    }
    assert_eq!(
        faults.len(),
        planted.len(),
        "{} faults were planted, these were found:\n{shown}",
        planted.len()
    );
}

#[test]
fn every_fault_planted_in_a_scenario_is_found_where_it_stands() {
    all_are_found(
        "scenarios/classic-tracer.ron",
        &[
            Planted {
                find: "sequence: \"us-gloves-first\"",
                put: "sequence: \"us-glove-first\"",
                at: "\"us-glove-first\"",
                brief: "unknown sequence `us-glove-first`",
                hint: "`us-gloves-first`",
            },
            Planted {
                find: "\"left-glove-palm\"",
                put: "\"left-glove-plam\"",
                at: "\"left-glove-plam\"",
                brief: "unknown site `left-glove-plam`",
                hint: "`left-glove-palm`",
            },
            Planted {
                find: "amount: 8000,",
                put: "amount: -8000,",
                at: "-8000",
                brief: "",
                hint: "",
            },
            Planted {
                find: "fault: \"cuff-gap\"",
                put: "fault: \"cuf-gap\"",
                at: "\"cuf-gap\"",
                brief: "unknown fault `cuf-gap`",
                hint: "`cuff-gap`",
            },
            Planted {
                find: "chance: 0.05",
                put: "chance: 1.05",
                at: "1.05",
                brief: "1",
                hint: "",
            },
            Planted {
                find: "site: \"right-cheek\"",
                put: "site: \"right-cheak\"",
                at: "\"right-cheak\"",
                brief: "unknown site `right-cheak`",
                hint: "`right-cheek`",
            },
        ],
    );
}

#[test]
fn an_unknown_organism_is_found_with_the_nearest_one_that_is_known() {
    all_are_found(
        "scenarios/enteric-bay.ron",
        &[Planted {
            find: "organism: \"enteric-virus\"",
            put: "organism: \"enteric-vires\"",
            at: "\"enteric-vires\"",
            brief: "unknown organism `enteric-vires`",
            hint: "`enteric-virus`",
        }],
    );
}

#[test]
fn every_fault_planted_in_a_script_is_found_where_it_stands() {
    all_are_found(
        "classic-tracer/rubbed-eye.ron",
        &[
            Planted {
                find: "\"glove-snatch\", item: \"left-glove\"",
                put: "\"glove-snath\", item: \"left-glove\"",
                at: "\"glove-snath\"",
                brief: "unknown technique `glove-snath`",
                hint: "`glove-snatch`",
            },
            Planted {
                find: "\"glove-snatch\", item: \"right-glove\"",
                put: "\"glove-snatch\", item: \"rihgt-glove\"",
                at: "\"rihgt-glove\"",
                brief: "unknown item of this kit `rihgt-glove`",
                hint: "`right-glove`",
            },
            Planted {
                find: "with: \"fingertips\"",
                put: "with: \"fingertip\"",
                at: "\"fingertip\"",
                brief: "unknown hand zone `fingertip`",
                hint: "`fingertips`",
            },
            Planted {
                find: "Walk(Outside)",
                put: "Walk(Outsid)",
                at: "Outsid",
                brief: "Outsid",
                hint: "Outside",
            },
            Planted {
                find: "seconds: 40.0",
                put: "seconds: 4000.0",
                at: "4000.0",
                brief: "",
                hint: "",
            },
        ],
    );
}

#[test]
fn an_impossible_action_of_a_script_is_found_where_it_stands() {
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("classic-tracer/no-rub.ron"))
        .unwrap_or(&files()[0]);
    let undo = "Do(technique: \"gown-undo-waist-tie\", item: \"gown\"),";
    let spoiled = text.replacen(undo, "Wait(1.0),", 1);
    assert_ne!(&spoiled, text, "the script is expected to undo the waist tie");
    let scratch = Scratch::new("impossible");
    let faults = content().check(&[scratch.write("script.ron", &spoiled)]).faults;
    let peel = spoiled.find("Do(technique: \"gown-peel-inside\"").unwrap_or(0);
    let line = spoiled[..peel].matches('\n').count() + 1;
    let found = faults
        .iter()
        .find(|f| f.line == line)
        .map(ToString::to_string)
        .unwrap_or_default();
    assert!(
        found.contains("cannot be done here") && found.contains("waist tie"),
        "line {line} takes a tied gown off; found there: {found:?}"
    );
}

#[test]
fn every_fault_planted_in_techniques_is_found_where_it_stands() {
    all_are_found(
        "assets/techniques/gloves.ron",
        &[
            Planted {
                find: "does: TakesOff",
                put: "does: TakeOff",
                at: "TakeOff",
                brief: "TakeOff",
                hint: "TakesOff",
            },
            Planted {
                find: "a: \"act.fingertips\", b: \"item.cuff\"",
                put: "a: \"act.fingertip\", b: \"item.cuff\"",
                at: "\"act.fingertip\"",
                brief: "`fingertip`",
                hint: "act.palm",
            },
            Planted {
                find: "b: \"item.palm\", area: 1.5",
                put: "b: \"item.plam\", area: 1.5",
                at: "\"item.plam\"",
                brief: "plam",
                hint: "palm",
            },
            Planted {
                find: "chance: 0.05",
                put: "chance: 5.0",
                at: "5.0",
                brief: "",
                hint: "",
            },
            Planted {
                find: "basis: \"technique-gloves-recommended\"",
                put: "basis: \"technique-gloves-recomended\"",
                at: "\"technique-gloves-recomended\"",
                brief: "unknown basis `technique-gloves-recomended`",
                hint: "`technique-gloves-recommended`",
            },
        ],
    );
}

#[test]
fn every_fault_planted_in_a_sequence_is_found_where_it_stands() {
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("sequences/uk-agp.ron"))
        .unwrap_or(&files()[0]);
    assert!(
        text.contains("glove-pinch-peel"),
        "uk-agp.ron is expected to accept `glove-pinch-peel`"
    );
    all_are_found(
        "assets/sequences/uk-agp.ron",
        &[
            Planted {
                find: "\"glove-pinch-peel\"",
                put: "\"glove-pinch-pel\"",
                at: "\"glove-pinch-pel\"",
                brief: "unknown technique `glove-pinch-pel`",
                hint: "`glove-pinch-peel`",
            },
            Planted {
                find: "\"alcohol-rub\"",
                put: "\"alcohl-rub\"",
                at: "\"alcohl-rub\"",
                brief: "unknown product `alcohl-rub`",
                hint: "`alcohol-rub`",
            },
        ],
    );
}

#[test]
fn files_checked_together_see_each_other() {
    let scratch = Scratch::new("together");
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("scenarios/classic-tracer.ron"))
        .unwrap_or(&files()[0]);
    let scenario = scratch.write(
        "ours.ron",
        text.replacen("id: \"classic-tracer\"", "id: \"ours\"", 1),
    );
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("classic-tracer/no-rub.ron"))
        .unwrap_or(&files()[0]);
    let script = scratch.write("script.ron", text.replacen("\"classic-tracer\"", "\"ours\"", 1));
    let Checked { read, faults, .. } = content().check(&[script.clone(), scenario]);
    let shown: String = faults.iter().map(|f| format!("{f}\n")).collect();
    assert_eq!(
        (read, shown.as_str()),
        (2, ""),
        "a script is checked with the scenario it is for"
    );
    let faults = content().check(&[script]).faults;
    assert!(
        faults.iter().any(|f| f.brief.contains("unknown scenario `ours`")),
        "alone it names nothing known"
    );
}

#[test]
fn faults_planted_in_a_studies_file_are_found() {
    all_are_found(
        "assets/studies.ron",
        &[
            plant(
                "what: \"lotion on a gown, before training\", scenario: \"study-soiled-gown\"",
                "what: \"lotion on a gown, before training\", scenario: \"study-soiled-gwon\"",
                "\"study-soiled-gwon",
                "unknown scenario `study-soiled-gwon`",
                "`study-soiled-gown`",
            ),
            plant(
                "trainee: \"drilled\"),\n        (id: \"gown-trained\"",
                "trainee: \"dril\"),\n        (id: \"gown-trained\"",
                "\"dril\"",
                "unknown trainee `dril`",
                "known: `flawless`, `usual` and `drilled`",
            ),
            plant(
                "parts: [(arm: \"gloves\", removals: 234)],\n            share: 0.529",
                "parts: [(arm: \"glove\", removals: 234)],\n            share: 0.529",
                "\"glove\"",
                "unknown arm `glove`",
                "`gloves`",
            ),
            plant(
                "counted: (76, 201)",
                "counted: (201, 76)",
                "(201, 76)",
                "how many of how many",
                "the smaller first",
            ),
            plant(
                "id: \"both-any\", what: \"both, any trace\", measure: Person,",
                "id: \"both-any\", what: \"both, any trace\", measure: Persn,",
                "Persn",
                "unknown measure `Persn`",
                "`Person`",
            ),
            plant(
                "(arm: \"gloves\", among: Lapse, removals: 234)",
                "(arm: \"gloves\", among: Lapse, removals: 234, these: 3)",
                "(arm",
                "either `removals` or `these`",
                "how many were watched",
            ),
            plant(
                "within: (0.246, 0.360)",
                "within: (0.360, 0.246)",
                "(0.360, 0.246)",
                "must go up and lie between 0 and 1",
                "the smaller number first",
            ),
            plant(
                "source: \"glove-removal-2019\", basis: \"study-solution\"",
                "source: \"glove-removal-2109\", basis: \"study-solution\"",
                "\"glove-removal-2109\"",
                "unknown source `glove-removal-2109`",
                "`glove-removal-2019`",
            ),
            plant(
                "number: Hurry(trainee: \"usual\"), before: 0.3, bounds: (0.05, 0.6)",
                "number: Hury(trainee: \"usual\"), before: 0.3, bounds: (0.05, 0.6)",
                "Hury",
                "unknown number `Hury`",
                "`Hurry`",
            ),
            plant(
                "technique: \"gown-over-head\"",
                "technique: \"gown-over-hed\"",
                "\"gown-over-hed\"",
                "unknown technique `gown-over-hed`",
                "`gown-over-head`",
            ),
            plant(
                "first_step: 0.4",
                "first_step: -0.4",
                "-0.4",
                "it must lie between 0.001 and 3",
                "`first_step: 0.001`",
            ),
            plant(
                "site: Hands, share: 0.045",
                "site: Hand, share: 0.045",
                "Hand,",
                "unknown site `Hand`",
                "`Hands`",
            ),
        ],
    );
}

/// What contradicts itself in a count is said where the count stands.
#[test]
fn counts_that_contradict_themselves_are_found() {
    let text = &files()
        .iter()
        .find(|(path, _)| path.ends_with("assets/studies.ron"))
        .unwrap_or_else(|| panic!("there are no studies"))
        .1;
    let cases = [
        (
            "share: 0.529, counted: (124, 234)",
            "share: 0.529, counted: (142, 234)",
            "which is 0.607",
            "one of them is mistaken",
        ),
        (
            "share: 0.529, counted: (124, 234), ",
            "",
            "this count has no `share`",
            "`Ahead(...)`",
        ),
        (
            "within: (0.464, 0.595)",
            "within: (0.564, 0.595)",
            "`share` is 0.529 and lies outside `within`",
            "holds the published share",
        ),
        (
            "measure: Ahead(of: Hands, by: 0.05, half: 0.03),",
            "measure: Ahead(of: Hands, by: 0.05, half: 0.03), share: 0.5,",
            "has no `share`",
            "an order only",
        ),
        (
            "measure: Lapses,\n            parts: [(arm: \"gloves\",",
            "measure: Lapses,\n            parts: [(arm: \"gloves\", among: Lapse,",
            "among all removals",
            "leave `among` out",
        ),
        (
            "(arm: \"solution\", among: Lapse, these: 66)],\n            share: 0.370",
            "(arm: \"solution\", among: Lapse, removals: 66)],\n            share: 0.370",
            "not by both",
            "for every part",
        ),
        (
            "parts: [(arm: \"gown\", removals: 201)],\n            within",
            "parts: [(arm: \"gown\", among: Lapse, removals: 201)],\n            within",
            "one whole arm",
            "without `among`",
        ),
        (
            "parts: [(arm: \"gown\", removals: 201)],\n            within",
            "parts: [],\n            within",
            "one arm at least",
            "parts: [(",
        ),
        (
            "id: \"gown-any\"",
            "id: \"gloves-any\"",
            "two counts called `gloves-any`",
            "another id",
        ),
        (
            "before: 0.25, bounds: (0.05, 0.6)",
            "before: 0.75, bounds: (0.05, 0.6)",
            "`before` is 0.75 and lies outside `bounds`",
            "within its bounds",
        ),
        (
            "name: \"usual, hurry\"",
            "name: \"usual, poor technique\"",
            "two numbers called `usual, poor technique`",
            "another name",
        ),
        (
            "Amount(scenario: \"study-soiled-gown\")",
            "Amount(scenario: \"study-virus-single-gloves\")",
            "no lognormal load",
            "name a scenario that has one",
        ),
        (
            "share: 0.045, counted: (9, 199)",
            "share: 0.045, counted: (19, 199)",
            "which is 0.095",
            "one of them is mistaken",
        ),
        (
            "                (label: \"own way\", scenario: \"study-soiled-apron\", trainee: \"usual\"),\n",
            "",
            "two ways or more",
            "ways: [",
        ),
    ];
    for (find, put, brief, hint) in cases {
        assert!(text.contains(find), "{find}");
        let scratch = Scratch::new("contradicts");
        let file = scratch.write("studies.ron", text.replacen(find, put, 1));
        let faults = content().check(std::slice::from_ref(&file)).faults;
        let [fault] = &faults[..] else {
            panic!("{put}: {faults:?}");
        };
        assert!(fault.brief.contains(brief), "{put}: {fault}");
        assert!(fault.hint.contains(hint), "{put}: {fault}");
        assert!(fault.line > 1 && fault.column > 1, "{put}: {fault}");
    }
}

#[test]
fn faults_planted_in_where_faces_are_touched_are_found() {
    all_are_found(
        "assets/trainees.ron",
        &[
            plant(
                "(\"lips\", 372)",
                "(\"lip\", 372)",
                "\"lip\"",
                "unknown place `lip`",
                "`lips`",
            ),
            plant(
                "(\"nostrils\", 318)",
                "(\"nostrils\", 0)",
                "0)",
                "`share` is 0",
                "`share: 0.001`",
            ),
            plant(
                "(\"left-eye\", 136.5)",
                "\"left-eye\"",
                "\"left",
                "is written `(\"lips\", 372)`",
                "first the place",
            ),
            plant(
                "\"face-touch-shares\"",
                "\"face-touch-share\"",
                "\"face",
                "unknown basis",
                "`face-touch-shares`",
            ),
        ],
    );
}

#[test]
fn faults_planted_in_a_lesson_are_found() {
    all_are_found(
        "assets/lessons/order-class.ron",
        &[
            plant(
                "duel: \"gloves-or-gown-first\", against: \"odds-order\"",
                "duel: \"gloves-or-gown-fist\", against: \"odds-odder\"",
                "\"gloves-or-gown-fist",
                "unknown duel `gloves-or-gown-fist`",
                "`gloves-or-gown-first`",
            ),
            plant(
                "duel: \"gloves-or-gown-first\", target: AnySkin",
                "duel: \"gloves-or-gown-first\", target: AnySkinn",
                "AnySkinn",
                "unknown target `AnySkinn`",
                "`AnySkin`",
            ),
            plant(
                "sources: [\"verbeek-2020\"]",
                "sources: [\"verbeek-2021\"]",
                "\"verbeek-2021",
                "unknown source `verbeek-2021`",
                "`verbeek-2020`",
            ),
            plant(
                "against: \"exercise\"",
                "against: \"exercize\"",
                "\"exercize",
                "unknown step `exercize`",
                "`exercise`",
            ),
            plant(
                "scenario: \"classic-tracer\", sequence: \"us-gloves-first\",\n            notes: \"In pairs",
                "scenario: \"enteric-bay\", sequence: \"us-gloves-first\",\n            notes: \"In pairs",
                "\"enteric-bay",
                "nothing glows in `enteric-bay`",
                "`classic-tracer`",
            ),
            plant(
                "who: Volunteer, lamp: On",
                "who: Voluntear, lamp: On",
                "Voluntear",
                "unknown who `Voluntear`",
                "`Volunteer`",
            ),
            plant(
                "answers: [(says: First, text: \"A rub straight after brings less\"), (says: Second, text: \"No rub until later brings less\"), (says: Same), (says: Open)]",
                "answers: [(says: At(Hands), text: \"A\"), (says: Second, text: \"B\")]",
                "(says: At(Hands)",
                "this answer says nothing that the step which it is laid against can show",
                "`says: First`",
            ),
        ],
    );
    all_are_found(
        "assets/lessons/straps-huddle.ron",
        &[plant(
            "minutes: 15",
            "minutes: 14",
            "14",
            "its steps take 15",
            "`minutes: 15`",
        )],
    );
}
