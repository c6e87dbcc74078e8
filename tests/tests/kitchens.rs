//! The simulated kitchens that lie with the recipes.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{collections::BTreeSet, path::PathBuf};

use hardware::{Probes, kitchen::KitchenPlan};
use station_tests::repository;

fn names(folder: &str) -> BTreeSet<String> {
    let files = std::fs::read_dir(repository().join(folder)).unwrap().map(|entry| entry.unwrap().path());
    let plain = files.filter(|path: &PathBuf| path.extension().is_some_and(|end| end == "toml"));
    plain.map(|path| path.file_name().unwrap().to_string_lossy().into_owned()).collect()
}

#[test]
fn every_recipe_has_a_kitchen_that_can_be_built() {
    let kitchens = names("recipes/library/kitchens");
    assert_eq!(kitchens, names("recipes/library"), "kitchens on the left, recipes on the right");
    for name in kitchens {
        let text = std::fs::read_to_string(repository().join("recipes/library/kitchens").join(&name)).unwrap();
        let plan: KitchenPlan = toml::from_str(&text).unwrap_or_else(|why| panic!("{name}: {why}"));
        let probes = plan.probe.len();
        let mut kitchen = plan.build(1).unwrap_or_else(|why| panic!("{name}: {why}"));
        assert_eq!(kitchen.list().len(), probes, "{name}: a probe is missing");
    }
}

#[test]
fn every_probe_of_a_recipe_is_in_its_kitchen() {
    for name in names("recipes/library") {
        let read = |folder: &str| std::fs::read_to_string(repository().join(folder).join(&name)).unwrap();
        let plan: KitchenPlan = toml::from_str(&read("recipes/library/kitchens")).unwrap();
        let recipe = recipe_parser::parse(&name, &read("recipes/library")).recipe.unwrap();
        let there: Vec<&str> = plan.probe.iter().map(|probe| probe.name.as_str()).collect();
        for programme in std::iter::once(&recipe.base).chain(recipe.variants.iter().map(|variant| &variant.programme)) {
            for probe in programme.steps().filter_map(|(_, _, step)| step.until.probe()) {
                let known = there.iter().any(|found| found.trim_start_matches("sim:") == probe.as_str());
                assert!(known, "{name}: the recipe reads {probe}, its kitchen has {there:?}");
            }
        }
    }
}
