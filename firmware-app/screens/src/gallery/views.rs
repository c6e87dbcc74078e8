//! Views of a run in the Tern Lane Test Kitchen, built by hand: what the engine would tell at one moment.
#![allow(missing_docs, clippy::unwrap_used, reason = "samples with fixed values, which the tests build all of")]

use alloc::{format, string::String, vec, vec::Vec};

use crate::{
    Bath, CheckLine, CheckState, CheckView, DayClock, JoinView, Kept, MovedView, OutcomeItem, OutcomeKind, OutcomeView,
    ProbeCheckView, ProbeLine, ReadyAtView, RecipeLine, SelfTestView, Settings, StationView, TestLine,
    screen::MovedWay,
};
use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};
use recipe_model::{BranchId, Caution, EventId, Setting, StepId};
use run_engine::{
    StageAt, TrialNo,
    view::{
        AlertState, AlertView, EndedView, KeyWord, LaneState, LaneView, LooksView, NextView, NextWhat, ProbeView,
        ResumeView, RunView, StageView, TrialView, UndoView,
    },
};
use trial::{AlertKind, AlertSlot, Dark, Estimate, Priority, TrialId, Withheld};
use words::{Language, Text};

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
        plan: None,
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
        quality: Some(thermometry::Quality::Good),
        target: Some(degrees(target)),
        counted: None,
        per_minute: Some(1.24),
        held_since: None,
        hold: Span::from_secs(30),
        points: (0, 1),
        estimate: Ok(Estimate { median: Span::from_mins(12), low: Span::from_mins(9), high: Span::from_mins(17) }),
        lost: None,
        peak: None,
        carry_over: None,
        take_at: None,
        called: false,
        said: None,
        wanted: None,
        shallow_tip: false,
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

fn lane(number: u8, name: &str, front: Option<StageView>, others: Vec<StageView>) -> LaneView {
    LaneView { number, name: name.into(), front, others }
}

fn check_shell() -> NextWhat {
    NextWhat::End { verb: "CHECK".into(), food: "shell".into() }
}

/// One trial, four lanes, nothing asked: the board of an ordinary minute.
pub fn four_lanes() -> RunView {
    let shell = StageView { looks: Some(looks()), ends: Some(after(277)), ..stage(1, "shell bake", running(277, 750)) };
    let milk = StageView { setting: None, ..stage(2, "milk warm", LaneState::Waiting { ready: Some(after(720)) }) };
    let curd = probe_stage(3, "curd cook", 63.7, 82.0);
    let syrup = StageView {
        at: StageAt { trial: TrialNo(1), stage: 8 },
        setting: None,
        ..stage(3, "syrup boil", LaneState::Waiting { ready: Some(after(900)) })
    };
    let cream = StageView { can_hold: true, setting: None, ..stage(4, "cream rest", running(1560, 350)) };
    RunView {
        now: NOW,
        trials: vec![trial()],
        lanes: [
            lane(1, "Oven", Some(shell), vec![]),
            lane(2, "Micro", Some(milk), vec![]),
            lane(3, "Pan", Some(curd), vec![syrup]),
            lane(4, "Bench", Some(cream), vec![]),
        ],
        alerts: vec![],
        next: Some(NextView { lane: 1, at: stage_at(1), what: check_shell(), when: after(277), core: None }),
        all_done: Some(after(2820)),
        starts: vec![],
        landings: vec![],
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
        plan: None,
        missing: vec![],
        ended: vec![],
    }
}

