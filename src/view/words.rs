//! Small pieces of wording that several screens share.

use crate::model::{Side, Whereabouts};
pub use crate::report::{count, many};

/// A text with its first letter in upper case.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// A text with its first letter in lower case, to go on with in a sentence.
pub fn lower(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Seconds as minutes and seconds, such as `02:14`.
pub fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0) as u64;
    format!("{:02}:{:02}", whole / 60, whole % 60)
}

/// Seconds in words, such as `2 min 14 s`.
pub fn length(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    if whole < 60 {
        format!("{whole} s")
    } else {
        format!("{} min {:02} s", whole / 60, whole % 60)
    }
}

/// Where someone stands, to end a sentence with.
pub fn standing(at: Whereabouts) -> &'static str {
    match at {
        Whereabouts::Inside => "inside the room",
        Whereabouts::Doorway => "in the doorway",
        Whereabouts::Outside => "outside the room",
    }
}

/// `your left hand`.
pub fn hand(side: Side) -> String {
    format!("your {} hand", side.word())
}

/// Words joined as `a, b and c`.
pub fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_grouped_in_threes() {
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(41_200), "41\u{a0}200");
        assert_eq!(count(1_000_000), "1\u{a0}000\u{a0}000");
    }

    #[test]
    fn a_clock_counts_minutes_and_seconds() {
        assert_eq!(clock(134.9), "02:14");
        assert_eq!(length(59.6), "1 min 00 s");
        assert_eq!(length(20.0), "20 s");
    }

    #[test]
    fn lists_read_as_people_speak() {
        let words: Vec<String> = ["a", "b", "c"].map(String::from).into();
        assert_eq!(list(&words), "a, b and c");
        assert_eq!(list(&words[..1]), "a");
        assert_eq!(sentence("undo the tie"), "Undo the tie");
        assert_eq!(
            (many(1, "speck"), many(12, "speck")),
            ("1 speck".into(), "12 specks".into())
        );
    }
}
