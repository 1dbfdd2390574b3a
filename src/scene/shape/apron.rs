//! The thin apron: bib, waist and lap in front, a loop behind the neck and ties behind the waist.

use bevy::math::Vec3;

use super::body;
use super::field::{egg, melt, normal, settle, smooth};
use super::gown;
use super::model::{self, Model, Paint, inner, tag};
use super::nets::nets;
use super::person;
use super::ribbon::{band, bow, curve, hanging, laid, strap};
use super::surf::NONE;
use crate::palette;

/// Part ids, as in `assets/items.ron`.
pub const PARTS: [&str; 5] = ["neck-loop", "bib", "waist", "lap", "waist-ties"];

const PAINTS: [Paint; 3] = [
    Paint::clear(palette::APRON, 0.35, 0.92),
    Paint::clear(palette::APRON_INSIDE, 0.30, 0.92),
    Paint::solid(palette::APRON_TIE, 0.3),
];

const WAIST: f32 = 1.095;
const HEM: f32 = 0.47;

/// Asks for the apron as it hangs without a gown beneath it.
pub const BARE: &str = "bare";

/// Folds across the lap: -1 in a valley to 1 on a ridge. Few and soft in the middle, closer towards the sides.
fn fold(p: Vec3) -> f32 {
    let turn = p.x.atan2(p.z + 0.04);
    (turn * (6.5 + 1.6 * turn.abs()) + 0.9 + p.y * 0.8).sin()
}

/// How deep the folds are at a height, metres: none where the ties hold it, most at the hem.
fn depth(y: f32) -> f32 {
    0.003 * smooth(1.06, 0.96, y) + 0.014 * smooth(1.0, HEM + 0.1, y)
}

/// Distance to what the sheet lies on when there is a gown beneath it: its body, and up on the chest what its sleeves add.
fn worn_over(p: Vec3) -> f32 {
    let body = gown::body(p);
    let high = smooth(1.17, 1.25, p.y) * smooth(0.19, 0.15, p.x.abs());
    if high > 0.0 {
        body + (gown::field(p) - body) * high
    } else {
        body
    }
}

/// Distance to the sheet's surface, taken as a closed body a little outside the gown, or over scrubs alone.
fn sheet(p: Vec3, bare: bool) -> f32 {
    let fold = depth(p.y) * fold(p);
    // The ties draw it in above the hips.
    let drawn = 0.004 * (-((p.y - WAIST - 0.02) / 0.035).powi(2)).exp();
    if bare {
        // Over hips and thighs it hangs down, and bridges the hollow between them.
        let front = egg(p, Vec3::new(0.0, 0.70, -0.030), Vec3::new(0.190, 0.62, 0.128));
        let thighs = body::trousers(p) - 0.016;
        melt(body::scrub_top(p) - 0.009, melt(front, thighs, 0.06), 0.04) - fold + drawn
    } else {
        worn_over(p) - 0.014 - fold * 0.5 + drawn
    }
}

fn part(p: Vec3) -> Option<&'static str> {
    // Lower where it hangs out in a fold, higher towards the sides.
    let hem = HEM + 0.02 * smooth(0.0, 0.3, p.x.abs()) - 0.009 * fold(p);
    if p.z < -0.02 || p.y < hem {
        return None;
    }
    // Half the sheet's width at this height: a narrow bib that sweeps out to the waist.
    let half = 0.098 + 0.075 * smooth(1.32, WAIST + 0.02, p.y) + 0.03 * smooth(WAIST, 0.6, p.y);
    // Round the body it is measured along the curve; the flat bib sideways, but no farther round than the rest.
    let round = p.x.atan2(p.z + 0.10).abs() * 0.19;
    let turn = round.max(p.x.abs() * smooth(WAIST - 0.01, WAIST + 0.06, p.y));
    if p.y > 1.362 - 0.02 * smooth(0.06, 0.0, p.x.abs()) || turn > half {
        return None;
    }
    Some(match p.y {
        y if y > 1.165 => "bib",
        y if y > 0.885 => "waist",
        _ => "lap",
    })
}

