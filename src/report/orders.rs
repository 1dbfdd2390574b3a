//! The best orders in words: protocols, where named sequences lie, what one clean more or less buys.

use crate::analysis::{Change, Named, Orders, Place, Protocol, Size};
use crate::drill::{Action, Planned, State, enact};
use crate::model::{Holding, Setup, Side, Whereabouts, Zone};

/// What has to be said whenever one order is called better than another.
pub const ORDERS_CAVEAT: &str = "This is the model's expectation, for this kit, this load and this target, with \
steady hands and no fault in the kit. Trial evidence on the order of taking off is thin and of very low certainty: it is a \
reason to look closer, not to change a policy.";

/// A protocol in a few words: what comes off in which order, and when hands are cleaned.
///
/// ```text
/// gloves, rub, gown, goggles, rub, out, respirator, wash
/// ```
pub fn order_words(setup: &Setup, actions: &[Action]) -> String {
    order_list(setup, actions).join(", ")
}

/// The same, one entry for each.
pub fn order_list(setup: &Setup, actions: &[Action]) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    // The item of a pair whose first one was the last word.
    let mut half: Option<usize> = None;
    let mut state = State::dressed(setup);
    for action in actions {
        let gloves = gloves_over(setup, &state);
        let off = comes_off(setup, &mut state, action);
        let word = match action {
            Action::Clean { product, .. } => match gloves {
                Some(gloves) => format!("{} over {gloves}s", verb(setup, product)),
                None => verb(setup, product).to_owned(),
            },
            Action::Walk(Whereabouts::Outside) => "out".to_owned(),
            Action::Walk(to) => format!("to the {}", to.word()),
            Action::Touch { site, .. } => format!("touch {site}"),
            _ if off.is_empty() => continue,
            _ => {
                if let ([item], Some(first)) = (&off[..], half)
                    && setup.items[*item].item == setup.items[first].item
                {
                    half = None;
                    words.pop();
                    words.push(format!("{}s", setup.definition(first).label));
                    continue;
                }
                half = match off[..] {
                    [item] if setup.items[item].side.is_some() => Some(item),
                    _ => None,
                };
                words.push(together(setup, &off));
                continue;
            }
        };
        half = None;
        words.push(word);
    }
    words
}

/// True if an entry of [`order_list`] is a cleaning of hands.
pub(super) fn is_clean_word(setup: &Setup, word: &str) -> bool {
    setup.library.products.iter().any(|product| {
        word.strip_prefix(verb(setup, &product.id))
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(" over "))
    })
}

/// What covers a palm, by the name of its kind.
fn gloves_over<'a>(setup: &'a Setup, state: &State) -> Option<&'a str> {
    Side::BOTH.into_iter().find_map(|side| {
        let (item, _) = state.top(setup, setup.zone_place(side, Zone::Palm), None)?;
        Some(setup.definition(item).label.as_str())
    })
}

/// Items that come off in one: `gown with gloves`.
fn together(setup: &Setup, off: &[usize]) -> String {
    let mut words: Vec<String> = Vec::new();
    for &item in off {
        let pair = |other: usize| other != item && setup.items[other].item == setup.items[item].item;
        if !off.iter().any(|&other| pair(other)) {
            words.push(setup.items[item].label.clone());
            continue;
        }
        let both = format!("{}s", setup.definition(item).label);
        if !words.contains(&both) {
            words.push(both);
        }
    }
    words.join(" with ")
}

/// Items that an action takes off, the handled one first. Moves the state on.
fn comes_off(setup: &Setup, state: &mut State, action: &Action) -> Vec<usize> {
    let handled = match action {
        Action::Do { item: Some(id), .. } => setup.item(id),
        _ => None,
    };
    let Ok(planned) = enact(setup, state, action) else {
        return Vec::new();
    };
    let mut off: Vec<usize> = planned
        .iter()
        .filter_map(|p| match p {
            Planned::Item {
                item,
                from: Holding::Worn,
                ..
            } => Some(*item),
            _ => None,
        })
        .collect();
    off.sort_by_key(|item| Some(*item) != handled);
    off
}

fn verb<'a>(setup: &'a Setup, product: &'a str) -> &'a str {
    setup
        .library
        .product(product)
        .map_or(product, |p| p.verb.as_str())
}

