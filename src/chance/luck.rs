//! Keys, streams and single draws.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{Rng, RngExt, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};

use crate::model::Efficiency;

/// Identity of an event for the purpose of luck. Made from names, never from a running number, so that inserting
/// an event elsewhere leaves it alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key(pub u64);

impl Key {
    /// The key of a name.
    pub fn of(name: &str) -> Key {
        // FNV-1a, then a finaliser: FNV alone leaves similar names close together.
        Key(mix(name.bytes().fold(FNV, fnv)))
    }

    /// The keys of several names. Within one name each byte waits for what came of the one before it, so that long names side by
    /// side take hardly longer than one.
    pub fn of_each<const N: usize>(names: [&str; N]) -> [Key; N] {
        let bytes = names.map(str::as_bytes);
        let shared = bytes.iter().map(|b| b.len()).min().unwrap_or(0);
        let mut hashes = [FNV; N];
        for at in 0..shared {
            for (hash, bytes) in hashes.iter_mut().zip(&bytes) {
                *hash = fnv(*hash, bytes[at]);
            }
        }
        std::array::from_fn(|n| Key(mix(bytes[n][shared..].iter().copied().fold(hashes[n], fnv))))
    }

    /// The key of a thing within this one.
    pub fn within(self, number: u64) -> Key {
        Key(mix(
            self.0.rotate_left(23) ^ mix(number.wrapping_add(0x9e37_79b9_7f4a_7c15))
        ))
    }

    /// The key of a named thing within this one.
    pub fn named(self, name: &str) -> Key {
        self.within(Key::of(name).0)
    }
}

/// Where FNV-1a begins.
const FNV: u64 = 0xcbf2_9ce4_8422_2325;

/// A byte more in FNV-1a.
fn fnv(hash: u64, byte: u8) -> u64 {
    (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
}

/// The finaliser of SplitMix64 (Steele, Lea and Flood 2014): every input bit reaches every output bit.
fn mix(mut x: u64) -> u64 {
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// What a draw is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// Whether the event happens.
    Happens,
    /// Efficiency from a to b.
    EfficiencyAb,
    /// Efficiency from b to a.
    EfficiencyBa,
    /// Counts of one source from a to b.
    MovedAb(u32),
    /// Counts of one source from b to a.
    MovedBa(u32),
    /// Log10 reduction.
    Reduction,
    /// Share of a zone missed.
    Missed,
    /// Counts of one source removed.
    Removed(u32),
    /// A load at the start.
    Load,
    /// How many times a piece of care is repeated.
    Times,
    /// Which part a fault is in.
    Which,
    /// Counts handed on after everything is done.
    Handed,
    /// How far a small contact goes this time.
    Extent,
    /// Of which sort the person is.
    Person,
    /// How far a constant lies from its stated value.
    Doubt,
    /// How many spots lie on a patch.
    Spots,
    /// How many spots of the first site a contact meets.
    SpotsA,
    /// How many spots of the second site a contact meets.
    SpotsB,
    /// What is felt at a check.
    Felt,
    /// What is seen when somebody looks.
    Seen,
    /// Whether one fault comes with another.
    Brought,
}

impl Purpose {
    fn number(self) -> u64 {
        match self {
            Purpose::Happens => 1,
            Purpose::EfficiencyAb => 2,
            Purpose::EfficiencyBa => 3,
            Purpose::Reduction => 4,
            Purpose::Missed => 5,
            Purpose::Load => 6,
            Purpose::Times => 7,
            Purpose::Which => 8,
            Purpose::Handed => 9,
            Purpose::Extent => 10,
            Purpose::Person => 11,
            Purpose::Doubt => 12,
            Purpose::Spots => 13,
            Purpose::SpotsA => 14,
            Purpose::SpotsB => 15,
            Purpose::Felt => 16,
            Purpose::Seen => 17,
            Purpose::Brought => 18,
            Purpose::MovedAb(source) => 0x1_0000_0000 + u64::from(source),
            Purpose::MovedBa(source) => 0x2_0000_0000 + u64::from(source),
            Purpose::Removed(source) => 0x3_0000_0000 + u64::from(source),
        }
    }
}

/// Into how many sorts people are divided, equally many of each, by how close their small contacts come.
pub const PEOPLE: usize = 5;

/// All the luck of one drill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Luck {
    seed: u64,
    mixed: u64,
    person: u8,
}

/// The luck of one event of a drill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lot(u64);

