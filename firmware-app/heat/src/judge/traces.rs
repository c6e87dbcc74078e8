//! Curves to be judged: read from files, or simulated.

use std::{collections::BTreeMap, fs::File, io::Read, path::Path};

use doneness::{Appliance, Change};
use serde_json::Value;
use thiserror::Error;

use super::record::{Notes, Place, Pull, Record, Truth};
use crate::{chance::Chance, cook::Rested, family, packing::each, probe::Probe};

/// Why curves cannot be judged.
#[derive(Debug, Error)]
pub enum JudgeError {
    /// A file cannot be read.
    #[error("expected to read {file}, found: {source}")]
    Read {
        /// The file.
        file: String,
        /// What the system says.
        source: std::io::Error,
    },
    /// A table has other columns.
    #[error("expected a table with the columns {columns} in {file}, found {found}")]
    Columns {
        /// The file.
        file: String,
        /// The columns it needs.
        columns: String,
        /// Its first line.
        found: String,
    },
    /// A row is not of the form.
    #[error("expected rows of {columns} as numbers in {file}, found in line {line}: {found}")]
    Row {
        /// The file.
        file: String,
        /// The columns it needs.
        columns: String,
        /// The line.
        line: u64,
        /// What stands there.
        found: String,
    },
    /// The description is not JSON.
    #[error("expected a list of curve records as JSON in {file}, found: {source}")]
    Meta {
        /// The file.
        file: String,
        /// What the reader says.
        source: serde_json::Error,
    },
    /// The description is JSON of another form.
    #[error("expected a list of curve records with id, family, target_c and t_target_s in {file}, found {found}")]
    Records {
        /// The file.
        file: String,
        /// What there is.
        found: String,
    },
    /// There is nothing to judge.
    #[error(
        "expected curves of more than 30 readings with a record of the same id, found {curves} curves and {records} records, none of which belong together"
    )]
    Nothing {
        /// Curves that were read.
        curves: usize,
        /// Records that were read.
        records: usize,
    },
    /// No true time is known.
    #[error("expected t_target_s, the true time to the target, in at least one record, found none in {0}")]
    NoTruth(usize),
}

/// Curves with their records, and what was left out of the files.
#[derive(Clone, Debug, Default)]
pub struct Curves {
    /// The curves, by their id.
    pub traces: Vec<Trace>,
    /// What was not used, for people: a line each.
    pub notes: Vec<String>,
}

/// A curve with its record.
#[derive(Clone, Debug)]
pub struct Trace {
    pub(super) record: Record,
    /// Seconds, the core if it was read, the air if it was.
    pub(super) rows: Vec<Row>,
}

pub(super) type Row = (f64, Option<f64>, Option<f64>);

/// A curve of fewer readings is left out.
const FEWEST: usize = 30;
/// Readings of a probe that can be meant, °C.
const PROBE: core::ops::RangeInclusive<f64> = -60.0..=150.0;
const AIR: core::ops::RangeInclusive<f64> = -60.0..=600.0;

/// Reads curves, their records and, if given, true rest curves, whose peaks then count instead of the records'.
///
/// Files may be packed with gzip or plain. Rows of one curve may stand anywhere; columns are found by their names.
pub fn read(curves: &Path, meta: &Path, rests: Option<&Path>) -> Result<Curves, JudgeError> {
    let mut notes = Notes::new();
    let mut records = records(meta, &mut notes)?;
    let count = records.len();
    let mut rows = rows(curves, &mut notes)?;
    let lengths = rows.len();
    if let Some(rests) = rests {
        put_peaks(&mut records, peaks(rests)?, &mut notes);
    }
    let mut traces = Vec::new();
    for (id, record) in records {
        match rows.remove(&id) {
            Some(rows) if rows.iter().filter(|row| row.1.is_some()).count() > FEWEST => {
                traces.push(Trace { record, rows });
            }
            Some(_) => note(&mut notes, "curves of 30 readings or fewer: left out", id),
            None => note(&mut notes, "records without a curve: left out", id),
        }
    }
    for id in rows.into_keys() {
        note(&mut notes, "curves without a record: left out", id);
    }
    if traces.is_empty() {
        return Err(JudgeError::Nothing { curves: lengths, records: count });
    }
    if !traces.iter().any(|trace| matches!(trace.record.truth, Truth::At(_))) {
        return Err(JudgeError::NoTruth(traces.len()));
    }
    Ok(Curves { traces, notes: notes.into_iter().map(told).collect() })
}

fn note(notes: &mut Notes, what: &str, id: String) {
    notes.entry(what.to_owned()).or_default().push(id);
}

/// A note as a line: how many, what, and which ones.
fn told((what, mut ids): (String, Vec<String>)) -> String {
    let count = ids.len();
    ids.truncate(6);
    let more = if count > ids.len() { ", ..." } else { "" };
    format!("{count} x {what} ({}{more})", ids.join(", "))
}

