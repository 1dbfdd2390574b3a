//! What each constant does by itself: from one end to the other of what the counts leave of it, all others in their middle. What goes
//! with an answer from version to version of the model (`leading`) can be told from chance only where it is much of it; this
//! is no matter of chance, and says nothing of what two constants do together.

use crate::outside::threads::parallel::*;

use crate::analysis::way::Known;
use crate::analysis::{Progress, Target};
use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::model::Setup;

use super::play::{once, way};
use super::stated::{Asking, Stated};

/// Starts over which each constant is turned where no other number is asked for.
pub const TURNED_STARTS: u64 = 60;

/// How many constants [`alone`] turns for what is asked; none without an ensemble.
pub fn alone_work(asking: &Asking<'_>) -> u64 {
    Stated::new(asking.setup).map_or(0, |stated| stated.acting(asking.trainee).len() as u64)
}

/// How far an answer moves with one constant by itself.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Alone {
    /// What it is.
    pub constant: String,
    /// The same for people.
    pub words: String,
    /// Basis id, if it has one of its own.
    pub basis: Option<String>,
    /// For each target, the share of people, 0 to 1, on whom enough to be seen gets there with the constant at the 5 and at the
    /// 95 % of what the counts leave of it.
    pub shares: Vec<[f64; 2]>,
}

impl Alone {
    /// How far the share of people at a target, by its place, moves from one end to the other, 0 to 1.
    pub fn swing(&self, target: usize) -> f64 {
        let [low, high] = self.shares[target];
        (high - low).abs()
    }
}

/// Turns every constant that can matter to the trainee by itself and counts on how many people enough to be seen gets to each
/// target, over so many starts: the same beginnings and draws each time.
///
/// # Errors
/// A sentence: the content has no ensemble, what is asked cannot be done, or it was stopped.
pub fn alone(
    asking: Asking<'_>,
    targets: &[Target],
    starts: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Alone>, String> {
    let stated = Stated::new(asking.setup)?;
    let middles = stated.middles();
    let played = |setup: &Setup| -> Result<Vec<f64>, String> {
        let (way, known) = (way(&asking, setup)?, Known::new(setup));
        let mut shares = vec![0.0; targets.len()];
        for n in 0..starts {
            let luck = Luck::new(Key(seed).within(n).0);
            let beginning = Beginning::draw(setup, luck);
            let got = once(&beginning, setup, &way, targets, luck, &known)?;
            for (share, got) in shares.iter_mut().zip(got) {
                *share += got.seen / starts.max(1) as f64;
            }
        }
        Ok(shares)
    };
    stated
        .acting(asking.trainee)
        .into_par_iter()
        .map(|n| {
            if progress.stopped() {
                return Err("stopped".to_owned());
            }
            let [low, high] = stated.ends(n);
            let at = |score: f64| played(&stated.turned(&middles, n, score)?);
            let (low, high) = (at(low)?, at(high)?);
            progress.add(1);
            let unknown = stated.unknown(n);
            Ok(Alone {
                constant: unknown.name.clone(),
                words: unknown.words.clone(),
                basis: unknown.basis.clone(),
                shares: low.into_iter().zip(high).map(|(low, high)| [low, high]).collect(),
            })
        })
        .collect()
}
