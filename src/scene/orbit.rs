//! Where the camera looks from: named views, the way between two, and how far a close view goes after hands at work.
//! Knows no camera.

use bevy::prelude::*;

/// Views with a name and a key.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum NamedView {
    /// The whole person from the front.
    #[default]
    Front,
    /// From behind.
    Back,
    /// The wearer's left side.
    Left,
    /// The wearer's right side.
    Right,
    /// Both hands, close.
    Hands,
    /// The face, close.
    Face,
}

impl NamedView {
    /// All views in the order of their keys.
    pub const ALL: [NamedView; 6] = [
        Self::Front,
        Self::Back,
        Self::Left,
        Self::Right,
        Self::Hands,
        Self::Face,
    ];

    /// The word people read.
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Left => "left",
            Self::Right => "right",
            Self::Hands => "hands",
            Self::Face => "face",
        }
    }

    fn orbit(self) -> Orbit {
        let pi = std::f32::consts::PI;
        let whole = |turn| Orbit {
            turn,
            tilt: 0.085,
            height: 0.915,
            span: 2.16,
            follow: 0.72,
        };
        match self {
            Self::Front => whole(0.0),
            Self::Back => whole(pi),
            // The wearer's left (+x) comes to face the camera.
            Self::Left => whole(-pi * 0.5),
            Self::Right => whole(pi * 0.5),
            Self::Hands => Orbit {
                turn: 0.0,
                tilt: 0.40,
                height: 0.965,
                span: 0.56,
                follow: 1.0,
            },
            Self::Face => Orbit {
                turn: -0.30,
                tilt: 0.06,
                height: 1.605,
                span: 0.50,
                follow: 1.0,
            },
        }
    }
}

/// Where the camera looks from, in the terms people move it by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Orbit {
    /// How far the person is turned from facing the camera, radians.
    pub turn: f32,
    /// How far the camera looks down, radians.
    pub tilt: f32,
    /// Height of the point it looks at, metres.
    pub height: f32,
    /// Height of the picture at the person, metres.
    pub span: f32,
    /// How closely it follows the person sideways, 0 to 1.
    pub follow: f32,
}

impl Orbit {
    pub(super) fn blend(self, to: Orbit, t: f32) -> Orbit {
        let mix = |a: f32, b: f32| a + (b - a) * t;
        let pi = std::f32::consts::PI;
        let short = (to.turn - self.turn + pi).rem_euclid(2.0 * pi) - pi;
        Orbit {
            turn: self.turn + short * t,
            tilt: mix(self.tilt, to.tilt),
            height: mix(self.height, to.height),
            span: mix(self.span, to.span),
            follow: mix(self.follow, to.follow),
        }
    }
}

/// The camera's present place and where it is going.
#[derive(Resource)]
pub struct CameraWork {
    /// Present place.
    pub now: Orbit,
    pub(super) goal: Orbit,
    pub(super) start: Orbit,
    /// 0 at the start of a move, 1 at its end.
    pub(super) progress: f32,
    /// The last named view asked for.
    pub view: NamedView,
    /// What hands at work draw a close view to, beside where it was asked to be.
    pub(super) heed: Heed,
}

/// How far a close view has gone from its place to keep hands at work in sight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Heed {
    /// To the right and upwards in the picture, metres at the person.
    pub shift: Vec2,
    /// How much higher the picture is, metres at the person.
    pub wider: f32,
}

impl Heed {
    /// What keeps points in sight, given from the middle of a picture as high as `span`: to the right and upwards,
    /// metres. Where they are in sight already, it is nothing.
    pub fn of(points: &[Vec2], span: f32) -> Heed {
        let (Some(low), Some(high)) = (
            points.iter().copied().reduce(Vec2::min),
            points.iter().copied().reduce(Vec2::max),
        ) else {
            return Heed::default();
        };
        let half = span * SEEN;
        let wider = ((high - low).max_element() * 0.5 - half).max(0.0);
        let half = Vec2::splat(half + wider);
        let shift = (high - half).max(Vec2::ZERO) + (low + half).min(Vec2::ZERO);
        Heed {
            shift,
            wider: wider / SEEN,
        }
    }

