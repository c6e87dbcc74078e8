//! The life of a recipe and of its trials on the command line: checked, cooked, listed, exported, imported.
#![allow(clippy::unwrap_used)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
};

use serde_json::Value;

const RECIPE: &str = r#"schema = 1
id = "barley"
title = "Barley"
yield = "2 portions"
hazards = []

[kitchen]
burners = 1
cooks = 1

[[ingredient]]
id = "barley"
name = "Pearl barley"
amount = "180 g" # dry
tolerance = "5 g"

[[stage]]
id = "pot"
name = "barley"
appliance = "burner"

[[stage.step]]
id = "sweat"
name = "sweat"
do = "Barley into the warm oil."
setting = { level = "medium" }
until = { time = "4 min" }
uses = ["barley"]

[[stage.step]]
id = "simmer"
name = "simmer"
do = "Stock in, simmer."
setting = { level = "low" }
until = { time = "20-25 min", cue = "Tender?", first_look = "20 min", look_every = "2 min", no_later_than = "32 min" }
cautions = ["steam"]
"#;

/// A folder with the recipe in it.
struct Kitchen {
    home: tempfile::TempDir,
}

impl Kitchen {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("barley.toml"), RECIPE).unwrap();
        Self { home }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tallyhob"));
        command.args(args).env_clear().env("HOME", self.home.path()).current_dir(self.home.path());
        command.stdin(Stdio::null());
        command
    }

    fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    fn json(&self, args: &[&str]) -> Value {
        serde_json::from_slice(&self.run(args).stdout).unwrap()
    }

    fn cooked(seed: &str) -> Self {
        let kitchen = Self::new();
        let cook = ["cook", "barley.toml", "--sim", "--speed", "max", "--plain", "--seed", seed, "--data-dir", "data"];
        let answer = kitchen.run(&cook);
        assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
        kitchen
    }

    fn trial(&self) -> String {
        let listed = self.json(&["trials", "--json", "--data-dir", "data"]);
        listed[0]["trial"].as_str().unwrap().to_owned()
    }
}

fn out(answer: &Output) -> String {
    String::from_utf8(answer.stdout.clone()).unwrap()
}

fn err(answer: &Output) -> String {
    String::from_utf8(answer.stderr.clone()).unwrap()
}

/// The steps of a record, without what the moment of the run decides.
fn steps(record: &Value) -> &Value {
    &record["steps"]
}

#[test]
fn the_same_seed_cooks_the_same_trial() {
    let [one, two, other] = ["7", "7", "8"].map(Kitchen::cooked);
    let record = |kitchen: &Kitchen| kitchen.json(&["show", &kitchen.trial(), "--json", "--data-dir", "data"]);
    let (one, two, other) = (record(&one), record(&two), record(&other));
    assert_eq!(steps(&one).as_array().unwrap().len(), 2);
    assert_eq!(steps(&one), steps(&two));
    assert_ne!(steps(&one), steps(&other));
}

#[test]
fn a_cooked_trial_is_listed_and_shown() {
    let kitchen = Kitchen::cooked("3");
    let trial = kitchen.trial();
    let listed = out(&kitchen.run(&["trials", "--data-dir", "data"]));
    assert!(listed.contains(&trial) && listed.contains("finished"), "{listed}");
    let shown = out(&kitchen.run(&["show", &trial, "--data-dir", "data"]));
    assert!(shown.contains("pot.simmer") && shown.contains("weighed in: 1 ingredient,"), "{shown}");
    assert!(shown.contains("a trained person decide"), "{shown}");
    let none = kitchen.run(&["trials", "--recipe", "soup", "--data-dir", "data"]);
    assert_eq!(err(&none), "no trial of soup in data/trials; tallyhob trials lists all\n");
    assert_eq!(none.status.code(), Some(0));
}

#[test]
fn a_check_goes_on_after_a_file_that_is_not_there() {
    let kitchen = Kitchen::new();
    fs::write(kitchen.path("bad.toml"), RECIPE.replace("time = \"4 min\"", "tme = \"4 min\"")).unwrap();
    let one = kitchen.run(&["check", "bad.toml"]);
    assert_eq!(one.status.code(), Some(1));
    assert_eq!(
        out(&one),
        "bad.toml:27:11: error[unknown-key]: expected a key of `until`, found `tme`\n   |\n\
         27 | until = { tme = \"4 min\" }\n   |           ^^^\n   = help: write time\n\n\
         bad.toml: refused, 1 error and 0 warnings\n"
    );
    let all = kitchen.run(&["check", "nowhere.toml", "bad.toml", "barley.toml"]);
    assert_eq!(all.status.code(), Some(3));
    assert!(err(&all).starts_with("error: cannot read nowhere.toml: "), "{}", err(&all));
    assert!(out(&all).ends_with("barley.toml: Barley is in order, 1 stage, 2 steps\n"), "{}", out(&all));
}

