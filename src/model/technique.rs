//! Techniques: how an item is taken off, put on, loosened, adjusted or thrown away, as data.

use serde::{Deserialize, Serialize};

use super::{LeftOut, Side, Zone};

/// How fast a technique is carried through.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Pace {
    /// With care.
    #[default]
    Steady,
    /// In a hurry: shorter, and brushes are likelier.
    Hurried,
}

/// What a technique is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Does {
    TakesOff,
    Loosens,
    PutsOn,
    Adjusts,
    Discards,
    PicksUp,
    Cares,
    Prepares,
}

impl Does {
    /// Every purpose with the word files use for it.
    pub const ALL: [(&'static str, Does); 8] = [
        ("TakesOff", Does::TakesOff),
        ("Loosens", Does::Loosens),
        ("PutsOn", Does::PutsOn),
        ("Adjusts", Does::Adjusts),
        ("Discards", Does::Discards),
        ("PicksUp", Does::PicksUp),
        ("Cares", Does::Cares),
        ("Prepares", Does::Prepares),
    ];
}

/// Which hand carries a technique out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Hands {
    /// The hand opposite to the one on which the item is worn.
    Opposite,
    /// The left.
    Left,
    /// The right.
    Right,
    /// Both, mirrored.
    Both,
}

impl Hands {
    /// Every choice with the word files use for it.
    pub const ALL: [(&'static str, Hands); 4] = [
        ("Opposite", Hands::Opposite),
        ("Left", Hands::Left),
        ("Right", Hands::Right),
        ("Both", Hands::Both),
    ];

    /// The sides that act. `Opposite` needs the side the item is worn on.
    pub fn sides(self, worn_on: Option<Side>) -> Vec<Side> {
        match self {
            Hands::Left => vec![Side::Left],
            Hands::Right => vec![Side::Right],
            Hands::Both => Side::BOTH.to_vec(),
            Hands::Opposite => vec![worn_on.map_or(Side::Right, Side::other)],
        }
    }
}

/// What must hold before a technique is physically possible.
#[derive(Clone, Debug, PartialEq)]
pub enum Need {
    /// The item is worn.
    Worn,
    /// The item hangs at the neck.
    Dangling,
    /// The item is in a hand.
    Held,
    /// The item is still in its box.
    Boxed,
    /// The item lies on the floor where the person stands.
    OnFloor,
    /// At least one fastening is still tied.
    AnyTied,
    /// A fastening is undone.
    Undone(String),
    /// A fastening is tied.
    Tied(String),
    /// Another item, by id, is worn too.
    WornToo(String),
    /// Nothing else that is worn covers a place.
    Bare(Name),
    /// Something that is worn covers a place.
    Covered(Name),
}

/// Whose hand an address means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// The acting hand.
    Acting,
    /// The other one.
    Other,
}

/// Which side a name in an address takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SideMark {
    /// `@`: the acting hand's side.
    Acting,
    /// `~`: the other side.
    Other,
}

/// A part or place name, perhaps with a side filled in when it is carried out.
#[derive(Clone, Debug, PartialEq)]
pub struct Name {
    /// The mark before the name, if any.
    pub mark: Option<SideMark>,
    /// The name after it.
    pub name: String,
}

impl Name {
    /// Reads `cuff`, `@cuff` or `~cuff`.
    pub fn parse(text: &str) -> Name {
        let (mark, name) = match text.as_bytes().first() {
            Some(b'@') => (Some(SideMark::Acting), &text[1..]),
            Some(b'~') => (Some(SideMark::Other), &text[1..]),
            _ => (None, text),
        };
        Name {
            mark,
            name: name.to_owned(),
        }
    }

    /// The name for one acting side: `@cuff` with left acting is `left-cuff`.
    pub fn for_side(&self, acting: Side) -> String {
        match self.mark {
            None => self.name.clone(),
            Some(SideMark::Acting) => format!("{}-{}", acting.word(), self.name),
            Some(SideMark::Other) => format!("{}-{}", acting.other().word(), self.name),
        }
    }
}

/// Which item an address or a move means.
#[derive(Clone, Debug, PartialEq)]
pub enum ItemRef {
    /// The item being handled.
    Handled,
    /// The newest item in the acting hand.
    Held,
    /// An item of the kit by id.
    Named(String),
}

