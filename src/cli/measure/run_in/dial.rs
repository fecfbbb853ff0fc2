//! How far the time has run, on a terminal; and what is said when the run is interrupted.

use std::io::Write;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::timer::{Clock, Dial};
use crate::cli::guard;

/// Columns of the bar itself.
const BAR: usize = 24;

/// How often a line says how far it is where nothing can be drawn, in s.
const SAID_EVERY: f64 = 30.0;

/// The clock on the wall.
pub struct Wall(Instant);

impl Wall {
    /// From now on.
    pub fn new() -> Self {
        Wall(Instant::now())
    }
}

impl Clock for Wall {
    fn now(&self) -> Duration {
        self.0.elapsed()
    }
    fn wait(&self, time: Duration) {
        std::thread::sleep(time);
    }
}

/// A bar on standard error, or a line now and then where no line can be drawn over again.
pub struct Face {
    seconds: f64,
    drawn: bool,
    bar: Option<ProgressBar>,
    said: f64,
    /// What is said when it is interrupted after so many seconds.
    farewell: Box<dyn Fn(f64) -> String>,
}

impl Face {
    /// For a run of so many seconds.
    pub fn new(seconds: f64, drawn: bool, farewell: impl Fn(f64) -> String + 'static) -> Self {
        Face { seconds, drawn, bar: None, said: 0.0, farewell: Box::new(farewell) }
    }

    fn draw(&mut self, gone: f64, words: String) {
        let bar = self.bar.get_or_insert_with(|| bar(self.seconds));
        bar.set_prefix(format!("{} of {}", minutes(gone), minutes(self.seconds)));
        bar.set_message(words);
        // Thousandths: the bar moves smoothly in short runs too.
        bar.set_position((gone * 1000.0) as u64);
        bar.tick();
    }
}

fn bar(seconds: f64) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(
        Some((seconds * 1000.0).max(1.0) as u64),
        ProgressDrawTarget::stderr_with_hz(10),
    );
    let template = format!("  {{prefix}} [{{bar:{BAR}}}] {{msg}}");
    // The template is fixed; were it wrong, the usual one would do.
    if let Ok(style) = ProgressStyle::with_template(&template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

/// Minutes and seconds: `0:05`.
pub fn minutes(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

impl Dial for Face {
    fn show(&mut self, gone: f64, next: Option<f64>) {
        guard::set_farewell((self.farewell)(gone));
        let words = match next {
            Some(at) => format!("next look at {}", minutes(at)),
            None => "then switch off".to_owned(),
        };
        if self.drawn {
            self.draw(gone, words);
        } else if gone - self.said >= SAID_EVERY {
            self.said = gone;
            let line = format!("{} of {}; {words}\n", minutes(gone), minutes(self.seconds));
            // Whoever cannot read it hears the next question all the same.
            let _ = std::io::stderr().lock().write_all(line.as_bytes());
        }
    }

    fn clear(&mut self) {
        if let Some(bar) = self.bar.take() {
            bar.finish_and_clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_read_like_a_stopwatch() {
        for (seconds, wanted) in
            [(0.0, "0:00"), (5.4, "0:05"), (65.0, "1:05"), (180.0, "3:00"), (-1.0, "0:00")]
        {
            assert_eq!(minutes(seconds), wanted);
        }
    }

    #[test]
    fn the_template_of_the_bar_is_sound() {
        let template = format!("  {{prefix}} [{{bar:{BAR}}}] {{msg}}");
        assert!(ProgressStyle::with_template(&template).is_ok());
    }
}
