//! Where the keyboard is. Tab goes from group to group, arrows go from one thing to the next within a group; what had the
//! focus has it again once whatever came in between is gone, and another page begins without. Knows widgets by their
//! ids, nothing of what they are for.
//!
//! egui hands the focus on in the order of drawing, lets arrows jump anywhere, and drops the focus on Esc and when ids
//! shift. So Tab, arrows and Esc are taken over at the beginning of each frame, by what the last one drew; and a group
//! has an id of its own, so that what comes or goes above it changes no id within.

use std::collections::HashMap;
use std::fmt::Debug;
use std::hash::Hash;

use bevy_egui::egui::{Context, Event, FocusDirection, Id, Key, LayerId, Rect, Sense, Ui, UiBuilder, vec2};

/// When it is a group's turn. Groups of one turn come as they are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    #[default]
    Usual,
    Late,
    /// After all others, and never gone to unasked.
    Last,
}

/// Things that Tab comes to as one, and arrows go through.
#[derive(Clone, Debug)]
pub struct Group {
    id: Id,
    turn: Turn,
    at: Option<usize>,
    takes: bool,
}

/// A group of this name, which is the page's only one.
pub fn group(name: impl Hash + Debug) -> Group {
    Group {
        id: Id::new(("smirch group", name)),
        turn: Turn::Usual,
        at: None,
        takes: false,
    }
}

impl Group {
    /// Tab comes to it after the others.
    pub fn late(self) -> Group {
        Group {
            turn: Turn::Late,
            ..self
        }
    }

    /// Tab comes to it after all others, and the focus never falls to it of itself.
    pub fn last(self) -> Group {
        Group {
            turn: Turn::Last,
            ..self
        }
    }

    /// Tab enters it at its nth member, such as the one that is chosen.
    pub fn at(self, n: Option<usize>) -> Group {
        Group { at: n, ..self }
    }

    /// It takes the focus when it appears, and gives it back when it is gone.
    pub fn takes_focus(self) -> Group {
        Group { takes: true, ..self }
    }

    /// Draws its content; whatever in it can have the focus is a member.
    pub fn show<R>(self, ui: &mut Ui, content: impl FnOnce(&mut Ui) -> R) -> R {
        let layer = ui.layer_id();
        let ctx = ui.ctx().clone();
        let before = ctx.viewport(|v| v.this_pass.widgets.get_layer(layer).count());
        let inner = ui.scope_builder(UiBuilder::new().id(self.id), content).inner;
        let members: Vec<(Id, Rect)> = ctx.viewport(|v| {
            let widgets = v.this_pass.widgets.get_layer(layer).skip(before);
            widgets
                .filter(|w| w.enabled && w.sense.is_focusable())
                .map(|w| (w.id, w.rect))
                .collect()
        });
        self.note(ui, members);
        inner
    }

    /// Has as its members what was drawn otherwise.
    pub fn note(self, ui: &mut Ui, members: Vec<(Id, Rect)>) {
        let ctx = ui.ctx().clone();
        let focused = ctx.memory(|m| m.focused());
        let mut ring = ring(&ctx);
        let found = members.iter().find(|(id, _)| Some(*id) == focused);
        if let (true, Some((_, rect))) = (ring.moved, found) {
            ui.scroll_to_rect(rect.expand2(vec2(0.0, 12.0)), None);
        }
        if self.takes
            && !ring.groups.iter().any(|g| g.id == self.id)
            && let Some((first, _)) = members.get(self.at.unwrap_or(0)).or(members.first())
        {
            let from = ring.now.take();
            ring.lent.push((self.id, from));
            ring.moved = true;
            ctx.memory_mut(|m| m.request_focus(*first));
            ctx.request_repaint();
        }
        ring.drawn.push(Drawn {
            id: self.id,
            turn: self.turn,
            layer: ui.layer_id(),
            at: self.at,
            members: members.into_iter().map(|(id, _)| id).collect(),
        });
        keep(&ctx, ring);
    }
}

/// A group as it was drawn.
#[derive(Clone, Debug)]
struct Drawn {
    id: Id,
    turn: Turn,
    layer: LayerId,
    at: Option<usize>,
    members: Vec<Id>,
}

/// A member of a group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Place {
    group: Id,
    n: usize,
    widget: Id,
}

