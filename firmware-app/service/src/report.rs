//! A trial record as a person reads it in a terminal.

mod foretold;
mod heating;
mod planned;
mod rests;

use journal::TrialFile;
use quantities::Celsius;
use serde::Serialize;
use trial::{
    Entry,
    record::{StepRecord, TrialRecord},
};

pub use foretold::{Rise, Score, Told};
pub use heating::{AgainstChart, AgainstTable, Equivalent, Heating, HeldRow};

use crate::{
    failure::Failure,
    library::Library,
    output::{Out, OutputError, Table, counted},
    run::tell::{about, cause_words, clock, decimal, done_words, estimate_words, length, peak_words},
};

/// A record with what follows from it.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The record.
    #[serde(flatten)]
    pub record: TrialRecord,
    /// Forecasts of the time to a core, held against what came.
    pub forecasts: Vec<Score>,
    /// Forecasts of a peak off the heat, held against what came.
    pub carry_overs: Vec<Rise>,
    /// Cores held against public tables.
    pub heating: Vec<Heating>,
    /// Whether the recipe that was kept with the trial still reads; without it no core is held against a table.
    pub recipe_reads: bool,
}

impl Report {
    /// The report of a trial; none if its record does not begin with the opening.
    pub fn of(file: &TrialFile) -> Result<Option<Self>, Failure> {
        let facts = file.facts().map_err(Failure::failed)?;
        let entries: Vec<Entry> = facts.into_iter().map(|stamped| stamped.entry).collect();
        let Some(record) = TrialRecord::of(&entries) else { return Ok(None) };
        let programme = Library::programme(file, &record.info.variant);
        let heating = match &programme {
            Some(programme) => Heating::of(file, &entries, &record, programme)?,
            None => Vec::new(),
        };
        Ok(Some(Self {
            forecasts: Score::of(&record, programme.as_ref()),
            carry_overs: Rise::of(&record, programme.as_ref()),
            heating,
            recipe_reads: programme.is_some(),
            record,
        }))
    }

    /// Prints it: plan against actual for each step, looks, carry-over, forecasts, cores against tables, cautions, what is
    /// missing.
    pub fn print(&self, out: &mut Out) -> Result<(), OutputError> {
        let record = &self.record;
        let info = &record.info;
        out.line(format_args!("{}, variant {}", info.title, info.variant))?;
        out.line(format_args!("trial {}   recipe {} {}", info.trial, info.recipe, short(&info.version)))?;
        let who =
            [info.cook.as_ref().map(|c| format!("cook {c}")), info.kitchen.as_ref().map(|k| format!("kitchen {k}"))];
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
        if let Some(plan) = &record.plan {
            planned::print(record, plan, out)?;
        }
        looks(record, out)?;
        self.probes(out)?;
        self.forecasts(out)?;
        self.heating(out)?;
        lists(record, out)?;
        cautions(record, out)
    }

    fn probes(&self, out: &mut Out) -> Result<(), OutputError> {
        let record = &self.record;
        for step in &record.steps {
            if let Some((at, carry_over)) = &step.pull_advised {
                out.line(format_args!(
                    "\n{}: the cook was called at {} to take it, to come to {} off the heat",
                    step.step,
                    clock(at.since(step.began)).trim(),
                    peak_words(carry_over)
                ))?;
            }
            if let Some((peak, when, rise)) = &step.peak {
                let said = self.carry_overs.iter().find(|rise| rise.rest.as_ref() == Some(&step.step));
                let said = said.map_or_else(String::new, |rise| format!("; {} was said", peak_words(&rise.said)));
                let at_least = step.peak_at_least.map_or_else(String::new, |least| {
                    format!("; it came to at least {:.1} °C, a mean less the probe's uncertainty", least.degrees())
                });
                out.line(format_args!(
                    "\ncarry-over in {}: peak {:.1} °C, {:+.1} °C since its start, {} into it{said}{at_least}",
                    step.step,
                    peak.degrees(),
                    rise.degrees(),
                    length(when.since(step.began))
                ))?;
            }
            lost(step, record, out)?;
        }
        Ok(())
    }

