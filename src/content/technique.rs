//! Techniques, with every address checked against every item they apply to.

use crate::model::{
    Address, Does, Effect, Fastened, Fault, Feel, Hands, How, Item, ItemRef, Knot, LeftOut, Library, Meets,
    MoveTo, Name, Need, Side, SideMark, Sought, Step, Technique, Tuning,
};

use super::fault::quoted;
use super::record::{Decoder, Record, Spanned};
use super::refer;
use super::substance::{basis, ids};
use super::tree::Node;

pub(super) fn techniques(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let mut likes: Vec<Spanned<String>> = Vec::new();
    let techniques = r.list("techniques", |d, node| {
        let mut r = d.record(node, "technique");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "technique");
        let label = r.text("label");
        let items = r.list("items", |d, n| refer::node(d, n, "item", ids!(library.items)));
        let does = r.choice("does", &Does::ALL);
        let at = r.span();
        if items.is_empty()
            && !matches!(
                does,
                Does::Discards | Does::PicksUp | Does::Cares | Does::Prepares
            )
        {
            d.fault(
                at.clone(),
                "a technique names the items it applies to",
                "write `items: [\"...\"]`",
            );
        }
        if !items.is_empty() && does == Does::Cares {
            d.fault(
                at.clone(),
                "care is given to the patient and not done to an item",
                "write `items: []`; what is worn is named as in `place.chest`",
            );
        }
        let hands = r.list("hands", |d, n| d.choice(n, "hand", &Hands::ALL));
        if hands.is_empty() {
            d.fault(
                at,
                "a technique needs at least one possible hand",
                "write `hands: [Left, Right]`, or `[Both]`",
            );
            return None;
        }
        let check = Check {
            library,
            items: items.iter().filter_map(|id| library.item(id)).collect(),
        };
        let needs = r.list_or_empty("needs", |d, n| need(d, n, &check));
        let beneath_ok = r.list_or_empty("beneath_ok", |d, n| {
            let name = d.reference(n, "part")?;
            check
                .part(d, &name.span, &Name::parse(&name.value), &check.items, false)
                .then_some(name.value)
        });
        let technique = Technique {
            id: id.value,
            label,
            does,
            hands,
            needs,
            beneath_ok,
            seconds: r.quantity("seconds", "s", 0.1..=300.0),
            hurried: r.quantity("hurried", "s", 0.1..=300.0),
            knot: r.optional("knot", |d, n| {
                let mut r = d.record(n, "knot");
                Some(Knot {
                    seconds: r.quantity("seconds", "s", 0.1..=300.0),
                    hurried: r.quantity("hurried", "s", 0.1..=300.0),
                    basis: basis(&mut r, library),
                })
            }),
            steps: r.list("steps", |d, n| step(d, n, &check)),
            looks: r.has("sees"),
            feels: match r.has("sees") {
                true => r.list("sees", |d, n| see(d, n, &check, does)),
                false => r
                    .optional("feels", |d, n| feel(d, n, &check))
                    .into_iter()
                    .collect(),
            },
            offered: offered(&mut r, library, does == Does::Prepares && items.is_empty()),
            left_out: r.list_or_empty("left_out", |d, n| left_out(d, n, &check)),
            why: r.text("why"),
            moves_like: r.optional("moves_like", |d, n| {
                let like = d.reference(n, "technique")?;
                likes.push(like.clone());
                Some(like.value)
            }),
            basis: basis(&mut r, library),
            items,
        };
        Some(technique)
    });
    for technique in techniques {
        refer::put(&mut library.techniques, technique, |t| &t.id);
    }
    for like in likes {
        let d = r.decoder();
        if refer::known(&d, &like, "technique", ids!(library.techniques))
            && library.motion(&like.value).is_none()
        {
            d.fault(
                like.span.clone(),
                format!(
                    "{} moves like another, which leads back to it",
                    quoted(&like.value)
                ),
                "name a technique with a motion of its own, such as `gown-peel-inside`",
            );
        }
    }
}

