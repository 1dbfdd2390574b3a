//! What is there: places, materials, organisms, items, techniques, sequences, scenarios and the sites they make.
//! Types only: nothing moves here, no file is read here.

mod building;
mod checklist;
mod curve;
mod door;
mod doubt;
mod duel;
mod evidence;
mod item;
mod ladder;
mod left_out;
mod lesson;
mod library;
mod next_contact;
mod place;
mod register;
mod scenario;
mod sequence;
mod served;
mod setup;
mod side;
mod stands;
mod study;
mod substance;
mod technique;
mod telling;
mod trainee;
mod tuning;

pub use building::{Building, Fixture, OwnBuilding, Worked};
pub use checklist::{CheckStep, Checklist};
pub use curve::{CAVEAT, Curve, Law};
pub use door::Door;
pub use doubt::{Calibration, Ensemble, Member, Predicted};
pub use duel::{Claim, Duel, DuelSide, DuelWay};
pub use evidence::{Basis, Read, Source, Status};
pub use item::{Fastening, Item, ItemKind, LOOKS, Part};
pub use ladder::{Ladder, Manner, Rung, RungLamp};
pub use left_out::{LeftOut, Meets};
pub use lesson::{
    Lesson, LessonAnswer, LessonAsk, LessonClaim, LessonKind, LessonLamp, LessonStep, LessonTarget, Says,
    Tries,
};
pub use library::{Grazes, Library, Manners};
pub use next_contact::NextContact;
pub use place::{Base, BodyArea, Furniture, Place, Region, Zone};
pub use register::{NeededClean, PassRule, Refreshers, RegisterRules};
pub use scenario::{
    Care, CareStep, Fall, FaultUse, Happening, Load, Marks, PutOn, Scenario, Spotted, Start, Tied,
};
pub use sequence::{Asked, AskedStep, Sequence};
pub use setup::{
    Efficiencies, Holding, KitItem, KitPart, Owner, Setup, SetupError, Site, SiteIndex, hand_places,
};
pub use side::{Side, Whereabouts};
pub use study::{
    Among, ComparedWay, CountPart, Measure, PublishedLevel, Search, Searched, SearchedNumber, Spot, Studies,
    StudyArm, StudyComparison, StudyCount, Weight,
};
pub use substance::{
    Class, Effect, Efficiency, Fate, Fault, Forearms, Material, Mixing, Organism, Product, Reduction, Soak,
    Transfer,
};
pub use technique::{
    Address, Does, Fastened, Feel, Hands, How, ItemRef, Knot, MoveTo, Name, Need, Pace, SideMark, Sought,
    Step, Technique, Who,
};
pub use telling::Telling;
pub use trainee::{FaceTouches, Slip, Slips, Trainee, WaysOn};
pub use tuning::Tuning;
