//! Sentences that every report and screen shares.

use crate::model::{Library, Read, Status};

/// What the product always says about itself.
pub const CAUTION: &str = "Training aid, not a clinical device. Numbers are modelled and uncertain. Follow your local \
policy, the manufacturer's instructions and competent persons. Never practise with real contamination.";

/// Where a number or a rule comes from, as one line: citations, status, and how they were read.
pub fn source_line(library: &Library, basis: &str) -> String {
    let Some(basis) = library.basis(basis) else {
        return String::new();
    };
    let cites: Vec<String> = basis
        .sources
        .iter()
        .filter_map(|id| library.source(id))
        .map(|s| match &s.locator {
            Some(locator) => format!("{}, {locator}", s.cite),
            None => s.cite.clone(),
        })
        .collect();
    let status = match basis.status {
        Status::Measured => "measured",
        Status::Convention => "convention",
        Status::Assumption => "assumption",
        Status::Fitted => "fitted",
    };
    let read = match basis.read {
        Read::FullText => "read in full",
        Read::Table => "read in its table",
        Read::Abstract => "read as abstract",
        Read::Secondary => "read in a secondary source",
        Read::Memory => "from memory, not verified",
        Read::Unread => "",
    };
    let mut words = vec![if cites.is_empty() {
        "no published source".to_owned()
    } else {
        cites.join("; ")
    }];
    words.push(status.to_owned());
    if !read.is_empty() {
        words.push(read.to_owned());
    }
    words.join(" · ")
}
