//! Trials of the bench's analyses on motors whose truth is known: one made, measured, analysed, compared.
#![allow(dead_code)]

use crate::simulator::{Adc, Drive, Fault, Motor, Noise, bar_to_bar, run, steady};
use commsense::bench::no_load::{self, Accuracy, Instruments, Known, Loaded, Point, Test};
use commsense::bench::ripple::table::{Hints, read};
use commsense::bench::ripple::{Expected, Ripple, RippleError, analyse};
use commsense::bench::winding::{Limits, Meter, Pairs, Verdict, judge};

/// What a ripple recording was, and what came out.
pub struct Recovered {
    /// True mean speed, rpm.
    pub rpm: f64,
    /// The analysis.
    pub found: Result<Ripple, RippleError>,
}

impl Recovered {
    /// Relative error of the speed; infinite when there is none.
    pub fn error(&self) -> f64 {
        self.found.as_ref().map_or(f64::INFINITY, |f| f.rpm.value / self.rpm - 1.0).abs()
    }
}

/// Records the current of a motor with `bars` bars for so many seconds, its voltage wavering by up to 2 %, with an
/// 8-bit converter and noise, writes it to a file and analyses that. `within` is how well the speed is known
/// beforehand: 1.2 means to 20 % or so, and none not at all.
pub fn ripple(bars: usize, fault: Option<Fault>, seed: u64, seconds: f64, within: Option<f64>) -> Recovered {
    let mut noise = Noise::new(1000 * bars as u64 + seed);
    let mut motor = Motor::new(bars, 0.02, &mut noise).advanced(noise.between(-4.0, 12.0));
    motor.faults.extend(fault);
    let (volts, waver) = (noise.between(3.0, 9.0), noise.between(0.0, 0.02));
    let wavering = |t: f64| volts * (1.0 + waver * (3.0 * t).sin());
    let rate = 30e3;
    let drive = Drive {
        volts: &wavering,
        load: &|_| 0.0,
        settle: 0.3,
        seconds,
        rate,
        start: noise.between(0.0, 6.0),
    };
    let made = run(&motor, &drive);
    let adc = Adc { noise: 0.05, bits: 8, range: 25.0 };
    let mut file = String::from("current (A)\n");
    for i in &made.current {
        file += &format!("{:.3}\n", adc.read(*i, &mut noise));
    }
    let rpm = made.rpm();
    let (expected, sure) = match within {
        Some(factor) => (Expected { rpm: rpm * noise.between(1.0 / factor, factor), factor }, true),
        None => (Expected { rpm: 15_000.0, factor: 1.8 }, false),
    };
    let hints = Hints { rate: Some(rate), ..Hints::default() };
    let found = read(file.as_bytes(), &hints).and_then(|r| analyse(&r, bars as u32, expected, sure));
    Recovered { rpm, found }
}

/// Whether the faulty coil is named rightly, and whether it alone is named, from one set of bar-to-bar readings with a
/// meter of 2 %. A poor joint sits at the wire of one coil, as an unsoldered end does.
pub fn coil_named(bars: usize, fault: Verdict, seed: u64) -> (bool, bool) {
    let mut noise = Noise::new(seed);
    let mut motor = Motor::new(bars, 0.005, &mut noise);
    let at = noise.below(bars);
    match fault {
        Verdict::Open => motor.faults.push(Fault::CoilOpen(at)),
        Verdict::Shorted => motor.faults.push(Fault::CoilShorted(at, 1.0)),
        Verdict::PartShorted => motor.faults.push(Fault::CoilShorted(at, 0.5)),
        Verdict::PoorJoint => motor.coils[at].ohm *= 2.0,
        Verdict::Sound => {}
    }
    let meter = Meter::new(0.02, 0.0).expect("a meter");
    let limits = Limits { open_above: 10.0, joint_above: 1.1, part_below: 0.95, shorted_below: 0.1 };
    let readings = bar_to_bar(&motor, 0.02, 0.0, &mut noise);
    let Ok(coils) = Pairs::of(&meter, 0.0, &readings).and_then(|pairs| pairs.coils()) else {
        return (false, false);
    };
    // Whole or part is the meter's to tell; which coil it is counts here.
    let short = |v: Verdict| matches!(v, Verdict::Shorted | Verdict::PartShorted);
    let verdicts = judge(&coils, &meter, 0.0, &limits).verdicts;
    let named = verdicts[at] == fault || (short(verdicts[at]) && short(fault));
    (named, named && (0..bars).all(|i| i == at || verdicts[i] == Verdict::Sound))
}

