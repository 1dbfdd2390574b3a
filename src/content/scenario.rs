//! Scenarios, checked down to the last site, and scripts, checked by playing them.

use std::sync::Arc;

use crate::drill::{Action, Script, State, enact};
use crate::model::{
    Address, Care, CareStep, Does, FaultUse, Hands, Happening, ItemKind, Library, Load, Pace, PutOn,
    Scenario, Setup, Side, Spotted, Start, Technique, Tied, Zone,
};

use super::fault::quoted;
use super::record::{Decoder, Record, Spanned};
use super::refer;
use super::sequence::marks;
use super::substance::{WHEREABOUTS, basis, ids};
use super::technique::{Check, Splashed};
use super::tree::Node;

pub(super) fn scenario(r: &mut Record<'_>, library: &mut Library) -> Option<Scenario> {
    let id = r.ident("id");
    refer::defined_once(&r.decoder(), &id, "scenario");
    let label = r.text("label");
    let setting = r.text("setting");
    let organism = refer::field(r, "organism", "organism", ids!(library.organisms));
    let sequence = refer::field(r, "sequence", "sequence", ids!(library.sequences));
    let also = r.list_or_empty("also", |d, n| {
        refer::node(d, n, "sequence", ids!(library.sequences))
    });
    let mut strange = false;
    let mut item = |d: &Decoder<'_>, n: &Node| {
        let id = refer::node(d, n, "item", ids!(library.items));
        strange |= id.is_none();
        id
    };
    let kit = r.list("kit", &mut item);
    let ready = r.list_or_empty("ready", |d, n| {
        let id = d.reference(n, "item")?;
        refer::known(d, &id, "item of this kit", kit.iter().map(String::as_str)).then_some(id.value)
    });
    let spares = r.list_or_empty("spares", &mut item);
    let mut asked: Vec<String> = Vec::new();
    let work = r.list_or_empty("work", |d, n| {
        let given = |t: &&Technique| t.does == Does::Cares;
        let known = library.techniques.iter().filter(given).map(|t| t.id.as_str());
        let id = refer::node(d, n, "piece of care", known)?;
        if asked.contains(&id) {
            let brief = format!("{} is there twice", quoted(&id));
            d.fault(
                n.span.clone(),
                brief,
                "name each piece of care once; it can be given as often as wanted",
            );
        }
        asked.push(id.clone());
        Some(id)
    });
    let building = super::building::own(r, true);
    let begin = r.choice("begin", &WHEREABOUTS);
    let span = r.span();
    let mut scenario = Scenario {
        id: id.value,
        label,
        setting,
        organism,
        sequence,
        also,
        kit,
        ready,
        spares,
        building,
        begin,
        put_on: Vec::new(),
        start: Vec::new(),
        care: Vec::new(),
        work,
        faults: Vec::new(),
        happenings: Vec::new(),
        marks: library.marks?,
        basis: String::new(),
    };
    // Sites depend on the kit alone; if it cannot be set up, what names sites is not checked further.
    // An organism that is not known was reported already, and must not hide what else is wrong.
    let mut probe = scenario.clone();
    if library.organism(&probe.organism).is_none()
        && let Some(any) = library.organisms.first()
    {
        probe.organism.clone_from(&any.id);
    }
    let setup = match Setup::new(Arc::new(library.clone()), &probe) {
        // An unknown item of the kit was reported; that its sites are unknown too is no fault of their own.
        Ok(_) if strange => None,
        Ok(setup) => Some(setup),
        Err(error) => {
            // Unknown names were already reported where they stand.
            if !error.0.starts_with("unknown") {
                let hint = if error.0.starts_with("no transfer") {
                    "add a row for them to `transfers` in a materials file"
                } else if error.0.starts_with("the kit") {
                    "name each item of the kit once"
                } else {
                    "give one of the two another id"
                };
                r.decoder().fault(span, error.0, hint);
            }
            None
        }
    };
    if let Some(setup) = &setup {
        let sequences = std::iter::once(&scenario.sequence).chain(&scenario.also);
        for sequence in sequences.filter_map(|id| library.sequence(id)) {
            if !setup.is_served_by(sequence) {
                let brief = format!("{} takes off nothing of this kit", quoted(&sequence.id));
                let hint = "name sequences that are for what is worn here";
                r.decoder().fault(r.span(), brief, hint);
            } else if let [item, ..] = setup.not_put_on_by(sequence)[..] {
                let brief = format!(
                    "{} says nothing of putting on the {}, which lies ready",
                    quoted(&sequence.id),
                    setup.items[item].label
                );
                let hint = "name sequences that have it put on, or take it out of `ready`";
                r.decoder().fault(r.span(), brief, hint);
            }
            if let Some(brief) = super::building::lacking(setup, sequence) {
                let hint = "say where basins and dispensers are: `building: (basins: [Inside, Outside])`, here or there";
                r.decoder().fault(r.span(), brief, hint);
            }
        }
    }
    let site = |d: &Decoder<'_>, id: &Spanned<String>| {
        setup
            .as_ref()
            .is_none_or(|setup| refer::known(d, id, "site", ids!(setup.sites)))
    };
    let mut loaded = Vec::new();
    let area = |id: &str| {
        let site = setup
            .as_ref()
            .and_then(|setup| Some(&setup.sites[setup.site(id)?]));
        site.map_or(1.0, |site| site.area)
    };
    let starts = r.list_or_empty("start", |d, node| start(d, node, &site, &area, &mut loaded));
    scenario.start = starts.into_iter().flatten().collect();
    let check = Check {
        library,
        items: Vec::new(),
    };
    scenario.care = r.list_or_empty("care", |d, node| {
        if !scenario.ready.is_empty() {
            let brief = "`care` is given before the attempt, when what lies `ready` is not on yet";
            let hint = "name what is to be done in the attempt, as in `work: [\"turn-patient\"]`";
            d.fault(node.span.clone(), brief, hint);
        }
        care(d, node, &check)
    });
    let items: Vec<String> = setup
        .iter()
        .flat_map(|s| s.items.iter().map(|i| i.id.clone()))
        .collect();
    scenario.faults = r.list_or_empty("faults", |d, node| {
        let mut r = d.record(node, "fault");
        let fault = refer::field(&mut r, "fault", "fault", ids!(library.faults));
        let usual = library.fault(&fault);
        if usual.is_some_and(|fault| fault.is_of_person()) {
            let chance = r.number_or("chance", 0.0..=1.0, usual.map_or(0.0, |f| f.chance));
            if r.has("item") {
                let brief = format!("{} is of the person and of no item", quoted(&fault));
                let item = r.reference("item");
                d.fault(item.span, brief, "leave out `item`");
            }
            return Some(FaultUse {
                fault,
                item: None,
                chance,
            });
        }
        let item = r.reference("item");
        let known =
            setup.is_none() || refer::known(d, &item, "item of this kit", items.iter().map(String::as_str));
        let chance = r.number_or("chance", 0.0..=1.0, usual.map_or(0.0, |f| f.chance));
        if let (true, Some(setup), Some(usual)) = (known, &setup, usual)
            && let Some(index) = setup.item(&item.value)
        {
            let definition = setup.definition(index);
            if !usual.is_of(definition) {
                let brief = format!("{} cannot have the fault {}", quoted(&item.value), quoted(&fault));
                let hint = format!("it can happen to: {}", usual.items.join(", "));
                d.fault(item.span.clone(), brief, hint);
            }
        }
        Some(FaultUse {
            fault,
            item: Some(item.value),
            chance,
        })
    });
    scenario.put_on = all_put_on(r, setup.as_ref());
    scenario.happenings = r.list_or_empty("happenings", |d, node| {
        let mut r = d.record(node, "happening");
        let at = r.quantity("at", "s", 0.0..=36_000.0);
        let say = r.text("say");
        let id = r.reference("site");
        site(d, &id);
        Some(Happening {
            at,
            say,
            site: id.value,
        })
    });
    if let Some(node) = r.node("marks") {
        let mut own = r.decoder().record(node, "marks");
        scenario.marks = marks(&mut own, library, library.marks);
    }
    scenario.basis = basis(r, library);
    Some(scenario)
}

