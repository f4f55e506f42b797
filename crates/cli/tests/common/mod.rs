//! The program as its user meets it.

use std::{
    path::Path,
    process::{Command, Output},
};

/// Runs `sawby` in a folder: what it prints, what it complains of, the code it leaves with.
pub fn sawby(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    let Output {
        stdout,
        stderr,
        status,
    } = Command::new(env!("CARGO_BIN_EXE_sawby"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("sawby runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (
        text(stdout),
        text(stderr),
        status.code().expect("it ends by itself"),
    )
}
