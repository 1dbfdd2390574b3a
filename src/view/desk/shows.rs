//! What each page shows of the desk.

use crate::drill::Drill;
use crate::model::SiteIndex;

use super::super::class::{Class, ClassView};
use super::super::command::Page;
use super::super::debrief::{Asked, DebriefView, debrief_view};
use super::super::drilling::{DrillView, Looking, drill_view};
use super::super::numbers::{NumbersView, numbers_view};
use super::super::playback::Playback;
use super::super::replaying::{ReplayView, replay_view};
use super::super::searching::Search;
use super::super::stage::{Stage, Who};
use super::super::start::{StartView, start_view};
use super::super::sure::Sure;
use super::super::trace::{Flown, trace};
use super::super::words::sentence;
use super::Desk;

impl Desk {
    /// The first page.
    pub fn start_view(&self) -> StartView {
        StartView {
            kept: self.register.as_ref().map(|folder| match &self.station {
                Some(station) => format!("{}, with the name of this station ({station})", folder.display()),
                None => folder.display().to_string(),
            }),
            unfinished: self.unfinished.clone(),
            left_sheets: self.left_sheets.clone(),
            ladder: self.ladder_view(),
            ..start_view(&self.content, &self.settings, self.refusal.as_deref())
        }
    }

    /// The drill screen, if a drill is there.
    pub fn drill_view(&self) -> Option<DrillView> {
        let (drill, sequence) = (self.drill.as_ref()?, self.sequence()?);
        let mut view = drill_view(
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
                sight: self.sight.as_ref(),
                pace: self.pace,
                asking: self.asking,
                taken_back: self.taken_back.as_ref(),
                assessed: self.assessed(),
                tells: self.tells(),
                can_ask: self.terms.rung.as_ref().is_some_and(|rung| rung.asks),
                takes_back: self.takes_back(),
            },
        );
        if self.assessed() {
            let who = self.terms.person.as_ref().map(|p| p.code.to_string());
            let who = who.map_or(", nobody named".to_owned(), |code| format!(" of {code}"));
            view.title = format!("Assessment{who}: {}", view.title);
        }
        Some(view)
    }

    /// The debrief, if a drill is there.
    pub fn debrief_view(&self) -> Option<DebriefView> {
        let asked = Asked {
            why: self.asked_why,
            what_if: self.asked_what_if,
            tab: self.tab,
        };
        Some(DebriefView {
            sure: self.sure().map(Sure::view),
            goes: self.goes_view(),
            kept: self.kept_words(),
            assessed: self.sheet.is_some(),
            ..debrief_view(self.drill.as_ref()?, self.sequence()?, asked)
        })
    }

    /// How sure the model is of the attempt that is looked back on, if that was asked.
    pub(super) fn sure(&self) -> Option<&Sure> {
        let of_this = self.sure.as_ref().filter(|(attempt, _)| *attempt == self.attempt);
        of_this.map(|(_, sure)| sure)
    }

    /// The attempt that is seen again, if one is.
    pub fn playback(&self) -> Option<&Playback> {
        self.playback.as_ref()
    }

    /// Its controls.
    pub fn replay_view(&self) -> Option<ReplayView> {
        let playback = self.playback.as_ref()?;
        let sight = self.sight.as_ref();
        let view = replay_view(playback, &self.settings, self.lamp, &self.notes, sight);
        let shows_how = self.shows_how();
        Some(ReplayView {
            why: self.why_shown(),
            shows_how,
            sub: match shows_how {
                true => view
                    .sub
                    .replacen("An attempt seen again", "How it is done, to the letter", 1),
                false => view.sub,
            },
            ..view
        })
    }

    /// Two ways side by side, if they are open.
    pub fn class_view(&self) -> Option<ClassView> {
        let class = self.class.as_ref()?;
        let mut view = ClassView {
            told: self.told.clone(),
            own: Some(self.own_pair(class.duel() == super::super::class::OWN)),
            lamp: self.lamp && class.stage() != super::super::class::Stage::Odds,
            ..class.view(&self.content)
        };
        if let (Some(odds), Some(hands)) = (&mut view.odds, self.hands_beside(class)) {
            odds.guess = Some(hands);
        }
        Some(view)
    }

    /// True while long work goes on whose end should be looked for.
    pub fn working(&self) -> bool {
        self.class.as_ref().is_some_and(Class::working)
            || self.search.as_ref().is_some_and(Search::working)
            || self.practice.working()
            || self.lesson_works()
            || self.sure.as_ref().is_some_and(|(_, sure)| sure.working())
            || self.turning().is_some()
    }

    /// Share done of working out what each constant does by itself to the answers on the page, while it goes on.
    fn turning(&self) -> Option<f32> {
        match self.page {
            Page::Debrief => self.sure()?.turning(),
            Page::Class => self.class.as_ref()?.turning(),
            _ => None,
        }
    }

    /// The sheet of numbers, if it is open.
    pub fn numbers_view(&self) -> Option<NumbersView> {
        let asked = self.numbers.as_ref()?;
        let hangs = match self.page {
            Page::Debrief => self.sure().map(|sure| sure.hangs(&self.content.library)),
            Page::Class => self.class.as_ref().map(Class::hangs),
            _ => None,
        };
        Some(NumbersView {
            hangs: hangs.unwrap_or_default(),
            turning: self.turning(),
            ..numbers_view(&self.content.library, asked)
        })
    }

    /// The drill that the scene shows of a person: the one under way, the one seen again, or either of two.
    pub fn shown(&self, who: Who) -> Option<&Drill> {
        match (self.page, who) {
            (Page::Class, _) => self.class.as_ref().map(|class| class.drills()[who as usize]),
            (_, Who::Second) => None,
            (Page::Replay, _) => self.playback.as_ref().map(Playback::now),
            _ => self.drill.as_ref(),
        }
    }

    /// The picture of a person for the scene, if there is one.
    pub fn stage(&self, who: Who) -> Option<Stage> {
        let shows = match self.page {
            Page::Class => self.class.as_ref().and_then(Class::holds_out),
            _ => None,
        };
        self.shown(who).map(|drill| Stage {
            shows,
            ..super::super::stage_of(drill, self.lamp())
        })
    }

    /// What to draw over the scene besides: nothing that the lamp would not show.
    pub fn traced(&self) -> Vec<Flown> {
        let one = matches!(self.page, Page::Drill | Page::Replay);
        match self.shown(Who::First) {
            Some(drill) if one && self.settings.trace && self.lamp() => trace(drill),
            _ => Vec::new(),
        }
    }

    /// True if names are wanted beside what is seen.
    pub fn named(&self) -> bool {
        self.settings.names && matches!(self.page, Page::Drill | Page::Replay)
    }

    /// Name of a site of the drill, for the tooltip.
    pub fn site_label(&self, site: SiteIndex) -> Option<String> {
        let site = self.drill.as_ref()?.setup().sites.get(site)?;
        Some(sentence(&site.label))
    }
}
