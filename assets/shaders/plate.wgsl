// The look of the plate: soft studio light, matt colours, and under the lamp a dark violet room in which loaded
// patches show specks. One texel of `sites` per site: r how full of specks, g lit up, b wet, a size of specks.
// The last texel is for everything: r is 1 under the lamp.

#import bevy_pbr::{
    forward_io::VertexOutput,
    mesh_view_bindings::view,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var sites: texture_2d<f32>;

fn texel(i: i32) -> vec4<f32> {
    return textureLoad(sites, vec2<i32>(i % 64, i / 64), 0);
}

// Four repeatable numbers in 0..1 for a cell.
fn hash4(c: vec3<i32>) -> vec4<f32> {
    var h = (bitcast<u32>(c.x) * 0x9E3779B1u) ^ (bitcast<u32>(c.y) * 0x85EBCA77u) ^ (bitcast<u32>(c.z) * 0xC2B2AE3Du);
    h = h ^ (h >> 15u);
    h = h * 0x2C1B3C6Du;
    h = h ^ (h >> 12u);
    h = h * 0x297A2D39u;
    h = h ^ (h >> 15u);
    let g = h * 0x9E3779B1u + 0x7F4A7C15u;
    let k = (g ^ (g >> 13u)) * 0x85EBCA77u;
    return vec4<f32>(
        f32(h & 0xFFFFu) / 65535.0,
        f32(h >> 16u) / 65535.0,
        f32((k >> 3u) & 0xFFFFu) / 65535.0,
        f32(k >> 16u) / 65535.0,
    );
}

// One layer of specks: each cell may hold one round speck that stays inside its cell, so one look is enough.
fn layer(p: vec3<f32>, size: f32, full: f32, pixel: f32, shift: vec3<f32>) -> f32 {
    let q = p / size + shift;
    let c = vec3<i32>(floor(q));
    let h = hash4(c);
    if (h.w > full) {
        return 0.0;
    }
    let reach = 0.24 + 0.22 * fract(h.w * 57.31 + h.x * 13.7);
    let centre = vec3<f32>(reach) + h.xyz * (1.0 - 2.0 * reach);
    let d = length(q - vec3<f32>(c) - centre) * size;
    let r = max(reach * size, pixel * 1.7);
    let core = smoothstep(r, max(r - pixel * 1.4, r * 0.45), d);
    return core;
}

// How full of specks a spot is: `depth` 0 lies on the border to a site that is `beyond` full, 1 far from it. Two
// sites meet half way on a logarithmic scale; towards one that has nothing specks thin out but never cross over.
fn towards(level: f32, beyond: f32, depth: f32) -> f32 {
    let meeting = select(level * 0.08, sqrt(level * beyond), beyond > 0.0);
    return mix(meeting, level, smoothstep(0.0, 1.0, depth));
}

@fragment
fn fragment(in: VertexOutput, @builtin(front_facing) front: bool) -> @location(0) vec4<f32> {
    let site = i32(floor(in.uv_b.x));
    let packed = floor(in.uv_b.y / 16.0);
    let gloss = packed / 8.0;
    let rest = vec3<f32>(in.uv.x, in.uv.y, in.uv_b.y - packed * 16.0 - 8.0);
    let data = texel(site);
    let lamp = texel(2047).r;

    var n = normalize(in.world_normal);
    let v = normalize(view.world_position - in.world_position.xyz);
    let base = in.color.rgb;
    // Solid surfaces carry the neighbouring site and how deep within their own they are, see `Piece`.
    let solid = in.color.a > 1.5;
    var alpha = select(in.color.a, 1.0, solid);

    // Key light from the upper left front, wrapped so that nothing falls into black; sky and floor fill the rest.
    let l = normalize(vec3<f32>(-0.48, 0.74, 0.62));
    let key = max((dot(n, l) + 0.28) / 1.28, 0.0);
    let fill_dir = normalize(vec3<f32>(0.80, 0.25, 0.30));
    let fill = max(dot(n, fill_dir), 0.0);
    let sky = 0.5 + 0.5 * n.y;
    let half_way = normalize(v + l);
    let facing = max(dot(n, v), 0.0);
    let edge = pow(1.0 - facing, 3.0);

    let wet = data.b * (1.0 - lamp);
    let shine = max(gloss, wet * 0.85);
    let power = 8.0 + shine * 90.0;
    let spec = shine * pow(max(dot(n, half_way), 0.0), power) * (0.22 + 0.45 * shine);

    let ambient = mix(vec3<f32>(0.43, 0.40, 0.37), vec3<f32>(0.62, 0.635, 0.66), sky);
    var day = base * (1.0 - 0.10 * wet) * (ambient * 0.80 + vec3<f32>(0.66, 0.64, 0.605) * key + vec3<f32>(0.10, 0.11, 0.13) * fill);
    day += vec3<f32>(spec) + vec3<f32>(0.10, 0.10, 0.105) * edge * (0.35 + 0.65 * sky);

    // Under the lamp: little light, violet, with a cool outline that keeps shapes readable.
    let grey = dot(base, vec3<f32>(0.30, 0.55, 0.15));
    var dim = mix(vec3<f32>(grey), base, 0.45) * vec3<f32>(0.062, 0.050, 0.140) * (0.25 + 0.75 * (key * 0.8 + sky * 0.2));
    // The far wall falls back, so that the person stands out.
    dim *= 0.45 + 0.75 * smoothstep(-1.5, 0.2, in.world_position.z);
    let night = dim + vec3<f32>(0.040, 0.030, 0.110) * edge + vec3<f32>(0.0016, 0.0012, 0.0048);
    var colour = mix(day, night, lamp);

    // Specks. Their places come from where the surface lies at rest, so they travel with it.
    var level = data.r * data.r;
    if (lamp > 0.5 && level > 0.0) {
        if (solid) {
            let other = texel(i32(floor(in.color.a)) - 2).r;
            level = towards(level, other * other, fract(in.color.a));
        }
        let size = 0.0035 * exp2(data.a * 4.0);
        let pixel = length(fwidth(in.world_position.xyz)) * 0.55;
        var mask = layer(rest, size, level, pixel, vec3<f32>(0.0));
        mask = max(mask, layer(rest.zxy, size * 0.71, level * 0.9, pixel, vec3<f32>(17.3, 5.9, 31.1)));
        // A faint haze gathers round dense specks, as fluorescence does.
        let haze = level * level * 0.10;
        let glow = vec3<f32>(0.694, 1.0, 0.133);
        colour = mix(colour + glow * haze, glow * (0.80 + 0.20 * facing), mask);
        alpha = max(alpha, mask);
    }

    // The site pointed at: lifted, edged, and hatched, so that it shows without colour.
    if (data.g > 0.0) {
        let stripe = smoothstep(0.40, 0.60, abs(fract((in.position.x + in.position.y) / 9.0) - 0.5) * 2.0);
        let day_tint = mix(vec3<f32>(1.0), vec3<f32>(0.055, 0.42, 0.39), 0.35 + 0.65 * edge);
        let tint = mix(day_tint, vec3<f32>(0.36, 0.32, 0.80), lamp);
        let strength = (0.20 + 0.16 * stripe + 0.30 * edge) * data.g;
        colour = mix(colour, tint, strength);
        alpha = max(alpha, 0.35 * data.g);
    }
    return vec4<f32>(colour, alpha);
}
