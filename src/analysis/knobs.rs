//! Uncertain constants, each with its range and the means to give it another value.

use crate::model::{
    CareStep, Class, Effect, Efficiency, Feel, Grazes, How, Library, Load, Scenario, Slip, Start, Step,
    Technique, Tied, Trainee, Transfer,
};

use super::named::tell_apart;

/// Sets a constant in a library or in the scenario.
pub(super) type Turn = Box<dyn Fn(&mut Library, &mut Scenario, f64) + Send + Sync>;

/// One constant that can be changed.
pub(super) struct Knob {
    /// What it is.
    pub constant: String,
    /// The same for people: how much or how often what happens, without a full stop.
    pub words: String,
    /// Basis id that gives its range.
    pub basis: String,
    /// Its value.
    pub value: f64,
    /// The ends of its range.
    pub range: (f64, f64),
    /// True if it is a factor on many constants of a kind.
    pub many: bool,
    /// Id of the trainee to whom alone it makes a difference, if it does to one alone.
    pub who: Option<String>,
    /// Gives it another value.
    pub turn: Turn,
}

/// Gives an efficiency another mean. It stays a Beta law: the spread shrinks where the mean leaves no room for it.
pub(super) fn set_mean(law: &mut Efficiency, mean: f64) {
    law.sd = law.sd.min(0.9 * (mean * (1.0 - mean)).sqrt());
    law.mean = mean;
}

/// The range of what a row moves when wet or when dry. One range is stated for both: a wet touch moves no less than a dry one
/// is stated to, and a dry one no more than a wet one is. A stated value that is the largest or the least of what was
/// measured is known no better for that: its range reaches on, to so many times its odds.
fn range_of_state(row: &Transfer, wet: bool, (low, high): (f64, f64), reaches: f64) -> (f64, f64) {
    let beyond = |p: f64, by: f64| by * p / (1.0 - p + by * p);
    let (low, high) = (low.clamp(1e-6, 0.98), high.clamp(1e-6, 0.98));
    match wet {
        true => (
            low.max(row.dry.mean).min(row.wet.mean),
            high.max(beyond(row.wet.mean, reaches)),
        ),
        false => (
            low.min(beyond(row.dry.mean, 1.0 / reaches)),
            high.min(row.wet.mean).max(row.dry.mean),
        ),
    }
}

