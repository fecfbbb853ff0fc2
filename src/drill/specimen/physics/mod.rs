//! A motor's numbers from its physics, so that all readings agree with each other.
//!
//! From the motor's nominal data a sound motor is built whose ring of coils, field and drag give just these data;
//! history and faults change its quantities (`knowledge/physics.yaml`), and every reading is worked out anew
//! from what they are then. So a shorted coil shows in resistance, current, heat and speed alike.

mod body;
mod nominal;
mod ring;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
pub(in crate::drill) mod tests;

use indexmap::IndexMap;
use rand::Rng;

use super::Specimen;
use crate::drill::figures;
use crate::knowledge::{Figure, Knowledge, Motor, Quantity, Reading, Spread};
use crate::network::BeliefNet;
use body::{Body, between};
use ring::{Means, Ring};

/// Radians a second in one turn a minute.
const RAD_PER_S: f64 = crate::bench::motor::RAD_PER_S;
/// Current limit of the bench supply, in nominal no-load currents.
const LIMIT: f64 = 4.0;
/// Warming of a sound can in two minutes without a load, least and most, in K.
const WARMING: (f64, f64) = (12.0, 22.0);
/// Change of speed for each degree of advance; half of what forward and reverse speed differ by.
const PER_DEGREE: (f64, f64) = (0.0015, 0.005);
/// Growth of the drag for each degree that the brushes stand off neutral.
const DRAG_PER_DEGREE: f64 = 0.025;
/// Current under the usual load in nominal no-load currents, and what a sound pack then loses of its voltage.
const UNDER_LOAD: (f64, f64) = (8.0, 0.07);
/// Voltage of a full pack over the nominal.
const FULL_PACK: f64 = 1.05;
/// Shaft positions at which the resistance is read.
const STOPS: usize = 6;
/// Top of an ordinary meter's highest range, in ohm.
const TOP_OF_METER: f64 = 2e7;
/// An open coil over the others, as it is written down.
const OPEN: f64 = 1000.0;

impl Specimen {
    /// Works out the numbers of this motor from the physics of `motor` and puts them in the place of what the
    /// network alone said: readings, and the states of the observations that they band. What is looked at or
    /// listened to stays as it was drawn.
    ///
    /// # Errors
    ///
    /// A sentence, when the motor's data lack voltage, resistance, no-load current or no-load speed, or when these
    /// contradict each other.
    pub fn physical<R: Rng + ?Sized>(
        mut self,
        knowledge: &Knowledge,
        net: &BeliefNet,
        motor: &Motor,
        rng: &mut R,
    ) -> Result<Specimen, String> {
        let mut body = Body::built(motor, rng)?;
        let per_degree = between(PER_DEGREE.0, PER_DEGREE.1, rng);
        body.live(knowledge, net, &self, rng);
        let built = Built::of(motor, &body, per_degree)?;
        body.fail(knowledge, net, &self, rng);
        let shown = built.readings(motor, &body, rng);
        self.readings = IndexMap::new();
        for reading in &knowledge.readings {
            let Some((_, value)) = shown.iter().find(|(f, _)| Some(*f) == reading.figure) else { continue };
            self.read(knowledge, net, motor, reading, *value, rng);
        }
        self.follow(knowledge, net);
        Ok(self)
    }

    /// Brings into line with the figures what follows from them, and then leaves out what nobody can measure on
    /// such a motor.
    pub(in crate::drill) fn follow(&mut self, knowledge: &Knowledge, net: &BeliefNet) {
        for (observation, state) in net.observations.iter().zip(&mut self.observations) {
            let physics = knowledge.physics_of(&observation.id);
            for follows in physics.iter().flat_map(|p| &p.follows) {
                if let Some(figure) = self.readings.get(&follows.reading) {
                    *state = follows.with(*figure, *state);
                }
            }
        }
        let forbidden = |id: &String| self.forbids(knowledge, net, id).is_some();
        let lost: Vec<String> = self.readings.keys().filter(|id| forbidden(id)).cloned().collect();
        self.readings.retain(|id, _| !lost.contains(id));
    }

