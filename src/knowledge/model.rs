//! The knowledge base after every check: what the rest of the house reads.
//!
//! All ids in these types are known to resolve, all probabilities to lie in [0, 1]; `load` is the only
//! place that makes a [`Knowledge`].

use super::lessons::{Course, Lesson, Topic};

/// The whole knowledge base, in the order of its files.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Knowledge {
    /// Costs and thresholds of the shop.
    pub shop: Shop,
    /// Stages of the work, in the order in which a motor passes through them.
    pub stages: Vec<Stage>,
    /// Published texts that a basis may name.
    pub sources: Vec<Source>,
    /// Caution topics.
    pub cautions: Vec<Caution>,
    /// History: root variables.
    pub factors: Vec<Factor>,
    /// What can be wrong; present or absent.
    pub faults: Vec<Fault>,
    /// What can be seen, asked or measured; graded from normal outwards.
    pub observations: Vec<Observation>,
    /// Numbers with a unit that are banded into observations.
    pub readings: Vec<Reading>,
    /// Repair procedures.
    pub repairs: Vec<Repair>,
    /// Scopes of work: sets of repairs.
    pub scopes: Vec<Scope>,
    /// Motors with their nominal data.
    pub motors: Vec<Motor>,
    /// Bench measurements: what they ask for, the limits that apply, and what their results mean.
    pub measurements: Vec<Measurement>,
    /// What lessons are about.
    pub topics: Vec<Topic>,
    /// Lessons for those who learn the trade.
    pub lessons: Vec<Lesson>,
    /// Orders of lessons, with what it takes to pass.
    pub courses: Vec<Course>,
    /// What faults and history change in the quantities of a motor.
    pub physics: Vec<Physics>,
    /// Looks: observations that are answered by one question.
    pub looks: Vec<Look>,
}

/// Where a number comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// The id of an entry of [`Knowledge::sources`].
    Source(String),
    /// Usual in the trade; no published source known.
    CommonPractice,
    /// Remembered from a source that was not at hand.
    FromMemory,
    /// An expert's guess.
    Judgement,
    /// Measured at the shop's own bench.
    Measured,
}

/// Costs and thresholds of the shop, in its own money.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shop {
    /// Price of a minute's work.
    pub labour_per_minute: f64,
    /// What it costs the shop when a motor comes back uncured.
    pub come_back: f64,
    /// Least saving for which a question is still asked.
    pub worth_asking: f64,
    /// Minutes that every question takes besides its own: to put it, to think, to write it down.
    pub minutes_per_question: f64,
    /// What a bit of information about the faults is worth beyond the decision at hand, once something explains the
    /// complaint.
    pub worth_per_bit: f64,
    /// The same as long as nothing explains the complaint; in between, by the chance that nothing does.
    pub worth_per_bit_unexplained: f64,
    /// Ids of scopes that shops do with every motor without asking anything: what the expert is measured against.
    pub without_asking: Vec<String>,
}

/// One stage of opening a motor.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// How it is reached, as an instruction.
    pub reached_by: String,
    /// Minutes from the stage before it.
    pub minutes: f64,
    /// Minutes to undo it again: to refit, close up, set and bed in.
    pub minutes_back: f64,
    /// What is lost on entering it; empty when nothing is.
    pub destroys: String,
    /// What has to be written down before it is entered.
    pub record_first: Vec<String>,
    /// Cautions that every repair at this stage has to give.
    pub calls_for: Vec<String>,
    /// Whether it may be passed over on the way to a later stage.
    pub skippable: bool,
    /// Whether it takes the motor apart, which only a rebuildable one allows.
    pub opens: bool,
    /// When it must not be entered.
    pub not_when: Vec<Forbid>,
    /// The way back from it; none where nothing has to be undone.
    pub closed_by: Option<Closing>,
}

/// How a stage of opening a motor is undone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// Its short name.
    pub name: String,
    /// What to do, in order.
    pub steps: Vec<Step>,
}

/// A published text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Its id.
    pub id: String,
    /// Full citation.
    pub citation: String,
    /// What to mind when using it; may be empty.
    pub note: String,
}

