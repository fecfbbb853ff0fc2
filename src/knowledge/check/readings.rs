//! Readings, and the motors whose nominal values they are compared with.

use std::collections::HashSet;

use indexmap::IndexMap;

use super::Context;
use crate::knowledge::diagnostic::Code;
use crate::knowledge::model::*;
use crate::knowledge::places::quoted;
use crate::knowledge::raw::*;
use crate::knowledge::source::Trail;
use crate::knowledge::suggest::nearest;

/// The kinds that have a unit.
const WITH_UNIT: [Kind; 14] = [
    Kind::Current,
    Kind::Voltage,
    Kind::Resistance,
    Kind::Length,
    Kind::Speed,
    Kind::Temperature,
    Kind::Angle,
    Kind::Force,
    Kind::Mass,
    Kind::Time,
    Kind::Torque,
    Kind::Power,
    Kind::Energy,
    Kind::Pressure,
];

impl Context<'_> {
    pub fn reading(&mut self, raw: &RawReading, at: &Trail) -> Reading {
        let kind = kind(raw.kind);
        let basis = self.basis(raw.basis.as_ref(), at);
        let (low, high) = &raw.plausible;
        let range = at.key("plausible");
        let plausible = [low, high].map(|text| text.trim().to_owned());
        let ends = [0, 1].map(|i| self.quantity(kind, &plausible[i], &range.item(i)));
        if let [Some(low), Some(high)] = ends
            && low >= high
        {
            self.report(
                Code::Number,
                &range,
                "the least plausible value is not below the greatest",
                "Least first.",
            );
        }
        let [low, high] = plausible;
        let derive = self.derive(raw, kind, at);
        Reading {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            kind,
            ask: self.ask(raw, at),
            uncertainty: self.spread(kind, &raw.uncertainty, &at.key("uncertainty")),
            plausible: [(low, ends[0].unwrap_or(0.0)), (high, ends[1].unwrap_or(0.0))],
            bands: self.bands(raw, kind, &derive, at),
            figure: self.figure(raw, kind, at),
            derive,
            basis,
        }
    }

    /// What physics works out has to be of the reading's kind.
    fn figure(&mut self, raw: &RawReading, kind: Kind, at: &Trail) -> Option<Figure> {
        let figure = figure(raw.figure?);
        if figure.kind() != kind {
            let message = format!("this figure is a {}, the reading a {}", word(figure.kind()), word(kind));
            self.report(Code::Unfitting, &at.key("figure"), message, "Name another figure, or none.");
        }
        Some(figure)
    }

    /// A quantity as people write it, in the base unit of its kind.
    pub fn quantity(&mut self, kind: Kind, text: &str, at: &Trail) -> Option<f64> {
        let read = self.units.read(kind, text);
        self.finite(kind, text, read, at)
    }

    /// The difference of two quantities.
    fn difference(&mut self, kind: Kind, text: &str, at: &Trail) -> Option<f64> {
        let read = self.units.read_difference(kind, text);
        self.finite(kind, text, read, at)
    }

    fn finite(&mut self, kind: Kind, text: &str, read: Result<f64, String>, at: &Trail) -> Option<f64> {
        let problem = match read {
            Ok(value) if value.is_finite() => return Some(value),
            Ok(_) => "the number is not finite".to_owned(),
            Err(problem) => problem,
        };
        let found =
            self.found(Code::Quantity, at, format!("{} is not a {}", quoted(text), word(kind))).help(problem);
        self.sink.push(found);
        None
    }

    fn spread(&mut self, kind: Kind, text: &str, at: &Trail) -> Spread {
        let text = text.trim();
        let spread = match text.strip_suffix('%') {
            Some(percent) => match percent.trim().parse::<f64>() {
                Ok(percent) => Spread::Relative(percent / 100.0),
                Err(_) => {
                    let help = "Write a percentage such as `5 %`, or a quantity with its unit.";
                    self.report(Code::Quantity, at, format!("{} is not a percentage", quoted(text)), help);
                    return Spread::Relative(1.0);
                }
            },
            None => match self.difference(kind, text, at) {
                Some(value) => Spread::Absolute(value),
                None => return Spread::Relative(1.0),
            },
        };
        let (Spread::Relative(size) | Spread::Absolute(size)) = spread;
        self.positive(size, at, "the uncertainty");
        spread
    }

    fn derive(&mut self, raw: &RawReading, kind: Kind, at: &Trail) -> Derive {
        let key = raw.nominal.clone().unwrap_or_default();
        let derive = match raw.derive {
            RawDerive::Value => {
                if raw.nominal.is_some() {
                    let message = "the reading is banded as it is read, so no nominal value belongs to it";
                    self.report(
                        Code::Unfitting,
                        &at.key("nominal"),
                        message,
                        "Remove `nominal`, or change `derive`.",
                    );
                }
                return Derive::Value;
            }
            RawDerive::Ratio => Derive::Ratio(key.clone()),
            RawDerive::Difference => Derive::Difference(key.clone()),
        };
        if raw.nominal.is_none() {
            let message = "the key of the nominal value is missing";
            self.report(
                Code::Unfitting,
                &at.key("derive"),
                message,
                "Add `nominal:` with a key of the motors' data.",
            );
        } else {
            self.nominal_values(&key, kind, raw, at);
        }
        derive
    }

    /// What the motors say under a key that a reading is compared with.
    fn nominal_values(&mut self, key: &str, kind: Kind, raw: &RawReading, reading: &Trail) {
        let draft = self.draft;
        let motors = &draft.motors;
        let at = reading.key("nominal");
        if motors.torn || motors.entries.is_empty() {
            return;
        }
        if !motors.iter().any(|m| m.raw.nominal.contains_key(key)) {
            let known = motors.iter().flat_map(|m| m.raw.nominal.keys().map(String::as_str));
            let help = nearest(key, known).map(|near| format!("Did you mean `{near}`?"));
            let message = format!("no motor has the nominal value {}", quoted(key));
            let found = self.found(Code::UnknownId, &at, message).maybe_help(help);
            return self.sink.push(found);
        }
        // A motor that cannot be opened never comes to the readings that want it open.
        let opening = draft.stages.entries.values().position(|s| s.raw.opens);
        let opened = opening.is_some() && opening <= draft.stages.entries.get_index_of(&raw.stage);
        for motor in motors.iter() {
            let entry = Trail::Entry(motor.at);
            let nominal = entry.key("nominal");
            let Some(text) = motor.raw.nominal.get(key) else {
                if opened && !motor.raw.rebuildable {
                    continue;
                }
                let message = format!("{} lacks the nominal value {}", quoted(&motor.raw.id), quoted(key));
                let found = self
                    .found(Code::NoNominal, &nominal, message)
                    .related(self.docs.place(&at), "this reading is compared with it");
                self.sink.push(found.help("Without it the reading says nothing about this motor."));
                continue;
            };
            if let Some(value) = self.quantity(kind, text, &nominal.key(key))
                && raw.derive == RawDerive::Ratio
                && value <= 0.0
            {
                let message =
                    format!("the nominal value {} is {value}, and readings are divided by it", quoted(key));
                self.report(Code::Number, &nominal.key(key), message, "Write a value above 0.");
            }
        }
    }

    fn bands(&mut self, raw: &RawReading, kind: Kind, derive: &Derive, at: &Trail) -> Vec<Band> {
        let draft = self.draft;
        let list = at.key("bands");
        if raw.bands.is_empty() {
            let message = "the reading answers no observation";
            self.report(Code::Bands, &list, message, "Add at least one observation with its edges.");
        }
        let mut seen = HashSet::new();
        let mut bands = Vec::new();
        for (i, band) in raw.bands.iter().enumerate() {
            let at = list.item(i);
            if !seen.insert(&band.observation) {
                self.repeated(&band.observation, &at.key("observation"));
            }
            self.knows(&draft.observations, &band.observation, &at.key("observation"), "observation");
            let (side, edges, key) = match (&band.above, &band.below) {
                (Some(edges), None) => (Side::Above, edges, "above"),
                (None, Some(edges)) => (Side::Below, edges, "below"),
                _ => {
                    let help = "Write `above:` if greater is worse, `below:` if less is worse.";
                    self.report(Code::Unfitting, &at, "a band needs either `above` or `below`", help);
                    continue;
                }
            };
            if let Some(observation) = draft.observations.entries.get(&band.observation) {
                let states: Vec<&str> = observation.raw.states.iter().map(|s| s.id.as_str()).collect();
                let edges = self.edges(band, side, &states, edges, (kind, derive), &at.key(key));
                bands.push(Band { observation: band.observation.clone(), side, edges });
            }
        }
        bands
    }

    fn edges(
        &mut self,
        band: &RawBand,
        side: Side,
        states: &[&str],
        raw: &IndexMap<String, Scalar>,
        (kind, derive): (Kind, &Derive),
        at: &Trail,
    ) -> Vec<(usize, f64)> {
        let mut edges: Vec<(usize, f64)> = Vec::new();
        for (state, edge) in raw {
            let value = self.edge(edge, kind, derive, &at.key(state));
            match (states.iter().position(|s| s == state), value) {
                (Some(0), _) => {
                    let message = format!("{} is the normal state, which has no edge", quoted(state));
                    self.report(Code::Bands, &at.name(state), message, "Leave it out.");
                }
                (Some(index), Some(value)) => edges.push((index, value)),
                (Some(_), None) => {}
                (None, _) => self.unknown_state(&band.observation, state, states, &at.name(state)),
            }
        }
        if raw.is_empty() {
            self.report(
                Code::Bands,
                at,
                "this band has no edges",
                "Give each abnormal state the edge it begins at.",
            );
        }
        edges.sort_by_key(|(index, _)| *index);
        for pair in edges.windows(2) {
            let ((mild, from), (worse, to)) = (pair[0], pair[1]);
            let ordered = match side {
                Side::Above => from < to,
                Side::Below => from > to,
            };
            if !ordered {
                let (than, mild, worse) = match side {
                    Side::Above => ("above", states[mild], states[worse]),
                    Side::Below => ("below", states[mild], states[worse]),
                };
                let message = format!("the edge of {} is not {than} that of {}", quoted(worse), quoted(mild));
                self.report(
                    Code::Bands,
                    &at.key(worse),
                    message,
                    "The worse the state, the farther out its edge.",
                );
            }
        }
        edges
    }

    /// A plain number for a ratio, a quantity with a unit otherwise.
    fn edge(&mut self, edge: &Scalar, kind: Kind, derive: &Derive, at: &Trail) -> Option<f64> {
        let plain = matches!(derive, Derive::Ratio(_));
        match edge {
            Scalar::Number(value) if !value.is_finite() => {
                self.report(Code::Number, at, format!("the edge is {value}"), "Write a finite number.");
                None
            }
            Scalar::Number(value) if plain || kind == Kind::Ratio => Some(*value),
            Scalar::Number(value) => {
                let message = format!("the edge {value} has no unit");
                let help = format!("Write a {} with its unit, in quotes.", word(kind));
                self.report(Code::Quantity, at, message, &help);
                None
            }
            Scalar::Text(text) if plain => {
                let message = format!("{} is not a plain number", quoted(text));
                self.report(
                    Code::Quantity,
                    at,
                    message,
                    "The reading is banded as a ratio, which has no unit.",
                );
                None
            }
            Scalar::Text(text) if matches!(derive, Derive::Difference(_)) => self.difference(kind, text, at),
            Scalar::Text(text) => self.quantity(kind, text, at),
        }
    }

    pub fn motor(&mut self, raw: &RawMotor, at: &Trail) -> Motor {
        let nominal = at.key("nominal");
        let draft = self.draft;
        for (key, text) in &raw.nominal {
            self.id(key, &nominal.name(key));
            let read = draft.readings.iter().any(|r| r.raw.nominal.as_ref() == Some(key));
            // What no reading is compared with has no kind that is known here, but it has to have one.
            if !read && WITH_UNIT.iter().all(|kind| self.units.read(*kind, text).is_err()) {
                let message = format!("{} is not a quantity with a unit", quoted(text));
                self.report(
                    Code::Quantity,
                    &nominal.key(key),
                    message,
                    "Write a number and its unit, such as `7.2 V`.",
                );
            }
        }
        if raw.slots < 3 {
            let message = format!("the armature has {} slots", raw.slots);
            self.report(
                Code::Number,
                &at.key("slots"),
                message,
                "A two-pole armature that starts has 3 or more.",
            );
        }
        Motor {
            id: self.id(&raw.id, &at.key("id")),
            name: self.text(&raw.name, &at.key("name"), "the name"),
            can: self.text(&raw.can, &at.key("can"), "the size class of the can"),
            rebuildable: raw.rebuildable,
            slots: raw.slots,
            summary: self.text(&raw.summary, &at.key("summary"), "the summary"),
            replace_cost: self.not_negative(raw.replace_cost, &at.key("replace-cost"), "the price"),
            nominal: raw.nominal.clone(),
            basis: self.basis(raw.basis.as_ref(), at),
        }
    }
}

