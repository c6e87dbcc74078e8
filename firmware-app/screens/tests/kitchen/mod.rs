//! Views of a run in the Tern Lane Test Kitchen, built by hand: what the engine would tell at one moment.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

use quantities::{Celsius, NoReading, RunTime, Span};
use recipe_model::{BranchId, Caution, EventId, Setting, StepId};
use run_engine::{
    StageAt, TrialNo,
    view::{
        AlertState, AlertView, EndedView, KeyWord, LaneState, LaneView, LooksView, NextView, ProbeView, ResumeView,
        RunView, StageView, TrialView, UndoView,
    },
};
use screens::{CheckLine, CheckState, CheckView, DayClock, Kept, RecipeLine, StationView};
use trial::{AlertKind, AlertSlot, Dark, Estimate, Priority, TrialId, Withheld};

/// The moment of all views: an hour into the run.
pub const NOW: RunTime = RunTime::from_millis(3_600_000);

pub fn after(secs: u64) -> RunTime {
    NOW + Span::from_secs(secs)
}

pub fn before(secs: u64) -> RunTime {
    NOW.earlier(Span::from_secs(secs))
}

pub fn degrees(value: f64) -> Celsius {
    Celsius::from_degrees(value).unwrap()
}

pub fn stage_at(lane: u8) -> StageAt {
    StageAt { trial: TrialNo(1), stage: u16::from(lane) - 1 }
}

/// A stage with nothing asked; `name` is `food step`.
pub fn stage(lane: u8, name: &str, state: LaneState) -> StageView {
    let (food, step) = name.split_once(' ').unwrap();
    StageView {
        at: stage_at(lane),
        food: food.into(),
        step: StepId::new(&format!("{food}.{step}")),
        step_name: step.into(),
        text: "Middle shelf, tin on the rack, door shut".into(),
        then: "TAKE OUT".into(),
        number: (2, 4),
        setting: Some(Setting::Heat { at: Celsius::whole(165), fan: true }),
        cautions: vec![],
        state,
        key: None,
        key_since: before(600),
        began: Some(before(923)),
        ends: None,
        looks: None,
        probe: None,
        can_hold: false,
        branches: vec![],
        marks: vec![],
        beat: None,
    }
}

pub fn running(left_secs: u64, gone: u16) -> LaneState {
    LaneState::Running { due: Some(after(left_secs)), gone }
}

pub fn probe(value: f64, target: f64) -> ProbeView {
    ProbeView {
        last: Some((degrees(value), NOW)),
        target: Some(degrees(target)),
        per_minute: Some(1.24),
        held_since: None,
        hold: Span::from_secs(30),
        points: (0, 1),
        estimate: Ok(Estimate { median: Span::from_mins(12), low: Span::from_mins(9), high: Span::from_mins(17) }),
        lost: None,
        peak: None,
    }
}

pub fn probe_stage(lane: u8, name: &str, value: f64, target: f64) -> StageView {
    StageView { probe: Some(probe(value, target)), then: "OFF HEAT".into(), ..stage(lane, name, LaneState::Probe) }
}

pub fn looks() -> LooksView {
    LooksView {
        cue: "rim is gold".into(),
        first: before(923) + Span::from_mins(18),
        next: before(923) + Span::from_mins(18),
        no_later: before(923) + Span::from_mins(22),
        last_not_yet: None,
        count: 0,
    }
}

fn lane(number: u8, name: &str, front: Option<StageView>, behind: usize) -> LaneView {
    LaneView { number, name: name.into(), front, behind }
}

