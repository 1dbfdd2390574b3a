//! How much of two surfaces meets in a small contact: more with some people than with others, and another amount each go.

use rand_distr::{Distribution, Gamma};

use crate::chance::{Key, Luck, PEOPLE, Purpose};

/// How the area of a small contact varies.
///
/// Its mean area is multiplied by a factor of the person, the same in all small contacts of an attempt, and by one of the
/// go, drawn for each contact anew; both have mean 1. Pieces of contact fall on a patch where they will, so that of the
/// patch the share `1 - exp(-area / patch)` is met at least once: for small areas the area over the patch, and never more
/// than all. Its mean over goes has a closed form, which keeps expectations exact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Factors of people of each sort, all equally common.
    pub people: [f64; PEOPLE],
    /// Shape of the gamma law of goes.
    pub go: f64,
}

impl Extent {
    /// From the coefficients of variation between people and between goes.
    ///
    /// People are sorted into [`PEOPLE`] equally many of each sort. Their factors are a lognormal law's at the middle of
    /// each sort, brought to the mean of 1: few enough that an expectation can go through all of them. They differ less than
    /// the law does, whose ends are in no middle: by 0.54 where it has 0.7.
    pub fn new(between_people: f64, between_goes: f64) -> Extent {
        let spread = libm::sqrt(libm::log1p(between_people * between_people));
        let raw = MIDDLES.map(|z| libm::exp(spread * z));
        let mean = raw.iter().sum::<f64>() / PEOPLE as f64;
        Extent {
            people: raw.map(|factor| factor / mean),
            go: 1.0 / (between_goes * between_goes),
        }
    }

    /// What the mean area is multiplied by with this luck.
    pub fn draw(&self, luck: Luck, event: Key) -> f64 {
        let go = match Gamma::new(self.go, 1.0 / self.go) {
            Ok(law) => law.sample(&mut luck.stream(event, Purpose::Extent)),
            Err(_) => 1.0,
        };
        self.people[luck.person()] * go
    }

    /// The share of a patch that is met, 0 to 1, where the mean area is `share` of it and `factor` was drawn.
    pub fn met(share: f64, factor: f64) -> f64 {
        let area = share * factor;
        if area < 1e-4 {
            // Nearly all are so small that four terms of the series are exact to the last bit or two.
            return area * (1.0 - area * (0.5 - area * (1.0 / 6.0 - area / 24.0)));
        }
        -libm::expm1(-area)
    }

    /// The mean of that over goes, for a person with this factor.
    pub fn mean_met(&self, share: f64, person: f64) -> f64 {
        // The Laplace transform of a gamma law.
        -libm::expm1(-self.go * libm::log1p(share * person / self.go))
    }
}

/// Standard normal quantiles in the middle of five equal parts: of 0.1, 0.3, 0.5, 0.7 and 0.9 (Abramowitz and Stegun,
/// table 26.5).
const MIDDLES: [f64; PEOPLE] = [-1.281_551_6, -0.524_400_5, 0.0, 0.524_400_5, 1.281_551_6];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_of_people_and_goes_have_mean_one() {
        let extent = Extent::new(0.8, 1.2);
        let people = extent.people.iter().sum::<f64>() / PEOPLE as f64;
        assert!((people - 1.0).abs() < 1e-12, "people: {people}");
        assert!(extent.people.is_sorted(), "{:?}", extent.people);
        let goes = 40_000;
        let mean = (0..goes)
            .map(|n| {
                let luck = Luck::new(n);
                extent.draw(luck, Key::of("go")) / extent.people[luck.person()]
            })
            .sum::<f64>()
            / goes as f64;
        // Five standard errors.
        assert!(
            (mean - 1.0).abs() < 5.0 * 1.2 / (goes as f64).sqrt(),
            "goes: {mean}"
        );
    }

    #[test]
    fn the_mean_share_is_that_of_many_goes() {
        let extent = Extent::new(0.5, 1.0);
        for (share, person) in [(0.001, 1.0), (0.05, 2.5), (0.9, 0.3), (3.0, 1.7)] {
            let goes = 40_000;
            let shares: Vec<f64> = (0..goes)
                .map(|n| {
                    let luck = Luck::new(n);
                    let go = extent.draw(luck, Key::of("go")) / extent.people[luck.person()];
                    Extent::met(share, person * go)
                })
                .collect();
            let mean = shares.iter().sum::<f64>() / goes as f64;
            let deviation = shares.iter().map(|s| (s - mean) * (s - mean)).sum::<f64>() / goes as f64;
            let exact = extent.mean_met(share, person);
            assert!(
                (mean - exact).abs() < 5.0 * (deviation / goes as f64).sqrt(),
                "{share} x {person}: {mean} of {goes} goes, {exact} in closed form"
            );
        }
    }

    #[test]
    fn small_shares_are_those_of_the_exponential_law() {
        for n in 0..=400 {
            let share = 10_f64.powf(-9.0 + f64::from(n) / 50.0);
            let (met, exact) = (Extent::met(share, 1.0), -libm::expm1(-share));
            assert!(
                (met - exact).abs() <= 4e-16 * exact,
                "{share}: {met}, not {exact}"
            );
        }
    }

    #[test]
    fn more_area_meets_more_of_a_patch_and_never_more_than_all() {
        assert!(Extent::met(1e-6, 1.0) > 0.999e-6, "small shares are themselves");
        assert!(Extent::met(0.5, 1.0) < 0.5);
        assert!(Extent::met(50.0, 20.0) <= 1.0);
    }
}