/// What is known from frame to frame.
#[derive(Clone, Debug, Default)]
struct Ring {
    /// The page that it is of.
    page: u64,
    /// The groups of the last frame in the order of Tab, and those drawn so far in this one.
    groups: Vec<Drawn>,
    drawn: Vec<Drawn>,
    /// What has the focus.
    now: Option<Place>,
    /// True in the frame in which the keyboard has moved it.
    moved: bool,
    /// True while it is typed into.
    typing: bool,
    /// Groups that took the focus, each with the place they took it from.
    lent: Vec<(Id, Option<Place>)>,
    /// Where in each group the focus was last.
    last: HashMap<Id, usize>,
}

fn key() -> Id {
    Id::new("smirch focus")
}

fn ring(ctx: &Context) -> Ring {
    ctx.data(|d| d.get_temp(key())).unwrap_or_default()
}

fn keep(ctx: &Context, ring: Ring) {
    ctx.data_mut(|d| d.insert_temp(key(), ring));
}

/// Begins a frame: moves the focus as keys ask. `page` tells one page from another; where `sideways` is false, the
/// page has another use for the arrows to left and right.
pub fn begin(ctx: &Context, page: u64, sideways: bool) {
    let mut ring = ring(ctx);
    let focused = ctx.memory(|m| m.focused());
    if ring.page != page {
        if let Some(id) = focused {
            ctx.memory_mut(|m| m.surrender_focus(id));
        }
        keep(
            ctx,
            Ring {
                page,
                ..Ring::default()
            },
        );
        return;
    }
    ring.moved = false;
    ring.drawn.clear();
    let mut target = None;
    for event in ctx.input(|i| i.events.clone()) {
        let Event::Key {
            key,
            pressed: true,
            modifiers,
            ..
        } = event
        else {
            continue;
        };
        match key {
            Key::Tab if !modifiers.ctrl && !modifiers.alt => {
                ctx.memory_mut(|m| m.move_focus(FocusDirection::None));
                target = ring.tab(ctx, modifiers.shift).or(target);
            }
            Key::Escape if focused.is_none() && !ring.typing => {
                target = ring.now.map(|place| place.widget).or(target);
            }
            _ if modifiers.any() || ring.typing => {}
            Key::ArrowUp | Key::ArrowDown | Key::ArrowLeft | Key::ArrowRight | Key::Home | Key::End => {
                ctx.memory_mut(|m| m.move_focus(FocusDirection::None));
                let across = matches!(key, Key::ArrowLeft | Key::ArrowRight);
                if focused.is_some() && (sideways || !across) {
                    target = ring.step(key).or(target);
                }
            }
            _ => {}
        }
    }
    if let Some(id) = target {
        ring.moved = true;
        ctx.memory_mut(|m| m.request_focus(id));
        ctx.request_repaint();
    }
    keep(ctx, ring);
}

impl Ring {
    /// The member at which a group is entered.
    fn entry(&self, group: &Drawn) -> Option<Id> {
        let n = self.last.get(&group.id).copied().or(group.at).unwrap_or(0);
        group.members.get(n).or(group.members.last()).copied()
    }

    /// Where Tab goes to.
    fn tab(&mut self, ctx: &Context, back: bool) -> Option<Id> {
        let open = |g: &&Drawn| !g.members.is_empty() && ctx.memory(|m| m.allows_interaction(g.layer));
        let stops: Vec<&Drawn> = self.groups.iter().filter(open).collect();
        let here = self
            .now
            .and_then(|now| stops.iter().position(|g| g.id == now.group));
        let many = stops.len();
        let next = match (here, back) {
            (Some(n), false) => stops.get((n + 1) % many),
            (Some(n), true) => stops.get((n + many - 1) % many),
            (None, false) => stops.first(),
            (None, true) => stops.iter().rfind(|g| g.turn != Turn::Last),
        };
        let group = *next?;
        let widget = self.entry(group)?;
        let n = group.members.iter().position(|id| *id == widget)?;
        self.now = Some(Place {
            group: group.id,
            n,
            widget,
        });
        Some(widget)
    }

    /// Where an arrow goes to within the group.
    fn step(&mut self, key: Key) -> Option<Id> {
        let now = self.now?;
        let members = &self.groups.iter().find(|g| g.id == now.group)?.members;
        let last = members.len().checked_sub(1)?;
        let n = match key {
            Key::ArrowUp | Key::ArrowLeft => now.n.saturating_sub(1),
            Key::Home => 0,
            Key::End => last,
            _ => now.n + 1,
        };
        let n = n.min(last);
        let widget = members[n];
        self.now = Some(Place { n, widget, ..now });
        Some(widget)
    }

