//! What is said of a core: its reading and how far that is believed, the time left, what a rest would bring it to, and
//! what a rest brought against what was said before.

use alloc::{format, string::String, vec::Vec};

use quantities::{Celsius, RunTime, Span};
use run_engine::view::{LaneState, ProbeView, StageView};
use thermometry::{Doubt, Fault, Quality};
use trial::{CarryOver, Estimate, Withheld};
use words::{Language, Text};

use super::alerts::lost_why;
use crate::{
    StationView,
    number::{self, DOUBT, Figures, Units},
};

/// A reading older than this is shown with its age.
const FRESH: Span = Span::from_secs(5);

/// How old the reading is that is shown, if it is too old to stand without that.
pub(super) fn age(probe: &ProbeView, now: RunTime) -> Option<Span> {
    probe.last.map(|(_, at)| now.since(at)).filter(|age| *age > FRESH)
}

/// Whether the reading that is shown may be wrong, or is old.
pub(super) fn is_doubtful(probe: &ProbeView, now: RunTime) -> bool {
    let believed = match probe.quality {
        None | Some(Quality::Good) => true,
        Some(Quality::Doubtful(_) | Quality::Bad(_)) => false,
    };
    probe.last.is_some() && (!believed || age(probe, now).is_some())
}

fn mark(probe: &ProbeView, now: RunTime) -> &'static str {
    if is_doubtful(probe, now) { DOUBT } else { "" }
}

/// The reading that is shown. Where it has to come to something and did not, one above that is not believed: then it is
/// the highest that was.
fn shown(probe: &ProbeView) -> Option<Celsius> {
    let (last, _) = probe.last?;
    let believed = still_wanted(probe).is_none_or(|wanted| last < wanted);
    if believed { Some(last) } else { highest(probe).or(Some(last)) }
}

/// The reading as a page shows it: `64.2°`; no tenth more than it has where it has to come to something.
pub(super) fn reading(probe: &ProbeView, units: Units) -> String {
    let words = |celsius| match still_wanted(probe) {
        Some(_) => number::tenths_reached(celsius, units),
        None => number::band_temperature(celsius, units),
    };
    shown(probe).map_or_else(|| "--°".into(), words)
}

/// The same in words, with its mark: `64.2°?`.
pub(super) fn marked_reading(probe: &ProbeView, now: RunTime, units: Units) -> String {
    format!("{}{}", reading(probe, units), mark(probe, now))
}

/// The reading as a cell shows it: `64°`, and its mark.
pub(super) fn figures(probe: &ProbeView, now: RunTime, units: Units) -> Figures {
    let words = |celsius| match still_wanted(probe) {
        Some(_) => number::degrees_reached(celsius, units),
        None => number::whole_degrees(celsius, units),
    };
    let digits = shown(probe).map_or_else(|| "--°".into(), words);
    // three figures and the mark have no room for the degree sign
    let bare = String::from(digits.trim_end_matches('°'));
    let mark = mark(probe, now);
    let long = !mark.is_empty() && bare.chars().count() > 2;
    let digits = if long { Text::from(digits).or(bare) } else { Text::from(digits) };
    Figures { unit: mark, ..Figures::plain(digits) }
}

/// What a core still has to come to in a rest; nothing once it came to it.
pub(super) fn still_wanted(probe: &ProbeView) -> Option<Celsius> {
    probe.wanted.filter(|wanted| highest(probe).is_none_or(|peak| peak < *wanted))
}

/// How high a core came in a rest, as far as that counts.
fn highest(probe: &ProbeView) -> Option<Celsius> {
    let peak = probe.peak.map(|(peak, _)| peak);
    if probe.wanted.is_some() { probe.counted.or(peak) } else { peak }
}

/// What a core has to come to that did not in its rest, which is over.
pub(super) fn missed(stage: &StageView) -> Option<(&ProbeView, Celsius)> {
    let probe = stage.probe.as_ref().filter(|_| is_due(&stage.state))?;
    still_wanted(probe).map(|wanted| (probe, wanted))
}

/// The target to which food comes off the heat, after the cook was called to take it.
pub(super) fn called(stage: &StageView) -> Option<Celsius> {
    stage.probe.as_ref().filter(|probe| probe.called && is_due(&stage.state))?.target
}

