//! Curves of a core probe: the front of `heat::judge`.

use std::{
    io::Write,
    path::PathBuf,
    sync::Arc,
    time::{Duration, Instant},
};

use doneness::{Knowledge, Mix};
use heat::judge::{Ask, Cost, Verdict, judge as judged, read};

use crate::{Failure, Outcome};

/// What to judge on.
#[derive(clap::Args)]
#[command(after_help = "\
CURVES is a table with the columns id, time_s, core_c and perhaps air_c, as sensed.
META is a list of records with id, family, target_c and t_target_s (null if the target is never reached), and with what is
known of t_target_m10_s, t_target_m5_s, pull_in_trace_s, appliance, oven_set, oven_steps, flips_s, duty, foil, pulls.
REST is a table with the columns id, pull_t_s, since_pull_s, tip_c: the truth after each pull.
All may be plain or packed with gzip. What is left out is said on the error output.

Ends with 0 if every accepted figure was met, with 1 if one was missed, with 2 if the data cannot be used.")]
pub(crate) struct Args {
    /// Readings of each curve
    curves: PathBuf,
    /// What is known of each curve
    meta: PathBuf,
    /// True rests after each pull
    rest: Option<PathBuf>,
}

/// Judges, writes the tables to `out` and what was left out to `notes`.
pub(crate) fn judge(args: &Args, out: &mut dyn Write, notes: &mut dyn Write) -> Result<Outcome, Failure> {
    let began = Instant::now();
    let unusable = |why: String| Failure::Unusable(why);
    let curves = read(&args.curves, &args.meta, args.rest.as_deref()).map_err(|error| unusable(error.to_string()))?;
    for note in &curves.notes {
        writeln!(notes, "judge: {note}")?;
    }
    let knowledge = Knowledge::shipped().map_err(|error| unusable(error.to_string()))?;
    let ask = Ask { knowledge: Arc::new(knowledge), mix: Mix::USUAL, reached: true, history: None };
    let verdict = judged(&curves.traces, &ask);
    write!(out, "{}", verdict.text)?;
    writeln!(out, "\nFigures")?;
    for figure in &verdict.figures {
        writeln!(out, "{figure}")?;
    }
    writeln!(out, "\n{}", spent(curves.traces.len(), verdict.cost, began.elapsed()))?;
    ending(&verdict, out)
}

fn spent(curves: usize, cost: Cost, whole: Duration) -> String {
    let spent = cost.estimating.as_secs_f64();
    let each = spent * 1000.0 / (cost.estimates.max(1) as f64);
    let rate = cost.estimates as f64 / spent.max(1e-9);
    format!(
        "{curves} curves, {} readings, {} updates: {rate:.0} updates a second, {each:.2} ms each; the whole run {:.1} s",
        cost.readings,
        cost.estimates,
        whole.as_secs_f64()
    )
}

fn ending(verdict: &Verdict, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let missed = verdict.missed();
    if missed.is_empty() {
        writeln!(out, "every accepted figure is met")?;
        return Ok(Outcome::Met);
    }
    let names: Vec<&str> = missed.iter().map(|figure| figure.name.as_str()).collect();
    writeln!(out, "missed {} of {} figures: {}", missed.len(), verdict.figures.len(), names.join("; "))?;
    Ok(Outcome::Missed)
}
