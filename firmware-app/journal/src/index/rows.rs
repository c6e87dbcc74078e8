use quantities::{Celsius, RunTime, Span};
use rusqlite::Row;
use serde::{Serialize, de::DeserializeOwned};
use trial::{AlertKind, AlertSlot, DoneTime, EarlyReason, EndCause, Priority, TrialId, Verdict};

use crate::words::from_word;

/// A trial in a list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TrialRow {
    /// Its id.
    pub trial: TrialId,
    /// The recipe.
    pub recipe: String,
    /// Its title.
    pub title: String,
    /// The hash of the recipe's meaning.
    pub version: String,
    /// The variant cooked.
    pub variant: String,
    /// Who cooked.
    pub cook: Option<String>,
    /// Where.
    pub kitchen: Option<String>,
    /// When it was opened, in milliseconds since 1970 in universal time.
    pub opened_wall_ms: i64,
    /// Whether the wall clock was known to be right then.
    pub opened_synced: bool,
    /// When it was opened, as a moment of the run.
    pub opened: RunTime,
    /// How long it took; nothing while it is open.
    pub took: Option<Span>,
    /// Whether it is still open.
    pub status: Status,
    /// How it ended.
    pub outcome: Option<Outcome>,
    /// What is missing from its record, in words; empty in a sound one.
    pub lost: Vec<String>,
}

/// Whether a trial is still open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// It runs, or the power went while it ran.
    Open,
    /// It was closed.
    Closed,
}

/// How a trial ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// All stages were gone through.
    Finished,
    /// It was given up.
    GivenUp,
}

/// One run of a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StepRow {
    /// Which step.
    pub step: String,
    /// When it was to begin.
    pub planned_begin: Option<RunTime>,
    /// Its planned length.
    pub planned: Span,
    /// When it began.
    pub began: RunTime,
    /// When it ended.
    pub ended: Option<RunTime>,
    /// How long it ran.
    pub ran: Option<Span>,
    /// What ended it.
    pub cause: Option<EndCause>,
    /// When it was truly done.
    pub done: Option<DoneTime>,
    /// The core at the end.
    pub core_celsius: Option<Celsius>,
}

/// One look.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LookRow {
    /// At which step.
    pub step: String,
    /// When.
    pub at: RunTime,
    /// What it said.
    pub verdict: Verdict,
    /// The core then.
    pub core_celsius: Option<Celsius>,
}

/// One alert.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AlertRow {
    /// In which stage.
    pub stage: String,
    /// Which of its alerts.
    pub slot: AlertSlot,
    /// About what.
    pub kind: AlertKind,
    /// How urgent.
    pub priority: Priority,
    /// When it was raised.
    pub raised: RunTime,
    /// When the cook silenced it.
    pub acknowledged: Option<RunTime>,
}

/// One probe's readings in a trial.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReadingsRow {
    /// Which probe.
    pub probe: String,
    /// The first sample.
    pub first: RunTime,
    /// The last.
    pub last: RunTime,
    /// How many samples.
    pub samples: u64,
    /// How many of them without a temperature.
    pub no_readings: u64,
    /// How many stretches in which samples are missing.
    pub gaps: u64,
    /// The lowest temperature.
    pub low_celsius: Option<Celsius>,
    /// The highest.
    pub high_celsius: Option<Celsius>,
}

/// Everything the index knows of a trial.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TrialDetail {
    /// The trial.
    #[serde(flatten)]
    pub trial: TrialRow,
    /// Its steps in the order in which they began.
    pub steps: Vec<StepRow>,
    /// Its looks in order of time within each step.
    pub looks: Vec<LookRow>,
    /// Its alerts in the order in which they were raised.
    pub alerts: Vec<AlertRow>,
    /// Its probes by name.
    pub readings: Vec<ReadingsRow>,
}

