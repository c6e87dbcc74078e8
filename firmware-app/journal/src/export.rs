//! A trial's record for other programs: JSON Lines, which come back without loss, and CSV tables.
//!
//! ```text
//! {"v":1,"trial":"20261125-1412-loin-a","lines":3,"lost":[]}      what is missing from the record, in words
//! {"recipe":"id = …"}                                             the recipe file
//! {"v":1,"stamp":{…},"seq":0,"at":"PT0S","fact":{…}}              each fact, in the form it is stored in
//! {"readings":{"probe":"core","every":"PT1S","samples":[[912000,57.9375],[913000,"unplugged"]]}}
//! {"end":{"lines":3,"crc32c":"8a1f0c22"}}                         over every byte before this line
//! ```
//!
//! A sample is its time in milliseconds of the run and its temperature in °C, or the reason why there is none. Input
//! lines are `{"input":…}`, notes of loss `{"loss":…}`, and frames of a later program `{"unknown":…}` in hexadecimal.

use std::{fmt, io, path::Path};

use quantities::{Celsius, Drift, NoReading, RunTime, Span};
use recipe_model::ProbeName;
use serde::{Deserialize, Serialize};
use trial::{Fact, TrialId, record::TrialRecord};

use crate::{
    Content, Disk, Loss, TrialFile,
    frame::{self, Ends, Header, Kind, Link, MOST_PAYLOAD},
    index::done_columns,
    mark::{Mark, MarkFile},
    names,
    readings::{Block, Sample},
    words::word,
    write_whole,
};

/// The whole record as JSON Lines.
///
/// A frame whose content does not read goes out as `unknown`, so that nothing is left behind.
pub fn json_lines(file: &TrialFile) -> String {
    let mut body = String::new();
    let mut lines = 0;
    for frame in &file.frames {
        let unread = || Line::Unknown { kind: frame.kind.byte(), hex: hex(&frame.payload) };
        let written = match frame.content() {
            Ok(Content::Facts(facts)) => {
                for fact in &facts {
                    body.push_str(&trial::line::write(fact));
                    body.push('\n');
                }
                lines += facts.len();
                continue;
            }
            Ok(Content::Recipe(text)) => Line::Recipe(text),
            Ok(Content::Input(text)) => Line::Input(text),
            Ok(Content::Readings(block)) => Line::Readings(Readings::from(&block)),
            Ok(Content::Loss(loss)) => Line::Loss(loss),
            Ok(Content::Unknown(..)) | Err(_) => unread(),
        };
        push_json(&mut body, &written);
        lines += 1;
    }
    let lost = file.lost.iter().map(ToString::to_string).collect();
    let mut text = String::new();
    push_json(&mut text, &Head { v: VERSION, trial: file.trial.clone(), lines, lost });
    text.push_str(&body);
    let crc32c = format!("{:08x}", crc32c::crc32c(text.as_bytes()));
    push_json(&mut text, &Line::End { lines, crc32c });
    text
}

/// A record read from JSON Lines and checked, not yet stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Import {
    trial: TrialId,
    entries: Vec<(Kind, Vec<u8>)>,
    facts: usize,
    lost: Vec<String>,
}

/// Why a record was not imported. Nothing was stored.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// A line that does not read.
    #[error("line {line}: {why}")]
    Line {
        /// Which, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// Not the beginning of an export.
    #[error("expected a first line like {{\"v\":1,\"trial\":…}}, found {found:?}")]
    Head {
        /// The first line, shortened.
        found: String,
    },
    /// A later program wrote it.
    #[error("expected an export of version {VERSION}, found version {found}: update this program to read it")]
    TooNew {
        /// Its version.
        found: u32,
    },
    /// It ends too early.
    #[error(
        "expected a last line like {{\"end\":…}} after {expected} lines, found {found} lines: part of the file is missing"
    )]
    Cut {
        /// How many lines the head says.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// It is not what was exported.
    #[error("expected the checksum {expected}, found {found}: the file was changed or damaged")]
    Changed {
        /// As the last line says.
        expected: String,
        /// Over the text as it is.
        found: String,
    },
    /// Facts out of order, or of another trial.
    #[error("line {line}: expected {expected}, found {found}")]
    Order {
        /// Which, from 1.
        line: usize,
        /// What should stand there.
        expected: String,
        /// What does.
        found: String,
    },
    /// The trial is there already.
    #[error("expected no record of trial {trial} here, found one: nothing was imported")]
    Exists {
        /// Which.
        trial: TrialId,
    },
    /// The disk failed.
    #[error("storing the record of trial {trial} failed: {error}; nothing was imported")]
    Disk {
        /// Which.
        trial: TrialId,
        /// How.
        error: io::Error,
    },
}

