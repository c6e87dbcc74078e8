use std::{
    collections::BTreeMap,
    io,
    path::{Path, PathBuf},
};

use trial::{Stamped, TrialId};

use crate::{
    Disk, Loss,
    frame::{self, Ending, Header, Kind, Why},
    mark::{self, Mark},
    names,
    readings::{Block, BlockError},
};

/// Everything that can be read of a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialFile {
    /// Whose record it is.
    pub trial: TrialId,
    /// What can be vouched for, in sequence. Where numbers are left out, `lost` says so.
    pub frames: Vec<StoredFrame>,
    /// How the last segment ends.
    pub ending: Ending,
    /// What is known to be missing; empty in a sound record.
    pub lost: Vec<Lost>,
    /// Good frames behind damage: to be looked at by a person, not to be built on.
    pub quarantined: Vec<StoredFrame>,
    /// The files it was read from.
    pub segments: Vec<Segment>,
    /// The high-water mark, if one could be read.
    pub mark: Option<Mark>,
}

/// A frame of a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredFrame {
    /// Its sequence number in the trial.
    pub seq: u64,
    /// What it holds.
    pub kind: Kind,
    /// The bytes.
    pub payload: Vec<u8>,
    /// Its checksum.
    pub checksum: u32,
    /// The segment it stands in.
    pub segment: u32,
}

/// One file of a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Segment {
    /// From 1.
    pub number: u32,
    /// Its header, or why there is none.
    pub header: Result<Header, Why>,
    /// Where its good frames end.
    pub end: u64,
    /// The checksum to which a frame written there is chained.
    pub(crate) chain: u32,
    /// How it ends.
    pub ending: Ending,
}

/// Something that is missing from a record, for the panel and the report.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Lost {
    /// Frames that were given up when the trial was taken up again.
    #[error("entries {first} to {last} of the record cannot be read")]
    Missing {
        /// The first of them.
        first: u64,
        /// The last.
        last: u64,
    },
    /// Frames that cannot be read, with good ones after them.
    #[error("file {segment} of the record is damaged at byte {at}: {why}")]
    Damaged {
        /// In which segment.
        segment: u32,
        /// Where.
        at: u64,
        /// What is wrong there.
        why: Why,
    },
    /// The journal ends before the point that was durable once.
    #[error("the record was durable up to entry {marked}, found it to end {}", after(found))]
    CutTail {
        /// The last durable frame.
        marked: u64,
        /// The last that is there.
        found: Option<u64>,
    },
    /// The frame at the mark is another than the one that was marked.
    #[error("entry {seq} of the record is not the one that was made durable")]
    Changed {
        /// Its sequence number.
        seq: u64,
    },
    /// A file of the trial that does not follow what is there: the one before it is missing or was changed.
    #[error("file {segment} of the record does not follow the files before it: one is missing or was changed")]
    Apart {
        /// Which.
        segment: u32,
    },
    /// A file whose header cannot be read, with frames in it.
    #[error("file {segment} of the record has an unreadable header: {why}")]
    Header {
        /// Which.
        segment: u32,
        /// What is wrong.
        why: Why,
    },
}

fn after(found: &Option<u64>) -> String {
    found.map_or("before its first entry".into(), |seq| format!("after entry {seq}"))
}

/// Why a trial could not be read at all.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// There is no file of it.
    #[error("expected a record of trial {trial}, found none: list the trials to see which there are")]
    NotFound {
        /// Which was asked for.
        trial: TrialId,
    },
    /// The disk failed.
    #[error("reading {} failed: {error}", path.display())]
    Disk {
        /// Which file or folder.
        path: PathBuf,
        /// How.
        error: io::Error,
    },
    /// A later program wrote it.
    #[error("reading {} failed: {why}", path.display())]
    TooNew {
        /// Which file.
        path: PathBuf,
        /// The versions.
        why: Why,
    },
}

