//! Lessons: what stands in the built-in ones is true or has its source, what is asked is laid beside what the odds really say, and
//! what was counted is kept without names and disturbs no other reader of a register.

use std::sync::{Arc, Mutex};

use smirch::analysis::{
    Asking, Doing, Progress, Target, USUAL_REPEATS, USUAL_SEED, Verdict, doubted, usual_doubt_repeats,
};
use smirch::drill::Drill;
use smirch::model::{DuelWay, Lesson, LessonKind, LessonStep, Says};
use smirch::record::{Purpose, Terms};
use smirch::register::{ENTRY_FORMAT, Entry, Moment, Register, Station, What, due, tally};
use smirch::view::borne::{Borne, borne};
use smirch::view::class::Stage;
use smirch::view::{Command, Desk, Page, Watch};

use crate::cli::{run, text};
use crate::fixture::{Scratch, content, setup};

fn lessons() -> &'static [Lesson] {
    let lessons = &content().library.lessons;
    assert!(lessons.len() >= 2, "a class and a huddle");
    lessons
}

/// Everything that is said in a step, on the wall and to the trainer, without what duels say.
fn words(step: &LessonStep) -> Vec<&str> {
    let mut words = vec![&*step.heading, &*step.notes];
    match &step.kind {
        LessonKind::Say(text) | LessonKind::Discuss(text) => words.push(text),
        LessonKind::Ask(ask) => words.push(&ask.question),
        _ => {}
    }
    words
}

#[test]
fn a_class_and_a_huddle_are_there_and_their_minutes_add_up() {
    let mut minutes: Vec<u32> = lessons().iter().map(|l| l.minutes).collect();
    minutes.sort_unstable();
    assert_eq!(minutes, [15, 45]);
    for lesson in lessons() {
        assert_eq!(
            lesson.steps.iter().map(|s| s.minutes).sum::<u32>(),
            lesson.minutes
        );
        assert!(lesson.steps.iter().all(|s| !s.notes.is_empty()), "{}", lesson.id);
    }
}

/// Hands go up before anything is shown, and the right way is done before anybody sees another.
#[test]
fn what_is_shown_was_asked_before_and_the_right_way_comes_first() {
    for lesson in lessons() {
        let place = |wanted: &dyn Fn(&LessonKind) -> bool| lesson.steps.iter().position(|s| wanted(&s.kind));
        let right = place(&|kind| matches!(kind, LessonKind::Try { .. })).expect("it is done once");
        let pair = place(&|kind| matches!(kind, LessonKind::Watch(_) | LessonKind::Odds { .. }));
        assert!(right < pair.expect("a pair is shown"), "{}", lesson.id);
        for (n, step) in lesson.steps.iter().enumerate() {
            let (shown, asked): (&str, Vec<usize>) = match &step.kind {
                LessonKind::Odds { duel, .. } => {
                    (duel, lesson.laid_against(&step.id).map(|(n, _)| n).collect())
                }
                LessonKind::Exercise { .. } => ("", lesson.laid_against(&step.id).map(|(n, _)| n).collect()),
                _ => continue,
            };
            assert!(
                !asked.is_empty(),
                "{}: nobody is asked before {}",
                lesson.id,
                step.id
            );
            assert!(asked.iter().all(|asked| *asked < n));
            let watched = lesson.steps[..n]
                .iter()
                .position(|s| matches!(&s.kind, LessonKind::Watch(duel) if duel == shown));
            assert!(
                watched.is_none_or(|watched| asked[0] < watched),
                "{}: {shown} is watched before anybody is asked",
                lesson.id
            );
        }
    }
}

/// A number is a fact: where one stands, there is a source. Claims have theirs by the reader's own rule.
#[test]
fn whatever_is_counted_in_a_lesson_has_its_source() {
    let counted = |text: &str| {
        let fact = text.split_whitespace().any(|word| {
            word.trim_matches(|c: char| !c.is_alphanumeric())
                .chars()
                .all(|c| c.is_ascii_digit())
                && word.chars().any(|c| c.is_ascii_digit())
        });
        fact || ["study", "studies", "trial", "course", "compared"]
            .iter()
            .any(|word| text.contains(word))
    };
    let mut facts = 0;
    for lesson in lessons() {
        for step in &lesson.steps {
            if let LessonKind::Evidence(claims) = &step.kind {
                assert!(!claims.is_empty());
                assert!(claims.iter().all(|c| !c.sources.is_empty()), "{}", step.id);
                facts += claims.len();
                continue;
            }
            for said in words(step).into_iter().filter(|said| counted(said)) {
                facts += 1;
                assert!(!step.sources.is_empty(), "{}: {}: {said}", lesson.id, step.id);
            }
        }
    }
    assert!(facts >= 8, "{facts}: the facts are not found");
}

