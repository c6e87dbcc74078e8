//! Judges the station's predictions and plans on data of any source, and says which accepted figures were missed.
//!
//! Ends with 0 if every accepted figure was met, with 1 if one was missed, with 2 if the data cannot be used.

mod doneness;
mod growth;
mod kitchen;
mod planning;
mod windows;

use std::{fmt, io, io::Write as _, process::ExitCode};

use clap::{Parser, Subcommand};

#[derive(Parser)]
#[command(
    name = "judge",
    about = "Judges the station's predictions and plans on data of any source",
    after_help = "Ends with 0 if every accepted figure was met, with 1 if one was missed, with 2 if the data cannot be used."
)]
struct Args {
    #[command(subcommand)]
    what: What,
}

/// One subject a line, one module each.
#[derive(Subcommand)]
enum What {
    /// Time to the target, reaching it, and carry-over, on curves of a core probe
    Doneness(doneness::Args),
    /// Values, proofs, times and memory of the planner, on files of instances
    Planning(planning::Args),
    /// How often all windows of a kitchen are kept, with live plans and room
    Windows(windows::Args),
    /// How the planner's time and values grow with steps and resources; nothing is judged
    Growth(growth::Args),
    /// One instance on the standard input: what `planning` runs for each
    #[command(hide = true)]
    PlanningOne(planning::OneArgs),
}

/// How a judgement ended.
enum Outcome {
    Met,
    Missed,
}

/// Why there is no judgement.
enum Failure {
    /// The data cannot be used.
    Unusable(String),
    /// Nobody listens any more.
    Output(io::Error),
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unusable(why) => out.write_str(why),
            Self::Output(error) => write!(out, "expected to write the tables, found: {error}"),
        }
    }
}

fn main() -> ExitCode {
    let mut out = io::stdout().lock();
    let told = match Args::parse().what {
        What::Doneness(args) => doneness::judge(&args, &mut out, &mut io::stderr().lock()),
        What::Planning(args) => planning::judge(&args, &mut out),
        What::Windows(args) => windows::judge(&args, &mut out, &mut io::stderr().lock()),
        What::Growth(args) => growth::table(&args, &mut out),
        What::PlanningOne(args) => planning::one(&args, &mut out),
    };
    match told {
        Ok(Outcome::Met) => ExitCode::SUCCESS,
        Ok(Outcome::Missed) => ExitCode::from(1),
        Err(failure) => {
            let _ = writeln!(io::stderr(), "judge: {failure}");
            ExitCode::from(2)
        }
    }
}
