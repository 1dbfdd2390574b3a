//! The exercise with real lotion and a real lamp: who glowed where is entered in seconds a person, and laid beside what the
//! model expects of people who do the same.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::analysis::{
    Asking, Doing, Interval, Ranged, Target, USUAL_REPEATS, USUAL_SEED, doubt_work, doubted, sets_of,
    usual_doubt_repeats, wilson,
};
use crate::drill::State;
use crate::model::{LessonTarget, Library, Owner, Says, Setup};
use crate::register::{Exercise, Moment, Named};
use crate::report::{BodyMark, Drawing, body_picture, place_on_body, range_of_hundred, ranged_people};

use super::words::{count, sentence};
use super::work::{Answer, Work};

/// Below so many people the counted interval is wider than 40 of 100 wherever about half glow, and that is said.
const FEW: u64 = 20;
/// What is counted of people, all skin together first.
const TOLD: [Target; 7] = Target::PERSON;

/// An exercise under way.
#[derive(Debug)]
pub struct LampExercise {
    setup: Arc<Setup>,
    sequence: String,
    /// Everything but the people is as it will be kept.
    kept: Exercise,
    /// Places of the person who is entered now.
    marked: BTreeSet<String>,
    /// What the model expects at each of what is told of; none before it is asked for.
    expected: Option<Answer<Vec<Ranged>>>,
}

/// A place on the map of the body.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceView {
    /// Its id, for [`Command::Glow`](super::Command::Glow).
    pub id: String,
    /// Its name.
    pub label: String,
    /// True on the front view, false on the back view.
    pub front: bool,
    /// Across, as a share of the figure's height; the wearer's left is positive.
    pub x: f32,
    /// Down from the top of the head, as a share of the figure's height.
    pub y: f32,
    /// True if it is marked for the person who is entered now.
    pub marked: bool,
    /// On how many of those entered it glowed.
    pub people: u64,
}

/// What was counted beside what the model expects, at one part of people.
#[derive(Clone, Debug, PartialEq)]
pub struct ComparedView {
    /// The part.
    pub label: String,
    /// How many glowed there, and of how many.
    pub counted: (u64, u64),
    /// The 95 % Wilson interval of that share, 0 to 1.
    pub interval: Interval,
    /// The share of people that the model expects: median, and nine tenths of its versions.
    pub expected: Ranged,
    /// Both in a sentence, with whether they overlap.
    pub sentence: String,
}

/// The exercise as a page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct ExerciseView {
    /// Scenario and sequence.
    pub sub: String,
    /// Every place of the body.
    pub places: Vec<PlaceView>,
    /// How many people are entered.
    pub people: usize,
    /// How many places are marked for the next.
    pub marked: usize,
    /// For each part, how many glowed there.
    pub counts: Vec<(String, u64)>,
    /// How far the expectation is, while it is worked out.
    pub working: Option<f32>,
    /// Counted beside expected, once that is there and somebody is entered.
    pub compared: Vec<ComparedView>,
    /// The map of the body with how many glowed where, once somebody is entered.
    pub picture: Option<Drawing>,
    /// Why there is no expectation.
    pub trouble: Option<String>,
}

/// The places of a person that a target is made of, by id.
fn places_of(setup: &Setup, target: Target) -> Vec<&str> {
    let weights = target.weights(setup, &State::dressed(setup));
    let sites = setup.sites.iter().zip(weights);
    sites
        .filter_map(|(site, weight)| match site.owner {
            Owner::Body(place) if weight > 0.0 => Some(setup.library.places[place].id.as_str()),
            _ => None,
        })
        .collect()
}

