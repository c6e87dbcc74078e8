use std::{
    fmt, io,
    path::{Path, PathBuf},
    sync::Arc,
};

use trial::{Stamped, TrialId};

use crate::{
    Disk, Loss, Lost, OpenFile, ReadError, TrialFile,
    frame::{self, Ending, Ends, Header, Kind, Link, MOST_PAYLOAD, TooLong},
    mark::{Mark, MarkFile},
    names, read_trial,
    readings::Block,
    write_all_at,
};

/// Writes the record of one trial.
///
/// ```text
///  append ──> waiting in memory ── commit: one write, one sync ──> durable
///                    │                        │ fails
///                    └──── retry: new segment <┘
/// ```
///
/// What [`Self::append`] takes is durable, and may be shown and sounded, only once [`Self::commit`] or [`Self::retry`]
/// has returned `Ok`. When the disk fails, nothing is forgotten: the segment is left as it is, entries keep waiting, and
/// every retry tries to put all of them into a new segment.
pub struct Writer {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    trial: TrialId,
    seed: u32,
    segment: Option<OpenSegment>,
    /// The number of the next segment to be made; never one that was tried before.
    next_segment: u32,
    waiting: Vec<(Kind, Vec<u8>)>,
    waiting_bytes: usize,
    /// The sequence number of the first waiting entry.
    first_waiting: u64,
    durable: Option<Link>,
    dropped_inputs: u64,
    dropped_readings: u64,
    mark: MarkFile,
    /// Whether the disk failed: nothing is tried before a retry.
    failed: bool,
    /// Whether the folder is known to hold no other record of this trial.
    checked: bool,
}

struct OpenSegment {
    number: u32,
    path: PathBuf,
    file: Box<dyn OpenFile>,
    /// How many bytes are durable; the next write goes here.
    length: u64,
    allocated: u64,
    chain: u32,
}

/// Everything up to here is durable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Committed {
    /// The last durable sequence number; nothing if the record has no entry yet.
    pub seq: Option<u64>,
    /// Whether the high-water mark could be moved along. The entries are durable either way.
    pub marked: bool,
}

/// Why entries are not durable yet.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// Another record has this id.
    #[error("expected no record of trial {trial} yet, found one: take it up again, or choose another id")]
    Exists {
        /// Which.
        trial: TrialId,
    },
    /// The disk failed.
    #[error("{doing} {} failed: {error}; {waiting} entries are kept in memory: retry", path.display())]
    Disk {
        /// What was tried.
        doing: Doing,
        /// On which file.
        path: PathBuf,
        /// How it failed.
        error: io::Error,
        /// How many entries wait.
        waiting: usize,
    },
    /// The disk failed before, and nothing was tried now.
    #[error("the record could not be written before; {waiting} entries are kept in memory: retry")]
    Sealed {
        /// How many entries wait.
        waiting: usize,
    },
}

/// What was tried on a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// Making it.
    Create,
    /// Writing to it.
    Write,
    /// Making its bytes durable.
    Sync,
}

/// Why an entry was not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AppendError {
    /// Too long for one entry.
    #[error(transparent)]
    TooLong(#[from] TooLong),
    /// The disk has failed for so long that only facts are still taken; a note of loss will say how much was not.
    #[error(
        "expected at most {MOST_WAITING} bytes waiting for the disk, found {waiting}: only facts are kept until it works"
    )]
    Dropped {
        /// How many bytes wait.
        waiting: usize,
    },
}

impl Writer {
    /// Begins the record of a new trial.
    ///
    /// `seed` is any number that differs from trial to trial. A disk that fails is no error here: the writer then holds
    /// entries in memory and [`Self::commit`] says so. Refuses only an id that has a record.
    pub fn create(disk: Arc<dyn Disk>, folder: &Path, trial: &TrialId, seed: u32) -> Result<Self, WriteError> {
        let mut writer = Self {
            mark: MarkFile::new(names::mark(folder, trial)),
            folder: folder.to_owned(),
            trial: trial.clone(),
            seed,
            segment: None,
            next_segment: 1,
            waiting: Vec::new(),
            waiting_bytes: 0,
            first_waiting: 0,
            durable: None,
            dropped_inputs: 0,
            dropped_readings: 0,
            failed: false,
            checked: false,
            disk,
        };
        match writer.retry() {
            Err(WriteError::Exists { trial }) => Err(WriteError::Exists { trial }),
            Ok(_) | Err(WriteError::Disk { .. } | WriteError::Sealed { .. }) => Ok(writer),
        }
    }