/// Where a touch lands, in terms that hold for any hand, layer and kit.
#[derive(Clone, Debug, PartialEq)]
pub enum Address {
    /// `act.palm`, `other.wrist`: the outermost surface at a zone of a hand.
    Hand(Who, Zone),
    /// `item.cuff`, `item.cuff.inside`, `held.palm`, `left-glove.cuff`: one face of a part.
    Part {
        /// Whose part.
        item: ItemRef,
        /// Which part; `None` is the item as a whole, by the outermost faces of its larger parts (`held.any`, `item.any`).
        part: Option<Name>,
        /// True for the inside.
        inside: bool,
    },
    /// `under.cuff`: what lies directly beneath a part of the handled item.
    Under(Name),
    /// `place.neck-back`: the outermost surface at a place, the handled item left out.
    Place(Name),
    /// `room.bin-lid`.
    Room(String),
}

impl Address {
    /// Reads an address.
    ///
    /// # Errors
    /// A sentence saying what is wrong with it.
    pub fn parse(text: &str) -> Result<Address, String> {
        let mut words = text.split('.');
        let (who, what, side, extra) = (words.next(), words.next(), words.next(), words.next());
        let (Some(who), Some(what), None) = (who, what, extra) else {
            return Err(format!(
                "`{text}` is not an address: write who, a dot and where, such as `act.palm`"
            ));
        };
        if what.is_empty() || who.is_empty() {
            return Err(format!(
                "`{text}` is not an address: a name is missing beside the dot"
            ));
        }
        let inside = match side {
            None => false,
            Some("inside") => true,
            Some(other) => return Err(format!("`.{other}` ends this address; only `.inside` can")),
        };
        let plain = |address| {
            if inside {
                Err(format!("only parts of items have an inside, not `{who}.{what}`"))
            } else {
                Ok(address)
            }
        };
        match who {
            "act" | "other" => {
                let zone =
                    Zone::from_word(what).ok_or_else(|| format!("`{what}` is not a zone of the hand"))?;
                plain(Address::Hand(
                    if who == "act" { Who::Acting } else { Who::Other },
                    zone,
                ))
            }
            "under" => plain(Address::Under(Name::parse(what))),
            "place" => plain(Address::Place(Name::parse(what))),
            "room" => plain(Address::Room(what.to_owned())),
            "item" if what == "any" => plain(Address::Part {
                item: ItemRef::Handled,
                part: None,
                inside: false,
            }),
            "item" => Ok(Address::Part {
                item: ItemRef::Handled,
                part: Some(Name::parse(what)),
                inside,
            }),
            "held" if what == "any" => plain(Address::Part {
                item: ItemRef::Held,
                part: None,
                inside: false,
            }),
            "held" => Ok(Address::Part {
                item: ItemRef::Held,
                part: Some(Name::parse(what)),
                inside,
            }),
            named => Ok(Address::Part {
                item: ItemRef::Named(named.to_owned()),
                part: Some(Name::parse(what)),
                inside,
            }),
        }
    }

    /// True if a technique done with both hands must do the step once for each.
    pub fn is_sided(&self) -> bool {
        match self {
            Address::Hand(..) => true,
            Address::Part {
                item: ItemRef::Held, ..
            } => true,
            Address::Part { part, .. } => part.as_ref().is_some_and(|n| n.mark.is_some()),
            Address::Under(name) | Address::Place(name) => name.mark.is_some(),
            Address::Room(_) => false,
        }
    }
}

/// Where an item goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MoveTo {
    /// Into the acting hand or hands.
    Hand,
    /// Into the bin.
    Bin,
    /// Onto the floor.
    Floor,
    /// It hangs at the neck.
    Dangle,
    /// Onto the body, over whatever is worn there.
    Body,
    /// Onto the body, beneath what other kinds of kit lie there already: a glove under a sleeve.
    Beneath,
}

impl MoveTo {
    /// Every goal with the word files use for it.
    pub const ALL: [(&'static str, MoveTo); 6] = [
        ("Hand", MoveTo::Hand),
        ("Bin", MoveTo::Bin),
        ("Floor", MoveTo::Floor),
        ("Dangle", MoveTo::Dangle),
        ("Body", MoveTo::Body),
        ("Beneath", MoveTo::Beneath),
    ];
}

/// How a contact of a technique comes about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum How {
    /// It is meant.
    Meant,
    /// It happens or not: an accident.
    Brush {
        /// Probability at steady pace.
        steady: f64,
        /// Probability in a hurry.
        hurried: f64,
    },
    /// It always happens, unheeded, more or less of it.
    Graze,
}

/// What a contact may wait for of a fastening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fastened {
    /// It is done up, in whatever way.
    Tied,
    /// It is undone.
    Undone,
    /// It is done up in a knot.
    Knotted,
}

