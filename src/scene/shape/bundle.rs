//! What a garment becomes once it is off: a rolled or crumpled bundle that still shows all its parts.

use bevy::math::Vec3;

use super::field::{egg, noise};
use super::model::{Model, Paint, tag};
use super::nets::nets;

/// How far in its creases a bundle lies below a smooth one at a point, metres.
fn sunk(half: Vec3, p: Vec3) -> f32 {
    let q = p / half.max_element();
    let crease = (0.5 - noise(q * 2.3).abs()) * 0.20 + (0.5 - noise(q * 5.2 + 7.3).abs()) * 0.07;
    (0.10 - crease) * half.max_element()
}

/// The surface of a bundle of the given half-sizes in a direction from its middle (metres); a length other than 1 is
/// farther in or out.
pub fn crumpled(half: Vec3, out: Vec3) -> Vec3 {
    let smooth = half * out;
    smooth - smooth.normalize_or(Vec3::Y) * sunk(half, smooth)
}

/// Builds a crumpled bundle about the origin with the given half-sizes (metres).
///
/// `parts` lists every part; those with an inner face show it where the roll turns inside out, more of it if
/// `inverted`. `paints` are outside, inside.
pub fn bundle(
    parts: &[&'static str],
    lined: &[bool],
    paints: [Paint; 2],
    half: Vec3,
    inverted: bool,
) -> Model {
    let field = |p: Vec3| egg(p, Vec3::ZERO, half) + sunk(half, p);
    // Every face of every part gets the patch of the sphere nearest to its own direction.
    let mut spots: Vec<(usize, bool)> = Vec::new();
    for (i, has) in lined.iter().enumerate() {
        spots.push((i, false));
        if *has {
            spots.push((i, true));
        }
    }
    let n = spots.len() as f32;
    let hide = 0.55 / n.max(8.0);
    let dirs: Vec<Vec3> = (0..spots.len())
        .map(|i| {
            let y = 1.0 - 2.0 * (i as f32 + 0.5) / n;
            let a = i as f32 * 2.399_963;
            Vec3::new(a.cos() * (1.0 - y * y).sqrt(), y, a.sin() * (1.0 - y * y).sqrt())
        })
        .collect();
    let label = |p: Vec3| {
        let q = p / half;
        let q = (q + Vec3::new(noise(q * 2.6), noise(q * 2.6 + 5.1), noise(q * 2.6 + 9.7)) * 0.22)
            .normalize_or(Vec3::Y);
        // The side that shows keeps most of the room; of the other side only edges peep out.
        let pull = |i: usize, d: &Vec3| d.dot(q) - if spots[i].1 == inverted { 0.0 } else { hide };
        let best = dirs
            .iter()
            .enumerate()
            .max_by(|a, b| pull(a.0, a.1).total_cmp(&pull(b.0, b.1)))
            .map_or(0, |b| b.0);
        let (part, inside) = spots[best];
        tag(part, inside, usize::from(inside))
    };
    let cell = half.max_element() / 15.0;
    let surf = nets(half * -1.35, half * 1.35, cell, &field).cut(&label);
    let mut m = Model::new(parts, &paints);
    m.add(&surf, Some(&field));
    m
}
