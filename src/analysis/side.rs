//! One of several ways that are laid beside each other: whose kit it is done in, and what is done.

use std::sync::Arc;

use crate::content::Content;
use crate::drill::Action;
use crate::model::{DuelWay, Setup, Trainee};

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
