//! Whether anything unclean can have met the person in an action. Luck has no say in it: what the brushes of this
//! attempt came to is the books' to tell, and what is wrong with an order or a way does not depend on it.

use crate::drill::Done;
use crate::model::{Owner, Setup, Side, SiteIndex};
use crate::transfer::{Cause, Flow};

use super::critical::is_dirty_outside;
use super::hygiene::Hands;

/// True if a hand or glove that was not clean before the action is laid on the person in it, or may brush them. That
/// hands meet each other is left out.
pub(super) fn unclean_hand(setup: &Setup, done: &Done, hands: &Hands) -> bool {
    contacts(done).any(|(by, what)| {
        is_own(setup, what) && is_unclean_hand(setup, hands, by) && !is_hand(hands, setup, what)
    })
}

/// True if the same is so, if an unclean glove meets a bare hand, or if the outside of anything that guidance calls dirty meets
/// the person's own surface, or may do so.
pub(super) fn anything_unclean(setup: &Setup, done: &Done, hands: &Hands) -> bool {
    let outside = |(by, what): (SiteIndex, SiteIndex)| {
        let glove = Side::BOTH.into_iter().any(|side| hands.is(setup, side, by));
        is_own(setup, what) && !glove && is_dirty_outside(setup, by)
    };
    let glove_on_skin = |(by, what): (SiteIndex, SiteIndex)| {
        let glove = matches!(setup.sites[by].owner, Owner::Part(..));
        is_own(setup, what) && glove && is_unclean_hand(setup, hands, by)
    };
    unclean_hand(setup, done, hands) || contacts(done).any(|met| outside(met) || glove_on_skin(met))
}

/// Both ways round, every two surfaces that meet or may meet.
fn contacts(done: &Done) -> impl Iterator<Item = (SiteIndex, SiteIndex)> + '_ {
    let meant = done
        .flows()
        .filter(|(event, _)| matches!(event.cause, Cause::Touch | Cause::Brush));
    meant.flat_map(|(event, _)| match event.flow {
        Flow::Contact { a, b, .. } => vec![(a, b), (b, a)],
        _ => Vec::new(),
    })
}

fn is_own(setup: &Setup, site: SiteIndex) -> bool {
    matches!(setup.sites[site].owner, Owner::Body(_))
}

fn is_hand(hands: &Hands, setup: &Setup, site: SiteIndex) -> bool {
    Side::BOTH.into_iter().any(|side| hands.is(setup, side, site))
}

fn is_unclean_hand(setup: &Setup, hands: &Hands, site: SiteIndex) -> bool {
    Side::BOTH
        .into_iter()
        .any(|side| hands.soiled(side).is_some() && hands.is(setup, side, site))
}