/// A caution topic.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// The caution itself, as an instruction.
    pub text: String,
    /// Where it comes from.
    pub basis: Basis,
}

/// "This question was answered with one of these states."
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AnswerIs {
    /// Id of a factor or an observation.
    pub answer: String,
    /// States of it.
    pub states: Vec<String>,
}

/// A condition under which something must not be done, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Forbid {
    /// The answer that forbids it.
    pub when: AnswerIs,
    /// Why, in a sentence.
    pub reason: String,
}

/// A root variable of the network: part of the motor's history.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// How and when it is asked.
    pub ask: Ask,
    /// Its states, mildest first.
    pub states: Vec<FactorState>,
    /// Where its priors come from.
    pub basis: Basis,
    /// What the history itself shows.
    pub shows: Vec<Shows>,
}

/// A state of a [`Factor`].
#[derive(Debug, Clone, PartialEq)]
pub struct FactorState {
    /// Its id.
    pub id: String,
    /// What a person picks at the prompt.
    pub label: String,
    /// Prior chance; the states of one factor sum to 1.
    pub prior: f64,
    /// What owners say.
    pub phrases: Vec<String>,
}

/// How a question is put, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// The question in plain words.
    pub question: String,
    /// How to look or measure.
    pub how: String,
    /// Id of the first stage at which it can be answered.
    pub stage: String,
    /// Id of the last stage at which it can be answered, where there is one.
    pub last_stage: Option<String>,
    /// Minutes it takes at that stage.
    pub minutes: f64,
    /// What it risks or destroys; empty when nothing.
    pub risk: String,
    /// Ids of cautions that come before it.
    pub cautions: Vec<String>,
    /// Asked only when this was answered so.
    pub ask_when: Option<AnswerIs>,
    /// Not asked while one of these holds.
    pub not_when: Vec<Forbid>,
}

/// A cause or effect whose parent is a fault or one state of a factor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ParentRef {
    /// Id of the fault or factor.
    pub parent: String,
    /// State of the factor; none for a fault.
    pub state: Option<String>,
}

/// Something that can be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// Id of the group of faults that it belongs to.
    pub group: String,
    /// What it is, for the technician.
    pub summary: String,
    /// What it is, for the owner.
    pub customer: String,
    /// Chance with none of the causes.
    pub leak: f64,
    /// Where its numbers come from.
    pub basis: Basis,
    /// What brings it about.
    pub causes: Vec<Cause>,
    /// How it shows itself.
    pub shows: Vec<Shows>,
}

/// One cause of a [`Fault`].
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// What causes it.
    pub by: ParentRef,
    /// Chance that this cause alone brings it about.
    pub strength: f64,
    /// Why, in a sentence.
    pub because: String,
    /// Where the strength comes from.
    pub basis: Basis,
}

/// One observation in which a fault or factor shows itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Shows {
    /// For a factor, the state that shows itself; none for a fault.
    pub state: Option<String>,
    /// Id of the observation.
    pub observation: String,
    /// Chance of each state of the observation if this were the only cause, normal first; sums to 1.
    pub effect: Vec<f64>,
    /// Why, in a sentence.
    pub because: String,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// Something that can be seen, asked or measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// Id of the group it is listed under.
    pub group: String,
    /// How and when it is asked.
    pub ask: Ask,
    /// Its states, normal first, then worse and worse.
    pub states: Vec<ObservationState>,
    /// Where its leak comes from.
    pub basis: Basis,
}

/// A state of an [`Observation`].
#[derive(Debug, Clone, PartialEq)]
pub struct ObservationState {
    /// Its id.
    pub id: String,
    /// What a person picks at the prompt.
    pub label: String,
    /// Chance of it with none of the causes; the states sum to 1.
    pub leak: f64,
    /// What owners say.
    pub phrases: Vec<String>,
}

