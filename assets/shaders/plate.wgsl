// The look of the plate: soft studio light, matt colours, and under the lamp a dark violet room in which loaded
// patches show specks. One texel of `sites` per site: r how full of specks, g lit up, b wet, a size of specks.
//
// LAMP: the lamp is on. PLAIN: light is worked out at corners and spread over triangles, for machines on which every
// pixel is drawn by the processor; there, what stands in an `if` costs as much as if it were always done.

#import bevy_pbr::{
    mesh_bindings::mesh,
    mesh_functions,
    mesh_view_bindings::view,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var sites: texture_2d<f32>;

struct Corner {
    @builtin(instance_index) instance: u32,
    @location(0) position: vec3<f32>,
    @location(1) normal: vec3<f32>,
    @location(2) rest: vec2<f32>,
    @location(3) packed: vec2<f32>,
    @location(5) color: vec4<f32>,
}

struct Spot {
    @builtin(position) position: vec4<f32>,
    // Under plain light already lit.
    @location(0) color: vec4<f32>,
    // The site's texel.
    @location(1) @interpolate(flat) site: vec4<f32>,
#ifndef PLAIN
    @location(2) world: vec3<f32>,
    @location(3) normal: vec3<f32>,
    @location(4) @interpolate(flat) gloss: f32,
#endif
#ifdef LAMP
    @location(5) rest: vec3<f32>,
    // How full of specks, worked out at corners.
    @location(6) level: f32,
#endif
}

fn texel(site: i32) -> vec4<f32> {
    return textureLoad(sites, vec2<i32>(site % 64, site / 64), 0);
}

#ifdef LAMP
// How full of specks a corner is: `depth` 0 lies on the border to a site that is `beyond` full, 1 far from it. Two
// sites meet half way on a logarithmic scale; towards one that has nothing specks thin out but never cross over.
fn towards(level: f32, beyond: f32, depth: f32) -> f32 {
    let meeting = select(level * 0.08, sqrt(level * beyond), beyond > 0.0);
    return mix(meeting, level, smoothstep(0.0, 1.0, depth));
}
#endif

@vertex
fn vertex(in: Corner) -> Spot {
    let place = mesh_functions::get_world_from_local(in.instance);
    let world = (place * vec4<f32>(in.position, 1.0)).xyz;
    // Things are turned and moved, never stretched.
    let normal = (place * vec4<f32>(in.normal, 0.0)).xyz;
    let site = i32(floor(in.packed.x));
    let packed = floor(in.packed.y / 16.0);
    let gloss = packed / 8.0;
    var out: Spot;
    out.position = view.clip_from_world * vec4<f32>(world, 1.0);
    out.site = texel(site);
    // Solid surfaces carry the neighbouring site and how deep within their own they are, see `Piece`.
    let solid = in.color.a > 1.5;
    let alpha = clamp(in.color.a, 0.0, 1.0);
    // Places on the floor show specks and nothing else, see `spill`.
    let bare = in.color.a < 0.0;
    out.site.g = select(out.site.g, 0.0, bare);
#ifdef PLAIN
    let v = normalize(view.world_position - world);
    out.color = vec4<f32>(light(normal, v, in.color.rgb, gloss, out.site.b, world.z), alpha);
#else
    out.color = vec4<f32>(in.color.rgb, alpha);
    out.world = world;
    out.normal = normal;
    out.gloss = gloss;
#endif
#ifdef LAMP
    out.rest = vec3<f32>(in.rest, in.packed.y - packed * 16.0 - 8.0);
    out.level = out.site.r * out.site.r;
    if (solid) {
        let other = texel(i32(floor(in.color.a)) - 2).r;
        out.level = towards(out.level, other * other, fract(in.color.a));
    } else if (bare) {
        out.level *= -in.color.a;
    } else if (in.color.a > 1.1) {
        // The floor itself.
        out.level = 0.0;
    }
#endif
    return out;
}

fn edge_of(facing: f32) -> f32 {
    let away = 1.0 - facing;
    return away * away * away;
}

