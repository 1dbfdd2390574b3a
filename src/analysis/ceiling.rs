//! How often anything at all gets from one patch to somewhere, if there is a great deal on that patch and nothing
//! anywhere else. A path whose contacts seldom happen caps the share of people whom it reaches, whatever the load; this
//! shows the cap.

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck};
use crate::drill::State;
use crate::guidance::Group;
use crate::model::{Owner, Region, Setup, SiteIndex};

use super::coefficients::{Coefficients, Step};
use super::odds::Progress;
use super::plan::Plan;
use super::stats::{Interval, mean_of_chances};
use super::target::inner_gloves;
use super::way::{Known, Way};

/// Organisms on the patch: chosen to probe paths, so many that whether contact happens limits what gets through rather
/// than the amount; not measured anywhere.
pub const CEILING_LOAD: f64 = 1e6;

/// Where something may get to, at any moment of an attempt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Haven {
    /// Skin of hands and wrists.
    Hands,
    /// The outside of gloves that are worn beneath others.
    InnerGloves,
    /// Skin of the face.
    Face,
    /// Eyes, nostrils and lips.
    Mucosa,
    /// Skin of the neck.
    Neck,
    /// Own clothing, shoes left out.
    Clothing,
    /// Own shoes.
    Shoes,
    /// The floor.
    Floor,
    /// Lid and pedal of the bin.
    BinSurround,
}

impl Haven {
    /// All of them with the word used for each in files.
    pub const ALL: [(&'static str, Haven); 9] = [
        ("hands", Haven::Hands),
        ("inner-gloves", Haven::InnerGloves),
        ("face-skin", Haven::Face),
        ("mucosa", Haven::Mucosa),
        ("neck", Haven::Neck),
        ("clothing", Haven::Clothing),
        ("shoes", Haven::Shoes),
        ("floor", Haven::Floor),
        ("bin-surround", Haven::BinSurround),
    ];

    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            Haven::Hands => "hands",
            Haven::InnerGloves => "inner gloves",
            Haven::Face => "skin of the face",
            Haven::Mucosa => "eyes, nostrils, lips",
            Haven::Neck => "neck",
            Haven::Clothing => "own clothing",
            Haven::Shoes => "shoes",
            Haven::Floor => "floor",
            Haven::BinSurround => "bin",
        }
    }

    /// The word used in files.
    pub fn word(self) -> &'static str {
        Haven::ALL
            .iter()
            .find(|(_, haven)| *haven == self)
            .map_or("", |(word, _)| word)
    }

    /// Its sites; none where the kit has nothing of the kind.
    fn sites(self, setup: &Setup) -> Vec<SiteIndex> {
        if self == Haven::InnerGloves {
            return inner_gloves(setup);
        }
        (0..setup.sites.len())
            .filter(|&site| match setup.sites[site].owner {
                Owner::Body(place) => {
                    let shoe = setup.library.places[place].region == Region::Feet;
                    match (self, Group::of_place(setup, place)) {
                        (Haven::Hands, Group::Hands) | (Haven::Neck, Group::Neck) => true,
                        (Haven::Face, Group::FaceSkin) => true,
                        (Haven::Mucosa, Group::Eyes | Group::Nostrils | Group::Lips) => true,
                        (Haven::Clothing, Group::Clothing) => !shoe,
                        (Haven::Shoes, Group::Clothing) => shoe,
                        _ => false,
                    }
                }
                Owner::Room(piece) => {
                    let piece = &setup.library.furniture[piece];
                    let id = piece.stands_for.as_ref().unwrap_or(&piece.id).as_str();
                    match self {
                        Haven::Floor => id == "floor",
                        Haven::BinSurround => matches!(id, "bin-lid" | "bin-pedal"),
                        _ => false,
                    }
                }
                Owner::Part(..) => false,
            })
            .collect()
    }
}

/// How often anything gets from one patch to each place.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Ceiling {
    /// Site id of the patch.
    pub patch: String,
    /// The words people read for it.
    pub label: String,
    /// True if it was wet from the start to the end.
    pub wet: bool,
    /// One for each of the havens asked about, in their order.
    pub reached: Vec<Reach>,
}

/// How often anything gets somewhere.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Reach {
    /// The mean chance, 0 to 1, over repeats; in each it is exact, given what was drawn.
    pub share: f64,
    /// Its 95 % interval, from the number of repeats alone.
    pub interval: Interval,
}

/// The outside faces of what is worn at the start that nothing covers, and of gloves beneath others: those are meant to be
/// clean, and are met as soon as the outer ones are off.
pub fn outsides(setup: &Setup) -> Vec<SiteIndex> {
    let dressed = State::dressed(setup);
    let mut sites: Vec<SiteIndex> = dressed
        .worn
        .iter()
        .flat_map(|&item| (0..setup.items[item].parts.len()).map(move |part| (item, part)))
        .filter(|&(item, part)| dressed.over(setup, item, part).is_none())
        .map(|(item, part)| setup.items[item].parts[part].outside)
        .collect();
    sites.extend(inner_gloves(setup));
    sites.sort_unstable();
    sites.dedup();
    sites
}

