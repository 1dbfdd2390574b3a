//! The short numbered list of what can be done at a site, in plain words; nothing is called right or wrong.

use crate::drill::{Action, Drill};
use crate::model::{Does, Fixture, Hands, Holding, Owner, Pace, Product, Setup, Side, SiteIndex, Technique};

use super::handles::site_of;
use super::touch;
use super::ways::{TOUCH, number, sensible};
use super::words::{hand, sentence};

/// Something that can be done at a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Its number, from 1, which it keeps for this site however things stand. Numbers up to 9 are keys.
    pub number: usize,
    /// What, in plain words.
    pub label: String,
    /// By which hand, such as `with your left hand`; empty where it goes without saying.
    pub by: String,
    /// What to do. A clean carries the usual doses and length, for the rub panel to start from.
    pub action: Action,
    /// True if it can be done steadily or in a hurry.
    pub paced: bool,
    /// Why it is impossible now, with what could be done about it.
    pub refused: Option<String>,
    /// The site of what has to be dealt with first and its name, where that is one thing.
    pub first: Option<(SiteIndex, String)>,
}

impl Choice {
    fn new(drill: &Drill, number: usize, label: &str, by: String, action: Action) -> Choice {
        let refusal = drill.check(&action).err();
        Choice {
            number,
            label: sentence(label),
            by,
            paced: matches!(action, Action::Do { .. }),
            refused: refusal.as_ref().map(|refusal| sentence(&refusal.to_string())),
            first: refusal
                .and_then(|refusal| refusal.first)
                .and_then(|first| site_of(drill, first))
                .map(|site| (site, drill.setup().sites[site].label.clone())),
            action,
        }
    }

    /// The action at a pace.
    pub fn at(&self, pace: Pace) -> Action {
        self.action.clone().at(pace)
    }
}

/// What can be done at a site; `acting` is the hand preferred where either will do.
pub fn options(drill: &Drill, site: SiteIndex, acting: Side) -> Vec<Choice> {
    let (setup, state) = (drill.setup(), drill.state());
    let mut list = Vec::new();
    match setup.sites[site].owner {
        Owner::Part(item, part, _) => match state.items[item].holding {
            Holding::Held { .. } => discards(drill, acting, &mut list),
            Holding::Boxed => {
                techniques(drill, item, part, acting, &mut list);
                inspected(drill, item, acting, &mut list);
            }
            _ => techniques(drill, item, part, acting, &mut list),
        },
        Owner::Body(place) => {
            if setup.zone_of_place(place).is_some() {
                cleanings(drill, None, &mut list);
            }
            before(drill, site, acting, &mut list);
        }
        Owner::Room(piece) => {
            let id = setup.library.furniture[piece].id.as_str();
            if id.starts_with("bin-") || id == "floor" {
                discards(drill, acting, &mut list);
            }
            if id == AT_THE_BED {
                care(drill, acting, &mut list);
            }
            before(drill, site, acting, &mut list);
            // What is out of reach is not what hands would be cleaned at.
            if setup.reach(piece).contains(&state.whereabouts) {
                cleanings(drill, Some(id), &mut list);
            }
        }
    }
    touching(drill, site, acting, &mut list);
    list
}

/// A free touch by the preferred hand, or by the other where only that can.
fn touching(drill: &Drill, site: SiteIndex, acting: Side, list: &mut Vec<Choice>) {
    let by_hand = |side: Side| {
        let by = format!("with {}", hand(side));
        Choice::new(drill, TOUCH, "just touch it", by, touch(drill, side, site))
    };
    let [own, other] = [acting, acting.other()].map(by_hand);
    if own.refused.is_none() || other.refused.is_some() && list.is_empty() {
        list.push(own);
    } else if other.refused.is_none() {
        list.push(other);
    }
}

/// Ways of getting rid of what is held.
fn discards(drill: &Drill, acting: Side, list: &mut Vec<Choice>) {
    let (setup, state) = (drill.setup(), drill.state());
    let full: Vec<Side> = Side::BOTH
        .into_iter()
        .filter(|&side| state.in_hand(side).next().is_some())
        .collect();
    let Some(hands) = (match full[..] {
        [] => None,
        [Side::Left] => Some(Hands::Left),
        [Side::Right] => Some(Hands::Right),
        _ => Some(Hands::Both),
    }) else {
        return;
    };
    let ways = setup.library.techniques.iter();
    for (n, technique) in ways.filter(|t| t.does == Does::Discards).enumerate() {
        let fits = |h: Hands| technique.hands.contains(&h);
        let one = if acting == Side::Left {
            Hands::Left
        } else {
            Hands::Right
        };
        let chosen = if fits(hands) {
            hands
        } else if fits(one) {
            one
        } else {
            technique.hands[0]
        };
        let choice = of_no_item(drill, technique, chosen, n);
        if choice.refused.is_none() {
            list.push(choice);
        }
    }
}

