//! Why it is where it is: sources, what carried it, and every touch with its share.

use crate::analysis::{Arrival, Carried, Target, arrival};
use crate::drill::Drill;
use crate::model::{Owner, Region, Setup, SiteIndex};
use crate::report::{FlowParts, percentage};
use crate::transfer::Cause;

use super::numbers::behind_event;
use super::steps::describe;
use super::words::{clock, sentence};

/// A touch that carried some of it.
#[derive(Clone, Debug, PartialEq)]
pub struct TouchRow {
    /// Index of the action, to see it again.
    pub action: usize,
    /// Clock when it touched, within what was done; of several the first.
    pub at: String,
    /// What was done.
    pub text: String,
    /// From where to where, and whether it was meant.
    pub way: String,
    /// Share of what arrived, in organisms.
    pub share: f64,
    /// The same in percent.
    pub percent: String,
    /// Where the numbers behind it come from.
    pub sources: Vec<String>,
}

/// Where the contents of one place came from.
#[derive(Clone, Debug, PartialEq)]
pub struct WhyView {
    /// The site, or none for all bare skin together.
    pub site: Option<SiteIndex>,
    /// Its name.
    pub label: String,
    /// Organisms there.
    pub count: u64,
    /// From sources through what gave it to the end.
    pub flow: FlowParts,
    /// Touches that carried it, in order of time.
    pub touches: Vec<TouchRow>,
    /// How many touches more have too small a share to be listed, with that share, in words.
    pub small: Option<String>,
    /// What never moved, in words; none if all did.
    pub unmoved: Option<String>,
}

/// Touches listed at most.
const MOST: usize = 14;

/// Where the contents of a site came from, or those of all bare skin.
pub fn why(drill: &Drill, site: Option<SiteIndex>) -> WhyView {
    let setup = drill.setup();
    let weights = match site {
        Some(site) => {
            let mut weights = vec![0.0; setup.sites.len()];
            weights[site] = 1.0;
            weights
        }
        None => Target::AnySkin.weights(setup, drill.state()),
    };
    let label = match site {
        Some(site) => sentence(&setup.sites[site].label),
        None => sentence(Target::AnySkin.label()),
    };
    let found = arrival(drill, &weights);
    let total = (found.total as f64).max(1e-12);
    let rows = touch_rows(drill, &found, total);
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by(|&a, &b| rows[b].share.total_cmp(&rows[a].share));
    let mut shown: Vec<usize> = order.iter().copied().take(MOST).collect();
    shown.sort_unstable();
    let rest: f64 = order.iter().skip(MOST).map(|&i| rows[i].share).sum();
    WhyView {
        site,
        count: found.total,
        flow: flow(setup, &found, &label),
        small: match rows.len().saturating_sub(MOST) {
            0 => None,
            1 => Some(format!("1 touch more, {}", percentage(rest / total))),
            many => Some(format!(
                "{many} touches more, {} together",
                percentage(rest / total)
            )),
        },
        unmoved: (found.unmoved > 1e-9 * total)
            .then(|| format!("{} sat there from the start", percentage(found.unmoved / total))),
        touches: shown.into_iter().map(|i| rows[i].clone()).collect(),
        label,
    }
}

/// Touches, those of one action between the same two surfaces put together.
fn touch_rows(drill: &Drill, found: &Arrival, total: f64) -> Vec<TouchRow> {
    let setup = drill.setup();
    let events: Vec<_> = drill
        .done()
        .iter()
        .enumerate()
        .flat_map(|(action, done)| done.flows().map(move |(event, _)| (action, event)))
        .collect();
    let mut touches: Vec<_> = found.touches.iter().collect();
    // The events of a cleaning go hand by hand, not by the clock.
    touches.sort_by(|x, y| {
        let when = |touch: &Carried| events[touch.event].1.at;
        x.action.cmp(&y.action).then(when(x).total_cmp(&when(y)))
    });
    let mut rows: Vec<TouchRow> = Vec::new();
    for touch in touches {
        let done = &drill.done()[touch.action];
        let event = events[touch.event].1;
        let how = match event.cause {
            Cause::Touch => "",
            Cause::Brush => ", a brush that was not meant",
            Cause::Graze => ", grazed unheeded",
            Cause::Shed => ", shaken off",
            Cause::Leak => ", through a hole or gap",
            Cause::Soak => ", through wet cloth",
            Cause::Splash => ", a splash",
            Cause::Mixing => ", hands rubbed together",
            Cause::Hygiene => continue,
        };
        let way = sentence(&format!(
            "{} to {}{how}",
            setup.sites[touch.from].label, setup.sites[touch.to].label
        ));
        let same = |row: &&mut TouchRow| row.action == touch.action && row.way == way;
        if let Some(row) = rows.iter_mut().find(same) {
            row.share += touch.share;
            row.percent = percentage(row.share / total);
            continue;
        }
        rows.push(TouchRow {
            action: touch.action,
            at: clock(event.at),
            text: describe(setup, &done.action),
            way,
            share: touch.share,
            percent: percentage(touch.share / total),
            sources: behind_event(setup, &done.action, event),
        });
    }
    rows
}

