//! The rule that an assessment passes by, as whoever assesses sets it before it begins: a mark as typed, and cleanings that no marks
//! make up for. What is left alone is the register's rule.

use crate::model::{NeededClean, PassRule};
use crate::record::PassTerms;
use crate::report::register::{LOCAL_RULE, asks_words, mark_words};

use super::settings::Settings;

/// By how much a press changes the mark, per cent of the marks: a choice, no source.
const STEP: u32 = 5;

/// Cleanings that no marks make up for, with the words of their switches.
const GUARDS: [(NeededClean, &str); 2] = [
    (NeededClean::AfterGloves, "Hands cleaned in full after the gloves"),
    (NeededClean::Last, "Hands cleaned in full at the end"),
];

/// The rule as it can be set.
#[derive(Clone, Debug, PartialEq)]
pub struct PassView {
    /// The mark as typed, per cent; empty for the usual one.
    pub mark: String,
    /// The usual mark, per cent, in words.
    pub usual: String,
    /// The mark that a press on less and on more leads to, as typed; none where there is no less or no more.
    pub beside: [Option<String>; 2],
    /// Cleanings that no marks make up for, with the words of their switches, and whether they are on.
    pub guards: Vec<(NeededClean, &'static str, bool)>,
    /// True if anything is set otherwise than usual.
    pub set: bool,
    /// What it asks for, as a sentence.
    pub words: String,
    /// Said where it asks for less than usual, as a sentence.
    pub less: Option<String>,
    /// What is wrong with what was typed, as a sentence.
    pub trouble: Option<String>,
}

/// The mark as typed, in per cent; nothing if none was typed.
///
/// # Errors
/// A sentence: it is no whole number from 0 to 100.
pub fn typed_mark(text: &str) -> Result<Option<u32>, String> {
    let typed = text.trim();
    let number = typed.strip_suffix('%').unwrap_or(typed).trim_end();
    if number.is_empty() {
        return Ok(None);
    }
    match number.parse() {
        Ok(mark @ 0..=100) if number.bytes().all(|b| b.is_ascii_digit()) => Ok(Some(mark)),
        _ => Err(format!(
            "The pass mark `{typed}` is no whole number from 0 to 100; leave it empty for the usual one"
        )),
    }
}

/// The rule that is set, over the usual one.
///
/// # Errors
/// A sentence: what is wrong with the mark as typed.
pub fn pass_rule(settings: &Settings, usual: &PassRule) -> Result<PassRule, String> {
    Ok(PassRule {
        mark: typed_mark(&settings.pass_mark)?.map_or(usual.mark, |percent| f64::from(percent) / 100.0),
        cleans: settings
            .pass_cleans
            .clone()
            .unwrap_or_else(|| usual.cleans.clone()),
        basis: usual.basis.clone(),
    })
}

/// Switches a cleaning that no marks make up for on or off. What is as usual again is remembered as that.
pub(super) fn switch(settings: &mut Settings, usual: &PassRule, clean: NeededClean, on: bool) {
    let now = settings.pass_cleans.take();
    let mut now = now.unwrap_or_else(|| usual.cleans.clone());
    now.retain(|known| *known != clean);
    if on {
        now.push(clean);
    }
    let same = NeededClean::ALL
        .iter()
        .all(|(_, needed)| now.contains(needed) == usual.cleans.contains(needed));
    settings.pass_cleans = (!same).then_some(now);
}

/// What can be set, as it is set.
pub fn pass_view(settings: &Settings, usual: &PassRule) -> PassView {
    let (rule, trouble) = match pass_rule(settings, usual) {
        Ok(rule) => (Some(rule), None),
        Err(why) => (None, Some(why)),
    };
    // What is typed and makes no sense leaves the cleanings as they are switched.
    let cleans = settings.pass_cleans.as_ref().unwrap_or(&usual.cleans);
    let at = rule.as_ref().map_or(usual.mark, |rule| rule.mark);
    let percent = (100.0 * at).round() as u32;
    let asked = rule.as_ref().map(PassTerms::of);
    let by_default = PassTerms::of(usual);
    PassView {
        mark: settings.pass_mark.clone(),
        usual: mark_words(usual.mark),
        beside: [
            (percent > 0).then(|| percent.saturating_sub(STEP).to_string()),
            (percent < 100).then(|| (percent + STEP).min(100).to_string()),
        ],
        guards: GUARDS
            .iter()
            .map(|(clean, words)| (*clean, *words, cleans.contains(clean)))
            .collect(),
        set: !settings.pass_mark.trim().is_empty() || settings.pass_cleans.is_some(),
        words: asked.as_ref().map_or_else(String::new, |asked| {
            format!("It passes with {}: {LOCAL_RULE}", asks_words(asked))
        }),
        less: asked.filter(|asked| asked.is_less_than(&by_default)).map(|_| {
            format!(
                "This is less than the usual rule here, which asks for {}. The report will say so",
                asks_words(&by_default)
            )
        }),
        trouble,
    }
}

/// The same where there is nothing but a mark to set.
pub fn mark_view(settings: &Settings, usual: &PassRule) -> PassView {
    let settings = Settings {
        pass_cleans: None,
        ..settings.clone()
    };
    let usual = PassRule {
        cleans: Vec::new(),
        ..usual.clone()
    };
    PassView {
        guards: Vec::new(),
        ..pass_view(&settings, &usual)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usual() -> PassRule {
        PassRule {
            mark: 0.9,
            cleans: vec![NeededClean::AfterGloves, NeededClean::Last],
            basis: "local-pass-mark".to_owned(),
        }
    }

    fn typed(mark: &str) -> Settings {
        Settings {
            pass_mark: mark.to_owned(),
            ..Settings::default()
        }
    }

    #[test]
    fn a_mark_is_a_whole_number_from_0_to_100_and_nothing_is_the_usual_one() {
        for (text, mark) in [
            ("", None),
            (" ", None),
            ("0", Some(0)),
            (" 85 % ", Some(85)),
            ("100", Some(100)),
        ] {
            assert_eq!(typed_mark(text), Ok(mark), "`{text}`");
        }
        for text in ["101", "-1", "+5", "8.5", "most", "4294967296", "٨٥"] {
            let why = typed_mark(text).expect_err(text);
            assert!(why.contains(text) && why.contains("0 to 100"), "{why}");
        }
        assert_eq!(pass_rule(&typed(""), &usual()), Ok(usual()));
        assert_eq!(pass_rule(&typed("85"), &usual()).map(|r| r.mark), Ok(0.85));
    }

    #[test]
    fn whatever_is_less_than_usual_is_said_in_a_sentence_and_what_is_more_is_not() {
        for (mark, less) in [
            ("", false),
            ("90", false),
            ("95", false),
            ("89", true),
            ("0", true),
        ] {
            let view = pass_view(&typed(mark), &usual());
            assert_eq!(view.less.is_some(), less, "{mark}: {:?}", view.less);
            assert!(!view.words.contains("standard") || view.words.contains("no standard"));
        }
        let mut settings = Settings::default();
        switch(&mut settings, &usual(), NeededClean::Last, false);
        let view = pass_view(&settings, &usual());
        let less = view.less.expect("one cleaning less");
        assert!(
            less.contains("90 % of the marks") && less.contains("at the end"),
            "{less}"
        );
        assert!(
            view.words.contains("hands cleaned in full after the gloves:"),
            "{}",
            view.words
        );
        assert!(view.set);
        switch(&mut settings, &usual(), NeededClean::Last, true);
        assert_eq!(settings, Settings::default(), "as usual again");
    }

    #[test]
    fn the_mark_goes_down_and_up_by_steps_and_not_beyond_its_ends() {
        let beside = |mark: &str| pass_view(&typed(mark), &usual()).beside;
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(beside(""), [some("85"), some("95")]);
        assert_eq!(beside("2"), [some("0"), some("7")]);
        assert_eq!(beside("0"), [None, some("5")]);
        assert_eq!(beside("98"), [some("93"), some("100")]);
        assert_eq!(beside("100"), [some("95"), None]);
        let view = pass_view(&typed("many"), &usual());
        assert!(view.trouble.is_some() && view.words.is_empty() && view.less.is_none());
        assert_eq!(view.beside, [some("85"), some("95")], "from the usual one");
    }
}
