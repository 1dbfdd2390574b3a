//! The best orders as they are shown: in words, as a page, as a picture and on the command line.

use smirch::analysis::{Progress, Start, Target, by_the_book, weigh};
use smirch::report::drawing::{Area, SMALLEST_TEXT, Shape};
use smirch::report::{BestCard, best_answer, best_picture, order_words, same_count};
use smirch::view::orders::orders_view;

use crate::cli::{run, text};
use crate::fixture::{Scratch, setup};
use crate::orders::{find, kept, wide};

#[test]
fn the_page_says_what_the_front_is_and_what_it_is_not() {
    let setup = setup("enteric-bay");
    let start = Start::mean(&setup, 20, 1);
    let found = find(&setup, Target::Hands, &wide(&setup), &start);
    let (short, long) = (
        orders_view(&setup, &found, None, false),
        orders_view(&setup, &found, None, true),
    );
    assert_eq!(
        long.front.len(),
        found.front.len(),
        "a protocol of the front is not in the full list"
    );
    assert!(
        short.front.len() < long.front.len() && !short.hidden.is_empty() && long.hidden.is_empty(),
        "the short list hides nothing or does not say so"
    );
    assert_eq!(long.front[0].order, "apron, gloves, out, surgical mask");
    assert_eq!(long.front[0].steps.len(), found.front[0].actions.len());
    assert_eq!(
        long.named.len() + long.refused.len(),
        found.named.len(),
        "a named sequence is missing"
    );
    for named in &long.named {
        assert!(
            named.on_front
                != ["Beaten", "leaves much the same"]
                    .iter()
                    .any(|told| named.relation.contains(told)),
            "it is both beaten and on the front, or neither: {named:?}"
        );
        assert!(
            !named.cleaning.is_empty(),
            "nothing is said of cleaning hands: {named:?}"
        );
    }
    assert!(long.space.contains("complete"), "{}", long.space);
    assert!(long.caveat.contains("trial evidence") || long.caveat.contains("Trial evidence"));
}

/// What is said of a pair, of items that come off in one, and of where one goes.
#[test]
fn an_order_in_words_names_pairs_and_what_comes_off_together() {
    let words = |scenario: &str, sequence: &str| {
        let setup = setup(scenario);
        let sequence = setup.library.sequence(sequence).expect("it is built in").clone();
        let actions = by_the_book(&setup, &sequence).expect("the kit can follow it");
        order_words(&setup, &actions)
    };
    assert_eq!(
        words("classic-tracer", "us-gown-with-gloves"),
        "gown with gloves, goggles, to the doorway, out, respirator, rub"
    );
    assert_eq!(
        words("double-gloves", "practice-order"),
        "gloves, rub over inner gloves, apron, gown, overshoes, inner gloves, rub, visor, rub, out, respirator, wash"
    );
}

/// Text no smaller than can be read from the back, within the picture, and the same words as on the page.
#[test]
fn the_picture_says_what_the_page_says_and_nothing_else_with_numbers() {
    for id in ["classic-tracer", "enteric-bay"] {
        let setup = setup(id);
        let start = Start::mean(&setup, 1, 1);
        let found = find(&setup, Target::HandsBeforeCleaning, &kept(&setup), &start);
        let answer = best_answer(&setup, &found, None);
        assert_eq!(answer, orders_view(&setup, &found, None, false).answer, "{id}");
        let drawing = best_picture("Best orders", &answer);
        let whole = Area::new(0.0, 0.0, drawing.width, drawing.height);
        let mut said = String::new();
        for shape in &drawing.shapes {
            if let Shape::Text { text, size, .. } = shape {
                assert!(*size >= SMALLEST_TEXT, "{id}: `{text}` is too small");
                assert!(whole.holds(&shape.extent()), "{id}: `{text}` leaves the picture");
                said.push_str(text);
                said.push(' ');
            }
        }
        for words in [&answer.sentence, &answer.scope, &answer.measure] {
            assert!(said.contains(words.as_str()), "{id}: `{words}` is not in: {said}");
        }
        for card in &answer.cards {
            for (n, step) in card.order.iter().enumerate() {
                let line = format!("{}. {step}", n + 1);
                assert!(
                    said.contains(&line),
                    "{id}: `{line}` of {} is not in: {said}",
                    card.title
                );
            }
        }
    }
}

