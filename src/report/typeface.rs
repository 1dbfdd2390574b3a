//! The bundled typeface: its two files, and how wide a text is in it. Reads the fonts' own tables, so that a layout
//! needs no renderer and comes out the same on every machine.

use std::sync::LazyLock;

/// The name under which both files are found.
pub const FAMILY: &str = "Atkinson Hyperlegible";
/// The regular face, TrueType.
pub const REGULAR: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegible-Regular.ttf");
/// The bold face, TrueType.
pub const BOLD: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegible-Bold.ttf");

/// How far letters reach above the baseline, as a share of the text size.
pub const RISE: f64 = 0.76;
/// How far letters reach below the baseline, as a share of the text size.
pub const FALL: f64 = 0.22;

/// Width of a text without kerning, in the unit of `size`.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    static FACES: LazyLock<[Face; 2]> = LazyLock::new(|| [Face::read(REGULAR), Face::read(BOLD)]);
    let face = &FACES[usize::from(bold)];
    text.chars().map(|c| face.advance(c)).sum::<f64>() * size
}

/// The text broken into lines no wider than `most`, at spaces; a word that is too wide has a line of its own.
pub fn wrap(text: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, bold) <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The text, cut with an ellipsis if it is wider than `most`.
pub fn fit(text: &str, size: f64, bold: bool, most: f64) -> String {
    if width(text, size, bold) <= most {
        return text.to_owned();
    }
    let mut kept: String = text.to_owned();
    while kept.pop().is_some() {
        let cut = format!("{}\u{2026}", kept.trim_end());
        if width(&cut, size, bold) <= most {
            return cut;
        }
    }
    String::new()
}

/// Wrapped into at most `lines` lines, the last one cut if there is more.
pub fn fit_lines(text: &str, size: f64, bold: bool, most: f64, lines: usize) -> Vec<String> {
    let mut wrapped = wrap(text, size, bold, most);
    if wrapped.len() > lines {
        let rest = wrapped.split_off(lines - 1).join(" ");
        wrapped.push(rest);
    }
    wrapped.iter().map(|line| fit(line, size, bold, most)).collect()
}

/// Advance widths by character, as shares of the text size.
struct Face {
    /// Sorted by character.
    advances: Vec<(u32, f64)>,
    /// For characters that the font does not have.
    missing: f64,
}

impl Face {
    fn advance(&self, c: char) -> f64 {
        self.advances
            .binary_search_by_key(&u32::from(c), |(code, _)| *code)
            .map_or(self.missing, |i| self.advances[i].1)
    }

    /// Reads `head`, `hhea`, `hmtx` and the format 4 subtable of `cmap` (OpenType 1.9).
    fn read(bytes: &[u8]) -> Face {
        let word = |at: usize| -> usize {
            bytes
                .get(at..at + 2)
                .map_or(0, |b| usize::from(u16::from_be_bytes([b[0], b[1]])))
        };
        let long = |at: usize| (word(at) << 16) | word(at + 2);
        let table = |tag: &[u8; 4]| -> usize {
            (0..word(4))
                .map(|i| 12 + 16 * i)
                .find(|&at| bytes.get(at..at + 4) == Some(&tag[..]))
                .map_or(0, |at| long(at + 8))
        };
        let per_em = word(table(b"head") + 18).max(1) as f64;
        let (metrics, hmtx) = (word(table(b"hhea") + 34).max(1), table(b"hmtx"));
        let advance = |glyph: usize| word(hmtx + 4 * glyph.min(metrics - 1)) as f64 / per_em;
        let cmap = table(b"cmap");
        let subtable = (0..word(cmap + 2))
            .map(|i| cmap + long(cmap + 4 + 8 * i + 4))
            .find(|&at| word(at) == 4);
        let mut advances = Vec::new();
        if let Some(at) = subtable {
            let twice = word(at + 6);
            let (ends, starts) = (at + 14, at + 16 + twice);
            let (deltas, offsets) = (starts + twice, starts + 2 * twice);
            for segment in (0..twice).step_by(2) {
                let (start, end) = (word(starts + segment), word(ends + segment));
                let (delta, offset) = (word(deltas + segment), word(offsets + segment));
                for code in start..=end.min(0xfffe) {
                    let glyph = if offset == 0 {
                        (code + delta) & 0xffff
                    } else {
                        match word(offsets + segment + offset + 2 * (code - start)) {
                            0 => 0,
                            glyph => (glyph + delta) & 0xffff,
                        }
                    };
                    if glyph != 0 {
                        advances.push((code as u32, advance(glyph)));
                    }
                }
            }
        }
        advances.sort_by_key(|(code, _)| *code);
        Face {
            advances,
            missing: advance(0),
        }
    }
}
