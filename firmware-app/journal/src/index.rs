//! What is asked over many trials, in SQLite: which there are, how each step went, its looks, alerts and readings.
//!
//! The journals are the truth; this file can be deleted and [rebuilt](Index::rebuild) at any time, so it is written
//! without waiting for the disk. Its form has a number: an older file is brought forward step by step, a newer one is
//! refused.

use std::path::{Path, PathBuf};

use quantities::Celsius;
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use trial::{Entry, TrialId, record::TrialRecord};

use crate::{ContentError, Disk, ReadError, TrialFile, list_trials, read_trial, words::word};

mod rows;

pub(crate) use rows::done_columns;
pub use rows::{AlertRow, LookRow, Outcome, ReadingsRow, Status, StepRow, TrialDetail, TrialRow};
use rows::{alert_row, length, look_row, moment, readings_row, step_row, trial_row};

/// The index file, open.
pub struct Index {
    connection: Connection,
}

/// Why the index did not answer.
#[derive(Debug, thiserror::Error)]
pub enum IndexError {
    /// A later program made it.
    #[error(
        "expected an index of form {known} or older, found form {found}: update this program, or remove the file and rebuild it"
    )]
    Newer {
        /// The newest form this program knows.
        known: i64,
        /// The form of the file.
        found: i64,
    },
    /// The database failed.
    #[error("the index failed: {0}; if that stays, remove the file and rebuild it from the journals")]
    Database(#[from] rusqlite::Error),
    /// A journal that does not begin with the opening of its trial.
    #[error("expected the record of trial {trial} to begin with its opening, found {found} facts that do not")]
    NoOpening {
        /// Which.
        trial: TrialId,
        /// How many facts it has.
        found: usize,
    },
    /// A fact or readings block that does not read.
    #[error("trial {trial}: {why}")]
    Content {
        /// Which.
        trial: TrialId,
        /// What is wrong.
        why: ContentError,
    },
    /// A journal that does not read at all.
    #[error(transparent)]
    Journal(#[from] ReadError),
    /// The folder of the journals, or the file of a copy, failed.
    #[error("{} failed: {error}", path.display())]
    Disk {
        /// Which.
        path: PathBuf,
        /// How.
        error: std::io::Error,
    },
}

/// Which trials to list.
#[derive(Clone, Debug, Default)]
pub struct Filter {
    /// Of this recipe only.
    pub recipe: Option<String>,
    /// Still open, or closed.
    pub status: Option<Status>,
    /// Only what comes after this trial in the list: the last one of the page before.
    pub after: Option<TrialId>,
    /// At most so many; all if nothing is said.
    pub limit: Option<u32>,
}

/// What a rebuild did.
#[derive(Debug, Default)]
pub struct Rebuilt {
    /// How many trials are in the index.
    pub trials: usize,
    /// Trials whose journal did not read, and why.
    pub left_out: Vec<(TrialId, IndexError)>,
}

impl Index {
    /// Opens an index file, makes it if there is none, and brings an older form forward.
    pub fn open(path: &Path) -> Result<Self, IndexError> {
        Self::set_up(Connection::open(path)?)
    }

    /// An index that goes away when it is dropped.
    pub fn in_memory() -> Result<Self, IndexError> {
        Self::set_up(Connection::open_in_memory()?)
    }

    fn set_up(mut connection: Connection) -> Result<Self, IndexError> {
        connection.busy_timeout(std::time::Duration::from_secs(5))?;
        let known = MIGRATIONS.len() as i64;
        let found: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
        if found > known {
            return Err(IndexError::Newer { known, found });
        }
        // an index that a power cut spoils is rebuilt: no sync is worth its time here
        connection
            .execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL; PRAGMA foreign_keys = ON;")?;
        for (number, migration) in (1..).zip(MIGRATIONS).skip(usize::try_from(found).unwrap_or(0)) {
            let step = connection.transaction()?;
            step.execute_batch(migration)?;
            step.pragma_update(None, "user_version", number)?;
            step.commit()?;
        }
        Ok(Self { connection })
    }

    /// Puts in what a journal says of its trial, in place of what was there.
    pub fn put(&mut self, file: &TrialFile) -> Result<(), IndexError> {
        let found = Found::of(file)?;
        let change = self.connection.transaction()?;
        found.write(&change)?;
        Ok(change.commit()?)
    }

    /// Takes a trial out.
    pub fn remove(&mut self, trial: &TrialId) -> Result<(), IndexError> {
        self.connection.execute("DELETE FROM trials WHERE trial = ?1", [trial.as_str()])?;
        Ok(())
    }

    /// Makes the index anew from the journals in `folder`; whoever reads meanwhile sees the old one.
    pub fn rebuild(&mut self, disk: &dyn Disk, folder: &Path) -> Result<Rebuilt, IndexError> {
        let trials = list_trials(disk, folder).map_err(|error| IndexError::Disk { path: folder.to_owned(), error })?;
        let change = self.connection.transaction()?;
        change.execute("DELETE FROM trials", [])?;
        let mut rebuilt = Rebuilt::default();
        for trial in trials {
            match read_trial(disk, folder, &trial).map_err(IndexError::from).and_then(|file| Found::of(&file)) {
                Ok(found) => {
                    found.write(&change)?;
                    rebuilt.trials += 1;
                }
                Err(why) => rebuilt.left_out.push((trial, why)),
            }
        }
        change.commit()?;
        Ok(rebuilt)
    }

    /// Lists trials, the newest first.
    pub fn list(&self, filter: &Filter) -> Result<Vec<TrialRow>, IndexError> {
        let mut ask = self.connection.prepare_cached(
            "SELECT * FROM trials
             WHERE (?1 IS NULL OR recipe = ?1) AND (?2 IS NULL OR status = ?2)
               AND (?3 IS NULL OR (opened_wall_ms, trial)
                    < (SELECT opened_wall_ms, trial FROM trials WHERE trial = ?3))
             ORDER BY opened_wall_ms DESC, trial DESC LIMIT ?4",
        )?;
        let status = filter.status.map(|status| word(&status));
        let after = filter.after.as_ref().map(TrialId::as_str);
        let limit = filter.limit.map_or(-1, i64::from);
        let rows = ask.query_map(params![filter.recipe, status, after, limit], trial_row)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Everything about one trial; nothing if it is not in the index.
    pub fn show(&self, trial: &TrialId) -> Result<Option<TrialDetail>, IndexError> {
        let id = trial.as_str();
        let mut ask = self.connection.prepare_cached("SELECT * FROM trials WHERE trial = ?1")?;
        let Some(trial) = ask.query_row([id], trial_row).optional()? else { return Ok(None) };
        Ok(Some(TrialDetail {
            trial,
            steps: self.rows("SELECT * FROM steps WHERE trial = ?1 ORDER BY number", id, step_row)?,
            looks: self.rows("SELECT * FROM looks WHERE trial = ?1 ORDER BY number, look", id, look_row)?,
            alerts: self.rows("SELECT * FROM alerts WHERE trial = ?1 ORDER BY number", id, alert_row)?,
            readings: self.rows("SELECT * FROM readings WHERE trial = ?1 ORDER BY probe", id, readings_row)?,
        }))
    }

    /// Writes a whole copy to a file while the index is in use; the file is there whole or not at all.
    pub fn back_up(&self, to: &Path) -> Result<(), IndexError> {
        let mut part = to.as_os_str().to_owned();
        part.push(".part");
        let at_disk = |error| IndexError::Disk { path: to.to_owned(), error };
        match std::fs::remove_file(&part) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(at_disk(error)),
            Ok(()) | Err(_) => {}
        }
        self.connection.execute("VACUUM INTO ?1", [Path::new(&part).to_string_lossy()])?;
        std::fs::rename(&part, to).map_err(at_disk)
    }

    fn rows<T>(
        &self,
        sql: &str,
        trial: &str,
        row: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, IndexError> {
        let mut ask = self.connection.prepare_cached(sql)?;
        let rows = ask.query_map([trial], row)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

/// A trial's journal, read as far as the index wants it.
struct Found {
    detail: TrialDetail,
    /// For each look, which run of a step it belongs to and which look of that it is.
    look_places: Vec<(i64, i64)>,
}

impl Found {
    fn of(file: &TrialFile) -> Result<Self, IndexError> {
        let trial = &file.trial;
        let content = |why| IndexError::Content { trial: trial.clone(), why };
        let facts = file.facts().map_err(content)?;
        let blocks = file.readings().map_err(content)?;
        let entries: Vec<Entry> = facts.iter().map(|fact| fact.entry.clone()).collect();
        let (Some(record), Some(first)) = (TrialRecord::of(&entries), facts.first()) else {
            return Err(IndexError::NoOpening { trial: trial.clone(), found: facts.len() });
        };
        let mut looks = Vec::new();
        let mut look_places = Vec::new();
        for (number, step) in (0..).zip(&record.steps) {
            for (look_number, look) in (0..).zip(&step.looks) {
                look_places.push((number, look_number));
                let (at, verdict, core_celsius) = (look.at, look.verdict, look.core_celsius);
                looks.push(LookRow { step: step.step.to_string(), at, verdict, core_celsius });
            }
        }
        let steps = record.steps.iter().map(|step| StepRow {
            step: step.step.to_string(),
            planned_begin: step.planned_begin,
            planned: step.planned,
            began: step.began,
            ended: step.end.as_ref().map(|end| end.at),
            ran: step.end.as_ref().map(|end| end.ran),
            cause: step.end.as_ref().map(|end| end.cause),
            done: step.end.as_ref().map(|end| end.done),
            core_celsius: step.end.as_ref().and_then(|end| end.core_celsius),
        });
        let alerts = record.alerts.iter().map(|alert| AlertRow {
            stage: alert.stage.clone(),
            slot: alert.slot,
            kind: alert.kind,
            priority: alert.priority,
            raised: alert.raised,
            acknowledged: alert.acknowledged,
        });
        let closed = record.closed.is_some();
        let outcome = if record.given_up { Outcome::GivenUp } else { Outcome::Finished };
        let detail = TrialDetail {
            trial: TrialRow {
                trial: trial.clone(),
                recipe: record.info.recipe.to_string(),
                title: record.info.title.clone(),
                version: record.info.version.clone(),
                variant: record.info.variant.to_string(),
                cook: record.info.cook.as_ref().map(ToString::to_string),
                kitchen: record.info.kitchen.as_ref().map(ToString::to_string),
                opened_wall_ms: first.stamp.wall_ms,
                opened_synced: first.stamp.synced,
                opened: record.opened,
                took: record.took(),
                status: if closed { Status::Closed } else { Status::Open },
                outcome: closed.then_some(outcome),
                lost: file.lost.iter().map(ToString::to_string).collect(),
            },
            steps: steps.collect(),
            looks,
            alerts: alerts.collect(),
            readings: summaries(&blocks),
        };
        Ok(Self { detail, look_places })
    }

    fn write(&self, to: &Transaction<'_>) -> rusqlite::Result<()> {
        let detail = &self.detail;
        let row = &detail.trial;
        let id = row.trial.as_str();
        to.execute("DELETE FROM trials WHERE trial = ?1", [id])?;
        let lost = serde_json::Value::from(row.lost.clone()).to_string();
        to.prepare_cached("INSERT INTO trials VALUES (?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14)")?.execute(
            params![
                id,
                row.recipe,
                row.title,
                row.version,
                row.variant,
                row.cook,
                row.kitchen,
                row.opened_wall_ms,
                row.opened_synced,
                moment(row.opened),
                row.took.map(length),
                word(&row.status),
                row.outcome.as_ref().map(word),
                lost
            ],
        )?;
        for (number, step) in (0i64..).zip(&detail.steps) {
            let (kind, after, by, reason) = step.done.map_or((None, None, None, None), done_columns);
            to.prepare_cached("INSERT INTO steps VALUES (?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14)")?.execute(
                params![
                    id,
                    number,
                    step.step,
                    step.planned_begin.map(moment),
                    length(step.planned),
                    moment(step.began),
                    step.ended.map(moment),
                    step.ran.map(length),
                    step.cause.as_ref().map(word),
                    kind,
                    after.map(moment),
                    by.map(moment),
                    reason.as_ref().map(word),
                    step.core_celsius.map(Celsius::ten_thousandths)
                ],
            )?;
        }
        for (look, (number, look_number)) in detail.looks.iter().zip(&self.look_places) {
            let core = look.core_celsius.map(Celsius::ten_thousandths);
            to.prepare_cached("INSERT INTO looks VALUES (?1,?2,?3,?4,?5,?6,?7)")?.execute(params![
                id,
                number,
                look_number,
                look.step,
                moment(look.at),
                word(&look.verdict),
                core
            ])?;
        }
        for (number, alert) in (0i64..).zip(&detail.alerts) {
            to.prepare_cached("INSERT INTO alerts VALUES (?1,?2,?3,?4,?5,?6,?7,?8)")?.execute(params![
                id,
                number,
                alert.stage,
                word(&alert.slot),
                word(&alert.kind),
                word(&alert.priority),
                moment(alert.raised),
                alert.acknowledged.map(moment)
            ])?;
        }
        for row in &detail.readings {
            to.prepare_cached("INSERT INTO readings VALUES (?1,?2,?3,?4,?5,?6,?7,?8,?9)")?.execute(params![
                id,
                row.probe,
                moment(row.first),
                moment(row.last),
                row.samples as i64,
                row.no_readings as i64,
                row.gaps as i64,
                row.low_celsius.map(Celsius::ten_thousandths),
                row.high_celsius.map(Celsius::ten_thousandths)
            ])?;
        }
        Ok(())
    }
}

/// One row a probe, by name.
fn summaries(blocks: &[crate::readings::Block]) -> Vec<ReadingsRow> {
    let mut rows = std::collections::BTreeMap::<&str, ReadingsRow>::new();
    for block in blocks {
        let (Some(first), Some(last)) = (block.samples().first(), block.samples().last()) else { continue };
        let row = rows.entry(block.probe().as_str()).or_insert_with(|| ReadingsRow {
            probe: block.probe().to_string(),
            first: first.at,
            last: first.at,
            samples: 0,
            no_readings: 0,
            gaps: 0,
            low_celsius: None,
            high_celsius: None,
        });
        // between two blocks, as between two samples
        let between = u64::from(row.samples > 0 && first.at.since(row.last) > block.every() * 2);
        row.gaps += between + block.gaps().count() as u64;
        row.first = row.first.min(first.at);
        row.last = row.last.max(last.at);
        row.samples += block.samples().len() as u64;
        for sample in block.samples() {
            match sample.reading {
                Ok(celsius) => {
                    row.low_celsius = Some(row.low_celsius.map_or(celsius, |low| low.min(celsius)));
                    row.high_celsius = row.high_celsius.max(Some(celsius));
                }
                Err(_) => row.no_readings += 1,
            }
        }
    }
    rows.into_values().collect()
}

/// Each brings the file from the form before it to its own number, counted from 1. Never edited after a release.
const MIGRATIONS: &[&str] = &[
    "CREATE TABLE trials (
        trial TEXT PRIMARY KEY, recipe TEXT NOT NULL, title TEXT NOT NULL, version TEXT NOT NULL,
        variant TEXT NOT NULL, cook TEXT, kitchen TEXT,
        opened_wall_ms INTEGER NOT NULL, opened_synced INTEGER NOT NULL, opened_ms INTEGER NOT NULL,
        took_ms INTEGER, status TEXT NOT NULL, outcome TEXT, lost TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX trials_by_time ON trials (opened_wall_ms, trial);
    CREATE INDEX trials_by_recipe ON trials (recipe, opened_wall_ms);
    CREATE TABLE steps (
        trial TEXT NOT NULL REFERENCES trials ON DELETE CASCADE, number INTEGER NOT NULL, step TEXT NOT NULL,
        planned_begin_ms INTEGER, planned_ms INTEGER NOT NULL, began_ms INTEGER NOT NULL, ended_ms INTEGER,
        ran_ms INTEGER, cause TEXT, done TEXT, done_after_ms INTEGER, done_by_ms INTEGER, early_reason TEXT,
        core_ten_thousandths INTEGER,
        PRIMARY KEY (trial, number)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE looks (
        trial TEXT NOT NULL REFERENCES trials ON DELETE CASCADE, number INTEGER NOT NULL, look INTEGER NOT NULL,
        step TEXT NOT NULL, at_ms INTEGER NOT NULL, verdict TEXT NOT NULL, core_ten_thousandths INTEGER,
        PRIMARY KEY (trial, number, look)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE alerts (
        trial TEXT NOT NULL REFERENCES trials ON DELETE CASCADE, number INTEGER NOT NULL, stage TEXT NOT NULL,
        slot TEXT NOT NULL, kind TEXT NOT NULL, priority TEXT NOT NULL, raised_ms INTEGER NOT NULL,
        acknowledged_ms INTEGER,
        PRIMARY KEY (trial, number)
    ) STRICT, WITHOUT ROWID;",
    "CREATE TABLE readings (
        trial TEXT NOT NULL REFERENCES trials ON DELETE CASCADE, probe TEXT NOT NULL,
        first_ms INTEGER NOT NULL, last_ms INTEGER NOT NULL, samples INTEGER NOT NULL,
        no_readings INTEGER NOT NULL, gaps INTEGER NOT NULL,
        low_ten_thousandths INTEGER, high_ten_thousandths INTEGER,
        PRIMARY KEY (trial, probe)
    ) STRICT, WITHOUT ROWID;",
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        MemDisk,
        sample_trial::{FOLDER, trial_id, write},
    };
    use quantities::{RunTime, Span};
    use std::sync::Arc;
    use trial::{DoneTime, EndCause, Verdict};

    fn five_trials() -> (Arc<dyn Disk>, Vec<TrialFile>) {
        let disk: Arc<dyn Disk> = Arc::new(MemDisk::default());
        let files = (0..5).map(|number| write(&disk, number, number != 4)).collect();
        (disk, files)
    }

    fn all(index: &Index) -> Vec<TrialDetail> {
        let list = index.list(&Filter::default()).unwrap();
        list.iter().map(|row| index.show(&row.trial).unwrap().unwrap()).collect()
    }

    #[test]
    fn a_trial_is_shown_as_it_was_cooked() {
        let (_, files) = five_trials();
        let mut index = Index::in_memory().unwrap();
        index.put(&files[2]).unwrap();
        let shown = index.show(&trial_id(2)).unwrap().unwrap();
        assert_eq!(shown.trial.title, "Pork loin, \"slow\" — 58 °C");
        assert_eq!((shown.trial.status, shown.trial.outcome), (Status::Closed, Some(Outcome::Finished)));
        assert_eq!(shown.trial.took, Some(Span::from_mins(60)));
        let minutes = |m| RunTime::from_start(Span::from_mins(m));
        assert_eq!(shown.steps[0].done, Some(DoneTime::Between { after: minutes(41), by: minutes(48) }));
        assert_eq!(shown.steps[0].cause, Some(EndCause::LookDone));
        assert_eq!(shown.looks.iter().map(|look| look.verdict).collect::<Vec<_>>(), [Verdict::NotYet, Verdict::Done]);
        assert_eq!(shown.looks[0].core_celsius, Celsius::from_degrees(55.0625));
        assert_eq!(shown.alerts[0].acknowledged, Some(minutes(47)));
        let core = &shown.readings[0];
        assert_eq!((core.samples, core.no_readings, core.gaps), (280, 3, 1));
        assert_eq!(core.high_celsius, Celsius::from_degrees(6.0 + 299.0 / 16.0));
    }

    #[test]
    fn an_index_rebuilt_from_the_journals_is_the_same() {
        let (disk, files) = five_trials();
        let mut index = Index::in_memory().unwrap();
        // in another order, and one of them twice
        for file in files.iter().rev().chain([&files[1]]) {
            index.put(file).unwrap();
        }
        let mut again = Index::in_memory().unwrap();
        let rebuilt = again.rebuild(&*disk, Path::new(FOLDER)).unwrap();
        assert_eq!((rebuilt.trials, rebuilt.left_out.len()), (5, 0));
        assert_eq!(all(&index), all(&again));
        assert_eq!(all(&again).len(), 5);
        again.rebuild(&*disk, Path::new(FOLDER)).unwrap();
        assert_eq!(all(&index), all(&again));
    }

    #[test]
    fn lists_are_newest_first_filtered_and_paged() {
        let (_, files) = five_trials();
        let mut index = Index::in_memory().unwrap();
        for file in &files {
            index.put(file).unwrap();
        }
        let list = |filter: Filter| -> Vec<TrialId> {
            index.list(&filter).unwrap().into_iter().map(|row| row.trial).collect()
        };
        assert_eq!(list(Filter::default()), [4, 3, 2, 1, 0].map(trial_id));
        let recipe = Some("tern-lane-loaf".to_owned());
        assert_eq!(list(Filter { recipe: recipe.clone(), ..Filter::default() }), [3, 1].map(trial_id));
        assert_eq!(list(Filter { status: Some(Status::Open), ..Filter::default() }), [4].map(trial_id));
        let page = Filter { limit: Some(2), after: Some(trial_id(3)), ..Filter::default() };
        assert_eq!(list(page), [2, 1].map(trial_id));
        assert_eq!(index.show(&TrialId::new("none").unwrap()).unwrap(), None);
        index.remove(&trial_id(3)).unwrap();
        assert_eq!(index.list(&Filter { recipe, ..Filter::default() }).unwrap().len(), 1);
        let left: i64 = index
            .connection
            .query_row("SELECT count(*) FROM looks WHERE trial = ?1", [trial_id(3).as_str()], |r| r.get(0))
            .unwrap();
        assert_eq!(left, 0, "its looks went with it");
    }

    #[test]
    fn a_file_of_the_first_form_is_brought_forward() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("index.db");
        let old = Connection::open(&path).unwrap();
        old.execute_batch(MIGRATIONS[0]).unwrap();
        old.pragma_update(None, "user_version", 1).unwrap();
        old.execute("INSERT INTO trials VALUES ('old','r','t','v','base',NULL,NULL,5,1,0,NULL,'open',NULL,'[]')", [])
            .unwrap();
        drop(old);
        let mut index = Index::open(&path).unwrap();
        assert_eq!(index.list(&Filter::default()).unwrap()[0].trial.as_str(), "old");
        let (_, files) = five_trials();
        index.put(&files[0]).unwrap();
        assert_eq!(index.show(&trial_id(0)).unwrap().unwrap().readings.len(), 1);
    }

    #[test]
    fn a_newer_file_is_refused_and_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("index.db");
        drop(Index::open(&path).unwrap());
        let newer = Connection::open(&path).unwrap();
        newer.pragma_update(None, "user_version", 99).unwrap();
        drop(newer);
        let before = std::fs::read(&path).unwrap();
        let refused = Index::open(&path);
        assert!(matches!(refused, Err(IndexError::Newer { known: 2, found: 99 })));
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }

    #[test]
    fn a_copy_made_while_in_use_opens() {
        let folder = tempfile::tempdir().unwrap();
        let mut index = Index::open(&folder.path().join("index.db")).unwrap();
        let (_, files) = five_trials();
        for file in &files {
            index.put(file).unwrap();
        }
        let copy = folder.path().join("copy.db");
        index.back_up(&copy).unwrap();
        index.back_up(&copy).unwrap();
        assert_eq!(all(&Index::open(&copy).unwrap()), all(&index));
    }

    #[test]
    fn a_journal_that_does_not_read_is_left_out_and_named() {
        let (disk, _) = five_trials();
        let path = Path::new(FOLDER).join(format!("{}.tjl", trial_id(1)));
        crate::write_whole(&*disk, &path, b"not a journal").unwrap();
        let mut index = Index::in_memory().unwrap();
        let rebuilt = index.rebuild(&*disk, Path::new(FOLDER)).unwrap();
        assert_eq!(rebuilt.trials, 4);
        assert_eq!(rebuilt.left_out[0].0, trial_id(1));
    }

    #[test]
    fn what_a_damaged_record_lacks_is_in_its_row() {
        let mem = MemDisk::default();
        let disk: Arc<dyn Disk> = Arc::new(mem.clone());
        write(&disk, 0, true);
        let path = Path::new(FOLDER).join(format!("{}.tjl", trial_id(0)));
        mem.spoil(&path, |bytes| bytes[6 * 512 + 30] ^= 1).unwrap();
        let mut index = Index::in_memory().unwrap();
        index.rebuild(&*disk, Path::new(FOLDER)).unwrap();
        let row = &index.list(&Filter::default()).unwrap()[0];
        assert!(row.lost[0].contains("damaged at byte"), "{:?}", row.lost);
    }
}
