//! The palette as egui has it, type sizes and fonts.

use std::sync::Arc;

use bevy_egui::egui::style::{ScrollStyle, WidgetVisuals};
use bevy_egui::egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Id, Stroke, Style, TextStyle,
    Theme, Ui, Vec2, Visuals,
};

use crate::palette::{self, Colour, Page};

/// Colours of one theme. A pair of text and ground always meets WCAG AA.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Tokens {
    pub paper: Color32,
    pub card: Color32,
    pub ink: Color32,
    pub soft: Color32,
    pub line: Color32,
    pub accent: Color32,
    /// Text on the accent colour.
    pub on_accent: Color32,
    /// A quiet ground in the accent's hue, for what is chosen.
    pub tint: Color32,
    pub attention: Color32,
    pub attention_ground: Color32,
    /// Ground and text of the label at the pointer.
    pub label_ground: Color32,
    pub label_ink: Color32,
    pub speck: Color32,
    pub clay: Color32,
    pub scrubs: Color32,
}

impl Tokens {
    const fn from(page: &Page) -> Tokens {
        Tokens {
            paper: ink(page.paper),
            card: ink(page.card),
            ink: ink(page.ink),
            soft: ink(page.soft),
            line: ink(page.line),
            accent: ink(page.accent),
            on_accent: ink(page.on_accent),
            tint: ink(page.tint),
            attention: ink(page.attention),
            attention_ground: ink(page.attention_ground),
            label_ground: ink(page.label_ground),
            label_ink: ink(page.label_ink),
            speck: ink(page.speck),
            clay: ink(page.clay),
            scrubs: ink(page.scrubs),
        }
    }
}

/// A colour of the palette as egui has it.
pub const fn ink(colour: Colour) -> Color32 {
    let [red, green, blue] = colour.bytes();
    Color32::from_rgb(red, green, blue)
}

/// By day.
pub const LIGHT: Tokens = Tokens::from(&palette::DAY);

/// Under the lamp.
pub const LAMP: Tokens = Tokens::from(&palette::LAMP);

impl Tokens {
    /// The tokens that the page is drawn with.
    pub fn of(ui: &Ui) -> Tokens {
        if ui.visuals().dark_mode { LAMP } else { LIGHT }
    }

    /// Every pair of text and ground that is drawn, with names.
    pub fn pairs(&self) -> [(&'static str, Color32, Color32); 17] {
        [
            ("ink on paper", self.ink, self.paper),
            ("ink on card", self.ink, self.card),
            ("ink on tint", self.ink, self.tint),
            ("soft on paper", self.soft, self.paper),
            ("soft on card", self.soft, self.card),
            ("soft on tint", self.soft, self.tint),
            ("accent on paper", self.accent, self.paper),
            ("accent on card", self.accent, self.card),
            ("accent on tint", self.accent, self.tint),
            ("on accent", self.on_accent, self.accent),
            ("attention on its ground", self.attention, self.attention_ground),
            ("ink on attention ground", self.ink, self.attention_ground),
            ("soft on attention ground", self.soft, self.attention_ground),
            ("attention on card", self.attention, self.card),
            ("attention on paper", self.attention, self.paper),
            ("label", self.label_ink, self.label_ground),
            ("speck on card", self.speck, self.card),
        ]
    }
}

/// Size of type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    /// True for type to be read across a room.
    pub large: bool,
    /// Text scale on top of that, per cent.
    pub percent: u32,
}

impl Scale {
    /// Sizes of small print, text, headings and titles, in points.
    pub fn sizes(self) -> [f32; 4] {
        let base = if self.large {
            [24.0, 24.0, 32.0, 48.0]
        } else {
            [14.0, 16.0, 19.0, 26.0]
        };
        base.map(|size| size * self.percent as f32 / 100.0)
    }

    /// How much larger than usual the text is.
    pub fn factor(self) -> f32 {
        self.sizes()[1] / 16.0
    }
}

/// The bold family.
pub fn bold() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// Style of page titles and large numbers.
pub fn title_style() -> TextStyle {
    TextStyle::Name("title".into())
}

