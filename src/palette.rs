//! Every colour there is, by what it is for. Pages, the scene and pictures of reports take theirs from here, so that
//! one thing has one colour wherever it is met. Knows nothing else.
//!
//! Colours of kit say what something is at a glance and stand apart in grey as well; none is taken from a make.

use std::fmt;

/// A colour: red, green and blue of sRGB, a byte each, such as `0x8FBAB6`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Colour(pub u32);

impl Colour {
    /// Red, green, blue.
    pub const fn bytes(self) -> [u8; 3] {
        [(self.0 >> 16) as u8, (self.0 >> 8) as u8, self.0 as u8]
    }
}

impl Colour {
    /// How bright it is to the eye, 0 to 1: the relative luminance of WCAG 2.2.
    pub fn luminance(self) -> f64 {
        let [r, g, b] = self.bytes().map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                libm::pow((c + 0.055) / 1.055, 2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// Contrast to another, 1 to 21, as WCAG 2.2 defines it: at least 4.5 for text, and 3 for large text and for marks.
    pub fn contrast(self, other: Colour) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
}

/// As `#RRGGBB`.
impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:06X}", self.0 & 0xFF_FF_FF)
    }
}

/// Colours of a page and of pictures, by day or under the lamp. A pair of text and ground meets WCAG AA.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Page {
    pub paper: Colour,
    pub card: Colour,
    pub ink: Colour,
    pub soft: Colour,
    pub line: Colour,
    pub accent: Colour,
    /// Text on the accent colour.
    pub on_accent: Colour,
    /// A quiet ground in the accent's hue, for what is chosen.
    pub tint: Colour,
    pub attention: Colour,
    pub attention_ground: Colour,
    /// The second of two that are compared; the first is the accent.
    pub second: Colour,
    /// Ground and text of the label at the pointer.
    pub label_ground: Colour,
    pub label_ink: Colour,
    pub speck: Colour,
    /// Ground of a sample of specks.
    pub sample: Colour,
    pub clay: Colour,
    pub scrubs: Colour,
}

/// By day.
pub const DAY: Page = Page {
    paper: Colour(0xF5_F2_EC),
    card: Colour(0xFF_FF_FF),
    ink: Colour(0x1E_2A_36),
    soft: Colour(0x55_63_6E),
    line: Colour(0xD9_D3_C8),
    accent: Colour(0x0F_6B_66),
    on_accent: Colour(0xFF_FF_FF),
    tint: Colour(0xDC_EA_E6),
    attention: Colour(0x96_40_0B),
    attention_ground: Colour(0xF6_E3_D3),
    second: Colour(0xCC_84_33),
    label_ground: Colour(0x1E_2A_36),
    label_ink: Colour(0xFF_FF_FF),
    speck: Colour(0x5B_7D_00),
    sample: Colour(0xE9_E4_DA),
    clay: SKIN,
    scrubs: SCRUBS,
};

/// Under the lamp.
pub const LAMP: Page = Page {
    paper: Colour(0x0D_0A_1C),
    card: Colour(0x19_15_30),
    ink: Colour(0xEC_EA_F6),
    soft: Colour(0xA9_A4_C4),
    line: Colour(0x33_2C_55),
    accent: Colour(0xD9_FF_66),
    on_accent: Colour(0x0D_0A_1C),
    tint: Colour(0x2A_2A_3F),
    attention: Colour(0xFF_C7_96),
    attention_ground: Colour(0x3A_24_1C),
    second: Colour(0xFF_C7_96),
    label_ground: Colour(0xEC_EA_F6),
    label_ink: Colour(0x0D_0A_1C),
    speck: Colour(0xD9_FF_66),
    sample: Colour(0x2A_23_47),
    clay: Colour(0x4A_42_52),
    scrubs: Colour(0x24_2C_48),
};

/// By day, or under the lamp.
pub const fn page(lamp: bool) -> &'static Page {
    if lamp { &LAMP } else { &DAY }
}

