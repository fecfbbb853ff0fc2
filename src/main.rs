//! The program `commsense`.

use std::process::ExitCode;

fn main() -> ExitCode {
    commsense::cli::start(std::env::args_os())
}
