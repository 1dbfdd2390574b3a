//! A scenario made concrete: every site with its index, every item of the kit, every efficiency looked up.

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use super::{
    Address, Base, Building, CareStep, Class, Efficiency, Fall, Fate, Item, Library, Load, Organism, Product,
    Scenario, Side, Soak, Spotted, Start, Technique, Tied, Whereabouts, Who, Zone,
};

/// Index of a site in [`Setup::sites`].
pub type SiteIndex = usize;

/// What a site belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Owner {
    /// The person: index into the library's places.
    Body(usize),
    /// One face of a part: index into [`Setup::items`], part index, true for the inside.
    Part(usize, usize, bool),
    /// The room: index into the library's furniture.
    Room(usize),
}

/// One patch of one surface, small enough that a touch uses a definite share of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Kebab-case id.
    pub id: String,
    /// Name for people, with the side for parts of items.
    pub label: String,
    /// What it belongs to.
    pub owner: Owner,
    /// Material index.
    pub material: usize,
    /// Area, cm2.
    pub area: f64,
    /// True for eyes, nostrils and lips.
    pub mucosa: bool,
}

/// Where a kit item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Holding {
    /// Worn where it belongs.
    Worn,
    /// Hanging at the neck.
    Dangling,
    /// In the left hand, the right hand, or both.
    Held {
        /// In the left hand.
        left: bool,
        /// In the right hand.
        right: bool,
    },
    /// In the bin.
    Binned,
    /// On the floor.
    Floor(Whereabouts),
    /// In its box.
    Boxed,
}

/// One part of a kit item, resolved.
#[derive(Clone, Debug, PartialEq)]
pub struct KitPart {
    /// Part id.
    pub id: String,
    /// Site of the outside.
    pub outside: SiteIndex,
    /// Site of the inside, if it has one.
    pub inside: Option<SiteIndex>,
    /// Place indices where it lies.
    pub places: Vec<usize>,
    /// True if it hides them.
    pub covers: bool,
    /// True if guidance calls its outside dirty.
    pub declared_dirty: bool,
}

/// One item of the kit.
#[derive(Clone, Debug, PartialEq)]
pub struct KitItem {
    /// Id within the kit, such as `left-glove`.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Index of its definition in the library.
    pub item: usize,
    /// Side it is worn on, for items made for each side.
    pub side: Option<Side>,
    /// True if it starts in its box and is no part of the kit.
    pub spare: bool,
    /// True if it is part of the kit and lies ready at first.
    pub ready: bool,
    /// How each fastening of its definition was left when it was put on.
    pub tied: Vec<Tied>,
    /// Its parts, in the definition's order.
    pub parts: Vec<KitPart>,
}

impl KitItem {
    /// The part with this id.
    pub fn part(&self, id: &str) -> Option<usize> {
        self.parts.iter().position(|p| p.id == id)
    }
}

/// Transfer efficiencies of one organism class between all pairs of materials.
#[derive(Clone, Debug, PartialEq)]
pub struct Efficiencies {
    materials: usize,
    /// By from * materials + to.
    table: Vec<Pair>,
}

/// What is known of one material against another.
#[derive(Clone, Debug, PartialEq)]
struct Pair {
    /// Index in the transfer table.
    row: usize,
    /// Dry, then wet; of each pressed, then slid.
    laws: [[Efficiency; 2]; 2],
}

/// The efficiency of a sliding contact: as if `factor` fresh contacts followed one another, so that it stays a
/// fraction. For small efficiencies this is the factor itself.
fn slid(law: Efficiency, factor: f64) -> Efficiency {
    let mean = 1.0 - libm::pow(1.0 - law.mean, factor);
    let sd = law.sd * factor * libm::pow(1.0 - law.mean, factor - 1.0);
    Efficiency {
        mean,
        sd: sd.min(0.95 * libm::sqrt(mean * (1.0 - mean))),
    }
}

