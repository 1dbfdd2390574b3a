//! How far two who watched the same thing agree: step by step in per cent, and by a measure that leaves out what chance alone
//! would bring.

use std::collections::BTreeMap;

use crate::analysis::{Agreement, agreement};
use crate::record::Code;

use super::{Entry, Judged, Moment, Named, Verdict};

/// Two sheets belong together if they began within this time of each other, s: common practice, no source.
pub const SAME_OCCASION: f64 = 600.0;

/// One step over all pairs of sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct StepAgreement {
    /// Id of the step.
    pub id: String,
    /// What is asked.
    pub ask: String,
    /// What both said.
    pub agreement: Agreement,
}

/// How far those who watched agree on one sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Agreements {
    /// The sequence or checklist.
    pub sequence: Named,
    /// Pairs of sheets of the same occasion.
    pub pairs: usize,
    /// Each step that both saw at least once, in the order asked.
    pub steps: Vec<StepAgreement>,
    /// All steps of all pairs together.
    pub all: Agreement,
}

/// How far sheets agree that two people wrote of the same occasion: the same person or attempt, the same sequence, begun within
/// [`SAME_OCCASION`] of each other. The sequences in the order of their ids.
pub fn agreements(entries: &[Entry]) -> Vec<Agreements> {
    let mut sheets: Vec<(&Entry, &Judged)> = entries
        .iter()
        .filter_map(|entry| Some((entry, entry.judged()?)))
        .filter(|(_, sheet)| sheet.observer.is_some())
        .collect();
    sheets.sort_by_key(|(entry, sheet)| (sheet.began.millis(), entry.id));
    let mut taken = vec![false; sheets.len()];
    let mut found: BTreeMap<&str, Vec<(&Judged, &Judged)>> = BTreeMap::new();
    for first in 0..sheets.len() {
        if taken[first] {
            continue;
        }
        let second = (first + 1..sheets.len())
            .filter(|&n| !taken[n])
            .find(|&n| is_pair(sheets[first], sheets[n]));
        if let Some(second) = second {
            taken[second] = true;
            let pair = (sheets[first].1, sheets[second].1);
            found.entry(&pair.0.sequence.id).or_default().push(pair);
        }
    }
    found.into_values().map(|pairs| of_pairs(&pairs)).collect()
}

fn is_pair(one: (&Entry, &Judged), other: (&Entry, &Judged)) -> bool {
    let code = |entry: &Entry| entry.person.as_ref().map(|p| p.code.folded());
    let observer = |sheet: &Judged| sheet.observer.as_ref().map(Code::folded);
    let apart = |a: Moment, b: Moment| (a.millis() - b.millis()).unsigned_abs() as f64 / 1000.0;
    one.1.is_beside(other.1)
        && observer(one.1) != observer(other.1)
        && one.1.attempt == other.1.attempt
        && code(one.0).is_some()
        && code(one.0) == code(other.0)
        && apart(one.1.began, other.1.began) <= SAME_OCCASION
}

fn of_pairs(pairs: &[(&Judged, &Judged)]) -> Agreements {
    let first = pairs[0].0;
    let mut all = [[0; 2]; 2];
    let mut steps = Vec::new();
    for step in &first.steps {
        let mut table = [[0; 2]; 2];
        for (one, other) in pairs {
            let said = |sheet: &Judged| {
                let step = sheet.steps.iter().find(|s| s.id == step.id)?;
                match step.verdict {
                    Verdict::Met => Some(0),
                    Verdict::NotMet => Some(1),
                    Verdict::NotSeen | Verdict::NotApplicable => None,
                }
            };
            if let (Some(a), Some(b)) = (said(one), said(other)) {
                table[a][b] += 1;
                all[a][b] += 1;
            }
        }
        if let Some(agreement) = agreement(table) {
            steps.push(StepAgreement {
                id: step.id.clone(),
                ask: step.ask.clone(),
                agreement,
            });
        }
    }
    Agreements {
        sequence: first.sequence.clone(),
        pairs: pairs.len(),
        steps,
        all: agreement(all).unwrap_or(Agreement {
            of: 0,
            same: 0,
            expected: 0.0,
            kappa: None,
        }),
    }
}
