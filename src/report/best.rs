//! What the search for best orders answers, in the words that window, picture and command line share: one sentence and
//! at most three ways, each a list of steps. Differences too small to be called any are not called any.

use crate::analysis::{Agreed, Orders, Place, Protocol, Ranged, Scope, Standing, Weighed, Weight};
use crate::drill::Action;
use crate::model::{Setup, Side, Telling};

use super::ensemble::{sets_of_hundred, sets_words};
use super::orders::{cleans_words, is_clean_word, order_list, risk_words, same_count, step_words};
use super::words::figure;

/// One way of taking everything off.
#[derive(Clone, Debug, PartialEq)]
pub struct BestCard {
    /// What it is, such as `safest`.
    pub title: String,
    /// What it comes to: expected count, time and cleans.
    pub figures: String,
    /// In how many sets of values nothing that was found leaves clearly less; empty if that was not asked.
    pub agreed: String,
    /// What comes off in which order and when hands are cleaned, one entry each.
    pub order: Vec<String>,
    /// Every action in plain words.
    pub steps: Vec<String>,
    /// Where the order is the policy's to the letter, what is done otherwise in it, as a sentence without a full stop; else empty.
    pub otherwise: String,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct BestAnswer {
    /// What was found, in one sentence without a full stop.
    pub sentence: String,
    /// True if only the steps of the cards show what differs.
    pub by_steps: bool,
    /// Which orders were searched.
    pub scope: String,
    /// Of whom and of what the numbers are.
    pub measure: String,
    /// At most three: the safest, the quickest that is as safe as the policy, the policy.
    pub cards: Vec<BestCard>,
}

/// Why means that look far apart are not told apart, if it is for this.
fn below_seen(setup: &Setup, most: f64) -> String {
    match setup.organism.seen_from {
        1 if most <= 1.0 => ": either comes to less than one on average".to_owned(),
        seen if most <= seen as f64 => format!(": either comes to less than is seen at all, {seen}"),
        _ => String::new(),
    }
}

/// An expected count for a sentence: none is called smaller than can be told.
fn mean_words(setup: &Setup, risk: f64) -> String {
    match setup.library.telling.as_ref() {
        Some(t) if risk > 0.0 && risk < t.points => format!("less than {}", t.points),
        _ => risk_words(risk),
    }
}

/// The numbers of those of the front that are listed: all, or those that can be told apart and those that are spoken
/// of beside a named sequence.
pub fn listed(setup: &Setup, orders: &Orders, all: bool) -> Vec<usize> {
    if all {
        return (0..orders.front.len()).collect();
    }
    let mut shown = orders.distinct(|a, b| same_count(setup, a, b));
    for standing in orders.named.iter().filter_map(|n| n.standing.as_ref().ok()) {
        match standing.place {
            Place::OnFront(n) => shown.push(n),
            Place::Beaten { safest, quickest } => shown.extend([safest, quickest]),
            Place::Apart | Place::LeavesOn(_) => {}
        }
    }
    shown.sort_unstable();
    shown.dedup();
    shown
}

/// Which of those listed are much the same, in sentences: differences between them say nothing.
pub fn alike_words(setup: &Setup, orders: &Orders, shown: &[usize]) -> Vec<String> {
    let risk = |n: &usize| orders.front[*n].risk;
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for n in shown {
        let alike =
            |group: &&mut Vec<usize>| group.iter().all(|other| same_count(setup, risk(other), risk(n)));
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(*n),
            None => groups.push(vec![*n]),
        }
    }
    let several = groups.into_iter().filter(|group| group.len() > 1);
    several
        .map(|group| {
            let numbers: Vec<String> = group.iter().map(|n| (n + 1).to_string()).collect();
            format!("numbers {} leave much the same", numbers.join(", "))
        })
        .collect()
}