impl Import {
    /// Reads and checks an export; refuses one that was cut, changed or damaged.
    pub fn read(text: &str) -> Result<Self, ImportError> {
        let first = text.lines().next().unwrap_or_default();
        let shortened = || ImportError::Head { found: first.chars().take(60).collect() };
        let version: Version = serde_json::from_str(first).map_err(|_| shortened())?;
        if version.v > VERSION {
            return Err(ImportError::TooNew { found: version.v });
        }
        let head: Head = serde_json::from_str(first).map_err(|_| shortened())?;
        let mut import = Self { trial: head.trial, entries: Vec::new(), facts: 0, lost: head.lost };
        let mut checked = first.len() + 1;
        let mut found = 0;
        let mut end = None;
        for (number, line) in (2..).zip(text.lines().skip(1)) {
            if end.is_some() {
                return Err(ImportError::Line { line: number, why: "expected nothing after the end".into() });
            }
            end = import.take(number, line)?;
            if end.is_none() {
                found += 1;
                checked += line.len() + 1;
            }
        }
        let (lines, expected) = end.ok_or(ImportError::Cut { expected: head.lines, found })?;
        if lines != found || head.lines != found {
            return Err(ImportError::Cut { expected: head.lines.max(lines), found });
        }
        let sum = format!("{:08x}", crc32c::crc32c(text.as_bytes().get(..checked).unwrap_or_default()));
        if sum != expected {
            return Err(ImportError::Changed { expected, found: sum });
        }
        if import.facts == 0 {
            let (expected, found) = ("the opening of the trial".into(), "no fact".into());
            return Err(ImportError::Order { line: text.lines().count(), expected, found });
        }
        Ok(import)
    }

    /// Whose record it is.
    pub fn trial(&self) -> &TrialId {
        &self.trial
    }

    /// How many facts it has.
    pub fn facts(&self) -> usize {
        self.facts
    }

    /// What was missing from the record when it was exported.
    pub fn lost(&self) -> &[String] {
        &self.lost
    }

    /// Stores the record as a new journal, whole or not at all. `seed` is any number.
    pub fn store(&self, disk: &dyn Disk, folder: &Path, seed: u32) -> Result<(), ImportError> {
        let trial = &self.trial;
        let at_disk = |error| ImportError::Disk { trial: trial.clone(), error };
        if names::any_of(&disk.list(folder).map_err(at_disk)?, trial) {
            return Err(ImportError::Exists { trial: trial.clone() });
        }
        let mut entries = self.entries.clone();
        if !self.lost.is_empty() {
            let note = Loss::Imported { why: self.lost.clone() };
            entries.push((Kind::Loss, serde_json::to_vec(&note).map_err(io::Error::from).map_err(at_disk)?));
        }
        let header = Header { trial: trial.clone(), segment: 1, seed, first: 0, follows: None };
        let mut bytes = Vec::new();
        let mut chain = frame::encode_header(&header, &mut bytes);
        let last = entries.len().saturating_sub(1);
        for (number, (kind, payload)) in entries.iter().enumerate() {
            let ends = if number == last { Ends::OnSector } else { Ends::Anywhere };
            chain = frame::encode_frame(chain, number as u64, *kind, payload, ends, &mut bytes)
                .map_err(|long| at_disk(io::Error::new(io::ErrorKind::InvalidInput, long)))?;
        }
        write_whole(disk, &names::segment(folder, trial, 1), &bytes).map_err(at_disk)?;
        let mut file = MarkFile::new(names::mark(folder, trial));
        let last = Some(Link { seq: last as u64, checksum: chain });
        let mark = Mark { segment: 1, length: bytes.len() as u64, last };
        // the record is whole without its mark; a later cut would only be harder to tell
        let _ = file.write(disk, mark).and_then(|()| file.sync());
        Ok(())
    }