/// Behind the scene by day; under the lamp it is [`LAMP`]'s paper.
pub const BEHIND: Colour = Colour(0xE9_E4_DA);

// The person.
/// Skin: clay, nobody's in particular.
pub const SKIN: Colour = Colour(0xB9_A8_9B);
/// Lips.
pub const LIPS: Colour = Colour(0xA9_8A_7E);
/// White of the eyes.
pub const EYE_WHITE: Colour = Colour(0xDA_D0_C6);
/// The rest of the eyes.
pub const EYE_DARK: Colour = Colour(0x2C_29_27);
/// Hair.
pub const HAIR: Colour = Colour(0x5E_54_4D);
/// Fingernails.
pub const NAIL: Colour = Colour(0xC6_B8_AC);
/// Top of the own clothing.
pub const SCRUBS: Colour = Colour(0x4B_60_75);
/// Trousers.
pub const TROUSERS: Colour = Colour(0x46_5A_6E);
/// Shoes.
pub const SHOE: Colour = Colour(0x3A_3F_47);
/// Soles.
pub const SOLE: Colour = Colour(0xD8_D4_CC);

// Kit, outside and inside.
/// Gown.
pub const GOWN: Colour = Colour(0x8F_BA_B6);
/// Gown, inside.
pub const GOWN_INSIDE: Colour = Colour(0xC9_DD_D9);
/// Ties of the gown, and the ribs of its knitted cuffs.
pub const GOWN_TIE: Colour = Colour(0xE3_EC_E9);
/// Bound edges and seams of the gown.
pub const GOWN_SEAM: Colour = Colour(0x79_A8_A4);
/// Grooves of its cuffs.
pub const GOWN_GROOVE: Colour = Colour(0xC6_D5_D1);
/// Apron.
pub const APRON: Colour = Colour(0xD6_E1_E8);
/// Apron, inside.
pub const APRON_INSIDE: Colour = Colour(0xC9_D6_DE);
/// Neck loop and ties of the apron.
pub const APRON_TIE: Colour = Colour(0xED_F3_F6);
/// Glove: the only one, or the outer of two.
pub const GLOVE: Colour = Colour(0x37_44_2B);
/// The same, inside.
pub const GLOVE_INSIDE: Colour = Colour(0x82_8B_6E);
/// Rolled edge of it.
pub const GLOVE_BEAD: Colour = Colour(0x2E_39_24);
/// Inner glove of two.
pub const UNDERGLOVE: Colour = Colour(0xE6_E2_D0);
/// The same, inside.
pub const UNDERGLOVE_INSIDE: Colour = Colour(0x87_83_70);
/// Rolled edge of it.
pub const UNDERGLOVE_BEAD: Colour = Colour(0xD6_D1_BC);
/// Respirator.
pub const RESPIRATOR: Colour = Colour(0xF0_EF_EA);
/// Respirator, inside.
pub const RESPIRATOR_INSIDE: Colour = Colour(0xF9_F9_F6);
/// Rim of the respirator.
pub const RESPIRATOR_RIM: Colour = Colour(0xD9_D8_D2);
/// Straps of the respirator.
pub const RESPIRATOR_STRAP: Colour = Colour(0x7D_82_89);
/// Its nose clip.
pub const NOSE_CLIP: Colour = Colour(0xA9_AF_B4);
/// Mask.
pub const MASK: Colour = Colour(0x9C_C3_DC);
/// Mask, inside.
pub const MASK_INSIDE: Colour = Colour(0xF4_F6_F6);
/// Edge of the mask.
pub const MASK_EDGE: Colour = Colour(0xE9_F0_F4);
/// Loops or ties of the mask.
pub const MASK_LOOP: Colour = Colour(0xF2_F4_F4);
/// Nose clip of the mask, beneath its cloth.
pub const MASK_CLIP: Colour = Colour(0x8D_B5_CF);
/// Frame of goggles or visor.
pub const EYEWEAR_FRAME: Colour = Colour(0x3C_46_52);
/// Lens.
pub const LENS: Colour = Colour(0xCF_E3_EA);
/// Strap of goggles or visor.
pub const EYEWEAR_STRAP: Colour = Colour(0x59_63_6E);
/// Inside of the frame.
pub const EYEWEAR_FRAME_INSIDE: Colour = Colour(0x5A_65_71);
/// Inside of the lens.
pub const LENS_INSIDE: Colour = Colour(0xDD_EB_F0);
/// Overshoe.
pub const OVERSHOE: Colour = Colour(0x7F_A9_D8);
/// Overshoe, inside.
pub const OVERSHOE_INSIDE: Colour = Colour(0xB5_CC_E8);
/// Sole of the overshoe.
pub const OVERSHOE_SOLE: Colour = Colour(0x67_92_C4);

