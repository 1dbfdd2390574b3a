//! Parts what stands in the room by where it stands, so that what is far from all that moves need not be drawn again.

use bevy::math::Vec3;

use super::shape::model::Model;

/// What is wider or deeper than this, in metres, belongs to the room itself.
const WIDE: f32 = 1.5;
/// Things whose middles lie in the same strip of this width, in metres, are drawn together: more meshes cost as well.
const STRIP: f32 = 0.6;

/// The same triangles as several models: the room itself first, then things from left to right. All have the corners
/// of the whole.
pub(super) fn apart(model: &Model) -> Vec<Model> {
    let surf = &model.surf;
    let mut groups = Groups::new(surf.pos.len());
    for [a, b, c] in &surf.tris {
        groups.join(*a, *b);
        groups.join(*b, *c);
    }
    let mut bounds = vec![(Vec3::MAX, Vec3::MIN); surf.pos.len()];
    for tri in &surf.tris {
        let (low, high) = &mut bounds[groups.of(tri[0]) as usize];
        for p in tri.map(|v| surf.pos[v as usize]) {
            (*low, *high) = (low.min(p), high.max(p));
        }
    }
    let strip = |(low, high): (Vec3, Vec3)| {
        let size = high - low;
        let thing = size.x.max(size.z) < WIDE;
        thing.then(|| ((low.x + high.x) * 0.5 / STRIP).floor() as i32)
    };
    let strips: Vec<Option<i32>> = surf
        .tris
        .iter()
        .map(|tri| strip(bounds[groups.of(tri[0]) as usize]))
        .collect();
    let mut all = strips.clone();
    all.sort_unstable();
    all.dedup();
    all.into_iter()
        .map(|wanted| {
            let mut part = model.clone();
            let mut of = strips.iter().map(|s| *s == wanted);
            part.surf.tris.retain(|_| of.next().unwrap_or(false));
            let mut of = strips.iter().map(|s| *s == wanted);
            part.surf.tags.retain(|_| of.next().unwrap_or(false));
            part
        })
        .collect()
}

/// Which corners hang together.
struct Groups(Vec<u32>);

impl Groups {
    fn new(len: usize) -> Groups {
        Groups((0..len as u32).collect())
    }

    fn of(&mut self, v: u32) -> u32 {
        let mut at = v;
        while self.0[at as usize] != at {
            // Each look makes the way shorter.
            let next = self.0[at as usize];
            self.0[at as usize] = self.0[next as usize];
            at = next;
        }
        at
    }

    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.of(a), self.of(b));
        self.0[a as usize] = b;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shape::room;

    #[test]
    fn every_triangle_of_the_room_is_in_one_part() {
        let whole = room::room();
        let parts = apart(&whole);
        let sorted = |models: &[Model]| {
            let mut all: Vec<([u32; 3], u16)> = models
                .iter()
                .flat_map(|m| m.surf.tris.iter().copied().zip(m.surf.tags.iter().copied()))
                .collect();
            all.sort_unstable();
            all
        };
        assert_eq!(sorted(&parts), sorted(std::slice::from_ref(&whole)));
        assert!(parts.len() > 3, "only {} parts", parts.len());
    }

    #[test]
    fn what_hangs_together_stays_together() {
        let parts = apart(&room::room());
        let mut owner = std::collections::HashMap::new();
        for (n, part) in parts.iter().enumerate() {
            for v in part.surf.tris.iter().flatten() {
                let first = *owner.entry(*v).or_insert(n);
                assert_eq!(first, n, "corner {v} is in two parts");
            }
        }
    }
}