    /// Takes up the record of a trial that was being written when the program or the power stopped.
    ///
    /// A record whose last file is whole is gone on with there; any other in a new file, with a note of loss in front
    /// where something is missing. Nothing is written before the first commit.
    pub fn resume(
        disk: Arc<dyn Disk>,
        folder: &Path,
        trial: &TrialId,
        seed: u32,
    ) -> Result<(Self, TrialFile), ReadError> {
        let found = read_trial(&*disk, folder, trial)?;
        let last = found.frames.last().map(|frame| Link { seq: frame.seq, checksum: frame.checksum });
        let next = last.map_or(0, |link| link.seq + 1);
        let mut writer = Self {
            mark: MarkFile::resume(&*disk, names::mark(folder, trial)),
            folder: folder.to_owned(),
            trial: trial.clone(),
            seed,
            segment: None,
            next_segment: found.segments.last().map_or(1, |segment| segment.number + 1),
            waiting: Vec::new(),
            waiting_bytes: 0,
            first_waiting: next,
            durable: last,
            dropped_inputs: 0,
            dropped_readings: 0,
            failed: false,
            checked: true,
            disk,
        };
        writer.vouch_for(&found);
        if writer.segment.is_none() {
            writer.note_what_is_missing(&found, next);
        }
        Ok((writer, found))
    }

    /// Takes an entry and gives its sequence number in the journal. Writes nothing yet.
    pub fn append(&mut self, kind: Kind, payload: &[u8]) -> Result<u64, AppendError> {
        if payload.len() > MOST_PAYLOAD {
            return Err(TooLong { found: payload.len() }.into());
        }
        if self.waiting_bytes + payload.len() > MOST_WAITING {
            let dropped = match kind {
                Kind::Input => Some(&mut self.dropped_inputs),
                Kind::Readings => Some(&mut self.dropped_readings),
                Kind::Recipe | Kind::Facts | Kind::Loss | Kind::Unknown(_) => None,
            };
            if let Some(count) = dropped {
                *count += 1;
                return Err(AppendError::Dropped { waiting: self.waiting_bytes });
            }
        }
        Ok(self.wait(kind, payload.to_vec()))
    }

    /// Takes a fact.
    pub fn append_fact(&mut self, fact: &Stamped) -> Result<u64, AppendError> {
        self.append(Kind::Facts, trial::line::write(fact).as_bytes())
    }

    /// Takes a block of readings.
    pub fn append_readings(&mut self, block: &Block) -> Result<u64, AppendError> {
        self.append(Kind::Readings, &block.encode())
    }

    /// Makes everything taken so far durable, with one write and one sync.
    ///
    /// After an error it does not touch the disk again, so that a failing one costs the run nothing, until
    /// [`Self::retry`].
    pub fn commit(&mut self) -> Result<Committed, WriteError> {
        if self.failed {
            return Err(WriteError::Sealed { waiting: self.waiting.len() });
        }
        self.note_what_was_dropped();
        if self.waiting.is_empty() {
            return Ok(Committed { seq: self.durable(), marked: true });
        }
        let Some(segment) = &mut self.segment else { return self.begin_segment() };
        let (mut bytes, mut chain) = (Vec::new(), segment.chain);
        let last = self.first_waiting + self.waiting.len() as u64 - 1;
        for (seq, (kind, payload)) in (self.first_waiting..).zip(&self.waiting) {
            let ends = if seq == last { Ends::OnSector } else { Ends::Anywhere };
            chain = frame::encode_frame(chain, seq, *kind, payload, ends, &mut bytes)
                .expect("append takes no payload that is too long");
        }
        if let Err((doing, error)) = segment.put(&bytes) {
            let path = segment.path.clone();
            // after a failed sync nobody knows what is on the disk: what was not durable is better gone than half there
            let _ = segment.file.set_length(segment.length);
            self.segment = None;
            return Err(self.fail(doing, path, error));
        }
        segment.chain = chain;
        let last = Link { seq: last, checksum: chain };
        let mark = Mark { segment: segment.number, length: segment.length, last: Some(last) };
        self.durable = Some(last);
        self.first_waiting = last.seq + 1;
        self.waiting.clear();
        self.waiting_bytes = 0;
        let marked = self.mark.write(&*self.disk, mark).is_ok();
        Ok(Committed { seq: Some(last.seq), marked })
    }

    /// Tries again after an error: all waiting entries into a new segment. Without an error it is a commit.
    pub fn retry(&mut self) -> Result<Committed, WriteError> {
        if self.segment.is_some() { self.commit() } else { self.begin_segment() }
    }