    /// Takes a line; the end says how many lines came before it and their checksum.
    fn take(&mut self, number: usize, line: &str) -> Result<Option<(usize, String)>, ImportError> {
        let wrong = |why: String| ImportError::Line { line: number, why };
        if line.starts_with("{\"v\":") {
            let fact = trial::line::read(line).map_err(|why| wrong(why.to_string()))?;
            self.check_order(number, &fact.entry)?;
            self.facts += 1;
            return self.push(number, Kind::Facts, line.as_bytes().to_vec());
        }
        match serde_json::from_str(line).map_err(|why| wrong(why.to_string()))? {
            Line::Recipe(text) => self.push(number, Kind::Recipe, text.into_bytes()),
            Line::Input(text) => self.push(number, Kind::Input, text.into_bytes()),
            Line::Readings(readings) => {
                let block = readings.block().map_err(|why| wrong(why.to_string()))?;
                self.push(number, Kind::Readings, block.encode())
            }
            Line::Loss(loss) => {
                let bytes = serde_json::to_vec(&loss).map_err(|why| wrong(why.to_string()))?;
                self.push(number, Kind::Loss, bytes)
            }
            Line::Unknown { kind, hex } => {
                let kind =
                    Kind::from_byte(kind).ok_or_else(|| wrong("expected a kind from 1 to 255, found 0".into()))?;
                let bytes = unhex(&hex).ok_or_else(|| wrong("expected pairs of hexadecimal digits".into()))?;
                self.push(number, kind, bytes)
            }
            Line::End { lines, crc32c } => Ok(Some((lines, crc32c))),
        }
    }

    fn push(&mut self, line: usize, kind: Kind, payload: Vec<u8>) -> Result<Option<(usize, String)>, ImportError> {
        if payload.len() > MOST_PAYLOAD {
            let why = format!("expected at most {MOST_PAYLOAD} bytes, found {}", payload.len());
            return Err(ImportError::Line { line, why });
        }
        self.entries.push((kind, payload));
        Ok(None)
    }

    fn check_order(&self, line: usize, entry: &trial::Entry) -> Result<(), ImportError> {
        let wrong = |expected: String, found: String| Err(ImportError::Order { line, expected, found });
        if entry.seq != self.facts as u64 {
            return wrong(format!("fact {}", self.facts), format!("fact {}", entry.seq));
        }
        if let Fact::TrialOpened(info) = &entry.fact {
            if info.trial != self.trial {
                let opening = |trial: &TrialId| format!("the opening of trial {trial}");
                return wrong(opening(&self.trial), opening(&info.trial));
            }
        } else if self.facts == 0 {
            return wrong("the opening of the trial".into(), "another fact".into());
        }
        Ok(())
    }
}

/// A table of the steps, one row for each run of a step.
///
/// `planned_begin_s`, `began_s` and `ended_s` count from the opening of the trial; `done_after_s` and `done_by_s` from
/// the beginning of the step, as interval-censored statistics want them: both given for an interval, equal if exact,
/// one left empty if censored.
pub fn steps_csv(record: &TrialRecord, out: impl io::Write) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record([
        "trial",
        "recipe",
        "version",
        "variant",
        "step",
        "planned_begin_s",
        "began_s",
        "ended_s",
        "planned_s",
        "ran_s",
        "late_s",
        "cause",
        "done",
        "done_after_s",
        "done_by_s",
        "early_reason",
        "core_celsius",
        "looks",
        "deviations",
    ])?;
    for step in &record.steps {
        let end = step.end.as_ref();
        let (done, after, by, reason) = end.map_or((None, None, None, None), |end| done_columns(end.done));
        let since_opened = |at: RunTime| seconds(at - record.opened);
        let since_begun = |at: RunTime| seconds(at - step.began);
        table.write_record([
            record.info.trial.to_string(),
            record.info.recipe.to_string(),
            record.info.version.clone(),
            record.info.variant.to_string(),
            step.step.to_string(),
            or_empty(step.planned_begin.map(since_opened)),
            since_opened(step.began),
            or_empty(end.map(|end| since_opened(end.at))),
            seconds_of(step.planned),
            or_empty(end.map(|end| seconds_of(end.ran))),
            or_empty(end.map(|end| seconds(end.late))),
            or_empty(end.map(|end| word(&end.cause))),
            or_empty(done),
            or_empty(after.map(since_begun)),
            or_empty(by.map(since_begun)),
            or_empty(reason.as_ref().map(word)),
            or_empty(end.and_then(|end| end.core_celsius).map(degrees)),
            step.looks.len().to_string(),
            step.deviations.join("; "),
        ])?;
    }
    table.flush()
}

