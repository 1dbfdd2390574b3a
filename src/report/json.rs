//! One attempt as JSON, format 2. Since format 1 marks may be none, and ways not asked for name their items.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::drill::{Drill, Felt};
use crate::guidance::{Group, Order, Score};
use crate::model::{Sequence, Setup};

/// The JSON format number.
const FORMAT: u64 = 2;

/// Everything about an attempt: counts per site at the start and at the end, ends by source, where the rest went,
/// and every part of the score.
pub fn attempt_json(drill: &Drill, sequence: &Sequence, score: &Score) -> Value {
    let setup = drill.setup();
    let books = drill.books();
    let start = drill.beginning().books.totals();
    let end = books.totals();
    let groups: Vec<Group> = (0..setup.sites.len())
        .map(|site| Group::of(setup, drill, site))
        .collect();

    let sites: Vec<Value> = setup
        .sites
        .iter()
        .enumerate()
        .map(|(i, site)| {
            json!({
                "id": site.id,
                "label": site.label,
                "material": setup.library.materials[site.material].id,
                "area_cm2": site.area,
                "mucosa": site.mucosa,
                "group": groups[i].word(),
                "start": start[i],
                "end": end[i],
            })
        })
        .collect();

    let in_group = |source: usize, wanted: &[Group]| -> u64 {
        (0..setup.sites.len())
            .filter(|&site| wanted.contains(&groups[site]))
            .map(|site| books.row(site)[source])
            .sum()
    };
    let sources: Vec<Value> = books
        .sources()
        .iter()
        .enumerate()
        .map(|(s, &site)| {
            let ends: BTreeMap<&str, u64> = (0..setup.sites.len())
                .filter(|&at| books.row(at)[s] > 0)
                .map(|at| (setup.sites[at].id.as_str(), books.row(at)[s]))
                .collect();
            json!({
                "site": setup.sites[site].id,
                "start": books.start()[s],
                "ends": ends,
                "inactivated": books.inactivated()[s],
                "washed_away": books.washed_away()[s],
                "binned": in_group(s, &[Group::Binned]),
                "room": in_group(s, &[Group::Room]),
                "patient": in_group(s, &[Group::Patient]),
            })
        })
        .collect();

    let group_total = |wanted: Group| -> u64 {
        (0..setup.sites.len())
            .filter(|&site| groups[site] == wanted)
            .map(|site| end[site])
            .sum()
    };
    let person: u64 = (0..setup.sites.len())
        .filter(|&s| groups[s].is_person())
        .map(|s| end[s])
        .sum();
    let before_care: BTreeMap<&str, u64> = drill
        .beginning()
        .before_care
        .iter()
        .enumerate()
        .filter(|(_, count)| **count > 0)
        .map(|(site, &count)| (setup.sites[site].id.as_str(), count))
        .collect();
    let faults: Vec<Value> = drill
        .beginning()
        .state
        .faults
        .iter()
        .map(|f| {
            let item = f.item.map(|item| &setup.items[item]);
            let part = item.zip(f.part).map(|(item, part)| &item.parts[part].id);
            json!({
                "fault": f.fault, "item": item.map(|item| &item.id), "part": part,
                "by": f.by.as_ref().map(|(fault, _)| fault),
            })
        })
        .collect();

    json!({
        "format": FORMAT,
        "program": concat!("smirch ", env!("CARGO_PKG_VERSION")),
        "caution": super::words::CAUTION,
        "scenario": setup.scenario.id,
        "seed": drill.seed(),
        "organism": {
            "id": setup.organism.id,
            "unit": setup.organism.unit,
            "seen_from": setup.organism.seen_from,
        },
        "sites": sites,
        "sources": sources,
        "totals": {
            "start": books.start().iter().sum::<u64>(),
            "inactivated": books.inactivated().iter().sum::<u64>(),
            "washed_away": books.washed_away().iter().sum::<u64>(),
            "binned": group_total(Group::Binned),
            "room": group_total(Group::Room),
            "patient": group_total(Group::Patient),
            "still_on": group_total(Group::StillOn),
            "person": person,
        },
        "dose": {
            "eyes": group_total(Group::Eyes),
            "nostrils": group_total(Group::Nostrils),
            "lips": group_total(Group::Lips),
        },
        "on_the_way": super::on_the_way(drill).iter().map(|told| json!({
            "target": told.target, "count": told.found.count, "seen": told.found.seen,
            "moments": told.found.moments.iter().map(|m| json!({
                "before_action": (m.action < drill.done().len()).then_some(m.action + 1),
                "count": m.count, "seen": m.seen,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "before_care": before_care,
        "faults": faults,
        "score": score_json(drill, sequence, score),
        "actions": drill.done().iter().map(|d| json!({
            "action": d.action, "began": d.began, "ended": d.ended, "whereabouts": d.whereabouts.word(),
            "felt": d.felt.iter().find(|f| !f.seen).map(|f| found_json(setup, f)),
            "seen": d.felt.iter().filter(|f| f.seen).map(|f| found_json(setup, f)).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "books": format!("{:016x}", books.digest()),
    })
}

/// What was found at a check, or was not.
fn found_json(setup: &Setup, found: &Felt) -> Value {
    let (kind, sought) = found.sought.named();
    json!({
        "item": found.item.map(|item| &setup.items[item].id), kind: sought, "felt": found.felt, "there": found.there,
    })
}

fn score_json(drill: &Drill, sequence: &Sequence, score: &Score) -> Value {
    let setup = drill.setup();
    // Actions are numbered from 1, as in logs and in the CSV.
    let number = |action: usize| action + 1;
    let steps: Vec<Value> = score
        .steps
        .iter()
        .map(|result| {
            let step = &sequence.steps[result.step];
            json!({
                "id": step.id,
                "ask": step.ask,
                "why": step.why,
                "order": order_word(result.order),
                "action": result.action.map(number),
                "poor_techniques": result.poor.iter().map(|p| json!({
                    "technique": p.technique,
                    "items": p.items.iter().map(|&i| &setup.items[i].id).collect::<Vec<_>>(),
                })).collect::<Vec<_>>(),
                "amiss": result.amiss,
                "not_binned": result.not_binned.iter().map(|&i| &setup.items[i].id).collect::<Vec<_>>(),
                "wrong_place": result.wrong_place.map(|w| w.word()),
                "short": result.short, "no_forearms": result.no_forearms,
                "carried_to_person": result.carried,
                "source": source_line(drill, &step.basis),
            })
        })
        .collect();
    let deductions: Vec<Value> = score
        .deductions
        .iter()
        .map(|d| {
            json!({ "step": sequence.steps[d.step].id, "kind": d.kind, "marks": d.marks, "reason": d.reason })
        })
        .collect();
    let cleanings: Vec<Value> = score
        .cleanings
        .iter()
        .map(|c| {
            json!({
                "action": number(c.action), "product": c.product, "seconds": c.seconds, "asked": c.asked,
                "amount_ml": c.amount, "missed_zones": c.missed.iter().map(|z| z.word()).collect::<Vec<_>>(),
                "forearms": c.forearms, "over_gloves": c.over_gloves, "removed": c.removed,
            })
        })
        .collect();
    json!({
        "sequence": score.sequence,
        "reached": score.reached.iter().map(|r| json!({
            "group": r.group.word(), "count": r.count, "seen": r.seen,
        })).collect::<Vec<_>>(),
        "steps": steps,
        // None left after a critical error, whatever the steps lost.
        "marks": {
            "full": score.full, "left": score.marks(), "lost_by_steps": score.lost(), "deductions": deductions,
        },
        "hand_hygiene": { "due": score.moments.0, "met": score.moments.1, "done": cleanings },
        "face_touches": score.face_touches.iter().map(|t| json!({
            "action": number(t.action), "hand": t.hand.word(), "site": setup.sites[t.site].id, "unclean": t.unclean,
        })).collect::<Vec<_>>(),
        "critical": score.critical.iter().map(|c| json!({
            "kind": c.kind.word(), "action": number(c.action), "reason": c.reason,
        })).collect::<Vec<_>>(),
        "seconds": score.seconds,
    })
}

fn order_word(order: Order) -> &'static str {
    match order {
        Order::InOrder => "done",
        Order::Early => "early",
        Order::Late => "late",
        Order::Missed => "missed",
        Order::NotApplicable => "not-applicable",
    }
}

/// The citations behind a basis, as one line.
fn source_line(drill: &Drill, basis: &str) -> String {
    super::words::source_line(&drill.setup().library, basis)
}
