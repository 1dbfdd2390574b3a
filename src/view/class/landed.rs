//! Where it landed, once both have come to their end: what is told, and what is looked at from close by.

use crate::drill::Drill;
use crate::guidance::Group;
use crate::model::Owner;

use super::super::settings::NamedView;
use super::super::stage::Held;
use super::super::words::sentence;
use super::staged::Class;

/// Most places that are told at the end.
pub(super) const MOST_LANDED: usize = 4;

/// The skin that got any, the fullest first: the group and the name of its place, and how much.
pub(super) fn landed(drill: &Drill) -> Vec<(Group, String, u64)> {
    let (setup, totals) = (drill.setup(), drill.books().totals());
    let mut found: Vec<(Group, String, u64)> = (0..totals.len())
        .map(|site| (Group::of(setup, drill, site), site))
        .filter(|&(group, site)| group.is_skin() && totals[site] > 0)
        .map(|(group, site)| (group, sentence(&setup.sites[site].label), totals[site]))
        .collect();
    found.sort_by(|a, b| (b.2, &a.1).cmp(&(a.2, &b.1)));
    found
}

impl Class {
    /// Which side of their hands both hold out when they have come to their end: the one that got more, where hands got most.
    pub fn holds_out(&self) -> Option<Held> {
        if self.close_up() != Some(NamedView::Palms) {
            return None;
        }
        let (mut palms, mut backs) = (0, 0);
        for drill in self.drills() {
            let (setup, totals) = (drill.setup(), drill.books().totals());
            for (site, total) in totals.iter().enumerate() {
                if let Owner::Body(place) = setup.sites[site].owner
                    && Group::of(setup, drill, site) == Group::Hands
                {
                    let back = setup.library.places[place].id.ends_with("back-of-hand");
                    *(if back { &mut backs } else { &mut palms }) += total;
                }
            }
        }
        Some(if backs > palms { Held::Backs } else { Held::Palms })
    }

    /// Where both are looked at from when they have come to their end: close to where most of it landed on the skin of either; none before
    /// the end, or where nothing landed.
    pub fn close_up(&self) -> Option<NamedView> {
        if !self.ended() {
            return None;
        }
        let mut by_view: Vec<(NamedView, u64)> = Vec::new();
        for drill in self.drills() {
            let (setup, totals) = (drill.setup(), drill.books().totals());
            let skin = |site: &usize| Group::of(setup, drill, *site).is_skin() && totals[*site] > 0;
            for site in (0..totals.len()).filter(skin) {
                let behind = setup.sites[site].id.ends_with("-back");
                let view = match Group::of(setup, drill, site) {
                    Group::Hands => NamedView::Palms,
                    Group::Neck if behind => NamedView::Nape,
                    Group::Eyes | Group::Nostrils | Group::Lips | Group::FaceSkin | Group::Neck => {
                        NamedView::Face
                    }
                    _ => NamedView::Front,
                };
                match by_view.iter_mut().find(|(known, _)| *known == view) {
                    Some((_, sum)) => *sum += totals[site],
                    None => by_view.push((view, totals[site])),
                }
            }
        }
        by_view
            .into_iter()
            .max_by_key(|(_, sum)| *sum)
            .map(|(view, _)| view)
    }
}
