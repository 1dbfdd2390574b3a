//! What a hand holds stays in it: an item that bends is drawn along from where it has been taken.
//!
//! Each grasp has an anchor, the point of the item that lies between the fingers, and a weight for every corner of the
//! item: how far it goes along with that point. A strap goes along by how near it is along its own length, cloth in a
//! fold round the anchor, a stiff front as a whole.

use std::collections::HashMap;

use bevy::math::{IVec3, Vec3};

use super::grip::{Grip, mirrored};
use super::manner::Manner;
use super::visit::{Taken, is_band};
use crate::model::Side;
use crate::scene::follow::Follow;
use crate::scene::piece::Piece;
use crate::scene::pose::Pose;
use crate::scene::shape::field::smooth;
use crate::scene::shape::figure;

/// One hand's hold on an item.
#[derive(Clone, Debug, PartialEq)]
pub struct Grasp {
    /// The hand.
    pub side: Side,
    /// How it is held.
    pub grip: Grip,
    /// The part held, and its site.
    pub part: String,
    site: u16,
    /// Where on the hand it is held, figure space at rest, metres.
    contact: Vec3,
    /// The corner of the item that is held, at rest: place, normal and following; and true if it is see-through.
    anchor: (Vec3, Vec3, Follow),
    clear: bool,
    /// How far each corner goes along, for the solid piece and the see-through one.
    weights: [Vec<f32>; 2],
    /// Radius of the fold, metres; 0 if it is no cloth that is held.
    fold: f32,
}

impl Grasp {
    /// Where the fingers hold the item in a pose.
    pub fn contact(&self, pose: &Pose) -> Vec3 {
        pose.hand(self.side).point(self.contact)
    }

    /// How far a corner of a piece goes along with the hand.
    pub fn weight(&self, clear: bool, corner: usize) -> f32 {
        self.weights[usize::from(clear)]
            .get(corner)
            .copied()
            .unwrap_or(0.0)
    }

    /// How far the held corner lies from the fingers in a pose, before anything is drawn.
    pub(super) fn missed(&self, pose: &Pose) -> Vec3 {
        let (p, n, follow) = &self.anchor;
        pose.apply(*p, *n, follow).0 - self.contact(pose)
    }

    /// True if the held corner is of the see-through piece.
    pub fn clear(&self) -> bool {
        self.clear
    }

    /// The held corner at rest.
    pub fn anchor(&self) -> &(Vec3, Vec3, Follow) {
        &self.anchor
    }
}

/// How an item goes along with a hand that holds a part of it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Reach {
    /// The part alone, by how near it is along its own length.
    Band,
    /// In a fold of this radius, metres.
    Cloth(f32),
    /// The front as a whole, while what is behind the head stays.
    Front,
}

fn reach(model: &str, part: &str) -> Reach {
    match model {
        _ if is_band(part) => Reach::Band,
        "glove" | "inner-glove" => Reach::Cloth(0.026),
        "gown" if part.ends_with("cuff") => Reach::Cloth(0.05),
        "gown" => Reach::Cloth(0.10),
        "apron" => Reach::Cloth(0.08),
        "overshoe" => Reach::Cloth(0.045),
        _ => Reach::Front,
    }
}

/// The grasps on one item, when the hands have come to it in the pose `met`: no corner goes along yet. The item's pieces
/// are those of the present stage.
pub(super) fn grasps<'a>(
    model: &str,
    taken: &[Taken],
    met: &Pose,
    pieces: impl Iterator<Item = &'a Piece> + Clone,
) -> Vec<Grasp> {
    let mut out: Vec<Grasp> = Vec::new();
    for hold in taken {
        let contact = mirrored(hold.side, figure::from_hand(hold.grip.held()));
        let at = met.hand(hold.side).point(contact);
        let corners = pieces.clone().flat_map(|piece| {
            let clear = piece.clear();
            piece.corners(hold.site as u16).map(move |corner| (corner, clear))
        });
        let far = |((p, n, follow), _): &((Vec3, Vec3, Follow), bool)| {
            met.apply(*p, *n, follow).0.distance_squared(at)
        };
        let Some((anchor, clear)) = corners.min_by(|a, b| far(a).total_cmp(&far(b))) else {
            continue;
        };
        out.push(Grasp {
            side: hold.side,
            part: hold.part.clone(),
            grip: hold.grip,
            site: hold.site as u16,
            contact,
            anchor,
            clear,
            weights: [Vec::new(), Vec::new()],
            fold: match reach(model, &hold.part) {
                Reach::Cloth(radius) => radius,
                _ => 0.0,
            },
        });
    }
    out
}

