//! So many of so many, and how many different people are behind them.

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// How many.
    pub hits: u64,
    /// Of how many.
    pub of: u64,
    /// How many different people are behind those, and behind the rest: one person's many attempts are one person's. What has
    /// no code counts as somebody's of its own. Counted up to [`MOST_BEHIND`].
    pub behind: [u64; 2],
}

/// Beyond this many people it makes no difference to what may be told how many they are: no register may ask for more.
pub const MOST_BEHIND: usize = 100;

/// Different people, as far as it takes.
#[derive(Clone, Debug, Default)]
pub(super) struct People {
    known: Vec<u64>,
    nameless: u64,
}

impl People {
    pub(super) fn add(&mut self, who: Option<u64>) {
        match who {
            None => self.nameless += 1,
            Some(who) if self.known.len() < MOST_BEHIND && !self.known.contains(&who) => self.known.push(who),
            Some(_) => {}
        }
    }

    pub(super) fn count(&self) -> u64 {
        self.known.len() as u64 + self.nameless
    }
}

/// A share while it is counted.
#[derive(Clone, Debug, Default)]
pub(super) struct Counting {
    hits: u64,
    of: u64,
    behind: [People; 2],
}

impl Counting {
    /// Counts one more, somebody's if that is known.
    pub(super) fn add(&mut self, who: Option<u64>, hit: bool) {
        self.of += 1;
        self.hits += u64::from(hit);
        self.behind[usize::from(!hit)].add(who);
    }

    pub(super) fn share(&self) -> Share {
        Share {
            hits: self.hits,
            of: self.of,
            behind: self.behind.each_ref().map(People::count),
        }
    }
}