/// What a site belongs to, for people: an item and which face of it, a hand, a place, a piece of furniture.
pub(super) fn owner(setup: &Setup, site: SiteIndex) -> String {
    let known = &setup.sites[site];
    match known.owner {
        Owner::Part(item, _, inside) => {
            let face = if inside { ", inside" } else { "" };
            sentence(&format!("{}{face}", setup.items[item].label))
        }
        Owner::Body(place) => match setup.library.places[place].region {
            Region::LeftHand => "Bare left hand".to_owned(),
            Region::RightHand => "Bare right hand".to_owned(),
            _ => sentence(&known.label),
        },
        Owner::Room(_) => sentence(&known.label),
    }
}

fn flow(setup: &Setup, found: &Arrival, end: &str) -> FlowParts {
    let mut sources: Vec<(String, f64)> = Vec::new();
    let mut stops: Vec<(String, f64)> = Vec::new();
    let mut links: Vec<(String, String, f64)> = Vec::new();
    let add = |list: &mut Vec<(String, f64)>, label: &str, amount: f64| match list
        .iter_mut()
        .find(|x| x.0 == label)
    {
        Some(entry) => entry.1 += amount,
        None => list.push((label.to_owned(), amount)),
    };
    for stop in &found.stops {
        let source = owner(setup, stop.source);
        let last = match stop.last {
            Some(site) => owner(setup, site),
            None => "It was there".to_owned(),
        };
        add(&mut sources, &source, stop.amount);
        add(&mut stops, &last, stop.amount);
        match links.iter_mut().find(|l| l.0 == source && l.1 == last) {
            Some(link) => link.2 += stop.amount,
            None => links.push((source, last, stop.amount)),
        }
    }
    for list in [&mut sources, &mut stops] {
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
    }
    let at = |list: &[(String, f64)], label: &str| list.iter().position(|x| x.0 == label).unwrap_or(0);
    let mut links: Vec<(usize, usize, f64)> = links
        .into_iter()
        .map(|(source, stop, amount)| (at(&sources, &source), at(&stops, &stop), amount))
        .collect();
    links.sort_by_key(|l| (l.0, l.1));
    FlowParts {
        sources,
        stops,
        end: end.to_owned(),
        links,
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::play;
    use super::*;

    #[test]
    fn the_flow_and_the_touches_add_up_to_what_is_there() {
        let drill = play("classic-tracer/face-touch", 3);
        for site in [None, drill.setup().site("lips"), drill.setup().site("left-palm")] {
            let view = why(&drill, site);
            let near = |what: &str, sum: f64| {
                let gap = (sum - view.count as f64).abs();
                assert!(
                    gap <= 1e-6 * (view.count as f64).max(1.0),
                    "{}: {what} {sum} of {}",
                    view.label,
                    view.count
                );
            };
            near("sources", view.flow.sources.iter().map(|s| s.1).sum());
            near("stops", view.flow.stops.iter().map(|s| s.1).sum());
            near("links", view.flow.links.iter().map(|l| l.2).sum());
            if view.small.is_none() && view.unmoved.is_none() {
                near("touches", view.touches.iter().map(|t| t.share).sum());
            }
            assert!(
                view.touches.windows(2).all(|t| t[0].action <= t[1].action),
                "not in order of time"
            );
        }
    }

    #[test]
    fn touches_within_what_takes_long_are_told_by_their_own_moments() {
        let drill = play("classic-tracer/rubbed-eye", 3);
        let sites = (0..drill.setup().sites.len()).map(|site| why(&drill, Some(site)));
        let views: Vec<WhyView> = sites.filter(|view| view.count > 0).collect();
        let mut apart = 0;
        for view in &views {
            assert!(
                view.touches.windows(2).all(|t| t[0].at <= t[1].at),
                "{}: not in order of time",
                view.label
            );
            for row in &view.touches {
                let done = &drill.done()[row.action];
                assert!(
                    clock(done.began) <= row.at && row.at <= clock(done.ended),
                    "{}: {row:?} from {} s to {} s",
                    view.label,
                    done.began,
                    done.ended
                );
            }
            let within = |t: &[TouchRow]| t[0].action == t[1].action && t[0].at < t[1].at;
            apart += view.touches.windows(2).filter(|t| within(t)).count();
        }
        assert!(apart > 0, "all touches of an action are told at one moment");
    }

    #[test]
    fn a_touched_face_is_explained_by_the_hand_that_touched_it() {
        let drill = play("classic-tracer/face-touch", 3);
        let touch = drill
            .done()
            .iter()
            .position(|d| matches!(d.action, crate::drill::Action::Touch { .. }))
            .expect("the script touches the face");
        let crate::drill::Action::Touch { site, .. } = &drill.done()[touch].action else {
            panic!("a touch");
        };
        let view = why(&drill, drill.setup().site(site));
        assert!(view.count > 0);
        assert!(
            view.touches.iter().any(|t| t.action == touch),
            "{:?}",
            view.touches
        );
        assert!(view.touches.iter().all(|t| !t.sources.is_empty()));
    }
}
