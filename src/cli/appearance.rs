//! What the terminal can show, decided once from flags, environment and terminals, and then told to
//! every library that would otherwise decide for itself.

use std::io::IsTerminal;

use clap::ValueEnum;
use inquire::ui::{Attributes, Color, ErrorMessageRenderConfig, RenderConfig, StyleSheet, Styled as Mark};

use crate::present::text::Page;

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum ColourChoice {
    /// On a terminal that can show it.
    #[default]
    Auto,
    /// Also into files and pipes.
    Always,
    /// Not at all.
    Never,
}

/// Everything that the decision rests on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Facts {
    /// The flag `--color`.
    pub colour: ColourChoice,
    /// The flag `--line`, or a console known to freeze under a full-screen prompt.
    pub line: bool,
    /// The environment variable NO_COLOR, and so on.
    pub no_color: Option<String>,
    /// CLICOLOR_FORCE.
    pub clicolor_force: Option<String>,
    /// TERM.
    pub term: Option<String>,
    /// ACCESSIBLE: a screen reader wants words, one after the other.
    pub accessible: Option<String>,
    /// COLUMNS.
    pub columns: Option<String>,
    /// The first of LC_ALL, LC_CTYPE and LANG that is set.
    pub locale: Option<String>,
    /// Whether standard input is a terminal.
    pub stdin_tty: bool,
    /// Whether standard output is a terminal.
    pub stdout_tty: bool,
    /// Whether standard error is a terminal.
    pub stderr_tty: bool,
    /// Columns of the terminal, if there is one.
    pub tty_width: Option<u16>,
}

impl Facts {
    /// Looks at the environment and the three standard streams.
    pub fn gather(colour: ColourChoice, line: bool) -> Self {
        let var = |name: &str| std::env::var_os(name).map(|v| v.to_string_lossy().into_owned());
        let full = |name: &str| var(name).filter(|v| !v.is_empty());
        let stdout_tty = std::io::stdout().is_terminal();
        let stderr_tty = std::io::stderr().is_terminal();
        Facts {
            colour,
            // The POSIX shells of Windows call their pipes terminals, but cannot be drawn on.
            line: line || (cfg!(windows) && full("MSYSTEM").is_some()),
            no_color: var("NO_COLOR"),
            clicolor_force: var("CLICOLOR_FORCE"),
            // The consoles of Windows set no TERM and know the usual sequences.
            term: var("TERM").or_else(|| cfg!(windows).then(|| "windows".into())),
            accessible: var("ACCESSIBLE"),
            columns: var("COLUMNS"),
            locale: full("LC_ALL").or_else(|| full("LC_CTYPE")).or_else(|| full("LANG")),
            stdin_tty: std::io::stdin().is_terminal(),
            stdout_tty,
            stderr_tty,
            tty_width: (stdout_tty || stderr_tty)
                .then(|| crossterm::terminal::size().ok().map(|(columns, _)| columns))
                .flatten(),
        }
    }
}

/// What was decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Appearance {
    /// Colour on standard output, where results go.
    pub color_stdout: bool,
    /// Colour on standard error, where the talk goes.
    pub color_stderr: bool,
    /// Whether a person can be asked.
    pub interactive: bool,
    /// Whether to ask by numbered lines instead of lists on the screen.
    pub line_mode: bool,
    /// Whether signs beyond ASCII can be shown.
    pub unicode: bool,
    /// Whether bars and rules help; they do not when the text is read aloud.
    pub drawn: bool,
    /// Columns.
    pub width: usize,
}

/// Columns when nobody tells.
const USUAL_WIDTH: usize = 80;
/// Longer lines are hard to follow with the eye.
const WIDEST_TEXT: usize = 100;
/// Narrower terminals get lines that the terminal itself breaks.
const NARROWEST: usize = 20;