/// Every constant with a range that can matter in a scenario to organisms of a class.
pub(super) fn knobs(library: &Library, scenario: &Scenario, class: Class) -> Vec<Knob> {
    let range = |basis: &str| library.basis(basis).and_then(|b| b.range);
    let materials = |ids: &[String]| {
        let labels = ids
            .iter()
            .filter_map(|id| library.materials.iter().find(|m| m.id == *id));
        let labels: Vec<&str> = labels.map(|m| m.label.as_str()).collect();
        match &labels[..] {
            [] => "whatever has no value of its own".to_owned(),
            labels => labels.join(" or "),
        }
    };
    let list = |ids: &[String]| {
        if ids.is_empty() {
            "any".to_owned()
        } else {
            ids.join("|")
        }
    };
    // Names are told apart over all rows, so that one row is called alike whatever the organism.
    let state = |wet: bool| if wet { "wet" } else { "dry" };
    let mut called: Vec<(String, &str)> = Vec::new();
    for row in &library.transfers {
        for wet in [true, false] {
            let name = format!("transfer {} > {}, {}", list(&row.from), list(&row.to), state(wet));
            called.push((name, &row.basis));
        }
    }
    tell_apart(&mut called, |c| &mut c.0, |c| c.1.to_owned());
    let reaches = library.calibration.as_ref().map_or(1.0, |how| how.reaches);
    let mut knobs = Vec::new();
    for (n, row) in library.transfers.iter().enumerate() {
        let Some(both) = range(&row.basis) else {
            continue;
        };
        if !row.classes.is_empty() && !row.classes.contains(&class) {
            continue;
        }
        for (wet, law) in [(true, row.wet), (false, row.dry)] {
            knobs.push(Knob {
                constant: called[2 * n + usize::from(!wet)].0.clone(),
                words: format!(
                    "how much a {} touch moves from {} to {}",
                    state(wet),
                    materials(&row.from),
                    materials(&row.to)
                ),
                basis: row.basis.clone(),
                value: law.mean,
                range: range_of_state(row, wet, both, reaches),
                many: false,
                who: None,
                turn: Box::new(move |library, _, mean| {
                    let row = &mut library.transfers[n];
                    set_mean(if wet { &mut row.wet } else { &mut row.dry }, mean);
                }),
            });
        }
    }
    for (n, soak) in library.soaks.iter().enumerate() {
        if !soak.classes.is_empty() && !soak.classes.contains(&class) {
            continue;
        }
        let Some((low, high)) = range(&soak.basis) else {
            continue;
        };
        knobs.push(Knob {
            constant: format!("goes through wet {} when pressed", soak.material),
            words: format!(
                "how much goes through {} where it is wet and pressed",
                materials(std::slice::from_ref(&soak.material))
            ),
            basis: soak.basis.clone(),
            value: soak.share.mean,
            range: (low.min(soak.share.mean), high.max(soak.share.mean)),
            many: false,
            who: None,
            turn: Box::new(move |library, _, mean| {
                set_mean(&mut library.soaks[n].share, mean);
            }),
        });
    }
    let mut called: Vec<(String, &str)> = Vec::new();
    for product in &library.products {
        let name = format!("{}, log10 reduction", product.id);
        called.extend(
            product
                .reductions
                .iter()
                .map(|r| (name.clone(), r.basis.as_str())),
        );
    }
    tell_apart(&mut called, |c| &mut c.0, |c| c.1.to_owned());
    let mut called = called.into_iter();
    for (p, product) in library.products.iter().enumerate() {
        let mut called = called
            .by_ref()
            .take(product.reductions.len())
            .collect::<Vec<_>>()
            .into_iter();
        for (r, reduction) in product.reductions.iter().enumerate() {
            let Some((constant, _)) = called.next().filter(|_| reduction.class == class) else {
                continue;
            };
            if let Some(range) = range(&reduction.basis) {
                knobs.push(Knob {
                    constant,
                    words: format!("how much is gone after: {}", product.label),
                    basis: reduction.basis.clone(),
                    value: reduction.mean,
                    range,
                    many: false,
                    who: None,
                    turn: Box::new(move |library, _, mean| library.products[p].reductions[r].mean = mean),
                });
            }
        }
    }
    for used in &scenario.faults {
        let Some(f) = library.faults.iter().position(|f| f.id == used.fault) else {
            continue;
        };
        let constant = format!("{}, chance", used.fault);
        if knobs.iter().any(|k: &Knob| k.constant == constant) {
            continue;
        }
        if let Some(range) = range(&library.faults[f].basis) {
            let fault = used.fault.clone();
            knobs.push(Knob {
                constant,
                words: format!("how often there is a {}", library.faults[f].label),
                basis: library.faults[f].basis.clone(),
                value: used.chance,
                range: (range.0.clamp(0.0, 1.0), range.1.clamp(0.0, 1.0)),
                many: false,
                who: None,
                turn: Box::new(move |_, scenario, chance| {
                    let mine = scenario.faults.iter_mut().filter(|u| u.fault == fault);
                    mine.for_each(|used| used.chance = chance);
                }),
            });
        }
    }
    // What designs of studies do not say of the amounts; the amounts of a lesson are chosen.
    if let Some((low, high)) =
        range("study-loads").filter(|_| library.studies.unknown_loads.contains(&scenario.id))
    {
        knobs.push(Knob {
            constant: "loads at the start, factor".to_owned(),
            words: "how much lies there at the start".to_owned(),
            basis: "study-loads".to_owned(),
            value: 1.0,
            range: (low, high),
            many: false,
            who: None,
            turn: Box::new(|_, scenario, factor| {
                for start in &mut scenario.start {
                    start.load = start.load.times(factor);
                }
            }),
        });
    }
    let spread = scenario
        .start
        .iter()
        .any(|start| matches!(start.load, Load::Lognormal { .. }));
    if let Some(range) =
        range("load-spread").filter(|_| spread && library.studies.unknown_loads.contains(&scenario.id))
    {
        knobs.push(Knob {
            constant: "spread of loads at the start, factor".to_owned(),
            words: "how far apart patients are in how much lies there at the start".to_owned(),
            basis: "load-spread".to_owned(),
            value: 1.0,
            range,
            many: false,
            who: None,
            turn: Box::new(|_, scenario, factor| {
                for start in &mut scenario.start {
                    if let Load::Lognormal { gsd, .. } = &mut start.load {
                        *gsd = libm::exp(factor * libm::log(*gsd));
                    }
                }
            }),
        });
    }
    if let Some((low, high)) = range("spots").filter(|_| has_spots(scenario)) {
        knobs.push(Knob {
            constant: "numbers of spots, factor".to_owned(),
            words: "in how many spots the same amount lies".to_owned(),
            basis: "spots".to_owned(),
            value: 1.0,
            range: (low, high),
            many: true,
            who: None,
            turn: Box::new(|_, scenario, factor| {
                for start in &mut scenario.start {
                    if let Load::Spots { spots, each } = &mut start.load {
                        spots.count *= factor;
                        *each /= factor;
                    }
                }
                for step in scenario.care.iter_mut().flat_map(|care| &mut care.steps) {
                    if let CareStep::Splash {
                        spots: Some(spots), ..
                    } = step
                    {
                        spots.count = (spots.count * factor).max(1.0);
                    }
                }
            }),
        });
    }
    if let Some(range) = range(&library.slide.1) {
        knobs.push(Knob {
            constant: "factor of a sliding contact".to_owned(),
            words: "how much more a sliding touch moves than a pressed one".to_owned(),
            basis: library.slide.1.clone(),
            value: library.slide.0,
            range: (range.0.max(1.0), range.1.max(1.0)),
            many: false,
            who: None,
            turn: Box::new(|library, _, factor| library.slide.0 = factor),
        });
    }
    if let Some(range) = range("brush-factor") {
        knobs.push(Knob {
            constant: "all chances of brushes, factor".to_owned(),
            words: "how often brushes happen, all of them alike".to_owned(),
            basis: "brush-factor".to_owned(),
            value: 1.0,
            range,
            many: true,
            who: None,
            turn: Box::new(|library, _, factor| {
                each_contact(library, |_, how| {
                    if let How::Brush { steady, hurried } = how {
                        *steady = (*steady * factor).min(1.0);
                        *hurried = (*hurried * factor).min(1.0);
                    }
                });
            }),
        });
    }
    if let Some(range) = range("touch-area-factor") {
        knobs.push(Knob {
            constant: "all contact areas of techniques, factor".to_owned(),
            words: "how large touches are, all of them alike".to_owned(),
            basis: "touch-area-factor".to_owned(),
            value: 1.0,
            range,
            many: true,
            who: None,
            turn: Box::new(|library, _, factor| {
                each_contact(library, |area, how| {
                    if *how != How::Graze {
                        *area *= factor;
                    }
                });
                for (_, area) in library.door.iter_mut().flat_map(|door| &mut door.hand) {
                    *area *= factor;
                }
                for (_, area) in library.next_contact.iter_mut().flat_map(|next| &mut next.areas) {
                    *area *= factor;
                }
            }),
        });
    }
    if let Some(range) = range(&library.manners.bundle_basis) {
        knobs.push(Knob {
            constant: "bundle, share of its faces".to_owned(),
            words: "with how much of its faces a thing touches that is carried or dropped".to_owned(),
            basis: library.manners.bundle_basis.clone(),
            value: library.manners.bundle_share,
            range,
            many: false,
            who: None,
            turn: Box::new(|library, _, share| library.manners.bundle_share = share.min(1.0)),
        });
    }
    if let Some(range) = range(&library.grazes.area_basis) {
        knobs.push(Knob {
            constant: "all mean areas of small contacts, factor".to_owned(),
            words: "how large small contacts are, all of them alike".to_owned(),
            basis: library.grazes.area_basis.clone(),
            value: 1.0,
            range,
            many: true,
            who: None,
            turn: Box::new(|library, _, factor| {
                each_contact(library, |area, how| {
                    if *how == How::Graze {
                        *area *= factor;
                    }
                });
            }),
        });
    }
    if let Some(range) = range(&library.grazes.shed_basis) {
        knobs.push(Knob {
            constant: "all shares that are shed, factor".to_owned(),
            words: "how much is shaken off what is snapped, torn or dropped".to_owned(),
            basis: library.grazes.shed_basis.clone(),
            value: 1.0,
            range,
            many: true,
            who: None,
            turn: Box::new(|library, _, factor| {
                for step in library.techniques.iter_mut().flat_map(|t| &mut t.steps) {
                    if let Step::Shed { share, .. } = step {
                        *share = (*share * factor).min(1.0);
                    }
                }
            }),
        });
    }
    type Field = fn(&mut Grazes) -> &mut f64;
    let grazes = &library.grazes;
    let fields: [(&str, &str, &str, Field); 3] = [
        (
            "small contacts, between people",
            "how much people differ in small contacts",
            &grazes.people_basis,
            |g| &mut g.people,
        ),
        (
            "small contacts, between goes",
            "how much small contacts differ from go to go",
            &grazes.goes_basis,
            |g| &mut g.goes,
        ),
        (
            "small contacts in a hurry, factor",
            "how much larger small contacts are in a hurry",
            &grazes.hurried_basis,
            |g| &mut g.hurried,
        ),
    ];
    for (constant, words, basis, field) in fields {
        if let Some(range) = range(basis) {
            knobs.push(Knob {
                constant: constant.to_owned(),
                words: words.to_owned(),
                basis: basis.to_owned(),
                value: *field(&mut grazes.clone()),
                range,
                many: false,
                who: None,
                turn: Box::new(move |library, _, value| *field(&mut library.grazes) = value),
            });
        }
    }
    lapses(library, &range, &mut knobs);
    // A knot is there because the scenario says so, or because whoever puts the kit on ties one.
    let dresses = !scenario.ready.is_empty();
    let ties = |t: &Trainee| t.slips(Slip::Knots) > 0.0;
    let made = dresses && library.trainees.iter().any(ties);
    let knotted = made || scenario.put_on.iter().any(|p| p.tied == Tied::Knot);
    if let Some(range) = range(&library.tears_knots_basis).filter(|_| knotted) {
        for (n, trainee) in library.trainees.iter().enumerate() {
            if trainee.tears_knots > 0.0 {
                knobs.push(Knob {
                    constant: format!("{}, tears a knot", trainee.id),
                    words: format!(
                        "how often a knot is torn rather than picked apart: {}",
                        trainee.label
                    ),
                    basis: library.tears_knots_basis.clone(),
                    value: trainee.tears_knots,
                    range,
                    many: false,
                    who: Some(trainee.id.clone()),
                    turn: Box::new(move |library, _, chance| library.trainees[n].tears_knots = chance),
                });
            }
        }
    }
    for (t, technique) in library.techniques.iter().enumerate() {
        for (f, feel) in technique.feels.iter().enumerate() {
            if dresses && may_be_found(library, scenario, technique, feel) {
                findings(&range, (t, technique), (f, feel), &mut knobs);
            }
        }
    }
    brought(library, scenario, &range, &mut knobs);
    for (n, trainee) in library.trainees.iter().enumerate().filter(|_| dresses) {
        for (s, slips) in trainee.dressing.iter().enumerate() {
            let Some((low, high)) = range(&slips.basis).filter(|_| slips.chance > 0.0) else {
                continue;
            };
            let words = slips.slip.words();
            knobs.push(Knob {
                constant: format!("{}, how often {words}", trainee.id),
                words: format!("how often {words}: {}", trainee.label),
                basis: slips.basis.clone(),
                value: slips.chance,
                range: (low.min(slips.chance), high.max(slips.chance)),
                many: false,
                who: Some(trainee.id.clone()),
                turn: Box::new(move |library, _, chance| {
                    library.trainees[n].dressing[s].chance = chance;
                }),
            });
        }
    }
    knobs
}

