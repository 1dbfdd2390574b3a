//! Errors that are listed apart from any points: after one of them no marks are given.

use crate::drill::{Action, Done, Happened, State};
use crate::model::{
    Asked, AskedStep, Does, Holding, ItemKind, Owner, Region, Sequence, Setup, Side, SiteIndex, Technique,
    Whereabouts,
};
use crate::transfer::{Cause, Flow};

use super::align::kit_items;
use super::asks::{self, standing};
use super::hygiene::{Cleaning, Hands, Soiled, put_on_by};
use super::work;

/// What sort of critical error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CriticalKind {
    /// A bare hand was put on an outside that guidance calls dirty.
    BareHandOnDirty,
    /// The face was touched with a hand or a glove that was not clean.
    FaceTouchedUnclean,
    /// Something at the neck or face was handled, or the room left, with a bare hand that was not clean though the
    /// sequence has it cleaned before.
    RubSkipped,
    /// Something at the neck or face was handled in a glove that was not clean.
    DirtyGloveAtFace,
    /// The respirator or mask came off, or was pulled down, before the sequence has it come off.
    RespiratorOffTooSoon,
    /// The room was left in gloves that were not clean.
    LeftInSoiledGloves,
    /// The room was left in a gown, an apron or overshoes that the sequence has come off before.
    LeftInUsedKit,
    /// What others touch next was taken hold of with a hand or a glove that was not clean.
    OthersTouchedUnclean,
    /// Hands were only rubbed although what is on them stands up to alcohol.
    NotWashed,
    /// Everything is off, and hands were not cleaned after it, or touched what is not clean after they were.
    LeftUncleaned,
    /// The work began without something that the sequence has put on before it, or somebody went back in without something
    /// that it has on in there.
    WentInWithout,
}

