//! Reading a log back: every complete line is played again and must give the same books, unless it comes from another
//! smirch: then its actions are played by today's model, and it is said that the counts are today's.

use std::fmt;
use std::path::Path;
use std::sync::Arc;

use crate::chance::Key;
use crate::content::Content;
use crate::content::fault::{printable, quoted};
use crate::drill::Drill;
use crate::model::Setup;

use super::line::{Header, LOG, LOG_FORMAT, Line, SEALED_FORMAT, hex};
use super::read::{Lines, Next, open};
use super::seal::{first, unbroken};
use super::terms::Terms;
use super::who::Id;

/// A number of actions, in words.
fn actions(number: usize) -> String {
    match number {
        1 => "1 action".to_owned(),
        n => format!("{n} actions"),
    }
}

/// A log played again.
#[derive(Debug)]
pub struct Replay {
    /// The drill as it stood after the last complete line.
    pub drill: Drill,
    /// What judges it, and what help there was.
    pub terms: Terms,
    /// True if the attempt was ended rather than broken off.
    pub ended: bool,
    /// True if every count is as it was written; false if the actions were played by today's model and the counts are
    /// today's.
    pub as_written: bool,
    /// What the attempt is known by; none in logs of formats before 5.
    pub attempt: Option<Id>,
    /// When it began, in seconds since 1970 began in Greenwich; none in logs of formats before 4.
    pub began: Option<u64>,
    /// Ids of steps that were told on request, in the order of asking.
    pub told: Vec<String>,
    /// Seal of its last sound line; none in logs of formats without seals.
    pub(super) seal: Option<Key>,
    /// Where it can be gone on with: it was not ended, is sealed, and every count is as it was written.
    pub(super) open_end: Option<OpenEnd>,
    /// What is worth saying: a torn last line, other content, counts that are today's.
    pub notes: Vec<String>,
}

/// The end of the sound lines of a log.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenEnd {
    /// Bytes up to there.
    pub length: u64,
    /// Seal of the last line.
    pub seal: Key,
}

/// Why a log cannot be replayed, or where it departs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReplayError {
    /// The file.
    pub file: String,
    /// Line number, from 1; 0 for the file as a whole.
    pub line: usize,
    /// What is wrong.
    pub brief: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Replay {
    /// True if the attempt can be taken up again where it stands.
    pub fn can_go_on(&self) -> bool {
        self.open_end.is_some() && self.attempt.is_some()
    }
}

