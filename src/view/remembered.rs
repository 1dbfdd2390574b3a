//! What was set and is there again the next time: a small text that a person can read. Knows what is worth keeping and how
//! it is written; not where.

use serde::{Deserialize, Serialize};

use super::pass::typed_mark;
use super::settings::{ClockSpeed, LampUse, Settings, TEXT_SCALE};
use crate::model::NeededClean;

/// The newest format that is read. It is written only where there is something that older programs do not know, so that these read all
/// the rest.
const FORMAT: u32 = 2;
/// The format of whatever older programs know as well.
const FIRST: u32 = 1;
/// More than any such text holds, bytes.
pub const MOST: u64 = 16_384;
/// Smallest and largest width and height of a window that are taken from a file, logical pixels.
const WINDOW: [(u32, u32); 2] = [(1024, 16_384), (640, 16_384)];

/// What is kept from one time to the next.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Remembered {
    format: u32,
    /// Text scale, per cent.
    pub text_scale: u32,
    /// True for large type, to be read across a room.
    pub large: bool,
    /// How the lamp is used.
    pub lamp: LampUse,
    /// How fast a rub's clock runs.
    pub clock: ClockSpeed,
    /// True to show what the sequence asks for next.
    pub hints: bool,
    /// True to rub without holding anything down.
    pub hands_free: bool,
    /// True to skip all motion.
    pub still: bool,
    /// True to show the scene as a mirror would.
    pub mirror: bool,
    /// The mark that assessments pass with, per cent; the register's if none was set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pass_mark: Option<u32>,
    /// Cleanings that no marks make up for in assessments, by the words that `register.ron` has; the register's if none were set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pass_cleans: Option<Vec<String>>,
    /// Width and height of the window, logical pixels.
    pub window: (u32, u32),
    /// True if it fills the screen.
    pub full_screen: bool,
}

impl Default for Remembered {
    fn default() -> Remembered {
        Remembered::of(&Settings::default(), (1280, 720))
    }
}

impl Remembered {
    /// What is worth keeping of these settings.
    pub fn of(settings: &Settings, window: (u32, u32)) -> Remembered {
        // What was typed and is no mark is not worth keeping.
        let pass_mark = typed_mark(&settings.pass_mark).ok().flatten();
        let pass_cleans = settings.pass_cleans.as_ref().map(|cleans| {
            NeededClean::ALL
                .into_iter()
                .filter(|(_, needed)| cleans.contains(needed))
                .map(|(word, _)| word.to_owned())
                .collect()
        });
        let known = pass_mark.is_none() && pass_cleans.is_none();
        Remembered {
            format: if known { FIRST } else { FORMAT },
            pass_mark,
            pass_cleans,
            text_scale: settings.text_scale,
            large: settings.large,
            lamp: settings.lamp,
            clock: settings.clock,
            hints: settings.hints,
            hands_free: settings.hands_free,
            still: settings.still,
            mirror: settings.mirror,
            window,
            full_screen: false,
        }
    }

    /// The same of a window that fills the screen, or does not.
    pub fn filling(self, full_screen: bool) -> Remembered {
        Remembered { full_screen, ..self }
    }

    /// Sets what was kept.
    pub fn recall(&self, settings: &mut Settings) {
        settings.text_scale = self.text_scale.clamp(TEXT_SCALE.0, TEXT_SCALE.1);
        settings.large = self.large;
        settings.lamp = self.lamp;
        settings.clock = self.clock;
        settings.hints = self.hints;
        settings.hands_free = self.hands_free;
        settings.still = self.still;
        settings.mirror = self.mirror;
        settings.pass_mark = match self.pass_mark {
            Some(mark) => mark.min(100).to_string(),
            None => String::new(),
        };
        settings.pass_cleans = self.pass_cleans.as_ref().map(|words| {
            NeededClean::ALL
                .into_iter()
                .filter(|(word, _)| words.iter().any(|w| w == word))
                .map(|(_, needed)| needed)
                .collect()
        });
    }