/// The piece of furniture at which care is chosen: the patient is not drawn.
const AT_THE_BED: &str = "bed-rail";

/// The care that is there to be given.
fn care(drill: &Drill, acting: Side, list: &mut Vec<Choice>) {
    let setup = drill.setup();
    let all = setup.scenario.work.iter();
    for (n, technique) in all.filter_map(|id| setup.library.technique(id)).enumerate() {
        list.push(of_no_item(drill, technique, preferred(technique, acting), n));
    }
}

/// A technique that is done to no item, with these hands, under the nth number.
fn of_no_item(drill: &Drill, technique: &Technique, hands: Hands, n: usize) -> Choice {
    let action = Action::Do {
        technique: technique.id.clone(),
        item: None,
        hand: Some(hands),
        pace: Pace::Steady,
    };
    Choice::new(drill, number(n), &technique.label, by(hands, None), action)
}

/// What whoever puts kit on sees to, and has looked at, at this place.
fn before(drill: &Drill, site: SiteIndex, acting: Side, list: &mut Vec<Choice>) {
    let id = drill.setup().sites[site].id.clone();
    // Whatever of the cleanings is there now, numbers stay.
    let after = offered(drill.setup()).len();
    prepared(drill, acting, after, list, |technique| {
        technique.offered.contains(&id)
    });
}

/// Those that look at all that lies ready, at any of it.
fn inspected(drill: &Drill, item: usize, acting: Side, list: &mut Vec<Choice>) {
    let ways = |t: &&Technique| drill.setup().applies(t, item) && t.is_for_boxed();
    let after = drill.setup().library.techniques.iter().filter(ways).count();
    prepared(drill, acting, after, list, Technique::is_for_boxed);
}

/// Choices of what is done to no item before kit goes on, numbered after so many others.
fn prepared(
    drill: &Drill,
    acting: Side,
    after: usize,
    list: &mut Vec<Choice>,
    wanted: impl Fn(&Technique) -> bool,
) {
    let setup = drill.setup();
    if !setup.lies_ready() {
        return;
    }
    let all = setup.library.techniques.iter();
    let all = all.filter(|t| t.prepares() && t.items.is_empty() && wanted(t));
    for (n, technique) in all.enumerate() {
        list.push(of_no_item(
            drill,
            technique,
            preferred(technique, acting),
            after + n,
        ));
    }
}

/// Hand hygiene: what is to be had at a dispenser or tap, or all of it when a bare hand was pointed at.
fn cleanings(drill: &Drill, at: Option<&str>, list: &mut Vec<Choice>) {
    for (n, product) in offered(drill.setup()).into_iter().enumerate() {
        let Some(product) = drill.setup().library.product(&product) else {
            continue;
        };
        if at.is_some_and(|id| !taken_at(drill.setup(), product, id)) {
            continue;
        }
        let bare = |side| drill.state().glove(drill.setup(), side).is_none();
        if product.gloves_only && Side::BOTH.into_iter().any(bare) {
            continue;
        }
        let label = format!("{} your hands: {}", product.verb, product.label);
        let action = clean(drill, &product.id);
        list.push(Choice::new(drill, number(n), &label, String::new(), action));
    }
}

/// True if a product is taken at a piece of furniture: it is touched for it, or is the basin below what is.
fn taken_at(setup: &Setup, product: &Product, id: &str) -> bool {
    let library = &setup.library;
    product.touches.iter().any(|(touched, _)| {
        let both = library.furniture_piece(touched).zip(library.furniture_piece(id));
        touched == id
            || both.is_some_and(|(tap, basin)| {
                tap.fixture == Some(Fixture::Tap)
                    && basin.fixture == Some(Fixture::Basin)
                    && tap.at == basin.at
            })
    })
}

/// A clean with a product's usual doses and length.
pub fn clean(drill: &Drill, product: &str) -> Action {
    let known = drill.setup().library.product(product);
    Action::Clean {
        product: product.to_owned(),
        doses: known.map_or(1, |p| p.doses),
        seconds: known.map_or(20.0, |p| p.seconds),
        skip: Vec::new(),
        forearms: false,
    }
}