impl Efficiencies {
    /// Looks every pair up; the first row that fits wins.
    ///
    /// # Errors
    /// The first pair of material ids that no row fits.
    pub fn new(library: &Library, class: Class) -> Result<Efficiencies, (String, String)> {
        let materials = library.materials.len();
        let mut table = Vec::with_capacity(materials * materials);
        for from in &library.materials {
            for to in &library.materials {
                let fits = |list: &[String], id: &String| list.is_empty() || list.contains(id);
                let row = library.transfers.iter().position(|row| {
                    fits(&row.from, &from.id)
                        && fits(&row.to, &to.id)
                        && (row.classes.is_empty() || row.classes.contains(&class))
                });
                let Some(row) = row else {
                    return Err((from.id.clone(), to.id.clone()));
                };
                let found = &library.transfers[row];
                table.push(Pair {
                    row,
                    laws: [found.dry, found.wet].map(|law| [law, slid(law, library.slide.0)]),
                });
            }
        }
        Ok(Efficiencies { materials, table })
    }

    /// Efficiency from one material index to another.
    pub fn get(&self, from: usize, to: usize, wet: bool, slide: bool) -> Efficiency {
        self.table[from * self.materials + to].laws[usize::from(wet)][usize::from(slide)]
    }

    /// Row of the transfer table that gives it.
    pub fn row(&self, from: usize, to: usize) -> usize {
        self.table[from * self.materials + to].row
    }
}

/// Why a scenario cannot be set up with a library.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetupError(pub String);

impl fmt::Display for SetupError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for SetupError {}

/// Every zone of both hands: a body has a place for each.
pub fn hand_places() -> impl Iterator<Item = (Side, Zone)> {
    Side::BOTH
        .into_iter()
        .flat_map(|side| Zone::ALL.into_iter().map(move |zone| (side, zone)))
}

/// A scenario made concrete.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The content it came from.
    pub library: Arc<Library>,
    /// The scenario.
    pub scenario: Scenario,
    /// The organism counted.
    pub organism: Organism,
    /// Every site: the body's places first, then items in kit order, then furniture.
    pub sites: Vec<Site>,
    /// Every item: the kit innermost first, then spares.
    pub items: Vec<KitItem>,
    /// Efficiencies of the organism's class.
    pub efficiencies: Efficiencies,
    /// Where basins and dispensers are; none where nothing is said of it.
    pub building: Option<Building>,
    /// For each material, the share of what sits on a wet and pressed patch that goes through, if any does.
    soaks: Vec<Option<Efficiency>>,
    /// What brings spots onto sites, and which.
    spots: Vec<(SiteIndex, Fall, Spotted)>,
    /// For each piece of furniture, from where it can be reached.
    reach: Vec<Vec<Whereabouts>>,
    by_id: HashMap<String, SiteIndex>,
    place_by_id: HashMap<String, usize>,
    /// Places of the zones of both hands, by side and zone: they are asked for all the time.
    zone_places: [[usize; Zone::ALL.len()]; 2],
    furniture_site: Vec<SiteIndex>,
}

