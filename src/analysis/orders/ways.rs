//! One order done in the ways of another: what of a gain is due to the order in which things come off, and what to how they do.

use crate::drill::Action;
use crate::model::Setup;

/// What takes one kind of item off, from its first fastening to the bin.
struct Block<'a> {
    /// Item definition id.
    kind: &'a str,
    actions: Vec<Action>,
}

/// A step of an order: a kind of item that comes off, or a cleaning or a walk between two.
enum Unit<'a> {
    Off(Block<'a>),
    Between(&'a Action),
}

/// An order as the kinds of items that come off in it with what lies between; none where one kind comes off in two places.
fn units<'a>(setup: &'a Setup, actions: &'a [Action]) -> Option<Vec<Unit<'a>>> {
    let mut units: Vec<Unit<'a>> = Vec::new();
    for action in actions {
        let item = match action {
            Action::Do { item, .. } => item.as_ref(),
            _ => {
                units.push(Unit::Between(action));
                continue;
            }
        };
        let kind = item
            .and_then(|id| setup.item(id))
            .map(|item| setup.definition(item).id.as_str());
        match (kind, units.last_mut()) {
            // What is held goes with what it is.
            (None, Some(Unit::Off(block))) => block.actions.push(action.clone()),
            (Some(kind), Some(Unit::Off(block))) if block.kind == kind => block.actions.push(action.clone()),
            (Some(kind), _) => units.push(Unit::Off(Block {
                kind,
                actions: vec![action.clone()],
            })),
            (None, _) => return None,
        }
    }
    let kinds: Vec<&str> = units.iter().filter_map(kind).collect();
    let twice = kinds
        .iter()
        .enumerate()
        .any(|(n, kind)| kinds[..n].contains(kind));
    (!twice).then_some(units)
}

fn kind<'a>(unit: &Unit<'a>) -> Option<&'a str> {
    match unit {
        Unit::Off(block) => Some(block.kind),
        Unit::Between(_) => None,
    }
}

/// The first order, with each thing taken off as the second takes it off; none where they do not take off the same things, each
/// in one go, or where that is the first order as it is.
pub(super) fn in_ways_of(setup: &Setup, order: &[Action], ways: &[Action]) -> Option<Vec<Action>> {
    let (order_units, ways_units) = (units(setup, order)?, units(setup, ways)?);
    let mut found = Vec::with_capacity(order.len());
    let mut taken = 0;
    for unit in &order_units {
        match unit {
            Unit::Between(action) => found.push((*action).clone()),
            Unit::Off(block) => {
                let other = ways_units.iter().find_map(|unit| match unit {
                    Unit::Off(other) if other.kind == block.kind => Some(&other.actions),
                    _ => None,
                })?;
                found.extend(other.iter().cloned());
                taken += 1;
            }
        }
    }
    let all = ways_units.iter().filter_map(kind).count();
    (taken == all && found != order).then_some(found)
}
