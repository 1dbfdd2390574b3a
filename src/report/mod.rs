//! Writing results down: JSON and CSV for machines, text for people. Knows what happened, decides nothing.

mod best;
mod calendar;
mod cohort;
mod constants;
pub mod drawing;
mod ensemble;
mod goes;
mod image;
mod json;
mod lesson;
mod on_the_way;
mod orders;
mod orders_json;
mod page;
mod picture;
pub mod register;
mod score_text;
mod sheet;
mod table;
mod touches;
pub mod typeface;
mod verdict;
mod words;
pub mod xapi;

pub use best::{BestAnswer, BestCard, alike_words, best_answer, listed, scope_words};
pub use calendar::due_calendar;
pub use cohort::{CohortPart, CohortReport, CohortRow, cohort_report};
pub use constants::{Constant, constants};
pub use drawing::Drawing;
pub use ensemble::{
    ALONE_HEADING, alone_words, doubted_sentence, ensemble_file, gain_words, hang_words, hangs_of_words,
    has_unknown_loads, most_alone, percent_range, range_of_figures, range_of_hundred, ranged_people,
    sets_words, told_pair,
};
pub use goes::goes_drawing;
pub use image::{png, svg};
pub use json::attempt_json;
pub use lesson::{cites, claim_sources, lesson_notes_html, lesson_notes_text, lesson_text};
pub use on_the_way::{OnTheWay, on_the_way};
pub use orders::{
    ORDERS_CAVEAT, best_change_words, change_words, cleans_words, named_words, order_list, order_words,
    risk_words, same_count, size_words, step_words,
};
pub use orders_json::orders_json;
pub use picture::{
    AskedStep, BodyMark, Chance, CourseParts, FlowParts, MOST_SERIES, Row, best_picture, body_picture,
    chance, course_drawing, flow_drawing, interval_picture, people_picture, place_on_body, spread_picture,
    tornado_picture,
};
pub use score_text::{marks_lines, score_text};
pub use sheet::{
    is_report_of, judged_drawing, judged_html, lost_words, report_name, saved_beside, went_well, work_on,
};
pub use table::Table;
pub use touches::touches_csv;
pub use verdict::{
    SCRIPT_LAPSES, by_repeat, counted_mean, counted_people, counted_share, exact_words, mean_words,
    measure_words, scripts_words, verdict_sentence,
};
pub use words::{
    CAUTION, RUB_ON_TRACER, TRACER_CAVEAT, count, decimals, felt_in_truth, figure, found, found_in_truth,
    many, of_hundred, of_hundred_exactly, percent, percentage, source_line,
};