impl LampExercise {
    /// An exercise that is like a scenario, done by a sequence of it.
    ///
    /// # Errors
    /// A sentence: there is no such scenario or sequence, or it cannot be set up.
    pub fn begin(
        library: &Arc<Library>,
        (scenario, sequence): (&str, &str),
        began: Moment,
        lesson: Option<Named>,
    ) -> Result<LampExercise, String> {
        let scenario = library
            .scenario(scenario)
            .ok_or_else(|| format!("there is no scenario `{scenario}`"))?;
        let sequence = library
            .sequence(sequence)
            .ok_or_else(|| format!("there is no sequence `{sequence}`"))?;
        let setup = Setup::new(library.clone(), scenario).map_err(|e| e.to_string())?;
        let named = |id: &str, label: &str| Named {
            id: id.to_owned(),
            label: label.to_owned(),
        };
        Ok(LampExercise {
            kept: Exercise {
                scenario: named(&scenario.id, &scenario.label),
                sequence: named(&sequence.id, &sequence.label),
                began,
                lesson,
                ward: None,
                people: Vec::new(),
            },
            sequence: sequence.id.clone(),
            setup: Arc::new(setup),
            marked: BTreeSet::new(),
            expected: None,
        })
    }

    /// Marks a place of the person who is entered now, or unmarks it. What is no place of the body is passed over.
    pub fn glow(&mut self, place: &str) {
        if self.setup.library.place(place).is_some() && !self.marked.remove(place) {
            self.marked.insert(place.to_owned());
        }
    }

    /// This person is entered with what is marked, which may be nothing; the next has nothing marked yet.
    pub fn next_person(&mut self) {
        let places = std::mem::take(&mut self.marked);
        self.kept.people.push(places.into_iter().collect());
    }

    /// This person glowed nowhere, whatever was marked; the next, please.
    pub fn nowhere(&mut self) {
        self.marked.clear();
        self.next_person();
    }

    /// Unmarks what is marked; if nothing is, takes the person who was entered last back on to the map.
    pub fn undo(&mut self) {
        if self.marked.is_empty() {
            self.marked.extend(self.kept.people.pop().unwrap_or_default());
        } else {
            self.marked.clear();
        }
    }

    /// What is kept of it: everybody entered, and whoever is marked on the map. None if there is nobody.
    pub fn result(&self) -> Option<Exercise> {
        let mut kept = self.kept.clone();
        if !self.marked.is_empty() {
            kept.people.push(self.marked.iter().cloned().collect());
        }
        (!kept.people.is_empty()).then_some(kept)
    }

    /// Asks what the model expects, beside the window: people with usual practice who go by the sequence.
    pub fn compare(&mut self) {
        if self.expected.is_some() {
            return;
        }
        let (setup, sequence) = (self.setup.clone(), self.sequence.clone());
        let usual = setup.library.people().find(|(trainee, _)| !trainee.is_flawless());
        let Some(usual) = usual.map(|(trainee, _)| trainee.id.clone()) else {
            self.expected = Some(Answer::none("the content knows no people with lapses".to_owned()));
            return;
        };
        let repeats = usual_doubt_repeats(USUAL_REPEATS);
        let total = doubt_work(sets_of(&setup), 1, repeats);
        self.expected = Some(Answer::start(total, move |progress| {
            let asking = Asking {
                setup: &setup,
                doing: Doing::Sequence(&sequence),
                trainee: &usual,
            };
            let found = doubted(&[asking], &TOLD, repeats, USUAL_SEED, progress)?;
            let found = found.ok_or("the content has no versions of the model to say how sure it is")?;
            Ok(found.ways[0].iter().map(|doubt| doubt.seen).collect())
        }));
    }

    /// Fetches the expectation if it is ready; true if something changed.
    pub fn poll(&mut self) -> bool {
        self.expected.as_mut().is_some_and(Answer::poll)
    }

    /// True while the expectation is worked out.
    pub fn working(&self) -> bool {
        self.expected.as_ref().and_then(Answer::working).is_some()
    }

    /// How many glowed at each part that answers speak of, and nowhere; and how many people there are.
    pub fn glowed(&self) -> (Vec<(Says, u64)>, u64) {
        let people = &self.kept.people;
        let parts = LessonTarget::GLOW.map(|(_, part)| {
            let places = Target::of_word(part.word()).map(|target| places_of(&self.setup, target));
            (Says::At(part), self.kept.glowed(&places.unwrap_or_default()))
        });
        let nowhere = people.iter().filter(|places| places.is_empty()).count() as u64;
        (
            parts.into_iter().chain([(Says::Nowhere, nowhere)]).collect(),
            people.len() as u64,
        )
    }

