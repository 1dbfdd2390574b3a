//! Finding again what has been kept elsewhere, without keeping it a second time.

use std::hash::{Hash, Hasher};

use rustc_hash::{FxHashMap, FxHasher};

/// Numbers of things by what they are. Only hashes are kept: whoever asks says whether the thing of a number is the same.
#[derive(Debug, Default)]
pub(super) struct Numbers(FxHashMap<u64, u32>);

impl Numbers {
    /// The number of this thing: that of an equal one, or `next`, which it then has. `same` tells whether the thing of
    /// a number is equal to it.
    pub fn or_insert<T: Hash + ?Sized>(&mut self, thing: &T, next: u32, same: impl Fn(u32) -> bool) -> u32 {
        let mut hasher = FxHasher::default();
        thing.hash(&mut hasher);
        let mut hash = hasher.finish();
        loop {
            match *self.0.entry(hash).or_insert(next) {
                number if number == next || same(number) => return number,
                // Another thing with the same hash.
                _ => hash = hash.wrapping_add(1),
            }
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