/// Ids of the products that are to be had: those that any sequence of the scenario asks for.
pub fn offered(setup: &Setup) -> Vec<String> {
    let library = &setup.library;
    let scenario = &setup.scenario;
    let asked: Vec<&String> = std::iter::once(&scenario.sequence)
        .chain(&scenario.also)
        .filter_map(|id| library.sequence(id))
        .flat_map(|s| &s.steps)
        .filter_map(|step| match &step.asked {
            crate::model::Asked::Clean { products, .. } => Some(products),
            _ => None,
        })
        .flatten()
        .collect();
    library
        .products
        .iter()
        .filter(|p| asked.is_empty() || asked.contains(&&p.id))
        .map(|p| p.id.clone())
        .collect()
}

/// Ways of handling an item from one of its parts.
fn techniques(drill: &Drill, item: usize, part: usize, acting: Side, list: &mut Vec<Choice>) {
    let setup = drill.setup();
    for way in sensible(setup, drill.state(), item, part) {
        let hands = preferred(way.technique, acting);
        let action = Action::Do {
            technique: way.technique.id.clone(),
            item: Some(setup.items[item].id.clone()),
            hand: Some(hands),
            pace: Pace::Steady,
        };
        let by = by(hands, setup.items[item].side);
        let mut label = way.technique.label.clone();
        if drill.state().knots(setup, item, way.technique) > 0 {
            label.push_str(", picking the knot apart");
        }
        list.push(Choice::new(drill, way.number, &label, by, action));
    }
}

/// The technique's usual hands, or the preferred one where a single hand is usual and either will do.
fn preferred(technique: &Technique, acting: Side) -> Hands {
    let one = if acting == Side::Left {
        Hands::Left
    } else {
        Hands::Right
    };
    match technique.hands[0] {
        Hands::Left | Hands::Right if technique.hands.contains(&one) => one,
        usual => usual,
    }
}

