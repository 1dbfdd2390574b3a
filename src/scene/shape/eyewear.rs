//! Goggles and visor: frames, clear sheets, and the strap round the head. Built in the head's own coordinates.

use bevy::math::Vec3;

use super::field::{block, egg, meet, scoop, settle};
use super::head::{self, scalp, skull};
use super::masks::any_mask;
use super::model::{self, Model, Paint, inner, tag};
use super::nets::nets;
use super::ribbon::{band, curve, hanging, strap};
use super::surf::{NONE, Surf};
use crate::palette;

/// Parts of the goggles, as in `assets/items.ron`.
pub const GOGGLES: [&str; 4] = ["front", "left-side", "right-side", "strap"];
/// Parts of the visor, as in `assets/items.ron`.
pub const VISOR: [&str; 3] = ["front", "band", "strap"];

const FRAME: usize = 0;
const LENS: usize = 1;
const STRAP: usize = 2;
const BACK: usize = 3;
const LENS_BACK: usize = 4;

const PAINTS: [Paint; 5] = [
    Paint::solid(palette::EYEWEAR_FRAME, 0.45),
    Paint::clear(palette::LENS, 0.95, 0.30),
    Paint::solid(palette::EYEWEAR_STRAP, 0.15),
    Paint::solid(palette::EYEWEAR_FRAME_INSIDE, 0.25),
    Paint::clear(palette::LENS_INSIDE, 0.80, 0.16),
];

fn to_world(mut m: Model) -> Model {
    for p in &mut m.surf.pos {
        *p = head::from_head(*p);
    }
    m
}

fn round_the_back(p: Vec3) -> Vec<Vec3> {
    let (x, y, z) = (p.x, p.y, p.z);
    let right = [
        Vec3::new(x, y, z),
        Vec3::new(x * 1.18, y + 0.003, z - 0.05),
        Vec3::new(x * 0.95, y + 0.004, -0.075),
    ];
    let mut path = right.to_vec();
    path.push(Vec3::new(0.0, y + 0.005, -0.115));
    path.extend(right.iter().rev().map(|p| Vec3::new(-p.x, p.y, p.z)));
    path
}

/// Distance to the goggles' solid shape, before the face is taken out of it.
fn shield(p: Vec3) -> f32 {
    // A wrapped box: its front bends back towards the temples.
    let bend = Vec3::new(p.x, p.y, p.z + p.x * p.x * 5.2);
    let d = block(
        bend,
        Vec3::new(0.0, 1.6235, 0.075),
        Vec3::new(0.0760, 0.0330, 0.0370),
        0.022,
    );
    // The bridge makes room for the nose, and for the mask it comes to rest on.
    let d = scoop(
        d,
        egg(p, Vec3::new(0.0, 1.583, 0.105), Vec3::new(0.0175, 0.022, 0.03)),
        0.010,
    );
    scoop(d, any_mask(p) - 0.0020, 0.008)
}

/// Builds the goggles, strap undone if named.
pub fn goggles(undone: &[String]) -> Model {
    let t = |id: &str, paint| tag(model::index(&GOGGLES, id), false, paint);
    let window = |p: Vec3| {
        let bend = Vec3::new(p.x, p.y, p.z + p.x * p.x * 5.2);
        let d = block(
            Vec3::new(bend.x, bend.y, 0.0),
            Vec3::new(0.0, 1.6245, 0.0),
            Vec3::new(0.0640, 0.0240, 0.05),
            0.018,
        );
        let d = scoop(
            d,
            egg(p, Vec3::new(0.0, 1.590, 0.105), Vec3::new(0.0175, 0.022, 0.06)),
            0.010,
        );
        bend.z > 0.095 && d < 0.0
    };
    let label = |p: Vec3| {
        if skull(p) < 0.003 || p.z < 0.022 {
            return NONE;
        }
        if window(p) {
            t("front", LENS)
        } else {
            t("front", FRAME)
        }
    };
    let face = |p: Vec3| shield(p);
    let surf = nets(
        Vec3::new(-0.10, 1.57, 0.00),
        Vec3::new(0.10, 1.68, 0.13),
        0.0046,
        &face,
    )
    .cut(&label);
    let lined = surf.lined(0.0028, |tg| {
        Some(tag(
            model::part_of(tg),
            true,
            if model::paint_of(tg) == LENS {
                LENS_BACK
            } else {
                BACK
            },
        ))
    });
    let mut m = Model::new(&GOGGLES, &PAINTS);
    m.add(&lined, None);
    // A bead along the window gives the frame its edge.
    let mut rim = Vec::new();
    for i in 0..=48 {
        let a = i as f32 / 48.0 * std::f32::consts::TAU;
        let (s, c) = a.sin_cos();
        let shape = 1.0 / (s.abs().powf(4.0) + c.abs().powf(4.0)).powf(0.25);
        let nose = if s < 0.0 {
            0.010 * (-(c / 0.30).powi(2)).exp()
        } else {
            0.0
        };
        let (x, y) = (c * shape * 0.0640, 1.6245 + s * shape * 0.0240 + nose);
        rim.push(settle(&face, Vec3::new(x, y, 0.108 - x * x * 5.0), 0.0004));
    }
    m.add(
        &band(
            &rim,
            |p| super::field::normal(&face, p, 0.003),
            0.0060,
            0.0046,
            t("front", FRAME),
        ),
        None,
    );
    for (id, s) in [("left-side", 1.0f32), ("right-side", -1.0)] {
        let lug = [
            Vec3::new(s * 0.073, 1.6235, 0.052),
            Vec3::new(s * 0.0815, 1.6245, 0.034),
            Vec3::new(s * 0.086, 1.6250, 0.012),
        ];
        m.add(
            &band(&curve(&lug, 5), |_| Vec3::X * s, 0.024, 0.007, t(id, FRAME)),
            None,
        );
    }
    let ends = Vec3::new(0.0845, 1.6250, 0.014);
    m.add(&head_strap(ends, undone, 0.018, t("strap", STRAP)), None);
    to_world(m)
}

