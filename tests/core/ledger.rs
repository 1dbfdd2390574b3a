//! The books kept a second time from what is exported: the JSON's start counts and the CSV's rows, nothing else.

use std::collections::BTreeMap;

use serde_json::Value;
use smirch::drill::Drill;
use smirch::guidance::Score;
use smirch::report::{attempt_json, touches_csv};

use crate::fixture::{content, play_script};

/// Both exports of a drill, as a reader of the files gets them.
pub fn exports(drill: &Drill) -> (String, String) {
    let setup = drill.setup();
    let sequence = setup
        .library
        .sequence(&setup.scenario.sequence)
        .unwrap_or_else(|| panic!("`{}` names no sequence that exists", setup.scenario.id));
    let score = Score::of(drill, sequence);
    let json = attempt_json(drill, sequence, &score).to_string();
    let mut csv = Vec::new();
    touches_csv(drill, &mut csv).unwrap_or_else(|e| panic!("the CSV cannot be written: {e}"));
    (
        json,
        String::from_utf8(csv).unwrap_or_else(|e| panic!("the CSV is not UTF-8: {e}")),
    )
}

/// One row of the CSV by column name.
struct Row(BTreeMap<String, String>);

impl Row {
    fn text(&self, column: &str) -> &str {
        self.0
            .get(column)
            .unwrap_or_else(|| panic!("the CSV has no column `{column}`"))
    }

    fn number(&self, column: &str) -> f64 {
        self.text(column)
            .parse()
            .unwrap_or_else(|e| panic!("`{column}` is no number: {e} in {:?}", self.0))
    }

    fn count(&self, column: &str) -> i64 {
        self.text(column)
            .parse()
            .unwrap_or_else(|e| panic!("`{column}` is no count: {e} in {:?}", self.0))
    }

    fn moves(&self) -> bool {
        self.text("kind") != "item"
    }
}

fn rows(csv: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let names = reader
        .headers()
        .unwrap_or_else(|e| panic!("the CSV has no header: {e}"))
        .clone();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap_or_else(|e| panic!("the CSV is broken: {e}"));
            Row(names
                .iter()
                .map(str::to_owned)
                .zip(record.iter().map(str::to_owned))
                .collect())
        })
        .collect()
}

/// Everything else is read from these two texts.
fn read(script: &str, seed: u64) -> (Value, Vec<Row>) {
    let (json, csv) = exports(&play_script(script, seed));
    (
        serde_json::from_str(&json).unwrap_or_else(|e| panic!("the JSON is broken: {e}")),
        rows(&csv),
    )
}

fn by_site(json: &Value, field: &str) -> BTreeMap<String, f64> {
    let sites = json["sites"]
        .as_array()
        .unwrap_or_else(|| panic!("the JSON has no `sites`"));
    sites
        .iter()
        .map(|site| {
            let id = site["id"]
                .as_str()
                .unwrap_or_else(|| panic!("a site without id: {site}"));
            let value = site[field]
                .as_f64()
                .unwrap_or_else(|| panic!("`{id}` has no `{field}`"));
            (id.to_owned(), value)
        })
        .collect()
}

#[test]
fn end_counts_follow_from_start_counts_and_the_touches_alone() {
    for script in content().scripts.keys() {
        for seed in [1, 2, 3] {
            let (json, rows) = read(script, seed);
            let mut counts: BTreeMap<String, i64> = by_site(&json, "start")
                .into_iter()
                .map(|(id, count)| (id, count as i64))
                .collect();
            for sink in ["inactivated", "washed-away"] {
                counts.insert(sink.to_owned(), 0);
            }
            for (n, row) in rows.iter().filter(|r| r.moves()).enumerate() {
                let net = row.count("moved_ab") - row.count("moved_ba");
                for (site, change) in [(row.text("site_a"), -net), (row.text("site_b"), net)] {
                    let count = counts.get_mut(site).unwrap_or_else(|| {
                        panic!("{script}, seed {seed}: touch {n} names `{site}`, which is no site")
                    });
                    *count += change;
                    assert!(
                        *count >= 0,
                        "{script}, seed {seed}: touch {n} leaves {count} on `{site}`"
                    );
                }
            }
            for (site, end) in by_site(&json, "end") {
                assert_eq!(
                    counts[&site], end as i64,
                    "{script}, seed {seed}: the touches leave the first on `{site}`, the JSON says the second; \
                     an event is missing from one of the two exports"
                );
            }
            for (sink, total) in [("inactivated", "inactivated"), ("washed-away", "washed_away")] {
                assert_eq!(
                    Some(counts[sink]),
                    json["totals"][total].as_i64(),
                    "{script}, seed {seed}: {sink} by the touches and by the JSON's totals"
                );
            }
        }
    }
}

