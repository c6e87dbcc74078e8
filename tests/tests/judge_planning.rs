//! The judge of the planner: what it prints and how it ends, on good, spoilt and useless instances.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::{Value, json};
use station_tests::repository;
use tempfile::TempDir;

/// How it ended, what it printed, what it said on the side.
struct Told {
    code: i32,
    out: String,
    notes: String,
}

impl Told {
    fn missed(&self) -> Vec<&str> {
        self.out.lines().filter(|line| line.starts_with("MISSED")).collect()
    }
}

fn judge(file: &Path, more: &[&str]) -> Told {
    let judge = Command::new(env!("CARGO_BIN_EXE_judge")).arg("planning").arg(file).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Told { code: judge.status.code().unwrap(), out: text(judge.stdout), notes: text(judge.stderr) }
}

fn shipped(name: &str) -> Vec<Value> {
    let path = repository().join("firmware-app/schedule-proof/tests/data").join(name);
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

fn with(content: &Value) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("instances.json");
    fs::write(&file, content.to_string()).unwrap();
    (folder, file)
}

#[test]
fn kitchens_and_job_shops_are_solved_proven_and_checked() {
    let mut instances = shipped("kitchen.json");
    instances.extend(shipped("jobshop.json"));
    let count = instances.len();
    let (folder, file) = with(&Value::Array(instances));
    let rows = folder.path().join("rows.jsonl");
    let told = judge(&file, &["--seconds", "20", "--replan", "--rows", rows.to_str().unwrap()]);
    assert_eq!(told.notes, "");
    // times and memory of a debug build on a busy machine are not judged here
    let missed: Vec<&str> = told
        .missed()
        .into_iter()
        .filter(|line| !["0.1 s", "memory", "re-plan"].iter().any(|w| line.contains(w)))
        .collect();
    assert_eq!(missed, [""; 0], "{}", told.out);
    for expected in [
        "met     broken schedules and wrong proofs: 0.000",
        "met     best known value: 100.000 %",
        "met     mean gap of kitchens: 0.000 %",
        "met     proven: 100.000 %",
        "re-plan, first plan, 95 %: ",
        "re-plan within 1 %, 95 %: ",
        "memory: ",
        "\nkitchen     all ",
        "\njobshop     all ",
    ] {
        assert!(told.out.contains(expected), "no {expected:?} in\n{}", told.out);
    }
    let rows: Vec<Value> =
        fs::read_to_string(rows).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(rows.len(), count);
    assert!(rows.iter().all(|row| row["proven"] == true && row["value"] == row["best"]), "{rows:?}");
}

#[test]
fn known_values_that_contradict_a_proof_are_called_wrong() {
    let mut instances = shipped("kitchen.json");
    instances.truncate(2);
    let best: Vec<i64> = instances.iter().map(|instance| instance["opt"].as_i64().unwrap()).collect();
    // better than the best there is, and a bound that the best there is lies below
    instances[0]["opt"] = json!(best[0] - 1);
    instances[1]["lb"] = json!(best[1] + 1);
    instances[1]["opt"] = Value::Null;
    instances[1]["ub"] = json!(best[1] + 1);
    let (_folder, file) = with(&Value::Array(instances));
    let told = judge(&file, &["--seconds", "20"]);
    assert_eq!(told.code, 1, "{}{}", told.out, told.notes);
    assert!(
        told.out.contains(&format!("wrong: {} called best, but {} is known", best[0], best[0] - 1)),
        "{}",
        told.out
    );
    assert!(told.out.contains(&format!("wrong: {} is below the known bound {}", best[1], best[1] + 1)), "{}", told.out);
    assert!(told.missed().iter().any(|line| line.contains("broken schedules and wrong proofs")), "{}", told.out);
    assert!(told.missed().iter().any(|line| line.contains("best known value: 50.000 %")), "{}", told.out);
}

