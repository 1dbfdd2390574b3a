//! What the drill screen shows.

use crate::drill::Drill;
use crate::model::{Sequence, Side, SiteIndex, Whereabouts};

use super::choices::{Choice, options};
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
    /// Name of the sequence it is laid beside.
    pub sequence: String,
    /// Where the person stands.
    pub whereabouts: Whereabouts,
    /// The drill's clock.
    pub clock: String,
    /// True while the lamp shines.
    pub lamp: bool,
    /// How the lamp may be used.
    pub lamp_use: LampUse,
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
    /// Where it is now, with the lamp on.
    pub now: Option<Vec<NowRow>>,
    /// What the last action moved, with the lamp on.
    pub just_now: Option<JustNow>,
    /// The rub panel, when open.
    pub rub: Option<RubView>,
    /// Every reachable site, when the list is open.
    pub list: Option<Vec<SiteGroup>>,
    /// What was done last.
    pub last: Option<String>,
    /// True to show the picture as a mirror would.
    pub mirror: bool,
    /// True while names are written beside what is seen.
    pub names: bool,
    /// True while the last action's flow is shown under the lamp.
    pub trace: bool,
    /// Counts below this are not seen under the lamp.
    pub seen_from: u64,
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
}

pub(super) fn drill_view(drill: &Drill, at: Looking<'_>) -> DrillView {
    let setup = drill.setup();
    let settings = at.settings;
    DrillView {
        title: setup.scenario.label.clone(),
        sequence: at.sequence.label.clone(),
        whereabouts: drill.state().whereabouts,
        clock: clock(drill.state().clock),
        lamp: at.lamp,
        lamp_use: settings.lamp,
        hands: hand_cards(drill, settings.acting, at.lamp),
        chosen: at.chosen.map(|site| chosen(drill, site, settings.acting)),
        still_on: still_on(drill, at.chosen),
        prompt: at.prompt,
        refusal: at.refusal.cloned(),
        asked: if settings.hints {
            asked_next(drill, at.sequence)
        } else {
            None
        },
        hints: settings.hints,
        now: at.lamp.then(|| where_now(drill)),
        just_now: if at.lamp { just_now(drill) } else { None },
        rub: at
            .rub
            .and_then(|rub| rub_view(drill, rub, settings.clock.factor(), settings.hands_free)),
        list: at.list.then(|| reachable(drill)),
        last: drill
            .done()
            .last()
            .map(|d| super::steps::describe(setup, &d.action)),
        mirror: settings.mirror,
        names: settings.names,
        trace: settings.trace,
        seen_from: setup.organism.seen_from,
    }
}

fn chosen(drill: &Drill, site: SiteIndex, acting: Side) -> Chosen {
    Chosen {
        site,
        label: sentence(&drill.setup().sites[site].label),
        choices: options(drill, site, acting),
    }
}
