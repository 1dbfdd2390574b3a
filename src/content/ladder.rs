//! The ladder of practice.

use crate::model::{Ladder, Library, Manner, Rung, RungLamp};

use super::record::Record;
use super::refer;
use super::substance::basis;

pub(super) fn ladder(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let at = r.node("rungs").map(|node| node.span.clone());
    let rungs = r.list("rungs", |d, node| {
        let mut r = d.record(node, "rung");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "rung");
        Some(Rung {
            id: id.value,
            label: r.text("label"),
            say: r.text("say"),
            manner: r.choice("manner", &Manner::ALL),
            lamp: r.choice("lamp", &RungLamp::ALL),
            takes_back: r.flag_or("takes_back", false),
            disturbed: r.flag_or("disturbed", false),
        })
    });
    let shown = |rung: &Rung| rung.manner == Manner::See;
    if let Some(at) = at
        && (rungs.len() < 2 || !shown(&rungs[0]) || rungs[1..].iter().any(shown))
    {
        r.decoder().fault(
            at.start..at.start + 1,
            "a ladder has a rung on which it is seen, and then rungs on which it is done",
            "let the first rung, and no other, have `manner: See`",
        );
    }
    let up_after = r.count("up_after", 1..=20) as u32;
    let fade_after = r.count("fade_after", 1..=20) as u32;
    let basis = basis(r, library);
    library.ladder = Some(Ladder {
        rungs,
        up_after,
        fade_after,
        basis,
    });
}