// The room: warm inside, cool outside.
/// Wall of the room.
pub const WALL_INSIDE: Colour = Colour(0xE9_E2_D5);
/// Wall of the corridor.
pub const WALL_OUTSIDE: Colour = Colour(0xCF_DE_E2);
/// Frames and skirting.
pub const TRIM: Colour = Colour(0xF4_F0_E8);
/// Steel.
pub const STEEL: Colour = Colour(0xB4_BA_BD);
/// The bin for clinical waste.
pub const BIN: Colour = Colour(0xE3_BE_3F);
/// White things.
pub const WHITE: Colour = Colour(0xF3_F3_F0);
/// Upholstery and marks in the house's own colour.
pub const TEAL: Colour = Colour(0x3E_8A_85);
/// Dark things.
pub const DARK: Colour = Colour(0x33_39_3F);
/// The door.
pub const DOOR: Colour = Colour(0xBF_A7_84);
/// Linen and the bin's bag.
pub const LINEN: Colour = Colour(0xF1_F3_F2);
/// Seat of the chair.
pub const SEAT: Colour = Colour(0x6E_8C_9A);
/// The line on the floor.
pub const FLOOR_LINE: Colour = Colour(0xB9_57_3F);
/// Floor of the room.
pub const FLOOR_INSIDE: Colour = Colour(0xD8_CC_B9);
/// Lower wall of the corridor.
pub const DADO: Colour = Colour(0x9D_B4_C0);
/// Floor of the corridor.
pub const FLOOR_OUTSIDE: Colour = Colour(0xAE_C2_CA);
/// What a shadow on floor or wall darkens it towards.
pub const SHADOW: Colour = Colour(0x59_53_4E);

#[cfg(test)]
mod tests {
    use super::*;

    /// sRGB to linear light.
    fn linear(colour: Colour) -> [f32; 3] {
        colour.bytes().map(|c| {
            let c = f32::from(c) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        })
    }

    #[test]
    fn a_colour_is_written_as_it_is_read() {
        assert_eq!(DAY.ink.to_string(), "#1E2A36");
        assert_eq!(DAY.ink.bytes(), [0x1E, 0x2A, 0x36]);
    }

    /// Contrast on white (worked example L18, by the formula of WCAG 2.2).
    #[test]
    fn contrast_is_as_worked() {
        for (colour, ratio) in [
            (0x00_00_00, 21.000),
            (0x76_76_76, 4.542),
            (0x77_77_77, 4.478),
            (0x94_94_94, 3.033),
            (0x95_95_95, 2.995),
            (0xFF_00_00, 3.998),
        ] {
            let found = Colour(colour).contrast(WHITEST);
            assert!((found - ratio).abs() < 5e-4, "{}: {found:.4}", Colour(colour));
            assert_eq!(found, WHITEST.contrast(Colour(colour)), "whichever is the ground");
        }
    }

    #[test]
    fn text_stands_out_from_its_ground_by_day_and_under_the_lamp() {
        for page in [DAY, LAMP] {
            for (text, ground) in [
                (page.ink, page.paper),
                (page.ink, page.card),
                (page.ink, page.tint),
                (page.soft, page.paper),
                (page.soft, page.card),
                (page.accent, page.card),
                (page.on_accent, page.accent),
                (page.attention, page.card),
                (page.attention, page.attention_ground),
                (page.label_ink, page.label_ground),
            ] {
                let found = text.contrast(ground);
                assert!(found >= 4.5, "{text} on {ground}: {found:.2}");
            }
        }
    }

