//! Keeps what is drawn in step with the stage: pieces come and go, sites get their texels, the person walks.

use std::collections::HashMap;

use bevy::prelude::*;

use super::apart::apart;
use super::given::{Both, Quality, SceneSettings, StageView};
use super::kit::{self, Hold, Open, Wardrobe, zone_x};
use super::marks::{Figure, Loose, OfItem, OfSecond, STAND_Z};
use super::material::PlateMaterial;
use super::motion::Motion;
use super::orbit::CameraWork;
use super::piece::Piece;
use super::point::Lit;
use super::pose::Pose;
use super::reach::Arms;
use super::redraw::stale::Stale;
use super::shape::model::{Model, part_of};
use super::shape::room;
use super::sites;
use super::store::{self, Far, Which};
use super::thin;

use crate::outside::threads::both;
use crate::view::stage::{Stage, StageItem, StageItemState, Surface, Who};

/// What is drawn at present, so that only differences are redone.
#[derive(Resource, Default)]
pub(super) struct Shown {
    sites: Handle<Image>,
    solid: Handle<PlateMaterial>,
    clear: Handle<PlateMaterial>,
    surfaces: Vec<Surface>,
    lookup: HashMap<Surface, usize>,
    drawn: Vec<(Drawn, Vec<Entity>)>,
    bytes: Vec<u8>,
    open: Vec<Open>,
    /// True while fewer triangles are drawn, for a view from afar.
    pub(super) afar: bool,
    /// Area of each patch, m2; empty until it is next asked for.
    areas: Vec<f32>,
}

/// One thing drawn, with all that its shape depends on.
#[derive(Clone, Debug, PartialEq)]
enum Drawn {
    Person,
    /// The room, and what this building does not have of it.
    Room(Vec<String>),
    /// Specks of the floor: where, and how far round.
    Spill(Vec3, f32),
    Item {
        item: StageItem,
        layer: usize,
        order: usize,
    },
}

impl Shown {
    /// A texture and materials of its own for one person and room.
    pub(super) fn made(images: &mut Assets<Image>, materials: &mut Assets<PlateMaterial>) -> Shown {
        let sites = images.add(sites::blank());
        let mut material = |clear| {
            materials.add(PlateMaterial {
                sites: sites.clone(),
                clear,
                lamp: false,
                plain: false,
            })
        };
        Shown {
            solid: material(false),
            clear: material(true),
            sites,
            ..default()
        }
    }

    /// Switches the materials to the lamp or to daylight, and to the light that suits the quality.
    pub(super) fn light(&self, lamp: bool, quality: Quality, materials: &mut Assets<PlateMaterial>) {
        let plain = quality == Quality::Plain;
        for handle in [&self.solid, &self.clear] {
            let differs = materials
                .get(handle)
                .is_some_and(|m| m.lamp != lamp || m.plain != plain);
            if differs && let Some(mut material) = materials.get_mut(handle) {
                (material.lamp, material.plain) = (lamp, plain);
            }
        }
    }

    /// The person's root with the shadows at its feet.
    pub(super) fn spawn_root(
        &self,
        commands: &mut Commands,
        meshes: &mut Assets<Mesh>,
        root: impl Bundle,
    ) -> Entity {
        let root = commands.spawn((root, Visibility::default())).id();
        for (shape, shadow) in [
            (room::body_shadow(), Shadow { turns: false }),
            (room::feet_shadow(), Shadow { turns: true }),
        ] {
            if let Some(piece) = Piece::bake(&shape, true, Hold::Room, None, &|_, _| None) {
                commands.spawn((
                    Mesh3d(meshes.add(piece.mesh())),
                    MeshMaterial3d(self.clear.clone()),
                    Transform::default(),
                    shadow,
                    ChildOf(root),
                ));
            }
        }
        root
    }
}

pub(super) fn set_up(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut materials: ResMut<Assets<PlateMaterial>>,
    mut meshes: ResMut<Assets<Mesh>>,
    stage: Res<StageView>,
    mut shown: ResMut<Shown>,
) {
    *shown = Shown::made(&mut images, &mut materials);
    let x = zone_x(stage.0.whereabouts);
    let root = (Figure { x }, Transform::from_xyz(x, 0.0, STAND_Z));
    shown.spawn_root(&mut commands, &mut meshes, root);
}

