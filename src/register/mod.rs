//! What a folder keeps of everybody's attempts: one small file for each event, never changed after it was written, so that
//! any number of stations can write to one share and two folders are merged by laying them together. Entries read
//! without content and without replay; the log of an attempt is proof beside it.
//!
//! Knows drills and their scores, to make entries of them; does not know how entries are shown.

mod agree;
mod attempt;
mod brief;
mod decided;
mod drafts;
mod due;
mod entry;
mod exercise;
mod folder;
mod forget;
mod halves;
mod import;
mod judged;
mod lesson;
mod lesson_log;
mod logged;
mod moment;
mod outcome;
mod practice;
mod read;
mod share;
mod station;
mod tally;
mod watched;

pub use agree::{Agreements, SAME_OCCASION, StepAgreement, agreements};
pub use attempt::{About, Attempt, Critical, LogRef, Lost, Marks, Named, Reached, Step, Unit};
pub use decided::{Decided, Decisions};
pub use drafts::Drafts;
pub use due::{Due, DueList, Standing, due};
pub use entry::{ENTRY_FORMAT, Entry, What, furthest};
pub use exercise::Exercise;
pub use folder::Register;
pub use forget::{Forgotten, Whose};
pub use halves::Halves;
pub use import::Imported;
pub use judged::{
    Decision, Finding, Judged, JudgedBy, JudgedCritical, JudgedStep, MOST_REMARK, Verdict, Wanting, Watching,
};
pub use lesson::{AskedHands, LessonGiven};
pub use lesson_log::{LessonLog, keep_lessons_left};
pub use logged::{keep_left, keep_logged};
pub use moment::{Moment, date_words, months_earlier, months_later};
pub use outcome::{Facts, Short, StepFacts, falls_short};
pub use practice::{
    COMPARED, Change, Go, Standing as PracticeStanding, change, practise_next, prompts, standing,
};
pub use read::{Damage, Reading};
pub use share::{MOST_BEHIND, Share};
pub use station::{Delivered, Keeping, Station};
pub use tally::{Group, StepTally, Tally, TargetTally, tally};
pub use watched::{WatchedStep, WatchedTally, same_occasions};
