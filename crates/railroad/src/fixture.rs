//! Small faulty railroads, written as a text: the examples of the diagnostics, and what tests use.

use crate::Folder;

/// The smallest clean railroad with files laid over it. Each file is headed `--- path`; a head
/// `--- path -` takes the file away; `--- path windows-1252` encodes it so.
///
/// # Panics
/// If a head names an encoding that is not known: fixtures are part of the program.
pub fn folder(text: &str) -> Folder {
    let mut folder = Folder::built_in("smallest").unwrap_or_default();
    for part in text.trim_start_matches('\n').split("--- ").skip(1) {
        let (head, body) = part.split_once('\n').unwrap_or((part, ""));
        let mut words = head.split_whitespace();
        let path = words.next().unwrap_or_default();
        match words.next() {
            None => folder.insert(path, body.as_bytes()),
            Some("-") => folder.remove(path),
            // The characters that fixtures use stand at the same codes in Latin-1.
            Some("windows-1252") => folder.insert(
                path,
                body.chars()
                    .map(|c| u8::try_from(c as u32).unwrap_or(b'?'))
                    .collect::<Vec<_>>(),
            ),
            Some(other) => panic!("a fixture's file has no encoding `{other}`"),
        }
    }
    folder
}
