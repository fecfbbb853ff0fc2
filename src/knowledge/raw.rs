//! The entries as they are written, before any check but that of their shape.
//!
//! Texts that people must read default to empty and are refused later, with the question they belong to.
//! No type here may be untagged, flattened or internally tagged: those lose the place of an error.

use std::fmt;

use indexmap::IndexMap;
use serde::de::{self, Deserialize, Deserializer, Visitor};

/// A number or a text: a chance or a word of the verbal scale, a plain edge or one with its unit.
#[derive(Debug, Clone, PartialEq)]
pub enum Scalar {
    Number(f64),
    Text(String),
}

impl<'de> Deserialize<'de> for Scalar {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Scalar, D::Error> {
        struct Either;
        impl Visitor<'_> for Either {
            type Value = Scalar;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a number or a text")
            }
            fn visit_f64<E: de::Error>(self, v: f64) -> Result<Scalar, E> {
                Ok(Scalar::Number(v))
            }
            fn visit_i64<E: de::Error>(self, v: i64) -> Result<Scalar, E> {
                Ok(Scalar::Number(v as f64))
            }
            fn visit_u64<E: de::Error>(self, v: u64) -> Result<Scalar, E> {
                Ok(Scalar::Number(v as f64))
            }
            fn visit_str<E: de::Error>(self, v: &str) -> Result<Scalar, E> {
                Ok(Scalar::Text(v.to_owned()))
            }
        }
        deserializer.deserialize_any(Either)
    }
}

/// Effects by state, or band edges by state.
pub type ByState = IndexMap<String, Scalar>;

