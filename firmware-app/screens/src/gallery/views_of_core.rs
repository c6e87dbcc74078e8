//! Views of a roast whose core is measured, in the oven and in its rest.
#![allow(missing_docs, clippy::unwrap_used, reason = "samples with fixed values, which the tests build all of")]

use alloc::vec;

use quantities::Span;
use recipe_model::Caution;
use run_engine::view::{AlertView, KeyWord, LaneState, NextView, NextWhat, ProbeView, RunView, StageView};
use thermometry::{Doubt, Fault, Quality};
use trial::{AlertKind, AlertSlot, CarryOver, Estimate, Withheld};

use super::views::*;

fn estimate(median: u64, low: u64, high: u64) -> Estimate {
    Estimate { median: Span::from_mins(median), low: Span::from_mins(low), high: Span::from_mins(high) }
}

fn carry_over(peak: f64, low: f64, high: f64) -> CarryOver {
    CarryOver {
        peak_celsius: degrees(peak),
        low_celsius: degrees(low),
        high_celsius: degrees(high),
        after: Span::from_secs(475),
        after_low: Span::from_mins(5),
        after_high: Span::from_mins(13),
    }
}

/// Lane 1 with a loin in place of what it had.
fn with_loin(stage: StageView) -> RunView {
    let mut view = four_lanes();
    view.next = Some(NextView {
        lane: 1,
        at: stage.at,
        what: NextWhat::End { verb: "TAKE OUT".into(), food: "loin".into() },
        when: after(540),
        core: None,
    });
    view.lanes[0].front = Some(stage);
    view
}

/// What comes after its rest is next.
fn with_resting_loin(stage: StageView) -> RunView {
    let mut view = with_loin(stage);
    let next = NextView {
        lane: 1,
        at: stage_at(1),
        what: NextWhat::End { verb: "CHECK".into(), food: "loin".into() },
        when: after(500),
        core: None,
    };
    view.next = Some(next);
    view
}

fn loin(view: &mut RunView) -> &mut ProbeView {
    view.lanes[0].front.as_mut().and_then(|stage| stage.probe.as_mut()).unwrap()
}

/// A loin to 63 degrees, of which it is known what a rest would bring it to.
pub fn roast() -> RunView {
    let probe = ProbeView {
        estimate: Ok(estimate(9, 7, 12)),
        carry_over: Some(carry_over(62.1, 60.4, 64.0)),
        ..probe(57.1, 63.0)
    };
    let stage =
        StageView { probe: Some(probe), cautions: vec![Caution::RawMeat], ..stage(1, "loin roast", LaneState::Probe) };
    with_loin(stage)
}

/// The same, where the rest may bring it to its target.
pub fn roast_to_rest(core: f64) -> RunView {
    let mut view = roast();
    let loin = loin(&mut view);
    loin.last = Some((degrees(core), NOW));
    loin.take_at = Some(degrees(59.4));
    loin.carry_over = Some(carry_over(core + 5.0, core + 3.6, core + 6.6));
    loin.estimate = Ok(estimate(4, 3, 6));
    view
}

fn due_loin(mut view: RunView, state: LaneState, kind: AlertKind, late_secs: u64) -> RunView {
    view = with_state(view, 1, state, Some(KeyWord::Ok(AlertSlot::Step)));
    view.next = None;
    with_alert(view, alert(1, kind, "TAKE OUT", "loin", late_secs))
}

/// The cook is called to take it: it comes to its target in the rest.
pub fn called_to_take() -> RunView {
    let mut view = due_loin(roast_to_rest(59.4), LaneState::Due { since: before(7) }, AlertKind::Due, 7);
    loin(&mut view).called = true;
    view.alerts[0].core = Some(degrees(59.4));
    view
}

pub fn called_overdue(late_secs: u64) -> RunView {
    let state = LaneState::Overdue { since: before(late_secs) };
    let mut view = due_loin(roast_to_rest(60.3), state, AlertKind::Overdue, late_secs);
    loin(&mut view).called = true;
    view
}

/// The reading is at its target, which protects; the probe may be off by as much as it is over.
pub fn counts_as() -> RunView {
    let mut view = roast();
    let loin = loin(&mut view);
    loin.last = Some((degrees(63.2), NOW));
    loin.counted = Some(degrees(62.64));
    loin.estimate = Ok(estimate(1, 0, 2));
    view
}

pub fn shallow_tip() -> RunView {
    let mut view = roast();
    loin(&mut view).shallow_tip = true;
    view
}

