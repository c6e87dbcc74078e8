//! What a command prints: data on stdout, messages on stderr.

mod consent;
mod table;
mod whole_file;

use std::{
    fmt,
    io::{self, BufWriter, IsTerminal, Write},
};

use anstyle::{AnsiColor, Style};
use serde::Serialize;

pub use consent::{Consent, ConsentError, Go};
pub use table::Table;
pub use whole_file::{Destination, WholeFile};

use crate::{args::Color, environment::Environment, failure::Failure};

/// The two outputs of a command.
///
/// Data is buffered: [`Out::flush`] before anything that must be seen in order.
pub struct Out {
    data: Box<dyn Write + Send>,
    messages: Box<dyn Write + Send>,
    color_data: bool,
    color_messages: bool,
    quiet: bool,
    /// Columns of the terminal; nothing where the output is none.
    width: Option<u16>,
}

/// Why the output could not be written.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// Whoever read it went away.
    #[error("the reader of the output went away")]
    ClosedPipe,
    /// Anything else.
    #[error("cannot write the output")]
    Write(#[source] io::Error),
}

/// A number with its noun: `1 error`, `2 errors`.
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

/// Headings and names.
pub const STRONG: Style = Style::new().bold();
const ERROR: Style = AnsiColor::Red.on_default().bold();
const WARNING: Style = AnsiColor::Yellow.on_default().bold();

impl Out {
    /// The outputs of this process.
    pub fn standard(color: Color, quiet: bool, environment: &Environment) -> Self {
        let (stdout, stderr) = (io::stdout(), io::stderr());
        let (data_is_terminal, messages_are) = (stdout.is_terminal(), stderr.is_terminal());
        Self {
            color_data: wants_color(color, data_is_terminal, environment),
            color_messages: wants_color(color, messages_are, environment),
            quiet,
            width: data_is_terminal.then(|| crossterm::terminal::size().map_or(80, |(columns, _)| columns)),
            data: Box::new(BufWriter::new(stdout)),
            messages: Box::new(stderr),
        }
    }

    /// Outputs to other places, for tests.
    pub fn to(data: Box<dyn Write + Send>, messages: Box<dyn Write + Send>) -> Self {
        Self { data, messages, color_data: false, color_messages: false, quiet: false, width: None }
    }

    /// Prints one line of data; styles in it are written only where colour is wanted.
    pub fn line(&mut self, text: impl fmt::Display) -> Result<(), OutputError> {
        let text = if self.color_data { text.to_string() } else { plain(&text.to_string()) };
        writeln!(self.data, "{text}").map_err(OutputError::from)
    }

    /// Prints data as it is.
    pub fn bytes(&mut self, bytes: &[u8]) -> Result<(), OutputError> {
        self.data.write_all(bytes).map_err(OutputError::from)
    }

    /// Lets a library write data, such as CSV.
    pub fn writer(&mut self) -> &mut (dyn Write + Send) {
        &mut *self.data
    }

    /// Prints one JSON value: indented on a terminal, one line elsewhere.
    pub fn json(&mut self, value: &impl Serialize) -> Result<(), OutputError> {
        let text =
            if self.width.is_some() { serde_json::to_string_pretty(value) } else { serde_json::to_string(value) };
        let text = text.map_err(|error| OutputError::Write(io::Error::other(error)))?;
        writeln!(self.data, "{text}").map_err(OutputError::from)
    }

    /// Prints a table; on a terminal it keeps to the width.
    pub fn table(&mut self, table: &Table) -> Result<(), OutputError> {
        let head = if self.color_data { STRONG } else { Style::new() };
        self.bytes(table.drawn(self.width, head).as_bytes())
    }

    /// Says what was done, unless quiet.
    pub fn note(&mut self, text: impl fmt::Display) {
        if !self.quiet {
            self.say(Style::new(), "", text);
        }
    }

    /// Says what is odd, unless quiet.
    pub fn warn(&mut self, text: impl fmt::Display) {
        if !self.quiet {
            self.say(WARNING, "warning: ", text);
        }
    }