    /// What the page shows.
    pub fn view(&self) -> ExerciseView {
        let library = &self.setup.library;
        let of = self.kept.people.len() as u64;
        let at = |target: Target| self.kept.glowed(&places_of(&self.setup, target));
        let places: Vec<PlaceView> = library
            .places
            .iter()
            .filter_map(|place| {
                let (front, x, y) = place_on_body(&place.id)?;
                Some(PlaceView {
                    id: place.id.clone(),
                    label: place.label.clone(),
                    front,
                    x,
                    y,
                    marked: self.marked.contains(&place.id),
                    people: self.kept.glowed(&[&place.id]),
                })
            })
            .collect();
        let found = self.expected.as_ref().and_then(Answer::found);
        let compared = match found {
            Some(Ok(expected)) if of > 0 => TOLD
                .iter()
                .zip(expected)
                .map(|(target, expected)| compared(target.label(), (at(*target), of), *expected))
                .collect(),
            _ => Vec::new(),
        };
        let sub = format!("{} · {}", self.kept.scenario.label, self.kept.sequence.label);
        let marks: Vec<BodyMark> = places
            .iter()
            .filter(|place| place.people > 0)
            .map(|place| BodyMark {
                label: place.label.clone(),
                front: place.front,
                at: (f64::from(place.x), f64::from(place.y)),
                hits: place.people,
            })
            .collect();
        ExerciseView {
            picture: (of > 0).then(|| {
                let beneath = format!("{sub} · {}", many_people(of));
                body_picture("Where it glowed, in this room", &beneath, &marks, of)
            }),
            sub,
            places,
            people: self.kept.people.len(),
            marked: self.marked.len(),
            counts: TOLD
                .iter()
                .map(|target| (sentence(target.label()), at(*target)))
                .collect(),
            working: self.expected.as_ref().and_then(Answer::working).map(Work::share),
            compared,
            trouble: match found {
                Some(Err(why)) => Some(sentence(why)),
                _ => None,
            },
        }
    }
}

/// Counted beside expected. Ranges that overlap are no proof, and it is not said that they are.
fn compared(label: &str, (hits, of): (u64, u64), expected: Ranged) -> ComparedView {
    let interval = wilson(hits, of);
    let verdict = if interval.low > expected.range.high {
        "more than the model expects: the two ranges do not meet"
    } else if interval.high < expected.range.low {
        "fewer than the model expects: the two ranges do not meet"
    } else {
        "the two ranges overlap, so this count does not speak against the model"
    };
    let few = match of {
        few if few < FEW => format!("; with {} little can be ruled out", many_people(few)),
        _ => String::new(),
    };
    ComparedView {
        label: sentence(label),
        counted: (hits, of),
        interval,
        expected,
        sentence: format!(
            "{}: {hits} of {} glowed, which fits {}; the model expects {} with usual practice: {verdict}{few}",
            sentence(label),
            many_people(of),
            range_of_hundred(interval),
            ranged_people(expected),
        ),
    }
}

