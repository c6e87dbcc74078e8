//! The folder of trials and its index, as the commands see them.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use journal::{Disk, RealDisk, TrialFile, index::Index, read_trial, readings::Sample};
use recipe_model::{ProbeName, Programme, VariantId};
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

    /// The index, built anew if there is none; from the journals alone where nothing may be written.
    pub fn open_index(&self) -> Result<Index, Failure> {
        let (mut index, new) = match self.index_on_disk() {
            Ok(found) => found,
            Err(_) if self.is_read_only() => (Index::in_memory().map_err(Failure::failed)?, true),
            Err(failure) => return Err(failure),
        };
        if new && self.trials.is_dir() {
            index.rebuild(&RealDisk, &self.trials).map_err(Failure::failed)?;
        }
        Ok(index)
    }

    /// Whether there is an index; an empty file, as a full disk leaves it, is none.
    pub fn has_index(&self) -> bool {
        std::fs::metadata(&self.index).is_ok_and(|found| found.is_file() && found.len() > 0)
    }

    /// The index file, and whether it was made just now.
    fn index_on_disk(&self) -> Result<(Index, bool), Failure> {
        let new = !self.has_index();
        if let Some(folder) = self.index.parent() {
            std::fs::create_dir_all(folder).map_err(Failure::failed)?;
        }
        Ok((Index::open(&self.index).map_err(Failure::failed)?, new))
    }

    /// Whether the data folder is there and takes no file from this process.
    fn is_read_only(&self) -> bool {
        let folder = self.index.parent().filter(|folder| folder.is_dir());
        folder.is_some_and(|folder| rustix::fs::access(folder, rustix::fs::Access::WRITE_OK).is_err())
    }

    /// A trial's files.
    pub fn read(&self, trial: &str) -> Result<TrialFile, Failure> {
        let id = TrialId::new(trial)
            .ok_or_else(|| Failure::usage(format!("expected the id of a trial, found {trial:?}")))?;
        read_trial(&RealDisk, &self.trials, &id).map_err(Failure::failed)
    }

    /// What a trial cooked, from the recipe that was kept with it; none if that no longer reads.
    pub fn programme(file: &TrialFile, variant: &VariantId) -> Option<Programme> {
        recipe_parser::parse(file.trial.as_str(), file.recipe()?).recipe?.programme(variant).cloned()
    }

    /// Everything that a probe read in a trial, in the order of time.
    pub fn samples(file: &TrialFile, probe: &ProbeName) -> Result<Vec<Sample>, Failure> {
        let blocks = file.readings().map_err(Failure::failed)?;
        let of_probe = blocks.iter().filter(|block| block.probe() == probe);
        let mut samples: Vec<Sample> = of_probe.flat_map(|block| block.samples().iter().cloned()).collect();
        samples.sort_by_key(|sample| sample.at);
        samples.dedup_by_key(|sample| sample.at);
        Ok(samples)
    }

    /// A trial as a person reads it.
    pub fn record(file: &TrialFile) -> Result<TrialRecord, Failure> {
        let facts = file.facts().map_err(Failure::failed)?;
        let entries: Vec<_> = facts.into_iter().map(|stamped| stamped.entry).collect();
        TrialRecord::of(&entries).ok_or_else(|| Self::no_opening(file))
    }

    /// Why a record cannot be read.
    pub fn no_opening(file: &TrialFile) -> Failure {
        Failure::Failed(format!("the record of trial {} does not begin with its opening", file.trial).into())
    }
}
