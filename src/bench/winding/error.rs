//! Why readings of a winding can't be used, in words that say what would be right.

/// Why readings can't be used. Resistances inside are in ohm, temperatures in degC, voltages in volt,
/// currents in ampere; pairs are counted from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WindingError {
    /// Fewer readings than a ring of coils can have.
    #[error("{0} readings from bar to bar make no ring: give one for each bar, 3 or more")]
    TooFewPairs(usize),
    /// More readings than any commutator of this kind has bars.
    #[error("{0} readings from bar to bar are too many: a commutator of up to {most} bars can be worked out",
        most = super::ring::MOST_COILS)]
    TooManyPairs(usize),
    /// No readings at all.
    #[error("there is no reading: give at least one")]
    NoReading,
    /// A number that no such quantity can have.
    #[error("{what} can't be {value}: it must be a number, {must}")]
    NotPossible {
        /// What it was given for.
        what: &'static str,
        /// The number.
        value: f64,
        /// What would be right.
        must: &'static str,
    },
    /// The leads have more resistance than the whole reading.
    #[error(
        "reading {pair} is {reading}, less than the {lead} of the leads alone: touch the probes together, \
         read them again, and give that as the lead resistance",
        reading = ohms(*reading), lead = ohms(*lead))]
    LeadTooLarge {
        /// Which reading.
        pair: usize,
        /// What was read, leads included.
        reading: f64,
        /// The resistance of the leads.
        lead: f64,
    },
    /// One open reading alone.
    #[error(
        "pair {pair} alone shows no reading, and no armature can do that: past a single open coil the meter \
         still reads the other coils in series. Press the probes harder on clean copper and read pair {pair} again"
    )]
    OneOpenReading {
        /// Which pair.
        pair: usize,
    },
    /// No pair conducts.
    #[error(
        "no pair shows a reading: clean the bars to bright copper, try the probes on each other, and read again"
    )]
    NothingConducts,
    /// One reading greater than all the others together allow.
    #[error(
        "pair {pair} reads {reading}, more than all the other pairs together ({others}): no ring of coils can \
         do that. Read pair {pair} again with the probes pressed on clean copper; check that every pair was \
         read once, in order",
        reading = ohms(*reading), others = ohms(*others))]
    TooHighForRing {
        /// Which pair.
        pair: usize,
        /// Its resistance, leads taken off.
        reading: f64,
        /// The sum of all the others.
        others: f64,
    },
    /// Everything reads nothing.
    #[error(
        "no reading is above zero: either the slots are bridged all round, or the meter can't resolve this \
         winding. Clear the slots and measure the volt drop at a known current instead"
    )]
    AllZero,
    /// A temperature at which no winding was measured.
    #[error("{0} degC is no temperature of a copper winding that can be measured: write -60 to 400 degC")]
    NoSuchTemperature(f64),
    /// The winding would have cooled through being run.
    #[error(
        "the hot reading ({hot}) is lower than the cold one ({cold}), although copper rises when hot: check \
         whether the two are crossed",
        hot = ohms(*hot), cold = ohms(*cold))]
    HotBelowCold {
        /// Resistance cold.
        cold: f64,
        /// Resistance hot.
        hot: f64,
    },
}

/// A resistance for a message.
fn ohms(value: f64) -> String {
    crate::bench::write(crate::bench::Kind::Resistance, value)
}