/// `1 person`, `12 people`.
pub(super) fn many_people(number: u64) -> String {
    match number {
        1 => "1 person".to_owned(),
        _ => format!("{} people", count(number)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::Content;

    fn exercise() -> LampExercise {
        let content = Content::builtin().unwrap_or_else(|e| panic!("the built-in content is sound: {e}"));
        let began = Moment::parse("2026-03-01T09:00:00+01:00").unwrap_or_else(|e| panic!("{e}"));
        LampExercise::begin(
            &content.library,
            ("classic-tracer", "us-gloves-first"),
            began,
            None,
        )
        .unwrap_or_else(|e| panic!("{e}"))
    }

    #[test]
    fn people_are_entered_taken_back_and_counted() {
        let mut exercise = exercise();
        assert_eq!(exercise.result(), None, "nobody was there");
        exercise.glow("left-palm");
        exercise.glow("neck-back");
        exercise.glow("no-such-place");
        exercise.next_person();
        exercise.glow("left-palm");
        exercise.glow("right-thumb");
        exercise.glow("left-palm");
        exercise.next_person();
        exercise.glow("chin");
        exercise.nowhere();
        let people = |e: &LampExercise| e.result().map(|r| r.people);
        let [one, two] = [&["left-palm", "neck-back"][..], &["right-thumb"]];
        let list = |all: &[&[&str]]| -> Option<Vec<Vec<String>>> {
            let each = all.iter().map(|p| p.iter().map(|x| (*x).to_owned()).collect());
            Some(each.collect())
        };
        assert_eq!(people(&exercise), list(&[one, two, &[]]));
        let (glowed, of) = exercise.glowed();
        assert_eq!(of, 3);
        for (says, wanted) in [
            (Says::At(LessonTarget::Hands), 2),
            (Says::At(LessonTarget::Neck), 1),
            (Says::At(LessonTarget::FaceSkin), 0),
            (Says::Nowhere, 1),
        ] {
            assert!(glowed.contains(&(says, wanted)), "{says:?} in {glowed:?}");
        }
        exercise.undo();
        assert_eq!(people(&exercise), list(&[one, two]));
        exercise.undo();
        assert_eq!(exercise.view().marked, 1, "the second is on the map again");
        assert_eq!(people(&exercise), list(&[one, two]), "and is not lost");
        exercise.undo();
        assert_eq!(people(&exercise), list(&[one]));
        let view = exercise.view();
        assert_eq!(view.counts[0], ("Any bare skin".to_owned(), 1));
        let palm = view.places.iter().find(|p| p.id == "left-palm").expect("a place");
        assert_eq!((palm.people, palm.marked), (1, false));
        assert!(view.compared.is_empty(), "nothing is told before it is asked for");
    }

    /// 6 of 8 by Wilson's formula: middle (0.75 + 3.8415/16) / 1.4802 = 0.6689, half width 1.96 / 1.4802 times the root of
    /// 0.1875/8 + 3.8415/256 = 0.2596: 41 to 93 of 100.
    #[test]
    fn what_is_said_goes_by_whether_ranges_meet_and_by_how_many_there_were() {
        let ranged = |low: f64, median: f64, high: f64| Ranged {
            median,
            range: Interval { low, high },
        };
        let row = compared("hands and wrists", (6, 8), ranged(0.2, 0.35, 0.5));
        assert!((row.interval.low - 0.4093).abs() < 5e-4 && (row.interval.high - 0.9285).abs() < 5e-4);
        assert_eq!(
            row.sentence,
            "Hands and wrists: 6 of 8 people glowed, which fits 41 to 93 of 100 people; the model expects 20 to 50 of 100 people, median 35 \
             with usual practice: the two ranges overlap, so this count does not speak against the model; with 8 people little can be ruled out"
        );
        let more = compared("neck", (6, 8), ranged(0.1, 0.2, 0.4)).sentence;
        assert!(
            more.contains("more than the model expects: the two ranges do not meet"),
            "{more}"
        );
        // 0 of 20: 0 to 16 of 100 (learning.md, worked example L8).
        let fewer = compared("neck", (0, 20), ranged(0.2, 0.5, 0.9)).sentence;
        assert!(fewer.contains("fewer than the model expects"), "{fewer}");
        assert!(!fewer.contains("ruled out"), "twenty are no few: {fewer}");
        assert!(
            compared("neck", (0, 20), ranged(0.16, 0.5, 0.9))
                .sentence
                .contains("overlap")
        );
        let one = compared("neck", (1, 1), ranged(0.16, 0.5, 0.9)).sentence;
        assert!(
            one.contains("1 of 1 person glowed") && one.contains("with 1 person little"),
            "{one}"
        );
    }

    #[test]
    fn every_part_that_answers_speak_of_has_places_and_none_is_in_two() {
        let exercise = exercise();
        let mut seen = BTreeSet::new();
        for (_, part) in LessonTarget::GLOW {
            let target = Target::of_word(part.word()).expect("a target");
            let places = places_of(&exercise.setup, target);
            assert!(!places.is_empty(), "{part:?}");
            for place in places {
                assert!(seen.insert(place.to_owned()), "{place} is in two parts");
            }
        }
    }
}
