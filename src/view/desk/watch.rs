//! Whoever is told of what happens at the desk, and what the scene and the window should do about it.

use std::path::Path;

use super::super::settings::NamedView;
use super::super::stage::Who;
use crate::drill::Drill;
use crate::record::{Id, Replay, Terms};
use crate::register::Entry;
use crate::report::Drawing;

/// Someone who is told of every step of a drill, such as a log.
pub trait Watch: Send + Sync {
    /// A drill has begun, under these terms.
    fn began(&mut self, _drill: &Drill, _terms: &Terms) {}
    /// A drill that was broken off goes on where its log stands.
    fn resumed(&mut self, _log: &Path, _replay: &Replay) {}
    /// An action was done; it is the drill's last.
    fn acted(&mut self, _drill: &Drill) {}
    /// The action that was done last was taken back: the drill is as it was before.
    fn took_back(&mut self, _drill: &Drill) {}
    /// The next step was told on request.
    fn told(&mut self, _step: &str) {}
    /// The drill is over.
    fn ended(&mut self, _drill: &Drill) {}
    /// A sheet that is not signed yet stands like this now.
    fn drafted(&mut self, _entry: &Entry) {}
    /// A sheet that was left unsigned is to be gone on with; false if somebody else does so just now.
    fn opens(&mut self, _sheet: Id) -> bool {
        true
    }
    /// The sheet that was open is put away, signed or not.
    fn puts_away(&mut self) {}
    /// A sheet is not to be gone on with: nobody wants it, or it was signed and is kept nowhere.
    fn discarded(&mut self, _sheet: Id) {}
    /// A sheet that was signed is to be kept for good and is no draft any more. Whoever keeps it says where, or why not; nothing from those who keep nothing.
    fn keeps(&mut self, _entry: &Entry) -> Option<Result<String, String>> {
        None
    }
    /// A lesson is being given: what would be kept of it if it were over now.
    fn teaching(&mut self, _so_far: &[Entry]) {}
    /// A lesson is over: what is to be kept of it.
    fn taught(&mut self, _entries: &[Entry]) {}
}

/// Something the scene should do about the last command, besides showing the new stage.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// The last thing done in what is shown is carried out by a person's hands.
    Perform(Who),
    /// The camera goes to a named view.
    View(NamedView),
    /// Hands are being cleaned with this product until they are told to stop, seen from close by.
    Rub(String),
    /// They stop, and the camera goes back.
    RubOver,
    /// A picture is written, as SVG and PNG, under this name without its ending.
    Save(String, Drawing),
    /// A report is written as a page, with its figure as SVG and PNG beside it, under this name without its ending.
    SaveReport(String, String, Drawing),
    /// The window fills the screen, or no longer.
    FullScreen,
    /// The window closes.
    Leave,
}