/// True if what a check looks for may be there: the item lies ready, or the scenario may have that fault of the person.
fn may_be_found(library: &Library, scenario: &Scenario, technique: &Technique, feel: &Feel) -> bool {
    let named = if feel.of.is_empty() {
        &technique.items
    } else {
        &feel.of
    };
    let ready = |id: &String| {
        let definition = library.item(id);
        named.contains(id) || definition.is_some_and(|item| item.like.iter().any(|like| named.contains(like)))
    };
    let (kind, sought) = feel.sought.named();
    let of_person = kind == "fault" && library.fault(sought).is_some_and(|fault| fault.is_of_person());
    match of_person {
        true => scenario.faults.iter().any(|used| used.fault == sought),
        false => scenario.ready.iter().any(ready),
    }
}

/// How often a check finds what it looks for, where it is there and where it is not.
fn findings(
    range: &dyn Fn(&str) -> Option<(f64, f64)>,
    (t, technique): (usize, &Technique),
    (f, feel): (usize, &Feel),
    knobs: &mut Vec<Knob>,
) {
    type Field = fn(&mut Feel) -> &mut f64;
    let [finds, alarms] = match technique.looks {
        true => ["how often it is seen", "how often it is seen where it is not"],
        false => [
            "how often a fault is felt that is there",
            "how often one is felt that is not there",
        ],
    };
    let fields: [(&str, &str, &String, Field); 2] = [
        ("finds", finds, &feel.finds_basis, |f| &mut f.finds),
        ("false alarms", alarms, &feel.alarms_basis, |f| &mut f.alarms),
    ];
    for (what, words, basis, field) in fields {
        let value = *field(&mut feel.clone());
        let Some((low, high)) = range(basis).filter(|_| value > 0.0) else {
            continue;
        };
        let (constant, words) = match technique.looks {
            true => {
                let (kind, sought) = feel.sought.named();
                let of = feel.of.first().map_or("person", String::as_str);
                (
                    format!("{}, {what} {kind} {sought} of {of}", technique.id),
                    format!("{words}, {}: {}", feel.some, technique.label),
                )
            }
            false => (
                format!("{}, {what}", technique.id),
                format!("{words}: {}", technique.label),
            ),
        };
        knobs.push(Knob {
            constant,
            words,
            basis: basis.clone(),
            value,
            range: (low.min(value), high.max(value)),
            many: false,
            who: None,
            turn: Box::new(move |library, _, chance| {
                if let Some(feel) = library.techniques[t].feels.get_mut(f) {
                    *field(feel) = chance;
                }
            }),
        });
    }
}

