//! Named sequences, deductions and virtual trainees.

use std::collections::BTreeSet;

use crate::model::{
    Asked, AskedStep, Does, FaceTouches, Library, Marks, Need, Sequence, Slip, Slips, Step, Technique,
    Telling, Trainee, WaysOn,
};

use super::record::{Decoder, Record, Spanned, Variant};
use super::refer;
use super::substance::{WHEREABOUTS, basis, ids};
use super::tree::{Node, NodeKind};

/// Reads a sequence into the library; returns its id.
pub(super) fn sequence(r: &mut Record<'_>, library: &mut Library) -> Option<String> {
    let id = r.ident("id");
    refer::defined_once(&r.decoder(), &id, "sequence");
    let mut seen = Vec::new();
    let mut follows: Vec<String> = Vec::new();
    let mut sequence = Sequence {
        id: id.value,
        label: r.text("label"),
        authority: r.text("authority"),
        basis: basis(r, library),
        building: super::building::own(r, false),
        follows: Vec::new(),
        steps: {
            let steps = r.list("steps", |d, node| {
                let steps = steps(d, node, library, &mut follows)?;
                for step in &steps {
                    if seen.contains(&step.id) {
                        d.fault(
                            node.span.clone(),
                            format!("this sequence has two steps called `{}`", step.id),
                            "give one of the two another id",
                        );
                    }
                    seen.push(step.id.clone());
                }
                Some(steps)
            });
            steps.into_iter().flatten().collect()
        },
        note: r.text_or("note", ""),
    };
    sequence.follows = follows;
    if sequence.steps.is_empty() && sequence.follows.is_empty() {
        r.decoder().fault(
            r.span(),
            "a sequence needs steps",
            "write `steps: [Remove(...), Clean(...)]`, or `steps: [Follow(\"...\"), Follow(\"...\")]`",
        );
    }
    if sequence.id.is_empty() {
        return None;
    }
    let id = sequence.id.clone();
    refer::put(&mut library.sequences, sequence, |s| &s.id);
    Some(id)
}

/// A step, or all those of another sequence.
fn steps<'a>(
    d: &Decoder<'a>,
    node: &'a Node,
    library: &Library,
    follows: &mut Vec<String>,
) -> Option<Vec<AskedStep>> {
    let variant = d.variant(
        node,
        "step",
        &["PutOn", "Check", "Remove", "Clean", "Go", "Follow"],
    )?;
    if variant.name != "Follow" {
        return step(variant, library).map(|step| vec![step]);
    }
    let id = refer::node(d, variant.single()?, "sequence", ids!(library.sequences))?;
    let steps = library.sequence(&id)?.steps.clone();
    follows.push(id);
    Some(steps)
}

/// The id that the file of a sequence gives, and those of the sequences whose steps it takes over.
pub(super) fn names(root: &Node) -> (BTreeSet<String>, BTreeSet<String>) {
    let text = |node: &Node| match &node.kind {
        NodeKind::Text(text) => Some(text.clone()),
        _ => None,
    };
    let followed = |step: &Node| match &step.kind {
        NodeKind::Tuple { name, items } if name.as_ref().is_some_and(|n| n.value == "Follow") => {
            text(items.first()?)
        }
        _ => None,
    };
    let steps = match root.field("steps").map(|node| &node.kind) {
        Some(NodeKind::List(steps)) => &steps[..],
        _ => &[],
    };
    let own = root.field("id").and_then(text);
    (
        own.into_iter().collect(),
        steps.iter().filter_map(followed).collect(),
    )
}

/// Reports a way that needs a fastening undone which no way of the step undoes: whoever keeps to it would be marked down for
/// what the way needs, or could not go on.
fn what_is_needed_first(d: &Decoder<'_>, library: &Library, accept: &[Spanned<String>]) {
    let ways = || accept.iter().filter_map(|id| library.technique(&id.value));
    for id in accept {
        let Some(way) = library.technique(&id.value) else {
            continue;
        };
        for need in &way.needs {
            let Need::Undone(fastening) = need else { continue };
            let undoes = |other: &Technique| {
                other.id != way.id
                    && other
                        .steps
                        .iter()
                        .any(|step| matches!(step, Step::Undo(undone) if undone == fastening))
            };
            let known = library.techniques.iter().find(|other| {
                undoes(other)
                    && other.does == Does::Loosens
                    && other.items.iter().any(|item| way.items.contains(item))
            });
            if let (Some(known), false) = (known, ways().any(undoes)) {
                d.fault(
                    id.span.clone(),
                    format!(
                        "`{}` needs the {fastening} undone, and nothing that this step accepts undoes it",
                        id.value
                    ),
                    format!("add a way that does to `accept`, as in `{}`", known.id),
                );
            }
        }
    }
}

