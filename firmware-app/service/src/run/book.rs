//! The thread that makes facts durable, so that a slow disk holds up nothing but what waits for it.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs::File,
    path::{Path, PathBuf},
    sync::Arc,
    thread::JoinHandle,
    time::Duration,
};

use journal::{AppendError, Disk, Kind, Reserve, Writer, index::Index};
use tokio::sync::mpsc;
use trial::TrialId;

use crate::output::WholeFile;

/// Something to be written.
pub enum Work {
    /// A new trial with the text of its recipe.
    Create {
        /// Its id.
        trial: TrialId,
        /// The recipe file as it was read.
        recipe: String,
    },
    /// A trial that is taken up again.
    Resume {
        /// Its writer, at the end of what was found.
        writer: Box<Writer>,
    },
    /// An entry of a trial.
    Append {
        /// Which trial.
        trial: TrialId,
        /// What it holds.
        kind: Kind,
        /// Its bytes.
        payload: Vec<u8>,
    },
    /// A small file is written whole; nothing of a run waits for it to succeed.
    Keep {
        /// Its path.
        path: PathBuf,
        /// Its text.
        text: String,
    },
    /// The index is told of a trial.
    Index {
        /// Which.
        trial: TrialId,
    },
    /// A trial is over: its file is cut to length and the index told.
    Finish {
        /// Which.
        trial: TrialId,
    },
}

/// Whether everything handed in is durable, and what is wrong if it is not.
///
/// Work is taken in order. After a failure the facts are kept in memory and tried again with every new work, at least
/// each few seconds; the run goes on.
pub struct Book {
    jobs: Option<std::sync::mpsc::Sender<(u64, Vec<Work>)>>,
    answers: mpsc::UnboundedReceiver<Answer>,
    sent: u64,
    answered: u64,
    trouble: Option<String>,
    thread: Option<JoinHandle<()>>,
    /// Held for as long as the book is open.
    _lock: File,
}

struct Answer {
    ticket: u64,
    trouble: Option<String>,
}

/// Room that is given back when the disk is full, for the facts of a trial that is running.
const RESERVE: u64 = 4 << 20;
const RETRY: Duration = Duration::from_secs(2);

impl Book {
    /// Starts the thread on the folder of trials; the index lies beside it.
    ///
    /// Only one station at a time writes into a folder: a second one is refused.
    pub fn open(disk: Arc<dyn Disk>, trials: &Path, index: PathBuf) -> std::io::Result<Self> {
        std::fs::create_dir_all(trials)?;
        let lock = File::create(trials.join("lock"))?;
        if rustix::fs::flock(&lock, rustix::fs::FlockOperation::NonBlockingLockExclusive).is_err() {
            return Err(std::io::Error::other(
                "another tallyhob keeps its trials there: end it, or use another data folder",
            ));
        }
        let (jobs, work) = std::sync::mpsc::channel();
        let (answer, answers) = mpsc::unbounded_channel();
        let mut desk = Desk {
            reserve: Reserve::new(Arc::clone(&disk), trials, RESERVE),
            disk,
            trials: trials.to_owned(),
            writers: BTreeMap::new(),
            without_record: BTreeSet::new(),
            failing: BTreeSet::new(),
            index_path: index,
            index: None,
            trouble: None,
        };
        let thread = std::thread::Builder::new().name("book".into()).spawn(move || desk.serve(&work, &answer))?;
        Ok(Self { jobs: Some(jobs), answers, sent: 0, answered: 0, trouble: None, thread: Some(thread), _lock: lock })
    }

    /// Hands work in; nothing of it may be shown before [`Self::is_durable`].
    pub fn write(&mut self, work: Vec<Work>) {
        self.sent += 1;
        if let Some(jobs) = &self.jobs
            && jobs.send((self.sent, work)).is_err()
        {
            self.trouble = Some("the thread that writes the record has ended: restart the station".into());
            self.answered = self.sent;
        }
    }

