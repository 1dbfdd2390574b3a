//! Where on a drawn outline of the body a place lies, for the debrief's front and back.

use crate::drill::Drill;
use crate::model::{Owner, SiteIndex};
use crate::report::place_on_body;

/// A mark on the outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Site it stands for.
    pub site: SiteIndex,
    /// Name for people.
    pub label: String,
    /// Organisms there.
    pub count: u64,
    /// True on the front view, false on the back view.
    pub front: bool,
    /// Across, as a share of the figure's height; the wearer's left is positive.
    pub x: f32,
    /// Down from the top of the head, as a share of the figure's height.
    pub y: f32,
}

/// Marks for every place of the person's own that carries something, fullest first.
pub fn spots(drill: &Drill) -> Vec<Spot> {
    let setup = drill.setup();
    let totals = drill.books().totals();
    let mut spots: Vec<Spot> = setup
        .sites
        .iter()
        .enumerate()
        .filter_map(|(site, known)| {
            let Owner::Body(place) = known.owner else {
                return None;
            };
            let (front, x, y) = place_on_body(&setup.library.places[place].id)?;
            (totals[site] > 0).then(|| Spot {
                site,
                label: known.label.clone(),
                count: totals[site],
                front,
                x,
                y,
            })
        })
        .collect();
    spots.sort_by_key(|s| std::cmp::Reverse(s.count));
    spots
}