#[test]
fn the_answer_is_at_most_three_cards_and_calls_small_differences_the_same() {
    for id in ["classic-tracer", "respiratory-room", "enteric-bay"] {
        let setup = setup(id);
        let start = Start::mean(&setup, 20, 1);
        let mut found = find(&setup, Target::HandsBeforeCleaning, &kept(&setup), &start);
        let answer = best_answer(&setup, &found, None);
        assert!(
            (1..=3).contains(&answer.cards.len()),
            "{id}: {} cards: {answer:?}",
            answer.cards.len()
        );
        assert!(
            !answer.sentence.contains("number "),
            "{id}: a row that is not shown: {}",
            answer.sentence
        );
        // With a load at which the policy comes to nearly what the safest does, it is no worse.
        let (safest, _) = found
            .safest(|_, _| false)
            .unwrap_or_else(|| panic!("{id}: no order"));
        let least = found.front[safest].risk;
        if let Ok(standing) = &mut found.named[0].standing {
            standing.protocol.risk = 1.05 * least;
        }
        let near = best_answer(&setup, &found, None).sentence;
        assert!(
            near.starts_with("No order is clearly safer"),
            "{id}: five in a hundred more is called: {near}"
        );
        // Nor is a way that takes a few seconds less worth a card.
        let quick = found
            .front
            .iter()
            .map(|p| p.seconds)
            .fold(f64::INFINITY, f64::min);
        if let Ok(standing) = &mut found.named[0].standing {
            standing.protocol.seconds = 1.05 * quick;
        }
        let titles: Vec<String> = best_answer(&setup, &found, None)
            .cards
            .into_iter()
            .map(|c| c.title)
            .collect();
        assert!(
            !titles.iter().any(|t| t.starts_with("Quickest")),
            "{id}: five in a hundred quicker gets a card: {titles:?}"
        );
        if let Ok(standing) = &mut found.named[0].standing {
            standing.protocol.risk = 2.0 * least + 1.0;
        }
        let far = best_answer(&setup, &found, None).sentence;
        assert!(
            far.starts_with("Another order leaves less") || far.starts_with("The same order leaves less"),
            "{id}: twice as much is called: {far}"
        );
        // What is called the same order takes the same off in the same order.
        if far.starts_with("The same order") {
            let cards = best_answer(&setup, &found, None).cards;
            let off = |card: &BestCard| -> Vec<String> {
                let ways = ["out", "to the doorway", "rub", "wash"];
                let kept = card.order.iter().filter(|w| !ways.contains(&w.as_str()));
                kept.cloned().collect()
            };
            assert_eq!(
                off(&cards[0]),
                off(cards.last().expect("there are cards")),
                "{id}: {far}"
            );
        }
    }
}

/// Which card leads, and what the sentence says of it, is what most sets of values say, and not the stated values alone.
#[test]
fn the_safest_card_is_what_sets_of_values_agree_on() {
    for id in ["classic-tracer", "respiratory-room", "enteric-bay"] {
        let setup = setup(id);
        let start = Start::mean(&setup, 20, 1);
        let found = find(&setup, Target::HandsBeforeCleaning, &kept(&setup), &start);
        let same = |a, b| same_count(&setup, a, b);
        let weighed = weigh(&setup, &found, same, 1, &Progress::default())
            .expect("they can be played")
            .expect("there is an ensemble");
        let policy = weighed.named[0].clone().expect("the kit can follow it");
        assert_eq!(policy.each.len(), weighed.sets);
        let stated = found.named[0]
            .standing
            .as_ref()
            .expect("the kit can follow it")
            .protocol
            .risk;
        let range = policy.risk.range;
        assert!(
            range.low < 1.2 * stated && range.high > 0.8 * stated && range.low < range.high,
            "{id}: {range:?} lies apart from the stated values' {stated}"
        );
        let best = weighed.safest(&found).expect("there is a front");
        let weight = weighed.of_front(best).expect("it was judged");
        assert!(
            weighed.front.iter().all(|(_, other)| other.best <= weight.best),
            "{id}: another is best in more sets"
        );
        let answer = best_answer(&setup, &found, Some(&weighed));
        assert!(
            answer.measure.contains("versions of the model"),
            "{id}: {}",
            answer.measure
        );
        assert!(
            answer.cards.iter().all(|c| !c.agreed.is_empty()),
            "{id}: {answer:?}"
        );
        // The same sets with the policy's counts made the best's, or ten times those: another sentence, whatever is stated.
        let mut better = weighed.clone();
        better.in_its_ways = None;
        let of_policy = better.named[0].as_mut().expect("the kit can follow it");
        of_policy.each = weight.each.clone();
        let said = best_answer(&setup, &found, Some(&better)).sentence;
        // The card may be a quicker order, which is as safe in nearly all of them.
        assert!(
            said.starts_with("No order is clearly safer")
                && ["every version of the model", "over 99 of 100"]
                    .into_iter()
                    .map(str::to_owned)
                    .chain((95..100).map(|most| format!("in {most} of 100")))
                    .any(|nearly_all| said.contains(&nearly_all)),
            "{id}: the same counts are called: {said}"
        );
        let of_policy = better.named[0].as_mut().expect("the kit can follow it");
        of_policy.each = weight.each.iter().map(|risk| 10.0 * risk + 10.0).collect();
        let said = best_answer(&setup, &found, Some(&better)).sentence;
        assert!(
            said.contains("leaves less") && (said.contains("so in every") || said.contains("so in over 99")),
            "{id}: ten times as much in every set is called: {said}"
        );
        // Half of the sets one way and half the other decide nothing.
        let of_policy = better.named[0].as_mut().expect("the kit can follow it");
        let half = |(n, risk): (usize, &f64)| if n % 2 == 0 { 2.0 * risk + 1.0 } else { 0.2 * risk };
        of_policy.each = weight.each.iter().enumerate().map(half).collect();
        let said = best_answer(&setup, &found, Some(&better)).sentence;
        assert!(
            said.starts_with("This model cannot tell"),
            "{id}: halves are called: {said}"
        );
    }
}

