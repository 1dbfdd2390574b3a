//! The best orders as a page shows them: rows in words, where named sequences stand, what was searched, and the
//! cautions that go with it.

use crate::analysis::{Named, Orders, Place, Protocol};
use crate::model::Setup;
use crate::report::{
    ORDERS_CAVEAT, best_change_words, named_words, order_words, risk_words, size_words, step_words,
};

use super::CAUTION_LINE;
use super::words::length;

/// One protocol.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderRow {
    /// Its number on the front, from 1; none for a named sequence that is not on it.
    pub number: Option<usize>,
    /// Name of the sequence; none for a protocol that was found.
    pub name: Option<String>,
    /// What comes off in which order, in a few words.
    pub order: String,
    /// Every action in plain words.
    pub steps: Vec<String>,
    /// Expected count at the target.
    pub expected: String,
    /// How long it takes.
    pub time: String,
    /// How often hands are cleaned.
    pub cleans: u32,
    /// True if nothing beats it.
    pub on_front: bool,
    /// Where it lies beside the front, as a sentence; empty for the front's own.
    pub relation: String,
    /// What one clean more or less changes; empty if that was not asked.
    pub cleaning: Vec<String>,
}

/// The page.
#[derive(Clone, Debug, PartialEq)]
pub struct OrdersView {
    /// What was asked, as a heading.
    pub heading: String,
    /// What is counted, where, and what was there at the start.
    pub about: String,
    /// The front, quickest first.
    pub front: Vec<OrderRow>,
    /// How many of the front are not in the list, in words; empty if all are.
    pub hidden: String,
    /// Named sequences, those that this kit can follow.
    pub named: Vec<OrderRow>,
    /// Named sequences that it cannot follow, and why.
    pub refused: Vec<String>,
    /// How large the space is, and that all of it is accounted for.
    pub space: String,
    /// What the numbers are not.
    pub caveat: &'static str,
    /// The caution for the foot of the page.
    pub caution: &'static str,
}

/// Makes the page. Without `all`, the list leaves out what carries hardly less than what is listed above it.
pub fn orders_view(setup: &Setup, orders: &Orders, all: bool) -> OrdersView {
    let shown: Vec<usize> = if all {
        (0..orders.front.len()).collect()
    } else {
        orders.distinct(0.99)
    };
    let safest =
        (0..orders.front.len()).min_by(|&a, &b| orders.front[a].risk.total_cmp(&orders.front[b].risk));
    let front = shown
        .iter()
        .map(|&n| {
            let protocol = &orders.front[n];
            let cleaning = if Some(n) == safest {
                best_change_words(setup, protocol, &orders.safest)
            } else {
                Vec::new()
            };
            OrderRow {
                number: Some(n + 1),
                on_front: true,
                cleaning,
                ..row(setup, protocol)
            }
        })
        .collect();
    let hidden = match orders.front.len() - shown.len() {
        0 => String::new(),
        1 => "1 more carries hardly less than one that is listed".to_owned(),
        n => format!("{n} more carry hardly less than one that is listed"),
    };
    OrdersView {
        heading: format!("Best orders: {}", setup.scenario.label),
        about: format!(
            "Expected {} on {}, {} there before anything is done",
            setup.organism.unit,
            orders.target.label(),
            risk_words(orders.already)
        ),
        front,
        hidden,
        named: orders
            .named
            .iter()
            .filter_map(|n| named_row(setup, orders, n))
            .collect(),
        refused: orders
            .named
            .iter()
            .filter(|n| n.standing.is_err())
            .map(|n| named_words(orders, n))
            .collect(),
        space: size_words(&orders.size),
        caveat: ORDERS_CAVEAT,
        caution: CAUTION_LINE,
    }
}

fn row(setup: &Setup, protocol: &Protocol) -> OrderRow {
    OrderRow {
        number: None,
        name: None,
        order: order_words(setup, &protocol.actions),
        steps: step_words(setup, &protocol.actions),
        expected: risk_words(protocol.risk),
        time: length(protocol.seconds),
        cleans: protocol.cleans,
        on_front: false,
        relation: String::new(),
        cleaning: Vec::new(),
    }
}

fn named_row(setup: &Setup, orders: &Orders, named: &Named) -> Option<OrderRow> {
    let standing = named.standing.as_ref().ok()?;
    let number = match standing.place {
        Place::OnFront(n) => Some(n + 1),
        _ => None,
    };
    Some(OrderRow {
        number,
        name: Some(named.label.clone()),
        on_front: number.is_some(),
        relation: named_words(orders, named),
        cleaning: best_change_words(setup, &standing.protocol, &standing.changes),
        ..row(setup, &standing.protocol)
    })
}
