//! Rules of a register.

use crate::model::{Library, NeededClean, PassRule, Refreshers, RegisterRules};

use super::record::Record;
use super::substance::basis;

/// Longest time in months that a rule can name.
const MONTHS: std::ops::RangeInclusive<u64> = 1..=240;

fn months(r: &mut Record<'_>, name: &str) -> u32 {
    r.count(name, MONTHS) as u32
}

/// An address, so that codes are those of one place wherever they go.
fn home_page(r: &mut Record<'_>) -> String {
    let at = r.node("home_page").map(|node| node.span.clone());
    let text = r.text("home_page");
    let address = ["http://", "https://"].into_iter().any(|start| {
        text.strip_prefix(start)
            .is_some_and(|rest| !rest.is_empty() && !rest.contains(char::is_whitespace))
    });
    if let Some(at) = at.filter(|_| !address && !text.is_empty()) {
        r.decoder().fault(
            at,
            "this is no address",
            "write one such as \"https://register.invalid/\"; nothing is ever sent there",
        );
    }
    text
}

pub(super) fn rules(r: &mut Record<'_>, library: &mut Library) {
    let pass = r.value("pass", |d, n| {
        let mut r = d.record(n, "pass rule");
        Some(PassRule {
            mark: r.number("mark", 0.0..=1.0),
            cleans: r.list("cleans", |d, n| d.choice(n, "needed cleaning", &NeededClean::ALL)),
            basis: basis(&mut r, library),
        })
    });
    let refreshers = r.value("refreshers", |d, n| {
        let mut r = d.record(n, "refresher rule");
        let after_clean: Vec<u32> = r.list("after_clean", |d, n| {
            d.count(n, "number of months", &MONTHS)
                .map(|months| months as u32)
        });
        if after_clean.is_empty() && r.has("after_clean") {
            d.fault(
                n.span.start..n.span.start + 1,
                "`after_clean` is empty",
                "name at least the months after a first clean attempt, as in `after_clean: [6]`",
            );
        }
        Some(Refreshers {
            after_clean,
            otherwise: months(&mut r, "otherwise"),
            after_error: months(&mut r, "after_error"),
            basis: basis(&mut r, library),
        })
    });
    let keep_months = months(r, "keep_months");
    let keep_log_days = r.count("keep_log_days", 1..=7300) as u32;
    let smallest_cell = r.count("smallest_cell", 1..=100);
    let home_page = home_page(r);
    let basis = basis(r, library);
    // What is missing has been reported.
    library.register = pass.zip(refreshers).map(|(pass, refreshers)| RegisterRules {
        keep_months,
        keep_log_days,
        smallest_cell,
        home_page,
        pass,
        refreshers,
        basis,
    });
}