/// No lesson says beforehand which answer is right: which is, odds and room say.
#[test]
fn answers_that_name_a_side_are_called_as_the_pair_calls_them_or_speak_of_it() {
    for lesson in lessons() {
        for step in &lesson.steps {
            let LessonKind::Ask(ask) = &step.kind else {
                continue;
            };
            let against = ask.against.as_deref().and_then(|id| lesson.step(id));
            let Some(LessonKind::Odds { duel, .. }) = against.map(|n| &lesson.steps[n].kind) else {
                continue;
            };
            let duel = content().library.duel(duel).expect("a pair");
            for answer in &ask.answers {
                let side = match answer.says {
                    Some(Says::First) => &duel.sides[0].label,
                    Some(Says::Second) => &duel.sides[1].label,
                    _ => continue,
                };
                // Its own words may put the label into a sentence, but they have all of its long words.
                let told = answer.text.to_lowercase();
                let lacks = side
                    .to_lowercase()
                    .split(' ')
                    .find(|word| !["the", "after", "gloves"].contains(word) && !told.contains(*word))
                    .map(str::to_owned);
                assert_eq!(lacks, None, "{}: `{}` for `{side}`", step.id, answer.text);
            }
        }
    }
}

/// Someone who is told what to keep.
#[derive(Clone, Default)]
struct Kept(Arc<Mutex<Vec<Entry>>>, Arc<Mutex<Vec<Purpose>>>);

impl Kept {
    fn all(&self) -> Vec<Entry> {
        self.0.lock().expect("nobody panicked").clone()
    }
}

impl Watch for Kept {
    fn taught(&mut self, entries: &[Entry]) {
        self.0.lock().expect("nobody panicked").extend_from_slice(entries);
    }

    fn began(&mut self, _: &Drill, terms: &Terms) {
        self.1.lock().expect("nobody panicked").push(terms.purpose);
    }
}

fn desk(lesson: &str) -> (Desk, Kept) {
    let mut desk = Desk::new(content().clone(), || 7);
    let kept = Kept::default();
    desk.watched_by(Box::new(kept.clone()));
    let index = lessons().iter().position(|l| l.id == lesson).expect("built in");
    desk.apply(Command::Lessons);
    assert_eq!(desk.page(), Page::Lesson);
    assert!(!desk.lesson_is_open());
    desk.apply(Command::Lesson(index));
    (desk, kept)
}

fn at(desk: &mut Desk, lesson: &str, step: &str) {
    let lesson = content().library.lesson(lesson).expect("built in");
    let wanted = lesson.step(step).unwrap_or_else(|| panic!("no step {step}")) + 1;
    while now(desk) < wanted {
        desk.apply(Command::LessonOn);
    }
    assert_eq!(now(desk), wanted);
}

fn now(desk: &Desk) -> usize {
    let page = desk.lesson_page().expect("the page of the lesson");
    page.lesson.expect("a lesson").at.0
}

fn results(desk: &Desk) -> Vec<String> {
    let page = desk.lesson_page().expect("the page of the lesson");
    page.lesson.expect("a lesson").shown.results
}

