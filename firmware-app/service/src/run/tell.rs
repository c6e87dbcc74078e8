//! A fact as a line of plain words, for a terminal without a picture and for a log.

use quantities::{NoReading, RunTime, Span};
use trial::{
    AlertKind, CarryOver, Dark, DoneTime, EndCause, Entry, Estimate, Fact, LandingMoved, LandingPlanned, PlanFit,
    PlanWhy, Priority, Verdict, Withheld,
};

/// The line for an entry; none for what nobody needs to read while it happens.
pub fn line(entry: &Entry, opened: RunTime) -> Option<String> {
    let words = plan_words(&entry.fact, opened).or_else(|| words(&entry.fact))?;
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

/// What a fact says of the plan, with moments counted from the start of the trial.
#[allow(clippy::wildcard_enum_match_arm, reason = "every other fact has its words elsewhere")]
fn plan_words(fact: &Fact, opened: RunTime) -> Option<String> {
    let at = |moment: RunTime| clock(moment.since(opened)).trim_start().to_owned();
    let (head, why, mut parts, fit) = match fact {
        Fact::PlanMade { why, starts, landings, fit } => {
            let landing = |made: &LandingPlanned| format!("{} at {}", made.name, at(made.at));
            let mut parts: Vec<String> = landings.iter().map(landing).collect();
            let first = starts.iter().min_by_key(|start| start.at);
            parts.extend(first.map(|first| format!("{} first, at {}", first.step, at(first.at))));
            ("made", why, parts, fit)
        }
        Fact::PlanMoved { why, moved, landings, dropped: _, fit } => {
            let landing = |moved: &LandingMoved| match moved.was {
                Some(was) => format!("{} at {}, was {}", moved.name, at(moved.now), at(was)),
                None => format!("{} at {}", moved.name, at(moved.now)),
            };
            let mut parts: Vec<String> = landings.iter().map(landing).collect();
            parts.extend(moved.iter().map(|start| match start.was {
                Some(was) => format!("{} at {}, was {}", start.step, at(start.now), at(was)),
                None => format!("{} at {}", start.step, at(start.now)),
            }));
            ("moved", why, parts, fit)
        }
        _ => return None,
    };
    match fit {
        PlanFit::Fits => {}
        PlanFit::Late { by } => parts.push(format!("late by {}", length(*by))),
        PlanFit::Cannot { reason } => parts.push(format!("cannot fit: {reason}")),
    }
    let why = plan_why(why);
    Some(format!("plan    {head}, {why}: {}", parts.join("; ")))
}

/// Why a plan was made, as part of a sentence.
pub fn plan_why(why: &PlanWhy) -> String {
    match why {
        PlanWhy::Opened => "the trial begins".into(),
        PlanWhy::Late { step, by } => format!("{step} {} late", length(*by)),
        PlanWhy::Early { step, by } => format!("{step} {} early", length(*by)),
        PlanWhy::Foreseen { step, by } if by.is_early() => format!("{step} will end {} earlier", length(by.size())),
        PlanWhy::Foreseen { step, by } => format!("{step} will end {} later", length(by.size())),
        PlanWhy::TrialOpened => "another trial begins".into(),
        PlanWhy::Kept => "the cook keeps the old plan".into(),
        PlanWhy::Wanted => "wanted at another time".into(),
        PlanWhy::Skipped { step } => format!("{step} skipped"),
        PlanWhy::Resumed => "the station was off".into(),
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
        Fact::PullAdvised { step, carry_over, .. } => {
            format!("take    {step}: its core comes to {} off the heat", peak_words(carry_over))
        }
        Fact::Predicted { step, estimate } => format!("time    {step}: about {}", estimate_words(estimate)),
        Fact::PullWithdrawn { step } => format!("leave   {step}: its core would not come to its target off the heat"),
        Fact::CarryPredicted { step, core_celsius, carry_over } => {
            let from = core_celsius.map_or_else(String::new, |core| format!(", from {:.1} °C", core.degrees()));
            format!("peak    {step}: {} foretold{from}", peak_words(carry_over))
        }
        Fact::TipMayBeShallow { step, .. } => {
            format!("tip     of the probe in {step} may sit too near the surface: see that it is in the middle")
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
        Fact::RestPlanned { step, .. } => format!("rest    {step} goes on, to land together"),
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
        | Fact::PlanMade { .. }
        | Fact::PlanMoved { .. }
        | Fact::Corrected { .. } => return None,
    })
}

/// `66.1 °C (64.9 to 67.5) after 7 min`: half of such rests, four of five.
pub fn peak_words(carry: &CarryOver) -> String {
    let [peak, low, high] =
        [carry.peak_celsius, carry.low_celsius, carry.high_celsius].map(|celsius| format!("{:.1}", celsius.degrees()));
    format!("{peak} °C ({low} to {high}) after {}", about(carry.after))
}

/// `9 min (7 to 12)`, `3:10 min (2:50 to 3:30)`, `40 s (30 to 60)`: half of such cooks, four of five.
pub fn estimate_words(estimate: &Estimate) -> String {
    let Estimate { median, low, high } = *estimate;
    let tens = |span: Span| (span.whole_secs() + 5) / 10 * 10;
    if high < Span::from_mins(2) {
        return format!("{} s ({} to {})", tens(median), tens(low), tens(high));
    }
    // where the ends are a minute or two apart, minutes say too little
    if high.saturating_sub(low) < Span::from_mins(2) {
        let [median, low, high] = [median, low, high].map(|span| clock(Span::from_secs(tens(span))));
        return format!("{} min ({} to {})", median.trim(), low.trim(), high.trim());
    }
    let mins = |span: Span| (span.whole_secs() + 30) / 60;
    format!("{} min ({} to {})", mins(median), mins(low), mins(high))
}

/// To the minute, and to ten seconds below three.
pub fn about(span: Span) -> String {
    let every = if span < Span::from_mins(3) { 10 } else { 60 };
    length(Span::from_secs((span.whole_secs() + every / 2) / every * every))
}

/// Why there is no estimate, in words.
pub fn withheld_words(why: Withheld) -> &'static str {
    match why {
        Withheld::TooEarly => "too early to tell",
        Withheld::NoRise => "hardly any rise yet",
        Withheld::Thawing => "still thawing",
        Withheld::MayNotReach => "may not come there",
        Withheld::NoReading => "no reading",
    }
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

    fn carry_over() -> CarryOver {
        let celsius = |tenths: i32| quantities::Celsius::from_ten_thousandths(tenths * 1000).expect("a kitchen's");
        CarryOver {
            peak_celsius: celsius(661),
            low_celsius: celsius(649),
            high_celsius: celsius(675),
            after: Span::from_secs(425),
            after_low: Span::from_mins(5),
            after_high: Span::from_mins(10),
        }
    }

    #[test]
    fn the_call_to_take_food_says_where_its_core_will_come() {
        let step = recipe_model::StepId::new("loin.roast");
        let core_celsius = Some(quantities::Celsius::whole(61));
        let advised = words(&Fact::PullAdvised { step: step.clone(), core_celsius, carry_over: carry_over() });
        let expected = "take    loin.roast: its core comes to 66.1 °C (64.9 to 67.5) after 7 min off the heat";
        assert_eq!(advised.as_deref(), Some(expected));
        let foretold = words(&Fact::CarryPredicted { step: step.clone(), core_celsius, carry_over: carry_over() });
        let expected = "peak    loin.roast: 66.1 °C (64.9 to 67.5) after 7 min foretold, from 61.0 °C";
        assert_eq!(foretold.as_deref(), Some(expected));
        let tip = words(&Fact::TipMayBeShallow { step, ratio_thousandths: 214 });
        assert!(tip.is_some_and(|tip| tip.contains("loin.roast may sit too near the surface")));
    }

    #[test]
    fn an_estimate_is_told_no_finer_than_it_is_known() {
        let estimate = |median, low, high| {
            let [median, low, high] = [median, low, high].map(Span::from_secs);
            estimate_words(&Estimate { median, low, high })
        };
        assert_eq!(estimate(545, 425, 700), "9 min (7 to 12)");
        assert_eq!(estimate(192, 172, 208), "3:10 min (2:50 to 3:30)");
        assert_eq!(estimate(42, 31, 58), "40 s (30 to 60)");
        assert_eq!(about(Span::from_secs(95)), "1 min 40 s");
    }

    #[test]
    fn a_lost_probe_is_told_in_words_of_a_kitchen() {
        assert_eq!(no_reading_words(NoReading::Open), "broken wire or loose plug");
    }
}
