//! The waste bin: an open box with a bag in it, a lid that swings about a hinge behind, and a pedal.

use bevy::math::{Vec2, Vec3};

use super::model::Model;
use super::plate::{DARK, LINEN, STEEL, WHITE, YELLOW, put, t};
use super::solid::{rounded, slab};
use super::surf::Surf;
use crate::model::Whereabouts;

/// Where the bin stands for whoever is inside or in the doorway, metres.
pub const AT: Vec3 = Vec3::new(-0.71, 0.0, -0.06);
/// Where the one in the corridor stands: as far from whoever is there.
pub const OUTSIDE: Vec3 = Vec3::new(1.45, 0.0, -0.06);
/// What a lid turns about, an axis along x, from where its bin stands.
const HINGE: Vec3 = Vec3::new(0.0, 0.595, -0.150);
/// Height of the rim, metres.
pub const RIM: f32 = 0.590;
/// Half the width and depth of the opening within the rim, metres.
pub const OPENING: Vec2 = Vec2::new(0.165, 0.125);
/// Half the width and depth between the outer walls, metres.
pub const WALLS: Vec2 = Vec2::new(0.190, 0.150);
/// The middle of the pedal's upper side, from where its bin stands.
pub const PEDAL: Vec3 = Vec3::new(0.0, 0.033, 0.200);

/// How far the opening is sunk below the rim, metres: what falls in is out of sight there.
const SUNK: f32 = 0.060;
const THICK: f32 = 0.0125;
/// Where the walls begin, metres.
const FOOT: f32 = 0.040;
/// Pieces of each side of the bag's folded edge.
const WAVES: usize = 7;

/// Where the bin stands that waste goes into from there.
pub fn at(from: Whereabouts) -> Vec3 {
    match from {
        Whereabouts::Inside | Whereabouts::Doorway => AT,
        Whereabouts::Outside => OUTSIDE,
    }
}

/// What the lids turn about: of the bin inside and of the one in the corridor.
pub fn hinges() -> [Vec3; 2] {
    [AT, OUTSIDE].map(|at| at + HINGE)
}

/// Whose lid a point belongs to when it is shut, by its place among [`hinges`]; nothing else comes so close above a rim.
pub fn lid_of(p: Vec3) -> Option<usize> {
    [AT, OUTSIDE].iter().position(|at| {
        let q = p - at;
        q.x.abs() < 0.25 && q.z.abs() < 0.20 && q.y > RIM + 0.0005 && q.y < 0.70
    })
}

/// Adds both bins to the room.
pub(super) fn bins(m: &mut Model) {
    bin(m, AT, ["bin-lid", "bin-pedal"]);
    bin(m, OUTSIDE, ["bin-lid-outside", "bin-pedal-outside"]);
}

fn bin(m: &mut Model, at: Vec3, [lid, pedal]: [&str; 2]) {
    let plain = |x: f32, y: f32, z: f32, half: [f32; 3], tag: u16| plain(at + Vec3::new(x, y, z), half, tag);
    let (yellow, dark) = (t("scenery", YELLOW), t("scenery", DARK));
    let block = |x: f32, y: f32, z: f32, half: [f32; 3], round: f32, tag: u16| {
        rounded(at + Vec3::new(x, y, z), Vec3::from(half), round, tag)
    };
    put(m, block(0.0, 0.030, 0.0, [0.175, 0.030, 0.140], 0.012, dark));
    // Four walls and, sunk between them, the dark of the opening.
    let (middle, high) = ((FOOT + RIM) / 2.0, (RIM - FOOT) / 2.0);
    for s in [-1.0, 1.0] {
        put(
            m,
            block(
                s * (WALLS.x - THICK),
                middle,
                0.0,
                [THICK, high, WALLS.y],
                0.012,
                yellow,
            ),
        );
        put(
            m,
            block(
                0.0,
                middle,
                s * (WALLS.y - THICK),
                [WALLS.x, high, THICK],
                0.012,
                yellow,
            ),
        );
    }
    put(
        m,
        plain(0.0, RIM - SUNK, 0.0, [OPENING.x, 0.002, OPENING.y], dark),
    );
    put(
        m,
        block(0.0, 0.024, 0.190, [0.060, 0.009, 0.045], 0.008, t(pedal, STEEL)),
    );
    // A label: three short dark bars stand for words, none stands for a mark of any kind.
    put(
        m,
        plain(0.0, 0.36, 0.1505, [0.085, 0.070, 0.0015], t("scenery", WHITE)),
    );
    for (y, w) in [(0.390, 0.060), (0.362, 0.060), (0.334, 0.038)] {
        put(m, plain(w - 0.065, y, 0.1525, [w, 0.0065, 0.001], dark));
    }
    // The lid: a thin plate with a grip in front and its hinges behind; beneath, pale and set in, the side that faces
    // the waste.
    put(
        m,
        block(0.0, 0.606, 0.0, [0.200, 0.0095, 0.162], 0.009, t(lid, YELLOW)),
    );
    let inner = [OPENING.x - 0.012, 0.0035, OPENING.y - 0.012];
    put(m, plain(0.0, 0.5945, 0.0, inner, t(lid, WHITE)));
    put(m, plain(0.0, 0.606, 0.165, [0.060, 0.0060, 0.012], t(lid, DARK)));
    for x in [-0.115, 0.115] {
        put(
            m,
            plain(x, HINGE.y + 0.005, -0.158, [0.030, 0.009, 0.010], t(lid, DARK)),
        );
    }
    liner(m, at);
}

