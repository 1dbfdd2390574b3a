//! The waste bin: an open box with a lid that swings about a hinge behind, and a pedal.

use bevy::math::{Vec2, Vec3};

use super::model::Model;
use super::room::{DARK, STEEL, WHITE, YELLOW, put, t};
use super::solid::rounded;

/// Where the bin stands in the room, metres.
pub const AT: Vec3 = Vec3::new(-0.71, 0.0, -0.06);
/// What the lid turns about, an axis along x.
pub const HINGE: Vec3 = Vec3::new(AT.x, 0.595, AT.z - 0.150);
/// Height of the rim, metres.
pub const RIM: f32 = 0.590;
/// Half the width and depth of the opening within the rim, metres.
pub const OPENING: Vec2 = Vec2::new(0.165, 0.125);
/// Half the width and depth between the outer walls, metres.
pub const WALLS: Vec2 = Vec2::new(0.190, 0.150);
/// The middle of the pedal's upper side.
pub const PEDAL: Vec3 = Vec3::new(AT.x, 0.033, AT.z + 0.200);

/// How far the opening is sunk below the rim, metres: what falls in is out of sight there.
const SUNK: f32 = 0.060;
const THICK: f32 = 0.0125;

/// True for a point of the lid when it is shut; nothing else comes so close above the rim.
pub fn is_lid(p: Vec3) -> bool {
    let q = p - AT;
    q.x.abs() < 0.25 && q.z.abs() < 0.20 && q.y > RIM + 0.0005 && q.y < 0.70
}

/// Adds the bin to the room.
pub(super) fn bin(m: &mut Model) {
    let mut block = |x: f32, y: f32, z: f32, half: [f32; 3], round: f32, tag: u16| {
        put(m, rounded(AT + Vec3::new(x, y, z), Vec3::from(half), round, tag));
    };
    let (yellow, dark) = (t("scenery", YELLOW), t("scenery", DARK));
    let floor = RIM - SUNK;
    let middle = (0.040 + floor) / 2.0;
    block(
        0.0,
        middle,
        0.0,
        [WALLS.x, floor - middle, WALLS.y],
        0.035,
        yellow,
    );
    block(0.0, 0.030, 0.0, [0.175, 0.030, 0.140], 0.012, dark);
    // The rim, and the dark within it.
    let (wall, high) = (floor - 0.045, (RIM - floor + 0.045) / 2.0);
    for s in [-1.0, 1.0] {
        block(
            s * (WALLS.x - THICK),
            wall + high,
            0.0,
            [THICK, high, WALLS.y],
            0.010,
            yellow,
        );
        block(
            0.0,
            wall + high,
            s * (WALLS.y - THICK),
            [WALLS.x, high, THICK],
            0.010,
            yellow,
        );
    }
    block(0.0, floor, 0.0, [OPENING.x, 0.002, OPENING.y], 0.001, dark);
    let lid = t("bin-lid", YELLOW);
    block(0.0, 0.614, 0.0, [0.205, 0.023, 0.165], 0.022, lid);
    block(0.0, 0.640, 0.010, [0.150, 0.012, 0.110], 0.011, lid);
    block(
        0.0,
        0.628,
        0.166,
        [0.060, 0.012, 0.012],
        0.008,
        t("bin-lid", DARK),
    );
    block(
        0.0,
        0.024,
        0.190,
        [0.060, 0.009, 0.045],
        0.008,
        t("bin-pedal", STEEL),
    );
    // A label: three short dark bars stand for words, none stands for a mark of any kind.
    block(
        0.0,
        0.40,
        0.1505,
        [0.085, 0.070, 0.0015],
        0.0014,
        t("scenery", WHITE),
    );
    for (y, w) in [(0.430, 0.060), (0.402, 0.060), (0.374, 0.038)] {
        block(w - 0.065, y, 0.1525, [w, 0.0065, 0.001], 0.0009, dark);
    }
}
