//! Errors that are listed apart from any points: after one of them no marks are given.

use crate::drill::{Action, Done, Happened, State};
use crate::model::{Asked, Holding, ItemKind, Owner, Region, Sequence, Setup, Side, SiteIndex, Whereabouts};
use crate::transfer::{Cause, Flow};

use super::align::kit_items;
use super::asks::{self, standing};
use super::hygiene::{Cleaning, Hands, Soiled};
use super::work;

/// What sort of critical error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CriticalKind {
    /// A bare hand was put on an outside that guidance calls dirty.
    BareHandOnDirty,
    /// The face was touched with a hand or a glove that was not clean.
    FaceTouchedUnclean,
    /// Something at the neck or face was handled with a bare hand that was not clean.
    RubSkipped,
    /// Something at the neck or face was handled in a glove that was not clean.
    DirtyGloveAtFace,
    /// The respirator came off, or was pulled down, before the sequence has it come off.
    RespiratorOffTooSoon,
    /// The room was left in gloves that were not clean.
    LeftInSoiledGloves,
    /// Hands were only rubbed although what is on them stands up to alcohol.
    NotWashed,
    /// Everything is off, and hands were not cleaned after it.
    LeftUncleaned,
    /// The work began without something that the sequence has put on before it.
    WentInWithout,
}

impl CriticalKind {
    /// Every kind.
    pub const ALL: [CriticalKind; 9] = [
        CriticalKind::BareHandOnDirty,
        CriticalKind::FaceTouchedUnclean,
        CriticalKind::RubSkipped,
        CriticalKind::DirtyGloveAtFace,
        CriticalKind::RespiratorOffTooSoon,
        CriticalKind::LeftInSoiledGloves,
        CriticalKind::NotWashed,
        CriticalKind::LeftUncleaned,
        CriticalKind::WentInWithout,
    ];

    /// The kebab-case word used in files.
    pub fn word(self) -> &'static str {
        match self {
            CriticalKind::BareHandOnDirty => "bare-hand-on-dirty-outside",
            CriticalKind::FaceTouchedUnclean => "face-touched-unclean",
            CriticalKind::RubSkipped => "rub-skipped",
            CriticalKind::DirtyGloveAtFace => "dirty-glove-at-face",
            CriticalKind::RespiratorOffTooSoon => "respirator-off-too-soon",
            CriticalKind::LeftInSoiledGloves => "left-in-soiled-gloves",
            CriticalKind::NotWashed => "not-washed",
            CriticalKind::LeftUncleaned => "left-uncleaned",
            CriticalKind::WentInWithout => "went-in-without",
        }
    }

    /// True if it can come about where somebody goes by a sequence.
    pub fn can_be_of(self, sequence: &Sequence) -> bool {
        let dresses = sequence.steps.iter().any(|step| step.asked.dresses());
        self != CriticalKind::WentInWithout || dresses
    }

    /// What somebody looks for who watches a real person, as a sentence.
    pub fn watched_for(self) -> &'static str {
        match self {
            CriticalKind::BareHandOnDirty => "A bare hand on the outside of kit that counts as dirty",
            CriticalKind::FaceTouchedUnclean => "The face touched with a hand or a glove that was not clean",
            CriticalKind::RubSkipped => {
                "Something at the face or neck handled with a bare hand that was not clean"
            }
            CriticalKind::DirtyGloveAtFace => {
                "Something at the face or neck handled in a glove that was not clean"
            }
            CriticalKind::RespiratorOffTooSoon => "The respirator or mask off, or pulled down, too soon",
            CriticalKind::LeftInSoiledGloves => "The room left in gloves that were not clean",
            CriticalKind::NotWashed => "Hands only rubbed although they had to be washed with soap",
            CriticalKind::LeftUncleaned => "Hands not cleaned once everything was off",
            CriticalKind::WentInWithout => "The patient gone in to without something that has to be on",
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

/// Every critical error of a drill, in order of time.
pub(super) fn criticals(
    setup: &Setup,
    sequence: &Sequence,
    (all, end): (&[Done], &State),
    hands: &[Hands],
    cleanings: &[Cleaning],
) -> Vec<Critical> {
    let mut list: Vec<Critical> = Vec::new();
    // The last action that missed a rub, while it is still missing.
    let mut missing: Option<usize> = None;
    for (action, done) in all.iter().enumerate() {
        let bare_and_unclean = |hands: &Hands| {
            Side::BOTH
                .into_iter()
                .any(|side| hands.soiled(side).is_some() && hands.glove(side).is_none())
        };
        if !bare_and_unclean(&hands[action]) {
            missing = None;
        }
        let mut add = |kind: CriticalKind, reason: String| {
            // One rub that is missing is one slip, however much is handled without it.
            if kind == CriticalKind::RubSkipped && missing.replace(action).is_some() {
                return;
            }
            list.push(Critical { kind, action, reason });
        };
        let so_far = &all[..=action];
        if work::is_before(setup, so_far, action) {
            touched(setup, sequence, done, (&hands[action], Kit::Fresh), &mut add);
            if work::begins(setup, so_far) == action {
                without(setup, sequence, so_far, &mut add);
            }
            continue;
        }
        // Whoever is judged for putting on alone is not judged for what comes after it.
        if setup.lies_ready() && !sequence.takes_off() {
            continue;
        }
        touched(setup, sequence, done, (&hands[action], Kit::Used), &mut add);
        respirator(setup, sequence, done, &mut add);
        left(setup, sequence, done, &hands[action], &mut add);
    }
    list.extend(at_the_end(setup, sequence, (all, end), hands, cleanings));
    list.sort_by_key(|c| c.action);
    list
}

/// What one action is, with hands as they are before it; without what only the end shows.
pub(super) fn kinds(setup: &Setup, sequence: &Sequence, done: &Done, hands: &Hands) -> Vec<CriticalKind> {
    let mut found = Vec::new();
    let mut add = |kind: CriticalKind, _| found.push(kind);
    touched(setup, sequence, done, (hands, Kit::Used), &mut add);
    respirator(setup, sequence, done, &mut add);
    left(setup, sequence, done, hands, &mut add);
    found
}

/// Whether kit has been at work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kit {
    /// It is being put on: nothing of it counts as dirty.
    Fresh,
    /// It has.
    Used,
}

