//! Every constant that the model uses, one by one, with the basis it names.

use crate::model::{Effect, Fastened, How, Law, Library, Load, Start, Step};

/// One number of the model.
#[derive(Clone, Debug, PartialEq)]
pub struct Constant {
    /// What it is, in words and ids.
    pub what: String,
    /// Its value.
    pub value: f64,
    /// Its standard deviation (or geometric standard deviation, for lognormal loads), if it has a spread.
    pub spread: Option<f64>,
    /// Unit.
    pub unit: &'static str,
    /// Basis id.
    pub basis: String,
}

/// Lists every constant in the library.
pub fn constants(library: &Library) -> Vec<Constant> {
    let mut list = List(Vec::new());
    let any = |ids: &[String]| {
        if ids.is_empty() {
            "any".to_owned()
        } else {
            ids.join("|")
        }
    };
    for t in &library.transfers {
        let classes: Vec<String> = t.classes.iter().map(|c| format!("{c:?}")).collect();
        let only = if classes.is_empty() {
            String::new()
        } else {
            format!(" ({})", classes.join("|"))
        };
        for (state, law) in [("wet", t.wet), ("dry", t.dry)] {
            let what = format!("transfer {} > {}{only}, {state}", any(&t.from), any(&t.to));
            list.add(what, law.mean, Some(law.sd), "fraction", &t.basis);
        }
    }
    for s in &library.soaks {
        let what = format!("goes through wet {} when pressed", s.material);
        list.add(what, s.share.mean, Some(s.share.sd), "fraction", &s.basis);
    }
    list.add(
        "factor of a sliding contact".to_owned(),
        library.slide.0,
        None,
        "factor",
        &library.slide.1,
    );
    let g = &library.grazes;
    for (what, value, unit, basis) in [
        (
            "small contacts, between people",
            g.people,
            "coefficient of variation",
            &g.people_basis,
        ),
        (
            "small contacts, between goes",
            g.goes,
            "coefficient of variation",
            &g.goes_basis,
        ),
        ("small contacts in a hurry", g.hurried, "factor", &g.hurried_basis),
    ] {
        list.add(what.to_owned(), value, None, unit, basis);
    }
    for o in &library.organisms {
        list.add(
            format!("{}, seen from", o.id),
            o.seen_from as f64,
            None,
            "count",
            &o.basis,
        );
    }
    for p in &library.places {
        list.add(format!("{}, area", p.id), p.area, None, "cm2", &p.basis);
    }
    for f in &library.furniture {
        list.add(format!("{}, area", f.id), f.area, None, "cm2", &f.basis);
    }
    if let Some(door) = &library.door {
        for (zone, area) in &door.hand {
            list.add(
                format!("door handle, {}", zone.label()),
                *area,
                None,
                "cm2",
                &door.basis,
            );
        }
        list.add(
            "door handle, elbow".to_owned(),
            door.elbow,
            None,
            "cm2",
            &door.basis,
        );
    }
    if let Some(building) = &library.building {
        let what = "tap, elbow".to_owned();
        list.add(what, building.elbow, None, "cm2", &building.basis);
    }
    for item in library.items.iter().filter(|i| i.like.is_empty()) {
        for part in &item.parts {
            list.add(
                format!("{} {}, area", item.id, part.id),
                part.area,
                None,
                "cm2",
                &item.basis,
            );
        }
    }
    hygiene(library, &mut list);
    for f in &library.faults {
        list.add(
            format!("{}, chance", f.id),
            f.chance,
            None,
            "probability",
            &f.basis,
        );
        match &f.effect {
            Effect::Leak { area, .. } => {
                list.add(format!("{}, leak area", f.id), *area, None, "cm2", &f.basis);
            }
            Effect::Brings { fault, chance, basis } => {
                let what = format!("{}, brings {fault}", f.id);
                list.add(what, *chance, None, "probability", basis);
            }
            Effect::Loads { factor, basis, .. } => {
                let what = format!("{}, factor on the start", f.id);
                list.add(what, *factor, None, "factor", basis);
            }
            Effect::Gap { .. } | Effect::Misses { .. } | Effect::Nothing => {}
        }
    }
    let m = &library.manners;
    for (zone, area) in crate::model::Zone::ALL.iter().zip(m.touch_areas) {
        list.add(
            format!("free touch with {}, area", zone.label()),
            area,
            None,
            "cm2",
            &m.basis,
        );
    }
    list.add(
        "free touch, duration".to_owned(),
        m.touch_seconds,
        None,
        "s",
        &m.basis,
    );
    list.add("walk, duration".to_owned(), m.walk_seconds, None, "s", &m.basis);
    list.add(
        "bundle, share of its area that touches".to_owned(),
        m.bundle_share,
        None,
        "fraction",
        &m.bundle_basis,
    );
    list.add(
        "bundle, fewest parts that touch".to_owned(),
        m.bundle_parts as f64,
        None,
        "parts",
        &m.bundle_basis,
    );
    if let Some(c) = &library.calibration {
        let constants = [
            ("calibration, sets of values", c.members as f64, "sets"),
            ("calibration, repeats of each arm", c.repeats as f64, "repeats"),
            ("calibration, spread between studies", c.between_studies, "logit"),
            (
                "calibration, share of doubt that is a constant's own",
                c.own,
                "fraction",
            ),
            (
                "calibration, share of sets that count after a step",
                c.effective,
                "fraction",
            ),
            ("calibration, moves after a step", c.moves as f64, "moves"),
        ];
        for (constant, value, unit) in constants {
            list.add(constant.to_owned(), value, None, unit, &c.basis);
        }
    }
    if let Some(t) = &library.telling {
        let constants = [
            ("much the same, share of the larger", t.much_the_same, "fraction"),
            ("much the same, shares of people", 100.0 * t.points, "points"),
            ("fewest repeats that tell anything", t.too_few as f64, "repeats"),
            ("most sets of values, share of them", t.most, "fraction"),
            (
                "nearly all sets of values, share of them",
                t.nearly_all,
                "fraction",
            ),
        ];
        for (constant, value, unit) in constants {
            list.add(constant.to_owned(), value, None, unit, &t.basis);
        }
    }
    if let Some(rules) = &library.register {
        let (pass, again) = (&rules.pass, &rules.refreshers);
        list.add(
            "marks that pass, share".to_owned(),
            pass.mark,
            None,
            "fraction",
            &pass.basis,
        );
        for (n, &months) in again.after_clean.iter().enumerate() {
            let constant = format!("refresher after {} clean attempts running", n + 1);
            list.add(constant, f64::from(months), None, "months", &again.basis);
        }
        for (constant, months, basis) in [
            ("refresher after lost marks", again.otherwise, &again.basis),
            ("refresher after no pass", again.after_error, &again.basis),
            ("entries of a register, kept", rules.keep_months, &rules.basis),
        ] {
            list.add(constant.to_owned(), f64::from(months), None, "months", basis);
        }
        for (constant, value, unit) in [
            ("logs of attempts, kept", f64::from(rules.keep_log_days), "days"),
            (
                "smallest number told of a group",
                rules.smallest_cell as f64,
                "count",
            ),
        ] {
            list.add(constant.to_owned(), value, None, unit, &rules.basis);
        }
    }
    for (contact, (zone, area)) in library
        .next_contact
        .iter()
        .flat_map(|c| c.areas.iter().map(move |area| (c, area)))
    {
        let constant = format!("next patient, contact area of {}", zone.label());
        list.add(constant, *area, None, "cm2", &contact.basis);
    }
    for (place, share) in &library.face_touches.places {
        let constant = format!("touches of the face, {place}");
        list.add(constant, *share, None, "touches", &library.face_touches.basis);
    }
    list.add(
        "list of choices, rest after a change".to_owned(),
        m.list_rest_seconds,
        None,
        "s",
        &m.list_rest_basis,
    );
    for t in &library.techniques {
        list.add(format!("{}, steady", t.id), t.seconds, None, "s", &t.basis);
        list.add(format!("{}, hurried", t.id), t.hurried, None, "s", &t.basis);
        if let Some(k) = &t.knot {
            list.add(
                format!("{}, more for a knot", t.id),
                k.seconds,
                None,
                "s",
                &k.basis,
            );
            let what = format!("{}, more for a knot, hurried", t.id);
            list.add(what, k.hurried, None, "s", &k.basis);
        }
        for feel in &t.feels {
            for (what, chance, basis) in [
                ("finds", feel.finds, &feel.finds_basis),
                ("false alarms", feel.alarms, &feel.alarms_basis),
            ] {
                let (kind, sought) = feel.sought.named();
                let constant = match t.looks {
                    true => format!("{}, {what} {kind} {sought}", t.id),
                    false => format!("{}, {what}", t.id),
                };
                // What is never seen where it is not has no number.
                if !basis.is_empty() {
                    list.add(constant, chance, None, "probability", basis);
                }
            }
        }
        for (n, step) in t.steps.iter().enumerate() {
            if let Step::Contact {
                area, how, only_if, ..
            } = step
            {
                let knotted = matches!(only_if, Some((_, Fastened::Knotted)));
                let own = t.knot.as_ref().filter(|_| knotted).map_or(&t.basis, |k| &k.basis);
                let (what, basis) = match how {
                    How::Graze => ("mean area grazed", &library.grazes.area_basis),
                    How::Meant | How::Brush { .. } => ("contact area", own),
                };
                list.add(
                    format!("{} step {}, {what}", t.id, n + 1),
                    *area,
                    None,
                    "cm2",
                    basis,
                );
                if let How::Brush { steady, hurried } = how {
                    let what = format!("{} step {}, chance", t.id, n + 1);
                    list.add(what.clone(), *steady, None, "probability", own);
                    list.add(format!("{what} hurried"), *hurried, None, "probability", own);
                }
            }
            if let Step::Shed { share, .. } = step {
                let what = format!("{} step {}, share shed", t.id, n + 1);
                list.add(what, *share, None, "fraction", &library.grazes.shed_basis);
            }
            if let Step::Splash {
                fraction, sd, wet, ..
            } = step
            {
                let what = format!("{} step {}, share splashed", t.id, n + 1);
                list.add(what, *fraction, Some(*sd), "fraction", &t.basis);
                let what = format!("{} step {}, wet for", t.id, n + 1);
                list.add(what, *wet, None, "s", &t.basis);
            }
        }
    }
    for t in &library.tunings {
        list.add(
            format!("brush odds of {}", t.id),
            t.odds,
            None,
            "factor",
            &t.basis,
        );
    }
    for c in &library.curves {
        match c.law {
            Law::Exponential { k } => list.add(format!("{}, k", c.id), k, None, "dose unit", &c.basis),
            Law::BetaPoisson { a, n50 } => {
                list.add(format!("{}, shape", c.id), a, None, "none", &c.basis);
                list.add(format!("{}, median dose", c.id), n50, None, "dose unit", &c.basis);
            }
        }
    }
    for t in &library.trainees {
        for (technique, weight) in &t.poor_weights {
            let what = format!("{}, weight of {technique}", t.id);
            list.add(what, *weight, None, "weight", &t.basis);
        }
        for (name, value) in [
            ("skips a cleaning", t.skip),
            ("poor technique", t.poor),
            ("swaps two steps", t.swap),
            ("hurries", t.hurry),
            ("throws away in another way", t.discard),
            ("tears a knot", t.tears_knots),
            ("begins at the right", t.right_first),
            ("touches the face", t.face_touch),
        ] {
            list.add(format!("{}, {name}", t.id), value, None, "probability", &t.basis);
        }
    }
    for t in &library.trainees {
        for slips in &t.dressing {
            let what = format!("{}, how often {}", t.id, slips.slip.words());
            list.add(what, slips.chance, None, "probability", &slips.basis);
        }
    }
    for (technique, weight) in &library.ways_on.weights {
        let what = format!("how common {technique} is among ways not asked for");
        list.add(what, *weight, None, "weight", &library.ways_on.basis);
    }
    for s in &library.scenarios {
        for Start { site, load, .. } in &s.start {
            let what = format!("{} start, {site}", s.id);
            match load {
                Load::Fixed(n) => list.add(what, *n as f64, None, "count", &s.basis),
                Load::Poisson(mean) => list.add(what, *mean, Some(mean.sqrt()), "count", &s.basis),
                Load::Lognormal { median, gsd } => {
                    list.add(what, *median, Some(*gsd), "count (median, gsd)", &s.basis)
                }
                Load::Spots { spots, each } => {
                    list.add(
                        format!("{what}, spots"),
                        spots.count,
                        Some(spots.count.sqrt()),
                        "spots",
                        &s.basis,
                    );
                    list.add(
                        format!("{what}, area of one spot"),
                        spots.area,
                        None,
                        "cm2",
                        &s.basis,
                    );
                    list.add(
                        format!("{what}, in one spot"),
                        *each,
                        Some(each.sqrt()),
                        "count",
                        &s.basis,
                    );
                }
            }
        }
    }
    list.0
}