impl Appearance {
    /// The decision. For colour, per stream: the flag, then NO_COLOR, then CLICOLOR_FORCE, then
    /// TERM, then whether the stream is a terminal. An empty NO_COLOR counts as not set.
    pub fn decide(facts: &Facts) -> Self {
        let set = |v: &Option<String>| v.as_deref().is_some_and(|v| !v.is_empty());
        let on = |v: &Option<String>| v.as_deref().is_some_and(|v| !v.is_empty() && v != "0");
        let dumb = matches!(facts.term.as_deref(), None | Some("" | "dumb"));
        let accessible = on(&facts.accessible);
        let colour = |tty: bool| match facts.colour {
            ColourChoice::Always => true,
            ColourChoice::Never => false,
            ColourChoice::Auto if set(&facts.no_color) => false,
            ColourChoice::Auto if on(&facts.clicolor_force) => true,
            ColourChoice::Auto => tty && !dumb && !accessible,
        };
        let locale_knows = facts.locale.as_deref().is_none_or(|l| l.to_ascii_lowercase().contains("utf"));
        let told = facts.columns.as_deref().and_then(|c| c.trim().parse::<usize>().ok()).filter(|&c| c > 0);
        let seen = facts.tty_width.map(usize::from).filter(|&c| c > 0);
        Appearance {
            color_stdout: colour(facts.stdout_tty),
            color_stderr: colour(facts.stderr_tty),
            interactive: facts.line || (facts.stdin_tty && facts.stderr_tty),
            line_mode: facts.line || dumb || accessible,
            unicode: !dumb_terminal(facts, dumb) && !accessible && locale_knows,
            drawn: !accessible,
            width: told.or(seen).unwrap_or(USUAL_WIDTH).max(NARROWEST),
        }
    }

    /// The page for results, on standard output.
    pub fn result_page(&self) -> Page {
        self.page(self.color_stdout)
    }

    /// The page for the talk, on standard error.
    pub fn talk_page(&self) -> Page {
        self.page(self.color_stderr)
    }

    fn page(&self, colour: bool) -> Page {
        Page { width: self.width.min(WIDEST_TEXT), unicode: self.unicode, colour, drawn: self.drawn }
    }

    /// Tells the libraries.
    pub fn apply(&self) {
        colored::control::set_override(self.color_stdout || self.color_stderr);
        inquire::set_global_render_config(self.marks());
    }

    /// How clap is to colour what it prints on this stream.
    pub fn clap_colour(colour: bool) -> clap::ColorChoice {
        if colour { clap::ColorChoice::Always } else { clap::ColorChoice::Never }
    }

    /// The signs of the prompts on the screen.
    pub fn marks(&self) -> RenderConfig<'static> {
        let sign = |unicode: &'static str, ascii: &'static str| if self.unicode { unicode } else { ascii };
        let mut marks = RenderConfig::empty();
        marks.prompt_prefix = Mark::new(sign("▪", "-"));
        marks.answered_prompt_prefix = marks.prompt_prefix;
        marks.highlighted_option_prefix = Mark::new(sign("▌", ">"));
        marks.unhighlighted_option_prefix = Mark::new(" ");
        marks.scroll_up_prefix = Mark::new(sign("↑", "^"));
        marks.scroll_down_prefix = Mark::new(sign("↓", "v"));
        marks.canceled_prompt_indicator = Mark::new("");
        marks.error_message = ErrorMessageRenderConfig::empty().with_prefix(Mark::new("!"));
        if self.color_stderr {
            let strong = StyleSheet::empty().with_attr(Attributes::BOLD);
            marks.highlighted_option_prefix.style = strong.with_fg(Color::DarkCyan);
            marks.selected_option = Some(strong);
            marks.answer = strong;
            marks.error_message.prefix.style = strong.with_fg(Color::DarkRed);
        }
        marks
    }
}