fn apron_tag(part: &str, paint: usize) -> u16 {
    tag(model::index(&PARTS, part), false, paint)
}

fn loose(undone: &[String], id: &str) -> bool {
    undone.iter().any(|u| u == id)
}

/// How far round the waist the bib lies folded down when nothing holds it up, radians.
const DOWN: f32 = 2.8;
/// Where the left half of the neck loop is sewn to the bib, and how far down it hangs when torn, metres.
const LOOP: Vec3 = Vec3::new(0.088, 1.352, 0.12);
const LOOP_ENDS: f32 = 1.16;

/// What a point of the bib is folded round: a line at the waist that goes round the body as the sheet does.
fn hinge(p: Vec3) -> Vec3 {
    let aside = (p.x / 0.19).powi(2).min(0.97);
    Vec3::new(0.0, 1.06, 0.165 * (1.0 - aside).sqrt())
}

/// A point turned forwards about the line that the bib is folded round, radians.
pub fn folded(p: Vec3, angle: f32) -> Vec3 {
    let (sin, cos) = angle.sin_cos();
    let q = p - hinge(p);
    hinge(p) + Vec3::new(q.x, q.y * cos - q.z * sin, q.y * sin + q.z * cos)
}

/// Where a point is with the bib fallen by a share, 0 to 1. `trim` tells loop and ties from the sheet: what is left of
/// the loop hangs from the corners of the bib.
pub fn fallen(p: Vec3, trim: bool, share: f32) -> Vec3 {
    if !trim {
        return folded(p, DOWN * smooth(1.01, 1.10, p.y) * share);
    }
    if p.y < LOOP_ENDS {
        return p;
    }
    let corner = Vec3::new(LOOP.x * p.x.signum(), LOOP.y, LOOP.z);
    p + folded(corner, DOWN * share) - corner
}

/// The apron's sheet. Without its neck loop the bib hangs down over its own front.
pub fn cloth(undone: &[String]) -> Model {
    let bare = loose(undone, BARE);
    let field = move |p: Vec3| sheet(p, bare);
    let label = |p: Vec3| part(p).map_or(NONE, |id| apron_tag(id, 0));
    let shell = nets(
        Vec3::new(-0.29, HEM - 0.04, -0.06),
        Vec3::new(0.29, 1.42, 0.32),
        0.0165,
        &field,
    )
    .cut(&label);
    let mut m = Model::new(&PARTS, &PAINTS);
    m.add(&shell.lined(0.0025, inner(1)), Some(&field));
    if loose(undone, "neck-loop") {
        // What lay against the body comes to the light.
        for (p, lit) in m.surf.pos.iter().zip(&mut m.ao) {
            *lit += (1.0 - *lit) * smooth(1.03, 1.10, p.y);
        }
        m.remap(|p| fallen(p, false, 1.0));
    }
    m
}

