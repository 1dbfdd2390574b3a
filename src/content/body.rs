//! The body's places, the room's furniture, items and the constants of free touches.

use crate::model::{
    Base, Door, Fastening, Fixture, Furniture, Item, ItemKind, LOOKS, Library, Manners, NextContact, Part,
    Place, Region, Side, Zone, hand_places,
};

use super::fault::{known_hint, quoted};
use super::record::{Decoder, Record, Spanned};
use super::refer;
use super::substance::{WHEREABOUTS, basis, ids};
use super::tree::{Node, NodeKind};

pub(super) fn places(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let bases = [
        ("Skin", Base::Skin),
        ("Hair", Base::Hair),
        ("Clothing", Base::Clothing),
    ];
    let places = r.list("places", |d, node| {
        let mut r = d.record(node, "place");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "place");
        Some(Place {
            id: id.value,
            label: r.text("label"),
            region: r.choice("region", &Region::ALL),
            base: r.choice("base", &bases),
            material: refer::field(&mut r, "material", "material", ids!(library.materials)),
            area: r.quantity("area", "cm2", 0.1..=20_000.0),
            mucosa: r.flag_or("mucosa", false),
            basis: basis(&mut r, library),
        })
    });
    for place in places {
        refer::put(&mut library.places, place, |p| &p.id);
    }
}

pub(super) fn furniture(r: &mut Record<'_>, library: &mut Library) {
    let basis = basis(r, library);
    let (mut seen, mut meant) = (Vec::new(), Vec::new());
    let pieces = r.list("furniture", |d, node| {
        let mut r = d.record(node, "piece of furniture");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "piece of furniture");
        Some(Furniture {
            id: id.value,
            label: r.text("label"),
            at: r.list("at", |d, n| d.choice(n, "place to stand", &WHEREABOUTS)),
            material: refer::field(&mut r, "material", "material", ids!(library.materials)),
            area: r.quantity("area", "cm2", 0.1..=1_000_000.0),
            fixture: r.optional("fixture", |d, n| d.choice(n, "fixture", &Fixture::ALL)),
            stands_for: r.optional("stands_for", |d, node| {
                let id = d.text(node, "piece of furniture")?;
                meant.push(id.clone());
                Some(id.value)
            }),
            others: r.flag_or("others", false),
            basis: basis.clone(),
        })
    });
    for piece in pieces {
        refer::put(&mut library.furniture, piece, |p| &p.id);
    }
    for id in &meant {
        refer::known(&r.decoder(), id, "piece of furniture", ids!(library.furniture));
    }
    if let Some(building) = super::building::usual(r, library) {
        library.building = Some(building);
    }
    let door = r.optional("door", |d, node| {
        let mut r = d.record(node, "door");
        let handle = |r: &mut Record<'_>, name: &str| {
            refer::field(r, name, "piece of furniture", ids!(library.furniture))
        };
        Some(Door {
            inside: handle(&mut r, "inside"),
            outside: handle(&mut r, "outside"),
            hand: r.list("hand", zone_area),
            elbow: r.quantity("elbow", "cm2", 0.1..=200.0),
            basis: super::substance::basis(&mut r, library),
        })
    });
    if door.is_some() {
        library.door = door;
    }
}

/// Reports what the hands of a body lack; `root` is the last file that says what bodies are like.
pub(super) fn hands(d: &Decoder<'_>, root: &Node, library: &Library) {
    let places = hand_places().map(|(side, zone)| zone.place(side));
    let lacking: Vec<String> = places
        .filter(|place| library.place(place).is_none())
        .map(|place| quoted(&place))
        .collect();
    if !lacking.is_empty() && !root.torn {
        let brief = format!("the body has no {}", lacking.join(" and no "));
        let hint = "each hand has all six zones; give each a place of its own";
        d.fault(root.span.start..root.span.start + 1, brief, hint);
    }
}

/// An item that is like another but for its name.
struct Variant {
    /// Where it stands in its file.
    at: usize,
    id: String,
    label: String,
    like: Spanned<String>,
    looks_like: Option<Spanned<String>>,
}

