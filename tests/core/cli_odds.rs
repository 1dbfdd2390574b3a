//! `smirch odds` as a user meets it: who is spoken of, and no option is passed over.

use crate::cli::run;
use crate::fixture::Scratch;

fn odds(more: &[&str]) -> crate::cli::Said {
    run(&[&["odds", "classic-tracer", "--repeats", "120"], more].concat())
}

/// A share of people without saying which people misleads: hands without a lapse do far better than usual ones.
#[test]
fn flawless_and_usual_people_are_shown_beside_each_other() {
    let said = odds(&[]).ends(0).prints(&[
        "trainee: does it to the letter, without a slip",
        "trainee: usual practice, no recent training",
        "seen: enough to be seen under the lamp, 5 or more on one patch",
        "bare hands before each cleaning and at the end [hands-before-cleaning]",
        "before cleaning 1 of bare hands",
        "next patient, by one touch [next-patient]",
    ]);
    let one = odds(&["--trainee", "usual"]).ends(0);
    assert!(!one.out.contains("to the letter"), "{}", one.out);
    let usual = said.out.split_once("trainee: usual").expect("both are there").1;
    let alone = one.out.split_once("trainee: usual").expect("it is there").1;
    assert_eq!(
        usual, alone,
        "usual practice has other numbers beside others than alone"
    );
    for nonsense in ["inf ", "inf)", "NaN", "100.0 % (100.0 to 100.0)"] {
        assert!(!said.out.contains(nonsense), "{}", said.out);
    }
}

#[test]
fn no_option_is_passed_over() {
    let neck = odds(&["--target", "neck"]).ends(0).prints(&["neck [neck]"]);
    assert!(
        !neck.out.contains("[hands]"),
        "only the neck was asked for: {}",
        neck.out
    );
    odds(&["--target", "nekc"])
        .ends(2)
        .complains(&["unknown target `nekc`", "`neck`"]);
    let usual = odds(&["--script", "no-rub", "--trainee", "usual"]).ends(0);
    assert!(
        !usual.out.contains("120 repeats, 0 % with a lapse"),
        "the trainee has no lapses at a script: {}",
        usual.out
    );
    let said = odds(&["--sensitivity", "--dose-response", "sars-cov-2"]).ends(2);
    assert!(said.err.contains("--dose-response"), "{}", said.err);
    let scratch = Scratch::new("odds");
    let json = scratch.path("effects.json");
    run(&[
        "odds".as_ref(),
        "classic-tracer".as_ref(),
        "--sensitivity".as_ref(),
        "--repeats".as_ref(),
        "1".as_ref(),
        "--target".as_ref(),
        "hands".as_ref(),
        "--json".as_ref(),
        json.as_os_str(),
    ])
    .ends(0);
    let text = std::fs::read_to_string(json).expect("it was written");
    let value: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
    assert_eq!((&value["target"], &value["starts"]), (&"hands".into(), &1.into()));
    assert!(
        value["sensitivity"]
            .as_array()
            .is_some_and(|list| !list.is_empty()),
        "{text}"
    );
    // More brushes soil more people, not only with more.
    let json = scratch.path("shares.json");
    let out = json.to_str().expect("plain");
    odds(&["--sensitivity", "--target", "any-skin", "--json", out]).ends(0);
    let text = std::fs::read_to_string(&json).expect("it was written");
    let value: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
    let brushes = value["sensitivity"]
        .as_array()
        .and_then(|all| {
            all.iter()
                .find(|e| e["constant"] == "all chances of brushes, factor")
        })
        .unwrap_or_else(|| panic!("brushes are not turned: {text}"));
    let [low, at, high] = [
        &brushes["share_at_range"][0],
        &brushes["share_at_value"],
        &brushes["share_at_range"][1],
    ]
    .map(|share| share.as_f64().expect("a share"));
    assert!(
        low <= at && at <= high && low < high && high <= 1.0,
        "{low}, {at}, {high}"
    );
    odds(&["--sensitivity", "--target", "hands-peak"])
        .ends(1)
        .complains(&["this has no exact mean"]);
}

/// How often people of usual practice lapse matters to them and to nobody else.
#[test]
fn sensitivity_is_of_whom_one_asks_for() {
    let turned = |who: &[&str]| {
        let said = odds(&[&["--sensitivity", "--target", "hands"], who].concat()).ends(0);
        let row = said
            .out
            .lines()
            .find(|row| row.starts_with("usual, poor technique\t"));
        row.map(|row| {
            let numbers: Vec<f64> = row.split('\t').skip(1).map_while(|n| n.parse().ok()).collect();
            (numbers[4], numbers[5])
        })
    };
    assert_eq!(turned(&[]), None);
    assert_eq!(turned(&["--trainee", "flawless"]), None);
    let (low, high) = turned(&["--trainee", "usual"]).expect("it is turned");
    assert!(0.0 < low && low < high, "{low} to {high}");
}

#[test]
fn one_repeat_has_no_interval_of_its_mean() {
    let said = run(&["odds", "classic-tracer", "--repeats", "1"])
        .ends(0)
        .prints(&["too few repeats for an interval"]);
    assert!(!said.out.contains("inf)"), "{}", said.out);
}
