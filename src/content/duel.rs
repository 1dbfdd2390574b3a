//! Pairs to show side by side.

use std::sync::Arc;

use crate::model::{Claim, Duel, DuelSide, DuelWay, Library, Setup, Tied};

use super::record::{Decoder, Record};
use super::refer;
use super::scenario::all_put_on;
use super::substance::ids;
use super::tree::Node;

pub(super) fn duels(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let duels = r.list("duels", |d, node| {
        let mut r = d.record(node, "duel");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "duel");
        let label = r.text("label");
        let scenario = refer::field(&mut r, "scenario", "scenario", ids!(library.scenarios));
        let of_both = scenario.clone();
        let question = r.text("question");
        let sides = r.list("sides", |d, node| {
            let mut r = d.record(node, "side");
            let label = r.text("label");
            let scenario = r.optional("scenario", |d, n| {
                refer::node(d, n, "scenario", ids!(library.scenarios))
            });
            let sequence = r.optional("sequence", |d, n| {
                refer::node(d, n, "sequence", ids!(library.sequences))
            });
            // Scripts are read after everything else; whether there is one of this name is told when it is played.
            let script = r.optional("script", |d, n| d.text(n, "script")).map(|t| t.value);
            let way = match (sequence, script) {
                (Some(id), None) => DuelWay::Sequence(id),
                (None, Some(name)) => DuelWay::Script(name),
                _ => {
                    d.fault(
                        node.span.clone(),
                        "a side names either a `sequence` or a `script`",
                        "write one of them, as in `sequence: \"uk-agp\"`",
                    );
                    return None;
                }
            };
            let worn = || {
                let named = scenario.as_ref().unwrap_or(&of_both);
                let scenario = library.scenario(named)?;
                Setup::new(Arc::new(library.clone()), scenario).ok()
            };
            let worn = r.has("put_on").then(worn).flatten();
            let put_on = all_put_on(&mut r, worn.as_ref());
            let shows = r.list_or_empty("shows", |d, n| claim(d, n, library));
            Some(DuelSide {
                label,
                scenario,
                put_on,
                way,
                shows,
            })
        });
        if sides.len() != 2 {
            d.fault(
                node.span.clone(),
                format!("a duel has two sides; this has {}", sides.len()),
                "a duel shows exactly two ways beside each other; split it, or write the one that is missing",
            );
        }
        let known = r.text("known");
        let open = r.text("open");
        let sources = r.list("sources", |d, n| {
            refer::node(d, n, "source", ids!(library.sources))
        });
        Some(Duel {
            id: id.value,
            label,
            scenario,
            question,
            sides,
            known,
            open,
            sources,
        })
    });
    for duel in duels {
        refer::put(&mut library.duels, duel, |x| &x.id);
    }
}

const CLAIMS: [&str; 9] = [
    "FirstOff",
    "OffBefore",
    "Together",
    "CleanAfter",
    "NoCleanAfter",
    "By",
    "Wears",
    "WearsNo",
    "PutOn",
];

fn claim<'a>(d: &Decoder<'a>, node: &'a Node, library: &Library) -> Option<Claim> {
    let variant = d.variant(node, "claim", &CLAIMS)?;
    let mut r = variant.record();
    let item = refer::field(&mut r, "item", "item", ids!(library.items));
    Some(match variant.name {
        "FirstOff" => Claim::FirstOff(item),
        "OffBefore" => Claim::OffBefore(item, refer::field(&mut r, "other", "item", ids!(library.items))),
        "Together" => Claim::Together(item, refer::field(&mut r, "other", "item", ids!(library.items))),
        "CleanAfter" => Claim::CleanAfter(item),
        "NoCleanAfter" => Claim::NoCleanAfter(item),
        "By" => Claim::By(
            item,
            refer::field(&mut r, "technique", "technique", ids!(library.techniques)),
        ),
        "Wears" => Claim::Wears(item),
        "PutOn" => {
            let fastening = r.reference("fastening");
            if let Some(item) = library.item(&item) {
                let noun = format!("fastening of `{}`", item.id);
                refer::known(d, &fastening, &noun, ids!(item.fastenings));
            }
            Claim::PutOn(item, fastening.value, r.choice("tied", &Tied::ALL))
        }
        _ => Claim::WearsNo(item),
    })
}
