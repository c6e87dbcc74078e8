//! A recorded trial comes in, goes out and stands up again as it was.
#![allow(clippy::unwrap_used, missing_docs)]

use std::{collections::BTreeMap, path::Path, sync::Arc};

use journal::index::{Filter, Index, Status};
use quantities::RunTime;
use run_engine::{Engine, OpenTrial, Setup};
use station_tests::{
    data,
    facts::{entries_of, facts_in, journal_of, trials},
    station::output_of,
};
use trial::{Entry, Fact, record::TrialRecord};

const RECORDED: &str = "trials/pork-loin.jsonl";

fn recorded() -> String {
    std::fs::read_to_string(data(RECORDED)).unwrap()
}

fn imported(home: &Path) {
    output_of(home, ["import", data(RECORDED).to_str().unwrap(), "--yes"]);
}

/// The opening for an engine, with the recipe that is kept in the record itself.
fn opening(entries: &[Entry], recipe: &str) -> OpenTrial {
    let Fact::TrialOpened(info) = &entries[0].fact else { panic!("the record does not begin with its opening") };
    let recipe = recipe_parser::parse("recorded", recipe).recipe.expect("the recipe of an old trial still reads");
    assert_eq!(recipe.id, info.recipe);
    let programme = Arc::new(recipe.programme(&info.variant).unwrap().clone());
    OpenTrial {
        info: info.clone(),
        programme,
        probes: BTreeMap::new(),
        equipment: Vec::new(),
        calibrations: BTreeMap::new(),
        history: BTreeMap::new(),
        quiet: false,
        plan: None,
    }
}

#[test]
fn an_imported_trial_is_exported_as_it_was() {
    let home = tempfile::tempdir().unwrap();
    imported(home.path());
    let again = output_of(home.path(), ["export"]);
    assert_eq!(facts_in(&again), facts_in(&recorded()));
    assert!(again == recorded(), "all facts are the same, but not all of the rest");
}

#[test]
fn an_engine_restored_from_its_facts_has_the_closed_trial() {
    let home = tempfile::tempdir().unwrap();
    imported(home.path());
    let file = journal_of(home.path(), &trials(home.path())[0]);
    let entries = entries_of(&file.facts().unwrap());
    let record = TrialRecord::of(&entries).unwrap();
    let open = opening(&entries, file.recipe().unwrap());
    let mut engine = Engine::new(Setup::default());
    engine.restore(open, &entries, None, RunTime::START).unwrap();
    assert!(!engine.is_running());
    assert!(engine.poll_fact().is_none(), "a closed trial makes no new fact");
    let view = engine.view(engine.now());
    let trial = &view.trials[0];
    assert_eq!((trial.closed, trial.given_up), (record.closed, false));
    assert_eq!(trial.missing, record.missing);
    let shown: BTreeMap<_, _> = trial.ended.iter().map(|ended| (ended.step.clone(), ended.ran)).collect();
    let kept: BTreeMap<_, _> =
        record.steps.iter().map(|step| (step.step.clone(), step.end.as_ref().unwrap().ran)).collect();
    assert_eq!(shown, kept);
}

#[test]
fn an_engine_stands_up_at_every_fact_of_the_record() {
    let entries = entries_of(&facts_in(&recorded()));
    let home = tempfile::tempdir().unwrap();
    imported(home.path());
    let file = journal_of(home.path(), &trials(home.path())[0]);
    let open = || opening(&entries, file.recipe().unwrap());
    for n in 1..=entries.len() {
        let now = entries[n - 1].at;
        let mut engine = Engine::new(Setup::default());
        engine.restore(open(), &entries[..n], None, now).unwrap_or_else(|why| panic!("after fact {}: {why}", n - 1));
        let view = engine.view(now);
        let ended = entries[..n].iter().filter(|entry| matches!(entry.fact, Fact::StepEnded { .. })).count();
        assert_eq!(view.trials[0].ended.len(), ended, "after fact {}", n - 1);
    }
}

#[test]
fn a_rebuilt_index_is_the_one_that_was_kept() {
    let home = tempfile::tempdir().unwrap();
    imported(home.path());
    let trial = trials(home.path()).remove(0);
    let index = home.path().join("data/index.sqlite");
    let listed = || {
        let index = Index::open(&index).unwrap();
        let rows = format!("{:?}", index.list(&Filter { status: Some(Status::Closed), ..Filter::default() }).unwrap());
        (rows, format!("{:?}", index.show(&trial).unwrap()))
    };
    let kept = listed();
    assert!(kept.0.contains(trial.as_str()), "{}", kept.0);
    let shown = output_of(home.path(), ["trials", "--json"]);
    std::fs::remove_file(&index).unwrap();
    output_of(home.path(), ["rebuild"]);
    assert_eq!(listed(), kept);
    assert_eq!(output_of(home.path(), ["trials", "--json"]), shown);
}
