//! Pictures of results: everything on the canvas, readable, nothing written over anything, and telling apart in grey.

use smirch::analysis::{Effect, Histogram, Interval, Start, Target};
use smirch::palette::DAY;
use smirch::report::drawing::{Area, Drawing, SMALLEST_TEXT, Shape, Tone, band};
use smirch::report::{
    CAUTION, Chance, Row, best_answer, best_picture, interval_picture, people_picture, png, spread_picture,
    svg, tornado_picture, typeface,
};

use crate::fixture::setup;
use crate::orders::{find, kept};

/// Fails unless a picture can be shown: `name` is what the message calls it.
fn assert_readable(name: &str, drawing: &Drawing) {
    let canvas = Area::new(0.0, 0.0, drawing.width, drawing.height);
    assert!(
        drawing.width >= 1920.0 && drawing.height >= 1080.0,
        "{name}: only {} by {}",
        drawing.width,
        drawing.height
    );
    let mut texts: Vec<(&str, Area)> = Vec::new();
    for shape in &drawing.shapes {
        let extent = shape.extent();
        assert!(
            canvas.holds(&extent),
            "{name}: {shape:?} reaches beyond the canvas, {extent:?}"
        );
        if let Shape::Text { text, size, .. } = shape {
            assert!(
                *size >= SMALLEST_TEXT,
                "{name}: {text:?} is set at {size}, too small for a projector"
            );
            for (other, area) in &texts {
                assert!(
                    !area.overlaps(&extent),
                    "{name}: {text:?} is written over {other:?}"
                );
            }
            texts.push((text, extent));
        }
    }
    let all: String = texts.iter().map(|(text, _)| format!("{text} ")).collect();
    assert!(all.contains(CAUTION), "{name}: the caution is missing or cut");
}

const NAMES: [&str; 4] = [
    "Gloves first, then the gown undone at the back, by the national poster of 2020",
    "Gown first",
    "Gown and gloves in one",
    "Practice order with a rub of the hands after each and every thing taken off",
];

fn chances(count: usize, spread: f64) -> Vec<Chance> {
    (0..count)
        .map(|n| Chance {
            name: NAMES[n].to_owned(),
            probability: spread * n as f64 / 4.0,
            interval: Interval {
                low: (spread * n as f64 / 4.0 - 0.02).max(0.0),
                high: spread * n as f64 / 4.0 + 0.03,
            },
            ranged: count == 3,
        })
        .collect()
}

fn pictures() -> Vec<(String, Drawing)> {
    let title =
        "Who gets some on eyes, nostrils or lips: classic tracer, gown and gloves, by four ways of doing it";
    let beneath = "10 000 repeats of each with the same draws of chance; a share of people, with the interval that holds it in 95 of 100 such computations";
    let labels = [
        "any bare skin",
        "hands and wrists",
        "neck",
        "skin of the face",
        "eyes, nostrils or lips",
        "own clothing",
        "room",
    ];
    let mut all = Vec::new();
    for count in 2..=4 {
        all.push((
            format!("people, {count}"),
            people_picture(title, beneath, &chances(count, 0.9)),
        ));
        let rows: Vec<Row> = labels
            .iter()
            .enumerate()
            .map(|(i, label)| Row {
                label: (*label).to_owned(),
                chances: chances(count, 0.14 * i as f64),
            })
            .collect();
        all.push((
            format!("intervals, {count}"),
            interval_picture(title, beneath, &rows),
        ));
        for most in [1_u64, 700, 4_000_000] {
            let histograms: Vec<(String, Histogram)> = (0..count)
                .map(|n| {
                    let counts = (0..400_u64).map(|i| {
                        if i % 3 == 0 {
                            0
                        } else {
                            (most * i * (n as u64 + 1)) / 1600
                        }
                    });
                    (NAMES[n].to_owned(), Histogram::of(counts))
                })
                .collect();
            all.push((
                format!("spread, {count}, to {most}"),
                spread_picture(title, beneath, "plaque-forming units", &histograms),
            ));
        }
    }
    let effects: Vec<Effect> = (0..30)
        .map(|i| Effect {
            constant: format!("number {i}"),
            words: format!(
                "how much a wet touch moves from nitrile gloves to the skin of the hands, number {i}"
            ),
            share_at_value: 0.2,
            share_at_range: (0.1, 0.4),
            basis: "any".to_owned(),
            value: 1.0,
            range: (0.5, 2.0),
            at_value: 40.0,
            at_range: (40.0 - f64::from(30 - i), 40.0 + 2.0 * f64::from(30 - i)),
        })
        .collect();
    all.push((
        "tornado".to_owned(),
        tornado_picture(title, "plaque-forming units", &effects),
    ));
    all
}

