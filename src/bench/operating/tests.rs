//! Working points by hand and from published examples; heat by its closed form; gearing that keeps.

use super::*;
use proptest::prelude::*;

fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got - wanted).abs() <= relative * wanted.abs(), "got {got}, wanted {wanted}");
}

fn hobby() -> Motor {
    Motor::from_no_load(7.2, 2.0, 20_000.0, 0.1).unwrap()
}

const PACK: Supply = Supply { volts: 7.2, resistance: 0.0 };

const BUGGY: Vehicle = Vehicle {
    mass: 2.0,
    slope: 5.710_593_137,
    rolling: 0.03,
    tyre_radius: 0.033,
    ratio: 10.0,
    drive_efficiency: 0.9,
    drag_area: 0.0,
};

const CAN: Cooling = Cooling { ambient: 25.0, reference: 20.0, resistance: 3.2, capacity: 90.0, most: 120.0 };

/// A course problem: 12 V, 3800 rpm unloaded without current, 30 mNm held; at 2500 rpm it gives 10.263 mNm
/// and 2.6869 W and takes 4.0841 W (inputs from the problem, figures computed from them).
#[test]
fn a_load_by_torque() {
    let ke = 12.0 / rad_per_s(3800.0);
    let motor = Motor { ke, resistance: ke * 12.0 / 0.030, brush_drop: 0.0, drag: 0.0, drag_per_speed: 0.0 };
    let supply = Supply { volts: 12.0, resistance: 0.0 };
    let at = working(&motor, &supply, &Load::Torque(10.263e-3)).unwrap();
    near(at.rpm, 2500.0, 1e-4);
    near(at.current, 0.34034, 1e-4);
    near(at.output, 2.6869, 1e-4);
    near(at.heat, 1.3972, 1e-4);
    near(at.efficiency, 2.6869 / 4.0841, 1e-4);
}

/// By hand: 10 % slope (sin 0.099504, cos 0.995037), 2 kg, 3 % rolling, 33 mm tyres, ratio 10, 90 %.
/// F = 19.6133 N x (0.099504 + 0.029851) = 2.53708 N; 83.7236 mNm at the wheel, 9.30263 mNm at the motor;
/// I = 2 A + 9.30263 / 3.34225 A = 4.78334 A; E = 6.72167 V, 19 204.8 rpm; 6.6367 m/s; 16.838 W at the wheel.
#[test]
fn a_vehicle_by_hand() {
    let at = working(&hobby(), &PACK, &Load::Vehicle(BUGGY)).unwrap();
    near(BUGGY.force(0.0), 2.53708, 1e-5);
    near(at.torque, 9.30263e-3, 1e-5);
    near(at.current, 4.78334, 1e-5);
    near(at.rpm, 19_204.8, 1e-5);
    near(BUGGY.speed(at.rpm), 6.6367, 1e-4);
    near(at.output * 0.9, 16.838, 1e-4);
    near(BUGGY.force(0.0) * BUGGY.speed(at.rpm), 16.838, 1e-4);
}

/// The air: at the speed found, motor and road balance, and it is slower than without.
#[test]
fn air_holds_a_vehicle_back() {
    let fast = Vehicle { slope: 0.0, ratio: 6.0, drag_area: 0.02, ..BUGGY };
    let at = working(&hobby(), &PACK, &Load::Vehicle(fast)).unwrap();
    near(at.torque, fast.torque(at.rpm), 1e-9);
    // Half of 1.225 kg/m3 times 0.02 m2 times the speed squared, beside 2 kg x 9.80665 m/s2 x 0.03.
    let v = fast.speed(at.rpm);
    near(fast.force(v), 0.588_399 + 0.01225 * v * v, 1e-9);
    let still = working(&hobby(), &PACK, &Load::Vehicle(Vehicle { drag_area: 0.0, ..fast })).unwrap();
    assert!(at.rpm < still.rpm && at.current > still.current);
    let almost = working(&hobby(), &PACK, &Load::Vehicle(Vehicle { drag_area: 1e-12, ..fast })).unwrap();
    near(almost.current, still.current, 1e-9);
}