fn is_due(state: &LaneState) -> bool {
    match state {
        LaneState::Due { .. } | LaneState::Overdue { .. } => true,
        LaneState::Waiting { .. }
        | LaneState::Ready { .. }
        | LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Window { .. }
        | LaneState::Question { .. }
        | LaneState::Inside { .. }
        | LaneState::ProbeLost { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => false,
    }
}

/// What the time left leads to, as a number: where the food is to be taken, or its target.
fn goal(probe: &ProbeView, units: Units) -> Option<String> {
    let take_at = probe.take_at.map(|core| number::band_temperature(core, units));
    take_at.or(probe.target.map(|target| number::whole_degrees(target, units)))
}

/// The target in whole degrees: where food is taken before it wanders, and would look like another recipe.
pub(super) fn goal_in_short(probe: &ProbeView, units: Units) -> Option<String> {
    probe.target.map(|goal| number::whole_degrees(goal, units))
}

/// The estimate of a stage that waits for nothing but its target.
pub(super) fn estimated(stage: &StageView) -> Option<(&ProbeView, Estimate)> {
    let probe = stage.probe.as_ref().filter(|probe| stage.state == LaneState::Probe && probe.held_since.is_none())?;
    probe.estimate.ok().map(|estimate| (probe, estimate))
}

/// From when to when, the shorter way without a word.
pub(super) fn range(w: Language, estimate: &Estimate) -> Text {
    let [low, high] = number::about_from_to(estimate.low, estimate.high);
    let bare = high.trim_end_matches(" min");
    w.range(&low, &high).or(w.range(&low, bare)).or(format!("{low}-{bare}"))
}

/// What is known of the time to a probe's target. It says why, where there is no estimate.
pub(super) fn estimate(probe: &ProbeView, now: RunTime, station: &StationView) -> Text {
    let w = station.settings.language;
    if let Some(since) = probe.held_since {
        return w.held_of(number::length(now.since(since)), number::length(probe.hold));
    }
    let (held, wanted) = probe.points;
    if wanted > 1 && held > 0 {
        return w.places_held(held, wanted);
    }
    match &probe.estimate {
        Ok(estimate) => {
            let time = number::about(estimate.median);
            let goal = goal(probe, station.settings.units).unwrap_or_default();
            let [low, high] = number::about_from_to(estimate.low, estimate.high);
            if high == format!("{low} min") {
                return w.about_to(time, goal);
            }
            let full = w.about_range(&time, &goal, &low, &high);
            // the unit is said once where there is little room
            let short = w.about_range(&time, &goal, &low, high.trim_end_matches(" min"));
            let lengths = full.lengths().take(2).chain(short.lengths().skip(1));
            lengths.fold(Text::none(), |text, length| text.or(String::from(length)))
        }
        Err(Withheld::TooEarly) => w.withheld_early(),
        Err(Withheld::NoRise) => w.withheld_no_rise(),
        Err(Withheld::Thawing) => w.withheld_thawing(),
        Err(Withheld::MayNotReach) => w.withheld_may_not(),
        Err(Withheld::NoReading) => w.withheld_no_reading(),
    }
}

/// `0:22 ago at 64°, rising`.
pub(super) fn last_reading(stage: &StageView, station: &StationView, now: RunTime) -> Option<Text> {
    let w = station.settings.language;
    let probe = stage.probe.as_ref()?;
    let (celsius, at) = probe.last?;
    let (span, reading) = (number::length(now.since(at)), number::whole_degrees(celsius, station.settings.units));
    Some(match probe.per_minute {
        Some(slope) if slope > 0.2 => w.ago_at_rising(span, reading),
        Some(slope) if slope < -0.2 => w.ago_at_falling(span, reading),
        Some(_) => w.ago_at_steady(span, reading),
        None => w.ago_at(span, reading),
    })
}

/// What the page of a lane says of its probe, what matters most first.
pub(super) fn facts(stage: &StageView, probe: &ProbeView, now: RunTime, station: &StationView) -> Vec<Text> {
    let (w, units) = (station.settings.language, station.settings.units);
    let mut facts = Vec::new();
    facts.extend(why(w, probe, now));
    if probe.shallow_tip {
        facts.push(w.shallow_tip());
    }
    if probe.peak.is_some() || probe.said.is_some() {
        facts.push(rest(w, probe, units));
        return facts;
    }
    if let (Some((last, _)), Some(counted), Some(target)) = (probe.last, probe.counted, probe.target)
        && counted < target
        && last >= target
    {
        facts.push(w.counts_as(number::tenths_reached(counted, units)));
    }
    if let (Some(core), Some(target), false) = (probe.take_at, probe.target, probe.called) {
        facts.push(w.take_at(number::band_temperature(core, units), number::whole_degrees(target, units)));
    }
    let on_heat = stage.state == LaneState::Probe || is_due(&stage.state);
    if let Some(carry) = probe.carry_over.filter(|_| on_heat) {
        let [peak, low, high] = peak_of(&carry, units);
        facts.push(w.taken_now(peak, number::about(carry.after), low, high));
    }
    facts.extend(target_and_slope(probe, station));
    facts
}

/// Why the reading may be wrong, and how old it is.
fn why(w: Language, probe: &ProbeView, now: RunTime) -> Vec<Text> {
    let age = age(probe, now);
    let old = |age: Option<Span>| age.map(|age| w.doubt_old(number::age(age)));
    let (why, with_age) = match probe.quality {
        None | Some(Quality::Good) => (None, true),
        Some(Quality::Doubtful(doubt)) => match doubt {
            Doubt::Settling => (Some(w.doubt_settling()), true),
            Doubt::Sudden(_) | Doubt::Elsewhere => (Some(w.doubt_jumped()), true),
            Doubt::Noisy(_) => (Some(w.doubt_noisy()), true),
            Doubt::NeverMoved(_) => (Some(w.doubt_never_moved()), true),
            Doubt::TooHot => (Some(w.doubt_too_hot()), true),
            Doubt::Old(span) => (old(age.or(Some(span))), false),
        },
        Some(Quality::Bad(fault)) => match fault {
            Fault::Named(why) => (Some(lost_why(w, why)), true),
            Fault::Silent(_) => (Some(w.lost_no_answer()), true),
            Fault::Stuck(_) => (Some(w.lost_stuck()), true),
            Fault::Jumped(_) => (Some(w.lost_jumped()), true),
            Fault::PulledOut(_) => (Some(w.doubt_pulled_out()), true),
        },
    };
    why.into_iter().chain(old(age.filter(|_| with_age))).collect()
}

/// A peak and what it lies between, as numbers.
fn peak_of(carry: &CarryOver, units: Units) -> [String; 3] {
    let [low, high] = number::degrees_from_to(carry.low_celsius, carry.high_celsius, units);
    [number::band_temperature(carry.peak_celsius, units), low, high]
}

/// How high it came in a rest, against what was said before it.
fn rest(w: Language, probe: &ProbeView, units: Units) -> Text {
    let peak = probe.peak.map(|(peak, _)| match still_wanted(probe) {
        Some(_) => number::tenths_reached(peak, units),
        None => number::band_temperature(peak, units),
    });
    let said = probe.said.map(|said| peak_of(&said, units));
    match (peak, said) {
        (Some(peak), Some([said, low, high])) => w.peak_and_said(peak, said, low, high),
        (Some(peak), None) => w.peak_so_far(peak),
        (None, Some([said, low, high])) => w.said_peak(said, low, high),
        (None, None) => Text::none(),
    }
}

/// `to 82°, +1.2° a minute`.
fn target_and_slope(probe: &ProbeView, station: &StationView) -> Option<Text> {
    let (w, units) = (station.settings.language, station.settings.units);
    let target = probe.target.map(|target| number::whole_degrees(target, units));
    match (target, probe.per_minute.map(|slope| number::slope(slope, units))) {
        (Some(target), Some(slope)) => Some(w.target_and_slope(target, slope)),
        (Some(target), None) => Some(w.target(target)),
        (None, Some(slope)) => Some(w.a_minute(slope)),
        (None, None) => None,
    }
}
