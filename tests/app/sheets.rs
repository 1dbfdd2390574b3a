//! Assessing, watching and practising through the window as wired: by keyboard, and by what the desk keeps.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use smirch::drill::Drill;
use smirch::record::{Purpose, Terms};
use smirch::register::{Decision, Entry, Verdict};
use smirch::view::remembered::Remembered;
use smirch::view::settings::Use;
use smirch::view::{Command, Desk, LampUse, Page, SheetCommand, Watch};

use bevy_egui::egui::Key;

use crate::panels::{desk, press, tab_to, window};

/// What was told to whoever keeps things.
#[derive(Default)]
struct Told {
    entries: Vec<Entry>,
    drafts: usize,
    terms: Vec<Terms>,
}

/// Keeps what a register would.
#[derive(Clone, Default)]
struct Kept(Arc<Mutex<Told>>);

impl Kept {
    fn heard(&self) -> MutexGuard<'_, Told> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn entries(&self) -> Vec<Entry> {
        self.heard().entries.clone()
    }

    fn drafts(&self) -> usize {
        self.heard().drafts
    }

    fn terms(&self) -> Vec<Terms> {
        self.heard().terms.clone()
    }
}

impl Watch for Kept {
    fn began(&mut self, _: &Drill, terms: &Terms) {
        self.heard().terms.push(terms.clone());
    }

    fn drafted(&mut self, _: &Entry) {
        self.heard().drafts += 1;
    }

    fn keeps(&mut self, entry: &Entry) -> Option<Result<String, String>> {
        self.heard().entries.push(entry.clone());
        Some(Ok("Signed, and kept".to_owned()))
    }
}

fn kept_desk() -> (Desk, Kept) {
    let (mut desk, kept) = (desk(), Kept::default());
    desk.watched_by(Box::new(kept.clone()));
    (desk, kept)
}

#[test]
fn nothing_on_the_screen_helps_whoever_is_assessed_and_all_start_alike() {
    let (mut desk, kept) = kept_desk();
    desk.apply(Command::Lamp(LampUse::On));
    desk.apply(Command::Names);
    desk.apply(Command::Code("K7".to_owned()));
    desk.apply(Command::Purpose(Use::Assess));
    desk.apply(Command::Begin);
    let seed = desk.drill().map(Drill::seed);
    let help = [
        Command::Names,
        Command::Trace,
        Command::Numbers,
        Command::LampSwitch,
        Command::Peek(true),
        Command::TakeBack,
        Command::TellNext,
    ];
    let site = desk
        .drill()
        .and_then(|d| d.setup().site("left-glove-cuff"))
        .expect("gloves");
    desk.apply(Command::Choose(site));
    for command in help {
        desk.apply(command.clone());
        let view = desk.drill_view().expect("a drill");
        assert!(
            !view.lamp && view.asked.is_none() && !view.hints && !view.trace,
            "{command:?}"
        );
        assert!(view.now.is_none() && view.just_now.is_none(), "{command:?}");
        assert!(!desk.named() && desk.numbers_view().is_none(), "{command:?}");
    }
    // What is still on is asked before the end; what the sequence would want is not told.
    desk.apply(Command::Finish);
    let left = desk.drill_view().and_then(|v| v.finishing).expect("it is asked");
    assert!(left.iter().any(|l| l.contains("still wear")), "{left:?}");
    assert!(!left.iter().any(|l| l.contains("cleaned")), "{left:?}");
    desk.apply(Command::FinishAnyway);
    assert_eq!(desk.page(), Page::Sheet);
    assert_eq!(kept.terms()[0].purpose, Purpose::Assessment);
    desk.apply(Command::Sheet(SheetCommand::Leave));
    assert_eq!(desk.settings().lamp, LampUse::On, "what was set is there again");
    assert!(desk.settings().names);
    desk.apply(Command::Begin);
    assert_eq!(
        desk.drill().map(Drill::seed),
        seed,
        "the same start for everybody"
    );
}

