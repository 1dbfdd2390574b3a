//! A finished shape: triangles, each with the part it belongs to, its side and its paint.

use bevy::math::Vec3;
use rustc_hash::FxHashMap;

use super::surf::{NONE, Surf};
use crate::palette::Colour;

/// How a piece of surface looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paint {
    /// Linear red, green, blue.
    pub rgb: [f32; 3],
    /// 1 is solid; less lets what lies behind show through.
    pub alpha: f32,
    /// 0 is matt cloth, 1 is wet glass.
    pub gloss: f32,
}

impl Paint {
    /// A solid paint of a colour.
    pub const fn solid(colour: Colour, gloss: f32) -> Self {
        Self::clear(colour, gloss, 1.0)
    }

    /// A paint that lets `1 - alpha` of what is behind it through.
    pub const fn clear(colour: Colour, gloss: f32, alpha: f32) -> Self {
        let [red, green, blue] = colour.bytes();
        Self {
            rgb: [linear(red), linear(green), linear(blue)],
            alpha,
            gloss,
        }
    }
}

/// sRGB byte to linear light; a cubic fit, good to half a percent.
const fn linear(byte: u8) -> f32 {
    let s = byte as f32 / 255.0;
    s * (s * (s * 0.305_306 + 0.682_171_1) + 0.012_522_88)
}

/// A shape with named parts.
#[derive(Clone, Debug, Default)]
pub struct Model {
    /// The triangles. A tag packs part, side and paint, see [`tag`].
    pub surf: Surf,
    /// Brightness of each vertex from the closeness of other surfaces, 0 to 1.
    pub ao: Vec<f32>,
    /// Ids of the parts, in the order tags use.
    pub parts: Vec<&'static str>,
    /// The paints, in the order tags use.
    pub paints: Vec<Paint>,
}

/// Packs part index, side and paint index into a tag.
pub fn tag(part: usize, inside: bool, paint: usize) -> u16 {
    (part * 32 + usize::from(inside) * 16 + paint) as u16
}

/// Part index of a tag.
pub fn part_of(tag: u16) -> usize {
    tag as usize / 32
}

/// True if a tag means the inner face.
pub fn is_inside(tag: u16) -> bool {
    tag & 16 != 0
}

/// Paint index of a tag.
pub fn paint_of(tag: u16) -> usize {
    (tag & 15) as usize
}

/// Index of a part in a list; [`NONE`]-like tags never reach here.
pub fn index(parts: &[&str], id: &str) -> usize {
    parts.iter().position(|p| *p == id).unwrap_or(0)
}

/// The inner-face tag of an outer-face tag, painted with `paint`.
pub fn inner(paint: usize) -> impl Fn(u16) -> Option<u16> {
    move |t| (t != NONE).then(|| tag(part_of(t), true, paint))
}