/// Each action of a protocol in plain words.
pub fn step_words(setup: &Setup, actions: &[Action]) -> Vec<String> {
    actions
        .iter()
        .map(|action| match action {
            Action::Do { technique, item, .. } => {
                let label = setup.library.technique(technique).map_or(technique, |t| &t.label);
                match item.as_deref().and_then(|id| setup.item(id)) {
                    Some(item) => format!("{}: {label}", setup.items[item].label),
                    None => label.clone(),
                }
            }
            Action::Clean {
                product,
                doses,
                seconds,
                ..
            } => {
                let label = setup.library.product(product).map_or(product, |p| &p.label);
                let dose = if *doses == 1 { "dose" } else { "doses" };
                format!("{}: {label}, {doses} {dose}, {seconds} s", verb(setup, product))
            }
            Action::Walk(Whereabouts::Outside) => "go outside".to_owned(),
            Action::Walk(to) => format!("go to the {}", to.word()),
            Action::Touch { hand, site, .. } => format!("touch {site} with the {} hand", hand.word()),
            Action::Wait(seconds) => format!("wait {seconds} s"),
        })
        .collect()
}

/// An expected count to four digits, since neighbours on a front differ little.
pub fn risk_words(risk: f64) -> String {
    match risk.abs() {
        0.0 => "0".to_owned(),
        r if (1e-3..1e6).contains(&r) => {
            let digits = (3 - libm::floor(libm::log10(r)) as i32).clamp(0, 6) as usize;
            format!("{risk:.digits$}")
        }
        _ => format!("{risk:.2e}"),
    }
}

/// How often hands are cleaned.
pub fn cleans_words(cleans: u32) -> String {
    match cleans {
        0 => "no cleaning of hands".to_owned(),
        1 => "hands cleaned once".to_owned(),
        2 => "hands cleaned twice".to_owned(),
        n => format!("hands cleaned {n} times"),
    }
}

/// How the first protocol differs from the second: `5.2 times less, 23 s quicker, 1 clean fewer`.
fn than(first: &Protocol, second: &Protocol) -> String {
    let mut words = Vec::new();
    let (a, b) = (first.risk, second.risk);
    if a <= 0.0 && b > 0.0 {
        words.push(format!("nothing instead of {}", risk_words(b)));
    } else if b - a > 0.1 * b {
        words.push(format!("{:.1} times less", b / a));
    } else if b - a > 1e-12 * b {
        words.push(format!("{:.2} % less", 100.0 * (b - a) / b));
    } else {
        words.push("as little".to_owned());
    }
    let quicker = second.seconds - first.seconds;
    if quicker > 1e-9 {
        words.push(format!("{quicker} s quicker"));
    } else {
        words.push("as quick".to_owned());
    }
    match second.cleans.saturating_sub(first.cleans) {
        0 => {}
        1 => words.push("1 clean fewer".to_owned()),
        n => words.push(format!("{n} cleans fewer")),
    }
    words.join(", ")
}

/// True if two expected counts are not told apart: they differ by too small a share, or neither comes on average to what
/// is seen at all: a particle of tracer more or less is no reason for another order. (One organism is as good as seen, so of
/// organisms means below one are not told apart, though in some people there is any.)
pub fn same_count(setup: &Setup, a: f64, b: f64) -> bool {
    let told = setup.library.telling.as_ref();
    let seen = setup.organism.seen_from as f64;
    a == b || told.is_some_and(|t| t.same_amount(a, b) || a.max(b) <= seen)
}

/// Where a named sequence lies, in one sentence. Protocols of the front are numbered from 1.
pub fn named_words(setup: &Setup, orders: &Orders, named: &Named) -> String {
    let standing = match &named.standing {
        Ok(standing) => standing,
        Err(why) => return format!("{}: {why}.", named.label),
    };
    let p = &standing.protocol;
    let is = format!(
        "{}: {} in {} s, {}",
        named.label,
        risk_words(p.risk),
        p.seconds,
        cleans_words(p.cleans)
    );
    match &standing.place {
        Place::OnFront(n) => format!("{is}. It is on the front as number {}.", n + 1),
        Place::Beaten { safest, quickest } => {
            let by = |n: &usize| format!("number {} ({})", n + 1, than(&orders.front[*n], p));
            let alike = |n: &usize| same_count(setup, orders.front[*n].risk, p.risk);
            if alike(safest) {
                let quicker = p.seconds - orders.front[*quickest].seconds;
                let saves = match quicker > 0.0 {
                    true if safest == quickest => format!(" and takes {quicker} s less"),
                    true => format!("; number {} takes {quicker} s less", quickest + 1),
                    false => String::new(),
                };
                format!("{is}. Number {} leaves much the same{saves}.", safest + 1)
            } else if safest == quickest {
                format!("{is}. Beaten by {}.", by(safest))
            } else {
                format!(
                    "{is}. Beaten most safely by {}, most quickly by {}.",
                    by(safest),
                    by(quickest)
                )
            }
        }
        Place::Apart => {
            format!("{is}. It lies outside the space that was searched, and nothing in it beats it.")
        }
        Place::LeavesOn(items) => format!(
            "{is}. It leaves on the {}, so it is no match for what takes everything off.",
            items.join(", the ")
        ),
    }
}

