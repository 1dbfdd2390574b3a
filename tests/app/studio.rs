//! Whether pictures can be drawn here. Where there is no graphics driver, tests that look at pictures are left out with
//! a line that says so, unless the environment has `SMIRCH_PICTURES=required`.

use std::io::Write;
use std::sync::Once;

use smirch::app::machine;
use smirch::app::picture::Studio;

/// True if pictures can be drawn here; says so once if not.
pub fn draws() -> bool {
    let draws = machine::adapter();
    if !draws {
        let required = std::env::var_os("SMIRCH_PICTURES").is_some_and(|v| v == "required");
        assert!(
            !required,
            "SMIRCH_PICTURES=required, but there is no graphics driver: `apt install libvulkan1 mesa-vulkan-drivers`"
        );
        static SAID: Once = Once::new();
        SAID.call_once(|| {
            // Past the test harness, which keeps what passing tests print to itself.
            let _ = writeln!(
                std::io::stderr(),
                "left out: tests that look at pictures, since there is no graphics driver (on Debian: \
                 libvulkan1 mesa-vulkan-drivers)"
            );
        });
    }
    draws
}

/// A studio for pictures of this size; none where nothing can be drawn.
pub fn studio(width: u32, height: u32) -> Option<Studio> {
    if !draws() {
        return None;
    }
    match Studio::new(width, height) {
        Ok(studio) => Some(studio),
        Err(why) => panic!("{why}"),
    }
}
