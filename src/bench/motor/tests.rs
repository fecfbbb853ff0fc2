//! Published worked examples, and what must hold for every motor.

use super::*;
use proptest::prelude::*;

fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got - wanted).abs() <= relative * wanted.abs(), "got {got}, wanted {wanted}");
}

/// A motor without drag and brush drop.
fn bare(ke: f64, resistance: f64) -> Motor {
    Motor { ke, resistance, brush_drop: 0.0, drag: 0.0, drag_per_speed: 0.0 }
}

fn emf(motor: &Motor, at: &Working) -> f64 {
    motor.ke * at.rpm * RAD_PER_S
}

/// Kosow, Electric Machinery and Transformers, 2nd ed., Example 1-13: 125 V, 0.25 ohm, 60 A: 110 V.
#[test]
fn counter_emf_of_a_machine_on_a_bus() {
    let motor = bare(1.0, 0.25);
    near(emf(&motor, &motor.at_current(125.0, 60.0)), 110.0, 1e-12);
}

/// OpenStax College Physics, section on back emf (from memory): 6.00 V, back-emf 4.50 V, 3.00 A give
/// 0.500 ohm; from it 12.0 A at the start.
#[test]
fn toy_car_motor() {
    let motor = bare(0.01, (6.0 - 4.5) / 3.0);
    near(motor.resistance, 0.5, 1e-12);
    near(emf(&motor, &motor.at_current(6.0, 3.0)), 4.5, 1e-12);
    near(motor.stall_current(6.0), 12.0, 1e-12);
}

/// A physics text's problem: 115 V, 21.5 A at the start, 6.5 A running: 5.349 ohm, 80.23 V.
#[test]
fn start_and_running_current_give_resistance_and_back_emf() {
    let motor = bare(1.0, 115.0 / 21.5);
    near(motor.resistance, 5.349, 1e-4);
    near(emf(&motor, &motor.at_current(115.0, 6.5)), 80.23, 1e-4);
}

/// A machines text's problem: 460 V, 0.15 ohm: 442 V at 120 A, 84 A at 447.4 V.
#[test]
fn back_emf_and_current_of_a_large_machine() {
    let motor = bare(2.0, 0.15);
    near(emf(&motor, &motor.at_current(460.0, 120.0)), 442.0, 1e-12);
    let at = motor.at_torque(460.0, 2.0 * 84.0).unwrap();
    near(emf(&motor, &at), 447.4, 1e-12);
}

/// MIT 2.007 course pages on DC motors: most output at half the no-load speed and half the stall torque:
/// 600 rpm and 0.325 Nm give 300 rpm, 0.163 Nm; 3750 rpm and 0.0722 Nm give 1875 rpm, 0.0361 Nm.
#[test]
fn most_output_at_half_speed_and_half_torque() {
    for (free_rpm, stall, rpm, torque, watts) in
        [(600.0, 0.325, 300.0, 0.1625, 5.105), (3750.0, 0.0722, 1875.0, 0.0361, 7.088)]
    {
        let volts = 12.0;
        let ke = volts / (free_rpm * RAD_PER_S);
        let motor = bare(ke, ke * volts / stall);
        let at = motor.peak_power(volts).unwrap();
        near(at.rpm, rpm, 1e-12);
        near(at.torque, torque, 1e-12);
        near(at.output, watts, 1e-3);
    }
}

/// A course problem: 12 V, 3800 rpm unloaded without current, 30 mNm at stall, running at 2500 rpm. The
/// inputs are the problem's, the figures follow from them.
#[test]
fn motor_between_no_load_and_stall() {
    let ke = 12.0 / (3800.0 * RAD_PER_S);
    near(ke, 0.030156, 1e-4);
    let motor = bare(ke, ke * 12.0 / 0.030);
    near(motor.resistance, 12.062, 1e-4);
    near(motor.stall_current(12.0), 0.9948, 1e-4);
    let at = motor.at_torque(12.0, 0.030 * (1.0 - 2500.0 / 3800.0)).unwrap();
    near(at.rpm, 2500.0, 1e-9);
    near(at.torque, 10.263e-3, 1e-4);
    near(at.current, 0.34034, 1e-4);
    near(emf(&motor, &at), 7.8947, 1e-4);
    near(at.volts * at.current, 4.0841, 1e-4);
    near(at.output, 2.6869, 1e-4);
    near(at.heat, 1.3972, 1e-4);
}

/// Textbook companion code 1445, example 8.16: 250 V, 4 poles, 500 conductors in 2 paths, 0.02 Wb, 0.25 ohm,
/// 12 A in the armature (14 A less 2 A of field), 300 W of rotational loss. The field's 500 W belong to the
/// wound machine alone, so the efficiency of 76.11 % counts them too.
#[test]
fn wound_machine_of_a_textbook() {
    // Ke = P Z phi / (2 pi A).
    let ke = 4.0 * 500.0 * 0.02 / (2.0 * PI * 2.0);
    let motor = bare(ke, 0.25);
    let at = motor.at_current(250.0, 12.0);
    near(emf(&motor, &at), 247.0, 1e-12);
    near(at.rpm, 741.0, 1e-9);
    near(at.output, 2964.0, 1e-9);
    near(at.torque, 38.197, 1e-4);
    let with_loss = Motor { drag: 300.0 / (741.0 * RAD_PER_S), ..motor }.at_current(250.0, 12.0);
    near(with_loss.output, 2664.0, 1e-9);
    near(with_loss.torque, 34.331, 1e-4);
    near(with_loss.output / (250.0 * 14.0), 0.7611, 1e-4);
}

