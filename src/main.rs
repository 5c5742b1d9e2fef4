//! The command line: one call for each command.

mod command_line;

use std::process::ExitCode;

fn main() -> ExitCode {
    command_line::run()
}