/// What the work began without, though the sequence has it put on before.
fn without(setup: &Setup, sequence: &Sequence, done: &[Done], add: &mut impl FnMut(CriticalKind, String)) {
    let on = |item: usize| {
        let mut happened = done.iter().flat_map(|done| &done.happened);
        happened.any(|h| matches!(h, Happened::Item { item: moved, to: Holding::Worn, .. } if *moved == item))
    };
    let mut missing: Vec<&str> = Vec::new();
    for step in &sequence.steps {
        let Asked::PutOn { items, .. } = &step.asked else {
            continue;
        };
        let left = kit_items(setup, items).filter(|&item| setup.items[item].ready && !on(item));
        missing.extend(left.map(|item| setup.items[item].label.as_str()));
    }
    if !missing.is_empty() {
        let what = missing.join(" and the ");
        add(
            CriticalKind::WentInWithout,
            format!("you went to the patient without the {what}"),
        );
    }
}

/// A hand that met something in one action.
struct Meeting {
    kind: CriticalKind,
    side: Side,
    bare: bool,
    what: SiteIndex,
}

/// What hands met that they should not have. What a hand was before the action is what counts: within one technique
/// it meets several things.
fn touched(
    setup: &Setup,
    sequence: &Sequence,
    done: &Done,
    (hands, kit): (&Hands, Kit),
    add: &mut impl FnMut(CriticalKind, String),
) {
    let is_dirty = |site: SiteIndex| kit == Kit::Used && is_dirty_outside(setup, site);
    let acting = acting(setup, &done.action);
    let mut met: Vec<Meeting> = Vec::new();
    for (event, _) in done.flows().filter(|(event, _)| event.cause == Cause::Touch) {
        let Flow::Contact { a, b, .. } = event.flow else {
            continue;
        };
        for (hand, what) in [(a, b), (b, a)] {
            // Only a hand that acts is put anywhere; the other one may be what is touched.
            let Some(&side) = acting.iter().find(|&&side| hands.is(setup, side, hand)) else {
                continue;
            };
            let bare = matches!(setup.sites[hand].owner, Owner::Body(_));
            let unclean = hands.soiled(side).is_some();
            let mut note = |kind: CriticalKind| {
                if !met.iter().any(|m| m.kind == kind && m.side == side) {
                    met.push(Meeting {
                        kind,
                        side,
                        bare,
                        what,
                    });
                }
            };
            // What the sequence itself asks for is counted as contact, not as an error.
            if bare && is_dirty(what) && !asks::accepts(setup, sequence, &done.action) {
                note(CriticalKind::BareHandOnDirty);
            }
            let at_hand = Side::BOTH.into_iter().any(|side| hands.is(setup, side, what));
            if at_hand {
                continue;
            }
            let meant = matches!(done.action, Action::Touch { .. });
            if is_face_skin(setup, what) {
                if unclean || meant && hands.unfit_for_face(side).is_some() {
                    note(CriticalKind::FaceTouchedUnclean);
                }
            } else if unclean && is_neck_or_face(setup, what) {
                // A dirty outside under a bare hand has been said already.
                let said = bare && is_dirty(what) && !asks::accepts(setup, sequence, &done.action);
                if said {
                    continue;
                }
                if bare && asks::clean_hands_before(setup, sequence, &done.action) {
                    note(CriticalKind::RubSkipped);
                } else if !bare && asks::no_dirty_gloves_at(setup, sequence, &done.action) {
                    note(CriticalKind::DirtyGloveAtFace);
                }
            }
        }
    }
    for kind in CriticalKind::ALL {
        let these: Vec<&Meeting> = met.iter().filter(|m| m.kind == kind).collect();
        if !these.is_empty() {
            add(kind, sentence(setup, hands, kind, &these));
        }
    }
}

