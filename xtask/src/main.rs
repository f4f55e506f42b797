//! Workspace chores: `cargo xtask test` runs everything.
fn main() {}
