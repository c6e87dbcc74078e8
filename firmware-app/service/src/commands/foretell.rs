//! Replays a curve, or a step of a trial, through what foretells at the station.

mod curve;
mod replay;

use std::sync::Arc;

use quantities::{Celsius, CelsiusStep, Range, RunTime, Span};
use recipe_model::{
    Appliance, ApplianceKind, CoreTarget, Fallback, Looks, ProbeName, Programme, Setting, Stage, Step, Until, Window,
};
use run_engine::{
    Calibrated,
    predict::{Change, History, Job, Learnt},
};
use serde_json::{Value, json};
use thermometry::Place;
use trial::{Entry, Equipment, Estimate, Fact, record::in_force};

use super::foresight;
use crate::{
    args::{Foretell, HeatedBy},
    commands::Session,
    failure::{Failure, Outcome},
    library::Library,
    output::Out,
    report::Report,
    run::{
        calibration,
        tell::{clock, estimate_words, length, peak_words, withheld_words},
    },
};
use curve::{CurveError, Row};
use replay::{Line, Replay, Replayed};

pub(super) fn run(args: &Foretell, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    if args.every < SHORTEST {
        return Err(Failure::usage(format!(
            "expected --every of {} or more, found {}",
            length(SHORTEST),
            length(args.every)
        )));
    }
    let subject = match (&args.trial, &args.step) {
        (Some(trial), Some(step)) => of_trial(trial, step, session)?,
        (Some(_) | None, _) => of_curve(args)?,
    };
    let knowledge = foresight::opened()?;
    // twins of one cook differ by this much in their logarithms (simulated)
    let history = args.history.map(|time| History { time, spread: 0.09 });
    let replay = Replay {
        job: Job {
            began: subject.began,
            target: &subject.target,
            appliance: subject.appliance,
            setting: subject.setting.as_ref(),
            history,
        },
        place: subject.place(),
        calibrated: subject.calibrated,
        rows: &subject.rows,
        changes: &subject.changes,
        every: args.every,
    };
    let replayed = replay.run(&Learnt::new(Arc::clone(&knowledge)));
    if args.json {
        subject.print_json(&replayed, out)?
    } else {
        subject.print(&replayed, out)?
    }
    Ok(Outcome::Done)
}

/// Looks closer together than a probe is read see nothing new.
const SHORTEST: Span = Span::from_secs(1);

/// What is replayed.
struct Subject {
    name: String,
    /// What heats it, in the words of the asker or of the recipe.
    heated_by: String,
    began: RunTime,
    target: CoreTarget,
    appliance: Appliance,
    setting: Option<Setting>,
    calibrated: Calibrated,
    rows: Vec<Row>,
    changes: Vec<(RunTime, Change)>,
}

fn of_curve(args: &Foretell) -> Result<Subject, Failure> {
    let (Some(path), Some(target), Some(heated_by)) = (&args.curve, args.target, args.appliance) else {
        return Err(Failure::usage("expected a curve with --target and --appliance, or --trial with --step"));
    };
    if args.dial.is_some() && heated_by != HeatedBy::Oven {
        return Err(Failure::usage("expected --dial with --appliance oven alone: pans and microwaves have none"));
    }
    let rows = curve::read(path, args.id.as_deref()).map_err(|why| {
        let told = if let CurveError::Unreadable(why) = &why {
            format!("cannot read {}: {why}", path.display())
        } else {
            format!("{}: {why}", path.display())
        };
        if why.is_of_the_asker() { Failure::usage(told) } else { Failure::Failed(told.into()) }
    })?;
    let began = rows.first().map_or(RunTime::START, |row| row.at);
    let (kind, word) = match heated_by {
        HeatedBy::Oven => (ApplianceKind::Oven, "oven"),
        HeatedBy::Pan => (ApplianceKind::Burner, "pan"),
        HeatedBy::Microwave => (ApplianceKind::Microwave, "microwave"),
    };
    let turns = args.turn.iter().map(|turn| (began + *turn, Change::Turned));
    let mut changes: Vec<_> = turns.chain(args.change.iter().map(|at| (began + *at, Change::Setting))).collect();
    changes.sort_by_key(|(at, _)| *at);
    let id = args.id.as_ref().map_or_else(String::new, |id| format!(", {id}"));
    Ok(Subject {
        name: format!("{}{id}", path.display()),
        heated_by: word.into(),
        began,
        target: bare_target(target),
        appliance: Appliance { kind, number: 1 },
        setting: args.dial.map(|at| Setting::Heat { at, fan: false }),
        calibrated: Calibrated::never(),
        rows,
        changes,
    })
}