    /// Nearer to another, by so many seconds; there at once if it is close.
    pub fn nearer(self, to: Heed, seconds: f32) -> Heed {
        let left = (-seconds / HEEDS).exp();
        let next = Heed {
            shift: to.shift + (self.shift - to.shift) * left,
            wider: to.wider + (self.wider - to.wider) * left,
        };
        let off = next.shift.distance(to.shift) + (next.wider - to.wider).abs();
        if off < 0.003 { to } else { next }
    }
}

/// Share of a picture's height, from its middle, within which hands at work are to be; and how soon a close view goes
/// after them, seconds.
const SEEN: f32 = 0.30;
const HEEDS: f32 = 0.12;

impl Default for CameraWork {
    fn default() -> Self {
        let at = NamedView::Front.orbit();
        Self {
            now: at,
            goal: at,
            start: at,
            progress: 1.0,
            view: NamedView::Front,
            heed: Heed::default(),
        }
    }
}

impl CameraWork {
    /// Moves to a named view: smoothly, or at once with `instant`.
    pub fn go(&mut self, view: NamedView, instant: bool) {
        self.view = view;
        self.aim(view.orbit(), instant);
    }

    /// Moves to any place.
    pub fn aim(&mut self, orbit: Orbit, instant: bool) {
        self.start = self.now;
        self.goal = orbit;
        self.progress = if instant { 1.0 } else { 0.0 };
        if instant {
            self.now = orbit;
        }
    }

    /// Turns and tilts at once, radians.
    pub fn turn(&mut self, sideways: f32, down: f32) {
        let mut to = self.now;
        to.turn += sideways;
        to.tilt = (to.tilt + down).clamp(-0.12, 1.25);
        self.aim(to, true);
    }

    /// Zooms at once; below 1 comes closer.
    pub fn zoom(&mut self, factor: f32) {
        let mut to = self.now;
        to.span = (to.span * factor).clamp(0.18, 3.2);
        to.follow = (1.0 - (to.span - 0.8) * 0.21).clamp(0.55, 1.0);
        self.aim(to, true);
    }

    /// True while a move is under way.
    pub fn moving(&self) -> bool {
        self.progress < 1.0 || self.heed != Heed::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_stays_where_it_is_while_hands_are_in_sight() {
        let points = [Vec2::new(-0.1, 0.05), Vec2::new(0.12, -0.1)];
        assert_eq!(Heed::of(&points, 0.5), Heed::default());
        assert_eq!(Heed::of(&[], 0.5), Heed::default());
    }

    #[test]
    fn hands_out_of_sight_are_in_it_once_the_view_has_gone_after_them() {
        for points in [
            vec![Vec2::new(0.0, -0.8)],
            vec![Vec2::new(-0.6, -0.7), Vec2::new(0.3, -0.1)],
            vec![Vec2::new(0.5, 0.4), Vec2::new(0.5, 0.1)],
        ] {
            let heed = Heed::of(&points, 0.5);
            for p in &points {
                let off = (*p - heed.shift).abs().max_element();
                let half = (0.5 + heed.wider) * 0.5;
                assert!(
                    off < half,
                    "{p} is {off} m from the middle of a picture {half} m to its edge"
                );
            }
        }
    }

    #[test]
    fn it_comes_to_rest() {
        let (mut heed, mut frames) = (Heed::of(&[Vec2::new(0.7, -0.8)], 0.5), 0);
        while heed != Heed::default() {
            heed = heed.nearer(Heed::default(), 0.016);
            frames += 1;
            assert!(frames < 120, "still {heed:?} away after two seconds");
        }
    }
}
