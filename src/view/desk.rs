//! All that a person at the screen has open, and what each command does to it.

use std::fmt;
use std::sync::Arc;

use crate::content::Content;
use crate::drill::{Action, Drill};
use crate::model::{Holding, Owner, Sequence, Setup, Side, SiteIndex, Whereabouts};

use super::choices::{clean, offered};
use super::command::{Command, Page};
use super::debrief::{DebriefView, debrief_view};
use super::drilling::{DrillView, Looking, Prompt, drill_view};
use super::rub::Rub;
use super::settings::{LampUse, NamedView, Settings, TEXT_SCALE};
use super::stage::Stage;
use super::start::{StartView, sequence_ids, start_view};
use super::words::sentence;
use super::{stage_of, touch};

/// Someone who is told of every step of a drill, such as a log.
pub trait Watch: Send + Sync {
    /// A drill has begun.
    fn began(&mut self, _drill: &Drill) {}
    /// An action was done; it is the drill's last.
    fn acted(&mut self, _drill: &Drill) {}
    /// The drill is over.
    fn ended(&mut self, _drill: &Drill) {}
}

/// Something the scene should do about the last command, besides showing the new stage.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Hands reach for a site.
    Reach {
        /// The hand that acts, or none for both.
        hand: Option<Side>,
        /// The site.
        site: SiteIndex,
        /// True for a hurried move.
        hurried: bool,
    },
    /// The camera goes to a named view.
    View(NamedView),
    /// The window closes.
    Leave,
}

/// The desk.
pub struct Desk {
    content: Content,
    settings: Settings,
    page: Page,
    sequence: String,
    drill: Option<Drill>,
    chosen: Option<SiteIndex>,
    lamp: bool,
    rub: Option<Rub>,
    refusal: Option<String>,
    list: bool,
    help: bool,
    asked_why: Option<SiteIndex>,
    /// For each happening of the scenario, whether it has been dealt with.
    dealt: Vec<bool>,
    effects: Vec<Effect>,
    watch: Vec<Box<dyn Watch>>,
    fresh_seed: Box<dyn FnMut() -> u64 + Send + Sync>,
    revision: u64,
}

impl fmt::Debug for Desk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Desk")
            .field("page", &self.page)
            .field("settings", &self.settings)
            .field("chosen", &self.chosen)
            .finish_non_exhaustive()
    }
}

impl Desk {
    /// A desk with the first page open. `fresh_seed` gives the luck of each drill for which none was typed.
    pub fn new(content: Content, fresh_seed: impl FnMut() -> u64 + Send + Sync + 'static) -> Desk {
        // The commonest kit comes first on the page, and so is chosen at first.
        let scenario = content
            .library
            .scenarios
            .iter()
            .position(|s| s.id == "classic-tracer")
            .unwrap_or(0);
        Desk {
            content,
            settings: Settings {
                scenario,
                ..Settings::default()
            },
            page: Page::Start,
            sequence: String::new(),
            drill: None,
            chosen: None,
            lamp: false,
            rub: None,
            refusal: None,
            list: false,
            help: false,
            asked_why: None,
            dealt: Vec::new(),
            effects: Vec::new(),
            watch: Vec::new(),
            fresh_seed: Box::new(fresh_seed),
            revision: 0,
        }
    }

    /// Adds someone who is told of every step.
    pub fn watched_by(&mut self, watch: Box<dyn Watch>) {
        self.watch.push(watch);
    }

    /// The page that is open.
    pub fn page(&self) -> Page {
        self.page
    }

    /// The settings.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The drill under way or just ended.
    pub fn drill(&self) -> Option<&Drill> {
        self.drill.as_ref()
    }

    /// The content that drills are made from.
    pub fn content(&self) -> &Content {
        &self.content
    }

    /// The named sequence the drill is laid beside.
    pub fn sequence(&self) -> Option<&Sequence> {
        self.content.library.sequence(&self.sequence)
    }

    /// True while the lamp shines; always so in the debrief.
    pub fn lamp(&self) -> bool {
        match self.page {
            Page::Start => false,
            Page::Drill => self.lamp,
            Page::Debrief => true,
        }
    }

    /// The chosen site.
    pub fn chosen(&self) -> Option<SiteIndex> {
        self.chosen
    }

    /// True while the list of keys is open.
    pub fn help(&self) -> bool {
        self.help
    }