/// What a stage asks to be drawn.
fn wanted(stage: &Stage) -> Vec<Drawn> {
    let absent = stage.patches.iter().filter(|patch| patch.absent);
    let absent = absent.filter_map(|patch| match &patch.surface {
        Surface::Room(id) => Some(id.clone()),
        _ => None,
    });
    let mut out = vec![Drawn::Person, Drawn::Room(absent.collect())];
    out.extend(
        kit::spills(stage)
            .into_iter()
            .map(|(at, wide)| Drawn::Spill(at, wide)),
    );
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
            StageItemState::Held(_) => stage.items[..i].iter().filter(|o| o.state == item.state).count(),
            StageItemState::Floor(_) => i,
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

#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn follow_stage(
    mut commands: Commands,
    stage: Res<StageView>,
    settings: Res<SceneSettings>,
    mut arms: ResMut<Both<Arms>>,
    motion: Res<Both<Motion>>,
    figure: Single<Entity, With<Figure>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut wardrobe: ResMut<Wardrobe>,
    mut shown: ResMut<Shown>,
) {
    // Before the first drill there is nobody to draw.
    let nobody = stage.0.patches.is_empty() && shown.drawn.is_empty();
    if stage.is_changed() && !nobody {
        let arms = arms.of_mut(Who::First);
        arms.keep(&stage.0, motion.of(Who::First).moving());
        let mut dresser = Dresser {
            commands: &mut commands,
            meshes: &mut meshes,
            wardrobe: &mut wardrobe,
            root: *figure,
            room: Transform::default(),
            pose: arms.pose,
            quality: settings.quality,
        };
        dresser.dress(&stage.0, &mut shown, ());
    }
}

/// Brings pieces into being for one person and room.
pub(super) struct Dresser<'a, 'w, 's> {
    pub commands: &'a mut Commands<'w, 's>,
    pub meshes: &'a mut Assets<Mesh>,
    pub wardrobe: &'a mut Wardrobe,
    /// What everything worn hangs on.
    pub root: Entity,
    /// Where what stands in the room is put.
    pub room: Transform,
    pub pose: Pose,
    /// Without a graphics card there are fewer triangles for views from afar.
    pub quality: Quality,
}

