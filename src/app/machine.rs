//! What the window needs of the machine: a screen, libraries that are opened while it runs, a driver to draw with. Asked
//! for before the engine starts, which would end the program with a stack instead. Knows nothing of what is drawn.

use std::fmt;
use std::sync::{Arc, OnceLock};

use bevy::render::renderer::{RenderInstance, WgpuWrapper};
use bevy::render::settings::{Backends, WgpuSettings};
use bevy::tasks::block_on;

/// Something that is missing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Missing {
    /// No screen is named.
    Display,
    /// Only a screen of another kind is named than this build can open.
    OtherDisplay,
    /// The screen that is named does not answer.
    Server(String),
    /// A library: its file, and the package that has it on Debian.
    Library(&'static str, &'static str),
    /// Nothing draws, not even in software.
    Adapter,
}

/// All that is missing for the window.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unready(pub Vec<Missing>);

impl Missing {
    /// What is missing, in a clause; libraries are named together elsewhere.
    fn what(&self) -> Option<String> {
        Some(match self {
            Missing::Library(..) => return None,
            Missing::Display => "there is no screen (DISPLAY is not set)".to_owned(),
            Missing::OtherDisplay => "there is a Wayland screen but none that X programs can use".to_owned(),
            Missing::Server(name) => format!("the screen {name} named by DISPLAY does not answer"),
            Missing::Adapter if cfg!(windows) => {
                "there is no graphics driver (Direct3D 12 or Vulkan)".to_owned()
            }
            Missing::Adapter => "there is no graphics driver (Vulkan)".to_owned(),
        })
    }

    /// Packages that bring it on Debian.
    fn packages(&self) -> Vec<&'static str> {
        match self {
            Missing::Display => vec!["xvfb", "xauth"],
            Missing::OtherDisplay => vec!["xwayland"],
            Missing::Server(_) => Vec::new(),
            Missing::Library(_, package) => vec![*package],
            Missing::Adapter if cfg!(windows) => Vec::new(),
            Missing::Adapter => vec!["libvulkan1", "mesa-vulkan-drivers"],
        }
    }

    /// What can be done about it besides installing something.
    fn way(&self) -> Option<&'static str> {
        match self {
            Missing::Display => {
                Some("start smirch in a desktop session, or without one as `xvfb-run smirch`")
            }
            Missing::Server(_) => Some("start smirch in the session that has the screen, or set DISPLAY"),
            Missing::Adapter if cfg!(windows) => {
                Some("install the driver that the machine's maker offers for its graphics")
            }
            Missing::Adapter => Some("the driver draws without a graphics card too"),
            Missing::OtherDisplay | Missing::Library(..) => None,
        }
    }
}

impl fmt::Display for Unready {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let files: Vec<&str> = self
            .0
            .iter()
            .filter_map(|missing| match missing {
                Missing::Library(file, _) => Some(*file),
                _ => None,
            })
            .collect();
        let libraries = match &files[..] {
            [] => None,
            [one] => Some(format!("the library {one} is missing")),
            [some @ .., last] => Some(format!(
                "the libraries {} and {last} are missing",
                some.join(", ")
            )),
        };
        let what: Vec<String> = libraries
            .into_iter()
            .chain(self.0.iter().filter_map(Missing::what))
            .collect();
        write!(f, "the window cannot open: {}", what.join(", and "))?;
        let mut packages = Vec::new();
        for package in self.0.iter().flat_map(Missing::packages) {
            if !packages.contains(&package) {
                packages.push(package);
            }
        }
        let mut ways: Vec<String> = Vec::new();
        if !packages.is_empty() {
            ways.push(format!("on Debian, `apt install {}`", packages.join(" ")));
        }
        ways.extend(self.0.iter().filter_map(|m| m.way().map(str::to_owned)));
        ways.push(
            "commands such as `smirch drill` and `smirch odds` need none of this, see `smirch --help`"
                .to_owned(),
        );
        write!(f, "\n   hint: {}", ways.join("; "))
    }
}

impl std::error::Error for Unready {}

/// Looks whether the window can open.
///
/// # Errors
/// All that is missing.
pub fn ready() -> Result<(), Unready> {
    let mut missing = screen();
    if !adapter() {
        missing.push(Missing::Adapter);
    }
    if missing.is_empty() {
        Ok(())
    } else {
        Err(Unready(missing))
    }
}

