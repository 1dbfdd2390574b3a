//! What the scene draws for a stage.
#[test]
fn draws() {}