/// A frame that is whole but whose content does not read.
#[derive(Debug, thiserror::Error)]
pub enum ContentError {
    /// Not text.
    #[error("entry {seq}: expected text, found bytes that are none")]
    Text {
        /// Which frame.
        seq: u64,
    },
    /// Not a fact.
    #[error("entry {seq}: {why}")]
    Fact {
        /// Which frame.
        seq: u64,
        /// What is wrong.
        why: trial::line::LineError,
    },
    /// Not a readings block.
    #[error("entry {seq}: {why}")]
    Readings {
        /// Which frame.
        seq: u64,
        /// What is wrong.
        why: BlockError,
    },
    /// Not a note of loss.
    #[error("entry {seq}: expected a note of loss, found {why}")]
    Loss {
        /// Which frame.
        seq: u64,
        /// What is wrong.
        why: serde_json::Error,
    },
}

/// A frame's content.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Content {
    /// The recipe file.
    Recipe(String),
    /// Facts with their stamps.
    Facts(Vec<Stamped>),
    /// A line of what the service saw.
    Input(String),
    /// Samples of one probe.
    Readings(Block),
    /// A note that something is missing.
    Loss(Loss),
    /// Of a later program.
    Unknown(u8, Vec<u8>),
}

/// The trials with a record in `folder`, in the order of their ids.
pub fn list_trials(disk: &dyn Disk, folder: &Path) -> io::Result<Vec<TrialId>> {
    let mut trials: Vec<_> =
        disk.list(folder)?.iter().filter_map(|name| names::read(name)).map(|(trial, _)| trial).collect();
    trials.sort();
    trials.dedup();
    Ok(trials)
}

/// Reads all files of a trial and puts them together.
///
/// A later segment repeats what the one before it could not make durable; its frames go before those. A segment that
/// does not follow a frame that is there, and everything behind damage, is quarantined.
pub fn read_trial(disk: &dyn Disk, folder: &Path, trial: &TrialId) -> Result<TrialFile, ReadError> {
    let at_disk = |path: &Path| {
        let path = path.to_owned();
        move |error| ReadError::Disk { path, error }
    };
    // the mark first: a writer may be at work, and then the files say at least as much as the mark
    let marked = mark::read(disk, &names::mark(folder, trial));
    let names = disk.list(folder).map_err(at_disk(folder))?;
    let mut numbers: Vec<u32> =
        names.iter().filter_map(|name| names::read(name)).filter(|(id, _)| id == trial).map(|(_, n)| n).collect();
    numbers.sort_unstable();
    let mut whole = Assembly { trial, mark: marked, ..Assembly::new(trial) };
    for &number in &numbers {
        let path = names::segment(folder, trial, number);
        let bytes = disk.read(&path, MOST_BYTES).map_err(at_disk(&path))?;
        let read = frame::decode(&bytes);
        if let Err(why @ Why::TooNew { .. }) = read.header {
            return Err(ReadError::TooNew { path, why });
        }
        whole.add(number, read);
    }
    if numbers.is_empty() && marked.is_none() {
        return Err(ReadError::NotFound { trial: trial.clone() });
    }
    Ok(whole.finish())
}

/// The files of a trial as far as they have been put together.
struct Assembly<'t> {
    trial: &'t TrialId,
    mark: Option<Mark>,
    frames: BTreeMap<u64, StoredFrame>,
    doubt: Option<Doubt>,
    lost: Vec<Lost>,
    quarantined: Vec<StoredFrame>,
    segments: Vec<Segment>,
}

/// Bytes in the newest segment that cannot be read, with good frames after them: damage if they were durable, else the
/// sectors of one unfinished write in another order than their own. A later segment that follows without a gap shows
/// that they were not.
struct Doubt {
    segment: u32,
    at: u64,
    bytes: u64,
    why: Why,
}

impl Doubt {
    fn into_loss(self) -> Lost {
        Lost::Damaged { segment: self.segment, at: self.at, why: self.why }
    }
}

/// Whether the mark says that the bytes in doubt were durable. Without a mark they are taken to have been.
fn was_durable(mark: Option<Mark>, doubt: &Doubt) -> bool {
    mark.is_none_or(|mark| doubt.segment < mark.segment || (doubt.segment == mark.segment && doubt.at < mark.length))
}

