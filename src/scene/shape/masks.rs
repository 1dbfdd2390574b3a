//! Respirator and surgical masks: a shell over nose and mouth, and what holds it on.

use bevy::math::Vec3;

use super::field::{ball, cone, egg, meet, melt, normal, settle, smooth};
use super::figure::left;
use super::head::{self, scalp, skull};
use super::model::{self, Model, Paint, inner, tag};
use super::nets::nets;
use super::ribbon::{band, bow, curve, hanging, is_knotted, knot, strap};
use super::surf::{NONE, Surf};
use crate::palette;

/// Parts of the respirator.
pub const RESPIRATOR: [&str; 4] = ["front", "edge", "top-strap", "bottom-strap"];
/// Parts of the mask with ear loops.
pub const LOOPED: [&str; 4] = ["front", "edge", "left-loop", "right-loop"];
/// Parts of the mask with ties.
pub const TIED: [&str; 4] = ["front", "edge", "top-tie", "bottom-tie"];

const FRONT: usize = 0;
const BACK: usize = 1;
const EDGE: usize = 2;
const BAND: usize = 3;
const CLIP: usize = 4;

const CUP: [Paint; 5] = [
    Paint::solid(palette::RESPIRATOR, 0.05),
    Paint::solid(palette::RESPIRATOR_INSIDE, 0.02),
    Paint::solid(palette::RESPIRATOR_RIM, 0.05),
    Paint::solid(palette::RESPIRATOR_STRAP, 0.15),
    Paint::solid(palette::NOSE_CLIP, 0.70),
];
const PLEATED: [Paint; 5] = [
    Paint::solid(palette::MASK, 0.05),
    Paint::solid(palette::MASK_INSIDE, 0.02),
    Paint::solid(palette::MASK_EDGE, 0.05),
    Paint::solid(palette::MASK_LOOP, 0.10),
    Paint::solid(palette::MASK_CLIP, 0.10),
];

/// The face a mask rests on: skull, cheekbones, nose and chin without the small features.
fn face(p: Vec3) -> f32 {
    let nose = cone(
        p,
        Vec3::new(0.0, 1.634, 0.084),
        Vec3::new(0.0, 1.592, 0.1045),
        0.0085,
        0.0125,
    );
    let cheekbone = ball(left(p), Vec3::new(0.041, 1.592, 0.058), 0.018);
    melt(
        melt(melt(skull(p), nose, 0.016), cheekbone, 0.026),
        head::neck(p),
        0.03,
    )
}

fn has(undone: &[String], id: &str) -> bool {
    undone.iter().any(|u| u == id)
}

fn to_world(mut m: Model) -> Model {
    for p in &mut m.surf.pos {
        *p = head::from_head(*p);
    }
    m
}

fn mirror(path: &[Vec3]) -> Vec<Vec3> {
    path.iter().map(|p| Vec3::new(-p.x, p.y, p.z)).collect()
}

fn around(half: &[Vec3]) -> Vec<Vec3> {
    let mut path = half.to_vec();
    path.extend(mirror(half).into_iter().rev().skip(1));
    path
}

/// Distance to the moulded cup, as a solid: round over mouth and chin, narrow where it ends on the nose.
fn cup(p: Vec3) -> f32 {
    let mut d = egg(
        p,
        Vec3::new(0.0, 1.5560, 0.069),
        Vec3::new(0.0590, 0.0510, 0.0610),
    );
    let nose = cone(
        p,
        Vec3::new(0.0, 1.6030, 0.0950),
        Vec3::new(0.0, 1.5760, 0.1030),
        0.0165,
        0.0260,
    );
    d = melt(d, nose, 0.026);
    // A pressed ridge across, and a shallow groove above and below it, no finer than the mesh can show.
    let ridge = (-((p.y - 1.560) / 0.0075).powi(2)).exp() * 0.0018;
    let grooves = (-((p.y - 1.581) / 0.0060).powi(2)).exp() + (-((p.y - 1.539) / 0.0060).powi(2)).exp();
    d - ridge + grooves * 0.0009
}