/// What one clean more or less changes, in one sentence.
pub fn change_words(setup: &Setup, protocol: &Protocol, change: &Change) -> String {
    let Action::Clean { product, .. } = &change.clean else {
        return String::new();
    };
    let verb = verb(setup, product);
    let at = moment(setup, &protocol.actions, change);
    let what = if change.added {
        format!("one more {verb} {at}")
    } else {
        format!("without the {verb} {at}")
    };
    let share = if protocol.risk > 0.0 && change.risk.abs() > NOTABLE * protocol.risk {
        format!(" ({:+.2} %)", 100.0 * change.risk / protocol.risk)
    } else {
        String::new()
    };
    let risk = if change.risk.abs() <= NOTABLE * protocol.risk {
        "hardly a change".to_owned()
    } else if change.risk > 0.0 {
        format!("+{}", risk_words(change.risk))
    } else {
        risk_words(change.risk)
    };
    format!("{what}: {risk}{share}, {:+} s", change.seconds)
}

/// When a clean is, by what follows it: `before the gown`.
fn moment(setup: &Setup, actions: &[Action], change: &Change) -> String {
    let next = actions
        .iter()
        .skip(change.at + usize::from(!change.added))
        .find_map(|action| match action {
            Action::Walk(Whereabouts::Outside) => Some("before going outside".to_owned()),
            Action::Walk(to) => Some(format!("before going to the {}", to.word())),
            Action::Do { item: Some(id), .. } => {
                let item = setup.item(id)?;
                Some(format!("before the {}", setup.items[item].label))
            }
            _ => None,
        });
    next.unwrap_or_else(|| "at the end".to_owned())
}

/// The least share of a protocol's count that is worth a word.
const NOTABLE: f64 = 1e-4;

/// The most useful single clean: what one more buys most, which of those there is missed most; and which does no good
/// if `fewer` is asked.
pub fn best_change_words(setup: &Setup, protocol: &Protocol, changes: &[Change], fewer: bool) -> Vec<String> {
    let least = NOTABLE * protocol.risk;
    let best = changes.iter().find(|c| c.added && c.risk < -least);
    let missed = changes.iter().rev().find(|c| !c.added && c.risk > least);
    let useless = changes.iter().find(|c| fewer && !c.added && c.risk <= least);
    let mut words: Vec<String> = Vec::new();
    words.push(match best {
        Some(change) => format!("buys most: {}", change_words(setup, protocol, change)),
        None => "no single clean more would help by a ten-thousandth".to_owned(),
    });
    words.extend(missed.map(|c| format!("missed most: {}", change_words(setup, protocol, c))));
    words.extend(useless.map(|c| format!("does no good: {}", change_words(setup, protocol, c))));
    words
}

/// How large the space is and what became of all of it.
pub fn size_words(size: &Size) -> String {
    let share = |n: u128| 100.0 * n as f64 / size.protocols.max(1) as f64;
    let verdict = match size.complete() {
        true if size.near > 0.0 => format!(
            "That accounts for every one: of those that were left out none leaves less than one that is listed, as quick and as short of cleaning, by more than {} %.",
            100.0 * size.near
        ),
        true => "That accounts for every one: the front is complete.".to_owned(),
        false => "That does not account for every one: the front is not proven complete.".to_owned(),
    };
    format!(
        "{} protocols. In the complete pass, after shorter ones had found a good front, {} were followed to the end, {:.4} % ruled out because another begins no worse, {:.4} % because \
         the best that could follow is matched already. {verdict}",
        large(size.protocols),
        large(size.followed),
        share(size.dominated),
        share(size.bounded),
    )
}

/// A large number so that people can read it.
fn large(n: u128) -> String {
    if n < 10_000_000 {
        n.to_string()
    } else {
        format!("{:.2e}", n as f64)
    }
}