/// What was fastened otherwise than the setup has it, each fastening in one way, and all of it so that it stays on.
pub(super) fn all_put_on(r: &mut Record<'_>, setup: Option<&Setup>) -> Vec<PutOn> {
    let mut seen: Vec<(String, String)> = Vec::new();
    let mut left: Vec<Vec<Tied>> = setup
        .iter()
        .flat_map(|s| &s.items)
        .map(|i| i.tied.clone())
        .collect();
    r.list_or_empty("put_on", |d, node| {
        let (found, item, fastening) = put_on(d, node, setup?)?;
        let named = (found.item.clone(), found.fastening.clone());
        if seen.contains(&named) {
            let brief = format!("the {} of {} is there twice", quoted(&named.1), quoted(&named.0));
            d.fault(
                node.span.clone(),
                brief,
                "a fastening is left in one way; keep one of the two",
            );
        }
        seen.push(named);
        left[item][fastening] = found.tied;
        // A gown hangs from its sleeves; nothing else stays on with all of it open.
        let worn = &setup?.items[item];
        let hangs = setup?.definition(item).kind == ItemKind::Gown;
        if found.tied == Tied::Open && !hangs && left[item].iter().all(|tied| *tied == Tied::Open) {
            d.fault(
                node.span.clone(),
                format!("nothing would hold the {} any more", worn.label),
                "leave one of its straps or ties done up, or leave it out of the kit",
            );
        }
        Some(found)
    })
}

