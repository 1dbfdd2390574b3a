//! The page of whoever watches: each step with what was done and when, what they say of it, their decision, and their name to it.
//! For an attempt at the screen it comes filled in; for a real person it is ticked while they do it.

use crate::model::{Checklist, Library, PassRule, Scenario, Sequence};
use crate::outside::clock::Stopwatch;
use crate::record::{Code, Id, Person};
use crate::register::{
    Decision, Entry, Judged, JudgedStep, MOST_REMARK, Moment, Short, Verdict, Wanting, Watching, What,
};
use crate::report::lost_words;
use crate::report::register::{LOCAL_RULE, less_words, sheet_asks_words};

use super::pass::PassView;
use super::words::{clock, sentence};

/// What can be done with a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum SheetCommand {
    /// Says of the nth step how it was done.
    Say(usize, Verdict),
    /// A remark on the nth step.
    Remark(usize, String),
    /// Whether the nth critical error stands.
    Stands(usize, bool),
    /// A remark on it.
    CriticalRemark(usize, String),
    /// Whatever else is to be said.
    Comment(String),
    /// The decision.
    Decide(Decision),
    /// Who watched, as typed.
    Observer(String),
    /// Who was watched: code, ward and group, as typed.
    Who([String; 3]),
    /// Another sequence or checklist, by its place among those offered; before anything was ticked.
    By(usize),
    /// Signs it: it is kept and cannot be changed any more.
    Sign,
    /// Writes the report.
    Save,
    /// Looks back at the attempt, with the lamp on.
    LookBack,
    /// Leaves it unsigned: it can be gone on with.
    Leave,
    /// The clock of a real person begins now; before anything was ticked.
    Begin,
    /// Throws an unsigned sheet of a real person away.
    Discard,
}

/// A sheet on the desk.
#[derive(Clone, Debug)]
pub struct Sheet {
    judged: Judged,
    /// The scenario whose sequences a real person can be watched by.
    offered: Option<String>,
    /// Code, ward and group of whoever is watched, as typed.
    who: [String; 3],
    observer: String,
    /// When the clock was started, and what it showed then, s; it stands still on a sheet that was filled in or signed, and
    /// until a real person begins or is ticked.
    running: Option<(Stopwatch, f64)>,
    /// Where it is kept, once it is signed, and when that was.
    signed: Option<(String, Moment)>,
    /// Why it cannot be signed.
    trouble: Option<String>,
}

/// A step as the page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetStep {
    /// What is asked.
    pub ask: String,
    /// What the program found, with the time; the time of the tick of a real person.
    pub found: String,
    /// What was done for it.
    pub did: Vec<String>,
    /// Its reasons.
    pub why: Vec<String>,
    /// What is said of it.
    pub verdict: Verdict,
    /// True if that differs from what the program found.
    pub overruled: bool,
    /// The remark as typed.
    pub remark: String,
    /// True if it is due next: nothing was said of it and of nothing after it.
    pub next: bool,
}

/// A critical error as the page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetCritical {
    /// What it is, or what happened.
    pub what: String,
    /// True if the program found it.
    pub found: bool,
    /// True if it stands.
    pub stands: bool,
    /// The remark as typed.
    pub remark: String,
}

/// Everything that the page shows.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetView {
    /// What it is known by.
    pub sheet: Id,
    /// What it is.
    pub title: String,
    /// Scenario, sequence, when.
    pub sub: String,
    /// True if a real person is watched.
    pub real: bool,
    /// The clock, or how long it took.
    pub clock: String,
    /// True while the clock runs.
    pub running: bool,
    /// True if a real person has not begun: the clock stands.
    pub waits: bool,
    /// Code, ward and group as typed.
    pub who: [String; 3],
    /// Sequences and checklists to choose from, with the one chosen; empty where there is no choice.
    pub by: Vec<(String, bool)>,
    /// True if nothing was ticked of a real person yet.
    pub fresh: bool,
    /// The rule to pass by as it can be set; none once anything was ticked, or of an attempt at the screen.
    pub pass: Option<PassView>,
    /// Every step of the kit.
    pub steps: Vec<SheetStep>,
    /// Indices of those steps in the sheet.
    pub at: Vec<usize>,
    /// Critical errors.
    pub critical: Vec<SheetCritical>,
    /// Marks in words.
    pub marks: String,
    /// What the rule makes of it, in words.
    pub rule: String,
    /// The decision.
    pub decision: Decision,
    /// The comment as typed.
    pub comment: String,
    /// The observer as typed.
    pub observer: String,
    /// What is wanted before it can be signed, as sentences.
    pub wanting: Vec<String>,
    /// Where it is kept, once it is signed.
    pub signed: Option<String>,
    /// Why it cannot be signed.
    pub trouble: Option<String>,
    /// What was told last, such as where the report went.
    pub told: Option<String>,
}

