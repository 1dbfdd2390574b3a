//! Fewer triangles for the same shape: corners that their neighbours can stand in for are drawn into one of them.
//!
//! What stays is exact, so sites, brightness and the way vertices follow the bones need no thought. Knows nothing of
//! what is worn.

use bevy::math::Vec3;

use super::shape::model::Model;

/// How closely a thinned shape keeps to the given one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Care {
    /// How far the surface may lie from the given one, metres.
    pub tolerance: f32,
    /// Least agreement of a normal with what shading puts in its place: a cosine.
    pub shading: f32,
    /// Most that the brightness of a place may change.
    pub brightness: f32,
    /// Least height of a triangle over its longest edge: thinner ones shade badly and turn over when bent.
    pub slender: f32,
    /// Least agreement of a triangle's direction with what it was: a cosine.
    pub turn: f32,
}

impl Care {
    /// For what may be looked at closely.
    pub const fn near(tolerance: f32, shading: f32) -> Care {
        Care {
            tolerance,
            shading,
            brightness: 0.06,
            slender: 0.08,
            turn: 0.80,
        }
    }
}

/// For what is looked at closely, hands and faces: less than a pixel in the close views on a screen of 720 lines.
pub const CLOSE: Care = Care::near(0.0004, 0.988);
/// For the body and what covers it: a third of a pixel where the whole person fills a screen of 720 lines.
pub const BODY: Care = Care::near(0.0010, 0.970);
/// For whole-figure views without a graphics card: a pixel and a half on a screen of 720 lines.
pub const FAR: Care = Care {
    tolerance: 0.0045,
    shading: 0.700,
    brightness: 0.25,
    slender: 0.012,
    turn: 0.30,
};
/// The same for cloth that lies close over other cloth: half the gap between them, so that neither comes through the other.
pub const FAR_CLOTH: Care = Care {
    tolerance: 0.0018,
    ..FAR
};
/// For the room, which stands farther off and is never looked at by itself.
pub const ROOM: Care = Care::near(0.0025, 0.900);

/// Rounds of drawing together; neighbours take turns, so that corners go evenly.
const ROUNDS: usize = 7;
/// The round in which all of the tolerance is first used; those before take what costs least.
const FULL: usize = 3;

/// The model with corners left out where the surface stays within the tolerance and is shaded alike.
///
/// Borders between tags and open edges move no farther than that, either.
pub fn thinned(model: &Model, care: Care) -> Model {
    Net::thinned(model, care).finish(model)
}

/// The triangles and tags of the thinned model, between corners of the given one.
pub fn triangles(model: &Model, care: Care) -> (Vec<[u32; 3]>, Vec<u16>) {
    let net = Net::thinned(model, care);
    let living = net.tris.iter().zip(&net.tags).zip(&net.alive);
    living
        .filter(|(_, alive)| **alive)
        .map(|((tri, tag), _)| (*tri, *tag))
        .unzip()
}

/// Triangles in the course of being drawn together.
struct Net {
    tris: Vec<[u32; 3]>,
    tags: Vec<u16>,
    alive: Vec<bool>,
    /// Triangles round each vertex, dead ones left out.
    around: Vec<Vec<u32>>,
    /// How far the surface at a vertex already is from the given one, metres.
    error: Vec<f32>,
    /// What each vertex would at least cost as its surroundings are, metres; less is not worth another look.
    least: Vec<f32>,
    care: Care,
}

/// Neighbours of a vertex: which, in how many triangles together, the tag of the first, and whether the edge to it is
/// a border.
type Ring = Vec<(u32, u8, u16, bool)>;

/// The triangles round one vertex.
type Fan = Vec<Blade>;

/// One of them.
struct Blade {
    /// Its other corners, in its own order, and where they are.
    others: [u32; 2],
    at: [Vec3; 2],
    /// Square of the length between those.
    edge: f32,
    /// Its normal, as long as twice its area, and the least share of that to be kept.
    faces: Vec3,
    least: f32,
}

impl Net {
    fn thinned(model: &Model, care: Care) -> Net {
        let mut net = Net::new(model, care);
        for round in 1..=ROUNDS {
            let share = (round as f32 / FULL as f32).min(1.0);
            net.sweep(model, care.tolerance * share * share);
        }
        net
    }

    fn new(model: &Model, care: Care) -> Net {
        let (tris, tags) = (model.surf.tris.clone(), model.surf.tags.clone());
        let mut around: Vec<Vec<u32>> = vec![Vec::new(); model.surf.pos.len()];
        for (i, tri) in tris.iter().enumerate() {
            for v in tri {
                around[*v as usize].push(i as u32);
            }
        }
        Net {
            alive: vec![true; tris.len()],
            error: vec![0.0; model.surf.pos.len()],
            least: vec![0.0; model.surf.pos.len()],
            tris,
            tags,
            around,
            care,
        }
    }

