//! Surface nets: turns a field into triangles, looking closely only at blocks the surface can pass through.

use std::collections::HashMap;

use bevy::math::{IVec3, Vec3};

use super::field::normal;
use super::surf::Surf;

/// Cells along each edge of a block.
const N: i32 = 8;

/// Meshes the zero surface of `field` within the box `lo..hi` with cubes of edge `cell` (metres).
///
/// Vertices are moved onto the surface once and carry the field's own normals, so a coarse cell still shades
/// smoothly. All triangles get tag 0.
pub fn nets(lo: Vec3, hi: Vec3, cell: f32, field: &(dyn Fn(Vec3) -> f32 + Sync)) -> Surf {
    let blocks = ((hi - lo) / (cell * N as f32)).ceil().as_ivec3().max(IVec3::ONE);
    let half = cell * N as f32 * 0.5;
    let reach = half * 1.733 * 1.35 + cell;
    let mut out = Surf::default();
    let mut at: HashMap<IVec3, u32> = HashMap::new();
    let mut edges: Vec<(IVec3, usize, bool)> = Vec::new();
    let side = (N + 1) as usize;
    let mut values = vec![0.0f32; side * side * side];
    for bz in 0..blocks.z {
        for by in 0..blocks.y {
            for bx in 0..blocks.x {
                let base = IVec3::new(bx, by, bz) * N;
                let centre = lo + base.as_vec3() * cell + Vec3::splat(half);
                if field(centre).abs() > reach {
                    continue;
                }
                for (i, value) in values.iter_mut().enumerate() {
                    let c = IVec3::new(
                        (i % side) as i32,
                        (i / side % side) as i32,
                        (i / side / side) as i32,
                    );
                    *value = field(lo + (base + c).as_vec3() * cell);
                }
                block(&values, base, lo, cell, field, &mut out, &mut at, &mut edges);
            }
        }
    }
    for (c, axis, flip) in edges {
        let (u, v) = match axis {
            0 => (IVec3::Y, IVec3::Z),
            1 => (IVec3::Z, IVec3::X),
            _ => (IVec3::X, IVec3::Y),
        };
        let corner = [
            at.get(&(c - u - v)),
            at.get(&(c - v)),
            at.get(&c),
            at.get(&(c - u)),
        ];
        let [Some(&a), Some(&b), Some(&d), Some(&e)] = corner else {
            continue;
        };
        let quad = if flip { [a, e, d, b] } else { [a, b, d, e] };
        // The shorter diagonal keeps thin features from creasing.
        let p = |i: u32| out.pos[i as usize];
        let tris = if (p(quad[0]) - p(quad[2])).length_squared() <= (p(quad[1]) - p(quad[3])).length_squared()
        {
            [[quad[0], quad[1], quad[2]], [quad[0], quad[2], quad[3]]]
        } else {
            [[quad[1], quad[2], quad[3]], [quad[1], quad[3], quad[0]]]
        };
        for tri in tris {
            out.tris.push(tri);
            out.tags.push(0);
        }
    }
    out
}

#[expect(
    clippy::too_many_arguments,
    reason = "the inner step of one loop, split only to keep it readable"
)]
fn block(
    values: &[f32],
    base: IVec3,
    lo: Vec3,
    cell: f32,
    field: &(dyn Fn(Vec3) -> f32 + Sync),
    out: &mut Surf,
    at: &mut HashMap<IVec3, u32>,
    edges: &mut Vec<(IVec3, usize, bool)>,
) {
    let side = (N + 1) as usize;
    let value = |c: IVec3| values[(c.z as usize * side + c.y as usize) * side + c.x as usize];
    const PAIRS: [(usize, usize); 12] = [
        (0, 1),
        (2, 3),
        (4, 5),
        (6, 7),
        (0, 2),
        (1, 3),
        (4, 6),
        (5, 7),
        (0, 4),
        (1, 5),
        (2, 6),
        (3, 7),
    ];
    for z in 0..N {
        for y in 0..N {
            for x in 0..N {
                let c = IVec3::new(x, y, z);
                let corner: [f32; 8] = std::array::from_fn(|i| {
                    value(c + IVec3::new((i & 1) as i32, (i >> 1 & 1) as i32, (i >> 2) as i32))
                });
                let inside = corner.iter().filter(|v| **v < 0.0).count();
                if inside == 0 || inside == 8 {
                    continue;
                }
                let point = |i: usize| Vec3::new((i & 1) as f32, (i >> 1 & 1) as f32, (i >> 2) as f32);
                let (mut sum, mut count) = (Vec3::ZERO, 0.0);
                for (a, b) in PAIRS {
                    let (va, vb) = (corner[a], corner[b]);
                    if (va < 0.0) != (vb < 0.0) {
                        sum += point(a).lerp(point(b), va / (va - vb));
                        count += 1.0;
                    }
                }
                let key = base + c;
                let mut p = lo + (key.as_vec3() + sum / count) * cell;
                let n = normal(field, p, cell * 0.35);
                p -= n * field(p).clamp(-cell * 0.5, cell * 0.5);
                at.insert(key, out.pos.len() as u32);
                out.pos.push(p);
                out.nrm.push(n);
                for (axis, other) in [(0, 1), (1, 2), (2, 4)] {
                    if (corner[0] < 0.0) != (corner[other] < 0.0) {
                        edges.push((key, axis, corner[0] >= 0.0));
                    }
                }
            }
        }
    }
}
