//! What commands do to the page of whoever watches.

use crate::register::{About, Attempt, Drafts, Entry, Judged, Moment, Watching};
use crate::report::{judged_drawing, judged_html, report_name};

use super::super::command::{Command, Page};
use super::super::pass::{mark_view, pass_rule, pass_view, switch};
use super::super::sheet::{Sheet, SheetCommand, SheetView};
use super::super::words::sentence;
use super::{Desk, Effect};
use crate::record::{Id, Purpose, Terms};

impl Desk {
    /// True while somebody is assessed: nothing on the screen helps.
    pub(super) fn assessed(&self) -> bool {
        self.page == Page::Drill && self.terms.purpose == Purpose::Assessment
    }

    /// The page of whoever watches, if it is open.
    pub fn sheet_view(&self) -> Option<SheetView> {
        let sheet = self.sheet.as_ref()?;
        let library = &self.content.library;
        let mut view = sheet.view(library, self.told.clone());
        view.pass =
            library
                .register
                .as_ref()
                .filter(|_| view.fresh)
                .map(|rules| match sheet.judged().watching {
                    // Its cleanings are for taking off.
                    Watching::PuttingOn => mark_view(&self.settings, &rules.pass),
                    Watching::Screen | Watching::TakingOff => pass_view(&self.settings, &rules.pass),
                });
        Some(view)
    }

    /// Opens the assessor's page for the attempt that has just ended.
    pub(super) fn assess(&mut self) {
        let (Some(drill), Some(sequence)) = (&self.drill, self.sequence()) else {
            return;
        };
        let Some(rules) = &self.content.library.register else {
            return;
        };
        let about = About {
            attempt: self.terms.attempt.unwrap_or_else(Id::fresh),
            began: self.began,
            finished: true,
            content: self.content.digest,
            terms: &self.terms,
            told: Vec::new(),
            log: None,
        };
        let attempt = Attempt::as_judged(drill, sequence, about);
        let missed = drill.setup().scenario.marks.missed;
        let mut judged = Judged::of_attempt(&attempt, &rules.pass, missed);
        // As it was when the attempt began, which may have been before the program was stopped.
        if let Some(own) = &self.terms.pass {
            judged.judge_by(&own.rule(), &rules.pass);
        }
        let person = self.terms.person.clone();
        self.sheet = Some(Sheet::of_screen(
            judged,
            person.as_ref(),
            self.settings.observer.clone(),
        ));
        self.told = None;
        self.page = Page::Sheet;
        self.draft();
    }

    /// Sets the rule that whatever is assessed or watched next passes by; that of a sheet too, until the first tick of a real person.
    pub(super) fn set_pass(&mut self, command: Command) {
        let library = self.content.library.clone();
        let Some(rules) = &library.register else { return };
        match command {
            Command::PassMark(text) => self.settings.pass_mark = text,
            Command::PassClean(clean, on) => switch(&mut self.settings, &rules.pass, clean, on),
            _ => {
                self.settings.pass_mark.clear();
                self.settings.pass_cleans = None;
            }
        }
        if let (Some(sheet), Ok(rule)) = (&mut self.sheet, pass_rule(&self.settings, &rules.pass))
            && self.page == Page::Sheet
        {
            sheet.judge_by(&rule, &rules.pass);
        }
    }

    /// Opens an empty sheet for a real person: the nth of what the chosen scenario can be watched by.
    pub(super) fn observe(&mut self, nth: usize) {
        let library = &self.content.library;
        let Some(scenario) = library.scenarios.get(self.settings.scenario) else {
            return;
        };
        let Some(rules) = &library.register else {
            self.refusal =
                Some("This content has no rules for a register, so nobody can be watched by them".to_owned());
            return;
        };
        let pass = match pass_rule(&self.settings, &rules.pass) {
            Ok(pass) => pass,
            // On the sheet it is said beside what was typed.
            Err(_) if self.page == Page::Sheet => rules.pass.clone(),
            Err(why) => {
                self.refusal = Some(why);
                return;
            }
        };
        let who = match &self.sheet {
            Some(sheet) if self.page == Page::Sheet => sheet.typed_who(),
            _ => [
                self.settings.code.clone(),
                self.settings.ward.clone(),
                self.settings.group.clone(),
            ],
        };
        let observer = match &self.sheet {
            Some(sheet) if self.page == Page::Sheet => sheet.observer().to_owned(),
            _ => self.settings.observer.clone(),
        };
        let usual = rules.pass.clone();
        if let Some(mut sheet) = Sheet::of_real(library, scenario, &usual, nth, who, observer) {
            sheet.judge_by(&pass, &usual);
            self.sheet = Some(sheet);
            self.drill = None;
            self.told = None;
            self.page = Page::Sheet;
        }
    }