/// Fitzgerald, Kingsley, Umans, Electric Machinery, 6th ed., ch. 7, permanent-magnet motor (from memory):
/// 1.03 ohm; 50 V, 2100 rpm, 1.25 A unloaded; then 48 V at 1700 rpm. The book's near 275 W comes from a
/// constant rounded to 0.22 V s/rad and a loss rounded to 61 W; unrounded it is 267.1 W.
#[test]
fn permanent_magnet_motor_of_a_textbook_and_what_rounding_does() {
    let motor = Motor::from_no_load(50.0, 1.25, 2100.0, 1.03).unwrap();
    near(motor.ke, 0.22151, 1e-4);
    let loss = motor.drag * 2100.0 * RAD_PER_S;
    near(loss, 60.89, 1e-3);
    let w = 1700.0 * RAD_PER_S;
    let current = (48.0 - motor.ke * w) / 1.03;
    near(current, 8.3166, 1e-3);
    near(motor.ke * w * current, 327.96, 1e-3);
    near(motor.ke * w * current - loss, 267.1, 1e-3);
    let rounded = 0.22 * w * (48.0 - 0.22 * w) / 1.03 - 61.0;
    near(rounded, 274.9, 1e-3);
    // With the drag a torque, not a constant loss, the slower shaft loses less.
    let at = motor.at_current(48.0, current);
    near(at.output, 327.96 - 60.89 * 1700.0 / 2100.0, 1e-3);
}

/// Follows from the model: best efficiency (1 - sqrt(I0/Is))^2 at sqrt(I0 Is).
#[test]
fn best_efficiency_has_its_closed_form() {
    for (free, stall, best) in [
        (1.0, 100.0, 0.81),
        (2.0, 50.0, 0.64),
        (2.0, 72.0, 25.0 / 36.0),
        (5.0, 45.0, 4.0 / 9.0),
        (1.0, 4.0, 0.25),
    ] {
        let motor = Motor { drag: 0.01 * free, ..bare(0.01, 10.0 / stall) };
        let at = motor.best_efficiency(10.0).unwrap();
        assert!((at.efficiency - best).abs() < 1e-9);
        near(at.current, f64::sqrt(free * stall), 1e-12);
    }
}

/// Follows from the model: 7.2 V, 0.100 ohm, 2.00 A, 20 000 rpm unloaded.
#[test]
fn hobby_motor_in_full() {
    let motor = Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap();
    near(motor.ke, 0.00334225, 1e-5);
    near(motor.rpm_per_volt(), 2857.14, 1e-5);
    near(motor.stall_current(7.2), 72.0, 1e-12);
    near(motor.stall_torque_gross(7.2), 0.240642, 1e-5);
    near(motor.stalled(7.2).torque, 0.233958, 1e-5);
    let best = motor.best_efficiency(7.2).unwrap();
    near(best.current, 12.0, 1e-12);
    near(emf(&motor, &best), 6.0, 1e-12);
    near(best.rpm, 17_142.857, 1e-7);
    near(best.torque, 0.0334225, 1e-5);
    near(best.output, 60.0, 1e-9);
    near(best.efficiency, 0.694444, 1e-5);
    let peak = motor.peak_power(7.2).unwrap();
    near(peak.current, 37.0, 1e-12);
    near(emf(&motor, &peak), 3.5, 1e-12);
    near(peak.rpm, 10_000.0, 1e-12);
    near(peak.torque, 0.116979, 1e-5);
    near(peak.output, 122.5, 1e-9);
    near(peak.efficiency, 0.459835, 1e-5);
}

/// Magnets 60 K hotter, hard ferrite at -0.2 % a kelvin (Modelica Standard Library, HardFerrite record):
/// Ke falls to 0.880, the no-load speed rises to 1.13636 if I0 R is small, stall torque to 0.880, and to
/// 0.71209 when the copper is 60 K hotter too (R x 1.2358).
#[test]
fn hot_magnets_run_faster_and_pull_less() {
    let cold = bare(0.0033, 0.1);
    let magnets = Motor { ke: cold.ke * (1.0 - 0.002 * 60.0), ..cold };
    let both = Motor { resistance: 0.12358, ..magnets };
    let speed = |m: Motor| m.unloaded(7.2).unwrap().rpm;
    let stall = |m: Motor| m.stalled(7.2).torque;
    near(speed(magnets) / speed(cold), 1.13636, 1e-5);
    near(stall(magnets) / stall(cold), 0.880, 1e-9);
    near(stall(both) / stall(cold), 0.71209, 1e-5);
}

