//! The one material of the scene: our own light, the specks under the lamp, and the site that is lit up.
//!
//! A shader of our own rather than an extended standard material: it costs a fraction as much on a machine without
//! a graphics card, and looks the same everywhere.

use bevy::asset::{load_internal_asset, uuid_handle};
use bevy::mesh::MeshVertexBufferLayoutRef;
use bevy::pbr::{MaterialPipeline, MaterialPipelineKey, MeshPipelineKey};
use bevy::prelude::*;
use bevy::render::render_resource::{
    AsBindGroup, Face, RenderPipelineDescriptor, SpecializedMeshPipelineError,
};
use bevy::shader::ShaderRef;

const SHADER: Handle<Shader> = uuid_handle!("5d0b1a5e-6b3c-4a53-9a0e-3f3f5a1c7d21");

/// Draws vertex colours under the plate's own light; reads one texel per site for specks and highlight.
#[derive(Asset, TypePath, AsBindGroup, Clone, Debug)]
#[bind_group_data(PlateKey)]
pub struct PlateMaterial {
    /// One texel per site, see [`super::sites`].
    #[texture(0)]
    pub sites: Handle<Image>,
    /// True for sheets one can see through.
    pub clear: bool,
    /// True under the lamp.
    pub lamp: bool,
    /// True to work light out at corners only, a fraction of the work where the processor draws every pixel.
    pub plain: bool,
}

/// What the shader is made ready for; each is a program of its own, since a branch in one would cost both sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PlateKey {
    lamp: bool,
    plain: bool,
}

impl From<&PlateMaterial> for PlateKey {
    fn from(material: &PlateMaterial) -> PlateKey {
        PlateKey {
            lamp: material.lamp,
            plain: material.plain,
        }
    }
}

impl Material for PlateMaterial {
    fn vertex_shader() -> ShaderRef {
        SHADER.into()
    }

    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }

    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.clear {
            AlphaMode::Blend
        } else {
            AlphaMode::Opaque
        }
    }

    /// Makes the shader ready for its key. A mirror image turns every triangle round, so its other side is the one to
    /// leave out.
    fn specialize(
        _pipeline: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _layout: &MeshVertexBufferLayoutRef,
        key: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        if key.mesh_key.contains(MeshPipelineKey::INVERT_CULLING) {
            descriptor.primitive.cull_mode = Some(Face::Front);
        }
        let PlateKey { lamp, plain } = key.bind_group_data;
        let fragment = descriptor.fragment.iter_mut().map(|f| &mut f.shader_defs);
        for defs in fragment.chain([&mut descriptor.vertex.shader_defs]) {
            defs.extend(lamp.then(|| "LAMP".into()));
            defs.extend(plain.then(|| "PLAIN".into()));
        }
        Ok(())
    }
}

/// Registers the material and carries its shader inside the binary.
pub struct PlateMaterialPlugin;

impl Plugin for PlateMaterialPlugin {
    fn build(&self, app: &mut App) {
        load_internal_asset!(app, SHADER, "../../assets/shaders/plate.wgsl", Shader::from_wgsl);
        app.add_plugins(MaterialPlugin::<PlateMaterial>::default());
    }
}
