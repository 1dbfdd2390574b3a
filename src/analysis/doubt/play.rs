//! Sets of values play with few repeats each, well chosen.
//!
//! What a lapse leaves behind differs by thousands from attempt to attempt, so that the mean of twenty attempts drawn at
//! random says next to nothing, and is mostly too low. So it is worked out first, with the stated values and for many
//! attempts, how much is to be expected of each; and each set plays some of the very same: drawn the oftener, the more is to
//! be expected of them, and counted the less for it (Hansen and Hurwitz 1943, sampling with probability proportional to
//! size). What is drawn is played with the stated values too: a set's result is corrected by how far its own choice is off
//! there from all sets' choices together (ratio for means, regression for shares; Cochran 1977, chapters 6 and 7).

use rustc_hash::FxHashMap;

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck, Purpose, uniform};
use crate::drill::Beginning;
use crate::model::Setup;

use crate::analysis::linear::expected_of;
use crate::analysis::live::{Live, live_from};
use crate::analysis::way::{Known, Prepared};
use crate::analysis::{Coefficients, Counter, ExactLaw, Progress, Target, Way};

use super::stated::{Asking, Doing, Stated};

/// What gets to a target, in one attempt or on average.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Got {
    /// Chance or share of people, 0 to 1: enough to be seen gets there.
    pub seen: f64,
    /// The same for any at all.
    pub any: f64,
    /// Mean count; none for what is no sum over organisms.
    pub mean: Option<f64>,
}

impl Got {
    fn add(&mut self, weight: f64, other: &Got) {
        self.seen += weight * other.seen;
        self.any += weight * other.any;
        if let Some(mean) = other.mean {
            *self.mean.get_or_insert_default() += weight * mean;
        }
    }
}

/// What one set of values gives for one target: in each half of the repeats.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Played {
    /// Share of people on whom enough to be seen gets there.
    pub seen: [f64; 2],
    /// Share of people on whom any gets there.
    pub any: [f64; 2],
    /// Mean count; none for what is no sum over organisms.
    pub mean: Option<[f64; 2]>,
}

/// What attempts of several ways come to: by way, then by target.
type Gots = Vec<Vec<Got>>;

/// Attempts that are drawn, each with what it counts.
type Drawn = Vec<(usize, f64)>;

/// Repeats of every set of values beside so many of the stated ones, unless others are asked for: a few, since sets share
/// no luck and so are many repeats together.
pub fn usual_doubt_repeats(repeats: u64) -> u64 {
    (repeats / 500).clamp(10, 20)
}

/// Of so many repeats of every set, those that whoever never lapses plays: three fifths, since attempts without lapses are so
/// much alike that these tell as much. Of 20 and 12 the ends of ranges lie as far from those of 400: at fourteen targets
/// shares by 0.8 of 100 people on average in a side room with a virus, 1.6 and 1.9 with lotion; means by 0.05 and 0.07 in the logarithm.
fn of_the_letter(repeats: u64) -> u64 {
    (3 * repeats).div_ceil(5)
}

/// How many attempts sets of so many repeats have to choose from.
fn everybody(repeats: u64) -> u64 {
    (200 * repeats).min(10_000)
}

/// How many attempts are played, those to choose from with them, for so many sets of all ways together, of so many sorts of people,
/// with so many repeats of each set: what [`Progress`] comes to.
pub fn doubt_work(sets: usize, people: usize, repeats: u64) -> u64 {
    people as u64 * everybody(repeats) + sets as u64 * repeats
}

/// What is asked about, by setup.
struct Asked<'a> {
    all: &'a [Asking<'a>],
    targets: &'a [Target],
    stated: Vec<Stated<'a>>,
    /// For each of what is asked, which of the setups it has.
    of: Vec<usize>,
    seed: u64,
}

impl<'a> Asked<'a> {
    fn new(all: &'a [Asking<'a>], targets: &'a [Target], seed: u64) -> Result<Asked<'a>, String> {
        let mut stated: Vec<Stated<'a>> = Vec::new();
        let mut of = Vec::with_capacity(all.len());
        for asking in all {
            let known = stated.iter().position(|s| std::ptr::eq(s.setup, asking.setup));
            if known.is_none() {
                stated.push(Stated::new(asking.setup)?);
            }
            of.push(known.unwrap_or(stated.len() - 1));
        }
        Ok(Asked {
            all,
            targets,
            stated,
            of,
            seed,
        })
    }