/// The hands that do an action.
fn acting(setup: &Setup, action: &Action) -> Vec<Side> {
    match action {
        Action::Do {
            technique,
            item,
            hand,
            ..
        } => {
            let worn_on = item
                .as_ref()
                .and_then(|id| setup.item(id))
                .and_then(|i| setup.items[i].side);
            let usual = setup.library.technique(technique).map(|t| t.hands[0]);
            hand.or(usual).map_or_else(Vec::new, |h| h.sides(worn_on))
        }
        Action::Touch { hand, .. } => vec![*hand],
        _ => Vec::new(),
    }
}

fn sentence(setup: &Setup, hands: &Hands, kind: CriticalKind, met: &[&Meeting]) -> String {
    let what = named(setup, met);
    let with = match met {
        [one] if one.bare => format!("your bare {} hand", one.side.word()),
        [one] => format!("your {} glove", one.side.word()),
        _ if met.iter().all(|m| m.bare) => "both bare hands".to_owned(),
        _ if met.iter().all(|m| !m.bare) => "both gloves".to_owned(),
        _ => "both hands".to_owned(),
    };
    let unclean = match met {
        [one] if one.bare => format!(
            ", which had not been cleaned in full {}",
            since(setup, hands.unfit_for_face(one.side))
        ),
        [_] => ", which was not clean".to_owned(),
        _ => ", which were not clean".to_owned(),
    };
    match kind {
        CriticalKind::BareHandOnDirty => format!("you put {with} on the {what}"),
        CriticalKind::FaceTouchedUnclean => format!("you touched your {what} with {with}{unclean}"),
        _ => format!("you handled the {what} with {with}{unclean}"),
    }
}

/// What was met, by its own name if it is one patch, else by the name of the item or the part of the body.
fn named(setup: &Setup, met: &[&Meeting]) -> String {
    let first = met[0].what;
    if met.iter().all(|m| m.what == first) {
        return patch(setup, first);
    }
    let items: Vec<Option<usize>> = met
        .iter()
        .map(|m| match setup.sites[m.what].owner {
            Owner::Part(item, ..) => Some(item),
            _ => None,
        })
        .collect();
    match items[0] {
        Some(item) if items.iter().all(|&i| i == Some(item)) => {
            format!("outside of the {}", setup.items[item].label)
        }
        _ if met.iter().all(|m| is_face_skin(setup, m.what)) => "face".to_owned(),
        _ => {
            let labels: Vec<String> = met.iter().map(|m| patch(setup, m.what)).collect();
            labels.join(" and the ")
        }
    }
}

/// A site as one speaks of it: `front of the respirator`, `right cheek`.
fn patch(setup: &Setup, site: SiteIndex) -> String {
    match setup.sites[site].owner {
        Owner::Part(item, part, _) => format!(
            "{} of the {}",
            setup.definition(item).parts[part].label,
            setup.items[item].label
        ),
        _ => setup.sites[site].label.clone(),
    }
}

fn since(setup: &Setup, soiled: Option<Soiled>) -> String {
    match soiled {
        Some(Soiled::Touched(site)) => format!("since it touched the {}", patch(setup, site)),
        Some(Soiled::GloveOff(_)) => "since its glove came off".to_owned(),
        Some(Soiled::Handled(item)) => format!("since it handled the {}", setup.items[item].label),
        Some(Soiled::AtFirst) => "since you came".to_owned(),
        Some(Soiled::AtWork) | None => "since the work".to_owned(),
    }
}

