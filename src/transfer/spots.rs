//! What lies on a patch in spots: a small contact meets a spot whole, in part, or not at all.

use crate::chance::{Key, Luck, Purpose, binomial, poisson, uniform};
use crate::model::{Fall, Setup, Side, SiteIndex};

use super::gate::Gate;

/// Spots on one patch.
///
/// A contact is thought of as a disc that falls anywhere on the patch, a spot as another. They meet with the probability
/// `reach = (sqrt(contact) + sqrt(spot))^2`, both areas as shares of the patch, which is the area within which the middle of
/// one lies from which it touches the other; and what is met of a spot is, on average over all ways of meeting it, the share
/// `contact / reach`. So the mean of what is in contact is the contact's share of the patch, as it is where everything is
/// spread evenly; few spots vary more about it; and many, or spots so large that every contact meets them, vary no more.
///
/// Each contact falls anew. What leaves a patch, and what comes back to it or is brought there, lies as its spots do. Spots of
/// several sizes on one patch count as so many of their mean size.
#[derive(Clone, Debug, PartialEq)]
pub struct Spots {
    /// What brings them.
    falls: Vec<Falls>,
    /// Area of one as a share of the patch.
    size: f64,
}

/// Something that brings spots.
#[derive(Clone, Debug, PartialEq)]
struct Falls {
    /// Identity for luck.
    key: Key,
    /// Mean number.
    count: f64,
    /// None where they lie there at the start.
    splash: Option<Splash>,
}

/// A splash of the care before a drill.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Splash {
    /// Which care, and its fewest and most repeats.
    care: (usize, (u32, u32)),
    /// Which of them.
    repeat: u32,
    /// Whether it lands, where the care comes to that.
    gate: Gate,
}

impl Falls {
    fn new(setup: &Setup, site: SiteIndex, fall: Fall, count: f64) -> Falls {
        match fall {
            Fall::Start => Falls {
                key: Key::of("start").named(&setup.sites[site].id),
                count,
                splash: None,
            },
            Fall::Splash {
                care: (care, times, repeat),
                step,
                side,
                chance,
            } => {
                let key = care_step(care, repeat, step, side);
                Falls {
                    key,
                    count,
                    splash: Some(Splash {
                        care: (care, times),
                        repeat,
                        gate: Gate { key, chance },
                    }),
                }
            }
        }
    }

    fn number(&self, luck: Luck) -> u64 {
        let drawn = |mean: f64| poisson(&mut luck.stream(self.key, Purpose::Spots), mean);
        let Some(Splash { care, repeat, gate }) = self.splash else {
            return drawn(self.count);
        };
        let lands = repeat < care_repeats(luck, care.0, care.1) && gate.opens(luck);
        // What lands is one spot at least.
        if lands { 1 + drawn(self.count - 1.0) } else { 0 }
    }
}

/// The identity of a step of the care given before a drill: which care, which repeat, which step and which acting hand.
pub fn care_step(care: usize, repeat: u32, step: usize, side: Side) -> Key {
    let care = Key::of("care").within(care as u64).within(u64::from(repeat));
    care.within(step as u64).within(side as u64)
}

/// How often a care is given with this luck, from its fewest and most repeats.
pub fn care_repeats(luck: Luck, care: usize, (fewest, most): (u32, u32)) -> u32 {
    let draw = uniform(&mut luck.stream(Key::of("care").within(care as u64), Purpose::Times));
    fewest + (draw * f64::from(most - fewest + 1)) as u32
}

impl Spots {
    /// Those on a site at the start of a drill; none where it has no load, or one that is spread evenly.
    pub fn on(setup: &Setup, site: SiteIndex) -> Option<Spots> {
        let (mut falls, mut all, mut area) = (Vec::new(), 0.0, 0.0);
        for (fall, spots) in setup.spots(site) {
            falls.push(Falls::new(setup, site, fall, spots.count));
            all += spots.count;
            area += spots.count * spots.area;
        }
        (all > 0.0).then(|| Spots {
            falls,
            size: area / all / setup.sites[site].area,
        })
    }

