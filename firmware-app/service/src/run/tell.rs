//! A fact as a line of plain words, for a terminal without a picture and for a log.

use quantities::{NoReading, RunTime, Span};
use trial::{AlertKind, Dark, DoneTime, EndCause, Entry, Fact, Priority, Verdict};

/// The line for an entry; none for what nobody needs to read while it happens.
pub fn line(entry: &Entry, opened: RunTime) -> Option<String> {
    let words = words(&entry.fact)?;
    Some(format!("{}  {words}", clock(entry.at.since(opened))))
}

/// `1:23:45` or `3:07` from the start of the trial.
pub fn clock(span: Span) -> String {
    let s = span.whole_secs();
    if s >= 3600 {
        format!("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
    } else {
        format!("{:>4}:{:02}", s / 60, s % 60)
    }
}

/// `12 min 30 s`, `45 s`, `1 h 5 min`.
pub fn length(span: Span) -> String {
    let s = (span.millis() + 500) / 1000;
    match (s / 3600, s / 60 % 60, s % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, 0) => format!("{m} min"),
        (0, m, s) => format!("{m} min {s} s"),
        (h, 0, _) => format!("{h} h"),
        (h, m, _) => format!("{h} h {m} min"),
    }
}

fn words(fact: &Fact) -> Option<String> {
    Some(match fact {
        Fact::TrialOpened(info) => format!("{} ({}), trial {}", info.title, info.variant, info.trial),
        Fact::StepBegan { step, cautions, .. } => {
            let cautions: Vec<&str> = cautions.iter().map(|caution| caution.text()).collect();
            let warning =
                if cautions.is_empty() { String::new() } else { format!("   caution: {}", cautions.join("; ")) };
            format!("begins  {step}{warning}")
        }
        Fact::StepDue { step } => format!("due     {step}"),
        Fact::Looked { step, verdict, core_celsius, .. } => {
            let core = core_celsius.map_or_else(String::new, |core| format!(" at {:.1} °C", core.degrees()));
            let verdict = match verdict {
                Verdict::NotYet => "not yet",
                Verdict::Done => "done",
                Verdict::Over => "over",
            };
            format!("look    {step}: {verdict}{core}")
        }
        Fact::StepEnded { step, cause, ran, core_celsius, .. } => {
            let core = core_celsius.map_or_else(String::new, |core| format!(" at {:.1} °C", core.degrees()));
            format!("ends    {step} after {}: {}{core}", length(*ran), cause_words(*cause))
        }
        Fact::TakenOff { step, core_celsius } => {
            let core = core_celsius.map_or_else(String::new, |core| format!(" at {:.1} °C", core.degrees()));
            format!("off     {step}{core}")
        }
        Fact::HalfTurned { step, first_half } => format!("turned  {step} after {}", length(*first_half)),
        Fact::EventDone { step, .. } => format!("done    inside {step}"),
        Fact::Marked { event } => format!("seen    {event}"),
        Fact::BranchTaken { step, branch } => format!("branch  {step}: {branch}"),
        Fact::RoundEnded { step, round, took } => format!("round   {round} of {step} took {}", length(*took)),
        Fact::Held { step, .. } => format!("held    {step}"),
        Fact::WentOn { step } => format!("goes on {step}"),
        Fact::TimeChanged { step, by } => format!("time    {step} changed by {} s", by.millis() / 1000),
        Fact::TargetCrossed { step, core_celsius, .. } => {
            format!("target  {step} at {:.1} °C, the hold runs", core_celsius.degrees())
        }
        Fact::HoldBroken { step, .. } => format!("target  {step} fell below, the hold starts again"),
        Fact::PointHeld { step, point, core_celsius } => {
            format!("place   {point} of {step} held at {:.1} °C", core_celsius.degrees())
        }
        Fact::ProbeLost { probe, step, why, .. } => format!("PROBE LOST {probe} in {step}: {}", no_reading_words(*why)),
        Fact::ProbeBack { probe, step, lost_for } => {
            format!("probe   {probe} in {step} is back after {}", length(*lost_for))
        }
        Fact::FellBack { step } => format!("by time {step} goes by time and sign"),
        Fact::AlertRaised { stage, kind, priority, .. } => {
            let mark = match priority {
                Priority::High => "!!",
                Priority::Medium => "! ",
                Priority::Low => ". ",
            };
            format!("{mark}      {stage}: {}", alert_words(*kind))
        }
        Fact::PowerOff { dark: Dark::Known(span) } => format!("power was off for {}", length(*span)),
        Fact::PowerOff { dark: Dark::AtLeast(span) } => format!("power was off, for at least {}", length(*span)),
        Fact::StillCooking { stage, yes } => {
            format!("{stage}: {}", if *yes { "still cooking" } else { "not cooking any more" })
        }
        Fact::ClockStepped { by } => format!("the wall clock was set by {} s; no timer moved", by.millis() / 1000),
        Fact::Undone { .. } => "undone  the last action".into(),
        Fact::StageStopped { stage, .. } => format!("stopped {stage}"),
        Fact::TrialClosed { given_up: false, .. } => "all done".into(),
        Fact::TrialClosed { given_up: true, .. } => "given up".into(),
        Fact::TrialReopened => "opened again".into(),
        Fact::Noted { text, .. } => format!("note    {text}"),
        Fact::Weighed { ingredient, amount_thousandths, within } => {
            let out = if *within { "" } else { ", outside its tolerance" };
            format!("weighed {ingredient} {:.1}{out}", *amount_thousandths as f64 / 1000.0)
        }
        Fact::Measured { what, value_thousandths, unit } => {
            let unit = unit.as_ref().map_or_else(String::new, |unit| format!(" {unit}"));
            format!("measure {what}: {}{unit}", decimal(*value_thousandths))
        }
        Fact::StepReady { .. }
        | Fact::StepWaits { .. }
        | Fact::HalfCalled { .. }
        | Fact::Beat { .. }
        | Fact::BeatDone { .. }
        | Fact::EventCalled { .. }
        | Fact::ProbeMoved { .. }
        | Fact::Predicted { .. }
        | Fact::PullAdvised { .. }
        | Fact::CarryPredicted { .. }
        | Fact::TipMayBeShallow { .. }
        | Fact::EquipmentNoted(_)
        | Fact::PeakSeen { .. }
        | Fact::AlertAcknowledged { .. }
        | Fact::AlertShelved { .. }
        | Fact::AlertUnshelved { .. }
        | Fact::AlertCleared { .. }
        | Fact::Interrupted { .. }
        | Fact::PhotoTaken { .. }
        | Fact::CookChanged { .. }
        | Fact::QuietSet { .. }
        | Fact::Corrected { .. } => return None,
    })
}

