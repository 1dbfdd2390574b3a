//! Keeps what is drawn in step with the stage: pieces come and go, sites get their texels, the person walks.

use std::collections::HashMap;

use bevy::prelude::*;

use super::kit::{Hold, Wardrobe, zone_x};
use super::material::PlateMaterial;
use super::motion::Motion;
use super::piece::{Areas, Piece};
use super::point::Lit;
use super::pose::ease;
use super::reach::Arms;
use super::shape::field::smooth;
use super::shape::{model::Model, person, room};
use super::{Figure, Loose, OfItem, SceneSettings, StageView, sites};
use crate::model::Side;
use crate::view::stage::{Stage, StageItem, StageItemState, Surface};

/// What is drawn at present, so that only differences are redone.
#[derive(Resource, Default)]
pub(super) struct Shown {
    sites: Handle<Image>,
    solid: Handle<PlateMaterial>,
    clear: Handle<PlateMaterial>,
    surfaces: Vec<Surface>,
    lookup: HashMap<Surface, usize>,
    drawn: Vec<(Drawn, Vec<Entity>)>,
    person: Option<Model>,
    bytes: Vec<u8>,
    hidden: Vec<bool>,
    areas: HashMap<usize, f32>,
}

/// One thing drawn, with all that its shape depends on.
#[derive(Clone, Debug, PartialEq)]
enum Drawn {
    Person,
    Room,
    Item {
        item: StageItem,
        layer: usize,
        order: usize,
    },
}

pub(super) fn set_up(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut materials: ResMut<Assets<PlateMaterial>>,
    mut meshes: ResMut<Assets<Mesh>>,
    stage: Res<StageView>,
    mut shown: ResMut<Shown>,
) {
    shown.sites = images.add(sites::blank());
    shown.solid = materials.add(PlateMaterial {
        sites: shown.sites.clone(),
        clear: false,
    });
    shown.clear = materials.add(PlateMaterial {
        sites: shown.sites.clone(),
        clear: true,
    });
    let x = zone_x(stage.0.whereabouts);
    let root = commands
        .spawn((
            Figure { x },
            Transform::from_xyz(x, 0.0, super::STAND_Z),
            Visibility::default(),
        ))
        .id();
    if let Some(piece) = Piece::bake(&room::person_shadow(), true, Hold::Room, &|_, _| None) {
        let mesh = meshes.add(piece.mesh());
        commands.spawn((
            Mesh3d(mesh),
            MeshMaterial3d(shown.clear.clone()),
            Transform::default(),
            ChildOf(root),
        ));
    }
}

/// What a stage asks to be drawn.
fn wanted(stage: &Stage) -> Vec<Drawn> {
    let mut out = vec![Drawn::Person, Drawn::Room];
    for (i, item) in stage.items.iter().enumerate() {
        let alike = |other: &&StageItem| {
            (other.model == item.model || item.model == "apron" && other.model == "gown")
                && other.side == item.side
                && std::mem::discriminant(&other.state) == std::mem::discriminant(&item.state)
        };
        let layer = if item.state == StageItemState::Worn {
            stage.items[..i].iter().filter(alike).count()
        } else {
            0
        };
        let order = match &item.state {
            StageItemState::Held(_) | StageItemState::Floor(_) => {
                stage.items[..i].iter().filter(|o| o.state == item.state).count()
            }
            _ => 0,
        };
        out.push(Drawn::Item {
            item: item.clone(),
            layer,
            order,
        });
    }
    out
}

