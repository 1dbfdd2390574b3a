//! Every site that can be reached, as a text list: the whole scene for those who use no pointer.

use crate::drill::Drill;
use crate::model::{Holding, Owner, Region, Side, SiteIndex};

use super::touch;
use super::words::sentence;

/// Sites that belong together.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteGroup {
    /// What they are sites of.
    pub title: String,
    /// Each of them.
    pub sites: Vec<ReachableSite>,
}

/// A site that can be reached.
#[derive(Clone, Debug, PartialEq)]
pub struct ReachableSite {
    /// Site index.
    pub site: SiteIndex,
    /// Its full name.
    pub label: String,
    /// Its name beneath the group's title, which need not be said again.
    pub short: String,
}

/// Reachable sites: worn items outermost first, what is held or lies about, the body, the room.
pub fn reachable(drill: &Drill) -> Vec<SiteGroup> {
    let (setup, state) = (drill.setup(), drill.state());
    let within = |site: SiteIndex| {
        Side::BOTH
            .into_iter()
            .any(|side| drill.check(&touch(drill, side, site)).is_ok())
    };
    let mut groups: Vec<SiteGroup> = Vec::new();
    let mut add = |title: String, sites: Vec<SiteIndex>| {
        if !sites.is_empty() {
            let named = sites
                .iter()
                .map(|&site| {
                    let label = sentence(&setup.sites[site].label);
                    let rest = setup.sites[site]
                        .label
                        .strip_prefix(&title)
                        .map(|r| r.trim_start_matches(", "));
                    let short = rest.map_or(label.clone(), |r| {
                        sentence(r.strip_suffix(", outside").unwrap_or(r))
                    });
                    ReachableSite { site, label, short }
                })
                .collect();
            groups.push(SiteGroup {
                title: sentence(&title),
                sites: named,
            });
        }
    };
    let others = (0..setup.items.len()).filter(|&i| !state.is_worn(i));
    for item in state.worn.iter().rev().copied().chain(others) {
        let kit = &setup.items[item];
        let mut sites: Vec<SiteIndex> = kit
            .parts
            .iter()
            .flat_map(|p| [Some(p.outside), p.inside])
            .flatten()
            .filter(|&s| within(s))
            .collect();
        if state.items[item].holding == Holding::Boxed {
            sites.push(kit.parts[0].outside);
        }
        add(kit.label.clone(), sites);
    }
    for (title, regions) in [
        ("face and head", &[Region::Face, Region::Head, Region::Neck][..]),
        ("hands", &[Region::LeftHand, Region::RightHand][..]),
        (
            "arms and body",
            &[Region::Arms, Region::Trunk, Region::Legs, Region::Feet][..],
        ),
    ] {
        let sites = (0..setup.sites.len())
            .filter(|&s| matches!(setup.sites[s].owner, Owner::Body(p) if regions.contains(&setup.library.places[p].region)))
            .filter(|&s| within(s))
            .collect();
        add(title.to_owned(), sites);
    }
    let room = (0..setup.sites.len())
        .filter(|&s| matches!(setup.sites[s].owner, Owner::Room(_)) && within(s))
        .collect();
    add("the room".to_owned(), room);
    groups
}
