use std::io::{self, BufRead, IsTerminal, Write};

use super::Out;
use crate::args::Changes;

/// Whether a change was agreed to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Go {
    /// Do it.
    Do,
    /// Say what would be done and change nothing.
    DryRun,
    /// The person said no.
    Refused,
}

/// Why no one could be asked.
#[derive(Debug, thiserror::Error)]
pub enum ConsentError {
    /// There is no terminal to ask on.
    #[error("expected --yes or --dry-run, since there is no terminal to ask on")]
    NobodyToAsk,
    /// The answer could not be read.
    #[error("cannot read the answer")]
    Read(#[source] io::Error),
}

/// How to get agreement to a change that cannot be taken back.
#[derive(Clone, Copy, Debug)]
pub struct Consent {
    changes: Changes,
    terminal: bool,
}

impl Consent {
    /// By the options, or by asking on the terminal.
    pub fn new(changes: Changes) -> Self {
        Self { changes, terminal: io::stdin().is_terminal() && io::stderr().is_terminal() }
    }

    /// Asks a question that yes answers, such as "import 12 trials?"; anything but y or yes is a no.
    pub fn ask(self, question: &str, out: &mut Out) -> Result<Go, ConsentError> {
        self.ask_on(question, out, &mut io::stdin().lock())
    }

    fn ask_on(self, question: &str, out: &mut Out, answers: &mut dyn BufRead) -> Result<Go, ConsentError> {
        match (self.changes.dry_run, self.changes.yes, self.terminal) {
            (true, _, _) => return Ok(Go::DryRun),
            (false, true, _) => return Ok(Go::Do),
            (false, false, false) => return Err(ConsentError::NobodyToAsk),
            (false, false, true) => {}
        }
        // a question nobody can see is answered by nobody: the read below then finds the end
        let _ = out.flush();
        let _ = write!(out.messages, "{question} [y/N] ").and_then(|()| out.messages.flush());
        let mut answer = String::new();
        answers.read_line(&mut answer).map_err(ConsentError::Read)?;
        let yes = ["y", "yes"].contains(&answer.trim().to_lowercase().as_str());
        Ok(if yes { Go::Do } else { Go::Refused })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn asked(dry_run: bool, yes: bool, terminal: bool, answer: &str) -> Result<Go, ConsentError> {
        let consent = Consent { changes: Changes { dry_run, yes }, terminal };
        consent.ask_on(
            "import 12 trials?",
            &mut Out::to(Box::new(io::sink()), Box::new(io::sink())),
            &mut answer.as_bytes(),
        )
    }

    #[test]
    fn only_a_plain_yes_is_a_yes() {
        for (answer, go) in [
            ("y\n", Go::Do),
            ("YES\n", Go::Do),
            ("\n", Go::Refused),
            ("", Go::Refused),
            ("n\n", Go::Refused),
            ("yeah\n", Go::Refused),
        ] {
            assert_eq!(asked(false, false, true, answer).unwrap(), go, "{answer:?}");
        }
    }

    #[test]
    fn a_script_must_say_yes_itself() {
        assert!(matches!(asked(false, false, false, "y\n"), Err(ConsentError::NobodyToAsk)));
        assert_eq!(asked(false, true, false, "").unwrap(), Go::Do);
        assert_eq!(asked(true, false, false, "").unwrap(), Go::DryRun);
    }
}
