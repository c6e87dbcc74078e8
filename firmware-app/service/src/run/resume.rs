//! Trials that were running when the station stopped, taken up again.

use std::{collections::BTreeSet, path::Path, sync::Arc};

use journal::{
    Content, Disk, TrialFile, Writer,
    index::{Filter, Index, Status},
    list_trials,
};
use quantities::{RunTime, Span};
use run_engine::Away;
use trial::{Dark, Entry, Fact, TrialId, record::TrialRecord};

use super::{
    book::seed_of,
    shelf::{self, ShelfError, probes_of},
    station::{ProbeMap, Station},
};
use crate::{
    clock::{ASK_AFTER, Stamp},
    library::Library,
};

/// A trial that is not closed, as it was found.
pub struct Found {
    trial: TrialId,
    writer: Writer,
    file: TrialFile,
    entries: Vec<Entry>,
    /// The last moment of the run that is on record, with its clocks.
    last: (RunTime, trial::Stamp),
}

/// The trials in `folder` that were not closed. One that cannot be read is left as it is, and said in the log.
pub fn open_trials(disk: &Arc<dyn Disk>, folder: &Path, index: &Path) -> Vec<Found> {
    let trials = match list_trials(&**disk, folder) {
        Ok(trials) => trials,
        Err(error) => {
            tracing::debug!("no trials at {}: {error}", folder.display());
            return Vec::new();
        }
    };
    let closed = closed_by_index(index);
    let open = trials.into_iter().filter(|trial| !closed.contains(trial));
    open.filter_map(|trial| find(disk, folder, &trial)).collect()
}

/// Builds the index anew where it is gone, so that one that knows only the trials to come never hides the old ones.
pub fn complete_index(library: &Library) {
    if !library.has_index()
        && let Err(why) = library.open_index()
    {
        tracing::warn!("index: {why}");
    }
}

/// Saves reading every old trial; a wrong index only costs time, since a trial that it does not call closed is read.
fn closed_by_index(index: &Path) -> BTreeSet<TrialId> {
    let filter = Filter { status: Some(Status::Closed), ..Filter::default() };
    let opened = index.is_file().then(|| Index::open(index).ok()).flatten();
    let rows = opened.and_then(|index| index.list(&filter).ok()).unwrap_or_default();
    rows.into_iter().map(|row| row.trial).collect()
}

fn find(disk: &Arc<dyn Disk>, folder: &Path, trial: &TrialId) -> Option<Found> {
    let (writer, file) = match Writer::resume(Arc::clone(disk), folder, trial, seed_of(trial)) {
        Ok(found) => found,
        Err(why) => {
            tracing::error!(%trial, "{why}");
            return None;
        }
    };
    for lost in &file.lost {
        tracing::error!(%trial, "{lost}");
    }
    let facts = match file.facts() {
        Ok(facts) => facts,
        Err(why) => {
            tracing::error!(%trial, "{why}");
            return None;
        }
    };
    let mut last = facts.last().map(|stamped| (stamped.entry.at, stamped.stamp.clone()))?;
    let entries: Vec<Entry> = facts.into_iter().map(|stamped| stamped.entry).collect();
    if TrialRecord::of(&entries).is_some_and(|record| record.closed.is_some()) {
        return None;
    }
    for content in file.contents().filter_map(Result::ok) {
        if let Content::Input(line) = content
            && let Some(alive) = sign_of_life(&line)
            && alive.0 > last.0
        {
            last = alive;
        }
    }
    Some(Found { trial: trial.clone(), writer, file, entries, last })
}

/// Why the recipe that was kept with a trial does not pass, with the first thing that is wrong with it.
fn no_longer(why: &ShelfError) -> String {
    let first = match why {
        ShelfError::Refused { complaints, .. } => {
            complaints.iter().find(|complaint| complaint.severity == recipe_parser::Severity::Error)
        }
        ShelfError::NotFound { .. } | ShelfError::Unreadable { .. } | ShelfError::NoVariant { .. } => None,
    };
    let first = first.map_or_else(|| why.to_string(), |complaint| complaint.message.clone());
    format!(
        "the recipe that was kept with it no longer passes the check: {first}; the record stays as it is, and the food on the heat is yours to watch"
    )
}

fn sign_of_life(line: &str) -> Option<(RunTime, trial::Stamp)> {
    #[derive(serde::Deserialize)]
    struct Alive {
        at: RunTime,
        alive: trial::Stamp,
    }
    serde_json::from_str(line).ok().map(|alive: Alive| (alive.at, alive.alive))
}

impl Found {
    /// How long the station was away, and where the clock of the run stands.
    pub fn away(&self, now: &Stamp) -> (Away, RunTime) {
        let (at, before) = &self.last;
        let same_boot = before.boot == now.boot.as_str() && before.boot_ms <= now.boot_ms;
        let wall = now.wall.filter(|_| now.synced && before.synced).map(|wall| wall - before.wall_ms);
        let dark = match (same_boot, wall.and_then(|ms| u64::try_from(ms).ok())) {
            (true, _) => Dark::Known(Span::from_millis(now.boot_ms - before.boot_ms)),
            (false, Some(ms)) => Dark::Known(Span::from_millis(ms)),
            // at least as long as this boot has lasted
            (false, None) => Dark::AtLeast(Span::from_millis(if before.boot == "simulated" { 0 } else { now.boot_ms })),
        };
        let ask = !same_boot || dark.counted() >= ASK_AFTER;
        (Away { dark, ask }, *at + dark.counted())
    }

    /// Takes it up again; a trial whose recipe no longer reads stays on disk as it is.
    pub fn take_up(
        self,
        station: &mut Station,
        probes: &mut dyn ProbeMap,
        away: Away,
        now: RunTime,
    ) -> Result<TrialId, String> {
        let text = self.file.recipe().ok_or("its record holds no recipe")?.to_owned();
        let shelved = shelf::parse(Path::new(self.trial.as_str()), text).map_err(|why| no_longer(&why))?;
        let Some(Fact::TrialOpened(info)) = self.entries.first().map(|entry| &entry.fact) else {
            return Err("its record does not begin with the opening".into());
        };
        let wanted = shelved.recipe.programme(&info.variant).map(probes_of).unwrap_or_default();
        let devices = probes.devices(&wanted);
        let readings = self.file.readings().map_err(|why| why.to_string())?;
        station
            .take_up(&shelved, &self.entries, &readings, self.writer, devices, away, now)
            .map_err(|why| why.to_string())?;
        Ok(self.trial)
    }

    /// Its id.
    pub fn trial(&self) -> &TrialId {
        &self.trial
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kept_recipe_that_does_not_pass_is_said_with_its_fault_and_not_sent_to_a_file() {
        let why = shelf::parse(Path::new("20261125-soup"), "id = 3".into()).expect_err("an id is text");
        let words = no_longer(&why);
        assert!(words.starts_with("the recipe that was kept with it no longer passes the check: "), "{words}");
        assert!(!words.contains("tallyhob check"), "{words}");
    }
}