impl CriticalKind {
    /// Every kind.
    pub const ALL: [CriticalKind; 11] = [
        CriticalKind::BareHandOnDirty,
        CriticalKind::FaceTouchedUnclean,
        CriticalKind::RubSkipped,
        CriticalKind::DirtyGloveAtFace,
        CriticalKind::RespiratorOffTooSoon,
        CriticalKind::LeftInSoiledGloves,
        CriticalKind::LeftInUsedKit,
        CriticalKind::OthersTouchedUnclean,
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
            CriticalKind::LeftInUsedKit => "left-in-used-kit",
            CriticalKind::OthersTouchedUnclean => "others-touched-unclean",
            CriticalKind::NotWashed => "not-washed",
            CriticalKind::LeftUncleaned => "left-uncleaned",
            CriticalKind::WentInWithout => "went-in-without",
        }
    }

    /// True if it can come about where somebody goes by a sequence.
    pub fn can_be_of(self, sequence: &Sequence) -> bool {
        let guards = |step: &AskedStep| matches!(step.asked, Asked::Remove { .. }) || step.asked.dresses();
        self != CriticalKind::WentInWithout || sequence.steps.iter().any(guards)
    }

    /// What somebody looks for who watches a real person, as a sentence.
    pub fn watched_for(self) -> &'static str {
        match self {
            CriticalKind::BareHandOnDirty => "A bare hand on the outside of kit that counts as dirty",
            CriticalKind::FaceTouchedUnclean => "The face touched with a hand or a glove that was not clean",
            CriticalKind::RubSkipped => {
                "Something at the face or neck handled, or the room left, with a bare hand that was not clean"
            }
            CriticalKind::DirtyGloveAtFace => {
                "Something at the face or neck handled in a glove that was not clean"
            }
            CriticalKind::RespiratorOffTooSoon => "The respirator or mask off, or pulled down, too soon",
            CriticalKind::LeftInSoiledGloves => "The room left in gloves that were not clean",
            CriticalKind::LeftInUsedKit => {
                "The room left in a gown, an apron or overshoes that come off before"
            }
            CriticalKind::OthersTouchedUnclean => {
                "A phone, a pen or what else others touch taken hold of with a hand or a glove that was not clean"
            }
            CriticalKind::NotWashed => "Hands only rubbed although they had to be washed with soap",
            CriticalKind::LeftUncleaned => {
                "Hands not cleaned, or not clean any more, once everything was off"
            }
            CriticalKind::WentInWithout => {
                "The patient gone in or back to without something that has to be on"
            }
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
    // Where the list stood when hands were last cleaned: one slip of a hand is one, however often it is repeated till then.
    let mut since = 0;
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
            let repeats = matches!(
                kind,
                CriticalKind::OthersTouchedUnclean | CriticalKind::LeftInSoiledGloves
            );
            // Why it was not clean may have changed by the first.
            let what = |reason: &str| reason.split(", which").next().map(str::to_owned);
            let known = |known: &Critical| known.kind == kind && what(&known.reason) == what(&reason);
            if repeats && list[since..].iter().any(known) {
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
        back_in(setup, sequence, done, &hands[action], &mut add);
        if cleanings.iter().any(|c| c.action == action && c.counts()) {
            since = list.len();
        }
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
    back_in(setup, sequence, done, hands, &mut add);
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
    // Hair is tied and a face shaved before hands are cleaned and kit is touched.
    if kit == Kit::Fresh && prepares(setup, &done.action) {
        return;
    }
    let fresh = put_on_by(setup, &done.action);
    // Whoever lifts what lies on the floor has to take hold of it somewhere: what it makes of the hand is judged by what comes next.
    let lifts = |technique: &str| {
        setup
            .library
            .technique(technique)
            .is_some_and(|t| t.does == Does::PicksUp)
    };
    let lifts = matches!(&done.action, Action::Do { technique, .. } if lifts(technique));
    let is_dirty = |site: SiteIndex| {
        let of_fresh = matches!(setup.sites[site].owner, Owner::Part(item, ..) if Some(item) == fresh);
        kit == Kit::Used && !of_fresh && !lifts && is_dirty_outside(setup, site)
    };
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
            } else if kit == Kit::Used && meant && is_for_others(setup, what) {
                if hands.unfit_for_others(side).is_some() {
                    note(CriticalKind::OthersTouchedUnclean);
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

/// True if an action sees to the person, or looks, before the work.
fn prepares(setup: &Setup, action: &Action) -> bool {
    matches!(action, Action::Do { technique, .. }
        if setup.library.technique(technique).is_some_and(Technique::prepares))
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
        _ if met.iter().all(|m| m.bare) => {
            let sides = Side::BOTH.map(|side| hands.unfit_for_face(side));
            format!(", which {}", since_both(setup, sides))
        }
        _ => ", which were not clean".to_owned(),
    };
    match kind {
        CriticalKind::BareHandOnDirty => format!("you put {with} on the {what}"),
        CriticalKind::FaceTouchedUnclean => format!("you touched your {what} with {with}{unclean}"),
        CriticalKind::OthersTouchedUnclean => format!("you took hold of the {what} with {with}{unclean}"),
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
        Some(Soiled::Lifted(item)) => {
            format!("since it lifted the {} from the floor", setup.items[item].label)
        }
        Some(Soiled::AtTheDoor) => "since it worked the door".to_owned(),
        Some(Soiled::AtFirst) => "since you came".to_owned(),
        Some(Soiled::AtWork) | None => "since the work".to_owned(),
    }
}

/// The same of both bare hands, if it is one thing that both have to be cleaned for.
fn since_both(setup: &Setup, [left, right]: [Option<Soiled>; 2]) -> String {
    let words = [left, right].map(|soiled| since(setup, soiled));
    let why = match (left, right) {
        (Some(Soiled::GloveOff(_)), Some(Soiled::GloveOff(_))) => " since the gloves came off".to_owned(),
        (Some(_), Some(_)) if words[0] == words[1] => {
            format!(" {}", words[0].replace("since it", "since they"))
        }
        _ => String::new(),
    };
    format!("had not been cleaned in full{why}")
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
        if *to == Holding::Worn {
            continue;
        }
        let at = asks::place_for(setup, sequence, *item).unwrap_or_default();
        let stated = at.iter().copied().min();
        let until = match setup.definition(*item).kind {
            // A sequence that does not say where has it on for as long as one is in the room.
            ItemKind::Respirator => stated.unwrap_or(Whereabouts::Doorway),
            ItemKind::Mask => stated.unwrap_or_default(),
            _ => continue,
        };
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

/// What goes no further than the doorway, unless the sequence has it so: gloves that are not clean, what is worn on the
/// body, and bare hands that it has cleaned before. What was worn out is told once.
fn left(
    setup: &Setup,
    sequence: &Sequence,
    done: &Done,
    hands: &Hands,
    add: &mut impl FnMut(CriticalKind, String),
) {
    let unclean = |side: &Side| hands.soiled(*side).is_some();
    match (&done.action, done.whereabouts) {
        (Action::Walk(Whereabouts::Doorway), Whereabouts::Inside) => {
            at_the_door(setup, sequence, (hands, false), add);
        }
        (Action::Walk(Whereabouts::Inside), Whereabouts::Doorway) => {
            at_the_door(setup, sequence, (hands, true), add);
        }
        (Action::Walk(Whereabouts::Inside | Whereabouts::Doorway), Whereabouts::Outside) => {
            back_at_the_door(setup, sequence, hands, add);
        }
        _ => {}
    }
    if done.action != Action::Walk(Whereabouts::Outside) {
        return;
    }
    carried_out(setup, sequence, hands, add);
    let gloves: Vec<Side> = Side::BOTH
        .into_iter()
        .filter(unclean)
        .filter(|&side| {
            let glove = hands.glove(side);
            glove.is_some_and(|glove| asks::off_before_leaving(setup, sequence, glove).unwrap_or(true))
        })
        .collect();
    let mut worn_out: Vec<String> = match gloves[..] {
        [] => Vec::new(),
        [one] => vec![format!("your {} glove", one.word())],
        _ => vec!["both gloves".to_owned()],
    };
    for item in hands.on_the_body(setup) {
        if asks::off_before_leaving(setup, sequence, item) != Some(true) {
            continue;
        }
        let definition = setup.definition(item);
        let plural = if definition.each_side { "s" } else { "" };
        let what = format!("the {}{plural}", definition.label);
        if !worn_out.contains(&what) {
            worn_out.push(what);
        }
    }
    if !worn_out.is_empty() {
        let (kind, why) = match gloves[..] {
            [] => (CriticalKind::LeftInUsedKit, "worn at the bedside"),
            [_] if worn_out.len() == 1 => (CriticalKind::LeftInSoiledGloves, "which was not clean"),
            _ => (CriticalKind::LeftInSoiledGloves, "which were not clean"),
        };
        add(
            kind,
            format!("you left the room in {}, {why}", worn_out.join(" and ")),
        );
    }
    let bare: Vec<Side> = Side::BOTH
        .into_iter()
        .filter(unclean)
        .filter(|&side| hands.glove(side).is_none())
        .collect();
    if !bare.is_empty() && asks::clean_hands_before_leaving(sequence) {
        let which = bare_hands(setup, &bare, |side| hands.soiled(side));
        add(
            CriticalKind::RubSkipped,
            format!("you left the room with {which}"),
        );
    }
}

/// Bare hands that were not clean, with why.
fn bare_hands(setup: &Setup, bare: &[Side], why: impl Fn(Side) -> Option<Soiled>) -> String {
    match bare {
        [one] => format!(
            "your bare {} hand, which had not been cleaned in full {}",
            one.word(),
            since(setup, why(*one))
        ),
        _ => format!(
            "both bare hands, which {}",
            since_both(setup, Side::BOTH.map(why))
        ),
    }
}

/// Whoever works the door takes hold of its handle: in gloves that the sequence has come off before it or at it, or with bare
/// hands that it has cleaned in there, that is what others touch next. Gloves that may come off in the doorway have to get there:
/// of them it is said when they go back in.
fn at_the_door(
    setup: &Setup,
    sequence: &Sequence,
    (hands, into_the_room): (&Hands, bool),
    add: &mut impl FnMut(CriticalKind, String),
) {
    let unclean = || {
        Side::BOTH
            .into_iter()
            .filter(|&side| hands.soiled(side).is_some())
    };
    let gloves: Vec<Side> = unclean()
        .filter(|&side| {
            let at = hands
                .glove(side)
                .and_then(|glove| asks::place_for(setup, sequence, glove));
            match into_the_room {
                true => at.is_some(),
                false => at.is_some_and(|at| at == [Whereabouts::Inside]),
            }
        })
        .collect();
    if !gloves.is_empty() {
        let (which, was) = match gloves[..] {
            [one] => (format!("your {} glove", one.word()), "was"),
            _ => ("both gloves".to_owned(), "were"),
        };
        add(
            CriticalKind::LeftInSoiledGloves,
            format!("you worked the door in {which}, which {was} not clean"),
        );
    }
    let bare: Vec<Side> = unclean().filter(|&side| hands.glove(side).is_none()).collect();
    if !bare.is_empty() && asks::clean_hands_before_the_door(sequence) {
        let which = bare_hands(setup, &bare, |side| hands.soiled(side));
        add(
            CriticalKind::RubSkipped,
            format!("you worked the door with {which}"),
        );
    }
}

/// Whoever goes back to the door from without takes hold of what others touch next, as of anything else that they do.
fn back_at_the_door(
    setup: &Setup,
    sequence: &Sequence,
    hands: &Hands,
    add: &mut impl FnMut(CriticalKind, String),
) {
    let why = |side: Side| hands.unfit_for_others(side);
    let bare = |side: &Side| hands.glove(*side).is_none() && why(*side).is_some();
    let bare: Vec<Side> = Side::BOTH.into_iter().filter(bare).collect();
    if !bare.is_empty() && asks::cleaned_hands(sequence).at_all {
        let which = bare_hands(setup, &bare, why);
        add(
            CriticalKind::OthersTouchedUnclean,
            format!("you worked the door with {which}"),
        );
    }
}

/// Used kit that the sequence has come off before anybody goes out has its bin in there too.
fn carried_out(
    setup: &Setup,
    sequence: &Sequence,
    hands: &Hands,
    add: &mut impl FnMut(CriticalKind, String),
) {
    let used = |item: &usize| setup.items[*item].parts.iter().any(|part| part.declared_dirty);
    let carried: Vec<&str> = hands
        .carried()
        .iter()
        .copied()
        .filter(used)
        .filter(|&item| {
            !setup.items[item].spare && asks::off_before_leaving(setup, sequence, item) == Some(true)
        })
        .map(|item| setup.items[item].label.as_str())
        .collect();
    if !carried.is_empty() {
        add(
            CriticalKind::LeftInUsedKit,
            format!(
                "you carried the {} out of the room in your hands",
                carried.join(" and the ")
            ),
        );
    }
}

/// Whoever goes back in wears what the sequence has on in there until they leave.
fn back_in(
    setup: &Setup,
    sequence: &Sequence,
    done: &Done,
    hands: &Hands,
    add: &mut impl FnMut(CriticalKind, String),
) {
    if done.action != Action::Walk(Whereabouts::Inside) || done.whereabouts == Whereabouts::Inside {
        return;
    }
    let from_outside = done.whereabouts == Whereabouts::Outside;
    let gloved = |item: usize| {
        setup.items[item]
            .side
            .is_some_and(|side| hands.glove(side).is_some())
    };
    let missing: Vec<usize> = (0..setup.items.len())
        .filter(|&item| !setup.items[item].spare && !hands.wears(item))
        .filter(|&item| {
            let at = asks::place_for(setup, sequence, item).unwrap_or_default();
            let guards =
                !at.is_empty() && !at.contains(&Whereabouts::Inside) && !at.contains(&Whereabouts::Doorway);
            // Whoever has been out is dressed for the patient as before.
            let dressed = from_outside
                && asks::step_for(setup, sequence, item).is_some()
                && !(setup.definition(item).kind == ItemKind::Glove && gloved(item));
            guards || dressed
        })
        .collect();
    let mut named: Vec<String> = Vec::new();
    for &item in &missing {
        // Both of a pair by their common name.
        let definition = setup.definition(item);
        let both = missing
            .iter()
            .filter(|&&other| setup.items[other].item == setup.items[item].item)
            .count()
            > 1;
        let what = match both {
            true => format!("the {}s", definition.label),
            false => format!("the {}", setup.items[item].label),
        };
        if !named.contains(&what) {
            named.push(what);
        }
    }
    let what = match named.split_last() {
        None => return,
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
    };
    add(
        CriticalKind::WentInWithout,
        format!("you went back in without {what}"),
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
    let after = || {
        let bare = cleanings.iter().filter(|c| !c.over_gloves);
        bare.filter(|c| c.action > last_off)
    };
    let (mut rubbed, mut washed) = (None, false);
    for cleaning in after().filter(|c| c.counts()) {
        rubbed = Some(cleaning.action);
        washed |= cleaning.lifts;
    }
    let little = after().rfind(|c| !c.counts());
    match rubbed {
        Some(action) if setup.organism.needs_soap && !washed => Some(Critical {
            kind: CriticalKind::NotWashed,
            action,
            reason: format!(
                "you only rubbed your hands at the end; {} stands up to alcohol, and guidance asks for soap and water",
                setup.organism.label
            ),
        }),
        Some(cleaned) if asked.at_last && all_off(setup, sequence, end) => {
            unclean_since(setup, hands, cleaned)
        }
        None if asked.at_last && all_off(setup, sequence, end) => Some(Critical {
            kind: CriticalKind::LeftUncleaned,
            action: done.len() - 1,
            reason: match little.and_then(Cleaning::lacking) {
                Some(lacking) => {
                    format!("once everything was off your hands were not cleaned enough to count: {lacking}")
                }
                None => "you did not clean your hands once everything was off".to_owned(),
            },
        }),
        _ => None,
    }
}

/// What hands that were clean have taken hold of after their last cleaning, other than what everybody touches.
fn unclean_since(setup: &Setup, hands: &[Hands], cleaned: usize) -> Option<Critical> {
    let after = &hands[cleaned + 1..];
    Side::BOTH.into_iter().find_map(|side| {
        let touched = |hands: &Hands| match hands.soiled(side) {
            Some(Soiled::Touched(site)) if soiled_again(setup, Soiled::Touched(site)) => Some(site),
            _ => None,
        };
        after.first()?.soiled(side).is_none().then_some(())?;
        let site = touched(after.last()?)?;
        let at = after.iter().position(|hands| touched(hands).is_some())?;
        Some(Critical {
            kind: CriticalKind::LeftUncleaned,
            action: cleaned + at,
            reason: format!(
                "your {} hand was not clean at the end: it had touched the {} since it was cleaned",
                side.word(),
                patch(setup, site)
            ),
        })
    })
}

/// True for what makes a hand unclean that was cleaned last: anything touched but what everybody touches.
pub(super) fn soiled_again(setup: &Setup, soiled: Soiled) -> bool {
    matches!(soiled, Soiled::Touched(site) if !is_for_others(setup, site))
}

/// True for what others touch next.
fn is_for_others(setup: &Setup, site: SiteIndex) -> bool {
    matches!(setup.sites[site].owner, Owner::Room(piece) if setup.library.furniture[piece].others)
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

/// The face touches of an action: which hand, which site, whether the hand was unclean. Of what is handled at the face, as a
/// respirator's edge is, those with a hand that was not clean.
pub(super) fn face_touches(setup: &Setup, done: &Done, hands: &Hands) -> Vec<(Side, SiteIndex, bool)> {
    if let Action::Touch { hand, site, .. } = &done.action {
        let site = setup.site(site).filter(|&site| is_face_skin(setup, site));
        let touch = site.map(|site| (*hand, site, hands.unfit_for_face(*hand).is_some()));
        return touch.into_iter().collect();
    }
    let early = prepares(setup, &done.action);
    let mut found: Vec<(Side, SiteIndex, bool)> = Vec::new();
    let acting = acting(setup, &done.action);
    for (event, _) in done.flows().filter(|(event, _)| event.cause == Cause::Touch) {
        let (a, Some(b)) = event.sites() else { continue };
        for (hand, what) in [(a, b), (b, a)] {
            let side = acting.iter().find(|&&side| hands.is(setup, side, hand));
            if let Some(&side) = side
                && is_face_skin(setup, what)
                && hands
                    .soiled(side)
                    .is_some_and(|soiled| !early || soiled != Soiled::AtFirst)
                && found.iter().all(|(known, ..)| *known != side)
            {
                found.push((side, what, true));
            }
        }
    }
    found
}
