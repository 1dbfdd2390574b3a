//! Where what ended on someone came from adds up to what is there, touch by touch, in every built-in script.

use smirch::analysis::{Target, arrival};
use smirch::drill::Drill;

use crate::fixture::{content, setup};

#[test]
fn sources_last_stops_and_shares_add_up_to_what_arrived() {
    let mut seen = 0;
    for (name, script) in &content().scripts {
        let setup = setup(&script.scenario);
        for seed in [1, 8] {
            let mut drill = Drill::begin(setup.clone(), seed);
            for action in &script.actions {
                if let Err(refusal) = drill.act(action.clone()) {
                    panic!("{name}: {refusal}");
                }
            }
            // What counts before the end, or by a chance, is no sum of what ended on sites.
            let at_end = |t: &Target| t.counts_at_end_only() && *t != Target::NextPatient;
            for (word, target) in Target::ALL.into_iter().filter(|(_, t)| at_end(t)) {
                let weights = target.weights(&setup, drill.state());
                let there: u64 = (0..weights.len())
                    .filter(|&s| weights[s] > 0.0)
                    .map(|s| drill.books().total(s))
                    .sum();
                let got = arrival(&drill, &weights);
                assert_eq!(got.total, there, "{name}, {word}: the total");
                assert_eq!(
                    got.sources.iter().map(|s| s.1).sum::<u64>(),
                    there,
                    "{name}, {word}: sources"
                );
                let near = |what: &str, sum: f64| {
                    assert!(
                        (sum - there as f64).abs() <= 1e-9 * (there as f64).max(1.0),
                        "{name}, {word}, seed {seed}: {what} add up to {sum}, not {there}"
                    );
                };
                near("last stops", got.stops.iter().map(|s| s.amount).sum());
                near(
                    "shares",
                    got.unmoved + got.touches.iter().map(|t| t.share).sum::<f64>(),
                );
                for (source, count) in &got.sources {
                    let of: f64 = got
                        .stops
                        .iter()
                        .filter(|s| s.source == *source)
                        .map(|s| s.amount)
                        .sum();
                    assert!(
                        (of - *count as f64).abs() <= 1e-9 * (*count as f64),
                        "{name}, {word}: last stops of one source add up to {of}, not {count}"
                    );
                }
                assert!(
                    got.touches.iter().all(|t| t.share <= t.passed * (1.0 + 1e-9)),
                    "{name}, {word}: a share is larger than what the touch carried"
                );
                seen += usize::from(there > 0);
            }
        }
    }
    assert!(seen > 100, "only {seen} cases had anything to explain");
}
