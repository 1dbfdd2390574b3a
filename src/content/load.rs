//! Gathering files, built in and from folders, into one library.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::chance::Key;
use crate::drill::Script;
use crate::model::Library;
use crate::outside::files;

use super::fault::{Fault, Faults, Source};
use super::record::Decoder;
use super::tree::{Node, NodeKind, parse};
use super::{
    body, checklist, curve, doubt, duel, embedded, gather, ladder, lesson, refer, register, scenario,
    sequence, study, substance, technique,
};

/// The newest file format this program reads.
const FORMAT: u64 = 1;

/// What a content file holds, in the order in which files build on each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Kind {
    Evidence,
    Materials,
    Organisms,
    Body,
    Room,
    Items,
    Hygiene,
    Faults,
    Manners,
    Marks,
    NextContact,
    Telling,
    Register,
    Techniques,
    Tunings,
    Curves,
    Trainees,
    Sequence,
    Scenario,
    Duels,
    Checklists,
    Ladder,
    Lesson,
    Studies,
    Calibration,
    Ensemble,
    Script,
}

impl Kind {
    /// A field that only files of this kind have, and the word for the kind.
    const SIGNS: [(&'static str, Kind, &'static str); 29] = [
        // A lesson has materials and steps too, so it comes first.
        ("audience", Kind::Lesson, "lesson"),
        ("minutes", Kind::Lesson, "lesson"),
        ("sources", Kind::Evidence, "evidence file"),
        ("bases", Kind::Evidence, "evidence file"),
        ("materials", Kind::Materials, "materials file"),
        ("organisms", Kind::Organisms, "organisms file"),
        ("places", Kind::Body, "body file"),
        ("furniture", Kind::Room, "room file"),
        ("items", Kind::Items, "items file"),
        ("products", Kind::Hygiene, "hygiene file"),
        ("touch_areas", Kind::Manners, "manners file"),
        ("missed", Kind::Marks, "marks file"),
        ("much_the_same", Kind::Telling, "telling file"),
        ("keep_months", Kind::Register, "register file"),
        ("next_contact", Kind::NextContact, "next patient file"),
        ("techniques", Kind::Techniques, "techniques file"),
        ("brush_odds", Kind::Tunings, "fitted file"),
        ("curves", Kind::Curves, "curves file"),
        ("duels", Kind::Duels, "duels file"),
        ("checklists", Kind::Checklists, "checklists file"),
        ("rungs", Kind::Ladder, "ladder file"),
        ("arms", Kind::Studies, "studies file"),
        ("between_studies", Kind::Calibration, "doubt file"),
        ("members", Kind::Ensemble, "ensemble file"),
        ("trainees", Kind::Trainees, "trainees file"),
        ("steps", Kind::Sequence, "sequence"),
        ("kit", Kind::Scenario, "scenario"),
        ("actions", Kind::Script, "script"),
        ("faults", Kind::Faults, "faults file"),
    ];

    /// Tells from its fields what a file is. A scenario also has `faults`, so that sign comes last.
    fn of(root: &Node) -> Option<(Kind, &'static str)> {
        let NodeKind::Struct { fields, .. } = &root.kind else {
            return None;
        };
        Kind::SIGNS
            .iter()
            .find(|(sign, ..)| fields.iter().any(|f| f.name == *sign))
            .map(|&(_, kind, noun)| (kind, noun))
    }
}

/// Why content could not be loaded: everything that is wrong with it, ready to print.
#[derive(Clone, Debug)]
pub struct LoadError {
    /// All faults.
    pub faults: String,
    /// How many.
    pub count: usize,
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.faults.trim_end())
    }
}

impl std::error::Error for LoadError {}

/// A library with what belongs to it but is not part of the model.
#[derive(Clone, Debug)]
pub struct Content {
    /// Everything a scenario can draw on.
    pub library: Arc<Library>,
    /// Scripts by name, such as `classic-tracer/no-rub`.
    pub scripts: BTreeMap<String, Script>,
    /// Texts of scenarios by id, for logs that must stand alone.
    pub scenario_texts: BTreeMap<String, String>,
    /// Texts of sequences by id, for the same.
    pub sequence_texts: BTreeMap<String, String>,
    /// A digest of every file that the library was made from.
    pub digest: u64,
}

/// A file and its tree.
struct Read {
    source: Source,
    root: Node,
    kind: Kind,
    noun: &'static str,
}

impl Content {
    /// The content that the program carries.
    ///
    /// # Errors
    /// Faults in it, which a test rules out for every release.
    pub fn builtin() -> Result<Content, LoadError> {
        let faults = Faults::new();
        let content = build(embedded::sources(&faults), &faults);
        finish(content, &faults)
    }