fn step<'a>(variant: Variant<'a>, library: &Library) -> Option<AskedStep> {
    let name = variant.name;
    let mut r = variant.record();
    let id = r.ident("id").value;
    let ask = r.text("ask");
    let why = r.text("why");
    let basis = basis(&mut r, library);
    let asked = match name {
        "PutOn" | "Check" | "Remove" => {
            let items = r.list("items", |d, n| refer::node(d, n, "item", ids!(library.items)));
            let accept = r.list("accept", |d, n| {
                let id = d.reference(n, "technique")?;
                if !refer::known(d, &id, "technique", ids!(library.techniques)) {
                    return None;
                }
                let mut these = items.iter().filter_map(|item| library.item(item));
                let technique = library.technique(&id.value)?;
                if name == "Check" && items.is_empty() && !technique.prepares() {
                    d.fault(
                        n.span.clone(),
                        format!("`{}` is done to an item, and this step names none", id.value),
                        "name the item in `items`, or a technique that checks the person or the whole kit",
                    );
                    return None;
                }
                if !items.is_empty() && !these.any(|item| Library::applies(technique, item)) {
                    d.fault(
                        n.span.clone(),
                        format!("`{}` is no way for what this step is about ({})", id.value, items.join(", ")),
                        "name a technique whose `items` hold one of those; `smirch list techniques` shows them",
                    );
                    return None;
                }
                Some(id)
            });
            if name == "Remove" {
                what_is_needed_first(&r.decoder(), library, &accept);
            }
            let accept: Vec<String> = accept.into_iter().map(|id| id.value).collect();
            let at = r.list_or_empty("at", |d, n| d.choice(n, "place to stand", &WHEREABOUTS));
            match name {
                "Remove" => Asked::Remove { items, accept, at },
                "Check" => Asked::Check { items, accept, at },
                _ => {
                    let parts = items
                        .iter()
                        .filter_map(|id| library.item(id))
                        .flat_map(|i| &i.parts);
                    let names: Vec<&str> = parts.map(|part| part.id.as_str()).collect();
                    let on_top = r.list_or_empty("on_top", |d, n| {
                        refer::node(d, n, "part of these items", names.iter().copied())
                    });
                    Asked::PutOn {
                        items,
                        accept,
                        at,
                        on_top,
                    }
                }
            }
        }
        "Clean" => {
            let seconds = r.quantity("seconds", "s", 1.0..=300.0);
            let gloves = r.list_or_empty("gloves", |d, n| refer::node(d, n, "item", ids!(library.items)));
            let products = r.list("products", |d, n| {
                let id = refer::node(d, n, "product", ids!(library.products))?;
                if gloves.is_empty() && library.product(&id).is_some_and(|product| product.gloves_only) {
                    d.fault(
                        n.span.clone(),
                        format!("`{id}` is for gloves and never for skin, and this step cleans bare hands"),
                        "name a product for skin such as `alcohol-rub`, or say in `gloves` which gloves are cleaned with it",
                    );
                    return None;
                }
                Some(id)
            });
            Asked::Clean {
                products,
                seconds,
                gloves,
                forearms: r.flag_or("forearms", false),
            }
        }
        _ => Asked::Go {
            to: r.choice("to", &WHEREABOUTS),
            door_soils: r.flag_or("door_soils", false),
        },
    };
    Some(AskedStep {
        id,
        ask,
        why,
        basis,
        asked,
    })
}

/// Reads deductions over the given ones.
pub(super) fn marks(r: &mut Record<'_>, library: &Library, usual: Option<Marks>) -> Marks {
    let mut marks = usual.unwrap_or(Marks {
        full: 0.0,
        missed: 0.0,
        early: 0.0,
        late: 0.0,
        harmless_order: 0.0,
        poor: 0.0,
        harmless_poor: 0.0,
        wrong_place: 0.0,
        short_clean: 0.0,
        not_binned: 0.0,
    });
    for (name, field) in Marks::FIELDS {
        let value = match usual {
            Some(mut usual) => r.number_or(name, 0.0..=1000.0, *field(&mut usual)),
            None => r.number(name, 0.0..=1000.0),
        };
        *field(&mut marks) = value;
    }
    if usual.is_none() {
        basis(r, library);
    }
    marks
}

