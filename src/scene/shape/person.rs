//! The person without any kit: skin, hair, scrubs and shoes as one model tagged by place.

use bevy::math::Vec3;

use super::body;
use super::field::{melt, smooth};
use super::figure::{self, left};
use super::hand::Hand;
use super::head::{self, HeadPaint};
use super::model::{self, Model, Paint, tag};
use super::nets::nets;
use super::surf::{NONE, Surf};
use crate::palette;

/// Every place of the body that has a surface, as in `assets/body.ron`.
pub const PLACES: [&str; 44] = [
    "left-fingertips",
    "left-thumb",
    "left-finger-pads",
    "left-palm",
    "left-back-of-hand",
    "left-wrist",
    "right-fingertips",
    "right-thumb",
    "right-finger-pads",
    "right-palm",
    "right-back-of-hand",
    "right-wrist",
    "left-eye",
    "right-eye",
    "nostrils",
    "lips",
    "left-cheek",
    "right-cheek",
    "forehead",
    "chin",
    "left-ear",
    "right-ear",
    "hair-top",
    "hair-back",
    "neck-front",
    "neck-back",
    "left-shoulder",
    "left-upper-arm",
    "left-forearm",
    "right-shoulder",
    "right-upper-arm",
    "right-forearm",
    "chest",
    "abdomen",
    "upper-back",
    "lower-back",
    "left-thigh",
    "left-lower-leg",
    "left-shoe-upper",
    "left-shoe-sole",
    "right-thigh",
    "right-lower-leg",
    "right-shoe-upper",
    "right-shoe-sole",
];

const SKIN: usize = 0;
const LIPS: usize = 1;
const WHITE: usize = 2;
const DARK: usize = 3;
const HAIR: usize = 4;
const NAIL: usize = 5;
const TOP: usize = 6;
const LEGS: usize = 7;
const SHOE: usize = 8;
const SOLE: usize = 9;

const PAINTS: [Paint; 10] = [
    Paint::solid(palette::SKIN, 0.22),
    Paint::solid(palette::LIPS, 0.35),
    Paint::solid(palette::EYE_WHITE, 0.6),
    Paint::solid(palette::EYE_DARK, 0.85),
    Paint::solid(palette::HAIR, 0.25),
    Paint::solid(palette::NAIL, 0.55),
    Paint::solid(palette::SCRUBS, 0.05),
    Paint::solid(palette::TROUSERS, 0.05),
    Paint::solid(palette::SHOE, 0.25),
    Paint::solid(palette::SOLE, 0.10),
];

fn body_tag(place: &str, paint: usize) -> u16 {
    tag(model::index(&PLACES, place), false, paint)
}

/// Distance to the whole bare-and-clothed person; what everything else is shaded against. What is too far away to shade
/// anything is left out.
pub fn whole(p: Vec3) -> f32 {
    let q = left(p);
    let mut d = f32::MAX;
    if p.y < 1.60 {
        // The trousers are within the top's own field.
        d = d.min(body::scrub_top(p));
    }
    if p.y < 0.25 {
        d = d.min(body::shoe(p));
    }
    if p.y > 1.30 {
        d = d.min(bust(p));
    }
    if q.x > 0.12 && p.y < 1.55 {
        d = d.min(body::arm(q));
    }
    d
}

/// Distance to head, neck and the top of the chest, bare.
pub fn bust(p: Vec3) -> f32 {
    let head = head::head(head::to_head(p)) * head::SCALE;
    if p.y > 1.64 {
        // The trunk is too low down to be felt here.
        return head;
    }
    melt(head, body::trunk(p), 0.045)
}

/// How many pieces the person is made of.
pub const PIECES: usize = 7;

/// Makes one of the pieces, each as fine as it needs to be, and has it thinned. They hang together nowhere, so they can
/// be made side by side; what has a left and a right is thinned once.
pub fn piece(n: usize, thin: impl Fn(&Model) -> Model) -> Model {
    type Make = fn() -> Model;
    const ALL: [(Make, bool); PIECES] = [
        (face, false),
        (back_and_neck, false),
        (trunk, false),
        (leg, true),
        (shoe, true),
        (arm, true),
        (hand, true),
    ];
    let (make, twice) = ALL[n];
    let mut m = thin(&make());
    if twice {
        m.join(&m.mirrored());
    }
    m
}