    /// Puts all waiting entries into a new segment.
    fn begin_segment(&mut self) -> Result<Committed, WriteError> {
        self.check_that_it_is_new()?;
        let number = self.next_segment;
        let path = names::segment(&self.folder, &self.trial, number);
        let made = self.disk.create(&path);
        if !made.as_ref().is_err_and(|error| error.kind() == io::ErrorKind::NotFound) {
            // with the folder missing no file was made: its number is still free
            self.next_segment += 1;
        }
        let file = match made {
            Ok(file) => file,
            Err(error) => return Err(self.fail(Doing::Create, path, error)),
        };
        let header = Header {
            trial: self.trial.clone(),
            segment: number,
            seed: self.seed.wrapping_add(number).wrapping_mul(0x9e37_79b1),
            first: self.first_waiting,
            follows: self.durable,
        };
        let mut head = Vec::new();
        let chain = frame::encode_header(&header, &mut head);
        let mut segment = OpenSegment { number, path: path.clone(), file, length: 0, allocated: 0, chain };
        if let Err((doing, error)) = segment.put(&head) {
            // nothing in it counts yet
            let _ = self.disk.remove(&path);
            return Err(self.fail(doing, path, error));
        }
        // a mark at the head: whatever is found torn behind it was never acknowledged
        let mark = Mark { segment: number, length: segment.length, last: self.durable };
        let marked = self.mark.write(&*self.disk, mark).and_then(|()| self.mark.sync()).is_ok();
        self.segment = Some(segment);
        self.failed = false;
        let committed = self.commit();
        if committed.is_err() {
            // no retry leaves a file behind that holds nothing
            let _ = self.disk.remove(&path);
        }
        committed.map(|committed| Committed { marked: committed.marked && marked, ..committed })
    }

    /// Ends the record for now: all entries and the mark durable, and the room laid out ahead given back.
    ///
    /// Entries can still be added afterwards.
    pub fn finish(&mut self) -> Result<Committed, WriteError> {
        let committed = if self.waiting.is_empty() { self.commit()? } else { self.retry()? };
        let Some(segment) = &mut self.segment else { return Ok(committed) };
        let cut = segment.file.set_length(segment.length).and_then(|()| segment.file.sync_data());
        segment.allocated = segment.length;
        if let Err(error) = cut {
            // the entries are durable; only the length of the file is in doubt
            let path = segment.path.clone();
            self.segment = None;
            return Err(self.fail(Doing::Sync, path, error));
        }
        let marked = self.mark.sync().is_ok() && committed.marked;
        Ok(Committed { marked, ..committed })
    }

    /// How many entries are taken and not durable.
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// The last durable sequence number.
    pub fn durable(&self) -> Option<u64> {
        self.durable.map(|link| link.seq)
    }

    /// Whose record it is.
    pub fn trial(&self) -> &TrialId {
        &self.trial
    }

    fn wait(&mut self, kind: Kind, payload: Vec<u8>) -> u64 {
        let seq = self.first_waiting + self.waiting.len() as u64;
        self.waiting_bytes += payload.len();
        self.waiting.push((kind, payload));
        seq
    }

    fn fail(&mut self, doing: Doing, path: PathBuf, error: io::Error) -> WriteError {
        self.failed = true;
        WriteError::Disk { doing, path, error, waiting: self.waiting.len() }
    }

    fn check_that_it_is_new(&mut self) -> Result<(), WriteError> {
        if self.checked {
            return Ok(());
        }
        match self.disk.list(&self.folder) {
            Ok(there) => {
                if names::any_of(&there, &self.trial) {
                    return Err(WriteError::Exists { trial: self.trial.clone() });
                }
                self.checked = true;
                Ok(())
            }
            Err(error) => Err(self.fail(Doing::Create, self.folder.clone(), error)),
        }
    }

    fn note_what_was_dropped(&mut self) {
        let (inputs, readings) = (self.dropped_inputs, self.dropped_readings);
        if inputs + readings > 0 {
            self.wait(Kind::Loss, note(&Loss::Dropped { inputs, readings }));
            (self.dropped_inputs, self.dropped_readings) = (0, 0);
        }
    }

