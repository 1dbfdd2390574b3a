//! Worn shapes coming off: gloves peeled, gowns drawn down, aprons folded, face items lifted, overshoes slipped.

use bevy::math::{Vec2, Vec3};

use super::grip::mirrored;
use super::manner::Manner;
use crate::model::Side;
use crate::scene::follow::{Follow, Limb};
use crate::scene::pose::Pose;
use crate::scene::shape::field::smooth;
use crate::scene::shape::figure::{self, FORE, HAND, SHOULDER, UPPER};
use crate::scene::shape::{apron, masks};

/// Edge of a glove's cuff and tip of its fingers, from the wrist along the hand, metres.
const GLOVE: (f32, f32) = (-0.085, 0.20);
/// How much shorter the peeled part lies than it was.
const GATHERED: f32 = 0.40;

/// How far each face goes to the other side of the other one where a glove is turned over, metres.
pub(super) const FACES: f32 = 0.0016;

/// Where along the hand the glove folds back, `s` into the technique.
pub fn fold(s: f32) -> f32 {
    GLOVE.0 + (GLOVE.1 - GLOVE.0) * smooth(0.0, 0.66, s)
}

/// How far the hand that peels has drawn the glove's edge along the fingers, metres.
pub fn drawn(manner: Manner, s: f32) -> f32 {
    match manner {
        Manner::Peel => (fold(s) - GLOVE.0) * (1.0 + GATHERED),
        _ => 0.26 * smooth(0.05, 0.7, s),
    }
}

/// A glove of a side, `s` into the technique: the part behind the fold lies mirrored in front of it, drawn together to where the other hand has its `edge`; or
/// all of it is drawn along the fingers.
pub fn glove(
    manner: Manner,
    (s, side): (f32, Side),
    (p, n): (Vec3, Vec3),
    plain: Vec3,
    pose: &Pose,
    edge: Option<Vec3>,
) -> Vec3 {
    let q = figure::to_hand(mirrored(side, p));
    let on = |q: Vec3| pose.hand(side).point(mirrored(side, figure::from_hand(q)));
    if manner == Manner::Strip {
        // The fingers lead, the rest stretches after them.
        let lead = smooth(GLOVE.0, GLOVE.1, q.x);
        let slip = 0.26 * smooth(0.05 + 0.25 * (1.0 - lead), 0.75, s);
        return plain.lerp(on(q + Vec3::X * slip), smooth(0.0, 0.15, s));
    }
    let fold = fold(s);
    if q.x >= fold {
        return plain;
    }
    // Turned over, the inner face comes to lie outside.
    let q = figure::to_hand(mirrored(side, p - n * FACES * smooth(0.0, 0.01, fold - q.x)));
    let behind = fold - q.x;
    let wide = 1.0 + 0.10 * smooth(0.0, 0.03, behind);
    let turned = on(Vec3::new(fold + behind * GATHERED, q.y * wide, q.z * wide));
    let Some(edge) = edge else { return turned };
    // The nearer the edge, the more of its round comes together between the fingers that pull.
    let near = (behind / (fold - GLOVE.0).max(0.001)).clamp(0.0, 1.0);
    turned.lerp(edge, 0.80 * near * near * smooth(0.0, 0.30, s))
}

/// A point of the arm's middle line, `t` metres from the shoulder along it, past the fingertips if need be.
fn axis(t: f32) -> Vec3 {
    let (upper, fore) = ((figure::elbow() - SHOULDER).normalize(), figure::fore_dir());
    if t < UPPER {
        SHOULDER + upper * t
    } else {
        figure::elbow() + fore * (t - UPPER)
    }
}

/// A sleeve's point moved `by` metres towards the hand.
fn slid(p: Vec3, by: f32, side: Side, pose: &Pose) -> Vec3 {
    let q = mirrored(side, p);
    let t = if figure::past_elbow(q) {
        UPPER + figure::fore_t(q) * FORE
    } else {
        figure::upper_t(q) * UPPER
    };
    // Near the shoulder it stays behind with the trunk, and gathers over the hand.
    let by = by * (0.45 + 0.55 * smooth(0.0, UPPER + 0.5 * FORE, t));
    let to = (t + by).min(UPPER + FORE + HAND);
    // Over a sharp elbow it lies closer.
    let bend = 1.0 - 0.30 * (-((to - UPPER) / 0.09).powi(2)).exp() * smooth(0.0, 0.15, by);
    let rest = mirrored(side, axis(to) + (q - axis(t)) * bend);
    let bones = pose.limb(Limb::arm(side));
    let [upper, fore, hand] = [0, 1, 2].map(|i| bones[i].point(rest));
    let arm = upper.lerp(fore, smooth(UPPER - 0.08, UPPER + 0.08, to));
    arm.lerp(hand, smooth(UPPER + FORE - 0.06, UPPER + FORE + 0.02, to))
}