    /// One reading with the scatter of its instrument, and the states that it bands.
    fn read<R: Rng + ?Sized>(
        &mut self,
        knowledge: &Knowledge,
        net: &BeliefNet,
        motor: &Motor,
        reading: &Reading,
        value: f64,
        rng: &mut R,
    ) {
        let deviation = match reading.uncertainty {
            Spread::Relative(part) => part * value.abs(),
            Spread::Absolute(deviation) => deviation,
        };
        let [(_, least), (_, most)] = &reading.plausible;
        // What scatters beyond what can be, such as a highest coil below the median one, scatters back.
        let scattered = value + deviation * normal(rng);
        let folded = if scattered < *least { 2.0 * least - scattered } else { scattered };
        let folded = if folded > *most { 2.0 * most - folded } else { folded };
        // What is true of the motor is what the figure says that is written down, to the last digit.
        let value = figures::noted(reading, Some(motor), folded.clamp(*least, *most));
        // Without the nominal value that it is set against, nobody can use it.
        let Ok(all) = figures::states(knowledge, Some(motor), reading, value) else { return };
        for (observation, state) in all {
            if let Some(i) = net.observations.iter().position(|o| o.id == observation) {
                self.observations[i] = state;
            }
        }
        self.readings.insert(reading.id.clone(), value);
    }
}

