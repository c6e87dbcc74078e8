//! The shipped recipes: all of them parse without a complaint, and together they use every feature of the model. Each has
//! a simulated kitchen that holds what it asks for.
#![allow(clippy::unwrap_used)]

use std::{
    collections::BTreeSet,
    fmt::Debug,
    fs,
    path::{Path, PathBuf},
};

use quantities::{CelsiusStep, Span};
use recipe_model::*;
use recipe_parser::{Parsed, Source, food_table, parse, render};

#[test]
fn every_shipped_recipe_parses_without_a_complaint() {
    let mut all = String::new();
    for (name, text) in files() {
        let Parsed { recipe, complaints } = parse(&name, &text);
        let source = Source { name: &name, text: &text };
        complaints.iter().for_each(|complaint| all.push_str(&render(complaint, &source, false)));
        match recipe {
            Some(recipe) => assert_eq!(name, format!("{}.toml", recipe.id), "a file is named by its recipe's id"),
            None if complaints.is_empty() => all.push_str(&format!("{name}: no recipe and no complaint\n")),
            None => {}
        }
    }
    assert!(all.is_empty(), "{all}");
    assert!(files().len() >= 7);
}

#[test]
fn every_shipped_recipe_is_laid_out_as_the_formatter_does_it() {
    for (name, text) in files() {
        assert!(recipe_parser::format(&text).unwrap() == text, "{name}: lay it out with `tallyhob fmt`");
    }
}

#[test]
fn every_food_class_hazard_and_caution_is_used() {
    let recipes = recipes();
    let foods = steps(&recipes).filter_map(|step| step.food).collect();
    assert_all(FoodClass::ALL, &foods);
    let hazards = recipes.iter().flat_map(|recipe| recipe.hazards.iter().copied()).collect();
    assert_all(Hazard::ALL, &hazards);
    let cautions = steps(&recipes).flat_map(|step| step.cautions.iter().copied()).collect();
    assert_all(Caution::ALL, &cautions);
}

#[test]
fn every_appliance_and_setting_is_used() {
    let recipes = recipes();
    let stages: Vec<&Stage> = programmes(&recipes).flat_map(|programme| &programme.stages).collect();
    let kinds = stages.iter().map(|stage| stage.appliance.kind).collect();
    assert_all(&ApplianceKind::ALL, &kinds);
    let second = stages.iter().filter(|stage| stage.appliance.number == 2);
    let second = second.map(|stage| stage.appliance.kind).collect();
    assert_all(&[ApplianceKind::Oven, ApplianceKind::Burner], &second);
    let settings = steps(&recipes).filter_map(|step| step.setting.as_ref()).map(|setting| match setting {
        Setting::Heat { fan: true, .. } => "heat with fan",
        Setting::Heat { fan: false, .. } => "heat",
        Setting::Power(_) => "power",
        Setting::Level(_) => "level",
    });
    assert_all(&["heat", "heat with fan", "level", "power"], &settings.collect());
}

#[test]
fn every_way_to_end_a_step_is_used() {
    let recipes = recipes();
    let mut ends = BTreeSet::new();
    for step in steps(&recipes) {
        ends.insert(match &step.until {
            Until::Time { looks: None, .. } => "fixed time",
            Until::Time { looks: Some(_), .. } => "window",
            Until::Core(core) if core.points > 1 => "core in several places",
            Until::Core(core) if !core.protects => "core for doneness",
            Until::Core(_) => "core",
            Until::Cue { looks, .. } if looks.cue.ends_with('?') => "cue asked as a question",
            Until::Cue { .. } => "cue",
            Until::Cook { .. } => "cook",
            Until::Heat { probe: Some(_), .. } => "heat by a probe",
            Until::Heat { probe: None, .. } => "heat by a press",
            Until::Rest { probe: Some(_), .. } => "rest with carry-over",
            Until::Rest { probe: None, .. } => "rest",
            Until::Rounds { .. } => "rounds",
        });
        if let Until::Core(core) = &step.until {
            if core.in_rest {
                ends.insert("core in the rest");
            }
            if core.hysteresis != CelsiusStep::HALF {
                ends.insert("hysteresis of its own");
            }
            if !core.fallback.looks.cue.is_empty() {
                ends.insert("fallback");
            }
        }
    }
    let wanted = [
        "core",
        "core for doneness",
        "core in several places",
        "core in the rest",
        "cook",
        "cue",
        "cue asked as a question",
        "fallback",
        "fixed time",
        "heat by a press",
        "heat by a probe",
        "hysteresis of its own",
        "rest",
        "rest with carry-over",
        "rounds",
        "window",
    ];
    assert_all(&wanted, &ends);
}

