//! Embeds the files below `knowledge/`: path, text, and the same content as JSON.
//!
//! JSON reads several times faster than YAML, and the program has to ask its first question at once. A
//! file that does not convert is embedded as text alone; reading it then reports what is wrong with it.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join("knowledge");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=knowledge");

    let mut files = Vec::new();
    collect(&root, &mut files)?;
    files.sort();

    let mut code = String::from(
        "/// Path below the folder, text, and JSON (empty if there is none) of each built-in file.\n\
         static BUILTIN: &[(&str, &str, &str)] = &[\n",
    );
    for path in files {
        let text = fs::read_to_string(&path)?;
        let shown: Vec<_> = (path.strip_prefix(&root).unwrap_or(&path).components())
            .map(|part| part.as_os_str().to_string_lossy())
            .collect();
        let _ = writeln!(code, "    ({:?}, {text:?}, {:?}),", shown.join("/"), json(&text));
    }
    code.push_str("];\n");
    fs::write(out.join("knowledge_files.rs"), code)
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else if path.extension().is_some_and(|e| e == "yaml" || e == "yml") {
            files.push(path);
        }
    }
    Ok(())
}

fn json(text: &str) -> String {
    let value: Option<serde_yaml::Value> = serde_yaml::from_str(text).ok();
    value.and_then(|value| serde_json::to_string(&value).ok()).unwrap_or_default()
}
