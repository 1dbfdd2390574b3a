//! One drawn piece: a shape's triangles with their sites, its rest and present positions, and its mesh.

use bevy::asset::RenderAssetUsages;
use bevy::math::Vec3;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use rustc_hash::FxHashMap;

use super::border;
use super::cloth;
use super::follow::Follow;
use super::kit::{Hold, Open};
use super::pose::Pose;
use super::shape::model::{Model, is_inside, paint_of, part_of};
use super::shape::plate::FLOOR;
use super::sites::NOWHERE;
use crate::model::Side;

/// As the alpha of a solid colour: no specks here, whatever its site has.
const SPECKLESS: f32 = 1.25;

/// Triangles ready to draw and to point at.
#[derive(Component)]
pub struct Piece {
    rest: Vec<Vec3>,
    rest_normals: Vec<Vec3>,
    follow: Vec<Follow>,
    /// For each vertex the first one at the same corner of the shape, whose normal it shares when bent.
    twin: Vec<u32>,
    /// Which limbs it follows, as bits, and the pose it was last put into.
    limbs: u8,
    at: Pose,
    /// Present positions in the entity's own space, metres.
    pub posed: Vec<Vec3>,
    normals: Vec<Vec3>,
    uv: Vec<[f32; 2]>,
    uv_b: Vec<[f32; 2]>,
    colour: Vec<[f32; 4]>,
    /// How dark each vertex is by lying in a hollow, 0 to 1, as it is in its colour; and how far that has opened.
    hollow: Vec<f32>,
    opened: f32,
    /// The same as the mesh has it.
    shown_open: f32,
    /// Corners of each triangle.
    pub tris: Vec<[u32; 3]>,
    /// Site of each triangle; [`NOWHERE`] for none.
    pub sites: Vec<u16>,
    /// True for the see-through part of a shape.
    clear: bool,
    /// The hand it hangs from, and where at rest.
    hangs: Option<(Side, Vec3)>,
    /// Fewer triangles between the same corners for views from afar, with their sites; empty if there are none.
    far: Vec<([u32; 3], u16)>,
}

impl Piece {
    /// Bakes the solid or the see-through part of a model; `None` if it has none.
    ///
    /// `far` are the model's triangles and tags for views from afar; `site` answers the site of a part id and side.
    pub fn bake(
        model: &Model,
        clear: bool,
        hold: Hold,
        far: Option<&(Vec<[u32; 3]>, Vec<u16>)>,
        site: &dyn Fn(&str, bool) -> Option<usize>,
    ) -> Option<Piece> {
        let mut index: FxHashMap<(u32, u16), u32> = FxHashMap::default();
        let mut out = Piece {
            rest: vec![],
            rest_normals: vec![],
            follow: vec![],
            twin: vec![],
            limbs: 0,
            at: Pose::REST,
            posed: vec![],
            normals: vec![],
            uv: vec![],
            uv_b: vec![],
            colour: vec![],
            hollow: vec![],
            opened: 0.0,
            shown_open: 0.0,
            tris: vec![],
            sites: vec![],
            clear,
            hangs: match hold {
                Hold::Hand(side, at) => Some((side, at)),
                _ => None,
            },
            far: vec![],
        };
        let mut known: FxHashMap<u16, usize> = FxHashMap::default();
        let mut first: FxHashMap<u32, u32> = FxHashMap::default();
        for (tri, tag) in model.surf.tris.iter().zip(&model.surf.tags) {
            let paint = &model.paints[paint_of(*tag)];
            if (paint.alpha < 1.0) != clear {
                continue;
            }
            let at = *known.entry(*tag).or_insert_with(|| {
                site(model.parts[part_of(*tag)], is_inside(*tag))
                    .filter(|s| *s < NOWHERE)
                    .unwrap_or(NOWHERE)
            });
            let corners = tri.map(|v| {
                *index.entry((v, *tag)).or_insert_with(|| {
                    let (p, n) = (model.surf.pos[v as usize], model.surf.nrm[v as usize]);
                    let ao = model.ao[v as usize];
                    let shadow = paint.gloss < 0.0;
                    let [r, g, b] = paint.rgb.map(|c| if shadow { c } else { c * ao });
                    out.colour
                        .push([r, g, b, if shadow { paint.alpha * ao } else { paint.alpha }]);
                    out.hollow.push(if shadow { 1.0 } else { ao });
                    out.uv.push([p.x, p.y]);
                    // Gloss in eighths above, depth below: two numbers in one.
                    let gloss = (paint.gloss.clamp(0.0, 1.0) * 8.0).round();
                    out.uv_b
                        .push([at as f32 + 0.5, gloss * 16.0 + (p.z + 8.0).clamp(0.01, 15.99)]);
                    out.rest.push(p);
                    out.rest_normals.push(n);
                    let new = out.rest.len() as u32 - 1;
                    out.twin.push(*first.entry(v).or_insert(new));
                    new
                })
            });
            out.tris.push(corners);
            out.sites.push(at as u16);
        }
        if out.tris.is_empty() {
            return None;
        }
        if let Some((tris, tags)) = far {
            out.far = tris
                .iter()
                .zip(tags)
                .filter_map(|(tri, tag)| {
                    // What is of the other material has no corners here.
                    let [a, b, c] = tri.map(|v| index.get(&(v, *tag)).copied());
                    Some(([a?, b?, c?], *known.get(tag)? as u16))
                })
                .collect();
        }
        if !clear {
            out.know_borders();
            let floor = model.parts.contains(&FLOOR).then(|| site(FLOOR, false)).flatten();
            let of = out
                .tris
                .iter()
                .zip(&out.sites)
                .filter(|(_, s)| Some(usize::from(**s)) == floor);
            for (tri, _) in of {
                tri.iter().for_each(|v| out.colour[*v as usize][3] = SPECKLESS);
            }
        }
        out.follow = match hold {
            Hold::Body => out.rest.iter().map(|p| Follow::of(*p)).collect(),
            Hold::Hand(side, _) => vec![Follow::hand(side); out.rest.len()],
            Hold::Trunk => out.rest.iter().map(|p| Follow::sheet(*p)).collect(),
            Hold::Room => out.rest.iter().map(|p| Follow::in_room(*p)).collect(),
        };
        let moving = out.follow.iter().filter(|f| !f.is_trunk());
        out.limbs = moving.fold(0, |all, f| all | f.limb.bit());
        out.posed = out.rest.clone();
        out.normals = out.rest_normals.clone();
        Some(out)
    }