impl Dresser<'_, '_, '_> {
    /// Redoes what differs from what is shown; every new piece is marked.
    pub(super) fn dress(&mut self, stage: &Stage, shown: &mut Shown, mark: impl Bundle + Copy) {
        let Dresser {
            commands,
            meshes,
            wardrobe,
            ..
        } = self;
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
        let worn = wanted.iter().filter_map(|thing| match thing {
            Drawn::Item { item, layer, .. } if item.state == StageItemState::Worn => Some((item, *layer)),
            _ => None,
        });
        let afar = self.quality == Quality::Plain;
        // The person takes as long as all the kit.
        let fixed = |which| {
            if let Some(shape) = store::shape(&which)
                && afar
            {
                shape.far();
            }
        };
        both(
            || both(|| fixed(Which::Person), || fixed(Which::Room)),
            || kit::prepare(worn, afar),
        );
        let mut kept = Vec::with_capacity(wanted.len());
        let mut old = std::mem::take(&mut shown.drawn);
        for thing in wanted {
            if let Some(i) = old.iter().position(|(d, _)| *d == thing) {
                kept.push(old.swap_remove(i));
                continue;
            }
            let Some((model, hold)) = shape_of(&thing, wardrobe) else {
                kept.push((thing, vec![]));
                continue;
            };
            let far = afar.then(|| far_of(&thing).unwrap_or_else(|| thin::triangles(&model, thin::FAR)));
            let lookup = &shown.lookup;
            let site = |part: &str, inside: bool| lookup.get(&surface(&thing, part, inside)).copied();
            let models = match thing {
                Drawn::Room(_) => apart(&model),
                _ => vec![model],
            };
            let mut entities = Vec::new();
            for (model, clear) in models.iter().flat_map(|m| [(m, false), (m, true)]) {
                let Some(mut piece) = Piece::bake(model, clear, hold, far.as_ref(), &site) else {
                    continue;
                };
                piece.pose(&self.pose);
                let material = if clear {
                    shown.clear.clone()
                } else {
                    shown.solid.clone()
                };
                let mesh = meshes.add(piece.mesh());
                let mut entity = commands.spawn((Mesh3d(mesh), MeshMaterial3d(material), piece, mark));
                if hold == Hold::Room {
                    entity.insert((Loose, self.room));
                } else {
                    entity.insert((ChildOf(self.root), Transform::default()));
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
}

fn shape_of(thing: &Drawn, wardrobe: &mut Wardrobe) -> Option<(Model, Hold)> {
    match thing {
        Drawn::Person => Some((store::shape(&Which::Person)?.model.clone(), Hold::Body)),
        Drawn::Room(absent) => Some((without(&store::shape(&Which::Room)?.model, absent), Hold::Room)),
        Drawn::Spill(at, wide) => Some((room::spill(*wide).moved(*at), Hold::Room)),
        Drawn::Item { item, layer, order } => wardrobe.shape(item, *layer, *order),
    }
}

/// The same model without some of its parts; its corners stay what they are.
fn without(model: &Model, absent: &[String]) -> Model {
    let mut rest = model.clone();
    leave_out(model, absent, &mut rest.surf.tris, &mut rest.surf.tags);
    rest
}

/// Takes away the triangles of parts that are absent; tags go with triangles.
fn leave_out(model: &Model, absent: &[String], tris: &mut Vec<[u32; 3]>, tags: &mut Vec<u16>) {
    let stays = |tag: &u16| !absent.iter().any(|id| *id == model.parts[part_of(*tag)]);
    let mut of = tags.iter().map(stays);
    tris.retain(|_| of.next().unwrap_or(false));
    tags.retain(stays);
}

/// Triangles for views from afar, where they are known already.
fn far_of(thing: &Drawn) -> Option<Far> {
    match thing {
        Drawn::Person => Some(store::shape(&Which::Person)?.far().clone()),
        Drawn::Room(absent) => {
            let shape = store::shape(&Which::Room)?;
            let (mut tris, mut tags) = shape.far().clone();
            leave_out(&shape.model, absent, &mut tris, &mut tags);
            Some((tris, tags))
        }
        Drawn::Spill(..) => None,
        Drawn::Item { item, layer, .. } => kit::far(item, *layer),
    }
}

fn surface(thing: &Drawn, part: &str, inside: bool) -> Surface {
    match thing {
        Drawn::Person => Surface::Body(part.to_string()),
        Drawn::Room(_) | Drawn::Spill(..) => Surface::Room(part.to_string()),
        Drawn::Item { item, .. } => Surface::Part {
            item: item.id.clone(),
            part: part.to_string(),
            inside,
        },
    }
}

/// A shadow at a person's feet.
#[derive(Component)]
pub(super) struct Shadow {
    /// Whether it turns with the person.
    turns: bool,
}

/// Keeps shadows level on the floor below the hips, however the body bows.
pub(super) fn ground(
    roots: Query<&Transform, (Changed<Transform>, Without<Shadow>)>,
    mut shadows: Query<(&ChildOf, &mut Transform, &Shadow)>,
) {
    for (root, mut at, shadow) in &mut shadows {
        let Ok(root) = roots.get(root.parent()) else {
            continue;
        };
        let hip = root.transform_point(Vec3::Y * 0.9);
        let mut level = Transform::from_xyz(hip.x, 0.0, hip.z);
        if shadow.turns {
            let ahead = root.rotation * Vec3::Z;
            level.rotation = Quat::from_rotation_y(ahead.x.atan2(ahead.z));
        }
        *at = Transform::from_matrix(root.to_matrix().inverse() * level.to_matrix());
    }
}

/// What a person's pieces were last drawn by.
#[derive(Default)]
pub(super) struct Drawing {
    pose: Option<Pose>,
    /// Items that were bent.
    bent: Vec<String>,
}

/// Redraws the pieces that move when the arms have moved, and those that are coming off.
pub(super) fn repose(
    arms: Res<Both<Arms>>,
    motion: Res<Both<Motion>>,
    mut pieces: Query<(&mut Piece, &Mesh3d, Option<&OfItem>, Has<OfSecond>)>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut last: Local<[Drawing; 2]>,
) {
    for (who, last) in Who::BOTH.into_iter().zip(&mut *last) {
        let mine = pieces
            .iter_mut()
            .filter(|(.., second)| *second == (who == Who::Second))
            .map(|(piece, handle, of, _)| (piece, handle, of));
        repose_one(arms.of(who), motion.of(who), mine, &mut meshes, last);
    }
}

fn repose_one<'a>(
    arms: &Arms,
    motion: &Motion,
    pieces: impl Iterator<Item = (Mut<'a, Piece>, &'a Mesh3d, Option<&'a OfItem>)>,
    meshes: &mut Assets<Mesh>,
    last: &mut Drawing,
) {
    let moved = last.pose.replace(arms.pose) != Some(arms.pose);
    if !moved && !motion.bends() && last.bent.is_empty() {
        return;
    }
    let bent = &last.bent;
    let mut bending = Vec::new();
    for (mut piece, handle, of) in pieces {
        let item = of.map(|of| of.0.as_str());
        if let Some(warp) = item.and_then(|item| motion.warp(item)) {
            let (bent, clear) = (warp.now(&arms.pose), piece.clear());
            piece.bend(warp.opened(), |i, p, n, follow| {
                bent.place((clear, i), p, n, follow)
            });
            bending.push(warp.item.clone());
        } else if item.is_some_and(|item| bent.iter().any(|b| b == item)) {
            piece.relax(&arms.pose);
        } else if !(moved && piece.pose(&arms.pose)) {
            continue;
        }
        if let Some(mut mesh) = meshes.get_mut(handle) {
            piece.update(&mut mesh);
        }
    }
    last.bent = bending;
}

/// Height of the picture at the person above which it is a view from afar, metres: between whole figure and hands.
const AFAR: f32 = 1.20;

/// True if fewer triangles do: without a graphics card, where the whole person is seen.
pub(super) fn afar(settings: &SceneSettings, work: &CameraWork) -> bool {
    settings.quality == Quality::Plain && work.now.span > AFAR
}

/// Leaves out of the meshes what lies wholly under worn kit: it can neither be seen nor pointed at, and leaving it
/// out halves the work of drawing.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn hide(
    stage: Res<StageView>,
    settings: Res<SceneSettings>,
    work: Res<CameraWork>,
    motion: Res<Both<Motion>>,
    pieces: Query<(&Piece, &Mesh3d), Without<OfSecond>>,
    fresh: Query<(), (Added<Piece>, Without<OfSecond>)>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut shown: ResMut<Shown>,
    mut was_off: Local<Vec<String>>,
) {
    let off = motion.of(Who::First).coming_off();
    let afar = afar(&settings, &work);
    if !stage.is_changed() && off == *was_off && afar == shown.afar {
        return;
    }
    let worn = uncovered(&stage.0, &off);
    *was_off = off;
    shown.leave_out(&worn, afar, pieces.iter(), !fresh.is_empty(), &mut meshes);
}

/// A stage as if some items were not worn, so that what they cover shows.
pub(super) fn uncovered(stage: &Stage, off: &[String]) -> Stage {
    let mut worn = stage.clone();
    for item in worn.items.iter_mut().filter(|i| off.contains(&i.id)) {
        item.state = StageItemState::Boxed;
    }
    worn
}

impl Shown {
    /// Leaves out of the pieces' meshes what is hidden on a stage, and what is too small to be seen from afar.
    pub(super) fn leave_out<'a>(
        &mut self,
        stage: &Stage,
        afar: bool,
        pieces: impl Iterator<Item = (&'a Piece, &'a Mesh3d)>,
        fresh: bool,
        meshes: &mut Assets<Mesh>,
    ) {
        let open = kit::open(stage);
        if open == self.open && afar == self.afar && !fresh {
            return;
        }
        for (piece, handle) in pieces {
            if let Some(mut mesh) = meshes.get_mut(handle) {
                mesh.insert_indices(piece.indices(&open, afar));
            }
        }
        self.open = open;
        self.afar = afar;
    }

    /// The data texture.
    pub(super) fn sites(&self) -> AssetId<Image> {
        self.sites.id()
    }

    /// Writes the data texture if it differs, and answers which sites do.
    pub(super) fn paint(
        &mut self,
        stage: &Stage,
        lit: Option<usize>,
        images: &mut Assets<Image>,
    ) -> Vec<u16> {
        if self.areas.len() != stage.patches.len() {
            self.areas = kit::areas(stage);
        }
        let bytes = sites::bytes(stage, &self.areas, lit);
        if self.bytes == bytes {
            return Vec::new();
        }
        if let Some(mut image) = images.get_mut(&self.sites) {
            image.data = Some(bytes.clone());
        }
        let was = self.bytes.chunks(4).map(Some).chain(std::iter::repeat(None));
        let texels = bytes.chunks(4).map(Some).zip(was).enumerate();
        let differ = texels.filter(|(_, (is, was))| is != was).map(|(i, _)| i as u16);
        let differ = differ.collect();
        self.bytes = bytes;
        differ
    }
}

/// Lights the scene as stage and settings ask.
pub(super) fn light(
    stage: Res<StageView>,
    settings: Res<SceneSettings>,
    shown: Res<Shown>,
    mut materials: ResMut<Assets<PlateMaterial>>,
) {
    shown.light(stage.0.lamp, settings.quality, &mut materials);
}

/// Writes the data texture when loads, lamp or highlight have changed.
pub(super) fn paint_sites(
    stage: Res<StageView>,
    lit: Res<Lit>,
    mut shown: ResMut<Shown>,
    mut images: ResMut<Assets<Image>>,
    mut stale: ResMut<Stale>,
) {
    if stage.is_changed() || lit.is_changed() {
        stale.repaint(shown.paint(&stage.0, lit.0, &mut images));
    }
}