/// A target of which nothing is known but its temperature; predictions hang on nothing else.
fn bare_target(target: Celsius) -> CoreTarget {
    let (span, long) = (Span::ZERO, Range::exactly(Span::ZERO));
    let window = Window { first: span, every: span, no_later: span };
    CoreTarget {
        target,
        hold: span,
        hysteresis: CelsiusStep::HALF,
        points: 1,
        probe: ProbeName::new("core"),
        expect: long,
        protects: false,
        in_rest: false,
        not_below: None,
        fallback: Fallback { expect: long, looks: Looks { cue: String::new(), window } },
    }
}

fn of_trial(trial: &str, asked: &str, session: &Session) -> Result<Subject, Failure> {
    let file = Library::at(&session.settings.data_dir.value).read(trial)?;
    let facts = file.facts().map_err(Failure::failed)?;
    let entries: Vec<Entry> = facts.into_iter().map(|stamped| stamped.entry).collect();
    let record = Report::of(&file)?.map(|report| report.record).ok_or_else(|| Library::no_opening(&file))?;
    let programme = Library::programme(&file, &record.info.variant).ok_or_else(|| {
        Failure::Failed(format!("the recipe that was kept with trial {trial} no longer reads").into())
    })?;
    let cores: Vec<(&Stage, &Step, &CoreTarget)> = cores(&programme);
    let (stage, step, target) = *cores.iter().find(|(_, step, _)| step.id.as_str() == asked).ok_or_else(|| {
        let known: Vec<&str> = cores.iter().map(|(_, step, _)| step.id.as_str()).collect();
        let known = if known.is_empty() { "it has none".to_owned() } else { known.join(", ") };
        Failure::usage(format!("expected a step of {trial} that ends by its core ({known}), found {asked}"))
    })?;
    let ran = record.steps.iter().rev().find(|ran| ran.step == step.id);
    let ran = ran.ok_or_else(|| Failure::Failed(format!("{asked} of trial {trial} never began").into()))?;
    let ended = ran.end.as_ref().map_or(RunTime::NEVER, |end| end.at);
    let within = |at: RunTime| (ran.began..=ended).contains(&at);
    let mut rows: Vec<Row> = Vec::new();
    let core = Library::samples(&file, &target.probe)?;
    rows.extend(core.iter().map(|sample| Row { at: sample.at, core: Some(sample.reading), air: None }));
    if let Some(air) = air_beside(&programme, stage, &target.probe) {
        let air = Library::samples(&file, air)?;
        rows.extend(air.iter().map(|sample| Row { at: sample.at, core: None, air: sample.reading.ok() }));
    }
    rows.retain(|row| within(row.at));
    rows.sort_by_key(|row| row.at);
    if rows.iter().all(|row| row.core.is_none()) {
        return Err(Failure::Failed(format!("nothing of probe {} is on record in {asked}", target.probe).into()));
    }
    let noted: Vec<&Equipment> = record.equipment.iter().collect();
    let name = calibration::equipment_name(&target.probe);
    let device = noted.iter().rev().find(|it| it.name == name).and_then(|it| it.device.as_deref());
    Ok(Subject {
        name: format!("{asked} of trial {trial}"),
        heated_by: stage.appliance.to_string(),
        began: ran.began,
        target: target.clone(),
        appliance: stage.appliance,
        setting: step.setting.clone(),
        calibrated: calibration::recorded(&noted, &target.probe, device.unwrap_or_default()),
        rows,
        changes: changes(&entries, step).into_iter().filter(|(at, _)| within(*at)).collect(),
    })
}