    /// Writes into the alpha of each colour what the shader asks about borders: two more than the site beyond the
    /// nearest one, and as a fraction how deep within its own site the corner lies. 1 is far from any.
    ///
    /// Solid surfaces have no other use for it.
    fn know_borders(&mut self) {
        let found = border::edges(&self.rest, &self.twin, &self.tris, &self.sites);
        // A corner between triangles with different neighbours is needed once for each; the first keeps its place.
        let mut taken: Vec<Option<Option<u16>>> = vec![None; self.rest.len()];
        let mut copies: FxHashMap<(u32, Option<u16>), u32> = FxHashMap::default();
        for (tri, edge) in self.tris.iter_mut().zip(found) {
            let beyond = edge.map(|e| e.beyond);
            for (k, corner) in tri.iter_mut().enumerate() {
                let i = *corner as usize;
                if taken[i] == Some(beyond) {
                    continue;
                }
                let known = edge.map_or(1.0, |e| f32::from(e.beyond) + 2.0 + e.depth[k].clamp(0.01, 0.99));
                let [r, g, b, _] = self.colour[i];
                if taken[i].is_none() {
                    taken[i] = Some(beyond);
                    self.colour[i] = [r, g, b, known];
                    continue;
                }
                *corner = *copies.entry((*corner, beyond)).or_insert_with(|| {
                    self.rest.push(self.rest[i]);
                    self.rest_normals.push(self.rest_normals[i]);
                    self.twin.push(self.twin[i]);
                    self.hollow.push(self.hollow[i]);
                    self.uv.push(self.uv[i]);
                    self.uv_b.push(self.uv_b[i]);
                    self.colour.push([r, g, b, known]);
                    self.rest.len() as u32 - 1
                });
            }
        }
    }

    /// Moves the vertices of limbs that have moved into a pose; false if there are none.
    pub fn pose(&mut self, pose: &Pose) -> bool {
        let moved = pose.differs(&self.at) & self.limbs;
        if moved == 0 {
            return false;
        }
        self.at = *pose;
        if let Some((side, at)) = self.hangs {
            for (to, p) in self.posed.iter_mut().zip(&self.rest) {
                *to = pose.hung(side, at, *p);
            }
            return true;
        }
        let away = pose.differs(&Pose::REST);
        for i in 0..self.rest.len() {
            let (follow, p, n) = (&self.follow[i], self.rest[i], self.rest_normals[i]);
            if follow.is_trunk() || moved & follow.limb.bit() == 0 {
                continue;
            }
            (self.posed[i], self.normals[i]) = if away & follow.limb.bit() == 0 {
                (p, n)
            } else {
                cloth::placed(p, n, follow, pose)
            };
        }
        true
    }

