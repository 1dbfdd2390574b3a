//! Refresher dates as a calendar file, iCalendar as RFC 5545 has it: an all-day event for each, to be read into any calendar.

use icalendar::{Calendar, Component, Event, Property};

use crate::chance::Key;
use crate::register::{Due, Moment};

use super::register::{NO_TRIAL, standing_words};
use super::words::capital;

/// A calendar with an event on each day on which practice is due. The same person and sequence keep their event, so reading a
/// newer file in moves it.
pub fn due_calendar(rows: &[Due], now: Moment) -> String {
    let stamp = now.stem();
    // Whoever reads a newer file in has the newer date: its number grows with time, in minutes since 2020 began.
    let minutes = (now.millis() / 60_000 - 26_297_280).clamp(0, i64::from(i32::MAX)) as u32;
    let mut calendar = Calendar::empty();
    let made_by = concat!("-//smirch//smirch ", env!("CARGO_PKG_VERSION"), "//EN");
    for property in [("VERSION", "2.0"), ("PRODID", made_by), ("CALSCALE", "GREGORIAN")] {
        calendar.append_property(property);
    }
    for due in rows {
        let key = Key::of("refresher")
            .named(&due.code.folded())
            .named(&due.sequence.id);
        let day = due.due.strftime("%Y%m%d").to_string();
        let mut start = Property::new("DTSTART", &day);
        start.add_parameter("VALUE", "DATE");
        calendar.push(
            Event::new()
                .uid(&format!("{:016x}@smirch", key.0))
                .add_property("DTSTAMP", &stamp)
                .sequence(minutes)
                .append_property(start)
                .summary(&format!("Practise: {} (code {})", due.sequence.label, due.code))
                .description(&format!(
                    "Latest on {}: {}. {}",
                    due.latest.words(),
                    standing_words(&due.standing),
                    capital(NO_TRIAL)
                ))
                .done(),
        );
    }
    calendar.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Code;
    use crate::register::{Named, Standing};

    fn due(code: &str, label: &str) -> Due {
        Due {
            code: Code::new(code).expect("a code"),
            ward: None,
            group: None,
            sequence: Named {
                id: "droplet".to_owned(),
                label: label.to_owned(),
            },
            latest: Moment::parse("2026-08-31T09:00:00+02:00").expect("a moment"),
            standing: Standing::Clean(2),
            due: "2027-02-28".parse().expect("a date"),
            attempts: 2,
        }
    }

    /// RFC 5545: lines end in CRLF and have at most 75 octets, longer ones go on after a blank and are whole when unfolded; commas
    /// and semicolons in text are escaped; an all-day date needs no end.
    #[test]
    fn the_calendar_keeps_to_its_standard() {
        let now = Moment::parse("2026-11-27T13:00:00+01:00").expect("a moment");
        let label = "droplet kit, é first; check the fit test before anything else is done at the door";
        let text = due_calendar(&[due("K7", label)], now);
        assert!(
            text.starts_with("BEGIN:VCALENDAR\r\n") && text.ends_with("END:VCALENDAR\r\n"),
            "{text}"
        );
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        for line in text.split("\r\n") {
            assert!(line.len() <= 75, "{} octets: {line}", line.len());
        }
        let whole = text.replace("\r\n ", "");
        for needed in [
            "VERSION:2.0\r\n",
            "PRODID:",
            "DTSTART;VALUE=DATE:20270228\r\n",
            "DTSTAMP:20261127T120000Z\r\n",
            "SUMMARY:Practise: droplet kit\\, é first\\; check the fit test",
        ] {
            assert!(whole.contains(needed), "{needed} is missing in {whole}");
        }
    }

    /// A line of 83 octets, one of its letters two of them, is folded after 75 and is whole again when unfolded (worked example L16). It
    /// is not one of ours; what writes ours writes it.
    #[test]
    fn a_long_line_is_folded_as_worked() {
        let line = "SUMMARY:Refresher due: take off droplet kit (code K7) - é check the fit test first";
        assert_eq!((line.chars().count(), line.len()), (82, 83));
        let text = Event::new()
            .summary(line.trim_start_matches("SUMMARY:"))
            .done()
            .to_string();
        let start = text.find("SUMMARY:").expect("a summary");
        let mut lines = text[start..].split("\r\n");
        let [first, second] = [lines.next(), lines.next()].map(|l| l.expect("two lines"));
        assert_eq!((first.len(), second.len()), (75, 9));
        assert_eq!(
            format!("{first}{}", second.strip_prefix(' ').expect("folded")),
            line
        );
    }

    #[test]
    fn an_event_is_known_by_person_and_sequence() {
        let uid = |code: &str| {
            let text = due_calendar(&[due(code, "x")], Moment::now());
            text.lines()
                .find(|l| l.starts_with("UID:"))
                .expect("an id")
                .to_owned()
        };
        assert_eq!(uid("K7"), uid("k7"));
        assert_ne!(uid("K7"), uid("K8"));
    }
}
