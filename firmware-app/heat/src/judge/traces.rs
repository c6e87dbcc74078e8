//! Curves to be judged: read from files, or simulated.

use std::{collections::BTreeMap, fs::File, io::Read, path::Path};

use doneness::{Appliance, Change, History, Job};
use quantities::{Celsius, RunTime};
use serde::Deserialize;
use thiserror::Error;

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
    /// A row is not of the form.
    #[error("expected rows of id, time_s, core_c, air_c in {file}, found: {found}")]
    Row {
        /// The file.
        file: String,
        /// What stands there.
        found: String,
    },
    /// The description is not of the form.
    #[error("expected a list of curve records in {file}, found: {source}")]
    Meta {
        /// The file.
        file: String,
        /// What the reader says.
        source: serde_json::Error,
    },
    /// There is nothing to judge.
    #[error("expected curves with a record of the same id, found none")]
    Nothing,
}

/// One record of the description; what is not named here is not looked at.
#[derive(Clone, Debug, Deserialize)]
pub(super) struct Record {
    pub(super) id: String,
    pub(super) family: String,
    pub(super) target_c: f64,
    pub(super) t_target_s: Option<f64>,
    pub(super) t_target_m5_s: Option<f64>,
    pub(super) pull_in_trace_s: Option<f64>,
    pub(super) appliance: Option<String>,
    pub(super) oven_set: Option<f64>,
    pub(super) bath_set: Option<f64>,
    pub(super) duty: Option<f64>,
    #[serde(default, deserialize_with = "or_nothing")]
    pub(super) flips_s: Vec<f64>,
    /// Moment and dial of each declared change; in another form it is not told.
    #[serde(default, deserialize_with = "or_nothing")]
    pub(super) oven_steps: Vec<(f64, f64)>,
    #[serde(default, deserialize_with = "or_nothing")]
    pub(super) pulls: Vec<Pull>,
    #[serde(default, deserialize_with = "or_nothing")]
    pub(super) foil: bool,
    /// Changes of another kind that were told; only simulated cooks have them.
    #[serde(skip)]
    pub(super) other: Vec<f64>,
}

#[derive(Clone, Copy, Debug, Deserialize)]
pub(super) struct Pull {
    pub(super) pull_t_s: f64,
    pub(super) peak_c: f64,
    pub(super) peak_after_s: f64,
}

/// A curve with its record.
#[derive(Clone, Debug)]
pub struct Trace {
    pub(super) record: Record,
    pub(super) rows: Vec<(f64, f64, Option<f64>)>,
}

/// A field that other programmes write in other forms, or as null, counts as not there.
fn or_nothing<'de, T: Default + serde::de::DeserializeOwned, D: serde::Deserializer<'de>>(
    from: D,
) -> Result<T, D::Error> {
    let value = serde_json::Value::deserialize(from)?;
    Ok(serde_json::from_value(value).unwrap_or_default())
}

fn bytes(path: &Path) -> Result<Vec<u8>, JudgeError> {
    let fail = |source| JudgeError::Read { file: path.display().to_string(), source };
    let file = File::open(path).map_err(fail)?;
    let mut bytes = Vec::new();
    if path.extension().is_some_and(|end| end == "gz") {
        flate2::read::MultiGzDecoder::new(file).read_to_end(&mut bytes).map_err(fail)?;
    } else {
        (&file).read_to_end(&mut bytes).map_err(fail)?;
    }
    Ok(bytes)
}

/// Reads curves, their records and, if given, true rest curves, whose peaks then count instead of the records'.
pub fn read(curves: &Path, meta: &Path, rests: Option<&Path>) -> Result<Vec<Trace>, JudgeError> {
    let records: Vec<Record> = serde_json::from_slice(&bytes(meta)?)
        .map_err(|source| JudgeError::Meta { file: meta.display().to_string(), source })?;
    let mut traces: BTreeMap<String, Trace> =
        records.into_iter().map(|record| (record.id.clone(), Trace { record, rows: Vec::new() })).collect();
    each_row(curves, &mut |row| {
        let (t, core) = (row.get(1)?.parse().ok()?, row.get(2)?);
        let air = row.get(3).and_then(|air| air.parse().ok());
        if let (Some(trace), Ok(core)) = (traces.get_mut(row.get(0)?), core.parse()) {
            trace.rows.push((t, core, air));
        }
        Some(())
    })?;
    if let Some(rests) = rests {
        let mut peaks: BTreeMap<(String, u64), (f64, f64)> = BTreeMap::new();
        each_row(rests, &mut |row| {
            let (pull, since): (f64, f64) = (row.get(1)?.parse().ok()?, row.get(2)?.parse().ok()?);
            let tip: f64 = row.get(3)?.parse().ok()?;
            let peak = peaks.entry((row.get(0)?.to_owned(), pull as u64)).or_insert((tip, since));
            if tip > peak.0 {
                *peak = (tip, since);
            }
            Some(())
        })?;
        for trace in traces.values_mut() {
            for pull in &mut trace.record.pulls {
                if let Some((peak, after)) = peaks.get(&(trace.record.id.clone(), pull.pull_t_s as u64)) {
                    (pull.peak_c, pull.peak_after_s) = (*peak, *after);
                }
            }
        }
    }
    let traces: Vec<Trace> = traces.into_values().filter(|trace| trace.rows.len() > 30).collect();
    if traces.is_empty() { Err(JudgeError::Nothing) } else { Ok(traces) }
}