#[test]
fn every_way_to_begin_is_used() {
    let recipes = recipes();
    let mut begins = BTreeSet::new();
    for programme in programmes(&recipes) {
        let of_stages = programme.stages.iter().flat_map(|stage| stage.begin.iter().map(|begin| ("stage", begin)));
        let of_steps = programme.steps().flat_map(|(_, _, step)| step.begin.iter().map(|begin| ("step", begin)));
        for (owner, begin) in of_stages.chain(of_steps) {
            begins.insert(owner);
            let (name, wait) = match &begin.anchor {
                Anchor::Step { edge: Edge::End, wait, .. } => ("after", *wait),
                Anchor::Step { edge: Edge::Start, wait, .. } => ("with", *wait),
                Anchor::Event { wait, .. } => ("on", *wait),
                Anchor::BeforeEnd { lead, .. } => {
                    assert!(!lead.is_zero());
                    ("before", Span::ZERO)
                }
            };
            begins.insert(name);
            if !wait.is_zero() {
                begins.insert("wait");
            }
            if begin.within.is_some() {
                begins.insert("within");
            }
        }
        if programme.stages.iter().any(|stage| stage.begin.len() > 1) {
            begins.insert("several at once");
        }
    }
    let wanted = ["after", "before", "on", "several at once", "stage", "step", "wait", "with", "within"];
    assert_all(&wanted, &begins);
}

#[test]
fn everything_that_a_step_can_hold_is_used() {
    let recipes = recipes();
    let mut used = BTreeSet::new();
    for programme in programmes(&recipes) {
        for (_, stage, step) in programme.steps() {
            let kind = stage.appliance.kind;
            let usual_grace = Span::from_secs(if kind.heats() { 60 } else { 120 });
            let is_rest = matches!(step.until, Until::Rest { .. });
            let is_cook = matches!(step.until, Until::Cook { .. });
            let usual_warn = (step.until.expected().middle() >= Span::from_mins(3)).then_some(Span::from_mins(1));
            let inside = &step.inside;
            let holds = [
                ("rhythm", !inside.rhythms.is_empty()),
                ("rhythm with a press", inside.rhythms.iter().any(|rhythm| rhythm.press)),
                ("half-time", inside.half.is_some()),
                ("timed event", !inside.timed.is_empty()),
                ("option", !inside.branches.is_empty()),
                ("mark", !inside.marks.is_empty()),
                ("liquid", step.liquid),
                ("liquid in a microwave", step.liquid && kind == ApplianceKind::Microwave),
                ("hands beside a cook step", step.hands == Hands::Busy && !is_cook),
                ("no hold", !step.holdable && !kind.heats() && !is_rest),
                ("hold", step.holdable),
                ("grace", step.grace != usual_grace),
                ("other warning", step.warn.is_some() && step.warn != usual_warn),
                ("no warning", step.warn.is_none()),
                ("other end word", !["TAKE OUT", "OFF HEAT", "CHECK"].contains(&step.then.as_str())),
                ("ingredients", !step.uses.is_empty()),
                ("lane name", stage.lane == "Pot"),
                ("dish", stage.dish.is_some()),
            ];
            used.extend(holds.into_iter().filter(|(_, is_so)| *is_so).map(|(name, _)| name));
        }
    }
    assert_eq!(used.len(), 18, "{used:?}");
}

#[test]
fn everything_that_a_recipe_can_hold_is_used() {
    let recipes = recipes();
    let amounts = programmes(&recipes).flat_map(|programme| &programme.ingredients).flat_map(|ingredient| {
        let amount = match &ingredient.amount {
            Amount::Mass(_) => "mass",
            Amount::Volume(_) => "volume",
            Amount::Count(..) => "count",
        };
        let tolerance = match ingredient.tolerance {
            Tolerance::Thousandths(_) => "share",
            Tolerance::Mass(_) => "mass either way",
        };
        [amount, tolerance]
    });
    assert_all(&["count", "mass", "mass either way", "share", "volume"], &amounts.collect());
    assert!(recipes.iter().all(|recipe| !recipe.record.weigh.is_empty() && !recipe.record.photo.is_empty()));
    let scores = recipes.iter().flat_map(|recipe| &recipe.record.score);
    let scores = scores.map(|score| if score.words.is_empty() { "numbers" } else { "words" }).collect();
    assert_all(&["numbers", "words"], &scores);
    assert!(programmes(&recipes).any(|programme| !programme.landings.is_empty()));
    let variants: Vec<&Variant> = recipes.iter().flat_map(|recipe| &recipe.variants).collect();
    assert!(variants.iter().any(|variant| variant.control));
    let all_changes: Vec<&str> = variants.iter().flat_map(|v| &v.changes).map(String::as_str).collect();
    for wanted in ["skip ", "add ingredient ", "add ", "ingredient."] {
        assert!(all_changes.iter().any(|change| change.starts_with(wanted)), "{wanted}");
    }
    assert!(all_changes.iter().any(|change| change.contains(" -> ")));
    assert!(recipes.iter().any(|recipe| recipe.variants.len() >= 2));
}