/// Fonts: Atkinson Hyperlegible, with egui's own for signs it lacks.
fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let faces: [(&str, &'static [u8]); 2] = [
        (
            "atkinson",
            include_bytes!("../../assets/fonts/AtkinsonHyperlegible-Regular.ttf"),
        ),
        (
            "atkinson-bold",
            include_bytes!("../../assets/fonts/AtkinsonHyperlegible-Bold.ttf"),
        ),
    ];
    for (name, bytes) in faces {
        fonts
            .font_data
            .insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    }
    let fallback = fonts
        .families
        .get(&FontFamily::Proportional)
        .cloned()
        .unwrap_or_default();
    for (family, face) in [
        (FontFamily::Proportional, "atkinson"),
        (FontFamily::Monospace, "atkinson"),
        (bold(), "atkinson-bold"),
    ] {
        let list = std::iter::once(face.to_owned())
            .chain(fallback.iter().cloned())
            .collect();
        fonts.families.insert(family, list);
    }
    fonts
}

/// Puts fonts and style in place; false in the one frame before the fonts are there.
pub fn ready(ui: &mut Ui, scale: Scale, lamp: bool) -> bool {
    let ctx = ui.ctx().clone();
    let id = Id::new("smirch theme");
    let warmed = Id::new("smirch glyphs");
    let wanted = (scale.large, scale.percent, lamp);
    let present: Option<(bool, u32, bool)> = ctx.data(|d| d.get_temp(id));
    if present.is_none() {
        ctx.set_fonts(fonts());
        ctx.options_mut(|o| o.zoom_with_keyboard = false);
    }
    if present != Some(wanted) {
        let theme = if lamp { Theme::Dark } else { Theme::Light };
        ctx.set_theme(theme);
        ctx.set_style_of(Theme::Light, style(&LIGHT, scale, false));
        ctx.set_style_of(Theme::Dark, style(&LAMP, scale, true));
        ctx.data_mut(|d| d.insert_temp(id, wanted));
        ctx.request_repaint();
    }
    if present == Some(wanted) && ctx.data(|d| d.get_temp::<Scale>(warmed)) != Some(scale) {
        warm(ui, scale);
        ctx.data_mut(|d| d.insert_temp(warmed, scale));
    }
    ui.set_style(ctx.style_of(if lamp { Theme::Dark } else { Theme::Light }));
    present.is_some()
}

/// Lays out every sign once at every size, so that the glyph texture does not have to grow, and panels with it go
/// missing for a frame, in the middle of a drill.
fn warm(ui: &Ui, scale: Scale) {
    let signs: String = (' '..='~').chain("·•✔−…\u{a0}".chars()).collect();
    for size in scale.sizes() {
        for family in [FontFamily::Proportional, bold()] {
            let font = FontId::new(size, family);
            let _galley = ui
                .painter()
                .layout_no_wrap(signs.clone(), font, Color32::PLACEHOLDER);
        }
    }
}

/// The style of a theme at a size.
pub fn style(tokens: &Tokens, scale: Scale, dark: bool) -> Style {
    let [small, body, heading, title] = scale.sizes();
    let font = |size| FontId::new(size, FontFamily::Proportional);
    let text_styles = [
        (TextStyle::Small, font(small)),
        (TextStyle::Body, font(body)),
        (TextStyle::Button, font(body)),
        (TextStyle::Monospace, font(body)),
        (TextStyle::Heading, FontId::new(heading, bold())),
        (title_style(), FontId::new(title, bold())),
    ]
    .into();
    let mut style = Style {
        text_styles,
        animation_time: 0.0,
        visuals: visuals(tokens, dark),
        ..Style::default()
    };
    style.spacing.item_spacing = Vec2::new(8.0, 6.0);
    style.spacing.button_padding = Vec2::new(12.0, 7.0);
    style.spacing.interact_size = Vec2::new(40.0, 34.0 * scale.factor());
    style.spacing.icon_width = 18.0 * scale.factor();
    style.spacing.icon_width_inner = 10.0 * scale.factor();
    style.spacing.scroll = ScrollStyle {
        foreground_color: true,
        ..ScrollStyle::solid()
    };
    style.interaction.selectable_labels = false;
    style
}