    /// Whether all that was handed in was dealt with: it is durable, or [`Self::trouble`] says why not.
    pub fn is_durable(&mut self) -> bool {
        while let Ok(answer) = self.answers.try_recv() {
            self.take(answer);
        }
        self.answered == self.sent
    }

    /// Waits until all that was handed in was dealt with.
    pub async fn settled(&mut self) {
        while !self.is_durable() {
            match self.answers.recv().await {
                Some(answer) => self.take(answer),
                None => return,
            }
        }
    }

    /// Waits for the next answer; for the loop. Never returns while nothing is outstanding.
    pub async fn answered(&mut self) {
        if self.is_durable() {
            std::future::pending::<()>().await;
        }
        match self.answers.recv().await {
            Some(answer) => self.take(answer),
            None => std::future::pending().await,
        }
    }

    /// What is wrong with the disk, in words for the panel; none while all is well.
    pub fn trouble(&self) -> Option<&str> {
        self.trouble.as_deref()
    }

    fn take(&mut self, answer: Answer) {
        self.answered = self.answered.max(answer.ticket);
        self.trouble = answer.trouble;
    }
}

impl Drop for Book {
    fn drop(&mut self) {
        // without its sender the thread writes what is left and ends
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// The thread's own side.
struct Desk {
    disk: Arc<dyn Disk>,
    trials: PathBuf,
    writers: BTreeMap<TrialId, Writer>,
    /// Trials that could not get a record of their own; said for as long as the station runs.
    without_record: BTreeSet<TrialId>,
    /// Trials of which the disk refused something that is still kept in memory.
    failing: BTreeSet<TrialId>,
    reserve: Reserve,
    index_path: PathBuf,
    index: Option<Index>,
    trouble: Option<String>,
}

impl Desk {
    fn serve(&mut self, work: &std::sync::mpsc::Receiver<(u64, Vec<Work>)>, answer: &mpsc::UnboundedSender<Answer>) {
        if let Err(error) = self.reserve.hold() {
            tracing::warn!("no room could be kept in reserve: {error}");
        }
        loop {
            let (ticket, work) = match work.recv_timeout(RETRY) {
                Ok(job) => job,
                Err(std::sync::mpsc::RecvTimeoutError::Timeout) => {
                    if self.trouble.is_some() {
                        self.commit();
                        let _ = answer.send(Answer { ticket: 0, trouble: self.trouble.clone() });
                    }
                    continue;
                }
                Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => break,
            };
            let mut finished = Vec::new();
            let mut indexed = Vec::new();
            for item in work {
                match item {
                    Work::Create { trial, recipe } => self.create(&trial, &recipe),
                    Work::Index { trial } => indexed.push(trial),
                    Work::Resume { writer } => {
                        self.writers.insert(writer.trial().clone(), *writer);
                    }
                    Work::Append { trial, kind, payload } => {
                        match self.writer(&trial).map(|writer| writer.append(kind, &payload)) {
                            None | Some(Ok(_)) => {}
                            // counted in the record, and the full disk was said before
                            Some(Err(why @ AppendError::Dropped { .. })) => tracing::debug!(%trial, "{why}"),
                            Some(Err(why @ AppendError::TooLong(_))) => tracing::error!(%trial, "{why}"),
                        }
                    }
                    Work::Finish { trial } => finished.push(trial),
                    Work::Keep { path, text } => keep(&path, &text),
                }
            }
            self.commit();
            if answer.send(Answer { ticket, trouble: self.trouble.clone() }).is_err() {
                break;
            }
            for trial in finished {
                match self.writers.get_mut(&trial).map(Writer::finish) {
                    // nothing more is expected of it
                    Some(Ok(_)) => {
                        self.writers.remove(&trial);
                    }
                    Some(Err(why)) => tracing::error!(%trial, "{why}"),
                    None => {}
                }
                // room that was used up is laid aside again as soon as there is some
                let _ = self.reserve.hold();
                indexed.push(trial);
            }
            for trial in indexed {
                self.tell_index(&trial);
            }
        }
        for writer in self.writers.values_mut() {
            if let Err(why) = writer.retry().and_then(|_| writer.finish()) {
                tracing::error!(trial = %writer.trial(), "{why}");
            }
        }
    }

    fn create(&mut self, trial: &TrialId, recipe: &str) {
        match Writer::create(Arc::clone(&self.disk), &self.trials, trial, seed_of(trial)) {
            Ok(mut writer) => {
                // what the disk refuses now is kept and tried again
                if let Err(why) = writer.append(Kind::Recipe, recipe.as_bytes()) {
                    tracing::error!(%trial, "{why}");
                }
                self.writers.insert(trial.clone(), writer);
            }
            Err(why) => {
                tracing::error!(%trial, "{why}");
                self.without_record.insert(trial.clone());
            }
        }
    }

    /// The writer of a trial; that of a finished one is taken up again.
    fn writer(&mut self, trial: &TrialId) -> Option<&mut Writer> {
        if !self.writers.contains_key(trial) && !self.without_record.contains(trial) {
            match Writer::resume(Arc::clone(&self.disk), &self.trials, trial, seed_of(trial)) {
                Ok((writer, _)) => {
                    self.writers.insert(trial.clone(), writer);
                }
                Err(why) => {
                    tracing::error!(%trial, "{why}");
                    self.without_record.insert(trial.clone());
                }
            }
        }
        self.writers.get_mut(trial)
    }

    fn commit(&mut self) {
        let lost = self.without_record.first();
        let mut trouble = lost.map(|trial| format!("trial {trial} has no record"));
        for writer in self.writers.values_mut() {
            let mut result = writer.retry();
            if result.as_ref().is_err_and(journal::WriteError::is_full) && self.reserve.free().unwrap_or(false) {
                tracing::warn!("the disk is full: the room kept in reserve is used now");
                result = writer.retry();
            }
            if let Err(why) = result {
                // said once: lines for each try would fill the disk that has no room
                if self.failing.insert(writer.trial().clone()) {
                    tracing::error!(trial = %writer.trial(), "{why}");
                } else {
                    tracing::debug!(trial = %writer.trial(), "{why}");
                }
                trouble = Some(if why.is_full() { "disk full".to_owned() } else { why.to_string() });
            } else if self.failing.remove(writer.trial()) {
                tracing::info!(trial = %writer.trial(), "the record is whole again: all that waited is on disk");
            }
        }
        self.trouble = trouble;
    }

    /// The index is a convenience: where it fails, it can be rebuilt.
    fn tell_index(&mut self, trial: &TrialId) {
        if self.index.is_none() {
            self.index = Index::open(&self.index_path).inspect_err(|why| tracing::warn!("index: {why}")).ok();
        }
        let Some(index) = &mut self.index else { return };
        match journal::read_trial(&*self.disk, &self.trials, trial) {
            Ok(file) => {
                if let Err(why) = index.put(&file) {
                    tracing::warn!(%trial, "index: {why}; tallyhob rebuild makes it anew");
                }
            }
            Err(why) => tracing::warn!(%trial, "index: {why}"),
        }
    }
}

/// Writes a file whole. One that cannot be written is said; the old one stays.
fn keep(path: &Path, text: &str) {
    let written = WholeFile::create(path).and_then(|mut file| {
        std::io::Write::write_all(&mut file, text.as_bytes())?;
        file.finish()
    });
    if let Err(why) = written {
        tracing::error!("cannot keep what was set on the panel in {}: {why}", path.display());
    }
}

/// Any number that differs from trial to trial.
pub fn seed_of(trial: &TrialId) -> u32 {
    trial.as_str().bytes().fold(0x811c_9dc5, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193))
}
