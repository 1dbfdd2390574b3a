//! Files written whole or not at all: beside their place under a name of their own, then moved into it. A link keeps
//! leading where it leads, and a record or a content file is never written over.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile, PersistError};

/// How many links to a file are followed.
const LINKS: usize = 40;
/// How much of a file is looked at to tell whether it is a log, bytes.
const HEAD: u64 = 64;

/// Writes a file whole, over what is there if that is no log and no content file. A pipe or a device gets the bytes as
/// they are.
///
/// # Errors
/// The file cannot be written, or holds what must not be lost; nothing has then changed.
pub fn whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // Pipes and devices cannot be moved over, and a link may lead to a pipe that has no path, as `/dev/stdout` does.
    let is_stream = |path: &Path| fs::metadata(path).is_ok_and(|about| !about.is_file() && !about.is_dir());
    if is_stream(path) {
        return fs::write(path, bytes);
    }
    let target = led_to(path)?;
    if target.is_dir() {
        return Err(io::Error::new(
            io::ErrorKind::IsADirectory,
            "this is a folder; a file name is needed",
        ));
    }
    let there = fs::metadata(&target).ok();
    if let Some(what) = precious(&target) {
        let brief = format!("this is {what}, and it would be lost; choose another name");
        return Err(io::Error::new(io::ErrorKind::AlreadyExists, brief));
    }
    let beside = beside(&target, bytes)?;
    if let Some(about) = there {
        fs::set_permissions(beside.path(), about.permissions())?;
    }
    beside.persist(&target).map(|_| ()).map_err(|e| e.error)
}

/// Writes a new file whole.
///
/// # Errors
/// The file cannot be written, or there is one already.
pub fn new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let beside = beside(path, bytes)?;
    beside
        .persist_noclobber(path)
        .map(|_| ())
        .map_err(|PersistError { error, .. }| error)
}

/// Writes a file whole under a name that nobody else can choose, so that whatever is there is the same. Needs no links,
/// which some shares do not have; after this returns the file is on the disk.
///
/// # Errors
/// The file cannot be written; nothing is then under its name.
pub fn apart(path: &Path, bytes: &[u8]) -> io::Result<()> {
    beside(path, bytes)?.persist(path).map_err(|e| e.error)?;
    // Not every system lets folders be opened; where it does, the name is on the disk too.
    if let Some(folder) = path.parent().and_then(|folder| fs::File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// Writes a file whole, over whatever is there: for what the program keeps for itself.
///
/// # Errors
/// The file cannot be written; what was there is there still.
pub fn over(path: &Path, bytes: &[u8]) -> io::Result<()> {
    beside(path, bytes)?
        .persist(path)
        .map(|_| ())
        .map_err(|e| e.error)
}

/// The bytes under a name that nothing else has, in the folder of the file that they are for.
fn beside(target: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        let brief = format!(
            "there is no folder {}; make it first, or name another",
            folder.display()
        );
        return Err(io::Error::new(io::ErrorKind::NotFound, brief));
    }
    let mut builder = Builder::new();
    builder.prefix(".smirch-");
    #[cfg(unix)]
    {
        // As any new file: what the user's mask leaves of this.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// The file that a path leads to through links, whether it is there or not.
fn led_to(path: &Path) -> io::Result<PathBuf> {
    let mut at = path.to_owned();
    for _ in 0..LINKS {
        match fs::read_link(&at) {
            Ok(onward) => {
                at = at
                    .parent()
                    .map_or_else(|| onward.clone(), |folder| folder.join(&onward))
            }
            // No link, or nothing at all.
            Err(_) => return Ok(at),
        }
    }
    Err(io::Error::other("this link leads round in a circle"))
}

/// What a file is, if it is one that nothing else can bring back.
fn precious(path: &Path) -> Option<&'static str> {
    let file = fs::File::open(path).ok()?;
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("ron")) {
        return Some("a content file");
    }
    let mut head = Vec::new();
    file.take(HEAD).read_to_end(&mut head).ok()?;
    let head = String::from_utf8_lossy(&head);
    head.contains("\"smirch-log\"").then_some("the log of an attempt")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().expect("a folder can be made")
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .expect("it can be read")
            .map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_file_is_written_and_nothing_else_is_touched() {
        let folder = folder();
        let path = folder.path().join("out.json");
        fs::write(folder.path().join("out.json.part"), "somebody's").expect("written");
        whole(&path, b"one").expect("a new file");
        whole(&path, b"two").expect("over an old one");
        assert_eq!(fs::read(&path).expect("read"), b"two");
        assert_eq!(
            fs::read(folder.path().join("out.json.part")).expect("read"),
            b"somebody's",
            "a file that happens to end in .part is not ours"
        );
        assert_eq!(
            names(folder.path()),
            ["out.json", "out.json.part"],
            "nothing is left beside it"
        );
    }

    #[test]
    fn many_writers_of_one_file_leave_one_whole_file() {
        let folder = folder();
        let path = folder.path().join("out.csv");
        std::thread::scope(|scope| {
            for n in 0..8_u8 {
                let path = &path;
                scope.spawn(move || whole(path, &vec![b'a' + n; 100_000]).expect("written"));
            }
        });
        let bytes = fs::read(&path).expect("read");
        assert!(
            bytes.len() == 100_000 && bytes.iter().all(|b| *b == bytes[0]),
            "the file is a mixture of several writers"
        );
        assert_eq!(names(folder.path()), ["out.csv"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_kept_and_what_it_leads_to_is_written() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = folder();
        let (real, link, onward) = (
            folder.path().join("real.svg"),
            folder.path().join("link.svg"),
            folder.path().join("onward.svg"),
        );
        fs::write(&real, "old").expect("written");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("set");
        symlink("real.svg", &link).expect("linked");
        symlink(&link, &onward).expect("linked");
        whole(&onward, b"new").expect("written");
        assert_eq!(fs::read(&real).expect("read"), b"new");
        assert!(
            fs::symlink_metadata(&link).expect("there").is_symlink(),
            "the link was replaced"
        );
        let mode = fs::metadata(&real).expect("there").permissions().mode() & 0o777;
        assert_eq!(mode, 0o640, "the file keeps its permissions");
        let nowhere = folder.path().join("nowhere.svg");
        symlink("made.svg", &nowhere).expect("linked");
        whole(&nowhere, b"x").expect("a link to nothing makes what it leads to");
        assert_eq!(fs::read(folder.path().join("made.svg")).expect("read"), b"x");
        symlink("round.svg", folder.path().join("round.svg")).expect("linked");
        let error = whole(&folder.path().join("round.svg"), b"x").expect_err("it leads nowhere");
        assert!(error.to_string().contains("circle"), "{error}");
    }

    #[test]
    fn logs_and_content_files_are_not_written_over() {
        let folder = folder();
        for (name, text, what) in [
            ("mine.ron", "(format: 1)", "content file"),
            ("attempt.jsonl", "{\"smirch-log\":4}\n", "log"),
        ] {
            let path = folder.path().join(name);
            fs::write(&path, text).expect("written");
            let error = whole(&path, b"gone").expect_err("it would be lost");
            assert!(error.to_string().contains(what), "{error}");
            assert_eq!(fs::read_to_string(&path).expect("read"), text);
        }
        let path = folder.path().join("new.txt");
        new(&path, b"1").expect("it is new");
        assert_eq!(
            new(&path, b"2").map_err(|e| e.kind()),
            Err(io::ErrorKind::AlreadyExists)
        );
    }
}
