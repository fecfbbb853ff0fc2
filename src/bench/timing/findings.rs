//! What can be found, and the words for it.

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Finding {
    /// The shaft turns the way that is wanted.
    RightWay,
    /// It turns the wrong way, and the crossed leads are why.
    WrongWayByLeads,
    /// It turns the wrong way, and the end bell half a turn round is why.
    WrongWayByBell,
    /// It turns the wrong way though leads and end bell are as they belong, or both changed over.
    WrongWayAsMade,
    /// It turns the wrong way; why is not known.
    WrongWay,
    /// The leads are on the terminals as marked.
    LeadsAsMarked,
    /// The leads are crossed.
    LeadsCrossed,
    /// With the leads as marked it would turn the wrong way.
    BackwardsAsMarked,
    /// With the leads as marked it would turn the right way.
    ForwardsAsMarked,
    /// Advance as wanted for use one way.
    AdvanceGood,
    /// Some advance, less than wanted.
    AdvanceLittle,
    /// More advance than wanted, without harm.
    AdvanceMuch,
    /// So much advance that it does harm.
    AdvanceTooFar,
    /// No advance, though it is wanted.
    AdvanceNone,
    /// Advance for the other direction.
    AdvanceBackwards,
    /// At zero, as wanted for use both ways.
    ZeroGood,
    /// Not at zero, though it is wanted.
    ZeroMissed,
    /// Forward is faster, as wanted for use one way.
    FasterWanted,
    /// Forward is faster than a useful advance makes it.
    FasterTooMuch,
    /// The direction that is not wanted is the faster.
    FasterUnwanted,
    /// Both alike, though one is to be favoured.
    AlikeUnwanted,
    /// Both alike, as wanted.
    AlikeWanted,
    /// One is faster, though both are to be alike.
    UnevenUnwanted,
    /// The two speeds are alike within what counts as alike.
    SpeedsClose,
    /// They surely are not.
    SpeedsApart,
    /// The readings are too coarse to tell which is faster.
    SpeedsUnsure,
    /// Mark and speeds agree.
    SpeedsAgree,
    /// The mark says one direction and the speeds the other.
    SpeedsAgainstMark,
    /// The mark stands at zero and one direction is clearly faster.
    ZeroMarkUntrue,
    /// The mark stands off zero and the speeds hardly differ.
    MarkNotFelt,
    /// The speeds differ more than the mark can explain.
    MoreThanMark,
    /// The marks' zero is not where both speeds are alike.
    ZeroOffset,
    /// The marks' zero is where both speeds are alike, as nearly as can be told.
    ZeroTrue,
    /// The positions are too few or too coarse to find the zero.
    CurveUnsure,
    /// More advance makes it slower: sides or directions were mixed up.
    CurveBackwards,
    /// The speeds are alike and the currents are not.
    CurrentsDiffer,
    /// The screws are snug.
    ScrewsSnug,
    /// A screw or the end bell is loose.
    ScrewsLoose,
}

impl Finding {
    /// The word for it, by which its meaning is looked up.
    pub fn word(self) -> &'static str {
        match self {
            Finding::RightWay => "right-way",
            Finding::WrongWayByLeads => "wrong-way-by-leads",
            Finding::WrongWayByBell => "wrong-way-by-bell",
            Finding::WrongWayAsMade => "wrong-way-as-made",
            Finding::WrongWay => "wrong-way-unexplained",
            Finding::LeadsAsMarked => "leads-as-marked",
            Finding::LeadsCrossed => "leads-changed-over",
            Finding::BackwardsAsMarked => "backwards-as-marked",
            Finding::ForwardsAsMarked => "forwards-as-marked",
            Finding::AdvanceGood => "advance-good",
            Finding::AdvanceLittle => "advance-little",
            Finding::AdvanceMuch => "advance-much",
            Finding::AdvanceTooFar => "advance-too-far",
            Finding::AdvanceNone => "advance-none",
            Finding::AdvanceBackwards => "advance-backwards",
            Finding::ZeroGood => "zero-good",
            Finding::ZeroMissed => "zero-missed",
            Finding::FasterWanted => "faster-as-wanted",
            Finding::FasterTooMuch => "faster-too-much",
            Finding::FasterUnwanted => "faster-unwanted",
            Finding::AlikeUnwanted => "alike-unwanted",
            Finding::AlikeWanted => "alike-as-wanted",
            Finding::UnevenUnwanted => "uneven-unwanted",
            Finding::SpeedsClose => "speeds-close",
            Finding::SpeedsApart => "speeds-apart",
            Finding::SpeedsUnsure => "speeds-unsure",
            Finding::SpeedsAgree => "speeds-agree",
            Finding::SpeedsAgainstMark => "speeds-against-mark",
            Finding::ZeroMarkUntrue => "zero-mark-untrue",
            Finding::MarkNotFelt => "mark-not-felt",
            Finding::MoreThanMark => "more-than-mark",
            Finding::ZeroOffset => "zero-offset",
            Finding::ZeroTrue => "zero-true",
            Finding::CurveUnsure => "curve-unsure",
            Finding::CurveBackwards => "curve-backwards",
            Finding::CurrentsDiffer => "currents-differ",
            Finding::ScrewsSnug => "screws-snug",
            Finding::ScrewsLoose => "screws-loose",
        }
    }

    /// Whether it says that readings contradict each other, so that nothing is turned by them.
    pub fn is_contradiction(self) -> bool {
        use Finding::*;
        matches!(self, SpeedsAgainstMark | ZeroMarkUntrue | MarkNotFelt | MoreThanMark | CurveBackwards)
    }
}