#[test]
fn a_core_target_under_the_chart_stands_on_a_hold_pair() {
    let recipes = recipes();
    let mut on_a_pair = 0;
    for step in steps(&recipes) {
        let (Until::Core(core), Some(food)) = (&step.until, step.food) else { continue };
        let Some(minimum) = food_table::minimum(food) else { continue };
        if core.target < minimum.core {
            assert!(food_table::fulfilled(food, core.target, core.hold).is_some(), "{}", step.id);
            on_a_pair += 1;
        }
    }
    assert!(on_a_pair > 0, "one recipe shows how a hold pair is written");
}

#[test]
fn both_worlds_of_units_and_all_notations_are_written_somewhere() {
    let all: String = files().into_iter().map(|(_, text)| text).collect();
    for written in ["°C\"", "°F\"", "\"gas ", "80,5 °C", "PT15M/PT18M", " oz\"", " lb ", " cups\"", " tbsp\"", "1/2"]
    {
        assert!(all.contains(written), "{written}");
    }
}

#[test]
fn every_recipe_has_a_kitchen_with_its_appliances_probes_and_foods() {
    for recipe in recipes() {
        let path = library().join("kitchens").join(format!("{}.toml", recipe.id));
        let kitchen: toml::Table = fs::read_to_string(&path).unwrap().parse().unwrap();
        let names = |list: &str| -> BTreeSet<String> {
            let items = kitchen.get(list).and_then(toml::Value::as_array).into_iter().flatten();
            items.map(|item| item["name"].as_str().unwrap().to_owned()).collect()
        };
        let (appliances, foods, probes) = (names("appliance"), names("food"), names("probe"));
        for (_, stage, step) in recipe.base.steps() {
            let always_there = !stage.appliance.kind.heats();
            assert!(always_there || appliances.contains(&stage.appliance.to_string()), "{}: appliance", step.id);
            if let Some(probe) = step.until.probe() {
                assert!(probes.contains(probe.as_str()), "{}: probe {probe}", step.id);
            }
            let needs_food = match &step.until {
                Until::Core(_) | Until::Cue { .. } | Until::Rounds { .. } => true,
                Until::Time { looks, .. } => looks.is_some(),
                Until::Rest { probe, .. } => probe.is_some(),
                Until::Cook { .. } | Until::Heat { .. } => false,
            };
            assert!(!needs_food || foods.contains(&stage.name), "{}: food {}", step.id, stage.name);
        }
    }
}

fn library() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../library")
}

/// The shipped files with their text, by name.
fn files() -> Vec<(String, String)> {
    let entries = fs::read_dir(library()).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<(String, String)> = entries
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), fs::read_to_string(&path).unwrap()))
        .collect();
    files.sort();
    files
}

fn recipes() -> Vec<Recipe> {
    files().iter().map(|(name, text)| parse(name, text).recipe.unwrap_or_else(|| panic!("{name} is refused"))).collect()
}

/// The base and the variants of every shipped recipe.
fn programmes(recipes: &[Recipe]) -> impl Iterator<Item = &Programme> {
    recipes.iter().flat_map(|recipe| {
        let variants = recipe.variants.iter().map(|variant| &variant.programme);
        core::iter::once(&recipe.base).chain(variants)
    })
}

fn steps(recipes: &[Recipe]) -> impl Iterator<Item = &Step> {
    programmes(recipes).flat_map(|programme| programme.steps().map(|(_, _, step)| step))
}

#[track_caller]
fn assert_all<T: Ord + Debug>(wanted: &[T], used: &BTreeSet<T>) {
    let missing: Vec<&T> = wanted.iter().filter(|one| !used.contains(one)).collect();
    assert!(missing.is_empty(), "no shipped recipe uses {missing:?}");
}
