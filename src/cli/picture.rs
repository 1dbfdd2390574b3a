//! `smirch picture`.

use std::path::PathBuf;

use clap::Args;

use crate::content::Content;

use super::Failure;

/// Draw a moment of a drill as a PNG file, without a window.
#[derive(Debug, Args)]
pub(super) struct Draw {
    /// A scenario, by id or as a file
    scenario: String,
    /// A script, as a file or by the name of a built-in one; the sequence by the book if left out
    #[arg(long, value_name = "FILE")]
    script: Option<String>,
    /// The sequence to follow by the book; the scenario's own if left out
    #[arg(long, value_name = "ID", conflicts_with = "script")]
    sequence: Option<String>,
    /// Show the moment after this many steps; 0 is before the first
    #[arg(long, value_name = "STEP", default_value_t = 0)]
    after: usize,
    /// The number that its chance is drawn from: the same number gives the same drill
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Where to look from: front, back, left, right, hands, face
    #[arg(long, value_name = "NAME", default_value = "front")]
    view: String,
    /// Switch the lamp on, so that contamination shows
    #[arg(long)]
    lamp: bool,
    /// Name what is worn or held, and under the lamp what carries how much
    #[arg(long)]
    labels: bool,
    /// Show the whole drill on one sheet, a frame for each step
    #[arg(long, conflicts_with_all = ["after", "labels"])]
    strip: bool,
    /// Size in pixels, each 64 to 8192; of one frame with --strip [default: 1280x720, with --strip 360x400]
    #[arg(long, value_name = "WxH")]
    size: Option<String>,
    /// The file to write
    #[arg(long, value_name = "FILE.png")]
    out: PathBuf,
}

#[cfg(not(feature = "gui"))]
impl Draw {
    pub(super) fn run(self, _content: &Content) -> Result<(), Failure> {
        Err(Failure::Usage(
            "this smirch was built without the scene and cannot draw\n   hint: build it with the feature `gui`"
                .to_owned(),
        ))
    }
}

#[cfg(feature = "gui")]
mod drawn {
    use std::path::Path;

    use super::{Content, Draw, Failure};
    use crate::analysis::by_the_book;
    use crate::app::caption::{Board, callouts, legend_room, speck_legend};
    use crate::app::picture::{Picture, PictureError, Studio};
    use crate::app::strip::{Heading, Sheet};
    use crate::cli::{find_script, scenario, setup, unknown, write_file};
    use crate::content::fault::quoted;
    use crate::drill::{Action, Drill};
    use crate::report::CAUTION;
    use crate::scene::NamedView;
    use crate::view::stage_of;
    use crate::view::steps::describe;
    use crate::view::words::many;

    impl Draw {
        pub(in crate::cli) fn run(self, content: &Content) -> Result<(), Failure> {
            let view = view(&self.view)?;
            let usual = if self.strip { "360x400" } else { "1280x720" };
            let (width, height) = size(self.size.as_deref().unwrap_or(usual))?;
            writable(&self.out)?;
            let (content, id) = scenario(content, &self.scenario)?;
            let setup = setup(&content, &id)?;
            let mut drill = Drill::begin(setup, self.seed);
            let actions = self.actions(&content, &id, &drill)?;
            if self.strip {
                let picture = self.sheet(&mut drill, &actions, view, (width, height))?;
                return write(&picture, &self.out);
            }
            if self.after > actions.len() {
                return Err(Failure::Usage(format!(
                    "there is no step {}: this drill has {}\n   hint: --after takes 0 to {}",
                    self.after,
                    many(actions.len() as u64, "step"),
                    actions.len()
                )));
            }
            for (n, action) in actions[..self.after].iter().enumerate() {
                act(&mut drill, n, action)?;
            }
            let mut studio = Studio::new(width, height).map_err(failure)?;
            let stage = stage_of(&drill, self.lamp);
            let seen_from = stage.seen_from;
            let mut picture = studio.picture(stage, view).map_err(failure)?;
            let mut board = Board::new(width, height);
            let legend = if self.lamp {
                let figure = studio.figure().map_err(failure)?;
                Some(legend_room(&board, &figure))
            } else {
                None
            };
            if self.labels {
                let labels = studio.labels().map_err(failure)?;
                let left_out = callouts(&mut board, &labels, self.lamp, legend);
                if left_out > 0 {
                    eprintln!("note: no room for {left_out} of the labels; a larger --size holds more");
                }
            }
            if let Some(room) = legend {
                speck_legend(&mut board, room, seen_from);
            }
            board.lay_over(&mut picture).map_err(failure)?;
            write(&picture, &self.out)
        }

