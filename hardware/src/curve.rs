//! A recorded curve as a probe.
//!
//! A curve file is CSV with a header that has the columns `time_s` and `core_c`, in any order and among others; lines
//! that begin with `#` are comments. An empty `core_c` is a moment without a reading.

use std::collections::BTreeMap;

use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};

use crate::{PlacedReading, ProbeId, ProbeInfo, ProbeKind, Probes};

/// Why a text is not a curve.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CurveFault {
    /// The header lacks a column.
    #[error("line {line}: expected a header with the columns time_s and core_c, found {found:?}")]
    Header {
        /// Where the header is.
        line: u64,
        /// The header.
        found: String,
    },
    /// A line cannot be split into fields.
    #[error("line {line}: expected fields separated by commas: {found}")]
    Line {
        /// Where it is.
        line: u64,
        /// What the reader says.
        found: String,
    },
    /// A time is missing, not a number, or negative.
    #[error("line {line}: expected a time in seconds from 0, found {found:?}")]
    Time {
        /// Where it is.
        line: u64,
        /// The field.
        found: String,
    },
    /// A time is not later than the one before.
    #[error("line {line}: expected a time after {before} s, found {found:?}")]
    Order {
        /// Where it is.
        line: u64,
        /// The time before.
        before: String,
        /// The field.
        found: String,
    },
    /// A temperature is not a number or outside the range of temperatures.
    #[error("line {line}: expected a temperature in °C or nothing, found {found:?}")]
    Temperature {
        /// Where it is.
        line: u64,
        /// The field.
        found: String,
    },
    /// There is no sample.
    #[error("expected at least one line below the header, found none")]
    Empty,
}

/// A curve: readings at rising times, never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Curve {
    samples: Vec<Sample>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Sample {
    at: RunTime,
    reading: Reading,
    line: u64,
}

impl Curve {
    /// Reads the text of a curve file, up to its first fault.
    pub fn parse(text: &str) -> Result<Self, CurveFault> {
        let mut reader =
            csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(text.as_bytes());
        let header = reader.headers().map_err(|error| line_fault(text, &error))?.clone();
        let column = |name: &str| {
            let found = header.iter().position(|field| field == name);
            found.ok_or_else(|| CurveFault::Header {
                line: line_of(text, header.position()),
                found: header.iter().collect::<Vec<_>>().join(","),
            })
        };
        let (time, core) = (column("time_s")?, column("core_c")?);
        let mut samples: Vec<Sample> = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| line_fault(text, &error))?;
            let line = line_of(text, record.position());
            let field = |n: usize| record.get(n).unwrap_or_default();
            let at = read_time(field(time), line)?;
            if let Some(before) = samples.last().filter(|before| before.at >= at) {
                return Err(CurveFault::Order {
                    line,
                    before: before.at.since_start().secs().to_string(),
                    found: field(time).to_owned(),
                });
            }
            let reading = read_temperature(field(core), line)?;
            samples.push(Sample { at, reading, line });
        }
        if samples.is_empty() {
            return Err(CurveFault::Empty);
        }
        Ok(Self { samples })
    }

    /// What the probe said at a moment after the start of the curve: the last sample not later than it.
    ///
    /// Before the first sample, and from one sample's interval after the last one, there is no answer.
    pub fn reading_at(&self, at: RunTime) -> Reading {
        self.sample_at(at).map_or(Err(NoReading::Timeout), |sample| sample.reading)
    }

    /// The time of the last sample.
    pub fn end(&self) -> RunTime {
        self.samples.last().map_or(RunTime::START, |sample| sample.at)
    }

    fn sample_at(&self, at: RunTime) -> Option<&Sample> {
        let after = self.samples.partition_point(|sample| sample.at <= at);
        let sample = self.samples.get(after.checked_sub(1)?)?;
        (after < self.samples.len() || at <= sample.at + self.last_interval()).then_some(sample)
    }

    fn last_interval(&self) -> Span {
        match self.samples.as_slice() {
            [.., before, last] => last.at.since(before.at),
            [_] | [] => Span::from_secs(1),
        }
    }
}

/// Curves played as probes.
#[derive(Clone, Debug, Default)]
pub struct CurveProbes {
    now: RunTime,
    played: BTreeMap<ProbeId, (Curve, RunTime)>,
}

impl CurveProbes {
    /// No curve yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Plays a curve under this name from a moment of the run on; a curve of the same name is replaced.
    pub fn play(&mut self, id: ProbeId, curve: Curve, from: RunTime) {
        self.played.insert(id, (curve, from));
    }
}

impl Probes for CurveProbes {
    fn list(&mut self) -> Vec<ProbeInfo> {
        let ids = self.played.keys();
        ids.map(|id| ProbeInfo {
            id: id.clone(),
            kind: ProbeKind::Recorded,
            resolution: CelsiusStep::from_degrees(0.0001).unwrap_or(CelsiusStep::ZERO),
            conversion: Span::ZERO,
        })
        .collect()
    }

