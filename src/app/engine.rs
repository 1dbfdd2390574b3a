//! What of the engine is left out: parts that no picture here has any use for, but that cost time at every start, since
//! their programs would be made ready. Knows nothing of what is drawn.

use bevy::app::PluginGroupBuilder;
use bevy::light::cluster::GlobalClusterSettings;
use bevy::pbr::PbrPlugin;
use bevy::prelude::*;
use bevy::render::settings::{WgpuLimits, WgpuSettings};

/// The engine's plugins without what is not needed.
///
/// Letting the processor make meshes ready as well (`use_gpu_instance_buffer_builder`) would spare more programs, but
/// then nothing solid is drawn.
pub(super) fn lean(plugins: PluginGroupBuilder) -> PluginGroupBuilder {
    plugins
        .set(PbrPlugin {
            prepass_enabled: false,
            add_default_deferred_lighting_plugin: false,
            ..default()
        })
        .add_after::<PbrPlugin>(NoLamps)
}

/// The renderer's settings, which keep off what gets ready for use wherever it could be used: light worked out from
/// pictures of surroundings, shade in corners, skies, and meshes left out behind others. All need pictures that programs
/// write to, and here there may be none; nothing else is limited.
pub(super) fn settings() -> WgpuSettings {
    let constrained = WgpuLimits {
        max_texture_dimension_1d: u32::MAX,
        max_texture_dimension_2d: u32::MAX,
        max_texture_dimension_3d: u32::MAX,
        max_texture_array_layers: u32::MAX,
        max_bind_groups: u32::MAX,
        max_bindings_per_bind_group: u32::MAX,
        max_dynamic_uniform_buffers_per_pipeline_layout: u32::MAX,
        max_dynamic_storage_buffers_per_pipeline_layout: u32::MAX,
        max_sampled_textures_per_shader_stage: u32::MAX,
        max_samplers_per_shader_stage: u32::MAX,
        max_storage_buffers_per_shader_stage: u32::MAX,
        max_storage_textures_per_shader_stage: 0,
        max_uniform_buffers_per_shader_stage: u32::MAX,
        max_binding_array_elements_per_shader_stage: u32::MAX,
        max_binding_array_acceleration_structure_elements_per_shader_stage: u32::MAX,
        max_uniform_buffer_binding_size: u64::MAX,
        max_storage_buffer_binding_size: u64::MAX,
        max_vertex_buffers: u32::MAX,
        max_buffer_size: u64::MAX,
        max_vertex_attributes: u32::MAX,
        max_vertex_buffer_array_stride: u32::MAX,
        max_inter_stage_shader_variables: u32::MAX,
        min_uniform_buffer_offset_alignment: 0,
        min_storage_buffer_offset_alignment: 0,
        max_color_attachments: u32::MAX,
        max_color_attachment_bytes_per_sample: u32::MAX,
        max_compute_workgroup_storage_size: u32::MAX,
        max_compute_invocations_per_workgroup: u32::MAX,
        max_compute_workgroup_size_x: u32::MAX,
        max_compute_workgroup_size_y: u32::MAX,
        max_compute_workgroup_size_z: u32::MAX,
        max_compute_workgroups_per_dimension: u32::MAX,
        max_immediate_size: u32::MAX,
        max_non_sampler_bindings: u32::MAX,
        max_task_mesh_workgroup_total_count: u32::MAX,
        max_task_mesh_workgroups_per_dimension: u32::MAX,
        max_task_invocations_per_workgroup: u32::MAX,
        max_task_invocations_per_dimension: u32::MAX,
        max_mesh_invocations_per_workgroup: u32::MAX,
        max_mesh_invocations_per_dimension: u32::MAX,
        max_task_payload_size: u32::MAX,
        max_mesh_output_vertices: u32::MAX,
        max_mesh_output_primitives: u32::MAX,
        max_mesh_output_layers: u32::MAX,
        max_mesh_multiview_view_count: u32::MAX,
        max_blas_primitive_count: u32::MAX,
        max_blas_geometry_count: u32::MAX,
        max_tlas_instance_count: u32::MAX,
        max_multiview_view_count: u32::MAX,
        max_acceleration_structures_per_shader_stage: u32::MAX,
        max_binding_array_sampler_elements_per_shader_stage: u32::MAX,
    };
    WgpuSettings {
        constrained_limits: Some(constrained),
        ..default()
    }
}

/// The scene brings a light of its own, so no lamps are sorted by where they shine.
struct NoLamps;

impl Plugin for NoLamps {
    fn build(&self, _: &mut App) {}

    fn finish(&self, app: &mut App) {
        if let Some(mut settings) = app.world_mut().get_resource_mut::<GlobalClusterSettings>() {
            settings.gpu_clustering = None;
        }
    }
}