/// Reads what was fitted and applies it to the techniques.
pub(super) fn tunings(r: &mut Record<'_>, library: &mut Library) {
    let tunings = r.list("brush_odds", |d, node| {
        let mut r = d.record(node, "factor");
        let id = r.ident("id").value;
        let what = r.text("what");
        let techniques = r.list("techniques", |d, n| {
            refer::node(d, n, "technique", ids!(library.techniques))
        });
        let touching = r.list_or_empty("touching", |d, n| {
            refer::node(d, n, "place", ids!(library.places))
        });
        let hurried_only = r.flag_or("hurried_only", false);
        let odds = r.number("odds", 0.001..=1000.0);
        let bounds = r.value("bounds", |d, n| d.numbers::<2>(n, "bounds"));
        let basis = basis(&mut r, library);
        let (low, high) = bounds.map(|[low, high]| (low, high))?;
        if !(0.0 < low && low <= odds && odds <= high) {
            d.fault(
                node.span.clone(),
                "`odds` must lie within `bounds`, above zero",
                "widen `bounds`, or change `odds`",
            );
        }
        Some(Tuning {
            id,
            what,
            techniques,
            touching,
            hurried_only,
            odds,
            bounds: (low, high),
            basis,
        })
    });
    for tuning in tunings {
        tuning.apply(&mut library.techniques, tuning.odds);
        refer::put(&mut library.tunings, tuning, |t| &t.id);
    }
}

/// The ids of parts that a name may come to: both sides where it is marked.
fn sided(name: &Name) -> Vec<String> {
    match name.mark {
        None => vec![name.name.clone()],
        Some(_) => ["left", "right"]
            .map(|side| format!("{side}-{}", name.name))
            .to_vec(),
    }
}

/// What addresses are checked against.
pub(super) struct Check<'l> {
    pub library: &'l Library,
    pub items: Vec<&'l Item>,
}