    /// Where the corners are now of all triangles that show some of these sites, or specks that follow them over a border.
    pub fn showing(&self, sites: &[u16]) -> impl Iterator<Item = Vec3> {
        let shows = move |(tri, site): &(&[u32; 3], &u16)| {
            // See `know_borders`.
            let beyond = self.colour[tri[0] as usize][3] - 2.0;
            sites.contains(site) || !self.clear && beyond >= 0.0 && sites.contains(&(beyond as u16))
        };
        let all = self.tris.iter().zip(&self.sites).filter(shows);
        all.flat_map(|(tri, _)| *tri).map(|v| self.posed[v as usize])
    }

    /// Where its corners are at rest.
    pub fn rest(&self) -> &[Vec3] {
        &self.rest
    }

    /// True for the see-through part of a shape.
    pub fn clear(&self) -> bool {
        self.clear
    }

    /// Place and normal at rest and following of the corners of one site, each as often as triangles meet in it.
    pub fn corners(&self, site: u16) -> impl Iterator<Item = (Vec3, Vec3, Follow)> {
        let tris = self
            .tris
            .iter()
            .zip(&self.sites)
            .filter(move |(_, s)| **s == site);
        tris.flat_map(|(tri, _)| *tri).map(|v| {
            let i = v as usize;
            (self.rest[i], self.rest_normals[i], self.follow[i])
        })
    }

    /// Moves the vertices by a map from index, rest position, normal and following; normals come from the triangles.
    /// `opened` tells how far its hollows have come to the light, 0 to 1.
    pub fn bend(&mut self, opened: f32, place: impl Fn(usize, Vec3, Vec3, &Follow) -> Vec3) {
        self.opened = opened;
        for i in 0..self.rest.len() {
            self.posed[i] = place(i, self.rest[i], self.rest_normals[i], &self.follow[i]);
        }
        let mut sum = vec![Vec3::ZERO; self.rest.len()];
        for tri in &self.tris {
            let [a, b, c] = tri.map(|v| self.posed[v as usize]);
            let n = (b - a).cross(c - a);
            for v in tri {
                sum[self.twin[*v as usize] as usize] += n;
            }
        }
        for i in 0..self.rest.len() {
            self.normals[i] = sum[self.twin[i] as usize].normalize_or(self.rest_normals[i]);
        }
    }

    /// Puts a bent piece back into a pose.
    pub fn relax(&mut self, pose: &Pose) {
        self.posed.clone_from(&self.rest);
        self.normals.clone_from(&self.rest_normals);
        self.at = Pose::REST;
        self.opened = 0.0;
        self.pose(pose);
    }

