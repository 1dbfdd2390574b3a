//! `smirch register check`.

use clap::Args;

use crate::register::{Moment, months_earlier};

use super::super::failure::{Failure, count_words};
use super::opened::{Open, entries, unlisted};

/// Read every entry and name whatever is damaged, left over or kept too long
#[derive(Debug, Args)]
pub(super) struct Check {}

impl Check {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let reading = open.register.read().map_err(|e| unlisted(&open.register, &e))?;
        let now = Moment::now();
        let rules = open.rules()?;
        let oldest = months_earlier(now.date(), rules.keep_months);
        let wrong: Vec<_> = reading
            .found
            .iter()
            .filter(|e| e.at.is_before_the_program())
            .collect();
        let old = reading.found.iter().filter(|e| e.at.date() < oldest).count() - wrong.len();
        let ahead: Vec<_> = reading.found.iter().filter(|e| e.at.is_beyond(now)).collect();
        println!("{} sound", entries(reading.found.len()));
        for (paths, what) in [
            (
                &reading.half_written,
                "not written to its end; another station writes it just now, or stopped while it did",
            ),
            (&reading.odd, "no entry; it is passed over"),
            (
                &reading.came_back,
                "forgotten before, and left out; `smirch register forget` removes it",
            ),
        ] {
            for path in paths {
                println!("{}: {what}", path.display());
            }
        }
        for entry in &ahead {
            println!(
                "{}: dated {}, which is later than now by this clock",
                entry.file_name(),
                entry.at.words()
            );
        }
        for entry in &wrong {
            println!(
                "{}: dated {}, when there was no such program: a station's clock was wrong, and it is kept",
                entry.file_name(),
                entry.at.words()
            );
        }
        if old > 0 {
            println!(
                "{} older than the {} months that they are kept; `smirch register forget --old` removes them",
                entries(old),
                rules.keep_months
            );
        }
        let faults = reading.left_out();
        match faults.len() {
            0 => Ok(()),
            n => Err(Failure::Faults(format!(
                "{}\n{}\n   hint: look for an unchanged copy; what cannot be read is left out everywhere and does no harm",
                faults.join("\n"),
                count_words(n)
            ))),
        }
    }
}