fn respirator(setup: &Setup, sequence: &Sequence, done: &Done, add: &mut impl FnMut(CriticalKind, String)) {
    for happened in &done.happened {
        let Happened::Item {
            item,
            from: Holding::Worn,
            to,
            ..
        } = happened
        else {
            continue;
        };
        if setup.definition(*item).kind != ItemKind::Respirator || *to == Holding::Worn {
            continue;
        }
        // A sequence that does not say where has it on for as long as one is in the room.
        let at = asks::place_for(setup, sequence, *item).unwrap_or_default();
        let until = at.iter().copied().min().unwrap_or(Whereabouts::Doorway);
        if done.whereabouts >= until {
            continue;
        }
        let how = if *to == Holding::Dangling {
            "was pulled down"
        } else {
            "came off"
        };
        add(
            CriticalKind::RespiratorOffTooSoon,
            format!(
                "the {} {how} {}; it stays on until you are {}",
                setup.items[*item].label,
                standing(done.whereabouts),
                standing(until)
            ),
        );
    }
}

/// Gloves that are not clean go no further than the doorway, unless the sequence takes them off outside.
fn left(
    setup: &Setup,
    sequence: &Sequence,
    done: &Done,
    hands: &Hands,
    add: &mut impl FnMut(CriticalKind, String),
) {
    if done.action != Action::Walk(Whereabouts::Outside) {
        return;
    }
    let soiled: Vec<Side> = Side::BOTH
        .into_iter()
        .filter(|&side| {
            hands.soiled(side).is_some()
                && hands.glove(side).is_some_and(|glove| {
                    asks::place_for(setup, sequence, glove)
                        .is_none_or(|at| !at.is_empty() && !at.contains(&Whereabouts::Outside))
                })
        })
        .collect();
    let which = match soiled[..] {
        [] => return,
        [one] => format!("your {} glove, which was", one.word()),
        _ => "both gloves, which were".to_owned(),
    };
    add(
        CriticalKind::LeftInSoiledGloves,
        format!("you left the room in {which} not clean"),
    );
}

/// Hands are cleaned once everything is off, if the sequence asks for that at all: not at all is an error, and so is a rub as the
/// last word on what stands up to alcohol.
fn at_the_end(
    setup: &Setup,
    sequence: &Sequence,
    (done, end): (&[Done], &State),
    hands: &[Hands],
    cleanings: &[Cleaning],
) -> Option<Critical> {
    if setup.lies_ready() && !sequence.takes_off() {
        return None;
    }
    let asked = asks::cleaned_hands(sequence);
    let of_kit = |item: usize| !setup.items[item].spare;
    let last_off = done.iter().rposition(|d| {
        let mut happened = d.happened.iter();
        happened.any(|h| matches!(h, Happened::Item { item, from: Holding::Worn, .. } if of_kit(*item)))
    });
    let last_off = last_off.filter(|&off| !work::is_before(setup, done, off))?;
    let gloves_off = hands
        .last()
        .is_some_and(|h| Side::BOTH.into_iter().all(|side| h.glove(side).is_none()));
    if !gloves_off || !asked.at_all {
        return None;
    }
    // Who holds their hands under the tap for a second has not cleaned them.
    let after = cleanings
        .iter()
        .filter(|c| c.action > last_off && !c.over_gloves && !c.is_none());
    let (mut rubbed, mut washed) = (None, false);
    for cleaning in after {
        rubbed = Some(cleaning.action);
        washed |= cleaning.lifts;
    }
    match rubbed {
        Some(action) if setup.organism.needs_soap && !washed => Some(Critical {
            kind: CriticalKind::NotWashed,
            action,
            reason: format!(
                "you only rubbed your hands at the end; {} stands up to alcohol and has to be washed off with soap and water",
                setup.organism.label
            ),
        }),
        None if asked.at_last && all_off(setup, sequence, end) => Some(Critical {
            kind: CriticalKind::LeftUncleaned,
            action: done.len() - 1,
            reason: "you did not clean your hands once everything was off".to_owned(),
        }),
        _ => None,
    }
}

/// True if there is kit that the sequence takes off and all of it has come off: what was left on is an error of its own.
pub(super) fn all_off(setup: &Setup, sequence: &Sequence, end: &State) -> bool {
    let mut removed = sequence.steps.iter().flat_map(|step| match &step.asked {
        Asked::Remove { items, .. } => kit_items(setup, items).collect(),
        _ => Vec::new(),
    });
    let is_off = |item: usize| !matches!(end.items[item].holding, Holding::Worn | Holding::Dangling);
    removed.next().is_some_and(is_off) && removed.all(is_off)
}

pub(super) fn is_dirty_outside(setup: &Setup, site: SiteIndex) -> bool {
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
pub(super) fn face_touch(setup: &Setup, done: &Done, hands: &Hands) -> Option<(Side, SiteIndex, bool)> {
    let Action::Touch { hand, site, .. } = &done.action else {
        return None;
    };
    let site = setup.site(site)?;
    is_face_skin(setup, site).then(|| (*hand, site, hands.unfit_for_face(*hand).is_some()))
}