/// A fastening that was left otherwise than it should be, with its item and its place among that item's fastenings.
fn put_on<'a>(d: &Decoder<'a>, node: &'a Node, setup: &Setup) -> Option<(PutOn, usize, usize)> {
    let mut r = d.record(node, "fastening as it was put on");
    let item = r.reference("item");
    let fastening = r.reference("fastening");
    let tied = r.choice("tied", &Tied::ALL);
    drop(r);
    let worn = || setup.items.iter().filter(|item| !item.spare);
    if !refer::known(d, &item, "item of this kit", worn().map(|item| item.id.as_str())) {
        return None;
    }
    let index = setup.item(&item.value)?;
    if setup.items[index].ready {
        d.fault(
            item.span.clone(),
            format!(
                "the {} lies ready, so nothing of it is fastened yet",
                setup.items[index].label
            ),
            "leave this out, or take the item out of `ready`",
        );
        return None;
    }
    let fastenings = &setup.definition(index).fastenings;
    if fastenings.is_empty() {
        d.fault(
            item.span.clone(),
            format!("the {} has nothing to fasten", setup.items[index].label),
            "leave it out; a glove that does not reach over its cuff is the fault `cuff-gap`, in `faults`",
        );
        return None;
    }
    let noun = format!("fastening of {}", quoted(&item.value));
    if !refer::known(d, &fastening, &noun, ids!(fastenings)) {
        return None;
    }
    let place = fastenings.iter().position(|f| f.id == fastening.value)?;
    if tied == Tied::Knot && !fastenings[place].knots {
        d.fault(
            node.span.clone(),
            format!(
                "the {} of {} is not tied, so it cannot be a knot",
                fastenings[place].label,
                quoted(&item.value)
            ),
            "leave it out, or write `Open` for one that hangs loose",
        );
        return None;
    }
    let put_on = PutOn {
        item: item.value,
        fastening: fastening.value,
        tied,
    };
    Some((put_on, index, place))
}