/// One trial, four lanes, nothing asked: the board of an ordinary minute.
pub fn four_lanes() -> RunView {
    let shell = StageView { looks: Some(looks()), ends: Some(after(277)), ..stage(1, "shell bake", running(277, 750)) };
    let milk = StageView { setting: None, ..stage(2, "milk warm", LaneState::Waiting { ready: Some(after(720)) }) };
    let curd = probe_stage(3, "curd cook", 63.7, 82.0);
    let cream = StageView { can_hold: true, setting: None, ..stage(4, "cream rest", running(1560, 350)) };
    RunView {
        now: NOW,
        trials: vec![trial()],
        lanes: [
            lane(1, "Oven", Some(shell), 0),
            lane(2, "Micro", Some(milk), 0),
            lane(3, "Pan", Some(curd), 1),
            lane(4, "Bench", Some(cream), 0),
        ],
        alerts: vec![],
        next: Some(NextView { lane: 1, at: stage_at(1), text: "check shell".into(), when: after(277), core: None }),
        all_done: Some(after(2820)),
        undo: None,
        resume: None,
        quiet: false,
    }
}

pub fn trial() -> TrialView {
    TrialView {
        no: TrialNo(1),
        id: TrialId::new("20261125-1100-lemon-tart-b").unwrap(),
        title: "Lemon tart".into(),
        variant: "more zest".into(),
        opened: RunTime::START,
        closed: None,
        given_up: false,
        all_done: Some(after(2820)),
        missing: vec![],
        ended: vec![],
    }
}

pub fn nothing_open() -> RunView {
    let empty = |number| lane(number, "", None, 0);
    RunView {
        trials: vec![],
        lanes: [empty(1), empty(2), empty(3), empty(4)],
        next: None,
        all_done: None,
        ..four_lanes()
    }
}

/// Only the first lanes are used.
pub fn only_lanes(count: usize) -> RunView {
    let mut view = four_lanes();
    for lane in &mut view.lanes[count..] {
        (lane.front, lane.behind) = (None, 0);
        lane.name.clear();
    }
    view
}

/// Puts a stage into a state, with the word of its key.
pub fn with_state(mut view: RunView, lane: u8, state: LaneState, key: Option<KeyWord>) -> RunView {
    let front = view.lanes[usize::from(lane) - 1].front.as_mut().unwrap();
    (front.state, front.key) = (state, key);
    view
}

/// Lets an alert stand; alerts are given worst first.
pub fn with_alert(mut view: RunView, alert: AlertView) -> RunView {
    view.alerts.push(alert);
    view
}

pub fn alert(lane: u8, kind: AlertKind, verb: &str, text: &str, since_secs: u64) -> AlertView {
    let (slot, priority) = match kind {
        AlertKind::Overdue => (AlertSlot::Step, Priority::High),
        AlertKind::ProbeLost => (AlertSlot::Probe, Priority::High),
        AlertKind::WasLost => (AlertSlot::Probe, Priority::Low),
        AlertKind::StillCooking => (AlertSlot::Resume, Priority::Medium),
        AlertKind::Inside => (AlertSlot::Inside, Priority::Medium),
        AlertKind::Due | AlertKind::Question | AlertKind::Window | AlertKind::Ready => {
            (AlertSlot::Step, Priority::Medium)
        }
        AlertKind::Soon | AlertKind::OnHold => (AlertSlot::Step, Priority::Low),
    };
    AlertView {
        at: stage_at(lane),
        lane,
        slot,
        kind,
        priority,
        raised: before(since_secs),
        since: before(since_secs),
        state: AlertState::Sounding,
        later_left: 3,
        verb: verb.into(),
        text: text.into(),
        core: None,
    }
}

pub fn question() -> RunView {
    let asked = LaneState::Question { asked: before(20), closes: after(190) };
    let view = with_state(four_lanes(), 3, asked, Some(KeyWord::Yes));
    with_alert(view, alert(3, AlertKind::Question, "", "Does curd coat the spoon?", 20))
}

pub fn window() -> RunView {
    let view = with_state(four_lanes(), 1, LaneState::Window { closes: after(168) }, Some(KeyWord::Done));
    with_alert(view, alert(1, AlertKind::Window, "CHECK", "rim is gold", 5))
}

