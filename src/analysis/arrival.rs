//! How what ended on some sites got there, in one drill as it happened.
//!
//! Which organism moved is not on the books, but how many of each source moved at each touch is, and organisms of one
//! source on one site are alike. So every one of them has the same chance of having been among those that moved, and
//! the shares below are exact given what happened: they add up to the count.

use crate::chance::Luck;
use crate::drill::Drill;
use crate::model::SiteIndex;

use super::blame::quadrature;

/// What ended on some sites, taken apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    /// How many.
    pub total: u64,
    /// By the site where they sat at the start, most first.
    pub sources: Vec<(SiteIndex, u64)>,
    /// By start site and the surface that they came from last; none for what never moved. Adds up to the total.
    pub stops: Vec<Stop>,
    /// Every touch that carried some, with its share, in order. With what never moved these add up to the total.
    pub touches: Vec<Carried>,
    /// What sat there from the start and never moved.
    pub unmoved: f64,
}

/// A part of what arrived.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Where it sat at the start.
    pub source: SiteIndex,
    /// The surface that gave it to the end; none if it never moved.
    pub last: Option<SiteIndex>,
    /// How many, on average over which of them moved.
    pub amount: f64,
}

/// A touch that carried some of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carried {
    /// Index of the action.
    pub action: usize,
    /// Index of the event among all events of the drill.
    pub event: usize,
    /// From where.
    pub from: SiteIndex,
    /// To where.
    pub to: SiteIndex,
    /// Its share of what arrived: each organism counts once, divided equally among the touches that carried it.
    pub share: f64,
    /// How many it carried of those that arrived in the end.
    pub passed: f64,
}

/// One move of one source at one event.
#[derive(Clone, Copy, Debug)]
struct Move {
    event: usize,
    action: usize,
    a: SiteIndex,
    /// None for a removal.
    b: Option<SiteIndex>,
    /// Share of those on `a` that went, and of those on `b`.
    ab: f64,
    ba: f64,
}

/// Takes apart what ended on the sites where `target` is 1 (it is 0 elsewhere).
pub fn arrival(drill: &Drill, target: &[f64]) -> Arrival {
    let books = drill.books();
    let sources = books.sources();
    let on_target = |source: usize| -> u64 {
        (0..target.len())
            .filter(|&site| target[site] > 0.0)
            .map(|site| books.row(site)[source])
            .sum()
    };
    let moves = moves(drill);
    let mut out = Arrival {
        total: 0,
        sources: Vec::new(),
        stops: Vec::new(),
        touches: Vec::new(),
        unmoved: 0.0,
    };
    let mut touches: Vec<Carried> = Vec::new();
    for (source, &site) in sources.iter().enumerate() {
        let count = on_target(source);
        if count == 0 {
            continue;
        }
        out.total += count;
        out.sources.push((site, count));
        let one = Source {
            site,
            start: books.start()[source] as f64,
            moves: &moves[source],
            target,
        };
        one.last_stops(&mut out);
        one.shares(&mut touches);
    }
    out.sources.sort_by(|x, y| y.1.cmp(&x.1).then(x.0.cmp(&y.0)));
    touches.sort_by_key(|t| (t.event, t.from, t.to));
    for t in touches {
        match out.touches.last_mut() {
            Some(last) if (last.event, last.from, last.to) == (t.event, t.from, t.to) => {
                last.share += t.share;
                last.passed += t.passed;
            }
            _ => out.touches.push(t),
        }
    }
    out
}

/// Every move of every source, by playing the drill's events again.
fn moves(drill: &Drill) -> Vec<Vec<Move>> {
    let mut books = drill.beginning().books.clone();
    let luck = Luck::new(drill.seed());
    let mut list = vec![Vec::new(); books.sources().len()];
    let mut number = 0;
    for (action, done) in drill.done().iter().enumerate() {
        for (event, outcome) in done.flows() {
            let (a, b) = event.sites();
            for moved in books.replay(event, outcome, luck) {
                let share = |n: u64, of: u64| if of > 0 { n as f64 / of as f64 } else { 0.0 };
                list[moved.source].push(Move {
                    event: number,
                    action,
                    a,
                    b,
                    ab: share(moved.ab, moved.on_a),
                    ba: share(moved.ba, moved.on_b),
                });
            }
            number += 1;
        }
    }
    debug_assert_eq!(
        &books,
        drill.books(),
        "playing the events again gives the same books"
    );
    list
}

