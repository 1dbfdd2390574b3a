//! What the drill screen shows.

use crate::drill::Drill;
use crate::model::{Pace, Sequence, Side, SiteIndex, Whereabouts};
use crate::report::found;

use super::choices::{Choice, options};
use super::finish::left_to_do;
use super::hands::{HandCard, StillOn, hand_cards, still_on};
use super::now::{JustNow, NowRow, asked_next, just_now, where_now};
use super::rub::{Rub, RubView, rub_view};
use super::settings::{LampUse, Settings};
use super::sites::{SiteGroup, reachable};
use super::words::{clock, sentence};

/// The chosen site and what can be done there.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Site index.
    pub site: SiteIndex,
    /// Name for people.
    pub label: String,
    /// Numbered options.
    pub choices: Vec<Choice>,
}

/// Something that has happened and waits for an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Prompt {
    /// What the trainee reads.
    pub say: String,
    /// What answering touches.
    pub what: String,
}

/// The drill screen.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillView {
    /// Name of the scenario.
    pub title: String,
    /// Name of the sequence it is laid beside; none while somebody is assessed.
    pub sequence: Option<String>,
    /// Where the person stands.
    pub whereabouts: Whereabouts,
    /// True while the door between room and corridor stands open.
    pub door_open: bool,
    /// The drill's clock.
    pub clock: String,
    /// True while the lamp shines.
    pub lamp: bool,
    /// How the lamp may be used.
    pub lamp_use: LampUse,
    /// True if nothing has to be held down.
    pub hands_free: bool,
    /// Both hands, left first.
    pub hands: [HandCard; 2],
    /// The chosen site.
    pub chosen: Option<Chosen>,
    /// What is not yet in the bin.
    pub still_on: Vec<StillOn>,
    /// Something that happened.
    pub prompt: Option<Prompt>,
    /// Why the last thing could not be done.
    pub refusal: Option<String>,
    /// What the sequence asks for next, if hints are on.
    pub asked: Option<String>,
    /// True if hints are on.
    pub hints: bool,
    /// True if the next step can be asked for.
    pub can_ask: bool,
    /// True if it is told now; false where it went right lately, or was not asked for.
    pub told: bool,
    /// Where it is now, with the lamp on.
    pub now: Option<Vec<NowRow>>,
    /// What the last action moved, with the lamp on.
    pub just_now: Option<JustNow>,
    /// The rub panel, when open.
    pub rub: Option<RubView>,
    /// Every reachable site, when the list is open.
    pub list: Option<Vec<SiteGroup>>,
    /// What was done last, or taken back.
    pub last: Option<String>,
    /// True to show the picture as a mirror would.
    pub mirror: bool,
    /// True while names are written beside what is seen.
    pub names: bool,
    /// True while the last action's flow is shown under the lamp.
    pub trace: bool,
    /// Counts below this are not seen under the lamp.
    pub seen_from: u64,
    /// How the next thing is done.
    pub pace: Pace,
    /// How long the list of what can be done takes no choice after it has changed, s.
    pub list_rest: f64,
    /// True if steps can be taken back: not in an assessment.
    pub takes_back: bool,
    /// What is left to do, while it is asked whether to finish all the same.
    pub finishing: Option<Vec<String>>,
}

/// What the lamp shows of a moment, kept while hands are on their way from it: counts change when that is seen.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sight {
    pub now: Vec<NowRow>,
    pub just_now: Option<JustNow>,
    carries: [Option<String>; 2],
}

impl Sight {
    /// What the lamp shows now.
    pub fn of(drill: &Drill) -> Sight {
        Sight {
            now: where_now(drill),
            just_now: just_now(drill),
            carries: hand_cards(drill, Side::Right, true).map(|card| card.carries),
        }
    }
}

/// Everything that decides what the drill screen shows besides the drill.
pub(super) struct Looking<'a> {
    pub sequence: &'a Sequence,
    pub settings: &'a Settings,
    pub lamp: bool,
    pub chosen: Option<SiteIndex>,
    pub prompt: Option<Prompt>,
    pub refusal: Option<&'a String>,
    pub rub: Option<&'a Rub>,
    pub list: bool,
    pub sight: Option<&'a Sight>,
    pub pace: Pace,
    pub asking: bool,
    pub taken_back: Option<&'a String>,
    pub assessed: bool,
    /// True if the next step is told now, as far as hints are on.
    pub tells: bool,
    pub can_ask: bool,
    pub takes_back: bool,
}

pub(super) fn drill_view(drill: &Drill, at: Looking<'_>) -> DrillView {
    let setup = drill.setup();
    let settings = at.settings;
    let mut hands = hand_cards(drill, settings.acting, at.lamp);
    if let (true, Some(sight)) = (at.lamp, at.sight) {
        for (card, carries) in hands.iter_mut().zip(&sight.carries) {
            card.carries.clone_from(carries);
        }
    }
    let (now, just_now) = match (at.lamp, at.sight) {
        (false, _) => (None, None),
        (true, Some(before)) => (Some(before.now.clone()), before.just_now.clone()),
        (true, None) => (Some(where_now(drill)), just_now(drill)),
    };
    DrillView {
        title: setup.scenario.label.clone(),
        // What a sequence is called says what comes first.
        sequence: (!at.assessed).then(|| at.sequence.label.clone()),
        whereabouts: drill.state().whereabouts,
        door_open: drill.state().door_is_open(),
        // A rub that is under way counts already.
        clock: clock(drill.state().clock + at.rub.map_or(0.0, |rub| rub.held)),
        lamp: at.lamp,
        lamp_use: settings.lamp,
        hands_free: settings.hands_free,
        hands,
        chosen: at.chosen.map(|site| chosen(drill, site, settings.acting)),
        still_on: still_on(drill, at.chosen),
        prompt: at.prompt,
        refusal: at.refusal.cloned(),
        asked: if settings.hints && at.tells {
            asked_next(drill, at.sequence)
        } else {
            None
        },
        hints: settings.hints,
        can_ask: at.can_ask,
        told: at.tells,
        now,
        just_now,
        rub: at.rub.and_then(|rub| rub_view(drill, rub, settings, at.assessed)),
        list: at.list.then(|| reachable(drill)),
        last: match at.taken_back {
            Some(action) => Some(format!("Taken back: {action}")),
            None => drill.done().last().map(|d| match found(&d.felt) {
                // What was found is what the check was for.
                Some(found) => found,
                None => format!("Last: {}", super::steps::describe(setup, &d.action)),
            }),
        },
        mirror: settings.mirror,
        names: settings.names,
        trace: settings.trace,
        seen_from: setup.organism.seen_from,
        pace: at.pace,
        list_rest: setup.library.manners.list_rest_seconds,
        takes_back: at.takes_back,
        finishing: at.asking.then(|| left_to_do(drill, at.sequence, at.assessed)),
    }
}

fn chosen(drill: &Drill, site: SiteIndex, acting: Side) -> Chosen {
    Chosen {
        site,
        label: sentence(&drill.setup().sites[site].label),
        choices: options(drill, site, acting),
    }
}
