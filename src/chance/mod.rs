//! Named random streams and the draws the model needs: Beta, binomial, normal, Poisson, lognormal.
//!
//! A stream is keyed by (seed, event, purpose), so a step that is changed or left out shifts no other draw:
//! two drills with the same seed share their luck wherever they do the same thing. The generator is xoshiro256++,
//! named so that results stay the same across platforms and releases.

mod binomial;
mod luck;

pub use binomial::binomial;
pub use luck::{Key, Lot, Luck, PEOPLE, Purpose, Spread, beta, lognormal, normal, poisson, uniform};
