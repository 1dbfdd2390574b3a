//! One of several ways that are laid beside each other: whose kit it is done in, and what is done.

use std::sync::Arc;

use crate::content::Content;
use crate::drill::{Action, State, enact};
use crate::model::{Duel, DuelSide, DuelWay, Holding, PutOn, Scenario, Setup, Trainee, Whereabouts};

use super::{Asking, Contender, Doing, Way, by_the_book};

/// A way, ready to be done by anybody.
#[derive(Clone, Debug)]
pub struct Side {
    /// Its name for people.
    pub label: String,
    /// The scenario that it is done in.
    pub setup: Arc<Setup>,
    /// What is done, to the letter.
    pub actions: Vec<Action>,
    /// Id of the sequence that these follow, if it is one.
    pub sequence: Option<String>,
}

impl Side {
    /// A sequence or a script of the content, done in a scenario.
    ///
    /// # Errors
    /// A sentence: there is none of this name, or the kit does not let it be done.
    pub fn of(content: &Content, label: String, setup: Arc<Setup>, way: &DuelWay) -> Result<Side, String> {
        let scenario = &setup.scenario.id;
        let (actions, sequence) = match way {
            DuelWay::Script(name) => {
                let script = content.scripts.get(&format!("{scenario}/{name}"));
                let script = script.ok_or_else(|| format!("there is no script `{name}` for `{scenario}`"))?;
                (script.actions.clone(), None)
            }
            DuelWay::Sequence(id) => {
                let sequence = setup.library.sequence(id);
                let sequence = sequence.ok_or_else(|| format!("there is no sequence `{id}`"))?;
                let actions = by_the_book(&setup, sequence).map_err(|r| format!("{id}: {r}"))?;
                (actions, Some(id.clone()))
            }
        };
        Ok(Side {
            label,
            setup,
            actions,
            sequence,
        })
    }

    /// Both sides of a pair, each in its scenario and with its kit put on as it says.
    ///
    /// # Errors
    /// A sentence: the scenario, a sequence or a script cannot be played.
    pub fn both(content: &Content, duel: &Duel) -> Result<[Side; 2], String> {
        let [first, second] = &duel.sides[..] else {
            return Err("a duel has two sides".to_owned());
        };
        let scenario = |side: &DuelSide| {
            let id = duel.scenario_of(side);
            let known = content.library.scenario(id);
            let mut scenario = known
                .ok_or_else(|| format!("there is no scenario `{id}`"))?
                .clone();
            for put_on in &side.put_on {
                let same =
                    |other: &PutOn| (&other.item, &other.fastening) == (&put_on.item, &put_on.fastening);
                scenario.put_on.retain(|other| !same(other));
                scenario.put_on.push(put_on.clone());
            }
            Ok::<_, String>(scenario)
        };
        let setup = |scenario: &Scenario| {
            let setup = Setup::new(content.library.clone(), scenario).map_err(|e| e.to_string())?;
            Ok::<_, String>(Arc::new(setup))
        };
        let (one, other) = (scenario(first)?, scenario(second)?);
        let first_setup = setup(&one)?;
        let second_setup = if one == other {
            first_setup.clone()
        } else {
            setup(&other)?
        };
        let way = |side: &DuelSide, setup| Side::of(content, side.label.clone(), setup, &side.way);
        Ok([way(first, first_setup)?, way(second, second_setup)?])
    }

    /// What is still worn when it is over, by name, and where it ends.
    fn ends(&self) -> (Vec<&str>, Whereabouts) {
        let setup = &self.setup;
        let mut state = State::dressed(setup);
        for action in &self.actions {
            // What cannot be done is said where it is played.
            let _ = enact(setup, &mut state, action);
        }
        let on = |item: &usize| matches!(state.items[*item].holding, Holding::Worn | Holding::Dangling);
        let kit = (0..setup.items.len()).filter(|&item| !setup.items[item].spare);
        let on = kit.filter(on).map(|item| setup.items[item].label.as_str());
        (on.collect(), state.whereabouts)
    }

    /// Why two ways are no match for each other: done to the letter they end with other kit still on, or in another place; a sentence
    /// without a full stop. None if they end alike.
    pub fn unlike(&self, other: &Side) -> Option<String> {
        let ends = [self, other].map(Side::ends);
        let labels = [&self.label, &other.label];
        if ends[0].0 != ends[1].0 {
            let [one, two] = [0, 1].map(|n| match &ends[n].0[..] {
                [] => format!("with {} everything comes off", labels[n]),
                on => format!("with {} still on: {}", labels[n], on.join(", ")),
            });
            return Some(format!("no verdict, since they do not end alike: {one}; {two}"));
        }
        if ends[0].1 != ends[1].1 {
            let [one, two] = [0, 1].map(|n| {
                let at = match ends[n].1 {
                    Whereabouts::Inside => "inside the room",
                    Whereabouts::Doorway => "in the doorway",
                    Whereabouts::Outside => "outside",
                };
                format!("{} ends {at}", labels[n])
            });
            return Some(format!("no verdict, since they do not end alike: {one}, {two}"));
        }
        None
    }

    /// Done by somebody, to be counted beside others.
    pub fn contender<'a>(&'a self, trainee: &'a Trainee) -> Contender<'a> {
        let library = &self.setup.library;
        let sequence = self.sequence.as_deref().and_then(|id| library.sequence(id));
        Contender {
            label: self.label.clone(),
            setup: &self.setup,
            way: match sequence {
                // Whoever has no lapses does the same every time.
                _ if trainee.is_flawless() => Way::Script(&self.actions),
                Some(sequence) => Way::Rehearsed(sequence, trainee),
                None => Way::Lapsed(&self.actions, trainee),
            },
        }
    }

    /// The same to be asked of every set of values.
    pub fn asking<'a>(&'a self, trainee: &'a Trainee) -> Asking<'a> {
        Asking {
            setup: &self.setup,
            doing: match &self.sequence {
                Some(id) if !trainee.is_flawless() => Doing::Sequence(id),
                _ => Doing::Script(&self.actions),
            },
            trainee: &trainee.id,
        }
    }
}
