//! Where edits are made: on disk, each at once or not at all, and taken back.

use std::{
    fs, io,
    io::Write as _,
    path::{Path, PathBuf},
    sync::Arc,
};

use super::{Edit, Proposal, Refusal, propose};
use crate::{Folder, FolderError, Loaded, load};

/// A railroad folder open for editing.
#[derive(Debug)]
pub struct Desk {
    /// None for a railroad that is not on disk.
    path: Option<PathBuf>,
    folder: Folder,
    loaded: Arc<Loaded>,
    done: Vec<Change>,
    undone: Vec<Change>,
}

#[derive(Debug, Clone)]
struct Change {
    file: String,
    before: Option<Vec<u8>>,
    after: Option<Vec<u8>>,
}

/// Why the desk did not do what was asked.
#[derive(Debug)]
pub enum DeskError {
    /// The edit is refused.
    Refused(Refusal),
    /// The file has been changed outside since it was read; [`Desk::reload`] reads it again.
    ChangedOutside {
        /// The file.
        file: String,
    },
    /// The disk would not.
    Disk(FolderError),
}

impl std::fmt::Display for DeskError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Refused(refusal) => refusal.fmt(f),
            Self::ChangedOutside { file } => {
                write!(
                    f,
                    "`{file}` has been changed outside; read the folder again first"
                )
            }
            Self::Disk(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for DeskError {}

impl From<Refusal> for DeskError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

impl Desk {
    /// Opens a folder.
    ///
    /// # Errors
    /// What the disk says.
    pub fn open(path: &Path) -> Result<Self, FolderError> {
        let folder = Folder::from_disk(path)?;
        Ok(Self::of(Some(path.to_owned()), folder))
    }

    /// A desk for a railroad that is not on disk: what is done here lasts as long as the desk.
    pub fn in_memory(folder: Folder) -> Self {
        Self::of(None, folder)
    }

    fn of(path: Option<PathBuf>, folder: Folder) -> Self {
        let loaded = Arc::new(load(&folder));
        Self {
            path,
            folder,
            loaded,
            done: Vec::new(),
            undone: Vec::new(),
        }
    }

    /// Where the folder is on disk, if it is.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// The railroad as it is now.
    pub fn loaded(&self) -> &Arc<Loaded> {
        &self.loaded
    }

    /// The file that [`Desk::undo`] would give back, if any.
    pub fn last_done(&self) -> Option<&str> {
        self.done.last().map(|change| change.file.as_str())
    }

    /// The file that [`Desk::redo`] would change again, if any.
    pub fn last_undone(&self) -> Option<&str> {
        self.undone.last().map(|change| change.file.as_str())
    }

    /// The folder as it is now.
    pub fn folder(&self) -> &Folder {
        &self.folder
    }

    /// Reads the folder again. What was done before can no longer be taken back where the files were
    /// changed outside.
    ///
    /// # Errors
    /// What the disk says.
    pub fn reload(&mut self) -> Result<(), FolderError> {
        if let Some(path) = &self.path {
            self.folder = Folder::from_disk(path)?;
            self.loaded = Arc::new(load(&self.folder));
        }
        Ok(())
    }

    /// Works out an edit for review.
    ///
    /// # Errors
    /// [`Refusal`].
    pub fn propose(&self, edit: &Edit) -> Result<Proposal, Refusal> {
        propose(&self.folder, &self.loaded, edit)
    }

    /// Makes a proposed edit: on disk when this returns.
    ///
    /// # Errors
    /// [`DeskError`]; then nothing was changed.
    pub fn make(&mut self, proposal: Proposal) -> Result<(), DeskError> {
        let Proposal {
            file,
            before,
            after,
            loaded,
            ..
        } = proposal;
        self.swap(&file, before.as_deref(), after.as_deref())?;
        self.loaded = Arc::new(loaded);
        self.done.push(Change {
            file,
            before,
            after,
        });
        self.undone.clear();
        Ok(())
    }

    /// Takes the last edit back. `Ok(None)` if there is none, else the file.
    ///
    /// # Errors
    /// [`DeskError`]; then nothing was changed.
    pub fn undo(&mut self) -> Result<Option<String>, DeskError> {
        let Some(change) = self.done.last().cloned() else {
            return Ok(None);
        };
        self.swap(
            &change.file,
            change.after.as_deref(),
            change.before.as_deref(),
        )?;
        self.loaded = Arc::new(load(&self.folder));
        self.done.pop();
        self.undone.push(change.clone());
        Ok(Some(change.file))
    }

    /// Makes the last edit that was taken back again.
    ///
    /// # Errors
    /// [`DeskError`]; then nothing was changed.
    pub fn redo(&mut self) -> Result<Option<String>, DeskError> {
        let Some(change) = self.undone.last().cloned() else {
            return Ok(None);
        };
        self.swap(
            &change.file,
            change.before.as_deref(),
            change.after.as_deref(),
        )?;
        self.loaded = Arc::new(load(&self.folder));
        self.undone.pop();
        self.done.push(change.clone());
        Ok(Some(change.file))
    }

    /// Replaces a file's bytes on disk and here, if they are still what they are thought to be.
    fn swap(
        &mut self,
        file: &str,
        from: Option<&[u8]>,
        to: Option<&[u8]>,
    ) -> Result<(), DeskError> {
        let Some(path) = self.path.as_ref().map(|path| path.join(file)) else {
            if self.folder.get(file) != from {
                return Err(DeskError::ChangedOutside {
                    file: file.to_owned(),
                });
            }
            match to {
                Some(bytes) => self.folder.insert(file, bytes),
                None => self.folder.remove(file),
            }
            return Ok(());
        };
        let disk = |error| {
            DeskError::Disk(FolderError {
                path: path.display().to_string(),
                error,
            })
        };
        let on_disk = match fs::read(&path) {
            Ok(bytes) => Some(bytes),
            Err(error) if error.kind() == io::ErrorKind::NotFound => None,
            Err(error) => return Err(disk(error)),
        };
        if on_disk.as_deref() != from || self.folder.get(file) != from {
            return Err(DeskError::ChangedOutside {
                file: file.to_owned(),
            });
        }
        match to {
            Some(bytes) => {
                write_whole(&path, bytes).map_err(disk)?;
                self.folder.insert(file, bytes);
            }
            None => {
                fs::remove_file(&path).map_err(disk)?;
                self.folder.remove(file);
            }
        }
        Ok(())
    }
}

/// Writes beside the file and renames: whoever reads sees the old file or the new one, also after a
/// power cut.
fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let parent = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(parent)?;
    let mut new = tempfile::NamedTempFile::new_in(parent)?;
    new.write_all(bytes)?;
    // The new file takes the permissions of the one it replaces.
    match fs::metadata(path) {
        Ok(old) => new.as_file().set_permissions(old.permissions())?,
        #[cfg(unix)]
        Err(_) => {
            use std::os::unix::fs::PermissionsExt as _;
            new.as_file()
                .set_permissions(fs::Permissions::from_mode(0o644))?;
        }
        #[cfg(not(unix))]
        Err(_) => {}
    }
    new.as_file().sync_all()?;
    new.persist(path).map_err(|error| error.error)?;
    #[cfg(unix)]
    fs::File::open(parent)?.sync_all()?;
    Ok(())
}
