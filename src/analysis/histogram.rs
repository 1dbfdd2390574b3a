//! How counts spread over repeats: a bin for none, then bins that grow as 1, 2 and 5 times powers of ten.

/// A histogram of whole counts.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Histogram {
    /// Lowest count of each bin: 0, 1, 2, 5, 10, 20, 50 and so on; a bin ends just below the next.
    pub from: Vec<u64>,
    /// How many counts fell into each bin.
    pub counts: Vec<u64>,
}

impl Histogram {
    /// The histogram of some counts, with bins up to the largest.
    pub fn of(counts: impl IntoIterator<Item = u64>) -> Histogram {
        let mut bins = Histogram {
            from: vec![0],
            counts: vec![0],
        };
        for count in counts {
            let bin = bin_of(count);
            while bins.from.len() <= bin {
                bins.from.push(lowest(bins.from.len()));
                bins.counts.push(0);
            }
            bins.counts[bin] += 1;
        }
        bins
    }

    /// How many counts there are.
    pub fn total(&self) -> u64 {
        self.counts.iter().sum()
    }

    /// Share of counts in a bin, 0 beyond the last.
    pub fn share(&self, bin: usize) -> f64 {
        let total = self.total();
        if total == 0 {
            return 0.0;
        }
        self.counts.get(bin).copied().unwrap_or(0) as f64 / total as f64
    }
}

/// The lowest count of a bin.
pub fn lowest(bin: usize) -> u64 {
    match bin {
        0 => 0,
        _ => [1, 2, 5][(bin - 1) % 3] * 10_u64.saturating_pow(((bin - 1) / 3) as u32),
    }
}

/// The bin of a count.
fn bin_of(count: u64) -> usize {
    match count {
        0 => 0,
        _ => {
            let power = count.ilog10();
            let first = count / 10_u64.pow(power);
            let within = match first {
                1 => 0,
                2..=4 => 1,
                _ => 2,
            };
            1 + 3 * power as usize + within
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_count_lies_between_its_bin_and_the_next() {
        for count in (0..2000).chain([9_999, 10_000, 49_999, 50_000, u64::MAX / 4]) {
            let bin = bin_of(count);
            assert!(
                lowest(bin) <= count && count < lowest(bin + 1),
                "{count} is put into the bin from {} to below {}",
                lowest(bin),
                lowest(bin + 1)
            );
        }
    }

    #[test]
    fn nothing_is_lost_and_none_has_its_own_bin() {
        let bins = Histogram::of([0, 0, 1, 4, 5, 12, 700]);
        assert_eq!(bins.total(), 7);
        assert_eq!(bins.from, [0, 1, 2, 5, 10, 20, 50, 100, 200, 500]);
        assert_eq!(bins.counts, [2, 1, 1, 1, 1, 0, 0, 0, 0, 1]);
    }
}
