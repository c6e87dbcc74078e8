//! Judges files of instances: a line on each, a summary, exit 1 when a figure is missed.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use clap::Parser;
use schedule_proof::Threads;
use schedule_proof::instances::{InstanceError, read};
use schedule_proof::judge::{Judging, judge};
use thiserror::Error;

/// Measures the planner on files of instances.
#[derive(Parser)]
struct Arguments {
    /// Files of instances in JSON.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Time for each instance.
    #[arg(long, default_value_t = 1.0)]
    seconds: f64,
    /// Threads: 1 or 2.
    #[arg(long, default_value_t = 2)]
    threads: u8,
    /// Seed of search and proof.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Best values known besides those in the files: a JSON object from name to value.
    #[arg(long)]
    known: Option<PathBuf>,
    /// Judge a re-plan of each kitchen instance too.
    #[arg(long)]
    replan: bool,
}

#[derive(Debug, Error)]
enum Failure {
    #[error("{path}: {error}")]
    Read { path: String, error: std::io::Error },
    #[error("{path}: {error}")]
    Instances { path: String, error: InstanceError },
    #[error("{path}: expected an object from names to values: {error}")]
    Known {
        path: String,
        error: serde_json::Error,
    },
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    match run(&arguments) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(failure) => {
            // with no place left to complain to, the exit code still tells
            let _ = writeln!(std::io::stderr(), "{failure}");
            ExitCode::from(2)
        }
    }
}

fn run(arguments: &Arguments) -> Result<bool, Failure> {
    let mut instances = Vec::new();
    for path in &arguments.files {
        let text = read_text(path)?;
        instances.extend(read(&text).map_err(|error| Failure::Instances {
            path: path.display().to_string(),
            error,
        })?);
    }
    let known: BTreeMap<String, i64> = match &arguments.known {
        None => BTreeMap::new(),
        Some(path) => serde_json::from_str(&read_text(path)?).map_err(|error| Failure::Known {
            path: path.display().to_string(),
            error,
        })?,
    };
    let how = Judging {
        time: Duration::from_secs_f64(arguments.seconds.max(0.0)),
        threads: if arguments.threads < 2 {
            Threads::One
        } else {
            Threads::Two
        },
        seed: arguments.seed,
        known,
        replan: arguments.replan,
    };
    let mut out = std::io::stdout();
    let verdict = judge(&instances, &how, &mut |line| {
        // a closed pipe ends nothing but the output
        let _ = writeln!(out, "{line}");
    });
    Ok(verdict.missed.is_empty())
}

fn read_text(path: &Path) -> Result<String, Failure> {
    std::fs::read_to_string(path).map_err(|error| Failure::Read {
        path: path.display().to_string(),
        error,
    })
}
