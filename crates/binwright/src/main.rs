//! The `binwright` command: reads the command line, asks the shop, says the answer.

mod act;
mod args;
mod batch;
mod import;
mod password;
mod places;
mod render;
mod say;
mod walk;

use std::process::ExitCode;

use mimalloc::MiMalloc;

use crate::args::Line;
use crate::say::{Form, Say, complain};

/// Parts are read on one thread and let go of on the index's own; the system's allocator keeps much
/// that is let go of so.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    let line = Line::read();
    let form = match (line.json, line.plain) {
        (true, _) => Form::Json,
        (_, true) => Form::Plain,
        _ => Form::Text,
    };
    let mut say = Say::new(form, line.colour);
    let done = act::run(line, &mut say).and_then(|done| {
        say.send()?;
        Ok(done)
    });
    match done {
        Ok(done) => ExitCode::from(done as u8),
        Err(error) => {
            // What was answered before the failure still reaches the reader.
            let _ = say.send();
            complain(form, &error);
            ExitCode::FAILURE
        }
    }
}