    /// Opens a sheet that was left unsigned.
    pub(super) fn open_sheet(&mut self, id: Id) {
        let found = self
            .drafts_left()
            .into_iter()
            .find(|entry| entry.judged().is_some_and(|j| j.sheet == id));
        let usual = || [self.settings.ward.clone(), self.settings.group.clone()];
        match found
            .as_ref()
            .and_then(|entry| Sheet::again(entry, Moment::now(), usual()))
        {
            Some(_) if !self.watch.iter_mut().all(|watch| watch.opens(id)) => {
                self.refusal = Some("This sheet is open in another window".to_owned());
            }
            Some(sheet) => {
                self.sheet = Some(sheet);
                self.drill = None;
                self.told = None;
                self.page = Page::Sheet;
            }
            None => self.refusal = Some("This sheet is not there any more".to_owned()),
        }
    }

    /// Sheets that were left unsigned, the newest first.
    pub(super) fn drafts_left(&self) -> Vec<Entry> {
        let logs = self.logs.as_deref();
        logs.and_then(|logs| Drafts::beside(logs).all().ok())
            .unwrap_or_default()
    }

    /// Has the sheet kept as it stands, so that nothing is lost whatever happens.
    fn draft(&mut self) {
        if let Some(sheet) = self.sheet.as_ref().filter(|sheet| !sheet.is_signed()) {
            let entry = sheet.entry();
            for watch in &mut self.watch {
                watch.drafted(&entry);
            }
        }
    }

    pub(super) fn apply_to_sheet(&mut self, command: SheetCommand) {
        let Some(sheet) = &mut self.sheet else { return };
        match command {
            SheetCommand::Sign => self.sign(),
            SheetCommand::Save => {
                let judged = sheet.entry();
                let person = judged.person.clone();
                if let Some(judged) = judged.judged() {
                    let name = report_name(&judged.sequence.id, person.as_ref(), judged.began);
                    let html = judged_html(person.as_ref(), judged, sheet.signed_at());
                    self.effects
                        .push(Effect::SaveReport(name, html, judged_drawing(judged)));
                }
            }
            SheetCommand::LookBack if self.drill.is_some() => self.page = Page::Debrief,
            SheetCommand::Leave => {
                // What nothing was said in is no sheet.
                if !sheet.is_begun() && !sheet.is_signed() {
                    self.discard();
                }
                self.put_sheet_away();
                self.go_home();
            }
            SheetCommand::Discard => {
                if !sheet.is_signed() {
                    self.discard();
                }
                self.put_sheet_away();
                self.go_home();
            }
            SheetCommand::By(nth) => {
                if !sheet.is_begun() && sheet.judged().watching.is_real() {
                    self.observe(nth);
                }
            }
            other => {
                if sheet.apply(&other) {
                    // Who watched is asked once a day and not for every person.
                    self.settings.observer = sheet.observer().to_owned();
                    self.draft();
                }
            }
        }
    }

    /// The sheet is not on the desk any more.
    pub(super) fn put_sheet_away(&mut self) {
        self.sheet = None;
        for watch in &mut self.watch {
            watch.puts_away();
        }
    }

    fn discard(&mut self) {
        if let Some(id) = self.sheet.as_ref().map(|sheet| sheet.judged().sheet) {
            for watch in &mut self.watch {
                watch.discarded(id);
            }
        }
    }

    fn sign(&mut self) {
        let Some(sheet) = &mut self.sheet else { return };
        if sheet.is_signed() {
            return;
        }
        let Ok(entry) = sheet.sign() else { return };
        let kept = self.watch.iter_mut().find_map(|watch| watch.keeps(&entry));
        let nowhere = kept.is_none();
        let told = match kept {
            Some(Ok(told)) => told,
            None => "Signed. It is kept nowhere: there is no register here, so save the report".to_owned(),
            Some(Err(why)) => {
                sheet.refused(sentence(&why));
                return;
            }
        };
        sheet.kept(told);
        // Whoever comes next is somebody else.
        self.settings.code.clear();
        if let Some(before) = &mut self.before_terms {
            before.code.clear();
        }
        if nowhere {
            self.discard();
        }
    }

    /// What an attempt is made under from now on.
    pub(super) fn under(&mut self, terms: Terms) {
        self.began = Moment::now();
        self.terms = terms;
    }
}