#[test]
fn pictures_stay_on_their_canvas_and_can_be_read() {
    for (name, drawing) in pictures() {
        assert_readable(&name, &drawing);
    }
}

/// However many targets and ways there are, every chance that is drawn is told as a figure too.
#[test]
fn every_chance_of_a_picture_with_intervals_has_its_figure() {
    for count in 1..=4 {
        let rows: Vec<Row> = Target::ALL
            .iter()
            .enumerate()
            .map(|(r, (word, _))| Row {
                label: (*word).to_owned(),
                chances: (0..count)
                    .map(|n| {
                        let probability = 0.011 * (4 * r + n + 1) as f64;
                        Chance {
                            name: NAMES[n].to_owned(),
                            probability,
                            interval: Interval {
                                low: probability - 0.005,
                                high: probability + 0.005,
                            },
                            ranged: false,
                        }
                    })
                    .collect(),
            })
            .collect();
        let drawing = interval_picture("Who gets any at all", "four ways", &rows);
        assert_readable(&format!("figures, {count}"), &drawing);
        for chance in rows.iter().flat_map(|r| &r.chances) {
            let figure = format!("{:.1} %", 100.0 * chance.probability);
            let shown = drawing
                .shapes
                .iter()
                .any(|s| matches!(s, Shape::Text { text, .. } if text.replace(".0 %", " %") == figure.replace(".0 %", " %")));
            assert!(shown, "{count} at once: {figure} is not told");
        }
    }
}

/// The front of the best orders of a kit, which draws what the search finds and so cannot be made up here.
#[test]
fn the_front_of_the_best_orders_stays_on_its_canvas_and_can_be_read() {
    for scenario in ["enteric-bay", "classic-tracer"] {
        let setup = setup(scenario);
        let start = Start::mean(&setup, 1, 1);
        let found = find(&setup, Target::AnySkin, &kept(&setup), &start);
        let drawing = best_picture("The best orders of a kit", &best_answer(&setup, &found, None));
        assert_readable(&format!("front, {scenario}"), &drawing);
    }
}

#[test]
fn dots_are_filled_for_as_many_of_a_hundred_as_the_words_say() {
    for (p, words, filled) in [
        (0.314, "31 of 100 people", 31),
        (0.0, "none, in this model", 0),
        (0.004, "fewer than 1 of 100 people", 0),
        (0.999, "more than 99 of 100 people", 99),
        (1.0, "all, in this model", 100),
    ] {
        let chance = Chance {
            name: "one".to_owned(),
            probability: p,
            interval: Interval { low: p, high: p },
            ranged: false,
        };
        let drawing = people_picture("title", "beneath", &[chance]);
        let said = drawing
            .shapes
            .iter()
            .any(|s| matches!(s, Shape::Text { text, .. } if text == words));
        assert!(said, "a chance of {p} is not put as {words:?}");
        let dots = drawing
            .shapes
            .iter()
            .filter(|s| matches!(s, Shape::Circle { paint, .. } if paint.fill == Some(Tone::A)))
            .count();
        assert_eq!(dots, filled, "a chance of {p} fills {dots} dots");
    }
}

/// With the model's range there are two sorts of filled dots, and the words say how far both go.
#[test]
fn dots_tell_a_range() {
    for (low, high, words, small) in [
        (0.09, 0.42, "9 to 42 of 100 people", 33),
        (0.0, 0.004, "<1 of 100 people", 0),
        (0.997, 1.0, ">99 of 100 people", 1),
        (0.2, 0.2, "20 of 100 people", 0),
    ] {
        let chance = Chance {
            name: "one".to_owned(),
            probability: 0.5 * (low + high),
            interval: Interval { low, high },
            ranged: true,
        };
        let drawing = people_picture("title", "beneath", &[chance]);
        let said = drawing
            .shapes
            .iter()
            .any(|s| matches!(s, Shape::Text { text, .. } if text == words));
        assert!(said, "{low} to {high} is not put as {words:?}");
        let mut radii: Vec<f64> = drawing
            .shapes
            .iter()
            .filter_map(|s| match s {
                Shape::Circle { radius, paint, .. } if paint.fill == Some(Tone::A) => Some(*radius),
                _ => None,
            })
            .collect();
        radii.sort_by(f64::total_cmp);
        let most = radii.last().copied().unwrap_or_default();
        let found = radii.iter().filter(|r| **r < 0.8 * most).count();
        assert_eq!(found, small, "{low} to {high}: {found} small dots");
    }
}

/// Contrast of two tones by day.
fn contrast(a: Tone, b: Tone) -> f64 {
    a.on(&DAY).contrast(b.on(&DAY))
}

