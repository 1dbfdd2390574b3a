//! Signed distances: the few round shapes the figure is made of, and how they melt into one another.
//!
//! All lengths are metres. Negative is inside. Distances may be a little short of the true one, never wildly long.

use bevy::math::Vec3;

/// Distance to a capsule whose radius runs from `ra` at `a` to `rb` at `b`.
pub fn cone(p: Vec3, a: Vec3, b: Vec3, ra: f32, rb: f32) -> f32 {
    let along = b - a;
    let t = ((p - a).dot(along) / along.length_squared().max(1e-9)).clamp(0.0, 1.0);
    (p - a - along * t).length() - (ra + (rb - ra) * t)
}

/// Distance to a ball.
pub fn ball(p: Vec3, centre: Vec3, radius: f32) -> f32 {
    (p - centre).length() - radius
}

/// Distance to an ellipsoid with its axes along the world's.
pub fn egg(p: Vec3, centre: Vec3, radii: Vec3) -> f32 {
    let q = p - centre;
    let k0 = (q / radii).length();
    let k1 = (q / (radii * radii)).length();
    if k1 < 1e-6 {
        -radii.min_element()
    } else {
        k0 * (k0 - 1.0) / k1
    }
}

/// Distance to a box with edges rounded by `round`; `half` is half its full size.
pub fn block(p: Vec3, centre: Vec3, half: Vec3, round: f32) -> f32 {
    let q = (p - centre).abs() - half + Vec3::splat(round);
    q.max(Vec3::ZERO).length() + q.max_element().min(0.0) - round
}

/// Union of two shapes melted together over a width of about `k`.
pub fn melt(a: f32, b: f32, k: f32) -> f32 {
    let h = (k - (a - b).abs()).max(0.0) / k;
    a.min(b) - h * h * k * 0.25
}

/// What is in both shapes, with the edge rounded over about `k`.
pub fn meet(a: f32, b: f32, k: f32) -> f32 {
    -melt(-a, -b, k)
}

/// `a` with `b` scooped out, the edge rounded over about `k`.
pub fn scoop(a: f32, b: f32, k: f32) -> f32 {
    meet(a, -b, k)
}

/// Smooth 0-to-1 step; works with `from` above `to` as well.
pub fn smooth(from: f32, to: f32, x: f32) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Unit normal of a field at `p`, from four samples `h` away.
pub fn normal(field: &(dyn Fn(Vec3) -> f32 + Sync), p: Vec3, h: f32) -> Vec3 {
    let corners = [
        Vec3::new(1.0, -1.0, -1.0),
        Vec3::new(-1.0, -1.0, 1.0),
        Vec3::new(-1.0, 1.0, -1.0),
        Vec3::ONE,
    ];
    let sum: Vec3 = corners.iter().map(|c| *c * field(p + *c * h)).sum();
    sum.normalize_or(Vec3::Y)
}

/// Moves `p` onto the surface where the field equals `offset`.
pub fn settle(field: &(dyn Fn(Vec3) -> f32 + Sync), p: Vec3, offset: f32) -> Vec3 {
    let mut q = p;
    for _ in 0..6 {
        let d = field(q) - offset;
        q -= normal(field, q, 0.002) * d * 0.9;
    }
    q
}

/// A repeatable number in 0..1 from three whole numbers.
pub fn hash3(x: i32, y: i32, z: i32) -> f32 {
    let mut h = (x as u32).wrapping_mul(0x9E37_79B1)
        ^ (y as u32).wrapping_mul(0x85EB_CA77)
        ^ (z as u32).wrapping_mul(0xC2B2_AE3D);
    h ^= h >> 15;
    h = h.wrapping_mul(0x2C1B_3C6D);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297A_2D39);
    h ^= h >> 15;
    (h >> 8) as f32 / 16_777_216.0
}

/// Soft repeatable noise in -1..1 with features about 1 apart.
pub fn noise(p: Vec3) -> f32 {
    let f = p.floor();
    let (i, t) = (f.as_ivec3(), p - f);
    let t = t * t * (Vec3::splat(3.0) - 2.0 * t);
    let at = |x: i32, y: i32, z: i32| hash3(i.x + x, i.y + y, i.z + z);
    let mix = |a: f32, b: f32, k: f32| a + (b - a) * k;
    let low = mix(
        mix(at(0, 0, 0), at(1, 0, 0), t.x),
        mix(at(0, 1, 0), at(1, 1, 0), t.x),
        t.y,
    );
    let high = mix(
        mix(at(0, 0, 1), at(1, 0, 1), t.x),
        mix(at(0, 1, 1), at(1, 1, 1), t.x),
        t.y,
    );
    mix(low, high, t.z) * 2.0 - 1.0
}