impl Check<'_> {
    /// A part name that every one of these items must have; `inside` asks for an inner face.
    fn part(
        &self,
        d: &Decoder<'_>,
        span: &super::record::Span,
        name: &Name,
        items: &[&Item],
        inside: bool,
    ) -> bool {
        items.iter().all(|item| {
            sided(name).into_iter().all(|wanted| {
                let id = Spanned {
                    value: wanted.clone(),
                    span: span.clone(),
                };
                let noun = format!("part of `{}`", item.id);
                if !refer::known(d, &id, &noun, ids!(item.parts)) {
                    return false;
                }
                let has_inside = item.parts.iter().any(|p| p.id == wanted && p.inside.is_some());
                if inside && !has_inside {
                    d.fault(
                        span.clone(),
                        format!("the `{wanted}` of `{}` has no inside", item.id),
                        "drop `.inside`, or give the part an `inside` material",
                    );
                    return false;
                }
                true
            })
        })
    }

    /// A part of the handled item that a contact names: those of the technique's items that lack it do without that
    /// contact, so one of them must have it.
    fn part_of_some(&self, d: &Decoder<'_>, span: &super::record::Span, name: &Name, inside: bool) -> bool {
        let wanted = sided(name);
        let has = |item: &&Item| wanted.iter().all(|id| item.parts.iter().any(|p| &p.id == id));
        let with: Vec<&Item> = self.items.iter().copied().filter(has).collect();
        let asked = if with.is_empty() { &self.items } else { &with };
        self.part(d, span, name, asked, inside)
    }

    /// The definition that a kit item id such as `left-glove` has.
    fn named(&self, id: &str) -> Option<&Item> {
        let id = id.strip_prefix("spare-").unwrap_or(id);
        self.library.items.iter().find(|item| {
            if item.each_side {
                id.strip_prefix("left-").or(id.strip_prefix("right-")) == Some(&item.id)
            } else {
                id == item.id
            }
        })
    }

    fn kit_item(&self, d: &Decoder<'_>, node: &Node) -> Option<String> {
        let id = d.reference(node, "item")?;
        if self.named(&id.value).is_some() {
            return Some(id.value);
        }
        let names = kit_names(self.library);
        refer::known(d, &id, "item of a kit", names.iter().map(String::as_str));
        None
    }

    /// An address, with whatever it names checked.
    pub fn address(&self, d: &Decoder<'_>, node: &Node, noun: &str) -> Option<Address> {
        let text = d.reference(node, noun)?;
        let span = text.span;
        let address = match Address::parse(&text.value) {
            Ok(address) => address,
            Err(brief) => {
                d.fault(
                    span,
                    brief,
                    "addresses are such as `act.palm`, `item.cuff.inside`, `place.neck-back`, `room.bin-lid`",
                );
                return None;
            }
        };
        let fine = match &address {
            Address::Hand(..) | Address::Part { part: None, .. } => true, // whatever it is, it has parts
            Address::Place(name) => {
                let names: Vec<String> = match name.mark {
                    None => vec![name.name.clone()],
                    Some(_) => vec![format!("left-{}", name.name)],
                };
                names.into_iter().all(|value| {
                    refer::known(
                        d,
                        &Spanned {
                            value,
                            span: span.clone(),
                        },
                        "place",
                        ids!(self.library.places),
                    )
                })
            }
            Address::Room(id) => {
                let id = Spanned {
                    value: id.clone(),
                    span,
                };
                refer::known(d, &id, "piece of furniture", ids!(self.library.furniture))
            }
            Address::Under(name) => self.handled(d, &span) && self.part_of_some(d, &span, name, false),
            Address::Part {
                item: ItemRef::Handled,
                part: Some(name),
                inside,
            } => self.handled(d, &span) && self.part_of_some(d, &span, name, *inside),
            Address::Part {
                item: ItemRef::Held,
                part: Some(name),
                ..
            } => {
                // What is held can be anything; the part must at least exist somewhere.
                let names: Vec<&str> = self.library.items.iter().flat_map(|i| ids!(i.parts)).collect();
                let id = Spanned {
                    value: name.name.clone(),
                    span,
                };
                name.mark.is_some() || refer::known(d, &id, "part", names.iter().copied())
            }
            Address::Part {
                item: ItemRef::Named(id),
                part: Some(name),
                inside,
            } => match self.named(id) {
                Some(item) => self.part(d, &span, name, &[item], *inside),
                None => {
                    let mut names = kit_names(self.library);
                    names.extend(
                        ["act", "other", "item", "under", "place", "room", "held"].map(str::to_owned),
                    );
                    let id = Spanned {
                        value: id.clone(),
                        span,
                    };
                    refer::known(d, &id, "start of an address", names.iter().map(String::as_str))
                }
            },
        };
        fine.then_some(address)
    }

    fn handled(&self, d: &Decoder<'_>, span: &super::record::Span) -> bool {
        if self.items.is_empty() {
            d.fault(
                span.clone(),
                "nothing is handled here; `item.` and `under.` mean nothing",
                "name what is touched, as in `held.any` or `place.lips`",
            );
        }
        !self.items.is_empty()
    }
}

/// Every id that a kit can give an item.
pub(super) fn kit_names(library: &Library) -> Vec<String> {
    library
        .items
        .iter()
        .flat_map(|item| {
            if item.each_side {
                vec![format!("left-{}", item.id), format!("right-{}", item.id)]
            } else {
                vec![item.id.clone()]
            }
        })
        .collect()
}

fn fastening(d: &Decoder<'_>, node: &Node, check: &Check<'_>) -> Option<String> {
    let name = d.reference(node, "fastening")?;
    for item in &check.items {
        let noun = format!("fastening of `{}`", item.id);
        if !refer::known(d, &name, &noun, ids!(item.fastenings)) {
            return None;
        }
    }
    Some(name.value)
}