/// Half widths of the body, across and deep, that a gown comes round, metres.
const FLANK: Vec2 = Vec2::new(0.166, 0.122);

/// A gown: the trunk part falls or comes forwards, sleeves slide along the arms.
pub fn gown(manner: Manner, s: f32, p: Vec3, follow: &Follow, pose: &Pose) -> Vec3 {
    let side = if p.x >= 0.0 { Side::Left } else { Side::Right };
    let s1 = smooth(0.0, 0.75, s);
    let late = match (manner, side) {
        (Manner::GownArms, Side::Right) => smooth(0.35, 0.9, s),
        (Manner::GownArms, Side::Left) => smooth(0.0, 0.5, s),
        (Manner::GownCuffs, _) => smooth(0.0, 0.55, s),
        (Manner::GownFront, _) => smooth(0.25, 0.9, s),
        _ => s1,
    };
    // Open behind, it comes round both flanks to the front, as far off the body as it was: that is wider than it is deep.
    let round = |open: f32, out: f32| {
        let (a, r) = (p.x.atan2(p.z), p.x.hypot(p.z));
        let thick = |a: f32| (a.sin() / FLANK.x).hypot(a.cos() / FLANK.y).recip();
        let to = a * (1.0 - open);
        let r = r - thick(a) + thick(to) + out;
        Vec3::new(to.sin() * r, p.y, to.cos() * r)
    };
    // What is drawn forwards parts behind, and comes round before it goes forwards there.
    let parted = smooth(0.04, 0.70, s);
    let free = smooth(-0.02, 0.08, p.z).max(smooth(0.55, 1.0, parted));
    let top = smooth(0.75, 1.45, p.y);
    let trunk = match manner {
        Manner::GownDown => {
            round(0.55 * smooth(0.35, 0.9, s), 0.03 * s1) - Vec3::Y * (0.42 * s1 * (0.35 + 0.65 * top))
        }
        Manner::GownFront => {
            let grip = (-((p.y - 1.22) / 0.22).powi(2)).exp() * smooth(-0.1, 0.1, p.z);
            let jerk = smooth(0.0, 0.45, s);
            let forwards = jerk * (0.10 + 0.16 * grip) + 0.10 * s1;
            round(0.70 * parted, 0.02 * s1 + 0.03 * parted * (1.0 - parted))
                + Vec3::new(0.0, -0.10 * s1 * top, forwards * free)
        }
        Manner::GownOver => {
            let lift = smooth(0.4, 1.4, p.y);
            round(0.0, 0.02 * s1) + Vec3::Y * s1 * (0.95 - 0.45 * lift) + Vec3::Z * 0.10 * s1
        }
        Manner::GownCuffs => {
            round(0.62 * parted, 0.02 * s1 + 0.03 * parted * (1.0 - parted))
                + Vec3::new(0.0, -0.18 * s1 * top, 0.16 * s1 * free)
        }
        _ => round(0.72 * s1, 0.035 * s1) + Vec3::new(0.0, -0.34 * s1 * top, 0.09 * s1 * free),
    };
    // Collar and skirt follow limbs too, but have no sleeve.
    let sleeve = matches!(follow.limb, Limb::LeftArm | Limb::RightArm);
    let arm = 1.0 - follow.weight[0];
    if !sleeve || arm <= 0.001 {
        return trunk;
    }
    let by = if manner == Manner::GownOver { -0.25 } else { 0.48 };
    trunk.lerp(slid(p, by * late, side, pose), arm)
}

/// How far a point of a gown's sleeve hangs, empty, from the hand that has its shoulder, 0 to 1, `s` into the technique.
pub fn emptying(manner: Manner, s: f32, follow: &Follow) -> f32 {
    let (from, to) = match (manner, follow.limb) {
        (Manner::GownRoll | Manner::GownDown, Limb::LeftArm | Limb::RightArm) => (0.08, 0.42),
        (Manner::GownArms, Limb::LeftArm) => (0.05, 0.32),
        (Manner::GownArms, Limb::RightArm) => (0.30, 0.58),
        _ => return 0.0,
    };
    (1.0 - follow.weight[0]) * smooth(from, to, s)
}