#[test]
fn an_impossible_instance_is_proven_and_one_with_a_known_value_is_not_called_so() {
    let ring = |name: &str, ub: Value| json!({ "name": name, "kind": "ring", "tasks": [{ "d": 3 }, { "d": 2 }], "prec": [[0, 1, 3], [1, 0, -2]], "ub": ub });
    let (_folder, file) = with(&json!([ring("free", Value::Null)]));
    let told = judge(&file, &[]);
    assert_eq!((told.code, told.notes.as_str()), (0, ""), "{}", told.out);
    assert!(told.out.contains("impossible") && told.out.contains("every figure is met"), "{}", told.out);
    let (_folder, file) = with(&json!([ring("known", json!(7))]));
    let told = judge(&file, &[]);
    assert_eq!(told.code, 1, "{}", told.out);
    assert!(told.out.contains("wrong: called impossible, but 7 is known"), "{}", told.out);
}

#[test]
fn figures_that_a_file_cannot_show_are_left_out() {
    let mut instances = shipped("kitchen.json");
    instances.truncate(1);
    instances[0].as_object_mut().unwrap().remove("opt");
    let (folder, file) = with(&Value::Array(instances.clone()));
    let told = judge(&file, &["--seconds", "20"]);
    let figures = told.out.split("\nFigures\n").nth(1).unwrap();
    assert!(figures.contains("proven: 100.000 %"), "{}", told.out);
    for absent in ["best known value", "mean gap", "re-plan", "61 to 90"] {
        assert!(!figures.contains(absent), "{absent} in\n{}", told.out);
    }
    let known = folder.path().join("known.json");
    let name = instances[0]["name"].as_str().unwrap();
    fs::write(&known, json!({ name: 1 }).to_string()).unwrap();
    let told = judge(&file, &["--seconds", "20", "--known", known.to_str().unwrap()]);
    assert!(told.missed().iter().any(|line| line.contains("best known value: 0.000 %")), "{}", told.out);
}

#[test]
fn search_and_library_can_be_judged_alone() {
    let mut instances = shipped("kitchen.json");
    instances.truncate(1);
    let (_folder, file) = with(&Value::Array(instances));
    let library = judge(&file, &["--seconds", "20", "--engine", "library"]);
    assert!(library.out.contains("best, proven"), "{}", library.out);
    let search = judge(&file, &["--seconds", "0.2", "--engine", "search"]);
    assert!(search.out.contains("met     mean gap of kitchens: 0.000 %"), "{}", search.out);
    assert!(search.missed().iter().any(|line| line.contains("proven: 0.000 %")), "{}", search.out);
}

#[test]
fn useless_files_are_refused_with_a_reason() {
    let cases = [
        (json!({}), "expected a list of instances in"),
        (json!([]), "found: a list of 0"),
        (json!([{ "tasks": [] }]), "expected an instance with a name"),
        (json!([{ "name": "a", "tasks": [] }]), "expected tasks of instance a in the form"),
        (json!([{ "name": "a", "tasks": [{ "d": -1 }] }]), "expected tasks of instance a in the form"),
        (
            json!([{ "name": "a", "tasks": [{ "d": 1 }], "prec": [[0, 3, 1]] }]),
            "expected prec of instance a in the form",
        ),
        (json!([{ "name": "a", "tasks": [{ "d": 1 }], "obj": [[0]] }]), "expected obj of instance a in the form"),
    ];
    for (content, expected) in cases {
        let (_folder, file) = with(&content);
        let told = judge(&file, &[]);
        assert_eq!(told.code, 2, "{expected}: {}{}", told.out, told.notes);
        assert!(
            told.notes.starts_with("judge: ") && told.notes.contains(expected),
            "no {expected:?} in {}",
            told.notes
        );
    }
    let told = judge(Path::new("/nowhere.json"), &[]);
    assert_eq!(told.code, 2);
    assert!(told.notes.contains("expected a file that can be read in /nowhere.json"), "{}", told.notes);
}
