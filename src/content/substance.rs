//! Evidence, materials, organisms, hand hygiene products and faults.

use crate::model::{
    Basis, Class, Effect, Efficiency, Fate, Fault, Forearms, Grazes, Library, Material, Mixing, Organism,
    Product, Read, Reduction, Soak, Source, Status, Transfer, Whereabouts, Zone,
};

use super::fault::quoted;
use super::record::{Decoder, Record, Spanned};
use super::refer;
use super::tree::{Node, NodeKind};

pub(super) const CLASSES: [(&str, Class); 5] = Class::ALL;

pub(super) const WHEREABOUTS: [(&str, Whereabouts); 3] = [
    ("Inside", Whereabouts::Inside),
    ("Doorway", Whereabouts::Doorway),
    ("Outside", Whereabouts::Outside),
];

macro_rules! ids {
    ($list:expr) => {
        $list.iter().map(|x| x.id.as_str())
    };
}
pub(super) use ids;

/// The basis a constant names.
pub(super) fn basis(r: &mut Record<'_>, library: &Library) -> String {
    refer::field(r, "basis", "basis", ids!(library.bases))
}

pub(super) fn evidence(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let sources = r.list_or_empty("sources", |d, node| {
        let mut r = d.record(node, "source");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "source");
        let cite = r.text("cite");
        let doi = r
            .optional("doi", |d, n| d.text(n, "doi"))
            .map(|t| format!("doi {}", t.value));
        let standard = r
            .optional("standard", |d, n| d.text(n, "standard"))
            .map(|t| t.value);
        Some(Source {
            id: id.value,
            cite,
            locator: doi.or(standard),
        })
    });
    for source in sources {
        refer::put(&mut library.sources, source, |s| &s.id);
    }
    let mut seen = Vec::new();
    let bases = r.list_or_empty("bases", |d, node| {
        let mut r = d.record(node, "basis");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "basis");
        let what = r.text("what");
        let unit = r.text_or("unit", "");
        let status = r.choice("status", &Status::ALL);
        let read = r.choice("read", &Read::ALL);
        let sources = r.list_or_empty("sources", |d, n| {
            refer::node(d, n, "source", ids!(library.sources))
        });
        let range = r
            .optional("range", |d, n| d.numbers::<2>(n, "range"))
            .map(|[low, high]| (low, high));
        let conditions = r.text_or("conditions", "");
        let note = r.text_or("note", "");
        let span = r.span();
        if sources.is_empty() && matches!(status, Status::Measured | Status::Fitted) && note.is_empty() {
            d.fault(
                span,
                "a basis that is measured or fitted names its sources",
                "give `sources`, or make it an `Assumption`",
            );
        }
        Some(Basis {
            id: id.value,
            what,
            unit,
            status,
            read,
            sources,
            range,
            conditions,
            note,
        })
    });
    for basis in bases {
        refer::put(&mut library.bases, basis, |b| &b.id);
    }
}

fn efficiency<'a>(d: &Decoder<'a>, node: &'a Node) -> Option<Efficiency> {
    let mut r = d.record(node, "efficiency");
    let mean = r.value("mean", |d, n| d.quantity(n, "mean", "", &(0.0..=1.0)));
    let sd = r.value("sd", |d, n| d.quantity(n, "sd", "", &(0.0..=0.5)));
    let (mean, sd) = (mean?, sd?);
    if sd > 0.0 && sd * sd >= mean * (1.0 - mean) {
        let most = (mean * (1.0 - mean)).sqrt();
        d.fault(
            node.span.clone(),
            format!("no Beta law has mean {mean} and standard deviation {sd}"),
            format!("with this mean the deviation must be below {most:.4}"),
        );
        return None;
    }
    Some(Efficiency { mean, sd })
}