/// The kind of quantity that a reading is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Ampere.
    Current,
    /// Volt.
    Voltage,
    /// Ohm.
    Resistance,
    /// Metre.
    Length,
    /// Revolutions per minute.
    Speed,
    /// Degree Celsius.
    Temperature,
    /// Degree of arc.
    Angle,
    /// Newton.
    Force,
    /// Kilogram.
    Mass,
    /// Second.
    Time,
    /// A plain number or a percentage.
    Ratio,
    /// Newton metre.
    Torque,
    /// Watt.
    Power,
    /// Joule.
    Energy,
    /// Pascal.
    Pressure,
}

/// How a reading becomes the quantity that is banded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Derive {
    /// As it was read.
    Value,
    /// Over the motor's nominal value of this key.
    Ratio(String),
    /// Less the motor's nominal value of this key.
    Difference(String),
}

impl Derive {
    /// The key of the nominal value that a reading is set against, where it is.
    pub fn nominal(&self) -> Option<&str> {
        match self {
            Derive::Value => None,
            Derive::Ratio(key) | Derive::Difference(key) => Some(key),
        }
    }
}

/// One standard deviation of a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// A fraction of the reading.
    Relative(f64),
    /// In the base unit of the reading's kind.
    Absolute(f64),
}

/// A number with a unit that is banded into observations.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// The kind of quantity.
    pub kind: Kind,
    /// How and when it is asked.
    pub ask: Ask,
    /// What a usual instrument and hand scatter.
    pub uncertainty: Spread,
    /// Least and greatest value that is not absurd, as text with a unit and in base units.
    pub plausible: [(String, f64); 2],
    /// What is banded.
    pub derive: Derive,
    /// What of a motor's physics it shows, where it is worked out from that.
    pub figure: Option<Figure>,
    /// The observations it answers.
    pub bands: Vec<Band>,
    /// Where the edges come from.
    pub basis: Basis,
}

/// How one observation follows from a derived quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Id of the observation.
    pub observation: String,
    /// Whether values above the edges are worse, or below.
    pub side: Side,
    /// For each abnormal state, from the mildest to the worst: its index in the observation's states and
    /// the edge from which it counts (base units, or a plain number for a ratio).
    pub edges: Vec<(usize, f64)>,
}

/// The side of an edge that is abnormal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Greater is worse.
    Above,
    /// Less is worse.
    Below,
}

/// A repair procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct Repair {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// Id of the stage it needs.
    pub stage: String,
    /// Minutes of work at that stage.
    pub minutes: f64,
    /// Parts it uses up.
    pub parts: Vec<Part>,
    /// Tools.
    pub tools: Vec<String>,
    /// What it removes, and how surely; groups are written out.
    pub removes: Vec<Removes>,
    /// What to do, in order.
    pub steps: Vec<Step>,
    /// What proves that it worked.
    pub checks: Vec<String>,
    /// Where its numbers come from.
    pub basis: Basis,
}

impl Repair {
    /// Whether it puts another motor in the place of this one, which then need not be put together again.
    pub fn replaces_motor(&self) -> bool {
        self.parts.iter().any(|p| p.by_motor)
    }
}

/// A part that a repair uses up.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// Its price in the shop's money.
    pub cost: f64,
    /// Whether a motor of the knowledge base puts its own replacement price in the place of `cost`.
    pub by_motor: bool,
}

impl Part {
    /// Its price for a motor.
    pub fn price(&self, motor: Option<&Motor>) -> f64 {
        motor.filter(|m| self.by_motor && m.replace_cost > 0.0).map_or(self.cost, |m| m.replace_cost)
    }
}

/// A fault that a repair removes.
#[derive(Debug, Clone, PartialEq)]
pub struct Removes {
    /// Id of the fault.
    pub fault: String,
    /// Chance that the fault is gone afterwards.
    pub sureness: f64,
    /// Where the sureness comes from.
    pub basis: Basis,
}

/// One step of a repair, or of closing a motor again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Ids of the cautions that come before it.
    pub cautions: Vec<String>,
    /// What to do.
    pub action: String,
}