/// Puts the answer into words. The first of the named sequences is the policy. Where sets of values were asked, it is what
/// most of them say.
pub fn best_answer(setup: &Setup, orders: &Orders, weighed: Option<&Weighed>) -> BestAnswer {
    let told = setup.library.telling.as_ref();
    let same_time = |a, b| told.is_some_and(|t| t.same_amount(a, b));
    let sure = weighed.zip(told);
    let card = |title: String, p: &Protocol, weight: Option<&Weight>| BestCard {
        title,
        figures: figures(setup, p, weight),
        agreed: weight.map_or(String::new(), agreed_words),
        order: order_list(setup, &p.actions),
        steps: step_words(setup, &p.actions),
        otherwise: String::new(),
    };
    let policy = orders.named.first();
    let standing = policy.and_then(|n| n.standing.as_ref().ok());
    let of_policy = weighed.and_then(|w| w.named.first()).and_then(Option::as_ref);
    // What leaves something on is no match for what takes everything off.
    let whole = standing.filter(|s| !matches!(s.place, Place::LeavesOn(_)));
    // Of those that are much the same as the safest, the quickest stands for all.
    let safest = match sure {
        Some((weighed, telling)) => weighed.chosen(orders, telling, |a, b| same_count(setup, a, b)),
        None => orders
            .safest(|a, b| same_count(setup, a, b))
            .map(|(_, quickest)| quickest),
    };
    let of_front = |n: usize| weighed.and_then(|w| w.of_front(n));
    let as_safe = |n: usize, s: &Standing| match (sure, of_front(n), of_policy) {
        (Some((_, telling)), Some(this), Some(policy)) => {
            let [_, _, more] = this.against(policy, |a, b| same_count(setup, a, b));
            more <= 1.0 - telling.nearly_all
        }
        (Some(_), ..) => false,
        (None, ..) => {
            let (a, b) = (orders.front[n].risk, s.protocol.risk);
            a <= b || same_count(setup, a, b)
        }
    };
    let quickest = whole.and_then(|s| {
        (0..orders.front.len())
            .filter(|&n| as_safe(n, s))
            .min_by(|&a, &b| orders.front[a].seconds.total_cmp(&orders.front[b].seconds))
            .filter(|&n| {
                let seconds = orders.front[n].seconds;
                seconds < s.protocol.seconds && !same_time(seconds, s.protocol.seconds)
            })
    });
    // Is it the order that gains, or the ways in which things come off? The policy's own order in the same ways tells.
    let alone = safest.and_then(|n| match weighed {
        Some(weighed) => weighed.in_its_ways.clone().map(|(p, weight)| (p, Some(weight))),
        None => orders.policy_in_ways_of(setup, n).map(|p| (p, None)),
    });
    let less = |a: (&Protocol, Option<&Weight>), b: (&Protocol, Option<&Weight>)| match (sure, a.1, b.1) {
        (Some((_, telling)), Some(this), Some(other)) => {
            let shares = this.against(other, |a, b| same_count(setup, a, b));
            Agreed::by(telling, shares) == Agreed::First
        }
        _ => a.0.risk < b.0.risk && !same_count(setup, a.0.risk, b.0.risk),
    };
    let found = safest.map(|n| (&orders.front[n], of_front(n)));
    let by_ways = match (&alone, found, whole) {
        (Some((p, weight)), Some(found), Some(standing)) => {
            let (alone, policy) = ((p, weight.as_ref()), (&standing.protocol, of_policy));
            // Whether the order adds anything to the ways, and the ways anything to the policy.
            less(alone, policy).then(|| (less(found, alone), alone))
        }
        _ => None,
    };
    let (shown, beside) = match by_ways {
        Some((false, alone)) => (Some(alone), None),
        Some((true, alone)) => (found, Some(alone)),
        None => (found, None),
    };
    let mut cards = Vec::new();
    if let (Some(safest), Some(shown)) = (safest, shown) {
        let gains = whole.is_none_or(|s| less(shown, (&s.protocol, of_policy)));
        if gains {
            cards.push(card(
                match (sure, shown.1) {
                    (Some((_, telling)), Some(weight)) if weight.best < telling.most => match whole {
                        Some(_) => "Safer than your policy".to_owned(),
                        None => "Among the safest".to_owned(),
                    },
                    (Some(_), _) => "Safest, by and large".to_owned(),
                    (None, _) => "Safest".to_owned(),
                },
                shown.0,
                shown.1,
            ));
        }
        let quickest =
            quickest.filter(|&q| !gains || orders.front[q].actions != orders.front[safest].actions);
        if let Some(quickest) = quickest {
            cards.push(card(
                format!(
                    "Quickest that leaves no more on {} than your policy",
                    orders.target.label()
                ),
                &orders.front[quickest],
                of_front(quickest),
            ));
        }
    }
    if let (Some(named), Some(standing)) = (policy, standing) {
        cards.push(card(
            format!("Your policy: {}", named.label),
            &standing.protocol,
            of_policy,
        ));
    }
    // Two cards that list the same order and have other numbers would contradict each other.
    if let (true, Some((of_policy, others))) = (standing.is_some(), cards.split_last_mut()) {
        for card in others.iter_mut().filter(|card| card.order == of_policy.order) {
            let other = |step: &&String| !of_policy.steps.contains(step);
            let steps: Vec<&str> = card.steps.iter().filter(other).map(String::as_str).collect();
            if !steps.is_empty() {
                card.otherwise = format!(
                    "Your policy's order, with this done otherwise in it: {}",
                    steps.join("; ")
                );
            }
        }
    }
    let quickest = quickest.map(|n| &orders.front[n]);
    let mut sentence = match (sure, shown, of_policy, whole) {
        (Some((_, telling)), Some((safest, Some(best))), Some(policy), Some(standing)) => weighed_sentence(
            setup,
            orders,
            telling,
            (safest, best),
            (&standing.protocol, policy),
            quickest,
        ),
        _ => sentence(setup, orders, shown.map(|(p, _)| p), quickest, whole),
    };
    if let (Some((p, weight)), Some(standing)) = (beside, whole)
        && let Some(ways) = other_ways(setup, &p.actions, &standing.protocol.actions)
    {
        let leaves = match weight {
            Some(weight) => range_words(setup, weight.risk),
            None => mean_words(setup, p.risk),
        };
        sentence.push_str(&format!(
            "; part of it is not the order: that of your policy, done {ways}, leaves {leaves}"
        ));
    }
    BestAnswer {
        by_steps: BY_STEPS.iter().any(|ways| sentence.contains(ways)),
        sentence,
        scope: scope_words(&orders.scope),
        measure: format!(
            "Numbers are {} on {}, on average over {} with flawless hands: steady, no slip, no fault in the kit{}{}",
            setup.organism.unit,
            orders.target.label(),
            match orders.start.starts {
                1 => "one start".to_owned(),
                n => format!("{n} drawn starts"),
            },
            match setup.scenario.put_on.is_empty() {
                true => "",
                false => ", fastened as the scenario says",
            },
            weighed.map_or(String::new(), |w| format!(
                ". {}",
                sentence_case(&sets_words(setup, w.sets))
            )),
        ),
        cards,
    }
}

fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn agreed_words(weight: &Weight) -> String {
    match weight.best {
        never if never <= 0.0 => {
            "In every version of the model another order found leaves clearly less".to_owned()
        }
        always if always >= 1.0 => {
            "Least, or much the same as the least of those searched, in every version of the model".to_owned()
        }
        share => format!(
            "Least, or much the same as the least of those searched, in {} of 100 versions of the model; in the rest another is",
            sets_of_hundred(share)
        ),
    }
}

/// An expected count over sets of values, such as `3.0 to 40`.
fn range_words(setup: &Setup, Ranged { range, .. }: Ranged) -> String {
    let [low, high] = [range.low, range.high].map(|end| rough_words(setup, end));
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// An expected count as exactly as is worth saying of what nobody has measured.
fn rough_words(setup: &Setup, risk: f64) -> String {
    match setup.library.telling.as_ref() {
        Some(t) if risk > 0.0 && risk < t.points => format!("less than {}", t.points),
        _ => figure(risk),
    }
}

/// What most sets of values say of the best order and the policy.
fn weighed_sentence(
    setup: &Setup,
    orders: &Orders,
    telling: &Telling,
    (safest, best): (&Protocol, &Weight),
    (protocol, policy): (&Protocol, &Weight),
    quickest: Option<&Protocol>,
) -> String {
    let place = orders.target.label();
    let label = orders.named.first().map_or("your policy", |n| n.label.as_str());
    let unit = &setup.organism.unit;
    let (least, with) = (range_words(setup, best.risk), range_words(setup, policy.risk));
    // A policy may do something that was not searched, and a quicker order may stand for the safest.
    let searched = match policy.risk.median < best.risk.median {
        true => "the best of those searched",
        false => "the safest",
    };
    if best.each.iter().chain(&policy.each).all(|&risk| risk <= 0.0) {
        return format!(
            "Nothing reaches {place} here with {label}, nor with the safest order, in this model"
        );
    }
    let time = quickest.map_or(String::new(), |q| {
        format!(
            "; one that leaves no more there takes {} s less",
            protocol.seconds - q.seconds
        )
    });
    let shares = best.against(policy, |a, b| same_count(setup, a, b));
    let [less, same, more] = shares.map(sets_of_hundred);
    let so = |share: f64| match share {
        all if all >= 1.0 => "so in every version of the model".to_owned(),
        most => format!("so in {} of 100 versions of the model", sets_of_hundred(most)),
    };
    match Agreed::by(telling, shares) {
        Agreed::First => {
            let against = format!(
                "{least} {unit} on average, against {with} with {label}; {}",
                so(shares[0])
            );
            match other_ways(setup, &safest.actions, &protocol.actions) {
                None => format!("Another order leaves less on {place}: {against}"),
                Some(ways) => format!("The same order leaves less on {place}, done {ways}: {against}"),
            }
        }
        Agreed::Second => format!(
            "{label} does something that was not searched, and leaves less on {place} than any order that was: {with} \
             {unit} on average, against {least}; {}",
            so(shares[2])
        ),
        Agreed::Same => format!(
            "No order is clearly safer than {label}: {with} {unit} on {place} on average, {searched} {least}{}; {}{time}",
            below_seen(setup, best.risk.range.high.max(policy.risk.range.high)),
            so(shares[1])
        ),
        Agreed::Neither => format!(
            "This model cannot tell whether another order is safer than {label}: of 100 versions of the model the best leaves less \
             on {place} in {less}, much the same in {same} and more in {more}; {least} {unit} on average, against {with}{time}"
        ),
    }
}

fn sentence(
    setup: &Setup,
    orders: &Orders,
    safest: Option<&Protocol>,
    quickest: Option<&Protocol>,
    policy: Option<&Standing>,
) -> String {
    let Some(safest) = safest else {
        return "No order takes everything off".to_owned();
    };
    let place = orders.target.label();
    let label = orders.named.first().map_or("your policy", |n| n.label.as_str());
    let (least, unit) = (mean_words(setup, safest.risk), &setup.organism.unit);
    let Some(standing) = policy else {
        let why = match orders.named.first().map(|n| &n.standing) {
            Some(Ok(Standing {
                place: Place::LeavesOn(items),
                ..
            })) => format!("{label} leaves on the {}", items.join(", the ")),
            _ => format!("this kit cannot follow {label}"),
        };
        return format!("The safest order leaves {least} {unit} on {place} on average; {why}");
    };
    let p = &standing.protocol;
    if p.risk <= 0.0 && safest.risk <= 0.0 {
        return format!(
            "Nothing reaches {place} here with {label}, nor with the safest order, in this model"
        );
    }
    if same_count(setup, p.risk, safest.risk) {
        let time = quickest.map_or(String::new(), |q| {
            format!(
                "; one that leaves no more there takes {} s less",
                p.seconds - q.seconds
            )
        });
        // What stands for the safest may leave a little more than it.
        let all = orders.front.iter().map(|p| p.risk);
        let least = all.fold(f64::INFINITY, f64::min);
        // A policy may do something that was not searched.
        let searched = match p.risk < least {
            true => "the least of those searched",
            false => "the safest",
        };
        return format!(
            "No order is clearly safer than {label}: {} {unit} on {place} on average, {searched} {}{}{time}",
            mean_words(setup, p.risk),
            mean_words(setup, least),
            below_seen(setup, p.risk.max(least))
        );
    }
    if p.risk < safest.risk {
        return format!(
            "{label} does something that was not searched, and leaves less on {place} than any order that was: {} \
             {unit} on average, against {least}",
            mean_words(setup, p.risk)
        );
    }
    let against = format!(
        "{least} {unit} on average, against {} with {label}",
        mean_words(setup, p.risk)
    );
    match other_ways(setup, &safest.actions, &p.actions) {
        None => format!("Another order leaves less on {place}: {against}"),
        Some(ways) => format!("The same order leaves less on {place}, done {ways}: {against}"),
    }
}

/// How an order differs where it does so in more than a sentence can say.
const BY_STEPS: [&str; 2] = [
    "with its steps arranged otherwise",
    "in other ways that it accepts",
];

/// What differs between two ways in which the same comes off in the same order, with hands cleaned at the same points;
/// none if the orders differ.
fn other_ways(setup: &Setup, these: &[Action], those: &[Action]) -> Option<String> {
    // Walking is left out: where one stands shows in what may come off.
    let marks = |actions: &[Action]| -> Vec<(bool, String)> {
        let stays = |a: &&Action| !matches!(a, Action::Walk(_));
        let kept: Vec<Action> = actions.iter().filter(stays).cloned().collect();
        let words = order_list(setup, &kept);
        words.into_iter().map(|w| (is_clean_word(setup, &w), w)).collect()
    };
    let (this, that) = (marks(these), marks(those));
    let alike = |a: &(bool, String), b: &(bool, String)| a == b || (a.0 && b.0);
    if this.len() != that.len() || !this.iter().zip(&that).all(|(a, b)| alike(a, b)) {
        return None;
    }
    let walks = |actions: &[Action]| actions.iter().filter(|a| matches!(a, Action::Walk(_))).count();
    let mut ways: Vec<String> = Vec::new();
    let mut add = |way: String| {
        if !ways.contains(&way) {
            ways.push(way);
        }
    };
    for ((_, this), (_, that)) in this.iter().zip(&that).filter(|(a, b)| a != b) {
        add(format!("a {this} in place of a {that}"));
    }
    let mut told: Vec<&str> = Vec::new();
    for item in &setup.items {
        let definition = &setup.library.items[item.item].id;
        let pair = pair_of(setup, definition, these).zip(pair_of(setup, definition, those));
        if let Some(((first, one), (other, two))) = pair
            && first != other
            && one == two
        {
            // The same done to either of a pair, the other one first.
            if !told.contains(&definition.as_str()) {
                told.push(definition);
                add(format!(
                    "the {} {} first",
                    first.word(),
                    setup.library.items[item.item].label
                ));
            }
            continue;
        }
        let of = |actions: &[Action]| -> Vec<String> {
            let done = actions.iter().filter_map(|action| match action {
                Action::Do {
                    technique,
                    item: Some(id),
                    ..
                } if *id == item.id => setup.library.technique(technique),
                _ => None,
            });
            done.map(|t| t.label.clone()).collect()
        };
        let (this, that) = (of(these), of(those));
        let new: Vec<&String> = this.iter().filter(|label| !that.contains(label)).collect();
        for label in new {
            add(format!("the {} another way ({label})", item.label));
        }
    }
    Some(match &ways[..] {
        [] if walks(these) < walks(those) => "with fewer stops on the way".to_owned(),
        [] => BY_STEPS[0].to_owned(),
        [one] => format!("with {one}"),
        [one, two] => format!("with {one} and {two}"),
        _ => BY_STEPS[1].to_owned(),
    })
}

/// Of a pair, which comes off first, and in which ways the first and then the other does; none of what is no pair.
fn pair_of<'a>(setup: &Setup, definition: &str, actions: &'a [Action]) -> Option<(Side, Vec<&'a str>)> {
    let mut first = None;
    let mut ways = Vec::new();
    for action in actions {
        let Action::Do {
            technique,
            item: Some(id),
            ..
        } = action
        else {
            continue;
        };
        let item = &setup.items[setup.item(id)?];
        if setup.library.items[item.item].id == definition {
            first = first.or(item.side);
            ways.push(technique.as_str());
        }
    }
    Some((first?, ways))
}

/// Which orders were searched.
pub fn scope_words(scope: &Scope) -> String {
    let Some(kept) = &scope.policy else {
        return "Searched: every order, technique and cleaning that the drill allows, whether or not your policy does, \
                critical errors included"
            .to_owned();
    };
    let times = |n: u32| match n {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    };
    let gloves = match kept.most_gloved {
        0 => "gloves never".to_owned(),
        n => format!("gloves at most {}", times(n)),
    };
    let hands = match kept.least_cleans {
        0 => "hands cleaned as you like".to_owned(),
        n => format!("hands cleaned at least {}, as often as it does", times(n)),
    };
    format!(
        "Searched: every order of what {} asks for, by the techniques it accepts, {hands}, {gloves}, without critical errors",
        kept.label
    )
}

fn figures(setup: &Setup, p: &Protocol, weight: Option<&Weight>) -> String {
    let (count, middle) = match weight {
        Some(weight) => (
            range_words(setup, weight.risk),
            format!(", median {}", rough_words(setup, weight.risk.median)),
        ),
        None => (mean_words(setup, p.risk), String::new()),
    };
    format!(
        "{count} {} on average{middle}; {} s, {}",
        setup.organism.unit,
        p.seconds,
        cleans_words(p.cleans)
    )
}