/// A fastening that can be a knot.
fn knot(d: &Decoder<'_>, node: &Node, check: &Check<'_>) -> Option<String> {
    let id = fastening(d, node, check)?;
    let straps = check.items.iter().flat_map(|item| &item.fastenings);
    if straps.filter(|f| f.id == id).any(|f| !f.knots) {
        d.fault(
            node.span.clone(),
            format!("{} is not tied, so it cannot be a knot", quoted(&id)),
            "a fastening of an item that is tied says `knots: true`",
        );
        return None;
    }
    Some(id)
}

/// Contacts left out; a part may be named without its side, for both.
fn left_out<'a>(d: &Decoder<'a>, node: &'a Node, check: &Check<'_>) -> Option<LeftOut> {
    let mut r = d.record(node, "contact left out");
    Some(LeftOut {
        parts: r.list_or_empty("parts", |d, n| {
            let name = d.reference(n, "part")?;
            let sided = |item: &Item| item.parts.iter().any(|p| p.id == format!("left-{}", name.value));
            let mark = check
                .items
                .iter()
                .any(|item| sided(item))
                .then_some(SideMark::Acting);
            let wanted = Name {
                mark,
                name: name.value.clone(),
            };
            // Of several items one may have a part that another lacks.
            let has = |item: &&&Item| {
                let named = |p: &crate::model::Part| {
                    [
                        wanted.for_side(Side::Left),
                        wanted.for_side(Side::Right),
                        name.value.clone(),
                    ]
                    .contains(&p.id)
                };
                item.parts.iter().any(named)
            };
            let having: Vec<&Item> = check.items.iter().filter(has).copied().collect();
            let asked = if having.is_empty() { &check.items } else { &having };
            check
                .part(d, &name.span, &wanted, asked, false)
                .then_some(name.value)
        }),
        meets: r.choice("meets", &Meets::ALL),
        why: r.text("why"),
    })
}

fn need<'a>(d: &Decoder<'a>, node: &'a Node, check: &Check<'_>) -> Option<Need> {
    let known = [
        "Worn", "Dangling", "Held", "Boxed", "OnFloor", "AnyTied", "Undone", "Tied", "WornToo", "Bare",
        "Covered",
    ];
    let variant = d.variant(node, "need", &known)?;
    Some(match variant.name {
        "Undone" => Need::Undone(fastening(d, variant.single()?, check)?),
        "Tied" => Need::Tied(fastening(d, variant.single()?, check)?),
        "WornToo" => Need::WornToo(check.kit_item(d, variant.single()?)?),
        "Bare" => Need::Bare(place(d, variant.single()?, check)?),
        "Covered" => Need::Covered(place(d, variant.single()?, check)?),
        plain => {
            variant.unit();
            match plain {
                "Worn" => Need::Worn,
                "Dangling" => Need::Dangling,
                "Held" => Need::Held,
                "OnFloor" => Need::OnFloor,
                "AnyTied" => Need::AnyTied,
                _ => Need::Boxed,
            }
        }
    })
}

/// A place of the person, perhaps with its side left open.
fn place(d: &Decoder<'_>, node: &Node, check: &Check<'_>) -> Option<Name> {
    let text = d.reference(node, "place")?;
    let name = Name::parse(&text.value);
    let known = match name.mark {
        None => name.name.clone(),
        Some(_) => format!("left-{}", name.name),
    };
    let named = Spanned {
        value: known,
        span: text.span,
    };
    refer::known(d, &named, "place", ids!(check.library.places)).then_some(name)
}