    /// Makes what was found durable before anything is built on it: a process that was killed may have left frames
    /// that read well and are in memory only.
    fn vouch_for(&mut self, found: &TrialFile) {
        let Some(number) = found.frames.last().map(|frame| frame.segment) else { return };
        let path = names::segment(&self.folder, &self.trial, number);
        let synced = self.disk.open(&path).and_then(|mut file| file.sync_data().map(|()| file));
        let Ok(file) = synced else {
            // the frames of that file go into a new one
            let frames: Vec<_> = found.frames.iter().filter(|frame| frame.segment == number).collect();
            let first = frames.first().map_or(self.first_waiting, |frame| frame.seq);
            let before = found.frames.iter().rev().find(|frame| frame.seq < first);
            self.durable = before.map(|frame| Link { seq: frame.seq, checksum: frame.checksum });
            self.first_waiting = first;
            for frame in frames {
                self.wait(frame.kind, frame.payload.clone());
            }
            return;
        };
        let Some(last) = found.segments.last() else { return };
        if last.number == number && last.ending == Ending::Clean && new_losses(found).is_empty() {
            self.segment =
                Some(OpenSegment { number, path, file, length: last.end, allocated: last.end, chain: last.chain });
        }
    }

    /// Leaves out the numbers that unreadable frames may have had, and says so in the record.
    fn note_what_is_missing(&mut self, found: &TrialFile, next: u64) {
        let why = new_losses(found);
        if why.is_empty() {
            return;
        }
        let quarantined = found.quarantined.iter().map(|frame| frame.seq);
        let marked = found.mark.and_then(|mark| mark.last).map(|link| link.seq);
        let after = quarantined.chain(marked).max().map_or(next, |seq| next.max(seq + 1));
        let loss =
            if after > next { Loss::Missing { first: next, last: after - 1, why } } else { Loss::Doubtful { why } };
        if self.waiting.is_empty() {
            self.first_waiting = after;
        }
        self.wait(Kind::Loss, note(&loss));
    }
}

/// What is missing from a record and not yet said in a note of it.
fn new_losses(found: &TrialFile) -> Vec<String> {
    let frames = found.frames.iter().filter(|frame| frame.kind == Kind::Loss);
    let notes: Vec<Loss> = frames.filter_map(|frame| serde_json::from_slice(&frame.payload).ok()).collect();
    let is_said = |lost: &&Lost| {
        let text = lost.to_string();
        notes.iter().any(|note| match (note, lost) {
            (Loss::Missing { first, last, .. }, Lost::Missing { first: from, last: to }) => first <= from && to <= last,
            (Loss::Missing { why, .. } | Loss::Doubtful { why }, _) => why.contains(&text),
            (Loss::Dropped { .. } | Loss::Imported { .. }, _) => false,
        })
    };
    found.lost.iter().filter(|lost| !is_said(lost)).map(ToString::to_string).collect()
}

impl OpenSegment {
    /// Writes behind what is durable, and syncs.
    fn put(&mut self, bytes: &[u8]) -> Result<(), (Doing, io::Error)> {
        let length = self.length + bytes.len() as u64;
        if length > self.allocated {
            self.allocated = length.next_multiple_of(LAID_OUT);
            // only saves work later: a disk without room says so at the write
            let _ = self.file.allocate(self.allocated);
        }
        write_all_at(&mut *self.file, self.length, bytes).map_err(|error| (Doing::Write, error))?;
        self.file.sync_data().map_err(|error| (Doing::Sync, error))?;
        self.length = length;
        Ok(())
    }
}

impl WriteError {
    /// Whether the disk is full: room has to be made, for example by [`crate::Reserve::free`], before a retry.
    pub fn is_full(&self) -> bool {
        match self {
            Self::Disk { error, .. } => {
                matches!(error.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded)
            }
            Self::Exists { .. } | Self::Sealed { .. } => false,
        }
    }
}

impl fmt::Display for Doing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Create => "making",
            Self::Write => "writing",
            Self::Sync => "syncing",
        })
    }
}

fn note(loss: &Loss) -> Vec<u8> {
    serde_json::to_vec(loss).expect("a note of loss has text keys and no failing serializer")
}

