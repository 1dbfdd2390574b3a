//! Cleaning hands: the doses, the time held so far, and which zones it has reached.

use crate::drill::{Action, Drill, coverage, forearms_bare};
use crate::model::{Side, Zone};

use super::settings::Settings;
use super::words::sentence;

/// Longest time a rub can be held, as a multiple of the asked length.
pub const LONGEST: f64 = 3.0;

/// A rub or wash that is being set up or is under way.
#[derive(Clone, Debug, PartialEq)]
pub struct Rub {
    /// Product id.
    pub product: String,
    /// Doses chosen.
    pub doses: u32,
    /// Drill seconds held so far.
    pub held: f64,
    /// True if bare forearms are cleaned too, before the hands.
    pub forearms: bool,
}

impl Rub {
    /// The action that this comes to.
    pub fn action(&self) -> Action {
        Action::Clean {
            product: self.product.clone(),
            doses: self.doses,
            seconds: (self.held * 10.0).round().max(1.0) / 10.0,
            skip: Vec::new(),
            forearms: self.forearms,
        }
    }
}

/// What the rub panel shows.
#[derive(Clone, Debug, PartialEq)]
pub struct RubView {
    /// Heading, such as `Rub your hands`.
    pub title: String,
    /// What with.
    pub product: String,
    /// Word for what one does, such as `rub`.
    pub verb: String,
    /// Doses chosen.
    pub doses: u32,
    /// Amount, ml.
    pub amount: f64,
    /// Drill seconds held so far.
    pub held: f64,
    /// Asked length, s.
    pub asked: f64,
    /// Whether bare forearms are cleaned too, and the share of them covered so far; none where they are not bare or the
    /// product is not for them.
    pub forearms: Option<(bool, f64)>,
    /// Zones in the order in which they are covered, with the share covered so far.
    pub zones: Vec<(Zone, f64)>,
    /// Drill seconds per second of waiting.
    pub speed: f64,
    /// True if nothing needs to be held down.
    pub hands_free: bool,
    /// True once it cannot go on any longer.
    pub full: bool,
    /// True where nothing helps: neither the asked length nor what is covered by now is shown.
    pub untold: bool,
}

/// What is cleaned: the gloves on both hands, or hands.
fn what(drill: &Drill) -> &'static str {
    let gloved = |side: &Side| drill.state().glove(drill.setup(), *side).is_some();
    match Side::BOTH.iter().filter(|side| gloved(side)).count() {
        0 => "hands",
        1 => "hand and glove",
        _ => "gloves",
    }
}

/// The panel for a rub, if its product is known.
pub fn rub_view(drill: &Drill, rub: &Rub, settings: &Settings, untold: bool) -> Option<RubView> {
    let product = drill.setup().library.product(&rub.product)?;
    let bare = forearms_bare(drill.setup(), drill.state());
    let arms = product.forearms.as_ref().filter(|_| bare);
    let for_arms = arms.filter(|_| rub.forearms).map_or(0.0, |f| f.seconds);
    let asked = product.seconds + for_arms;
    Some(RubView {
        title: sentence(&format!("{} your {}", product.verb, what(drill))),
        product: product.label.clone(),
        verb: product.verb.clone(),
        doses: rub.doses,
        amount: product.dose_ml * f64::from(rub.doses),
        held: rub.held,
        asked,
        forearms: arms.map(|f| {
            (
                rub.forearms,
                if rub.forearms {
                    (rub.held / f.seconds).min(1.0)
                } else {
                    0.0
                },
            )
        }),
        zones: coverage(product, rub.held - for_arms, &[]),
        speed: settings.clock.factor(),
        hands_free: settings.hands_free,
        untold,
        full: rub.held >= asked * LONGEST,
    })
}
