//! The rule: from what is known of direction, leads, end bell and speeds to what is wrong and what is
//! to be done, in order.

use super::speeds::foretold;
use super::{Curve, Finding, Leads, Limits, Seat, SpeedRatio, TimingError, Use};

/// Angles closer than this are the same, degrees.
const SAME: f64 = 1e-6;

/// What is known. Everything but the use may be unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// What the motor is used for; without it the timing is not judged.
    pub used: Option<Use>,
    /// Whether the shaft turns the way that is wanted.
    pub right_way: Option<bool>,
    /// How the leads are on the terminals.
    pub leads: Option<Leads>,
    /// How the end bell sits.
    pub seat: Option<Seat>,
    /// Whether an end bell screw, or the end bell itself, moves.
    pub loose: Option<bool>,
    /// Advance for the wanted rotation by the marks, degrees; see [`super::standing`].
    pub mark: Option<f64>,
    /// No-load speeds; forward is the way the shaft turns now.
    pub speeds: Option<SpeedRatio>,
    /// The motor's own curve; forward is the way the shaft turns now.
    pub curve: Option<Curve>,
    /// No-load current forward over reverse.
    pub currents: Option<f64>,
}

/// Something to be done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Act {
    /// The two leads change places.
    CrossLeads,
    /// The end bell comes out and goes back half a turn round.
    TurnBellHalf,
    /// The end bell is turned on its seat; screws loosened by half a turn first.
    TurnBell {
        /// By so many degrees, above 0.
        degrees: f64,
        /// Against the wanted rotation, or with it.
        against: bool,
        /// The advance that the marks show then.
        to: f64,
    },
    /// The end bell is turned little by little until the speeds are as wanted; how far is not known.
    TurnBellBySpeeds {
        /// Against the rotation, or with it.
        against: bool,
    },
    /// The screws are made snug.
    Tighten,
}

/// What was found and what is to be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// What was found, direction first.
    pub findings: Vec<Finding>,
    /// What is to be done, in this order; empty when all is well or nothing can be said.
    pub acts: Vec<Act>,
    /// Advance by the marks afterwards, degrees; None when it is not known.
    pub mark_after: Option<f64>,
    /// Ratio of the no-load speeds afterwards, the wanted direction over the other: least and most. None
    /// when it can't be foretold.
    pub ratio_after: Option<(f64, f64)>,
}

/// Judges direction and timing.
///
/// # Errors
///
/// [`TimingError::Step`] for an impossible step of the marks, [`TimingError::Mark`] for a mark that is not
/// finite, [`TimingError::Current`] for an impossible ratio of currents.
pub fn judge(known: &Known, limits: &Limits) -> Result<Judgement, TimingError> {
    if !(limits.step.is_finite() && limits.step > 0.0 && limits.step <= 45.0) {
        return Err(TimingError::Step(limits.step));
    }
    if let Some(mark) = known.mark.filter(|m| !m.is_finite()) {
        return Err(TimingError::Mark(mark));
    }
    if let Some(ratio) = known.currents.filter(|r| !(r.is_finite() && *r > 0.0)) {
        return Err(TimingError::Current(ratio));
    }
    let mut findings = Vec::new();
    let mut acts = Vec::new();
    direction(known, &mut findings, &mut acts);

    if let Some(speeds) = known.speeds {
        findings.extend(closeness(speeds, (1.0 + limits.alike).ln()));
    }
    // Speeds belong to the way it turns now; where that is the wrong way, they speak of the other one.
    let sign = if known.right_way == Some(false) { -1.0 } else { 1.0 };
    let zero = zero_of(known, limits, sign, &mut findings);
    let timing = Timing { known, limits, sign, zero };
    let turn = timing.judge(&mut findings);
    let contradicted = findings.iter().any(|f| f.is_contradiction());
    let turn = turn.filter(|_| !contradicted);
    acts.extend(turn);

    match known.loose {
        Some(true) => findings.push(Finding::ScrewsLoose),
        Some(false) => findings.push(Finding::ScrewsSnug),
        None => {}
    }
    let opened = turn.is_some() || acts.contains(&Act::TurnBellHalf);
    if opened || known.loose == Some(true) {
        acts.push(Act::Tighten);
    }
    let mark_after = match turn {
        Some(Act::TurnBell { to, .. }) => Some(to),
        Some(_) => None,
        None => known.mark.filter(|_| !contradicted),
    };
    let ratio_after = if contradicted { None } else { timing.ratio_after(turn, mark_after) };
    Ok(Judgement { findings, acts, mark_after, ratio_after })
}