#[test]
fn three_mistakes_are_three_complaints() {
    let kitchen = Kitchen::new();
    let text =
        RECIPE.replace("\"4 min\"", "\"90\"").replace("\"steam\"", "\"steem\"").replace("\"burner\"", "\"stove\"");
    fs::write(kitchen.path("bad.toml"), text).unwrap();
    let checked = kitchen.json(&["check", "bad.toml", "--json"]);
    let rules: Vec<&str> =
        checked[0]["complaints"].as_array().unwrap().iter().map(|c| c["rule"].as_str().unwrap()).collect();
    assert_eq!(rules, ["unknown-word", "no-unit", "unknown-word"]);
}

#[test]
fn an_export_comes_back_without_loss() {
    let kitchen = Kitchen::cooked("5");
    let trial = kitchen.trial();
    let exported = kitchen.run(&["export", &trial, "-o", "out.jsonl", "--data-dir", "data"]);
    assert_eq!((exported.status.code(), out(&exported).as_str()), (Some(0), ""));
    let dry = kitchen.run(&["import", "out.jsonl", "--dry-run", "--data-dir", "other"]);
    assert_eq!(dry.status.code(), Some(0));
    assert!(!kitchen.path("other").exists(), "a dry run makes nothing");
    let unasked = kitchen.run(&["import", "out.jsonl", "--data-dir", "other"]);
    assert_eq!(unasked.status.code(), Some(2));
    assert!(!kitchen.path("other").exists(), "without a yes nothing is made");
    assert_eq!(kitchen.run(&["import", "out.jsonl", "--yes", "--data-dir", "other"]).status.code(), Some(0));
    let again = kitchen.run(&["export", &trial, "--data-dir", "other"]);
    assert_eq!(again.stdout, fs::read(kitchen.path("out.jsonl")).unwrap());
    for how in ["--yes", "--dry-run"] {
        let twice = kitchen.run(&["import", "out.jsonl", how, "--data-dir", "other"]);
        assert_eq!(twice.status.code(), Some(3), "{how}");
        assert!(err(&twice).contains("nothing was imported"), "{how}: {}", err(&twice));
    }
}

#[test]
fn a_cut_or_changed_export_is_refused_by_name() {
    let kitchen = Kitchen::cooked("5");
    let whole = out(&kitchen.run(&["export", &kitchen.trial(), "--data-dir", "data"]));
    let lines: Vec<&str> = whole.lines().collect();
    let cut = lines[..lines.len() - 2].join("\n");
    let changed = whole.replacen("\"boot_ms\":0", "\"boot_ms\":1", 1);
    assert_ne!(changed, whole);
    for (name, text) in [("cut.jsonl", cut), ("changed.jsonl", changed)] {
        fs::write(kitchen.path(name), text).unwrap();
        let answer = kitchen.run(&["import", name, "--yes", "--data-dir", "other"]);
        assert_eq!(answer.status.code(), Some(3), "{name}");
        assert!(err(&answer).starts_with(&format!("error: {name} is not imported: ")), "{}", err(&answer));
        assert!(!kitchen.path("other").exists());
    }
}

#[test]
fn a_broken_index_is_put_aside_and_built_again() {
    let kitchen = Kitchen::cooked("5");
    let before = kitchen.json(&["trials", "--json", "--data-dir", "data"]);
    fs::write(kitchen.path("data/index.sqlite"), "no index").unwrap();
    let rebuilt = kitchen.run(&["rebuild", "--data-dir", "data"]);
    assert_eq!((rebuilt.status.code(), out(&rebuilt).as_str()), (Some(0), "the index holds 1 trial\n"));
    assert_eq!(fs::read_to_string(kitchen.path("data/index.sqlite.broken")).unwrap(), "no index");
    assert_eq!(kitchen.json(&["trials", "--json", "--data-dir", "data"]), before);
    let empty = kitchen.run(&["rebuild", "--data-dir", "none"]);
    assert_eq!((empty.status.code(), out(&empty).as_str()), (Some(0), ""));
}

