// What lies behind everything, drawn where a part of the picture is about to be drawn again. The colour is the blend
// constant.

@fragment
fn fragment() -> @location(0) vec4<f32> {
    return vec4<f32>(1.0);
}
