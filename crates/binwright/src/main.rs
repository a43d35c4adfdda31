//! The `binwright` command.
fn main() {}