/// Everything by which a real person can be watched: the sequences of a scenario, then checklists for putting on.
pub fn watched_by<'a>(library: &'a Library, scenario: &Scenario) -> (Vec<&'a Sequence>, &'a [Checklist]) {
    let sequences = super::start::sequence_ids(scenario)
        .iter()
        .filter_map(|id| library.sequence(id))
        .collect();
    (sequences, &library.checklists)
}

/// After how long nobody is watched any more who was watched when the program stopped, s: an hour,
/// common practice, no source.
const GOES_ON: f64 = 3600.0;

fn typed(text: &str) -> String {
    text.chars().take(MOST_REMARK).collect()
}

impl Sheet {
    /// The sheet of an attempt at the screen.
    pub fn of_screen(judged: Judged, person: Option<&Person>, observer: String) -> Sheet {
        Sheet {
            who: who(person),
            observer,
            running: None,
            signed: None,
            trouble: None,
            offered: None,
            judged,
        }
    }

    /// The sheet of a real person, its clock running: the nth of what the scenario can be watched by.
    pub fn of_real(
        library: &Library,
        scenario: &Scenario,
        rule: &PassRule,
        nth: usize,
        who: [String; 3],
        observer: String,
    ) -> Option<Sheet> {
        let (sequences, checklists) = watched_by(library, scenario);
        let now = Moment::now();
        let judged = match sequences.get(nth) {
            Some(sequence) => Judged::of_sequence(library, scenario, sequence, rule, now),
            None => Judged::of_checklist(checklists.get(nth - sequences.len())?, rule, now),
        };
        Some(Sheet {
            who,
            observer,
            running: None,
            offered: Some(scenario.id.clone()),
            signed: None,
            trouble: None,
            judged,
        })
    }

    /// A sheet that was left unsigned, as it stood. A real person went on meanwhile, so their clock stands where it would if
    /// nothing had been left; after a long time it goes on from the last tick. `usual` are ward and group for whoever was not
    /// named yet.
    pub fn again(entry: &Entry, now: Moment, usual: [String; 2]) -> Option<Sheet> {
        let judged = entry.judged()?.clone();
        let observer = judged.observer.as_ref().map_or_else(String::new, Code::to_string);
        let since = (now.millis() - judged.began.millis()) as f64 / 1000.0;
        let stands = match since <= GOES_ON {
            true => since.max(judged.seconds),
            false => judged.seconds,
        };
        let running = judged.watching.is_real().then(|| (Stopwatch::start(), stands));
        let [ward, group] = usual;
        Some(Sheet {
            who: match &entry.person {
                None => [String::new(), ward, group],
                person => who(person.as_ref()),
            },
            observer,
            running,
            offered: judged.scenario.as_ref().map(|s| s.id.clone()),
            signed: None,
            trouble: None,
            judged,
        })
    }

    /// What it says.
    pub fn judged(&self) -> &Judged {
        &self.judged
    }

    /// Judged by another rule from now on, with the usual one beside it: of a real person of whom nothing was ticked yet.
    pub(super) fn judge_by(&mut self, rule: &PassRule, usual: &PassRule) {
        if self.judged.watching.is_real() && !self.is_begun() && !self.is_signed() {
            self.judged.judge_by(rule, usual);
        }
    }

    /// True once it is signed.
    pub fn is_signed(&self) -> bool {
        self.signed.is_some()
    }

    /// When it was signed, if it was.
    pub fn signed_at(&self) -> Option<Moment> {
        self.signed.as_ref().map(|(_, at)| *at)
    }

    /// Code, ward and group as typed.
    pub fn typed_who(&self) -> [String; 3] {
        self.who.clone()
    }

    /// It could not be kept, for this reason.
    pub fn refused(&mut self, why: String) {
        self.trouble = Some(why);
    }

    /// Initials as typed.
    pub fn observer(&self) -> &str {
        &self.observer
    }

    /// True if anything was said of any step or critical error that can be said of a real person.
    pub fn is_begun(&self) -> bool {
        self.judged.steps.iter().any(JudgedStep::counts) || self.judged.critical.iter().any(|c| c.stands)
    }

    fn seconds(&self) -> f64 {
        match self.running {
            Some((since, before)) => before + since.passed().as_secs_f64(),
            None => self.judged.seconds,
        }
    }