/// A load at the start, on one site or, in spots, on several: one for each.
fn start<'a>(
    d: &Decoder<'a>,
    node: &'a Node,
    site: &dyn Fn(&Decoder<'_>, &Spanned<String>) -> bool,
    area: &dyn Fn(&str) -> f64,
    loaded: &mut Vec<(String, bool)>,
) -> Option<Vec<Start>> {
    let variant = d.variant(node, "load", &["Fixed", "Poisson", "Lognormal", "Spots"])?;
    let mut r = variant.record();
    if variant.name == "Spots" {
        return Some(spots(d, &mut r, site, area, loaded));
    }
    let id = r.reference("site");
    site(d, &id);
    in_one_way(d, &id, false, loaded);
    let load = match variant.name {
        "Fixed" => Load::Fixed(r.count("amount", 0..=1_000_000_000_000)),
        "Poisson" => Load::Poisson(r.number("mean", 0.0..=1e9)),
        _ => Load::Lognormal {
            median: r.number("median", 0.0..=1e9),
            gsd: r.number("gsd", 1.0..=100.0),
        },
    };
    Some(vec![Start {
        site: id.value,
        load,
        wet: r.quantity_or("wet", "s", 0.0..=86_400.0, 0.0),
    }])
}

/// Spots that fall on several patches, as many on each as its area has a part in theirs together.
fn spots<'a>(
    d: &Decoder<'a>,
    r: &mut Record<'a>,
    site: &dyn Fn(&Decoder<'_>, &Spanned<String>) -> bool,
    area: &dyn Fn(&str) -> f64,
    loaded: &mut Vec<(String, bool)>,
) -> Vec<Start> {
    let span = r.span();
    let mut named = r.has("sites").then_some(0);
    let sites: Vec<String> = r.list("sites", |d, node| {
        named = named.map(|n| n + 1);
        let id = d.reference(node, "site")?;
        in_one_way(d, &id, true, loaded);
        site(d, &id).then_some(id.value)
    });
    if sites.is_empty() && named == Some(0) {
        d.fault(
            span.clone(),
            "spots fall on at least one patch",
            "name it, as in `sites: [\"gown-chest\", \"gown-abdomen\"]`",
        );
    }
    let count = r.number("count", 0.001..=10_000.0);
    let of_one = r.quantity("area", "cm2", 0.000_001..=10_000.0);
    let each = match (r.has("each"), r.has("total")) {
        (true, false) => r.number("each", 0.0..=1e9),
        (false, true) => r.number("total", 0.0..=1e9) / count,
        (both, _) => {
            r.also(&["each", "total"]);
            d.fault(
                span,
                match both {
                    true => "spots have `each` or `total`, and these have both",
                    false => "how much is in these spots is not said",
                },
                "write `each: 50.0` for what one spot holds on average, or `total: 600.0` for all of them together",
            );
            0.0
        }
    };
    let wet = r.quantity_or("wet", "s", 0.0..=86_400.0, 0.0);
    let all: f64 = sites.iter().map(|id| area(id)).sum();
    let start = |id: String| Start {
        load: Load::Spots {
            spots: Spotted {
                count: count * area(&id) / all,
                area: of_one,
            },
            each,
        },
        site: id,
        wet,
    };
    sites.into_iter().map(start).collect()
}

/// Reports a patch that has spots and something else: what lies on it lies in these spots or is spread evenly.
fn in_one_way(d: &Decoder<'_>, id: &Spanned<String>, spots: bool, loaded: &mut Vec<(String, bool)>) {
    let other = loaded.iter().find(|(site, _)| *site == id.value);
    if let Some(&(_, others)) = other.filter(|(_, others)| spots || *others) {
        let brief = match spots && others {
            true => format!("{} has spots twice", quoted(&id.value)),
            false => format!("{} has spots and a load that is spread evenly", quoted(&id.value)),
        };
        d.fault(
            id.span.clone(),
            brief,
            "what lies on a patch lies in one sort of spots or evenly: leave one of the two out",
        );
    }
    loaded.push((id.value.clone(), spots));
}

