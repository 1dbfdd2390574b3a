//! Plugin wiring, the bridge to the drill, pictures.
