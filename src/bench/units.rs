//! The kinds of quantity met at the bench, and how people spell their units.
//!
//! An own table, because no units library reads what a technician writes. `uom` (0.38), the well-kept
//! one, parses text only as number, space, one official abbreviation; it takes neither `2,4 A`, `120mΩ`,
//! `mohm`, `degC` nor `krpm`, and its three error cases cannot say which unit would have been right.
//!
//! Factors are exact by definition where the unit has one: inch 25.4 mm and pound 0.453 592 37 kg
//! (international yard and pound agreement, 1959; from memory), standard gravity 9.806 65 m/s2 (3rd
//! CGPM, 1901; from memory), horsepower 550 ft lbf/s (from memory).

/// The kind of a quantity. Each has one base unit, in which values are held.
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
    /// A plain number; 1 is 100 %.
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

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 15] = [
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
        Kind::Ratio,
        Kind::Torque,
        Kind::Power,
        Kind::Energy,
        Kind::Pressure,
    ];

    /// Its name with the article, as in "that is a voltage".
    pub fn with_article(self) -> &'static str {
        match self {
            Kind::Current => "a current",
            Kind::Voltage => "a voltage",
            Kind::Resistance => "a resistance",
            Kind::Length => "a length",
            Kind::Speed => "a speed",
            Kind::Temperature => "a temperature",
            Kind::Angle => "an angle",
            Kind::Force => "a force",
            Kind::Mass => "a mass",
            Kind::Time => "a time",
            Kind::Ratio => "a ratio",
            Kind::Torque => "a torque",
            Kind::Power => "a power",
            Kind::Energy => "an energy",
            Kind::Pressure => "a pressure",
        }
    }

    /// How it should be written, as in "write it in A or mA".
    pub fn advice(self) -> &'static str {
        match self {
            Kind::Current => "in A or mA",
            Kind::Voltage => "in V or mV",
            Kind::Resistance => "in ohm, mohm, kohm or Mohm",
            Kind::Length => "in mm or in",
            Kind::Speed => "in rpm or krpm",
            Kind::Temperature => "in degC or degF",
            Kind::Angle => "in deg",
            Kind::Force => "in N or gf",
            Kind::Mass => "in g or kg",
            Kind::Time => "in s, min or h",
            Kind::Ratio => "as a plain number or in %",
            Kind::Torque => "in mNm or gfcm",
            Kind::Power => "in W or mW",
            Kind::Energy => "in J or Wh",
            Kind::Pressure => "in kPa, psi or gf/cm2",
        }
    }

    /// A unit to show in an example.
    pub(super) fn usual_unit(self) -> &'static str {
        match self {
            Kind::Current => "A",
            Kind::Voltage => "V",
            Kind::Resistance => "ohm",
            Kind::Length => "mm",
            Kind::Speed => "rpm",
            Kind::Temperature => "degC",
            Kind::Angle => "deg",
            Kind::Force => "N",
            Kind::Mass => "g",
            Kind::Time => "s",
            Kind::Ratio => "%",
            Kind::Torque => "mNm",
            Kind::Power => "W",
            Kind::Energy => "J",
            Kind::Pressure => "kPa",
        }
    }
}

/// A unit: base value = (number + zero) x factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unit {
    /// What it measures.
    pub kind: Kind,
    /// Base units in one of this unit.
    pub factor: f64,
    /// Added to the number before scaling; only temperatures have it.
    pub zero: f64,
    /// Its spellings, the preferred one first, without spaces, dots or hyphens inside.
    pub spellings: &'static [&'static str],
}

const GRAVITY: f64 = 9.806_65;
const INCH: f64 = 0.025_4;
const POUND: f64 = 0.453_592_37;
const OUNCE: f64 = POUND / 16.0;
const TURN_PER_MINUTE_IN_RAD_PER_S: f64 = 2.0 * std::f64::consts::PI / 60.0;

const fn unit(kind: Kind, factor: f64, spellings: &'static [&'static str]) -> Unit {
    Unit { kind, factor, zero: 0.0, spellings }
}

