//! What the tests share: the built-in content, scenarios set up once, scripts played, and scratch folders.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use smirch::content::Content;
use smirch::drill::{Action, Drill, Script};
use smirch::guidance::Group;
use smirch::model::{FaultUse, Hands, Pace, Sequence, Setup};

/// The content that the program carries.
pub fn content() -> &'static Content {
    static CONTENT: LazyLock<Content> =
        LazyLock::new(|| Content::builtin().unwrap_or_else(|e| panic!("built-in content has faults:\n{e}")));
    &CONTENT
}

/// A built-in scenario, set up once for all tests.
pub fn setup(scenario: &str) -> Arc<Setup> {
    static SETUPS: LazyLock<Mutex<HashMap<String, Arc<Setup>>>> = LazyLock::new(Mutex::default);
    let mut setups = SETUPS.lock().unwrap_or_else(PoisonError::into_inner);
    setups
        .entry(scenario.to_owned())
        .or_insert_with(|| {
            let library = &content().library;
            let scenario = library
                .scenario(scenario)
                .unwrap_or_else(|| panic!("there is no built-in scenario `{scenario}`"));
            Arc::new(
                Setup::new(library.clone(), scenario).unwrap_or_else(|e| panic!("`{}`: {e}", scenario.id)),
            )
        })
        .clone()
}

/// A scenario whose kit is spattered with spots, of `tests/data`.
pub fn spattered() -> Arc<Setup> {
    static SPATTERED: LazyLock<Arc<Setup>> = LazyLock::new(|| {
        let path = Path::new("tests/data/spattered-gown.ron");
        let (content, id) = content()
            .scenario_file(path)
            .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let scenario = content.library.scenario(&id).expect("it was just read");
        Arc::new(Setup::new(content.library.clone(), scenario).unwrap_or_else(|e| panic!("{id}: {e}")))
    });
    SPATTERED.clone()
}

/// A built-in script by name.
pub fn script(name: &str) -> &'static Script {
    content()
        .scripts
        .get(name)
        .unwrap_or_else(|| panic!("there is no built-in script `{name}`"))
}

/// A drill of a scenario with every action done; a refusal fails the test with its reason.
pub fn play(scenario: &str, actions: &[Action], seed: u64) -> Drill {
    let mut drill = Drill::begin(setup(scenario), seed);
    for (n, action) in actions.iter().enumerate() {
        if let Err(refusal) = drill.act(action.clone()) {
            panic!(
                "{scenario}, seed {seed}: action {} {action:?} is refused: {refusal}",
                n + 1
            );
        }
    }
    drill
}

/// A built-in script played in the scenario it was written for.
pub fn play_script(name: &str, seed: u64) -> Drill {
    let script = script(name);
    play(&script.scenario, &script.actions, seed)
}

/// Organisms in some groups now.
pub fn count_in(drill: &Drill, groups: &[Group]) -> u64 {
    let setup = drill.setup();
    (0..setup.sites.len())
        .filter(|&site| groups.contains(&Group::of(setup, drill, site)))
        .map(|site| drill.books().total(site))
        .sum()
}

/// A technique on an item with its usual hand, at steady pace.
pub fn take(technique: &str, item: &str) -> Action {
    Action::Do {
        technique: technique.to_owned(),
        item: Some(item.to_owned()),
        hand: None,
        pace: Pace::Steady,
    }
}

/// What is in some hands goes into the bin.
pub fn bin(hand: Hands) -> Action {
    Action::Do {
        technique: "bin-by-pedal".to_owned(),
        item: None,
        hand: Some(hand),
        pace: Pace::Steady,
    }
}

/// Two doses of a product for so many seconds.
pub fn clean(product: &str, seconds: f64) -> Action {
    Action::Clean {
        product: product.to_owned(),
        doses: 2,
        seconds,
        skip: Vec::new(),
        forearms: false,
    }
}

/// A folder that goes when the test ends.
pub struct Scratch(PathBuf);

impl Scratch {
    /// A new empty folder.
    pub fn new(name: &str) -> Scratch {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let unique = format!(
            "{name}-{}-{}",
            std::process::id(),
            NEXT.fetch_add(1, Ordering::Relaxed)
        );
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(unique);
        std::fs::create_dir_all(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
        Scratch(folder)
    }

    /// A path in the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    /// Writes a file into the folder.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, bytes).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        path
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Small, fast numbers for choosing test cases: SplitMix64 (Steele, Lea and Flood 2014). Not the product's luck.
pub struct Dice(pub u64);

impl Dice {
    /// Any number.
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut x = self.0;
        x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        x ^ (x >> 31)
    }

    /// A number below a bound that is not zero.
    pub fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound as u64) as usize
    }

    /// A fraction in [0, 1).
    pub fn fraction(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// A built-in sequence without a colleague's look over at the end.
pub fn not_looked_over(id: &str) -> Sequence {
    let mut sequence = content().library.sequence(id).expect("built in").clone();
    let before = sequence.steps.len();
    sequence.steps.retain(|step| step.id != "looked-over");
    assert_eq!(sequence.steps.len() + 1, before, "{id}: nobody looks");
    sequence
}

/// A scenario with these faults and no others.
pub fn with_faults(id: &str, faults: &[(&str, Option<&str>, f64)]) -> Arc<Setup> {
    let mut scenario = setup(id).scenario.clone();
    let faults = faults.iter().map(|&(fault, item, chance)| FaultUse {
        fault: fault.to_owned(),
        item: item.map(str::to_owned),
        chance,
    });
    scenario.faults = faults.collect();
    Arc::new(Setup::new(content().library.clone(), &scenario).expect("it has these faults"))
}

/// The faults of one file, beside what lies with it, as they are printed.
pub fn faults_of(path: PathBuf) -> Vec<String> {
    let checked = content().check(&[path]);
    checked.faults.iter().map(ToString::to_string).collect()
}