impl Setup {
    /// Resolves a scenario against a library.
    ///
    /// # Errors
    /// What the scenario names that the library or its own kit does not have.
    pub fn new(library: Arc<Library>, scenario: &Scenario) -> Result<Setup, SetupError> {
        let missing = |what: &str, id: &str| SetupError(format!("unknown {what} `{id}`"));
        let organism = library
            .organism(&scenario.organism)
            .ok_or_else(|| missing("organism", &scenario.organism))?
            .clone();
        let efficiencies = Efficiencies::new(&library, organism.class).map_err(|(from, to)| {
            SetupError(format!(
                "no transfer efficiency from `{from}` to `{to}` for this organism"
            ))
        })?;
        let material = |id: &str| {
            library
                .materials
                .iter()
                .position(|m| m.id == id)
                .ok_or_else(|| missing("material", id))
        };
        let place_by_id: HashMap<String, usize> = library
            .places
            .iter()
            .enumerate()
            .map(|(i, p)| (p.id.clone(), i))
            .collect();

        let mut sites = Vec::new();
        for (i, place) in library.places.iter().enumerate() {
            sites.push(Site {
                id: place.id.clone(),
                label: match place.base {
                    Base::Clothing if !place.id.contains("shoe") => format!("{}, own clothing", place.label),
                    _ => place.label.clone(),
                },
                owner: Owner::Body(i),
                material: material(&place.material)?,
                area: place.area,
                mucosa: place.mucosa,
            });
        }
        let mut items = Vec::new();
        for (list, spare) in [(&scenario.kit, false), (&scenario.spares, true)] {
            for id in list {
                let index = library
                    .items
                    .iter()
                    .position(|d| d.id == *id)
                    .ok_or_else(|| missing("item", id))?;
                let definition = &library.items[index];
                let sides: &[Option<Side>] = if definition.each_side {
                    &[Some(Side::Left), Some(Side::Right)]
                } else {
                    &[None]
                };
                for &side in sides {
                    let item = kit_item(
                        definition,
                        index,
                        side,
                        spare,
                        items.len(),
                        &mut sites,
                        &place_by_id,
                        &material,
                    )?;
                    if items.iter().any(|other: &KitItem| other.id == item.id) {
                        return Err(SetupError(format!("the kit has `{id}` twice")));
                    }
                    items.push(item);
                }
            }
        }
        for id in &scenario.ready {
            let mut lies = items
                .iter_mut()
                .filter(|item: &&mut KitItem| !item.spare && library.items[item.item].id == *id)
                .peekable();
            if lies.peek().is_none() {
                return Err(missing("item", id));
            }
            for item in lies {
                item.ready = true;
                // Nothing of what lies ready is fastened.
                item.tied.fill(Tied::Open);
            }
        }
        for put_on in &scenario.put_on {
            let found = items.iter().position(|item: &KitItem| item.id == put_on.item);
            let item = &mut items[found.ok_or_else(|| missing("item", &put_on.item))?];
            let fastenings = &library.items[item.item].fastenings;
            let found = fastenings.iter().position(|f| f.id == put_on.fastening);
            item.tied[found.ok_or_else(|| missing("fastening", &put_on.fastening))?] = put_on.tied;
        }
        let mut furniture_site = Vec::new();
        for (i, piece) in library.furniture.iter().enumerate() {
            furniture_site.push(sites.len());
            sites.push(Site {
                id: piece.id.clone(),
                label: piece.label.clone(),
                owner: Owner::Room(i),
                material: material(&piece.material)?,
                area: piece.area,
                mucosa: false,
            });
        }
        let by_id: HashMap<String, SiteIndex> =
            sites.iter().enumerate().map(|(i, s)| (s.id.clone(), i)).collect();
        if by_id.len() != sites.len() {
            let twice = sites
                .iter()
                .enumerate()
                .find(|(i, s)| by_id[&s.id] != *i)
                .map(|(_, s)| s.id.clone());
            return Err(SetupError(format!(
                "two sites are called `{}`",
                twice.unwrap_or_default()
            )));
        }
        let mut zone_places = [[0; Zone::ALL.len()]; 2];
        for (side, zone) in hand_places() {
            let place = zone.place(side);
            let Some(&found) = place_by_id.get(&place) else {
                return Err(missing("place", &place));
            };
            zone_places[side as usize][zone as usize] = found;
        }
        let soaks = library.materials.iter().map(|material| {
            let fits = |soak: &&Soak| {
                soak.material == material.id
                    && (soak.classes.is_empty() || soak.classes.contains(&organism.class))
            };
            library.soaks.iter().find(fits).map(|soak| soak.share)
        });
        let soaks = soaks.collect();
        let building = Building::of(&library, scenario);
        let reach = library.furniture.iter().map(|piece| match &building {
            Some(building) => building.reach(piece),
            None => piece.at.clone(),
        });
        let reach = reach.collect();
        let mut setup = Setup {
            library,
            scenario: scenario.clone(),
            organism,
            sites,
            items,
            efficiencies,
            building,
            reach,
            soaks,
            spots: Vec::new(),
            by_id,
            place_by_id,
            zone_places,
            furniture_site,
        };
        setup.spots = setup.falls();
        Ok(setup)
    }

    /// What brings spots onto sites: at the start, and by splashes onto what is outermost of the whole kit. What lies evenly on a
    /// site at the start makes all on it even.
    fn falls(&self) -> Vec<(SiteIndex, Fall, Spotted)> {
        let started = |start: &Start| match start.load {
            Load::Spots { spots, .. } => Some((self.site(&start.site)?, Fall::Start, spots)),
            _ => None,
        };
        let mut falls: Vec<_> = self.scenario.start.iter().filter_map(started).collect();
        for (n, care) in self.scenario.care.iter().enumerate() {
            for (step, what) in care.steps.iter().enumerate() {
                let CareStep::Splash {
                    onto,
                    chance,
                    spots: Some(spots),
                    ..
                } = what
                else {
                    continue;
                };
                let sides = care.hand.sides(None);
                let each = if what.is_sided() { sides.len() } else { 1 };
                for &side in sides.iter().take(each) {
                    let Some(site) = self.lands(onto, side) else {
                        continue;
                    };
                    falls.extend((0..care.times.1).map(|repeat| {
                        let care = (n, care.times, repeat);
                        (
                            site,
                            Fall::Splash {
                                care,
                                step,
                                side,
                                chance: *chance,
                            },
                            *spots,
                        )
                    }));
                }
            }
        }
        let even = |site: SiteIndex| {
            let mut starts = self.scenario.start.iter();
            starts.any(|s| !matches!(s.load, Load::Spots { .. }) && self.site(&s.site) == Some(site))
        };
        falls.retain(|(site, ..)| !even(*site));
        falls
    }