/// Every unit. Micro is written u, µ (U+00B5) or μ (U+03BC); ohm is Ω as U+03A9 or U+2126.
///
/// `Hz` is taken as turns a second, which is what a stroboscope or an optical tachometer shows. A tone
/// of a recording has several cycles a turn and is no speed yet.
pub(super) const UNITS: &[Unit] = &[
    unit(Kind::Current, 1.0, &["A", "amp", "amps", "ampere", "amperes", "Adc"]),
    unit(Kind::Current, 1e-3, &["mA", "milliamp", "milliamps"]),
    unit(Kind::Current, 1e-6, &["uA", "µA", "μA"]),
    unit(Kind::Voltage, 1.0, &["V", "volt", "volts", "Vdc"]),
    unit(Kind::Voltage, 1e-3, &["mV", "millivolt", "millivolts"]),
    unit(Kind::Voltage, 1e3, &["kV"]),
    unit(Kind::Resistance, 1.0, &["ohm", "ohms", "Ω", "\u{2126}", "R"]),
    unit(Kind::Resistance, 1e-3, &["mohm", "mohms", "mΩ", "m\u{2126}", "milliohm", "milliohms"]),
    unit(Kind::Resistance, 1e-6, &["uohm", "µohm", "uΩ", "µΩ", "μΩ", "µ\u{2126}", "microohm"]),
    unit(Kind::Resistance, 1e3, &["kohm", "kohms", "kΩ", "k\u{2126}", "kiloohm", "kilohm"]),
    unit(Kind::Resistance, 1e6, &["Mohm", "Mohms", "MΩ", "M\u{2126}", "megohm", "megohms", "megaohm"]),
    unit(Kind::Resistance, 1e9, &["Gohm", "GΩ", "G\u{2126}", "gigaohm"]),
    unit(Kind::Length, 1e-3, &["mm", "millimetre", "millimetres", "millimeter", "millimeters"]),
    unit(Kind::Length, 1e-2, &["cm", "centimetre", "centimeter"]),
    unit(Kind::Length, 1.0, &["m", "metre", "metres", "meter", "meters"]),
    unit(Kind::Length, 1e-6, &["um", "µm", "μm", "micron", "microns"]),
    unit(Kind::Length, INCH, &["in", "inch", "inches", "\"", "″", "”"]),
    unit(Kind::Length, INCH / 1000.0, &["thou", "mil", "mils"]),
    unit(Kind::Speed, 1.0, &["rpm", "r/min", "rev/min", "1/min", "min1", "min⁻¹"]),
    unit(Kind::Speed, 1e3, &["krpm"]),
    unit(Kind::Speed, 60.0, &["rps", "rev/s", "r/s", "Hz"]),
    unit(Kind::Speed, 1.0 / TURN_PER_MINUTE_IN_RAD_PER_S, &["rad/s"]),
    unit(Kind::Temperature, 1.0, &["degC", "°C", "℃", "C", "celsius", "degreesC", "degreeC"]),
    Unit {
        kind: Kind::Temperature,
        factor: 5.0 / 9.0,
        zero: -32.0,
        spellings: &["degF", "°F", "℉", "F", "fahrenheit", "degreesF", "degreeF"],
    },
    unit(Kind::Angle, 1.0, &["deg", "°", "degree", "degrees"]),
    unit(Kind::Angle, 180.0 / std::f64::consts::PI, &["rad"]),
    unit(Kind::Force, 1.0, &["N", "newton", "newtons"]),
    unit(Kind::Force, 1e-3, &["mN"]),
    unit(Kind::Force, GRAVITY * 1e-3, &["gf", "pond"]),
    unit(Kind::Force, GRAVITY, &["kgf", "kp"]),
    unit(Kind::Force, GRAVITY * OUNCE, &["ozf"]),
    unit(Kind::Force, GRAVITY * POUND, &["lbf"]),
    unit(Kind::Mass, 1e-3, &["g", "gram", "grams"]),
    unit(Kind::Mass, 1.0, &["kg"]),
    unit(Kind::Mass, 1e-6, &["mg"]),
    unit(Kind::Mass, OUNCE, &["oz", "ounce", "ounces"]),
    unit(Kind::Mass, POUND, &["lb", "lbs", "pound", "pounds"]),
    unit(Kind::Time, 1.0, &["s", "sec", "secs", "second", "seconds"]),
    unit(Kind::Time, 1e-3, &["ms"]),
    unit(Kind::Time, 60.0, &["min", "mins", "minute", "minutes"]),
    unit(Kind::Time, 3600.0, &["h", "hr", "hrs", "hour", "hours"]),
    unit(Kind::Ratio, 1e-2, &["%", "percent", "pct", "٪", "％"]),
    unit(Kind::Ratio, 1e-3, &["‰"]),
    unit(Kind::Torque, 1.0, &["Nm"]),
    unit(Kind::Torque, 1e-3, &["mNm"]),
    unit(Kind::Torque, 1e-2, &["Ncm"]),
    unit(Kind::Torque, GRAVITY * 1e-5, &["gfcm", "gcm"]),
    unit(Kind::Torque, GRAVITY * 1e-2, &["kgfcm", "kgcm"]),
    unit(Kind::Torque, GRAVITY * OUNCE * INCH, &["ozfin", "ozin", "inoz"]),
    unit(Kind::Power, 1.0, &["W", "watt", "watts"]),
    unit(Kind::Power, 1e-3, &["mW"]),
    unit(Kind::Power, 1e3, &["kW"]),
    unit(Kind::Power, GRAVITY * POUND * 550.0 * 12.0 * INCH, &["hp"]),
    unit(Kind::Energy, 1.0, &["J", "joule", "joules", "Ws"]),
    unit(Kind::Energy, 1e-3, &["mJ"]),
    unit(Kind::Energy, 1e3, &["kJ"]),
    unit(Kind::Energy, 3600.0, &["Wh"]),
    unit(Kind::Energy, 3.6, &["mWh"]),
    unit(Kind::Pressure, 1.0, &["Pa"]),
    unit(Kind::Pressure, 1e3, &["kPa"]),
    unit(Kind::Pressure, 1e5, &["bar"]),
    unit(Kind::Pressure, 1e2, &["mbar"]),
    unit(Kind::Pressure, GRAVITY * POUND / (INCH * INCH), &["psi", "lbf/in2"]),
    unit(Kind::Pressure, GRAVITY * 10.0, &["gf/cm2", "p/cm2"]),
];