    /// How many there are in an attempt with this luck.
    pub fn number(&self, luck: Luck) -> u64 {
        self.falls.iter().map(|falls| falls.number(luck)).sum()
    }

    /// How many of them lie there at the start, before any care.
    pub fn at_the_start(&self, luck: Luck) -> u64 {
        let at_start = self.falls.iter().filter(|falls| falls.splash.is_none());
        at_start.map(|falls| falls.number(luck)).sum()
    }

    /// What the share in contact, 0 to 1, is multiplied by in an event with this luck: its mean is 1, and the product is
    /// never more than 1.
    pub fn factor(&self, luck: Luck, event: Key, purpose: Purpose, share: f64) -> f64 {
        let side = share.sqrt() + self.size.sqrt();
        let reach = side * side;
        if share <= 0.0 || reach >= 1.0 {
            return 1.0;
        }
        match self.number(luck) {
            // Nothing lay there at the start: whatever comes later is spread evenly.
            0 => 1.0,
            number => {
                let met = binomial(&mut luck.stream(event, purpose), number, reach);
                met as f64 / (number as f64 * reach)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spots(count: f64, size: f64) -> Spots {
        let key = Key::of("start").named("a-patch");
        Spots {
            falls: vec![Falls {
                key,
                count,
                splash: None,
            }],
            size,
        }
    }

    fn factors(spots: &Spots, share: f64) -> Vec<f64> {
        let event = Key::of("touch");
        let luck = |n| Luck::new(n);
        (0..20_000)
            .map(|n| spots.factor(luck(n), event, Purpose::SpotsA, share))
            .collect()
    }

    fn mean_and_variance(values: &[f64]) -> (f64, f64) {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
        (mean, squares / values.len() as f64)
    }

    #[test]
    fn factors_have_mean_one_and_leave_no_share_above_one() {
        for (count, size) in [(0.7, 0.002), (3.0, 0.01), (300.0, 0.0001), (5.0, 0.3)] {
            for share in [0.001, 0.02, 0.3, 1.0] {
                let factors = factors(&spots(count, size), share);
                let (mean, variance) = mean_and_variance(&factors);
                let error = (variance / factors.len() as f64).sqrt();
                assert!(
                    (mean - 1.0).abs() <= 5.0 * error,
                    "{count} spots of {size}, contact {share}: mean {mean}"
                );
                assert!(
                    factors.iter().all(|factor| share * factor <= 1.0 + 1e-12),
                    "{count} spots of {size}: more than all is in contact"
                );
            }
        }
    }

    /// The variance is that of so many spots each met or not, and it goes as the count grows.
    #[test]
    fn few_spots_vary_more_than_many_and_very_many_hardly_at_all() {
        let (size, share) = (0.0004, 0.01);
        let variances = [20.0, 200.0, 2000.0, 200_000.0].map(|count| {
            let (_, variance) = mean_and_variance(&factors(&spots(count, size), share));
            let reach = 0.12_f64 * 0.12;
            let expected = (1.0 - reach) / (reach * count);
            // The number of spots varies too, which tells where there are few.
            assert!(
                (variance / expected - 1.0).abs() < 0.15,
                "{count} spots: {variance}, not {expected}"
            );
            variance
        });
        assert!(variances.is_sorted_by(|a, b| a > b), "{variances:?}");
        assert!(variances[3] < 4e-4, "{variances:?}");
    }

    #[test]
    fn a_spot_as_large_as_its_patch_is_an_even_spread() {
        assert!(
            factors(&spots(1.0, 1.0), 0.001)
                .iter()
                .all(|factor| *factor == 1.0)
        );
        assert!(
            factors(&spots(4.0, 1e-6), 1.0)
                .iter()
                .all(|factor| *factor == 1.0)
        );
    }
}