/// Builds the respirator, with the named straps undone.
pub fn respirator(undone: &[String]) -> Model {
    let t = |id: &str, paint| tag(model::index(&RESPIRATOR, id), false, paint);
    let label = |p: Vec3| {
        let gap = face(p);
        if gap < 0.0022 || p.z < 0.02 {
            return NONE;
        }
        if gap < 0.0085 {
            t("edge", EDGE)
        } else {
            t("front", FRONT)
        }
    };
    let surf = nets(
        Vec3::new(-0.08, 1.49, 0.01),
        Vec3::new(0.08, 1.65, 0.16),
        0.0052,
        &cup,
    )
    .cut(&label);
    let mut m = Model::new(&RESPIRATOR, &CUP);
    let shade = |p: Vec3| cup(p).min(face(p) + 0.002);
    m.add(&surf.lined(0.0022, inner(BACK)), Some(&shade));
    let clip: Vec<Vec3> = (0..=10)
        .map(|i| {
            let x = (i as f32 / 5.0 - 1.0) * 0.022;
            settle(&cup, Vec3::new(x, 1.6045 - x.abs() * 0.50, 0.122), 0.0008)
        })
        .collect();
    m.add(
        &band(
            &clip,
            |p| normal(&cup, p, 0.003),
            0.0055,
            0.0016,
            t("front", CLIP),
        ),
        None,
    );
    let lie = |p: Vec3| scalp(p).min(face(p));
    let anchor = settle(&cup, Vec3::new(0.054, 1.568, 0.070), 0.001);
    for (id, via) in [
        (
            "top-strap",
            [
                Vec3::new(0.073, 1.600, 0.040),
                Vec3::new(0.080, 1.650, 0.012),
                Vec3::new(0.070, 1.700, -0.040),
                Vec3::new(0.0, 1.722, -0.075),
            ],
        ),
        (
            "bottom-strap",
            [
                Vec3::new(0.066, 1.556, 0.030),
                Vec3::new(0.064, 1.545, -0.015),
                Vec3::new(0.045, 1.545, -0.055),
                Vec3::new(0.0, 1.546, -0.075),
            ],
        ),
    ] {
        let tg = t(id, BAND);
        let lower = if id == "bottom-strap" {
            Vec3::new(0.0, -0.012, -0.002)
        } else {
            Vec3::new(0.0, 0.006, 0.0)
        };
        // The strap is stapled on a little within the edge.
        let start = settle(&cup, anchor + lower, 0.0005);
        if has(undone, id) {
            // Over the head, it hangs below the chin as the loop that it is.
            let deep = if id == "top-strap" { 0.03 } else { 0.0 };
            let half = [
                start + Vec3::new(0.0, -0.004, 0.002),
                Vec3::new(0.066, 1.500 - deep * 0.5, 0.086),
                Vec3::new(0.046, 1.430 - deep, 0.098),
                Vec3::new(0.0, 1.398 - deep, 0.104),
            ];
            let path = curve(&around(&half), 8);
            m.add(
                &band(
                    &path,
                    |p| Vec3::new(p.x, 0.0, 0.12).normalize_or(Vec3::Z),
                    0.0075,
                    0.0028,
                    tg,
                ),
                None,
            );
        } else {
            // It comes out from under the edge.
            let mut half = vec![start + Vec3::new(-0.006, 0.0, 0.012)];
            half.extend(via);
            m.add(&strap(&around(&half), &lie, 0.0022, 0.0075, 0.0028, tg), None);
        }
    }
    to_world(m)
}

/// Distance to whatever mask may be worn: what eyewear leaves room for where it comes to rest on it.
pub(super) fn any_mask(p: Vec3) -> f32 {
    cup(p).min(tent(p))
}