/// Works out how far every corner of the item's pieces goes along with each grasp.
pub(super) fn spread<'a>(
    out: &mut [Grasp],
    model: &str,
    manner: Manner,
    pieces: impl Iterator<Item = &'a Piece> + Clone,
) {
    let stiff = out
        .iter()
        .filter(|g| reach(model, &g.part) == Reach::Front)
        .count();
    for i in 0..out.len() {
        let rivals: Vec<Vec3> = (0..out.len())
            .filter(|j| *j != i && out[*j].part == out[i].part)
            .map(|j| out[j].anchor.0)
            .collect();
        let from = out[i].anchor.0;
        for piece in pieces.clone() {
            let list = match reach(model, &out[i].part) {
                Reach::Band => band(piece, out[i].site, &out[i].part, from, &rivals),
                Reach::Cloth(radius) => {
                    let share = |p: &Vec3| fold(radius, p.distance_squared(from));
                    piece.rest().iter().map(share).collect()
                }
                Reach::Front => {
                    let share = 1.0 / stiff as f32;
                    let along = |p: &Vec3| {
                        let behind = if manner == Manner::Lower || manner == Manner::Raise {
                            0.0
                        } else {
                            smooth(from.z - 0.005, from.z - 0.095, p.z)
                        };
                        share * (1.0 - behind)
                    };
                    piece.rest().iter().map(along).collect()
                }
            };
            out[i].weights[usize::from(piece.clear())] = list;
        }
    }
}

/// How far hands move the item from where its manner has it, for each grasp, so that every anchor lies in its hand.
/// `worn` answers where the manner has an anchor.
pub(super) fn drawn(grasps: &[Grasp], pose: &Pose, worn: &dyn Fn(&Grasp) -> Vec3) -> Vec<Vec3> {
    let off: Vec<Vec3> = grasps.iter().map(|g| g.contact(pose) - worn(g)).collect();
    let mut out = off.clone();
    // Folds near each other draw on each other's anchors.
    for _ in 0..6 {
        for (i, g) in grasps.iter().enumerate().filter(|(_, g)| g.fold > 0.0) {
            let others = grasps.iter().zip(&out).enumerate().filter(|(j, _)| *j != i);
            let drawn: Vec3 = others
                .map(|(_, (o, by))| *by * fold(o.fold, o.anchor.0.distance_squared(g.anchor.0)))
                .sum();
            out[i] = off[i] - drawn;
        }
    }
    out
}

/// How far cloth goes along at a distance (squared, m2) from where it is held with a fold of this radius, metres.
fn fold(radius: f32, apart: f32) -> f32 {
    if radius > 0.0 {
        (-apart / (radius * radius)).exp()
    } else {
        0.0
    }
}

/// Cells of this size stand for the corners in them, metres.
const CELL: f32 = 0.008;

/// The weights of a strap, loop or tie, by way along it: 1 where it is held at `from`, 0 where it is sewn on and where
/// other hands hold it.
fn band(piece: &Piece, site: u16, part: &str, from: Vec3, rivals: &[Vec3]) -> Vec<f32> {
    let cell = |p: Vec3| (p / CELL).floor().as_ivec3();
    let mut mine = vec![false; piece.rest().len()];
    for (tri, _) in piece.tris.iter().zip(&piece.sites).filter(|(_, s)| **s == site) {
        tri.iter().for_each(|v| mine[*v as usize] = true);
    }
    let of: Vec<usize> = (0..mine.len()).filter(|i| mine[*i]).collect();
    if of.is_empty() {
        return vec![0.0; mine.len()];
    }
    let mut cells: HashMap<IVec3, f32> = HashMap::new();
    for i in &of {
        cells.insert(cell(piece.rest()[*i]), f32::MAX);
    }
    let front = of.iter().fold(f32::MIN, |z, i| z.max(piece.rest()[*i].z));
    // The tie at the nape is sewn to the collar, which goes all round the neck.
    let sewn = if part == "neck-tie" { -0.078 } else { front - 0.012 };
    let roots: Vec<IVec3> = of
        .iter()
        .map(|i| piece.rest()[*i])
        .filter(|p| p.z > sewn)
        .map(cell)
        .collect();
    let way = |starts: &[IVec3]| ways(cells.clone(), starts);
    let (held, root) = (way(&[cell(from)]), way(&roots));
    let others: Vec<_> = rivals.iter().map(|r| way(&[cell(*r)])).collect();
    let near = |d: f32| 1.0 / (d.min(9.0) + 0.0006);
    (0..mine.len())
        .map(|i| {
            if !mine[i] {
                return 0.0;
            }
            let at = cell(piece.rest()[i]);
            let own = near(held[&at]);
            let all: f32 = others.iter().map(|o| near(o[&at])).sum();
            let sewn = near((root[&at] - CELL).max(0.0));
            own / (own + all + sewn)
        })
        .collect()
}

/// The length of the way from the starts to every cell; cells next to each other or one apart are linked.
fn ways(mut cells: HashMap<IVec3, f32>, starts: &[IVec3]) -> HashMap<IVec3, f32> {
    let mut open: Vec<IVec3> = starts.iter().copied().filter(|s| cells.contains_key(s)).collect();
    for start in &open {
        cells.insert(*start, 0.0);
    }
    while !open.is_empty() {
        let mut next = Vec::new();
        for at in open {
            let so_far = cells[&at];
            for by in
                (-2..=2).flat_map(|x| (-2..=2).flat_map(move |y| (-2..=2).map(move |z| IVec3::new(x, y, z))))
            {
                let far = so_far + by.as_vec3().length() * CELL;
                if let Some(way) = cells.get_mut(&(at + by))
                    && far < *way - 1e-6
                {
                    *way = far;
                    next.push(at + by);
                }
            }
        }
        open = next;
    }
    cells
}