/// Draws with type no larger than so many times the usual: for what must stay in sight beside larger text.
pub fn capped<R>(ui: &mut Ui, most: f32, content: impl FnOnce(&mut Ui) -> R) -> R {
    ui.scope(|ui| {
        let now = TextStyle::Body.resolve(ui.style()).size / 16.0;
        if now > most {
            let style = ui.style_mut();
            for font in style.text_styles.values_mut() {
                font.size *= most / now;
            }
            style.spacing.interact_size.y *= most / now;
            style.spacing.icon_width *= most / now;
            style.spacing.icon_width_inner *= most / now;
        }
        content(ui)
    })
    .inner
}

fn visuals(t: &Tokens, dark: bool) -> Visuals {
    let mut v = if dark { Visuals::dark() } else { Visuals::light() };
    v.override_text_color = None;
    v.weak_text_color = Some(t.soft);
    v.panel_fill = t.paper;
    v.window_fill = t.card;
    v.window_stroke = Stroke::new(1.0, t.line);
    v.window_corner_radius = CornerRadius::same(10);
    v.menu_corner_radius = CornerRadius::same(8);
    v.extreme_bg_color = t.paper;
    v.faint_bg_color = t.tint;
    v.text_edit_bg_color = Some(t.card);
    v.hyperlink_color = t.accent;
    v.warn_fg_color = t.attention;
    v.error_fg_color = t.attention;
    v.selection.bg_fill = t.tint;
    v.selection.stroke = Stroke::new(1.5, t.accent);
    v.disabled_alpha = 1.0;
    v.text_cursor.blink = false;
    let radius = CornerRadius::same(4);
    let look = |ground: Color32, edge: Stroke, ink: Color32| WidgetVisuals {
        bg_fill: ground,
        weak_bg_fill: ground,
        bg_stroke: edge,
        corner_radius: radius,
        fg_stroke: Stroke::new(1.5, ink),
        expansion: 0.0,
    };
    v.widgets.noninteractive = look(t.card, Stroke::new(1.0, t.line), t.ink);
    v.widgets.inactive = look(t.card, Stroke::new(1.0, t.soft), t.ink);
    v.widgets.hovered = look(t.tint, Stroke::new(1.5, t.accent), t.ink);
    v.widgets.active = look(t.tint, Stroke::new(2.5, t.accent), t.ink);
    v.widgets.open = look(t.tint, Stroke::new(1.5, t.accent), t.ink);
    v
}

/// Contrast of two colours as WCAG defines it, 1 to 21.
pub fn contrast(a: Color32, b: Color32) -> f32 {
    let light = |c: Color32| {
        let channel = |v: u8| {
            let v = f32::from(v) / 255.0;
            if v <= 0.040_45 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(c.r()) + 0.7152 * channel(c.g()) + 0.0722 * channel(c.b())
    };
    let (x, y) = (light(a) + 0.05, light(b) + 0.05);
    if x > y { x / y } else { y / x }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_of_text_and_ground_meets_aa() {
        for (name, tokens) in [("light", LIGHT), ("lamp", LAMP)] {
            for (pair, text, ground) in tokens.pairs() {
                let ratio = contrast(text, ground);
                assert!(
                    ratio >= 4.5,
                    "{name}: {pair} has a contrast of {ratio:.2}, 4.5 is needed"
                );
            }
        }
    }

    #[test]
    fn edges_of_what_can_be_pressed_stand_out_by_three_to_one() {
        for (name, tokens) in [("light", LIGHT), ("lamp", LAMP)] {
            for ground in [tokens.card, tokens.paper] {
                assert!(contrast(tokens.soft, ground) >= 3.0, "{name}");
                assert!(contrast(tokens.accent, ground) >= 3.0, "{name}");
            }
        }
    }

    #[test]
    fn no_text_is_smaller_than_fourteen_points_and_all_of_it_doubles() {
        for large in [false, true] {
            let usual = Scale { large, percent: 100 };
            assert!(usual.sizes().iter().all(|&size| size >= 14.0));
            let double = Scale { large, percent: 200 };
            for (a, b) in usual.sizes().iter().zip(double.sizes()) {
                assert!((b / a - 2.0).abs() < 1e-6);
            }
            let style = style(&LIGHT, usual, false);
            assert!(style.text_styles.values().all(|font| font.size >= 14.0));
        }
    }
}