/// Makes curves of simulated cooks with targets that they reach; for choosing how models and bank are mixed, on cooks that
/// neither has seen.
pub fn simulated(seed: u64, cooks: u64) -> Vec<Trace> {
    let traces = each(cooks, |item| {
        let (family, cooked) = family::cooked(seed, item);
        let mut chance = Chance::of(!seed, item);
        let probe = Probe::drawn(&mut chance);
        let target_c = libm::round(chance.between(44.0, 80.0));
        let t_target_s = cooked.reaches(target_c)?;
        let at = |pick: fn(&Change) -> bool| {
            cooked.told.iter().filter(move |(_, change)| pick(change)).map(|(at, _)| *at).collect::<Vec<f64>>()
        };
        let dial = |(at, change): &(f64, Change)| match change {
            Change::Dial(to) => Some((*at, f64::from(*to))),
            Change::Turned | Change::Other => None,
        };
        let pulled: Vec<&Rested> = cooked.rests.iter().filter(|rest| rest.at <= t_target_s).collect();
        let record = Record {
            id: format!("S{item:05}"),
            family: format!("{family:?}"),
            target_c,
            t_target_s: Some(t_target_s),
            t_target_m5_s: cooked.reaches(target_c - 5.0),
            pull_in_trace_s: Some(t_target_s),
            appliance: Some(
                match cooked.appliance {
                    Appliance::Oven => "oven",
                    Appliance::Pan => "pan",
                    Appliance::Microwave => "microwave",
                }
                .to_owned(),
            ),
            oven_set: cooked.setting,
            bath_set: None,
            duty: None,
            flips_s: at(|change| *change == Change::Turned),
            oven_steps: cooked.told.iter().filter_map(dial).collect(),
            other: at(|change| *change == Change::Other),
            pulls: pulled
                .iter()
                .map(|rest| Pull { pull_t_s: rest.at, peak_c: rest.peak, peak_after_s: rest.after })
                .collect(),
            foil: cooked.rests.first().is_some_and(|rest| rest.tented),
        };
        let rows: Vec<(f64, f64, Option<f64>)> = probe
            .read(&cooked, chance)
            .take_while(|second| second.t <= t_target_s + 30.0)
            .map(|second| (second.t, second.core, second.air))
            .collect();
        (rows.len() > 60).then_some(Trace { record, rows })
    });
    traces.into_iter().flatten().collect()
}

fn each_row(path: &Path, take: &mut dyn FnMut(&csv::StringRecord) -> Option<()>) -> Result<(), JudgeError> {
    let wrong = |found: String| JudgeError::Row { file: path.display().to_string(), found };
    let bytes = bytes(path)?;
    let mut rows = csv::Reader::from_reader(bytes.as_slice());
    let mut row = csv::StringRecord::new();
    while rows.read_record(&mut row).map_err(|error| wrong(error.to_string()))? {
        take(&row).ok_or_else(|| wrong(format!("{row:?}")))?;
    }
    Ok(())
}

impl Record {
    pub(super) fn appliance(&self) -> Appliance {
        let named = self.appliance.as_deref().unwrap_or(&self.family);
        let starts = |with: &[&str]| with.iter().any(|with| named.starts_with(with));
        let dial = self.oven_set.is_some() || self.bath_set.is_some();
        if self.duty.is_some() || starts(&["mw", "micro"]) {
            Appliance::Microwave
        } else if !dial && !starts(&["oven", "bath"]) && (starts(&["pan"]) || !self.flips_s.is_empty()) {
            Appliance::Pan
        } else {
            Appliance::Oven
        }
    }

    /// What is told to the station, by its time.
    pub(super) fn told(&self) -> Vec<(f64, Change)> {
        let mut told: Vec<(f64, Change)> = self.flips_s.iter().map(|at| (*at, Change::Turned)).collect();
        told.extend(self.oven_steps.iter().map(|(at, to)| (*at, Change::Dial(*to as f32))));
        told.extend(self.other.iter().map(|at| (*at, Change::Other)));
        told.sort_by(|a, b| a.0.total_cmp(&b.0));
        told
    }

    pub(super) fn job(&self, history: Option<History>) -> Job {
        Job {
            appliance: self.appliance(),
            target: celsius(self.target_c),
            dial: self.oven_set.or(self.bath_set).and_then(Celsius::from_degrees),
            history,
        }
    }
}

pub(super) fn celsius(degrees: f64) -> Celsius {
    Celsius::from_degrees(degrees).unwrap_or(Celsius::ABSOLUTE_ZERO)
}

pub(super) fn moment(seconds: f64) -> RunTime {
    RunTime::from_millis((seconds * 1000.0) as u64)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn record(more: &str) -> Record {
        let text = format!("{{\"id\": \"A\", \"family\": \"x\", \"target_c\": 60.0{more}}}");
        serde_json::from_str(&text).unwrap()
    }

    #[test]
    fn the_appliance_follows_from_what_is_set() {
        assert_eq!(record(", \"oven_set\": 180.0, \"flips_s\": [60.0]").appliance(), Appliance::Oven);
        assert_eq!(record(", \"duty\": 0.5").appliance(), Appliance::Microwave);
        assert_eq!(record(", \"flips_s\": [60.0]").appliance(), Appliance::Pan);
        assert_eq!(record(", \"appliance\": \"pan\"").appliance(), Appliance::Pan);
        assert_eq!(record("").appliance(), Appliance::Oven);
    }

    #[test]
    fn turns_and_dials_are_told_in_order_and_odd_forms_are_not_told() {
        let told = record(", \"flips_s\": [90.0], \"oven_steps\": [[30.0, 120.0]]").told();
        assert_eq!(told, [(30.0, Change::Dial(120.0)), (90.0, Change::Turned)]);
        assert_eq!(record(", \"flips_s\": null, \"oven_steps\": {\"at\": 3}").told(), []);
    }
}
