use std::{
    ffi::OsString,
    io,
    process::{Child, Command, Stdio},
};

/// A few spoken words after a sound, by a program of the system, `espeak-ng` if nothing else is named.
///
/// Speech only adds to sounds: nothing depends on it. One thing is spoken at a time, the caller never waits, and no shell
/// is used. What is running ends with this value.
#[derive(Debug)]
pub struct Speech {
    program: OsString,
    language: String,
    speaking: Option<Child>,
    /// Cut off, and not yet cleared away by the system.
    ending: Vec<Child>,
    missing_told: bool,
}

/// What became of the words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spoken {
    /// They are being spoken.
    Begun,
    /// They were dropped: something else is being spoken.
    Busy,
    /// They were dropped: the program is missing, and that was told before.
    Missing,
}

/// Why words are not spoken.
#[derive(Debug, thiserror::Error)]
pub enum SpeechFault {
    /// Told once; speech goes on being dropped without a word.
    #[error("no speech: {program} is not installed; install it or turn speech off")]
    Missing {
        /// The program.
        program: String,
    },
    /// Long speech would run into the next sound.
    #[error("expected 1 to 4 words to speak, found {found} in {text:?}")]
    NotAFewWords {
        /// How many words.
        found: usize,
        /// The words.
        text: String,
    },
    /// The system would not start the program.
    #[error("could not start {program} to speak: {source}")]
    NotStarted {
        /// The program.
        program: String,
        /// What the system said.
        source: io::Error,
    },
}

impl Speech {
    /// Speech in a language, by its short name: `en`, `de`.
    pub fn new(language: &str) -> Self {
        Self::by("espeak-ng".into(), language)
    }

    /// Speech by another program that takes the same arguments: `-v LANGUAGE -s WORDS-A-MINUTE -- TEXT`.
    pub fn by(program: OsString, language: &str) -> Self {
        Self { program, language: language.to_owned(), speaking: None, ending: Vec::new(), missing_told: false }
    }

    /// Begins to speak 1 to 4 words and returns.
    ///
    /// # Errors
    /// More words, none, or a program that cannot be started; a missing one is an error once.
    pub fn say(&mut self, text: &str) -> Result<Spoken, SpeechFault> {
        let found = text.split_whitespace().count();
        if !(1..=MOST_WORDS).contains(&found) {
            return Err(SpeechFault::NotAFewWords { found, text: text.to_owned() });
        }
        if self.is_speaking() {
            return Ok(Spoken::Busy);
        }
        let program = || self.program.to_string_lossy().into_owned();
        let started = Command::new(&self.program)
            .args(["-v", &self.language, "-s", WORDS_A_MINUTE, "--", text])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        match started {
            Ok(child) => {
                self.missing_told = false;
                self.speaking = Some(child);
                Ok(Spoken::Begun)
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                if std::mem::replace(&mut self.missing_told, true) {
                    return Ok(Spoken::Missing);
                }
                Err(SpeechFault::Missing { program: program() })
            }
            Err(source) => Err(SpeechFault::NotStarted { program: program(), source }),
        }
    }

    /// Cuts off what is being spoken, for a high alert or an answer; does not wait for it to end.
    pub fn stop(&mut self) {
        if let Some(mut child) = self.speaking.take() {
            // one that has ended by itself cannot be ended, and is cleared away all the same
            let _ended_or_ending = child.kill();
            self.ending.push(child);
        }
        self.clear();
    }

    /// Whether something is being spoken.
    pub fn is_speaking(&mut self) -> bool {
        self.clear();
        if let Some(child) = &mut self.speaking
            && !matches!(child.try_wait(), Ok(None))
        {
            self.speaking = None;
        }
        self.speaking.is_some()
    }

    fn clear(&mut self) {
        self.ending.retain_mut(|child| matches!(child.try_wait(), Ok(None)));
    }
}

impl Drop for Speech {
    fn drop(&mut self) {
        self.stop();
        for mut child in self.ending.drain(..) {
            // ended already, so that this returns at once
            let _cleared = child.wait();
        }
    }
}

/// More is not heard out before the next pattern.
const MOST_WORDS: usize = 4;
/// A little slower than people talk, for a loud kitchen (common practice, no source).
const WORDS_A_MINUTE: &str = "150";

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::{
        fs,
        os::unix::fs::PermissionsExt as _,
        path::Path,
        time::{Duration, Instant},
    };

    use super::*;

    /// A program that writes down its arguments and takes its time.
    fn program(folder: &Path, seconds: u32) -> OsString {
        let path = folder.join("speak");
        let text = format!("#!/bin/sh\nprintf '%s|' \"$@\" > '{}/said'\nexec sleep {seconds}\n", folder.display());
        fs::write(&path, text).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
        path.into()
    }

    fn until(mut is_true: impl FnMut() -> bool) -> bool {
        let give_up = Instant::now() + Duration::from_secs(10);
        while !is_true() {
            if Instant::now() > give_up {
                return false;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        true
    }

    #[test]
    fn words_reach_the_program_as_they_are_and_one_speech_is_heard_at_a_time() {
        let folder = tempfile::tempdir().unwrap();
        let mut speech = Speech::by(program(folder.path(), 60), "en");
        assert_eq!(speech.say("-w $(x). 'Take out.'").unwrap(), Spoken::Begun);
        let said = folder.path().join("said");
        assert!(until(|| fs::read_to_string(&said).is_ok_and(|said| said.ends_with("'Take out.'|"))));
        assert_eq!(fs::read_to_string(&said).unwrap(), "-v|en|-s|150|--|-w $(x). 'Take out.'|");
        assert_eq!(speech.say("Oven two").unwrap(), Spoken::Busy);
        speech.stop();
        assert!(!speech.is_speaking());
        assert_eq!(speech.say("Oven two").unwrap(), Spoken::Begun);
        assert!(until(|| {
            speech.clear();
            speech.ending.is_empty()
        }));
    }

    #[test]
    fn a_speech_that_ended_makes_room_for_the_next() {
        let folder = tempfile::tempdir().unwrap();
        let mut speech = Speech::by(program(folder.path(), 0), "en");
        assert_eq!(speech.say("Oven one").unwrap(), Spoken::Begun);
        assert!(until(|| !speech.is_speaking()));
        assert_eq!(speech.say("Oven one").unwrap(), Spoken::Begun);
    }

    #[test]
    fn a_missing_program_is_told_once() {
        let mut speech = Speech::by("/nowhere/speak".into(), "en");
        let told = speech.say("Oven one").unwrap_err().to_string();
        assert_eq!(told, "no speech: /nowhere/speak is not installed; install it or turn speech off");
        assert_eq!(speech.say("Oven one").unwrap(), Spoken::Missing);
    }

    #[test]
    fn more_than_four_words_are_refused() {
        let mut speech = Speech::by("/nowhere/speak".into(), "en");
        for (text, found) in [("one two three four five", 5), (" ", 0)] {
            let told = speech.say(text).unwrap_err().to_string();
            assert!(told.starts_with(&format!("expected 1 to 4 words to speak, found {found} in ")), "{told}");
        }
    }
}