pub(super) fn follow_stage(
    mut commands: Commands,
    stage: Res<StageView>,
    arms: Res<Arms>,
    figure: Single<Entity, With<Figure>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut wardrobe: ResMut<Wardrobe>,
    mut shown: ResMut<Shown>,
) {
    if !stage.is_changed() {
        return;
    }
    let stage = &stage.0;
    let same = shown.surfaces.len() == stage.patches.len()
        && shown
            .surfaces
            .iter()
            .zip(&stage.patches)
            .all(|(a, b)| *a == b.surface);
    if !same {
        shown.surfaces = stage.patches.iter().map(|p| p.surface.clone()).collect();
        shown.lookup = shown
            .surfaces
            .iter()
            .cloned()
            .enumerate()
            .map(|(i, s)| (s, i))
            .collect();
        shown.areas.clear();
        for (_, entities) in std::mem::take(&mut shown.drawn) {
            entities.into_iter().for_each(|e| commands.entity(e).despawn());
        }
    }
    let wanted = wanted(stage);
    let mut kept = Vec::with_capacity(wanted.len());
    let mut old = std::mem::take(&mut shown.drawn);
    for thing in wanted {
        if let Some(i) = old.iter().position(|(d, _)| *d == thing) {
            kept.push(old.swap_remove(i));
            continue;
        }
        let Some((model, hold)) = shape_of(&thing, &mut wardrobe, &mut shown) else {
            kept.push((thing, vec![]));
            continue;
        };
        let lookup = &shown.lookup;
        let site = |part: &str, inside: bool| lookup.get(&surface(&thing, part, inside)).copied();
        let mut entities = Vec::new();
        for clear in [false, true] {
            let Some(mut piece) = Piece::bake(&model, clear, hold, &site) else {
                continue;
            };
            piece.pose(&arms.pose);
            let material = if clear {
                shown.clear.clone()
            } else {
                shown.solid.clone()
            };
            let mesh = meshes.add(piece.mesh());
            let mut entity = commands.spawn((
                Mesh3d(mesh),
                MeshMaterial3d(material),
                piece,
                Transform::default(),
            ));
            if hold == Hold::Room {
                entity.insert(Loose);
            } else {
                entity.insert(ChildOf(*figure));
            }
            if let Drawn::Item { item, .. } = &thing {
                entity.insert(OfItem(item.id.clone()));
            }
            entities.push(entity.id());
        }
        kept.push((thing, entities));
    }
    for (_, entities) in old {
        entities.into_iter().for_each(|e| commands.entity(e).despawn());
    }
    shown.drawn = kept;
}

fn shape_of(thing: &Drawn, wardrobe: &mut Wardrobe, shown: &mut Shown) -> Option<(Model, Hold)> {
    match thing {
        Drawn::Person => Some((
            shown.person.get_or_insert_with(person::person).clone(),
            Hold::Body,
        )),
        Drawn::Room => Some((room::room(), Hold::Room)),
        Drawn::Item { item, layer, order } => wardrobe.shape(item, *layer, *order),
    }
}

fn surface(thing: &Drawn, part: &str, inside: bool) -> Surface {
    match thing {
        Drawn::Person => Surface::Body(part.to_string()),
        Drawn::Room => Surface::Room(part.to_string()),
        Drawn::Item { item, .. } => Surface::Part {
            item: item.id.clone(),
            part: part.to_string(),
            inside,
        },
    }
}

/// Length of two steps, metres, and how far the hands swing while walking, metres.
const STRIDE: f32 = 0.62;
const SWING: f32 = 0.085;

/// Moves the person between inside, doorway and outside, arms swinging in step.
pub(super) fn walk(
    time: Res<Time>,
    settings: Res<SceneSettings>,
    stage: Res<StageView>,
    motion: Res<Motion>,
    mut arms: ResMut<Arms>,
    mut started: Local<bool>,
    mut figure: Single<&mut Figure>,
) {
    let goal = zone_x(stage.0.whereabouts);
    let gap = goal - figure.x;
    if gap.abs() < 1e-4 {
        *started = true;
        return;
    }
    let first = !std::mem::replace(&mut *started, true);
    if settings.still || first {
        figure.x = goal;
        return;
    }
    let step = time.delta_secs() * (1.1 + gap.abs() * 2.0);
    figure.x += gap.clamp(-step, step);
    if arms.moving() || motion.moving() {
        return;
    }
    // The last step comes to rest with the hands at ease.
    let left = (goal - figure.x).abs();
    let swing = (left / STRIDE * std::f32::consts::TAU).sin() * smooth(0.0, 0.25, left) * SWING;
    for (side, way) in [(Side::Left, 1.0), (Side::Right, -1.0)] {
        let mut aim = ease(side);
        aim.wrist += Vec3::new(0.0, swing.abs() * 0.2, swing * way);
        arms.set(side, aim);
    }
}