/// A fault that every item of a technique can have, always in the same part.
fn made(d: &Decoder<'_>, node: &Node, check: &Check<'_>) -> Option<String> {
    let id = d.reference(node, "fault")?;
    if !refer::known(d, &id, "fault", ids!(check.library.faults)) {
        return None;
    }
    let fault = check.library.fault(&id.value)?;
    if fault.is_of_person() || matches!(fault.effect, Effect::Brings { .. }) {
        d.fault(
            id.span,
            format!("{} is there before anything is put on", quoted(&id.value)),
            "name one that comes about as an item is put on, such as `cuff-gap`",
        );
        return None;
    }
    if matches!(fault.effect, Effect::Leak { part: None, .. }) {
        let brief = format!(
            "{} can be anywhere, and nobody makes it by putting on",
            quoted(&id.value)
        );
        let hint = "name one that is always in the same part, such as `cuff-gap`";
        d.fault(id.span, brief, hint);
        return None;
    }
    let mut items = check.items.iter();
    if let Some(item) = items.find(|item| !fault.is_of(item)) {
        cannot_have(d, id, item, fault);
        return None;
    }
    Some(id.value)
}

/// Reports an item that a fault does not happen to.
fn cannot_have(d: &Decoder<'_>, id: Spanned<String>, item: &Item, fault: &Fault) {
    let brief = format!("{} cannot have the fault {}", quoted(&item.id), quoted(&id.value));
    let hint = format!("it can happen to: {}", fault.items.join(", "));
    d.fault(id.span, brief, hint);
}

/// A fault that is put right that was there before anything was put on: of the person, or of every item of a technique.
fn remedied(d: &Decoder<'_>, node: &Node, check: &Check<'_>) -> Option<String> {
    let id = d.reference(node, "fault")?;
    if !refer::known(d, &id, "fault", ids!(check.library.faults)) {
        return None;
    }
    let fault = check.library.fault(&id.value)?;
    let cannot = |item: &&Item| !fault.is_of(item);
    if !fault.is_of_person()
        && let Some(item) = check.items.iter().copied().find(cannot)
    {
        cannot_have(d, id, item, fault);
        return None;
    }
    if !fault.is_of_person() && check.items.is_empty() {
        let brief = format!("{} is of an item, and no item is handled here", quoted(&id.value));
        d.fault(id.span, brief, "name the item in `items` of the technique");
        return None;
    }
    Some(id.value)
}

/// Where what is done to no item is chosen: places of the person and pieces of furniture.
fn offered(r: &mut Record<'_>, library: &Library, wanted: bool) -> Vec<String> {
    let names: Vec<&str> = ids!(library.places).chain(ids!(library.furniture)).collect();
    let at = r.span();
    let list = r.list_or_empty("offered", |d, n| {
        refer::node(d, n, "place or piece of furniture", names.iter().copied())
    });
    if wanted && list.is_empty() {
        r.decoder().fault(
            at,
            "nothing says where this is chosen",
            "name a place or a piece of furniture, as in `offered: [\"left-palm\"]`",
        );
    }
    list
}

/// One thing that a check lets one see.
fn see<'a>(d: &Decoder<'a>, node: &'a Node, check: &Check<'_>, does: Does) -> Option<Feel> {
    let library = check.library;
    let mut r = d.record(node, "what is seen");
    let of = r.list_or_empty("of", |d, n| refer::node(d, n, "item", ids!(library.items)));
    let on: Vec<&Item> = match of.is_empty() {
        true => check.items.clone(),
        false => of.iter().filter_map(|id| library.item(id)).collect(),
    };
    let named = Check {
        library,
        items: on.clone(),
    };
    let fault = r.optional("fault", |d, n| seen_fault(d, n, &named));
    let open = r.optional("open", |d, n| fastening(d, n, &named));
    let covered = r.optional("covered", |d, n| {
        let name = d.reference(n, "part")?;
        let part = Name::parse(&name.value);
        named
            .part(d, &name.span, &part, &named.items, false)
            .then_some(name.value)
    });
    let beneath = r.optional("beneath", |d, n| refer::node(d, n, "item", ids!(library.items)));
    let sought = [
        fault.map(Sought::Fault),
        open.map(Sought::Open),
        covered.map(Sought::Covered),
        beneath.map(Sought::Beneath),
    ];
    let some = r.text("some");
    let finds = r.number("finds", 0.0..=1.0);
    let finds_basis = refer::field(&mut r, "finds_basis", "basis", ids!(library.bases));
    let alarms = r.number_or("alarms", 0.0..=1.0, 0.0);
    let alarms_basis = match alarms > 0.0 {
        true => refer::field(&mut r, "alarms_basis", "basis", ids!(library.bases)),
        false => String::new(),
    };
    drop(r);
    let mut sought = sought.into_iter().flatten();
    let (first, second) = (sought.next(), sought.next());
    let wrong = match (&first, &second) {
        (Some(_), Some(_)) => Some("one thing is looked for at a time"),
        (Some(sought), None) if on.is_empty() && !matches!(sought, Sought::Fault(_)) => {
            Some("on the person only a fault can be seen")
        }
        _ if does != Does::Prepares && !matches!(does, Does::PutsOn) => {
            Some("only what prepares or puts on is a check")
        }
        _ => None,
    };
    if let Some(brief) = wrong {
        d.fault(
            node.span.clone(),
            brief,
            "write one of `fault`, `open`, `covered` and `beneath`, with the items in `of`",
        );
        return None;
    }
    Some(Feel {
        of,
        sought: first?,
        some,
        none: String::new(),
        finds,
        finds_basis,
        alarms,
        alarms_basis,
    })
}

