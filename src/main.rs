//! The command line: one call for each command.

mod command_line;

use std::process::ExitCode;

use mimalloc::MiMalloc;

/// An estimate is made of many small pieces; this allocator gives and takes them faster than the system's.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    command_line::run()
}