/// Which of the constants lie in their stated intervals: speed constant's Ke, resistance, drop of the brushes,
/// drag at rest; readings from the averaged model, with meters that err as they are said to.
pub fn constants_covered(seed: u64) -> Option<[bool; 4]> {
    let mut noise = Noise::new(seed);
    let (ke, ohm) = (noise.between(0.002, 0.008), noise.between(0.05, 0.3));
    let (drop, drag, growth) =
        (noise.between(0.1, 0.4), noise.between(2e-3, 6e-3), noise.between(0.3e-6, 2e-6));
    let meters = Instruments {
        volts: Accuracy { scale: 0.003, scatter: 0.002 },
        current: Accuracy { scale: 0.005, scatter: 0.005 },
        speed: Accuracy { scale: 0.001, scatter: 0.002 },
    };
    let scale = [meters.volts, meters.current, meters.speed].map(|a| 1.0 + a.scale * noise.normal());
    let mut reading = |volts: f64, load: f64| {
        // V = drop + I R + Ke w; Ke I = drag + growth w + load.
        let speed = (volts - drop - ohm * (drag + load) / ke) / (ke + ohm * growth / ke);
        let current = (drag + load + growth * speed) / ke;
        let mut seen =
            |value: f64, scale: f64, a: Accuracy| value * scale * (1.0 + a.scatter * noise.normal());
        Point {
            volts: seen(volts, scale[0], meters.volts),
            current: seen(current, scale[1], meters.current),
            rpm: seen(speed * 30.0 / std::f64::consts::PI, scale[2], meters.speed),
        }
    };
    let test = Test {
        forward: [3.0, 5.0, 7.2, 9.0].map(|v| reading(v, 0.0)).to_vec(),
        reverse: vec![],
        loaded: vec![Loaded { point: reading(7.2, 0.03), torque: None }],
        resistance: Some(Known {
            ohm: ohm * (1.0 + 0.02 * Noise::new(!seed).normal()),
            deviation: 0.02 * ohm,
        }),
        instruments: meters,
        brush_drop_most: 0.8,
        volts: None,
    };
    let report = no_load::analyse(&test).ok()?;
    let within = |e: commsense::bench::Estimate, truth: f64| e.low <= truth && truth <= e.high;
    Some([
        within(report.ke, ke),
        within(report.resistance?, ohm),
        report.brush_drop.is_none_or(|e| within(e, drop)),
        report.drag_at_rest.is_none_or(|e| within(e, drag)),
    ])
}

/// The constants of a simulated ring by readings without meter errors, over what they are by its build: Ke, and the
/// no-load speed that they give back at 7.2 V over the simulated one.
pub fn ring_constants(bars: usize, seed: u64) -> Option<[f64; 2]> {
    let motor = Motor::new(bars, 0.02, &mut Noise::new(seed));
    let exact = Accuracy { scale: 0.001, scatter: 0.001 };
    let point = |volts: f64, load: f64| {
        let (current, rpm) = steady(&motor, volts, load);
        Point { volts, current, rpm }
    };
    let test = Test {
        forward: [3.0, 5.0, 7.2].map(|v| point(v, 0.0)).to_vec(),
        reverse: vec![],
        loaded: vec![Loaded { point: point(7.2, 0.03), torque: None }],
        resistance: None,
        instruments: Instruments { volts: exact, current: exact, speed: exact },
        brush_drop_most: 0.8,
        volts: Some(7.2),
    };
    let report = no_load::analyse(&test).ok()?;
    Some([report.ke.value / motor.mean_constant(), report.rpm.value / point(7.2, 0.0).rpm])
}
