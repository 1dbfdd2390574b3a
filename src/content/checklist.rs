//! Checklists for whoever watches a real person.

use crate::model::{CheckStep, Checklist, Library};

use super::record::Record;
use super::refer;
use super::substance::basis;

pub(super) fn checklists(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let checklists = r.list("checklists", |d, node| {
        let mut r = d.record(node, "checklist");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "checklist");
        let label = r.text("label");
        let kit = r.text("kit");
        let basis = basis(&mut r, library);
        let mut steps_seen = Vec::new();
        let steps = r.list("asks", |d, node| {
            let mut r = d.record(node, "step");
            let id = r.ident("id");
            refer::unique(d, &mut steps_seen, &id, "step");
            Some(CheckStep {
                id: id.value,
                ask: r.text("ask"),
                why: r.text("why"),
                cleans: r.flag_or("cleans", false),
                safety: r.flag_or("safety", false),
            })
        });
        if steps.is_empty() && r.has("asks") {
            d.fault(
                node.span.start..node.span.start + 1,
                "this checklist asks for nothing",
                "write at least one step into `asks`",
            );
        }
        Some(Checklist {
            id: id.value,
            label,
            kit,
            basis,
            steps,
        })
    });
    for checklist in checklists {
        refer::put(&mut library.checklists, checklist, |x| &x.id);
    }
}
