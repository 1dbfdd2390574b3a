//! Errors that are listed apart from any points.

use crate::drill::{Action, Done, Happened};
use crate::model::{Holding, ItemKind, Owner, Region, Setup, Side, SiteIndex, Whereabouts};
use crate::transfer::{Cause, Flow};

use super::HandState;
use super::hygiene::hand_of;

/// What sort of critical error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CriticalKind {
    /// A bare hand was put on an outside that guidance calls dirty.
    BareHandOnDirty,
    /// The face was touched with a hand that was not clean.
    FaceTouchedUnclean,
    /// The respirator came off inside the room.
    RespiratorOffInside,
    /// Ties behind the neck, or anything at the face, were handled with a bare hand that was not clean.
    RubSkipped,
}

impl CriticalKind {
    /// The kebab-case word used in files.
    pub fn word(self) -> &'static str {
        match self {
            CriticalKind::BareHandOnDirty => "bare-hand-on-dirty-outside",
            CriticalKind::FaceTouchedUnclean => "face-touched-unclean",
            CriticalKind::RespiratorOffInside => "respirator-off-inside",
            CriticalKind::RubSkipped => "rub-skipped",
        }
    }
}

/// A critical error.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Critical {
    /// What sort.
    pub kind: CriticalKind,
    /// Index of the action.
    pub action: usize,
    /// What happened, as a sentence for the trainee.
    pub reason: String,
}

/// Critical errors of one action, given the hands before it.
pub(super) fn critical(setup: &Setup, index: usize, done: &Done, hands: HandState) -> Vec<Critical> {
    let mut found: Vec<Critical> = Vec::new();
    let mut add = |kind: CriticalKind, reason: String| {
        if !found.iter().any(|c| c.kind == kind) {
            found.push(Critical {
                kind,
                action: index,
                reason,
            });
        }
    };
    // Within one technique the acting hand meets several things; what it was before the action is what counts.
    for (event, _) in done.flows().filter(|(event, _)| event.cause == Cause::Touch) {
        let Flow::Contact { a, b, .. } = event.flow else {
            continue;
        };
        for (hand, other) in [(a, b), (b, a)] {
            let Some(side) = hand_of(setup, hand) else {
                continue;
            };
            let bare = setup.is_skin(hand);
            let what = &setup.sites[other].label;
            if bare && is_dirty_outside(setup, other) {
                add(
                    CriticalKind::BareHandOnDirty,
                    format!("your bare {} hand was put on the {what}", side.word()),
                );
            }
            if hands.is_unclean(side) && is_face_skin(setup, other) && hand_of(setup, other).is_none() {
                let gloved = if bare { "" } else { "gloved " };
                add(
                    CriticalKind::FaceTouchedUnclean,
                    format!(
                        "your {gloved}{} hand touched the {what} before it was clean",
                        side.word()
                    ),
                );
            } else if bare && hands.is_unclean(side) && is_neck_or_face(setup, other) {
                add(
                    CriticalKind::RubSkipped,
                    format!(
                        "the {what} was handled with your bare {} hand before it was clean",
                        side.word()
                    ),
                );
            }
        }
    }
    for happened in &done.happened {
        if let Happened::Item {
            item,
            from: Holding::Worn,
            to,
            ..
        } = happened
            && setup.definition(*item).kind == ItemKind::Respirator
            && *to != Holding::Worn
            && done.whereabouts == Whereabouts::Inside
        {
            add(
                CriticalKind::RespiratorOffInside,
                format!("the {} came off inside the room", setup.items[*item].label),
            );
        }
    }
    found
}

fn is_dirty_outside(setup: &Setup, site: SiteIndex) -> bool {
    matches!(setup.sites[site].owner, Owner::Part(item, part, false)
        if setup.items[item].parts[part].declared_dirty)
}

fn is_face_skin(setup: &Setup, site: SiteIndex) -> bool {
    matches!(setup.sites[site].owner, Owner::Body(place)
        if setup.library.places[place].region == Region::Face)
}

/// True for the neck and head themselves and for anything that lies there.
fn is_neck_or_face(setup: &Setup, site: SiteIndex) -> bool {
    let near = |place: usize| {
        matches!(
            setup.library.places[place].region,
            Region::Face | Region::Head | Region::Neck
        )
    };
    match setup.sites[site].owner {
        Owner::Body(place) => near(place),
        Owner::Part(item, part, _) => setup.items[item].parts[part].places.iter().any(|&p| near(p)),
        Owner::Room(_) => false,
    }
}

/// The free face touches of an action: which hand, which site, whether the hand was unclean.
pub(super) fn face_touch(setup: &Setup, done: &Done, hands: HandState) -> Option<(Side, SiteIndex, bool)> {
    let Action::Touch { hand, site, .. } = &done.action else {
        return None;
    };
    let site = setup.site(site)?;
    is_face_skin(setup, site).then(|| (*hand, site, hands.is_unclean(*hand)))
}