#[test]
fn tones_can_be_told_apart_in_grey() {
    for (text, ground) in [
        (Tone::Ink, Tone::Paper),
        (Tone::Soft, Tone::Paper),
        (Tone::Accent, Tone::Card),
        (Tone::Attention, Tone::Card),
    ] {
        let ratio = contrast(text, ground);
        assert!(
            ratio >= 4.5,
            "{text:?} on {ground:?} has a contrast of only {ratio:.2}"
        );
    }
    for mark in [Tone::A, Tone::B] {
        let ratio = contrast(mark, Tone::Card);
        assert!(
            ratio >= 3.0,
            "{mark:?} on a card has a contrast of only {ratio:.2}"
        );
    }
    let ratio = contrast(Tone::A, Tone::B);
    assert!(
        ratio >= 2.0,
        "the two that are compared differ by only {ratio:.2} in grey"
    );
}

/// Widths from the font's tables against what the renderer of the PNGs makes of them: the ink of a text drawn alone.
/// Kerning and side bearings are a few percent.
#[test]
fn texts_are_as_wide_as_they_are_drawn() {
    use resvg::usvg;
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(typeface::REGULAR.to_vec());
    fonts.load_font_data(typeface::BOLD.to_vec());
    let options = usvg::Options {
        fontdb: std::sync::Arc::new(fonts),
        ..usvg::Options::default()
    };
    for (text, bold) in [
        ("eyes, nostrils or lips", false),
        ("31 of 100 people", true),
        ("WAVE TO AVA", false),
        ("12.5 % (11.9 to 13.1)", false),
    ] {
        let weight = if bold { "bold" } else { "normal" };
        let drawn = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"100\"><text x=\"10\" y=\"60\" font-size=\"40\" font-weight=\"{weight}\" font-family=\"{}\">{text}</text></svg>",
            typeface::FAMILY
        );
        let tree = usvg::Tree::from_str(&drawn, &options).expect("it is SVG");
        let ink = f64::from(tree.root().abs_bounding_box().width());
        let measured = typeface::width(text, 40.0, bold);
        assert!(
            (measured / ink - 1.0).abs() < 0.06,
            "{text:?} is measured at {measured:.1} and drawn {ink:.1} wide"
        );
    }
}

#[test]
fn lines_are_broken_at_spaces_and_what_does_not_fit_is_cut() {
    let lines = typeface::wrap("one two three four five six", 40.0, false, 200.0);
    assert!(lines.len() > 1, "nothing was broken");
    assert!(
        lines.iter().all(|l| typeface::width(l, 40.0, false) <= 200.0),
        "{lines:?} are wider than asked"
    );
    assert_eq!(lines.join(" "), "one two three four five six", "words were lost");
    let cut = typeface::fit("one two three four five six", 40.0, false, 200.0);
    assert!(
        cut.ends_with('\u{2026}') && typeface::width(&cut, 40.0, false) <= 200.0,
        "{cut:?}"
    );
}

#[test]
fn a_ribbon_keeps_its_ends_for_painters_without_curves() {
    let pairs = band((0.0, 10.0, 30.0), (100.0, 50.0, 60.0), 16);
    assert_eq!(pairs.len(), 17);
    assert_eq!(pairs[0], ((0.0, 10.0), (0.0, 30.0)));
    assert_eq!(pairs[16], ((100.0, 50.0), (100.0, 60.0)));
    assert!(
        pairs.windows(2).all(|w| w[0].0.0 < w[1].0.0),
        "it turns back on itself"
    );
}

#[test]
fn files_hold_the_same_picture_with_the_bundled_typeface() {
    let (_, drawing) = pictures().swap_remove(0);
    let text = svg(&drawing);
    assert!(text.starts_with("<svg ") && text.trim_end().ends_with("</svg>"));
    let bytes = png(&drawing).expect("it can be drawn");
    assert_eq!(&bytes[1..4], b"PNG", "not a PNG");
    let size = |at: usize| u32::from_be_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
    assert_eq!((size(16), size(20)), (1920, 1080), "another size");
    // With a text that cannot be found in the fonts, the file would shrink to the shapes alone.
    let mut mute = drawing.clone();
    mute.shapes.retain(|s| !matches!(s, Shape::Text { .. }));
    let without = png(&mute).expect("it can be drawn");
    assert!(
        bytes.len() > without.len() + 10_000,
        "the words did not get into the PNG: {} bytes with, {} without",
        bytes.len(),
        without.len()
    );
}

#[test]
fn names_with_marks_of_the_file_format_stay_words() {
    let mut drawing = Drawing::new();
    drawing.text(
        (100.0, 100.0),
        smirch::report::drawing::Anchor::Start,
        "a < b & \"c\" > d \u{1}",
        smirch::report::drawing::Type::plain(30.0),
    );
    assert!(svg(&drawing).contains("a &lt; b &amp; &quot;c&quot; &gt; d "));
    png(&drawing).expect("a name cannot break a picture");
}
