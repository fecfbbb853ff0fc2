//! The program `commsense`.

use std::process::ExitCode;

fn main() -> ExitCode {
    commsense::cli::start(std::env::args_os())
}
/// Inference makes and drops many short-lived tables; this one hands them out faster than the system's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