    /// Where something lands on a person in the whole kit without a fault; none for what is no place of the person.
    fn lands(&self, onto: &Address, acting: Side) -> Option<SiteIndex> {
        let place = match onto {
            Address::Place(name) => self.place(&name.for_side(acting))?,
            Address::Hand(Who::Acting, zone) => self.zone_place(acting, *zone),
            Address::Hand(Who::Other, zone) => self.zone_place(acting.other(), *zone),
            _ => return None,
        };
        let worn = self.items.iter().rev().filter(|item| !item.spare);
        let over = worn
            .flat_map(|item| &item.parts)
            .find(|part| part.covers && part.places.contains(&place));
        Some(over.map_or(place, |part| part.outside))
    }

    /// The site with this id.
    pub fn site(&self, id: &str) -> Option<SiteIndex> {
        self.by_id.get(id).copied()
    }

    /// The place with this id, which is also the index of its base site.
    pub fn place(&self, id: &str) -> Option<usize> {
        self.place_by_id.get(id).copied()
    }

    /// What share goes through a site's material where it is wet and pressed; none where nothing does.
    pub fn soak(&self, site: SiteIndex) -> Option<Efficiency> {
        self.soaks[self.sites[site].material]
    }

    /// What brings spots onto a site, with how many and how large; nothing where all is spread evenly.
    pub fn spots(&self, site: SiteIndex) -> impl Iterator<Item = (Fall, Spotted)> + '_ {
        let all = self.spots.iter();
        all.filter(move |(on, ..)| *on == site)
            .map(|&(_, fall, spots)| (fall, spots))
    }

    /// True if what is on a site lies in spots.
    pub fn is_spotted(&self, site: SiteIndex) -> bool {
        self.spots.iter().any(|(on, ..)| *on == site)
    }

    /// The site of a piece of furniture by its id.
    pub fn furniture(&self, id: &str) -> Option<SiteIndex> {
        let index = self.library.furniture.iter().position(|f| f.id == id)?;
        Some(self.furniture_site[index])
    }

    /// The site of what is meant by a piece of furniture where somebody stands: it, or what stands for it there.
    pub fn furniture_at(&self, id: &str, at: Whereabouts) -> Option<SiteIndex> {
        let all = &self.library.furniture;
        let piece = all.iter().position(|f| f.id == id)?;
        let here = |n: &usize| self.reach[*n].contains(&at);
        let stands_for = |n: &usize| all[*n].stands_for.as_deref() == Some(id);
        let meant = match here(&piece) {
            true => piece,
            false => (0..all.len()).find(|n| stands_for(n) && here(n)).unwrap_or(piece),
        };
        Some(self.furniture_site[meant])
    }

    /// From where a piece of furniture can be reached, by its index in the library; nowhere if it is no part of the drill.
    pub fn reach(&self, piece: usize) -> &[Whereabouts] {
        &self.reach[piece]
    }

    /// The furniture that is touched to get a product from where one stands: sites, each with its contact area in cm2.
    /// Empty if it cannot be had there.
    pub fn sources(&self, product: &Product, at: Whereabouts) -> Vec<(SiteIndex, f64)> {
        let pieces = product.touches.iter().filter_map(|(id, area)| {
            let piece = self.library.furniture.iter().position(|f| f.id == *id)?;
            self.reach[piece]
                .contains(&at)
                .then_some((self.furniture_site[piece], *area))
        });
        pieces.collect()
    }

    /// From where a product can be had.
    pub fn had(&self, product: &Product) -> Vec<Whereabouts> {
        let mut all = Whereabouts::ALL.to_vec();
        all.retain(|&at| !self.sources(product, at).is_empty());
        all
    }

    /// The kit item with this id.
    pub fn item(&self, id: &str) -> Option<usize> {
        self.items.iter().position(|i| i.id == id)
    }

    /// The definition of a kit item.
    pub fn definition(&self, item: usize) -> &Item {
        &self.library.items[self.items[item].item]
    }

    /// True if any of the kit lies ready at first, so that putting it on is part of the attempt.
    pub fn lies_ready(&self) -> bool {
        self.items.iter().any(|item| item.ready)
    }

    /// Index of the place that a zone is on one side.
    ///
    /// There is one: a setup without all twelve is refused when it is made.
    pub fn zone_place(&self, side: Side, zone: Zone) -> usize {
        self.zone_places[side as usize][zone as usize]
    }

    /// The hand zone that a place is, if it is one.
    pub fn zone_of_place(&self, place: usize) -> Option<(Side, Zone)> {
        let id = &self.library.places[place].id;
        Side::BOTH.into_iter().find_map(|side| {
            let rest = id.strip_prefix(side.word())?.strip_prefix('-')?;
            Zone::from_word(rest).map(|zone| (side, zone))
        })
    }

    /// True if a technique applies to a kit item.
    pub fn applies(&self, technique: &Technique, item: usize) -> bool {
        Library::applies(technique, self.definition(item))
    }

    /// True for bare skin of the person, mucosa included.
    pub fn is_skin(&self, site: SiteIndex) -> bool {
        self.base_of(site) == Some(Base::Skin)
    }

    /// What the site is of the person's own, if it is.
    pub fn base_of(&self, site: SiteIndex) -> Option<Base> {
        match self.sites[site].owner {
            Owner::Body(place) => Some(self.library.places[place].base),
            _ => None,
        }
    }

    /// Where what a product takes off goes, in words.
    pub fn fate_word(fate: Fate) -> &'static str {
        match fate {
            Fate::Inactivated => "inactivated",
            Fate::WashedAway => "washed-away",
        }
    }
}