    /// The built-in content with a folder laid over it: files with the same path replace built-in ones, others are
    /// added.
    ///
    /// # Errors
    /// Every fault in any file.
    pub fn with_folder(folder: &Path) -> Result<Content, LoadError> {
        let faults = Faults::new();
        let mut sources = embedded::sources(&faults);
        let paths = gather::gather(folder, &faults);
        if paths.is_empty() && faults.is_empty() {
            faults.report_file(
                &folder.display().to_string(),
                "this folder holds no .ron files",
                "give a folder with `assets` or `scenarios` in it; `smirch export` writes examples",
            );
        }
        for path in paths {
            if let Some(source) = Source::read(&path, &faults) {
                sources.insert(gather::relative(&path, folder), source);
            }
        }
        finish(build(sources, &faults), &faults)
    }

    /// This content with one more scenario read from a file, and with what lies beside it in its folder of content: own
    /// sequences, items and techniques in `assets`, other scenarios in `scenarios`.
    ///
    /// # Errors
    /// Every fault in these files.
    pub fn scenario_file(&self, path: &Path) -> Result<(Content, String), LoadError> {
        let faults = Faults::new();
        let mut reads = read_all(&gather::beside(&[path.to_owned()], &faults), &faults);
        let read = Source::read(path, &faults).and_then(|source| read(source, &faults));
        let id = read.and_then(|read| {
            if read.kind != Kind::Scenario {
                faults.report(
                    &read.source,
                    read.root.span.start..read.root.span.start + 1,
                    format!("a scenario was expected; this is a {}", read.noun),
                    "give a file that has a `kit`, or the id of a scenario",
                );
                return None;
            }
            let id = scenario_id(&read);
            reads.push(read);
            id
        });
        let content = self.with(reads, &faults);
        match id {
            Some(id) if faults.is_empty() => Ok((content, id)),
            _ => Err(error(&faults)),
        }
    }

    /// This content with more scenarios and sequences read from texts, each with a name for faults, as a log carries
    /// them.
    ///
    /// # Errors
    /// Every fault in the texts.
    pub fn with_texts(&self, texts: &[(String, String)]) -> Result<Content, LoadError> {
        let faults = Faults::new();
        let sources = texts.iter().map(|(name, text)| Source::new(name, text));
        let reads = sources.filter_map(|source| read(source, &faults)).collect();
        finish(self.with(reads, &faults), &faults)
    }

    /// This content with more files over it. Scripts among them are passed over.
    fn with(&self, mut reads: Vec<Read>, faults: &Faults) -> Content {
        let mut content = self.clone();
        let mut library = (*self.library).clone();
        in_order(&mut reads, &library);
        let mut digest = Key(self.digest);
        for read in reads.iter().filter(|r| r.kind != Kind::Script) {
            // Logs carry scenarios and sequences with them, so these make no other content.
            if !matches!(read.kind, Kind::Scenario | Kind::Sequence) {
                digest = digest.named(read.source.text());
            }
            content.keep_text(read, decode(read, &mut library, faults));
        }
        if let Some(read) = reads.iter().rfind(|read| read.kind == Kind::Body) {
            body::hands(&Decoder::new(&read.source, faults), &read.root, &library);
        }
        content.digest = digest.0;
        content.library = Arc::new(library);
        content
    }

    /// Keeps the text of what logs carry.
    fn keep_text(&mut self, read: &Read, id: Option<String>) {
        let texts = match read.kind {
            Kind::Scenario => &mut self.scenario_texts,
            Kind::Sequence => &mut self.sequence_texts,
            _ => return,
        };
        if let Some(id) = id {
            texts.insert(id, read.source.text().to_owned());
        }
    }

    /// Reads a script file against this content, to be played in a scenario.
    ///
    /// # Errors
    /// Every fault in the file.
    pub fn script_file(&self, path: &Path, scenario: &str) -> Result<Script, LoadError> {
        let faults = Faults::new();
        let script = Source::read(path, &faults).and_then(|source| {
            let read = read(source, &faults)?;
            if read.kind != Kind::Script {
                faults.report(
                    &read.source,
                    read.root.span.start..read.root.span.start + 1,
                    format!("a script was expected; this is a {}", read.noun),
                    "give a file that has `actions`, or the name of a script",
                );
                return None;
            }
            let decoder = Decoder::new(&read.source, &faults);
            let mut record = decoder.document(&read.root, read.noun, FORMAT)?;
            Some(scenario::script(&mut record, &self.library, Some(scenario)))
        });
        match script {
            Some(script) if faults.is_empty() => Ok(script),
            _ => Err(error(&faults)),
        }
    }