/// What comes with faults that a scenario may have: others, and how much more sits somewhere at the start.
fn brought(
    library: &Library,
    scenario: &Scenario,
    range: &dyn Fn(&str) -> Option<(f64, f64)>,
    knobs: &mut Vec<Knob>,
) {
    for (f, fault) in library.faults.iter().enumerate() {
        if !scenario.faults.iter().any(|used| used.fault == fault.id) {
            continue;
        }
        let (constant, words, basis, value) = match &fault.effect {
            Effect::Brings {
                fault: other,
                chance,
                basis,
            } => (
                format!("{}, brings {other}", fault.id),
                format!("how often it makes a difference: {}", fault.label),
                basis,
                *chance,
            ),
            Effect::Loads { factor, basis, .. } => (
                format!("{}, factor on the start", fault.id),
                format!("how many times as much is on the skin there: {}", fault.label),
                basis,
                *factor,
            ),
            Effect::Leak { .. } | Effect::Gap { .. } | Effect::Misses { .. } | Effect::Nothing => continue,
        };
        let Some((low, high)) = range(basis) else { continue };
        knobs.push(Knob {
            constant,
            words,
            basis: basis.clone(),
            value,
            range: (low.min(value), high.max(value)),
            many: false,
            who: None,
            turn: Box::new(move |library, _, value| match &mut library.faults[f].effect {
                Effect::Brings { chance, .. } => *chance = value,
                Effect::Loads { factor, .. } => *factor = value,
                Effect::Leak { .. } | Effect::Gap { .. } | Effect::Misses { .. } | Effect::Nothing => {}
            }),
        });
    }
}