    fn forecasts(&self, out: &mut Out) -> Result<(), OutputError> {
        if !self.forecasts.is_empty() {
            out.line("\nforecasts")?;
        }
        for score in &self.forecasts {
            let to = match (score.at_target, score.target_celsius) {
                (true, Some(target)) => format!("time to {}", degrees(target)),
                (true, None) => "time to its target".into(),
                (false, _) => "time to the call to take it".into(),
            };
            let shown = score.shown().into_iter().map(|told| {
                let share = (told.share_thousandths + 5) / 10;
                format!("at {share} % said {}, was {}", estimate_words(&told.estimate), about(told.was))
            });
            let mut words: Vec<String> = shown.collect();
            words.push(format!("inside the band {} of {}", score.inside, score.told.len()));
            out.line(format_args!("  {}, {to}: {}", score.step, words.join("; ")))?;
        }
        Ok(())
    }

    fn heating(&self, out: &mut Out) -> Result<(), OutputError> {
        if !self.recipe_reads {
            return out
                .line("\nno core is held against a table: the recipe that was kept with the trial no longer reads");
        }
        for heating in &self.heating {
            let steps: Vec<&str> = heating.steps.iter().map(|step| step.as_str()).collect();
            out.line(format_args!(
                "\ncore of {} by probe {}, {}",
                steps.join(" and "),
                heating.probe,
                heating.corrected_by
            ))?;
            for line in heating.lines() {
                out.line(format_args!("  {line}"))?;
            }
        }
        Ok(())
    }
}

impl Heating {
    /// What it amounts to, a sentence a line.
    pub fn lines(&self) -> Vec<String> {
        let (Some(highest), Some(at_least)) = (self.highest_celsius, self.highest_at_least_celsius) else {
            return vec!["nothing was read that can be held against a table".into()];
        };
        let place = if self.places > 1 { format!(" in the coldest of {} places", self.places) } else { String::new() };
        let mut lines = vec![format!(
            "highest mean of 10 s{place} {:.1} °C, at least {:.1} °C with the probe's uncertainty against it",
            highest.degrees(),
            at_least.degrees()
        )];
        match &self.chart {
            None => lines.push(format!("no public table here names a minimum for {}", self.food.word())),
            Some(against) => {
                let minimum = against.minimum_celsius.degrees();
                let reached = match against.reached_for {
                    Some(held) => format!("reached, for {} without a break", length(held)),
                    None => "not reached".into(),
                };
                let rest = if against.rest.is_zero() {
                    String::new()
                } else {
                    format!(", with a rest of {}", length(against.rest))
                };
                lines.push(format!(
                    "minimum for {}, {minimum:.1} °C ({} °F){rest}: {reached} ({})",
                    against.food, against.minimum_fahrenheit, against.chart
                ));
            }
        }
        if let Some(against) = &self.table {
            lines.push(match &against.held {
                Some(row) => format!(
                    "held at {:.2} °C ({} °F) or more for {} without a break, {} asked, the hottest row of {}, for {}",
                    row.celsius.degrees(),
                    row.fahrenheit,
                    length(row.held),
                    if row.asked.is_zero() { "no time".into() } else { length(row.asked) },
                    against.table,
                    against.food
                ),
                None => {
                    format!("no row of {}, for {}, was held for its time without a break", against.table, against.food)
                }
            });
            if let Some(equivalent) = &against.equivalent {
                lines.push(format!("{} (counted as {})", equivalent.words, equivalent.line));
            }
        }
        lines
    }
}

fn degrees(celsius: Celsius) -> String {
    format!("{} °C", quantities::print::decimal(celsius.degrees(), 1))
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
                    ended_by(step, end.cause).into(),
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

/// By what a step ended; a press that answered the call to take the food is told from any other.
fn ended_by(step: &StepRecord, cause: trial::EndCause) -> &'static str {
    let by_call = cause == trial::EndCause::Press && step.pull_advised.is_some();
    if by_call { "called" } else { cause_words(cause) }
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

fn lost(step: &StepRecord, record: &TrialRecord, out: &mut Out) -> Result<(), OutputError> {
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
    if step.shallow_tip {
        out.line(format_args!(
            "the tip of the probe in {} may have sat too near the surface: its reading began to rise sooner than the middle of a piece does",
            step.step
        ))?;
    }
    if !step.deviations.is_empty() {
        out.line(format_args!("deviations in {}: {}", step.step, step.deviations.join("; ")))?;
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
        Some(day) => words += &format!(", checked {day}"),
        None => words += ", no check on file",
    }
    if let Some(by) = piece.calibration {
        let calibrated = run_engine::Calibrated { by, age: piece.calibration_age };
        words += &format!(", {}", heating::corrected_words(&calibrated));
    }
    words
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