impl<'t> Assembly<'t> {
    fn new(trial: &'t TrialId) -> Self {
        Self {
            trial,
            mark: None,
            frames: BTreeMap::new(),
            doubt: None,
            lost: Vec::new(),
            quarantined: Vec::new(),
            segments: Vec::new(),
        }
    }

    fn add(&mut self, number: u32, read: frame::Decoded<'_>) {
        let stored = |frame: &frame::Frame<'_>| StoredFrame {
            seq: frame.seq,
            kind: frame.kind,
            payload: frame.payload.to_vec(),
            checksum: frame.checksum,
            segment: number,
        };
        self.quarantined.extend(read.salvaged.iter().map(stored));
        match &read.header {
            Err(why) => {
                // a file without frames was being made when the power went; nothing in it was acknowledged
                if !read.salvaged.is_empty() {
                    self.lost.push(Lost::Header { segment: number, why: *why });
                }
            }
            Ok(header) if !self.follows(header, number) => {
                self.lost.extend(self.doubt.take().map(Doubt::into_loss));
                self.lost.push(Lost::Apart { segment: number });
                self.quarantined.extend(read.frames.iter().map(stored));
            }
            Ok(header) => {
                let doubt = self.doubt.take();
                let given_up = header.follows.map_or(0, |link| link.seq + 1)..header.first;
                if !given_up.is_empty() {
                    self.lost.extend(doubt.map(Doubt::into_loss));
                    let found: Vec<u64> = self.frames.range(given_up).map(|(&seq, _)| seq).collect();
                    self.quarantined.extend(found.iter().filter_map(|seq| self.frames.remove(seq)));
                }
                self.frames.extend(read.frames.iter().map(|frame| (frame.seq, stored(frame))));
                if let Ending::Damaged { at, why } = read.ending {
                    let last = read.salvaged.last();
                    let end = last.map_or(at, |last| last.at + last.length);
                    self.doubt = Some(Doubt { segment: number, at, bytes: end - at, why });
                }
            }
        }
        self.segments.push(Segment {
            number,
            header: read.header,
            end: read.end,
            chain: read.chain,
            ending: read.ending,
        });
    }

    /// Whether a segment goes on from a frame that is there.
    fn follows(&self, header: &Header, number: u32) -> bool {
        let named = header.trial == *self.trial && header.segment == number;
        named
            && match header.follows {
                // the files made before it have nothing in them that was ever acknowledged
                None => self.frames.is_empty() || header.first == 0,
                Some(link) => self.frames.get(&link.seq).is_some_and(|frame| frame.checksum == link.checksum),
            }
    }

    fn finish(mut self) -> TrialFile {
        // a segment follows a frame that is there or says itself what it leaves out: these are all gaps there can be
        let mut next = 0;
        for &seq in self.frames.keys() {
            if seq != next {
                self.lost.push(Lost::Missing { first: next, last: seq - 1 });
            }
            next = seq + 1;
        }
        if let Some(doubt) = self.doubt.take() {
            let torn = Ending::TornTail { at: doubt.at, bytes: doubt.bytes };
            match self.segments.iter_mut().find(|segment| segment.number == doubt.segment) {
                Some(segment) if !was_durable(self.mark, &doubt) => segment.ending = torn,
                Some(_) | None => self.lost.push(doubt.into_loss()),
            }
        }
        if let Some((mark, last)) = self.mark.and_then(|mark| Some((mark, mark.last?))) {
            match self.frames.get(&last.seq) {
                Some(frame) if frame.segment == mark.segment && frame.checksum != last.checksum => {
                    self.lost.push(Lost::Changed { seq: last.seq });
                }
                Some(_) => {}
                None => {
                    let found = self.frames.keys().next_back().copied();
                    if found.is_none_or(|found| found < last.seq) {
                        self.lost.push(Lost::CutTail { marked: last.seq, found });
                    }
                }
            }
        }
        let last = self.segments.iter().rev().find(|segment| segment.header.is_ok()).or(self.segments.last());
        TrialFile {
            trial: self.trial.clone(),
            ending: last.map_or(Ending::Clean, |segment| segment.ending),
            frames: self.frames.into_values().collect(),
            lost: self.lost,
            quarantined: self.quarantined,
            segments: self.segments,
            mark: self.mark,
        }
    }
}