/// Which way it turns, and what turns it round.
fn direction(known: &Known, findings: &mut Vec<Finding>, acts: &mut Vec<Act>) {
    let (leads, seat) = (known.leads, known.seat);
    match known.right_way {
        Some(true) => findings.push(Finding::RightWay),
        Some(false) => {
            let finding = match (leads, seat) {
                (Some(Leads::Right), Some(Seat::InPlace)) | (Some(Leads::Crossed), Some(Seat::HalfTurn)) => {
                    Finding::WrongWayAsMade
                }
                (Some(Leads::Crossed), _) => Finding::WrongWayByLeads,
                (_, Some(Seat::HalfTurn)) => Finding::WrongWayByBell,
                _ => Finding::WrongWay,
            };
            findings.push(finding);
            // Crossing the leads opens nothing, so it is preferred, but not where it would only hide that the
            // end bell is half a turn round.
            let act = if finding == Finding::WrongWayByBell { Act::TurnBellHalf } else { Act::CrossLeads };
            acts.push(act);
        }
        None => {}
    }
    match leads {
        Some(Leads::Right) => findings.push(Finding::LeadsAsMarked),
        Some(Leads::Crossed) => findings.push(Finding::LeadsCrossed),
        None => {}
    }
    if let (Some(right_way), Some(leads)) = (known.right_way, leads) {
        let as_marked = right_way == (leads == Leads::Right);
        findings.push(if as_marked { Finding::ForwardsAsMarked } else { Finding::BackwardsAsMarked });
    }
}

/// Whether two speeds count as alike, where the readings can tell.
fn closeness(speeds: SpeedRatio, alike: f64) -> Option<Finding> {
    let log = speeds.log;
    if log.low > alike || log.high < -alike {
        Some(Finding::SpeedsApart)
    } else if log.value.abs() <= alike
        && (speeds.faster().is_none() || log.low >= -alike && log.high <= alike)
    {
        Some(Finding::SpeedsClose)
    } else {
        None
    }
}

/// Where the true zero lies by the marks, for the wanted rotation, by the motor's own curve: 0 unless the
/// curve surely says otherwise.
fn zero_of(known: &Known, limits: &Limits, sign: f64, findings: &mut Vec<Finding>) -> f64 {
    let Some(curve) = &known.curve else { return 0.0 };
    if curve.impossible() {
        findings.push(Finding::CurveBackwards);
        return 0.0;
    }
    let zero = curve.zero;
    let bounded = zero.low.is_finite() && zero.high.is_finite();
    if !(curve.sure() && bounded && curve.near()) || zero.value.abs() > limits.lift {
        findings.push(Finding::CurveUnsure);
        return 0.0;
    }
    if zero.low > 0.0 && zero.value > limits.reading || zero.high < 0.0 && zero.value < -limits.reading {
        findings.push(Finding::ZeroOffset);
        return sign * zero.value;
    }
    findings.push(Finding::ZeroTrue);
    0.0
}

struct Timing<'a> {
    known: &'a Known,
    limits: &'a Limits,
    /// 1 when it turns as wanted, or that is not known; -1 when it turns the other way.
    sign: f64,
    /// What the marks show at the true zero, as an advance for the wanted rotation.
    zero: f64,
}

