//! The folder of trials and its index, as the commands see them.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use journal::{Disk, RealDisk, TrialFile, index::Index, read_trial};
use trial::{TrialId, record::TrialRecord};

use crate::failure::Failure;

/// Where the record lies.
#[derive(Clone, Debug)]
pub struct Library {
    /// The folder of journals.
    pub trials: PathBuf,
    /// The index.
    pub index: PathBuf,
}

impl Library {
    /// The library of a data folder.
    pub fn at(data: &Path) -> Self {
        Self { trials: data.join("trials"), index: data.join("index.sqlite") }
    }

    /// The disk.
    pub fn disk() -> Arc<dyn Disk> {
        Arc::new(RealDisk)
    }

    /// The index, built anew if there is none.
    pub fn open_index(&self) -> Result<Index, Failure> {
        let new = !self.index.is_file();
        if let Some(folder) = self.index.parent() {
            std::fs::create_dir_all(folder).map_err(Failure::failed)?;
        }
        let mut index = Index::open(&self.index).map_err(Failure::failed)?;
        if new && self.trials.is_dir() {
            index.rebuild(&RealDisk, &self.trials).map_err(Failure::failed)?;
        }
        Ok(index)
    }

    /// A trial's files.
    pub fn read(&self, trial: &str) -> Result<TrialFile, Failure> {
        let id = TrialId::new(trial)
            .ok_or_else(|| Failure::usage(format!("expected the id of a trial, found {trial:?}")))?;
        read_trial(&RealDisk, &self.trials, &id).map_err(Failure::failed)
    }

    /// A trial as a person reads it.
    pub fn record(file: &TrialFile) -> Result<TrialRecord, Failure> {
        let facts = file.facts().map_err(Failure::failed)?;
        let entries: Vec<_> = facts.into_iter().map(|stamped| stamped.entry).collect();
        TrialRecord::of(&entries).ok_or_else(|| {
            Failure::Failed(format!("the record of trial {} does not begin with its opening", file.trial).into())
        })
    }
}
