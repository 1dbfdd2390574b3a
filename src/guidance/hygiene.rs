//! Whether hands are clean in the sense of guidance, and how well they were cleaned.

use crate::drill::{Action, Done};
use crate::model::{Holding, ItemKind, Owner, Product, Setup, Side, SiteIndex, Zone};
use crate::transfer::Cause;

/// One cleaning of hands.
#[derive(Clone, Debug, PartialEq)]
pub struct Cleaning {
    /// Index of the action.
    pub action: usize,
    /// Product id.
    pub product: String,
    /// How long, s.
    pub seconds: f64,
    /// How long it should take, s.
    pub asked: f64,
    /// Amount, ml.
    pub amount: f64,
    /// Zones that were left out or not fully reached.
    pub missed: Vec<Zone>,
    /// Organisms removed by it.
    pub removed: u64,
}

impl Cleaning {
    /// True if it was long enough and reached every zone.
    pub fn is_full(&self) -> bool {
        self.missed.is_empty()
    }
}

/// Every cleaning of a drill. `asked` is the least length that the sequence asks of a product, where it does.
pub(super) fn cleanings(setup: &Setup, done: &[Done], asked: impl Fn(&str) -> Option<f64>) -> Vec<Cleaning> {
    done.iter()
        .enumerate()
        .filter_map(|(action, d)| {
            let Action::Clean {
                product: id,
                doses,
                seconds,
                skip,
            } = &d.action
            else {
                return None;
            };
            let product = setup.library.product(id)?;
            let asked = asked(id).unwrap_or(product.seconds);
            Some(Cleaning {
                action,
                product: id.clone(),
                seconds: *seconds,
                asked,
                amount: product.dose_ml * f64::from(*doses),
                missed: missed_zones(product, *seconds, asked, skip),
                removed: d
                    .flows()
                    .filter(|(e, _)| e.cause == Cause::Hygiene)
                    .map(|(_, outcome)| outcome.moved_ab)
                    .sum(),
            })
        })
        .collect()
}

/// Zones left out, or not reached in the time given when covering all of them takes `asked` seconds.
fn missed_zones(product: &Product, seconds: f64, asked: f64, skip: &[Zone]) -> Vec<Zone> {
    let each = asked / product.order.len() as f64;
    product
        .order
        .iter()
        .enumerate()
        .filter(|&(n, zone)| skip.contains(zone) || seconds + 1e-9 < each * (n + 1) as f64)
        .map(|(_, &zone)| zone)
        .collect()
}

/// What guidance would say of each hand: gloved, bare and clean, or bare and not clean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HandState {
    unclean: [bool; 2],
}

impl HandState {
    /// Before doffing every hand counts as unclean: gloves have been at work.
    pub fn at_start() -> HandState {
        HandState {
            unclean: [true, true],
        }
    }

    /// True if the hand has met something dirty, or lost its glove, since it was last cleaned in full.
    pub fn is_unclean(self, side: Side) -> bool {
        self.unclean[side as usize]
    }

    /// Takes one more action into account.
    pub fn after(&mut self, setup: &Setup, done: &Done, full_clean: bool) {
        if matches!(done.action, Action::Clean { .. }) {
            if full_clean {
                self.unclean = [false, false];
            }
            return;
        }
        // Only what was meant: nobody can be asked to clean a hand after a brush that nobody saw.
        for (event, _) in done.flows().filter(|(event, _)| event.cause == Cause::Touch) {
            let (a, Some(b)) = event.sites() else { continue };
            for (hand, other) in [(a, b), (b, a)] {
                if let Some(side) = hand_of(setup, hand)
                    && soils(setup, other)
                {
                    self.unclean[side as usize] = true;
                }
            }
        }
        for happened in &done.happened {
            if let crate::drill::Happened::Item {
                item,
                from: Holding::Worn,
                ..
            } = happened
                && setup.definition(*item).kind == ItemKind::Glove
                && let Some(side) = setup.items[*item].side
            {
                self.unclean[side as usize] = true;
            }
        }
    }
}

/// The hand that a site is the skin or a glove of.
pub(super) fn hand_of(setup: &Setup, site: SiteIndex) -> Option<Side> {
    match setup.sites[site].owner {
        Owner::Body(place) => setup.zone_of_place(place).map(|(side, _)| side),
        Owner::Part(item, _, false) if setup.definition(item).kind == ItemKind::Glove => {
            setup.items[item].side
        }
        _ => None,
    }
}

/// True for what makes a hand unclean: the outside of any item and the room.
fn soils(setup: &Setup, site: SiteIndex) -> bool {
    match setup.sites[site].owner {
        Owner::Part(item, part, inside) => !inside && setup.items[item].parts[part].declared_dirty,
        Owner::Room(_) => true,
        Owner::Body(_) => false,
    }
}
