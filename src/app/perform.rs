//! What was done last, as motion for the scene, and the pictures between: counts appear touch by touch.

use crate::drill::{Action, Done, Drill};
use crate::model::{Owner, Pace, Setup, Side, SiteIndex, Zone};
use crate::scene::{Hands, Perform, Touched};
use crate::transfer::{Cause, Flow};
use crate::view::rub::LONGEST;
use crate::view::stage::{Stage, StageItem, StageItemState, Who};

/// How long techniques take on the screen, s: steady, hurried.
const TECHNIQUE: (f32, f32) = (1.5, 0.8);
/// The same for going to the bin and back; three quarters of it, and it is done: the rest is the way back.
const BIN: (f32, f32) = (2.0, 1.2);
/// The same for a rub or a wash.
const RUB: f32 = 3.0;
/// The same for a free touch.
const TOUCH: f32 = 1.1;

/// One change of a count, at the touch with the same index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// Which touch.
    touch: usize,
    /// The patch.
    site: SiteIndex,
    /// Organisms more or fewer.
    by: i64,
}

impl Change {
    /// True if it happens at the touch with this index and is a change.
    pub(super) fn changes(&self, touch: usize) -> bool {
        self.touch == touch && self.by != 0
    }
}

/// The last thing done as motion, with what each touch changes; `None` if the hands do nothing.
pub fn perform(who: Who, drill: &Drill, before: &Stage, after: &Stage) -> Option<(Perform, Vec<Change>)> {
    let done = drill.done().last()?;
    let setup = drill.setup();
    let (technique, hands, pace, seconds) = match &done.action {
        Action::Do {
            technique,
            item,
            hand,
            pace,
        } => {
            let worn_on = item
                .as_ref()
                .and_then(|id| setup.item(id))
                .and_then(|i| setup.items[i].side);
            let hand = hand.or_else(|| Some(setup.library.technique(technique)?.hands[0]))?;
            let hands = match hand.sides(worn_on)[..] {
                [side] => Hands::One(side),
                _ => Hands::Both,
            };
            let goes = |(next, now): (&StageItem, &StageItem)| {
                let picked_up = matches!(now.state, StageItemState::Floor(_));
                next.state != now.state && (next.state == StageItemState::Binned || picked_up)
            };
            let (steady, quick) = if after.items.iter().zip(&before.items).any(goes) {
                BIN
            } else {
                TECHNIQUE
            };
            let seconds = match pace {
                Pace::Steady => steady,
                Pace::Hurried => quick,
            };
            // What a trainer has written moves like what it says; without a word on it the scene looks for what suits.
            let motion = setup.library.motion(technique).unwrap_or(technique);
            (motion.to_owned(), hands, *pace, seconds)
        }
        Action::Touch { hand, .. } => ("touch".to_owned(), Hands::One(*hand), Pace::Steady, TOUCH),
        Action::Clean { product, .. } => {
            let verb = &setup.library.product(product)?.verb;
            (verb.clone(), Hands::Both, Pace::Steady, RUB)
        }
        Action::Walk(_) | Action::Wait(_) => return None,
    };
    let becomes = after.items.iter().zip(&before.items);
    // What is only shifted a little moves too.
    let acted = match &done.action {
        Action::Do { item, .. } => item.as_ref(),
        _ => None,
    };
    let becomes = becomes
        .filter(|(next, now)| next != now || Some(&next.id) == acted)
        .map(|(next, _)| next.clone());
    let (touches, changes) = touches(done, setup, hands);
    let perform = Perform {
        who,
        technique,
        becomes: becomes.collect(),
        hands,
        touches,
        seconds,
        hurried: pace == Pace::Hurried,
    };
    Some((perform, changes))
}

/// Hands that are rubbed or washed with a product until they are told to stop; they go to its dispenser first.
pub fn rubbing(who: Who, drill: &Drill, product: &str) -> Option<Perform> {
    let setup = drill.setup();
    let product = setup.library.product(product)?;
    let (dispenser, _) = *setup.sources(product, drill.state().whereabouts).first()?;
    Some(Perform {
        who,
        technique: product.verb.clone(),
        becomes: Vec::new(),
        hands: Hands::Both,
        touches: vec![Touched {
            hand: Some(Side::Right),
            zone: Some(Zone::Palm),
            site: dispenser,
            at: 0.0,
        }],
        seconds: (product.seconds * LONGEST) as f32 + RUB,
        hurried: false,
    })
}

/// The hand and zone a site belongs to: bare skin, or a glove over it.
fn hand_of(setup: &Setup, site: SiteIndex) -> Option<(Side, Zone)> {
    match setup.sites[site].owner {
        Owner::Body(place) => setup.zone_of_place(place),
        Owner::Part(item, part, false) => {
            let kit = &setup.items[item];
            let zone = match kit.parts[part].id.as_str() {
                "back" => Zone::BackOfHand,
                id => Zone::from_word(id)?,
            };
            Some((kit.side?, zone))
        }
        _ => None,
    }
}

fn touches(done: &Done, setup: &Setup, hands: Hands) -> (Vec<Touched>, Vec<Change>) {
    let acts = |side: Side| hands == Hands::Both || hands == Hands::One(side);
    let flows: Vec<_> = done.flows().filter(|(_, outcome)| outcome.happened).collect();
    let span = (done.ended - done.began).max(1e-9);
    let mut touches = Vec::with_capacity(flows.len());
    let mut changes = Vec::new();
    for (n, (event, outcome)) in flows.iter().enumerate() {
        let mut change = |site, by: i64| {
            changes.push(Change { touch: n, site, by });
        };
        let (ab, ba) = (outcome.moved_ab as i64, outcome.moved_ba as i64);
        let (hand, site) = match event.flow {
            Flow::Contact { a, b, .. } => {
                change(a, ba - ab);
                change(b, ab - ba);
                let acting = |site| hand_of(setup, site).filter(|(side, _)| acts(*side));
                // No hand goes anywhere for what it only grazes.
                let heeded = !matches!(event.cause, Cause::Graze | Cause::Shed);
                match (acting(a).filter(|_| heeded), acting(b).filter(|_| heeded)) {
                    (Some(hand), _) => (Some(hand), b),
                    (None, Some(hand)) => (Some(hand), a),
                    (None, None) => (None, b),
                }
            }
            Flow::Splash { from, onto, .. } => {
                change(from, -ab);
                change(onto, ab);
                (None, onto)
            }
            Flow::Removal { site, .. } => {
                change(site, -ab);
                (None, site)
            }
        };
        // Events of one technique carry the clock at which they happen; those at one moment keep their order.
        let at = ((event.at - done.began) / span) as f32;
        let order = (n as f32 + 0.5) / flows.len() as f32;
        touches.push(Touched {
            hand: hand.map(|h| h.0),
            zone: hand.map(|h| h.1),
            site,
            at: (0.5 * at + 0.5 * order).clamp(0.0, 1.0),
        });
    }
    (touches, changes)
}

/// Shows in a picture what one touch changes.
pub(super) fn apply(stage: &mut Stage, changes: &[Change], touch: usize) {
    for change in changes.iter().filter(|c| c.touch == touch) {
        if let Some(patch) = stage.patches.get_mut(change.site) {
            patch.count = patch.count.saturating_add_signed(change.by);
        }
    }
}
