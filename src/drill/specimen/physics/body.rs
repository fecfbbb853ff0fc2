//! The quantities of one motor: as it was built, and what its history and faults have made of them.

use rand::Rng;

use super::ring::Coil;
use super::{nominal, normal};
use crate::drill::specimen::Specimen;
use crate::knowledge::{Change, ChangeBy, Knowledge, Motor, Quantity};
use crate::network::BeliefNet;

/// Share of the nominal resistance that is brush contact in a sound motor; by judgement.
const CONTACT_SHARE: f64 = 0.1;
/// Differences from coil to coil of a sound winding, one standard deviation.
const COIL_SPREAD: f64 = 0.015;

/// A motor's quantities, in base units.
#[derive(Debug, Clone)]
pub(super) struct Body {
    values: [f64; Quantity::COUNT],
    pub coils: Vec<Coil>,
}

impl Body {
    /// As built: the motor's own data, and what motors of its size usually have where they say nothing.
    pub fn built<R: Rng + ?Sized>(motor: &Motor, rng: &mut R) -> Result<Body, String> {
        let resistance = nominal::above_zero(motor, nominal::RESISTANCE)?;
        let slots = if motor.slots < 3 { 3 } else { motor.slots as usize };
        let contact = CONTACT_SHARE * resistance;
        // The nominal value is the lowest of all positions: with a coil bridged by each brush that can.
        let paths = if slots % 2 == 1 { (slots - 1) as f64 } else { (slots - 2) as f64 };
        let coil = 4.0 * (resistance - contact) / paths;
        let coils = (0..slots)
            .map(|_| Coil { resistance: coil * (1.0 + COIL_SPREAD * normal(rng)).max(0.5), shorted: 0.0 })
            .collect();
        let mut body = Body { values: [1.0; Quantity::COUNT], coils };
        let mut set = |quantity: Quantity, value: f64| body.values[quantity as usize] = value;
        let length = |key: &str, usual: f64| nominal::known(motor, key).unwrap_or(usual);
        let margin = length(nominal::COMMUTATOR, 7.5e-3) - length(nominal::MINIMUM, 6.86e-3);
        set(Quantity::TurnsShorted, 0.0);
        set(Quantity::ContactResistance, contact);
        set(Quantity::LeadResistance, between(0.004, 0.015, rng));
        set(Quantity::TerminalShunt, f64::INFINITY);
        set(Quantity::SpeedDrag, 0.0);
        set(Quantity::Advance, 0.0);
        set(Quantity::Insulation, between(2e7, 1e9, rng));
        set(Quantity::BrushLength, length(nominal::BRUSH, 8e-3));
        set(Quantity::EndPlay, (length(nominal::END_PLAY, 2e-4) + 5e-5 * normal(rng)).clamp(1e-4, 3.5e-4));
        set(Quantity::CommutatorMargin, margin - between(0.01e-3, 0.25e-3, rng));
        set(Quantity::CommutatorRunout, between(2e-6, 15e-6, rng));
        set(Quantity::SlotDepth, between(0.35e-3, 0.6e-3, rng));
        set(Quantity::ShaftRunout, between(3e-6, 18e-6, rng));
        set(Quantity::SpringForce, 1.0 + 0.05 * normal(rng));
        set(Quantity::Drag, 1.0 + 0.05 * normal(rng));
        set(Quantity::StartingDrag, 1.0 + 0.08 * normal(rng));
        set(Quantity::Flux, 1.0 + 0.015 * normal(rng));
        set(Quantity::SupplyResistance, between(0.7, 1.4, rng));
        set(Quantity::Load, between(0.85, 1.15, rng));
        Ok(body)
    }

    pub fn get(&self, quantity: Quantity) -> f64 {
        self.values[quantity as usize]
    }

    /// What the history has made of it.
    pub fn live<R: Rng + ?Sized>(
        &mut self,
        knowledge: &Knowledge,
        net: &BeliefNet,
        s: &Specimen,
        rng: &mut R,
    ) {
        for (factor, state) in net.factors.iter().zip(&s.factors) {
            let Some(physics) = knowledge.physics_of(&factor.id) else { continue };
            let state = factor.states.get(*state);
            for change in physics.changes.iter().filter(|c| c.state.as_ref() == state) {
                self.change(change, rng);
            }
        }
    }

    /// What the faults have made of it.
    pub fn fail<R: Rng + ?Sized>(
        &mut self,
        knowledge: &Knowledge,
        net: &BeliefNet,
        s: &Specimen,
        rng: &mut R,
    ) {
        for j in s.present() {
            let physics = knowledge.physics_of(&net.faults[j].id);
            for change in physics.iter().flat_map(|p| &p.changes) {
                self.change(change, rng);
            }
        }
    }

    fn change<R: Rng + ?Sized>(&mut self, change: &Change, rng: &mut R) {
        if rng.random::<f64>() >= change.chance {
            return;
        }
        let [least, most] = change.range;
        let amount = between(least, most, rng);
        let changed = |value: f64| match change.by {
            ChangeBy::Factor => value * amount,
            ChangeBy::Add => value + amount,
            ChangeBy::Set => amount,
        };
        if change.quantity.of_coils() {
            let one = rng.random_range(0..self.coils.len());
            for (_, coil) in self.coils.iter_mut().enumerate().filter(|(i, _)| !change.one || *i == one) {
                match change.quantity {
                    Quantity::TurnsShorted => coil.shorted = changed(coil.shorted).clamp(0.0, 0.98),
                    _ => coil.resistance = changed(coil.resistance).max(1e-6),
                }
            }
            return;
        }
        let value = &mut self.values[change.quantity as usize];
        *value = changed(*value);
        if !matches!(change.quantity, Quantity::Advance | Quantity::CommutatorMargin) {
            *value = value.max(0.0);
        }
    }
}

/// Even in ratio where both ends are above zero, otherwise even.
pub(super) fn between<R: Rng + ?Sized>(least: f64, most: f64, rng: &mut R) -> f64 {
    let part = rng.random::<f64>();
    if least > 0.0 { least * (most / least).powf(part) } else { least + (most - least) * part }
}
