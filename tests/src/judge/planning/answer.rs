//! What one process finds for one instance.

use std::{
    fs,
    time::{Duration, Instant},
};

use schedule::{Problem, ProblemError, Proven, Schedule, Search};
use schedule_proof::{Limits, Threads, instances, solve};
use serde::{Deserialize, Serialize};

use super::replan::{self, Replan};

/// When a plan must be there.
pub(super) const EARLY: Duration = Duration::from_millis(100);

/// How to solve the instance on the standard input.
#[derive(clap::Args)]
pub(crate) struct Args {
    #[arg(long)]
    pub(super) seconds: f64,
    #[arg(long)]
    pub(super) threads: u8,
    #[arg(long)]
    pub(super) seed: u64,
    #[arg(long, value_enum)]
    pub(super) engine: Engine,
    #[arg(long)]
    pub(super) replan: bool,
}

/// What solves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Engine {
    /// Search and proof together
    Both,
    /// The search without the constraint library
    Search,
    /// The constraint library without the search
    Library,
}

impl Engine {
    pub(super) fn name(self) -> &'static str {
        match self {
            Engine::Both => "both",
            Engine::Search => "search",
            Engine::Library => "library",
        }
    }
}

/// How far it came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Status {
    /// The value is proven.
    Best,
    /// A schedule, and nothing proven.
    Open,
    /// Proven that there is no schedule.
    Impossible,
    /// No schedule, and nothing proven.
    Nothing,
    /// The process ended without an answer.
    Broken,
}

/// The answer as it is told between the processes.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Answer {
    pub(super) status: Status,
    pub(super) value: Option<i64>,
    pub(super) starts: Option<Vec<i64>>,
    pub(super) bound: i64,
    /// Milliseconds to the first schedule.
    pub(super) first_ms: Option<f64>,
    /// The best value by the time a plan must be there.
    pub(super) early: Option<i64>,
    pub(super) seconds: f64,
    /// The most memory of the process.
    pub(super) peak_mib: Option<f64>,
    pub(super) replans: Vec<Replan>,
}

impl Answer {
    /// Reads an instance and solves it.
    pub(super) fn find(text: &str, args: &Args) -> Result<Answer, String> {
        let instance: instances::Instance =
            serde_json::from_str(text).map_err(|why| format!("expected an instance in JSON, found: {why}"))?;
        match instance.draft().build() {
            Ok(problem) => Ok(Answer::of(&problem, args, args.replan && instance.kind == "kitchen")),
            Err(ProblemError::Ring { .. } | ProblemError::AboveCapacity { .. }) => Ok(Answer::refused()),
            Err(why) => Err(format!("expected a problem in instance {}, found: {why}", instance.name)),
        }
    }

    fn of(problem: &Problem, args: &Args, replans: bool) -> Answer {
        let threads = if args.threads < 2 { Threads::One } else { Threads::Two };
        let limits = match args.engine {
            Engine::Both => Limits { evaluations: u64::MAX, conflicts: u64::MAX, threads },
            Engine::Search => Limits { evaluations: u64::MAX, conflicts: 0, threads },
            Engine::Library => Limits { evaluations: 0, conflicts: u64::MAX, threads: Threads::One },
        };
        let time = Duration::from_secs_f64(args.seconds.max(0.0));
        let begun = Instant::now();
        let mut first = None;
        let mut early = None;
        let mut on_better = |_: &Schedule, value: i64| {
            let at = begun.elapsed();
            first.get_or_insert(at);
            if at <= EARLY {
                early = Some(value);
            }
        };
        let search = Search::new(problem, args.seed);
        let go_on = || begun.elapsed() < time;
        let found = solve(search, problem, args.seed, &limits, &go_on, &mut on_better);
        let seconds = begun.elapsed().as_secs_f64();
        let peak_mib = peak_mib();
        let replans = match (&found.best, replans) {
            (Some(plan), true) => replan::at_each_quarter(problem, plan, args.seed, &limits, time / 2),
            (Some(_) | None, _) => Vec::new(),
        };
        Answer {
            status: match found.proven {
                Proven::Best => Status::Best,
                Proven::Impossible => Status::Impossible,
                Proven::Open if found.best.is_some() => Status::Open,
                Proven::Open => Status::Nothing,
            },
            value: found.value,
            starts: found.best.map(|best| best.starts.into_iter().map(i64::from).collect()),
            bound: found.bound,
            first_ms: first.map(|first| first.as_secs_f64() * 1e3),
            early,
            seconds,
            peak_mib,
            replans,
        }
    }

    /// Demands that go round in a ring, or more needed than there is: impossible before any search.
    fn refused() -> Answer {
        Answer { status: Status::Impossible, peak_mib: peak_mib(), ..Answer::broken() }
    }

    /// What counts where a process ended without an answer.
    pub(super) fn broken() -> Answer {
        Answer {
            status: Status::Broken,
            value: None,
            starts: None,
            bound: i64::MIN,
            first_ms: None,
            early: None,
            seconds: 0.0,
            peak_mib: None,
            replans: Vec::new(),
        }
    }

    pub(super) fn json(&self) -> String {
        serde_json::to_string(self).expect("numbers, names and lists have a JSON form")
    }

    pub(super) fn read(text: &[u8]) -> Result<Answer, String> {
        serde_json::from_slice(text).map_err(|why| format!("expected an answer in JSON, found: {why}"))
    }
}

/// The most memory of this process so far, where the system tells.
fn peak_mib() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib / 1024.0)
}