    fn read(&mut self, id: &ProbeId) -> PlacedReading {
        let Some((curve, from)) = self.played.get(id) else {
            return PlacedReading::none(NoReading::Unplugged, format!("no curve is played as {id}"));
        };
        let sample = (self.now >= *from).then(|| curve.sample_at(RunTime::from_start(self.now.since(*from)))).flatten();
        match sample {
            Some(sample) => {
                PlacedReading { reading: sample.reading, place: format!("line {} of the curve", sample.line) }
            }
            None => PlacedReading::none(NoReading::Timeout, "outside the curve"),
        }
    }

    fn advance(&mut self, to: RunTime) {
        self.now = self.now.max(to);
    }
}

fn line_fault(text: &str, error: &csv::Error) -> CurveFault {
    CurveFault::Line { line: line_of(text, error.position()), found: error.to_string() }
}

/// The line of the first record at or after a place: the reader's place lies before the comments that it skips.
fn line_of(text: &str, place: Option<&csv::Position>) -> u64 {
    let (byte, line) = place.map_or((0, 1), |place| (place.byte(), place.line()));
    let rest = usize::try_from(byte).ok().and_then(|byte| text.get(byte..));
    let skipped = rest.unwrap_or_default().lines();
    let skipped = skipped.take_while(|line| line.is_empty() || line.starts_with('#'));
    line + skipped.count() as u64
}

fn read_time(field: &str, line: u64) -> Result<RunTime, CurveFault> {
    let longest = Span::LONGEST.secs();
    let secs = field.parse().ok().filter(|s| (0.0..=longest).contains(s));
    // rounded to the grain of a moment; a NaN is in no range
    secs.map(|secs: f64| RunTime::from_millis((secs * 1000.0).round() as u64))
        .ok_or_else(|| CurveFault::Time { line, found: field.to_owned() })
}

fn read_temperature(field: &str, line: u64) -> Result<Reading, CurveFault> {
    if field.is_empty() {
        return Ok(Err(NoReading::Unplugged));
    }
    let celsius = field.parse().ok().and_then(Celsius::from_degrees);
    celsius.map(Ok).ok_or_else(|| CurveFault::Temperature { line, found: field.to_owned() })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn at(millis: u64) -> RunTime {
        RunTime::from_millis(millis)
    }

    #[test]
    fn the_last_sample_stands_until_the_next() {
        let text = "# loin, tray 2\nair_c,core_c,time_s\n180,5.5,0\n181,,10\n# moved\n180,6,20.5\n";
        let curve = Curve::parse(text).unwrap();
        assert_eq!(curve.end(), at(20_500));
        for (millis, reading) in [
            (0, Ok(Celsius::from_degrees(5.5).unwrap())),
            (9_999, Ok(Celsius::from_degrees(5.5).unwrap())),
            (10_000, Err(NoReading::Unplugged)),
            (20_500, Ok(Celsius::whole(6))),
            (31_000, Ok(Celsius::whole(6))),
            (31_001, Err(NoReading::Timeout)),
        ] {
            assert_eq!(curve.reading_at(at(millis)), reading, "{millis} ms");
        }
    }

    #[test]
    fn a_fault_names_its_line() {
        for (text, message) in [
            ("time,core\n", "line 1: expected a header with the columns time_s and core_c, found \"time,core\""),
            ("time_s,core_c\n", "expected at least one line below the header, found none"),
            ("time_s,core_c\n0,5\n# x\nlate,6\n", "line 4: expected a time in seconds from 0, found \"late\""),
            ("time_s,core_c\n-1,5\n", "line 2: expected a time in seconds from 0, found \"-1\""),
            ("time_s,core_c\nNaN,5\n", "line 2: expected a time in seconds from 0, found \"NaN\""),
            ("time_s,core_c\n5,5\n5,6\n", "line 3: expected a time after 5 s, found \"5\""),
            ("time_s,core_c\n0,hot\n", "line 2: expected a temperature in °C or nothing, found \"hot\""),
            ("time_s,core_c\n0,-300\n", "line 2: expected a temperature in °C or nothing, found \"-300\""),
        ] {
            assert_eq!(Curve::parse(text).unwrap_err().to_string(), message);
        }
        let torn = Curve::parse("time_s,core_c\n0,5\n1\n").unwrap_err();
        assert!(matches!(torn, CurveFault::Line { line: 3, .. }), "{torn}");
    }

    #[test]
    fn a_played_curve_starts_at_its_moment() {
        let mut probes = CurveProbes::new();
        let id = ProbeId::new("curve:loin").unwrap();
        let curve = Curve::parse("time_s,core_c\n0,5\n60,6\n").unwrap();
        probes.play(id.clone(), curve, at(100_000));
        assert_eq!(probes.read(&id).reading, Err(NoReading::Timeout));
        probes.advance(at(100_000));
        assert_eq!(probes.read(&id).reading, Ok(Celsius::whole(5)));
        probes.advance(at(160_000));
        probes.advance(at(5));
        let last = probes.read(&id);
        assert_eq!(last.reading, Ok(Celsius::whole(6)));
        assert_eq!(last.place, "line 3 of the curve");
    }
}