#[test]
fn everything_at_the_start_is_accounted_for_in_the_totals_and_per_source() {
    for script in content().scripts.keys() {
        let (json, _) = read(script, 1);
        let totals = &json["totals"];
        let part = |name: &str| {
            totals[name]
                .as_u64()
                .unwrap_or_else(|| panic!("`totals` has no `{name}`: {totals}"))
        };
        let parts = [
            "inactivated",
            "washed_away",
            "binned",
            "room",
            "patient",
            "still_on",
            "person",
        ];
        let sum: u64 = parts.iter().map(|name| part(name)).sum();
        assert_eq!(
            part("start"),
            sum,
            "{script}: what was there at the start against the sum of {parts:?}: {totals}"
        );

        let sources = json["sources"]
            .as_array()
            .unwrap_or_else(|| panic!("the JSON has no `sources`"));
        let number = |value: &Value| {
            value
                .as_u64()
                .unwrap_or_else(|| panic!("{script}: {value} is no count"))
        };
        for source in sources {
            let ends: u64 = source["ends"]
                .as_object()
                .into_iter()
                .flatten()
                .map(|(_, count)| number(count))
                .sum();
            let gone = number(&source["inactivated"]) + number(&source["washed_away"]);
            assert_eq!(
                number(&source["start"]),
                ends + gone,
                "{script}: source {} does not add up",
                source["site"]
            );
        }
        let start: u64 = sources.iter().map(|source| number(&source["start"])).sum();
        assert_eq!(
            start,
            part("start"),
            "{script}: the sources' starts against the totals'"
        );
    }
}

#[test]
fn the_probability_of_moving_is_the_share_times_the_efficiency_drawn() {
    for script in content().scripts.keys() {
        let (_, rows) = read(script, 1);
        for row in rows.iter().filter(|r| r.moves() && r.text("happened") == "1") {
            for (p, share, drawn) in [("p_ab", "share_a", "drawn_ab"), ("p_ba", "share_b", "drawn_ba")] {
                let met = match row.text("extent") {
                    "" => row.number(share),
                    _ => -(-row.number(share) * row.number("extent")).exp_m1(),
                };
                let spots = match row.text(&share.replace("share", "spots")) {
                    "" => 1.0,
                    factor => factor
                        .parse()
                        .unwrap_or_else(|e| panic!("{script}: {factor}: {e}")),
                };
                let expected = met * spots * row.number(drawn);
                let (p, name) = (row.number(p), p);
                assert!(
                    (0.0..=1.0).contains(&p),
                    "{script}: {name} = {p} is no probability in {:?}",
                    row.0
                );
                // Both are printed with all their digits.
                assert!(
                    (p - expected).abs() <= 1e-15,
                    "{script}: {name} = {p}, not {expected}, in {:?}",
                    row.0
                );
            }
        }
    }
}

#[test]
fn a_share_is_the_contact_area_over_the_area_of_the_site_and_at_most_one() {
    for script in content().scripts.keys() {
        let (json, rows) = read(script, 1);
        let areas = by_site(&json, "area_cm2");
        let contacts = ["touch", "brush", "graze", "leak", "mixing"];
        for row in rows.iter().filter(|r| contacts.contains(&r.text("kind"))) {
            let (a, b) = (row.number("share_a"), row.number("share_b"));
            // The mean area of a small contact is not cut to the patch: what is met of it is, see `extent`.
            let graze = row.text("kind") == "graze";
            assert!(
                a > 0.0 && (a <= 1.0 || graze) && b > 0.0 && (b <= 1.0 || graze),
                "{script}: shares {a} and {b} in {:?}",
                row.0
            );
            // The same patch on both sides, unless it is larger than a whole site.
            let patch_a = a * areas[row.text("site_a")];
            let patch_b = b * areas[row.text("site_b")];
            let equal = (patch_a - patch_b).abs() <= 1e-9 * patch_a.max(patch_b);
            let cut = (a >= 1.0 && patch_a <= patch_b) || (b >= 1.0 && patch_b <= patch_a);
            assert!(
                equal || cut,
                "{script}: the patches that meet measure {patch_a} and {patch_b} cm2, in {:?}",
                row.0
            );
        }
    }
}

/// The area of a free touch is in the JSON, so that its share can be worked out without the program.
#[test]
fn the_share_of_a_free_touch_is_its_area_over_the_area_of_the_site() {
    let mut checked = 0;
    for script in content().scripts.keys() {
        let (json, rows) = read(script, 1);
        let areas = by_site(&json, "area_cm2");
        let actions = json["actions"]
            .as_array()
            .unwrap_or_else(|| panic!("the JSON has no `actions`"));
        let free = |r: &&Row| r.text("technique") == "free-touch" && r.text("kind") == "touch";
        for row in rows.iter().filter(free) {
            let touch = &actions[row.count("step") as usize - 1]["action"]["Touch"];
            let area = touch["area"]
                .as_f64()
                .unwrap_or_else(|| panic!("{script}: a touch without area: {touch}"));
            for (share, site) in [("share_a", "site_a"), ("share_b", "site_b")] {
                let expected = (area / areas[row.text(site)]).min(1.0);
                let found = row.number(share);
                assert!(
                    (found - expected).abs() <= 1e-12,
                    "{script}: {area} cm2 on `{}` is a share of {expected}, not {found}",
                    row.text(site)
                );
                checked += 1;
            }
        }
    }
    assert!(
        checked > 0,
        "no built-in script has a free touch any more; this test needs one"
    );
}

#[test]
fn what_did_not_happen_moved_nothing_and_what_follows_happens_with_what_it_follows() {
    for script in content().scripts.keys() {
        for seed in 1..=10 {
            let (_, rows) = read(script, seed);
            let mut before = None;
            for row in rows.iter().filter(|r| r.moves()) {
                let happened = row.text("happened") == "1";
                if !happened {
                    let moved = row.count("moved_ab") + row.count("moved_ba");
                    assert_eq!(moved, 0, "{script}, seed {seed}: {:?} did not happen", row.0);
                }
                if row.text("follows") == "1" {
                    assert_eq!(
                        Some(happened),
                        before,
                        "{script}, seed {seed}: {:?} follows the row before",
                        row.0
                    );
                }
                before = Some(happened);
            }
        }
    }
}