fn care<'a>(d: &Decoder<'a>, node: &'a Node, check: &Check<'_>) -> Option<Care> {
    let mut r = d.record(node, "piece of care");
    let label = r.text("label");
    let seconds = r.quantity("seconds", "s", 0.1..=7200.0);
    let times = r.value("times", |d, n| {
        let [fewest, most] = d.numbers::<2>(n, "times")?;
        let whole = |x: f64| x.fract() == 0.0 && (0.0..=1000.0).contains(&x);
        if !whole(fewest) || !whole(most) || fewest > most {
            d.fault(
                n.span.clone(),
                "`times` holds the fewest and the most repeats, whole numbers up to 1000",
                "write the smaller first, as in `times: (1, 3)`",
            );
            return None;
        }
        Some((fewest as u32, most as u32))
    });
    let hand = r.choice_or("hand", &Hands::ALL, Hands::Both);
    let steps = r.list("steps", |d, n| {
        let variant = d.variant(n, "step of care", &["Touch", "Brush", "Splash"])?;
        let mut r = variant.record();
        if variant.name == "Splash" {
            let Splashed {
                from,
                onto,
                fraction,
                sd,
                wet,
            } = Splashed::of(&mut r, check);
            let chance = r.number_or("chance", 0.0..=1.0, 1.0);
            let spots = r.optional("spots", |d, node| {
                let of_person = |onto: &Address| matches!(onto, Address::Place(_) | Address::Hand(..));
                if onto.as_ref().is_some_and(|onto| !of_person(onto)) {
                    d.fault(
                        node.span.clone(),
                        "a splash lies in spots only on a place of the person or a hand",
                        "leave `spots` out, or write where it lands as in `onto: place.chest`",
                    );
                }
                let mut r = d.record(node, "spots");
                Some(Spotted {
                    count: r.number("count", 1.0..=10_000.0),
                    area: r.quantity("area", "cm2", 0.000_001..=10_000.0),
                })
            });
            return Some(CareStep::Splash {
                from,
                onto: onto?,
                fraction,
                sd,
                chance,
                wet,
                spots,
            });
        }
        let a = r.value("a", |d, n| check.address(d, n, "address"));
        let b = r.value("b", |d, n| check.address(d, n, "address"));
        let area = r.quantity("area", "cm2", 0.01..=5000.0);
        let slide = r.flag_or("slide", false);
        let chance = if variant.name == "Brush" {
            r.number("chance", 0.0..=1.0)
        } else {
            1.0
        };
        Some(CareStep::Contact {
            a: a?,
            b: b?,
            area,
            slide,
            chance,
        })
    });
    Some(Care {
        label,
        seconds,
        times: times?,
        hand,
        steps,
    })
}

/// Reads a script. It is checked in the scenario it names, or in the one it is to be played in.
pub(super) fn script(r: &mut Record<'_>, library: &Arc<Library>, play_in: Option<&str>) -> Script {
    let scenario = match play_in {
        None => refer::field(r, "scenario", "scenario", ids!(library.scenarios)),
        Some(_) => r.reference("scenario").value,
    };
    let label = r.text_or("label", "");
    let sequence = r.optional("sequence", |d, n| {
        refer::node(d, n, "sequence", ids!(library.sequences))
    });
    let setup = library
        .scenario(play_in.unwrap_or(&scenario))
        .and_then(|s| Setup::new(library.clone(), s).ok());
    let mut actions: Vec<(Spanned<()>, Action)> = Vec::new();
    let mut whole = true;
    r.list("actions", |d, node| {
        match action(d, node, library, setup.as_ref()) {
            Some(action) => actions.push((
                Spanned {
                    value: (),
                    span: node.span.clone(),
                },
                action,
            )),
            None => whole = false,
        }
        Some(())
    });
    // Only a script without other faults can be played; what is refused then is a fault where it stands.
    if let (true, Some(setup)) = (whole, &setup) {
        let mut state = State::dressed(setup);
        for (place, action) in &actions {
            if let Err(refusal) = enact(setup, &mut state, action) {
                let brief = format!("this cannot be done here: {}", refusal.reason);
                let hint = refusal.hint.unwrap_or_else(|| {
                    "this cannot be done at this point; leave it out, or do before it what it needs"
                        .to_owned()
                });
                r.decoder().fault(place.span.clone(), brief, hint);
            }
        }
    }
    Script {
        scenario,
        label,
        sequence,
        actions: actions.into_iter().map(|(_, action)| action).collect(),
    }
}