fn cores(programme: &Programme) -> Vec<(&Stage, &Step, &CoreTarget)> {
    let core_of = programme.steps().filter_map(|(_, stage, step)| match &step.until {
        Until::Core(target) => Some((stage, step, target)),
        Until::Time { .. }
        | Until::Cue { .. }
        | Until::Cook { .. }
        | Until::Heat { .. }
        | Until::Rest { .. }
        | Until::Rounds { .. } => None,
    });
    core_of.collect()
}

/// The probe in the air of the appliance: the one by which a step heats it.
fn air_beside<'a>(programme: &'a Programme, stage: &Stage, core: &ProbeName) -> Option<&'a ProbeName> {
    let at_it = programme.steps().filter(|(_, other, _)| other.appliance == stage.appliance);
    let heats = at_it.filter(|(_, _, step)| matches!(step.until, Until::Heat { .. }));
    heats.filter_map(|(_, _, step)| step.until.probe()).find(|probe| *probe != core)
}

/// What the cook declared in a step, as the engine took it.
#[allow(clippy::wildcard_enum_match_arm, reason = "three kinds of facts change how food heats")]
fn changes(entries: &[Entry], step: &Step) -> Vec<(RunTime, Change)> {
    let of_step = in_force(entries).into_iter().filter(|entry| entry.fact.step() == Some(&step.id));
    let changes = of_step.filter_map(|entry| match &entry.fact {
        Fact::HalfTurned { .. } => Some((entry.at, Change::Turned)),
        Fact::EventDone { .. } | Fact::BranchTaken { .. } => Some((entry.at, Change::Setting)),
        _ => None,
    });
    changes.collect()
}

impl Subject {
    fn place(&self) -> Place {
        let heat = match self.appliance.kind {
            ApplianceKind::Microwave => thermometry::Heat::Microwave,
            ApplianceKind::Oven | ApplianceKind::Burner => thermometry::Heat::Outside,
            ApplianceKind::Bench | ApplianceKind::Fridge => thermometry::Heat::Nothing,
        };
        // sugar and fat may be hotter than boiling water
        let hottest = Celsius::whole(105).max(self.target.target + CelsiusStep::whole(25));
        Place::Food { heat, hottest }
    }

    fn since(&self, at: RunTime) -> String {
        format!("{:>8}", clock(at.since(self.began)).trim())
    }