/// Its loop and ties, with the named ones undone. A torn neck loop hangs forward.
pub fn trims(undone: &[String]) -> Model {
    let loose = |id: &str| loose(undone, id);
    let bare = loose(BARE);
    let field = move |p: Vec3| sheet(p, bare);
    let under = move |p: Vec3| {
        if bare {
            body::scrub_top(p)
        } else {
            gown::body(p) - 0.008
        }
    };
    let mut m = Model::new(&PARTS, &PAINTS);
    let on = |x: f32, y: f32, z: f32| settle(&field, Vec3::new(x, y, z), 0.002);
    let neck = apron_tag("neck-loop", 2);
    let lie = |p: Vec3| melt(under(p), person::bust(p) - 0.004, 0.02);
    let (a, b) = (on(0.088, 1.352, 0.12), on(-0.088, 1.352, 0.12));
    if loose("neck-loop") {
        m.add(&hanging(&[a, b], &field, 0.13, 0.016, neck), None);
    } else {
        // From under the bib over the collarbones, along the roots of the neck, to where the collar lies behind.
        let half: Vec<Vec3> = [
            (0.086, 1.335, 0.125),
            (0.086, 1.380, 0.102),
            (0.081, 1.428, 0.056),
            (0.075, 1.462, 0.010),
            (0.069, 1.468, -0.030),
            (0.056, 1.457, -0.070),
            (0.031, 1.445, -0.096),
            (0.0, 1.441, -0.104),
        ]
        .into_iter()
        .map(|(x, y, z)| Vec3::new(x, y, z))
        .collect();
        let mut whole = half.clone();
        whole.extend(half.iter().rev().skip(1).map(|p| Vec3::new(-p.x, p.y, p.z)));
        let path = laid(&curve(&whole, 5), &lie, 0.0022);
        m.add(
            &band(&path, |p| normal(&lie, p, 0.015), 0.015, 0.0030, neck),
            None,
        );
    }
    let waist = apron_tag("waist-ties", 2);
    let reach = if loose("waist-ties") { 0.9 } else { 0.04 };
    for s in [-1.0f32, 1.0] {
        let band: Vec<Vec3> = (0..=12)
            .map(|i| {
                let a = 1.25 + (std::f32::consts::PI - reach - 1.25) * i as f32 / 12.0;
                on(s * a.sin() * 0.20, WAIST + 0.02, a.cos() * 0.17)
            })
            .collect();
        m.add(&strap(&band, &field, 0.002, 0.020, 0.004, waist), None);
    }
    if loose("waist-ties") {
        let ends = [on(0.15, WAIST + 0.02, -0.12), on(-0.15, WAIST + 0.02, -0.12)];
        m.add(&hanging(&ends, &field, 0.40, 0.020, waist), None);
    } else {
        m.add(
            &bow(on(0.0, WAIST + 0.02, -0.17), &field, 0.075, 0.020, waist),
            None,
        );
    }
    if loose("neck-loop") {
        m.remap(|p| fallen(p, true, 1.0));
    }
    m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shape::model::part_of;

    /// The neck loop's triangles, and in how many pieces they hang together.
    fn neck_loop(undone: &[String]) -> (Vec<[Vec3; 3]>, usize) {
        let surf = trims(undone).surf;
        let of = surf.tris.iter().zip(&surf.tags);
        let tris: Vec<[u32; 3]> = of
            .filter(|(_, tag)| PARTS[part_of(**tag)] == "neck-loop")
            .map(|(tri, _)| *tri)
            .collect();
        let mut group: Vec<usize> = (0..surf.pos.len()).collect();
        let mut changed = true;
        while changed {
            changed = false;
            for tri in &tris {
                let least = tri
                    .map(|v| group[v as usize])
                    .into_iter()
                    .min()
                    .unwrap_or_default();
                for v in tri {
                    changed |= group[*v as usize] != least;
                    group[*v as usize] = least;
                }
            }
        }
        let mut groups: Vec<usize> = tris.iter().map(|tri| group[tri[0] as usize]).collect();
        groups.sort_unstable();
        groups.dedup();
        let places = tris.iter().map(|tri| tri.map(|v| surf.pos[v as usize]));
        (places.collect(), groups.len())
    }

    #[test]
    fn the_neck_loop_is_one_band_that_lies_on_what_it_is_worn_over() {
        for undone in [vec![], vec![BARE.to_owned()]] {
            let (tris, pieces) = neck_loop(&undone);
            assert_eq!(pieces, 1, "{undone:?}: the loop is in {pieces} pieces");
            for p in tris.iter().flatten() {
                let under = if undone.is_empty() {
                    gown::body(*p)
                } else {
                    body::scrub_top(*p)
                };
                let gap = under.min(person::bust(*p));
                assert!(gap < 0.013, "{undone:?}: the loop floats {gap} m off at {p}");
                assert!(gap > -0.008, "{undone:?}: the loop is sunk {gap} m at {p}");
            }
        }
    }

    #[test]
    fn a_torn_neck_loop_is_in_two_pieces() {
        assert_eq!(neck_loop(&["neck-loop".to_owned()]).1, 2);
    }
}
