//! A file of curves: rows of seconds and °C, found by the names above them.

use std::{
    collections::BTreeMap,
    fs::File,
    io::{self, Read},
    path::Path,
};

use flate2::read::MultiGzDecoder;
use quantities::{Celsius, NoReading, Reading, RunTime};

/// A moment of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Row {
    pub(super) at: RunTime,
    /// Nothing where the field is empty.
    pub(super) core: Option<Reading>,
    /// The air beside the food, where it was measured.
    pub(super) air: Option<Celsius>,
}

/// Why a file is no curve.
#[derive(Debug, thiserror::Error)]
pub(super) enum CurveError {
    /// The system does not give it.
    #[error("{0}")]
    Unreadable(io::Error),
    /// It is longer than any cook.
    #[error("expected at most 64 MiB of rows, found more; cut the curve out of its file")]
    TooLarge,
    /// It is no text.
    #[error("expected lines of text, found other bytes; a packed file is read if it is packed with gzip")]
    NoText,
    /// The names above the rows are others.
    #[error("expected the names time_s and core_c above the rows, also air_c and id, found {found:?}")]
    Header { found: String },
    /// A row cannot be split into fields.
    #[error("line {line}: expected as many fields as names above, with commas between them: {found}")]
    Fields { line: u64, found: String },
    /// A time is none.
    #[error("line {line}: expected a time in seconds from 0 to a million, found {found:?}")]
    Time { line: u64, found: String },
    /// A time is not later than the one before.
    #[error("line {line}: expected a time after {before} s, found {found:?}; rows stand in the order of time")]
    Order { line: u64, before: f64, found: String },
    /// A temperature is none.
    #[error("line {line}: expected a temperature in °C or nothing under {name}, found {found:?}")]
    Temperature { line: u64, name: &'static str, found: String },
    /// There are several.
    #[error("expected --id with one of the {count} curves of the file ({known}), found none")]
    Several { count: usize, known: String },
    /// There is none of this id.
    #[error("expected --id with a curve of the file ({known}), found {asked}")]
    NoSuch { asked: String, known: String },
    /// There is no row.
    #[error("expected rows under the names, found none")]
    Empty,
}

/// A longer curve is none.
const LONGEST_S: f64 = 1e6;

impl CurveError {
    /// Whether the one who asked can put it right on the command line.
    pub(super) fn is_of_the_asker(&self) -> bool {
        match self {
            Self::Several { .. } | Self::NoSuch { .. } => true,
            Self::Unreadable(_)
            | Self::TooLarge
            | Self::NoText
            | Self::Header { .. }
            | Self::Fields { .. }
            | Self::Time { .. }
            | Self::Order { .. }
            | Self::Temperature { .. }
            | Self::Empty => false,
        }
    }
}

/// Reads a file, or standard input for `-`, packed or plain.
pub(super) fn read(path: &Path, id: Option<&str>) -> Result<Vec<Row>, CurveError> {
    let bytes = if path == Path::new("-") {
        at_most(io::stdin())
    } else {
        at_most(File::open(path).map_err(CurveError::Unreadable)?)
    };
    parse(&text(bytes?)?, id)
}

/// A week of readings each second is a tenth of this.
const LARGEST: u64 = 64 << 20;

fn at_most(from: impl Read) -> Result<Vec<u8>, CurveError> {
    let mut bytes = Vec::new();
    from.take(LARGEST + 1).read_to_end(&mut bytes).map_err(CurveError::Unreadable)?;
    if bytes.len() as u64 > LARGEST { Err(CurveError::TooLarge) } else { Ok(bytes) }
}

fn text(bytes: Vec<u8>) -> Result<String, CurveError> {
    let packed = bytes.starts_with(&[0x1f, 0x8b]);
    let plain = if packed { at_most(MultiGzDecoder::new(bytes.as_slice()))? } else { bytes };
    String::from_utf8(plain).map_err(|_| CurveError::NoText)
}

fn parse(text: &str, id: Option<&str>) -> Result<Vec<Row>, CurveError> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(text.as_bytes());
    let names = reader.headers().map_err(|why| CurveError::Header { found: why.to_string() })?.clone();
    let place = |name: &str| names.iter().position(|found| found == name);
    let (Some(time), Some(core)) = (place("time_s"), place("core_c")) else {
        return Err(CurveError::Header { found: names.iter().collect::<Vec<_>>().join(",") });
    };
    let (air, ids) = (place("air_c"), place("id"));
    let mut curves: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    for record in reader.records() {
        let record = record.map_err(|why| CurveError::Fields {
            line: why.position().map_or(0, csv::Position::line),
            found: why.to_string(),
        })?;
        let line = record.position().map_or(0, csv::Position::line);
        let field = |at: usize| record.get(at).unwrap_or_default();
        let curve = ids.map_or("", field);
        if id.is_some_and(|asked| asked != curve) {
            // known by name, so that a wrong one can be told what there is
            curves.entry(curve.to_owned()).or_default();
            continue;
        }
        let celsius = |at: usize, name| match field(at) {
            "" => Ok(None),
            found => match found.parse().ok().and_then(Celsius::from_degrees) {
                Some(celsius) => Ok(Some(celsius)),
                None => Err(CurveError::Temperature { line, name, found: found.into() }),
            },
        };
        let (core, air) = (celsius(core, "core_c")?, air.map_or(Ok(None), |air| celsius(air, "air_c"))?);
        let seconds = field(time).parse().ok().filter(|seconds: &f64| (0.0..=LONGEST_S).contains(seconds));
        let Some(seconds) = seconds else { return Err(CurveError::Time { line, found: field(time).into() }) };
        let at = RunTime::from_millis((seconds * 1000.0).round() as u64);
        let rows = curves.entry(curve.to_owned()).or_default();
        if let Some(before) = rows.last().filter(|before| before.at >= at) {
            return Err(CurveError::Order { line, before: before.at.since_start().secs(), found: field(time).into() });
        }
        // a row of air alone says nothing of the core
        let core = match (core, air) {
            (Some(core), _) => Some(Ok(core)),
            (None, Some(_)) => None,
            (None, None) => Some(Err(NoReading::Timeout)),
        };
        rows.push(Row { at, core, air });
    }
    chosen(curves, id)
}