#[test]
fn formatting_twice_changes_nothing_and_keeps_comments() {
    let kitchen = Kitchen::new();
    fs::write(kitchen.path("loose.toml"), RECIPE.replace("yield = ", "yield    =  ")).unwrap();
    assert_eq!(kitchen.run(&["fmt", "--check", "loose.toml"]).status.code(), Some(1));
    assert_eq!(kitchen.run(&["fmt", "loose.toml"]).status.code(), Some(0));
    let once = fs::read_to_string(kitchen.path("loose.toml")).unwrap();
    assert!(once.contains("# dry") && once.contains("yield = \"2 portions\""), "{once}");
    assert_eq!(kitchen.run(&["fmt", "--check", "loose.toml"]).status.code(), Some(0));
    assert_eq!(kitchen.run(&["fmt", "loose.toml"]).status.code(), Some(0));
    assert_eq!(fs::read_to_string(kitchen.path("loose.toml")).unwrap(), once);
}

#[test]
fn a_run_that_jumps_asks_for_the_simulated_cook() {
    let kitchen = Kitchen::new();
    fs::write(kitchen.path("presses.txt"), "").unwrap();
    for keys in ["live", "presses.txt"] {
        let args = ["cook", "barley.toml", "--sim", "--speed", "max", "--keys", keys, "--data-dir", "data"];
        let answer = kitchen.run(&args);
        assert_eq!(answer.status.code(), Some(2), "{keys}");
        assert!(err(&answer).contains("--keys script"), "{}", err(&answer));
    }
    let missing = kitchen.run(&["cook", "barley.toml", "--sim", "--keys", "nowhere.txt", "--data-dir", "data"]);
    assert_eq!(missing.status.code(), Some(3));
    assert_eq!(err(&missing), "error: expected a file of presses at nowhere.txt, found none\n");
    assert_eq!(kitchen.json(&["trials", "--json", "--data-dir", "data"]), serde_json::json!([]), "no trial was opened");
}

#[cfg(unix)]
#[test]
fn a_curve_is_never_played_into_a_folder_of_the_system() {
    let kitchen = Kitchen::new();
    fs::write(kitchen.path("curve.csv"), "time_s,core_c\n0,20\n60,40\n").unwrap();
    std::os::unix::fs::symlink("/etc", kitchen.path("link")).unwrap();
    for folder in ["/sys", "/", "/proc/new", "link", "link/new", "/tmp/../etc/new"] {
        let answer = kitchen.run(&["play", "curve.csv", "--w1-root", folder, "--speed", "max"]);
        assert_eq!(answer.status.code(), Some(2), "{folder}: {}", err(&answer));
    }
    assert!(!Path::new("/etc/new").exists());
    let played = kitchen.run(&["play", "curve.csv", "--w1-root", "tree/new", "--speed", "max"]);
    assert_eq!(played.status.code(), Some(0), "{}", err(&played));
    assert!(kitchen.path("tree/new/bus/w1/devices").is_dir());
}

#[test]
fn the_schema_is_json_and_every_rule_explains_itself() {
    let kitchen = Kitchen::new();
    let schema = kitchen.json(&["schema"]);
    assert!(schema["$defs"].is_object() && schema["properties"]["stage"].is_object(), "{schema}");
    let rules = kitchen.json(&["rules", "--json"]);
    assert!(rules.as_array().unwrap().len() > 40);
    for rule in rules.as_array().unwrap() {
        let code = rule["rule"].as_str().unwrap();
        let told = out(&kitchen.run(&["rules", code]));
        assert!(told.starts_with(code) && told.contains("instead of") && told.contains("write"), "{told}");
    }
    let near = kitchen.run(&["rules", "nounit"]);
    assert_eq!(
        (near.status.code(), err(&near).as_str()),
        (Some(2), "error: expected a rule, found nounit; did you mean no-unit?\n")
    );
}

#[test]
fn an_index_that_is_gone_never_hides_the_trials_of_before() {
    let kitchen = Kitchen::cooked("3");
    let cook = ["cook", "barley.toml", "--sim", "--speed", "max", "--plain", "--data-dir", "data"];
    fs::remove_file(kitchen.path("data/index.sqlite")).unwrap();
    assert_eq!(kitchen.run(&cook).status.code(), Some(0));
    // as a full disk leaves it
    fs::write(kitchen.path("data/index.sqlite"), "").unwrap();
    assert_eq!(kitchen.run(&cook).status.code(), Some(0));
    let listed = kitchen.json(&["trials", "--json", "--data-dir", "data"]);
    assert_eq!(listed.as_array().unwrap().len(), 3);
}

