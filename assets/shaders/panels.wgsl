// Panels: the colour of a corner times the texture, which is white for plain areas and coverage for letters.
//
// Colours come gamma-encoded and are multiplied as such. The encoding is close to a power, and the power of a product
// is the product of powers, so it is undone once at each corner instead of at each pixel: on a machine without a
// graphics card that is the difference between panels that cost more than the scene and panels that cost little.

struct Transform {
    scale: vec2<f32>,
    translation: vec2<f32>,
}

struct Corner {
    @location(0) position: vec2<f32>,
    @location(1) uv: vec2<f32>,
    @location(2) color: vec4<f32>,
}

struct Spot {
    @builtin(position) position: vec4<f32>,
    @location(0) color: vec4<f32>,
    @location(1) uv: vec2<f32>,
}

@group(0) @binding(0) var<uniform> transform: Transform;

#ifdef BINDLESS
@group(1) @binding(0) var textures: binding_array<texture_2d<f32>>;
@group(1) @binding(1) var samplers: binding_array<sampler>;

struct Which {
    index: u32,
}
var<immediate> which: Which;
#else
@group(1) @binding(0) var sheet: texture_2d<f32>;
@group(1) @binding(1) var sheet_sampler: sampler;
#endif

// Linear light of a gamma-encoded colour.
fn linear(encoded: vec3<f32>) -> vec3<f32> {
    let bright = pow((encoded + 0.055) / 1.055, vec3<f32>(2.4));
    return select(bright, encoded / 12.92, encoded < vec3<f32>(0.04045));
}

@vertex
fn vs_main(in: Corner) -> Spot {
    let place = in.position * transform.scale + transform.translation;
    return Spot(vec4<f32>(place, 0.0, 1.0), vec4<f32>(linear(in.color.rgb), in.color.a), in.uv);
}

@fragment
fn fs_main(in: Spot) -> @location(0) vec4<f32> {
#ifdef BINDLESS
    return textureSampleLevel(textures[which.index], samplers[which.index], in.uv, 0.0) * in.color;
#else
    return textureSampleLevel(sheet, sheet_sampler, in.uv, 0.0) * in.color;
#endif
}