#[test]
fn orders_print_a_front_and_write_what_was_asked_for() {
    let scratch = Scratch::new("orders");
    let (json, svg, png) = (
        scratch.path("out.json"),
        scratch.path("out.svg"),
        scratch.path("out.png"),
    );
    let base = [
        "orders",
        "enteric-bay",
        "--target",
        "hands",
        "--starts",
        "20",
        "--any-way",
        "--details",
    ];
    let files = ["--json", text(&json), "--svg", text(&svg)];
    let said = run(&[&base[..], &files[..]].concat()).ends(0).quietly().prints(&[
        "apron, gloves, out, surgical mask",
        "UK kit for droplets and contact: ",
        "accounts for every one: of those that were left out none leaves less",
        "rial evidence on the order",
        "not a clinical device",
    ]);
    let read = std::fs::read_to_string(&json).unwrap_or_else(|e| panic!("{}: {e}", json.display()));
    let value: serde_json::Value = serde_json::from_str(&read).unwrap_or_else(|e| panic!("JSON: {e}"));
    assert_eq!(
        (&value["format"], &value["space"]["complete"]),
        (&2.into(), &true.into())
    );
    let front = value["front"].as_array().map_or(0, Vec::len);
    assert!(front > 10, "{front} protocols: {}", said.whole());
    let sums: u128 = ["followed", "ruled_out_by_dominance", "ruled_out_by_bound"]
        .iter()
        .map(|key| {
            value["space"][key]
                .as_str()
                .and_then(|n| n.parse().ok())
                .unwrap_or(0_u128)
        })
        .sum();
    assert_eq!(
        value["space"]["protocols"],
        sums.to_string(),
        "the account does not add up"
    );
    let drawn = std::fs::read_to_string(&svg).unwrap_or_else(|e| panic!("{}: {e}", svg.display()));
    assert!(drawn.starts_with("<svg"), "not a picture: {drawn:.60}");
    run(&[&base[..], &["--svg", text(&png), "--all", "--steps"]].concat())
        .ends(0)
        .quietly();
    let drawn = std::fs::read(&png).unwrap_or_else(|e| panic!("{}: {e}", png.display()));
    assert_eq!(&drawn[1..4], b"PNG");
}

#[test]
fn orders_keep_to_the_policy_and_count_nothing_out_unless_asked() {
    let said = run(&["orders", "enteric-bay", "--starts", "20"])
        .ends(0)
        .quietly()
        .prints(&[
            "Searched: every order of what ",
            "hands cleaned at least ",
            "Your policy: ",
            "bare hands before each cleaning",
            "--details",
        ]);
    for unasked in ["protocols", "number ", "ruled out"] {
        assert!(
            !said.whole().contains(unasked),
            "`{unasked}` without being asked: {}",
            said.whole()
        );
    }
}