/// Of a step with a fixed time: there is no look to answer.
pub fn due() -> RunView {
    let mut view = with_state(four_lanes(), 1, LaneState::Due { since: before(7) }, Some(KeyWord::Ok(AlertSlot::Step)));
    view.lanes[0].front.as_mut().unwrap().looks = None;
    with_alert(view, alert(1, AlertKind::Due, "TAKE OUT", "shell", 7))
}

pub fn overdue(late_secs: u64) -> RunView {
    let state = LaneState::Overdue { since: before(late_secs) };
    let mut view = with_state(four_lanes(), 1, state, Some(KeyWord::Ok(AlertSlot::Step)));
    view.lanes[0].front.as_mut().unwrap().looks = None;
    with_alert(view, alert(1, AlertKind::Overdue, "TAKE OUT", "shell", late_secs))
}

/// Overdue, and already silenced.
pub fn overdue_acknowledged(late_secs: u64) -> RunView {
    let state = LaneState::Overdue { since: before(late_secs) };
    let mut view = with_state(overdue(late_secs), 1, state, Some(KeyWord::Done));
    view.alerts[0].state = AlertState::Acknowledged;
    view
}

pub fn due_by_core() -> RunView {
    let mut view = with_state(four_lanes(), 3, LaneState::Due { since: before(4) }, Some(KeyWord::Ok(AlertSlot::Step)));
    view.lanes[2].front.as_mut().unwrap().probe = Some(probe(82.1, 82.0));
    let core = Some(degrees(82.1));
    with_alert(view, AlertView { core, ..alert(3, AlertKind::Due, "OFF HEAT", "curd", 4) })
}

pub fn probe_lost() -> RunView {
    let key = Some(KeyWord::Ok(AlertSlot::Probe));
    let mut view = with_state(four_lanes(), 3, LaneState::ProbeLost { since: before(12) }, key);
    let lost = view.lanes[2].front.as_mut().unwrap().probe.as_mut().unwrap();
    lost.last = Some((degrees(63.7), before(22)));
    lost.lost = Some((before(12), NoReading::Open));
    lost.estimate = Err(Withheld::NoReading);
    with_alert(view, alert(3, AlertKind::ProbeLost, "", "curd", 12))
}

pub fn two_alerts() -> RunView {
    let late = overdue(35);
    let mut view = due_by_core();
    view.lanes[0] = late.lanes[0].clone();
    view.alerts.insert(0, late.alerts[0].clone());
    view
}

pub fn three_alerts() -> RunView {
    let mut view = two_alerts();
    view.lanes[1].front.as_mut().unwrap().state = LaneState::Ready { since: before(3), latest: None };
    view.lanes[1].front.as_mut().unwrap().key = Some(KeyWord::Start);
    with_alert(view, alert(2, AlertKind::Ready, "START", "milk", 3))
}

pub fn four_alerts() -> RunView {
    let mut view = probe_lost();
    let late = overdue(779);
    view.lanes[0] = late.lanes[0].clone();
    view.alerts.insert(0, late.alerts[0].clone());
    let ready = three_alerts();
    view.lanes[1] = ready.lanes[1].clone();
    view.alerts.push(ready.alerts[2].clone());
    let inside = LaneState::Inside { asked: before(9), text: "STIR cream".into() };
    let view = with_state(view, 4, inside, Some(KeyWord::InsideDone));
    let mut view = with_alert(view, alert(4, AlertKind::Inside, "STIR", "cream", 9));
    view.alerts.swap(2, 3);
    view
}

pub fn ready() -> RunView {
    let view = with_state(four_lanes(), 2, LaneState::Ready { since: before(4), latest: None }, Some(KeyWord::Start));
    with_alert(view, alert(2, AlertKind::Ready, "START", "milk in the micro", 4))
}