/// A standard normal number (Box and Muller 1958).
fn normal<R: Rng + ?Sized>(rng: &mut R) -> f64 {
    let radius = (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
    radius * (std::f64::consts::TAU * rng.random::<f64>()).cos()
}

/// What of a motor stays as it was built.
struct Built {
    volts: f64,
    current: f64,
    /// rad/s without a load.
    speed: f64,
    /// Peak voltage of a coil, in V s/rad.
    constant: f64,
    /// Nm.
    drag: f64,
    /// Torque for each volt at standstill in the worst position, over the constant.
    start: f64,
    /// Ohm, both brushes.
    contact: f64,
    /// Degrees.
    advance: f64,
    /// Part of the speed for each degree.
    per_degree: f64,
}

/// How a motor stands or runs unloaded.
struct Running {
    /// At the terminals.
    volts: f64,
    current: f64,
    speed: f64,
}

impl Built {
    /// The coils' voltage and the drag with which a motor runs as its data say.
    fn of(motor: &Motor, body: &Body, per_degree: f64) -> Result<Built, String> {
        let volts = nominal::above_zero(motor, nominal::VOLTAGE)?;
        let current = nominal::above_zero(motor, nominal::CURRENT)?;
        let speed = nominal::above_zero(motor, nominal::SPEED)? * RAD_PER_S;
        let contact = body.get(Quantity::ContactResistance);
        let means = Ring { coils: &body.coils, contact }.means();
        let constant = (means.a * volts - current) / (means.b * speed);
        let drag = constant * means.c * volts - constant * constant * means.d * speed;
        if !(constant > 0.0 && drag > 0.0) {
            let name = if motor.id.is_empty() { &motor.name } else { &motor.id };
            return Err(format!(
                "voltage, resistance, no-load current and speed of `{name}` contradict each other"
            ));
        }
        let advance = body.get(Quantity::Advance);
        Ok(Built { volts, current, speed, constant, drag, start: means.start, contact, advance, per_degree })
    }

    /// Nothing on the shaft, at the rated voltage or what the supply's limit leaves of it; `sense` is 1 forward and -1
    /// in reverse.
    fn unloaded(&self, body: &Body, means: &Means, sense: f64) -> Running {
        // Off the field's axis the coils change over under a weaker voltage, whichever way they turn; the current
        // they carry makes one direction faster than the other. The data were taken forward, with the advance
        // built in.
        let field = |advance: f64, sense: f64| {
            advance.to_radians().cos() / (1.0 + self.per_degree * advance * sense).max(0.5)
        };
        let weakened = field(body.get(Quantity::Advance), sense) / field(self.advance, 1.0);
        let k = self.constant * body.get(Quantity::Flux) * weakened;
        let off = |advance: f64| 1.0 + DRAG_PER_DEGREE * advance.abs();
        let set = off(body.get(Quantity::Advance)) / off(self.advance);
        let drag = self.drag * body.get(Quantity::Drag) * set;
        let growing = self.drag * body.get(Quantity::SpeedDrag) / self.speed;
        let shunt = body.get(Quantity::TerminalShunt);
        let at = |volts: f64| {
            let speed = ((k * means.c * volts - drag) / (k * k * means.d + growing)).max(0.0);
            Running { volts, current: means.a * volts - k * means.b * speed + volts / shunt, speed }
        };
        let limit = LIMIT * self.current;
        let full = at(self.volts);
        if full.current <= limit {
            return full;
        }
        // More volts, more current or more speed: the highest voltage that the limit allows.
        let (mut low, mut high) = (0.0, self.volts);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if at(middle).current <= limit { low = middle } else { high = middle }
        }
        Running { current: limit, ..at(low) }
    }

    /// What good meters show, without scatter.
    fn readings<R: Rng + ?Sized>(&self, motor: &Motor, body: &Body, rng: &mut R) -> Vec<(Figure, f64)> {
        let get = |quantity: Quantity| body.get(quantity);
        let contact = get(Quantity::ContactResistance);
        let ring = Ring { coils: &body.coils, contact };
        let means = ring.means();
        let shunt = get(Quantity::TerminalShunt);
        // A sound contact is much the same all round, a bad one is not.
        let sound = self.contact.min(contact);
        let all = ring.at_rest();
        let first = rng.random_range(0..all.len());
        // Stops evenly round the turn; whether the brushes bridge there is chance.
        let stops: Vec<f64> = (0..STOPS)
            .map(|i| all[(first + i * all.len() / STOPS + rng.random_range(0..2)) % all.len()])
            .collect();
        let rest: Vec<f64> = (stops.into_iter())
            .map(|r| {
                let touch = sound * (0.1 * normal(rng)).exp() + (contact - sound) * (0.5 * normal(rng)).exp();
                1.0 / (1.0 / (r + touch) + 1.0 / shunt)
            })
            .collect();
        let lowest = rest.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = rest.iter().copied().fold(0.0, f64::max);
        let (forward, reverse) = (self.unloaded(body, &means, 1.0), self.unloaded(body, &means, -1.0));
        let mut outer: Vec<f64> = body.coils.iter().map(|c| c.outer()).collect();
        outer.sort_by(f64::total_cmp);
        let median = outer[outer.len() / 2];
        let warming = between(WARMING.0, WARMING.1, rng) * get(Quantity::Heat);
        // What a bridge beside the winding takes does not warm the can.
        let into = forward.current - forward.volts / shunt;
        let heat = forward.volts * into / (self.volts * self.current);
        let room = between(17.0, 25.0, rng);
        let (load, loss) = UNDER_LOAD;
        let under_load = load * self.current * get(Quantity::Load) / get(Quantity::Flux);
        let pack = loss * self.volts / (load * self.current) * get(Quantity::SupplyResistance);
        let lead = get(Quantity::LeadResistance);
        let source = FULL_PACK * self.volts * get(Quantity::Throttle);
        let through = (under_load * (pack + lead)).min(source);
        // A bridge from terminal to terminal divides what is left.
        let left = (source - through) / (1.0 + (pack + lead) / shunt);
        let minimum = nominal::known(motor, nominal::MINIMUM);
        let margin = get(Quantity::CommutatorMargin);
        let mut out = vec![
            (Figure::LowestResistance, lowest),
            (Figure::ResistanceSwing, (highest / lowest).min(OPEN)),
            (Figure::Insulation, get(Quantity::Insulation).min(TOP_OF_METER)),
            (Figure::EndPlay, get(Quantity::EndPlay)),
            (Figure::FreeCurrent, forward.current),
            (Figure::FreeSpeed, forward.speed / RAD_PER_S),
            (Figure::CanTemperature, room + warming * heat),
            (Figure::LoadedVoltage, left.max(0.0)),
            (Figure::ShorterBrush, get(Quantity::BrushLength)),
            (Figure::TrackRunout, get(Quantity::CommutatorRunout)),
            (Figure::ShallowestSlot, get(Quantity::SlotDepth)),
            (Figure::ShaftRunout, get(Quantity::ShaftRunout)),
            (Figure::HighestCoil, (outer[outer.len() - 1] / median).min(OPEN)),
            (Figure::LowestCoil, outer[0] / median),
        ];
        if let Some(spring) = nominal::of_kind(motor, nominal::SPRING) {
            out.push((Figure::WeakerSpring, spring * get(Quantity::SpringForce)));
        }
        if let Some(start) = nominal::of_kind(motor, nominal::START) {
            let grip = means.start * get(Quantity::Flux) / self.start;
            out.push((Figure::StartingVoltage, start * get(Quantity::StartingDrag) / grip.max(1e-9)));
        }
        if forward.speed > 0.0 && reverse.speed > 0.0 {
            out.push((Figure::ForwardOverReverse, forward.speed / reverse.speed));
        }
        match minimum {
            Some(minimum) => out.push((Figure::TrackDiameter, minimum + margin)),
            None => out.push((Figure::TrackMargin, margin)),
        }
        out
    }
}