    /// The window's size, within what a window can have.
    pub fn size(&self) -> (u32, u32) {
        let [wide, high] = WINDOW;
        (
            self.window.0.clamp(wide.0, wide.1),
            self.window.1.clamp(high.0, high.1),
        )
    }

    /// As it is written.
    ///
    /// # Errors
    /// Why it cannot be written.
    pub fn text(&self) -> Result<String, String> {
        let pretty = ron::ser::PrettyConfig::new();
        let text = ron::ser::to_string_pretty(self, pretty).map_err(|e| e.to_string())?;
        Ok(format!("// What smirch remembers. It may be deleted.\n{text}\n"))
    }

    /// Reads what was written.
    ///
    /// # Errors
    /// What is wrong with it, or that a later smirch wrote it.
    pub fn read(text: &str) -> Result<Remembered, String> {
        #[derive(Deserialize)]
        struct Head {
            format: u32,
        }
        if let Ok(Head { format }) = ron::from_str::<Head>(text)
            && format > FORMAT
        {
            return Err(format!(
                "a later smirch wrote it (format {format}, this one reads {FORMAT})"
            ));
        }
        ron::from_str(text).map_err(|e| {
            format!(
                "line {}, column {}: {}",
                e.span.start.line, e.span.start.col, e.code
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changed() -> Settings {
        Settings {
            text_scale: 175,
            large: true,
            lamp: LampUse::UntilTheEnd,
            clock: ClockSpeed::Fast,
            hints: false,
            hands_free: true,
            still: true,
            mirror: true,
            pass_mark: "80".to_owned(),
            pass_cleans: Some(vec![NeededClean::AfterGloves]),
            ..Settings::default()
        }
    }

    /// Nobody loses what they set to an older program for a rule that they never touched.
    #[test]
    fn a_rule_that_was_not_set_is_not_written() {
        let usual = Settings {
            pass_mark: "many".to_owned(),
            ..Settings::default()
        };
        let text = Remembered::of(&usual, (1280, 720))
            .text()
            .unwrap_or_else(|e| panic!("{e}"));
        assert!(text.contains("format: 1,") && !text.contains("pass_"), "{text}");
        let text = Remembered::of(&changed(), (1280, 720))
            .text()
            .unwrap_or_else(|e| panic!("{e}"));
        assert!(
            text.contains("format: 2,") && text.contains("AfterGloves"),
            "{text}"
        );
    }

    #[test]
    fn what_is_written_is_read_and_set_again() {
        let kept = Remembered::of(&changed(), (1920, 1080));
        let text = kept.text().unwrap_or_else(|e| panic!("{e}"));
        let read = Remembered::read(&text).unwrap_or_else(|e| panic!("{e}:\n{text}"));
        assert_eq!(read, kept);
        let mut settings = Settings::default();
        read.recall(&mut settings);
        assert_eq!(settings, changed());
        assert_eq!(read.size(), (1920, 1080));
    }

    #[test]
    fn broken_and_later_texts_are_refused_with_a_reason() {
        let later = Remembered::read("(format: 3, voice: loud)").unwrap_err();
        assert!(later.contains("a later smirch wrote it (format 3"), "{later}");
        for broken in [
            "",
            "(",
            "(text_scale: \"huge\")",
            "(lamp: candle)",
            "(colour: 3)",
            "\0",
        ] {
            let why = Remembered::read(broken).unwrap_err();
            assert!(why.starts_with("line "), "`{broken}`: {why}");
        }
    }

    #[test]
    fn sizes_no_window_or_type_can_have_are_not_taken() {
        let odd = Remembered::read("(text_scale: 4000000000, pass_mark: Some(101), window: (1, 4000000000))")
            .unwrap_or_else(|e| panic!("{e}"));
        let mut settings = Settings::default();
        odd.recall(&mut settings);
        assert_eq!(settings.text_scale, TEXT_SCALE.1);
        assert_eq!(settings.pass_mark, "100");
        assert_eq!(odd.size(), (1024, 16_384));
    }
}