pub fn resume(dark: Dark) -> RunView {
    let mut view = four_lanes();
    for (lane, food, ends) in [(1, "shell", 277), (3, "curd", 600), (4, "cream", 1560)] {
        view = with_state(view, lane, LaneState::StillCooking, Some(KeyWord::StillOn));
        view.lanes[usize::from(lane) - 1].front.as_mut().unwrap().ends = Some(after(ends));
        view = with_alert(view, alert(lane, AlertKind::StillCooking, "", food, 5));
    }
    view.resume = Some(ResumeView { dark, open: 3 });
    view
}

pub fn saved() -> RunView {
    let ended = |label: &str, ran, planned| EndedView {
        step: StepId::new("shell.bake"),
        label: label.into(),
        ran: Span::from_secs(ran),
        planned: Span::from_secs(planned),
    };
    let over = TrialView {
        closed: Some(before(30)),
        ended: vec![
            ended("shell: bake", 1245, 1200),
            ended("curd: cook", 572, 540),
            ended("tart: bake", 1450, 1500),
            ended("tart: cool", 5405, 5400),
        ],
        missing: vec!["filling weight".into()],
        ..trial()
    };
    RunView { trials: vec![over], undo: Some(UndoView { at: before(30), actions: 6 }), ..nothing_open() }
}

/// Oven at 100 degrees, a freezer, a hold and more than an hour to go: the widest ordinary numbers.
pub fn wide_numbers() -> RunView {
    let mut view = four_lanes();
    let front = |view: &mut RunView, lane: usize, state| {
        let stage = view.lanes[lane].front.as_mut().unwrap();
        stage.state = state;
        stage.looks = None;
    };
    front(&mut view, 0, running(4980, 250));
    front(&mut view, 1, LaneState::OnHold { since: before(130), left: Some(Span::from_mins(59)) });
    front(&mut view, 3, LaneState::Probe);
    view.lanes[2].front.as_mut().unwrap().probe = Some(probe(100.2, 120.0));
    view.lanes[3].front.as_mut().unwrap().probe = Some(probe(-18.2, -10.0));
    view.lanes[3].name = "Freezer".into();
    view.next =
        Some(NextView { lane: 1, at: stage_at(1), text: "baste, turn tin".into(), when: after(4980), core: None });
    view.trials[0].title = "Slow roast shoulder of lamb".into();
    view.trials[0].variant = "base".into();
    view
}

/// A stage that offers all a cook can choose.
pub fn many_choices() -> RunView {
    let mut view = four_lanes();
    let stage = view.lanes[3].front.as_mut().unwrap();
    stage.marks = vec![(EventId::new("cream.set"), "the whisk leaves a trail".into())];
    stage.branches = vec![(BranchId::new("chill"), "CHILL in ice water: still loose at the end".into())];
    stage.cautions = vec![Caution::KeepHot];
    view
}

pub fn station() -> StationView {
    let recipe = |title: &str, trials, refused: Option<&str>| RecipeLine {
        title: title.into(),
        trials,
        refused: refused.map(Into::into),
    };
    let line = |text: &str, found: &str, state| CheckLine { text: text.into(), found: found.into(), state };
    StationView {
        // the views stand at 12:00
        clock: Some(DayClock::new(NOW, 12 * 3600)),
        recipes: vec![
            recipe("Baked rice", 2, None),
            recipe("Flatbread, pan", 6, None),
            recipe("Lemon tart", 3, None),
            recipe("Plum dumplings", 0, Some("line 14")),
            recipe("Roast shoulder", 1, None),
            recipe("Sponge, microwave", 0, None),
            recipe("Walnut loaf", 12, None),
        ],
        check: Some(CheckView {
            title: "Lemon tart, more zest".into(),
            lines: vec![
                line("Weights", "9 of 9 in", CheckState::Ticked),
                line("Oven at 165°C", "hot", CheckState::Ticked),
                line("Probe in curd pan", "not yet", CheckState::Open),
                line("Tin 23 cm, lined", "tick", CheckState::Open),
                line("Probe A", "no signal", CheckState::NoSignal),
            ],
        }),
        kept: Kept::Here,
    }
}