/// A huddle from its beginning to its end: the sentence is that of the verdict which the odds really give.
#[test]
fn hands_stand_beside_what_the_odds_really_say() {
    let (mut desk, kept) = desk("straps-huddle");
    at(&mut desk, "straps-huddle", "ask-front");
    desk.apply(Command::Hands(0, 3));
    desk.apply(Command::OneHand(1));
    at(&mut desk, "straps-huddle", "watch-front");
    desk.apply(Command::LessonOpen);
    assert_eq!(desk.page(), Page::Class);
    let class = desk.class_view().expect("a pair");
    assert_eq!(class.stage, Stage::Watch);
    desk.apply(Command::Back);
    assert_eq!(
        desk.page(),
        Page::Lesson,
        "back to the lesson and not to the first page"
    );
    desk.apply(Command::LessonOn);
    desk.apply(Command::LessonOpen);
    assert_eq!(desk.class_view().map(|class| class.stage), Some(Stage::Odds));
    // The trainer goes back while they are counted.
    desk.apply(Command::ToLesson);
    assert!(results(&desk).is_empty());
    while desk.working() {
        desk.apply(Command::Poll);
        std::thread::yield_now();
    }
    desk.apply(Command::Poll);
    let said = results(&desk);
    desk.apply(Command::LessonOpen);
    let odds = desk
        .class_view()
        .and_then(|class| class.odds)
        .expect("they are counted");
    assert_eq!(
        odds.guess.as_ref(),
        said.first(),
        "the page of the odds says the same"
    );
    assert_eq!(
        odds.targets.iter().find(|(_, on)| *on).map(|(t, _)| &**t),
        Some("Hands and wrists")
    );
    let library = &content().library;
    let duel = library.duel("straps-or-front").expect("built in");
    let setup = setup(&duel.scenario);
    for (trainee, people) in library.people() {
        let asked: Vec<Asking<'_>> = duel
            .sides
            .iter()
            .map(|side| {
                let DuelWay::Sequence(id) = &side.way else {
                    panic!("both go by a sequence")
                };
                Asking {
                    setup: &setup,
                    doing: Doing::Sequence(id),
                    trainee: &trainee.id,
                }
            })
            .collect();
        let progress = Progress::default();
        let repeats = usual_doubt_repeats(USUAL_REPEATS);
        let found = doubted(&asked, &[Target::Hands], repeats, USUAL_SEED, &progress);
        let found = found.expect("it can be played").expect("versions of the model");
        let verdict = found.pairs[0][0].verdict(library.telling.as_ref().expect("how it is told"));
        let [first, second] = [Says::First, Says::Second].map(|says| borne(says, verdict));
        let agrees = said[0].contains("the odds agree with \u{201c}by the straps\u{201d}");
        assert_eq!(first == Borne::Out, agrees, "{people}: {verdict:?}: {said:?}");
        assert_ne!(second, Borne::Out, "{people}: {verdict:?}");
        assert_eq!(
            verdict,
            Verdict::FirstLess,
            "the lesson's own duel is held to its sentence"
        );
    }
    assert!(
        said[0].starts_with(
            "Of 4 hands, 3 said \u{201c}by the straps\u{201d} and 1 \u{201c}by the front\u{201d}; "
        ),
        "{said:?}"
    );
    desk.apply(Command::ToLesson);
    desk.apply(Command::LessonTick(65.0));
    assert!(kept.all().is_empty(), "it goes on");
    desk.apply(Command::LessonEnd);
    assert!(!desk.lesson_is_open());
    let all = kept.all();
    let [entry] = &all[..] else { panic!("{all:?}") };
    let What::Lesson(given) = &entry.what else {
        panic!("{entry:?}")
    };
    assert_eq!((entry.person.as_ref(), entry.format), (None, ENTRY_FORMAT));
    assert_eq!((given.seconds, given.steps), (65.0, (5, 7)));
    assert_eq!(given.asked[0].shown.as_ref(), said.first());
    assert_eq!(given.asked[0].hands(), 4);
}

#[test]
fn a_lesson_stays_open_beside_a_drill_and_puts_back_what_was_chosen() {
    let (mut desk, kept) = desk("order-class");
    let chosen = desk.settings().clone();
    at(&mut desk, "order-class", "right-first");
    desk.apply(Command::LessonOpen);
    assert_eq!(desk.page(), Page::Drill);
    assert_eq!(desk.sequence().map(|s| &*s.id), Some("us-gloves-first"));
    assert!(desk.lamp(), "a first demonstration is lit");
    desk.apply(Command::Wait);
    desk.apply(Command::ToLesson);
    assert_eq!((desk.page(), now(&desk)), (Page::Lesson, 2));
    desk.apply(Command::LessonOpen);
    assert_eq!(
        desk.drill().map(|d| d.done().len()),
        Some(1),
        "it goes on where it stood"
    );
    desk.apply(Command::FinishAnyway);
    assert_eq!(desk.page(), Page::Debrief);
    desk.apply(Command::Home);
    assert_eq!(desk.page(), Page::Lesson);
    desk.apply(Command::Back);
    assert_eq!(desk.page(), Page::Start);
    assert!(desk.lesson_is_open(), "a key pressed by mistake costs nothing");
    // Somebody practises meanwhile: that is no part of the lesson.
    desk.apply(Command::Begin);
    desk.apply(Command::ToLesson);
    assert_eq!(
        *kept.1.lock().expect("nobody panicked"),
        [Purpose::Class, Purpose::Practice]
    );
    assert_eq!(now(&desk), 2);
    desk.apply(Command::Lesson(1));
    assert_eq!(kept.all().len(), 1, "whoever begins another ends this one");
    drop(desk);
    assert_eq!(kept.all().len(), 1, "nothing happened in the other");
    assert_eq!((chosen.scenario, chosen.sequence), {
        let (desk, _) = self::desk("order-class");
        (desk.settings().scenario, desk.settings().sequence)
    });
}