/// The bytes of a file, unpacked if it is packed, whatever its name.
fn bytes(path: &Path) -> Result<Vec<u8>, JudgeError> {
    let fail = |source| JudgeError::Read { file: path.display().to_string(), source };
    let mut bytes = Vec::new();
    File::open(path).and_then(|mut file| file.read_to_end(&mut bytes)).map_err(fail)?;
    if bytes.starts_with(&[0x1f, 0x8b]) {
        let mut plain = Vec::new();
        flate2::read::MultiGzDecoder::new(bytes.as_slice()).read_to_end(&mut plain).map_err(fail)?;
        return Ok(plain);
    }
    Ok(bytes)
}

/// Records by their id: a list, a list under any one name, or an object by ids.
fn records(path: &Path, notes: &mut Notes) -> Result<BTreeMap<String, Record>, JudgeError> {
    let file = || path.display().to_string();
    let value: Value =
        serde_json::from_slice(&bytes(path)?).map_err(|source| JudgeError::Meta { file: file(), source })?;
    let listed: Vec<(Option<&str>, &Value)> = match &value {
        Value::Array(list) => list.iter().map(|one| (None, one)).collect(),
        Value::Object(map) => match map.values().find_map(Value::as_array) {
            Some(list) => list.iter().map(|one| (None, one)).collect(),
            None => map.iter().map(|(id, one)| (Some(id.as_str()), one)).collect(),
        },
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => Vec::new(),
    };
    let mut records = BTreeMap::new();
    let mut why = "none";
    for (i, (name, one)) in listed.iter().enumerate() {
        match Record::read(one, *name, notes) {
            Ok(record) => {
                if let Some(twice) = records.insert(record.id.clone(), record) {
                    note(notes, "records whose id comes again: the last counts", twice.id);
                }
            }
            Err(found) => {
                why = found;
                note(notes, &format!("a record that {found}: left out"), format!("number {}", i + 1));
            }
        }
    }
    if records.is_empty() {
        let found = match listed.len() {
            0 => "no record".to_owned(),
            count => format!("{count} records, none of them usable: the last {why}"),
        };
        return Err(JudgeError::Records { file: file(), found });
    }
    Ok(records)
}

