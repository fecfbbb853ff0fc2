//! Leaves the terminal as it was found, whatever ends the program: its own end, a panic, Ctrl-C, or a
//! signal from outside.

use std::io::Write;
use std::sync::{Mutex, PoisonError};

use crate::present::text::Page;

/// What to say when the program is interrupted. One for the whole program, as signals are.
static FAREWELL: Mutex<String> = Mutex::new(String::new());

/// Sets what is said when the program is interrupted, such as
/// "answers are saved; go on with: commsense triage CASE".
pub fn set_farewell(text: impl Into<String>) {
    *FAREWELL.lock().unwrap_or_else(PoisonError::into_inner) = text.into();
}

/// What is said when the program is interrupted.
pub fn farewell() -> String {
    FAREWELL.lock().unwrap_or_else(PoisonError::into_inner).clone()
}

/// Watches over the terminal while it lives.
pub struct Guard(());

impl Guard {
    /// Begins to watch: panics, and SIGINT, SIGTERM and SIGHUP where there are signals. `page` is what
    /// the farewell is written for.
    ///
    /// # Errors
    /// When the signals cannot be had.
    pub fn install(page: Page) -> std::io::Result<Self> {
        let earlier = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            restore();
            earlier(info);
        }));
        signals::watch(page)?;
        Ok(Guard(()))
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        restore();
    }
}

/// Leaves raw mode, shows the cursor, and ends the mode in which a paste is marked. Writes nothing when
/// no prompt is active, so that plain terminals and pipes never see an escape sequence.
fn restore() {
    if crossterm::terminal::is_raw_mode_enabled().unwrap_or(false) {
        // The terminal may be gone already; then there is nothing left to put right.
        let _ = crossterm::terminal::disable_raw_mode();
        let _ = crossterm::execute!(
            std::io::stderr(),
            crossterm::event::DisableBracketedPaste,
            crossterm::cursor::Show,
            crossterm::style::Print("\r\n"),
        );
    }
}

#[cfg(unix)]
mod signals {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    use super::{Page, Write, restore};
    use crate::cli::exit::{Failure, INTERRUPTED};

    /// Ends the program in order when a signal says so.
    pub(super) fn watch(page: Page) -> std::io::Result<()> {
        let mut signals = Signals::new([SIGINT, SIGTERM, SIGHUP])?;
        std::thread::Builder::new().name("signals".into()).spawn(move || {
            let Some(signal) = signals.forever().next() else { return };
            restore();
            let said = format!("\n{}", Failure::interrupted().render(&page));
            let _ = std::io::stderr().write_all(said.as_bytes());
            if signal != SIGINT {
                // Whoever sent it is to see that it was obeyed.
                let _ = emulate_default_handler(signal);
            }
            std::process::exit(i32::from(INTERRUPTED));
        })?;
        Ok(())
    }
}

#[cfg(not(unix))]
mod signals {
    /// Without signals, a prompt in raw mode sees Ctrl-C itself.
    pub(super) fn watch(_: super::Page) -> std::io::Result<()> {
        Ok(())
    }
}
