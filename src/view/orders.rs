//! The best orders as a page shows them: the answer as cards, and on request every order that nothing beats, where named
//! sequences stand and what was searched.

use crate::analysis::{Named, Orders, Place, Protocol, Weighed};
use crate::model::Setup;
use crate::report::{
    BestAnswer, ORDERS_CAVEAT, best_answer, best_change_words, listed, named_words, order_words, risk_words,
    size_words, step_words,
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
    /// The answer.
    pub answer: BestAnswer,
    /// What was there at the start.
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

/// Makes the page. Without `all`, the list leaves out what cannot be told from what is listed above it.
pub fn orders_view(setup: &Setup, orders: &Orders, weighed: Option<&Weighed>, all: bool) -> OrdersView {
    let shown = listed(setup, orders, all);
    let safest = orders.safest(|_, _| false).map(|(safest, _)| safest);
    let front = shown
        .iter()
        .map(|&n| {
            let protocol = &orders.front[n];
            let cleaning = if Some(n) == safest {
                best_change_words(setup, protocol, &orders.safest, orders.scope.policy.is_none())
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
        1 => "1 more is much the same as one that is listed".to_owned(),
        n => format!("{n} more are much the same as one that is listed"),
    };
    OrdersView {
        heading: format!("Best orders: {}", setup.scenario.label),
        answer: best_answer(setup, orders, weighed),
        about: format!(
            "{} {} on {} before anything is done",
            risk_words(orders.already),
            setup.organism.unit,
            orders.target.label(),
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
            .map(|n| named_words(setup, orders, n))
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
    let fewer = orders.scope.policy.is_none();
    Some(OrderRow {
        number,
        name: Some(named.label.clone()),
        on_front: number.is_some(),
        relation: named_words(setup, orders, named),
        cleaning: best_change_words(setup, &standing.protocol, &standing.changes, fewer),
        ..row(setup, &standing.protocol)
    })
}