impl fmt::Display for ReplayError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.file, self.brief)?,
            line => write!(f, "{}:{line}: {}", self.file, self.brief)?,
        }
        match &self.hint {
            Some(hint) => write!(f, "\n   hint: {hint}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for ReplayError {}

/// What is wrong with a line, before it is known which, and what to do.
struct Wrong(String, &'static str);

impl Wrong {
    fn at(self, path: &Path, line: usize) -> ReplayError {
        // Names in a log may be of any length and hold anything.
        let lines = self.0.lines().map(|line| match line.char_indices().nth(LONGEST) {
            Some((cut, _)) => format!("{}...", printable(&line[..cut])),
            None => printable(line),
        });
        ReplayError {
            file: path.display().to_string(),
            line,
            brief: lines.collect::<Vec<_>>().join("\n"),
            hint: Some(self.1.to_owned()),
        }
    }
}

/// Longest line of what is said of a log, characters.
const LONGEST: usize = 300;
const GIVE_FOLDER: &str = "give the folder of content that it was made with by `--content`";
const GIVE_A_LOG: &str = "give the path of a log; `smirch list attempts` shows those that were recorded";
const NO_LOG: &str = "a log begins with a line that holds `smirch-log`";
const CHANGED: &str = "a record that was changed is not played; look for an unchanged copy of this file";
const OTHER_MODEL: &str = "the log does not come from this smirch with this content, or it was sealed anew";

/// Plays a log again.
///
/// A last line without its line end was being written when the program stopped; it is left out and noted. A log of an
/// earlier format, or one made with other content whose counts come out differently, is played by today's model, and
/// noted so.
///
/// # Errors
/// The file cannot be read, is no log or a newer one, a complete line is broken or was changed, or the books differ
/// although nothing else does.
pub fn replay(path: &Path, content: &Content) -> Result<Replay, ReplayError> {
    let file = open(path).map_err(|why| Wrong(why, GIVE_A_LOG).at(path, 0))?;
    let mut lines = Lines::of(file);
    let text = match lines.next().map_err(|why| Wrong(why, NO_LOG).at(path, 1))? {
        Next::Line(text) => text,
        Next::Torn | Next::End => {
            return Err(Wrong("this log has no complete line".to_owned(), GIVE_A_LOG).at(path, 0));
        }
    };
    let header = header(&text).map_err(|wrong| wrong.at(path, 1))?;
    let sealed = header.format >= SEALED_FORMAT;
    let mut seal = first(LOG);
    if sealed {
        seal = unbroken(&text, seal).ok_or_else(|| {
            Wrong("this line was changed after it was written".to_owned(), CHANGED).at(path, 1)
        })?;
    }
    let mut playing = Playing::begin(path, header, content).map_err(|wrong| wrong.at(path, 1))?;
    let mut length = text.len() as u64 + 1;
    loop {
        let text = match lines
            .next()
            .map_err(|why| Wrong(why, CHANGED).at(path, lines.number))?
        {
            Next::End => break,
            Next::Torn => {
                playing
                    .notes
                    .push(format!("line {} is torn; it is left out", lines.number));
                break;
            }
            Next::Line(text) => text,
        };
        playing
            .line(&text, sealed.then_some(&mut seal))
            .map_err(|wrong| wrong.at(path, lines.number))?;
        if playing.stopped {
            break;
        }
        length += text.len() as u64 + 1;
    }
    let open = sealed && !playing.ended && !playing.stopped && playing.compared;
    Ok(Replay {
        seal: sealed.then_some(seal),
        ..playing.finish(open.then_some(OpenEnd { length, seal }))
    })
}

/// The header, if this program can play what follows it.
fn header(text: &str) -> Result<Header, Wrong> {
    let value: serde_json::Value =
        serde_json::from_str(text).map_err(|e| Wrong(format!("this is no log: {e}"), NO_LOG))?;
    match value.get("smirch-log").and_then(serde_json::Value::as_u64) {
        Some(format) if format > LOG_FORMAT => {
            let brief = format!("this log has format {format}; this smirch reads up to {LOG_FORMAT}");
            return Err(Wrong(brief, "use a newer smirch"));
        }
        Some(1..) => {}
        _ => return Err(Wrong("this is no log".to_owned(), NO_LOG)),
    }
    serde_json::from_value(value).map_err(|e| Wrong(format!("the header is broken: {e}"), CHANGED))
}

/// A log being played.
struct Playing {
    drill: Drill,
    terms: Terms,
    attempt: Option<Id>,
    began: Option<u64>,
    ended: bool,
    /// True while counts are compared: the log's model is today's as far as is known.
    compared: bool,
    /// True if counts that differ mean another model rather than damage.
    other: bool,
    /// True if today's model refuses to go on.
    stopped: bool,
    told: Vec<String>,
    notes: Vec<String>,
}

impl Playing {
    fn begin(path: &Path, header: Header, content: &Content) -> Result<Playing, Wrong> {
        let mut notes = Vec::new();
        let earlier = header.format < SEALED_FORMAT;
        let other_content = header.content != hex(content.digest);
        let other = earlier || other_content || header.program != env!("CARGO_PKG_VERSION");
        let own = with_own(path, &header, content, other, &mut notes)?;
        let content = own.as_ref().unwrap_or(content);
        let scenario = content.library.scenario(&header.scenario).ok_or_else(|| {
            Wrong(
                format!("unknown scenario {}", quoted(&header.scenario)),
                GIVE_FOLDER,
            )
        })?;
        let terms = header.terms.unwrap_or_else(|| {
            notes.push(
                "the log does not name the sequence that it was judged by; it is laid beside the scenario's own"
                    .to_owned(),
            );
            Terms {
                sequence: scenario.sequence.clone(),
                ..Terms::default()
            }
        });
        if content.library.sequence(&terms.sequence).is_none() {
            return Err(Wrong(
                format!(
                    "the sequence {} that it is judged by is not known here",
                    quoted(&terms.sequence)
                ),
                GIVE_FOLDER,
            ));
        }
        let setup =
            Setup::new(content.library.clone(), scenario).map_err(|e| Wrong(e.to_string(), GIVE_FOLDER))?;
        let drill = Drill::begin(Arc::new(setup), header.seed);
        let mut playing = Playing {
            drill,
            terms,
            attempt: header.attempt,
            began: header.began,
            ended: false,
            compared: true,
            other,
            stopped: false,
            told: Vec::new(),
            notes,
        };
        if earlier {
            let why = format!("this log has format {}, from an earlier smirch", header.format);
            playing.by_todays_model(&why);
        } else if other_content {
            playing.notes.push(
                "the log was made with other content; it is replayed with what is here, and compared"
                    .to_owned(),
            );
        }
        playing.compare(&header.books, "the books differ at the start")?;
        Ok(playing)
    }

    /// From here on counts are today's.
    fn by_todays_model(&mut self, why: &str) {
        self.compared = false;
        self.notes.push(format!(
            "{why}: its actions are played by today's model, and counts and marks are today's, not those of that day"
        ));
    }

    /// Holds a digest of the books to those of the drill.
    fn compare(&mut self, books: &str, brief: &str) -> Result<(), Wrong> {
        if !self.compared || books.is_empty() || books == hex(self.drill.books().digest()) {
            return Ok(());
        }
        if self.other {
            self.by_todays_model("counts come out differently with the content or the smirch that are here");
            return Ok(());
        }
        Err(Wrong(brief.to_owned(), OTHER_MODEL))
    }

    fn line(&mut self, text: &str, seal: Option<&mut Key>) -> Result<(), Wrong> {
        let line: Line =
            serde_json::from_str(text).map_err(|_| Wrong("this is no log line".to_owned(), CHANGED))?;
        if self.ended && !matches!(line, Line::Kept { .. }) {
            return Err(Wrong("there is a line after the end".to_owned(), CHANGED));
        }
        let done = self.drill.done().len();
        match &line {
            Line::Step { n, .. } if *n != done + 1 => {
                let brief = format!("action {n} is here where action {} should be", done + 1);
                return Err(Wrong(brief, CHANGED));
            }
            Line::Back { back, .. } if *back > done => {
                return Err(Wrong(
                    format!(
                        "after this line {} would be left, and there are only {done}",
                        actions(*back)
                    ),
                    CHANGED,
                ));
            }
            Line::End { end, .. } if *end != done => {
                let brief = format!("the end speaks of {}; there are {done}", actions(*end));
                return Err(Wrong(brief, CHANGED));
            }
            _ => {}
        }
        if let Some(seal) = seal {
            *seal = unbroken(text, *seal).ok_or_else(|| {
                let brief = "this line, or one before it, was changed after it was written";
                Wrong(brief.to_owned(), CHANGED)
            })?;
        }
        match line {
            Line::Step {
                n,
                action,
                clock,
                books,
            } => {
                if let Err(refusal) = self.drill.act(action) {
                    if !self.other {
                        let brief = format!("this action is refused: {refusal}");
                        return Err(Wrong(brief, OTHER_MODEL));
                    }
                    self.stopped = true;
                    self.notes.push(format!(
                        "action {n} cannot be done in today's model: {}; what came before it is shown",
                        printable(&refusal.reason)
                    ));
                    return Ok(());
                }
                self.compare(&books, "the books differ after this line")?;
                let passed = self.drill.state().clock;
                if self.compared && clock != passed {
                    if self.other {
                        self.by_todays_model(
                            "times come out differently with the content or the smirch that are here",
                        );
                        return Ok(());
                    }
                    let brief = format!("the clock says {clock} s where {passed} s have passed");
                    return Err(Wrong(brief, OTHER_MODEL));
                }
            }
            Line::Back { back, books } => {
                let actions: Vec<_> = self.drill.done()[..back]
                    .iter()
                    .map(|d| d.action.clone())
                    .collect();
                self.drill = Drill::begin(self.drill.setup().clone(), self.drill.seed());
                for action in actions {
                    self.drill.act(action).map_err(|refusal| {
                        Wrong(
                            format!("an action before this is refused: {refusal}"),
                            OTHER_MODEL,
                        )
                    })?;
                }
                self.compare(&books, "the books differ after this line")?;
            }
            Line::Kept { .. } => {}
            Line::Told { told } => self.told.push(told),
            Line::End { books, .. } => {
                self.ended = true;
                self.compare(&books, "the books differ at the end")?;
            }
        }
        Ok(())
    }

    fn finish(mut self, open_end: Option<OpenEnd>) -> Replay {
        if !self.ended && !self.stopped {
            self.notes.push(format!(
                "the log ends after {} without an end line",
                actions(self.drill.done().len())
            ));
        }
        Replay {
            drill: self.drill,
            terms: self.terms,
            ended: self.ended,
            as_written: self.compared,
            attempt: self.attempt,
            began: self.began,
            told: self.told,
            seal: None,
            open_end,
            notes: self.notes,
        }
    }
}

/// The content with the scenario and the sequences that the log carries, if they are not those that are here.
fn with_own(
    path: &Path,
    header: &Header,
    content: &Content,
    other: bool,
    notes: &mut Vec<String>,
) -> Result<Option<Content>, Wrong> {
    let file = path.display();
    let mut texts = Vec::new();
    if !header.text.is_empty() && content.scenario_texts.get(&header.scenario) != Some(&header.text) {
        texts.push((format!("{file}, scenario"), header.text.clone()));
    }
    for (id, text) in &header.sequences {
        if content.sequence_texts.get(id) != Some(text) {
            texts.push((format!("{file}, sequence {id}"), text.clone()));
        }
    }
    if texts.is_empty() {
        return Ok(None);
    }
    match content.with_texts(&texts) {
        Ok(content) => Ok(Some(content)),
        Err(_) if other && content.library.scenario(&header.scenario).is_some() => {
            notes.push("the scenario is today's: the one in the log does not fit today's content".to_owned());
            Ok(None)
        }
        Err(e) => Err(Wrong(
            format!("what the log carries does not fit this content:\n{e}"),
            GIVE_FOLDER,
        )),
    }
}
