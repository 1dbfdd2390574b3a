//! Surface nets: turns a field into triangles, looking closely only at blocks the surface can pass through.

use bevy::math::{IVec3, Vec3};
use rustc_hash::FxHashMap;

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
    let reach = half * DIAGONAL * STEEP + cell;
    let mut out = Surf::default();
    let mut at: FxHashMap<IVec3, u32> = FxHashMap::default();
    let mut edges: Vec<(IVec3, usize, bool)> = Vec::new();
    let mut values = Values::default();
    for bz in 0..blocks.z {
        for by in 0..blocks.y {
            for bx in 0..blocks.x {
                let base = IVec3::new(bx, by, bz) * N;
                let centre = lo + base.as_vec3() * cell + Vec3::splat(half);
                if field(centre).abs() > reach {
                    continue;
                }
                let sample = |c: IVec3| field(lo + (base + c).as_vec3() * cell);
                values.fill(cell, &sample);
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

/// The field at the corners of a block's cells.
#[derive(Default)]
struct Values {
    at: Vec<f32>,
    known: Vec<bool>,
    /// Whether the surface can pass through each cube of two by two by two cells.
    near: Vec<bool>,
}

/// From the middle of a cube of edge 2 to its corners.
const DIAGONAL: f32 = 1.7321;
/// Most that a field changes over a length: it may be somewhat steeper than a true distance.
const STEEP: f32 = 1.35;

impl Values {
    const SIDE: i32 = N + 1;
    /// Cubes of two cells along each edge of a block.
    const PAIRS: i32 = N / 2;

    /// Samples the field where the surface can be: in ever smaller cubes whose middle is near enough to it.
    fn fill(&mut self, cell: f32, sample: &dyn Fn(IVec3) -> f32) {
        self.at
            .resize((Self::SIDE * Self::SIDE * Self::SIDE) as usize, 0.0);
        self.known.clear();
        self.known.resize(self.at.len(), false);
        self.near.clear();
        self.near
            .resize((Self::PAIRS * Self::PAIRS * Self::PAIRS) as usize, false);
        self.part(IVec3::ZERO, N, cell, sample);
    }

    fn part(&mut self, corner: IVec3, edge: i32, cell: f32, sample: &dyn Fn(IVec3) -> f32) {
        let half = edge / 2;
        let middle = self.know(corner + half, sample);
        if middle.abs() > half as f32 * cell * DIAGONAL * STEEP {
            return;
        }
        if half > 1 {
            for i in 0..8 {
                self.part(
                    corner + IVec3::new(i & 1, i >> 1 & 1, i >> 2) * half,
                    half,
                    cell,
                    sample,
                );
            }
            return;
        }
        let pair = corner / 2;
        self.near[((pair.z * Self::PAIRS + pair.y) * Self::PAIRS + pair.x) as usize] = true;
        for z in 0..=2 {
            for y in 0..=2 {
                for x in 0..=2 {
                    self.know(corner + IVec3::new(x, y, z), sample);
                }
            }
        }
    }

    fn know(&mut self, c: IVec3, sample: &dyn Fn(IVec3) -> f32) -> f32 {
        let i = Self::index(c);
        if !self.known[i] {
            (self.known[i], self.at[i]) = (true, sample(c));
        }
        self.at[i]
    }

    fn index(c: IVec3) -> usize {
        ((c.z * Self::SIDE + c.y) * Self::SIDE + c.x) as usize
    }

    fn near(&self, c: IVec3) -> bool {
        let pair = c / 2;
        self.near[((pair.z * Self::PAIRS + pair.y) * Self::PAIRS + pair.x) as usize]
    }
}

#[expect(
    clippy::too_many_arguments,
    reason = "the inner step of one loop, split only to keep it readable"
)]
fn block(
    values: &Values,
    base: IVec3,
    lo: Vec3,
    cell: f32,
    field: &(dyn Fn(Vec3) -> f32 + Sync),
    out: &mut Surf,
    at: &mut FxHashMap<IVec3, u32>,
    edges: &mut Vec<(IVec3, usize, bool)>,
) {
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
                if !values.near(c) {
                    continue;
                }
                let corner: [f32; 8] = std::array::from_fn(|i| {
                    values.at
                        [Values::index(c + IVec3::new((i & 1) as i32, (i >> 1 & 1) as i32, (i >> 2) as i32))]
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