/// Why there is no reading, in words.
pub fn no_reading_words(why: NoReading) -> &'static str {
    match why {
        NoReading::Unplugged => "unplugged",
        NoReading::Timeout => "no answer",
        NoReading::Garbled => "garbled answer",
        NoReading::Open => "broken wire or loose plug",
        NoReading::ShortToGround => "short to ground",
        NoReading::ShortToSupply => "short to supply",
        NoReading::OutOfRange => "out of its range",
        NoReading::PowerOnValue => "not measured yet",
        NoReading::Stuck => "stuck at one value",
        NoReading::Jumped => "jumped",
    }
}

/// `12`, `12.3`: thousandths with one place at most.
pub fn decimal(thousandths: i64) -> String {
    if thousandths % 1000 == 0 {
        format!("{}", thousandths / 1000)
    } else {
        format!("{:.1}", thousandths as f64 / 1000.0)
    }
}

/// What ended a step, in words.
pub fn cause_words(cause: EndCause) -> &'static str {
    match cause {
        EndCause::Press => "pressed",
        EndCause::LookDone => "looked done",
        EndCause::LookOver => "looked over",
        EndCause::CoreHeld => "core held",
        EndCause::HeatReached => "hot",
        EndCause::Skipped => "skipped",
        EndCause::Stopped => "stopped",
    }
}

/// When a step was truly done, in words, from the start of the step.
pub fn done_words(done: &DoneTime, began: RunTime) -> String {
    let at = |moment: RunTime| clock(moment.since(began)).trim().to_owned();
    match done {
        DoneTime::Exact { at: moment } => format!("at {}", at(*moment)),
        DoneTime::Between { after, by } => format!("{} to {}", at(*after), at(*by)),
        DoneTime::Before { by } => format!("by {}", at(*by)),
        DoneTime::After { after, reason } => format!("not by {} ({})", at(*after), reason.text()),
        DoneTime::Timed => "timed".into(),
    }
}

fn alert_words(kind: AlertKind) -> &'static str {
    match kind {
        AlertKind::Overdue => "overdue",
        AlertKind::ProbeLost => "probe lost",
        AlertKind::StillCooking => "still cooking?",
        AlertKind::Due => "due",
        AlertKind::Inside => "something to do inside",
        AlertKind::Question => "look",
        AlertKind::Window => "look",
        AlertKind::Ready => "ready to start",
        AlertKind::Soon => "due soon",
        AlertKind::OnHold => "on hold for long",
        AlertKind::WasLost => "the probe was lost",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_is_told_with_its_unit_and_a_score_without() {
        let measured = |what: &str, value_thousandths, unit: Option<&str>| {
            words(&Fact::Measured { what: what.into(), value_thousandths, unit: unit.map(Into::into) })
        };
        assert_eq!(measured("loin", 912_500, Some("g")).as_deref(), Some("measure loin: 912.5 g"));
        assert_eq!(measured("liking", 7_000, None).as_deref(), Some("measure liking: 7"));
    }

    #[test]
    fn a_lost_probe_is_told_in_words_of_a_kitchen() {
        assert_eq!(no_reading_words(NoReading::Open), "broken wire or loose plug");
    }
}