    /// The mesh as it stands.
    pub fn mesh(&self) -> Mesh {
        Mesh::new(
            PrimitiveTopology::TriangleList,
            RenderAssetUsages::MAIN_WORLD | RenderAssetUsages::RENDER_WORLD,
        )
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, bytes(&self.posed))
        .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, bytes(&self.normals))
        .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, self.uv.clone())
        .with_inserted_attribute(Mesh::ATTRIBUTE_UV_1, self.uv_b.clone())
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, self.colour.clone())
        .with_inserted_indices(Indices::U32(self.tris.iter().flatten().copied().collect()))
    }

    /// Corner indices of the triangles that do not lie under something else; for a view from afar, of the
    /// fewer ones.
    pub fn indices(&self, open: &[Open], afar: bool) -> Indices {
        let seen = |tri: &[u32; 3], site: u16| {
            let open = open.get(site as usize).copied().unwrap_or(Open::ALL);
            open.any(tri.iter().map(|v| self.rest[*v as usize]))
        };
        let far = afar && !self.far.is_empty();
        let near = self
            .tris
            .iter()
            .zip(&self.sites)
            .take(if far { 0 } else { usize::MAX });
        let few = self
            .far
            .iter()
            .map(|(t, s)| (t, s))
            .take(if far { usize::MAX } else { 0 });
        let kept = near.chain(few).filter(|(t, s)| seen(t, **s));
        Indices::U32(kept.flat_map(|(t, _)| *t).collect())
    }

    /// Writes present positions and normals into the mesh.
    pub fn update(&mut self, mesh: &mut Mesh) {
        mesh.insert_attribute(Mesh::ATTRIBUTE_POSITION, bytes(&self.posed));
        mesh.insert_attribute(Mesh::ATTRIBUTE_NORMAL, bytes(&self.normals));
        if self.shown_open != self.opened {
            self.shown_open = self.opened;
            let lit = self.colour.iter().zip(&self.hollow).map(|([r, g, b, a], ao)| {
                let by = 1.0 + self.opened * (1.0 / ao - 1.0);
                [r * by, g * by, b * by, *a]
            });
            mesh.insert_attribute(Mesh::ATTRIBUTE_COLOR, lit.collect::<Vec<_>>());
        }
    }

    /// Nearest triangle a ray meets from its front side: distance, site, normal. Ray in the piece's own space.
    pub fn hit(&self, from: Vec3, dir: Vec3, nearest: f32) -> Option<(f32, u16, Vec3)> {
        self.hit_among(from, dir, nearest, &|_| true)
    }

    /// The same among the sites asked for.
    pub fn hit_among(
        &self,
        from: Vec3,
        dir: Vec3,
        nearest: f32,
        among: &dyn Fn(u16) -> bool,
    ) -> Option<(f32, u16, Vec3)> {
        let mut best: Option<(f32, u16, Vec3)> = None;
        for (tri, site) in self
            .tris
            .iter()
            .zip(&self.sites)
            .filter(|(_, site)| among(**site))
        {
            let limit = best.map_or(nearest, |b| b.0);
            let a = self.posed[tri[0] as usize];
            let (e1, e2) = (self.posed[tri[1] as usize] - a, self.posed[tri[2] as usize] - a);
            let n = e1.cross(e2);
            let facing = -dir.dot(n);
            if facing <= 1e-12 {
                continue;
            }
            let s = from - a;
            let t = s.dot(n) / facing;
            if t <= 0.0 || t >= limit {
                continue;
            }
            let d = s.cross(dir);
            let u = e2.dot(d) / facing;
            let v = -e1.dot(d) / facing;
            if u >= 0.0 && v >= 0.0 && u + v <= 1.0 {
                best = Some((t, *site, n.normalize_or(Vec3::Y)));
            }
        }
        best
    }

    /// The middle of every triangle of a site, and across it as long as twice its area, in the piece's own space.
    fn faces(&self, site: u16) -> impl Iterator<Item = (Vec3, Vec3)> {
        let of = self.tris.iter().zip(&self.sites);
        of.filter(move |(_, s)| **s == site).map(|(t, _)| {
            let [a, b, c] = t.map(|v| self.posed[v as usize]);
            ((a + b + c) / 3.0, (b - a).cross(c - a))
        })
    }

    /// Spots of a site's patch, the one nearest its middle first, then ever farther out: position and normal in the
    /// piece's own space. Empty if the piece has nothing of the site.
    pub fn spots(&self, site: u16) -> Vec<(Vec3, Vec3)> {
        let mut all: Vec<(Vec3, Vec3)> = self.faces(site).collect();
        let total: f32 = all.iter().map(|s| s.1.length()).sum();
        let mean = all.iter().map(|s| s.0 * s.1.length()).sum::<Vec3>() / total.max(1e-12);
        let away = |s: &(Vec3, Vec3)| (s.0 - mean).length_squared();
        all.sort_by(|a, b| away(a).total_cmp(&away(b)));
        let step = (all.len() / 24).max(1);
        all.into_iter()
            .step_by(step)
            .map(|(p, n)| (p, n.normalize_or(Vec3::Z)))
            .collect()
    }

    /// The spot of a site's patch farthest behind and nearest the middle of the body; where it is and which way it faces.
    pub fn rearmost(&self, site: u16) -> Option<(Vec3, Vec3)> {
        let behind = |s: &(Vec3, Vec3)| s.0.z + 0.5 * s.0.x.abs();
        let spots = self.spots(site).into_iter();
        spots.min_by(|a, b| behind(a).total_cmp(&behind(b)))
    }

    /// The triangle of a site's patch nearest a point; where it is and which way it faces.
    pub fn nearest(&self, site: u16, to: Vec3) -> Option<(Vec3, Vec3)> {
        let far = |s: &(Vec3, Vec3)| s.0.distance_squared(to);
        let found = self.faces(site).min_by(|a, b| far(a).total_cmp(&far(b)));
        found.map(|(p, n)| (p, n.normalize_or(Vec3::Z)))
    }

    /// The spot nearest the middle of a site's patch.
    pub fn middle(&self, site: u16) -> Option<(Vec3, Vec3)> {
        self.spots(site).into_iter().next()
    }
}

fn bytes(v: &[Vec3]) -> Vec<[f32; 3]> {
    v.iter().map(|p| p.to_array()).collect()
}
