//! Triangles with a tag each: cutting them cleanly along borders, giving cloth an edge, an inside, a mirror image.

use bevy::math::Vec3;
use rustc_hash::FxHashMap;

/// Tag of triangles that are thrown away by [`Surf::cut`].
pub const NONE: u16 = u16::MAX;

/// A triangle surface. Vertices may be shared between triangles of different tags.
#[derive(Clone, Debug, Default)]
pub struct Surf {
    /// Vertex positions, metres.
    pub pos: Vec<Vec3>,
    /// Unit normals, one per vertex.
    pub nrm: Vec<Vec3>,
    /// Corners of each triangle, anticlockwise seen from outside.
    pub tris: Vec<[u32; 3]>,
    /// One tag per triangle.
    pub tags: Vec<u16>,
}

impl Surf {
    /// Splits triangles exactly where `label` changes and tags the pieces; pieces labelled [`NONE`] are dropped.
    pub fn cut(&self, label: &(dyn Fn(Vec3) -> u16 + Sync)) -> Surf {
        let mut out = Surf {
            pos: self.pos.clone(),
            nrm: self.nrm.clone(),
            ..Surf::default()
        };
        let at: Vec<u16> = self.pos.iter().map(|p| label(*p)).collect();
        let mut middle: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for tri in &self.tris {
            let l = tri.map(|v| at[v as usize]);
            if l[0] == l[1] && l[1] == l[2] {
                out.push(*tri, l[0]);
                continue;
            }
            let mut edge = |out: &mut Surf, a: u32, b: u32| -> u32 {
                *middle
                    .entry((a.min(b), a.max(b)))
                    .or_insert_with(|| out.split(a.min(b), a.max(b), &at, label))
            };
            if l[0] != l[1] && l[1] != l[2] && l[0] != l[2] {
                let m = [0, 1, 2].map(|i| edge(&mut out, tri[i], tri[(i + 1) % 3]));
                let centre = out.pos.len() as u32;
                let (p, n) = m.iter().fold((Vec3::ZERO, Vec3::ZERO), |(p, n), i| {
                    (p + out.pos[*i as usize] / 3.0, n + out.nrm[*i as usize])
                });
                out.pos.push(p);
                out.nrm.push(n.normalize_or(Vec3::Y));
                for i in 0..3 {
                    out.push([tri[i], m[i], centre], l[i]);
                    out.push([tri[i], centre, m[(i + 2) % 3]], l[i]);
                }
                continue;
            }
            // One corner differs from the other two: turn it to the front.
            let odd = (0..3).find(|i| l[(i + 1) % 3] == l[(i + 2) % 3]).unwrap_or(0);
            let [a, b, c] = [tri[odd], tri[(odd + 1) % 3], tri[(odd + 2) % 3]];
            let (lone, pair) = (l[odd], l[(odd + 1) % 3]);
            let (ab, ac) = (edge(&mut out, a, b), edge(&mut out, a, c));
            out.push([a, ab, ac], lone);
            out.push([ab, b, c], pair);
            out.push([ab, c, ac], pair);
        }
        out.tidy()
    }

    /// Splits each triangle whose middle lies `within` into four, for finer borders there; the shape stays the same.
    pub fn refined(&self, within: impl Fn(Vec3) -> bool) -> Surf {
        let mut out = Surf {
            pos: self.pos.clone(),
            nrm: self.nrm.clone(),
            ..Surf::default()
        };
        let mut middle: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for (tri, tag) in self.tris.iter().zip(&self.tags) {
            let centre = tri.iter().map(|v| self.pos[*v as usize]).sum::<Vec3>() / 3.0;
            if !within(centre) {
                out.push(*tri, *tag);
                continue;
            }
            let m = [0, 1, 2].map(|i| {
                let (a, b) = (tri[i], tri[(i + 1) % 3]);
                *middle.entry((a.min(b), a.max(b))).or_insert_with(|| {
                    let (a, b) = (a as usize, b as usize);
                    out.pos.push((out.pos[a] + out.pos[b]) * 0.5);
                    out.nrm.push((out.nrm[a] + out.nrm[b]).normalize_or(Vec3::Y));
                    out.pos.len() as u32 - 1
                })
            });
            for piece in [
                [tri[0], m[0], m[2]],
                [tri[1], m[1], m[0]],
                [tri[2], m[2], m[1]],
                m,
            ] {
                out.push(piece, *tag);
            }
        }
        out
    }

    fn push(&mut self, tri: [u32; 3], tag: u16) {
        if tag != NONE {
            self.tris.push(tri);
            self.tags.push(tag);
        }
    }

