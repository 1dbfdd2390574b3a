//! How a calibration goes, and the ensemble that came of one.

use crate::model::{Calibration, Ensemble, Library, Member, Predicted};

use super::record::Record;
use super::refer;
use super::substance::{basis, ids};

pub(super) fn calibration(r: &mut Record<'_>, library: &mut Library) {
    library.calibration = Some(Calibration {
        members: r.count("sets", 20..=2000),
        repeats: r.count("repeats", 50..=100_000),
        between_studies: r.number("between_studies", 0.0..=3.0),
        in_common: r.number("in_common", 0.0..=1.0),
        own: r.number("own", 0.0..=1.0),
        reaches: r.number("reaches", 1.0..=100.0),
        effective: r.number("effective", 0.1..=0.95),
        moves: r.count("moves", 1..=50),
        settling: r.count("settling", 0..=200),
        basis: basis(r, library),
    });
}

pub(super) fn ensemble(r: &mut Record<'_>, library: &mut Library) {
    let words = |r: &mut Record<'_>, field: &str, noun: &'static str| -> Vec<String> {
        r.list(field, |d, n| d.text(n, noun))
            .into_iter()
            .map(|word| word.value)
            .collect()
    };
    let constants = words(r, "constants", "name of a constant");
    let unplayed = words(r, "unplayed", "name of a constant");
    let counts = words(r, "counts", "id of a count");
    let steps = r.list("steps", |d, n| d.quantity(n, "step", "", &(0.0..=1.0)));
    let taken = r.number("taken", 0.0..=1.0);
    let members = r.list("members", |d, n| {
        let mut r = d.record(n, "member");
        let member = Member {
            numbers: r.list("numbers", |d, n| {
                Some(d.quantity(n, "number", "", &(0.0..=f64::from(u32::MAX)))? as u64)
            }),
            line: r.count("line", 0..=1_000_000),
            scores: r.list("scores", |d, n| d.quantity(n, "score", "", &(-3.0..=3.0))),
            shares: r.list("shares", |d, n| d.quantity(n, "share", "", &(-1.0..=1.0))),
            errors: r.list("errors", |d, n| d.quantity(n, "error", "", &(0.0..=1.0))),
        };
        if member.numbers.is_empty() {
            d.fault(
                n.span.start..n.span.start + 1,
                "this member has no numbers",
                "an ensemble is written whole by `smirch calibrate`; do not change it by hand",
            );
            return None;
        }
        for (what, has, wanted) in [
            ("scores", member.scores.len(), constants.len()),
            ("shares", member.shares.len(), counts.len()),
            ("errors", member.errors.len(), counts.len()),
        ] {
            if has != wanted {
                d.fault(
                    n.span.start..n.span.start + 1,
                    format!("this member has {has} {what} and must have {wanted}"),
                    "an ensemble is written whole by `smirch calibrate`; do not change it by hand",
                );
                return None;
            }
        }
        Some(member)
    });
    let predicted = r.list("predicted", |d, n| {
        let mut r = d.record(n, "prediction");
        Some(Predicted {
            count: refer::field(&mut r, "count", "count", ids!(library.studies.counts)),
            median: r.number("median", -1.0..=1.0),
            range: (r.number("low", -1.0..=1.0), r.number("high", -1.0..=1.0)),
            counted: (
                r.number("counted_low", -1.0..=1.0),
                r.number("counted_high", -1.0..=1.0),
            ),
            sets: r.number("sets", 1.0..=1e6),
        })
    });
    library.ensemble = Some(Ensemble {
        constants,
        unplayed,
        counts,
        steps,
        taken,
        members,
        predicted,
        basis: basis(r, library),
    });
}
