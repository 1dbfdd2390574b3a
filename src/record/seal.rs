//! Seals of lines of JSON. A line's seal is made from its text and the seal of the line before it, so a line that was
//! changed, left out or moved after it was written shows. Whoever can write a line can seal one anew: seals tell damage and
//! carelessness, they are no signature.

use serde::Serialize;

use crate::chance::Key;

const SEAL: &str = ",\"seal\":\"";

/// What stands for the line before the first one, in files of one sort.
pub(crate) fn first(sort: &str) -> Key {
    Key::of(sort)
}

/// Writes a value, which must be a JSON object with fields, as a line with its seal, and gives the seal for the next.
///
/// # Errors
/// The value cannot be written as JSON.
pub(crate) fn sealed(line: &impl Serialize, before: Key) -> serde_json::Result<(String, Key)> {
    let mut text = serde_json::to_string(line)?;
    text.pop();
    let seal = before.named(&text);
    text.push_str(SEAL);
    text.push_str(&format!("{:016x}", seal.0));
    text.push_str("\"}\n");
    Ok((text, seal))
}

/// The seal that a line says it has, to seal a next one after it.
pub(crate) fn seal_of(line: &str) -> Option<Key> {
    let (_, seal) = line.strip_suffix("\"}")?.rsplit_once(SEAL)?;
    u64::from_str_radix(seal, 16).ok().map(Key)
}

/// The seal of a line as read, without its line end; none if it is not what it should be after the seal before it.
pub(crate) fn unbroken(line: &str, before: Key) -> Option<Key> {
    let (text, seal) = line.strip_suffix("\"}")?.rsplit_once(SEAL)?;
    let made = before.named(text);
    (format!("{:016x}", made.0) == seal).then_some(made)
}

/// Whether the seals of several lines are what they should be, each after the same seal before it.
pub(crate) fn unbroken_each<const N: usize>(lines: [&str; N], before: Key) -> [bool; N] {
    let parts = lines.map(|line| line.strip_suffix("\"}").and_then(|line| line.rsplit_once(SEAL)));
    let made = Key::of_each(parts.map(|part| part.map_or("", |(text, _)| text)));
    std::array::from_fn(|n| {
        parts[n].is_some_and(|(_, seal)| format!("{:016x}", before.within(made[n].0).0) == seal)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_seal_breaks_with_any_character_and_with_the_line_before() {
        let (text, _) = sealed(&serde_json::json!({"back": 3}), first("log")).expect("it can be written");
        let text = text.trim_end();
        assert!(unbroken(text, first("log")).is_some());
        assert_eq!(unbroken(text, Key::of("another")), None);
        for at in 0..text.len() {
            let mut changed = text.as_bytes().to_vec();
            changed[at] ^= 1;
            let changed = String::from_utf8(changed).expect("one bit of ASCII");
            assert_eq!(unbroken(&changed, first("log")), None, "{changed}");
            let each = unbroken_each([text, &changed, "", &text[..at]], first("log"));
            assert_eq!(each, [true, false, false, false], "{changed}");
        }
    }
}