pub fn kind(raw: RawKind) -> Kind {
    match raw {
        RawKind::Current => Kind::Current,
        RawKind::Voltage => Kind::Voltage,
        RawKind::Resistance => Kind::Resistance,
        RawKind::Length => Kind::Length,
        RawKind::Speed => Kind::Speed,
        RawKind::Temperature => Kind::Temperature,
        RawKind::Angle => Kind::Angle,
        RawKind::Force => Kind::Force,
        RawKind::Mass => Kind::Mass,
        RawKind::Time => Kind::Time,
        RawKind::Ratio => Kind::Ratio,
        RawKind::Torque => Kind::Torque,
        RawKind::Power => Kind::Power,
        RawKind::Energy => Kind::Energy,
        RawKind::Pressure => Kind::Pressure,
    }
}

fn figure(raw: RawFigure) -> Figure {
    match raw {
        RawFigure::LowestResistance => Figure::LowestResistance,
        RawFigure::ResistanceSwing => Figure::ResistanceSwing,
        RawFigure::Insulation => Figure::Insulation,
        RawFigure::EndPlay => Figure::EndPlay,
        RawFigure::FreeCurrent => Figure::FreeCurrent,
        RawFigure::FreeSpeed => Figure::FreeSpeed,
        RawFigure::StartingVoltage => Figure::StartingVoltage,
        RawFigure::CanTemperature => Figure::CanTemperature,
        RawFigure::LoadedVoltage => Figure::LoadedVoltage,
        RawFigure::ForwardOverReverse => Figure::ForwardOverReverse,
        RawFigure::ShorterBrush => Figure::ShorterBrush,
        RawFigure::WeakerSpring => Figure::WeakerSpring,
        RawFigure::TrackDiameter => Figure::TrackDiameter,
        RawFigure::TrackMargin => Figure::TrackMargin,
        RawFigure::TrackRunout => Figure::TrackRunout,
        RawFigure::ShallowestSlot => Figure::ShallowestSlot,
        RawFigure::ShaftRunout => Figure::ShaftRunout,
        RawFigure::HighestCoil => Figure::HighestCoil,
        RawFigure::LowestCoil => Figure::LowestCoil,
    }
}

fn word(kind: Kind) -> &'static str {
    match kind {
        Kind::Current => "current",
        Kind::Voltage => "voltage",
        Kind::Resistance => "resistance",
        Kind::Length => "length",
        Kind::Speed => "speed",
        Kind::Temperature => "temperature",
        Kind::Angle => "angle",
        Kind::Force => "force",
        Kind::Mass => "mass",
        Kind::Time => "time",
        Kind::Ratio => "ratio",
        Kind::Torque => "torque",
        Kind::Power => "power",
        Kind::Energy => "energy",
        Kind::Pressure => "pressure",
    }
}