#[test]
fn an_assessment_is_ticked_decided_and_signed_by_keyboard() {
    let (mut desk, kept) = kept_desk();
    desk.apply(Command::Code("K7".to_owned()));
    desk.apply(Command::Purpose(Use::Assess));
    desk.apply(Command::Begin);
    desk.apply(Command::FinishAnyway);
    let mut harness: Harness<'_, Desk> = window(desk, [1280.0, 720.0]);
    let first = harness.state().sheet_view().expect("a sheet").steps[0]
        .ask
        .clone();
    tab_to(&mut harness, &format!("As asked: {first}"));
    press(&mut harness, Key::Enter);
    let view = harness.state().sheet_view().expect("a sheet");
    assert_eq!(
        (view.steps[0].verdict, view.steps[0].overruled),
        (Verdict::Met, true)
    );
    press(&mut harness, Key::F9);
    let view = harness.state().sheet_view().expect("a sheet");
    assert!(
        view.signed.is_none() && view.trouble.is_some_and(|t| t.contains("Say why")),
        "an overruled step wants a reason"
    );
    for command in [
        SheetCommand::Remark(view.at[0], "Seen from the side".to_owned()),
        SheetCommand::Decide(Decision::Again),
        SheetCommand::Observer("AB".to_owned()),
    ] {
        harness.state_mut().apply(Command::Sheet(command));
    }
    press(&mut harness, Key::F9);
    let entries = kept.entries();
    assert_eq!(entries.len(), 1);
    let sheet = entries[0].judged().expect("a sheet");
    assert_eq!(sheet.attempt, kept.terms()[0].attempt, "it names the attempt");
    assert!(kept.drafts() > 2, "each tick was kept as it came");
    press(&mut harness, Key::F9);
    assert_eq!(kept.entries().len(), 1, "once signed, that is that");
    assert!(harness.query_by_label("Of K7, signed by AB").is_some());
    press(&mut harness, Key::F8);
    assert_eq!(harness.state().page(), Page::Debrief);
    press(&mut harness, Key::F8);
    assert_eq!(harness.state().page(), Page::Sheet);
    press(&mut harness, Key::Escape);
    assert_eq!(harness.state().page(), Page::Start);
}

/// The rule to pass by is set where the assessment is, by keyboard and by pointer, holds for it, and is there again.
#[test]
fn the_rule_to_pass_by_is_set_before_an_assessment_begins() {
    let (mut desk, kept) = kept_desk();
    desk.apply(Command::Code("K7".to_owned()));
    desk.apply(Command::Purpose(Use::Assess));
    let mut harness: Harness<'_, Desk> = window(desk, [1280.0, 720.0]);
    tab_to(&mut harness, "A lower pass mark");
    press(&mut harness, Key::Enter);
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().settings().pass_mark, "80");
    tab_to(&mut harness, "Hands cleaned in full at the end");
    press(&mut harness, Key::Space);
    let pass = harness.state().start_view().pass.expect("there are rules");
    let less = pass.less.expect("it is less than usual");
    assert!(less.contains("90 % of the marks"), "{less}");
    assert!(harness.query_by_label(&less).is_some(), "it is told on the page");
    harness
        .get_by_label("Hands cleaned in full after the gloves")
        .click();
    harness.run_steps(2);
    let kept_settings = Remembered::of(harness.state().settings_to_keep(), (1280, 720));
    assert_eq!(kept_settings.pass_mark, Some(80));
    assert_eq!(kept_settings.pass_cleans, Some(Vec::new()));
    press(&mut harness, Key::F9);
    let pass = kept.terms()[0].pass.clone().expect("an assessment has its rule");
    assert_eq!((pass.mark, pass.cleans.len()), (0.8, 0));
    // What is set later is not that of this one.
    harness.state_mut().apply(Command::PassMark("10".to_owned()));
    harness.state_mut().apply(Command::FinishAnyway);
    for command in [
        SheetCommand::Decide(Decision::Again),
        SheetCommand::Observer("AB".to_owned()),
        SheetCommand::Sign,
    ] {
        harness.state_mut().apply(Command::Sheet(command));
    }
    let view = harness.state().sheet_view().expect("a sheet");
    assert!(
        view.rule.contains("80 % of the marks and no critical error")
            && view.rule.contains("less than the usual rule"),
        "{}",
        view.rule
    );
    assert!(view.pass.is_none(), "it is not to be changed any more");
    let entries = kept.entries();
    let sheet = entries[0].judged().expect("a sheet");
    assert_eq!((sheet.rule.mark, sheet.rule.is_less()), (0.8, true));
    harness.state_mut().apply(Command::Sheet(SheetCommand::Leave));
    harness.run_steps(2);
    harness.get_by_label("The usual rule").click();
    harness.run_steps(2);
    let pass = harness.state().start_view().pass.expect("there are rules");
    assert!(!pass.set && pass.less.is_none());
}

#[test]
fn a_pass_mark_that_is_none_keeps_an_assessment_from_beginning() {
    let (mut desk, kept) = kept_desk();
    desk.apply(Command::PassMark("101".to_owned()));
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Drill, "it has to do with assessments only");
    desk.apply(Command::Home);
    desk.apply(Command::Purpose(Use::Assess));
    desk.apply(Command::Begin);
    assert_eq!((desk.page(), kept.terms().len()), (Page::Start, 1));
    let why = desk.start_view().refusal.expect("it is told");
    assert!(why.contains("`101`") && why.contains("0 to 100"), "{why}");
}

