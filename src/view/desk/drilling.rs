//! What commands do to a drill under way.

use crate::drill::Action;
use crate::model::{Holding, Owner, Pace, SiteIndex, Whereabouts};
use crate::record::Purpose;

use super::super::choices::{clean, offered};
use super::super::command::{Command, Page};
use super::super::drilling::{Prompt, Sight};
use super::super::finish::left_to_do;
use super::super::handles::next_after;
use super::super::rub::Rub;
use super::super::settings::LampUse;
use super::super::stage::Who;
use super::super::steps::describe;
use super::super::touch;
use super::super::words::sentence;
use super::{Before, Desk, Effect};

impl Desk {
    pub(super) fn apply_to_drill(&mut self, command: Command) {
        // Whoever does something else does not want to finish; a second press of the same key is no answer.
        let asked = std::mem::take(&mut self.asking);
        match command {
            Command::Finish if asked => self.asking = true,
            Command::Peek(_) | Command::RubFor(_) if asked => self.asking = true,
            Command::Unchoose | Command::Dismiss if asked => {}
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
                    .and_then(|c| c.choices.into_iter().find(|c| c.number == n))
                else {
                    return;
                };
                match choice.action {
                    _ if choice.refused.is_some() && choice.first.is_some() => {
                        self.chosen = choice.first.map(|(site, _)| site);
                    }
                    Action::Clean { ref product, .. } => self.open_rub(product.clone()),
                    _ => self.act(choice.at(pace)),
                }
            }
            Command::TellNext => self.tell_next(),
            Command::Hurry => {
                self.pace = match self.pace {
                    Pace::Steady => Pace::Hurried,
                    Pace::Hurried => Pace::Steady,
                }
            }
            Command::TakeBack => self.take_back(),
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
            Command::Forearms(too) => {
                if let Some(rub) = &mut self.rub {
                    // Not half-way: they come before the hands.
                    rub.forearms = if rub.held > 0.0 { rub.forearms } else { too };
                }
            }
            Command::RubFor(seconds) => {
                if let Some(rub) = &mut self.rub {
                    if rub.held == 0.0 && seconds > 0.0 {
                        self.effects.push(Effect::Rub(rub.product.clone()));
                    }
                    rub.held += seconds.max(0.0);
                }
            }
            Command::RubDone => {
                if let Some(rub) = self.rub.take()
                    && rub.held > 0.0
                {
                    self.effects.push(Effect::RubOver);
                    self.act(rub.action());
                }
            }
            Command::LampSwitch => match self.settings.lamp {
                LampUse::On => self.lamp = !self.lamp,
                // Nothing needs to be held down by those who asked for that.
                LampUse::Peek if self.settings.hands_free => self.lamp = !self.lamp,
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
                let left = match (&self.drill, self.sequence()) {
                    (Some(drill), Some(sequence)) => !left_to_do(drill, sequence, self.assessed()).is_empty(),
                    _ => false,
                };
                if left {
                    self.stop_rub();
                    self.asking = true;
                } else {
                    self.finish();
                }
            }
            Command::FinishAnyway => self.finish(),
            _ => {}
        }
    }

    fn finish(&mut self) {
        let Some(drill) = &self.drill else { return };
        for watch in &mut self.watch {
            watch.ended(drill);
        }
        let times = self.times_taken_back;
        if times > 0 {
            let steps = if times == 1 {
                "1 step was".to_owned()
            } else {
                format!("{times} steps were")
            };
            self.notes
                .push(format!("{steps} taken back while practising; the log says so"));
        }
        self.stop_rub();
        self.work_out_go();
        if self.terms.purpose == Purpose::Assessment {
            self.assess();
        }
        // Without rules for a register there is no page of an assessor.
        if self.page == Page::Drill {
            self.page = Page::Debrief;
        }
    }

    /// Closes the rub panel without a rub.
    fn stop_rub(&mut self) {
        if self.rub.take().is_some_and(|rub| rub.held > 0.0) {
            self.effects.push(Effect::RubOver);
        }
    }

    /// Undoes the last step, unless this is an assessment.
    fn take_back(&mut self) {
        if !self.takes_back() {
            let reason = match &self.terms.rung {
                Some(_) => "Nothing is taken back on this rung",
                None => "Nothing is taken back in an assessment, where the lamp is off until the end",
            };
            self.refusal = Some(reason.to_owned());
            return;
        }
        self.stop_rub();
        let Some(drill) = &mut self.drill else { return };
        let Some(action) = drill.take_back() else {
            self.refusal = Some("Nothing has been done that could be taken back".to_owned());
            return;
        };
        self.taken_back = Some(describe(drill.setup(), &action));
        self.times_taken_back += 1;
        for watch in &mut self.watch {
            watch.took_back(drill);
        }
        if let Some(before) = self.before.pop() {
            self.chosen = before.chosen;
            self.dealt = before.dealt;
        }
    }

    /// Closes what was opened last.
    fn close_one(&mut self) {
        if self.help {
            self.help = false;
        } else if self.rub.is_some() {
            self.stop_rub();
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
                    forearms: false,
                });
            }
            Err(refusal) => self.refusal = Some(sentence(&refusal.to_string())),
        }
    }

    fn act(&mut self, action: Action) {
        let Some(drill) = &mut self.drill else { return };
        let before = Before {
            chosen: self.chosen,
            dealt: self.dealt.clone(),
        };
        let sight = self.lamp.then(|| Sight::of(drill));
        match drill.act(action) {
            Ok(done) => {
                // A rub has been seen while it was held; a walk brings nothing about that would have to be waited for.
                let seen = matches!(done.action, Action::Clean { .. });
                let hands = matches!(done.action, Action::Do { .. } | Action::Touch { .. });
                if matches!(done.action, Action::Do { .. }) {
                    self.pace = Pace::Steady;
                }
                if !seen {
                    self.effects.push(Effect::Perform(Who::First));
                }
                if self.moves && !self.settings.still && hands {
                    self.sight = sight;
                }
                for watch in &mut self.watch {
                    watch.acted(drill);
                }
                self.before.push(before);
                self.taken_back = None;
                self.rub = None;
                self.go_on();
            }
            Err(refusal) => self.refusal = Some(sentence(&refusal.to_string())),
        }
    }

    /// Chooses what comes next on the item that was handled, and lets go of a chosen site that is no longer there.
    fn go_on(&mut self) {
        let Some(drill) = &self.drill else { return };
        if let Some(next) = drill.done().last().and_then(|done| next_after(drill, done)) {
            self.chosen = Some(next);
        }
        let Some(site) = self.chosen else { return };
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

    pub(super) fn prompt(&self) -> Option<Prompt> {
        let (n, site) = self.happening()?;
        let setup = self.drill.as_ref()?.setup();
        Some(Prompt {
            say: sentence(&setup.scenario.happenings[n].say),
            what: setup.sites[site].label.clone(),
        })
    }
}