/// Fills in variants of items of the file or the library, in whatever order they stand.
fn fill_in(d: &Decoder<'_>, read: &mut [Option<Item>], mut variants: Vec<Variant>, library: &Library) {
    loop {
        let before = variants.len();
        variants.retain(|variant| {
            let known = read.iter().flatten().chain(&library.items);
            let Some(model) = known.into_iter().find(|item| item.id == variant.like.value) else {
                return true;
            };
            read[variant.at] = Some(Item {
                id: variant.id.clone(),
                label: variant.label.clone(),
                like: [std::slice::from_ref(&model.id), &model.like[..]].concat(),
                looks_like: Some(match &variant.looks_like {
                    Some(look) => look.value.clone(),
                    None => model.look().to_owned(),
                }),
                ..model.clone()
            });
            false
        });
        if variants.len() == before {
            break;
        }
    }
    for variant in &variants {
        if variants.iter().any(|other| other.id == variant.like.value) {
            let brief = format!(
                "{} is like {}, which leads back to it",
                quoted(&variant.id),
                quoted(&variant.like.value)
            );
            let hint = "one of them must be described in full";
            d.fault(variant.like.span.clone(), brief, hint);
        } else {
            let known = read.iter().flatten().chain(&library.items);
            refer::known(d, &variant.like, "item", known.map(|item| item.id.as_str()));
        }
    }
}

/// What an item is drawn as, if that is said; an item that is not like another and has an id that the scene does not know
/// has to say it.
fn looks_like(r: &mut Record<'_>, id: Option<&Spanned<String>>) -> Option<Spanned<String>> {
    let look = r.optional("looks_like", |d, n| d.reference(n, "look"));
    let looks = LOOKS.into_iter();
    match (&look, id) {
        (Some(look), _) => {
            refer::known(&r.decoder(), look, "look", looks);
        }
        (None, Some(id)) if !id.value.is_empty() && !LOOKS.contains(&id.value.as_str()) => {
            let brief = format!("nothing tells what {} looks like", quoted(&id.value));
            let hint = format!(
                "write `looks_like: \"gown\"`, or one of {}",
                looks.map(quoted).collect::<Vec<_>>().join(", ")
            );
            r.decoder().fault(id.span.clone(), brief, hint);
        }
        _ => {}
    }
    look
}

pub(super) fn items(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    // In the order of the file; variants of others are filled in when all of these are known.
    let mut read: Vec<Option<Item>> = Vec::new();
    let mut variants: Vec<Variant> = Vec::new();
    r.list("items", |d, node| {
        let mut r = d.record(node, "item");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "item");
        let label = r.text("label");
        if r.has("like") {
            let like = r.reference("like");
            variants.push(Variant {
                at: read.len(),
                id: id.value,
                label,
                like,
                looks_like: looks_like(&mut r, None),
            });
            read.push(None);
            return Some(());
        }
        let look = looks_like(&mut r, Some(&id));
        let drawn = library.item(look.as_ref().map_or("", |look| &look.value));
        let kind = r.choice("kind", &ItemKind::ALL);
        let each_side = r.flag_or("each_side", false);
        let mut part_ids = Vec::new();
        let parts = r.list("parts", |d, node| {
            let mut r = d.record(node, "part");
            let id = r.ident("id");
            refer::unique_within(d, &mut part_ids, &id, "part", "this item");
            let label = r.text("label");
            let mut named = 0;
            let places = r.list("places", |d, n| {
                named += 1;
                let name = d.reference(n, "place")?;
                let Some(rest) = name.value.strip_prefix('@') else {
                    return refer::known(d, &name, "place", ids!(library.places)).then_some(name.value);
                };
                let sided = format!("left-{rest}");
                if !each_side {
                    d.fault(
                        name.span,
                        "only items made `each_side` have places with `@`",
                        "write `each_side: true`, or name the place without `@`",
                    );
                    return None;
                }
                if library.place(&sided).is_none() {
                    let places = library.places.iter().filter_map(|p| p.id.strip_prefix("left-"));
                    d.fault(
                        name.span,
                        format!("there is no place `{sided}`"),
                        format!("after `@`: {}", known_hint(rest, places)),
                    );
                    return None;
                }
                Some(name.value)
            });
            // Where places are named and wrong, that was said.
            if named == 0 {
                d.fault(
                    r.span(),
                    "a part lies at one place at least",
                    "write `places: [\"...\"]`",
                );
            }
            Some(Part {
                id: id.value,
                label,
                places,
                covers: r.flag_or("covers", true),
                outside: refer::field(&mut r, "outside", "material", ids!(library.materials)),
                inside: r.optional("inside", |d, n| {
                    refer::node(d, n, "material", ids!(library.materials))
                }),
                area: r.quantity("area", "cm2", 0.1..=50_000.0),
                declared_dirty: r.flag_or("declared_dirty", false),
                looks_like: r.optional("looks_like", |d, n| match drawn {
                    Some(drawn) => {
                        let noun = format!("part of `{}`", drawn.id);
                        refer::node(d, n, &noun, ids!(drawn.parts))
                    }
                    None => d.reference(n, "part").map(|part| part.value),
                }),
            })
        });
        let fastenings = r.list_or_empty("fastenings", |d, node| {
            let mut r = d.record(node, "fastening");
            Some(Fastening {
                id: r.ident("id").value,
                label: r.text("label"),
                part: refer::field(&mut r, "part", "part", ids!(parts)),
                knots: r.flag_or("knots", false),
            })
        });
        let basis = basis(&mut r, library);
        read.push(Some(Item {
            id: id.value,
            label,
            kind,
            each_side,
            like: Vec::new(),
            parts,
            fastenings,
            looks_like: look.map(|look| look.value),
            basis,
        }));
        Some(())
    });
    fill_in(&r.decoder(), &mut read, variants, library);
    for item in read.into_iter().flatten() {
        refer::put(&mut library.items, item, |i| &i.id);
    }
}