/// A table of the looks; `at_s` counts from the opening of the trial, `into_step_s` from the beginning of the step.
pub fn looks_csv(record: &TrialRecord, out: impl io::Write) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record([
        "trial",
        "recipe",
        "variant",
        "step",
        "look",
        "at_s",
        "into_step_s",
        "verdict",
        "core_celsius",
    ])?;
    for step in &record.steps {
        for (number, look) in (1..).zip(&step.looks) {
            table.write_record([
                record.info.trial.to_string(),
                record.info.recipe.to_string(),
                record.info.variant.to_string(),
                step.step.to_string(),
                u32::to_string(&number),
                seconds(look.at - record.opened),
                seconds(look.at - step.began),
                word(&look.verdict),
                or_empty(look.core_celsius.map(degrees)),
            ])?;
        }
    }
    table.flush()
}

/// A table of the readings, one row a sample; `at_s` counts from the opening of the trial.
pub fn readings_csv(record: &TrialRecord, blocks: &[Block], out: impl io::Write) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record(["trial", "probe", "at_s", "celsius", "no_reading"])?;
    for (block, sample) in blocks.iter().flat_map(|block| block.samples().iter().map(move |sample| (block, sample))) {
        let (celsius, why) = match sample.reading {
            Ok(celsius) => (degrees(celsius), String::new()),
            Err(why) => (String::new(), word(&why)),
        };
        table.write_record([
            record.info.trial.as_str(),
            block.probe().as_str(),
            &seconds(sample.at - record.opened),
            &celsius,
            &why,
        ])?;
    }
    table.flush()
}

#[derive(Deserialize)]
struct Version {
    v: u32,
}

#[derive(Serialize, Deserialize)]
struct Head {
    v: u32,
    trial: TrialId,
    lines: usize,
    lost: Vec<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Line {
    Recipe(String),
    Input(String),
    Readings(Readings),
    Loss(Loss),
    Unknown { kind: u8, hex: String },
    End { lines: usize, crc32c: String },
}

#[derive(Serialize, Deserialize)]
struct Readings {
    probe: ProbeName,
    every: Span,
    samples: Vec<(u64, Said)>,
}

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum Said {
    Celsius(Celsius),
    Nothing(NoReading),
}

impl From<&Block> for Readings {
    fn from(block: &Block) -> Self {
        let samples = block
            .samples()
            .iter()
            .map(|sample| (sample.at.millis(), sample.reading.map_or_else(Said::Nothing, Said::Celsius)));
        Self { probe: block.probe().clone(), every: block.every(), samples: samples.collect() }
    }
}

impl Readings {
    fn block(self) -> Result<Block, crate::readings::BlockError> {
        let samples = self.samples.into_iter().map(|(millis, said)| Sample {
            at: RunTime::from_millis(millis),
            reading: match said {
                Said::Celsius(celsius) => Ok(celsius),
                Said::Nothing(why) => Err(why),
            },
        });
        Block::new(self.probe, self.every, samples.collect())
    }
}

fn push_json(text: &mut String, line: &impl Serialize) {
    text.push_str(&serde_json::to_string(line).expect("lines have text keys and no failing serializer"));
    text.push('\n');
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(text.get(at..at + 2)?, 16).ok()).collect()
}

fn seconds(drift: Drift) -> String {
    let size = seconds_of(drift.size());
    if drift.is_early() { format!("-{size}") } else { size }
}

fn seconds_of(span: Span) -> String {
    format!("{}.{:03}", span.millis() / 1000, span.millis() % 1000)
}

fn degrees(celsius: Celsius) -> String {
    format!("{:.4}", celsius.degrees())
}

fn or_empty(cell: Option<impl fmt::Display>) -> String {
    cell.map_or_else(String::new, |cell| cell.to_string())
}

