//! The last action's flow from patch to patch, for a picture of it.

use std::collections::BTreeMap;

use crate::drill::Drill;
use crate::model::SiteIndex;
use crate::transfer::Flow;

/// What went from one patch to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Flown {
    /// The patch it came from.
    pub from: SiteIndex,
    /// The patch it went to.
    pub to: SiteIndex,
    /// How much, all touches of the action together.
    pub count: u64,
}

/// What the last action moved, the most first. Rubbing off is no flow: it goes nowhere.
pub fn trace(drill: &Drill) -> Vec<Flown> {
    let mut all: BTreeMap<(SiteIndex, SiteIndex), u64> = BTreeMap::new();
    for (event, outcome) in drill.done().last().into_iter().flat_map(|done| done.flows()) {
        let (from, to) = match event.flow {
            Flow::Contact { a, b, .. } => (a, b),
            Flow::Splash { from, onto, .. } => (from, onto),
            Flow::Removal { .. } => continue,
        };
        *all.entry((from, to)).or_default() += outcome.moved_ab;
        *all.entry((to, from)).or_default() += outcome.moved_ba;
    }
    let mut list: Vec<Flown> = all
        .into_iter()
        .filter(|(_, count)| *count > 0)
        .map(|((from, to), count)| Flown { from, to, count })
        .collect();
    list.sort_by_key(|f| (std::cmp::Reverse(f.count), f.from, f.to));
    list
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::content::Content;
    use crate::model::Setup;

    /// Over a whole soiled drill: what an action is said to have moved explains the change of every patch that was not
    /// cleaned.
    #[test]
    fn flows_of_an_action_add_up_to_the_change_of_every_patch() {
        let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let script = &content.scripts["classic-tracer/rubbed-eye"];
        let scenario = content
            .library
            .scenario(&script.scenario)
            .expect("it is built in");
        let setup = Arc::new(Setup::new(content.library.clone(), scenario).expect("it can be set up"));
        let mut drill = Drill::begin(setup, 3);
        assert_eq!(trace(&drill), [], "nothing has been done");
        let mut moved = 0;
        for action in &script.actions {
            let before = drill.books().totals();
            drill.act(action.clone()).expect("the script can be played");
            let cleans = matches!(action, crate::drill::Action::Clean { .. });
            let flows = trace(&drill);
            moved += flows.len();
            let mut change = vec![0_i64; before.len()];
            for f in &flows {
                change[f.from] -= f.count as i64;
                change[f.to] += f.count as i64;
            }
            for (site, now) in drill.books().totals().into_iter().enumerate() {
                let is = now as i64 - before[site] as i64;
                assert!(
                    is == change[site] || cleans && is < change[site],
                    "{action:?}, site {site}"
                );
            }
        }
        assert!(moved > 10, "hardly anything moved: {moved}");
    }
}