/// How often people lapse, each sort of lapse of each trainee who makes it: a factor on its odds. How often they take a poor way or
/// hurry is fitted.
fn lapses(library: &Library, range: &dyn Fn(&str) -> Option<(f64, f64)>, knobs: &mut Vec<Knob>) {
    type Rate = fn(&mut Trainee) -> &mut f64;
    let sorts: [(&str, &str, &str, Rate); 4] = [
        (
            "cleaning left out",
            "how often cleaning hands is left out",
            "lapse-skip",
            |t| &mut t.skip,
        ),
        (
            "steps swapped",
            "how often two steps are swapped",
            "lapse-swap",
            |t| &mut t.swap,
        ),
        (
            "thrown away badly",
            "how often things are thrown away badly",
            "lapse-discard",
            |t| &mut t.discard,
        ),
        (
            "face touched",
            "how often the face is touched on the way",
            "lapse-face-touch",
            |t| &mut t.face_touch,
        ),
    ];
    for (n, trainee) in library.trainees.iter().enumerate() {
        for (sort, words, basis, rate) in sorts {
            let value = *rate(&mut trainee.clone());
            let Some(range) = range(basis).filter(|_| value > 0.0 && value < 1.0) else {
                continue;
            };
            knobs.push(Knob {
                constant: format!("{}, {sort}, odds", trainee.id),
                words: format!("{words}: {}", trainee.label),
                basis: basis.to_owned(),
                value: 1.0,
                range,
                many: false,
                who: Some(trainee.id.clone()),
                turn: Box::new(move |library, _, odds| {
                    *rate(&mut library.trainees[n]) = odds * value / (1.0 - value + odds * value);
                }),
            });
        }
    }
}

fn each_contact(library: &mut Library, mut change: impl FnMut(&mut f64, &mut How)) {
    for technique in &mut library.techniques {
        for step in &mut technique.steps {
            if let Step::Contact { area, how, .. } = step {
                change(area, how);
            }
        }
    }
}

/// True if something of a scenario lies in spots.
fn has_spots(scenario: &Scenario) -> bool {
    let splashed = |step: &CareStep| matches!(step, CareStep::Splash { spots: Some(_), .. });
    let started = |start: &Start| matches!(start.load, Load::Spots { .. });
    scenario.start.iter().any(started) || scenario.care.iter().flat_map(|care| &care.steps).any(splashed)
}