    /// Checks files against this content, each seeing what the others define and what lies beside them in their folders
    /// of content. Returns what was read and all faults.
    pub fn check(&self, paths: &[PathBuf]) -> Checked {
        let faults = Faults::new();
        let mut real = BTreeSet::new();
        let paths: Vec<PathBuf> = paths
            .iter()
            .filter(|path| real.insert(files::real(path).unwrap_or_else(|_| path.to_path_buf())))
            .cloned()
            .collect();
        let beside = gather::beside(&paths, &faults);
        let mut reads = read_all(&paths, &faults);
        let read = reads.len();
        reads.extend(
            read_all(&beside, &faults)
                .into_iter()
                .filter(|r| r.kind != Kind::Script),
        );
        let beside = reads.len() - read;
        let scripts: Vec<Read> = extract_scripts(&mut reads);
        let library = self.with(reads, &faults).library;
        for read in &scripts {
            let decoder = Decoder::new(&read.source, &faults);
            if let Some(mut record) = decoder.document(&read.root, read.noun, FORMAT) {
                scenario::script(&mut record, &library, None);
            }
        }
        if faults.is_empty() {
            in_place_of_built_in(&paths, &faults);
        }
        Checked {
            read,
            beside,
            faults: faults.sorted(),
        }
    }
}

/// Checks that what refers to built-in files finds what it needs in files that lie where these would: with `--content` they
/// take their places.
fn in_place_of_built_in(paths: &[PathBuf], faults: &Faults) {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let built_in: BTreeSet<String> = embedded::embedded().into_iter().map(|(name, _)| name).collect();
    let mut homes: BTreeMap<PathBuf, Vec<(&Path, String)>> = BTreeMap::new();
    for path in paths {
        let Some(home) = gather::home(path).map(|home| whole(&home)) else {
            continue;
        };
        let name = gather::relative(&whole(path), &home);
        let other = || Source::read(path, faults).is_some_and(|source| !embedded::is_built_in(source.text()));
        if built_in.contains(&name) && other() {
            homes.entry(home).or_default().push((path, name));
        }
    }
    for (home, files) in homes {
        let found = Faults::new();
        let mut sources = embedded::sources(&found);
        for file in gather::content_of(&home, &found) {
            if let Some(source) = Source::read(&file, &found) {
                sources.insert(gather::relative(&file, &home), source);
            }
        }
        build(sources, &found);
        let Some(first) = found.sorted().into_iter().next() else {
            continue;
        };
        let more = match found.len() {
            1 => String::new(),
            n => format!(", and {} more", n - 1),
        };
        let place = match first.line {
            0 => first.file,
            line => format!("{}:{line}:{}", first.file, first.column),
        };
        for (path, name) in files {
            faults.report_file(
                &path.display().to_string(),
                format!(
                    "with `--content` this takes the place of the built-in `{name}`, and then there are faults elsewhere: {place}: {}{more}",
                    first.brief
                ),
                "keep what others refer to; under a name that no built-in file has it adds to the built-in one",
            );
        }
    }
}

/// What a check found.
#[derive(Clone, Debug)]
pub struct Checked {
    /// How many of the files could be read.
    pub read: usize,
    /// How many files beside them were read for what they define.
    pub beside: usize,
    /// All faults.
    pub faults: Vec<Fault>,
}

fn extract_scripts(reads: &mut Vec<Read>) -> Vec<Read> {
    let (scripts, others) = std::mem::take(reads)
        .into_iter()
        .partition(|r| r.kind == Kind::Script);
    *reads = others;
    scripts
}

fn read_all(paths: &[PathBuf], faults: &Faults) -> Vec<Read> {
    paths
        .iter()
        .filter_map(|path| read(Source::read(path, faults)?, faults))
        .collect()
}

/// Puts files into the order in which they build on each other: by kind, items after those that they are like, techniques after
/// those that they move like, and sequences after those that they follow.
fn in_order(reads: &mut [Read], library: &Library) {
    reads.sort_by_key(|read| read.kind);
    let items = library.items.iter().map(|i| i.id.clone()).collect();
    in_order_of(Kind::Items, reads, items, |root| {
        refer::names(root, "items", "like")
    });
    let techniques = library.techniques.iter().map(|t| t.id.clone()).collect();
    in_order_of(Kind::Techniques, reads, techniques, |root| {
        refer::names(root, "techniques", "moves_like")
    });
    let sequences = library.sequences.iter().map(|s| s.id.clone()).collect();
    in_order_of(Kind::Sequence, reads, sequences, sequence::names);
}

/// Puts files of a kind after those that they refer to; `names` tells the ids that a file gives, and those it refers to.
fn in_order_of(
    kind: Kind,
    reads: &mut [Read],
    mut known: BTreeSet<String>,
    names: impl Fn(&Node) -> (BTreeSet<String>, BTreeSet<String>),
) {
    let start = reads.partition_point(|r| r.kind < kind);
    let end = reads.partition_point(|r| r.kind <= kind);
    let files = &mut reads[start..end];
    for at in 0..files.len() {
        // What refers to nothing known stays where it is and is reported when it is decoded.
        let mut ready = files[at..].iter().map(|r| names(&r.root));
        let next = ready.position(|(own, like)| like.iter().all(|id| known.contains(id) || own.contains(id)));
        files[at..].rotate_left(next.unwrap_or(0));
        known.extend(names(&files[at].root).0);
    }
}