impl TrialFile {
    /// Whether nothing is missing. A torn tail is no loss: nothing in it was acknowledged.
    pub fn is_sound(&self) -> bool {
        self.lost.is_empty()
    }

    /// Reads the content of every frame, in sequence.
    pub fn contents(&self) -> impl Iterator<Item = Result<Content, ContentError>> + '_ {
        self.frames.iter().map(StoredFrame::content)
    }

    /// All facts, in sequence.
    pub fn facts(&self) -> Result<Vec<Stamped>, ContentError> {
        let mut facts = Vec::new();
        for frame in self.frames.iter().filter(|frame| frame.kind == Kind::Facts) {
            if let Content::Facts(more) = frame.content()? {
                facts.extend(more);
            }
        }
        Ok(facts)
    }

    /// The text of the recipe that is cooked; nothing if none was stored.
    pub fn recipe(&self) -> Option<&str> {
        let frame = self.frames.iter().find(|frame| frame.kind == Kind::Recipe)?;
        std::str::from_utf8(&frame.payload).ok()
    }

    /// All readings blocks, in sequence.
    pub fn readings(&self) -> Result<Vec<Block>, ContentError> {
        let blocks = self.frames.iter().filter(|frame| frame.kind == Kind::Readings);
        blocks
            .map(|frame| Block::decode(&frame.payload).map_err(|why| ContentError::Readings { seq: frame.seq, why }))
            .collect()
    }
}

impl StoredFrame {
    /// Reads what the frame holds.
    pub fn content(&self) -> Result<Content, ContentError> {
        let seq = self.seq;
        let text = || std::str::from_utf8(&self.payload).map_err(|_| ContentError::Text { seq });
        Ok(match self.kind {
            Kind::Recipe => Content::Recipe(text()?.to_owned()),
            Kind::Facts => {
                let lines = text()?.lines().map(trial::line::read);
                Content::Facts(lines.collect::<Result<_, _>>().map_err(|why| ContentError::Fact { seq, why })?)
            }
            Kind::Input => Content::Input(text()?.to_owned()),
            Kind::Readings => {
                Content::Readings(Block::decode(&self.payload).map_err(|why| ContentError::Readings { seq, why })?)
            }
            Kind::Loss => {
                Content::Loss(serde_json::from_slice(&self.payload).map_err(|why| ContentError::Loss { seq, why })?)
            }
            Kind::Unknown(byte) => Content::Unknown(byte, self.payload.clone()),
        })
    }
}

