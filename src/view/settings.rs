//! What can be chosen before and during a drill.

use crate::model::Side;
use crate::record::DeskTerms;

pub use crate::record::{ClockSpeed, LampUse};

/// The views of the scene that have a button and a key.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum NamedView {
    #[default]
    Front,
    Back,
    Left,
    Right,
    Hands,
    Face,
}

/// Smallest and largest text scale, in per cent.
pub const TEXT_SCALE: (u32, u32) = (100, 200);

/// Everything that is not the drill itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Index of the scenario in the library.
    pub scenario: usize,
    /// Index among the scenario's sequences, its own first.
    pub sequence: usize,
    /// How the lamp is used.
    pub lamp: LampUse,
    /// True to show what the sequence asks for next.
    pub hints: bool,
    /// Seed as typed; empty for a new one each time.
    pub seed: String,
    /// How fast a rub's clock runs.
    pub clock: ClockSpeed,
    /// True to rub without holding anything down.
    pub hands_free: bool,
    /// True to skip all motion.
    pub still: bool,
    /// True to show the scene as a mirror would.
    pub mirror: bool,
    /// True to write names beside what is seen.
    pub names: bool,
    /// True to show, under the lamp, what the last action moved from where to where.
    pub trace: bool,
    /// True for large type, to be read across a room.
    pub large: bool,
    /// Text scale on top of that, per cent.
    pub text_scale: u32,
    /// The hand that acts where there is a choice.
    pub acting: Side,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            scenario: 0,
            sequence: 0,
            lamp: LampUse::default(),
            hints: true,
            seed: String::new(),
            clock: ClockSpeed::default(),
            hands_free: false,
            still: false,
            mirror: false,
            names: false,
            trace: false,
            large: false,
            text_scale: TEXT_SCALE.0,
            acting: Side::Right,
        }
    }
}

impl Settings {
    /// What of them helps or hinders whoever makes an attempt, for its record.
    pub fn terms(&self) -> DeskTerms {
        DeskTerms {
            lamp: self.lamp,
            hints: self.hints,
            names: self.names,
            clock: self.clock,
            hands_free: self.hands_free,
        }
    }

    /// True if steps can be taken back: not where the lamp stays off until the end, which makes it an assessment.
    pub fn takes_back(&self) -> bool {
        self.lamp != LampUse::UntilTheEnd
    }

    /// The typed seed: nothing if none was typed, an error if it is no number.
    ///
    /// # Errors
    /// What was typed is not a whole number that fits.
    pub fn typed_seed(&self) -> Result<Option<u64>, std::num::ParseIntError> {
        let text = self.seed.trim();
        if text.is_empty() {
            Ok(None)
        } else {
            text.parse().map(Some)
        }
    }
}