#[test]
fn orders_asked_wrongly_say_what_there_is() {
    run(&["orders", "enteric-bat"]).ends(2).complains(&[
        "unknown scenario",
        "enteric-bat",
        "hint: ",
        "enteric-bay",
    ]);
    run(&["orders", "enteric-bay", "--target", "mucose"])
        .ends(2)
        .complains(&["unknown target", "hint: ", "mucosa"]);
    run(&["orders", "enteric-bay", "--product", "alcohol-rup"])
        .ends(2)
        .complains(&["unknown product", "hint: ", "alcohol-rub"]);
    run(&["orders", "double-gloves", "--product", "chlorine-solution"])
        .ends(2)
        .complains(&[
            "keeps to the policy",
            "nothing is for skin",
            "hint: ",
            "alcohol-rub",
        ]);
    run(&["orders", "enteric-bay", "--sequence", "uk-apg"])
        .ends(2)
        .complains(&["unknown sequence", "hint: ", "uk-agp"]);
    run(&["orders", "enteric-bay", "--target", "hands-peak"])
        .ends(2)
        .complains(&["hands-peak", "hint: ", "hands-before-cleaning"]);
    run(&[
        "orders",
        "enteric-bay",
        "--any-way",
        "--target",
        "any-skin",
        "--limit",
        "20",
    ])
    .ends(2)
    .complains(&["too many to hold: more than 20", "hint: "]);
    // At once, for a kit whose space takes seconds: leaving cleanings out must not come out as safer.
    run(&["orders", "double-gloves", "--any-way", "--starts", "1"])
        .ends(2)
        .complains(&["leaving cleanings out", "hint: keep to the policy", "`any-skin`"]);
    run(&["orders", "--help"]).ends(0).quietly().prints(&[
        "--target",
        "--product",
        "exact expectation",
        "Nothing of the space is left out unseen",
    ]);
}

/// Which glove comes first matters where the left one always does, and is no merit of an order: the policy's own order with the
/// right glove first says so, whether versions of the model are asked or not.
#[test]
fn a_gain_of_the_ways_is_not_put_down_to_the_order() {
    let setup = setup("respiratory-room");
    let start = Start::mean(&setup, 50, 1);
    let found = find(&setup, Target::HandsBeforeCleaning, &kept(&setup), &start);
    let same = |a, b| same_count(&setup, a, b);
    let weighed = weigh(&setup, &found, same, 1, &Progress::default())
        .expect("they can be played")
        .expect("there is an ensemble");
    let policy = &found.named[0]
        .standing
        .as_ref()
        .expect("the kit can follow it")
        .protocol;
    for answer in [
        best_answer(&setup, &found, None),
        best_answer(&setup, &found, Some(&weighed)),
    ] {
        assert!(
            answer.sentence.starts_with("The same order leaves less")
                && answer.sentence.contains("right glove first"),
            "{}",
            answer.sentence
        );
        assert_eq!(
            answer.cards[0].order.join(", "),
            order_words(&setup, &policy.actions)
        );
    }
    let (alone, weight) = weighed.in_its_ways.as_ref().expect("it can be done");
    assert_eq!(
        order_words(&setup, &alone.actions),
        order_words(&setup, &policy.actions)
    );
    assert!(alone.risk < 0.7 * policy.risk && weight.each.len() == weighed.sets);
}

/// What is best is so among what was searched: the headline and the policy's card do not contradict each other for the sake of a
/// sequence that was not.
#[test]
fn a_policy_that_nothing_searched_betters_is_called_so_on_its_card_too() {
    let mut alike = 0;
    for id in [
        "classic-tracer",
        "emergency-call",
        "enteric-bay",
        "respiratory-room",
    ] {
        let setup = setup(id);
        let start = Start::mean(&setup, 20, 1);
        for target in [Target::HandsBeforeCleaning, Target::AnySkin] {
            let found = find(&setup, target, &kept(&setup), &start);
            let same = |a, b| same_count(&setup, a, b);
            let weighed = weigh(&setup, &found, same, 1, &Progress::default())
                .expect("they can be played")
                .expect("there is an ensemble");
            let telling = setup.library.telling.as_ref().expect("it is built in");
            let policy = weighed.named[0].as_ref().expect("the kit can follow it");
            let answer = best_answer(&setup, &found, Some(&weighed));
            if answer.sentence.starts_with("No order is clearly safer") {
                alike += 1;
                assert!(
                    policy.best >= telling.most,
                    "{id}, {}: {}",
                    target.word(),
                    policy.best
                );
            }
        }
    }
    assert!(alike > 0, "no policy is as good as any");
}
