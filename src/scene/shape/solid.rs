//! Plain made things: rounded boxes, turned and bent round bars, flat sheets.

use bevy::math::{Mat3, Vec2, Vec3};

use super::ribbon::{band, curve};
use super::surf::Surf;

/// A box with rounded edges; `half` is half its size, `round` the radius of its edges.
pub fn rounded(centre: Vec3, half: Vec3, round: f32, tag: u16) -> Surf {
    let r = round.min(half.min_element() * 0.98);
    const FINE: [(f32, f32); 6] = [
        (-1.0, -1.0),
        (-1.0, -0.414),
        (-1.0, 0.0),
        (1.0, 0.0),
        (1.0, 0.414),
        (1.0, 1.0),
    ];
    const COARSE: [(f32, f32); 4] = [(-1.0, -1.0), (-1.0, 0.0), (1.0, 0.0), (1.0, 1.0)];
    // A small rounding needs no step between edge and corner.
    let steps: &[(f32, f32)] = if r < 0.013 { &COARSE } else { &FINE };
    let n = steps.len() as u32;
    let mut surf = Surf::default();
    for face in [
        (Vec3::X, Vec3::Y),
        (-Vec3::X, Vec3::Z),
        (Vec3::Y, Vec3::Z),
        (-Vec3::Y, Vec3::X),
        (Vec3::Z, Vec3::X),
        (-Vec3::Z, Vec3::Y),
    ] {
        let (w, u) = face;
        let v = w.cross(u);
        let base = surf.pos.len() as u32;
        for &(sv, b) in steps {
            for &(su, a) in steps {
                let d = (w + u * a + v * b).normalize();
                let core = half - r;
                let corner =
                    w * (w.abs().dot(core)) + u * su * u.abs().dot(core) + v * sv * v.abs().dot(core);
                surf.pos.push(centre + corner + d * r);
                surf.nrm.push(d);
            }
        }
        for j in 0..n - 1 {
            for i in 0..n - 1 {
                let a = base + j * n + i;
                for tri in [[a, a + 1, a + n + 1], [a, a + n + 1, a + n]] {
                    surf.tris.push(tri);
                    surf.tags.push(tag);
                }
            }
        }
    }
    surf
}

/// A plain box with sharp edges between two opposite corners.
pub fn slab(low: Vec3, high: Vec3, tag: u16) -> Surf {
    let (d, zero) = (high - low, Vec3::ZERO);
    let (x, y, z) = (Vec3::X * d.x, Vec3::Y * d.y, Vec3::Z * d.z);
    let mut surf = Surf::default();
    for (corner, u, v) in [
        (zero, y, x),
        (z, x, y),
        (zero, z, y),
        (x, y, z),
        (zero, x, z),
        (y, z, x),
    ] {
        surf.join(&sheet(low + corner, u, v, 1, 1, tag));
    }
    surf
}

/// A turned solid: `profile` is (radius, height) from bottom to top, about the y axis through `base`.
pub fn turned(base: Vec3, profile: &[Vec2], sides: u32, tag: u16) -> Surf {
    let mut surf = Surf::default();
    for (k, pair) in profile.windows(2).enumerate() {
        let (a, b) = (pair[0], pair[1]);
        let n2 = Vec2::new(b.y - a.y, a.x - b.x).normalize_or(Vec2::X);
        // Soften where neighbours meet at less than a right angle.
        let blend = |other: Option<&[Vec2]>| {
            let other = other.map(|w| Vec2::new(w[1].y - w[0].y, w[0].x - w[1].x).normalize_or(Vec2::X));
            match other {
                Some(m) if m.dot(n2) > 0.55 => (m + n2).normalize_or(n2),
                _ => n2,
            }
        };
        let before = blend(k.checked_sub(1).and_then(|i| profile.get(i..i + 2)));
        let after = blend(profile.get(k + 1..k + 3));
        let start = surf.pos.len() as u32;
        for i in 0..=sides {
            let (s, c) = (i as f32 / sides as f32 * std::f32::consts::TAU).sin_cos();
            for (p, n) in [(a, before), (b, after)] {
                surf.pos.push(base + Vec3::new(s * p.x, p.y, c * p.x));
                surf.nrm.push(Vec3::new(s * n.x, n.y, c * n.x));
            }
        }
        for i in 0..sides {
            let q = start + i * 2;
            for tri in [[q, q + 2, q + 3], [q, q + 3, q + 1]] {
                surf.tris.push(tri);
                surf.tags.push(tag);
            }
        }
    }
    surf
}

/// A round bar bent through the given points.
pub fn bar(points: &[Vec3], thick: f32, tag: u16) -> Surf {
    let mut surf = band(
        &curve(points, 6),
        |_| Vec3::new(0.31, 0.2, 0.93),
        thick,
        thick,
        tag,
    );
    // A round bar's normals point straight out, unlike a flat band's.
    for (k, chunk) in surf.pos.chunks(8).enumerate() {
        let centre: Vec3 = chunk.iter().sum::<Vec3>() / chunk.len() as f32;
        for (i, p) in chunk.iter().enumerate() {
            surf.nrm[k * 8 + i] = (*p - centre).normalize_or(Vec3::Y);
        }
    }
    surf
}

/// A flat sheet from a corner along two edges, in `n` by `m` pieces; its front is `u x v`.
pub fn sheet(corner: Vec3, u: Vec3, v: Vec3, n: u32, m: u32, tag: u16) -> Surf {
    let mut surf = Surf::default();
    let normal = u.cross(v).normalize_or(Vec3::Y);
    for j in 0..=m {
        for i in 0..=n {
            surf.pos
                .push(corner + u * (i as f32 / n as f32) + v * (j as f32 / m as f32));
            surf.nrm.push(normal);
        }
    }
    for j in 0..m {
        for i in 0..n {
            let a = j * (n + 1) + i;
            for tri in [[a, a + 1, a + n + 2], [a, a + n + 2, a + n + 1]] {
                surf.tris.push(tri);
                surf.tags.push(tag);
            }
        }
    }
    surf
}

/// A flat disc for a soft shadow on the floor: full in the middle, nothing at the rim (the second list says how
/// full each vertex is).
pub fn shadow(centre: Vec3, size: Vec2, tag: u16) -> (Surf, Vec<f32>) {
    let mut surf = Surf::default();
    let mut full = Vec::new();
    let (rings, sides) = (5u32, 22u32);
    for j in 0..=rings {
        let t = j as f32 / rings as f32;
        for i in 0..sides {
            let (s, c) = (i as f32 / sides as f32 * std::f32::consts::TAU).sin_cos();
            surf.pos
                .push(centre + Vec3::new(s * t * size.x, 0.0, c * t * size.y));
            surf.nrm.push(Vec3::Y);
            full.push((1.0 - t * t) * (1.0 - t * t));
        }
    }
    for j in 0..rings {
        for i in 0..sides {
            let (a, b) = (j * sides + i, j * sides + (i + 1) % sides);
            for tri in [[a, a + sides, b + sides], [a, b + sides, b]] {
                surf.tris.push(tri);
                surf.tags.push(tag);
            }
        }
    }
    (surf, full)
}

/// A surface turned about a point.
pub fn spun(mut surf: Surf, about: Vec3, turn: Mat3) -> Surf {
    for p in &mut surf.pos {
        *p = about + turn * (*p - about);
    }
    for n in &mut surf.nrm {
        *n = turn * *n;
    }
    surf
}