/// The id that a scenario gives itself.
fn scenario_id(read: &Read) -> Option<String> {
    read.root.field("id").and_then(|node| match &node.kind {
        NodeKind::Text(id) => Some(id.clone()),
        _ => None,
    })
}

fn error(faults: &Faults) -> LoadError {
    LoadError {
        faults: faults.to_string(),
        count: faults.len(),
    }
}

fn finish(content: Content, faults: &Faults) -> Result<Content, LoadError> {
    if faults.is_empty() {
        Ok(content)
    } else {
        Err(error(faults))
    }
}

/// Parses a file and tells what it is.
fn read(source: Source, faults: &Faults) -> Option<Read> {
    let before = faults.len();
    let root = parse(&source, faults);
    Decoder::new(&source, faults).not_newer(&root, FORMAT)?;
    match Kind::of(&root) {
        Some((kind, noun)) => Some(Read {
            source,
            root,
            kind,
            noun,
        }),
        None => {
            // A file that could not be parsed has been complained about already.
            if faults.len() == before {
                let span = root.span.start..(root.span.start + 1).min(source.text().len());
                faults.report(
                    &source,
                    span,
                    "this is no content file",
                    "a scenario has a `kit`, a sequence `steps`, a script `actions`; see README.md",
                );
            }
            None
        }
    }
}

fn build(sources: BTreeMap<String, Source>, faults: &Faults) -> Content {
    let mut digest = Key::of("content");
    for (name, source) in &sources {
        digest = digest.named(name).named(source.text());
    }
    let mut reads = Vec::new();
    let mut scripts_read = Vec::new();
    for (name, source) in sources {
        match read(source, faults) {
            Some(read) if read.kind == Kind::Script => scripts_read.push((name, read)),
            read => reads.extend(read),
        }
    }
    let nothing = Content {
        library: Arc::new(Library::default()),
        scripts: BTreeMap::new(),
        scenario_texts: BTreeMap::new(),
        sequence_texts: BTreeMap::new(),
        digest: 0,
    };
    let mut content = nothing.with(reads, faults);
    content.digest = digest.0;
    for (name, read) in &scripts_read {
        let decoder = Decoder::new(&read.source, faults);
        if let Some(mut record) = decoder.document(&read.root, read.noun, FORMAT) {
            let script = scenario::script(&mut record, &content.library, None);
            let name = name
                .trim_start_matches("scenarios/scripts/")
                .trim_end_matches(".ron");
            content.scripts.insert(name.to_owned(), script);
        }
    }
    content
}

/// Decodes one file into the library; returns the id of a scenario or sequence.
fn decode(read: &Read, library: &mut Library, faults: &Faults) -> Option<String> {
    let decoder = Decoder::new(&read.source, faults);
    let mut record = decoder.document(&read.root, read.noun, FORMAT)?;
    let r = &mut record;
    match read.kind {
        Kind::Evidence => substance::evidence(r, library),
        Kind::Materials => substance::materials(r, library),
        Kind::Organisms => substance::organisms(r, library),
        Kind::Body => body::places(r, library),
        Kind::Room => body::furniture(r, library),
        Kind::Items => body::items(r, library),
        Kind::Hygiene => substance::products(r, library),
        Kind::Faults => substance::faults(r, library),
        Kind::Manners => body::manners(r, library),
        Kind::Marks => library.marks = Some(sequence::marks(r, library, None)),
        Kind::NextContact => body::next_contact(r, library),
        Kind::Telling => sequence::telling(r, library),
        Kind::Register => register::rules(r, library),
        Kind::Techniques => technique::techniques(r, library),
        Kind::Tunings => technique::tunings(r, library),
        Kind::Duels => duel::duels(r, library),
        Kind::Checklists => checklist::checklists(r, library),
        Kind::Ladder => ladder::ladder(r, library),
        Kind::Lesson => lesson::lesson(r, library),
        Kind::Studies => study::studies(r, library),
        Kind::Calibration => doubt::calibration(r, library),
        Kind::Ensemble => doubt::ensemble(r, library),
        Kind::Curves => curve::curves(r, library),
        Kind::Trainees => sequence::trainees(r, library),
        Kind::Sequence => return sequence::sequence(r, library),
        Kind::Scenario => {
            library.stand_in();
            let scenario = scenario::scenario(r, library)?;
            if scenario.id.is_empty() {
                return None;
            }
            let id = scenario.id.clone();
            super::refer::put(&mut library.scenarios, scenario, |s| &s.id);
            return Some(id);
        }
        Kind::Script => {}
    }
    None
}