/// A scope of work.
#[derive(Debug, Clone, PartialEq)]
pub struct Scope {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// What it is, for the technician.
    pub summary: String,
    /// What it is, for the owner.
    pub customer: String,
    /// Ids of the repairs that are always done.
    pub always: Vec<String>,
    /// Ids of the repairs that are done when one of their faults is there.
    pub as_needed: Vec<String>,
    /// Chance that the shop sees it, before the motor goes out, when the scope has not cured it.
    pub uncured_seen: f64,
    /// Ids of questions that have to be put before this scope is decided on.
    pub settle_first: Vec<String>,
    /// Hard limits.
    pub blocked_when: Vec<Limit>,
    /// Where its make-up comes from.
    pub basis: Basis,
}

/// A hard limit that blocks a scope.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// When it holds.
    pub when: LimitWhen,
    /// Why, in a sentence.
    pub reason: String,
}

/// What a hard limit looks at.
#[derive(Debug, Clone, PartialEq)]
pub enum LimitWhen {
    /// The motor is, or is not, made to be taken apart.
    Rebuildable(bool),
    /// A fault is more likely than this.
    FaultAbove(String, f64),
    /// A question was answered so.
    Answer(AnswerIs),
}

/// A motor with its nominal data.
#[derive(Debug, Clone, PartialEq)]
pub struct Motor {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Size class of its can.
    pub can: String,
    /// Whether it is made to be taken apart.
    pub rebuildable: bool,
    /// Number of armature slots; 0 when it is not known.
    pub slots: u32,
    /// What it is and what it drives.
    pub summary: String,
    /// Price of another one in the shop's money.
    pub replace_cost: f64,
    /// Nominal data by key, as written, each a quantity with its unit.
    pub nominal: indexmap::IndexMap<String, String>,
    /// Where its data come from.
    pub basis: Basis,
}

/// A measurement at the bench whose result is computed: what the trade knows about it. How it is computed
/// is not known here.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// The word it is called by.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// What it finds out.
    pub summary: String,
    /// Ids of cautions that come before it.
    pub cautions: Vec<String>,
    /// What a person is asked for.
    pub inputs: Vec<Input>,
    /// Limits and usual values.
    pub limits: Vec<Guide>,
    /// Which readings of a case its figures are.
    pub results: Vec<MeasuredReading>,
    /// What the words mean in which it puts what it has found.
    pub findings: Vec<Finding>,
}

/// What a person is asked for in a [`Measurement`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// Its id: the option of the command line without its hyphens.
    pub id: String,
    /// The kind of quantity; none when it is not a quantity.
    pub kind: Option<Kind>,
    /// The question in plain words.
    pub question: String,
    /// How to look or measure.
    pub how: String,
    /// How an answer is written.
    pub example: String,
    /// Key of the motor's nominal value that answers it where nothing else does.
    pub nominal: Option<String>,
    /// Ids of cautions that come before it.
    pub cautions: Vec<String>,
}

/// A limit or a usual value that a measurement is compared with.
#[derive(Debug, Clone, PartialEq)]
pub struct Guide {
    /// Its id; several may have the same id for different sizes.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// The kind of quantity.
    pub kind: Kind,
    /// As it was written.
    pub text: String,
    /// In the base unit of its kind.
    pub value: f64,
    /// The size that it holds for, in base units; none when it holds for all.
    pub size: Option<f64>,
    /// What to mind; may be empty.
    pub note: String,
    /// Where it comes from.
    pub basis: Basis,
}

/// What a figure of a [`Measurement`] is: a reading of a case, a nominal value of a healthy motor, or both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeasuredReading {
    /// The figure, as the measurement calls it.
    pub figure: String,
    /// Id of the reading; none for a figure that only describes a healthy motor.
    pub reading: Option<String>,
    /// Key of the nominal value that the figure is of a healthy motor, where it is one.
    pub nominal: Option<String>,
}

/// What a word means in which a [`Measurement`] puts what it has found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The word.
    pub word: String,
    /// What it means, in a sentence or two.
    pub says: String,
    /// Id of the fault that it is, where it is one.
    pub fault: Option<String>,
    /// The observations it answers, each with the index of its state.
    pub answers: Vec<(String, usize)>,
}

