//! What can be wrong with a recording, and what is worth saying about it.

use std::fmt;

/// Why a recording gives no speed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RippleError {
    /// Nothing in the file.
    #[error("it is empty")]
    Empty,
    /// Not a table of numbers.
    #[error("it holds no rows of numbers; write time and current in two columns, one sample a line")]
    NoNumbers,
    /// A line that is too long or otherwise unreadable.
    #[error("line {line} can't be read: {why}")]
    Unreadable {
        /// Line of the file, from 1.
        line: u64,
        /// What the reader says.
        why: String,
    },
    /// One column only, or none that is time, and no rate.
    #[error("there is no column of time; say the sampling rate, as --rate \"20 kHz\"")]
    NoTime,
    /// None of the columns is the current.
    #[error("no column is the current (there are {columns}); name it with --column, by name or number")]
    NoCurrent {
        /// The columns, by name.
        columns: String,
    },
    /// Several columns may be the current.
    #[error("more than one column may be the current ({columns}); name it with --column, by name or number")]
    SeveralCurrents {
        /// The columns, by name.
        columns: String,
    },
    /// The named column does not exist.
    #[error("there is no column `{name}`; there are {columns}")]
    NoSuchColumn {
        /// What was asked for.
        name: String,
        /// The columns, by name.
        columns: String,
    },
    /// The current is recorded as a voltage.
    #[error(
        "the column `{name}` is in volt; say what current one volt stands for, as --per-volt \"10 A\" (1 V across 0.1 ohm is 10 A)"
    )]
    Volts {
        /// Name of the column.
        name: String,
    },
    /// A column has a unit of another kind.
    #[error("the column `{name}` is in `{unit}`; {wanted}")]
    WrongUnit {
        /// Name of the column.
        name: String,
        /// Its unit.
        unit: String,
        /// What would be right.
        wanted: &'static str,
    },
    /// Time goes back.
    #[error(
        "line {line}: the time goes back; the lines must stand in order of time (sort them, or give one sweep only)"
    )]
    TimeGoesBack {
        /// Line of the file, from 1.
        line: u64,
    },
    /// Two samples at the same time.
    #[error(
        "line {line}: the same time as the line before; write times with more digits, or leave them out and say --rate"
    )]
    TimeStands {
        /// Line of the file, from 1.
        line: u64,
    },
    /// Rate is not usable.
    #[error("a sampling rate of {0} Hz makes no sense; it must be above 0, such as 20 kHz")]
    Rate(f64),
    /// Too few bars.
    #[error("a commutator has 2 bars or more, not {0}")]
    Bars(u32),
    /// Nothing varies.
    #[error(
        "the current never changes: {0} A throughout; the instrument recorded nothing, or its range is far too wide"
    )]
    Constant(f64),
    /// Too short.
    #[error("it is too short: {seconds:.3} s; record at least {wanted:.2} s with the motor running steadily")]
    TooShort {
        /// Length of what is usable.
        seconds: f64,
        /// What would do.
        wanted: f64,
    },
    /// No line stands out.
    #[error(
        "no ripple stands out of the noise; use a smaller range or a shunt with more ohms, no filter, and let the motor run steadily"
    )]
    NoRipple,
    /// The speed changes too much to be followed.
    #[error(
        "the ripple can't be followed through the recording; let the motor settle, then record at a steady voltage"
    )]
    Unsteady,
    /// The rate can't carry the ripple.
    #[error(
        "it is sampled too slowly: at {rpm:.0} rpm the ripple is {ripple:.0} Hz, and the rate is {rate:.0} Hz; record with {needed:.0} Hz or more"
    )]
    Undersampled {
        /// Speed for which this holds, rpm.
        rpm: f64,
        /// Ripple frequency, Hz.
        ripple: f64,
        /// Rate of the recording, Hz.
        rate: f64,
        /// Least rate, Hz.
        needed: f64,
    },
}

/// What had to be done to a file, or should be known about it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// Lines before the table were passed over.
    Preamble(usize),
    /// No header: first column taken as time in s, second as current in A.
    NoHeader,
    /// A column has no unit.
    NoUnit {
        /// Its name.
        name: String,
        /// The unit that was taken.
        taken: &'static str,
    },
    /// There is a column of time, and a rate too; the rate was taken.
    RateWins,
    /// Values that are no numbers.
    Missing(usize),
    /// Short gaps were filled.
    Filled(usize),
    /// Long gaps: only the longest stretch without one was used.
    Stretch {
        /// How many long gaps.
        gaps: usize,
        /// Start of the stretch, s from the start of the recording.
        from: f64,
        /// Its end.
        to: f64,
    },
    /// The steps of time are uneven; values between were interpolated.
    Uneven,
    /// The current is cut off at a limit of the instrument.
    CutOff(f64),
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Note::Preamble(1) => write!(f, "One line before the table was passed over."),
            Note::Preamble(n) => write!(f, "{n} lines before the table were passed over."),
            Note::NoHeader => {
                write!(
                    f,
                    "There is no header: the first column was taken as time in s, the next as current in A."
                )
            }
            Note::NoUnit { name, taken } => write!(f, "The column `{name}` has no unit: {taken} was taken."),
            Note::RateWins => write!(f, "The rate that was given was used instead of the column of time."),
            Note::Missing(1) => write!(f, "One sample is no number."),
            Note::Missing(n) => write!(f, "{n} samples are no numbers."),
            Note::Filled(1) => write!(f, "One short gap was filled by interpolation."),
            Note::Filled(n) => write!(f, "{n} short gaps were filled by interpolation."),
            Note::Stretch { gaps, from, to } => {
                let gaps = if *gaps == 1 { "a gap".to_owned() } else { format!("{gaps} gaps") };
                write!(
                    f,
                    "The recording has {gaps}: only the longest stretch was used, {from:.3} s to {to:.3} s."
                )
            }
            Note::Uneven => write!(f, "The steps of time are uneven: values were interpolated to even ones."),
            Note::CutOff(at) => {
                write!(
                    f,
                    "The current is cut off at {at:.3} A: use a wider range; the shares below may be wrong."
                )
            }
        }
    }
}
