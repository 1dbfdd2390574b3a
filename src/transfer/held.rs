//! Which sources have anything on which site: one bit each, so that the many empty ones cost nothing.

/// A bit for each site and source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Held {
    bits: Vec<u64>,
    /// Words of a site.
    words: usize,
}

impl Held {
    /// Nothing anywhere.
    pub(super) fn none(sites: usize, sources: usize) -> Held {
        let words = sources.div_ceil(64).max(1);
        Held {
            bits: vec![0; sites * words],
            words,
        }
    }

    /// Words of a site, 64 sources each.
    pub(super) fn words(&self) -> usize {
        self.words
    }

    /// Whether anything is on a site.
    #[inline]
    pub(super) fn any(&self, site: usize) -> bool {
        self.bits[site * self.words..(site + 1) * self.words]
            .iter()
            .any(|&word| word != 0)
    }

    /// Notes whether a source has anything on a site.
    #[inline]
    pub(super) fn set(&mut self, site: usize, source: usize, any: bool) {
        let word = &mut self.bits[site * self.words + source / 64];
        *word = *word & !(1 << (source % 64)) | u64::from(any) << (source % 64);
    }

    /// The sources of one word that have anything on either of two sites, ascending.
    #[inline]
    pub(super) fn either(&self, a: usize, b: usize, word: usize) -> impl Iterator<Item = usize> + use<> {
        let mut bits = self.bits[a * self.words + word] | self.bits[b * self.words + word];
        std::iter::from_fn(move || {
            let next = bits.trailing_zeros() as usize;
            (bits != 0).then(|| {
                bits &= bits - 1;
                word * 64 + next
            })
        })
    }

    /// Makes one site what it is elsewhere.
    pub(super) fn copy(&mut self, site: usize, from: &Held) {
        let words = site * self.words..(site + 1) * self.words;
        self.bits[words.clone()].copy_from_slice(&from.bits[words]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_than_one_word_of_sources_is_kept_apart() {
        let mut held = Held::none(3, 130);
        held.set(1, 0, true);
        held.set(1, 63, true);
        held.set(2, 64, true);
        held.set(2, 129, true);
        held.set(1, 0, false);
        let all: Vec<usize> = (0..held.words())
            .flat_map(|word| held.either(1, 2, word))
            .collect();
        assert_eq!(all, [63, 64, 129]);
        assert!(!held.any(0) && held.any(1) && held.any(2));
    }
}