/// The newest reading is of this quality and this old.
pub fn roast_in_doubt(quality: Quality, age_secs: u64) -> RunView {
    let mut view = roast();
    let loin = loin(&mut view);
    loin.quality = Some(quality);
    loin.last = Some((degrees(57.1), before(age_secs)));
    view
}

pub fn never_moved() -> RunView {
    let mut view = withheld(6.1, Withheld::NoRise);
    let loin = loin(&mut view);
    loin.quality = Some(Quality::Doubtful(Doubt::NeverMoved(Span::from_mins(14))));
    loin.per_minute = Some(0.0);
    view
}

pub fn too_hot() -> RunView {
    let mut view = withheld(128.4, Withheld::TooEarly);
    loin(&mut view).quality = Some(Quality::Doubtful(Doubt::TooHot));
    view
}

/// There is no estimate.
pub fn withheld(core: f64, why: Withheld) -> RunView {
    let mut view = roast();
    let loin = loin(&mut view);
    loin.last = Some((degrees(core), NOW));
    loin.estimate = Err(why);
    loin.carry_over = None;
    view
}

/// Nothing has come from the probe for some seconds.
pub fn no_reading() -> RunView {
    let mut view = roast_in_doubt(Quality::Bad(Fault::Silent(Span::from_secs(8))), 8);
    let loin = loin(&mut view);
    loin.estimate = Err(Withheld::NoReading);
    loin.carry_over = None;
    view
}

/// The loin is next, in about so many minutes.
pub fn next_by_estimate(median: u64, low: u64, high: u64) -> RunView {
    let mut view = roast();
    loin(&mut view).estimate = Ok(estimate(median, low, high));
    view
}

/// What is next ends by its core, of which the newest reading is doubtful.
pub fn core_in_doubt(quality: Quality, age_secs: u64) -> RunView {
    let mut view = next_by_core();
    let curd = view.lanes[2].front.as_mut().and_then(|stage| stage.probe.as_mut()).unwrap();
    curd.quality = Some(quality);
    curd.last = Some((degrees(63.7), before(age_secs)));
    curd.estimate = Err(Withheld::TooEarly);
    view.lanes[2].others.clear();
    view
}

fn resting(core: f64, peak: Option<f64>) -> StageView {
    let resting = ProbeView {
        target: None,
        per_minute: Some(0.1),
        estimate: Err(Withheld::TooEarly),
        peak: peak.map(|peak| (degrees(peak), before(60))),
        said: Some(carry_over(66.1, 64.9, 67.5)),
        ..probe(core, 63.0)
    };
    StageView {
        setting: None,
        text: "On the board, loosely covered".into(),
        then: "CHECK".into(),
        number: (3, 4),
        probe: Some(resting),
        ends: Some(after(500)),
        ..stage(1, "loin rest", running(500, 400))
    }
}

/// In its rest: the core, and the highest that it came to.
pub fn rest(core: f64, peak: f64) -> RunView {
    with_resting_loin(resting(core, Some(peak)))
}

/// The probe has not been heard of in the rest yet.
pub fn rest_begun() -> RunView {
    let mut stage = resting(62.0, None);
    stage.probe = stage.probe.map(|probe| ProbeView { last: None, quality: None, per_minute: None, ..probe });
    with_resting_loin(stage)
}

/// In a rest in which it has to come to 63 degrees.
pub fn rest_to_target(core: f64) -> RunView {
    let mut view = rest(core, core);
    let loin = loin(&mut view);
    loin.wanted = Some(degrees(63.0));
    loin.said = Some(carry_over(64.4, 63.1, 65.9));
    view
}

/// The rest is over, and it did not come to it.
pub fn rest_under(core: f64, late_secs: u64) -> RunView {
    let since = before(late_secs);
    let (kind, state) = if late_secs < 60 {
        (AlertKind::Due, LaneState::Due { since })
    } else {
        (AlertKind::Overdue, LaneState::Overdue { since })
    };
    let view = due_loin(rest_to_target(core), state, kind, late_secs);
    let alerts = view.alerts.into_iter().map(|alert| AlertView { verb: "CHECK".into(), ..alert }).collect();
    RunView { alerts, ..view }
}

/// The same, and the reading is old.
pub fn rest_under_in_doubt() -> RunView {
    let mut view = rest_under(61.8, 7);
    let loin = loin(&mut view);
    loin.quality = Some(Quality::Doubtful(Doubt::Old(Span::from_secs(12))));
    loin.last = Some((degrees(61.8), before(12)));
    view
}

/// The curd is due as well.
pub fn beside_due_curd(mut view: RunView) -> RunView {
    let curd = due_by_core();
    view.lanes[2] = curd.lanes[2].clone();
    view.alerts.extend(curd.alerts);
    view
}
