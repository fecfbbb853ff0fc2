//! The simulated motor is itself held against what must be true of any motor.

mod simulator;

use simulator::{Drive, Fault, Motor, Noise, Recording, bar_to_bar, resistance_at, run, steady};
use std::f64::consts::{PI, TAU};

fn record(motor: &Motor, volts: f64, seconds: f64, rate: f64) -> Recording {
    let drive = Drive { volts: &|_| volts, load: &|_| 2e-3, settle: 0.04, seconds, rate, start: 0.1 };
    run(motor, &drive)
}

fn faults() -> [Option<Fault>; 6] {
    [
        None,
        Some(Fault::CoilOpen(1)),
        Some(Fault::CoilShorted(0, 0.3)),
        Some(Fault::BarRaised(2, 12.0)),
        Some(Fault::PoorJoint(1, 0.05)),
        Some(Fault::BrushAskew(4.0)),
    ]
}

#[test]
fn what_is_supplied_is_heat_work_and_store() {
    for k in [3, 4, 7] {
        for fault in faults() {
            let mut motor = Motor::new(k, 0.02, &mut Noise::new(k as u64)).advanced(8.0);
            motor.faults.extend(fault);
            let e = record(&motor, 7.2, 0.05, 20e3).energy;
            let electric = (e.heat + e.fields + e.shaft) / e.supplied - 1.0;
            assert!(
                electric.abs() < 0.005,
                "{k} bars, {fault:?}: {electric:.5} of the supply is missing, {e:?}"
            );
            let mechanical = (e.braked + e.motion) / e.shaft - 1.0;
            assert!(
                mechanical.abs() < 0.005,
                "{k} bars, {fault:?}: {mechanical:.5} of the work is missing, {e:?}"
            );
        }
    }
}

#[test]
fn speed_and_current_agree_with_the_averaged_model() {
    // V = I R + e(angle) w and T = e(angle) I (standard model of the permanent-magnet motor), averaged over a
    // turn: T = (V m1 - w m2) / R with m1 and m2 the mean and the mean square of e, and I = (V - w m1) / R.
    // Inductance, drop and brush width are taken small, because that model knows nothing of commutation.
    for k in [3, 4, 5, 7] {
        let mut motor = Motor::new(k, 0.0, &mut Noise::new(1));
        motor.coils.iter_mut().for_each(|c| c.henry *= 0.02);
        motor.brush = 6f64.to_radians();
        motor.contact = [400.0; 2];
        motor.drop = 0.0;
        let angles = || (0..720).map(|n| TAU * f64::from(n) / 720.0);
        let mean = |f: &dyn Fn(f64) -> f64| angles().map(f).sum::<f64>() / 720.0;
        let emf = |angle: f64| -> f64 {
            let wave = |j: usize| motor.shape(motor.axis(j, angle));
            // From one brush to the other lie the coils whose axes are between 0 and half a turn.
            let between = |j: &usize| motor.axis(*j, angle).rem_euclid(TAU) < PI;
            (0..k).filter(between).map(|j| motor.coils[j].strength * wave(j)).sum()
        };
        let (m1, m2) = (mean(&emf), mean(&|a| emf(a).powi(2)));
        assert!((m1 / motor.mean_constant() - 1.0).abs() < 1e-3, "{k} bars: {m1}");
        let ohm = 1.0 / mean(&|a| 1.0 / resistance_at(&motor, a));
        for (volts, load) in [(3.0, 0.02), (7.2, 0.02), (7.2, 0.05)] {
            let (current, rpm) = steady(&motor, volts, load);
            let speed = rpm * TAU / 60.0;
            let torque = motor.friction + motor.drag * speed + load;
            let want_speed = (volts * m1 - torque * ohm) / m2;
            assert!(
                (speed / want_speed - 1.0).abs() < 0.01,
                "{k} bars at {volts} V: {speed} for {want_speed}"
            );
            let want = (volts - want_speed * m1) / ohm;
            assert!((current / want - 1.0).abs() < 0.05, "{k} bars at {volts} V: {current} for {want}");
        }
    }
}

#[test]
fn smaller_steps_change_nothing_that_matters() {
    let motor = Motor::new(3, 0.02, &mut Noise::new(5)).advanced(6.0);
    let coarse = record(&motor, 7.2, 0.1, 20e3);
    // Four times the samples means a quarter of the step, as the turn per step is bounded from above.
    let fine = record(&motor, 7.2, 0.1, 800e3);
    assert!((coarse.rpm() / fine.rpm() - 1.0).abs() < 2e-3, "{} and {}", coarse.rpm(), fine.rpm());
    assert!((coarse.mean_current() / fine.mean_current() - 1.0).abs() < 0.02);
}

#[test]
fn faults_do_what_they_do_in_a_motor() {
    let sound = Motor::new(3, 0.0, &mut Noise::new(3));
    let (current, rpm) = steady(&sound, 7.2, 0.0);
    let shorted = sound.clone().with(Fault::CoilShorted(1, 0.5));
    let (shorted_current, shorted_rpm) = steady(&shorted, 7.2, 0.0);
    assert!(shorted_current > 2.0 * current, "{shorted_current} against {current}");
    assert!(shorted_rpm < rpm);
    // Advance against the rotation makes it faster than the same advance with it.
    let (_, forward) = steady(&sound.clone().advanced(12.0), 7.2, 0.0);
    let (_, reverse) = steady(&sound.clone().advanced(-12.0), 7.2, 0.0);
    assert!(forward > 1.01 * reverse, "{forward} against {reverse}");
    // An open coil leaves one path instead of two at some angles.
    let open = sound.clone().with(Fault::CoilOpen(0));
    let highest = |m: &Motor| (0..36).map(|n| resistance_at(m, TAU * n as f64 / 36.0)).fold(0.0, f64::max);
    assert!(highest(&open) > 1.2 * highest(&sound), "{} against {}", highest(&open), highest(&sound));
}

#[test]
fn the_ohmmeter_finds_the_ring_by_its_series_and_parallel_rule() {
    let mut noise = Noise::new(9);
    let motor = Motor::new(5, 0.05, &mut noise);
    let total: f64 = motor.coils.iter().map(|c| c.ohm).sum();
    for (read, coil) in bar_to_bar(&motor, 0.0, 0.0, &mut noise).iter().zip(&motor.coils) {
        let want = coil.ohm * (total - coil.ohm) / total;
        assert!((read / want - 1.0).abs() < 1e-6, "{read} for {want}");
    }
    let open = motor.clone().with(Fault::CoilOpen(2));
    let read = bar_to_bar(&open, 0.0, 0.0, &mut noise);
    let others = total - motor.coils[2].ohm;
    assert!((read[2] / others - 1.0).abs() < 1e-4, "{read:?}");
    assert!((read[0] / motor.coils[0].ohm - 1.0).abs() < 1e-4, "{read:?}");
}

#[test]
fn the_same_seed_gives_the_same_motor_and_the_same_current() {
    let once = || record(&Motor::new(7, 0.05, &mut Noise::new(11)), 7.2, 0.02, 20e3).current;
    assert_eq!(once(), once());
}
