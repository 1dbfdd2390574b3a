//! What is asked, and its setup with the values of each set.

use std::sync::Arc;

use crate::analysis::learnt::{apart_in, numbered_as};
use crate::analysis::stats::quantile;
use crate::analysis::unknown::{END, Unknown, Unsure, drawn_score};
use crate::drill::Action;
use crate::model::{Ensemble, Member, Setup};

use super::narrow::ranks;

/// What is done, and by whom.
#[derive(Clone, Copy, Debug)]
pub enum Doing<'a> {
    /// These actions.
    Script(&'a [Action]),
    /// The sequence with this id.
    Sequence(&'a str),
}

/// What is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Asking<'a> {
    /// With the stated values.
    pub setup: &'a Setup,
    /// What is done.
    pub doing: Doing<'a>,
    /// Trainee id.
    pub trainee: &'a str,
}

/// How many sets of values there are.
pub fn sets_of(setup: &Setup) -> usize {
    setup.library.ensemble.as_ref().map_or(0, |e| e.members.len())
}

/// A setup with the stated values, and what is unsure of them.
pub(in crate::analysis) struct Stated<'a> {
    pub setup: &'a Setup,
    pub ensemble: &'a Ensemble,
    unsure: Unsure<'a>,
    columns: Vec<Option<usize>>,
}

impl<'a> Stated<'a> {
    pub fn new(setup: &'a Setup) -> Result<Stated<'a>, String> {
        let ensemble = ensemble(setup)?;
        let unsure = Unsure::new(&setup.library, &setup.scenario, setup.organism.class);
        Ok(Stated {
            setup,
            ensemble,
            columns: unsure.columns(ensemble),
            unsure,
        })
    }

    /// The setup with the values of a set.
    pub fn with(&self, member: usize) -> Result<Setup, String> {
        let (library, scenario) = self.unsure.of_member(self.ensemble, &self.columns, member);
        Setup::new(Arc::new(library), &scenario).map_err(|e| e.to_string())
    }

    /// The scores of a constant, by its place among all that is unsure, in every set of values; none of what was not weighed.
    fn weighed(&self, n: usize) -> Option<Vec<f64>> {
        let column = self.columns[n]?;
        let mut scores: Vec<f64> = self.ensemble.members.iter().map(|m| m.scores[column]).collect();
        scores.sort_by(f64::total_cmp);
        Some(scores)
    }

    /// The middle of what the counts leave of each constant, as a standard score.
    pub fn middles(&self) -> Vec<f64> {
        let of = |n: usize| self.weighed(n).map_or(0.0, |scores| quantile(&scores, 0.5));
        (0..self.columns.len()).map(of).collect()
    }

    /// The 5 and the 95 % of what the counts leave of a constant, as standard scores.
    pub fn ends(&self, n: usize) -> [f64; 2] {
        let of = |q: f64| self.weighed(n).map(|scores| quantile(&scores, q));
        [of(0.05).unwrap_or(-END), of(0.95).unwrap_or(END)]
    }

    /// The setup with all constants in these middles and one of them elsewhere, what is each contact's own left out.
    pub fn turned(&self, middles: &[f64], n: usize, score: f64) -> Result<Setup, String> {
        let given = |k: usize| Some(if k == n { score } else { middles[k] });
        let (library, scenario) = self.unsure.with(&[0], given, 0.0);
        Setup::new(Arc::new(library), &scenario).map_err(|e| e.to_string())
    }

    /// The constants that can matter to a trainee, by their places among all that is unsure.
    pub fn acting(&self, trainee: &str) -> Vec<usize> {
        let all = self.unsure.all.iter().enumerate();
        let acting = all.filter(|(_, unknown)| unknown.acts(&self.setup.scenario.id, trainee));
        acting.map(|(n, _)| n).collect()
    }

    /// One of all that is unsure, by its place.
    pub fn unknown(&self, n: usize) -> &Unknown {
        &self.unsure.all[n]
    }

    /// Standard scores of every constant that can matter to a trainee, set by set.
    pub fn scores(&self, trainee: &str) -> Vec<Scores> {
        let members = &self.ensemble.members;
        let by_numbers = numbered_as(members);
        self.unsure
            .all
            .iter()
            .zip(&self.columns)
            .filter(|(unknown, _)| unknown.acts(&self.setup.scenario.id, trainee))
            .map(|(unknown, column)| {
                let of = |m: &Member| match column {
                    Some(n) => m.scores[*n],
                    None => drawn_score(&m.numbers, &unknown.name),
                };
                let values: Vec<f64> = self.ensemble.members.iter().map(of).collect();
                let apart = match column {
                    Some(n) => apart_in(members, *n).unwrap_or(members.len() as f64),
                    None => by_numbers,
                };
                Scores {
                    apart,
                    constant: unknown.name.clone(),
                    words: unknown.words.clone(),
                    basis: unknown.basis.clone(),
                    ranks: ranks(&values),
                    values,
                }
            })
            .collect()
    }
}

/// The standard scores of a constant, set by set.
pub struct Scores {
    pub constant: String,
    pub words: String,
    pub basis: Option<String>,
    pub values: Vec<f64>,
    pub ranks: Vec<f64>,
    /// As how many sets drawn apart those of the ensemble count in it.
    pub apart: f64,
}

fn ensemble(setup: &Setup) -> Result<&Ensemble, String> {
    setup.library.ensemble.as_ref().ok_or_else(|| {
        "this content has no ensemble; `smirch calibrate --out ensemble.ron` makes one".to_owned()
    })
}