#[test]
fn a_weak_pack_takes_its_share() {
    let weak = Supply { volts: 7.2, resistance: 0.05 };
    let at = working(&hobby(), &weak, &Load::Torque(0.0334225)).unwrap();
    near(at.current, 12.0, 1e-5);
    near(at.volts, 7.2 - 0.6, 1e-5);
    near(at.rpm, (6.6 - 1.2) * 2857.142857, 1e-5);
    // The pack's own heat is no heat in the motor.
    near(at.heat + at.output, 6.6 * 12.0, 1e-5);
    near(held(&hobby(), &weak).unwrap().current, 7.2 / 0.15, 1e-9);
}

/// IEC 60034-1 (from memory), and standard annealed copper: 0.1000 ohm at 20 degC is 0.1236 ohm at 80.2 degC.
#[test]
fn copper_gains_resistance_with_heat() {
    near(copper(0.1, 20.0, 80.18), 0.1236, 1e-4);
    near(copper(0.085, 31.0, 20.0), 0.081485, 1e-4);
    assert_eq!(copper(0.1, 20.0, 20.0), 0.1);
}

/// Without drag the current is the load's alone and heat grows in a straight line with temperature:
/// T = (Ta + 235 k) / (1 - k), k = Rth I^2 R / (235 + T0); reached as exp(-t (1 - k) / (Rth C)).
#[test]
fn warmth_has_its_closed_form() {
    let motor = Motor { drag: 0.0, ..hobby() };
    let current = 12.0;
    let load = Load::Torque(motor.ke * current);
    let k = CAN.resistance * current * current * 0.1 / 255.0;
    let end = (25.0 + 235.0 * k) / (1.0 - k);
    let warmth = CAN.warmth(&motor, &PACK, &load, None).unwrap();
    near(warmth.winding.unwrap(), end, 1e-6);
    near(warmth.hot.unwrap().heat, (end - 25.0) / 3.2, 1e-6);
    assert_eq!(warmth.seconds_to_most, None);
    let seconds = 200.0;
    let then = end + (25.0 - end) * f64::exp(-seconds * (1.0 - k) / (3.2 * 90.0));
    near(CAN.warmth(&motor, &PACK, &load, Some(seconds)).unwrap().winding.unwrap(), then, 1e-4);
    // 20 A: it would end beyond 120 degC, and gets there after this time.
    let load = Load::Torque(motor.ke * 20.0);
    let k = CAN.resistance * 400.0 * 0.1 / 255.0;
    let end = (25.0 + 235.0 * k) / (1.0 - k);
    assert!(end > 120.0);
    let when = -(3.2 * 90.0) / (1.0 - k) * ((end - 120.0) / (end - 25.0)).ln();
    near(CAN.warmth(&motor, &PACK, &load, None).unwrap().seconds_to_most.unwrap(), when, 1e-3);
}

#[test]
fn heat_that_feeds_itself_has_no_end() {
    let motor = Motor { drag: 0.0, ..hobby() };
    // k above 1: more than 28.2 A.
    let warmth = CAN.warmth(&motor, &PACK, &Load::Torque(motor.ke * 29.0), None).unwrap();
    assert_eq!((warmth.winding, warmth.hot), (None, None));
    assert!(warmth.seconds_to_most.unwrap() < 120.0);
}

#[test]
fn the_ratio_advised_keeps_within_and_the_next_taller_does_not() {
    let motor = hobby();
    let most = current_advised(&motor, &PACK).unwrap();
    // Half-way from 12 A to 37 A.
    near(most, 24.5, 1e-9);
    let heavy = Vehicle { mass: 4.0, slope: 11.0, ..BUGGY };
    let advice = lowest_ratio(&motor, &PACK, &heavy, &CAN, None, most).unwrap().unwrap();
    assert!(advice.winding <= 120.0 && advice.at.current <= most);
    let taller = Load::Vehicle(heavy.geared(advice.ratio - 0.2));
    let hot = CAN.warmth(&motor, &PACK, &taller, None).unwrap().winding.unwrap_or(f64::INFINITY);
    let draws = working(&motor, &PACK, &taller).unwrap().current;
    assert!(hot > 120.0 || draws > most, "{advice:?}: {hot} degC, {draws} A");
    // A short run bears a taller gear.
    let short = lowest_ratio(&motor, &PACK, &heavy, &CAN, Some(60.0), most).unwrap().unwrap();
    assert!(short.ratio < advice.ratio);
    // No ratio helps a motor whose idling alone is too much.
    let hopeless = Cooling { resistance: 20.0, ..CAN };
    assert_eq!(lowest_ratio(&motor, &PACK, &heavy, &hopeless, None, most).unwrap(), None);
}

