//! The program that judges: what it prints and how it ends, on good, spoilt and useless data.
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

fn judge(files: &[&Path]) -> Told {
    let told = Command::new(env!("CARGO_BIN_EXE_judge")).arg("doneness").args(files).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Told { code: told.status.code().unwrap(), out: text(told.stdout), notes: text(told.stderr) }
}

fn development(name: &str) -> PathBuf {
    repository().join("firmware-app/heat/tests/data/development").join(name)
}

fn records() -> Vec<Value> {
    serde_json::from_slice(&fs::read(development("curves_meta.json")).unwrap()).unwrap()
}

/// A folder with records of one's own; the curves stay where they are.
fn with_records(records: &Value) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("meta.json");
    fs::write(&file, serde_json::to_vec(records).unwrap()).unwrap();
    (folder, file)
}

/// A curve that rises on a straight line and its record with `more` in it.
fn line(id: &str, more: &Value) -> (String, Value) {
    let rows: String = (0..1200).map(|t| format!("{id},{t},{:.2}\n", 5.0 + 0.06 * f64::from(t))).collect();
    let mut record = json!({ "id": id, "family": "bone", "target_c": 65.0, "t_target_s": 1000.0 });
    record.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    (rows, record)
}

fn with_lines(lines: &[(String, Value)], header: &str) -> (TempDir, PathBuf, PathBuf) {
    let (folder, meta) = with_records(&lines.iter().map(|line| line.1.clone()).collect());
    let curves = folder.path().join("curves.csv");
    let rows: String = lines.iter().map(|line| line.0.as_str()).collect();
    fs::write(&curves, format!("{header}\n{rows}")).unwrap();
    (folder, curves, meta)
}

#[test]
fn every_accepted_figure_is_met_on_the_development_curves() {
    let told = judge(&[
        &development("curves.csv.gz"),
        &development("curves_meta.json"),
        &development("curves_rest_truth.csv.gz"),
    ]);
    assert_eq!(told.code, 0, "{}{}", told.out, told.notes);
    assert_eq!(told.notes, "");
    for expected in [
        "error at 25 % of the cook, median: ",
        "error at 25 % of the cook, 90th percentile: ",
        "error at 50 % of the cook, median: ",
        "error at 50 % of the cook, 90th percentile: ",
        "error at 75 % of the cook, median: ",
        "error at 75 % of the cook, 90th percentile: ",
        "80 % interval holds the truth: ",
        "truth later than the interval: ",
        "family pan_flip: interval holds the truth from half-time: ",
        "mean of 30 s, called more than 0.5 °C under: 0.00 %",
        "line of 30 s led by 3 s held 5 s, median after the truth: ",
        "carry-over from the oven, median error: ",
        "appliance microwave",
        "looks: ",
        "withheld: ",
        " updates a second",
        "every accepted figure is met",
    ] {
        assert!(told.out.contains(expected), "no {expected:?} in\n{}", told.out);
    }
    assert!(!told.out.contains("MISSED"), "{}", told.out);
}

#[test]
fn true_times_that_are_wrong_by_a_third_are_found_out() {
    let mut records = records();
    for record in &mut records {
        for key in ["t_target_s", "t_target_m5_s", "t_target_m10_s"] {
            record[key] = json!(record[key].as_f64().unwrap() * 1.3);
        }
        // the tips at the pulls would contradict the times
        record["pulls"] = Value::Null;
    }
    let (_folder, meta) = with_records(&Value::Array(records));
    let told = judge(&[&development("curves.csv.gz"), &meta]);
    assert_eq!(told.code, 1, "{}{}", told.out, told.notes);
    for missed in [
        "MISSED    error at 50 % of the cook, median",
        "MISSED    error at 75 % of the cook, 90th percentile",
        "MISSED    80 % interval holds the truth",
        "MISSED    truth later than the interval",
        "MISSED    mean of 30 s, called more than 0.5 °C under",
    ] {
        assert!(told.out.contains(missed), "no {missed:?} in\n{}", told.out);
    }
    let last = told.out.lines().last().unwrap();
    assert!(last.starts_with("missed ") && last.contains("truth later than the interval"), "{last}");
    // without pulls there is no carry-over, and that is no fault
    assert!(told.out.contains("no data   carry-over from the oven, median error"), "{}", told.out);
}

#[test]
fn peaks_that_are_wrong_are_found_out() {
    let mut records = records();
    for record in &mut records {
        for pull in record["pulls"].as_array_mut().unwrap() {
            pull["peak_c"] = json!(pull["peak_c"].as_f64().unwrap() + 4.0);
        }
    }
    let (_folder, meta) = with_records(&Value::Array(records));
    let told = judge(&[&development("curves.csv.gz"), &meta]);
    assert_eq!(told.code, 1, "{}{}", told.out, told.notes);
    let missed: Vec<&str> = told.out.lines().filter(|line| line.starts_with("MISSED")).collect();
    assert_eq!(missed.len(), 1, "{missed:?}");
    assert!(missed[0].contains("carry-over from the oven, median error"), "{missed:?}");
}