    const WHITEST: Colour = Colour(0xFF_FF_FF);

    #[test]
    fn specks_glow_in_the_colour_of_the_legend() {
        let shader = include_str!("../assets/shaders/plate.wgsl");
        let glow = shader
            .lines()
            .find_map(|l| l.trim().strip_prefix("let glow = vec3<f32>("))
            .expect("the shader names the colour of specks");
        let named: Vec<f32> = glow
            .trim_end_matches(");")
            .split(", ")
            .map(|n| n.parse().expect("a number"))
            .collect();
        for (n, wanted) in named.iter().zip(linear(LAMP.speck)) {
            assert!(
                (n - wanted).abs() < 0.005,
                "specks glow in {named:?}, but the palette says {:?}",
                linear(LAMP.speck)
            );
        }
    }

    /// How bright a colour is in a grey picture, 0 to 255.
    fn grey(colour: Colour) -> f32 {
        let [r, g, b] = colour.bytes().map(f32::from);
        0.299 * r + 0.587 * g + 0.114 * b
    }

    #[test]
    fn gloves_and_respirator_stand_apart_in_grey_from_what_they_are_worn_on() {
        let worn_on = [("skin", SKIN), ("the gown", GOWN), ("scrubs", SCRUBS)];
        let kit = [
            ("the glove", GLOVE),
            ("the glove's inside", GLOVE_INSIDE),
            ("the inner glove", UNDERGLOVE),
            ("the inner glove's inside", UNDERGLOVE_INSIDE),
            ("the respirator", RESPIRATOR),
            ("its straps", RESPIRATOR_STRAP),
        ];
        let sides = [
            ("the glove's inside", GLOVE_INSIDE),
            ("the inner glove", UNDERGLOVE),
        ];
        let pairs = kit
            .iter()
            .flat_map(|one| worn_on.iter().map(move |other| (one, other)));
        for ((one, a), (other, b)) in pairs.chain(sides.iter().map(|other| (&kit[0], other))) {
            let apart = (grey(*a) - grey(*b)).abs();
            assert!(
                apart >= 30.0,
                "{one} ({a}) and {other} ({b}) are {apart:.0} of 255 apart in grey: too alike to tell"
            );
        }
    }

    #[test]
    fn no_other_file_names_a_colour() {
        let mut named = Vec::new();
        let mut folders = vec![std::path::PathBuf::from("src")];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(&folder).expect("tests run where the sources are") {
                let path = entry.expect("a readable folder").path();
                if path.is_dir() {
                    folders.push(path);
                } else if path != std::path::Path::new("src/palette.rs") {
                    let text = std::fs::read_to_string(&path).expect("sources are text");
                    for (n, line) in text.lines().enumerate() {
                        if names_a_colour(line) {
                            named.push(format!("{}:{}: {}", path.display(), n + 1, line.trim()));
                        }
                    }
                }
            }
        }
        assert!(
            named.is_empty(),
            "colours belong in src/palette.rs:\n{}",
            named.join("\n")
        );
    }

    /// True for `#RRGGBB`, `rgb: [0.1, ...]`, `srgb_u8(` and numbers given to what makes a colour.
    fn names_a_colour(line: &str) -> bool {
        let hex = line.match_indices("\"#").any(|(at, _)| {
            let code = &line.as_bytes()[at + 2..];
            code.len() > 6 && code[..6].iter().all(u8::is_ascii_hexdigit) && code[6] == b'"'
        });
        let made = [
            "srgb_u8(",
            "srgb(",
            "linear_rgb(",
            "from_rgb(",
            "Paint::solid(",
            "Paint::clear(",
            "rgb: [",
        ];
        let number = |rest: &str| rest.trim_start().starts_with(|c: char| c.is_ascii_digit());
        hex || made.iter().any(|m| line.split(m).skip(1).any(number))
    }
}