#[test]
fn the_torque_allowed_is_the_edge() {
    let motor = hobby();
    let most = current_advised(&motor, &PACK).unwrap();
    let torque = allowed_torque(&motor, &PACK, &CAN, None, most).unwrap().unwrap();
    let hot = |t: f64| CAN.warmth(&motor, &PACK, &Load::Torque(t), None).unwrap().winding.unwrap();
    assert!(hot(torque) <= 120.0 && hot(torque * 1.001) > 120.0);
    assert_eq!(allowed_torque(&motor, &PACK, &Cooling { resistance: 20.0, ..CAN }, None, most), Ok(None));
}

#[test]
fn nonsense_is_refused_in_words() {
    let said = |vehicle: Vehicle| working(&hobby(), &PACK, &Load::Vehicle(vehicle)).unwrap_err().to_string();
    assert!(said(Vehicle { mass: 0.0, ..BUGGY }).contains("the mass is 0; it must be above 0 kg"));
    assert!(said(Vehicle { slope: 80.0, ..BUGGY }).contains("between -60 and 60"));
    assert!(said(Vehicle { slope: -20.0, ..BUGGY }).contains("rolls down the slope by itself"));
    assert!(said(Vehicle { drive_efficiency: 1.2, ..BUGGY }).contains("at most 1"));
    assert!(said(Vehicle { ratio: f64::NAN, ..BUGGY }).contains("NaN"));
    assert!(said(Vehicle { ratio: 0.1, ..BUGGY }).contains("holds it still"));
    assert!(said(Vehicle { ratio: 0.1, drag_area: 0.1, ..BUGGY }).contains("holds it still"));
    let supply = Supply { volts: 0.0, resistance: 0.0 };
    assert!(working(&hobby(), &supply, &Load::Torque(0.01)).is_err());
    assert!(working(&hobby(), &Supply { resistance: -1.0, ..PACK }, &Load::Torque(0.01)).is_err());
    assert!(working(&hobby(), &PACK, &Load::Torque(f64::NAN)).is_err());
    let cold = Cooling { most: 20.0, ..CAN };
    assert!(cold.warmth(&hobby(), &PACK, &Load::Torque(0.01), None).is_err());
    assert!(CAN.warmth(&hobby(), &PACK, &Load::Torque(0.01), Some(0.0)).is_err());
}

proptest! {
    /// Power balances in every vehicle: supply, motor, drive, road.
    #[test]
    fn power_balances(
        mass in 0.2..10.0, slope in 0.0..20.0, ratio in 3.0..40.0, share in 0.5..1.0,
        area in 0.0..0.05, ohm in 0.0..0.1,
    ) {
        let vehicle = Vehicle { mass, slope, ratio, drive_efficiency: share, drag_area: area, ..BUGGY };
        let supply = Supply { volts: 7.2, resistance: ohm };
        if let Ok(at) = working(&hobby(), &supply, &Load::Vehicle(vehicle)) {
            let speed = vehicle.speed(at.rpm);
            prop_assert!((at.output * share - vehicle.force(speed) * speed).abs() < 1e-6);
            prop_assert!((at.output + at.heat + at.current.powi(2) * ohm - 7.2 * at.current).abs() < 1e-6);
            prop_assert!(at.efficiency > 0.0 && at.efficiency < 1.0);
        }
    }

    /// More time is never cooler, and never hotter than for ever.
    #[test]
    fn warming_only_climbs(torque in 0.0..0.07, seconds in 10.0..2000.0) {
        let end = |s| CAN.warmth(&hobby(), &PACK, &Load::Torque(torque), s).unwrap().winding;
        let (early, late, ever) = (end(Some(seconds)), end(Some(seconds * 1.5)), end(None));
        let high = |t: Option<f64>| t.unwrap_or(f64::INFINITY);
        prop_assert!(high(early) <= high(late) + 1e-6 && high(late) <= high(ever) + 1e-3);
    }
}