/// What a spelling of a unit stands for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Lookup {
    /// One unit.
    Found(Unit),
    /// The case of a letter decides, and the case given fits none; the preferred spellings of both.
    Either(&'static str, &'static str),
    /// Nothing; with the nearest spelling, if one is near.
    Unknown(Option<&'static str>),
}

/// Finds a unit by its spelling. The exact spelling wins; otherwise upper and lower case are alike, as
/// far as that leaves one meaning. Spaces, dots, hyphens and asterisks do not count.
///
/// `wanted` only steers the suggestion for an unknown unit.
pub(super) fn look_up(spelling: &str, wanted: Option<Kind>) -> Lookup {
    let plain: String = spelling.chars().filter(|c| !is_joiner(*c)).collect();
    let all = || UNITS.iter().flat_map(|u| u.spellings.iter().map(move |s| (*s, u)));
    if let Some((_, u)) = all().find(|(s, _)| *s == plain) {
        return Lookup::Found(*u);
    }
    let folded = plain.to_lowercase();
    let mut alike: Vec<&Unit> = Vec::new();
    for (_, u) in all().filter(|(s, _)| s.to_lowercase() == folded) {
        if !alike.contains(&u) {
            alike.push(u);
        }
    }
    match alike[..] {
        [one] => return Lookup::Found(*one),
        [a, b, ..] => return Lookup::Either(a.spellings[0], b.spellings[0]),
        [] => {}
    }
    // One slip in a short unit, two in a longer one; anything looser would suggest nonsense.
    let reach = if folded.chars().count() <= 4 { 1 } else { 2 };
    let near = all()
        .filter(|(s, _)| s.chars().count() > 1)
        .map(|(s, u)| (strsim::osa_distance(&s.to_lowercase(), &folded), wanted != Some(u.kind), s))
        .filter(|(d, _, _)| *d <= reach)
        .min();
    Lookup::Unknown(near.map(|(_, _, s)| s))
}

fn is_joiner(c: char) -> bool {
    c.is_whitespace() || matches!(c, '.' | '·' | '⋅' | '*' | '-' | '\u{2011}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_spelling_stands_twice() {
        let mut seen = std::collections::BTreeSet::new();
        for s in UNITS.iter().flat_map(|u| u.spellings) {
            assert!(seen.insert(*s), "{s} stands twice");
        }
    }

    #[test]
    fn every_kind_has_its_usual_unit_in_the_table() {
        for kind in Kind::ALL {
            match look_up(kind.usual_unit(), None) {
                Lookup::Found(u) => assert_eq!(u.kind, kind),
                other => panic!("{kind:?}: {other:?}"),
            }
        }
    }

    #[test]
    fn capitals_count_only_where_they_decide() {
        assert_eq!(look_up("Mohm", None), Lookup::Found(UNITS[10]));
        assert_eq!(look_up("mohm", None), Lookup::Found(UNITS[7]));
        assert_eq!(look_up("MOHM", None), Lookup::Either("mohm", "Mohm"));
        assert!(matches!(look_up("RPM", None), Lookup::Found(u) if u.kind == Kind::Speed));
        assert!(matches!(look_up("Ohms", None), Lookup::Found(u) if u.factor == 1.0));
    }

    #[test]
    fn torques_are_read_as_people_write_them() {
        for (spelling, newton_metres) in [
            ("N m", 1.0),
            ("mN·m", 1e-3),
            ("g cm", 9.806_65e-5),
            ("g·cm", 9.806_65e-5),
            ("kg-cm", 0.098_066_5),
        ] {
            match look_up(spelling, Some(Kind::Torque)) {
                Lookup::Found(u) => {
                    assert_eq!(u.kind, Kind::Torque, "{spelling}");
                    assert!((u.factor / newton_metres - 1.0).abs() < 1e-12, "{spelling}");
                }
                other => panic!("{spelling}: {other:?}"),
            }
        }
    }

    #[test]
    fn nearest_unit_prefers_the_kind_that_is_wanted() {
        assert_eq!(look_up("omh", Some(Kind::Resistance)), Lookup::Unknown(Some("ohm")));
        assert_eq!(look_up("rmp", Some(Kind::Speed)), Lookup::Unknown(Some("rpm")));
        assert_eq!(look_up("furlongs", None), Lookup::Unknown(None));
    }
}