    fn print(&self, replayed: &Replayed, out: &mut Out) -> Result<(), Failure> {
        let target = self.target.target.degrees();
        let dial = match &self.setting {
            Some(Setting::Heat { at, .. }) => format!(" at {:.0} °C", at.degrees()),
            Some(Setting::Power(power)) => format!(" at {:.0} W", power.units()),
            Some(Setting::Level(level)) => format!(", {level}"),
            None => String::new(),
        };
        out.line(format_args!("{}: to {target:.1} °C, {}{dial}", self.name, self.heated_by))?;
        for line in &replayed.lines {
            match line {
                Line::Look(look) => {
                    let core = look.core.map_or("--".into(), |core| format!("{:.1} °C", core.degrees()));
                    let told = match &look.told {
                        Ok(estimate) if estimate.high.is_zero() => "at its target".into(),
                        Ok(estimate) => format!("about {}", estimate_words(estimate)),
                        Err(why) => format!("none: {}", withheld_words(*why)),
                    };
                    let taken = look
                        .carry_over
                        .as_ref()
                        .map_or_else(String::new, |carry| format!("if taken now: {}", peak_words(carry)));
                    let line = format!("{}  {core:>8}  {told:<33}{taken}", self.since(look.at));
                    out.line(line.trim_end())?;
                }
                Line::Probe { at, words } => out.line(format_args!("{}  probe: {words}", self.since(*at)))?,
                Line::Changed { at, change } => {
                    out.line(format_args!("{}  {}", self.since(*at), changed_words(*change)))?;
                }
            }
        }
        let called = |at: Option<RunTime>| match at {
            Some(at) => format!("at {}", clock(at.since(self.began)).trim()),
            None => "never".into(),
        };
        out.line("")?;
        out.line(format_args!("{target:.1} °C was reached"))?;
        out.line(format_args!("  by the first single reading          {}", called(replayed.first)))?;
        out.line(format_args!("  by the line through half a minute    {}", called(replayed.done)))?;
        out.line(format_args!("  by the mean of 10 s                  {}", called(replayed.mean)))?;
        out.line(format_args!(
            "  by that mean less {:.2} °C            {}",
            replayed.uncertainty.degrees(),
            called(replayed.protects)
        ))?;
        let scores = self.scores(replayed);
        if scores.is_empty() {
            return Ok(());
        }
        let inside = scores.iter().filter(|score| score.inside).count();
        let at_share = |share: f64| {
            let near = scores.iter().min_by(|a, b| (a.share - share).abs().total_cmp(&(b.share - share).abs()))?;
            let is_near = (near.share - share).abs() <= 0.05;
            is_near.then(|| format!("at {:.0} % {:+.1}", share * 100.0, near.error_percent))
        };
        let errors: Vec<String> = [0.25, 0.5, 0.75].into_iter().filter_map(at_share).collect();
        let errors = if errors.is_empty() {
            "none told near a quarter, half or three quarters".into()
        } else {
            errors.join(", ")
        };
        out.line(format_args!(
            "error of the middle in % of the whole time, held against that line: {errors}; inside the band {inside} of {}",
            scores.len()
        ))?;
        Ok(())
    }

    fn print_json(&self, replayed: &Replayed, out: &mut Out) -> Result<(), Failure> {
        let since = |at: RunTime| at.since(self.began);
        let scores = self.scores(replayed);
        let mut line = |value: Value| out.line(value);
        for told in &replayed.lines {
            line(match told {
                Line::Look(look) => json!({
                    "at": since(look.at),
                    "core_celsius": look.core,
                    "estimate": look.told.ok(),
                    "withheld": look.told.err(),
                    "carry_over": look.carry_over,
                    "error_percent": scores.iter().find(|score| score.at == look.at).map(|score| score.error_percent),
                }),
                Line::Probe { at, words } => json!({ "at": since(*at), "probe": words }),
                Line::Changed { at, change } => json!({ "at": since(*at), "changed": changed_words(*change) }),
            })?;
        }
        line(json!({
            "target_celsius": self.target.target,
            "reached": {
                "first_reading": replayed.first.map(since),
                "line": replayed.done.map(since),
                "mean": replayed.mean.map(since),
                "mean_less_uncertainty": replayed.protects.map(since),
            },
            "uncertainty_celsius": replayed.uncertainty,
            "told": scores.len(),
            "inside": scores.iter().filter(|score| score.inside).count(),
        }))?;
        Ok(())
    }

    /// Every forecast before the target, held against the moment at which the line reached it.
    fn scores(&self, replayed: &Replayed) -> Vec<Score> {
        let Some(done) = replayed.done else { return Vec::new() };
        let whole = done.since(self.began).secs();
        let score = |line: &Line| match line {
            Line::Look(look) if look.at < done => {
                let Estimate { median, low, high } = look.told.ok()?;
                let left = done.since(look.at);
                Some(Score {
                    at: look.at,
                    share: look.at.since(self.began).secs() / whole,
                    error_percent: ((median.secs() - left.secs()) / whole * 1000.0).round() / 10.0,
                    inside: (low..=high).contains(&left),
                })
            }
            Line::Look(_) | Line::Probe { .. } | Line::Changed { .. } => None,
        };
        replayed.lines.iter().filter_map(score).collect()
    }
}

/// A forecast held against what came.
struct Score {
    at: RunTime,
    share: f64,
    error_percent: f64,
    inside: bool,
}

fn changed_words(change: Change) -> &'static str {
    match change {
        Change::Turned => "turned",
        Change::Setting => "set otherwise, covered or moved",
    }
}