/// True if something can draw, if only in software. The first answer is kept.
pub fn adapter() -> bool {
    static FOUND: OnceLock<(bool, RenderInstance)> = OnceLock::new();
    let (found, _) = FOUND.get_or_init(|| {
        // Kept, so that drivers are not loaded a second time when the engine asks for them.
        let instance = RenderInstance(Arc::new(WgpuWrapper::new(Default::default())));
        let backends = WgpuSettings::default().backends.unwrap_or(Backends::all());
        let found = !block_on(instance.enumerate_adapters(backends)).is_empty();
        (found, instance)
    });
    *found
}

#[cfg(not(target_os = "linux"))]
fn screen() -> Vec<Missing> {
    Vec::new()
}

#[cfg(target_os = "linux")]
fn screen() -> Vec<Missing> {
    /// What is opened by name once a window is wanted, each with its Debian package.
    const LIBRARIES: [(&str, &str); 6] = [
        ("libX11.so.6", "libx11-6"),
        ("libX11-xcb.so.1", "libx11-xcb1"),
        ("libXcursor.so.1", "libxcursor1"),
        ("libXi.so.6", "libxi6"),
        ("libxkbcommon.so.0", "libxkbcommon0"),
        ("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
    ];
    let named = |name: &str| {
        let value = crate::outside::machine::variable(name)?.into_string().ok()?;
        (!value.is_empty()).then_some(value)
    };
    let wayland = named("WAYLAND_DISPLAY")
        .or_else(|| named("WAYLAND_SOCKET"))
        .is_some();
    if wayland && cfg!(feature = "wayland") {
        return Vec::new();
    }
    let mut missing: Vec<Missing> = LIBRARIES
        .into_iter()
        .filter(|(file, _)| !x::opens(file))
        .map(|(file, package)| Missing::Library(file, package))
        .collect();
    match named("DISPLAY") {
        None if wayland => missing.push(Missing::OtherDisplay),
        None => missing.push(Missing::Display),
        Some(name) if x::answers() == Some(false) => missing.push(Missing::Server(name)),
        Some(_) => {}
    }
    missing
}

/// Libraries by name, and the X server, as the window will ask for them.
#[cfg(target_os = "linux")]
mod x {
    use std::ffi::{CStr, CString, c_char, c_int, c_void};

    unsafe extern "C" {
        fn dlopen(file: *const c_char, flags: c_int) -> *mut c_void;
        fn dlsym(library: *mut c_void, name: *const c_char) -> *mut c_void;
    }

    /// All symbols are looked up at once.
    const NOW: c_int = 2;

    fn open(file: &str) -> Option<*mut c_void> {
        let file = CString::new(file).ok()?;
        // SAFETY: the name ends in zero and outlives the call; these libraries do nothing when they are loaded.
        let library = unsafe { dlopen(file.as_ptr(), NOW) };
        (!library.is_null()).then_some(library)
    }

    /// True if a library of this name is found. It stays open: the window will want it.
    pub fn opens(file: &str) -> bool {
        open(file).is_some()
    }

    fn function(library: *mut c_void, name: &CStr) -> Option<*mut c_void> {
        // SAFETY: the library is open, and the name ends in zero.
        let found = unsafe { dlsym(library, name.as_ptr()) };
        (!found.is_null()).then_some(found)
    }

    /// True if the screen named by DISPLAY lets us in; nothing if the library that asks is missing. The connection stays
    /// open: a screen without a session (Xvfb) starts over once its last program has left, and would turn away the window
    /// that comes a moment later.
    pub fn answers() -> Option<bool> {
        let library = open("libX11.so.6")?;
        let open = function(library, c"XOpenDisplay")?;
        // SAFETY: this is the signature that Xlib documents; null stands for the screen that DISPLAY names.
        let display = unsafe {
            let open: unsafe extern "C" fn(*const c_char) -> *mut c_void = std::mem::transmute(open);
            open(std::ptr::null())
        };
        Some(!display.is_null())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_that_is_missing_is_said_in_one_sentence_with_the_packages_that_bring_it() {
        let told = Unready(vec![
            Missing::Library("libX11.so.6", "libx11-6"),
            Missing::Library("libXi.so.6", "libxi6"),
            Missing::Display,
            Missing::Adapter,
        ])
        .to_string();
        let lines: Vec<&str> = told.lines().collect();
        assert_eq!(lines.len(), 2, "one sentence and one hint: {told}");
        for part in [
            "the libraries libX11.so.6 and libXi.so.6 are missing",
            "DISPLAY",
            "graphics driver",
        ] {
            assert!(lines[0].contains(part), "{part} is not named: {told}");
        }
        for part in [
            "apt install libx11-6 libxi6 xvfb xauth libvulkan1 mesa-vulkan-drivers",
            "xvfb-run",
            "smirch --help",
        ] {
            assert!(lines[1].contains(part), "{part} is not in the hint: {told}");
        }
    }
}