/// The places of which this kit and room have any.
pub fn havens(setup: &Setup) -> Vec<Haven> {
    Haven::ALL
        .into_iter()
        .map(|(_, haven)| haven)
        .filter(|haven| !haven.sites(setup).is_empty())
        .collect()
}

/// For each patch, dry and then wet, how often at least one of `load` organisms on it gets to each haven at
/// any moment.
///
/// Whatever gets there counts, though it is washed off or goes on: this is about paths. In each repeat the chance of one
/// organism is exact, given what was drawn, so that of many follows without counting. Faults are left out: they
/// are paths of their own. Repeats have the lucks of [`odds`](super::odds()).
///
/// # Errors
/// A sentence: what cannot be done with this kit.
pub fn ceiling(
    setup: &Setup,
    way: &Way<'_>,
    havens: &[Haven],
    load: f64,
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Ceiling>, String> {
    let any_of = |one: f64| any_of(load, one);
    let patches = outsides(setup);
    let mut home = vec![false; setup.sites.len() * havens.len()];
    for (n, haven) in havens.iter().enumerate() {
        for site in haven.sites(setup) {
            home[site * havens.len() + n] = true;
        }
    }
    let known = Known::new(setup);
    let rows: Vec<Vec<f64>> = (0..repeats)
        .into_par_iter()
        .filter(|_| !progress.stopped())
        .map(|n| {
            let luck = Luck::new(Key(seed).within(n).0);
            let prepared = way.prepare(&[], &[], luck, &known)?;
            let mut wet_until = vec![0.0; setup.sites.len()];
            let mut pass = Pass::new(&prepared.plan, &home, havens.len());
            let mut row = Vec::with_capacity(2 * patches.len() * havens.len());
            pass.run(luck, &wet_until);
            patches
                .iter()
                .for_each(|&patch| row.extend(pass.of(patch).map(any_of)));
            for &patch in &patches {
                wet_until[patch] = f64::INFINITY;
                pass.run(luck, &wet_until);
                row.extend(pass.of(patch).map(any_of));
                wet_until[patch] = 0.0;
            }
            progress.add(1);
            Ok(row)
        })
        .collect::<Result<_, String>>()?;
    let reach = |column: usize| {
        let chances: Vec<f64> = rows.iter().map(|row| row[column]).collect();
        let (share, interval) = mean_of_chances(&chances);
        Reach { share, interval }
    };
    Ok([false, true]
        .into_iter()
        .flat_map(|wet| patches.iter().enumerate().map(move |(p, &site)| (wet, p, site)))
        .map(|(wet, p, site)| {
            let first = (usize::from(wet) * patches.len() + p) * havens.len();
            Ceiling {
                patch: setup.sites[site].id.clone(),
                label: setup.sites[site].label.clone(),
                wet,
                reached: (first..first + havens.len()).map(reach).collect(),
            }
        })
        .collect())
}

/// The chance that any of so many organisms gets there, from that of one.
fn any_of(load: f64, one: f64) -> f64 {
    -libm::expm1(load * libm::log1p(-one.clamp(0.0, 1.0)))
}

/// The backward pass: for each site, the chance that one organism on it gets to each haven.
struct Pass<'a> {
    plan: &'a Plan,
    havens: usize,
    /// Row-major: site, then haven; true where the site belongs to the haven.
    home: &'a [bool],
    /// Laid out alike.
    value: Vec<f64>,
}

impl<'a> Pass<'a> {
    fn new(plan: &'a Plan, home: &'a [bool], havens: usize) -> Pass<'a> {
        Pass {
            plan,
            havens,
            home,
            value: vec![0.0; home.len()],
        }
    }

    fn of(&self, site: SiteIndex) -> impl Iterator<Item = f64> + '_ {
        self.value[site * self.havens..(site + 1) * self.havens]
            .iter()
            .copied()
    }

    /// Goes through the plan, last event first. What is on a site of a haven has got there, whatever comes of it.
    fn run(&mut self, luck: Luck, wet_until: &[f64]) {
        let with = Coefficients::Drawn(luck);
        for (value, home) in self.value.iter_mut().zip(self.home) {
            *value = f64::from(*home);
        }
        for placed in self.plan.parts.iter().rev() {
            for group in placed.part.groups(true).rev() {
                if with.weight(&group[0].event) <= 0.0 {
                    continue;
                }
                for event in group.iter().rev() {
                    self.through(event.actual(placed.began, wet_until).step(with));
                }
            }
        }
    }

    fn through(&mut self, step: Step) {
        for haven in 0..self.havens {
            let at = |site: SiteIndex| site * self.havens + haven;
            match step {
                Step::Between(a, b, ab, ba) => {
                    let (a, b) = (at(a), at(b));
                    let (at_a, at_b) = (self.value[a], self.value[b]);
                    if !self.home[a] {
                        self.value[a] = at_a + ab * (at_b - at_a);
                    }
                    if !self.home[b] {
                        self.value[b] = at_b + ba * (at_a - at_b);
                    }
                }
                Step::From(site, p) => {
                    if !self.home[at(site)] {
                        self.value[at(site)] *= 1.0 - p;
                    }
                }
            }
        }
    }
}