#[test]
fn the_rule_for_a_real_person_is_set_until_the_first_tick() {
    let (desk, kept) = kept_desk();
    let mut harness: Harness<'_, Desk> = window(desk, [1280.0, 720.0]);
    press(&mut harness, Key::F10);
    tab_to(&mut harness, "Another rule");
    press(&mut harness, Key::Enter);
    tab_to(&mut harness, "A lower pass mark");
    press(&mut harness, Key::Enter);
    harness.state_mut().apply(Command::PassMark("never".to_owned()));
    harness.state_mut().apply(Command::PassMark("70".to_owned()));
    harness.run_steps(2);
    assert!(
        harness
            .query_by_label("Hands cleaned in full at the end")
            .is_some(),
        "kit is taken off"
    );
    let view = harness.state().sheet_view().expect("a sheet");
    let on = view
        .by
        .iter()
        .position(|(label, _)| label.starts_with("Putting on"));
    let on = SheetCommand::By(on.expect("a checklist"));
    harness.state_mut().apply(Command::Sheet(on));
    harness.run_steps(2);
    assert!(
        harness
            .query_by_label("Hands cleaned in full at the end")
            .is_none(),
        "its cleanings are for taking off"
    );
    let first = harness.state().sheet_view().expect("a sheet").at[0];
    harness
        .state_mut()
        .apply(Command::Sheet(SheetCommand::Say(first, Verdict::NotMet)));
    harness.state_mut().apply(Command::PassMark("10".to_owned()));
    harness.run_steps(2);
    let view = harness.state().sheet_view().expect("a sheet");
    assert!(view.rule.contains("70 % of the marks"), "{}", view.rule);
    assert!(harness.query_by_label("Another rule").is_none());
    for command in [
        SheetCommand::Decide(Decision::Again),
        SheetCommand::Observer("AB".to_owned()),
        SheetCommand::Sign,
    ] {
        harness.state_mut().apply(Command::Sheet(command));
    }
    let rule = kept.entries()[0].judged().expect("a sheet").rule.clone();
    assert_eq!((rule.mark, rule.cleans.len(), rule.is_less()), (0.7, 0, true));
}

#[test]
fn a_real_person_is_watched_from_the_first_page() {
    let (desk, kept) = kept_desk();
    let mut harness: Harness<'_, Desk> = window(desk, [1280.0, 720.0]);
    press(&mut harness, Key::F10);
    assert_eq!(harness.state().page(), Page::Sheet);
    let by = harness.state().sheet_view().expect("a sheet").by;
    let on = by
        .iter()
        .position(|(label, _)| label.starts_with("Putting on"))
        .expect("a checklist");
    harness.state_mut().apply(Command::Sheet(SheetCommand::By(on)));
    let view = harness.state().sheet_view().expect("a sheet");
    assert!(view.title.contains("putting on"));
    for &n in &view.at {
        harness
            .state_mut()
            .apply(Command::Sheet(SheetCommand::Say(n, Verdict::Met)));
    }
    harness
        .state_mut()
        .apply(Command::Sheet(SheetCommand::Decide(Decision::Passed)));
    harness
        .state_mut()
        .apply(Command::Sheet(SheetCommand::Observer("AB".to_owned())));
    press(&mut harness, Key::F9);
    assert_eq!(
        kept.entries().len(),
        1,
        "{:?}",
        harness.state().sheet_view().map(|v| v.wanting)
    );
}

#[test]
fn whoever_practises_sees_it_first_and_is_told_less_as_it_goes_well() {
    let (mut desk, kept) = kept_desk();
    desk.apply(Command::Purpose(Use::Practise));
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Replay, "it is shown first");
    let steps = desk.replay_view().expect("shown").playback.rows.len();
    for _ in 0..steps {
        desk.apply(Command::StepOn);
        assert!(
            desk.replay_view().and_then(|v| v.why).is_some(),
            "every step has its reason"
        );
    }
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Drill, "then it is done");
    let terms = kept.terms();
    let rung = terms[0].rung.as_ref().expect("a rung");
    assert!(rung.takes_back && !rung.prompts.is_empty() && !rung.disturbed);
    assert!(desk.drill_view().and_then(|v| v.asked).is_some());
    desk.apply(Command::Wait);
    desk.apply(Command::TakeBack);
    assert_eq!(desk.drill().map(|d| d.done().len()), Some(0));
    desk.apply(Command::FinishAnyway);
    while desk.working() {
        desk.apply(Command::Poll);
        std::thread::yield_now();
    }
    let goes = desk.debrief_view().and_then(|v| v.goes).expect("it is told");
    assert!(!goes.working && !goes.next.is_empty());
}
