//! The front while it is being found: protocols that nothing found so far matches.

/// A point of the front while it is being found: what counts, and the edges that lead there.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    /// Expected count at the target.
    pub risk: f64,
    /// Length, s.
    pub seconds: f64,
    /// Number of cleans.
    pub cleans: u32,
    /// Indices of actions.
    pub actions: Vec<u32>,
    /// How many protocols were found to be equal to it.
    pub ties: u128,
}

/// Protocols for which nothing found so far is as safe, as quick and as short of cleans.
#[derive(Clone, Debug, Default)]
pub(super) struct Front {
    pub found: Vec<Found>,
    /// For each number of cleans: (time, least risk of what takes no longer), ascending in time.
    stairs: Vec<Vec<(f64, f64)>>,
}

impl Front {
    /// The least risk found in no more time and with no more cleans.
    pub fn best(&self, seconds: f64, cleans: usize) -> f64 {
        let Some(stairs) = self.stairs.get(cleans.min(self.stairs.len().wrapping_sub(1))) else {
            return f64::INFINITY;
        };
        let n = stairs.partition_point(|s| s.0 <= seconds);
        if n == 0 { f64::INFINITY } else { stairs[n - 1].1 }
    }

    /// Takes protocols in and keeps those that nothing matches.
    pub fn take(&mut self, found: impl IntoIterator<Item = Found>) {
        let mut all: Vec<Found> = std::mem::take(&mut self.found);
        all.extend(found);
        all.sort_by(|a, b| {
            (a.seconds.total_cmp(&b.seconds))
                .then(a.cleans.cmp(&b.cleans))
                .then(a.risk.total_cmp(&b.risk))
                .then(a.actions.cmp(&b.actions))
        });
        for one in all {
            let tied = self.found.iter_mut().find(|f| {
                f.seconds <= one.seconds && f.cleans <= one.cleans && f.risk <= one.risk * (1.0 + 1e-12)
            });
            match tied {
                None => self.found.push(one),
                Some(f) => {
                    let same = f.seconds == one.seconds && f.cleans == one.cleans;
                    if same && one.risk <= f.risk * (1.0 + 1e-12) && f.actions != one.actions {
                        f.ties += one.ties;
                    }
                }
            }
        }
        let most = self.found.iter().map(|f| f.cleans as usize).max();
        self.stairs = (0..most.map_or(0, |m| m + 1))
            .map(|cleans| {
                let mut least = f64::INFINITY;
                self.found
                    .iter()
                    .filter(|f| f.cleans as usize <= cleans)
                    .map(|f| {
                        least = least.min(f.risk);
                        (f.seconds, least)
                    })
                    .collect()
            })
            .collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_front_keeps_what_nothing_matches_and_counts_ties() {
        let found = |seconds: f64, cleans: u32, risk: f64, action: u32| Found {
            risk,
            seconds,
            cleans,
            actions: vec![action],
            ties: 1,
        };
        let mut front = Front::default();
        front.take([
            found(30.0, 1, 5.0, 1),
            found(20.0, 2, 5.0, 2),
            found(30.0, 1, 5.0, 3),
            found(40.0, 1, 5.0, 4),
        ]);
        front.take([
            found(20.0, 2, 5.0, 2),
            found(50.0, 0, 9.0, 5),
            found(50.0, 1, 4.0, 6),
        ]);
        let kept: Vec<(f64, u32, u128)> = front
            .found
            .iter()
            .map(|f| (f.seconds, f.cleans, f.ties))
            .collect();
        assert_eq!(kept, [(20.0, 2, 1), (30.0, 1, 2), (50.0, 0, 1), (50.0, 1, 1)]);
        assert_eq!(front.best(19.0, 5), f64::INFINITY, "nothing is that quick");
        assert_eq!(
            front.best(35.0, 0),
            f64::INFINITY,
            "nothing that quick does without cleaning"
        );
        assert_eq!(front.best(60.0, 0), 9.0);
        assert_eq!(front.best(60.0, 7), 4.0);
    }
}