#[test]
fn constants_are_read_as_people_write_them() {
    for text in
        ["0.00334225 V s/rad", "3.34225 mV s/rad", "3.34225 mNm/A", "2857.145 rpm/V", "2.857145krpm/V"]
    {
        near(read_constant(text).unwrap(), 0.00334225, 1e-5);
    }
    for (text, said) in [
        ("0.0033", "write it as"),
        ("3 V/A", "is a voltage"),
        ("0 rpm/V", "above 0"),
        ("-3 mNm/A", "above 0"),
        ("", "write it as"),
        ("x rpm/V", "x"),
    ] {
        let why = read_constant(text).unwrap_err();
        assert!(why.contains(said), "{text}: {why}");
    }
}

#[test]
fn nonsense_is_refused_in_words() {
    let said = |r: Result<Motor, MotorError>| r.unwrap_err().to_string();
    assert!(said(Motor::from_no_load(7.2, 80.0, 20_000.0, 0.1)).contains("contradict each other"));
    assert!(said(Motor::from_no_load(7.2, 2.0, 0.0, 0.1)).contains("no-load speed is 0"));
    assert!(said(Motor::from_no_load(f64::NAN, 2.0, 1.0, 0.1)).contains("voltage is NaN"));
    assert!(said(Motor::from_no_load(7.2, -2.0, 1.0, 0.1)).contains("from 0 up"));
    let motor = Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap();
    assert!(matches!(motor.unloaded(0.1), Err(MotorError::TooFewVolts { .. })));
    assert!(matches!(motor.unloaded(f64::NAN), Err(MotorError::TooFewVolts { .. })));
    let stalls = motor.at_torque(7.2, 0.3).unwrap_err();
    assert!(stalls.to_string().contains("at most 233.96 mNm"), "{stalls}");
    assert!(motor.at_torque(7.2, -0.1).is_err());
}

fn any_motor() -> impl Strategy<Value = (Motor, f64)> {
    (5e-4..0.05, 0.02..2.0, 0.0..0.6, 1e-5..3e-3, 0.0..1e-6, 3.0..20.0).prop_map(
        |(ke, resistance, brush_drop, drag, drag_per_speed, volts)| {
            (Motor { ke, resistance, brush_drop, drag, drag_per_speed }, volts)
        },
    )
}

proptest! {
    /// Published ordering (MIT course pages): the speed of best efficiency lies between that of most output
    /// and no load. A page that puts best efficiency at half the voltage means most output.
    #[test]
    fn most_output_is_slower_than_best_efficiency((motor, volts) in any_motor()) {
        let Ok(free) = motor.unloaded(volts) else { return Ok(()) };
        let best = motor.best_efficiency(volts).unwrap();
        let peak = motor.peak_power(volts).unwrap();
        prop_assert!(peak.rpm < best.rpm && best.rpm < free.rpm);
        prop_assert!(best.efficiency >= peak.efficiency && peak.output >= best.output);
    }

    /// Volts, torque and power balance at every point; efficiency stays within 0 and 1; the closed forms
    /// are not beaten anywhere on the curve.
    #[test]
    fn every_point_balances((motor, volts) in any_motor()) {
        let Ok(curve) = motor.curve(volts, 101) else { return Ok(()) };
        let best = motor.best_efficiency(volts).unwrap();
        let peak = motor.peak_power(volts).unwrap();
        prop_assert!(curve[0].torque.abs() < 1e-9);
        prop_assert!(curve[100].rpm.abs() < 1e-6 * curve[0].rpm);
        for at in &curve {
            let w = at.rpm * RAD_PER_S;
            let sum = motor.brush_drop + at.current * motor.resistance + motor.ke * w;
            prop_assert!((sum - volts).abs() < 1e-9 * volts);
            let losses = at.current * motor.brush_drop
                + at.current.powi(2) * motor.resistance
                + (motor.drag + motor.drag_per_speed * w) * w;
            prop_assert!((at.heat - losses).abs() < 1e-9 * volts * at.current);
            prop_assert!((-1e-9..1.0).contains(&at.efficiency));
            prop_assert!(at.efficiency <= best.efficiency + 1e-12);
            prop_assert!(at.output <= peak.output + 1e-9);
        }
    }

    /// Asking by torque comes back with that torque.
    #[test]
    fn torque_in_torque_out((motor, volts) in any_motor(), part in 0.0..0.999) {
        if motor.unloaded(volts).is_err() { return Ok(()) }
        let load = motor.stalled(volts).torque * part;
        if let Ok(at) = motor.at_torque(volts, load) {
            prop_assert!((at.torque - load).abs() < 1e-9);
            prop_assert!(at.rpm > 0.0);
        }
    }

    /// A motor made from its no-load point has that no-load point.
    #[test]
    fn no_load_point_comes_back(volts in 1.0..30.0, current in 0.01..10.0, rpm in 100.0..60_000.0, r in 0.01..3.0) {
        if let Ok(motor) = Motor::from_no_load(volts, current, rpm, r) {
            let free = motor.unloaded(volts).unwrap();
            prop_assert!((free.rpm / rpm - 1.0).abs() < 1e-9 && (free.current / current - 1.0).abs() < 1e-9);
        }
    }
}