    /// Says why a command failed, with the causes below, one a line.
    pub fn error(&mut self, failure: &Failure) {
        self.say(ERROR, "error: ", failure);
        for cause in failure.causes() {
            self.say(Style::new(), "  because: ", cause);
        }
    }

    /// Writes out what is buffered.
    pub fn flush(&mut self) -> Result<(), OutputError> {
        self.data.flush().map_err(OutputError::from)
    }

    /// Whether data has colour.
    pub fn colors_data(&self) -> bool {
        self.color_data
    }

    /// Whether messages have colour.
    pub fn colors_messages(&self) -> bool {
        self.color_messages
    }

    /// Whether data goes to a terminal.
    pub fn is_terminal(&self) -> bool {
        self.width.is_some()
    }

    fn say(&mut self, style: Style, lead: &str, text: impl fmt::Display) {
        // what was printed before comes before; if nobody reads either stream there is nobody to tell
        let _ = self.data.flush();
        let style = if self.color_messages { style } else { Style::new() };
        let text = if self.color_messages { text.to_string() } else { plain(&text.to_string()) };
        let _ = writeln!(self.messages, "{style}{lead}{style:#}{text}");
    }
}

impl fmt::Debug for Out {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Out")
            .field("color_data", &self.color_data)
            .field("quiet", &self.quiet)
            .field("width", &self.width)
            .finish_non_exhaustive()
    }
}

impl OutputError {
    /// Whether the only thing wrong is that nobody reads.
    pub fn is_closed_pipe(&self) -> bool {
        match self {
            Self::ClosedPipe => true,
            Self::Write(_) => false,
        }
    }
}

impl From<io::Error> for OutputError {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe { Self::ClosedPipe } else { Self::Write(error) }
    }
}

/// `--color` wins; then NO_COLOR (no-color.org), then CLICOLOR_FORCE, then whether a terminal that knows colour is there.
fn wants_color(asked: Color, is_terminal: bool, environment: &Environment) -> bool {
    match asked {
        Color::Always => true,
        Color::Never => false,
        Color::Auto if environment.get("NO_COLOR").is_some() => false,
        Color::Auto if environment.get("CLICOLOR_FORCE").is_some_and(|value| value != "0") => true,
        Color::Auto => {
            is_terminal && environment.get("TERM") != Some("dumb") && environment.get("CLICOLOR") != Some("0")
        }
    }
}

fn plain(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    struct Closed;

    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Err(io::ErrorKind::BrokenPipe.into())
        }
    }

    #[test]
    fn colour_follows_the_option_then_the_environment_then_the_terminal() {
        type Variables = &'static [(&'static str, &'static str)];
        let cases: [(Color, bool, Variables, bool); 9] = [
            (Color::Auto, true, &[], true),
            (Color::Auto, false, &[], false),
            (Color::Auto, true, &[("NO_COLOR", "1")], false),
            (Color::Auto, true, &[("NO_COLOR", "")], true),
            (Color::Auto, false, &[("CLICOLOR_FORCE", "1")], true),
            (Color::Auto, false, &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")], false),
            (Color::Auto, true, &[("TERM", "dumb")], false),
            (Color::Always, false, &[("NO_COLOR", "1")], true),
            (Color::Never, true, &[("CLICOLOR_FORCE", "1")], false),
        ];
        for (asked, terminal, variables, expected) in cases {
            assert_eq!(
                wants_color(asked, terminal, &Environment::from(variables)),
                expected,
                "{asked:?} {terminal} {variables:?}"
            );
        }
    }

    #[test]
    fn a_closed_pipe_is_told_apart_from_a_full_disk() {
        let mut out = Out::to(Box::new(Closed), Box::new(Closed));
        assert!(out.line("text").unwrap_err().is_closed_pipe());
        out.warn("nobody hears this, and nothing panics");
        assert!(!OutputError::from(io::Error::from(io::ErrorKind::StorageFull)).is_closed_pipe());
    }

    #[test]
    fn styles_are_dropped_where_colour_is_not_wanted() {
        assert_eq!(plain(&format!("{STRONG}loin{STRONG:#} 58 °C")), "loin 58 °C");
    }
}
