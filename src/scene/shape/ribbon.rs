//! Ties, straps, loops and cords: flat bands laid along a path.

use bevy::math::Vec3;

use super::field::{normal, settle};
use super::surf::Surf;

type Field<'a> = &'a (dyn Fn(Vec3) -> f32 + Sync);

/// What asks for a tie to be drawn as a knot, among what asks for ties to be drawn undone.
pub fn knotted(id: &str) -> String {
    format!("{id} in a knot")
}

/// True if this asks for a tie to be drawn as a knot.
pub fn is_knotted(undone: &[String], id: &str) -> bool {
    undone.iter().any(|how| *how == knotted(id))
}

/// A smooth path through `points` with about `steps` pieces between each two.
pub fn curve(points: &[Vec3], steps: usize) -> Vec<Vec3> {
    let n = points.len();
    let at = |i: isize| points[i.clamp(0, n as isize - 1) as usize];
    let mut out = Vec::new();
    for i in 0..n as isize - 1 {
        let (a, b, c, d) = (at(i - 1), at(i), at(i + 1), at(i + 2));
        for s in 0..steps {
            let t = s as f32 / steps as f32;
            let (t2, t3) = (t * t, t * t * t);
            out.push(
                (b * 2.0
                    + (c - a) * t
                    + (a * 2.0 - b * 5.0 + c * 4.0 - d) * t2
                    + (b * 3.0 - a - c * 3.0 + d) * t3)
                    * 0.5,
            );
        }
    }
    out.push(at(n as isize - 1));
    out
}

/// The same path pressed onto a field at `offset` metres above it.
pub fn laid(path: &[Vec3], field: Field, offset: f32) -> Vec<Vec3> {
    path.iter().map(|p| settle(field, *p, offset)).collect()
}

/// A flat band along `path`, `width` wide and `thick` thick, its flat side facing `out` (a field's normal).
pub fn band(path: &[Vec3], out: impl Fn(Vec3) -> Vec3, width: f32, thick: f32, tag: u16) -> Surf {
    let mut surf = Surf::default();
    let n = path.len();
    for (i, p) in path.iter().enumerate() {
        let along = (path[(i + 1).min(n - 1)] - path[i.saturating_sub(1)]).normalize_or(Vec3::X);
        let up = out(*p);
        let up = (up - along * up.dot(along)).normalize_or(Vec3::Z);
        let across = along.cross(up);
        // A lens-shaped cross-section: softly rounded, eight corners.
        for k in 0..8 {
            let a = k as f32 * std::f32::consts::TAU / 8.0;
            surf.pos
                .push(*p + across * (a.cos() * width * 0.5) + up * (a.sin() * thick * 0.5));
            surf.nrm
                .push((across * a.cos() * 0.35 + up * a.sin()).normalize_or(up));
        }
    }
    let mut face = |a: u32, b: u32, c: u32| {
        surf.tris.push([a, b, c]);
        surf.tags.push(tag);
    };
    for i in 0..n as u32 - 1 {
        for k in 0..8u32 {
            let (a, b) = (i * 8 + k, i * 8 + (k + 1) % 8);
            face(a, a + 8, b + 8);
            face(a, b + 8, b);
        }
    }
    let last = (n as u32 - 1) * 8;
    for k in 1..7u32 {
        face(0, k, k + 1);
        face(last, last + k + 1, last + k);
    }
    surf
}

/// A band pressed onto a field along the given points.
pub fn strap(points: &[Vec3], field: Field, offset: f32, width: f32, thick: f32, tag: u16) -> Surf {
    // Many points need few steps between them.
    let path = laid(&curve(points, (60 / points.len()).clamp(1, 7)), field, offset);
    band(&path, |p| normal(field, p, 0.004), width, thick, tag)
}

/// Right, up and away from a field, where a tie is done up.
fn axes(knot: Vec3, field: Field) -> [Vec3; 3] {
    let out = normal(field, knot, 0.004);
    let right = Vec3::Y.cross(out).normalize_or(Vec3::X);
    [right, out.cross(right), out]
}