pub(super) fn telling(r: &mut Record<'_>, library: &mut Library) {
    library.telling = Some(Telling {
        too_few: r.count("too_few", 2..=100_000),
        much_the_same: r.number("much_the_same", 0.0..=0.5),
        points: r.number("points", 0.0..=20.0) / 100.0,
        most: r.number("most", 0.5..=1.0),
        nearly_all: r.number("nearly_all", 0.5..=1.0),
        basis: basis(r, library),
    });
}

pub(super) fn trainees(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let trainees = r.list("trainees", |d, node| {
        let mut r = d.record(node, "trainee");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "trainee");
        Some(Trainee {
            id: id.value,
            label: r.text("label"),
            people: r.optional("people", |d, n| d.text(n, "people").map(|t| t.value)),
            skip: r.number("skip", 0.0..=1.0),
            poor: r.number("poor", 0.0..=1.0),
            discard: r.number_or("discard", 0.0..=1.0, 0.0),
            right_first: r.number_or("right_first", 0.0..=1.0, 0.0),
            tears_knots: r.number_or("tears_knots", 0.0..=1.0, 0.0),
            poor_weights: r.list_or_empty("poor_weights", |d, n| {
                let mut r = d.record(n, "weight");
                let technique = refer::field(&mut r, "technique", "technique", ids!(library.techniques));
                Some((technique, r.number("weight", 0.0..=1000.0)))
            }),
            swap: r.number("swap", 0.0..=1.0),
            hurry: r.number("hurry", 0.0..=1.0),
            face_touch: r.number("face_touch", 0.0..=1.0),
            dressing: dressing(&mut r, library),
            basis: basis(&mut r, library),
        })
    });
    for trainee in trainees {
        refer::put(&mut library.trainees, trainee, |t| &t.id);
    }
    if r.has("ways_on") {
        let weights = r.list("ways_on", |d, n| {
            let names = "a way of putting something on is written `(\"glove-on-short\", 1)`";
            let (way, weight) = pair(d, n, names, "first the technique, then how common it is")?;
            let way = refer::node(d, way, "technique", ids!(library.techniques))?;
            Some((way, d.quantity(weight, "weight", "", &(0.0..=1e6))?))
        });
        let basis = refer::field(r, "ways_on_basis", "basis", ids!(library.bases));
        library.ways_on = WaysOn { weights, basis };
    }
    if r.has("tears_knots_basis") {
        library.tears_knots_basis = refer::field(r, "tears_knots_basis", "basis", ids!(library.bases));
    }
    if r.has("face_touches") {
        let places = r.list("face_touches", |d, n| face_touch(d, n, library));
        let basis = refer::field(r, "face_touches_basis", "basis", ids!(library.bases));
        if !places.is_empty() {
            library.face_touches = FaceTouches { places, basis };
        }
    }
}

/// What goes wrong while somebody puts kit on, each slip once.
fn dressing(r: &mut Record<'_>, library: &Library) -> Vec<Slips> {
    let mut seen = Vec::new();
    r.list_or_empty("dressing", |d, n| {
        let mut r = d.record(n, "slip");
        let slip = r.choice("slip", &Slip::ALL);
        if seen.contains(&slip) {
            d.fault(
                n.span.clone(),
                "this slip is there twice",
                "give each slip of a trainee once, with one chance",
            );
        }
        seen.push(slip);
        Some(Slips {
            slip,
            chance: r.number("chance", 0.0..=1.0),
            basis: basis(&mut r, library),
        })
    })
}

/// Two nodes in brackets.
fn pair<'n>(d: &Decoder<'_>, node: &'n Node, written: &str, hint: &str) -> Option<(&'n Node, &'n Node)> {
    match &node.kind {
        NodeKind::Tuple { items, .. } if items.len() == 2 => Some((&items[0], &items[1])),
        _ => {
            d.fault(node.span.clone(), written, hint);
            None
        }
    }
}

/// A share of a place, written `("lips", 372)`.
fn face_touch(d: &Decoder<'_>, node: &Node, library: &Library) -> Option<(String, f64)> {
    let written = "a share of face touches is written `(\"lips\", 372)`";
    let (place, share) = pair(d, node, written, "first the place, then how often it was touched")?;
    let place = refer::node(d, place, "place", ids!(library.places))?;
    Some((place, d.quantity(share, "share", "", &(0.001..=1e6))?))
}