impl Model {
    /// An empty model with the given parts and paints.
    pub fn new(parts: &[&'static str], paints: &[Paint]) -> Self {
        Self {
            parts: parts.to_vec(),
            paints: paints.to_vec(),
            ..Self::default()
        }
    }

    /// Adds a surface, darkened in the hollows of `occluder` (1 everywhere if there is none).
    pub fn add(&mut self, surf: &Surf, occluder: Option<&(dyn Fn(Vec3) -> f32 + Sync)>) {
        match occluder {
            Some(field) => {
                self.ao
                    .extend(surf.pos.iter().zip(&surf.nrm).map(|(p, n)| hollow(field, *p, *n)));
            }
            None => self.ao.extend(std::iter::repeat_n(1.0, surf.pos.len())),
        }
        self.surf.join(surf);
    }

    /// Adds a surface, darkened in the hollows of `occluder` but where it is `lit`, which is said of each vertex.
    pub fn add_partly(&mut self, surf: &Surf, occluder: &(dyn Fn(Vec3) -> f32 + Sync), lit: &[bool]) {
        let corners = surf.pos.iter().zip(&surf.nrm).zip(lit);
        self.ao
            .extend(corners.map(|((p, n), lit)| if *lit { 1.0 } else { hollow(occluder, *p, *n) }));
        self.surf.join(surf);
    }

    /// Adds another model that uses the same parts and paints.
    pub fn join(&mut self, other: &Model) {
        self.ao.extend_from_slice(&other.ao);
        self.surf.join(&other.surf);
    }

    /// The area of each side of each part, m2, by the part's index and whether it is the inner face.
    pub fn areas(&self) -> FxHashMap<(usize, bool), f32> {
        let mut out = FxHashMap::default();
        for (tri, tag) in self.surf.tris.iter().zip(&self.surf.tags) {
            let [a, b, c] = tri.map(|v| self.surf.pos[v as usize]);
            *out.entry((part_of(*tag), is_inside(*tag))).or_default() += (b - a).cross(c - a).length() * 0.5;
        }
        out
    }

    /// The mirror image, parts renamed from left to right and back.
    pub fn mirrored(&self) -> Model {
        let swap: Vec<usize> = self
            .parts
            .iter()
            .map(|p| {
                let other = if p.contains("left") {
                    p.replace("left", "right")
                } else {
                    p.replace("right", "left")
                };
                index(&self.parts, &other)
            })
            .collect();
        let surf = self
            .surf
            .mirrored(|t| tag(swap[part_of(t)], is_inside(t), paint_of(t)));
        Model { surf, ..self.clone() }
    }
}

impl Model {
    /// Moves every vertex by a map, and turns normals with it.
    pub fn remap(&mut self, map: impl Fn(Vec3) -> Vec3) {
        let h = 0.0015;
        for (p, n) in self.surf.pos.iter_mut().zip(&mut self.surf.nrm) {
            let q = map(*p);
            // Two tangents carried along give the new normal; a mirror image flips it back to the right side.
            let t = n.any_orthonormal_vector();
            let b = n.cross(t);
            let (qt, qb, qn) = (map(*p + t * h) - q, map(*p + b * h) - q, map(*p + *n * h) - q);
            let m = qt.cross(qb).normalize_or(*n);
            *n = if m.dot(qn) < 0.0 { -m } else { m };
            *p = q;
        }
        self.fix_winding();
    }

    /// Turns each triangle to face the way its normals do.
    fn fix_winding(&mut self) {
        for t in &mut self.surf.tris {
            let [a, b, c] = t.map(|v| self.surf.pos[v as usize]);
            let n: Vec3 = t.iter().map(|v| self.surf.nrm[*v as usize]).sum();
            if (b - a).cross(c - a).dot(n) < 0.0 {
                t.swap(1, 2);
            }
        }
    }

    /// The same model shifted by a vector.
    pub fn moved(mut self, by: Vec3) -> Model {
        for p in &mut self.surf.pos {
            *p += by;
        }
        self
    }

    /// The mirror image with part names left as they are: a right glove has the same parts as a left one.
    pub fn flipped(&self) -> Model {
        Model {
            surf: self.surf.mirrored(|t| t),
            ..self.clone()
        }
    }

    /// Swaps outer and inner faces: what was inside shows.
    pub fn turn_inside_out(&mut self) {
        let two_sided: Vec<bool> = (0..self.parts.len())
            .map(|i| self.surf.tags.iter().any(|t| part_of(*t) == i && is_inside(*t)))
            .collect();
        let inner_paint = self
            .surf
            .tags
            .iter()
            .find(|t| is_inside(**t))
            .map_or(0, |t| paint_of(*t));
        for t in &mut self.surf.tags {
            let part = part_of(*t);
            if two_sided[part] {
                let inside = !is_inside(*t);
                *t = tag(part, inside, if inside { inner_paint } else { 0 });
            }
        }
    }
}

/// Brightness of a point from how far the field opens up along its normal.
fn hollow(field: &(dyn Fn(Vec3) -> f32 + Sync), p: Vec3, n: Vec3) -> f32 {
    let mut dark = 0.0;
    for (h, weight) in [(0.008, 18.0), (0.025, 9.0), (0.07, 4.0)] {
        dark += (h - field(p + n * h)).clamp(0.0, h) * weight;
    }
    (1.0 - dark * 0.85).clamp(0.30, 1.0)
}