    fn find(&self, widget: Id) -> Option<Place> {
        self.groups.iter().find_map(|g| {
            let n = g.members.iter().position(|id| *id == widget)?;
            Some(Place {
                group: g.id,
                n,
                widget,
            })
        })
    }

    /// A place, or the one that has come nearest to it.
    fn again(&self, place: Place) -> Option<Id> {
        let group = self.groups.iter().find(|g| g.id == place.group)?;
        group.members.get(place.n).or(group.members.last()).copied()
    }
}

/// Ends a frame: learns what was drawn, and gives the focus back if what had it is gone.
pub fn end(ctx: &Context, base: LayerId) {
    let mut ring = ring(ctx);
    let before = std::mem::take(&mut ring.groups);
    ring.groups = ordered(ctx, base, std::mem::take(&mut ring.drawn));
    ring.typing = ctx.text_edit_focused();
    let focused = ctx.memory(|m| m.focused());
    let had = ring.now;
    ring.now = focused.and_then(|id| ring.find(id));
    let mut back = None;
    // Whatever took the focus and is gone gives it back to where it took it from.
    while let Some((id, from)) = ring.lent.last().copied() {
        if ring.groups.iter().any(|g| g.id == id) {
            break;
        }
        ring.lent.pop();
        back = from;
    }
    let lost = had.filter(|h| ring.now.is_none() && ring.find(h.widget).is_none());
    let target = match (back, lost) {
        (Some(place), _) if ring.now.is_none() => ring.again(place),
        (_, Some(place)) => ring.again(place).or_else(|| beside(&ring, &before, place)),
        _ => None,
    };
    if let Some(id) = target {
        ctx.memory_mut(|m| m.request_focus(id));
        ctx.request_repaint();
        ring.now = ring.find(id);
    }
    if let Some(place) = ring.now {
        ring.last.insert(place.group, place.n);
    }
    keep(ctx, ring);
}

/// Where to go when a whole group is gone: to the one before it, or else after it.
fn beside(ring: &Ring, before: &[Drawn], place: Place) -> Option<Id> {
    let was = before.iter().position(|g| g.id == place.group)?;
    let (earlier, later) = before.split_at(was);
    earlier
        .iter()
        .rev()
        .chain(later)
        .filter(|old| old.turn != Turn::Last)
        .filter_map(|old| ring.groups.iter().find(|g| g.id == old.id))
        .find_map(|group| ring.entry(group))
}

/// The groups in the order of Tab. What can have the focus and is in no group is one of its own.
fn ordered(ctx: &Context, base: LayerId, groups: Vec<Drawn>) -> Vec<Drawn> {
    let layers: Vec<LayerId> = ctx.memory(|m| m.layer_ids().collect());
    let rank = |layer: LayerId| {
        if layer == base {
            return 0;
        }
        layers
            .iter()
            .position(|l| *l == layer)
            .map_or(usize::MAX, |n| n + 1)
    };
    let mut all: Vec<((Turn, usize, usize), Drawn)> = ctx.viewport(|v| {
        let widgets = &v.this_pass.widgets;
        let order = |id: &Id| widgets.order(*id).map_or(usize::MAX, |(_, n)| n);
        let known: Vec<Id> = groups.iter().flat_map(|g| g.members.iter().copied()).collect();
        let mut all: Vec<_> = groups
            .into_iter()
            .map(|g| {
                let n = g.members.first().map_or(usize::MAX, order);
                ((g.turn, rank(g.layer), n), g)
            })
            .collect();
        for (layer, drawn) in widgets.layers() {
            for (n, widget) in drawn.iter().enumerate() {
                if widget.enabled && widget.sense.is_focusable() && !known.contains(&widget.id) {
                    let alone = Drawn {
                        id: widget.id,
                        turn: Turn::Usual,
                        layer: *layer,
                        at: None,
                        members: vec![widget.id],
                    };
                    all.push(((Turn::Usual, rank(*layer), n), alone));
                }
            }
        }
        all
    });
    all.sort_by_key(|(key, _)| *key);
    all.into_iter().map(|(_, g)| g).collect()
}

/// True if what has the focus lies within an area.
pub fn within(ctx: &Context, area: Rect) -> bool {
    let Some(now) = ring(ctx).now else { return false };
    ctx.viewport(|v| v.prev_pass.widgets.get(now.widget).map(|w| w.rect))
        .is_some_and(|rect| area.intersects(rect))
}

/// What can have the focus and is not pressed, such as a panel that is scrolled.
pub const STOP: Sense = Sense::FOCUSABLE;
