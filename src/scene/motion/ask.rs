//! What is asked of the hands, and what is told of how far they have come.

use bevy::prelude::*;

use crate::model::{Side, Zone};
use crate::scene::reach::Hands;
use crate::view::stage::{StageItem, Who};

/// One touch of a technique.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touched {
    /// The hand that touches; none if two other surfaces meet.
    pub hand: Option<Side>,
    /// The part of the hand.
    pub zone: Option<Zone>,
    /// What is touched, an index into `Stage::patches`.
    pub site: usize,
    /// When, as a share of the technique, 0 to 1.
    pub at: f32,
}

/// Asks the hands to carry out a technique. A new request ends the one of the same person under way, of which nothing
/// more is told.
#[derive(Message, Clone, Debug, PartialEq)]
pub struct Perform {
    /// Whose hands.
    pub who: Who,
    /// Technique id, or the verb of a product such as `rub`, or `touch`.
    pub technique: String,
    /// Every item that will have changed, as it will be.
    pub becomes: Vec<StageItem>,
    /// Which hands act.
    pub hands: Hands,
    /// What is touched, in order.
    pub touches: Vec<Touched>,
    /// Time until the hands are at ease again, seconds, 0.2 to 6; for hands that are rubbed until they are told to stop,
    /// as long as that may last.
    pub seconds: f32,
    /// True to move in a hurried way: quick starts and no pauses.
    pub hurried: bool,
}

/// Asks for the end of a person's technique at once: hands at ease, no item bent. It is not answered; whoever asks
/// shows the stage that the technique led to.
#[derive(Message, Clone, Copy, Debug)]
pub struct PerformStop(pub Who);

/// Tells how far a person's technique has come.
#[derive(Message, Clone, Copy, Debug, PartialEq, Eq)]
pub struct Performed(pub Who, pub News);

/// How far a technique has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum News {
    /// The touch with this index happens now.
    Touch(usize),
    /// Everything has happened: the moment to show the stage after it. Hands may still be on their way back.
    Done,
    /// The hands are at ease again.
    Home,
}