/// A bow lying against a field at `knot`: two loops, two tails, a knot. `size` is the length of a loop.
pub fn bow(knot: Vec3, field: Field, size: f32, width: f32, tag: u16) -> Surf {
    let [right, up, out] = axes(knot, field);
    let mut surf = Surf::default();
    for s in [-1.0f32, 1.0] {
        let at = |x: f32, y: f32, z: f32| knot + right * (s * x * size) + up * (y * size) + out * (z * size);
        let round = [
            at(0.0, 0.0, 0.08),
            at(0.45, 0.22, 0.30),
            at(0.95, 0.12, 0.22),
            at(1.02, -0.16, 0.16),
            at(0.55, -0.14, 0.10),
            at(0.0, 0.0, 0.06),
        ];
        let centre = at(0.6, 0.02, 0.15);
        surf.join(&band(
            &curve(&round, 5),
            |p| (p - centre).normalize_or(out),
            width,
            0.003,
            tag,
        ));
        let tail = [
            at(0.0, 0.0, 0.07),
            at(0.22, -0.45, 0.14),
            at(0.30, -1.0, 0.10),
            at(0.42, -1.65, 0.08),
        ];
        surf.join(&band(
            &laid_off(&curve(&tail, 5), field, 0.005),
            |_| out,
            width,
            0.003,
            tag,
        ));
    }
    let k = [
        knot + right * -0.008 + out * 0.006,
        knot + out * 0.012,
        knot + right * 0.008 + out * 0.006,
    ];
    surf.join(&band(&curve(&k, 3), |_| out, width * 1.15, 0.010, tag));
    surf
}

/// A knot pulled tight against a field at `knot`: a hard lump, and two short ends that stand away from it. `size` is the
/// length of an end.
pub fn knot(knot: Vec3, field: Field, size: f32, width: f32, tag: u16) -> Surf {
    let [right, up, out] = axes(knot, field);
    let mut surf = Surf::default();
    for s in [-1.0f32, 1.0] {
        let at = |x: f32, y: f32, z: f32| knot + right * (s * x * size) + up * (y * size) + out * (z * size);
        // One end hangs and one sticks out, as a granny knot leaves them.
        let end = if s < 0.0 {
            [
                at(0.0, 0.0, 0.16),
                at(0.30, -0.26, 0.24),
                at(0.44, -0.72, 0.16),
                at(0.50, -1.16, 0.12),
            ]
        } else {
            [
                at(0.0, 0.0, 0.16),
                at(0.42, -0.02, 0.30),
                at(0.82, -0.22, 0.26),
                at(1.10, -0.58, 0.16),
            ]
        };
        let path = laid_off(&curve(&end, 5), field, 0.005);
        surf.join(&band(&path, |_| out, width, 0.003, tag));
        // Two turns cross over the lump.
        let turn = [
            at(-0.26, -0.20 * s, 0.08),
            at(0.0, 0.0, 0.40 + 0.05 * s),
            at(0.26, 0.20 * s, 0.08),
        ];
        surf.join(&band(&curve(&turn, 5), |_| out, width * 0.9, 0.008, tag));
    }
    let side = |s: f32| knot + right * (s * width * 0.80) + out * (width * 0.22);
    let lump = [side(-1.0), knot + out * (width * 0.42), side(1.0)];
    surf.join(&band(&curve(&lump, 4), |_| out, width * 1.45, width * 0.95, tag));
    surf
}

/// Two loose ends hanging from `left` and `right`, each `length` long.
pub fn hanging(ends: &[Vec3], field: Field, length: f32, width: f32, tag: u16) -> Surf {
    let mut surf = Surf::default();
    for end in ends {
        let out = normal(field, *end, 0.004);
        let flat = Vec3::new(out.x, 0.0, out.z).normalize_or(Vec3::Z);
        let side = Vec3::Y.cross(flat) * if end.x > 0.0 { 1.0 } else { -1.0 };
        let path = [
            *end,
            *end + flat * 0.012 - Vec3::Y * length * 0.25 + side * 0.004,
            *end + flat * 0.016 - Vec3::Y * length * 0.62 - side * 0.008,
            *end + flat * 0.010 - Vec3::Y * length + side * 0.006,
        ];
        surf.join(&band(
            &laid_off(&curve(&path, 6), field, 0.006),
            |_| flat,
            width,
            0.003,
            tag,
        ));
    }
    surf
}

/// Pushes a path out of a field wherever it has sunk closer than `least`.
fn laid_off(path: &[Vec3], field: Field, least: f32) -> Vec<Vec3> {
    path.iter()
        .map(|p| {
            if field(*p) < least {
                settle(field, *p, least)
            } else {
                *p
            }
        })
        .collect()
}