/// Builds the person as finely as its fields are looked at.
pub fn person() -> Model {
    let pieces: Vec<Model> = (0..PIECES).map(|n| piece(n, Model::clone)).collect();
    joined(&pieces)
}

/// Puts the person together.
pub fn joined<'a>(pieces: impl IntoIterator<Item = &'a Model>) -> Model {
    let mut out = Model::new(&PLACES, &PAINTS);
    for piece in pieces {
        out.join(piece);
    }
    out
}

fn made(surf: &Surf, fine: bool) -> Model {
    let mut m = Model::new(&PLACES, &PAINTS);
    let hand = Hand::default();
    if fine {
        let near = move |p: Vec3| hand.field(left(p));
        m.add(surf, Some(&near));
    } else {
        m.add(surf, Some(&whole));
    }
    m
}

/// What a point of the head is part of and painted with.
fn on_head(p: Vec3) -> u16 {
    if p.y < 1.470 {
        return NONE;
    }
    let paint = match head::paint(head::to_head(p)) {
        HeadPaint::Skin => SKIN,
        HeadPaint::Lips => LIPS,
        HeadPaint::White => WHITE,
        HeadPaint::Dark => DARK,
        HeadPaint::Hair => HAIR,
    };
    body_tag(head::place(head::to_head(p)), paint)
}

/// The face needs the finest cells, the rest of the head far fewer.
fn face() -> Model {
    let label = |p: Vec3| if p.z < 0.030 { NONE } else { on_head(p) };
    let surf = nets(
        Vec3::new(-0.10, 1.455, 0.02),
        Vec3::new(0.10, 1.78, 0.135),
        0.0040,
        &bust,
    );
    made(&surf.refined(head::fine).refined(head::fine).cut(&label), false)
}

/// The rest of the head, the neck, and the bit of chest the scrubs' neckline leaves open.
fn back_and_neck() -> Model {
    let rest = |p: Vec3| if p.z >= 0.0370 { NONE } else { on_head(p) };
    let mut back = nets(
        Vec3::new(-0.12, 1.45, -0.15),
        Vec3::new(0.12, 1.79, 0.05),
        0.0066,
        &bust,
    )
    .cut(&rest);
    // Where both lie over each other the finer one is on top, or their painted borders would show side by side.
    for (p, n) in back.pos.iter_mut().zip(&back.nrm) {
        *p -= *n * 0.0009 * smooth(0.0300, 0.0320, p.z);
    }
    let mut m = made(&back, false);
    let open = |p: Vec3| {
        if p.y >= 1.4712 || p.y < 1.31 || p.x.abs() > 0.13 {
            return NONE;
        }
        body_tag(if p.z > -0.012 { "neck-front" } else { "neck-back" }, SKIN)
    };
    let bare = nets(
        Vec3::new(-0.14, 1.30, -0.14),
        Vec3::new(0.14, 1.49, 0.14),
        0.011,
        &bust,
    )
    .cut(&open);
    m.join(&made(&bare, false));
    m
}

/// Above the scrubs' neckline: round behind, a V in front.
fn neckline(p: Vec3) -> bool {
    let v = 1.362 + p.x.abs() * 1.30;
    let ring = (p.x / 0.076).hypot((p.z + 0.018) / 0.074);
    p.y > 1.34 && ((p.z > 0.0 && p.y > v && p.x.abs() < 0.080) || (ring < 1.0 && p.y > 1.40))
}

fn trunk() -> Model {
    let field = |p: Vec3| body::scrub_top(p);
    let label = |p: Vec3| {
        let q = left(p);
        if p.y < 0.865 || neckline(p) {
            return NONE;
        }
        let beyond = figure::upper_t(q) > body::SLEEVE_END || figure::past_elbow(q);
        if q.x > 0.205 && beyond && body::shoulder_side(q) > 0.0 {
            return NONE;
        }
        let place = body::place(p);
        let place = match place {
            "left-thigh" | "right-thigh" => "abdomen",
            "left-forearm" => "left-upper-arm",
            "right-forearm" => "right-upper-arm",
            other => other,
        };
        body_tag(place, TOP)
    };
    let surf = nets(
        Vec3::new(-0.42, 0.83, -0.19),
        Vec3::new(0.42, 1.53, 0.19),
        0.0160,
        &field,
    )
    .cut(&label);
    let lined = surf.lined(0.006, |t| Some(tag(model::part_of(t), false, TOP)));
    made(&lined, false)
}