/// A box with sharp edges: its middle, and half its size.
fn plain(middle: Vec3, half: [f32; 3], tag: u16) -> Surf {
    let half = Vec3::from(half);
    slab(middle - half, middle + half, tag)
}

/// Corners of a ring seen from above, and the height of each.
type Ring<'a> = (Vec<Vec2>, &'a dyn Fn(usize) -> f32);

/// The edge of the bag: it lines the opening and is folded over the rim, where its end lies in waves.
fn liner(m: &mut Model, at: Vec3) {
    let tag = t("scenery", LINEN);
    let round = |half: Vec2, out: Vec2| {
        let corner = |sx: f32, sz: f32| Vec2::new(sx * half.x, sz * half.y);
        let ends = [
            corner(-1.0, 1.0),
            corner(1.0, 1.0),
            corner(1.0, -1.0),
            corner(-1.0, -1.0),
        ];
        // Rings of points: `out` moves them away from the middle.
        let mut points = Vec::new();
        for k in 0..4 {
            let (a, b) = (ends[k], ends[(k + 1) % 4]);
            for i in 0..WAVES {
                let p = a.lerp(b, i as f32 / WAVES as f32);
                points.push(p + p.signum() * out);
            }
        }
        points
    };
    let mut band = |rings: [Ring; 2], inwards: bool| {
        let n = rings[0].0.len();
        let mut surf = Surf::default();
        for i in 0..n {
            let j = (i + 1) % n;
            let corners = [(0, i), (0, j), (1, j), (1, i)].map(|(ring, k): (usize, usize)| {
                at + Vec3::new(rings[ring].0[k].x, rings[ring].1(k), rings[ring].0[k].y)
            });
            let [a, b, c, d] = if inwards {
                [corners[1], corners[0], corners[3], corners[2]]
            } else {
                corners
            };
            let start = surf.pos.len() as u32;
            let normal = (b - a).cross(d - a).normalize_or(Vec3::Y);
            surf.pos.extend([a, b, c, d]);
            surf.nrm.extend([normal; 4]);
            surf.tris
                .extend([[start, start + 1, start + 2], [start, start + 2, start + 3]]);
            surf.tags.extend([tag; 2]);
        }
        put(m, surf);
    };
    let gap = Vec2::splat(0.003);
    let end = |i: usize| RIM - 0.052 - 0.007 * (i as f32 * 1.9).sin();
    let rim = |_: usize| RIM + 0.0004;
    let floor = |_: usize| RIM - SUNK + 0.003;
    band(
        [(round(WALLS, gap * 1.8), &end), (round(WALLS, gap), &rim)],
        false,
    );
    band([(round(WALLS, gap), &rim), (round(OPENING, -gap), &rim)], false);
    band(
        [(round(OPENING, -gap), &floor), (round(OPENING, -gap), &rim)],
        true,
    );
}