fn chosen(mut curves: BTreeMap<String, Vec<Row>>, id: Option<&str>) -> Result<Vec<Row>, CurveError> {
    let known = || {
        let some: Vec<&str> = curves.keys().take(6).map(String::as_str).collect();
        format!("{}{}", some.join(", "), if curves.len() > some.len() { ", ..." } else { "" })
    };
    let rows = match (id, curves.len()) {
        (_, 0) => return Err(CurveError::Empty),
        (None, 1) => curves.pop_first().map(|(_, rows)| rows),
        (None, count) => return Err(CurveError::Several { count, known: known() }),
        (Some(asked), _) if curves.get(asked).is_none_or(Vec::is_empty) => {
            return Err(CurveError::NoSuch { asked: asked.into(), known: known() });
        }
        (Some(asked), _) => curves.remove(asked),
    };
    rows.filter(|rows| !rows.is_empty()).ok_or(CurveError::Empty)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::io::Write;

    use super::*;

    fn told(text: &str, id: Option<&str>) -> String {
        parse(text, id).unwrap_err().to_string()
    }

    #[test]
    fn columns_are_found_by_their_names_in_any_order() {
        let rows = parse("# made up\nair_c,core_c,note,time_s\n180,5.25,x,0\n,5.5,,1\n181,,,2\n,,,3\n", None).unwrap();
        let celsius = |degrees| Celsius::from_degrees(degrees).unwrap();
        assert_eq!((rows[0].core, rows[0].air), (Some(Ok(celsius(5.25))), Some(celsius(180.0))));
        assert_eq!((rows[1].core, rows[1].air), (Some(Ok(celsius(5.5))), None));
        assert_eq!((rows[2].core, rows[2].air), (None, Some(celsius(181.0))));
        assert_eq!(rows[3].core, Some(Err(NoReading::Timeout)));
    }

    #[test]
    fn a_faulty_row_is_told_with_its_line() {
        assert_eq!(
            told("t,core\n0,5\n", None),
            "expected the names time_s and core_c above the rows, also air_c and id, found \"t,core\""
        );
        assert_eq!(
            told("time_s,core_c\n0,5\n1,warm\n", None),
            "line 3: expected a temperature in °C or nothing under core_c, found \"warm\""
        );
        assert_eq!(
            told("time_s,core_c\n-1,5\n", None),
            "line 2: expected a time in seconds from 0 to a million, found \"-1\""
        );
        assert_eq!(
            told("time_s,core_c\n5,5\n5,6\n", None),
            "line 3: expected a time after 5 s, found \"5\"; rows stand in the order of time"
        );
        assert!(told("time_s,core_c\n5\n", None).starts_with("line 2: expected as many fields as names above"));
        assert_eq!(told("time_s,core_c\n", None), "expected rows under the names, found none");
    }

    #[test]
    fn one_of_several_curves_is_asked_for_by_its_id() {
        const TWO: &str = "id,time_s,core_c\na,0,5\nb,0,20\nb,1,21\n";
        assert_eq!(parse(TWO, Some("b")).unwrap().len(), 2);
        assert_eq!(told(TWO, None), "expected --id with one of the 2 curves of the file (a, b), found none");
        assert_eq!(told(TWO, Some("c")), "expected --id with a curve of the file (a, b), found c");
    }

    #[test]
    fn a_packed_file_is_unpacked_whatever_its_name() {
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        packed.write_all(b"time_s,core_c\n0,5\n").unwrap();
        assert_eq!(text(packed.finish().unwrap()).unwrap(), "time_s,core_c\n0,5\n");
        assert!(matches!(text(vec![0xff, 0xfe]), Err(CurveError::NoText)));
    }
}