pub(super) fn materials(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let materials = r.list("materials", |d, node| {
        let mut r = d.record(node, "material");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "material");
        Some(Material {
            id: id.value,
            label: r.text("label"),
        })
    });
    for material in materials {
        refer::put(&mut library.materials, material, |m| &m.id);
    }
    let span = r.span();
    let transfers = r.list("transfers", |d, node| {
        let mut r = d.record(node, "transfer");
        let from = r.list("from", |d, n| {
            refer::node(d, n, "material", ids!(library.materials))
        });
        let to = r.list("to", |d, n| {
            refer::node(d, n, "material", ids!(library.materials))
        });
        let classes = r.list_or_empty("classes", |d, n| d.choice(n, "organism class", &CLASSES));
        let wet = r.value("wet", efficiency);
        let dry = r.value("dry", efficiency);
        let basis = basis(&mut r, library);
        Some(Transfer {
            from,
            to,
            classes,
            wet: wet?,
            dry: dry?,
            basis,
        })
    });
    let complete = transfers
        .last()
        .is_some_and(|t| t.from.is_empty() && t.to.is_empty() && t.classes.is_empty());
    if !complete {
        r.decoder().fault(
            span,
            "the last row of `transfers` must fit every pair",
            "end with a row that has `from: [], to: []` and no classes",
        );
    }
    library.transfers = transfers;
    library.soaks = r.list_or_empty("soaks", |d, node| {
        let mut r = d.record(node, "what goes through");
        let material = refer::field(&mut r, "material", "material", ids!(library.materials));
        let classes = r.list_or_empty("classes", |d, n| d.choice(n, "organism class", &CLASSES));
        let share = r.value("share", efficiency);
        let basis = basis(&mut r, library);
        Some(Soak {
            material,
            classes,
            share: share?,
            basis,
        })
    });
    library.slide = r
        .value("slide", |d, node| {
            let mut r = d.record(node, "slide");
            let factor = r.number("factor", 1.0..=5.0);
            Some((factor, basis(&mut r, library)))
        })
        .unwrap_or((1.0, String::new()));
    grazes(r, library);
}

/// How small contacts vary.
fn grazes(r: &mut Record<'_>, library: &mut Library) {
    let read = r.value("grazes", |d, node| {
        let mut r = d.record(node, "small contacts");
        let mut with_basis = |name: &str, range: std::ops::RangeInclusive<f64>| {
            r.value(name, |d, node| {
                let mut r = d.record(node, "small contacts");
                Some((r.number("value", range), basis(&mut r, library)))
            })
            .unwrap_or((1.0, String::new()))
        };
        let (people, people_basis) = with_basis("people", 0.01..=3.0);
        let (goes, goes_basis) = with_basis("goes", 0.01..=3.0);
        let (hurried, hurried_basis) = with_basis("hurried", 1.0..=20.0);
        Some(Grazes {
            people,
            people_basis,
            goes,
            goes_basis,
            hurried,
            hurried_basis,
            area_basis: refer::field(&mut r, "area_basis", "basis", ids!(library.bases)),
            shed_basis: refer::field(&mut r, "shed_basis", "basis", ids!(library.bases)),
        })
    });
    library.grazes = read.unwrap_or_default();
}

pub(super) fn organisms(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let organisms = r.list("organisms", |d, node| {
        let mut r = d.record(node, "organism");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "organism");
        Some(Organism {
            id: id.value,
            label: r.text("label"),
            class: r.choice("class", &CLASSES),
            unit: r.text("unit"),
            seen_from: r.count("seen_from", 1..=1_000_000_000),
            needs_soap: r.flag_or("needs_soap", false),
            basis: basis(&mut r, library),
        })
    });
    for organism in organisms {
        refer::put(&mut library.organisms, organism, |o| &o.id);
    }
}