/// Where a point of an empty sleeve hangs, from where its shoulder is held: flat, and shorter for its folds, metres.
pub fn emptied(p: Vec3, shoulder: Vec3) -> Vec3 {
    let fold = 0.012 * (p.y * 46.0 + p.x * 30.0).sin();
    (p - shoulder) * Vec3::new(0.45, 0.52, 0.40) + Vec3::new(fold, 0.0, fold)
}

/// Middle and half extent of a worn garment, metres.
pub fn extent(model: &str, p: Vec3) -> (Vec3, Vec3) {
    match model {
        "gown" => (Vec3::new(0.0, 0.95, 0.03), Vec3::new(0.36, 0.55, 0.20)),
        "apron" => (Vec3::new(0.0, 0.95, 0.05), Vec3::new(0.20, 0.45, 0.14)),
        _ => (
            Vec3::new(0.11 * p.x.signum(), 0.06, 0.04),
            Vec3::new(0.06, 0.07, 0.14),
        ),
    }
}

fn turned(p: Vec3, pivot: Vec3, angle: f32) -> Vec3 {
    let (sin, cos) = angle.sin_cos();
    let q = p - pivot;
    pivot + Vec3::new(q.x, q.y * cos - q.z * sin, q.y * sin + q.z * cos)
}

/// Where the left hand takes an apron by the upper edge of its bib, metres.
pub(super) const BIB: Vec3 = Vec3::new(0.075, 1.36, 0.13);

/// How far the bib of an apron has fallen, `s` into the breaking of its loop, 0 to 1.
fn falls(s: f32) -> f32 {
    smooth(0.15, 0.95, s)
}

/// An apron: its bib falls when the loop breaks, a sheet whose bib is down is gathered inwards, or the whole is torn
/// forwards or lifted over the head. `trim` tells loop and ties from the sheet.
pub fn apron(manner: Manner, s: f32, p: Vec3, trim: bool) -> Vec3 {
    let s1 = smooth(0.0, 0.75, s);
    // The loop breaks behind the neck and drops forwards.
    let broken = |k: f32| {
        let loose = smooth(0.10, -0.05, p.z) * smooth(1.33, 1.40, p.y);
        p.lerp(
            Vec3::new(p.x.signum() * 0.09, 1.30 - (1.50 - p.y).abs() * 0.3, 0.175),
            loose * k,
        )
    };
    match manner {
        Manner::BibFalls => apron::fallen(broken(smooth(0.05, 0.4, s)), trim, falls(s)),
        Manner::ApronFront => {
            let grip = (-((p.y - 1.20) / 0.20).powi(2)).exp();
            broken(smooth(0.2, 0.45, s))
                + Vec3::new(0.0, -0.12 * s1, smooth(0.0, 0.45, s) * (0.12 + 0.18 * grip))
        }
        Manner::ApronOver => {
            let lift = smooth(0.5, 1.4, p.y);
            p + Vec3::Y * s1 * (0.75 - 0.25 * lift) + Vec3::Z * (0.06 * s1 + 0.04 * smooth(0.0, 0.12, s))
        }
        Manner::ApronFold => {
            let lap = smooth(1.03, 0.90, p.y) * smooth(0.10, 0.65, s);
            p + Vec3::new(0.0, 0.30 * lap * smooth(1.0, 0.6, p.y), 0.05 * lap + 0.03 * s1)
        }
        _ => p,
    }
}