pub fn nothing_open() -> RunView {
    let empty = |number| lane(number, "", None, vec![]);
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
        (lane.front, lane.others) = (None, vec![]);
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
    view.next = Some(NextView {
        lane: 1,
        at: stage_at(1),
        what: NextWhat::Inside("BASTE, turn tin".into()),
        when: after(4980),
        core: None,
    });
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

/// Four lanes busy, the oven and the pan with more than one food in it: six stages.
pub fn six_stages() -> RunView {
    let mut view = four_lanes();
    let potatoes = stage(1, "potatoes roast", running(1500, 300));
    view.lanes[0].others = vec![StageView { at: StageAt { trial: TrialNo(1), stage: 9 }, ..potatoes }];
    view
}

/// The same question once more, after it was answered "not yet".
pub fn question_again() -> RunView {
    let asked = LaneState::Question { asked: before(2), closes: after(45) };
    let mut view = with_state(question(), 3, asked, Some(KeyWord::Yes));
    view.alerts[0].raised = before(2);
    view
}

pub fn two_questions() -> RunView {
    let mut view = question();
    let asked = LaneState::Question { asked: before(4), closes: after(300) };
    view = with_state(view, 1, asked, Some(KeyWord::Yes));
    with_alert(view, alert(1, AlertKind::Question, "", "rim is gold", 4))
}

/// So much is left of the check window.
pub fn window_closing(left_secs: u64) -> RunView {
    with_state(window(), 1, LaneState::Window { closes: after(left_secs) }, Some(KeyWord::Done))
}

/// Due, and silenced.
pub fn due_acknowledged() -> RunView {
    let mut view = with_state(due(), 1, LaneState::Due { since: before(7) }, Some(KeyWord::Done));
    view.alerts[0].state = AlertState::Acknowledged;
    view
}

/// Due, and put off for so long.
pub fn put_off(secs: u64) -> RunView {
    let mut view = with_state(due(), 1, running(0, 1000), Some(KeyWord::Ok(AlertSlot::Step)));
    view.alerts[0].state = AlertState::Shelved { until: after(secs) };
    view.next = next_by_core().next;
    view
}

pub fn was_lost() -> RunView {
    let mut view = with_alert(four_lanes(), alert(3, AlertKind::WasLost, "", "curd", 40));
    view.lanes[2].front.as_mut().unwrap().key = Some(KeyWord::Ok(AlertSlot::Probe));
    view
}

/// The probe is lost for this reason.
pub fn lost_by(why: NoReading) -> RunView {
    let mut view = probe_lost();
    view.lanes[2].front.as_mut().unwrap().probe.as_mut().unwrap().lost = Some((before(12), why));
    view
}

pub fn two_due() -> RunView {
    let mut view = due_by_core();
    let other = due();
    view.lanes[0] = other.lanes[0].clone();
    view.alerts.push(other.alerts[0].clone());
    view
}

pub fn lost_and_overdue() -> RunView {
    let mut view = probe_lost();
    let late = overdue(35);
    view.lanes[0] = late.lanes[0].clone();
    view.alerts.insert(0, late.alerts[0].clone());
    view
}

/// One lane was answered after the power came back.
pub fn resume_one_answered() -> RunView {
    let mut view = resume(Dark::Known(Span::from_secs(220)));
    view.alerts.retain(|alert| alert.lane != 1);
    view = with_state(view, 1, running(277, 750), None);
    view.resume = Some(ResumeView { dark: Dark::Known(Span::from_secs(220)), open: 2 });
    view
}

pub fn on_hold() -> RunView {
    with_state(four_lanes(), 4, LaneState::OnHold { since: before(130), left: Some(Span::from_secs(1560)) }, None)
}

pub fn one_done() -> RunView {
    with_state(four_lanes(), 2, LaneState::Done { at: before(60) }, None)
}

pub fn undo_shown() -> RunView {
    RunView { undo: Some(UndoView { at: before(3), actions: 2 }), ..four_lanes() }
}

pub fn next_by_core() -> RunView {
    let mut view = four_lanes();
    let what = NextWhat::End { verb: "OFF HEAT".into(), food: "curd".into() };
    view.next = Some(NextView { lane: 3, at: stage_at(3), what, when: after(277), core: Some(degrees(63.7)) });
    view
}

pub fn long_instruction() -> RunView {
    let mut view = four_lanes();
    view.lanes[1].front.as_mut().unwrap().text =
        "Warm the milk with the vanilla, lid ajar, until it steams but does not boil".into();
    view
}

pub fn given_up() -> RunView {
    let mut view = saved();
    view.trials[0].given_up = true;
    view
}

/// The plan has moved this way.
pub fn plan_moved(way: MovedWay, was: u64, now: u64) -> StationView {
    let starts = vec![("milk warm".into(), after(720), after(1080)), ("tart bake".into(), after(900), after(1260))];
    let moved = MovedView {
        at: before(2),
        way,
        landing: None,
        was: after(was),
        now: after(now),
        starts,
        cannot: None,
        can_keep: true,
    };
    StationView { moved: Some(moved), ..station() }
}

/// What is asked after the trial, the thing at this place first.
pub fn outcome_from(at: usize) -> StationView {
    let item = |what: &str, kind| OutcomeItem { what: what.into(), kind, noted: false };
    let words = |words: &[&str]| OutcomeKind::Words(1, words.iter().map(|word| String::from(*word)).collect());
    let mut items = vec![
        item("tart, cooled", OutcomeKind::Weight),
        item("crust", words(&["pale", "light", "right", "dark", "burnt"])),
        item("liking", OutcomeKind::Scale(1, 9)),
        item("filling", words(&["runs", "soft", "sets", "right", "firm", "rubber", "split"])),
    ];
    for item in &mut items[..at] {
        item.noted = true;
    }
    StationView { outcome: Some(OutcomeView { trial: TrialNo(1), items }), ..station() }
}

/// One thing is asked whose words have no room in their boxes.
pub fn outcome_in_long_words() -> StationView {
    let words = ["almost white", "straw", "golden", "chestnut", "almost black"].map(String::from).to_vec();
    let item = OutcomeItem { what: "colour of the rim".into(), kind: OutcomeKind::Words(1, words), noted: false };
    StationView { outcome: Some(OutcomeView { trial: TrialNo(1), items: vec![item] }), ..station() }
}

/// A probe in ice water; `steady` seconds without a move, then so many ten-thousandths off.
pub fn probe_in_ice(reading: Reading, steady: Option<u64>, off: Option<i32>, saved: bool) -> StationView {
    let check = ProbeCheckView {
        name: "core".into(),
        bath: Bath::Ice,
        expected: Celsius::whole(0),
        reading: Some(reading),
        steady: steady.map(Span::from_secs),
        needed: Span::from_secs(60),
        off: off.map(CelsiusStep::from_ten_thousandths),
        most: CelsiusStep::whole(3),
        saved,
        checked: Some("2026-11-02".into()),
    };
    StationView { probe_check: Some(check), ..station() }
}

pub fn joining(join: JoinView) -> StationView {
    StationView { join, ..station() }
}

/// The address has as many letters as a small panel can show.
pub fn join_open() -> JoinView {
    JoinView::Open { address: "HTTP://10.0.0.7:8080/J/4K".into(), code: "4K7 Q2M".into(), left: Span::from_secs(154) }
}

pub fn self_test(over: bool) -> StationView {
    self_test_in(Language::English, over)
}

pub fn self_test_in(w: Language, over: bool) -> StationView {
    let line = |what: Text, found: Text, state| TestLine { what, found, state };
    let mut lines = vec![
        line(w.starting_keys(), w.keys_free(), CheckState::Ticked),
        line(w.starting_lamps(), w.works(), CheckState::Ticked),
        line(w.starting_sound(), w.testing_lane(2), CheckState::Open),
        line(
            w.starting_probe(if w == Language::German { "Kern" } else { "core" }),
            w.found_no_signal(),
            CheckState::NoSignal,
        ),
        line(w.starting_record(), w.trials_kept(2), CheckState::Ticked),
    ];
    if over {
        lines[0] = line(w.starting_keys(), w.key_stuck(w.key_lane(3)), CheckState::NoSignal);
        lines[1] = line(w.starting_panel(), w.not_there(), CheckState::NoSignal);
        lines[2] = line(w.starting_sound(), w.works(), CheckState::Ticked);
    }
    let test = SelfTestView { lines, over, version: "0.1.0".into() };
    StationView { self_test: Some(test), ..station() }
}

/// Only the lines of the check whose place is given are open.
pub fn check_with(open: &[usize]) -> StationView {
    let mut here = station();
    for (at, line) in here.check.iter_mut().flat_map(|check| &mut check.lines).enumerate() {
        line.state = if open.contains(&at) { CheckState::Open } else { CheckState::Ticked };
        line.found = if open.contains(&at) { "not yet".into() } else { "in order".into() };
    }
    here
}

pub fn station() -> StationView {
    let recipe = |title: &str, trials, refused: Option<&'static str>| RecipeLine {
        title: title.into(),
        trials,
        refused: refused.map(Into::into),
    };
    let line =
        |text: &'static str, found: &'static str, state| CheckLine { text: text.into(), found: found.into(), state };
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
            ready_at: ReadyAtView::default(),
        }),
        kept: Kept::Here,
        settings: Settings {
            speech: Some(false),
            lanes: ["Oven", "Micro", "Pan", "Bench"].map(Into::into),
            ..Settings::default()
        },
        probes: vec![
            ProbeLine { name: "core".into(), reading: None, checked: Some("2026-11-02".into()) },
            ProbeLine { name: "oven".into(), reading: None, checked: None },
        ],
        about: vec![[Language::English.version("0.1.0"), Text::none()]],
        ..StationView::default()
    }
}

