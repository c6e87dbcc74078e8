//! What the repository promises about its own shape.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;
use station_tests::repository;

/// Crates that know no clock, file, thread or pin.
const PURE: [&str; 12] = [
    "quantities",
    "recipe-model",
    "face",
    "words",
    "trial",
    "thermometry",
    "lethality",
    "doneness",
    "schedule",
    "planner",
    "run-engine",
    "screens",
];
/// The only crates that touch devices and disks.
const OUTER: [&str; 2] = ["tallyhob", "station-tests"];
const TOP: [&str; 11] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "firmware-app",
    "recipes",
    "tests",
    "hardware",
];

struct Package {
    folder: PathBuf,
    /// Names of our own crates that it uses, in any way.
    ours: Vec<String>,
}

fn packages() -> BTreeMap<String, Package> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let told = Command::new(cargo)
        .current_dir(repository())
        .args(["metadata", "--no-deps", "--format-version", "1", "--offline"])
        .output()
        .unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let metadata: Value = serde_json::from_slice(&told.stdout).unwrap();
    let package = |value: &Value| {
        let manifest = PathBuf::from(value["manifest_path"].as_str().unwrap());
        let of_ours = |used: &Value| used["path"].is_string().then(|| used["name"].as_str().unwrap().to_owned());
        let ours = value["dependencies"].as_array().unwrap().iter().filter_map(of_ours).collect();
        (value["name"].as_str().unwrap().to_owned(), Package { folder: manifest.parent().unwrap().into(), ours })
    };
    metadata["packages"].as_array().unwrap().iter().map(package).collect()
}

/// The lines of `[workspace.dependencies]`.
fn dependency_lines() -> Vec<String> {
    let manifest = std::fs::read_to_string(repository().join("Cargo.toml")).unwrap();
    let lines = manifest.lines().skip_while(|line| *line != "[workspace.dependencies]").skip(1);
    let table = lines.take_while(|line| !line.starts_with('['));
    table.filter(|line| !line.trim().is_empty() && !line.starts_with('#')).map(ToOwned::to_owned).collect()
}

/// Our own crates, lowest first, as the root manifest lists them.
fn lowest_first() -> Vec<String> {
    let ours = dependency_lines().into_iter().filter(|line| line.contains("path = "));
    ours.map(|line| line.split_whitespace().next().unwrap().to_owned()).collect()
}

#[test]
fn a_crate_uses_only_crates_below_its_own() {
    let order = lowest_first();
    let packages = packages();
    for name in &order {
        assert!(packages.contains_key(name), "{name} is listed and is no package");
    }
    for (name, package) in &packages {
        // the tests are above everything and used by nothing
        let own = order.iter().position(|listed| listed == name).unwrap_or(order.len());
        assert!(own < order.len() || name == "station-tests", "{name} is not in the list of the root manifest");
        for used in &package.ours {
            let place = order.iter().position(|listed| listed == used);
            assert!(place.is_some_and(|place| place < own), "{name} uses {used}, which is not below it: {order:?}");
            let outside = used == "hardware" || used == "journal";
            assert!(!outside || OUTER.contains(&name.as_str()), "{name} uses {used}: only {OUTER:?} may");
        }
    }
}

#[test]
fn the_core_builds_without_the_standard_library() {
    let packages = packages();
    for name in PURE {
        let root = std::fs::read_to_string(packages[name].folder.join("src/lib.rs")).unwrap();
        assert!(root.lines().any(|line| line == "#![no_std]"), "{name} may use the standard library");
    }
}

#[test]
fn every_foreign_crate_is_here_for_a_reason() {
    let lines = dependency_lines();
    assert!(lines.len() > 20, "only {} dependency lines were found", lines.len());
    for line in lines.iter().filter(|line| !line.contains("path = ")) {
        let reason = line.rsplit_once(" # ").map_or("", |(_, reason)| reason.trim());
        assert!(reason.len() >= 4, "no reason stands beside {line}");
    }
}

#[test]
fn every_crate_and_every_top_folder_says_what_is_in_it() {
    let mut folders: Vec<PathBuf> = packages().into_values().map(|package| package.folder).collect();
    folders
        .extend(["firmware-app", "recipes", "recipes/library", "tests", "hardware", "."].map(|f| repository().join(f)));
    let without: Vec<PathBuf> = folders.into_iter().filter(|folder| !folder.join("README.md").is_file()).collect();
    assert!(without.is_empty(), "no README.md in {without:?}");
}

#[test]
fn nothing_is_left_for_later() {
    // put together here, so that this file does not find itself
    let left = [concat!("todo", "!("), concat!("unimplemented", "!("), concat!("#[", "ignore")];
    let mut seen = 0;
    let mut folders: Vec<PathBuf> = packages().into_values().map(|package| package.folder).collect();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()) {
            let name = entry.file_name().unwrap().to_string_lossy().into_owned();
            if entry.is_dir() {
                folders.extend((name != "target" && !name.starts_with('.')).then_some(entry));
            } else if name.ends_with(".rs") {
                let text = std::fs::read_to_string(&entry).unwrap();
                seen += 1;
                for words in left {
                    assert!(!text.contains(words), "{} holds {words}", entry.display());
                }
            }
        }
    }
    assert!(seen > 100, "only {seen} source files were read");
}

#[test]
fn the_readme_gives_two_commands_and_the_second_is_what_the_checks_call() {
    let read =
        |name: &str| std::fs::read_to_string(repository().join(name)).unwrap_or_else(|why| panic!("{name}: {why}"));
    let readme = read("README.md");
    let commands: Vec<&str> = readme
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with("cargo run ") || line.starts_with("bash "))
        .collect();
    let first = commands.first().copied().unwrap_or_default();
    assert!(first.contains(" cook ") && first.contains("--sim"), "the first command cooks: {commands:?}");
    let recipe = first.split_whitespace().find(|word| word.ends_with(".toml")).unwrap();
    assert!(repository().join(recipe).is_file(), "{recipe} of the first command is not there");
    let second = commands.get(1).copied().unwrap_or_default();
    let script = second.strip_prefix("bash ").unwrap_or_default();
    assert!(repository().join(script).is_file(), "{script:?} of the second command is not there");
    assert!(read(".ci/run").contains(script), ".ci/run does not call {script}");
}

#[test]
fn the_top_folder_holds_nothing_else() {
    let ignored = std::fs::read_to_string(repository().join(".gitignore")).unwrap();
    let is_ignored = |name: &str| ignored.lines().any(|line| line.trim_matches('/') == name);
    let names = |folder: &Path| -> Vec<String> {
        let entries = std::fs::read_dir(folder).unwrap();
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect()
    };
    for name in names(&repository()) {
        let known = TOP.contains(&name.as_str()) || name.starts_with('.') || is_ignored(&name);
        assert!(known, "{name} does not belong into the top folder");
    }
}
