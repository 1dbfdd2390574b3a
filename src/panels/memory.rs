//! What is remembered of a frame in the next.

use std::hash::Hash;

use bevy_egui::egui::{Context, Id};

/// True if what is drawn under this name was not drawn in the frame before.
pub fn just_opened(ctx: &Context, name: &'static str) -> bool {
    let id = memory(name);
    let now = ctx.cumulative_pass_nr();
    let before: Option<u64> = ctx.data(|d| d.get_temp(id));
    ctx.data_mut(|d| d.insert_temp(id, now));
    before.is_none_or(|before| before + 1 < now)
}

/// How often what is drawn under this name has been opened, each time after a frame without it.
pub fn openings(ctx: &Context, name: &'static str) -> u64 {
    let opened = just_opened(ctx, name);
    let id = memory(name).with("openings");
    let before: u64 = ctx.data(|d| d.get_temp(id)).unwrap_or_default();
    let now = before + u64::from(opened);
    ctx.data_mut(|d| d.insert_temp(id, now));
    now
}

/// True if what is chosen under this name is another than when it was last drawn; not the first time.
pub fn changed(ctx: &Context, name: &'static str, chosen: impl Hash + std::fmt::Debug) -> bool {
    let (id, now) = (memory(name), Id::new(chosen));
    let before: Option<Id> = ctx.data(|d| d.get_temp(id));
    ctx.data_mut(|d| d.insert_temp(id, now));
    before.is_some_and(|before| before != now)
}

/// Id under which a thing of ours is remembered between frames.
pub fn memory(name: &'static str) -> Id {
    Id::new(("smirch", name))
}

/// True once what is drawn under this name has looked the same, told by `look`, for so many seconds.
pub fn rested(ctx: &Context, name: &'static str, look: impl Hash + std::fmt::Debug, rest: f64) -> bool {
    let opened = just_opened(ctx, name);
    let now = ctx.input(|i| i.time);
    let id = memory(name).with("since");
    let look = Id::new(look);
    let known: Option<(Id, f64)> = ctx.data(|d| d.get_temp(id));
    match known {
        Some((same, since)) if same == look && !opened => now - since >= rest,
        _ => {
            ctx.data_mut(|d| d.insert_temp(id, (look, now)));
            false
        }
    }
}