/// What a fault, or a state of a factor, changes in the motor itself; or what of an observation follows from a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Physics {
    /// Id of the fault, the factor or the observation.
    pub id: String,
    /// What a fault or a factor changes.
    pub changes: Vec<Change>,
    /// What of an observation follows from a figure that does not band it.
    pub follows: Vec<Follows>,
    /// Where its numbers come from.
    pub basis: Basis,
}

/// A state of an observation that goes with certain figures of a reading, and only with those.
#[derive(Debug, Clone, PartialEq)]
pub struct Follows {
    /// Id of the reading.
    pub reading: String,
    /// Least and greatest figure, in the base unit of the reading's kind.
    pub within: [f64; 2],
    /// Index of the state that the observation has when the figure lies within.
    pub state: usize,
    /// Index of the state that takes its place when the figure lies outside.
    pub otherwise: usize,
    /// Why, in a sentence.
    pub because: String,
}

impl Follows {
    /// The state of the observation where its reading has this figure and it would otherwise be `state`.
    pub fn with(&self, figure: f64, state: usize) -> usize {
        let [least, most] = self.within;
        match (least..=most).contains(&figure) {
            true => self.state,
            false if state == self.state => self.otherwise,
            false => state,
        }
    }
}

/// One quantity that is changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// For a factor, the state that brings it about; none for a fault.
    pub state: Option<String>,
    /// What is changed.
    pub quantity: Quantity,
    /// Whether only one coil is changed rather than all; for quantities that a coil has.
    pub one: bool,
    /// How it is changed.
    pub by: ChangeBy,
    /// Least and greatest amount, in the base unit of the quantity's kind; a plain number for a factor.
    pub range: [f64; 2],
    /// Chance that it is changed.
    pub chance: f64,
    /// Why, in a sentence.
    pub because: String,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// How a quantity is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChangeBy {
    /// Multiplied.
    Factor,
    /// Added to.
    Add,
    /// Put in the place of what it was.
    Set,
}

/// A quantity of a motor that its readings follow from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Resistance of a coil; a multiple of a sound one.
    CoilResistance,
    /// Share of a coil's turns that are a closed loop of their own, 0 to below 1.
    TurnsShorted,
    /// Between the brushes' holders and the bars, both brushes together.
    ContactResistance,
    /// From the supply to the terminals, both ways.
    LeadResistance,
    /// What lies from terminal to terminal beside the winding.
    TerminalShunt,
    /// Strength of the field; a multiple of the sound one.
    Flux,
    /// Torque that holds the turning shaft back at any speed; a multiple of the sound motor's.
    Drag,
    /// Torque that grows with speed: what is added at no-load speed, in multiples of the sound motor's drag.
    SpeedDrag,
    /// Torque that has to be overcome to start; a multiple of the sound motor's.
    StartingDrag,
    /// Brushes turned against the rotation that is wanted.
    Advance,
    /// Inner resistance of what feeds the motor in its own set-up; a multiple of a sound one.
    SupplyResistance,
    /// Torque that is asked of the motor in its own set-up; a multiple of the usual.
    Load,
    /// Share of the pack's voltage that the controller lets through.
    Throttle,
    /// Warming for the same loss; a multiple of the sound motor's.
    Heat,
    /// From the winding to the shaft.
    Insulation,
    /// Of the shorter brush.
    BrushLength,
    /// Of the weaker spring; a multiple of a new one.
    SpringForce,
    /// Way of the shaft along its length.
    EndPlay,
    /// Of the smallest diameter in the brush track above its minimum.
    CommutatorMargin,
    /// Total reading over one turn.
    CommutatorRunout,
    /// Of the shallowest slot.
    SlotDepth,
    /// Total reading over one turn, near the end.
    ShaftRunout,
}

impl Quantity {
    /// How many there are.
    pub const COUNT: usize = 22;

    /// The kind of its amounts.
    pub fn kind(self) -> Kind {
        match self {
            Quantity::ContactResistance
            | Quantity::LeadResistance
            | Quantity::TerminalShunt
            | Quantity::Insulation => Kind::Resistance,
            Quantity::Advance => Kind::Angle,
            Quantity::BrushLength
            | Quantity::EndPlay
            | Quantity::CommutatorMargin
            | Quantity::CommutatorRunout
            | Quantity::SlotDepth
            | Quantity::ShaftRunout => Kind::Length,
            _ => Kind::Ratio,
        }
    }