/// The version of the export that this program writes.
const VERSION: u32 = 1;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        Fault, FaultyDisk, MemDisk, Trouble, Writer, read_trial,
        sample_trial::{FOLDER, facts, readings, trial_id, write},
    };
    use std::sync::Arc;

    fn exported() -> (TrialFile, String) {
        let disk: Arc<dyn Disk> = Arc::new(MemDisk::default());
        let file = write(&disk, 0, true);
        let text = json_lines(&file);
        (file, text)
    }

    fn contents(file: &TrialFile) -> Vec<Content> {
        file.contents().map(Result::unwrap).collect()
    }

    #[test]
    fn a_record_goes_out_and_comes_back_the_same() {
        let (file, text) = exported();
        let import = Import::read(&text).unwrap();
        assert_eq!((import.trial(), import.facts()), (&trial_id(0), facts(0, true).len()));
        let disk = MemDisk::default();
        import.store(&disk, Path::new(FOLDER), 99).unwrap();
        let again = read_trial(&disk, Path::new(FOLDER), &trial_id(0)).unwrap();
        assert!(again.is_sound());
        assert_eq!(again.facts().unwrap(), facts(0, true));
        assert_eq!(again.readings().unwrap(), readings());
        assert_eq!(contents(&again), contents(&file));
        assert_eq!(json_lines(&again), text);
    }

    #[test]
    fn an_imported_record_can_be_added_to() {
        let (_, text) = exported();
        let disk: Arc<dyn Disk> = Arc::new(MemDisk::default());
        Import::read(&text).unwrap().store(&*disk, Path::new(FOLDER), 1).unwrap();
        let (mut writer, found) = Writer::resume(Arc::clone(&disk), Path::new(FOLDER), &trial_id(0), 2).unwrap();
        writer.append(Kind::Input, b"later").unwrap();
        writer.commit().unwrap();
        let again = read_trial(&*disk, Path::new(FOLDER), &trial_id(0)).unwrap();
        assert_eq!((again.frames.len(), again.segments.len()), (found.frames.len() + 1, 1));
    }

    #[test]
    fn every_cut_and_many_changes_are_refused() {
        let (_, text) = exported();
        for (at, _) in text.char_indices().skip(1) {
            // without its last line end the text is whole
            assert!(Import::read(&text[..at]).is_err() || at == text.len() - 1, "cut at {at}");
        }
        let mut refused = 0;
        for (at, letter) in text.char_indices().filter(|(_, letter)| letter.is_ascii_digit()) {
            let other = if letter == '7' { "8" } else { "7" };
            let changed = format!("{}{other}{}", &text[..at], &text[at + 1..]);
            assert!(Import::read(&changed).is_err(), "digit at {at}");
            refused += 1;
        }
        assert!(refused > 500, "{refused}");
    }

    #[test]
    fn a_wrong_line_is_named() {
        let (_, text) = exported();
        let broken = text.replacen("{\"input\":", "{\"inptu\":", 1);
        let error = Import::read(&broken).unwrap_err().to_string();
        assert!(error.starts_with("line 3: unknown variant `inptu`"), "{error}");
        let error = Import::read("recipe,step\n").unwrap_err().to_string();
        assert!(error.contains("found \"recipe,step\""), "{error}");
        let newer = text.replacen("{\"v\":1,\"trial\"", "{\"v\":2,\"trial\"", 1);
        assert!(matches!(Import::read(&newer), Err(ImportError::TooNew { found: 2 })));
    }

    #[test]
    fn a_record_that_is_there_is_not_touched() {
        let disk: Arc<dyn Disk> = Arc::new(MemDisk::default());
        let file = write(&disk, 0, false);
        let refused = Import::read(&exported().1).unwrap().store(&*disk, Path::new(FOLDER), 1);
        assert!(matches!(refused, Err(ImportError::Exists { .. })));
        assert_eq!(read_trial(&*disk, Path::new(FOLDER), &trial_id(0)).unwrap(), file);
    }

    #[test]
    fn a_failing_disk_leaves_the_whole_record_or_none() {
        let (_, text) = exported();
        let import = Import::read(&text).unwrap();
        let counter = FaultyDisk::counting(Arc::new(MemDisk::default()));
        import.store(&counter, Path::new(FOLDER), 1).unwrap();
        let (mut stored, mut refused) = (0, 0);
        for at in 0..counter.operations() {
            for trouble in [Trouble::Cut, Trouble::Full] {
                let mem = MemDisk::default();
                let disk = FaultyDisk::new(Arc::new(mem.clone()), Fault { at, trouble });
                let done = import.store(&disk, Path::new(FOLDER), 1);
                assert!(disk.fired() > 0);
                match read_trial(&mem.after(crate::Crash::DropUnsynced), Path::new(FOLDER), &trial_id(0)) {
                    Ok(found) => {
                        assert!(done.is_ok() && found.is_sound());
                        assert_eq!(found.facts().unwrap(), facts(0, true));
                        stored += 1;
                    }
                    Err(_) => {
                        assert!(done.is_err());
                        refused += 1;
                    }
                }
            }
        }
        assert!(stored > 0 && refused > 0, "{stored} stored, {refused} refused");
    }

    #[test]
    fn what_an_exported_record_lacked_stays_said() {
        let mem = MemDisk::default();
        let disk: Arc<dyn Disk> = Arc::new(mem.clone());
        write(&disk, 0, true);
        let path = names::segment(Path::new(FOLDER), &trial_id(0), 1);
        mem.spoil(&path, |bytes| bytes[6 * 512 + 30] ^= 1).unwrap();
        let text = json_lines(&read_trial(&mem, Path::new(FOLDER), &trial_id(0)).unwrap());
        let import = Import::read(&text).unwrap();
        assert!(import.lost()[0].contains("damaged"));
        let other = MemDisk::default();
        import.store(&other, Path::new(FOLDER), 3).unwrap();
        let again = read_trial(&other, Path::new(FOLDER), &trial_id(0)).unwrap();
        let note = again.frames.last().unwrap().content().unwrap();
        assert!(matches!(note, Content::Loss(Loss::Imported { why }) if why == import.lost()));
    }

    #[test]
    fn frames_of_a_later_program_go_through() {
        let disk: Arc<dyn Disk> = Arc::new(MemDisk::default());
        write(&disk, 0, true);
        let (mut writer, _) = Writer::resume(Arc::clone(&disk), Path::new(FOLDER), &trial_id(0), 2).unwrap();
        writer.append(Kind::Unknown(200), &[0, 255, 16]).unwrap();
        writer.commit().unwrap();
        let text = json_lines(&read_trial(&*disk, Path::new(FOLDER), &trial_id(0)).unwrap());
        assert!(text.contains(r#"{"unknown":{"kind":200,"hex":"00ff10"}}"#));
        let other = MemDisk::default();
        Import::read(&text).unwrap().store(&other, Path::new(FOLDER), 3).unwrap();
        let again = read_trial(&other, Path::new(FOLDER), &trial_id(0)).unwrap();
        assert_eq!(contents(&again).last(), Some(&Content::Unknown(200, vec![0, 255, 16])));
    }

    fn record() -> TrialRecord {
        let entries: Vec<_> = facts(0, true).into_iter().map(|fact| fact.entry).collect();
        TrialRecord::of(&entries).unwrap()
    }

    fn table(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> String {
        let mut out = Vec::new();
        write(&mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn the_tables_say_what_the_record_says() {
        let steps = table(|out| steps_csv(&record(), out));
        let row = steps.lines().nth(1).unwrap();
        assert_eq!(
            row,
            "20261125-1400-loin-a,tern-lane-loin,9f2c,base,loin.roast,0.000,60.000,2880.000,3000.000,2820.000,-180.000,\
             look_done,between,2400.000,2820.000,,58.5000,2,"
        );
        let looks = table(|out| looks_csv(&record(), out));
        assert_eq!(
            looks.lines().nth(1).unwrap(),
            "20261125-1400-loin-a,tern-lane-loin,base,loin.roast,1,2460.000,2400.000,not_yet,55.0625"
        );
        let samples = table(|out| readings_csv(&record(), &readings(), out));
        assert_eq!(samples.lines().count(), 1 + 280);
        assert_eq!(samples.lines().nth(101).unwrap(), "20261125-1400-loin-a,core,100.000,,unplugged");
        assert_eq!(samples.lines().nth(2).unwrap(), "20261125-1400-loin-a,core,1.000,6.0625,");
    }
}