pub(super) const SIDES: [(&str, Side); 2] = [("Left", Side::Left), ("Right", Side::Right)];
const PACES: [(&str, Pace); 2] = [("Steady", Pace::Steady), ("Hurried", Pace::Hurried)];

fn zone(d: &Decoder<'_>, node: &Node) -> Option<Zone> {
    let word = refer::node(d, node, "hand zone", Zone::ALL.iter().map(|z| z.word()))?;
    Zone::from_word(&word)
}

fn action<'a>(d: &Decoder<'a>, node: &'a Node, library: &Library, setup: Option<&Setup>) -> Option<Action> {
    let variant = d.variant(node, "action", &["Do", "Touch", "Clean", "Walk", "Wait"])?;
    match variant.name {
        "Do" => {
            let mut r = variant.record();
            let technique = r.value("technique", |d, n| {
                refer::node(d, n, "technique", ids!(library.techniques))
            });
            let mut known = true;
            let item = r.optional("item", |d, n| {
                let id = d.reference(n, "item")?;
                if let Some(setup) = setup {
                    known = refer::known(d, &id, "item of this kit", ids!(setup.items));
                }
                Some(id.value)
            });
            let hand = r.optional("hand", |d, n| d.choice(n, "hand", &Hands::ALL));
            let pace = r.choice_or("pace", &PACES, Pace::Steady);
            drop(r);
            Some(Action::Do {
                technique: technique.filter(|_| known)?,
                item,
                hand,
                pace,
            })
        }
        "Touch" => {
            let mut r = variant.record();
            let hand = r.choice("hand", &SIDES);
            let with = r.optional("with", zone).unwrap_or(Zone::Fingertips);
            let id = r.reference("site");
            let known = setup.is_none_or(|s| refer::known(d, &id, "site", ids!(s.sites)));
            let usual = library.manners.touch_area(with);
            let area = r.quantity_or("area", "cm2", 0.01..=500.0, usual);
            drop(r);
            known.then_some(Action::Touch {
                hand,
                with,
                site: id.value,
                area,
            })
        }
        "Clean" => {
            let mut r = variant.record();
            let product = r.value("product", |d, n| {
                refer::node(d, n, "product", ids!(library.products))
            });
            let usual = product.as_deref().and_then(|id| library.product(id));
            let forearms = r.flag_or("forearms", false);
            let arms = usual.and_then(|p| p.forearms.as_ref()).filter(|_| forearms);
            let (doses, seconds) = usual.map_or((2, 20.0), |p| {
                (p.doses, p.seconds + arms.map_or(0.0, |f| f.seconds))
            });
            let doses = r.count_or("doses", 1..=10, u64::from(doses)) as u32;
            let seconds = r.quantity_or("seconds", "s", 0.1..=600.0, seconds);
            let skip = r.list_or_empty("skip", zone);
            drop(r);
            Some(Action::Clean {
                product: product?,
                doses,
                seconds,
                skip,
                forearms,
            })
        }
        "Walk" => Some(Action::Walk(d.choice(
            variant.single()?,
            "place to stand",
            &WHEREABOUTS,
        )?)),
        _ => Some(Action::Wait(d.quantity(
            variant.single()?,
            "wait",
            "s",
            &(0.1..=3600.0),
        )?)),
    }
}