impl Timing<'_> {
    /// Finds what is wrong with the timing, and the one turn of the end bell that cures it.
    fn judge(&self, findings: &mut Vec<Finding>) -> Option<Act> {
        let used = self.known.used?;
        match self.known.mark {
            Some(mark) => {
                let untrue = self.against_speeds(mark);
                findings.extend(untrue);
                if untrue.is_some_and(Finding::is_contradiction) {
                    return None;
                }
                findings.push(self.by_mark(used, mark - self.zero));
                self.currents(findings);
                self.turn(used, mark)
            }
            None => {
                let speeds = self.known.speeds?;
                let (finding, act) = self.by_speeds(used, speeds);
                findings.push(finding);
                self.currents(findings);
                act
            }
        }
    }

    /// The finding for an advance (degrees, wanted rotation, from the true zero).
    fn by_mark(&self, used: Use, advance: f64) -> Finding {
        let l = self.limits;
        match used {
            Use::BothWays if self.at_zero(advance) => Finding::ZeroGood,
            Use::BothWays => Finding::ZeroMissed,
            Use::OneWay if self.at_zero(advance) => Finding::AdvanceNone,
            Use::OneWay if advance < 0.0 => Finding::AdvanceBackwards,
            Use::OneWay if advance < l.least - SAME => Finding::AdvanceLittle,
            Use::OneWay if advance <= l.most + SAME => Finding::AdvanceGood,
            Use::OneWay if advance <= l.too_far + SAME => Finding::AdvanceMuch,
            Use::OneWay => Finding::AdvanceTooFar,
        }
    }

    fn at_zero(&self, advance: f64) -> bool {
        advance.abs() <= self.limits.reading + SAME
    }

    /// The turn from a mark to one that is wanted: the nearest whole mark, else the nearest half mark,
    /// else the nearest angle; none when it stands well.
    fn turn(&self, used: Use, mark: f64) -> Option<Act> {
        let l = self.limits;
        let advance = mark - self.zero;
        let fits = |mark: f64| {
            let advance = mark - self.zero;
            match used {
                Use::OneWay => (l.least - SAME..=l.most + SAME).contains(&advance),
                Use::BothWays => self.at_zero(advance),
            }
        };
        if fits(mark) {
            return None;
        }
        let nearest = |step: f64| {
            let most = (l.lift / step).floor() as i32;
            (-most..=most)
                .map(|i| f64::from(i) * step)
                .filter(|m| fits(*m))
                .min_by(|a, b| (a - mark).abs().total_cmp(&(b - mark).abs()))
        };
        let plain = match used {
            Use::OneWay => self.zero + advance.clamp(l.least, l.most),
            Use::BothWays => self.zero,
        };
        // A zero that was found by the speeds is better than the marks that missed it.
        let by_marks = match used {
            Use::BothWays if self.zero != 0.0 => None,
            _ => nearest(l.step).or_else(|| nearest(l.step / 2.0)),
        };
        let to = by_marks.unwrap_or(plain);
        Some(Act::TurnBell { degrees: (to - mark).abs(), against: to > mark, to })
    }

    /// Whether the speeds bear the mark out. None without speeds.
    fn against_speeds(&self, mark: f64) -> Option<Finding> {
        let speeds = self.known.speeds?;
        let advance = self.sign * (mark - self.zero);
        let (least, most) = self.per_degree();
        let (low, high) = foretold(advance, self.limits.reading, least, most);
        let read = speeds.log;
        if read.low <= high && low <= read.high {
            return Some(if speeds.faster().is_some() || self.at_zero(advance) {
                Finding::SpeedsAgree
            } else {
                Finding::SpeedsUnsure
            });
        }
        Some(match speeds.faster() {
            None => Finding::MarkNotFelt,
            Some(_) if self.at_zero(advance) => Finding::ZeroMarkUntrue,
            Some(side) if side != advance.signum() => Finding::SpeedsAgainstMark,
            Some(side) if side * read.value > (side * low).max(side * high) => Finding::MoreThanMark,
            Some(_) => Finding::MarkNotFelt,
        })
    }

    /// The finding and the cure by speeds alone.
    fn by_speeds(&self, used: Use, speeds: SpeedRatio) -> (Finding, Option<Act>) {
        let l = self.limits;
        // 1 when the wanted direction is surely the faster.
        let side = speeds.faster().map(|s| s * self.sign);
        let turn = |against| Some(Act::TurnBellBySpeeds { against });
        match (used, side) {
            (_, None) if !speeds.alike(l.alike) => (Finding::SpeedsUnsure, None),
            (Use::BothWays, None) => (Finding::AlikeWanted, None),
            (Use::BothWays, Some(side)) => {
                // A difference too small to matter is left alone, however surely it is there.
                if speeds.log.value.abs() <= (1.0 + l.alike).ln() {
                    (Finding::AlikeWanted, None)
                } else {
                    (Finding::UnevenUnwanted, turn(side < 0.0))
                }
            }
            (Use::OneWay, None) => (Finding::AlikeUnwanted, turn(true)),
            (Use::OneWay, Some(side)) if side < 0.0 => (Finding::FasterUnwanted, turn(true)),
            (Use::OneWay, Some(_)) if speeds.log.value.abs() > l.much_faster.ln() => {
                (Finding::FasterTooMuch, turn(false))
            }
            (Use::OneWay, Some(_)) => (Finding::FasterWanted, None),
        }
    }

    /// Alike in speed and unlike in current is no matter of timing.
    fn currents(&self, findings: &mut Vec<Finding>) {
        let (Some(currents), Some(speeds)) = (self.known.currents, self.known.speeds) else { return };
        let l = self.limits;
        if speeds.alike(l.alike) && currents.ln().abs() > (1.0 + l.currents_alike).ln() {
            findings.push(Finding::CurrentsDiffer);
        }
    }

    /// What a degree is worth: of this motor by its curve, else of any.
    fn per_degree(&self) -> (f64, f64) {
        let [least, _, most] = self.limits.per_degree;
        match &self.known.curve {
            Some(curve) if curve.sure() => (curve.slope.low, curve.slope.high),
            _ => (least, most),
        }
    }

    /// The speed ratio to be seen afterwards, the wanted direction over the other.
    fn ratio_after(&self, turn: Option<Act>, mark_after: Option<f64>) -> Option<(f64, f64)> {
        let l = self.limits;
        let used = self.known.used?;
        let (low, high) = match (turn, mark_after) {
            (Some(Act::TurnBellBySpeeds { .. }), _) => {
                let usual = l.per_degree[1];
                match used {
                    Use::OneWay => (l.least * usual, l.most * usual),
                    Use::BothWays => (-(1.0 + l.alike).ln(), (1.0 + l.alike).ln()),
                }
            }
            (_, Some(mark)) => {
                let (least, most) = self.per_degree();
                let (least, most) = self.narrowed(least, most);
                // Set with care: the goal is met within half of what an unknown mark may be misread by.
                let (low, high) = foretold(mark - self.zero, l.reading / 2.0, least, most);
                match used {
                    // Nothing nearer to alike than what counts as alike is asked for.
                    Use::BothWays => (low.min(-(1.0 + l.alike).ln()), high.max((1.0 + l.alike).ln())),
                    Use::OneWay => (low, high),
                }
            }
            // Nothing is turned: what was measured stays, seen from the wanted direction.
            (None, None) => {
                let log = self.known.speeds?.log.times(self.sign);
                (log.low, log.high)
            }
            _ => return None,
        };
        Some((low.exp(), high.exp()))
    }

    /// The worth of a degree, narrowed by a measured ratio at a mark that is not zero.
    fn narrowed(&self, least: f64, most: f64) -> (f64, f64) {
        let (Some(speeds), Some(mark), None) = (self.known.speeds, self.known.mark, &self.known.curve) else {
            return (least, most);
        };
        let advance = (mark - self.zero).abs();
        let Some(side) = speeds.faster().filter(|_| advance > 2.0 * self.limits.reading) else {
            return (least, most);
        };
        let size = speeds.log.times(side);
        let from = (size.low / (advance + self.limits.reading)).max(least);
        let to = (size.high / (advance - self.limits.reading)).min(most);
        if from < to { (from, to) } else { (least, most) }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