    /// Changes it; true if it did. Nothing changes once it is signed.
    pub fn apply(&mut self, command: &SheetCommand) -> bool {
        if self.is_signed() {
            return false;
        }
        self.trouble = None;
        let real = self.judged.watching.is_real();
        let ticks = matches!(command, SheetCommand::Say(..) | SheetCommand::Stands(..));
        if real && ticks && self.running.is_none() {
            // The first tick begins it, if nobody said that they begin.
            self.judged.began = Moment::now();
            self.running = Some((Stopwatch::start(), 0.0));
        }
        let now = self.seconds();
        let (running, begun) = (self.running.is_some(), self.is_begun());
        let judged = &mut self.judged;
        match command {
            SheetCommand::Say(n, verdict) => {
                let Some(step) = judged.steps.get_mut(*n) else {
                    return false;
                };
                step.verdict = *verdict;
                if running {
                    judged.seconds = now;
                    let said = matches!(verdict, Verdict::Met | Verdict::NotMet);
                    // The first tick tells when; saying otherwise later does not move it.
                    step.at = if said { step.at.or(Some(now)) } else { None };
                }
            }
            SheetCommand::Remark(n, text) => {
                let Some(step) = judged.steps.get_mut(*n) else {
                    return false;
                };
                step.remark = typed(text);
            }
            SheetCommand::Stands(n, stands) => {
                let Some(critical) = judged.critical.get_mut(*n) else {
                    return false;
                };
                critical.stands = *stands;
                if running {
                    critical.at = stands.then_some(now);
                    judged.seconds = now;
                }
            }
            SheetCommand::CriticalRemark(n, text) => {
                let Some(critical) = judged.critical.get_mut(*n) else {
                    return false;
                };
                critical.remark = typed(text);
            }
            SheetCommand::Comment(text) => judged.comment = typed(text),
            SheetCommand::Decide(decision) => judged.decision = *decision,
            SheetCommand::Observer(text) => self.observer.clone_from(text),
            SheetCommand::Who(who) => self.who.clone_from(who),
            SheetCommand::Begin if real && !begun => {
                judged.began = Moment::now();
                self.running = Some((Stopwatch::start(), 0.0));
            }
            _ => return false,
        }
        true
    }

    /// Whoever was watched, if a code was typed.
    ///
    /// # Errors
    /// A sentence: what code, ward or group cannot be.
    pub fn person(&self) -> Result<Option<Person>, String> {
        let [code, ward, group] = &self.who;
        super::settings::person(code, ward, group)
    }

    /// As an entry, signed or not.
    pub fn entry(&self) -> Entry {
        let mut judged = self.judged.clone();
        judged.observer = Code::new(&self.observer).ok();
        Entry {
            // One sheet is one entry, however often it is kept.
            id: judged.sheet,
            ..Entry::new(self.person().ok().flatten(), What::Judged(Box::new(judged)))
        }
    }

    /// As an entry to be kept for good: its clock stands still.
    ///
    /// # Errors
    /// A sentence: what is still wanted.
    pub fn sign(&mut self) -> Result<Entry, String> {
        match self.ready() {
            Ok(()) => {
                if let Some((since, before)) = self.running.take() {
                    self.judged.seconds = before + since.passed().as_secs_f64();
                }
                Ok(self.entry())
            }
            Err(why) => {
                self.trouble = Some(why.clone());
                Err(why)
            }
        }
    }

    fn ready(&self) -> Result<(), String> {
        self.person().map_err(|why| sentence(&why))?;
        if !self.observer.trim().is_empty() {
            Code::new(&self.observer).map_err(|why| sentence(&why.replace("a code", "who watched")))?;
        }
        match self.wanting().first() {
            None => Ok(()),
            Some(wanting) => Err(wanting.words(&self.judged)),
        }
    }

    fn wanting(&self) -> Vec<Wanting> {
        let mut judged = self.judged.clone();
        judged.observer = Code::new(&self.observer).ok();
        judged.wanting()
    }

    /// It is kept there now.
    pub fn kept(&mut self, told: String) {
        self.signed = Some((told, Moment::now()));
    }

