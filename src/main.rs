//! The program `commsense`.

use std::process::ExitCode;

fn main() -> ExitCode {
    commsense::cli::start(std::env::args_os())
}
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
