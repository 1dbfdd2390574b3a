//! Smoothness against speed, chosen from how long frames take. Knows nothing of what is drawn.

use std::collections::VecDeque;

use bevy::prelude::*;

use super::given::{Quality, SceneSettings};
use super::orbit::CameraWork;
use super::redraw::stale::Stale;

/// Above this median, in ms, motion is seen to stutter: twenty frames a second.
const SLOW: f32 = 50.0;
/// Below this median, in ms, there is time to spare: smoothing with four samples costs less than twice as much, and
/// twice as much would still be well below [`SLOW`].
const QUICK: f32 = 20.0;
/// Frames that are looked at together.
const RECENT: usize = 30;

/// Remembers how long moving frames took and decides when to change.
///
/// It never flaps: a decision needs [`RECENT`] frames drawn at the present quality, and once smoothing has proved too
/// slow it is not tried again.
#[derive(Resource, Clone, Debug, Default)]
pub struct FrameTimes {
    recent: VecDeque<f32>,
    drawn_at: Quality,
    too_slow: bool,
}

impl FrameTimes {
    /// Takes note of a frame that showed motion, in ms, and says which quality the next is to have.
    pub fn next(&mut self, now: Quality, frame: f32) -> Quality {
        if self.drawn_at != now {
            self.drawn_at = now;
            self.recent.clear();
        }
        self.recent.push_back(frame);
        if self.recent.len() < RECENT {
            return now;
        }
        let mut sorted: Vec<f32> = self.recent.iter().copied().collect();
        sorted.sort_by(f32::total_cmp);
        let median = sorted[RECENT / 2];
        self.recent.pop_front();
        match now {
            Quality::Fine if median > SLOW => {
                self.too_slow = true;
                Quality::Plain
            }
            Quality::Plain if median < QUICK && !self.too_slow => Quality::Fine,
            _ => now,
        }
    }
}

/// Times frames while something moves and changes the quality if they have been too slow, or quick enough.
///
/// Frames at rest are not drawn one after the other, so the time between them says nothing; nor do frames of which only
/// a part was drawn, since smooth edges are always drawn whole.
pub(super) fn watch(
    time: Res<Time<Real>>,
    work: Res<CameraWork>,
    stale: Res<Stale>,
    mut moving: Local<bool>,
    mut times: ResMut<FrameTimes>,
    mut settings: ResMut<SceneSettings>,
) {
    // The first frame of a move may come after a long rest.
    let before = std::mem::replace(&mut *moving, work.moving());
    if settings.still || !before || !*moving || stale.in_parts() {
        return;
    }
    let now = settings.quality;
    let next = times.next(now, time.delta_secs() * 1000.0);
    if next != now {
        settings.quality = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Draws frames whose time depends on the quality; how often the quality changed, and what it ended with.
    fn play(
        times: &mut FrameTimes,
        mut now: Quality,
        frames: usize,
        cost: impl Fn(Quality) -> f32,
    ) -> (usize, Quality) {
        let mut changes = 0;
        for _ in 0..frames {
            let next = times.next(now, cost(now));
            changes += usize::from(next != now);
            now = next;
        }
        (changes, now)
    }

    #[test]
    fn slow_frames_bring_it_down_and_quick_ones_up() {
        let slow = play(&mut FrameTimes::default(), Quality::Fine, 200, |_| 80.0);
        assert_eq!(slow, (1, Quality::Plain));
        let quick = play(&mut FrameTimes::default(), Quality::Plain, 200, |_| 8.0);
        assert_eq!(quick, (1, Quality::Fine));
    }

    #[test]
    fn between_quick_and_slow_nothing_changes() {
        for start in [Quality::Plain, Quality::Fine] {
            for cost in [20.0, 35.0, 50.0] {
                assert_eq!(play(&mut FrameTimes::default(), start, 200, |_| cost), (0, start));
            }
        }
    }

    #[test]
    fn a_few_slow_frames_among_many_change_nothing() {
        let mut times = FrameTimes::default();
        for n in 0..300 {
            let frame = if n % 3 == 0 { 400.0 } else { 16.0 };
            assert_eq!(times.next(Quality::Fine, frame), Quality::Fine, "frame {n}");
        }
    }

    #[test]
    fn it_never_flaps_even_where_smoothing_costs_five_times_as_much() {
        for start in [Quality::Plain, Quality::Fine] {
            let cost = |q| if q == Quality::Fine { 75.0 } else { 15.0 };
            let (changes, last) = play(&mut FrameTimes::default(), start, 5_000, cost);
            assert!(changes <= 2, "from {start:?} it changed {changes} times");
            assert_eq!(last, Quality::Plain);
        }
    }
}