    /// What the page shows.
    pub fn view(&self, library: &Library, told: Option<String>) -> SheetView {
        let judged = &self.judged;
        let real = judged.watching.is_real();
        let at: Vec<usize> = (0..judged.steps.len())
            .filter(|&n| real || judged.steps[n].verdict != Verdict::NotApplicable)
            .collect();
        let last = judged.steps.iter().rposition(JudgedStep::counts);
        let due = (last.map_or(0, |n| n + 1)..judged.steps.len())
            .find(|&n| judged.steps[n].verdict == Verdict::NotSeen);
        let steps = at
            .iter()
            .map(|&n| {
                step(
                    judged,
                    &judged.steps[n],
                    real && due == Some(n) && !self.is_signed(),
                )
            })
            .collect();
        let (left, of) = judged.marks();
        let short = judged.falls_short();
        let by = self
            .offered
            .as_ref()
            .and_then(|id| library.scenario(id))
            .filter(|_| real && !self.is_signed())
            .map(|scenario| offered(library, scenario, &judged.sequence.id))
            .unwrap_or_default();
        let scenario = judged.scenario.as_ref().map(|s| s.label.clone());
        let parts: Vec<String> = scenario
            .into_iter()
            .chain([judged.sequence.label.clone(), judged.began.words()])
            .collect();
        SheetView {
            sheet: judged.sheet,
            title: match judged.watching {
                Watching::Screen => "Assessment",
                Watching::TakingOff => "Watching: taking off",
                Watching::PuttingOn => "Watching: putting on",
            }
            .to_owned(),
            sub: parts.join(" · "),
            real,
            clock: clock(self.seconds()),
            running: self.running.is_some(),
            waits: real && self.running.is_none() && !self.is_signed(),
            who: self.who.clone(),
            by,
            fresh: real && !self.is_begun() && !self.is_signed(),
            pass: None,
            steps,
            at,
            critical: judged
                .critical
                .iter()
                .map(|critical| SheetCritical {
                    what: match critical.at.filter(|_| critical.found) {
                        Some(at) => format!("{} {}", clock(at), sentence(&critical.what)),
                        None => sentence(&critical.what),
                    },
                    found: critical.found,
                    stands: critical.stands,
                    remark: critical.remark.clone(),
                })
                .collect(),
            marks: match (left, real) {
                (None, _) => "No marks beside a critical error".to_owned(),
                (Some(left), false) => format!("{left} of {of} marks"),
                (Some(_), true) if of == 0.0 => "Nothing ticked yet".to_owned(),
                (Some(left), true) => format!("{left} of {of} steps seen as asked"),
            },
            rule: rule_words(judged, &short),
            decision: judged.decision,
            comment: judged.comment.clone(),
            observer: self.observer.clone(),
            wanting: self.wanting().iter().map(|w| w.words(judged)).collect(),
            signed: self.signed.as_ref().map(|(told, _)| told.clone()),
            trouble: self.trouble.clone(),
            told,
        }
    }
}

fn who(person: Option<&Person>) -> [String; 3] {
    let label =
        |label: Option<&crate::record::Label>| label.map_or_else(String::new, |l| l.as_str().to_owned());
    match person {
        None => Default::default(),
        Some(person) => [
            person.code.to_string(),
            label(person.ward.as_ref()),
            label(person.group.as_ref()),
        ],
    }
}

fn offered(library: &Library, scenario: &Scenario, chosen: &str) -> Vec<(String, bool)> {
    let (sequences, checklists) = watched_by(library, scenario);
    let sequences = sequences
        .into_iter()
        .map(|s| (format!("Taking off: {}", s.label), s.id == chosen));
    let checklists = checklists.iter().map(|c| (c.label.clone(), c.id == chosen));
    sequences.chain(checklists).collect()
}

/// What the rule makes of a sheet, and whose rule it is.
fn rule_words(judged: &Judged, short: &[Short]) -> String {
    let found = if !judged.steps.iter().any(JudgedStep::counts) {
        "Nothing to go by yet".to_owned()
    } else if short.is_empty() {
        "By the rule: passed".to_owned()
    } else {
        let why: Vec<&str> = short.iter().map(|s| s.words()).collect();
        format!("By the rule: not passed ({})", why.join("; "))
    };
    let less = less_words(&judged.rule).map_or_else(String::new, |less| format!(". {less}"));
    format!(
        "{found}. It asks for {}; {LOCAL_RULE}{less}",
        sheet_asks_words(judged)
    )
}