/// An area of a hand zone, written `("palm", 40.0)`.
fn zone_area(d: &Decoder<'_>, node: &Node) -> Option<(Zone, f64)> {
    let pair = match &node.kind {
        NodeKind::Tuple { items, .. } => &items[..],
        _ => &[],
    };
    let [zone, area] = pair else {
        d.fault(
            node.span.clone(),
            "a touch area is written `(\"palm\", 40.0)`",
            "first the hand zone, then its area in cm2",
        );
        return None;
    };
    let word = refer::node(d, zone, "hand zone", Zone::ALL.iter().map(|z| z.word()))?;
    Some((
        Zone::from_word(&word)?,
        d.quantity(area, "area", "cm2", &(0.1..=200.0))?,
    ))
}

/// Which hands touch the next patient.
const TOUCHING: [(&str, &[Side]); 3] = [
    ("Left", &[Side::Left]),
    ("Right", &[Side::Right]),
    ("Both", &Side::BOTH),
];

pub(super) fn next_contact(r: &mut Record<'_>, library: &mut Library) {
    library.next_contact = Some(NextContact {
        areas: r.list("next_contact", zone_area),
        hands: r.choice("hand", &TOUCHING).to_vec(),
        onto: refer::field(r, "onto", "material", ids!(library.materials)),
        basis: basis(r, library),
    });
}

pub(super) fn manners(r: &mut Record<'_>, library: &mut Library) {
    let mut touch_areas = [0.0; 6];
    let span = r.span();
    let areas = r.list("touch_areas", zone_area);
    for zone in Zone::ALL {
        match areas.iter().find(|(z, _)| *z == zone) {
            Some(&(_, area)) => touch_areas[zone as usize] = area,
            None => {
                let brief = format!("`touch_areas` has no `{}`", zone.word());
                let hint = format!("write `(\"{}\", 10.0)` with its area in cm2", zone.word());
                r.decoder().fault(span.clone(), brief, hint);
                break;
            }
        }
    }
    library.manners = Manners {
        touch_areas,
        touch_seconds: r.quantity("touch_seconds", "s", 0.1..=30.0),
        walk_seconds: r.quantity("walk_seconds", "s", 0.1..=60.0),
        basis: basis(r, library),
        list_rest_seconds: r.quantity("list_rest_seconds", "s", 0.0..=5.0),
        list_rest_basis: refer::field(r, "list_rest_basis", "basis", ids!(library.bases)),
        bundle_share: r.number("bundle_share", 0.01..=1.0),
        bundle_parts: r.count("bundle_parts", 1..=20) as usize,
        bundle_basis: refer::field(r, "bundle_basis", "basis", ids!(library.bases)),
    };
}
