//! How often each thing has been done in an attempt.

use crate::chance::Key;

/// How often each thing has been done, by its signature: the next one's luck is its own.
///
/// An attempt does a few dozen different things, so a sorted list is found through and copied faster than a table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Times(Vec<(Key, u64)>);

impl Times {
    /// How often this has been done.
    pub fn of(&self, signature: Key) -> u64 {
        self.find(signature).map_or(0, |at| self.0[at].1)
    }

    /// Counts this as done `more` times more and returns how often it had been done before.
    pub fn add(&mut self, signature: Key, more: u64) -> u64 {
        match self.find(signature) {
            Ok(at) => {
                let before = self.0[at].1;
                self.0[at].1 += more;
                before
            }
            Err(at) => {
                self.0.insert(at, (signature, more));
                0
            }
        }
    }

    /// What has been done since: how often before, and how often since.
    pub fn since<'a>(&'a self, before: &'a Times) -> impl Iterator<Item = (Key, u64, u64)> + 'a {
        self.0.iter().filter_map(|&(signature, now)| {
            let was = before.of(signature);
            (now > was).then(|| (signature, was, now - was))
        })
    }

    fn find(&self, signature: Key) -> Result<usize, usize> {
        self.0.binary_search_by_key(&signature, |(key, _)| *key)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_been_done_since_is_told_with_how_often_before() {
        let [one, two, three] = ["one", "two", "three"].map(Key::of);
        let mut times = Times::default();
        assert_eq!(
            (times.add(two, 1), times.add(one, 1), times.add(two, 1)),
            (0, 0, 1)
        );
        let before = times.clone();
        times.add(two, 3);
        times.add(three, 1);
        let mut since: Vec<_> = times.since(&before).collect();
        since.sort_by_key(|(_, was, _)| *was);
        assert_eq!(since, [(three, 0, 1), (two, 2, 3)]);
        assert_eq!(times.of(two), 5);
    }
}