/// The longest file that is read: some hundred times the longest trial.
const MOST_BYTES: u64 = 256 << 20;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Fault, FaultyDisk, MemDisk, Trouble, Writer, frame::Link};
    use std::sync::Arc;

    const FOLDER: &str = "trials";

    fn trial() -> TrialId {
        TrialId::new("20261125-1412-loin-a").unwrap()
    }

    fn written(count: u32) -> MemDisk {
        let disk = MemDisk::default();
        let mut writer = Writer::create(Arc::new(disk.clone()), Path::new(FOLDER), &trial(), 9).unwrap();
        for number in 0..count {
            writer.append(Kind::Input, format!("line {number}").as_bytes()).unwrap();
            writer.commit().unwrap();
        }
        writer.finish().unwrap();
        disk
    }

    fn path(segment: u32) -> PathBuf {
        names::segment(Path::new(FOLDER), &trial(), segment)
    }

    fn read(disk: &MemDisk) -> TrialFile {
        read_trial(disk, Path::new(FOLDER), &trial()).unwrap()
    }

    /// Where the frame with this number begins, all frames being equally long.
    fn starts(disk: &MemDisk) -> Vec<usize> {
        let bytes = disk.read(&path(1), MOST_BYTES).unwrap();
        frame::decode(&bytes).frames.iter().map(|f| f.at as usize).collect()
    }

    #[test]
    fn a_sound_record_says_so() {
        let disk = written(8);
        let found = read(&disk);
        assert_eq!((found.frames.len(), found.ending, found.is_sound()), (8, Ending::Clean, true));
        assert_eq!(list_trials(&disk, Path::new(FOLDER)).unwrap(), [trial()]);
    }

    #[test]
    fn a_journal_cut_between_two_frames_is_a_cut_tail() {
        let disk = written(8);
        let at = starts(&disk)[5];
        disk.spoil(&path(1), |bytes| bytes.truncate(at)).unwrap();
        let found = read(&disk);
        assert_eq!(found.lost, [Lost::CutTail { marked: 7, found: Some(4) }]);
        assert_eq!(found.frames.len(), 5);
    }

    #[test]
    fn every_cut_of_a_marked_journal_is_told() {
        let disk = written(8);
        let whole = disk.read(&path(1), MOST_BYTES).unwrap();
        for length in 0..whole.len() {
            disk.spoil(&path(1), |bytes| *bytes = whole[..length].to_vec()).unwrap();
            assert!(!read(&disk).is_sound(), "cut at {length}");
        }
    }

    #[test]
    fn every_flipped_bit_of_a_marked_journal_is_told_as_a_loss() {
        let disk = written(12);
        let bits = disk.read(&path(1), MOST_BYTES).unwrap().len() * 8;
        for bit in 0..bits {
            let flip = |bytes: &mut Vec<u8>| bytes[bit / 8] ^= 1 << (bit % 8);
            disk.spoil(&path(1), flip).unwrap();
            let found = read_trial(&disk, Path::new(FOLDER), &trial());
            assert!(found.is_err() || !found.unwrap().is_sound(), "bit {bit}");
            disk.spoil(&path(1), flip).unwrap();
        }
    }

    #[test]
    fn a_journal_file_that_is_gone_is_told() {
        let disk = written(8);
        disk.remove(&path(1)).unwrap();
        assert_eq!(read(&disk).lost, [Lost::CutTail { marked: 7, found: None }]);
        disk.remove(&names::mark(Path::new(FOLDER), &trial())).unwrap();
        let gone = read_trial(&disk, Path::new(FOLDER), &trial());
        assert!(matches!(gone, Err(ReadError::NotFound { .. })));
    }

    #[test]
    fn damage_before_the_mark_is_a_loss_and_behind_it_a_torn_tail() {
        let disk = written(8);
        let at = starts(&disk)[3];
        disk.spoil(&path(1), |bytes| bytes[at + 15] ^= 1).unwrap();
        let found = read(&disk);
        assert!(matches!(found.lost[0], Lost::Damaged { segment: 1, .. }), "{:?}", found.lost);
        assert_eq!(found.frames.len(), 3);
        assert_eq!(found.quarantined.iter().map(|f| f.seq).collect::<Vec<_>>(), [4, 5, 6, 7]);

        // the same bytes, with a mark that was made before them
        let mut marks = mark::MarkFile::new(PathBuf::from("early.mark"));
        let frame = &found.frames[2];
        let early = Mark { segment: 1, length: at as u64, last: Some(Link { seq: 2, checksum: frame.checksum }) };
        marks.write(&disk, early).unwrap();
        disk.remove(&names::mark(Path::new(FOLDER), &trial())).unwrap();
        disk.rename(Path::new("early.mark"), &names::mark(Path::new(FOLDER), &trial())).unwrap();
        let found = read(&disk);
        assert!(found.is_sound());
        assert!(matches!(found.ending, Ending::TornTail { .. }));
        assert_eq!(found.quarantined.len(), 4);
    }

    #[test]
    fn an_older_journal_under_a_newer_mark_is_told() {
        let (old, new) = (written(8), written(9));
        let mut writer = Writer::create(Arc::new(MemDisk::default()), Path::new(FOLDER), &trial(), 10).unwrap();
        writer.append(Kind::Input, b"x").unwrap();
        writer.commit().unwrap();
        let bytes = old.read(&path(1), MOST_BYTES).unwrap();
        new.spoil(&path(1), |now| *now = bytes).unwrap();
        assert_eq!(read(&new).lost, [Lost::CutTail { marked: 8, found: Some(7) }]);
    }

    /// Two files: the second was begun when a sync of the first failed.
    fn in_two_files() -> MemDisk {
        let mem = MemDisk::default();
        let fault = Fault { at: 12, trouble: Trouble::Io };
        let disk = FaultyDisk::new(Arc::new(mem.clone()), fault);
        let mut writer = Writer::create(Arc::new(disk.clone()), Path::new(FOLDER), &trial(), 9).unwrap();
        for number in 0..8 {
            writer.append(Kind::Input, format!("line {number}").as_bytes()).unwrap();
            if writer.commit().is_err() {
                writer.retry().unwrap();
            }
        }
        writer.finish().unwrap();
        assert_eq!(disk.fired(), 1);
        mem
    }

    #[test]
    fn a_record_in_two_files_reads_as_one() {
        let found = read(&in_two_files());
        assert_eq!(found.segments.len(), 2);
        let lines: Vec<_> =
            found.frames.iter().map(|frame| String::from_utf8(frame.payload.clone()).unwrap()).collect();
        assert_eq!(lines, (0..8).map(|number| format!("line {number}")).collect::<Vec<_>>());
        assert!(found.is_sound());
    }

    #[test]
    fn a_missing_first_file_sets_the_second_apart() {
        let disk = in_two_files();
        disk.remove(&path(1)).unwrap();
        let found = read(&disk);
        assert_eq!(found.lost, [Lost::Apart { segment: 2 }, Lost::CutTail { marked: 7, found: None }]);
        assert!(found.frames.is_empty() && !found.quarantined.is_empty());
    }

    #[test]
    fn a_first_file_cut_short_sets_the_second_apart() {
        let disk = in_two_files();
        let whole = disk.read(&path(1), MOST_BYTES).unwrap();
        let end = frame::decode(&whole).end as usize;
        for length in 0..end {
            disk.spoil(&path(1), |bytes| *bytes = whole[..length].to_vec()).unwrap();
            assert!(read(&disk).lost.contains(&Lost::Apart { segment: 2 }), "cut at {length}");
        }
    }

    #[test]
    fn a_first_file_from_elsewhere_sets_the_second_apart() {
        let (disk, other) = (in_two_files(), MemDisk::default());
        let mut writer = Writer::create(Arc::new(other.clone()), Path::new(FOLDER), &trial(), 44).unwrap();
        for number in 0..8 {
            writer.append(Kind::Input, format!("lime {number}").as_bytes()).unwrap();
            writer.commit().unwrap();
        }
        let bytes = other.read(&path(1), MOST_BYTES).unwrap();
        disk.spoil(&path(1), |now| *now = bytes).unwrap();
        assert!(read(&disk).lost.contains(&Lost::Apart { segment: 2 }));
    }

    #[test]
    fn another_last_entry_than_the_durable_one_is_told() {
        let disk = written(3);
        disk.spoil(&path(1), |bytes| {
            let read = frame::decode(bytes);
            let (at, before) = (read.frames[2].at as usize, read.frames[1].checksum);
            bytes.truncate(at);
            frame::encode_frame(before, 2, Kind::Input, b"made up", frame::Ends::OnSector, bytes).unwrap();
        })
        .unwrap();
        assert_eq!(read(&disk).lost, [Lost::Changed { seq: 2 }]);
    }

    #[test]
    fn a_segment_of_another_trial_is_not_mixed_in() {
        let disk = written(3);
        let other = TrialId::new("other").unwrap();
        let bytes = disk.read(&path(1), MOST_BYTES).unwrap();
        crate::write_whole(&disk, &names::segment(Path::new(FOLDER), &other, 1), &bytes).unwrap();
        let found = read_trial(&disk, Path::new(FOLDER), &other).unwrap();
        assert_eq!((found.frames.len(), &found.lost[..]), (0, &[Lost::Apart { segment: 1 }][..]));
        assert_eq!(found.quarantined.len(), 3);
    }
}
