//! Tests of the core: no window, no Bevy.

mod content;
