//! `sawby new`: a railroad folder to begin with.

use std::{fs, path::PathBuf, process::ExitCode};

use railroad::Folder;

use crate::outcome::{Failure, Outcome, say};

/// What may stand after `new`.
#[derive(Debug, clap::Args)]
pub struct NewArgs {
    /// Where to put it: a folder that does not exist yet or is empty.
    folder: PathBuf,
    /// Begin with a copy of the learning railroad: metric, shelf size, one town.
    #[arg(long, conflicts_with = "example")]
    learning: bool,
    /// Begin with a copy of the whole example railroad.
    #[arg(long)]
    example: bool,
}

pub(super) fn run(args: &NewArgs) -> Outcome {
    let name = match (args.learning, args.example) {
        (true, _) => "learning",
        (_, true) => "example",
        _ => "smallest",
    };
    let path = &args.folder;
    let occupied = fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_some());
    if occupied {
        return Err(
            Failure::misunderstood(format!("{} is not empty", path.display()))
                .help("nothing is ever written over: name another folder"),
        );
    }
    let folder = Folder::built_in(name).unwrap_or_default();
    let pages = folder
        .iter()
        .map(|(path, bytes)| (path.to_owned(), bytes.to_vec()));
    let extra = Folder::built_in_extra(name)
        .into_iter()
        .map(|(path, bytes)| (path, bytes.to_vec()));
    for (name, bytes) in pages.chain(extra) {
        let file = path.join(name);
        let parent = file.parent().unwrap_or(path);
        fs::create_dir_all(parent).map_err(|error| Failure::file(parent, &error))?;
        fs::write(&file, bytes).map_err(|error| Failure::file(&file, &error))?;
    }
    say(&format!(
        "{} holds a railroad now. Change its files with any editor or spreadsheet, then:\n\n    sawby check {0}\n",
        path.display()
    ));
    Ok(ExitCode::SUCCESS)
}