/// Something worn on the face or head: straps over the head, or the front straight away from it. If its straps are `led`,
/// hands draw them along.
pub fn face(manner: Manner, s: f32, p: Vec3, led: bool) -> Vec3 {
    let pivot = Vec3::new(0.0, 1.60, 0.10);
    let rear = smooth(0.085, -0.05, p.z);
    // Straps are lifted clear of the hair on their way over.
    let over = |k: f32| {
        if led {
            return p;
        }
        let q = turned(p, pivot, 1.9 * rear * k);
        let clear = 1.0 + 0.28 * rear * (std::f32::consts::PI * k).sin();
        // Off the head it goes slack.
        pivot + (q - pivot) * (clear - 0.45 * rear * smooth(0.40, 0.80, k))
    };
    match manner {
        Manner::OverHead => over(smooth(0.0, 0.60, s)) + Vec3::new(0.0, -0.03, 0.10) * smooth(0.35, 0.85, s),
        Manner::Forward => over(smooth(0.25, 0.80, s)) + Vec3::Z * (0.15 * smooth(0.0, 0.55, s)),
        Manner::Springs => {
            let front = (1.0 - rear) * 0.16 * smooth(0.0, 0.45, s);
            let down = (1.0 - rear) * 0.07 * smooth(0.30, 0.65, s);
            over(smooth(0.42, 0.78, s)) + Vec3::new(0.0, -down, front + rear * 0.16 * smooth(0.42, 0.78, s))
        }
        Manner::StrapOver => {
            if led {
                return p;
            }
            let low = rear * smooth(1.60, 1.55, p.y);
            let q = turned(p, pivot, 1.9 * low * smooth(0.0, 1.0, s));
            pivot + (q - pivot) * (1.0 + 0.28 * low * (std::f32::consts::PI * s).sin())
        }
        Manner::Lower => p.lerp(masks::dangle(p), smooth(0.0, 1.0, s)),
        Manner::Raise => p + Vec3::new(0.0, 0.125, 0.012) * smooth(0.0, 1.0, s),
        Manner::Nudge => p + Vec3::new(0.003, 0.007, 0.0) * (std::f32::consts::PI * s).sin(),
        _ => p,
    }
}

/// An overshoe: rolled down over the shoe and forwards, or pulled off over the toe.
pub fn overshoe(manner: Manner, s: f32, p: Vec3) -> Vec3 {
    let s1 = smooth(0.0, 0.6, s);
    match manner {
        Manner::ShoeRoll => Vec3::new(
            p.x,
            p.y * (1.0 - 0.45 * s1) + 0.02 * s1,
            p.z + 0.20 * s1 * smooth(0.0, 0.10, p.y),
        ),
        Manner::ShoePull => {
            let heel = smooth(0.08, -0.08, p.z);
            p + Vec3::new(0.0, 0.14 * s1 * heel, 0.22 * s1)
        }
        _ => p,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shape::{body, gown};

    #[test]
    fn a_gown_begins_to_come_off_from_where_it_is_worn() {
        let pose = Pose::at_ease();
        let worn = gown::gown(&[]);
        for manner in [
            Manner::GownRoll,
            Manner::GownDown,
            Manner::GownArms,
            Manner::GownCuffs,
            Manner::GownFront,
            Manner::GownOver,
        ] {
            for (p, n) in worn.surf.pos.iter().zip(&worn.surf.nrm) {
                let follow = Follow::of(*p);
                let (was, is) = (
                    pose.apply(*p, *n, &follow).0,
                    gown(manner, 0.0, *p, &follow, &pose),
                );
                let off = was.distance(is);
                assert!(
                    off < 0.04,
                    "{manner:?} shifts {p} by {off} m before anything is drawn"
                );
            }
        }
    }

    #[test]
    fn a_gown_drawn_off_forwards_goes_round_the_body_and_not_through_it() {
        let pose = Pose::at_ease();
        let worn = gown::cloth();
        // Between armpits and knees, sleeves left out.
        let trunk: Vec<(Vec3, Follow)> = worn
            .surf
            .pos
            .iter()
            .filter(|p| (0.60..1.20).contains(&p.y))
            .map(|p| (*p, Follow::of(*p)))
            .filter(|(_, follow)| !matches!(follow.limb, Limb::LeftArm | Limb::RightArm) || follow.is_trunk())
            .collect();
        for (manner, k) in [
            Manner::GownRoll,
            Manner::GownDown,
            Manner::GownArms,
            Manner::GownCuffs,
            Manner::GownFront,
        ]
        .into_iter()
        .flat_map(|manner| (0..=20).map(move |k| (manner, k)))
        {
            let s = k as f32 / 20.0;
            let (deep, from) = trunk.iter().fold((0.0f32, Vec3::ZERO), |worst, (p, follow)| {
                let at = gown(manner, s, *p, follow, &pose);
                let deep = -body::scrub_top(at);
                if deep > worst.0 { (deep, *p) } else { worst }
            });
            assert!(
                deep < 0.010,
                "{manner:?}, {s} of the way: {from} of the gown lies {deep} m inside the body"
            );
        }
    }
}
