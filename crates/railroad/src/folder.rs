//! The railroad folder as bytes: from disk, or built into the program.

use std::{collections::BTreeMap, fs, io, path::Path};

use include_dir::{Dir, include_dir};

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../../railroads");

/// Every file of a railroad by its path, `/` between the parts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Folder {
    files: BTreeMap<String, Vec<u8>>,
}

impl Folder {
    /// Reads a folder and the folders in it. Hidden files and what is neither TOML nor CSV are left
    /// alone: owners keep photographs and letters beside their railroad.
    ///
    /// # Errors
    /// What the disk says, with the path it says it of.
    pub fn from_disk(path: &Path) -> Result<Self, FolderError> {
        let mut folder = Self::default();
        folder.add(path, "")?;
        Ok(folder)
    }

    fn add(&mut self, path: &Path, prefix: &str) -> Result<(), FolderError> {
        let at = |error| FolderError {
            path: path.display().to_string(),
            error,
        };
        for entry in fs::read_dir(path).map_err(at)? {
            let entry = entry.map_err(at)?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let inner = entry.path();
            if name.starts_with('.') {
                continue;
            }
            if inner.is_dir() {
                // One level is all the layout knows: a deep tree beside it is not the railroad's.
                if prefix.is_empty() {
                    self.add(&inner, &format!("{name}/"))?;
                }
            } else if is_page(&name) {
                let bytes = fs::read(&inner).map_err(|error| FolderError {
                    path: inner.display().to_string(),
                    error,
                })?;
                self.files.insert(format!("{prefix}{name}"), bytes);
            }
        }
        Ok(())
    }

    /// One of the railroads that come with the program: `example`, `learning` or `smallest`.
    pub fn built_in(name: &str) -> Option<Self> {
        let mut folder = Self::default();
        folder.add_built_in(BUILT_IN.get_dir(name)?, name);
        Some(folder)
    }

    fn add_built_in(&mut self, dir: &Dir<'_>, root: &str) {
        for file in dir.files() {
            let path = file.path().strip_prefix(root).unwrap_or(file.path());
            let path = path.to_string_lossy().replace('\\', "/");
            if is_page(&path) {
                self.insert(path, file.contents().to_vec());
            }
        }
        for inner in dir.dirs() {
            self.add_built_in(inner, root);
        }
    }

    /// The files of a built-in railroad that are not its pages, such as its description.
    pub fn built_in_extra(name: &str) -> Vec<(String, &'static [u8])> {
        let Some(dir) = BUILT_IN.get_dir(name) else {
            return Vec::new();
        };
        dir.files()
            .filter_map(|file| {
                let path = file
                    .path()
                    .strip_prefix(name)
                    .ok()?
                    .to_string_lossy()
                    .into_owned();
                (!is_page(&path)).then(|| (path, file.contents()))
            })
            .collect()
    }

    /// Puts a file in, or another in its place.
    pub fn insert(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        self.files.insert(path.into(), bytes.into());
    }

    /// Takes a file out.
    pub fn remove(&mut self, path: &str) {
        self.files.remove(path);
    }

    /// A file's bytes.
    pub fn get(&self, path: &str) -> Option<&[u8]> {
        self.files.get(path).map(Vec::as_slice)
    }

    /// All files, by path.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files
            .iter()
            .map(|(path, bytes)| (path.as_str(), bytes.as_slice()))
    }
}

fn is_page(name: &str) -> bool {
    let ending = name
        .rsplit_once('.')
        .map(|(_, ending)| ending.to_ascii_lowercase());
    matches!(ending.as_deref(), Some("toml" | "csv"))
}

/// The disk would not let the folder be read or written.
#[derive(Debug)]
pub struct FolderError {
    /// Which file or folder.
    pub path: String,
    /// What the system says.
    pub error: io::Error,
}

impl std::fmt::Display for FolderError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.path, self.error)
    }
}

impl std::error::Error for FolderError {}