    fn split(&mut self, a: u32, b: u32, at: &[u16], label: &(dyn Fn(Vec3) -> u16 + Sync)) -> u32 {
        let (pa, pb) = (self.pos[a as usize], self.pos[b as usize]);
        let (mut lo, mut hi) = (0.0f32, 1.0f32);
        for _ in 0..7 {
            let t = (lo + hi) * 0.5;
            if label(pa.lerp(pb, t)) == at[a as usize] {
                lo = t
            } else {
                hi = t
            }
        }
        let t = ((lo + hi) * 0.5).clamp(0.02, 0.98);
        self.pos.push(pa.lerp(pb, t));
        self.nrm.push(
            self.nrm[a as usize]
                .lerp(self.nrm[b as usize], t)
                .normalize_or(Vec3::Y),
        );
        (self.pos.len() - 1) as u32
    }

    /// Drops vertices no triangle uses.
    pub fn tidy(&self) -> Surf {
        let mut map = vec![u32::MAX; self.pos.len()];
        let mut out = Surf {
            tags: self.tags.clone(),
            ..Surf::default()
        };
        for tri in &self.tris {
            out.tris.push(tri.map(|v| {
                let slot = &mut map[v as usize];
                if *slot == u32::MAX {
                    *slot = out.pos.len() as u32;
                    out.pos.push(self.pos[v as usize]);
                    out.nrm.push(self.nrm[v as usize]);
                }
                *slot
            }));
        }
        out
    }

    /// Adds the triangles of another surface.
    pub fn join(&mut self, other: &Surf) {
        let base = self.pos.len() as u32;
        self.pos.extend_from_slice(&other.pos);
        self.nrm.extend_from_slice(&other.nrm);
        self.tris.extend(other.tris.iter().map(|t| t.map(|v| v + base)));
        self.tags.extend_from_slice(&other.tags);
    }

    /// The mirror image in the plane x = 0, tags changed by `tag`.
    pub fn mirrored(&self, tag: impl Fn(u16) -> u16) -> Surf {
        let flip = |v: &Vec3| Vec3::new(-v.x, v.y, v.z);
        Surf {
            pos: self.pos.iter().map(flip).collect(),
            nrm: self.nrm.iter().map(flip).collect(),
            tris: self.tris.iter().map(|t| [t[0], t[2], t[1]]).collect(),
            tags: self.tags.iter().map(|t| tag(*t)).collect(),
        }
    }

    /// Edges used by one triangle only, as (from, to, tag), in that triangle's direction.
    pub fn open_edges(&self) -> Vec<(u32, u32, u16)> {
        let mut seen: FxHashMap<(u32, u32), (u32, u32, u16, u32)> = FxHashMap::default();
        for (tri, tag) in self.tris.iter().zip(&self.tags) {
            for i in 0..3 {
                let (a, b) = (tri[i], tri[(i + 1) % 3]);
                seen.entry((a.min(b), a.max(b))).or_insert((a, b, *tag, 0)).3 += 1;
            }
        }
        let mut open: Vec<_> = seen
            .into_values()
            .filter(|e| e.3 == 1)
            .map(|e| (e.0, e.1, e.2))
            .collect();
        open.sort_unstable();
        open
    }

    /// Gives an open sheet a thickness (metres) inwards: a turned hem along open edges and an inner face whose
    /// tags come from `inside`; parts for which it answers `None` get no inner face.
    pub fn lined(mut self, thickness: f32, inside: impl Fn(u16) -> Option<u16>) -> Surf {
        let open = self.open_edges();
        let outer = self.pos.len();
        for i in 0..outer {
            self.pos.push(self.pos[i] - self.nrm[i] * thickness);
            self.nrm.push(-self.nrm[i]);
        }
        let shift = outer as u32;
        for i in 0..self.tris.len() {
            if let Some(tag) = inside(self.tags[i]) {
                let [a, b, c] = self.tris[i];
                self.tris.push([a + shift, c + shift, b + shift]);
                self.tags.push(tag);
            }
        }
        for (a, b, tag) in open {
            let corners = [a, b, b + shift, a + shift].map(|v| self.pos[v as usize]);
            let n = (corners[3] - corners[0])
                .cross(corners[1] - corners[0])
                .normalize_or(Vec3::Y);
            let base = self.pos.len() as u32;
            for (p, side) in corners.iter().zip([a, b, a, b]) {
                self.pos.push(*p);
                // Half the cloth's own normal: the hem reads as rounded, not as a cut board.
                self.nrm.push((n + self.nrm[side as usize] * 0.5).normalize_or(n));
            }
            for tri in [[base, base + 2, base + 1], [base, base + 3, base + 2]] {
                self.tris.push(tri);
                self.tags.push(tag);
            }
        }
        self
    }
}
