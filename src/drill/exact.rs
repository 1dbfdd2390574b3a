//! Numbers in JSON that are read exactly as they were written. The reader used here rounds a number of more than 15 digits
//! in its last place now and then, so such a number is written as text.

use std::fmt;

use serde::de::{Error, Visitor};
use serde::{Deserializer, Serialize, Serializer};

/// How many digits are surely read back as they were.
const DIGITS: usize = 15;

/// Writes a number, as text if it has many digits.
///
/// # Errors
/// Those of the serializer.
pub fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    let text = value.to_string();
    if text.chars().filter(char::is_ascii_digit).count() > DIGITS {
        text.serialize(serializer)
    } else {
        value.serialize(serializer)
    }
}

/// Reads a number that is written as one or as text.
///
/// # Errors
/// It is neither, or not finite.
pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
    struct Exact;
    impl Visitor<'_> for Exact {
        type Value = f64;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a number")
        }
        fn visit_f64<E: Error>(self, value: f64) -> Result<f64, E> {
            Ok(value)
        }
        fn visit_u64<E: Error>(self, value: u64) -> Result<f64, E> {
            Ok(value as f64)
        }
        fn visit_i64<E: Error>(self, value: i64) -> Result<f64, E> {
            Ok(value as f64)
        }
        fn visit_str<E: Error>(self, text: &str) -> Result<f64, E> {
            text.parse()
                .ok()
                .filter(|value: &f64| value.is_finite())
                .ok_or_else(|| E::custom(format_args!("{text:?} is no number")))
        }
    }
    deserializer.deserialize_any(Exact)
}