    /// Whether every coil has its own.
    pub fn of_coils(self) -> bool {
        matches!(self, Quantity::CoilResistance | Quantity::TurnsShorted)
    }
}

/// What a good meter shows of a motor, worked out from its physics.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Figure {
    /// Lowest resistance from terminal to terminal over all positions.
    LowestResistance,
    /// Highest of these resistances over the lowest.
    ResistanceSwing,
    /// From winding to shaft.
    Insulation,
    /// Way of the shaft along its length.
    EndPlay,
    /// Current without a load at the rated voltage.
    FreeCurrent,
    /// Speed without a load at the rated voltage.
    FreeSpeed,
    /// Least voltage that starts it in the worst position.
    StartingVoltage,
    /// Of the can after two minutes without a load.
    CanTemperature,
    /// At the terminals in its own set-up at full throttle.
    LoadedVoltage,
    /// Speed forward over speed in reverse.
    ForwardOverReverse,
    /// Length of the shorter brush.
    ShorterBrush,
    /// Force of the weaker spring.
    WeakerSpring,
    /// Smallest diameter in the brush track.
    TrackDiameter,
    /// That diameter above the least allowed.
    TrackMargin,
    /// Runout of the brush track.
    TrackRunout,
    /// Depth of the shallowest slot.
    ShallowestSlot,
    /// Runout of the shaft near its end.
    ShaftRunout,
    /// Highest coil over the median coil.
    HighestCoil,
    /// Lowest coil over the median coil.
    LowestCoil,
}

impl Figure {
    /// The kind of its values.
    pub fn kind(self) -> Kind {
        match self {
            Figure::LowestResistance | Figure::Insulation => Kind::Resistance,
            Figure::EndPlay
            | Figure::ShorterBrush
            | Figure::TrackDiameter
            | Figure::TrackMargin
            | Figure::TrackRunout
            | Figure::ShallowestSlot
            | Figure::ShaftRunout => Kind::Length,
            Figure::FreeCurrent => Kind::Current,
            Figure::FreeSpeed => Kind::Speed,
            Figure::StartingVoltage | Figure::LoadedVoltage => Kind::Voltage,
            Figure::CanTemperature => Kind::Temperature,
            Figure::WeakerSpring => Kind::Force,
            Figure::ResistanceSwing
            | Figure::ForwardOverReverse
            | Figure::HighestCoil
            | Figure::LowestCoil => Kind::Ratio,
        }
    }
}

/// Observations that are made in the same moment, with the same hands and instrument, and so are answered by
/// one question. No observation belongs to two looks, and there is a stage at which all of them can be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Its id.
    pub id: String,
    /// Its short name.
    pub name: String,
    /// The question in plain words.
    pub question: String,
    /// How to look; what belongs to one observation alone stands there.
    pub how: String,
    /// Minutes for all of it at its stage.
    pub minutes: f64,
    /// Ids of the observations, in the order in which they are listed; at least two.
    pub observations: Vec<String>,
}

