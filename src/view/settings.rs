//! What can be chosen before and during a drill.

use crate::model::{NeededClean, Side};
use crate::record::{Code, DeskTerms, Label, Person, Terms};

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
    /// Both hands, held out.
    Palms,
    /// The back of the neck, close.
    Nape,
}

/// What the next attempt is for, and so who sets its terms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Use {
    /// Whatever is set on the first page.
    #[default]
    AsSet,
    /// Practice by the ladder: help fades as it goes well.
    Practise,
    /// Somebody else assesses: no lamp, no help, nothing taken back, the same start for all.
    Assess,
}

impl Use {
    /// All with the words people read, and a sentence on what follows.
    pub const ALL: [(Use, &'static str, &'static str); 3] = [
        (
            Use::AsSet,
            "Try it, as set here",
            "Lamp, hints and clock are as chosen below",
        ),
        (
            Use::Practise,
            "Practise alone, a rung at a time",
            "The rung sets lamp and hints: help fades as it goes well, and comes back where it does not",
        ),
        (
            Use::Assess,
            "Assess somebody at the screen",
            "Sets itself: no lamp, no hints, nothing taken back, the same start for everybody; then your page to tick and sign",
        ),
    ];
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
    /// Code of whoever does it as typed; empty for nobody.
    pub code: String,
    /// Their ward as typed; may be empty.
    pub ward: String,
    /// Their group, such as a profession, as typed; may be empty.
    pub group: String,
    /// What the next attempt is for.
    pub purpose: Use,
    /// Initials, code or nickname of whoever assesses or watches, as typed.
    pub observer: String,
    /// The mark that an assessment passes with as typed, per cent; empty for the register's.
    pub pass_mark: String,
    /// Cleanings that no marks make up for in an assessment; the register's if none were chosen.
    pub pass_cleans: Option<Vec<NeededClean>>,
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
            code: String::new(),
            ward: String::new(),
            group: String::new(),
            purpose: Use::default(),
            observer: String::new(),
            pass_mark: String::new(),
            pass_cleans: None,
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

/// A person by code, ward and group as typed; nobody without a code.
///
/// # Errors
/// A sentence: what code, ward or group cannot be.
pub fn person(code: &str, ward: &str, group: &str) -> Result<Option<Person>, String> {
    if code.trim().is_empty() {
        return Ok(None);
    }
    let label = |text: &str, noun: &str| match text.trim() {
        "" => Ok(None),
        text => Label::new(text, noun).map(Some),
    };
    Ok(Some(Person {
        code: Code::new(code)?,
        ward: label(ward, "a ward")?,
        group: label(group, "a group")?,
    }))
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

    /// Sets what an attempt was begun under.
    pub fn under(&mut self, terms: &Terms) {
        if let Some(desk) = &terms.desk {
            self.lamp = desk.lamp;
            self.hints = desk.hints;
            self.names = desk.names;
            self.clock = desk.clock;
            self.hands_free = desk.hands_free;
        }
        if terms.person.is_some() {
            self.by(terms.person.as_ref());
        }
    }

    /// With somebody's code, ward and group, or nobody's, as if typed.
    pub fn by(&mut self, person: Option<&Person>) {
        let word = |label: Option<&Label>| label.map_or(String::new(), |l| l.as_str().to_owned());
        self.code = person.map_or(String::new(), |p| p.code.to_string());
        self.ward = word(person.and_then(|p| p.ward.as_ref()));
        self.group = word(person.and_then(|p| p.group.as_ref()));
    }

    /// As they are for an assessment, whatever was set: nothing on the screen helps. What somebody needs to use the program at all
    /// (type, motion, rubbing without holding) stays.
    pub fn assessing(&self) -> Settings {
        Settings {
            lamp: LampUse::UntilTheEnd,
            hints: false,
            names: false,
            trace: false,
            clock: ClockSpeed::Real,
            ..self.clone()
        }
    }

    /// Whoever does it, if a code was typed.
    ///
    /// # Errors
    /// A sentence: what code, ward or group cannot be.
    pub fn person(&self) -> Result<Option<Person>, String> {
        person(&self.code, &self.ward, &self.group)
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
