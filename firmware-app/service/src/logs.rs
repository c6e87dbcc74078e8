//! Log lines, on stderr: for the journal of the system and for a person who asked for more.
//!
//! What happened to the food is in the trial record, not here. A text that must not be read by others is kept in a
//! [`Secret`](crate::secret::Secret), which no log line can show.

use std::{
    io::{self, Write},
    sync::{Mutex, PoisonError},
};

use tracing::{Span, Subscriber};
use tracing_subscriber::{EnvFilter, fmt::MakeWriter};
use trial::TrialId;

use crate::config::{LogFormat, Settings};

/// Starts the log of this process by the settings `log` and `log_format`.
///
/// A second call does nothing.
pub fn start(settings: &Settings, color: bool) {
    let lines = lines(settings.log.value.as_str(), settings.log_format.value, color, || Stderr);
    // fails only where a log is running: a test in one process with others
    let _ = tracing::subscriber::set_global_default(lines);
}

/// What was logged while a picture stood in the terminal; none while none does.
static HELD: Mutex<Option<Vec<u8>>> = Mutex::new(None);
/// More than this is not held: the first lines say what began it.
const MOST_HELD: usize = 64 * 1024;

/// Holds log lines back while a picture stands in the terminal that they would be written over.
pub fn hold() {
    HELD.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert_default();
}

/// Writes what was held, and holds nothing more.
pub fn release() {
    let held = HELD.lock().unwrap_or_else(PoisonError::into_inner).take();
    // where stderr is gone there is nobody to tell
    let _ = io::stderr().write_all(&held.unwrap_or_default());
}

/// Standard error, or what is held of it.
struct Stderr;

impl Write for Stderr {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut *HELD.lock().unwrap_or_else(PoisonError::into_inner) {
            Some(held) if held.len() + bytes.len() <= MOST_HELD => held.extend_from_slice(bytes),
            Some(_) => {}
            None => io::stderr().write_all(bytes)?,
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        io::stderr().flush()
    }
}

/// The span around everything that is done for one trial: each log line inside it names the trial.
pub fn of_trial(id: &TrialId) -> Span {
    tracing::info_span!("trial", id = id.as_str())
}

fn lines<W>(filter: &str, format: LogFormat, color: bool, to: W) -> Box<dyn Subscriber + Send + Sync>
where
    W: for<'a> MakeWriter<'a> + Send + Sync + 'static,
{
    let lines = tracing_subscriber::fmt().with_env_filter(EnvFilter::new(filter)).with_writer(to);
    match format {
        LogFormat::Text => Box::new(lines.with_ansi(color).finish()),
        LogFormat::Json => Box::new(lines.json().with_ansi(false).with_current_span(false).finish()),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::sync::{Arc, Mutex};

    use super::*;

    #[derive(Clone, Default)]
    struct Kept(Arc<Mutex<Vec<u8>>>);

    impl io::Write for Kept {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn logged(filter: &str, format: LogFormat, work: impl FnOnce()) -> String {
        let kept = Kept::default();
        let to = kept.clone();
        tracing::subscriber::with_default(lines(filter, format, false, move || to.clone()), work);
        let bytes = kept.0.lock().unwrap().clone();
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn a_line_inside_a_trial_names_the_trial_in_both_forms() {
        let work = || {
            let _inside = of_trial(&TrialId::new("20261125-1412-pork-loin-a").unwrap()).entered();
            tracing::info!(probe = "core", "probe lost");
        };
        let text = logged("info", LogFormat::Text, work);
        assert!(text.contains("20261125-1412-pork-loin-a") && text.contains("probe lost"), "{text}");
        let json: serde_json::Value = serde_json::from_str(&logged("info", LogFormat::Json, work)).unwrap();
        assert_eq!(json["spans"][0]["id"], "20261125-1412-pork-loin-a");
        assert_eq!(json["fields"]["probe"], "core");
    }

    #[test]
    fn the_filter_decides_what_is_logged() {
        let work = || {
            tracing::debug!("small");
            tracing::warn!("large");
        };
        let text = logged("warn", LogFormat::Text, work);
        assert!(text.contains("large") && !text.contains("small"), "{text}");
        assert!(logged("warn,tallyhob=debug", LogFormat::Text, work).contains("small"));
    }

    #[test]
    fn a_secret_stays_out_of_the_log() {
        let code = crate::secret::Secret::new("83417209");
        let text = logged("trace", LogFormat::Json, || tracing::error!(?code, %code, "pairing asked for"));
        assert!(text.contains("pairing") && !text.contains("83417209"), "{text}");
    }
}