fn step(judged: &Judged, step: &JudgedStep, next: bool) -> SheetStep {
    let how = step.found.as_ref().map(|found| sentence(&found.words()));
    let lost = step
        .found
        .as_ref()
        .filter(|f| f.lost > 0.0)
        .map(|f| lost_words(f.lost));
    let found: Vec<String> = how.into_iter().chain(step.at.map(clock)).chain(lost).collect();
    let critical = judged
        .critical_by(step)
        .map(|c| format!("A critical error happened by then: {}", c.what));
    SheetStep {
        ask: sentence(&step.ask),
        found: found.join(", "),
        did: step
            .found
            .iter()
            .flat_map(|f| &f.did)
            .map(|did| sentence(did))
            .collect(),
        why: step
            .found
            .iter()
            .flat_map(|f| &f.why)
            // Of what was left out altogether there is no more to be said.
            .filter(|why| **why != format!("not done: {}", step.ask))
            .map(|why| sentence(why))
            .chain(critical)
            .collect(),
        verdict: step.verdict,
        overruled: step.is_overruled(),
        remark: step.remark.clone(),
        next,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::Content;

    fn begun() -> Sheet {
        let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let library = &content.library;
        let scenario = library.scenario("classic-tracer").expect("it is built in");
        let rules = library.register.as_ref().expect("there are rules");
        let who = ["K7".to_owned(), String::new(), String::new()];
        Sheet::of_real(library, scenario, &rules.pass, 0, who, String::new()).expect("it has a sequence")
    }

    #[test]
    fn a_real_person_is_ticked_step_by_step_and_signed_once() {
        let mut sheet = begun();
        assert!(sheet.sign().is_err(), "nothing was ticked");
        let steps = sheet.judged().steps.len();
        for n in 0..steps {
            let applies = sheet.judged().steps[n].verdict != Verdict::NotApplicable;
            if applies {
                assert!(sheet.apply(&SheetCommand::Say(n, Verdict::Met)));
            }
        }
        assert!(
            sheet
                .judged()
                .steps
                .iter()
                .filter(|s| s.counts())
                .all(|s| s.at.is_some())
        );
        assert!(sheet.sign().unwrap_err().contains("Take a decision"));
        sheet.apply(&SheetCommand::Decide(Decision::Passed));
        assert!(sheet.sign().unwrap_err().contains("who watched"));
        sheet.apply(&SheetCommand::Observer("../AB".to_owned()));
        assert!(sheet.sign().unwrap_err().contains("no path"));
        sheet.apply(&SheetCommand::Observer("AB".to_owned()));
        let entry = sheet.sign().expect("nothing is wanting");
        sheet.kept("there".to_owned());
        assert!(
            !sheet.apply(&SheetCommand::Say(0, Verdict::NotMet)),
            "signed is signed"
        );
        let judged = entry.judged().expect("a sheet");
        assert_eq!(judged.decision, Decision::Passed);
        assert_eq!(
            entry.person.as_ref().map(|p| p.code.to_string()).as_deref(),
            Some("K7")
        );
        assert_eq!(entry.format, 2);
    }

    #[test]
    fn a_sheet_left_unsigned_stands_as_it_stood() {
        let mut sheet = begun();
        sheet.apply(&SheetCommand::Say(0, Verdict::NotMet));
        sheet.apply(&SheetCommand::Remark(0, "Both at once".to_owned()));
        sheet.apply(&SheetCommand::Observer("AB".to_owned()));
        let entry = sheet.entry();
        let usual = || ["4 A", ""].map(str::to_owned);
        let again = Sheet::again(&entry, Moment::now(), usual()).expect("it is a sheet");
        let mut expected = sheet.judged().clone();
        expected.observer = Code::new("AB").ok();
        assert_eq!(again.judged(), &expected);
        assert_eq!(again.observer(), "AB");
        let nameless = Entry {
            person: None,
            ..entry
        };
        let again = Sheet::again(&nameless, Moment::now(), usual()).expect("it is a sheet");
        assert_eq!(
            again.typed_who(),
            ["", "4 A", ""],
            "for whoever was not named yet"
        );
    }

    /// Whoever is watched goes on while a program is away, but not until tomorrow.
    #[test]
    fn the_clock_of_a_real_person_does_not_stop_with_the_program() {
        let mut sheet = begun();
        sheet.apply(&SheetCommand::Say(0, Verdict::Met));
        let entry = sheet.entry();
        let began = entry.judged().expect("a sheet").began;
        let stands = |seconds: i64| {
            let now = Moment::of_seconds((began.millis() / 1000 + seconds) as u64).expect("a time");
            let again = Sheet::again(&entry, now, [String::new(), String::new()]).expect("it is a sheet");
            again.seconds()
        };
        assert!((stands(600) - 600.0).abs() < 5.0, "{}", stands(600));
        assert!(stands(86_400) < 60.0, "{}", stands(86_400));
    }

    #[test]
    fn what_is_next_is_the_first_thing_after_the_last_tick() {
        let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let mut sheet = begun();
        let next = |sheet: &Sheet| {
            let view = sheet.view(&content.library, None);
            view.steps.iter().position(|s| s.next).map(|n| view.at[n])
        };
        let first = next(&sheet).expect("something is");
        sheet.apply(&SheetCommand::Say(first, Verdict::Met));
        assert!(next(&sheet).expect("something is") > first);
    }
}
