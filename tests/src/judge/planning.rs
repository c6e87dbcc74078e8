//! Planning problems: each solved in a process of its own, its schedule checked by the form's definition alone.

mod answer;
mod checker;
mod figures;
mod form;
mod replan;
mod table;

use std::{
    collections::BTreeMap,
    fs,
    io::Write,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use serde_json::Value;

use crate::{Failure, Outcome};
pub(crate) use answer::Args as OneArgs;
use answer::{Answer, Engine};
use form::Form;
use table::Row;

/// What to judge on.
#[derive(clap::Args)]
#[command(after_help = "\
FILES are lists of instances in JSON: name, kind, tasks [{d, r: [[resource, amount]]}], caps [], prec [[i, j, lag]] for
S_j >= S_i + lag (a negative lag is a longest wait), incompat [[i, j, s_ij, s_ji]] (never overlap; set-up s_ij if i is first),
obj [[i, w]] (minimise the sum of w S_i; absent: the last start), and what is known: opt, lb, ub.

Figures are of one second on two cores, and only what the files can show is judged: without a known best value there is no gap.
Each instance is solved in a fresh process; its memory is the most that process held, the program itself included.

Ends with 0 if every figure was met, with 1 if one was missed, with 2 if the data cannot be used.")]
pub(crate) struct Args {
    /// Instances
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Time for each instance
    #[arg(long, default_value_t = 1.0)]
    seconds: f64,
    /// Threads: 1 (search and proof in turns) or 2 (side by side)
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=2))]
    threads: u8,
    /// Best values known besides those in the files: an object from names to values
    #[arg(long)]
    known: Option<PathBuf>,
    /// Judge re-plans of each kitchen too
    #[arg(long)]
    replan: bool,
    /// Seed of search and proof
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// What solves: search and proof together, or one alone
    #[arg(long, value_enum, default_value_t = Engine::Both)]
    engine: Engine,
    /// Write a line of JSON on each instance to this file too
    #[arg(long)]
    rows: Option<PathBuf>,
}

/// Judges and writes the tables to `out`.
pub(crate) fn judge(args: &Args, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let mut instances = Vec::new();
    for path in &args.files {
        instances.extend(instances_of(path)?);
    }
    let known = match &args.known {
        None => BTreeMap::new(),
        Some(path) => known_of(path)?,
    };
    let mut lines = String::new();
    let mut rows = Vec::new();
    writeln!(out, "{}", table::HEAD)?;
    for instance in &instances {
        let form = Form::of(instance).map_err(Failure::Unusable)?;
        let answer = ask(args, instance)?;
        let row = Row::of(&form, &answer, known.get(&form.name).copied());
        writeln!(out, "{row}")?;
        for fault in &row.faults {
            writeln!(out, "  {fault}")?;
        }
        lines.push_str(&row.json().to_string());
        lines.push('\n');
        rows.push(row);
    }
    if let Some(path) = &args.rows {
        fs::write(path, lines).map_err(|why| unusable(path, "a file that can be written", &why.to_string()))?;
    }
    write!(out, "{}", table::summary(&rows))?;
    let figures = figures::of(&rows);
    writeln!(out, "\nFigures")?;
    for figure in &figures {
        writeln!(out, "{figure}")?;
    }
    let missed: Vec<&str> = figures.iter().filter(|figure| !figure.is_met()).map(|figure| figure.name).collect();
    if missed.is_empty() {
        writeln!(out, "every figure is met")?;
        return Ok(Outcome::Met);
    }
    writeln!(out, "missed {} of {} figures: {}", missed.len(), figures.len(), missed.join("; "))?;
    Ok(Outcome::Missed)
}

/// Solves the one instance on the standard input and writes the answer: what [`judge`] runs for each instance.
pub(crate) fn one(args: &OneArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let text = std::io::read_to_string(std::io::stdin())?;
    let answer = Answer::find(&text, args).map_err(Failure::Unusable)?;
    writeln!(out, "{}", answer.json())?;
    Ok(Outcome::Met)
}

/// Has an instance solved in a process of its own, so that its memory is nobody else's.
fn ask(args: &Args, instance: &Value) -> Result<Answer, Failure> {
    let mut command = Command::new(std::env::current_exe()?);
    command.arg("planning-one").args(["--seconds", &args.seconds.to_string(), "--threads", &args.threads.to_string()]);
    command.args(["--seed", &args.seed.to_string(), "--engine", args.engine.name()]);
    command.args(args.replan.then_some("--replan"));
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn()?;
    // taken, so that it closes and the other side sees the end
    if let Some(mut stdin) = child.stdin.take() {
        stdin.write_all(instance.to_string().as_bytes())?;
    }
    let told = child.wait_with_output()?;
    match told.status.success() {
        true => Answer::read(&told.stdout).map_err(Failure::Unusable),
        false => Ok(Answer::broken()),
    }
}

fn instances_of(path: &Path) -> Result<Vec<Value>, Failure> {
    let found = json_of(path)?;
    let instances = found.as_array().filter(|instances| !instances.is_empty());
    instances.cloned().ok_or_else(|| unusable(path, "a list of instances", &what(&found)))
}

fn known_of(path: &Path) -> Result<BTreeMap<String, i64>, Failure> {
    serde_json::from_value(json_of(path)?)
        .map_err(|why| unusable(path, "an object from names to values", &why.to_string()))
}

fn json_of(path: &Path) -> Result<Value, Failure> {
    let text = fs::read_to_string(path).map_err(|why| unusable(path, "a file that can be read", &why.to_string()))?;
    serde_json::from_str(&text).map_err(|why| unusable(path, "JSON", &why.to_string()))
}

fn unusable(path: &Path, expected: &str, found: &str) -> Failure {
    Failure::Unusable(format!("expected {expected} in {}, found: {found}", path.display()))
}

fn what(value: &Value) -> String {
    match value {
        Value::Array(list) => format!("a list of {}", list.len()),
        Value::Object(_) => "an object".into(),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => value.to_string(),
    }
}
