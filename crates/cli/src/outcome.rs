//! How a verb ends, and where it writes.

use std::{
    fmt,
    io::{self, Write as _},
    path::Path,
    process::ExitCode,
};

use railroad::{Folder, FolderError, Loaded};

use crate::args::Which;

/// All is well.
pub const WELL: u8 = 0;
/// The work was done and something is wrong.
pub const WRONG: u8 = 1;
/// The command line was not understood.
pub const MISUNDERSTOOD: u8 = 2;
/// A file could not be read or written.
pub const NO_FILE: u8 = 3;

/// Why a verb could not do its work.
#[derive(Debug)]
pub struct Failure {
    code: u8,
    message: String,
    help: Option<String>,
}

impl Failure {
    /// What is wrong and what to do, for whoever is not at the command line.
    pub fn words(self) -> (String, Option<String>) {
        (self.message, self.help)
    }

    /// The command line asks for what there is not.
    pub fn misunderstood(message: impl Into<String>) -> Self {
        Self {
            code: MISUNDERSTOOD,
            message: message.into(),
            help: None,
        }
    }

    /// A file could not be read or written.
    pub fn file(path: &Path, error: &io::Error) -> Self {
        Self {
            code: NO_FILE,
            message: format!("{}: {error}", path.display()),
            help: None,
        }
    }

    /// A port could not be opened.
    pub fn no_port(message: impl Into<String>) -> Self {
        Self {
            code: NO_FILE,
            message: message.into(),
            help: None,
        }
    }

    /// With a line on what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The code to leave with.
    pub fn exit_code(&self) -> ExitCode {
        ExitCode::from(self.code)
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\u{1b}[1;31merror\u{1b}[0m: {}", self.message)?;
        match &self.help {
            Some(help) => write!(f, "\n  = help: {help}"),
            None => Ok(()),
        }
    }
}

impl From<FolderError> for Failure {
    fn from(error: FolderError) -> Self {
        let missing = error.error.kind() == io::ErrorKind::NotFound;
        let failure = Self {
            code: NO_FILE,
            message: error.to_string(),
            help: None,
        };
        if missing {
            failure.help("`sawby new FOLDER` starts one; `--example` takes the example railroad")
        } else {
            failure
        }
    }
}

/// What every verb returns.
pub type Outcome = Result<ExitCode, Failure>;

/// Reads the railroad that the command line names.
pub fn load(which: &Which) -> Result<Loaded, Failure> {
    let folder = if which.example {
        Folder::built_in("example").unwrap_or_default()
    } else {
        let folder = Folder::from_disk(&which.folder)?;
        if folder.iter().next().is_none() {
            return Err(Failure {
                code: NO_FILE,
                message: format!("{} holds no railroad", which.folder.display()),
                help: Some(
                    "`sawby new FOLDER` starts one; `--example` takes the example railroad".into(),
                ),
            });
        }
        folder
    };
    Ok(railroad::load(&folder))
}

/// Prints to standard output; colours only on a terminal. A reader that went away is no failure.
pub fn say(text: &str) {
    let _ = anstream::stdout().write_all(text.as_bytes());
}