/// Redraws the pieces that move when the arms have moved, and those that are coming off.
pub(super) fn repose(
    arms: Res<Arms>,
    motion: Res<Motion>,
    mut pieces: Query<(&mut Piece, &Mesh3d, Option<&OfItem>)>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut last: Local<Option<super::pose::Pose>>,
    mut bent: Local<Vec<String>>,
) {
    let moved = last.replace(arms.pose) != Some(arms.pose);
    if !moved && !motion.bends() && bent.is_empty() {
        return;
    }
    let mut bending = Vec::new();
    for (mut piece, handle, of) in &mut pieces {
        let item = of.map(|of| of.0.as_str());
        if let Some(warp) = item.and_then(|item| motion.warp(item)) {
            piece.bend(|p, n, follow| warp.place(p, n, follow, &arms.pose));
            bending.push(warp.item.clone());
        } else if item.is_some_and(|item| bent.iter().any(|b| b == item)) {
            piece.relax(&arms.pose);
        } else if moved && piece.moves() {
            piece.pose(&arms.pose);
        } else {
            continue;
        }
        if let Some(mut mesh) = meshes.get_mut(handle) {
            piece.update(&mut mesh);
        }
    }
    *bent = bending;
}

/// Leaves out of the meshes what lies wholly under worn kit: it can neither be seen nor pointed at, and leaving it
/// out halves the work of drawing.
pub(super) fn hide(
    stage: Res<StageView>,
    motion: Res<Motion>,
    pieces: Query<(&Piece, &Mesh3d)>,
    fresh: Query<(), Added<Piece>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut shown: ResMut<Shown>,
    mut was_off: Local<Vec<String>>,
) {
    let off = motion.coming_off();
    if !stage.is_changed() && off == *was_off {
        return;
    }
    let mut worn = stage.0.clone();
    for item in worn.items.iter_mut().filter(|i| off.contains(&i.id)) {
        item.state = StageItemState::Boxed;
    }
    *was_off = off;
    let hidden = super::kit::hidden(&worn);
    if hidden == shown.hidden && fresh.is_empty() {
        return;
    }
    for (piece, handle) in &pieces {
        if let Some(mut mesh) = meshes.get_mut(handle) {
            mesh.insert_indices(piece.indices(&hidden));
        }
    }
    shown.hidden = hidden;
}

/// Writes the data texture when loads, lamp or highlight have changed.
pub(super) fn paint_sites(
    stage: Res<StageView>,
    lit: Res<Lit>,
    pieces: Query<&Piece>,
    mut shown: ResMut<Shown>,
    mut images: ResMut<Assets<Image>>,
) {
    if !(stage.is_changed() || lit.is_changed()) {
        return;
    }
    // A patch keeps the area it was first drawn with, so that specks do not shift when an item is bundled up.
    if shown.areas.len() < stage.0.patches.len() && stage.is_changed() {
        let mut found = Areas::new();
        pieces.iter().for_each(|p| p.add_areas(&mut found));
        for (site, area) in found {
            shown.areas.entry(site as usize).or_insert(area);
        }
    }
    let area = |i: usize| shown.areas.get(&i).copied().unwrap_or(0.05);
    let list: Vec<f32> = (0..stage.0.patches.len()).map(area).collect();
    let bytes = sites::bytes(&stage.0, &list, lit.0);
    if shown.bytes != bytes {
        if let Some(mut image) = images.get_mut(&shown.sites) {
            image.data = Some(bytes.clone());
        }
        shown.bytes = bytes;
    }
}