#[expect(
    clippy::too_many_arguments,
    reason = "one caller; a struct would only rename the arguments"
)]
fn kit_item(
    definition: &Item,
    index: usize,
    side: Option<Side>,
    spare: bool,
    nth: usize,
    sites: &mut Vec<Site>,
    places: &HashMap<String, usize>,
    material: &dyn Fn(&str) -> Result<usize, SetupError>,
) -> Result<KitItem, SetupError> {
    let sided = |word: &str| match side {
        Some(side) => format!("{}{word}{}", side.word(), definition.id),
        None => definition.id.clone(),
    };
    let id = if spare {
        format!("spare-{}", sided("-"))
    } else {
        sided("-")
    };
    let label = match side {
        Some(side) => format!(
            "{}{} {}",
            if spare { "spare " } else { "" },
            side.word(),
            definition.label
        ),
        None => format!("{}{}", if spare { "spare " } else { "" }, definition.label),
    };
    let mut parts = Vec::new();
    for (p, part) in definition.parts.iter().enumerate() {
        let mut at = Vec::new();
        for place in &part.places {
            let name = match (place.strip_prefix('@'), side) {
                (Some(rest), Some(side)) => format!("{}-{rest}", side.word()),
                _ => place.clone(),
            };
            at.push(
                *places
                    .get(&name)
                    .ok_or_else(|| SetupError(format!("unknown place `{name}`")))?,
            );
        }
        let mut face = |suffix: &str, word: &str, material: usize, inside: bool| {
            sites.push(Site {
                id: format!("{id}-{}{suffix}", part.id),
                label: format!("{label}, {}{word}", part.label),
                owner: Owner::Part(nth, p, inside),
                material,
                area: part.area,
                mucosa: false,
            });
            sites.len() - 1
        };
        let both = part.inside.is_some();
        let outside = face(
            "",
            if both { ", outside" } else { "" },
            material(&part.outside)?,
            false,
        );
        let inside = match &part.inside {
            Some(inside) => Some(face("-inside", ", inside", material(inside)?, true)),
            None => None,
        };
        parts.push(KitPart {
            id: part.id.clone(),
            outside,
            inside,
            places: at,
            covers: part.covers,
            declared_dirty: part.declared_dirty,
        });
    }
    Ok(KitItem {
        id,
        label,
        item: index,
        side,
        spare,
        ready: false,
        tied: vec![Tied::Bow; definition.fastenings.len()],
        parts,
    })
}