/// One entry of a [`Knowledge`], whatever its kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Entry<'a> {
    /// A factor.
    Factor(&'a Factor),
    /// A fault.
    Fault(&'a Fault),
    /// An observation.
    Observation(&'a Observation),
    /// A reading.
    Reading(&'a Reading),
    /// A repair.
    Repair(&'a Repair),
    /// A scope.
    Scope(&'a Scope),
    /// A caution.
    Caution(&'a Caution),
    /// A motor.
    Motor(&'a Motor),
    /// A stage.
    Stage(&'a Stage),
    /// A source.
    Source(&'a Source),
    /// A measurement.
    Measurement(&'a Measurement),
    /// A look.
    Look(&'a Look),
}

impl Knowledge {
    /// The factor with this id.
    pub fn factor(&self, id: &str) -> Option<&Factor> {
        self.factors.iter().find(|x| x.id == id)
    }
    /// The fault with this id.
    pub fn fault(&self, id: &str) -> Option<&Fault> {
        self.faults.iter().find(|x| x.id == id)
    }
    /// The observation with this id.
    pub fn observation(&self, id: &str) -> Option<&Observation> {
        self.observations.iter().find(|x| x.id == id)
    }
    /// The reading with this id.
    pub fn reading(&self, id: &str) -> Option<&Reading> {
        self.readings.iter().find(|x| x.id == id)
    }
    /// The repair with this id.
    pub fn repair(&self, id: &str) -> Option<&Repair> {
        self.repairs.iter().find(|x| x.id == id)
    }
    /// The scope with this id.
    pub fn scope(&self, id: &str) -> Option<&Scope> {
        self.scopes.iter().find(|x| x.id == id)
    }
    /// The caution with this id.
    pub fn caution(&self, id: &str) -> Option<&Caution> {
        self.cautions.iter().find(|x| x.id == id)
    }
    /// The motor with this id.
    pub fn motor(&self, id: &str) -> Option<&Motor> {
        self.motors.iter().find(|x| x.id == id)
    }
    /// The source with this id.
    pub fn source(&self, id: &str) -> Option<&Source> {
        self.sources.iter().find(|x| x.id == id)
    }
    /// The measurement with this id.
    pub fn measurement(&self, id: &str) -> Option<&Measurement> {
        self.measurements.iter().find(|x| x.id == id)
    }
    /// The topic with this id.
    pub fn topic(&self, id: &str) -> Option<&Topic> {
        self.topics.iter().find(|x| x.id == id)
    }
    /// The lesson with this id.
    pub fn lesson(&self, id: &str) -> Option<&Lesson> {
        self.lessons.iter().find(|x| x.id == id)
    }
    /// What the fault or factor with this id changes in a motor.
    pub fn physics_of(&self, id: &str) -> Option<&Physics> {
        self.physics.iter().find(|x| x.id == id)
    }
    /// The look with this id.
    pub fn look(&self, id: &str) -> Option<&Look> {
        self.looks.iter().find(|x| x.id == id)
    }
    /// The look that an observation belongs to.
    pub fn look_of(&self, observation: &str) -> Option<&Look> {
        self.looks.iter().find(|x| x.observations.iter().any(|o| o == observation))
    }
    /// The place of the stage with this id in the order of the work.
    pub fn stage_index(&self, id: &str) -> Option<usize> {
        self.stages.iter().position(|x| x.id == id)
    }
    /// The entry with this id, whatever its kind; an observation before a reading of the same id.
    pub fn entry(&self, id: &str) -> Option<Entry<'_>> {
        (self.factor(id).map(Entry::Factor))
            .or_else(|| self.fault(id).map(Entry::Fault))
            .or_else(|| self.observation(id).map(Entry::Observation))
            .or_else(|| self.reading(id).map(Entry::Reading))
            .or_else(|| self.repair(id).map(Entry::Repair))
            .or_else(|| self.scope(id).map(Entry::Scope))
            .or_else(|| self.caution(id).map(Entry::Caution))
            .or_else(|| self.motor(id).map(Entry::Motor))
            .or_else(|| self.stages.iter().find(|x| x.id == id).map(Entry::Stage))
            .or_else(|| self.source(id).map(Entry::Source))
            .or_else(|| self.measurement(id).map(Entry::Measurement))
            .or_else(|| self.look(id).map(Entry::Look))
    }
    /// The states of a factor or an observation: id and label of each, in order.
    pub fn states(&self, id: &str) -> Option<Vec<(&str, &str)>> {
        (self.factor(id).map(|f| f.states.iter().map(|s| (&*s.id, &*s.label)).collect())).or_else(|| {
            let o = self.observation(id)?;
            Some(o.states.iter().map(|s| (&*s.id, &*s.label)).collect())
        })
    }
    /// How a factor, an observation or a reading is asked.
    pub fn ask(&self, id: &str) -> Option<&Ask> {
        (self.factor(id).map(|f| &f.ask))
            .or_else(|| self.observation(id).map(|o| &o.ask))
            .or_else(|| self.reading(id).map(|r| &r.ask))
    }
}