        /// The whole drill, a frame for each step.
        fn sheet(
            &self,
            drill: &mut Drill,
            actions: &[Action],
            view: NamedView,
            (width, height): (u32, u32),
        ) -> Result<Picture, Failure> {
            let setup = drill.setup().clone();
            let mut captions = vec!["The start".to_owned()];
            captions.extend(actions.iter().map(|a| describe(&setup, a)));
            let way = match &self.script {
                Some(script) => format!("script {script}"),
                None => {
                    let id = self.sequence.as_deref().unwrap_or(&setup.scenario.sequence);
                    let known = setup.library.sequence(id);
                    format!("{}, by the book", known.map_or(id, |s| s.label.as_str()))
                }
            };
            let lamp = if self.lamp { "lamp on" } else { "lamp off" };
            let heading = Heading {
                title: setup.scenario.label.clone(),
                details: format!("{way} · seed {} · view {} · {lamp}", self.seed, view.word()),
                caution: CAUTION.to_owned(),
                lamp: self.lamp,
                seen_from: setup.organism.seen_from,
            };
            let mut sheet = Sheet::new(heading, &captions, width, height).map_err(failure)?;
            let mut studio = Studio::new(width, height).map_err(failure)?;
            for n in 0..captions.len() {
                if n > 0 {
                    act(drill, n - 1, &actions[n - 1])?;
                }
                let stage = stage_of(drill, self.lamp);
                sheet.place(n, &studio.picture(stage, view).map_err(failure)?);
                eprintln!("frame {} of {}", n + 1, captions.len());
            }
            sheet.finish().map_err(failure)
        }

        /// What is done in this drill, from its script or by the book.
        fn actions(&self, content: &Content, id: &str, drill: &Drill) -> Result<Vec<Action>, Failure> {
            if let Some(wanted) = &self.script {
                let script = find_script(content, wanted, id)?;
                if script.scenario != id {
                    eprintln!(
                        "note: this script was written for the scenario `{}`",
                        script.scenario
                    );
                }
                return Ok(script.actions);
            }
            let setup = drill.setup();
            let wanted = self.sequence.as_deref().unwrap_or(&setup.scenario.sequence);
            let sequence = content.library.sequence(wanted).ok_or_else(|| {
                let known = content.library.sequences.iter().map(|s| s.id.as_str());
                Failure::Usage(unknown("sequence", wanted, known))
            })?;
            by_the_book(setup, sequence).map_err(|r| Failure::Faults(r.to_string()))
        }
    }

    fn act(drill: &mut Drill, n: usize, action: &Action) -> Result<(), Failure> {
        drill
            .act(action.clone())
            .map(|_| ())
            .map_err(|refusal| Failure::Faults(format!("action {} is refused: {refusal}", n + 1)))
    }

    fn view(wanted: &str) -> Result<NamedView, Failure> {
        NamedView::ALL
            .into_iter()
            .find(|v| v.word() == wanted)
            .ok_or_else(|| {
                let all = NamedView::ALL.map(NamedView::word).join(", ");
                Failure::Usage(format!(
                    "unknown view {}\n   hint: there are {all}",
                    quoted(wanted)
                ))
            })
    }

    /// Smallest and largest edge of a picture, pixels.
    const EDGES: std::ops::RangeInclusive<u32> = 64..=8192;

    fn size(wanted: &str) -> Result<(u32, u32), Failure> {
        wanted
            .split_once('x')
            .and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)))
            .filter(|(w, h)| EDGES.contains(w) && EDGES.contains(h))
            .ok_or_else(|| {
                Failure::Usage(format!(
                    "{} is not a size\n   hint: width x height in pixels, each {} to {}, such as 1280x720",
                    quoted(wanted),
                    EDGES.start(),
                    EDGES.end()
                ))
            })
    }

    /// Says at once, before anything is drawn, that the file has no folder to go to.
    fn writable(out: &Path) -> Result<(), Failure> {
        match out.parent() {
            Some(folder) if !folder.as_os_str().is_empty() && !crate::outside::files::is_folder(folder) => {
                Err(Failure::Faults(format!(
                    "{}: cannot be written: there is no folder {}",
                    out.display(),
                    folder.display()
                )))
            }
            _ => Ok(()),
        }
    }

    fn write(picture: &Picture, out: &Path) -> Result<(), Failure> {
        let bytes = picture
            .png()
            .map_err(|why| Failure::Faults(format!("{}: cannot be written: {why}", out.display())))?;
        write_file(out, &bytes)
    }

    fn failure(error: PictureError) -> Failure {
        Failure::Faults(error.to_string())
    }
}
