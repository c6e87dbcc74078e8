//! What a record says, as plain values.

use std::path::Path;

use journal::{RealDisk, TrialFile, list_trials, read_trial};
use recipe_model::StepId;
use trial::{Entry, Fact, Stamped, TrialId};

/// The journals under a station's home, oldest first; none before the first trial.
pub fn trials(home: &Path) -> Vec<TrialId> {
    let folder = home.join("data/trials");
    if folder.is_dir() { list_trials(&RealDisk, &folder).unwrap() } else { Vec::new() }
}

/// The journal of a trial, read by the library and not by the program.
pub fn journal_of(home: &Path, trial: &TrialId) -> TrialFile {
    read_trial(&RealDisk, &home.join("data/trials"), trial).unwrap()
}

/// The facts of an export.
pub fn facts_in(json_lines: &str) -> Vec<Stamped> {
    let facts = json_lines.lines().filter(|line| line.starts_with("{\"v\":") && line.contains("\"fact\":"));
    facts.map(|line| trial::line::read(line).unwrap()).collect()
}

/// The entries alone.
pub fn entries_of(facts: &[Stamped]) -> Vec<Entry> {
    facts.iter().map(|stamped| stamped.entry.clone()).collect()
}

/// The first entry that `wanted` holds for.
pub fn first(entries: &[Entry], wanted: impl Fn(&Fact) -> bool) -> Option<&Entry> {
    entries.iter().find(|entry| wanted(&entry.fact))
}

/// When a step began.
pub fn began<'a>(entries: &'a [Entry], step: &str) -> Option<&'a Entry> {
    first(entries, |fact| matches!(fact, Fact::StepBegan { step: found, .. } if found.as_str() == step))
}

/// When a step ended.
pub fn ended<'a>(entries: &'a [Entry], step: &str) -> Option<&'a Entry> {
    first(entries, |fact| matches!(fact, Fact::StepEnded { step: found, .. } if found.as_str() == step))
}

/// The steps that began and did not end.
pub fn running(entries: &[Entry]) -> Vec<StepId> {
    let mut running: Vec<StepId> = Vec::new();
    for entry in entries {
        if let Fact::StepBegan { step, .. } = &entry.fact {
            running.push(step.clone());
        }
        if let Fact::StepEnded { step, .. } = &entry.fact {
            running.retain(|found| found != step);
        }
    }
    running
}

/// Whether the trial is closed.
pub fn is_closed(entries: &[Entry]) -> bool {
    first(entries, |fact| matches!(fact, Fact::TrialClosed { .. })).is_some()
}