/// A fault that can be seen: of the person, or one that all of these items can have.
fn seen_fault(d: &Decoder<'_>, node: &Node, named: &Check<'_>) -> Option<String> {
    let id = d.reference(node, "fault")?;
    if !refer::known(d, &id, "fault", ids!(named.library.faults)) {
        return None;
    }
    let fault = named.library.fault(&id.value)?;
    let (brief, hint) = match named.items.iter().find(|item| !fault.is_of(item)) {
        _ if fault.is_of_person() && !named.items.is_empty() => (
            format!("{} is of the person and of no item", quoted(&id.value)),
            "leave out `of`".to_owned(),
        ),
        _ if !fault.is_of_person() && named.items.is_empty() => (
            format!("{} is of an item, and none is named", quoted(&id.value)),
            format!("write `of: [\"{}\"]`", fault.items.join("\", \"")),
        ),
        Some(item) if !fault.is_of_person() => (
            format!("{} cannot have the fault {}", quoted(&item.id), quoted(&id.value)),
            format!("it can happen to: {}", fault.items.join(", ")),
        ),
        _ => return Some(id.value),
    };
    d.fault(id.span, brief, hint);
    None
}

/// What a check lets one feel.
fn feel<'a>(d: &Decoder<'a>, node: &'a Node, check: &Check<'_>) -> Option<Feel> {
    let mut r = d.record(node, "what is felt");
    let fault = r.value("fault", |d, n| made(d, n, check));
    let some = r.text("some");
    let none = r.text("none");
    let finds = r.number("finds", 0.0..=1.0);
    let finds_basis = refer::field(&mut r, "finds_basis", "basis", ids!(check.library.bases));
    let alarms = r.number("alarms", 0.0..=1.0);
    let alarms_basis = refer::field(&mut r, "alarms_basis", "basis", ids!(check.library.bases));
    drop(r);
    Some(Feel {
        of: Vec::new(),
        sought: Sought::Fault(fault?),
        some,
        none,
        finds,
        finds_basis,
        alarms,
        alarms_basis,
    })
}

/// What every splash says of itself, whether care is given before an attempt or in it.
pub(super) struct Splashed {
    pub from: String,
    pub onto: Option<Address>,
    pub fraction: f64,
    pub sd: f64,
    pub wet: f64,
}

impl Splashed {
    pub(super) fn of(r: &mut Record<'_>, check: &Check<'_>) -> Splashed {
        Splashed {
            from: refer::field(r, "from", "piece of furniture", ids!(check.library.furniture)),
            onto: r.value("onto", |d, n| check.address(d, n, "address")),
            fraction: r.number("fraction", 0.0..=1.0),
            sd: r.number_or("sd", 0.0..=0.5, 0.0),
            wet: r.quantity_or("wet", "s", 0.0..=86_400.0, 0.0),
        }
    }
}

