//! The plan of a trial against what happened.

use quantities::{Drift, RunTime};
use trial::{
    PlanFit,
    plan_record::{LandingRecord, PlanRecord},
    record::TrialRecord,
};

use crate::{
    output::{Out, OutputError, Table, counted},
    run::tell::{clock, length},
};

pub(super) fn print(record: &TrialRecord, plan: &PlanRecord, out: &mut Out) -> Result<(), OutputError> {
    let at = |moment: RunTime| clock(moment.since(record.opened)).trim_start().to_owned();
    out.line(format_args!("\nplan, made at {}, moved {}", at(plan.made), times(plan.moves)))?;
    for landing in &plan.landings {
        out.line(landing_line(record, landing, &at))?;
    }
    match &plan.fit {
        PlanFit::Fits => {}
        PlanFit::Late { by } => out.line(format_args!("  late by {} as it stood last", length(*by)))?,
        PlanFit::Cannot { reason } => out.line(format_args!("  did not fit as it stood last: {reason}"))?,
    }
    let mut table = Table::new(["  step", "first", "last", "began", "after", "moves"]);
    for start in &plan.starts {
        table.row([
            format!("  {}", start.step),
            at(start.planned),
            at(start.last),
            start.began.map_or_else(|| "not".into(), at),
            start.began.map_or_else(String::new, |began| signed(began.drift_from(start.last))),
            start.moves.to_string(),
        ]);
    }
    out.table(&table)
}

fn landing_line(record: &TrialRecord, landing: &LandingRecord, at: &dyn Fn(RunTime) -> String) -> String {
    let mut text = format!("  {}", landing.name);
    text += &match landing.actual {
        Some(actual) => format!(": ready {}", at(actual)),
        None => ": not ready".into(),
    };
    if let Some(wanted) = landing.wanted {
        text += &format!(", wanted {}", at(wanted));
    }
    text += &format!(", planned {} at first and {} last", at(landing.planned), at(landing.last));
    let ends = landing.around.dishes.iter().filter_map(|dish| {
        let step = record.steps.iter().rev().find(|step| step.step == *dish)?;
        step.taken_off.or(step.end.as_ref().map(|end| end.at))
    });
    let ends: Vec<RunTime> = ends.collect();
    if let (true, Some(first), Some(last)) = (ends.len() > 1, ends.iter().min(), ends.iter().max()) {
        text += &format!("; its dishes {} apart", length(last.since(*first)));
    }
    text
}

fn times(count: usize) -> String {
    match count {
        0 => "never".into(),
        1 => "once".into(),
        _ => counted(count, "time"),
    }
}

/// `+1 min 5 s`, `-12 s`.
fn signed(drift: Drift) -> String {
    let sign = if drift.is_early() { "-" } else { "+" };
    format!("{sign}{}", length(drift.size()))
}
