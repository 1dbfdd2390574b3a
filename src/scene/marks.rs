//! Marks by which systems of the scene find its entities, and where its people stand.

use bevy::prelude::*;

/// How far in front of the room's middle the person stands, metres.
pub(super) const STAND_Z: f32 = 0.35;

/// How far the second room stands from the first, metres: beyond what either camera sees.
pub(super) const AWAY: f32 = 60.0;

/// Marks every piece of the second person and room.
#[derive(Component, Clone, Copy)]
pub struct OfSecond;

/// The person's own root: everything worn or held moves with it.
#[derive(Component)]
pub struct Figure {
    /// Where along the room the person stands now, metres.
    pub x: f32,
}

/// Marks pieces that stand in the room rather than on the person.
#[derive(Component)]
pub struct Loose;

/// The item, by its id within the kit, that a piece belongs to.
#[derive(Component)]
pub(super) struct OfItem(pub String);

/// Marks the camera that draws the scene.
#[derive(Component)]
pub struct SceneCamera;

/// The second person's own root.
#[derive(Component)]
pub(super) struct SecondRoot {
    /// Where along the room the person stands now, metres.
    pub x: f32,
}
