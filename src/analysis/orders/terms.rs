//! The terms of a search: how much it may hold, why it may fail, what a protocol comes to, and how large the space is.

use crate::drill::Action;

use super::Scope;

/// How much may be held in memory at once, and how finely protocols are told apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Configurations of kit, whereabouts and wetness.
    pub configurations: usize,
    /// Beginnings of protocols.
    pub prefixes: usize,
    /// How much more, as a share of its count, a protocol of the front may leave than one for which it stands; 0 to find
    /// the front itself.
    pub near: f64,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            configurations: 4_000_000,
            prefixes: 4_000_000,
            near: 0.0,
        }
    }
}

impl Limits {
    /// Limits that suit a scope: the front itself where a policy is kept to; where any way is allowed protocols are so many
    /// and so alike that one stands for those within a thousandth, a hundredth of what is told apart in words.
    pub fn of(scope: &Scope) -> Limits {
        Limits {
            near: if scope.policy.is_some() { 0.0 } else { 1e-3 },
            ..Limits::default()
        }
    }
}

/// Why orders could not be compared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrdersError {
    /// The space is too large.
    TooMany {
        /// Of what.
        what: &'static str,
        /// The limit that was reached.
        most: u128,
    },
    /// The kit lies ready, and orders of taking off begin where it is on.
    LiesReady,
    /// The kit cannot all be taken off: items that no technique takes off, if that is why.
    NoWay(Vec<String>),
    /// The policy has bare hands cleaned, and none of the products that are allowed is for skin: what these are.
    NotForSkin(Vec<String>),
    /// What is asked about is no sum over organisms, so that orders cannot be told apart by expectation: its word.
    NoSum(&'static str),
    /// What is asked about counts at each cleaning, and nothing bounds how few cleanings there may be: its word.
    RewardsFewer(&'static str),
    /// An action of the front or of a sequence was refused when it was played again.
    Refused(String),
    /// It was stopped.
    Stopped,
}

impl std::fmt::Display for OrdersError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            OrdersError::TooMany { what, most } => write!(
                f,
                "too many to hold: more than {most} {what}\n   hint: keep to the policy, allow fewer products, or ask about a target at the end such as `any-skin`"
            ),
            OrdersError::LiesReady => f.write_str(
                "best orders are of taking off, and begin where the kit is on; here it lies ready\n   hint: ask about a scenario that begins with the same kit on",
            ),
            OrdersError::NoWay(items) if items.is_empty() => {
                f.write_str("there is no way to take everything off and end outside")
            }
            OrdersError::NoWay(items) => write!(
                f,
                "there is no way to take everything off: nothing takes off the {}",
                items.join(", the ")
            ),
            OrdersError::NotForSkin(products) => write!(
                f,
                "there is no way that keeps to the policy: it has bare hands cleaned, and of what is allowed ({}) nothing is for skin\n   hint: allow a product for skin as well, such as `alcohol-rub`",
                products.join(", ")
            ),
            OrdersError::NoSum(word) => write!(
                f,
                "best orders are not to be had for the target `{word}`: it is no sum over organisms and has no exact mean\n   hint: ask about `hands-before-cleaning` for hands on the way, about `any-skin` or `clothing` for the person at the end"
            ),
            OrdersError::RewardsFewer(word) => write!(
                f,
                "any way at all cannot be judged by `{word}`: it counts what is on hands at each cleaning, so leaving cleanings out would look safer\n   hint: keep to the policy, which says how often hands are cleaned at least, or ask about a target at the end such as `any-skin`"
            ),
            OrdersError::Refused(why) => f.write_str(why),
            OrdersError::Stopped => f.write_str("stopped before the front was complete"),
        }
    }
}

impl std::error::Error for OrdersError {}

/// A way of taking everything off, with what it comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Protocol {
    /// What is done, in order.
    pub actions: Vec<Action>,
    /// Expected count at the target in the end.
    pub risk: f64,
    /// Length, s.
    pub seconds: f64,
    /// How often hands are cleaned.
    pub cleans: u32,
    /// How many protocols were found to equal it in all three to 1e-12, itself included; there may be more among
    /// those ruled out.
    pub ties: u128,
}

/// How large the space is and what became of it. `followed`, `dominated` and `bounded` add up to `protocols`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Protocols in the space.
    pub protocols: u128,
    /// Protocols followed to their end in the last, complete pass.
    pub followed: u128,
    /// Protocols ruled out because another begins no worse, whatever follows.
    pub dominated: u128,
    /// Protocols ruled out because the best that could follow is matched by one found already.
    pub bounded: u128,
    /// How much more, as a share, a protocol of the front may leave than one that was ruled out; see [`Limits::near`].
    pub near: f64,
    /// Beginnings looked at in the last pass.
    pub prefixes: u64,
    /// Arrangements of kit and whereabouts.
    pub arrangements: usize,
    /// Arrangements with what is wet and for how long.
    pub configurations: usize,
    /// Configurations that differ in what can happen to the target.
    pub nodes: usize,
}

impl Size {
    /// True if every protocol of the space was followed or ruled out.
    pub fn complete(&self) -> bool {
        self.followed + self.dominated + self.bounded == self.protocols
    }
}