/// Ascending points of a piecewise linear function.
fn points(r: &mut Record<'_>, name: &str, highest: f64) -> Vec<(f64, f64)> {
    let mut last: Option<f64> = None;
    let list = r.list(name, |d, node| {
        let [x, y] = d.numbers::<2>(node, name)?;
        if last.is_some_and(|last| x <= last) {
            d.fault(
                node.span.clone(),
                format!("`{name}` must ascend; {x} does not"),
                "write the points in the order of their first numbers, each once",
            );
            return None;
        }
        last = Some(x);
        if !(0.0..=highest).contains(&y) || x < 0.0 {
            let brief = format!(
                "`{name}` holds ({x}, {y}); both must be at least 0 and the second at most {highest}"
            );
            d.fault(
                node.span.clone(),
                brief,
                format!("a point is written `(first, second)`, as in `(0, {highest})`"),
            );
            return None;
        }
        Some((x, y))
    });
    if list.is_empty() {
        let span = r.span();
        r.decoder().fault(
            span,
            format!("`{name}` needs at least one point"),
            format!("write one, as in `{name}: [(0, 1)]`"),
        );
    }
    list
}

fn zone(d: &Decoder<'_>, node: &Node) -> Option<Zone> {
    let names = || Zone::ALL.iter().map(|z| z.word());
    let word = refer::node(d, node, "hand zone", names())?;
    Zone::from_word(&word)
}

/// A piece of furniture that is touched, written `("tap", 15.0)`.
fn piece_area(d: &Decoder<'_>, node: &Node, library: &Library) -> Option<(String, f64)> {
    let [piece, area] = (match &node.kind {
        NodeKind::Tuple { items, .. } => &items[..],
        _ => &[],
    }) else {
        d.fault(
            node.span.clone(),
            "this is not a piece of furniture and an area",
            "what is touched and how much of it, cm2, is written `(\"tap\", 15.0)`",
        );
        return None;
    };
    let id = refer::node(d, piece, "piece of furniture", ids!(library.furniture));
    let area = d.quantity(area, "area", "cm2", &(0.1..=200.0));
    Some((id?, area?))
}

pub(super) fn products(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let products = r.list("products", |d, node| {
        let mut r = d.record(node, "product");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "product");
        let label = r.text("label");
        let verb = r.text("verb");
        let touches = r.list("touches", |d, n| piece_area(d, n, library));
        let fate = r.choice(
            "fate",
            &[
                ("Inactivated", Fate::Inactivated),
                ("WashedAway", Fate::WashedAway),
            ],
        );
        let dose_ml = r.quantity("dose_ml", "ml", 0.05..=20.0);
        let doses = r.count("doses", 1..=10) as u32;
        let seconds = r.quantity("seconds", "s", 1.0..=300.0);
        let order = r.list("order", zone);
        for wanted in Zone::ALL {
            if order.iter().filter(|&&z| z == wanted).count() != 1 {
                let span = r.span();
                d.fault(
                    span,
                    format!("`order` must name `{}` exactly once", wanted.word()),
                    "an order holds each of the six hand zones once",
                );
                break;
            }
        }
        let forearms = r.optional("forearms", |d, n| {
            let mut r = d.record(n, "cleaning of forearms");
            Some(Forearms {
                seconds: r.quantity("seconds", "s", 1.0..=120.0),
                area: r.quantity("area", "cm2", 0.1..=200.0),
                basis: basis(&mut r, library),
            })
        });
        let missed = points(&mut r, "missed", 1.0);
        let missed_sd = r.number("missed_sd", 0.0..=0.3);
        let dries = points(&mut r, "dries", 600.0);
        let mixing = r.value("mixing", |d, n| {
            let mut r = d.record(n, "mixing");
            Some(Mixing {
                area: r.quantity("area", "cm2", 0.1..=200.0),
                basis: basis(&mut r, library),
            })
        });
        let span = r.span();
        let reductions = r.list("reductions", |d, n| {
            let mut r = d.record(n, "reduction");
            Some(Reduction {
                class: r.choice("class", &CLASSES),
                mean: r.quantity("mean", "log10", 0.0..=8.0),
                sd: r.quantity("sd", "log10", 0.0..=3.0),
                by_amount: points(&mut r, "by_amount", 2.0),
                by_seconds: points(&mut r, "by_seconds", 2.0),
                missed: r.number("missed", 0.0..=1.0),
                basis: basis(&mut r, library),
            })
        });
        for (word, class) in CLASSES {
            if reductions.iter().filter(|x| x.class == class).count() != 1 {
                d.fault(
                    span.clone(),
                    format!("`reductions` must have `{word}` exactly once"),
                    "write one row for each class of organism",
                );
                break;
            }
        }
        let basis = basis(&mut r, library);
        Some(Product {
            id: id.value,
            label,
            verb,
            touches,
            gloves_only: r.flag_or("gloves_only", false),
            fate,
            dose_ml,
            doses,
            seconds,
            forearms,
            order,
            missed,
            missed_sd,
            dries,
            mixing: mixing?,
            reductions,
            basis,
        })
    });
    for product in products {
        refer::put(&mut library.products, product, |p| &p.id);
    }
}