struct List(Vec<Constant>);

impl List {
    fn add(&mut self, what: String, value: f64, spread: Option<f64>, unit: &'static str, basis: &str) {
        self.0.push(Constant {
            what,
            value,
            spread,
            unit,
            basis: basis.to_owned(),
        });
    }
}

fn hygiene(library: &Library, list: &mut List) {
    for p in &library.products {
        list.add(format!("{}, dose", p.id), p.dose_ml, None, "ml", &p.basis);
        list.add(format!("{}, asked length", p.id), p.seconds, None, "s", &p.basis);
        for (piece, area) in &p.touches {
            list.add(
                format!("{}, area of touching {piece}", p.id),
                *area,
                None,
                "cm2",
                &p.basis,
            );
        }
        if let Some(forearms) = &p.forearms {
            let what = format!("{}, time for the forearms", p.id);
            list.add(what, forearms.seconds, None, "s", &forearms.basis);
            let what = format!("{}, palm on a forearm", p.id);
            list.add(what, forearms.area, None, "cm2", &forearms.basis);
        }
        list.add(
            format!("{}, mixing area", p.id),
            p.mixing.area,
            None,
            "cm2",
            &p.mixing.basis,
        );
        for &(ml, share) in &p.missed {
            list.add(
                format!("{}, share missed at {ml} ml", p.id),
                share,
                Some(p.missed_sd),
                "fraction",
                &p.basis,
            );
        }
        for &(ml, s) in &p.dries {
            list.add(format!("{}, dry after, at {ml} ml", p.id), s, None, "s", &p.basis);
        }
        for r in &p.reductions {
            let of = format!("{} against {:?}", p.id, r.class);
            list.add(format!("{of}, reduction"), r.mean, Some(r.sd), "log10", &r.basis);
            list.add(
                format!("{of}, factor where missed"),
                r.missed,
                None,
                "factor",
                &r.basis,
            );
            for &(ml, factor) in &r.by_amount {
                list.add(
                    format!("{of}, factor at {ml} ml"),
                    factor,
                    None,
                    "factor",
                    &r.basis,
                );
            }
            for &(s, factor) in &r.by_seconds {
                list.add(format!("{of}, factor at {s} s"), factor, None, "factor", &r.basis);
            }
        }
    }
}