fn head_strap(end: Vec3, undone: &[String], width: f32, tag: u16) -> Surf {
    if undone.iter().any(|u| u == "strap") {
        hanging(&[end, Vec3::new(-end.x, end.y, end.z)], &scalp, 0.15, width, tag)
    } else {
        strap(
            &round_the_back(end),
            &|p| scalp(p).min(ears(p)),
            0.003,
            width,
            0.0035,
            tag,
        )
    }
}

/// A smooth stand-in for the ears, so that straps pass over rather than through them.
fn ears(p: Vec3) -> f32 {
    egg(
        Vec3::new(p.x.abs(), p.y, p.z),
        Vec3::new(0.078, 1.607, -0.014),
        Vec3::new(0.010, 0.028, 0.020),
    )
}

/// Builds the visor: a curved clear sheet, a foam band and a strap.
pub fn visor(undone: &[String]) -> Model {
    let t = |id: &str, paint| tag(model::index(&VISOR, id), false, paint);
    let mut m = Model::new(&VISOR, &PAINTS);
    let mut sheet = Surf::default();
    let (cols, rows) = (40u32, 14u32);
    for j in 0..=rows {
        for i in 0..=cols {
            let v = j as f32 / rows as f32;
            let u = i as f32 / cols as f32 * 2.0 - 1.0;
            // Rounded lower corners: the sheet is shorter at its sides.
            let drop = 0.205 - 0.060 * u.abs().powi(4);
            let a = u * 1.52;
            let r = 0.113 + 0.006 * v;
            let p = Vec3::new(
                a.sin() * r * 0.90,
                1.700 - v * drop,
                a.cos() * r * 1.02 + 0.012 + 0.012 * v,
            );
            sheet.pos.push(p);
            sheet.nrm.push(Vec3::new(a.sin(), 0.05, a.cos()).normalize());
        }
    }
    for j in 0..rows {
        for i in 0..cols {
            let a = j * (cols + 1) + i;
            let b = a + cols + 1;
            for tri in [[a, b, a + 1], [a + 1, b, b + 1]] {
                sheet.tris.push(tri);
                sheet.tags.push(t("front", LENS));
            }
        }
    }
    let edge: Vec<Vec3> = (0..=cols)
        .map(|i| sheet.pos[(rows * (cols + 1) + i) as usize])
        .collect();
    m.add(&sheet.lined(0.0015, inner(LENS_BACK)), None);
    m.add(
        &band(
            &edge,
            |p| Vec3::new(p.x, 0.0, p.z).normalize_or(Vec3::Z),
            0.003,
            0.003,
            t("front", LENS_BACK),
        ),
        None,
    );
    // The foam band fills the gap between brow and sheet.
    let brow = |p: Vec3| {
        let ring = egg(
            Vec3::new(p.x, 0.0, p.z),
            Vec3::new(0.0, 0.0, 0.010),
            Vec3::new(0.0985, 1.0, 0.1085),
        );
        meet(
            meet(ring, (p.y - 1.686).abs() - 0.0135, 0.006),
            0.012 - p.z,
            0.006,
        )
    };
    let label = |p: Vec3| if scalp(p) < 0.001 { NONE } else { t("band", FRAME) };
    m.add(
        &nets(
            Vec3::new(-0.12, 1.65, 0.0),
            Vec3::new(0.12, 1.72, 0.14),
            0.005,
            &brow,
        )
        .cut(&label),
        None,
    );
    m.add(
        &head_strap(Vec3::new(0.094, 1.684, 0.018), undone, 0.020, t("strap", STRAP)),
        None,
    );
    to_world(m)
}