macro_rules! raw {
    ($($(#[$doc:meta])* $name:ident { $($(#[$field_attr:meta])* $field:ident: $type:ty,)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, serde::Deserialize)]
        #[serde(rename_all = "kebab-case", deny_unknown_fields)]
        pub struct $name { $($(#[$field_attr])* pub $field: $type,)* }
    )*};
}

raw! {
    RawAnswer {
        answer: String,
        states: Vec<String>,
    }
    RawForbid {
        answer: String,
        states: Vec<String>,
        #[serde(default)] reason: String,
    }
    RawStage {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] reached_by: String,
        minutes: f64,
        #[serde(default)] minutes_back: f64,
        #[serde(default)] destroys: String,
        #[serde(default)] record_first: Vec<String>,
        #[serde(default)] calls_for: Vec<String>,
        #[serde(default)] skippable: bool,
        #[serde(default)] opens: bool,
        #[serde(default)] not_when: Vec<RawForbid>,
        closed_by: Option<RawClosing>,
    }
    RawClosing {
        #[serde(default)] name: String,
        #[serde(default)] steps: Vec<RawStep>,
    }
    RawSource {
        id: String,
        #[serde(default)] citation: String,
        #[serde(default)] note: String,
    }
    RawCaution {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] text: String,
        basis: Option<String>,
    }
    RawFactor {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] question: String,
        #[serde(default)] how: String,
        stage: String,
        last_stage: Option<String>,
        minutes: f64,
        #[serde(default)] risk: String,
        #[serde(default)] cautions: Vec<String>,
        ask_when: Option<RawAnswer>,
        #[serde(default)] not_when: Vec<RawForbid>,
        states: Vec<RawFactorState>,
        basis: Option<String>,
        #[serde(default)] shows: Vec<RawShows>,
    }
    RawFactorState {
        id: String,
        #[serde(default)] label: String,
        prior: Scalar,
        #[serde(default)] phrases: Vec<String>,
    }
    RawFault {
        id: String,
        #[serde(default)] name: String,
        group: String,
        #[serde(default)] summary: String,
        #[serde(default)] customer: String,
        leak: Scalar,
        basis: Option<String>,
        #[serde(default)] causes: Vec<RawCause>,
        #[serde(default)] shows: Vec<RawShows>,
    }
    RawCause {
        parent: String,
        state: Option<String>,
        strength: Scalar,
        #[serde(default)] because: String,
        basis: Option<String>,
    }
    RawShows {
        state: Option<String>,
        observation: String,
        r#as: ByState,
        #[serde(default)] because: String,
        basis: Option<String>,
    }
    RawObservation {
        id: String,
        #[serde(default)] name: String,
        group: String,
        stage: String,
        last_stage: Option<String>,
        minutes: f64,
        #[serde(default)] question: String,
        #[serde(default)] how: String,
        #[serde(default)] risk: String,
        #[serde(default)] cautions: Vec<String>,
        ask_when: Option<RawAnswer>,
        #[serde(default)] not_when: Vec<RawForbid>,
        states: Vec<RawObservationState>,
        basis: Option<String>,
    }
    RawObservationState {
        id: String,
        #[serde(default)] label: String,
        leak: Option<Scalar>,
        #[serde(default)] phrases: Vec<String>,
    }
    RawReading {
        id: String,
        #[serde(default)] name: String,
        kind: RawKind,
        #[serde(default)] question: String,
        #[serde(default)] how: String,
        stage: String,
        last_stage: Option<String>,
        minutes: f64,
        #[serde(default)] risk: String,
        #[serde(default)] cautions: Vec<String>,
        ask_when: Option<RawAnswer>,
        #[serde(default)] not_when: Vec<RawForbid>,
        uncertainty: String,
        plausible: (String, String),
        derive: RawDerive,
        nominal: Option<String>,
        figure: Option<RawFigure>,
        bands: Vec<RawBand>,
        basis: Option<String>,
    }
    RawBand {
        observation: String,
        above: Option<ByState>,
        below: Option<ByState>,
    }
    RawRepair {
        id: String,
        #[serde(default)] name: String,
        stage: String,
        minutes: f64,
        #[serde(default)] parts: Vec<RawPart>,
        #[serde(default)] tools: Vec<String>,
        #[serde(default)] removes: Vec<RawRemoves>,
        #[serde(default)] steps: Vec<RawStep>,
        #[serde(default)] checks: Vec<String>,
        basis: Option<String>,
    }
    RawPart {
        name: String,
        cost: f64,
        #[serde(default)]
        by_motor: bool,
    }
    RawRemoves {
        fault: Option<String>,
        group: Option<String>,
        sureness: Scalar,
        basis: Option<String>,
    }
    RawStep {
        #[serde(default)] cautions: Vec<String>,
        r#do: String,
    }
    RawScope {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] summary: String,
        #[serde(default)] customer: String,
        #[serde(default)] always: Vec<String>,
        #[serde(default)] as_needed: Vec<String>,
        uncured_seen: Option<Scalar>,
        #[serde(default)] settle_first: Vec<String>,
        #[serde(default)] blocked_when: Vec<RawLimit>,
        basis: Option<String>,
    }
    RawLimit {
        motor: Option<RawMotorLimit>,
        fault: Option<String>,
        above: Option<Scalar>,
        answer: Option<String>,
        states: Option<Vec<String>>,
        #[serde(default)] reason: String,
    }
    RawMotorLimit {
        rebuildable: bool,
    }
    RawMotor {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] can: String,
        rebuildable: bool,
        slots: u32,
        #[serde(default)] summary: String,
        replace_cost: f64,
        nominal: IndexMap<String, String>,
        basis: Option<String>,
    }
    RawMeasurement {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] summary: String,
        #[serde(default)] cautions: Vec<String>,
        #[serde(default)] inputs: Vec<RawInput>,
        #[serde(default)] limits: Vec<RawGuide>,
        #[serde(default)] results: Vec<RawResult>,
        #[serde(default)] findings: Vec<RawFinding>,
    }
    RawLook {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] question: String,
        #[serde(default)] how: String,
        minutes: f64,
        #[serde(default)] observations: Vec<String>,
    }
    RawInput {
        id: String,
        kind: Option<RawKind>,
        #[serde(default)] question: String,
        #[serde(default)] how: String,
        #[serde(default)] example: String,
        nominal: Option<String>,
        #[serde(default)] cautions: Vec<String>,
    }
    RawGuide {
        id: String,
        #[serde(default)] name: String,
        kind: RawKind,
        value: String,
        r#for: Option<RawSize>,
        #[serde(default)] note: String,
        basis: Option<String>,
    }
    RawSize {
        kind: RawKind,
        value: String,
    }
    RawResult {
        figure: String,
        reading: Option<String>,
        nominal: Option<String>,
    }
    RawFinding {
        word: String,
        #[serde(default)] says: String,
        fault: Option<String>,
        #[serde(default)] answers: IndexMap<String, String>,
    }
    RawPhysics {
        id: String,
        #[serde(default)] changes: Vec<RawChange>,
        #[serde(default)] follows: Vec<RawFollows>,
        basis: Option<String>,
    }
    RawFollows {
        reading: String,
        within: [String; 2],
        state: String,
        otherwise: String,
        #[serde(default)] because: String,
    }
    RawChange {
        state: Option<String>,
        quantity: RawQuantity,
        of: Option<RawOf>,
        factor: Option<[f64; 2]>,
        add: Option<[String; 2]>,
        set: Option<[String; 2]>,
        chance: Option<Scalar>,
        #[serde(default)] because: String,
        basis: Option<String>,
    }
    RawShop {
        labour_per_minute: f64,
        come_back: f64,
        worth_asking: f64,
        minutes_per_question: f64,
        worth_per_bit: f64,
        worth_per_bit_unexplained: f64,
        #[serde(default)] without_asking: Vec<String>,
        basis: Option<String>,
    }
    RawTopic {
        id: String,
        #[serde(default)] name: String,
        #[serde(default)] groups: Vec<String>,
    }
    RawLesson {
        id: String,
        #[serde(default)] title: String,
        topic: String,
        level: u32,
        motor: String,
        faults: Option<Vec<String>>,
        #[serde(default)] history: IndexMap<String, String>,
        #[serde(default)] story: Vec<String>,
        #[serde(default)] told: IndexMap<String, String>,
        #[serde(default)] misleading: Vec<RawMisleading>,
        #[serde(default)] shows: IndexMap<String, String>,
        #[serde(default)] calm: bool,
        #[serde(default)] hint: String,
        #[serde(default)] traps: Vec<RawTrap>,
        #[serde(default)] teaches: Vec<String>,
        why: Option<RawWhy>,
        #[serde(default)] words: Vec<RawWord>,
        #[serde(default)] cautions: Vec<String>,
        #[serde(default)] too_soon: Vec<RawTooSoon>,
    }
    RawWhy {
        #[serde(default)] cause: String,
        #[serde(default)] signs: String,
        #[serde(default)] cure: String,
        #[serde(default)] order: String,
    }
    RawTooSoon {
        enter: String,
        minutes: f64,
        #[serde(default)] why: String,
    }
    RawMisleading {
        answer: String,
        says: String,
        #[serde(default)] why: String,
    }
    RawTrap {
        look: Option<String>,
        enter: Option<String>,
        name: Option<String>,
        scope: Option<String>,
        before: Option<String>,
        #[serde(default)] why: String,
    }
    RawWord {
        word: String,
        #[serde(default)] means: String,
    }
    RawCourse {
        id: String,
        #[serde(default)] title: String,
        #[serde(default)] lessons: Vec<String>,
        pass: Scalar,
        support: Option<Scalar>,
        weights: RawWeights,
        per_risk: Scalar,
        per_hint: Scalar,
        per_trap: Scalar,
        minutes_full: f64,
        minutes_none: f64,
        basis: Option<String>,
    }
    RawWeights {
        diagnosis: f64,
        scope: f64,
        cautions: f64,
        safety: f64,
        minutes: f64,
    }
    /// A file that was read at one go.
    RawFile {
        format: String,
        #[serde(default)] stages: Vec<RawStage>,
        #[serde(default)] sources: Vec<RawSource>,
        #[serde(default)] cautions: Vec<RawCaution>,
        #[serde(default)] factors: Vec<RawFactor>,
        #[serde(default)] faults: Vec<RawFault>,
        #[serde(default)] observations: Vec<RawObservation>,
        #[serde(default)] readings: Vec<RawReading>,
        #[serde(default)] repairs: Vec<RawRepair>,
        #[serde(default)] scopes: Vec<RawScope>,
        #[serde(default)] motors: Vec<RawMotor>,
        #[serde(default)] measurements: Vec<RawMeasurement>,
        #[serde(default)] topics: Vec<RawTopic>,
        #[serde(default)] lessons: Vec<RawLesson>,
        #[serde(default)] courses: Vec<RawCourse>,
        #[serde(default)] physics: Vec<RawPhysics>,
        #[serde(default)] looks: Vec<RawLook>,
        shop: Option<RawShop>,
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RawKind {
    Current,
    Voltage,
    Resistance,
    Length,
    Speed,
    Temperature,
    Angle,
    Force,
    Mass,
    Time,
    Ratio,
    Torque,
    Power,
    Energy,
    Pressure,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RawDerive {
    Value,
    Ratio,
    Difference,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RawQuantity {
    CoilResistance,
    TurnsShorted,
    ContactResistance,
    LeadResistance,
    TerminalShunt,
    Flux,
    Drag,
    SpeedDrag,
    StartingDrag,
    Advance,
    SupplyResistance,
    Load,
    Throttle,
    Heat,
    Insulation,
    BrushLength,
    SpringForce,
    EndPlay,
    CommutatorMargin,
    CommutatorRunout,
    SlotDepth,
    ShaftRunout,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RawOf {
    One,
    All,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RawFigure {
    LowestResistance,
    ResistanceSwing,
    Insulation,
    EndPlay,
    FreeCurrent,
    FreeSpeed,
    StartingVoltage,
    CanTemperature,
    LoadedVoltage,
    ForwardOverReverse,
    ShorterBrush,
    WeakerSpring,
    TrackDiameter,
    TrackMargin,
    TrackRunout,
    ShallowestSlot,
    ShaftRunout,
    HighestCoil,
    LowestCoil,
}
