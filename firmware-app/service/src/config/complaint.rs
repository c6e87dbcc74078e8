use std::{
    fmt,
    ops::Range,
    path::{Path, PathBuf},
};

use super::value::Wrong;

/// One thing wrong with the settings, with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Complaint {
    /// Where it stands.
    pub place: Place,
    /// What was expected and what was found.
    pub message: String,
    /// What to write instead, if that can be said.
    pub help: Option<String>,
}

/// Where a complaint points.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// A place in a file.
    File {
        /// The file.
        path: PathBuf,
        /// From 1.
        line: usize,
        /// From 1, in characters.
        column: usize,
        /// How many characters of the line are meant, at least one.
        width: usize,
        /// The whole line.
        text: String,
    },
    /// An environment variable.
    Environment {
        /// Its name.
        name: &'static str,
    },
    /// An option.
    Flag {
        /// Its name with the hyphens.
        name: &'static str,
    },
}

impl Complaint {
    pub(super) fn new(place: Place, wrong: Wrong) -> Self {
        let message = format!("expected {}, found {}", wrong.expected, wrong.found);
        Self { place, message, help: wrong.help }
    }
}

impl Place {
    /// The place of a span of bytes in a file's text; a span over several lines is cut at the end of its first.
    pub(super) fn in_file(path: &Path, text: &str, span: Range<usize>) -> Self {
        let start = text.floor_char_boundary(span.start);
        let line_start = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |length| start + length);
        let end = text.floor_char_boundary(span.end).clamp(start, line_end);
        Self::File {
            path: path.to_owned(),
            line: text[..start].matches('\n').count() + 1,
            column: text[line_start..start].chars().count() + 1,
            width: text[start..end].chars().count().max(1),
            text: text[line_start..line_end].trim_end_matches('\r').to_owned(),
        }
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Place::File { path, line, column, width, text } => {
                writeln!(f, "{}:{line}:{column}: {}", path.display(), self.message)?;
                // a tab stays a tab, so that the marks stand under what they mean
                let indent: String =
                    text.chars().take(column - 1).map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
                let gutter = " ".repeat(line.to_string().len());
                write!(f, "  {line} | {text}\n  {gutter} | {indent}{}", "^".repeat(*width))?;
            }
            Place::Environment { name } => write!(f, "environment variable {name}: {}", self.message)?,
            Place::Flag { name } => write!(f, "option {name}: {}", self.message)?,
        }
        self.help.iter().try_for_each(|help| write!(f, "\n  help: {help}"))
    }
}

/// One after another, each from a new line.
pub(super) fn all(complaints: &[Complaint]) -> String {
    complaints.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}