/// A table whose columns are found by name.
struct Table {
    file: String,
    bytes: Vec<u8>,
    columns: &'static [&'static [&'static str]],
}

impl Table {
    fn open(path: &Path, columns: &'static [&'static [&'static str]]) -> Result<Self, JudgeError> {
        Ok(Self { file: path.display().to_string(), bytes: bytes(path)?, columns })
    }

    fn names(&self) -> String {
        self.columns.iter().filter_map(|names| names.first()).copied().collect::<Vec<_>>().join(", ")
    }

    /// Gives the wanted cells of each row, and how many rows were not taken; an optional column at the end that is not
    /// there is an empty cell. More than one row in a hundred that is not taken is an error.
    fn each(&self, optional: usize, take: &mut dyn FnMut(&[&str]) -> Option<()>) -> Result<usize, JudgeError> {
        let mut reader =
            csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(self.bytes.as_slice());
        let odd = |line: u64, found: String| JudgeError::Row {
            file: self.file.clone(),
            columns: self.names(),
            line,
            found: short(&found),
        };
        let other = |found: String| JudgeError::Columns { file: self.file.clone(), columns: self.names(), found };
        let header = match reader.headers() {
            Ok(header) => header.clone(),
            Err(error) => return Err(other(format!("no text: {error}"))),
        };
        let places: Vec<Option<usize>> = self
            .columns
            .iter()
            .map(|names| header.iter().position(|column| names.iter().any(|name| column.eq_ignore_ascii_case(name))))
            .collect();
        if places.iter().take(places.len() - optional).any(Option::is_none) {
            return Err(other(format!("{:?}", short(&header.iter().collect::<Vec<_>>().join(",")))));
        }
        let mut row = csv::StringRecord::new();
        let (mut read, mut bad, mut first) = (0_usize, 0_usize, None);
        loop {
            match reader.read_record(&mut row) {
                Ok(true) => {
                    let cells: Vec<&str> =
                        places.iter().map(|place| place.and_then(|place| row.get(place)).unwrap_or("")).collect();
                    let line = row.position().map_or(0, csv::Position::line);
                    read += 1;
                    if take(&cells).is_none() {
                        bad += 1;
                        first.get_or_insert_with(|| odd(line, row.iter().collect::<Vec<_>>().join(",")));
                    }
                }
                // a cut line is no reason to judge nothing; a file of them is
                Ok(false) => return first.filter(|_| 100 * bad > read).map_or(Ok(bad), Err),
                Err(error) => return Err(odd(error.position().map_or(0, csv::Position::line), error.to_string())),
            }
        }
    }
}

fn short(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { '?' } else { letter }).take(80).collect()
}

fn cell(text: &str) -> Option<f64> {
    text.parse().ok().filter(|number: &f64| number.is_finite())
}

/// The readings of each curve, in the order of time.
fn rows(path: &Path, notes: &mut Notes) -> Result<BTreeMap<String, Vec<Row>>, JudgeError> {
    const COLUMNS: &[&[&str]] = &[&["id"], &["time_s", "t_s"], &["core_c"], &["air_c"]];
    let mut rows: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    let mut wild: BTreeMap<String, usize> = BTreeMap::new();
    let bad = Table::open(path, COLUMNS)?.each(1, &mut |cells| {
        let t = cell(cells[1]).filter(|t| (0.0..1e7).contains(t))?;
        let core = cell(cells[2]).filter(|core| PROBE.contains(core));
        // an empty cell is a reading that did not come
        if core.is_none() && !matches!(cells[2].to_lowercase().as_str(), "" | "nan" | "null" | "none") {
            *wild.entry(cells[0].to_owned()).or_default() += 1;
        }
        let air = cell(cells[3]).filter(|air| AIR.contains(air));
        match rows.get_mut(cells[0]) {
            Some(rows) => rows.push((t, core, air)),
            None => {
                rows.insert(cells[0].to_owned(), vec![(t, core, air)]);
            }
        }
        Some(())
    })?;
    if bad > 0 {
        note(notes, "file with rows that are no numbers: left out", format!("{}: {bad} rows", path.display()));
    }
    for (id, count) in wild {
        note(
            notes,
            "curves with a core that is no temperature from -60 to 150: not given",
            format!("{id}: {count} rows"),
        );
    }
    for rows in rows.values_mut() {
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        rows.dedup_by(|b, a| a.0 == b.0);
    }
    Ok(rows)
}

/// By curve and second of the pull: the peak of its rest, and when it came.
type Peaks = BTreeMap<(String, i64), (f64, f64)>;

fn peaks(path: &Path) -> Result<Peaks, JudgeError> {
    const COLUMNS: &[&[&str]] = &[&["id"], &["pull_t_s"], &["since_pull_s"], &["tip_c"]];
    let mut peaks = Peaks::new();
    Table::open(path, COLUMNS)?.each(0, &mut |cells| {
        let (pull, since, tip) = (cell(cells[1])?, cell(cells[2])?, cell(cells[3])?);
        let peak = peaks.entry((cells[0].to_owned(), libm::round(pull) as i64)).or_insert((tip, since));
        if tip > peak.0 {
            *peak = (tip, since);
        }
        Some(())
    })?;
    Ok(peaks)
}

fn put_peaks(records: &mut BTreeMap<String, Record>, peaks: Peaks, notes: &mut Notes) {
    for ((id, second), (peak, after)) in peaks {
        let Some(record) = records.get_mut(&id) else {
            note(notes, "rests without a record: left out", format!("{id} at {second} s"));
            continue;
        };
        match record.pulls.iter_mut().find(|pull| (pull.at - second as f64).abs() <= 1.0) {
            Some(pull) => (pull.peak, pull.after) = (peak, Some(after)),
            None => record.pulls.push(Pull { at: second as f64, peak, after: Some(after) }),
        }
        record.pulls.sort_by(|a, b| a.at.total_cmp(&b.at));
    }
}

/// Makes curves of simulated cooks with targets that they reach; for choosing how models and bank are mixed, on cooks that
/// neither has seen.
pub fn simulated(seed: u64, cooks: u64) -> Vec<Trace> {
    let traces = each(cooks, |item| {
        let (family, cooked) = family::cooked(seed, item);
        let mut chance = Chance::of(!seed, item);
        let probe = Probe::drawn(&mut chance);
        let target_c = libm::round(chance.between(44.0, 80.0));
        let end = cooked.reaches(target_c)?;
        let pulled: Vec<&Rested> = cooked.rests.iter().filter(|rest| rest.at <= end).collect();
        let mut told: Vec<(f64, Change)> = cooked.told.clone();
        told.sort_by(|a, b| a.0.total_cmp(&b.0));
        let record = Record {
            id: format!("S{item:05}"),
            family: format!("{family:?}"),
            place: match cooked.appliance {
                Appliance::Oven => Place::Oven,
                Appliance::Pan => Place::Pan,
                Appliance::Microwave => Place::Microwave,
            },
            target_c,
            truth: Truth::At(end),
            known: cooked
                .reaches(target_c - 5.0)
                .map(|five| vec![(five, target_c - 5.0), (end, target_c)])
                .unwrap_or_default(),
            pulled: Some(end),
            dial: cooked.setting,
            told,
            pulls: pulled.iter().map(|rest| Pull { at: rest.at, peak: rest.peak, after: Some(rest.after) }).collect(),
            foil: cooked.rests.first().is_some_and(|rest| rest.tented),
        };
        let rows: Vec<Row> = probe
            .read(&cooked, chance)
            .take_while(|second| second.t <= end + 30.0)
            .map(|second| (second.t, Some(second.core), second.air))
            .collect();
        (rows.len() > 60).then_some(Trace { record, rows })
    });
    traces.into_iter().flatten().collect()
}