    /// One round over all vertices, at a cost of less than `allowed` metres each.
    fn sweep(&mut self, model: &Model, allowed: f32) {
        let mut resting = vec![false; self.around.len()];
        let (mut ring, mut fan) = (Ring::new(), Fan::new());
        for u in 0..self.around.len() as u32 {
            if self.least[u as usize] >= allowed || self.around[u as usize].is_empty() || resting[u as usize]
            {
                continue;
            }
            if !self.ring(u, &mut ring) {
                self.least[u as usize] = f32::INFINITY;
                continue;
            }
            let (best, least) = self.best(model, u, &ring, &mut fan, allowed);
            let Some((v, cost)) = best else {
                self.least[u as usize] = least;
                continue;
            };
            for (w, ..) in &ring {
                resting[*w as usize] = true;
                // Its surroundings are others now. Those of vertices farther away are as they were, but that some of
                // their neighbours may be neighbours of one another, which makes nothing possible that was not.
                self.least[*w as usize] = 0.0;
            }
            self.draw(u, v, cost);
        }
    }

    /// Neighbours of a vertex; false if its surroundings are no plain disc or half disc with at most one border.
    fn ring(&self, u: u32, ring: &mut Ring) -> bool {
        ring.clear();
        for t in &self.around[u as usize] {
            let tag = self.tags[*t as usize];
            for w in self.tris[*t as usize] {
                if w == u {
                    continue;
                }
                match ring.iter_mut().find(|(other, ..)| *other == w) {
                    Some((_, uses, first, border)) => {
                        *uses += 1;
                        *border = *first != tag;
                    }
                    None => ring.push((w, 1, tag, true)),
                }
            }
        }
        let borders = ring.iter().filter(|r| r.3).count();
        ring.iter().all(|r| r.1 <= 2) && (borders == 0 || borders == 2)
    }

    /// The neighbour that can stand in for a vertex at the least cost, and that cost in metres; and what any that cost
    /// more than is allowed would at least cost.
    fn best(
        &self,
        model: &Model,
        u: u32,
        ring: &Ring,
        fan: &mut Fan,
        allowed: f32,
    ) -> (Option<(u32, f32)>, f32) {
        fan.clear();
        fan.extend(self.around[u as usize].iter().map(|t| {
            let [a, b, c] = self.tris[*t as usize];
            let others = match u {
                u if u == a => [b, c],
                u if u == b => [c, a],
                _ => [a, b],
            };
            let [b, c] = others.map(|v| model.surf.pos[v as usize]);
            let p = model.surf.pos[u as usize];
            let faces = (b - p).cross(c - p);
            Blade {
                others,
                at: [b, c],
                edge: (c - b).length_squared(),
                faces,
                least: self.care.turn * faces.length(),
            }
        }));
        let bordered = ring.iter().any(|r| r.3);
        let mut best: Option<(u32, f32)> = None;
        let mut least = f32::INFINITY;
        for (v, uses, _, border) in ring {
            if bordered && !border {
                continue;
            }
            let limit = best.map_or(allowed, |b| b.1);
            let other = ring.iter().find(|r| r.3 && r.0 != *v).map(|r| r.0);
            match self.cost(model, u, *v, fan, other.filter(|_| bordered), limit) {
                Ok(cost) if self.shared(ring, *v) == usize::from(*uses) => best = Some((*v, cost)),
                Ok(_) => {}
                Err(cost) => least = least.min(cost),
            }
        }
        (best, least)
    }

    /// How many neighbours `v` shares with the vertex whose ring this is; more than their triangles would pinch.
    fn shared(&self, ring: &Ring, v: u32) -> usize {
        ring.iter()
            .filter(|(w, ..)| {
                *w != v
                    && self.around[*w as usize]
                        .iter()
                        .any(|t| self.tris[*t as usize].contains(&v))
            })
            .count()
    }

    /// How far the surface strays if `u` goes to `v`; as an error that if it is `limit` or more, and more than anything
    /// if it would look otherwise.
    fn cost(
        &self,
        model: &Model,
        u: u32,
        v: u32,
        fan: &Fan,
        border: Option<u32>,
        limit: f32,
    ) -> Result<f32, f32> {
        let pos = |i: u32| model.surf.pos[i as usize];
        let (p, n, to) = (pos(u), model.surf.nrm[u as usize], pos(v));
        let fan = fan.iter().filter(|blade| !blade.others.contains(&v));
        // What turns over is found sooner than what lies nearest.
        for blade in fan.clone() {
            let (b, c) = (blade.at[0] - to, blade.at[1] - to);
            let is = b.cross(c);
            let longest = b.length_squared().max(blade.edge).max(c.length_squared());
            let size = is.length();
            if size < self.care.slender * longest || is.dot(blade.faces) < blade.least * size {
                return Err(f32::INFINITY);
            }
        }
        let mut nearest: Option<(f32, [u32; 3], Vec3)> = None;
        for blade in fan {
            let [b, c] = blade.at;
            let share = closest(p, to, b, c);
            let gap = (to * share.x + b * share.y + c * share.z - p).length_squared();
            if nearest.is_none_or(|near| gap < near.0) {
                nearest = Some((gap, [v, blade.others[0], blade.others[1]], share));
            }
        }
        let (square, tri, share) = nearest.ok_or(f32::INFINITY)?;
        let mut gap = square.sqrt();
        if let Some(w) = border {
            let along = pos(w) - pos(v);
            let t = ((p - pos(v)).dot(along) / along.length_squared().max(1e-12)).clamp(0.0, 1.0);
            gap = gap.max((pos(v) + along * t - p).length());
        }
        let cost = gap + self.error[u as usize];
        if cost >= limit {
            return Err(cost);
        }
        let mix =
            |of: &dyn Fn(u32) -> Vec3| of(tri[0]) * share.x + of(tri[1]) * share.y + of(tri[2]) * share.z;
        let shaded = mix(&|i| model.surf.nrm[i as usize]).normalize_or(n);
        let bright = mix(&|i| Vec3::splat(model.ao[i as usize])).x;
        let alike = shaded.dot(n) >= self.care.shading
            && (bright - model.ao[u as usize]).abs() <= self.care.brightness;
        if alike { Ok(cost) } else { Err(f32::INFINITY) }
    }