impl Luck {
    /// The luck of a seed.
    pub fn new(seed: u64) -> Luck {
        let mut luck = Luck {
            seed,
            mixed: mix(seed.wrapping_add(0x736d_6972_6368_0001)),
            person: 0,
        };
        let person = uniform(&mut luck.stream(Key::of("person"), Purpose::Person));
        luck.person = (person * PEOPLE as f64) as u8;
        luck
    }

    /// Of which sort the person of this drill is, below [`PEOPLE`]: one luck for the whole of it.
    pub fn person(self) -> usize {
        usize::from(self.person)
    }

    /// The seed.
    pub fn seed(self) -> u64 {
        self.seed
    }

    /// What falls to one event: with many draws for the same event it is worth finding once.
    #[inline]
    pub fn lot(self, event: Key) -> Lot {
        Lot(mix(self.mixed ^ event.0.rotate_left(17)))
    }

    /// The stream of one event for one purpose.
    #[inline]
    pub fn stream(self, event: Key, purpose: Purpose) -> Xoshiro256PlusPlus {
        self.lot(event).stream(purpose)
    }
}

impl Lot {
    /// The stream for one purpose: xoshiro256++ (Blackman and Vigna 2021, ACM Trans Math Softw 47:36), its state made
    /// from seed, event and purpose by three rounds of the SplitMix64 finaliser. Two streams start alike with a chance
    /// of 2^-64. A stream gives a handful of numbers and is then dropped, so what starting it costs is what luck
    /// costs: a cipher would take thirty times as long.
    #[inline]
    pub fn stream(self, purpose: Purpose) -> Xoshiro256PlusPlus {
        Xoshiro256PlusPlus::seed_from_u64(mix(self.0 ^ purpose.number().wrapping_mul(0x9e37_79b9_7f4a_7c15)))
    }
}

/// A uniform draw in [0, 1) with 53 bits.
pub fn uniform(rng: &mut impl Rng) -> f64 {
    rng.random::<f64>()
}

/// A law of an efficiency made ready for many draws: Beta with its mean and standard deviation, or the mean itself
/// where that law is degenerate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// Always the same, 0 to 1.
    Fixed(f64),
    /// A Beta law, as the share of one gamma variate in the sum of two. These are drawn with hardly a logarithm
    /// (Marsaglia and Tsang 2000, ACM Trans Math Softw 26:363), so this is faster than Beta draws by rejection.
    Beta(Gamma<f64>, Gamma<f64>),
}

impl Spread {
    /// Makes a law ready.
    pub fn new(law: Efficiency) -> Spread {
        let Efficiency { mean, sd } = law;
        let spread = mean * (1.0 - mean);
        if sd <= 0.0 || spread <= 0.0 || sd * sd >= spread {
            return Spread::Fixed(mean.clamp(0.0, 1.0));
        }
        let size = spread / (sd * sd) - 1.0;
        match (Gamma::new(mean * size, 1.0), Gamma::new((1.0 - mean) * size, 1.0)) {
            (Ok(moves), Ok(stays)) => Spread::Beta(moves, stays),
            _ => Spread::Fixed(mean),
        }
    }

    /// A draw, 0 to 1.
    pub fn draw(&self, rng: &mut impl Rng) -> f64 {
        match self {
            Spread::Fixed(share) => *share,
            Spread::Beta(moves, stays) => {
                let (moves, stays) = (moves.sample(rng), stays.sample(rng));
                let all = moves + stays;
                // Both can only vanish for laws so wide that either end is as good.
                if all > 0.0 { moves / all } else { 0.0 }
            }
        }
    }
}

/// One draw from the law of an efficiency; see [`Spread`].
pub fn beta(rng: &mut impl Rng, law: Efficiency) -> f64 {
    Spread::new(law).draw(rng)
}

/// A draw from the normal law.
pub fn normal(rng: &mut impl Rng, mean: f64, sd: f64) -> f64 {
    let z: f64 = StandardNormal.sample(rng);
    mean + sd * z
}

/// A whole number from the Poisson law; 0 for a mean that is not positive.
pub fn poisson(rng: &mut impl Rng, mean: f64) -> u64 {
    match Poisson::new(mean) {
        // The sampler returns whole numbers as floats; means are far below 2^53.
        Ok(law) => law.sample(rng) as u64,
        Err(_) => 0,
    }
}

/// A lognormal draw by median and geometric standard deviation, rounded to a whole number.
pub fn lognormal(rng: &mut impl Rng, median: f64, gsd: f64) -> u64 {
    let z: f64 = StandardNormal.sample(rng);
    libm::round(median * libm::exp(libm::log(gsd) * z)) as u64
}
