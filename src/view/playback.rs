//! An attempt seen again: played, stepped and scrubbed. The same actions with the same luck, so the same books.

use crate::drill::{Action, Drill};

use super::steps::describe;
use super::words::{clock, sentence};

/// How fast an attempt is played.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Speed {
    /// Half as fast.
    Half,
    /// An action every few seconds.
    #[default]
    Usual,
    /// Twice as fast.
    Double,
    /// Four times as fast.
    Fourfold,
}

impl Speed {
    /// All speeds with their captions.
    pub const ALL: [(Speed, &'static str); 4] = [
        (Speed::Half, "Half speed"),
        (Speed::Usual, "Usual speed"),
        (Speed::Double, "Twice as fast"),
        (Speed::Fourfold, "Four times as fast"),
    ];

    /// How many seconds of playing pass in a second.
    pub fn factor(self) -> f32 {
        match self {
            Speed::Half => 0.5,
            Speed::Usual => 1.0,
            Speed::Double => 2.0,
            Speed::Fourfold => 4.0,
        }
    }
}

/// Shortest and longest time that an action is shown at the usual speed, s. Long rubs need not be sat through.
const SHOWN: (f32, f32) = (1.8, 4.0);

/// An attempt and the moment of it that is shown.
#[derive(Clone, Debug)]
pub struct Playback {
    whole: Drill,
    now: Drill,
    playing: bool,
    speed: Speed,
    left: f32,
}

/// What the controls of a playback show.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaybackView {
    /// Actions done at the moment shown.
    pub at: usize,
    /// All actions: clock and sentence.
    pub rows: Vec<(String, String)>,
    /// True while it plays on by itself.
    pub playing: bool,
    /// How fast.
    pub speed: Speed,
    /// What was done last, or that nothing has been.
    pub caption: String,
}

impl Playback {
    /// An attempt at its beginning.
    pub fn of(whole: Drill) -> Playback {
        let now = Drill::begin(whole.setup().clone(), whole.seed());
        Playback {
            whole,
            now,
            playing: false,
            speed: Speed::default(),
            left: 0.0,
        }
    }

    /// The whole attempt.
    pub fn whole(&self) -> &Drill {
        &self.whole
    }

    /// The attempt as it stood at the moment shown.
    pub fn now(&self) -> &Drill {
        &self.now
    }

    /// Actions done at the moment shown.
    pub fn at(&self) -> usize {
        self.now.done().len()
    }

    /// Actions in all.
    pub fn len(&self) -> usize {
        self.whole.done().len()
    }

    /// True if nothing was done in the attempt.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// True while it plays on by itself.
    pub fn playing(&self) -> bool {
        self.playing
    }

    /// Sets how fast it plays.
    pub fn set_speed(&mut self, speed: Speed) {
        self.speed = speed;
    }

    /// Plays on, or pauses; from the end it plays again from the beginning.
    pub fn play_or_pause(&mut self) {
        self.playing = !self.playing && !self.is_empty();
        if self.playing && self.at() == self.len() {
            self.seek(0);
        }
        self.left = 0.0;
    }

    /// Stops playing on.
    pub fn pause(&mut self) {
        self.playing = false;
    }

    /// Goes to the moment after so many actions, at most all of them.
    pub fn seek(&mut self, at: usize) {
        let at = at.min(self.len());
        if at < self.at() {
            self.now = Drill::begin(self.whole.setup().clone(), self.whole.seed());
        }
        while self.at() < at && self.step().is_some() {}
    }

    /// The action that comes next; none at the end.
    pub fn next(&self) -> Option<&Action> {
        self.whole.done().get(self.at()).map(|done| &done.action)
    }

    /// Does the next action and returns it; none at the end.
    pub fn step(&mut self) -> Option<&Action> {
        let done = self.whole.done().get(self.now.done().len())?;
        // What was possible once is possible again: same scenario, same luck, same actions before.
        self.now.act(done.action.clone()).ok()?;
        self.left = Self::shown_for(done.ended - done.began);
        Some(&done.action)
    }

    /// Lets seconds pass; true when the next action is due.
    pub fn wait(&mut self, seconds: f32) -> bool {
        if !self.playing {
            return false;
        }
        self.left -= seconds.max(0.0) * self.speed.factor();
        if self.at() == self.len() && self.left <= 0.0 {
            self.playing = false;
        }
        self.playing && self.left <= 0.0
    }

    fn shown_for(seconds: f64) -> f32 {
        (seconds as f32 * 0.4).clamp(SHOWN.0, SHOWN.1)
    }

    /// What the controls show.
    pub fn view(&self) -> PlaybackView {
        let setup = self.whole.setup();
        PlaybackView {
            at: self.at(),
            rows: self
                .whole
                .done()
                .iter()
                .map(|done| (clock(done.began), describe(setup, &done.action)))
                .collect(),
            playing: self.playing,
            speed: self.speed,
            caption: match self.now.done().last() {
                Some(done) => describe(setup, &done.action),
                None => sentence("before anything was done"),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::play;
    use super::*;

    #[test]
    fn every_moment_has_the_books_it_had_and_any_order_of_seeking_gives_them() {
        let whole = play("classic-tracer/face-touch", 5);
        let mut forwards = Playback::of(whole.clone());
        let mut digests = vec![forwards.now().books().digest()];
        while forwards.step().is_some() {
            digests.push(forwards.now().books().digest());
        }
        assert_eq!(forwards.now().books().digest(), whole.books().digest());
        let mut leaping = Playback::of(whole);
        for at in [3, 0, 5, 4, 100, 1] {
            leaping.seek(at);
            let at = at.min(leaping.len());
            assert_eq!(leaping.at(), at);
            assert_eq!(leaping.now().books().digest(), digests[at], "after {at} actions");
        }
    }

    #[test]
    fn it_plays_to_the_end_by_itself_and_then_rests() {
        let mut playback = Playback::of(play("classic-tracer/face-touch", 5));
        playback.set_speed(Speed::Fourfold);
        playback.play_or_pause();
        let mut seconds = 0.0;
        while playback.playing() {
            if playback.wait(0.1) {
                playback.step();
            }
            seconds += 0.1;
            assert!(seconds < 600.0, "it never ends");
        }
        assert_eq!(playback.at(), playback.len());
        let least = playback.len() as f32 * SHOWN.0 / 4.0;
        assert!(seconds >= least, "{seconds} s is too fast for people to see");
        playback.play_or_pause();
        assert!(
            playback.playing() && playback.at() == 0,
            "it plays again from the beginning"
        );
    }
}
