//! Panels that scroll: with the pointer, by keys while the focus is on them or within, and to whatever gets the focus.

use bevy_egui::egui::style::ScrollAnimation;
use bevy_egui::egui::{
    Align, Event, Key, Rect, ScrollArea, Stroke, StrokeKind, TextStyle, Ui, Vec2, WidgetInfo, WidgetType,
    pos2,
};

use super::focus;
use super::theme::Tokens;

/// How a panel scrolls.
#[derive(Clone, Debug)]
pub struct Scroll<'a> {
    name: &'a str,
    of: u64,
    height: Option<f32>,
    takes: bool,
}

/// A panel of this name. Where it stands is kept from frame to frame for as long as it shows the same thing, told by
/// the number `of`.
pub fn scroll(name: &str, of: u64) -> Scroll<'_> {
    Scroll {
        name,
        of,
        height: None,
        takes: false,
    }
}

/// Height that is left in a sheet for what scrolls, points: beneath what has been drawn, with a button below.
pub fn left_in_sheet(ui: &Ui) -> f32 {
    let window = ui.ctx().content_rect().height();
    let button = ui
        .spacing()
        .interact_size
        .y
        .max(ui.text_style_height(&TextStyle::Button) + 14.0);
    // The sheet's margin, some air around it, and what stands between its parts.
    let around = 2.0 * (18.0 + 10.0) + 3.0 * ui.spacing().item_spacing.y;
    (window - ui.min_rect().height() - button - around).max(0.25 * window)
}

/// Scrolls at once so far that what lies at this height begins at the top of the panel. To be said once all of it is drawn:
/// a panel within would take it for its own.
pub fn begin_at(ui: &Ui, top: f32) {
    let here = Rect::from_min_size(pos2(ui.min_rect().left(), top), Vec2::ZERO);
    ui.scroll_to_rect_animation(here, Some(Align::TOP), ScrollAnimation::none());
}

impl Scroll<'_> {
    /// No higher than this, points.
    pub fn at_most(self, height: f32) -> Self {
        Scroll {
            height: Some(height),
            ..self
        }
    }

    /// It takes the focus when it appears.
    pub fn takes_focus(self) -> Self {
        Scroll { takes: true, ..self }
    }

    /// Draws its content.
    pub fn show(self, ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
        let ctx = ui.ctx().clone();
        let mut area = ScrollArea::vertical()
            .id_salt((self.name, self.of))
            .auto_shrink([false, self.height.is_some()]);
        if let Some(height) = self.height {
            area = area.max_height(height);
        }
        let shown = area.show(ui, content);
        let most = shown.content_size.y - shown.inner_rect.height();
        if most <= 1.0 {
            return;
        }
        let group = focus::group((self.name, "panel"));
        let group = if self.takes { group.takes_focus() } else { group };
        let panel = ui.interact(shown.inner_rect, shown.id.with("panel"), focus::STOP);
        panel.widget_info(|| {
            let name = format!("{}: arrows and page keys scroll", self.name);
            WidgetInfo::labeled(WidgetType::Panel, true, name)
        });
        group.note(ui, vec![(panel.id, panel.rect)]);
        if panel.has_focus() {
            let edge = Stroke::new(2.5, Tokens::of(ui).accent);
            // Around it, so that it crosses out no letters.
            let around = shown.inner_rect.expand(2.0);
            ui.painter().with_clip_rect(around.expand(4.0)).rect_stroke(
                around,
                6.0,
                edge,
                StrokeKind::Outside,
            );
        }
        let inside = focus::within(&ctx, shown.inner_rect);
        if ctx.text_edit_focused() || !(panel.has_focus() || inside) {
            return;
        }
        let line = 2.5 * TextStyle::Body.resolve(ui.style()).size;
        let by = by_keys(
            ui,
            panel.has_focus(),
            line,
            shown.inner_rect.height() * 0.85,
            most,
        );
        if by != 0.0 {
            let mut state = shown.state;
            state.offset.y = (state.offset.y + by).clamp(0.0, most);
            state.store(&ctx, shown.id);
            ctx.request_repaint();
        }
    }
}

/// How far keys scroll: page keys wherever the focus is within, the others only on the panel itself.
fn by_keys(ui: &Ui, itself: bool, line: f32, page: f32, most: f32) -> f32 {
    ui.input(|i| {
        i.events
            .iter()
            .filter_map(|event| match event {
                Event::Key {
                    key, pressed: true, ..
                } => Some(match key {
                    Key::PageDown => page,
                    Key::PageUp => -page,
                    Key::ArrowDown if itself => line,
                    Key::ArrowUp if itself => -line,
                    Key::Home if itself => -most,
                    Key::End if itself => most,
                    _ => 0.0,
                }),
                _ => None,
            })
            .sum()
    })
}
