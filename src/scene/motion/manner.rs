//! Which way each technique moves what it handles, by technique id.

use crate::view::stage::{StageItem, StageItemState};

/// How the item of a technique moves while the hands work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// A glove turns inside out from the cuff to the fingertips.
    Peel,
    /// A glove is drawn off by its fingers or its palm.
    Strip,
    /// A glove is put on.
    Don,
    /// Something is untied or broken; the hands draw the ends apart.
    Untie,
    /// The gown slides from the shoulders and rolls inside out.
    GownRoll,
    /// The gown is drawn down by its outside.
    GownDown,
    /// The gown comes off one arm and then the other.
    GownArms,
    /// The gown is drawn off by its cuffs.
    GownCuffs,
    /// The gown breaks forwards.
    GownFront,
    /// The gown goes up over the head.
    GownOver,
    /// The bib of the apron falls forwards when its loop breaks.
    BibFalls,
    /// The apron folds in on itself.
    ApronFold,
    /// The apron is torn off forwards.
    ApronFront,
    /// The apron goes up over the head.
    ApronOver,
    /// Straps come over the head first and the front follows.
    OverHead,
    /// The straps of a mask leave the head, and it stays where it is.
    StrapOver,
    /// The front is drawn straight away from the face.
    Forward,
    /// The front is pulled and springs down as the last strap holds.
    Springs,
    /// Shifted a little where it sits.
    Nudge,
    /// Pulled down to hang at the neck.
    Lower,
    /// Pulled up again from the neck.
    Raise,
    /// An overshoe rolls down over the shoe.
    ShoeRoll,
    /// An overshoe is pulled off over the toe.
    ShoePull,
    /// Carried to the bin and let go.
    Bin,
    /// Carried to the bin, whose lid a hand lifts, and let go.
    LiftLid,
    /// Thrown at the bin.
    Throw,
    /// Pressed down into the bin.
    PushDown,
    /// Let fall.
    Fall,
    /// Lifted from the floor by somebody who bends down to it.
    PickUp,
    /// Hands rubbed with a product or washed.
    Rub,
    /// A hand touches something.
    Touch,
}

/// Every built-in technique with its manner.
const MANNERS: [(&str, Manner); 61] = [
    ("apron-break-loop", Manner::BibFalls),
    ("apron-break-ties", Manner::Untie),
    ("apron-fold-down", Manner::ApronFold),
    ("apron-pull-front", Manner::ApronFront),
    ("apron-over-head", Manner::ApronOver),
    ("bin-by-pedal", Manner::Bin),
    ("bin-by-lid", Manner::LiftLid),
    ("bin-throw", Manner::Throw),
    ("bin-push-down", Manner::PushDown),
    ("drop-on-floor", Manner::Fall),
    ("eyewear-by-strap", Manner::OverHead),
    ("goggles-by-sides", Manner::Forward),
    ("visor-by-band", Manner::Forward),
    ("eyewear-by-front", Manner::Springs),
    ("eyewear-push-up", Manner::Nudge),
    ("glove-pinch-peel", Manner::Peel),
    ("glove-slide-under", Manner::Peel),
    ("glove-hook-cuff", Manner::Peel),
    ("glove-push-in", Manner::Peel),
    ("glove-snatch", Manner::Strip),
    ("glove-strip-back", Manner::Strip),
    ("glove-don", Manner::Don),
    ("gown-undo-neck-tie", Manner::Untie),
    ("gown-undo-waist-tie", Manner::Untie),
    ("gown-peel-inside", Manner::GownRoll),
    ("gown-from-shoulders-outside", Manner::GownDown),
    ("gown-one-sleeve-at-a-time", Manner::GownArms),
    ("gown-pull-cuffs", Manner::GownCuffs),
    ("gown-draw-front", Manner::GownFront),
    ("gown-pull-front", Manner::GownFront),
    ("gown-with-gloves", Manner::GownFront),
    ("gown-over-head", Manner::GownOver),
    ("gown-over-gloved-hands", Manner::GownDown),
    ("mask-by-loops", Manner::Forward),
    ("mask-by-front", Manner::Springs),
    ("tied-mask-bottom-tie", Manner::Untie),
    ("tied-mask-top-tie-off", Manner::OverHead),
    ("tied-mask-by-front", Manner::Springs),
    ("mask-pull-down", Manner::Lower),
    ("mask-put-back", Manner::Raise),
    ("mask-adjust-front", Manner::Nudge),
    ("overshoe-by-top-inside", Manner::ShoeRoll),
    ("overshoe-by-heel", Manner::ShoePull),
    ("overshoe-by-sole", Manner::ShoePull),
    ("respirator-bottom-strap", Manner::StrapOver),
    ("respirator-top-strap-off", Manner::OverHead),
    ("respirator-both-straps-at-once", Manner::OverHead),
    ("respirator-one-strap", Manner::Springs),
    ("respirator-by-front", Manner::Springs),
    ("respirator-pull-down", Manner::Lower),
    ("respirator-put-back", Manner::Raise),
    ("respirator-adjust-front", Manner::Nudge),
    ("respirator-adjust-edges", Manner::Nudge),
    ("pick-up-from-floor", Manner::PickUp),
    // The patient is not drawn: hands go where kit and rail are met.
    ("turn-patient", Manner::Touch),
    ("suction-airway", Manner::Touch),
    ("clean-mouth", Manner::Touch),
    ("rub", Manner::Rub),
    ("wash", Manner::Rub),
    ("rinse", Manner::Rub),
    ("touch", Manner::Touch),
];