fn leg() -> Model {
    let field = |p: Vec3| body::trousers(p);
    let label = |p: Vec3| {
        if p.x < 0.0 || p.y < 0.072 || p.y > 0.91 {
            return NONE;
        }
        body_tag(
            if p.y > 0.49 {
                "left-thigh"
            } else {
                "left-lower-leg"
            },
            LEGS,
        )
    };
    let surf = nets(
        Vec3::new(-0.02, 0.04, -0.18),
        Vec3::new(0.26, 0.94, 0.19),
        0.0190,
        &field,
    )
    .cut(&label);
    let lined = surf.lined(0.006, |_| None);
    made(&lined, false)
}

fn shoe() -> Model {
    let field = |p: Vec3| body::shoe(p);
    let label = |p: Vec3| {
        let place = body::shoe_place(p);
        body_tag(place, if place == "left-shoe-sole" { SOLE } else { SHOE })
    };
    let surf = nets(
        Vec3::new(0.02, -0.02, -0.14),
        Vec3::new(0.22, 0.15, 0.24),
        0.0095,
        &field,
    )
    .cut(&label);
    made(&surf, false)
}

fn arm() -> Model {
    let field = |p: Vec3| body::arm(p);
    let label = |p: Vec3| {
        if !figure::past_elbow(p) && figure::upper_t(p) < 0.45 || figure::fore_t(p) > 0.90 {
            return NONE;
        }
        body_tag(
            if wristward(p) {
                "left-wrist"
            } else {
                "left-forearm"
            },
            SKIN,
        )
    };
    let surf = nets(
        Vec3::new(0.20, 0.98, -0.10),
        Vec3::new(0.42, 1.33, 0.24),
        0.0095,
        &field,
    )
    .cut(&label);
    made(&surf, false)
}

fn wristward(p: Vec3) -> bool {
    figure::past_elbow(p) && figure::fore_t(p) > 0.80
}

fn hand() -> Model {
    let hand = Hand::default();
    let field = |p: Vec3| hand.field(p);
    let label = |p: Vec3| {
        if figure::fore_t(p) < 0.899 {
            return NONE;
        }
        let place = match hand.zone(p) {
            Some("fingertips") => "left-fingertips",
            Some("thumb") => "left-thumb",
            Some("finger-pads") => "left-finger-pads",
            Some("palm") => "left-palm",
            Some("back-of-hand") => "left-back-of-hand",
            _ => "left-wrist",
        };
        body_tag(place, if hand.nail(p) { NAIL } else { SKIN })
    };
    let (lo, hi) = hand_box();
    let surf = nets(lo, hi, 0.0041, &field).cut(&label);
    made(&surf, true)
}

/// A box round the left hand and wrist at rest.
pub fn hand_box() -> (Vec3, Vec3) {
    let (mut lo, mut hi) = (Vec3::splat(f32::MAX), Vec3::splat(f32::MIN));
    for q in [
        Vec3::new(-0.07, 0.0, 0.0),
        Vec3::new(0.19, 0.0, -0.03),
        Vec3::new(0.11, 0.08, -0.02),
        Vec3::new(0.14, -0.05, -0.06),
        Vec3::new(0.10, 0.03, 0.01),
    ] {
        let p = figure::from_hand(q);
        lo = lo.min(p - 0.045);
        hi = hi.max(p + 0.045);
    }
    (lo, hi)
}

/// How much a point follows the arm rather than the trunk, 0 to 1; both sides alike.
pub fn arm_share(p: Vec3) -> f32 {
    let q = left(p);
    let core = melt(body::trunk(q), body::trousers(q), 0.05);
    let gap = core - body::figure_arm(q);
    let along = figure::upper_t(q);
    let near = if figure::past_elbow(q) {
        1.0
    } else {
        smooth(-0.10, 0.40, along)
    };
    // Below the armpit the flank goes along a little, so that a raised arm draws it up rather than folding it.
    let flank = 0.45 * smooth(-0.075, 0.03, gap) * smooth(0.55, 0.20, along);
    near * smooth(-0.015, 0.03, gap).max(flank)
}