/// How much a file is laid out ahead, in bytes: a write inside it need not change the file's length.
const LAID_OUT: u64 = 64 << 10;
/// How much may wait for a failing disk before input lines and readings are dropped: days of a trial.
const MOST_WAITING: usize = 64 << 20;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Crash, Fault, FaultyDisk, MemDisk, Trouble};

    const FOLDER: &str = "trials";

    fn trial() -> TrialId {
        TrialId::new("20261125-1412-loin-a").unwrap()
    }

    fn folder() -> &'static Path {
        Path::new(FOLDER)
    }

    fn payload(number: u64) -> Vec<u8> {
        // from a few bytes to several sectors, so that a torn write has pieces
        let length = 8 + (number * 379 % 1700) as usize;
        let mut bytes = number.to_le_bytes().to_vec();
        bytes.resize(length, number as u8 | 1);
        bytes
    }

    fn payloads(disk: &dyn Disk) -> Vec<Vec<u8>> {
        let found = read_trial(disk, folder(), &trial()).unwrap();
        assert_eq!(found.lost, []);
        found.frames.into_iter().map(|frame| frame.payload).collect()
    }

    /// A cook of 24 commits with 1 to 3 entries each, on a disk that may fail: how many entries were acknowledged, and
    /// how many were taken.
    fn cook(disk: Arc<dyn Disk>) -> (u64, u64) {
        let mut writer = Writer::create(disk, folder(), &trial(), 77).unwrap();
        let mut taken = 0;
        for turn in 0..24 {
            for _ in 0..=turn % 3 {
                writer.append(Kind::Input, &payload(taken)).unwrap();
                taken += 1;
            }
            if writer.commit().is_err() {
                let _ = writer.retry();
            }
        }
        let _ = writer.finish();
        (writer.durable().map_or(0, |seq| seq + 1), taken)
    }

    /// All states that a power cut at each operation can leave; gives the number of them in which an acknowledged entry
    /// was lost, something was read that was never taken, or a sound record was called unsound.
    fn wrong_states(cook: impl Fn(Arc<dyn Disk>) -> (u64, u64)) -> (u64, u64) {
        let counter = FaultyDisk::counting(Arc::new(MemDisk::default()));
        cook(Arc::new(counter.clone()));
        let (mut states, mut wrong) = (0, 0);
        for at in 0..counter.operations() {
            let mem = MemDisk::default();
            let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at, trouble: Trouble::Cut });
            let (acknowledged, taken) = cook(Arc::new(disk.clone()));
            assert!(disk.fired() > 0);
            let chances = (0..12).flat_map(|seed| [Crash::Sectors { seed }, Crash::Garbage { seed }]);
            for crash in chances.chain([Crash::DropUnsynced, Crash::KeepAll]) {
                states += 1;
                let after = mem.after(crash);
                let read = read_trial(&after, folder(), &trial());
                let right = match &read {
                    Err(ReadError::NotFound { .. }) => acknowledged == 0,
                    Err(_) => false,
                    Ok(found) => {
                        found.is_sound()
                            && found.frames.len() as u64 >= acknowledged
                            && found.frames.len() as u64 <= taken
                            && (0..).zip(&found.frames).all(|(n, frame)| frame.seq == n && frame.payload == payload(n))
                    }
                };
                if !right {
                    wrong += 1;
                } else if let Ok(found) = read {
                    goes_on(&after, found.frames.len());
                }
            }
        }
        (states, wrong)
    }

    /// After any power cut the record can be taken up, added to and read again.
    fn goes_on(disk: &MemDisk, frames: usize) {
        let (mut writer, _) = Writer::resume(Arc::new(disk.clone()), folder(), &trial(), 78).unwrap();
        for number in 0..3 {
            writer.append(Kind::Input, &payload(1000 + number)).unwrap();
        }
        assert_eq!(writer.commit().unwrap().seq, Some(frames as u64 + 2));
        let read = payloads(&disk.after(Crash::DropUnsynced));
        assert_eq!(read.len(), frames + 3);
        assert!((1000..).zip(&read[frames..]).all(|(n, found)| *found == payload(n)));
    }

    #[test]
    fn no_power_cut_takes_an_acknowledged_entry() {
        let (states, wrong) = wrong_states(cook);
        assert!(states > 2000, "{states} states");
        assert_eq!(wrong, 0, "of {states} states");
    }

    /// A disk whose sync does nothing, as a writer without syncs would have it.
    struct NoSync(Arc<dyn Disk>);

    struct NoSyncFile(Box<dyn OpenFile>);

    impl Disk for NoSync {
        fn create(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
            Ok(Box::new(NoSyncFile(self.0.create(path)?)))
        }
        fn open(&self, path: &Path) -> io::Result<Box<dyn OpenFile>> {
            Ok(Box::new(NoSyncFile(self.0.open(path)?)))
        }
        fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
            self.0.read(path, most)
        }
        fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
            self.0.list(folder)
        }
        fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
            self.0.rename(from, to)
        }
        fn remove(&self, path: &Path) -> io::Result<()> {
            self.0.remove(path)
        }
    }

    impl OpenFile for NoSyncFile {
        fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<usize> {
            self.0.write_at(at, bytes)
        }
        fn sync_data(&mut self) -> io::Result<()> {
            Ok(())
        }
        fn allocate(&mut self, length: u64) -> io::Result<()> {
            self.0.allocate(length)
        }
        fn set_length(&mut self, length: u64) -> io::Result<()> {
            self.0.set_length(length)
        }
    }

    #[test]
    fn a_writer_that_skips_the_sync_is_caught() {
        let weak = |disk| {
            let mut writer = Writer::create(Arc::new(NoSync(disk)), folder(), &trial(), 77).unwrap();
            let mut taken = 0;
            for _ in 0..6 {
                writer.append(Kind::Input, &payload(taken)).unwrap();
                taken += 1;
                let _ = writer.commit();
            }
            (writer.durable().map_or(0, |seq| seq + 1), taken)
        };
        let counter = FaultyDisk::counting(Arc::new(MemDisk::default()));
        weak(Arc::new(counter.clone()));
        let mut caught = 0;
        for at in 0..counter.operations() {
            let mem = MemDisk::default();
            let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at, trouble: Trouble::Cut });
            let (acknowledged, _) = weak(Arc::new(disk));
            for seed in 0..12 {
                for crash in [Crash::DropUnsynced, Crash::Sectors { seed }] {
                    let read = read_trial(&mem.after(crash), folder(), &trial());
                    let kept = read.map_or(0, |found| found.frames.len() as u64);
                    caught += u64::from(kept < acknowledged);
                }
            }
        }
        assert!(caught > 100, "caught {caught} times");
    }

    #[test]
    fn any_one_failing_operation_loses_nothing() {
        let counter = FaultyDisk::counting(Arc::new(MemDisk::default()));
        let (_, all) = cook(Arc::new(counter.clone()));
        for trouble in [Trouble::Io, Trouble::Full, Trouble::Short, Trouble::DoneButFailed] {
            let mut fired = 0;
            for at in 0..counter.operations() {
                let mem = MemDisk::default();
                let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at, trouble });
                let (acknowledged, taken) = cook(Arc::new(disk.clone()));
                assert_eq!((acknowledged, taken), (all, all), "{trouble:?} at {at}");
                let read = payloads(&mem.after(Crash::DropUnsynced));
                assert_eq!(read, (0..all).map(payload).collect::<Vec<_>>(), "{trouble:?} at {at}");
                fired += disk.fired();
            }
            assert!(fired >= 24, "{trouble:?} fired {fired} times");
        }
    }

    #[test]
    fn a_full_disk_keeps_facts_in_memory_until_there_is_room() {
        let mem = MemDisk::default();
        let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at: 6, trouble: Trouble::FullFromHere });
        let mut writer = Writer::create(Arc::new(disk.clone()), folder(), &trial(), 1).unwrap();
        let mut refused = 0;
        for number in 0..20 {
            assert_eq!(writer.append(Kind::Facts, &payload(number)).unwrap(), number);
            match writer.commit() {
                Ok(_) => assert_eq!(refused, 0),
                Err(error) => {
                    refused += 1;
                    assert!(error.is_full() == (refused == 1), "only the first touches the disk: {error}");
                    assert!(writer.retry().unwrap_err().is_full());
                }
            }
        }
        assert!(refused > 10 && disk.fired() > 0);
        assert_eq!(mem.list(folder()).unwrap().len(), 2, "one file and its mark: no retry left anything behind");
        disk.heal();
        assert_eq!(writer.retry().unwrap().seq, Some(19));
        assert_eq!(payloads(&mem.after(Crash::DropUnsynced)), (0..20).map(payload).collect::<Vec<_>>());
    }

    #[test]
    fn a_trial_can_begin_on_a_dead_disk() {
        let mem = MemDisk::default();
        let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at: 0, trouble: Trouble::Cut });
        let mut writer = Writer::create(Arc::new(disk.clone()), folder(), &trial(), 1).unwrap();
        writer.append(Kind::Facts, &payload(0)).unwrap();
        assert!(matches!(writer.commit(), Err(WriteError::Sealed { waiting: 1 })));
        disk.heal();
        assert_eq!(writer.retry().unwrap().seq, Some(0));
        assert_eq!(payloads(&mem), [payload(0)]);
    }

    #[test]
    fn a_second_record_under_the_same_id_is_refused() {
        let disk = MemDisk::default();
        cook(Arc::new(disk.clone()));
        let again = Writer::create(Arc::new(disk.clone()), folder(), &trial(), 2);
        assert!(matches!(again, Err(WriteError::Exists { .. })));
    }

    #[test]
    fn a_mark_left_without_its_journal_refuses_a_new_record() {
        // its higher count would make the new record look cut
        let disk = MemDisk::default();
        cook(Arc::new(disk.clone()));
        disk.remove(&names::segment(folder(), &trial(), 1)).unwrap();
        let again = Writer::create(Arc::new(disk.clone()), folder(), &trial(), 2);
        assert!(matches!(again, Err(WriteError::Exists { .. })));
    }

    #[test]
    fn a_killed_process_leaves_nothing_to_be_believed_before_it_is_synced() {
        let mem = MemDisk::default();
        let mut writer = Writer::create(Arc::new(mem.clone()), folder(), &trial(), 1).unwrap();
        writer.append(Kind::Facts, &payload(0)).unwrap();
        writer.commit().unwrap();
        // the write of entry 1 got through, its sync did not
        let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at: 0, trouble: Trouble::Cut });
        let mut bytes = Vec::new();
        let at = read_trial(&mem, folder(), &trial()).unwrap().segments[0].clone();
        frame::encode_frame(at.chain, 1, Kind::Facts, &payload(1), Ends::OnSector, &mut bytes).unwrap();
        let mut file = mem.open(&names::segment(folder(), &trial(), 1)).unwrap();
        file.write_at(at.end, &bytes).unwrap();
        drop((writer, disk));
        let (writer, found) = Writer::resume(Arc::new(mem.clone()), folder(), &trial(), 2).unwrap();
        assert_eq!((found.frames.len(), writer.durable()), (2, Some(1)));
        assert_eq!(payloads(&mem.after(Crash::DropUnsynced)).len(), 2);
    }

    #[test]
    fn a_file_that_cannot_be_synced_again_is_written_anew() {
        let mem = MemDisk::default();
        let (all, _) = cook(Arc::new(mem.clone()));
        // list, mark, segment, mark again, open: the sync after them fails
        let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at: 5, trouble: Trouble::Io });
        let (mut writer, _) = Writer::resume(Arc::new(disk.clone()), folder(), &trial(), 2).unwrap();
        assert_eq!(disk.fired(), 1);
        assert_eq!((writer.waiting() as u64, writer.durable()), (all, None));
        writer.append(Kind::Facts, &payload(all)).unwrap();
        assert_eq!(writer.commit().unwrap().seq, Some(all));
        assert!(mem.list(folder()).unwrap().contains(&format!("{}.2.tjl", trial())));
        assert_eq!(payloads(&mem), (0..=all).map(payload).collect::<Vec<_>>());
    }

    #[test]
    fn a_damaged_record_is_taken_up_with_a_note_of_what_is_missing() {
        let mem = MemDisk::default();
        let (all, _) = cook(Arc::new(mem.clone()));
        let first = names::segment(folder(), &trial(), 1);
        let at = frame::decode(&mem.read(&first, 1 << 20).unwrap()).frames[10].at as usize;
        mem.spoil(&first, |bytes| bytes[at + 14] ^= 4).unwrap();
        let (mut writer, found) = Writer::resume(Arc::new(mem.clone()), folder(), &trial(), 2).unwrap();
        assert!(!found.is_sound());
        let seq = writer.append(Kind::Facts, &payload(500)).unwrap();
        assert_eq!(seq, all + 1, "numbers of unreadable entries are not used twice");
        writer.retry().unwrap();
        let again = read_trial(&mem, folder(), &trial()).unwrap();
        assert_eq!(again.frames.len(), 12);
        assert!(again.lost.contains(&Lost::Missing { first: 10, last: all - 1 }), "{:?}", again.lost);
        let crate::Content::Loss(Loss::Missing { first, last, why }) = again.frames[10].content().unwrap() else {
            panic!("expected the note, found {:?}", again.frames[10]);
        };
        assert_eq!((first, last), (10, all - 1));
        assert!(why[0].contains("damaged at byte"), "{why:?}");
        assert_eq!(again.quarantined.len() as u64, all - 11);
    }

    #[test]
    fn a_damaged_record_taken_up_many_times_is_noted_once() {
        let mem = MemDisk::default();
        cook(Arc::new(mem.clone()));
        let first = names::segment(folder(), &trial(), 1);
        let at = frame::decode(&mem.read(&first, 1 << 20).unwrap()).frames[10].at as usize;
        mem.spoil(&first, |bytes| bytes[at + 14] ^= 4).unwrap();
        for turn in 0..4 {
            let before = mem.list(folder()).unwrap();
            let (mut writer, _) = Writer::resume(Arc::new(mem.clone()), folder(), &trial(), 2).unwrap();
            assert_eq!(mem.list(folder()).unwrap(), before, "looking at it writes nothing");
            writer.append(Kind::Facts, &payload(600 + turn)).unwrap();
            writer.commit().unwrap();
        }
        let found = read_trial(&mem, folder(), &trial()).unwrap();
        assert_eq!(found.segments.len(), 2);
        let notes = found.frames.iter().filter(|frame| frame.kind == Kind::Loss).count();
        assert_eq!((notes, found.frames.len()), (1, 10 + 1 + 4));
        // a bad contact, not rot: the entries read again, but the cook went on without them
        mem.spoil(&first, |bytes| bytes[at + 14] ^= 4).unwrap();
        let again = read_trial(&mem, folder(), &trial()).unwrap();
        assert_eq!(again.frames, found.frames);
        assert_eq!(again.quarantined.len(), found.quarantined.len() + 1);
    }

    #[test]
    fn a_record_that_is_not_the_durable_one_is_noted_without_numbers() {
        let mem = MemDisk::default();
        cook(Arc::new(mem.clone()));
        let first = names::segment(folder(), &trial(), 1);
        mem.spoil(&first, |bytes| {
            let read = frame::decode(bytes);
            let (last, before) = (read.frames[read.frames.len() - 1], read.frames[read.frames.len() - 2].checksum);
            let (at, seq) = (last.at as usize, last.seq);
            bytes.truncate(at);
            frame::encode_frame(before, seq, Kind::Facts, b"made up", Ends::OnSector, bytes).unwrap();
        })
        .unwrap();
        let (mut writer, found) = Writer::resume(Arc::new(mem.clone()), folder(), &trial(), 2).unwrap();
        assert!(!found.lost.is_empty());
        assert_eq!(writer.waiting(), 1);
        writer.commit().unwrap();
        let again = read_trial(&mem, folder(), &trial()).unwrap();
        let note = again.frames.last().unwrap().content().unwrap();
        assert!(matches!(note, crate::Content::Loss(Loss::Doubtful { .. })), "{note:?}");
    }

    #[test]
    fn many_entries_take_one_sync() {
        let disk = FaultyDisk::counting(Arc::new(MemDisk::default()));
        let mut writer = Writer::create(Arc::new(disk.clone()), folder(), &trial(), 1).unwrap();
        writer.append(Kind::Facts, &payload(0)).unwrap();
        writer.commit().unwrap();
        let before = disk.operations();
        for number in 1..6 {
            writer.append(Kind::Facts, &payload(number)).unwrap();
        }
        writer.commit().unwrap();
        assert_eq!(disk.operations() - before, 3, "a write, a sync, and a write of the mark");
    }

    #[test]
    fn on_a_disk_dead_for_days_facts_stay_and_dropped_readings_are_counted() {
        let mem = MemDisk::default();
        let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at: 0, trouble: Trouble::Cut });
        let mut writer = Writer::create(Arc::new(disk.clone()), folder(), &trial(), 1).unwrap();
        let block = vec![7; MOST_PAYLOAD];
        let mut dropped = 0;
        for _ in 0..70 {
            dropped += u64::from(writer.append(Kind::Readings, &block).is_err());
        }
        assert_eq!(dropped, 6);
        writer.append(Kind::Facts, b"still taken").unwrap();
        disk.heal();
        writer.retry().unwrap();
        let found = read_trial(&mem, folder(), &trial()).unwrap();
        let note = found.frames.last().unwrap().content().unwrap();
        assert_eq!(note, crate::Content::Loss(Loss::Dropped { inputs: 0, readings: 6 }));
        assert_eq!(found.frames.len(), 66);
    }

    #[test]
    fn on_the_real_disk_a_record_is_written_taken_up_and_read() {
        let folder = tempfile::tempdir().unwrap();
        let disk: Arc<dyn Disk> = Arc::new(crate::RealDisk);
        let mut writer = Writer::create(Arc::clone(&disk), folder.path(), &trial(), 3).unwrap();
        for number in 0..5 {
            writer.append(Kind::Facts, &payload(number)).unwrap();
            writer.commit().unwrap();
        }
        drop(writer);
        let (mut writer, found) = Writer::resume(Arc::clone(&disk), folder.path(), &trial(), 4).unwrap();
        assert_eq!((found.frames.len(), found.segments.len()), (5, 1));
        writer.append(Kind::Facts, &payload(5)).unwrap();
        assert_eq!(writer.finish().unwrap(), Committed { seq: Some(5), marked: true });
        let found = read_trial(&*disk, folder.path(), &trial()).unwrap();
        assert_eq!((found.frames.len(), found.segments.len(), found.is_sound()), (6, 1, true));
        let length = std::fs::metadata(names::segment(folder.path(), &trial(), 1)).unwrap().len();
        assert_eq!(length, found.segments[0].end, "the room laid out ahead was given back");
    }
}
