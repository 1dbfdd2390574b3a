//! Every event of an attempt as CSV: enough to recompute the books independently.

use std::io::Write;

use crate::drill::{Action, Drill, Happened};
use crate::model::{Holding, Setup};
use crate::transfer::{Cause, Event, Flow, Outcome};

/// Column names, in order.
pub const COLUMNS: [&str; 26] = [
    "step",
    "kind",
    "technique",
    "item",
    "at_s",
    "site_a",
    "site_b",
    "share_a",
    "share_b",
    "wet",
    "chance",
    "follows",
    "happened",
    "mean_ab",
    "mean_ba",
    "drawn_ab",
    "drawn_ba",
    "moved_ab",
    "moved_ba",
    "p_ab",
    "p_ba",
    "people",
    "goes",
    "extent",
    "spots_a",
    "spots_b",
];

/// Writes one row per event that could move anything, and one per item that went somewhere.
///
/// `p_ab` is the probability with which each organism on site_a moved (share_a times drawn_ab; for hygiene the
/// share removed, site_b then naming where it went). `follows` marks rows that happen exactly when the row before
/// does. Of small contacts `share_a` and `share_b` are means: `people` has the factors of the sorts of people, `goes` the
/// shape of the gamma law of goes, `extent` the factor e that was drawn, and `1 - exp(-share e)` stands for the share.
/// Where what is on a site lies in spots, `spots_a` and `spots_b` are the factors that were drawn on the shares in contact for
/// spots that were met or missed.
///
/// # Errors
/// The writer's.
pub fn touches_csv(drill: &Drill, out: impl Write) -> csv::Result<()> {
    let setup = drill.setup();
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(COLUMNS)?;
    for (n, done) in drill.done().iter().enumerate() {
        let (technique, item) = match &done.action {
            Action::Do { technique, item, .. } => (technique.as_str(), item.as_deref().unwrap_or("")),
            Action::Touch { .. } => ("free-touch", ""),
            Action::Clean { product, .. } => (product.as_str(), ""),
            Action::Walk(_) | Action::Wait(_) => ("", ""),
        };
        for happened in &done.happened {
            let mut row = match happened {
                Happened::Flow(event, outcome) => flow_row(setup, event, outcome),
                Happened::Item { item, from, to, at } => item_row(
                    &setup.items[*item].id,
                    &format!("{}>{}", holding(*from), holding(*to)),
                    *at,
                ),
                Happened::Fastening {
                    item,
                    fastening,
                    undone,
                    at,
                } => {
                    let id = &setup.definition(*item).fastenings[*fastening].id;
                    let word = if *undone { "undone" } else { "tied" };
                    item_row(&setup.items[*item].id, &format!("{id}:{word}"), *at)
                }
                Happened::Inverted { item, at } => item_row(&setup.items[*item].id, "inside-out", *at),
            };
            row[0] = (n + 1).to_string();
            row[2] = technique.to_owned();
            row[3] = item.to_owned();
            csv.write_record(&row)?;
        }
    }
    csv.flush()?;
    Ok(())
}

fn flow_row(setup: &Setup, event: &Event, outcome: &Outcome) -> Vec<String> {
    let (a, b) = event.sites();
    let b = match (b, &event.flow) {
        (Some(b), _) => setup.sites[b].id.clone(),
        (None, Flow::Removal { fate, .. }) => Setup::fate_word(*fate).to_owned(),
        (None, _) => String::new(),
    };
    let (share_a, share_b, wet) = match event.flow {
        Flow::Contact {
            share_a,
            share_b,
            wet,
            ..
        } if !matches!(event.cause, Cause::Shed | Cause::Soak) => {
            (share_a, share_b, if wet { "wet" } else { "dry" })
        }
        Flow::Contact { share_a, .. } => (share_a, 0.0, ""),
        _ => (1.0, 0.0, ""),
    };
    let (mean_ab, mean_ba) = event.means();
    let drawn = outcome.drawn();
    let cells: Vec<String> = vec![
        String::new(),
        event.cause.word().to_owned(),
        String::new(),
        String::new(),
        event.at.to_string(),
        setup.sites[a].id.clone(),
        b,
        share_a.to_string(),
        share_b.to_string(),
        wet.to_owned(),
        event.chance.to_string(),
        u8::from(event.follows).to_string(),
        u8::from(outcome.happened).to_string(),
        mean_ab.to_string(),
        mean_ba.to_string(),
        outcome.drawn_ab.to_string(),
        outcome.drawn_ba.to_string(),
        outcome.moved_ab.to_string(),
        outcome.moved_ba.to_string(),
        event.share_ab(drawn).to_string(),
        event.share_ba(drawn).to_string(),
    ];
    let varies = event
        .extent
        .as_ref()
        .map_or([const { String::new() }; 3], |extent| {
            let people = extent.people.map(|factor| factor.to_string());
            [
                people.join(" "),
                extent.go.to_string(),
                outcome.drawn_extent.to_string(),
            ]
        });
    let spots = match event.spots {
        Some(_) => outcome.drawn_spots.map(|factor| factor.to_string()),
        None => [const { String::new() }; 2],
    };
    cells.into_iter().chain(varies).chain(spots).collect()
}

fn item_row(item: &str, what: &str, at: f64) -> Vec<String> {
    let mut cells = vec![String::new(); COLUMNS.len()];
    cells[1] = "item".to_owned();
    cells[4] = at.to_string();
    cells[5] = item.to_owned();
    cells[6] = what.to_owned();
    cells
}

fn holding(holding: Holding) -> String {
    match holding {
        Holding::Worn => "worn".to_owned(),
        Holding::Dangling => "dangling".to_owned(),
        Holding::Held {
            left: true,
            right: true,
        } => "both-hands".to_owned(),
        Holding::Held { left: true, .. } => "left-hand".to_owned(),
        Holding::Held { .. } => "right-hand".to_owned(),
        Holding::Binned => "bin".to_owned(),
        Holding::Floor(at) => format!("floor-{}", at.word()),
        Holding::Boxed => "box".to_owned(),
    }
}
