//! An attempt seen again: what the page around the scene shows.

use super::drilling::Sight;
use super::now::{JustNow, NowRow, just_now, where_now};
use super::playback::{Playback, PlaybackView};
use super::settings::Settings;
use super::words::clock;

/// Everything the page shows.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayView {
    /// Name of the scenario.
    pub title: String,
    /// Luck and length.
    pub sub: String,
    /// The controls.
    pub playback: PlaybackView,
    /// The clock at the moment shown.
    pub clock: String,
    /// True while the lamp shines.
    pub lamp: bool,
    /// True while names are written beside what is seen.
    pub names: bool,
    /// True while the last action's flow is shown under the lamp.
    pub trace: bool,
    /// Counts below this are not seen under the lamp.
    pub seen_from: u64,
    /// Where it is at the moment shown, with the lamp on.
    pub now: Option<Vec<NowRow>>,
    /// What the last action moved, with the lamp on.
    pub just_now: Option<JustNow>,
    /// True if it is shown how it is done, and doing it comes next.
    pub shows_how: bool,
    /// The reason for what is shown, where it is shown how it is done.
    pub why: Option<String>,
    /// What is worth saying of the log.
    pub notes: Vec<String>,
}

/// What the page shows of a playback; `sight` is what the lamp showed before hands began to move, while they do.
pub(super) fn replay_view(
    playback: &Playback,
    settings: &Settings,
    lamp: bool,
    notes: &[String],
    sight: Option<&Sight>,
) -> ReplayView {
    let now = playback.now();
    let (rows, last) = match (lamp, sight) {
        (false, _) => (None, None),
        (true, Some(before)) => (Some(before.now.clone()), before.just_now.clone()),
        (true, None) => (Some(where_now(now)), just_now(now)),
    };
    let setup = now.setup();
    ReplayView {
        title: setup.scenario.label.clone(),
        sub: format!(
            "An attempt seen again · chance number {} · {} in all",
            now.seed(),
            clock(playback.whole().state().clock)
        ),
        playback: playback.view(),
        clock: clock(now.state().clock),
        lamp,
        names: settings.names,
        trace: settings.trace,
        seen_from: setup.organism.seen_from,
        now: rows,
        just_now: last,
        shows_how: false,
        why: None,
        notes: notes.to_vec(),
    }
}
