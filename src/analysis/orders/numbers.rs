//! Finding again what has been kept elsewhere, without keeping it a second time.

use std::hash::{Hash, Hasher};

use rustc_hash::FxHasher;

/// Numbers of things by what they are. Only hashes are kept: whoever asks says whether the thing of a number is the same.
/// There are millions, so each takes little room.
#[derive(Debug, Default)]
pub(super) struct Numbers {
    /// Hashes with numbers, each where its hash says or in the next free place: a power of two places.
    places: Vec<(u32, u32)>,
    taken: usize,
}

/// What stands in a free place instead of a number.
const FREE: u32 = u32::MAX;

impl Numbers {
    /// The number of this thing: that of an equal one, or `next`, which it then has. `same` tells whether the thing of
    /// a number is equal to it.
    pub fn or_insert<T: Hash + ?Sized>(&mut self, thing: &T, next: u32, same: impl Fn(u32) -> bool) -> u32 {
        // A quarter of the places stays free, so that the next free one is near.
        if self.taken >= self.places.len() / 4 * 3 {
            self.grow();
        }
        let mut hasher = FxHasher::default();
        thing.hash(&mut hasher);
        let hash = hasher.finish() as u32;
        let at = self.place(hash, |number| number == next || same(number));
        if self.places[at].1 == FREE {
            self.places[at] = (hash, next);
            self.taken += 1;
        }
        self.places[at].1
    }

    /// The place of the number with this hash for which the test holds, or a free one.
    fn place(&self, hash: u32, test: impl Fn(u32) -> bool) -> usize {
        let last = self.places.len() - 1;
        let mut at = hash as usize & last;
        loop {
            let (other, number) = self.places[at];
            if number == FREE || other == hash && test(number) {
                return at;
            }
            at = (at + 1) & last;
        }
    }

    fn grow(&mut self) {
        let more = (2 * self.places.len()).max(8);
        let before = std::mem::replace(&mut self.places, vec![(0, FREE); more]);
        for (hash, number) in before.into_iter().filter(|&(_, number)| number != FREE) {
            let at = self.place(hash, |_| false);
            self.places[at] = (hash, number);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Things that all hash alike are told apart all the same.
    #[test]
    fn things_of_one_hash_are_told_apart() {
        struct Alike;
        impl Hash for Alike {
            fn hash<H: Hasher>(&self, state: &mut H) {
                0_u32.hash(state);
            }
        }
        let mut numbers = Numbers::default();
        let mut kept: Vec<u32> = Vec::new();
        for thing in [7, 8, 7, 9, 8, 7] {
            let next = kept.len() as u32;
            let number = numbers.or_insert(&Alike, next, |n| kept[n as usize] == thing);
            if number == next {
                kept.push(thing);
            }
            assert_eq!(kept[number as usize], thing);
        }
        assert_eq!(kept, [7, 8, 9]);
    }
}