#[test]
fn data_of_another_form_are_judged_and_what_is_left_out_is_said() {
    let odd = json!({
        "t_target_s": 1000, "family": "steps", "oven_set": 180.0, "oven_steps": [{ "t_s": 300, "set_c": 150 }], "pulls": null,
        "flips_s": null, "mood": ["good"], "foil": "yes",
    });
    let lines = [
        line("A", &json!({})),
        line("B", &odd),
        line("C", &json!({ "family": "low_oven", "target_c": 90.0, "t_target_s": null })),
        line("D", &json!({ "family": "many_flips", "flips_s": [100, 200], "oven_steps": "later" })),
        line(
            "E",
            &json!({ "appliance": "pan", "power_w": null, "pulls": [{ "pull_t_s": 900, "pull_tip_c": 59, "peak_c": 63 }] }),
        ),
    ];
    let (folder, curves, meta) = with_lines(&lines, "id,time_s,core_c");
    let more = "F,0,5.0\nF,1,5.0\n";
    fs::write(&curves, fs::read_to_string(&curves).unwrap() + more).unwrap();
    let mut records: Value = serde_json::from_slice(&fs::read(&meta).unwrap()).unwrap();
    records.as_array_mut().unwrap().extend([json!({ "id": "G", "target_c": 60, "t_target_s": 5 }), json!("rubbish")]);
    fs::write(&meta, serde_json::to_vec(&records).unwrap()).unwrap();
    let told = judge(&[&curves, &meta]);
    drop(folder);
    assert!(told.code == 0 || told.code == 1, "{}", told.notes);
    for expected in ["family steps", "family many_flips", "family low_oven", "never reached: 1 curves", "appliance pan"]
    {
        assert!(told.out.contains(expected), "no {expected:?} in\n{}", told.out);
    }
    for expected in [
        "1 x curves without a record: left out (F)",
        "1 x records without a curve: left out (G)",
        "1 x oven_steps of an unknown form: not told (D)",
        "1 x a record that is no object: left out (number 7)",
    ] {
        assert!(told.notes.contains(expected), "no {expected:?} in\n{}", told.notes);
    }
    assert_eq!(told.notes.lines().count(), 4, "{}", told.notes);
}

#[test]
fn frozen_food_is_withheld_and_no_fault() {
    let mut lines: Vec<(String, Value)> = ["A", "B"].map(|id| line(id, &json!({}))).into();
    let rows = (0..2000).map(|t| format!("Z,{t},{:.2}\n", (-18.0 + 0.02 * f64::from(t)).min(-1.0))).collect();
    lines.push((rows, json!({ "id": "Z", "family": "frozen", "target_c": 65, "t_target_s": 3500.0, "oven_set": 180 })));
    let (_folder, curves, meta) = with_lines(&lines, "id,time_s,core_c");
    let told = judge(&[&curves, &meta]);
    assert!(told.out.contains("Thawing"), "{}{}", told.out, told.notes);
    assert!(told.out.contains("no data   family frozen: interval holds the truth from half-time"), "{}", told.out);
}

#[test]
fn useless_data_end_with_two_and_say_what_was_expected() {
    let good = line("A", &json!({}));
    let (folder, curves, meta) = with_lines(&[good], "id,time_s,core_c");
    let file = |name: &str, bytes: &[u8]| {
        let file = folder.path().join(name);
        fs::write(&file, bytes).unwrap();
        file
    };
    let cases: [(PathBuf, PathBuf, &str); 9] = [
        (folder.path().join("nowhere.csv"), meta.clone(), "expected to read"),
        (
            file("noise.csv", &[0, 159, 146, 150, 10, 255, 0]),
            meta.clone(),
            "expected a table with the columns id, time_s",
        ),
        (file("other.csv", b"when,what\n1,2\n"), meta.clone(), "found \"when,what\""),
        (file("words.csv", b"id,time_s,core_c\nA,soon,hot\n"), meta.clone(), "found in line 2: A,soon,hot"),
        (file("cut.csv.gz", &[0x1f, 0x8b, 8, 0, 1]), meta.clone(), "expected to read"),
        (curves.clone(), file("prose.json", b"well, it was"), "expected a list of curve records as JSON"),
        (curves.clone(), file("number.json", b"42"), "found no record"),
        (curves.clone(), file("none.json", b"[{\"id\": \"A\"}]"), "has no target_c"),
        (curves, file("timeless.json", b"[{\"id\": \"A\", \"target_c\": 60}]"), "expected t_target_s"),
    ];
    for (curves, meta, expected) in cases {
        let told = judge(&[&curves, &meta]);
        assert_eq!((told.code, told.out.as_str()), (2, ""), "{expected}: {}", told.notes);
        assert!(told.notes.starts_with("judge: expected "), "{}", told.notes);
        assert!(told.notes.contains(expected), "no {expected:?} in {}", told.notes);
    }
}