    /// Grows with every command: views made at one revision stay right until the next.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// What the scene should do, taken once.
    pub fn take_effects(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    /// The first page.
    pub fn start_view(&self) -> StartView {
        start_view(&self.content, &self.settings, self.refusal.as_deref())
    }

    /// The drill screen, if a drill is there.
    pub fn drill_view(&self) -> Option<DrillView> {
        let (drill, sequence) = (self.drill.as_ref()?, self.sequence()?);
        Some(drill_view(
            drill,
            Looking {
                sequence,
                settings: &self.settings,
                lamp: self.lamp,
                chosen: self.chosen,
                prompt: self.prompt(),
                refusal: self.refusal.as_ref(),
                rub: self.rub.as_ref(),
                list: self.list,
            },
        ))
    }

    /// The debrief, if a drill is there.
    pub fn debrief_view(&self) -> Option<DebriefView> {
        Some(debrief_view(
            self.drill.as_ref()?,
            self.sequence()?,
            self.asked_why,
        ))
    }

    /// The picture for the scene, if a drill is there.
    pub fn stage(&self) -> Option<Stage> {
        self.drill.as_ref().map(|drill| stage_of(drill, self.lamp()))
    }

    /// Name of a site of the drill, for the tooltip.
    pub fn site_label(&self, site: SiteIndex) -> Option<String> {
        let site = self.drill.as_ref()?.setup().sites.get(site)?;
        Some(sentence(&site.label))
    }

    /// Does what a command asks.
    pub fn apply(&mut self, command: Command) {
        self.revision += 1;
        if !matches!(command, Command::RubFor(_) | Command::Peek(_)) {
            self.refusal = None;
        }
        match command {
            Command::Scenario(index) => {
                self.settings.scenario = index;
                self.settings.sequence = 0;
            }
            Command::Sequence(index) => self.settings.sequence = index,
            Command::Lamp(lamp) => self.settings.lamp = lamp,
            Command::Hints(on) => self.settings.hints = on,
            Command::Seed(text) => self.settings.seed = text,
            Command::Clock(speed) => self.settings.clock = speed,
            Command::HandsFree(on) => self.settings.hands_free = on,
            Command::Begin => self.begin(),
            Command::Help => self.help = !self.help,
            Command::Larger => self.scale(25),
            Command::Smaller => self.scale(-25),
            Command::LargeType => self.settings.large = !self.settings.large,
            Command::Still => self.settings.still = !self.settings.still,
            Command::Mirror => self.settings.mirror = !self.settings.mirror,
            Command::Leave => self.effects.push(Effect::Leave),
            Command::Home => {
                self.page = Page::Start;
                self.drill = None;
            }
            Command::Again => self.begin(),
            Command::Why(site) => self.asked_why = Some(site),
            other if self.page == Page::Drill => self.apply_to_drill(other),
            _ => {}
        }
    }

    fn scale(&mut self, by: i32) {
        let to = self.settings.text_scale.saturating_add_signed(by);
        self.settings.text_scale = to.clamp(TEXT_SCALE.0, TEXT_SCALE.1);
    }

    fn begin(&mut self) {
        let seed = match self.settings.typed_seed() {
            Ok(Some(seed)) => seed,
            Ok(None) => (self.fresh_seed)(),
            Err(_) => {
                self.refusal = Some(format!(
                    "The luck `{}` is not a whole number; leave it empty for new luck each time",
                    self.settings.seed.trim()
                ));
                self.page = Page::Start;
                return;
            }
        };
        let library = self.content.library.clone();
        let Some(scenario) = library.scenarios.get(self.settings.scenario) else {
            self.refusal = Some("There is no scenario to start".to_owned());
            return;
        };
        let setup = match Setup::new(library.clone(), scenario) {
            Ok(setup) => setup,
            Err(error) => {
                self.refusal = Some(format!("This scenario cannot be set up: {error}"));
                return;
            }
        };
        let ids = sequence_ids(scenario);
        let id = ids.get(self.settings.sequence).unwrap_or(&ids[0]);
        self.sequence.clone_from(id);
        let drill = Drill::begin(Arc::new(setup), seed);
        self.dealt = vec![false; scenario.happenings.len()];
        for watch in &mut self.watch {
            watch.began(&drill);
        }
        self.drill = Some(drill);
        self.page = Page::Drill;
        self.chosen = None;
        self.rub = None;
        self.list = false;
        self.help = false;
        self.asked_why = None;
        self.lamp = self.settings.lamp == LampUse::On;
        self.effects.push(Effect::View(NamedView::Front));
    }

    fn apply_to_drill(&mut self, command: Command) {
        match command {
            Command::Choose(site) => {
                self.chosen = Some(site);
                self.rub = None;
                self.list = false;
            }
            Command::Unchoose | Command::Dismiss => self.close_one(),
            Command::Option(n, pace) => {
                let Some(choice) = self
                    .drill_view()
                    .and_then(|v| v.chosen)
                    .and_then(|c| c.choices.into_iter().nth(n))
                else {
                    return;
                };
                match choice.action {
                    Action::Clean { ref product, .. } => self.open_rub(product.clone()),
                    _ => self.act(choice.at(pace)),
                }
            }
            Command::SwapHand => self.settings.acting = self.settings.acting.other(),
            Command::Acting(side) => self.settings.acting = side,
            Command::Walk(to) => self.act(Action::Walk(to)),
            Command::GoOn => {
                let at = self.drill.as_ref().map(|d| d.state().whereabouts);
                self.act(Action::Walk(match at {
                    Some(Whereabouts::Inside) => Whereabouts::Doorway,
                    _ => Whereabouts::Outside,
                }));
            }
            Command::Wait => self.act(Action::Wait(5.0)),
            Command::Rub => self.open_first("rub"),
            Command::Wash => self.open_first("wash"),
            Command::Clean(product) => self.open_rub(product),
            Command::Doses(doses) => {
                if let Some(rub) = &mut self.rub {
                    rub.doses = doses.clamp(1, 10);
                }
            }
            Command::RubFor(seconds) => {
                if let Some(rub) = &mut self.rub {
                    rub.held += seconds.max(0.0);
                }
            }
            Command::RubDone => {
                if let Some(rub) = self.rub.take()
                    && rub.held > 0.0
                {
                    self.act(rub.action());
                }
            }
            Command::LampSwitch => match self.settings.lamp {
                LampUse::On => self.lamp = !self.lamp,
                LampUse::Peek => self.refusal = Some("Hold the lamp down to peek".to_owned()),
                LampUse::UntilTheEnd => self.refusal = Some("The lamp stays off until the end".to_owned()),
            },
            Command::Peek(on) if self.settings.lamp == LampUse::Peek => self.lamp = on,
            Command::View(view) => self.effects.push(Effect::View(view)),
            Command::Answer(side) => {
                if let Some((n, site)) = self.happening() {
                    let action = self.drill.as_ref().map(|drill| touch(drill, side, site));
                    if let Some(action) = action {
                        self.act(action);
                    }
                    if self.refusal.is_none() {
                        self.dealt[n] = true;
                    }
                }
            }
            Command::LetBe => {
                if let Some((n, _)) = self.happening() {
                    self.dealt[n] = true;
                }
            }
            Command::List => self.list = !self.list,
            Command::Finish => {
                if let Some(drill) = &self.drill {
                    for watch in &mut self.watch {
                        watch.ended(drill);
                    }
                    self.rub = None;
                    self.page = Page::Debrief;
                }
            }
            _ => {}
        }
    }

    /// Closes what was opened last.
    fn close_one(&mut self) {
        if self.help {
            self.help = false;
        } else if self.rub.is_some() {
            self.rub = None;
        } else if self.list {
            self.list = false;
        } else {
            self.chosen = None;
        }
    }

    fn open_first(&mut self, verb: &str) {
        let product = self.drill.as_ref().and_then(|drill| {
            let library = &drill.setup().library;
            let offered = offered(drill.setup());
            library
                .products
                .iter()
                .find(|p| p.verb == verb && offered.contains(&p.id))
                .or_else(|| library.products.iter().find(|p| p.verb == verb))
                .map(|p| p.id.clone())
        });
        if let Some(product) = product {
            self.open_rub(product);
        }
    }

    fn open_rub(&mut self, product: String) {
        let Some(drill) = &self.drill else { return };
        let action = clean(drill, &product);
        match drill.check(&action) {
            Ok(()) => {
                let doses = drill.setup().library.product(&product).map_or(1, |p| p.doses);
                self.list = false;
                self.rub = Some(Rub {
                    product,
                    doses,
                    held: 0.0,
                });
            }
            Err(refusal) => self.refusal = Some(sentence(&refusal.to_string())),
        }
    }

    fn act(&mut self, action: Action) {
        let Some(drill) = &mut self.drill else { return };
        let reach = reach_of(drill, &action, self.chosen);
        match drill.act(action) {
            Ok(_) => {
                self.effects.extend(reach);
                for watch in &mut self.watch {
                    watch.acted(drill);
                }
                self.rub = None;
                self.keep_chosen();
            }
            Err(refusal) => self.refusal = Some(sentence(&refusal.to_string())),
        }
    }

    /// Lets go of a chosen site that is no longer there.
    fn keep_chosen(&mut self) {
        let (Some(drill), Some(site)) = (&self.drill, self.chosen) else {
            return;
        };
        if let Owner::Part(item, ..) = drill.setup().sites[site].owner
            && drill.state().items[item].holding == Holding::Binned
        {
            self.chosen = None;
        }
    }

    /// The first happening whose time has come and that has not been dealt with, with the site that answers it.
    fn happening(&self) -> Option<(usize, SiteIndex)> {
        let drill = self.drill.as_ref()?;
        let (setup, state) = (drill.setup(), drill.state());
        setup
            .scenario
            .happenings
            .iter()
            .enumerate()
            .filter(|&(n, happening)| !self.dealt[n] && happening.at <= state.clock)
            .find_map(|(n, happening)| {
                let site = setup.site(&happening.site)?;
                match setup.sites[site].owner {
                    // An itch beneath a mask is answered by a hand on the mask.
                    Owner::Body(place) => Some((n, state.outermost(setup, place, None))),
                    Owner::Part(item, ..) => state.is_worn(item).then_some((n, site)),
                    Owner::Room(_) => Some((n, site)),
                }
            })
    }

    fn prompt(&self) -> Option<Prompt> {
        let (n, site) = self.happening()?;
        let setup = self.drill.as_ref()?.setup();
        Some(Prompt {
            say: sentence(&setup.scenario.happenings[n].say),
            what: setup.sites[site].label.clone(),
        })
    }
}

/// Which hand goes where for an action, if any does.
fn reach_of(drill: &Drill, action: &Action, chosen: Option<SiteIndex>) -> Option<Effect> {
    let setup = drill.setup();
    match action {
        Action::Touch { hand, site, .. } => Some(Effect::Reach {
            hand: Some(*hand),
            site: setup.site(site)?,
            hurried: false,
        }),
        Action::Do {
            technique,
            item,
            hand,
            pace,
        } => {
            let item = item.as_ref().and_then(|id| setup.item(id));
            let worn_on = item.and_then(|i| setup.items[i].side);
            let hands = hand.or_else(|| Some(setup.library.technique(technique)?.hands[0]))?;
            let sides = hands.sides(worn_on);
            let own = |site: &SiteIndex| matches!(setup.sites[*site].owner, Owner::Part(of, ..) if Some(of) == item);
            let site = chosen
                .filter(own)
                .or_else(|| item.map(|i| setup.items[i].parts[0].outside))
                .or_else(|| setup.furniture("bin-lid"))?;
            Some(Effect::Reach {
                hand: if sides.len() == 1 { Some(sides[0]) } else { None },
                site,
                hurried: *pace == crate::model::Pace::Hurried,
            })
        }
        Action::Clean { product, .. } => {
            let product = setup.library.product(product)?;
            Some(Effect::Reach {
                hand: Some(Side::Right),
                site: setup.furniture(&product.touches)?,
                hurried: false,
            })
        }
        Action::Walk(_) | Action::Wait(_) => None,
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::model::Pace;

    fn content() -> Content {
        Content::builtin().unwrap_or_else(|e| panic!("the built-in content is sound: {e}"))
    }

    /// A fresh drill of a built-in scenario.
    pub fn drill(scenario: &str) -> Drill {
        let library = content().library;
        let scenario = library.scenario(scenario).expect("a built-in scenario");
        let setup = Setup::new(library.clone(), scenario).expect("a built-in scenario sets up");
        Drill::begin(Arc::new(setup), 42)
    }

    /// A built-in script played to its end.
    pub fn play(script: &str, seed: u64) -> Drill {
        let content = content();
        let script = content.scripts.get(script).expect("a built-in script");
        let library = content.library.clone();
        let scenario = library.scenario(&script.scenario).expect("a built-in scenario");
        let setup = Setup::new(library.clone(), scenario).expect("a built-in scenario sets up");
        let mut drill = Drill::begin(Arc::new(setup), seed);
        for action in &script.actions {
            drill
                .act(action.clone())
                .unwrap_or_else(|refusal| panic!("{action:?}: {refusal}"));
        }
        drill
    }

    fn desk() -> Desk {
        let mut desk = Desk::new(content(), || 42);
        desk.apply(Command::Begin);
        assert_eq!(desk.page(), Page::Drill);
        desk
    }

    #[test]
    fn an_option_is_done_at_the_pace_asked_for() {
        for pace in [Pace::Steady, Pace::Hurried] {
            let mut desk = desk();
            let site = desk
                .drill()
                .and_then(|d| d.setup().site("left-glove-cuff"))
                .expect("gloves");
            desk.apply(Command::Choose(site));
            desk.apply(Command::Option(0, pace));
            let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
            assert!(
                matches!(done.action, Action::Do { pace: p, .. } if p == pace),
                "{done:?}"
            );
        }
    }

    #[test]
    fn a_refusal_is_a_sentence_and_changes_nothing() {
        let mut desk = desk();
        desk.apply(Command::Wash);
        let view = desk.drill_view().expect("a drill");
        assert!(view.rub.is_none());
        let refusal = view.refusal.expect("there is no tap inside");
        assert!(
            refusal.starts_with("There is no soap and water here"),
            "{refusal}"
        );
        assert!(desk.drill().is_some_and(|d| d.done().is_empty()));
    }

    #[test]
    fn a_rub_let_go_early_is_as_long_as_it_was_held() {
        let mut desk = desk();
        desk.apply(Command::Rub);
        desk.apply(Command::Doses(1));
        for _ in 0..7 {
            desk.apply(Command::RubFor(1.0));
        }
        desk.apply(Command::RubDone);
        let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
        assert_eq!(
            done.action,
            Action::Clean {
                product: "alcohol-rub".into(),
                doses: 1,
                seconds: 7.0,
                skip: vec![]
            }
        );
    }

    #[test]
    fn the_lamp_obeys_the_way_it_was_set() {
        for (lamp, switched, peeked) in [
            (LampUse::On, false, true),
            (LampUse::Peek, false, true),
            (LampUse::UntilTheEnd, false, false),
        ] {
            let mut desk = Desk::new(content(), || 1);
            desk.apply(Command::Lamp(lamp));
            desk.apply(Command::Begin);
            assert_eq!(desk.lamp(), lamp == LampUse::On);
            desk.apply(Command::Peek(true));
            assert_eq!(desk.lamp(), peeked, "{lamp:?} peeked");
            desk.apply(Command::Peek(false));
            desk.apply(Command::LampSwitch);
            assert_eq!(desk.lamp(), switched, "{lamp:?} switched");
        }
    }

    #[test]
    fn what_happens_waits_for_an_answer_by_a_hand_or_none() {
        let mut desk = desk();
        for _ in 0..4 {
            desk.apply(Command::Wait);
        }
        let prompt = desk
            .drill_view()
            .and_then(|v| v.prompt)
            .expect("20 seconds have passed");
        assert_eq!(prompt.say, "Your cheek itches");
        desk.apply(Command::Answer(Side::Left));
        assert!(desk.drill_view().is_some_and(|v| v.prompt.is_none()));
        let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
        assert!(
            matches!(done.action, Action::Touch { hand: Side::Left, .. }),
            "{done:?}"
        );
    }

    #[test]
    fn a_watcher_hears_of_every_step() {
        #[derive(Default)]
        struct Count(Arc<std::sync::Mutex<(u32, u32, u32)>>);
        impl Watch for Count {
            fn began(&mut self, _: &Drill) {
                self.0.lock().expect("no panic elsewhere").0 += 1;
            }
            fn acted(&mut self, _: &Drill) {
                self.0.lock().expect("no panic elsewhere").1 += 1;
            }
            fn ended(&mut self, _: &Drill) {
                self.0.lock().expect("no panic elsewhere").2 += 1;
            }
        }
        let count = Count::default();
        let seen = count.0.clone();
        let mut desk = Desk::new(content(), || 1);
        desk.watched_by(Box::new(count));
        for command in [Command::Begin, Command::GoOn, Command::Wait, Command::Finish] {
            desk.apply(command);
        }
        assert_eq!(*seen.lock().expect("no panic elsewhere"), (1, 2, 1));
    }

    #[test]
    fn a_seed_that_is_no_number_says_so_and_starts_nothing() {
        let mut desk = Desk::new(content(), || 1);
        desk.apply(Command::Seed("lucky".into()));
        desk.apply(Command::Begin);
        assert_eq!(desk.page(), Page::Start);
        assert!(desk.start_view().refusal.is_some_and(|r| r.contains("lucky")));
    }
}
