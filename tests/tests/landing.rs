//! Dishes that land together in the simulated kitchen, with an oven that is slower than the recipe thinks.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{collections::BTreeSet, path::Path, process::Command};

use quantities::{RunTime, Span};
use serde_json::Value;
use station_tests::{binary::tallyhob, repository};

/// A cook of the chicken and its pilaf, as its record and its facts tell it.
struct Cook {
    record: Value,
    facts: Vec<Value>,
}

fn run(home: &Path, args: &[&str]) -> String {
    let ran = Command::new(tallyhob())
        .args(args)
        .arg("--data-dir")
        .arg(home)
        .env_clear()
        .env("HOME", home)
        .env("TZ", "UTC")
        .output()
        .unwrap();
    assert!(ran.status.success(), "{args:?}: {}", String::from_utf8_lossy(&ran.stderr));
    String::from_utf8(ran.stdout).unwrap()
}

/// The time of day in three hours.
fn in_three_hours() -> String {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap().as_secs();
    let of_day = (now + 3 * 3600) % 86_400;
    format!("{:02}:{:02}", of_day / 3600, of_day / 60 % 60)
}

impl Cook {
    /// With an oven that lies so far off its dial.
    fn of(offset: i32, seed: u32) -> Self {
        let home = tempfile::tempdir().unwrap();
        let library = repository().join("recipes/library");
        let kitchen = std::fs::read_to_string(library.join("kitchens/chicken-and-pilaf.toml")).unwrap();
        assert_eq!(kitchen.matches("\noffset = ").count(), 1, "one oven");
        let described = home.path().join("kitchen.toml");
        std::fs::write(&described, kitchen.replace("\noffset = 1\n", &format!("\noffset = {offset}\n"))).unwrap();
        let recipe = library.join("chicken-and-pilaf.toml");
        let (seed, ready) = (seed.to_string(), in_three_hours());
        let args = ["--sim", "--speed", "max", "--plain", "--keys", "script", "--seed", &seed, "--ready", &ready];
        let described = described.to_str().unwrap();
        run(home.path(), &[&["cook", recipe.to_str().unwrap(), "--sim-kitchen", described], &args[..]].concat());
        let trials: Value = serde_json::from_str(&run(home.path(), &["trials", "--json"])).unwrap();
        let trial = trials[0]["trial"].as_str().unwrap();
        let record = serde_json::from_str(&run(home.path(), &["show", trial, "--json"])).unwrap();
        let lines = run(home.path(), &["export", trial, "-o", "-"]);
        let facts = lines.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
        Self { record, facts: facts.filter(|line| line.get("fact").is_some()).collect() }
    }

    fn step(&self, id: &str) -> &Value {
        self.record["steps"].as_array().unwrap().iter().find(|step| step["step"] == id).unwrap()
    }

    fn began(&self, id: &str) -> RunTime {
        serde_json::from_value(self.step(id)["began"].clone()).unwrap()
    }

    fn ended(&self, id: &str) -> RunTime {
        serde_json::from_value(self.step(id)["end"]["at"].clone()).unwrap()
    }

    fn roasted(&self) -> Span {
        self.ended("thighs.roast").since(self.began("thighs.roast"))
    }

    /// How far apart the two dishes were ready.
    fn apart(&self) -> Span {
        self.ended("rest.rest").drift_from(self.ended("cover.stand")).size()
    }

    /// No plan ever moved a step that had begun.
    fn check_moves(&self) -> usize {
        let mut begun: BTreeSet<String> = BTreeSet::new();
        let mut moves = 0;
        for line in &self.facts {
            if let Some(step) = line["fact"]["step_began"]["step"].as_str() {
                begun.insert(step.to_owned());
            }
            for moved in line["fact"]["plan_moved"]["moved"].as_array().into_iter().flatten() {
                assert!(!begun.contains(moved["step"].as_str().unwrap()), "a step that had begun was moved: {line}");
            }
            if let Some(moved) = line["fact"].get("plan_moved") {
                assert!(moved.get("why").is_some(), "{line}");
                moves += 1;
            }
        }
        moves
    }
}

#[test]
fn two_dishes_land_within_three_minutes_although_the_oven_is_six_minutes_slow() {
    for seed in 1..=4 {
        let (usual, slow) = (Cook::of(1, seed), Cook::of(-24, seed));
        let slower = slow.roasted().saturating_sub(usual.roasted());
        assert!(slower >= Span::from_mins(6), "seed {seed}: {slower:?}");
        for cook in [&usual, &slow] {
            assert!(cook.apart() < Span::from_mins(3), "seed {seed}: {:?}", cook.apart());
            let pilaf = cook.ended("cover.stand").since(cook.began("cover.stand"));
            assert!(pilaf >= Span::from_mins(4), "it stood as long as it must");
            let moves = cook.check_moves();
            assert!(moves > 0, "the prediction moves, and the plan with it");
        }
        let plan = &slow.record["plan"]["landings"][0];
        assert!(plan["planned"] != plan["last"] && plan["actual"].is_string(), "{plan}");
    }
}
