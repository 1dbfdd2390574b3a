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
    /// Hands that are held out, close: at the end of a comparison; not among those to choose from.
    Palms,
    /// The back of the neck, close: there too, and no more to choose.
    Nape,
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
            Self::Palms => "palms",
            Self::Nape => "nape",
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
            Self::Palms => Orbit {
                turn: 0.0,
                tilt: 0.05,
                height: 1.245,
                span: 0.44,
                follow: 1.0,
            },
            Self::Nape => Orbit {
                turn: pi - 0.25,
                tilt: 0.10,
                height: 1.555,
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

/// A lens: the tangent of half its angle upwards, and how many times as wide as high its picture is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Angle {
    pub open: f32,
    pub wide: f32,
}

impl Heed {
    /// What keeps points in sight, given from the middle of a picture as high as `span`: to the right, upwards and towards
    /// the camera, metres. Where they are in sight already, it is nothing.
    pub fn of(points: &[Vec3], span: f32, angle: Angle) -> Heed {
        let seen = Vec2::new(angle.wide.clamp(NARROW, WIDE), 1.0) * SEEN;
        let distance = span / (2.0 * angle.open);
        // The nearer to the camera, the sooner something is out of its picture.
        let room = |p: &Vec3| seen * span * (1.0 - p.z / distance);
        let (Some(from), Some(to)) = (
            points.iter().map(|p| p.xy() - room(p)).reduce(Vec2::max),
            points.iter().map(|p| p.xy() + room(p)).reduce(Vec2::min),
        ) else {
            return Heed::default();
        };
        // The middle must lie between the two.
        let wider = ((from - to) / (2.0 * seen)).max_element().max(0.0);
        let (from, to) = (from - seen * wider, to + seen * wider);
        Heed {
            shift: from.max(Vec2::ZERO) + to.min(Vec2::ZERO),
            wider,
        }
    }

    /// Nearer to another, by so many seconds; there at once if it is close.
    pub fn nearer(self, to: Heed, seconds: f32) -> Heed {
        let takes = if to.wider < self.wider { RETURNS } else { HEEDS };
        let left = (-seconds / takes).exp();
        let next = Heed {
            shift: to.shift + (self.shift - to.shift) * left,
            wider: to.wider + (self.wider - to.wider) * left,
        };
        let off = next.shift.distance(to.shift) + (next.wider - to.wider).abs();
        if off < 0.003 { to } else { next }
    }
}

/// Share of a picture's height, from its middle, within which hands at work are to be, and the same of its width where it is
/// neither narrower nor wider, as times its height.
const SEEN: f32 = 0.41;
const NARROW: f32 = 0.4;
const WIDE: f32 = 1.4;
/// How soon a close view goes after hands, and how soon it comes closer again, seconds: that may wait.
const HEEDS: f32 = 0.12;
const RETURNS: f32 = 0.24;

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

    const SQUARE: Angle = Angle {
        open: 0.22,
        wide: 1.0,
    };

    #[test]
    fn a_view_stays_where_it_is_while_hands_are_in_sight() {
        let points = [Vec3::new(-0.1, 0.05, 0.0), Vec3::new(0.12, -0.1, 0.1)];
        assert_eq!(Heed::of(&points, 0.5, SQUARE), Heed::default());
        assert_eq!(Heed::of(&[], 0.5, SQUARE), Heed::default());
    }

    #[test]
    fn hands_out_of_sight_are_in_it_once_the_view_has_gone_after_them() {
        for points in [
            vec![Vec3::new(0.0, -0.8, 0.0)],
            vec![Vec3::new(-0.6, -0.7, -0.2), Vec3::new(0.3, -0.1, 0.5)],
            vec![Vec3::new(0.5, 0.4, 0.6), Vec3::new(0.5, 0.1, 0.0)],
            // As near as the camera was.
            vec![Vec3::new(0.2, 0.1, 1.2), Vec3::new(-0.2, 0.1, 0.0)],
        ] {
            for wide in [0.5, 1.0, 1.6] {
                let heed = Heed::of(&points, 0.5, Angle { wide, ..SQUARE });
                let distance = (0.5 + heed.wider) / (2.0 * SQUARE.open);
                for p in &points {
                    let off = (p.xy() - heed.shift).abs();
                    let half = SQUARE.open * (distance - p.z);
                    assert!(
                        off.x < half * wide && off.y < half,
                        "{p} is {off} from the middle of a picture {half} m to its edge there, {wide} times as wide"
                    );
                }
            }
        }
    }

    #[test]
    fn what_is_kept_in_sight_draws_the_view_no_farther_than_it_must() {
        let points = [Vec3::new(0.0, 0.05, 0.0), Vec3::new(0.0, -0.5, 0.0)];
        let heed = Heed::of(&points, 0.5, SQUARE);
        let top = (points[0].y - heed.shift.y) / (0.5 + heed.wider);
        assert!(
            (top - SEEN).abs() < 1e-4,
            "the upper one is at {top} of the picture's height"
        );
    }

    #[test]
    fn it_comes_to_rest() {
        let (mut heed, mut frames) = (Heed::of(&[Vec3::new(0.7, -0.8, 0.1)], 0.5, SQUARE), 0);
        while heed != Heed::default() {
            heed = heed.nearer(Heed::default(), 0.016);
            frames += 1;
            assert!(frames < 120, "still {heed:?} away after two seconds");
        }
    }
}