/// One step of a technique.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// A contact, meant or by accident.
    Contact {
        /// One surface.
        a: Address,
        /// The other.
        b: Address,
        /// Contact area, cm2; of a graze its mean at steady pace.
        area: f64,
        /// True if the surfaces slide along each other.
        slide: bool,
        /// How it comes about.
        how: How,
        /// Only if a fastening of the handled item, by id, is so by then.
        only_if: Option<(String, Fastened)>,
    },
    /// What sits on something comes off it as it is snapped, torn or let fall.
    Shed {
        /// From where.
        from: Address,
        /// On to what.
        onto: Address,
        /// The mean share of what sits there that lands, 0 to 1, at steady pace.
        share: f64,
    },
    /// A fastening is undone.
    Undo(String),
    /// A fastening is tied in a bow, or a strap laid where it belongs.
    Tie(String),
    /// A fastening is tied in a knot.
    Knot(String),
    /// A fault that came about as the item was put on is put right, by id.
    Mend(String),
    /// A fault that was there before anything was put on is put right, by id, with all that it brought: of the person, or of the
    /// item, in whose place another is taken.
    Remedy(String),
    /// The item is put on so that it has a fault, by id: from then on it is as if the scenario had given it that fault.
    Fault(String),
    /// Fluid flies one way and wets what it lands on.
    Splash {
        /// Furniture id of the source.
        from: String,
        /// Where it lands.
        onto: Address,
        /// Mean share of the source that lands there.
        fraction: f64,
        /// Standard deviation of that share.
        sd: f64,
        /// Seconds for which the landing site stays wet.
        wet: f64,
    },
    /// An item is turned inside out.
    Invert(ItemRef),
    /// An item goes somewhere.
    Move(ItemRef, MoveTo),
}

/// What it takes to pick a knot apart where a bow opens with one pull.
#[derive(Clone, Debug, PartialEq)]
pub struct Knot {
    /// How much longer it takes at steady pace, s.
    pub seconds: f64,
    /// How much longer it takes hurried, s.
    pub hurried: f64,
    /// Basis id of that and of the contacts that only a knot has.
    pub basis: String,
}

/// What a check is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sought {
    /// A fault, by id, of an item or of the person.
    Fault(String),
    /// A fastening, by id, that is not done up.
    Open(String),
    /// A part, by id, over which another item lies that went on later.
    Covered(String),
    /// An item, by its definition's id, that went on later and so lies over this one.
    Beneath(String),
}

impl Sought {
    /// The word that files and results have for it, and the id.
    pub fn named(&self) -> (&'static str, &str) {
        match self {
            Sought::Fault(id) => ("fault", id),
            Sought::Open(id) => ("open", id),
            Sought::Covered(id) => ("covered", id),
            Sought::Beneath(id) => ("beneath", id),
        }
    }
}

/// What a check can tell whoever makes it: they find something more or less often, whether it is there or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Feel {
    /// Item definition ids on which it is looked for; none for the handled item, or for the person where none is handled.
    pub of: Vec<String>,
    /// What is looked for.
    pub sought: Sought,
    /// What is found if it is, as a clause.
    pub some: String,
    /// What is told if it is not; empty where many things are looked for at once.
    pub none: String,
    /// Chance of finding it where it is there.
    pub finds: f64,
    /// Basis id of that.
    pub finds_basis: String,
    /// Chance of finding it where it is not.
    pub alarms: f64,
    /// Basis id of that; empty where it never happens.
    pub alarms_basis: String,
}

/// A way of doing something with an item.
#[derive(Clone, Debug, PartialEq)]
pub struct Technique {
    /// Kebab-case id.
    pub id: String,
    /// Plain words; never says right or wrong.
    pub label: String,
    /// Item definitions it applies to; empty for what is held, for whatever lies on the floor, and for care.
    pub items: Vec<String>,
    /// What it is for.
    pub does: Does,
    /// Possible acting hands, the default first.
    pub hands: Vec<Hands>,
    /// What must hold.
    pub needs: Vec<Need>,
    /// Parts that may lie beneath another item.
    pub beneath_ok: Vec<String>,
    /// Duration at steady pace, s.
    pub seconds: f64,
    /// Duration hurried, s.
    pub hurried: f64,
    /// How much longer it takes for each knot that it undoes; none if a knot makes no difference to it.
    pub knot: Option<Knot>,
    /// What happens, in order.
    pub steps: Vec<Step>,
    /// What it lets one find; none if it is no check.
    pub feels: Vec<Feel>,
    /// True if that is seen, false if it is felt.
    pub looks: bool,
    /// Ids of the places and pieces of furniture at which it is chosen, where it is done to no item.
    pub offered: Vec<String>,
    /// Contacts that were considered and left out.
    pub left_out: Vec<LeftOut>,
    /// A sentence for the trainer.
    pub why: String,
    /// Id of the technique that it is seen to move like; none if it has a motion of its own.
    pub moves_like: Option<String>,
    /// Basis id.
    pub basis: String,
}