// Colour of a place: `n` its normal, `v` where it is seen from, `depth` where it lies between wall and viewer.
fn light(n: vec3<f32>, v: vec3<f32>, base: vec3<f32>, gloss: f32, soaked: f32, depth: f32) -> vec3<f32> {
    // Key light from the upper left front, wrapped so that nothing falls into black; sky and floor fill the rest.
    let l = normalize(vec3<f32>(-0.48, 0.74, 0.62));
    let key = max((dot(n, l) + 0.28) / 1.28, 0.0);
    let sky = 0.5 + 0.5 * n.y;
    let edge = edge_of(max(dot(n, v), 0.0));
#ifdef LAMP
    // Little light, violet, with a cool outline that keeps shapes readable.
    let grey = dot(base, vec3<f32>(0.30, 0.55, 0.15));
    var dim = mix(vec3<f32>(grey), base, 0.45) * vec3<f32>(0.062, 0.050, 0.140) * (0.25 + 0.75 * (key * 0.8 + sky * 0.2));
    // The far wall falls back, so that the person stands out.
    dim *= 0.45 + 0.75 * smoothstep(-1.5, 0.2, depth);
    return dim + vec3<f32>(0.040, 0.030, 0.110) * edge + vec3<f32>(0.0016, 0.0012, 0.0048);
#else
    let fill = max(dot(n, normalize(vec3<f32>(0.80, 0.25, 0.30))), 0.0);
    let half_way = normalize(v + l);
    let shine = max(gloss, soaked * 0.85);
    let power = 8.0 + shine * 90.0;
    let spec = shine * pow(max(dot(n, half_way), 0.0), power) * (0.22 + 0.45 * shine);
    let ambient = mix(vec3<f32>(0.43, 0.40, 0.37), vec3<f32>(0.62, 0.635, 0.66), sky);
    var day = base * (1.0 - 0.10 * soaked) * (ambient * 0.80 + vec3<f32>(0.66, 0.64, 0.605) * key + vec3<f32>(0.10, 0.11, 0.13) * fill);
    day += vec3<f32>(spec) + vec3<f32>(0.10, 0.10, 0.105) * edge * (0.35 + 0.65 * sky);
    return day;
#endif
}

#ifdef LAMP
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
#endif

@fragment
fn fragment(in: Spot) -> @location(0) vec4<f32> {
    var alpha = in.color.a;
#ifdef PLAIN
    var colour = in.color.rgb;
    // What a rounded thing shows on average.
    let facing = 0.75;
#else
    let n = normalize(in.normal);
    let v = normalize(view.world_position - in.world);
    let facing = max(dot(n, v), 0.0);
    var colour = light(n, v, in.color.rgb, in.gloss, in.site.b, in.world.z);
#endif
    let edge = edge_of(facing);

#ifdef LAMP
    // Specks. Their places come from where the surface lies at rest, so they travel with it.
    let level = in.level;
    if (level > 0.0) {
        let size = 0.0035 * exp2(in.site.a * 4.0);
#ifdef PLAIN
        let pixel = 1.6 / (in.position.w * view.clip_from_view[1][1] * view.viewport.w);
#else
        let pixel = length(fwidth(in.world)) * 0.55;
#endif
        var mask = layer(in.rest, size, level, pixel, vec3<f32>(0.0));
        mask = max(mask, layer(in.rest.zxy, size * 0.71, level * 0.9, pixel, vec3<f32>(17.3, 5.9, 31.1)));
        // A faint haze gathers round dense specks, as fluorescence does.
        let haze = level * level * 0.10;
        let glow = vec3<f32>(0.694, 1.0, 0.133);
        colour = mix(colour + glow * haze, glow * (0.80 + 0.20 * facing), mask);
        alpha = max(alpha, mask);
    }
    let tint = vec3<f32>(0.36, 0.32, 0.80);
#else
    let tint = mix(vec3<f32>(1.0), vec3<f32>(0.055, 0.42, 0.39), 0.35 + 0.65 * edge);
#endif

    // The site pointed at: lifted, edged, and hatched, so that it shows without colour.
    let stripe = smoothstep(0.40, 0.60, abs(fract((in.position.x + in.position.y) / 9.0) - 0.5) * 2.0);
    let strength = (0.20 + 0.16 * stripe + 0.30 * edge) * in.site.g;
    return vec4<f32>(mix(colour, tint, strength), max(alpha, 0.35 * in.site.g));
}
