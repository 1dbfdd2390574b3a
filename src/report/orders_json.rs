//! The best orders as JSON: the answer, and everything that was counted.

use serde_json::{Value, json};

use crate::analysis::{Change, Orders, Place, Protocol, Standing, Weighed, Weight};
use crate::model::Setup;

use super::CAUTION;
use super::best::best_answer;
use super::orders::{ORDERS_CAVEAT, named_words, order_words, step_words};

/// The JSON format number.
const FORMAT: u64 = 2;

/// Everything as JSON. Numbers of protocols are decimal text: they exceed what readers of JSON hold.
pub fn orders_json(setup: &Setup, orders: &Orders, weighed: Option<&Weighed>) -> Value {
    let protocol = |p: &Protocol| {
        json!({
            "expected": p.risk, "seconds": p.seconds, "cleans": p.cleans, "ties": p.ties.to_string(),
            "order": order_words(setup, &p.actions), "steps": step_words(setup, &p.actions), "actions": p.actions,
        })
    };
    let change = |c: &Change| json!({ "before_action": c.at, "clean": c.clean, "added": c.added, "expected": c.risk, "seconds": c.seconds });
    let changes = |all: &[Change]| all.iter().map(change).collect::<Vec<Value>>();
    let place = |p: &Place| match p {
        Place::OnFront(n) => json!({ "on_front": n }),
        Place::Beaten { safest, quickest } => {
            json!({ "beaten_by": { "safest": safest, "quickest": quickest } })
        }
        Place::Apart => json!({ "apart": true }),
        Place::LeavesOn(items) => json!({ "leaves_on": items }),
    };
    let named: Vec<Value> = orders
        .named
        .iter()
        .map(|n| match &n.standing {
            Ok(Standing {
                protocol: p,
                place: at,
                changes: c,
            }) => json!({
                "sequence": n.sequence, "label": n.label, "protocol": protocol(p), "place": place(at),
                "changes": changes(c), "words": named_words(setup, orders, n),
            }),
            Err(why) => json!({ "sequence": n.sequence, "label": n.label, "cannot_follow": why }),
        })
        .collect();
    let size = &orders.size;
    let answer = best_answer(setup, orders, weighed);
    json!({
        "format": FORMAT,
        "scenario": setup.scenario.id,
        "target": orders.target.word(),
        "unit": setup.organism.unit,
        "already_there": orders.already,
        "starts": orders.start.starts,
        "cleans": orders.scope.cleans(),
        "policy": orders.scope.policy.as_ref().map(|p| &p.sequence),
        "answer": {
            "sentence": answer.sentence,
            "scope": answer.scope,
            "measure": answer.measure,
            "cards": answer.cards.iter().map(|c| json!({
                "title": c.title, "figures": c.figures, "agreed": c.agreed, "order": c.order,
            })).collect::<Vec<Value>>(),
        },
        "caution": CAUTION,
        "caveat": ORDERS_CAVEAT,
        "sets": weighed.map(|w| w.sets),
        "front_by_sets": weighed.map(|w| {
            let of = |(n, one): &(usize, Weight)| json!({ "number": n + 1, "expected": one.risk, "best_in": one.best });
            w.front.iter().map(of).collect::<Vec<Value>>()
        }),
        "named_by_sets": weighed.map(|w| {
            let of = |one: &Option<Weight>| one.as_ref().map(|one| json!({ "expected": one.risk, "best_in": one.best }));
            w.named.iter().map(of).collect::<Vec<Option<Value>>>()
        }),
        "front": orders.front.iter().map(protocol).collect::<Vec<Value>>(),
        "safest_changes": changes(&orders.safest),
        "named": named,
        "space": {
            "protocols": size.protocols.to_string(),
            "followed": size.followed.to_string(),
            "ruled_out_by_dominance": size.dominated.to_string(),
            "ruled_out_by_bound": size.bounded.to_string(),
            "complete": size.complete(),
            "near": size.near,
            "beginnings_looked_at": size.prefixes,
            "arrangements": size.arrangements,
            "configurations": size.configurations,
            "nodes": size.nodes,
        },
    })
}