impl Technique {
    /// True if it is done to no item at all, but to what is held, to the patient, or to whoever does it.
    pub fn is_about_no_item(&self) -> bool {
        matches!(self.does, Does::Discards | Does::Cares) || self.prepares() && self.items.is_empty()
    }

    /// True if it is for before kit goes on, or for looking at it once it is on.
    pub fn prepares(&self) -> bool {
        self.does == Does::Prepares
    }

    /// True if it is done to what is still in its box.
    pub fn is_for_boxed(&self) -> bool {
        self.needs.contains(&Need::Boxed)
    }

    /// The fastening that it ties in a bow or lays, if it does; the first if there are more.
    pub fn ties(&self) -> Option<&str> {
        self.steps.iter().find_map(|step| match step {
            Step::Tie(id) => Some(id.as_str()),
            _ => None,
        })
    }

    /// True if it is for putting on, or for what is being put on.
    pub fn dresses(&self) -> bool {
        self.does == Does::PutsOn
    }

    /// True if it does nothing to what is on but try how it sits.
    pub fn checks(&self) -> bool {
        let changes = |step: &Step| !matches!(step, Step::Contact { .. } | Step::Shed { .. });
        (self.dresses() || self.prepares()) && !self.steps.iter().any(changes)
    }

    /// True if it puts this fault right that was there before anything was put on.
    pub fn remedies(&self, fault: &str) -> bool {
        self.steps
            .iter()
            .any(|step| matches!(step, Step::Remedy(id) if id == fault))
    }

    /// True if it puts right what a check may find.
    pub fn puts_right(&self, sought: &Sought) -> bool {
        match sought {
            Sought::Fault(id) => self.mends(id) || self.remedies(id),
            Sought::Open(id) => self.dresses() && self.needs_worn() && self.ties_also(id),
            Sought::Covered(_) | Sought::Beneath(_) => self.brings_out(),
        }
    }

    /// True if it is done to what is on.
    fn needs_worn(&self) -> bool {
        self.needs.contains(&Need::Worn)
    }

    /// True if this fastening is one that it ties in a bow or lays.
    fn ties_also(&self, fastening: &str) -> bool {
        self.steps
            .iter()
            .any(|step| matches!(step, Step::Tie(id) if id == fastening))
    }

    /// True if it brings an item that is on over what lies over it.
    pub fn brings_out(&self) -> bool {
        let outward = |step: &Step| matches!(step, Step::Move(ItemRef::Handled, MoveTo::Body));
        self.dresses() && self.needs_worn() && self.steps.iter().any(outward)
    }

    /// True if it puts an item on beneath others.
    pub fn tucks(&self) -> bool {
        self.steps
            .iter()
            .any(|step| matches!(step, Step::Move(_, MoveTo::Beneath)))
    }

    /// True if it puts this fault right.
    pub fn mends(&self, fault: &str) -> bool {
        self.steps
            .iter()
            .any(|step| matches!(step, Step::Mend(id) if id == fault))
    }

    /// True if it puts anything right.
    pub fn is_for_mending(&self) -> bool {
        self.steps.iter().any(|step| matches!(step, Step::Mend(_)))
    }

    /// Ids of the faults that it leaves the item with.
    pub fn makes(&self) -> impl Iterator<Item = &str> {
        self.steps.iter().filter_map(|step| match step {
            Step::Fault(id) => Some(id.as_str()),
            _ => None,
        })
    }

    /// Duration at a pace where so many of the fastenings that it undoes are knots, s.
    pub fn duration(&self, pace: Pace, knots: usize) -> f64 {
        let knot = self.knot.as_ref();
        let (whole, knot) = match pace {
            Pace::Steady => (self.seconds, knot.map_or(0.0, |k| k.seconds)),
            Pace::Hurried => (self.hurried, knot.map_or(0.0, |k| k.hurried)),
        };
        whole + knot * knots as f64
    }
}