fn step<'a>(d: &Decoder<'a>, node: &'a Node, check: &Check<'_>) -> Option<Step> {
    let known = [
        "Touch", "Brush", "Graze", "Shed", "Splash", "Undo", "Tie", "Knot", "Fault", "Mend", "Remedy",
        "Invert", "Move",
    ];
    let variant = d.variant(node, "step", &known)?;
    match variant.name {
        "Touch" | "Brush" | "Graze" => {
            let mut r = variant.record();
            let a = r.value("a", |d, n| check.address(d, n, "address"));
            let b = r.value("b", |d, n| check.address(d, n, "address"));
            let least = if variant.name == "Graze" { 1e-6 } else { 0.01 };
            let area = r.quantity("area", "cm2", least..=2000.0);
            let slide = r.flag_or("slide", false);
            let how = match variant.name {
                "Brush" => {
                    let steady = r.number("chance", 0.0..=1.0);
                    How::Brush {
                        steady,
                        hurried: r.number_or("hurried", 0.0..=1.0, steady),
                    }
                }
                "Graze" => How::Graze,
                _ => How::Meant,
            };
            let tied = r.optional("tied", |d, n| fastening(d, n, check));
            let undone = r.optional("undone", |d, n| fastening(d, n, check));
            let knotted = r.optional("knotted", |d, n| knot(d, n, check));
            let waits = [
                tied.map(|id| (id, Fastened::Tied)),
                undone.map(|id| (id, Fastened::Undone)),
                knotted.map(|id| (id, Fastened::Knotted)),
            ];
            if waits.iter().flatten().count() > 1 {
                d.fault(
                    node.span.clone(),
                    "a contact waits for a fastening that is tied, undone or knotted, for one of these",
                    "keep one of `tied`, `undone` and `knotted`; for more cases write the contact once for each",
                );
            }
            drop(r);
            Some(Step::Contact {
                a: a?,
                b: b?,
                area,
                slide,
                how,
                only_if: waits.into_iter().flatten().next(),
            })
        }
        "Shed" => {
            let mut r = variant.record();
            let from = r.value("from", |d, n| check.address(d, n, "address"));
            let onto = r.value("onto", |d, n| check.address(d, n, "address"));
            let share = r.number("share", 0.0..=1.0);
            drop(r);
            Some(Step::Shed {
                from: from?,
                onto: onto?,
                share,
            })
        }
        "Undo" => Some(Step::Undo(fastening(d, variant.single()?, check)?)),
        "Tie" => Some(Step::Tie(fastening(d, variant.single()?, check)?)),
        "Knot" => Some(Step::Knot(knot(d, variant.single()?, check)?)),
        "Fault" => Some(Step::Fault(made(d, variant.single()?, check)?)),
        "Mend" => Some(Step::Mend(made(d, variant.single()?, check)?)),
        "Remedy" => Some(Step::Remedy(remedied(d, variant.single()?, check)?)),
        "Splash" => {
            let mut r = variant.record();
            let Splashed {
                from,
                onto,
                fraction,
                sd,
                wet,
            } = Splashed::of(&mut r, check);
            drop(r);
            Some(Step::Splash {
                from,
                onto: onto?,
                fraction,
                sd,
                wet,
            })
        }
        "Invert" => Some(Step::Invert(item_ref(d, variant.single()?, check)?)),
        _ => {
            let mut r = variant.record();
            let item = r.value("item", |d, n| item_ref(d, n, check));
            let to = r.choice("to", &MoveTo::ALL);
            drop(r);
            Some(Step::Move(item?, to))
        }
    }
}

fn item_ref(d: &Decoder<'_>, node: &Node, check: &Check<'_>) -> Option<ItemRef> {
    match d.reference(node, "item")?.value.as_str() {
        "item" => Some(ItemRef::Handled),
        "held" => Some(ItemRef::Held),
        _ => check.kit_item(d, node).map(ItemRef::Named),
    }
}