/// One source with its moves.
struct Source<'a> {
    site: SiteIndex,
    start: f64,
    moves: &'a [Move],
    target: &'a [f64],
}

impl Source<'_> {
    fn sites(&self) -> usize {
        self.target.len()
    }

    /// By the last surface before the end: each move onto the target counts for what stays there afterwards.
    fn last_stops(&self, out: &mut Arrival) {
        // What one organism on a site after a move is worth if it never moves again.
        let mut stays: Vec<f64> = self.target.to_vec();
        let mut worth: Vec<[f64; 2]> = vec![[0.0; 2]; self.moves.len()];
        for (i, m) in self.moves.iter().enumerate().rev() {
            if let Some(b) = m.b {
                worth[i] = [stays[b], stays[m.a]];
                stays[b] *= 1.0 - m.ba;
            }
            stays[m.a] *= 1.0 - m.ab;
        }
        let mut on = vec![0.0; self.sites()];
        on[self.site] = self.start;
        let unmoved = self.start * stays[self.site];
        let mut add = |last: Option<SiteIndex>, amount: f64| {
            if amount <= 0.0 {
                return;
            }
            let same = |s: &&mut Stop| s.source == self.site && s.last == last;
            match out.stops.iter_mut().find(same) {
                Some(stop) => stop.amount += amount,
                None => out.stops.push(Stop {
                    source: self.site,
                    last,
                    amount,
                }),
            }
        };
        add(None, unmoved);
        for (m, worth) in self.moves.iter().zip(worth) {
            let out_of_a = on[m.a] * m.ab;
            on[m.a] -= out_of_a;
            if let Some(b) = m.b {
                let out_of_b = on[b] * m.ba;
                on[b] += out_of_a - out_of_b;
                on[m.a] += out_of_b;
                add(Some(m.a), out_of_a * worth[0]);
                add(Some(b), out_of_b * worth[1]);
            }
        }
        out.unmoved += unmoved;
    }

    /// By every touch on the way: see [`blame`](super::blame) for the weight on moves.
    fn shares(&self, touches: &mut Vec<Carried>) {
        let mut found: Vec<[(f64, f64); 2]> = vec![[(0.0, 0.0); 2]; self.moves.len()];
        for (t, weight) in quadrature() {
            self.sweep(t, |i, direction, amount| found[i][direction].0 += weight * amount);
        }
        self.sweep(1.0, |i, direction, amount| found[i][direction].1 += amount);
        for (m, found) in self.moves.iter().zip(found) {
            let Some(b) = m.b else { continue };
            for ((from, to), (share, passed)) in [((m.a, b), found[0]), ((b, m.a), found[1])] {
                if share > 0.0 {
                    touches.push(Carried {
                        action: m.action,
                        event: m.event,
                        from,
                        to,
                        share,
                        passed,
                    });
                }
            }
        }
    }

    /// Calls `note(move, direction, amount)` with what moved then and is on the target at the end, every move but
    /// this one weighted with t.
    fn sweep(&self, t: f64, mut note: impl FnMut(usize, usize, f64)) {
        let mut on = vec![0.0; self.sites()];
        on[self.site] = self.start;
        let mut left: Vec<[f64; 2]> = Vec::with_capacity(self.moves.len());
        for m in self.moves {
            let out_of_a = on[m.a] * m.ab;
            on[m.a] -= out_of_a;
            let mut out_of_b = 0.0;
            if let Some(b) = m.b {
                out_of_b = on[b] * m.ba;
                on[b] += t * out_of_a - out_of_b;
                on[m.a] += t * out_of_b;
            }
            left.push([out_of_a, out_of_b]);
        }
        let mut value = self.target.to_vec();
        for (i, m) in self.moves.iter().enumerate().rev() {
            let at_a = value[m.a];
            let Some(b) = m.b else {
                value[m.a] = at_a * (1.0 - m.ab);
                continue;
            };
            let at_b = value[b];
            note(i, 0, left[i][0] * at_b);
            note(i, 1, left[i][1] * at_a);
            value[m.a] = at_a + m.ab * (t * at_b - at_a);
            value[b] = at_b + m.ba * (t * at_a - at_b);
        }
    }
}