    /// Draws `u` into `v`.
    fn draw(&mut self, u: u32, v: u32, cost: f32) {
        for t in std::mem::take(&mut self.around[u as usize]) {
            let tri = &mut self.tris[t as usize];
            if tri.contains(&v) {
                self.alive[t as usize] = false;
                for w in *tri {
                    self.around[w as usize].retain(|other| *other != t);
                }
            } else {
                for w in tri.iter_mut() {
                    if *w == u {
                        *w = v;
                    }
                }
                self.around[v as usize].push(t);
            }
        }
        self.error[v as usize] = self.error[v as usize].max(cost);
    }

    fn finish(self, model: &Model) -> Model {
        let mut out = Model::new(&model.parts, &model.paints);
        let mut map = vec![u32::MAX; model.surf.pos.len()];
        let living = self.tris.iter().zip(&self.tags).zip(&self.alive);
        for ((tri, tag), _) in living.filter(|(_, alive)| **alive) {
            let corners = tri.map(|v| {
                let slot = &mut map[v as usize];
                if *slot == u32::MAX {
                    *slot = out.surf.pos.len() as u32;
                    out.surf.pos.push(model.surf.pos[v as usize]);
                    out.surf.nrm.push(model.surf.nrm[v as usize]);
                    out.ao.push(model.ao[v as usize]);
                }
                *slot
            });
            out.surf.tris.push(corners);
            out.surf.tags.push(*tag);
        }
        out
    }
}

/// Shares of a triangle's corners in its point nearest to `p` (after Ericson, Real-Time Collision Detection, 5.1.5).
fn closest(p: Vec3, a: Vec3, b: Vec3, c: Vec3) -> Vec3 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return Vec3::X;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return Vec3::Y;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        let t = d1 / (d1 - d3);
        return Vec3::new(1.0 - t, t, 0.0);
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return Vec3::Z;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        let t = d2 / (d2 - d6);
        return Vec3::new(1.0 - t, 0.0, t);
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        let t = (d4 - d3) / ((d4 - d3) + (d5 - d6));
        return Vec3::new(0.0, 1.0 - t, t);
    }
    let scale = 1.0 / (va + vb + vc);
    Vec3::new(va * scale, vb * scale, vc * scale)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shape::model::tag;
    use crate::scene::shape::nets::nets;

    /// A ball of 10 cm with two tags, one above the other.
    fn ball() -> Model {
        let surf = nets(Vec3::splat(-0.12), Vec3::splat(0.12), 0.008, &|p| {
            p.length() - 0.1
        })
        .cut(&|p| tag(usize::from(p.y > 0.02), false, 0));
        let mut model = Model::new(&["below", "above"], &[]);
        model.add(&surf, None);
        model
    }

    fn area(model: &Model, part: u16) -> f32 {
        let of = model.surf.tris.iter().zip(&model.surf.tags);
        of.filter(|(_, t)| **t == part * 32)
            .map(|(t, _)| {
                let [a, b, c] = t.map(|v| model.surf.pos[v as usize]);
                (b - a).cross(c - a).length() * 0.5
            })
            .sum()
    }

    #[test]
    fn a_ball_keeps_its_shape_and_its_border_with_a_third_of_its_triangles() {
        let (whole, thin) = (ball(), thinned(&ball(), BODY));
        let (before, after) = (whole.surf.tris.len(), thin.surf.tris.len());
        assert!(after * 3 < before, "{after} of {before} triangles are left");
        for tri in &thin.surf.tris {
            let middle = tri.iter().map(|v| thin.surf.pos[*v as usize]).sum::<Vec3>() / 3.0;
            let off = 0.1 - middle.length();
            assert!(
                off.abs() < 2.0 * BODY.tolerance,
                "a triangle lies {off} m inside the ball"
            );
        }
        for part in [0, 1] {
            let (was, is) = (area(&whole, part), area(&thin, part));
            assert!(
                (is / was - 1.0).abs() < 0.03,
                "part {part} has {is} m2 instead of {was}"
            );
        }
    }

    #[test]
    fn a_closed_shape_stays_closed() {
        let thin = thinned(&ball(), ROOM);
        assert_eq!(thin.surf.open_edges(), [], "there are gaps");
    }
}
