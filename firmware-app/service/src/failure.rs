//! How a command can end.

use std::error::Error;

use crate::{config::SettingsError, output::OutputError};

/// How a command that did its work ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing to report.
    Done,
    /// It worked, and there is something to look at: a recipe with complaints, a damaged journal.
    Finding,
}

/// Why a command did not do its work.
///
/// The causes below an error are printed under it, one a line.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The settings cannot be used.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// The output cannot be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// What was asked for does not make sense, found only after the arguments were read.
    #[error("{0}")]
    Usage(Box<dyn Error + Send + Sync>),
    /// The work itself failed.
    #[error("{0}")]
    Failed(Box<dyn Error + Send + Sync>),
    /// The command has no body.
    #[error("{command} is not built yet")]
    NotBuilt {
        /// Its name.
        command: &'static str,
    },
}

/// What each exit code means, for the man page.
pub const EXIT_CODES: [(u8, &str); 5] = [
    (0, "The command did its work."),
    (1, "The command did its work and found something to look at, such as a recipe with complaints."),
    (Failure::USAGE, "The command line or a setting is wrong; nothing was done."),
    (Failure::FAILED, "The work failed, such as a file that cannot be read."),
    (Failure::CLOSED_PIPE, "The reader of the output went away, as with head(1); nothing is printed about it."),
];

impl Outcome {
    /// 0 or 1.
    pub fn exit_code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Finding => 1,
        }
    }
}

impl Failure {
    /// The exit code for a wrong command line or setting.
    pub const USAGE: u8 = 2;
    /// The exit code for work that failed.
    pub const FAILED: u8 = 3;
    /// The exit code when nobody reads the output any more: 128 and the number of SIGPIPE, as a shell would show it.
    pub const CLOSED_PIPE: u8 = 141;

    /// Wraps the error of an operation.
    pub fn failed(error: impl Error + Send + Sync + 'static) -> Self {
        Self::Failed(Box::new(error))
    }

    /// Wraps an error that is the asker's.
    pub fn usage(error: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self::Usage(error.into())
    }

    /// Whether the only thing wrong is that the reader of the output went away.
    pub fn is_closed_pipe(&self) -> bool {
        match self {
            Self::Output(error) => error.is_closed_pipe(),
            Self::Settings(_) | Self::Usage(_) | Self::Failed(_) | Self::NotBuilt { .. } => false,
        }
    }

    /// 2, 3 or 141.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Settings(SettingsError::Wrong { .. }) | Self::Usage(_) => Self::USAGE,
            Self::Output(error) if error.is_closed_pipe() => Self::CLOSED_PIPE,
            Self::Settings(SettingsError::Unreadable { .. })
            | Self::Output(_)
            | Self::Failed(_)
            | Self::NotBuilt { .. } => Self::FAILED,
        }
    }

    /// The errors below this one, nearest first.
    pub fn causes(&self) -> Vec<String> {
        let mut below = match self {
            Self::Settings(error) => error.source(),
            Self::Output(error) => error.source(),
            Self::Usage(error) | Self::Failed(error) => error.source(),
            Self::NotBuilt { .. } => None,
        };
        let mut causes = Vec::new();
        while let Some(error) = below {
            causes.push(error.to_string());
            below = error.source();
        }
        causes
    }
}
