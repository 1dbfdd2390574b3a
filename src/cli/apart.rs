//! What a command writes must not be what it reads, nor two of its outputs one file.

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use clap::parser::ValueSource;

use crate::outside::files;

use super::failure::Failure;

/// Arguments that name a file to be written; any other may name one that is read.
const WRITTEN: [&str; 11] = [
    "csv", "html", "ics", "json", "log", "out", "png", "svg", "touches", "watched", "xapi",
];

/// Arguments that name a folder of records: nothing else is written there.
const KEPT: [&str; 3] = ["from", "logs", "register"];

/// Refuses arguments that would write over what another of them names.
///
/// # Errors
/// Which two name the same file.
pub(super) fn keep_apart(matches: &ArgMatches) -> Result<(), Failure> {
    let (mut written, mut read, mut kept) = (Vec::new(), Vec::new(), Vec::new());
    let mut at = Some(matches);
    while let Some(matches) = at {
        for id in matches.ids() {
            if matches.value_source(id.as_str()) != Some(ValueSource::CommandLine) {
                continue;
            }
            let values = matches.try_get_raw(id.as_str()).ok().flatten();
            for value in values.into_iter().flatten().filter(|value| !value.is_empty()) {
                let path = PathBuf::from(value);
                if WRITTEN.contains(&id.as_str()) {
                    written.push((id.as_str().to_owned(), path));
                } else if KEPT.contains(&id.as_str()) {
                    kept.push((id.as_str().to_owned(), path));
                } else if files::is_file(&path) {
                    read.push(path);
                }
            }
        }
        at = matches.subcommand().map(|(_, inner)| inner);
    }
    for (flag, path) in written.iter().filter(|(flag, _)| flag != "log") {
        let inside = |folder: &Path| {
            let (path, folder) = (real(path)?, files::real(folder).ok()?);
            path.starts_with(folder).then_some(())
        };
        if let Some((_, folder)) = kept.iter().find(|(_, folder)| inside(folder).is_some()) {
            return Err(Failure::Usage(format!(
                "--{flag} would write into {}, where records are kept\n   hint: choose a place outside it",
                folder.display()
            )));
        }
    }
    for (n, (flag, path)) in written.iter().enumerate() {
        if let Some(other) = read.iter().find(|other| same(path, other)) {
            return Err(Failure::Usage(format!(
                "--{flag} would write over {}, which this command reads\n   hint: choose another name",
                other.display()
            )));
        }
        if let Some((other, _)) = written[..n].iter().find(|(_, other)| same(path, other)) {
            return Err(Failure::Usage(format!(
                "--{other} and --{flag} both write {}\n   hint: give each a name of its own",
                path.display()
            )));
        }
    }
    Ok(())
}

/// True if two paths lead to one regular file, whatever it is called there; whether it is there yet or not.
fn same(a: &Path, b: &Path) -> bool {
    match (real(a), real(b)) {
        (Some(a), Some(b)) => {
            a == b && (files::is_file(&a) || !files::is_there(&a)) || files::are_one(&a, &b)
        }
        _ => false,
    }
}

/// The true path of a file or, if there is none yet, of where it would be.
fn real(path: &Path) -> Option<PathBuf> {
    if let Ok(real) = files::real(path) {
        return Some(real);
    }
    let folder = match path.parent()? {
        folder if folder.as_os_str().is_empty() => Path::new("."),
        folder => folder,
    };
    Some(files::real(folder).ok()?.join(path.file_name()?))
}