    /// True if the trainee never lapses.
    fn nobody_lapses(&self) -> bool {
        self.all.iter().all(|asking| {
            let trainee = asking.setup.library.trainee(asking.trainee);
            trainee.is_some_and(|trainee| trainee.is_flawless())
        })
    }

    /// What one attempt of each way comes to with these setups.
    fn once(&self, person: usize, setups: &[&Setup], known: &[Known<'_>]) -> Result<Gots, String> {
        let luck = Luck::new(Key(self.seed).within(person as u64).0);
        let each = self.all.iter().zip(&self.of);
        // Ways of one setup begin alike.
        let mut begun: Option<(usize, Beginning)> = None;
        each.map(|(asking, &n)| {
            let way = way(asking, setups[n])?;
            let beginning = match begun.take() {
                Some((same, beginning)) if same == n => beginning,
                _ => Beginning::draw(setups[n], luck),
            };
            let (_, beginning) = begun.insert((n, beginning));
            once(beginning, setups[n], &way, self.targets, luck, &known[n])
        })
        .collect()
    }
}

/// What attempts are chosen by, whatever is asked: that the same question has the same answer, beside whichever other.
fn sized() -> Vec<Target> {
    Target::PERSON.into_iter().chain(Target::ON_THE_WAY).collect()
}

// How attempts are chosen is our own convention: of shares from 0.2 to 0.5, powers of 0.5 to 1 and damping of 0 to 0.3 these came
// nearest to what 400 repeats a set give, at all targets of three pairs of ways of usual practice.

/// Share of attempts that is drawn whatever is to be expected of them, so that none counts more than three times what it
/// would if all were drawn alike: other values can bring much where the stated ones bring nothing.
const WHATEVER: f64 = 0.3;

/// Attempts are drawn by this power of what is to be expected of them: less than in proportion, since with other values,
/// and in another way, it is another.
const POWER: f64 = 0.75;

/// What an attempt is drawn by for what is to be expected of it at one target. The same on every machine.
fn size(mean: Option<f64>) -> f64 {
    libm::pow(mean.unwrap_or_default(), POWER)
}

/// Works something out for each of many, side by side.
fn each<T: Send>(
    many: impl IntoParallelIterator<Item = usize>,
    progress: &Progress,
    work: impl Fn(usize) -> Result<T, String> + Sync + Send,
) -> Result<Vec<T>, String> {
    many.into_par_iter()
        .map(|n| match progress.stopped() {
            true => Err("stopped".to_owned()),
            false => work(n),
        })
        .collect()
}

/// Attempts for sets to choose from.
struct Everybody {
    /// Attempts in the order in which they are drawn: those alike beside each other.
    order: Vec<usize>,
    /// The chance of each to be drawn, by attempt.
    chance: Vec<f64>,
    /// Sums of chances in that order, each with its own.
    upto: Vec<f64>,
}

impl Everybody {
    /// Attempts by what is to be expected of them at the scenario's own sequence, whatever way is asked about.
    fn of(asked: &Asked<'_>, many: u64, progress: &Progress) -> Result<Everybody, String> {
        let mut ways: Vec<(&Setup, Way<'_>)> = Vec::new();
        for (asking, &n) in asked.all.iter().zip(&asked.of) {
            let setup = asked.stated[n].setup;
            if !ways.iter().any(|(other, _)| std::ptr::eq(*other, setup)) {
                let doing = Doing::Sequence(&setup.scenario.sequence);
                ways.push((
                    setup,
                    way(
                        &Asking {
                            setup,
                            doing,
                            ..*asking
                        },
                        setup,
                    )?,
                ));
            }
        }
        let known: Vec<Known<'_>> = ways.iter().map(|(setup, _)| Known::new(setup)).collect();
        let sized = sized();
        let sizes = each(0..many as usize, progress, |person| {
            let luck = Luck::new(Key(asked.seed).within(person as u64).0);
            let mut sizes = Vec::with_capacity(sized.len() * ways.len());
            for ((setup, way), known) in ways.iter().zip(&known) {
                let beginning = Beginning::draw(setup, luck);
                let prepared = way.prepare(&beginning.state.faults, &sized, luck, known)?;
                let live = live_from(&prepared.plan, &beginning);
                sizes.extend(means(&live, &prepared, &beginning).into_iter().map(size));
            }
            progress.add(1);
            Ok(sizes)
        })?;
        Ok(Everybody::by(&sizes))
    }

    /// Attempts by their sizes in several respects.
    fn by(sizes: &[Vec<f64>]) -> Everybody {
        let many = sizes.len() as f64;
        let columns = sizes.first().map_or(0, Vec::len);
        let sums: Vec<f64> = (0..columns).map(|n| sizes.iter().map(|s| s[n]).sum()).collect();
        let counted: Vec<usize> = (0..columns).filter(|&n| sums[n] > 0.0).collect();
        let part = |person: usize, n: usize| sizes[person][n] / sums[n];
        let by_size = if counted.is_empty() { 0.0 } else { 1.0 - WHATEVER };
        let chance: Vec<f64> = (0..sizes.len())
            .map(|person| {
                let mine: f64 = counted.iter().map(|&n| part(person, n)).sum();
                (1.0 - by_size) / many + by_size * mine / counted.len().max(1) as f64
            })
            .collect();
        // Where they are largest, then how large they are.
        let most = |person: usize| {
            let all = counted.iter().copied();
            all.max_by(|&a, &b| part(person, a).total_cmp(&part(person, b)))
        };
        let mut order: Vec<(Option<usize>, usize)> = (0..sizes.len()).map(|n| (most(n), n)).collect();
        order.sort_by(|(a, n), (b, m)| a.cmp(b).then(chance[*n].total_cmp(&chance[*m])));
        let order: Vec<usize> = order.into_iter().map(|(_, person)| person).collect();
        let mut sum = 0.0;
        let upto = order.iter().map(|&person| {
            sum += chance[person];
            sum
        });
        Everybody {
            upto: upto.collect(),
            order,
            chance,
        }
    }

    /// So many attempts, evenly spaced along their chances from a place between 0 and 1, each with what it counts.
    fn draw(&self, from: f64, count: u64) -> Drawn {
        let all = self.upto.last().copied().unwrap_or_default();
        let many = self.order.len();
        let one = |n: u64| {
            let at = (n as f64 + from) / count as f64 * all;
            let place = self.upto.partition_point(|&upto| upto <= at).min(many - 1);
            let person = self.order[place];
            (person, 1.0 / (many as f64 * self.chance[person] * count as f64))
        };
        (0..count).map(one).collect()
    }

    /// What a set draws for each half of its repeats.
    fn drawn_by(&self, member: usize, repeats: u64, seed: u64) -> [Drawn; 2] {
        let mut stream = Luck::new(seed).stream(Key::of("set").within(member as u64), Purpose::Doubt);
        [repeats.div_ceil(2), repeats / 2].map(|count| self.draw(uniform(&mut stream), count))
    }
}

/// What a set came to in one half of its repeats, and what the same attempts came to with the stated values.
#[derive(Clone, Debug, Default)]
struct Half {
    found: Gots,
    stated: Gots,
}

/// Plays every way that is asked about with every set of values. Ways of one trainee have the same luck in a set, and sets
/// draw their attempts each for itself, so that medians have the noise of all repeats together. The outer list is by way,
/// then by set, then by target.
///
/// # Errors
/// A sentence: the content has no ensemble, or what is asked cannot be done.
pub fn play_all(
    asked: &[Asking<'_>],
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Vec<Vec<Played>>>, String> {
    let mut played = vec![Vec::new(); asked.len()];
    let mut left: Vec<usize> = (0..asked.len()).collect();
    while let Some(&first) = left.first() {
        let is_his = |n: &usize| asked[*n].trainee == asked[first].trainee;
        let (his, others): (Vec<usize>, Vec<usize>) = left.into_iter().partition(is_his);
        left = others;
        let all: Vec<Asking<'_>> = his.iter().map(|&n| asked[n]).collect();
        for (n, of_way) in his
            .into_iter()
            .zip(play_of_one(&all, targets, repeats, seed, progress)?)
        {
            played[n] = of_way;
        }
    }
    Ok(played)
}

/// The same of one trainee's ways.
fn play_of_one(
    asked: &[Asking<'_>],
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Vec<Vec<Played>>>, String> {
    let asked = Asked::new(asked, targets, seed)?;
    let sets = asked.stated.first().map_or(0, |s| s.ensemble.members.len());
    let all_repeats = repeats;
    let repeats = if asked.nobody_lapses() {
        of_the_letter(repeats)
    } else {
        repeats
    };
    let many = everybody(repeats);
    progress.add(everybody(all_repeats) - many);
    let everybody = Everybody::of(&asked, many, progress)?;
    let drawn: Vec<[Drawn; 2]> = (0..sets)
        .map(|member| everybody.drawn_by(member, repeats, seed))
        .collect();
    let stated = with_stated_values(&asked, &drawn, progress)?;
    let halves = each(0..sets, progress, |member| {
        let setups = asked.stated.iter().map(|stated| stated.with(member));
        let setups = setups.collect::<Result<Vec<Setup>, String>>()?;
        let halves = play(&asked, &stated, &setups, &drawn[member]);
        progress.add(all_repeats * asked.all.len() as u64);
        halves
    })?;
    let of_way = |way: usize| corrected(&halves, way, targets.len());
    Ok((0..asked.all.len()).map(of_way).collect())
}

/// What everyone who is drawn comes to with the stated values.
fn with_stated_values(
    asked: &Asked<'_>,
    drawn: &[[Drawn; 2]],
    progress: &Progress,
) -> Result<FxHashMap<usize, Gots>, String> {
    let setups: Vec<&Setup> = asked.stated.iter().map(|stated| stated.setup).collect();
    let known: Vec<Known<'_>> = setups.iter().map(|setup| Known::new(setup)).collect();
    let mut persons: Vec<usize> = drawn
        .iter()
        .flatten()
        .flatten()
        .map(|(person, _)| *person)
        .collect();
    persons.sort_unstable();
    persons.dedup();
    let all = each(persons, progress, |person| {
        Ok((person, asked.once(person, &setups, &known)?))
    })?;
    Ok(all.into_iter().collect())
}

/// What one set comes to.
fn play(
    asked: &Asked<'_>,
    stated: &FxHashMap<usize, Gots>,
    setups: &[Setup],
    drawn: &[Drawn; 2],
) -> Result<[Half; 2], String> {
    let setups: Vec<&Setup> = setups.iter().collect();
    let known: Vec<Known<'_>> = setups.iter().map(|setup| Known::new(setup)).collect();
    let nothing = vec![vec![Got::default(); asked.targets.len()]; asked.all.len()];
    let play_half = |drawn: &[(usize, f64)]| -> Result<Half, String> {
        let mut half = Half {
            found: nothing.clone(),
            stated: nothing.clone(),
        };
        for (person, weight) in drawn {
            let found = asked.once(*person, &setups, &known)?;
            for (sums, got) in [(&mut half.found, &found), (&mut half.stated, &stated[person])] {
                let both = sums.iter_mut().flatten().zip(got.iter().flatten());
                both.for_each(|(sum, got)| sum.add(*weight, got));
            }
        }
        Ok(half)
    };
    Ok([play_half(&drawn[0])?, play_half(&drawn[1])?])
}

/// How much of what a choice is off by with the stated values stays in a mean: without it, a choice that has nothing of
/// what the stated values bring would be corrected without end.
const DAMPED: f64 = 0.1;

/// What sets come to, set by set and target by target, with what their choice of attempts is off by taken out.
fn corrected(halves: &[[Half; 2]], way: usize, targets: usize) -> Vec<Vec<Played>> {
    let mut sets = vec![vec![Played::default(); targets]; halves.len()];
    for t in 0..targets {
        let column = |of: fn(&Got) -> f64| -> Vec<[(f64, f64); 2]> {
            let one = |half: &Half| (of(&half.found[way][t]), of(&half.stated[way][t]));
            halves.iter().map(|both| both.each_ref().map(one)).collect()
        };
        let seen = regressed(&column(|got| got.seen));
        let any = regressed(&column(|got| got.any));
        for (set, (seen, any)) in sets.iter_mut().zip(seen.into_iter().zip(any)) {
            (set[t].seen, set[t].any) = (seen, any);
        }
        if halves
            .iter()
            .flatten()
            .all(|half| half.found[way][t].mean.is_some())
        {
            let means = scaled(&column(|got| got.mean.unwrap_or_default()));
            for (set, mean) in sets.iter_mut().zip(means) {
                set[t].mean = Some(mean);
            }
        }
    }
    sets
}

/// The means of all halves' numbers: with these values, and with the stated ones.
fn middles(column: &[[(f64, f64); 2]]) -> (f64, f64) {
    let many = 2.0 * column.len() as f64;
    let all = column.iter().flatten();
    let (found, stated) = all.fold((0.0, 0.0), |(y, x), (found, stated)| (y + found, x + stated));
    (found / many, stated / many)
}

/// Means, each with what the same attempts gave with the stated values, as they would be had these given what all give.
fn scaled(column: &[[(f64, f64); 2]]) -> Vec<[f64; 2]> {
    let (_, all) = middles(column);
    let one = |&(found, stated): &(f64, f64)| match all > 0.0 {
        true => found * (1.0 + DAMPED) * all / (stated + DAMPED * all),
        false => found,
    };
    column.iter().map(|halves| halves.each_ref().map(one)).collect()
}

/// Shares likewise: along the line through all sets' halves.
fn regressed(column: &[[(f64, f64); 2]]) -> Vec<[f64; 2]> {
    let (mean_y, mean_x) = middles(column);
    let (mut both, mut square) = (0.0, 0.0);
    for (found, stated) in column.iter().flatten() {
        both += (found - mean_y) * (stated - mean_x);
        square += (stated - mean_x).powi(2);
    }
    let slope = if square > 0.0 {
        (both / square).max(0.0)
    } else {
        0.0
    };
    let one = |(found, stated): &(f64, f64)| (found - slope * (stated - mean_x)).clamp(0.0, 1.0);
    column.iter().map(|halves| halves.each_ref().map(one)).collect()
}

/// What is done, with a set's own trainee.
pub(in crate::analysis) fn way<'a>(asking: &Asking<'a>, setup: &'a Setup) -> Result<Way<'a>, String> {
    let library = &setup.library;
    let missing = |what: &str, id: &str| format!("there is no {what} `{id}`");
    let trainee = library
        .trainee(asking.trainee)
        .ok_or_else(|| missing("trainee", asking.trainee))?;
    Ok(match asking.doing {
        Doing::Script(actions) if trainee.is_flawless() => Way::Script(actions),
        Doing::Script(actions) => Way::Lapsed(actions, trainee),
        Doing::Sequence(id) => {
            let sequence = library.sequence(id).ok_or_else(|| missing("sequence", id))?;
            Way::Rehearsed(sequence, trainee)
        }
    })
}

/// What one attempt of a way comes to with this luck, from the beginning that it has drawn. Where one organism is enough to be seen the exact law says all
/// there is to know with less noise; elsewhere it is counted.
pub(in crate::analysis) fn once(
    beginning: &Beginning,
    setup: &Setup,
    way: &Way<'_>,
    targets: &[Target],
    luck: Luck,
    known: &Known<'_>,
) -> Result<Vec<Got>, String> {
    let prepared = way.prepare(&beginning.state.faults, targets, luck, known)?;
    let Prepared { plan, aims, .. } = &*prepared;
    let live = live_from(plan, beginning);
    let means = means(&live, &prepared, beginning);
    let seen_from = setup.organism.seen_from;
    let reached: Vec<(f64, f64)> = if seen_from <= 1 {
        let laws = ExactLaw::of(&live, beginning, aims).reached(luck);
        laws.into_iter().map(|law| (law, law)).collect()
    } else {
        let found = Counter::of(&live, beginning, aims, seen_from).count(luck);
        let counted = found.iter();
        counted
            .map(|found| (f64::from(found.seen), f64::from(found.count > 0)))
            .collect()
    };
    let all = reached.into_iter().zip(means);
    Ok(all.map(|((seen, any), mean)| Got { seen, any, mean }).collect())
}

/// The exact expectations from a beginning.
fn means(live: &[Live<'_>], prepared: &Prepared, beginning: &Beginning) -> Vec<Option<f64>> {
    let Prepared { plan, aims, .. } = prepared;
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    expected_of(live, plan.varies(), &start, aims, Coefficients::Mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(name: &str, n: u64) -> f64 {
        uniform(&mut Luck::new(n).stream(Key::of(name), Purpose::Doubt))
    }

    /// Of 2000 attempts one in a hundred leaves a thousand times what others do, in one of two respects.
    fn uneven() -> Vec<Vec<f64>> {
        let one = |n: u64| {
            let much = if n.is_multiple_of(100) { 1000.0 } else { 1.0 };
            let size = much * (0.2 + drawn("size", n));
            match n.is_multiple_of(2) && n.is_multiple_of(400) {
                true => vec![1.0, size],
                false => vec![size, 1.0],
            }
        };
        (0..2000).map(one).collect()
    }

    fn by(sizes: &[Vec<f64>]) -> Everybody {
        let powers = |sizes: &Vec<f64>| sizes.iter().map(|&mean| size(Some(mean))).collect();
        Everybody::by(&sizes.iter().map(powers).collect::<Vec<Vec<f64>>>())
    }

    /// Whoever draws has, on average, what all have; and with ten attempts not a third of the error that ten at random have.
    #[test]
    fn what_is_drawn_stands_for_all() {
        let sizes = uneven();
        let everybody = by(&sizes);
        for respect in 0..2 {
            let of = |person: usize| sizes[person][respect];
            let all = (0..sizes.len()).map(of).sum::<f64>() / sizes.len() as f64;
            let (mut sum, mut ours, mut plain) = (0.0, 0.0, 0.0);
            let rounds = 4000;
            for round in 0..rounds {
                let drew = everybody.draw(drawn("from", round), 10);
                let weighed: f64 = drew.iter().map(|(person, weight)| weight * of(*person)).sum();
                sum += weighed / rounds as f64;
                ours += (weighed - all).powi(2);
                let at_random = |n: u64| of((drawn("any", 10 * round + n) * sizes.len() as f64) as usize);
                let mean = (0..10).map(at_random).sum::<f64>() / 10.0;
                plain += (mean - all).powi(2);
            }
            assert!((sum / all - 1.0).abs() < 0.03, "{respect}: {sum} for {all}");
            assert!(
                ours.sqrt() < plain.sqrt() / 3.0,
                "{respect}: {ours} against {plain}"
            );
        }
        let drew = everybody.draw(0.5, 10);
        assert!(
            drew.iter()
                .all(|(_, weight)| *weight <= 1.0 / WHATEVER / 10.0 + 1e-9)
        );
    }

    /// A set that has a factor on everything comes to that factor of what all come to, whatever it drew.
    #[test]
    fn what_a_choice_is_off_by_is_taken_out() {
        let off = |n: u64, half: &str| 0.2 + 2.0 * drawn(half, n);
        let column = |factor: fn(u64) -> f64| -> Vec<[(f64, f64); 2]> {
            let one = |n: u64| ["one", "two"].map(|half| (factor(n) * off(n, half), off(n, half)));
            (0..200).map(one).collect()
        };
        let by_tens = column(|n| 1.0 + n as f64);
        let (_, all) = middles(&by_tens);
        for (n, halves) in scaled(&by_tens).into_iter().enumerate() {
            let wanted = (1.0 + n as f64) * all;
            for half in halves {
                assert!((half / wanted - 1.0).abs() < 0.35, "{n}: {half} for {wanted}");
            }
        }
        // Shares that all sets have alike are alike when that is done.
        let shares: Vec<[(f64, f64); 2]> = column(|_| 1.0)
            .into_iter()
            .map(|halves| halves.map(|(_, stated)| (0.3 * stated, 0.2 * stated)))
            .collect();
        let (all, _) = middles(&shares);
        for half in regressed(&shares).into_iter().flatten() {
            assert!((half - all).abs() < 1e-9, "{half} for {all}");
        }
        // Where nothing comes of it with the stated values, what comes of it with others stands.
        assert_eq!(scaled(&[[(2.0, 0.0), (4.0, 0.0)]]), [[2.0, 4.0]]);
        assert_eq!(regressed(&[[(0.5, 0.0), (0.25, 0.0)]]), [[0.5, 0.25]]);
    }
}