fn by(hands: Hands, worn_on: Option<Side>) -> String {
    match hands {
        Hands::Both => "with both hands".to_owned(),
        one => one
            .sides(worn_on)
            .first()
            .map_or_else(String::new, |&side| format!("with {}", hand(side))),
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::drill;
    use super::*;

    fn labels(choices: &[Choice]) -> Vec<&str> {
        choices.iter().map(|c| c.label.as_str()).collect()
    }

    #[test]
    fn a_glove_lists_its_techniques_and_a_touch_by_the_other_hand() {
        let drill = drill("respiratory-room");
        let site = drill.setup().site("left-glove-cuff").expect("the kit has gloves");
        let choices = options(&drill, site, Side::Right);
        let labels = labels(&choices);
        assert!(
            labels.contains(&"Take up a fold at the cuff and turn the glove inside out"),
            "{labels:?}"
        );
        assert!(
            labels.contains(&"Hook a finger under the cuff and pull it off"),
            "{labels:?}"
        );
        assert!(labels.contains(&"Just touch it"), "{labels:?}");
        assert!(
            choices.iter().all(|c| c.by == "with your right hand"),
            "{choices:?}"
        );
    }

    #[test]
    fn what_is_impossible_says_why_and_what_to_do() {
        let drill = drill("respiratory-room");
        let site = drill.setup().site("gown-chest").expect("the kit has a gown");
        let choices = options(&drill, site, Side::Right);
        let refused: Vec<&String> = choices.iter().filter_map(|c| c.refused.as_ref()).collect();
        assert!(
            refused.iter().any(|r| r.contains("lies over")) || refused.iter().any(|r| r.contains("held by")),
            "{choices:#?}"
        );
    }

    #[test]
    fn nothing_held_offers_nothing_to_throw_away() {
        let drill = drill("respiratory-room");
        let site = drill.setup().site("bin-pedal").expect("the room has a bin");
        assert!(
            options(&drill, site, Side::Right)
                .iter()
                .all(|c| c.label == "Just touch it")
        );
    }

    #[test]
    fn every_worn_item_can_be_begun_from_some_site_of_it() {
        for scenario in [
            "respiratory-room",
            "enteric-bay",
            "classic-tracer",
            "double-gloves",
        ] {
            let drill = drill(scenario);
            for (i, item) in drill.setup().items.iter().enumerate() {
                if !drill.state().is_worn(i) {
                    continue;
                }
                let offered: usize = item
                    .parts
                    .iter()
                    .flat_map(|p| options(&drill, p.outside, Side::Right))
                    .filter(|c| matches!(c.action, Action::Do { .. }))
                    .count();
                assert!(
                    offered > 0,
                    "{scenario}: nothing can be done with the {}",
                    item.label
                );
            }
        }
    }

    /// Plays techniques on items, steadily and by their usual hands.
    fn done(drill: &mut Drill, steps: &[(&str, &str)]) {
        for (technique, item) in steps {
            let action = Action::Do {
                technique: (*technique).to_owned(),
                item: (!item.is_empty()).then(|| (*item).to_owned()),
                hand: None,
                pace: Pace::Steady,
            };
            drill
                .act(action)
                .unwrap_or_else(|refusal| panic!("{technique}: {refusal}"));
        }
    }

    const GLOVES_OFF: [(&str, &str); 3] = [
        ("glove-pinch-peel", "left-glove"),
        ("glove-slide-under", "right-glove"),
        ("bin-by-pedal", ""),
    ];

    #[test]
    fn no_list_of_ways_needs_more_than_the_nine_number_keys_and_no_number_is_there_twice() {
        for scenario in [
            "respiratory-room",
            "enteric-bay",
            "classic-tracer",
            "double-gloves",
        ] {
            let drill = drill(scenario);
            for site in 0..drill.setup().sites.len() {
                let choices = options(&drill, site, Side::Right);
                let label = &drill.setup().sites[site].label;
                assert!(choices.len() <= 9, "{label}: {:?}", labels(&choices));
                let mut numbers: Vec<usize> = choices.iter().map(|c| c.number).collect();
                assert!(
                    numbers.is_sorted(),
                    "{label}: {numbers:?} is not from top to bottom"
                );
                numbers.dedup();
                assert_eq!(numbers.len(), choices.len(), "{label}: a number is there twice");
            }
        }
    }

    #[test]
    fn a_way_keeps_its_number_for_a_part_whatever_else_is_done() {
        use std::collections::HashMap;
        let mut drill = drill("respiratory-room");
        let mut known: HashMap<(SiteIndex, Holding, String), usize> = HashMap::new();
        let steps = [
            &GLOVES_OFF[..],
            &[("gown-undo-waist-tie", "gown"), ("gown-undo-neck-tie", "gown")],
            &[("gown-peel-inside", "gown"), ("bin-by-pedal", "")],
        ]
        .concat();
        for n in 0..=steps.len() {
            for site in 0..drill.setup().sites.len() {
                let holding = match drill.setup().sites[site].owner {
                    Owner::Part(item, ..) => drill.state().items[item].holding,
                    _ => Holding::Worn,
                };
                for acting in Side::BOTH {
                    for choice in options(&drill, site, acting) {
                        let key = (site, holding, choice.label.clone());
                        let number = *known.entry(key).or_insert(choice.number);
                        assert_eq!(
                            number,
                            choice.number,
                            "`{}` at the {} was {number} before and is {} after {n} steps",
                            choice.label,
                            drill.setup().sites[site].label,
                            choice.number
                        );
                    }
                }
            }
            if let Some(step) = steps.get(n) {
                done(&mut drill, &[*step]);
            }
        }
    }

    #[test]
    fn what_is_refused_leads_to_what_it_waits_for() {
        let mut drill = drill("respiratory-room");
        done(&mut drill, &GLOVES_OFF);
        let site = |drill: &Drill, id: &str| drill.setup().site(id).expect("the kit has it");
        let shoulder = site(&drill, "gown-left-shoulder");
        let choices = options(&drill, shoulder, Side::Right);
        let peel = choices.iter().find(|c| c.label.contains("roll it inside out"));
        let peel = peel.unwrap_or_else(|| panic!("{choices:#?}"));
        let leads = peel.first.as_ref().map(|(site, _)| *site);
        assert_eq!(leads, Some(site(&drill, "gown-neck-tie")), "{peel:?}");
        let tie = options(&drill, site(&drill, "gown-neck-tie"), Side::Right);
        assert_eq!(tie[0].label, "Undo the neck tie");
    }

    #[test]
    fn straps_are_offered_from_the_front_of_what_they_hold() {
        for (scenario, site, ways) in [
            (
                "respiratory-room",
                "respirator-front",
                &["bottom strap", "both straps"][..],
            ),
            ("respiratory-room", "goggles-front", &["strap at the back"]),
        ] {
            let drill = drill(scenario);
            let site = drill.setup().site(site).expect("the kit has it");
            let choices = options(&drill, site, Side::Right);
            for way in ways {
                assert!(
                    choices.iter().any(|c| c.label.contains(way)),
                    "no way with `{way}` at the {}: {:?}",
                    drill.setup().sites[site].label,
                    labels(&choices)
                );
            }
        }
    }

    #[test]
    fn what_cannot_be_meant_any_more_is_not_offered() {
        let mut drill = drill("respiratory-room");
        done(&mut drill, &GLOVES_OFF);
        done(&mut drill, &[("gown-undo-neck-tie", "gown")]);
        for site in 0..drill.setup().sites.len() {
            for choice in options(&drill, site, Side::Right) {
                for gone in ["undo the neck tie", "gloved hands"] {
                    assert!(
                        !choice.label.to_lowercase().contains(gone),
                        "`{}` is still offered",
                        choice.label
                    );
                }
            }
        }
    }
}
