//! The knitted cuffs of the gown's sleeves: ribbed tubes laid ring by ring, so that their ends are clean circles however
//! coarsely the cloth above is meshed.

use bevy::math::Vec3;

use super::field::{cone, melt, normal};
use super::figure;
use super::hand::{forearm, round_forearm};
use super::surf::Surf;

/// Where along the forearm the cuffs begin: 0 is the elbow, 1 the wrist.
const FROM: f32 = 0.59;
/// Where they end.
pub const TO: f32 = 1.0;
/// Rings along a cuff and ribs round it.
const RINGS: usize = 6;
const RIBS: usize = 14;
/// How far the turned-in edge goes up inside, and how thick the knit is, metres.
const HEM: f32 = 0.012;
const THICK: f32 = 0.0022;

/// Distance to the left cuff as a closed body: close round the wrist, with a finger's breadth of knit above it.
pub(super) fn field(q: Vec3) -> f32 {
    let (w, d) = (figure::wrist(), figure::fore_dir());
    let knit = cone(q, w - d * 0.104, w + d * 0.004, 0.0362, 0.0275);
    melt(knit, forearm(q) - 0.0032, 0.008)
}

/// The left cuff: `ribs` are the tags of what stands out and of what lies between, `lining` that of its inner side.
pub(super) fn cuff(ribs: [u16; 2], lining: u16) -> Surf {
    let mut surf = Surf::default();
    let sides = RIBS * 2;
    let at = |ring: usize| FROM + (TO - FROM) * ring as f32 / RINGS as f32;
    let mut rings: Vec<(Vec<Vec3>, f32)> = (0..=RINGS)
        .map(|k| (round_forearm(&field, at(k), sides), 1.0))
        .collect();
    // Round the edge and a little way up inside.
    let d = figure::fore_dir();
    let inner = |up: f32| {
        let ring = round_forearm(&field, TO - up / figure::FORE, sides);
        ring.iter()
            .map(|p| *p - normal(&field, *p, 0.003) * THICK)
            .collect::<Vec<_>>()
    };
    rings.push((inner(0.0), -1.0));
    rings.push((inner(HEM), -1.0));
    for (ring, out) in &rings {
        for p in ring {
            surf.pos.push(*p);
            surf.nrm.push((normal(&field, *p, 0.003) * *out).normalize_or(d));
        }
    }
    let row = sides + 1;
    for k in 0..rings.len() - 1 {
        for i in 0..sides {
            let a = (k * row + i) as u32;
            let (b, c, e) = (a + 1, a + 1 + row as u32, a + row as u32);
            let tag = if k > RINGS { lining } else { ribs[i % 2] };
            for tri in [[a, b, c], [a, c, e]] {
                surf.tris.push(tri);
                surf.tags.push(tag);
            }
        }
    }
    facing(&mut surf);
    surf
}

/// Turns triangles to face the way their normals do.
fn facing(surf: &mut Surf) {
    for tri in &mut surf.tris {
        let [a, b, c] = tri.map(|v| surf.pos[v as usize]);
        let n: Vec3 = tri.iter().map(|v| surf.nrm[*v as usize]).sum();
        if (b - a).cross(c - a).dot(n) < 0.0 {
            tri.swap(1, 2);
        }
    }
}
