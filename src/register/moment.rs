//! Moments by a station's clock, with the offset of its local time; and dates some months later.

use crate::outside::clock;

use std::fmt;

use jiff::civil::Date;
use jiff::tz::Offset;
use jiff::{Span, Timestamp};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A moment by the clock of a station, to the millisecond, with what its local time was ahead of UTC by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    at: Timestamp,
    offset: Offset,
}

/// Milliseconds of a day.
const DAY: i64 = 86_400_000;

impl Moment {
    /// Now, by this machine's clock.
    pub fn now() -> Moment {
        let at = clock::timestamp();
        Moment::of(at, clock::offset_at(at))
    }

    fn of(at: Timestamp, offset: Offset) -> Moment {
        // What is written is read back the same.
        let at = Timestamp::from_millisecond(at.as_millisecond()).unwrap_or(at);
        Moment { at, offset }
    }

    /// Seconds since 1970 began in Greenwich, told in this machine's local time; none for times no calendar has.
    pub fn of_seconds(seconds: u64) -> Option<Moment> {
        let at = Timestamp::from_second(i64::try_from(seconds).ok()?).ok()?;
        Some(Moment::of(at, clock::offset_at(at)))
    }

    /// A moment as it is written, such as `2026-03-01T09:30:00+01:00`.
    ///
    /// # Errors
    /// A sentence: this is no moment.
    pub fn parse(text: &str) -> Result<Moment, String> {
        let wrong = || format!("`{text}` is no moment such as 2026-03-01T09:30:00+01:00");
        let pieces = jiff::fmt::temporal::DateTimeParser::new()
            .parse_pieces(text)
            .map_err(|_| wrong())?;
        let time = pieces.time().ok_or_else(wrong)?;
        let offset = pieces.to_numeric_offset().ok_or_else(wrong)?;
        let at = offset
            .to_timestamp(pieces.date().to_datetime(time))
            .map_err(|_| wrong())?;
        Ok(Moment::of(at, offset))
    }

    /// The date there.
    pub fn date(self) -> Date {
        self.offset.to_datetime(self.at).date()
    }

    /// Date and time there, such as `1 March 2026, 09:30`.
    pub fn words(self) -> String {
        let there = self.offset.to_datetime(self.at);
        format!(
            "{}, {:02}:{:02}",
            date_words(there.date()),
            there.hour(),
            there.minute()
        )
    }

    /// In UTC as names of files have it, such as `20260301T083000Z`.
    pub fn stem(self) -> String {
        let utc = Offset::UTC.to_datetime(self.at);
        let (date, time) = (utc.date(), utc.time());
        format!(
            "{:04}{:02}{:02}T{:02}{:02}{:02}Z",
            date.year(),
            date.month(),
            date.day(),
            time.hour(),
            time.minute(),
            time.second()
        )
    }

    /// As open formats want it: RFC 3339, in UTC.
    pub fn utc(self) -> String {
        format!("{:.3}", self.at)
    }

    /// True if it is more than a day after another: then one of two clocks is wrong.
    pub fn is_beyond(self, now: Moment) -> bool {
        self.at.as_millisecond() - now.at.as_millisecond() > DAY
    }

    /// True if it is from before there can have been this program: then a clock is wrong, such as one that begins at 1970 or 2000
    /// because its battery is flat.
    pub fn is_before_the_program(self) -> bool {
        self.date().year() < 2020
    }

    /// Milliseconds since 1970 began, for sorting.
    pub fn millis(self) -> i64 {
        self.at.as_millisecond()
    }
}

/// A date such as `1 March 2026`.
pub fn date_words(date: Date) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let month = MONTHS[(date.month() as usize).clamp(1, 12) - 1];
    format!("{} {month} {}", date.day(), date.year())
}

/// The date some months later; where that month is too short, its last day.
pub fn months_later(date: Date, months: u32) -> Date {
    date.checked_add(Span::new().months(i64::from(months.min(1200))))
        .unwrap_or(Date::MAX)
}

/// The date some months before; where that month is too short, its last day.
pub fn months_earlier(date: Date, months: u32) -> Date {
    date.checked_sub(Span::new().months(i64::from(months.min(1200))))
        .unwrap_or(Date::MIN)
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3}", self.at.display_with_offset(self.offset))
    }
}

impl Serialize for Moment {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Moment {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Moment, D::Error> {
        struct Read;
        impl serde::de::Visitor<'_> for Read {
            type Value = Moment;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a moment")
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Moment, E> {
                Moment::parse(text).map_err(E::custom)
            }
        }
        d.deserialize_str(Read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> Date {
        text.parse().expect("a date")
    }

    /// Clamped months: a refresher that would fall on the 31st of a month that has none falls on its last day
    /// (worked example L15).
    #[test]
    fn months_are_clamped_to_the_months_end() {
        for (from, months, to) in [
            ("2026-08-31", 6, "2027-02-28"),
            ("2023-08-31", 6, "2024-02-29"),
            ("2024-02-29", 12, "2025-02-28"),
            ("2026-11-30", 3, "2027-02-28"),
            ("2026-01-15", 24, "2028-01-15"),
        ] {
            assert_eq!(months_later(date(from), months), date(to), "{from} + {months}");
        }
    }

    #[test]
    fn moments_are_read_as_they_were_written() {
        for text in [
            "2026-03-01T09:30:00.123+01:00",
            "2026-11-27T12:00:00.000-04:30",
            "1999-12-31T23:59:59.999+00:00",
        ] {
            let moment = Moment::parse(text).expect(text);
            assert_eq!(moment.to_string(), text);
            assert_eq!(Moment::parse(&moment.to_string()), Ok(moment));
        }
        let moment = Moment::parse("2026-03-01T00:30:00+01:00").expect("a moment");
        assert_eq!(moment.words(), "1 March 2026, 00:30");
        assert_eq!(moment.stem(), "20260228T233000Z");
        assert_eq!(moment.utc(), "2026-02-28T23:30:00.000Z");
        assert_eq!(moment.date(), date("2026-03-01"));
        let now = Moment::now();
        assert_eq!(Moment::parse(&now.to_string()), Ok(now));
        for bad in [
            "",
            "today",
            "2026-03-01",
            "2026-13-01T00:00:00Z",
            "2026-03-01T09:30:00",
        ] {
            assert!(Moment::parse(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn clocks_may_differ_by_a_day_and_no_more() {
        let at = |text| Moment::parse(text).expect("a moment");
        let now = at("2026-03-01T12:00:00+00:00");
        assert!(!at("2026-03-02T11:59:00+00:00").is_beyond(now));
        assert!(at("2026-03-02T12:01:00+00:00").is_beyond(now));
        assert!(!at("1970-01-01T00:00:00+00:00").is_beyond(now));
    }
}