/// A call inside a step.
pub fn asked_inside() -> RunView {
    let inside = LaneState::Inside { asked: before(9), text: "STIR cream".into() };
    let view = with_state(four_lanes(), 4, inside, Some(KeyWord::InsideDone));
    with_alert(view, alert(4, AlertKind::Inside, "STIR", "cream", 9))
}

/// A question that needs both lines.
pub fn longest_question() -> RunView {
    let mut view = question();
    view.alerts[0].text = "Is the filling firm in the middle?".into();
    view
}

/// The longest call of a late step.
pub fn longest_label() -> RunView {
    let mut view = overdue(779);
    view.lanes[0].front.as_mut().unwrap().food = "rye loaves".into();
    view.alerts[0].text = "rye loaves".into();
    view
}

/// A probe in boiling water high up, settling.
pub fn probe_boiling() -> StationView {
    let mut here = probe_in_ice(Ok(degrees(96.5)), Some(41), None, false);
    let check = here.probe_check.as_mut().unwrap();
    (check.bath, check.expected) = (Bath::Boiling, degrees(98.3));
    here
}

/// The longest words that the recipe check lets pass, at every place at once.
pub fn longest_words() -> RunView {
    let mut view = two_alerts();
    for (lane, name) in view.lanes.iter_mut().zip(["Freezer", "Micro 2", "Fridge 2", "Bench 2"]) {
        lane.name = name.into();
    }
    let front = view.lanes[0].front.as_mut().unwrap();
    front.food = "flat breads".into();
    view.alerts[0].text = "flat breads".into();
    view.trials[0].title = "Slow roast shoulder of lamb with beans and potatoes".into();
    view
}
