//! A healthy motor saved to the shop's own knowledge, so that others like it can be measured against it.

use std::fs;
use std::io::Write as _;
use std::path::Path;

use serde_yaml::{Mapping, Value};

use crate::case::BenchUnits;
use crate::case::store::plain;
use crate::cli::desk::Desk;
use crate::cli::exit::Failure;
use crate::knowledge::{Layer, Severity, load, summary};
use crate::present::measure::{Sheet, nominal};
use crate::present::text::{Styled, Text};

const HEAD: &str = "# A motor measured at the shop's own bench; more measurements add to it.\n";

/// Adds what was measured to the motor `id` in the folder of the shop's knowledge; makes it when it is new.
///
/// # Errors
/// When no folder was named, nothing of what was measured is a nominal value, the file can't be read or
/// written, or the knowledge would be wrong with it.
pub fn save(id: &str, slots: Option<u32>, of: &Sheet, desk: &Desk) -> Result<(), Failure> {
    let Some(folder) = &desk.folder else {
        return Err(Failure::usage("--save-motor needs to know where: name the shop's own knowledge folder")
            .help("commsense measure ... --save-motor my-motor --knowledge shop"));
    };
    let values = nominal(of.knowledge, of.of, of.outcome);
    if values.is_empty() {
        return Err(Failure::input("nothing that was measured here describes a healthy motor")
            .help("Resistance between the terminals, no-load current and no-load speed do"));
    }
    let path = folder.join("motors").join(format!("{id}.yaml"));
    let text = match fs::read_to_string(&path) {
        Ok(text) => with_values(&text, id, &values).map_err(|why| at(&path, &why))?,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => new_motor(id, slots, &values, of)?,
        Err(e) => return Err(at(&path, &e.to_string())),
    };
    written(&path, &text).map_err(|e| at(&path, &plain(&e)))?;
    let loaded = load(&[Layer::builtin(), Layer::directory(folder)], &BenchUnits);
    let errors: Vec<_> = loaded.diagnostics.into_iter().filter(|d| d.severity == Severity::Error).collect();
    if !errors.is_empty() {
        return Err(Failure::input(format!(
            "{} is written, and the knowledge has {}",
            path.display(),
            summary(&errors)
        ))
        .help(format!("See them with: commsense knowledge check {}", folder.display())));
    }
    let names: Vec<&str> = values.iter().map(|(key, _)| key.as_str()).collect();
    let words = format!("Saved in {}: {}.", path.display(), names.join(", "));
    desk.say(&Text::from(Styled::new().muted(words)))
}

fn at(path: &Path, why: &str) -> Failure {
    Failure::input(format!("the motor can't be saved in {}: {why}", path.display()))
}

/// The file of a motor with more values in it.
fn with_values(text: &str, id: &str, values: &[(String, String)]) -> Result<String, String> {
    let mut file: Value = serde_yaml::from_str(text).map_err(|e| e.to_string())?;
    let motor = file.get_mut("motors").and_then(|m| m.get_mut(0)).ok_or("it holds no motor")?;
    if motor.get("id").and_then(Value::as_str) != Some(id) {
        return Err(format!("its first motor is not `{id}`"));
    }
    let nominal =
        motor.get_mut("nominal").and_then(Value::as_mapping_mut).ok_or("its motor has no `nominal`")?;
    for (key, value) in values {
        nominal.insert(key.as_str().into(), value.as_str().into());
    }
    let text = serde_yaml::to_string(&file).map_err(|e| e.to_string())?;
    Ok(format!("{HEAD}{text}"))
}

/// The file of a new motor: like the one that was named, else with what little is known.
fn new_motor(
    id: &str,
    slots: Option<u32>,
    values: &[(String, String)],
    of: &Sheet,
) -> Result<String, Failure> {
    let like = of.motor;
    let Some(slots) = slots.or(like.map(|m| m.slots)).filter(|s| *s > 0) else {
        return Err(Failure::usage("--slots is missing: how many armature slots has this motor?"));
    };
    let mut nominal = Mapping::new();
    for (key, value) in like.iter().flat_map(|m| &m.nominal) {
        nominal.insert(key.as_str().into(), value.as_str().into());
    }
    for (key, value) in values {
        nominal.insert(key.as_str().into(), value.as_str().into());
    }
    let text = |text: &str, usual: &str| Value::from(if text.trim().is_empty() { usual } else { text });
    let mut motor = Mapping::new();
    let mut put = |key: &str, value: Value| motor.insert(key.into(), value);
    put("id", id.into());
    put("name", id.into());
    put("can", text(like.map_or("", |m| &m.can), "not known"));
    put("rebuildable", like.is_none_or(|m| m.rebuildable).into());
    put("slots", slots.into());
    put("summary", "Measured at the shop's own bench while healthy.".into());
    put("replace-cost", like.map_or(0.0, |m| m.replace_cost).into());
    put("nominal", nominal.into());
    put("basis", "measured".into());
    let mut file = Mapping::new();
    file.insert("format".into(), "commsense/knowledge/1".into());
    file.insert("motors".into(), Value::Sequence(vec![motor.into()]));
    let text = serde_yaml::to_string(&file).map_err(|e| Failure::input(e.to_string()))?;
    Ok(format!("{HEAD}{text}"))
}

/// Writes a file whole or not at all.
fn written(path: &Path, text: &str) -> std::io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|e| e.error)?;
    Ok(())
}
