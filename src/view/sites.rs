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

#[cfg(test)]
mod tests {
    use super::super::choices::options;
    use super::super::desk::tests::drill;
    use super::super::stage_of::stage_of;
    use super::*;
    use crate::drill::Action;
    use crate::model::Whereabouts;

    /// What hands are cleaned at, what waste goes into, and what others touch: all of it can be chosen from the list and
    /// pointed at from wherever it can be reached, and from nowhere else.
    #[test]
    fn the_room_can_be_chosen_and_pointed_at_from_where_it_can_be_reached() {
        let mut found = std::collections::BTreeSet::new();
        for scenario in [
            "respiratory-room",
            "enteric-bay",
            "classic-tracer",
            "double-gloves",
        ] {
            let mut drill = drill(scenario);
            for at in Whereabouts::ALL {
                if drill.state().whereabouts != at {
                    drill.act(Action::Walk(at)).expect("nothing keeps them");
                }
                let listed: Vec<SiteIndex> = reachable(&drill)
                    .into_iter()
                    .flat_map(|group| group.sites)
                    .map(|site| site.site)
                    .collect();
                let stage = stage_of(&drill, false);
                let setup = drill.setup();
                for (n, piece) in setup.library.furniture.iter().enumerate() {
                    let site = setup.furniture(&piece.id).expect("it has a site");
                    let (here, patch) = (setup.reach(n).contains(&at), &stage.patches[site]);
                    assert_eq!(
                        listed.contains(&site),
                        here,
                        "{scenario}, {at:?}: the {} in the list",
                        piece.label
                    );
                    assert_eq!(
                        patch.reachable, here,
                        "{scenario}, {at:?}: the {} in the scene",
                        piece.label
                    );
                    assert!(
                        !(here && patch.absent),
                        "{scenario}: the {} is not drawn",
                        piece.label
                    );
                    if here {
                        found.insert(piece.id.as_str().to_owned());
                        let choices = options(&drill, site, Side::Right);
                        assert!(
                            choices.iter().any(|c| c.refused.is_none()),
                            "{scenario}, {at:?}: nothing can be done at the {}",
                            piece.label
                        );
                    }
                }
            }
        }
        for id in [
            "rub-dispenser",
            "rub-dispenser-inside",
            "basin",
            "tap",
            "soap-dispenser",
            "basin-inside",
            "tap-inside",
            "soap-dispenser-inside",
            "door-handle-inside",
            "door-handle-outside",
            "phone",
            "pen",
            "id-badge",
            "chair",
            "bin-lid",
            "bin-pedal",
            "bin-lid-outside",
            "bin-pedal-outside",
        ] {
            assert!(found.contains(id), "{id} cannot be reached from anywhere");
        }
    }

    #[test]
    fn soap_is_offered_at_every_piece_of_a_basin() {
        let drill = drill("respiratory-room");
        for id in ["basin-inside", "tap-inside", "soap-dispenser-inside"] {
            let site = drill.setup().furniture(id).expect("the room has one");
            let choices = options(&drill, site, Side::Right);
            assert!(
                choices
                    .iter()
                    .any(|c| c.label == "Wash your hands: soap and water" && c.refused.is_none()),
                "{id}: {choices:?}"
            );
        }
        let outside = drill.setup().furniture("tap").expect("there is one");
        assert!(
            options(&drill, outside, Side::Right)
                .iter()
                .all(|c| c.refused.is_some())
        );
    }
}