#[test]
fn an_exercise_is_entered_shown_beside_hands_and_kept_when_the_window_closes() {
    let (mut desk, kept) = desk("order-class");
    desk.apply(Command::Ward("4 a".to_owned()));
    at(&mut desk, "order-class", "ask-glow");
    desk.apply(Command::Hands(0, 5));
    at(&mut desk, "order-class", "exercise");
    desk.apply(Command::Glow("left-palm".to_owned()));
    desk.apply(Command::NextPerson);
    desk.apply(Command::GlowNowhere);
    desk.apply(Command::Glow("right-palm".to_owned()));
    desk.apply(Command::NextPerson);
    let said = "Of 5 hands, 5 said \u{201c}hands and wrists\u{201d}; in this room the commonest was \u{201c}hands and wrists\u{201d}: 2 of 3 people";
    assert_eq!(results(&desk), [said]);
    let page = desk.lesson_page().and_then(|page| page.lesson).expect("a lesson");
    let exercise = page.exercise.expect("an exercise");
    assert_eq!(exercise.people, 3);
    assert!(exercise.picture.is_some() && exercise.compared.is_empty());
    desk.apply(Command::LessonOn);
    desk.apply(Command::LessonBack);
    assert_eq!(results(&desk), [said], "what was entered stays");
    desk.apply(Command::ExerciseCompare);
    while desk.working() {
        desk.apply(Command::Poll);
        std::thread::yield_now();
    }
    desk.apply(Command::Poll);
    let page = desk.lesson_page().and_then(|page| page.lesson).expect("a lesson");
    let compared = page.exercise.expect("an exercise").compared;
    assert_eq!(compared.len(), Target::PERSON.len());
    for row in &compared {
        assert!(
            row.expected.range.low <= row.expected.median && row.expected.median <= row.expected.range.high
        );
        let apart = row.interval.low > row.expected.range.high || row.interval.high < row.expected.range.low;
        assert_eq!(apart, row.sentence.contains("do not meet"), "{}", row.sentence);
    }
    drop(desk);
    let all = kept.all();
    let [exercise, lesson] = &all[..] else {
        panic!("{all:?}")
    };
    let (What::Exercise(exercise), What::Lesson(lesson)) = (&exercise.what, &lesson.what) else {
        panic!("{all:?}")
    };
    assert_eq!(
        exercise.people,
        [
            vec!["left-palm".to_owned()],
            vec![],
            vec!["right-palm".to_owned()]
        ]
    );
    assert_eq!(exercise.ward.as_ref().map(|w| w.as_str()), Some("4 a"));
    assert_eq!(exercise.lesson.as_ref(), Some(&lesson.lesson));
    assert_eq!(lesson.asked[0].shown.as_deref(), Some(said));
}

