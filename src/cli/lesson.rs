//! `smirch lesson`.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::content::Content;
use crate::report::{lesson_notes_html, lesson_notes_text};

use super::failure::Failure;
use super::find::unknown;
use super::output::write_file;

/// List lessons, and write the trainer's notes of one
///
/// A lesson is given in the window. Its notes are for the trainer alone: what to say and ask, what to expect, how long each step
/// takes and what has to be there.
#[derive(Debug, Args)]
pub(super) struct Lessons {
    #[command(subcommand)]
    command: Asked,
}

#[derive(Debug, Subcommand)]
enum Asked {
    /// List lessons, one a line: id, minutes, name, for whom
    List,
    /// Write the trainer's notes of a lesson
    Notes {
        /// Id of the lesson
        lesson: String,
        /// Write them as a page to print, which needs nothing but itself
        #[arg(long, value_name = "OUT.html")]
        out: Option<PathBuf>,
    },
}

impl Lessons {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let library = &content.library;
        let mut out = std::io::stdout().lock();
        match self.command {
            Asked::List => {
                for lesson in &library.lessons {
                    writeln!(
                        out,
                        "{}\t{} min\t{}\t{}",
                        lesson.id, lesson.minutes, lesson.label, lesson.audience
                    )?;
                }
            }
            Asked::Notes {
                lesson: id,
                out: path,
            } => {
                let known = library.lessons.iter().map(|lesson| lesson.id.as_str());
                let lesson = library
                    .lesson(&id)
                    .ok_or_else(|| Failure::Usage(unknown("lesson", &id, known)))?;
                match path {
                    Some(path) => {
                        write_file(&path, lesson_notes_html(library, lesson).as_bytes())?;
                        writeln!(out, "{}", path.display())?;
                    }
                    None => out.write_all(lesson_notes_text(library, lesson).as_bytes())?,
                }
            }
        }
        out.flush()?;
        Ok(())
    }
}