type DoneColumns = (Option<&'static str>, Option<RunTime>, Option<RunTime>, Option<EarlyReason>);

/// A done time as its kind, "not before", "not after" and reason; an exact one has the same moment in both.
pub(crate) fn done_columns(done: DoneTime) -> DoneColumns {
    match done {
        DoneTime::Exact { at } => (Some("exact"), Some(at), Some(at), None),
        DoneTime::Between { after, by } => (Some("between"), Some(after), Some(by), None),
        DoneTime::Before { by } => (Some("before"), None, Some(by), None),
        DoneTime::After { after, reason } => (Some("after"), Some(after), None, Some(reason)),
        DoneTime::Timed => (Some("timed"), None, None, None),
    }
}

pub(crate) fn done_from(columns: (&str, Option<RunTime>, Option<RunTime>, Option<EarlyReason>)) -> Option<DoneTime> {
    Some(match columns {
        ("exact", Some(at), Some(_), None) => DoneTime::Exact { at },
        ("between", Some(after), Some(by), None) => DoneTime::Between { after, by },
        ("before", None, Some(by), None) => DoneTime::Before { by },
        ("after", Some(after), None, Some(reason)) => DoneTime::After { after, reason },
        ("timed", None, None, None) => DoneTime::Timed,
        _ => return None,
    })
}

pub(crate) fn trial_row(row: &Row<'_>) -> rusqlite::Result<TrialRow> {
    let lost: String = row.get(13)?;
    Ok(TrialRow {
        trial: TrialId::new(&row.get::<_, String>(0)?).ok_or_else(|| unreadable(0))?,
        recipe: row.get(1)?,
        title: row.get(2)?,
        version: row.get(3)?,
        variant: row.get(4)?,
        cook: row.get(5)?,
        kitchen: row.get(6)?,
        opened_wall_ms: row.get(7)?,
        opened_synced: row.get(8)?,
        opened: moment_at(row, 9)?.ok_or_else(|| unreadable(9))?,
        took: length_at(row, 10)?,
        status: word_at(row, 11)?.ok_or_else(|| unreadable(11))?,
        outcome: word_at(row, 12)?,
        lost: serde_json::from_str(&lost).map_err(|_| unreadable(13))?,
    })
}

pub(crate) fn step_row(row: &Row<'_>) -> rusqlite::Result<StepRow> {
    let kind: Option<String> = row.get(9)?;
    let (after, by, reason) = (moment_at(row, 10)?, moment_at(row, 11)?, word_at(row, 12)?);
    let done = kind.map(|kind| done_from((&kind, after, by, reason)).ok_or_else(|| unreadable(9)));
    Ok(StepRow {
        step: row.get(2)?,
        planned_begin: moment_at(row, 3)?,
        planned: length_at(row, 4)?.ok_or_else(|| unreadable(4))?,
        began: moment_at(row, 5)?.ok_or_else(|| unreadable(5))?,
        ended: moment_at(row, 6)?,
        ran: length_at(row, 7)?,
        cause: word_at(row, 8)?,
        done: done.transpose()?,
        core_celsius: celsius_at(row, 13)?,
    })
}

pub(crate) fn look_row(row: &Row<'_>) -> rusqlite::Result<LookRow> {
    Ok(LookRow {
        step: row.get(3)?,
        at: moment_at(row, 4)?.ok_or_else(|| unreadable(4))?,
        verdict: word_at(row, 5)?.ok_or_else(|| unreadable(5))?,
        core_celsius: celsius_at(row, 6)?,
    })
}

pub(crate) fn alert_row(row: &Row<'_>) -> rusqlite::Result<AlertRow> {
    Ok(AlertRow {
        stage: row.get(2)?,
        slot: word_at(row, 3)?.ok_or_else(|| unreadable(3))?,
        kind: word_at(row, 4)?.ok_or_else(|| unreadable(4))?,
        priority: word_at(row, 5)?.ok_or_else(|| unreadable(5))?,
        raised: moment_at(row, 6)?.ok_or_else(|| unreadable(6))?,
        acknowledged: moment_at(row, 7)?,
    })
}

pub(crate) fn readings_row(row: &Row<'_>) -> rusqlite::Result<ReadingsRow> {
    Ok(ReadingsRow {
        probe: row.get(1)?,
        first: moment_at(row, 2)?.ok_or_else(|| unreadable(2))?,
        last: moment_at(row, 3)?.ok_or_else(|| unreadable(3))?,
        samples: row.get::<_, i64>(4)?.unsigned_abs(),
        no_readings: row.get::<_, i64>(5)?.unsigned_abs(),
        gaps: row.get::<_, i64>(6)?.unsigned_abs(),
        low_celsius: celsius_at(row, 7)?,
        high_celsius: celsius_at(row, 8)?,
    })
}

pub(crate) fn moment(at: RunTime) -> i64 {
    at.millis().min(i64::MAX as u64) as i64
}

pub(crate) fn length(span: Span) -> i64 {
    span.millis().min(i64::MAX as u64) as i64
}

fn moment_at(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<RunTime>> {
    Ok(length_at(row, column)?.map(RunTime::from_start))
}

fn length_at(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<Span>> {
    let millis: Option<i64> = row.get(column)?;
    millis.map(|millis| u64::try_from(millis).map(Span::from_millis).map_err(|_| unreadable(column))).transpose()
}

fn celsius_at(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<Celsius>> {
    let raw: Option<i32> = row.get(column)?;
    raw.map(|raw| Celsius::from_ten_thousandths(raw).ok_or_else(|| unreadable(column))).transpose()
}

fn word_at<T: DeserializeOwned>(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<T>> {
    let text: Option<String> = row.get(column)?;
    text.map(|text| from_word(&text).ok_or_else(|| unreadable(column))).transpose()
}

fn unreadable(column: usize) -> rusqlite::Error {
    let why = "expected a value that this program writes, found another";
    rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, why.into())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_kind_of_done_time_reads_back() {
        let at = RunTime::from_millis;
        for done in [
            DoneTime::Exact { at: at(5) },
            DoneTime::Between { after: at(5), by: at(7) },
            DoneTime::Before { by: at(7) },
            DoneTime::After { after: at(5), reason: EarlyReason::PowerCut },
            DoneTime::Timed,
        ] {
            let (kind, after, by, reason) = done_columns(done);
            assert_eq!(done_from((kind.unwrap(), after, by, reason)), Some(done));
        }
    }
}