/// The forecasts of the roast in the latest trial: how far each was off, in seconds, and how many there are.
fn offs(kitchen: &Kitchen, trial: &str) -> Vec<f64> {
    let shown = kitchen.json(&["show", trial, "--json", "--data-dir", "data"]);
    let told = shown["forecasts"][0]["told"].as_array().unwrap().clone();
    let off = |told: &Value| {
        let text = told["off"].as_str().unwrap();
        let span: quantities::Span = serde_json::from_value(text.trim_start_matches('-').into()).unwrap();
        span.secs()
    };
    told.iter().map(off).collect()
}

#[test]
fn a_loin_is_foretold_scored_held_against_the_tables_and_foretold_again_from_its_record() {
    let kitchen = Kitchen::new();
    let recipe = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../recipes/library/pork-loin.toml");
    let recipe = recipe.to_str().unwrap();
    let cook = ["cook", recipe, "--sim", "--speed", "max", "--plain", "--seed", "1", "--data-dir", "data"];
    let answer = kitchen.run(&cook);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    let first = kitchen.trial();
    let shown = out(&kitchen.run(&["show", &first, "--data-dir", "data"]));
    let line = |starts: &str| {
        let found = shown.lines().find(|line| line.trim_start().starts_with(starts));
        found.unwrap_or_else(|| panic!("no line {starts:?} in\n{shown}")).to_owned()
    };
    assert!(line("loin.roast, time to 63 °C: at ").contains("; inside the band "));
    assert!(line("carry-over in rest.rest: peak ").ends_with(" was said"));
    assert!(
        line("core of loin.roast and rest.rest by probe core, as read, a probe without a check").contains("0.5 °C")
    );
    assert!(
        line("minimum for fresh pork, fresh ham, 62.8 °C (145 °F), with a rest of 3 min: reached, for ")
            .contains("USDA")
    );
    assert!(line("equivalent to ").contains("The local food code and a trained person decide"));
    assert!(err(&answer).contains("peak    loin.roast: "), "{}", err(&answer));

    let again = out(&kitchen.run(&["foretell", "--trial", &first, "--step", "loin.roast", "--data-dir", "data"]));
    assert!(again.starts_with(&format!("loin.roast of trial {first}: to 63.0 °C, oven at 180 °C\n")), "{again}");
    assert!(again.contains("  set otherwise, covered or moved\n"), "the tin was rotated: {again}");
    let no_step = kitchen.run(&["foretell", "--trial", &first, "--step", "loin.rost", "--data-dir", "data"]);
    assert_eq!(no_step.status.code(), Some(2));
    assert_eq!(
        err(&no_step),
        format!("error: expected a step of {first} that ends by its core (loin.roast), found loin.rost\n")
    );

    // the same cook once more leans on the first
    assert_eq!(kitchen.run(&cook).status.code(), Some(0));
    let second = kitchen.trial();
    assert_ne!(first, second);
    let (before, after) = (offs(&kitchen, &first), offs(&kitchen, &second));
    assert!(after[0] < before[0] / 2.0, "with a trial before {after:?}, without {before:?}");
}

#[test]
fn a_fault_in_a_curve_is_said_and_reaches_no_target() {
    let kitchen = Kitchen::new();
    let curve =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cli/foretell.in/pan.csv")).unwrap();
    // pulled out into the air over the pan after a quarter of an hour, and left there
    let pulled: Vec<String> = curve
        .lines()
        .map(|line| match line.split_once(',').and_then(|(time, _)| time.parse::<f64>().ok()) {
            Some(time) if time >= 900.0 => {
                format!("{time},{:.2}", 52.5 + 60.0 * (1.0 - (-(time - 900.0) / 10.0).exp()))
            }
            Some(_) | None => line.to_owned(),
        })
        .collect();
    fs::write(kitchen.path("pulled.csv"), pulled.join("\n")).unwrap();
    let answer = kitchen.run(&["foretell", "pulled.csv", "--target", "68C", "--appliance", "pan"]);
    assert_eq!(answer.status.code(), Some(0), "{}", err(&answer));
    let told = out(&answer);
    assert!(told.contains("  probe: not believed: "), "{told}");
    let from_stdin = kitchen
        .command(&["foretell", "-", "--target", "68C", "--appliance", "pan"])
        .stdin(fs::File::open(kitchen.path("pulled.csv")).unwrap())
        .output()
        .unwrap();
    assert_eq!(out(&from_stdin), told.replacen("pulled.csv", "-", 1));
    for rule in ["first single reading", "line through half a minute", "mean of 10 s"] {
        let line = told.lines().find(|line| line.contains(rule)).unwrap();
        assert!(line.ends_with("never"), "{line}");
    }
}