/// Entries of lessons and exercises lie beside attempts, and every reader of attempts passes them over.
#[test]
fn what_lessons_leave_disturbs_no_other_reader() {
    let scratch = Scratch::new("lessons-kept");
    let folder = scratch.path("register");
    let register = Register::at(folder.clone());
    let station = Station::new(register.clone(), scratch.path("waiting"));
    let rules = content().library.register.as_ref().expect("rules");
    let attempt = crate::register::attempt("classic-tracer/uk-agp-good", 3);
    let attempt = crate::register::entry(Some("K7"), attempt, "2026-03-01T09:00:00+01:00");
    assert_eq!(attempt.format, 1, "older programs read it as before");
    station.keep(&attempt).expect("kept");
    let (mut desk, kept) = desk("order-class");
    at(&mut desk, "order-class", "ask-glow");
    desk.apply(Command::Hands(1, 5));
    at(&mut desk, "order-class", "exercise");
    desk.apply(Command::GlowNowhere);
    desk.apply(Command::LessonEnd);
    for entry in kept.all() {
        assert_eq!(entry.format, 2);
        station.keep(&entry).expect("kept");
    }
    let reading = register.read().expect("listed");
    assert_eq!(reading.found.len(), 3);
    assert!(reading.left_out().is_empty(), "{:?}", reading.left_out());
    for entry in kept.all() {
        assert!(reading.found.contains(&entry), "it is read as it was written");
    }
    let now = Moment::now();
    let list = due(&register, rules, now).expect("listed");
    assert_eq!((list.rows.len(), list.nobodys), (1, 0));
    assert!(list.reading.left_out().is_empty());
    let (tally, rest) = tally(&register, rules, &Default::default()).expect("listed");
    assert_eq!((tally.attempts, tally.people), (1, 1));
    assert!(rest.left_out().is_empty(), "{:?}", rest.left_out());
    let other = Register::at(scratch.path("other"));
    assert_eq!(other.import(&register).expect("merged").new, 3);
    let place = ["--register", text(&folder)];
    let register = |more: &[&str]| run(&[&["register"], more, &place].concat());
    register(&["check"]).ends(0).prints(&["3 entries sound"]);
    let listed = register(&["list"]).ends(0).out;
    assert_eq!(listed.lines().count(), 2, "{listed}");
    let (csv, json) = (scratch.path("taught.csv"), scratch.path("all.json"));
    register(&["taught", "--csv", text(&csv)])
        .ends(0)
        .prints(&["order-class", "Neck", "hands"]);
    register(&["taught", "--exercises"])
        .ends(0)
        .prints(&["classic-tracer"]);
    register(&["taught", "--ward", "9 z"]).ends(0);
    register(&["taught", "--group", "nurse"])
        .ends(2)
        .complains(&["hint"]);
    let table = std::fs::read_to_string(&csv).expect("written");
    assert!(
        table.starts_with("date,ward,lesson,question,answer,hands,of,shown,id\r\n"),
        "{table}"
    );
    register(&["export", "--json", text(&json)])
        .ends(0)
        .prints(&["1 attempt"]);
    register(&["forget", "K7"]).ends(0).prints(&["1 entry removed"]);
    register(&["check"]).ends(0).prints(&["2 entries sound"]);
}

#[test]
fn lessons_are_listed_and_their_notes_are_written() {
    run(&["lesson", "list"])
        .ends(0)
        .prints(&["order-class", "45 min", "straps-huddle", "15 min"]);
    run(&["list", "lessons"]).ends(0).prints(&["order-class"]);
    run(&["lesson", "notes", "straps-hudle"])
        .ends(2)
        .complains(&["unknown lesson", "straps-huddle"]);
    let scratch = Scratch::new("lesson-notes");
    let page = scratch.path("notes.html");
    run(&["lesson", "notes", "order-class"]).ends(0).prints(&[
        "from minute 0",
        "needed:",
        "Read the question",
    ]);
    run(&["lesson", "notes", "order-class", "--out", text(&page)]).ends(0);
    let page = std::fs::read_to_string(page).expect("written");
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("What has to be there"));
}

#[test]
fn a_lesson_of_ones_own_lies_beside_those_built_in() {
    let scratch = Scratch::new("own-lesson");
    std::fs::create_dir_all(scratch.path("mine/assets/lessons")).expect("made");
    let own = "(format: 1, id: \"ours\", label: \"Ours\", minutes: 3, audience: \"us\", steps: [\n\
               Say(id: \"a\", minutes: 1, heading: \"A\", text: \"Hello.\"),\n\
               Ask(id: \"b\", minutes: 1, heading: \"B\", question: \"Well?\", answers: [(text: \"Yes\"), (text: \"No\")]),\n\
               Discuss(id: \"c\", minutes: 1, heading: \"C\", text: \"Why?\"),\n])";
    let file = scratch.write("mine/assets/lessons/ours.ron", own);
    let mine = scratch.path("mine");
    run(&["check", text(&file)]).ends(0);
    run(&["lesson", "list", "--content", text(&mine)])
        .ends(0)
        .prints(&["ours\t3 min", "order-class"]);
    scratch.write(
        "mine/assets/lessons/ours.ron",
        own.replace("minutes: 3", "minutes: 4"),
    );
    run(&["check", text(&file)]).ends(1).prints(&[
        "said to take 4 minutes, but its steps take 3",
        "write `minutes: 3`",
    ]);
}