/// How far the pleated mask's cloth stands off nose and mouth.
fn tent(p: Vec3) -> f32 {
    melt(
        egg(p, Vec3::new(0.0, 1.560, 0.040), Vec3::new(0.0760, 0.0640, 0.0740)),
        ball(p, Vec3::new(0.0, 1.595, 0.0925), 0.0200),
        0.05,
    )
}

/// Distance to the pleated mask's front, as a solid.
fn drape(p: Vec3) -> f32 {
    let under = melt(tent(p), ball(p, Vec3::new(0.0, 1.528, 0.062), 0.0300), 0.03);
    // Three pleats: each a slow rise and a quicker fall, which spans two cells of the mesh.
    let across = smooth(0.070, 0.035, p.x.abs());
    let s = ((1.600 - p.y) / 0.0205).rem_euclid(1.0);
    let pleat = if s < 0.60 { s / 0.60 } else { (1.0 - s) / 0.40 };
    let pleat = smooth(0.0, 1.0, pleat);
    let zone = smooth(1.604, 1.598, p.y) * smooth(1.530, 1.536, p.y);
    melt(under, face(p) - 0.0030, 0.012) - (pleat - 0.5) * 0.0040 * across * zone
}

fn mask_shell(parts: &[&'static str]) -> Model {
    let t = |id: &str, paint| tag(model::index(parts, id), false, paint);
    let label = |p: Vec3| {
        let x = p.x.abs();
        let top = 1.6130 - smooth(0.0, 0.070, x) * 0.016;
        let bottom = 1.520 - 0.020 * smooth(0.030, 0.055, p.z) + smooth(0.03, 0.075, x) * 0.018;
        let inset = (0.0740 - x)
            .min(top - p.y)
            .min(p.y - bottom)
            .min((p.z - 0.018 - 0.022 * smooth(1.558, 1.530, p.y)) * 0.8);
        if inset < 0.0 {
            return NONE;
        }
        if inset < 0.0060 {
            t("edge", EDGE)
        } else {
            t("front", FRONT)
        }
    };
    let surf = nets(
        Vec3::new(-0.10, 1.48, 0.0),
        Vec3::new(0.10, 1.64, 0.15),
        0.0044,
        &drape,
    )
    .cut(&label);
    let mut m = Model::new(parts, &PLEATED);
    let shade = |p: Vec3| drape(p).min(face(p) + 0.004);
    m.add(&surf.lined(0.0014, inner(BACK)), Some(&shade));
    m
}

fn corner(top: bool) -> Vec3 {
    let y = if top { 1.594 } else { 1.540 };
    settle(&drape, Vec3::new(0.070, y, 0.040), 0.0012)
}

/// Where an ear loop ends within the cloth, a little towards the front of its corner.
fn sewn_in(top: bool) -> Vec3 {
    let at = corner(top);
    settle(&drape, at + Vec3::new(-0.004, 0.0, 0.012), -0.0035)
}

/// Builds the mask with ear loops.
pub fn looped(undone: &[String]) -> Model {
    let mut m = mask_shell(&LOOPED);
    let (a, b) = (corner(true), corner(false));
    let cord = |path: &[Vec3], tg: u16| -> Surf {
        let path: Vec<Vec3> = curve(path, 6)
            .iter()
            .map(|p| {
                if face(*p) < 0.002 {
                    settle(&face, *p, 0.002)
                } else {
                    *p
                }
            })
            .collect();
        band(
            &path,
            |p| Vec3::new(p.x, 0.0, 0.2).normalize_or(Vec3::X),
            0.0036,
            0.0036,
            tg,
        )
    };
    for (i, id) in ["left-loop", "right-loop"].into_iter().enumerate() {
        let tg = tag(model::index(&LOOPED, id), false, BAND);
        let path = if has(undone, id) {
            vec![
                a,
                a + Vec3::new(0.012, -0.012, 0.004),
                Vec3::new(0.082, 1.520, 0.046),
                Vec3::new(0.084, 1.478, 0.052),
                Vec3::new(0.074, 1.490, 0.056),
                b,
            ]
        } else {
            // Both ends come out of the cloth, so that none of them stands off it.
            vec![
                sewn_in(true),
                a,
                Vec3::new(0.0800, 1.612, 0.016),
                Vec3::new(0.0860, 1.632, -0.014),
                Vec3::new(0.0880, 1.610, -0.034),
                Vec3::new(0.0810, 1.576, -0.024),
                Vec3::new(0.0750, 1.556, 0.008),
                b,
                sewn_in(false),
            ]
        };
        let path = if i == 0 { path } else { mirror(&path) };
        m.add(&cord(&path, tg), None);
    }
    to_world(m)
}

/// Builds the mask with ties.
pub fn tied(undone: &[String]) -> Model {
    let mut m = mask_shell(&TIED);
    let lie = |p: Vec3| scalp(p).min(face(p));
    for (id, start, via) in [
        (
            "top-tie",
            corner(true),
            [
                Vec3::new(0.080, 1.640, 0.015),
                Vec3::new(0.072, 1.690, -0.045),
                Vec3::new(0.0, 1.708, -0.090),
            ],
        ),
        (
            "bottom-tie",
            corner(false),
            [
                Vec3::new(0.070, 1.545, 0.010),
                Vec3::new(0.050, 1.540, -0.050),
                Vec3::new(0.0, 1.542, -0.075),
            ],
        ),
    ] {
        let tg = tag(model::index(&TIED, id), false, EDGE);
        if has(undone, id) {
            let ends = [start, Vec3::new(-start.x, start.y, start.z)];
            m.add(&hanging(&ends, &lie, 0.17, 0.009, tg), None);
        } else {
            let mut half = vec![start];
            half.extend(via);
            m.add(&strap(&around(&half), &lie, 0.0022, 0.009, 0.0026, tg), None);
            let at = settle(&lie, via[2], 0.003);
            let tie = if is_knotted(undone, id) {
                knot(at, &lie, 0.027, 0.009, tg)
            } else {
                bow(at, &lie, 0.030, 0.009, tg)
            };
            m.add(&tie, None);
        }
    }
    to_world(m)
}

/// How far a mask pulled down to hang at the neck has moved, metres, and how far it tips (radians about x).
pub fn dangle(p: Vec3) -> Vec3 {
    let centre = head::from_head(Vec3::new(0.0, 1.560, 0.075));
    let q = p - centre;
    let (s, c) = 0.55f32.sin_cos();
    centre
        + Vec3::new(0.0, -0.125, -0.012)
        + Vec3::new(q.x * 0.92, q.y * c - q.z * s, q.y * s + q.z * c) * 0.96
}

/// Smallest gap kept so that nothing sits inside the neck.
pub fn clear_of_neck(p: Vec3) -> f32 {
    meet(head::neck(p), -1.0, 0.01)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_of_an_ear_loop_are_within_the_cloth() {
        let m = looped(&[]);
        for id in ["left-loop", "right-loop"] {
            let tag = tag(model::index(&LOOPED, id), false, BAND);
            let of = m.surf.tris.iter().zip(&m.surf.tags).filter(|(_, t)| **t == tag);
            let corners = || of.clone().flat_map(|(tri, _)| *tri);
            let (first, last) = (corners().min().unwrap_or(0), corners().max().unwrap_or(0));
            // A band has rings of eight corners.
            for ring in [first..first + 8, last - 7..last + 1] {
                let middle = ring.map(|v| m.surf.pos[v as usize]).sum::<Vec3>() / 8.0;
                let off = drape(head::to_head(middle));
                assert!(off < -0.001, "{id} ends {off} m off the cloth at {middle}");
            }
        }
    }
}
