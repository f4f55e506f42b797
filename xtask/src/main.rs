//! Workspace chores.
//!
//! - `cargo xtask test`: everything a change must pass, installing what it needs.
//! - `cargo xtask docs`: writes the generated pages of `docs/`.

use std::{
    env, fs,
    path::{Path, PathBuf},
    process::{Command, ExitCode},
};

fn main() -> ExitCode {
    let args: Vec<String> = env::args().skip(1).collect();
    let done = match args
        .iter()
        .map(String::as_str)
        .collect::<Vec<_>>()
        .as_slice()
    {
        ["test"] => test(),
        ["docs"] => docs(),
        _ => Err("usage: cargo xtask test | docs".into()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            say(&message);
            ExitCode::FAILURE
        }
    }
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Generated pages and what they should hold.
fn generated() -> [(PathBuf, String); 2] {
    let docs = root().join("docs");
    [
        (
            docs.join("railroad-folder.md"),
            railroad::handbook::railroad_folder(),
        ),
        (
            docs.join("diagnostics.md"),
            railroad::handbook::diagnostics(),
        ),
    ]
}

fn docs() -> Result<(), String> {
    for (path, text) in generated() {
        fs::write(&path, text).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    Ok(())
}

fn test() -> Result<(), String> {
    for (path, text) in generated() {
        if fs::read_to_string(&path).ok().as_deref() != Some(text.as_str()) {
            return Err(format!(
                "{} does not say what the code says: run `cargo xtask docs` and commit",
                path.display()
            ));
        }
    }
    // The shared folder of instances and check values stands beside a developer's checkout; its
    // tests say so and pass where there is none.
    let shared = root().join("../shared");
    browser();
    let mut test = cargo(&["test", "--workspace", "--locked"]);
    if env::var_os("SAWBY_SHARED").is_none()
        && let Ok(shared) = shared.canonicalize()
    {
        test.env("SAWBY_SHARED", shared);
    }
    run(&mut test)
}

/// The office is tested in a real browser: gets Debian's where there is none. Where it cannot be had
/// those tests say so and pass.
fn browser() {
    let has = |program: &str| {
        env::var_os("PATH")
            .is_some_and(|paths| env::split_paths(&paths).any(|path| path.join(program).is_file()))
    };
    if has("chromedriver") && has("chromium") {
        return;
    }
    say("chromium and chromium-driver are not here; asking apt-get for them");
    let as_root = |args: &[&str]| {
        let mut command = if has("sudo") {
            let mut command = Command::new("sudo");
            command.args(["-n", "apt-get"]);
            command
        } else {
            Command::new("apt-get")
        };
        command
            .args(args)
            .env("DEBIAN_FRONTEND", "noninteractive")
            .stdout(std::process::Stdio::null());
        run(&mut command)
    };
    let got = as_root(&["update", "-q"]).and_then(|()| {
        as_root(&[
            "install",
            "-y",
            "-q",
            "--no-install-recommends",
            "chromium",
            "chromium-driver",
        ])
    });
    if let Err(message) = got {
        say(&format!(
            "no browser could be installed, so the office's browser tests will be skipped: {message}"
        ));
    }
}

fn cargo(args: &[&str]) -> Command {
    let mut command = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.args(args).current_dir(root());
    command
}

fn run(command: &mut Command) -> Result<(), String> {
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{command:?}: {status}")),
        Err(error) => Err(format!("{command:?}: {error}")),
    }
}

#[allow(clippy::print_stderr, reason = "the one place where a chore speaks")]
fn say(message: &str) {
    eprintln!("{message}");
}
