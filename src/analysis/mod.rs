//! What would happen on average, how often, and which touch carried it: computed on the very events that the drill
//! produces, in four ways that must agree.
//!
//! A [`Plan`] holds the events of a list of actions without any chance in them. From it come the particle run
//! ([`Plan::run`], equal to the drill's own books), the exact expectation, the exact law given the efficiencies, and
//! the blame of every event.

mod ageing;
mod aim;
mod arrival;
mod atlas;
mod blame;
mod calibrate;
mod ceiling;
mod coefficients;
mod compare;
mod count;
mod doubt;
mod fit;
mod histogram;
mod knobs;
mod lapses;
mod law;
mod learnt;
mod linear;
mod live;
mod named;
mod odds;
mod orders;
mod part;
mod plan;
mod route;
mod runner;
mod script;
mod sensitivity;
mod side;
mod stats;
mod study;
mod target;
mod trainee;
mod unknown;
mod versus;
mod way;
mod what_if;

pub use ageing::{acceleration, chamber_days, temperature_gap};
pub use aim::{Aim, Moment};
pub use arrival::{Arrival, Carried, Stop, arrival};
pub use blame::{Blame, blame};
pub use calibrate::{Progressed, UnderWay, calibrate, library_of, shown_by};
pub use ceiling::{CEILING_LOAD, Ceiling, Haven, Reach, ceiling, havens, outsides};
pub use coefficients::Coefficients;
pub use compare::{Brought, Comparison, Contender, MOST_REPEATS, TargetComparison, compare};
pub use count::{AtMoment, Counter, Found, found};
pub use doubt::{
    Agreed, Alone, Asking, Doing, Doubt, Doubted, Gain, Got, Hang, Knowing, Number, Played, Ranged,
    TURNED_STARTS, Versed, alone, alone_work, doubt_work, doubted, doubts, play_all, sets_of,
    usual_doubt_repeats, versed,
};
pub use fit::{Parameter, parameters, search};
pub use histogram::{Histogram, lowest};
pub use law::ExactLaw;
pub use learnt::{
    Learnt, Met, apart_as, effectively, learnt, least_apart, lined_as, met, numbered_as, played,
};
pub use linear::{adjoint, ever, expectation, expected};
pub use odds::{MomentOdds, Odds, Progress, TargetOdds, USUAL_REPEATS, USUAL_SEED, odds};
pub use orders::{
    Change, Kept, Limits, Named, Orders, OrdersError, Place, Protocol, Scope, Size, Standing, Start, Weighed,
    Weight, orders, weigh,
};
pub use plan::{Plan, PlanError};
pub use runner::Runner;
pub use script::by_the_book;
pub use sensitivity::{Effect, sensitivity};
pub use side::Side;
pub use stats::{
    Agreement, Interval, Summary, agreement, all_right, mcnemar, mean_interval, newcombe, paired_interval,
    people_to_tell, quantile, summary, wilson,
};
pub use study::{Outcome, outcomes};
pub use target::Target;
pub use trainee::{Rehearsal, lapse, rehearse};
pub use unknown::unsure_bases;
pub use versus::{Amounts, Difference, Pair, Share, Verdict};
pub use way::Way;
pub use what_if::{Edit, End, WhatIf, Worth, alternatives, end_of, what_if, worth};