/// A terminal without abilities; a file or pipe has no terminal whose abilities could lack.
fn dumb_terminal(facts: &Facts, dumb: bool) -> bool {
    dumb && (facts.stdout_tty || facts.stderr_tty)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On a good terminal, wholly.
    fn terminal() -> Facts {
        Facts {
            term: Some("xterm-256color".into()),
            stdin_tty: true,
            stdout_tty: true,
            stderr_tty: true,
            tty_width: Some(120),
            ..Facts::default()
        }
    }

    fn with(change: impl FnOnce(&mut Facts)) -> Appearance {
        let mut facts = terminal();
        change(&mut facts);
        Appearance::decide(&facts)
    }

    #[test]
    fn colour_by_rank_and_by_stream() {
        use ColourChoice::*;
        let some = |v: &str| Some(v.to_string());
        // flag, NO_COLOR, CLICOLOR_FORCE, TERM, stdout, stderr -> colour on stdout, on stderr
        let table = [
            (Auto, None, None, some("xterm"), true, true, true, true),
            (Auto, None, None, some("xterm"), false, true, false, true),
            (Auto, None, None, some("xterm"), true, false, true, false),
            (Auto, None, None, some("dumb"), true, true, false, false),
            (Auto, None, None, some(""), true, true, false, false),
            (Auto, None, None, None, true, true, false, false),
            (Auto, some(""), None, some("xterm"), true, true, true, true),
            (Auto, some("1"), None, some("xterm"), true, true, false, false),
            (Auto, some("0"), None, some("xterm"), true, true, false, false),
            (Auto, None, some("1"), some("dumb"), false, false, true, true),
            (Auto, None, some("0"), some("xterm"), false, true, false, true),
            (Auto, some("1"), some("1"), some("xterm"), true, true, false, false),
            (Always, some("1"), None, some("dumb"), false, false, true, true),
            (Never, None, some("1"), some("xterm"), true, true, false, false),
        ];
        for (flag, no_color, force, term, out, err, want_out, want_err) in table {
            let case = format!("{flag:?} {no_color:?} {force:?} {term:?} {out} {err}");
            let seen = with(|f| {
                (f.colour, f.no_color, f.clicolor_force, f.term) = (flag, no_color, force, term);
                (f.stdout_tty, f.stderr_tty) = (out, err);
            });
            assert_eq!((seen.color_stdout, seen.color_stderr), (want_out, want_err), "{case}");
        }
    }

    #[test]
    fn whom_to_ask_and_how() {
        // line flag, TERM, ACCESSIBLE, stdin, stderr -> interactive, by lines
        let table = [
            (false, "xterm", "", true, true, true, false),
            (false, "dumb", "", true, true, true, true),
            (false, "", "", true, true, true, true),
            (false, "xterm", "1", true, true, true, true),
            (false, "xterm", "0", true, true, true, false),
            (false, "xterm", "", false, true, false, false),
            (false, "xterm", "", true, false, false, false),
            (true, "xterm", "", true, true, true, true),
            (true, "xterm", "", false, false, true, true),
        ];
        for (line, term, accessible, stdin, stderr, interactive, line_mode) in table {
            let seen = with(|f| {
                (f.line, f.term, f.accessible) = (line, Some(term.into()), Some(accessible.into()));
                (f.stdin_tty, f.stderr_tty) = (stdin, stderr);
            });
            let case = format!("{line} {term:?} {accessible:?} {stdin} {stderr}");
            assert_eq!((seen.interactive, seen.line_mode), (interactive, line_mode), "{case}");
        }
        // Results captured while a person is there: still asked, on the other stream.
        assert!(with(|f| f.stdout_tty = false).interactive);
    }

    #[test]
    fn width_is_told_or_seen_or_usual() {
        assert_eq!(with(|_| ()).width, 120);
        assert_eq!(with(|f| f.columns = Some("40".into())).width, 40);
        assert_eq!(with(|f| f.columns = Some("wide".into())).width, 120);
        assert_eq!(with(|f| f.columns = Some("0".into())).width, 120);
        assert_eq!(with(|f| f.tty_width = None).width, 80);
        assert_eq!(with(|f| f.tty_width = Some(0)).width, 80);
        assert_eq!(with(|f| f.columns = Some("3".into())).width, 20);
        assert_eq!(with(|f| f.columns = Some("200".into())).talk_page().width, 100);
    }

    #[test]
    fn signs_where_they_can_be_shown() {
        assert!(with(|_| ()).unicode);
        assert!(with(|f| f.locale = Some("de_DE.UTF-8".into())).unicode);
        assert!(!with(|f| f.locale = Some("POSIX".into())).unicode);
        assert!(!with(|f| f.term = Some("dumb".into())).unicode);
        let read_aloud = with(|f| f.accessible = Some("1".into()));
        assert!(!read_aloud.unicode && !read_aloud.drawn && !read_aloud.color_stderr);
        let piped = with(|f| (f.term, f.stdout_tty, f.stderr_tty) = (None, false, false));
        assert!(piped.unicode);
    }

    #[test]
    fn prompts_without_colour_carry_no_style() {
        let plain = with(|f| f.colour = ColourChoice::Never).marks();
        assert_eq!(plain.selected_option, None);
        assert!(plain.highlighted_option_prefix.style.is_empty());
        assert!(plain.help_message.is_empty() && plain.answer.is_empty());
        assert!(!with(|_| ()).marks().answer.is_empty());
    }
}
