//! A trial record as a person reads it in a terminal.

use trial::record::{StepRecord, TrialRecord};

use crate::{
    output::{Out, OutputError, Table, counted},
    run::tell::{cause_words, clock, decimal, done_words, length},
};

/// Prints the record: plan against actual for each step, looks, carry-over, cautions, what is missing.
pub fn print(record: &TrialRecord, out: &mut Out) -> Result<(), OutputError> {
    let info = &record.info;
    out.line(format_args!("{}, variant {}", info.title, info.variant))?;
    out.line(format_args!("trial {}   recipe {} {}", info.trial, info.recipe, short(&info.version)))?;
    let who = [info.cook.as_ref().map(|c| format!("cook {c}")), info.kitchen.as_ref().map(|k| format!("kitchen {k}"))];
    let who: Vec<String> = who.into_iter().flatten().collect();
    if !who.is_empty() {
        out.line(who.join("   "))?;
    }
    match (record.took(), record.given_up) {
        (Some(took), false) => out.line(format_args!("took {}", length(took)))?,
        (Some(took), true) => out.line(format_args!("given up after {}", length(took)))?,
        (None, _) => out.line("still open")?,
    }
    out.line("")?;
    out.table(&steps(record))?;
    looks(record, out)?;
    probes(record, out)?;
    lists(record, out)?;
    cautions(record, out)
}

fn steps(record: &TrialRecord) -> Table {
    let mut table = Table::new(["step", "began", "planned", "actual", "difference", "ended by", "done at", "core"]);
    for step in &record.steps {
        let began = clock(step.began.since(record.opened)).trim().to_owned();
        let planned = length(step.planned);
        let row = match &step.end {
            Some(end) => {
                let sign = if end.late.is_early() { "-" } else { "+" };
                [
                    step.step.to_string(),
                    began,
                    planned,
                    length(end.ran),
                    format!("{sign}{}", length(end.late.size())),
                    cause_words(end.cause).into(),
                    done_words(&end.done, step.began),
                    end.core_celsius.map_or_else(String::new, |core| format!("{:.1} °C", core.degrees())),
                ]
            }
            None => [
                step.step.to_string(),
                began,
                planned,
                "runs".into(),
                String::new(),
                String::new(),
                String::new(),
                String::new(),
            ],
        };
        table.row(row);
    }
    table
}

fn looks(record: &TrialRecord, out: &mut Out) -> Result<(), OutputError> {
    let looked: Vec<&StepRecord> = record.steps.iter().filter(|step| !step.looks.is_empty()).collect();
    if looked.is_empty() {
        return Ok(());
    }
    out.line("\nlooks, from the beginning of the step")?;
    for step in looked {
        let words: Vec<String> = step
            .looks
            .iter()
            .map(|look| {
                let verdict = match look.verdict {
                    trial::Verdict::NotYet => "not yet",
                    trial::Verdict::Done => "done",
                    trial::Verdict::Over => "over",
                };
                format!("{} {verdict}", clock(look.at.since(step.began)).trim())
            })
            .collect();
        out.line(format_args!("  {}: {}", step.step, words.join(", ")))?;
    }
    Ok(())
}

fn probes(record: &TrialRecord, out: &mut Out) -> Result<(), OutputError> {
    for step in &record.steps {
        if let Some((peak, when, rise)) = &step.peak {
            out.line(format_args!(
                "\ncarry-over in {}: peak {:.1} °C, {:+.1} °C since its start, {} into it",
                step.step,
                peak.degrees(),
                rise.degrees(),
                length(when.since(step.began))
            ))?;
        }
        if let (Some(end), Some(off)) = (&step.end, step.taken_off) {
            out.line(format_args!("{} left the heat {} after it was done", step.step, length(off.since(end.at))))?;
        }
        for (since, back) in &step.probe_lost {
            let since = clock(since.since(record.opened));
            match back {
                Some(span) => {
                    out.line(format_args!("probe of {} was lost at {} for {}", step.step, since.trim(), length(*span)))?
                }
                None => {
                    out.line(format_args!("probe of {} was lost at {} and did not come back", step.step, since.trim()))?
                }
            }
        }
        if !step.deviations.is_empty() {
            out.line(format_args!("deviations in {}: {}", step.step, step.deviations.join("; ")))?;
        }
    }
    Ok(())
}

fn lists(record: &TrialRecord, out: &mut Out) -> Result<(), OutputError> {
    if !record.equipment.is_empty() {
        let words: Vec<String> = record.equipment.iter().map(equipment).collect();
        out.line(format_args!("\nequipment: {}", words.join("; ")))?;
    }
    if !record.weighed.is_empty() {
        let outside: Vec<String> =
            record.weighed.iter().filter(|(_, _, within)| !within).map(|(id, _, _)| id.to_string()).collect();
        let outside = if outside.is_empty() {
            "all within tolerance".into()
        } else {
            format!("outside tolerance: {}", outside.join(", "))
        };
        out.line(format_args!("\nweighed in: {}, {outside}", counted(record.weighed.len(), "ingredient")))?;
    }
    for (what, value, unit) in &record.measured {
        let unit = unit.as_ref().map_or_else(String::new, |unit| format!(" {unit}"));
        out.line(format_args!("{what}: {}{unit}", decimal(*value)))?;
    }
    for (at, words) in &record.notes {
        out.line(format_args!("note at {}: {words}", clock(at.since(record.opened)).trim()))?;
    }
    for (at, dark) in &record.dark {
        let words = match dark {
            trial::Dark::Known(span) => format!("for {}", length(*span)),
            trial::Dark::AtLeast(span) => format!("for at least {}", length(*span)),
        };
        out.line(format_args!("the station was off {words}, until {}", clock(at.since(record.opened)).trim()))?;
    }
    let high = record.alerts.iter().filter(|alert| alert.priority == trial::Priority::High).count();
    out.line(format_args!(
        "alerts: {}, of them {high} urgent; undone actions: {}",
        record.alerts.len(),
        record.undone
    ))?;
    for missing in &record.missing {
        out.line(format_args!("missing: {missing}"))?;
    }
    for (seq, right, why) in &record.corrections {
        out.line(format_args!("entry {seq} is corrected to {right:?}: {why}"))?;
    }
    Ok(())
}

fn equipment(piece: &trial::Equipment) -> String {
    let mut words = piece.name.clone();
    if let Some(device) = &piece.device {
        words += &format!(" ({device})");
    }
    if let Some(offset) = piece.offset_celsius {
        words += &format!(", {:+.1} °C", offset.degrees());
    }
    if let Some(power) = piece.power_watts {
        words += &format!(", {:.0} W", power.units());
    }
    match &piece.checked {
        Some(day) => words + &format!(", checked {day}"),
        None => words + ", no check on file",
    }
}

fn cautions(record: &TrialRecord, out: &mut Out) -> Result<(), OutputError> {
    let mut shown: Vec<&str> = Vec::new();
    for caution in record.steps.iter().flat_map(|step| &step.cautions) {
        if !shown.contains(&caution.text()) {
            shown.push(caution.text());
        }
    }
    if !shown.is_empty() {
        out.line("\ncautions that were shown")?;
        for words in shown {
            out.line(format_args!("  {words}"))?;
        }
    }
    out.line(CAUTION)
}

/// Stands under every record.
pub const CAUTION: &str = "\nTemperatures are what the probe measured in one place. Local food code and a trained person decide what may be served.";

fn short(version: &str) -> &str {
    version.get(..12).unwrap_or(version)
}