impl Manner {
    /// The manner of a built-in technique, or of `rub`, `wash`, `rinse` and `touch`; `None` for one the scene does not know.
    pub fn of(technique: &str) -> Option<Manner> {
        MANNERS.iter().find(|(id, _)| *id == technique).map(|(_, m)| *m)
    }

    /// What suits a technique the scene does not know, from what becomes of its item.
    pub fn guess(item: Option<&StageItem>) -> Manner {
        let Some(item) = item else { return Manner::Touch };
        match (&item.state, item.model.as_str()) {
            (StageItemState::Binned, _) => Manner::Bin,
            (StageItemState::Floor(_), _) => Manner::Fall,
            (StageItemState::Dangling, _) => Manner::Lower,
            (StageItemState::Worn | StageItemState::Boxed, _) => Manner::Nudge,
            (StageItemState::Held(_), "glove" | "inner-glove") if item.inverted => Manner::Peel,
            (StageItemState::Held(_), "glove" | "inner-glove") => Manner::Strip,
            (StageItemState::Held(_), "gown") => Manner::GownRoll,
            (StageItemState::Held(_), "apron") => Manner::ApronFold,
            (StageItemState::Held(_), "overshoe") => Manner::ShoeRoll,
            (StageItemState::Held(_), _) => Manner::OverHead,
        }
    }

    /// How far the head is bent forwards while the hands work, radians: towards what is lifted over it or drawn from it.
    pub fn nod(self) -> f32 {
        match self {
            Manner::OverHead | Manner::StrapOver | Manner::GownOver | Manner::ApronOver => 0.42,
            Manner::Forward => 0.34,
            Manner::BibFalls => 0.26,
            Manner::Springs => 0.16,
            _ => 0.0,
        }
    }

    /// True if something held is let go.
    pub fn lets_go(self) -> bool {
        matches!(
            self,
            Manner::Bin | Manner::LiftLid | Manner::Throw | Manner::PushDown | Manner::Fall
        )
    }

    /// True if the item changes its shape while the hands work.
    pub fn moves_item(self) -> bool {
        !matches!(self, Manner::Don | Manner::PickUp | Manner::Rub | Manner::Touch)
    }
}