pub(super) fn faults(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let mut brings: Vec<Spanned<String>> = Vec::new();
    let faults = r.list("faults", |d, node| {
        let mut r = d.record(node, "fault");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "fault");
        let label = r.text("label");
        let items = r.list("items", |d, n| refer::node(d, n, "item", ids!(library.items)));
        let chance = r.number("chance", 0.0..=1.0);
        let parts: Vec<&str> = library
            .items
            .iter()
            .filter(|item| items.contains(&item.id))
            .flat_map(|item| ids!(item.parts))
            .collect();
        let of_person = items.is_empty();
        let effect = r.value("effect", |d, n| {
            let known = ["Leak", "Gap", "Loads", "Misses", "Brings", "Nothing"];
            let variant = d.variant(n, "effect", &known)?;
            let wrong = match variant.name {
                "Leak" | "Gap" if of_person => Some("what is of the person has no part that leaks or gapes"),
                "Loads" | "Misses" if !of_person => Some("this is of the person and of no item"),
                _ => None,
            };
            if let Some(brief) = wrong {
                let hint = "a fault of an item names it in `items`; one of the person leaves the list empty";
                d.fault(n.span.clone(), brief, hint);
                return None;
            }
            if variant.name == "Nothing" {
                variant.unit();
                return Some(Effect::Nothing);
            }
            let name = variant.name;
            let mut r = variant.record();
            let places = |r: &mut Record<'_>| {
                r.list("places", |d, n| refer::node(d, n, "place", ids!(library.places)))
            };
            Some(match name {
                "Gap" => Effect::Gap {
                    part: refer::field(&mut r, "part", "part", parts.iter().copied()),
                },
                "Loads" => Effect::Loads {
                    places: places(&mut r),
                    factor: r.number("factor", 0.001..=1000.0),
                    basis: basis(&mut r, library),
                },
                "Misses" => Effect::Misses {
                    places: places(&mut r),
                },
                "Brings" => {
                    let fault = r.reference("fault");
                    brings.push(fault.clone());
                    Effect::Brings {
                        fault: fault.value,
                        chance: r.number("chance", 0.0..=1.0),
                        basis: basis(&mut r, library),
                    }
                }
                _ => Effect::Leak {
                    part: r.optional("part", |d, n| refer::node(d, n, "part", parts.iter().copied())),
                    area: r.quantity("area", "cm2", 0.0001..=500.0),
                },
            })
        });
        let basis = basis(&mut r, library);
        Some(Fault {
            id: id.value,
            label,
            items,
            chance,
            effect: effect?,
            basis,
        })
    });
    for fault in faults {
        refer::put(&mut library.faults, fault, |f| &f.id);
    }
    for brought in brings {
        let d = r.decoder();
        if !refer::known(&d, &brought, "fault", ids!(library.faults)) {
            continue;
        }
        let found = library.fault(&brought.value);
        if found.is_some_and(|fault| matches!(fault.effect, Effect::Brings { .. })) {
            d.fault(
                brought.span,
                format!("{} brings a fault itself", quoted(&brought.value)),
                "name the fault that it comes to in the end",
            );
        }
    }
}
