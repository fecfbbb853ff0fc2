//! Readings of several meters at once, such as `7.2 V, 2.0 A, 20000 rpm`.

use super::sheet::{Halt, Sheet, split};
use crate::bench::no_load::Point;
use crate::bench::{self, Kind};
use crate::cli::exit::Failure;

/// What the meters showed at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Volts, current, speed.
    pub point: Point,
    /// Torque in Nm, if given.
    pub torque: Option<f64>,
}

/// Reads the points of an option that may stand more than once.
///
/// # Errors
/// When one can't be read; the message names it.
pub fn given(id: &str, texts: &[String]) -> Result<Vec<Reading>, Failure> {
    let mut all = Vec::new();
    for (n, text) in texts.iter().enumerate() {
        let which = if texts.len() > 1 { format!("--{id}, number {}", n + 1) } else { format!("--{id}") };
        all.extend(several(text).map_err(|why| Failure::input(format!("{which}: {why}")))?);
    }
    Ok(all)
}

/// Asks for points; none when they are not known.
///
/// # Errors
/// When they are needed and nobody can be asked.
pub fn ask(sheet: &mut Sheet, id: &str, optional: bool) -> Result<Vec<Reading>, Halt> {
    let typed = sheet.text(id, None, optional, |text| several(text).map(|_| ()))?;
    match typed {
        Some(text) => Ok(several(&text).map_err(|why| Failure::input(format!("--{id}: {why}")))?),
        None => Ok(Vec::new()),
    }
}

/// Points one after the other, a semicolon between them.
fn several(text: &str) -> Result<Vec<Reading>, String> {
    let points: Vec<&str> = text.split([';', '\n']).filter(|p| !p.trim().is_empty()).collect();
    if points.is_empty() {
        return Err("nothing is written; write volts, current and speed: 7.2 V, 2.0 A, 20000 rpm".into());
    }
    points.into_iter().map(one).collect()
}

/// One point. The units say which number is which, so any order will do; numbers without units are not
/// guessed at.
fn one(text: &str) -> Result<Reading, String> {
    const WANTED: [(Kind, &str); 3] =
        [(Kind::Voltage, "volts"), (Kind::Current, "current"), (Kind::Speed, "speed")];
    let mut found = [None; 3];
    let mut torque = None;
    for (place, part) in split(text).iter().enumerate() {
        let slot = WANTED.iter().position(|(kind, _)| bench::read(*kind, part).is_ok());
        match slot {
            Some(slot) => {
                if found[slot].is_some() {
                    return Err(format!("`{}` gives the {} twice", text.trim(), WANTED[slot].1));
                }
                found[slot] = bench::read(WANTED[slot].0, part).ok();
            }
            None => match (bench::read(Kind::Torque, part), torque) {
                (Ok(value), None) => torque = Some(value),
                (Ok(_), Some(_)) => return Err(format!("`{}` gives the torque twice", text.trim())),
                (Err(no_torque), _) => {
                    // The message is that of the number which usually stands in this place.
                    let usual = WANTED.get(place).map(|(kind, _)| *kind);
                    let error = usual.and_then(|kind| bench::read(kind, part).err()).unwrap_or(no_torque);
                    return Err(error.to_string());
                }
            },
        }
    }
    let missing = WANTED.iter().zip(found).find(|(_, f)| f.is_none());
    if let Some(((_, name), _)) = missing {
        return Err(format!("`{}` lacks the {name}; write it as: 7.2 V, 2.0 A, 20000 rpm", text.trim()));
    }
    let [volts, current, rpm] = found.map(Option::unwrap_or_default);
    Ok(Reading { point: Point { volts, current, rpm }, torque })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn point(volts: f64, current: f64, rpm: f64) -> Reading {
        Reading { point: Point { volts, current, rpm }, torque: None }
    }

    #[test]
    fn units_say_which_number_is_which() {
        let want = Ok(vec![point(7.2, 2.0, 20_000.0)]);
        for text in [
            "7.2 V,2.0 A,20000 rpm",
            "7,2 V, 2,0 A, 20 krpm",
            "20000rpm, 2000 mA, 7.2V",
            "7.2 V, 2 A, 20000 rpm;",
        ] {
            assert_eq!(several(text), want, "{text}");
        }
        assert_eq!(several("3.6 V, 1.8 A, 9500 rpm; 7.2 V, 2 A, 20000 rpm").unwrap().len(), 2);
        let loaded = one("7.2 V, 12 A, 17100 rpm, 33 mNm").unwrap();
        assert!((loaded.torque.unwrap() - 0.033).abs() < 1e-12);
    }

    #[test]
    fn what_is_missing_or_wrong_is_said() {
        let said = |text: &str| several(text).unwrap_err();
        assert!(said("").contains("nothing is written"));
        assert!(said("7.2 V, 2 A").contains("lacks the speed"));
        assert!(said("7.2 V, 7.3 V, 2 A, 20000 rpm").contains("volts twice"));
        assert!(
            said("7.2 V, 2 ohm, 20000 rpm").contains("`2 ohm` is a resistance; this reading is a current")
        );
        assert!(said("7.2, 2.0, 20000").contains("7.2"));
        assert!(said("7.2 V, 2 A, 20000 rpm, 1 mNm, 2 mNm").contains("torque twice"));
    }
}
