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
pub struct PlateMaterial {
    /// One texel per site, see [`super::sites`].
    #[texture(0)]
    pub sites: Handle<Image>,
    /// True for sheets one can see through.
    pub clear: bool,
}

impl Material for PlateMaterial {
    fn fragment_shader() -> ShaderRef {
        SHADER.into()
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.clear {
            AlphaMode::Blend
        } else {
            AlphaMode::Opaque
        }
    }

    /// A mirror image turns every triangle round, so its other side is the one to leave out.
    fn specialize(
        _pipeline: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _layout: &MeshVertexBufferLayoutRef,
        key: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        if key.mesh_key.contains(MeshPipelineKey::INVERT_CULLING) {
            descriptor.primitive.cull_mode = Some(Face::Front);
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
