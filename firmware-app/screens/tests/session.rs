//! One cook does every core task of the key table on a real run, and the presses are counted.
//!
//! `cargo test -p screens --test session -- --nocapture` prints the table.
#![allow(clippy::unwrap_used, clippy::print_stderr)]

mod kitchen;

use kitchen::*;
use quantities::{RunTime, Span};
use run_engine::{
    Act,
    view::{AlertState, RunView},
};
use screens::{
    DeskKey::{self, Knob, KnobHold, Lane, Pedal, Turn},
    MovedView, Screen, Wish,
    screen::MovedWay,
};
use trial::{AlertKind, AlertSlot, Verdict};

/// The cook, and what each task took.
struct Session {
    kitchen: Kitchen,
    rows: Vec<(&'static str, usize, bool, usize)>,
}

impl Session {
    fn view(&self) -> RunView {
        self.kitchen.engine.view(RunTime::from_millis(self.kitchen.now))
    }

    /// Lets time pass until the run stands so.
    fn until(&mut self, what: &str, stands: impl Fn(&RunView) -> bool) {
        for _ in 0..2_000 {
            if stands(&self.view()) {
                // the word has stood long enough to be meant
                self.kitchen.wait(2);
                return;
            }
            self.kitchen.wait(2);
        }
        panic!("never: {what}: {:#?}", self.view());
    }

    /// Does every word on the cells until nothing is asked.
    fn calm(&mut self) {
        for _ in 0..60 {
            if self.view().alerts.is_empty() {
                return;
            }
            for lane in 1..=4 {
                if !self.kitchen.words()[usize::from(lane) - 1].is_empty() {
                    self.kitchen.press(Lane(lane));
                }
            }
            self.kitchen.wait(2);
        }
        panic!("no end of alerts: {:#?}", self.view().alerts);
    }

    /// Does a task with these keys: all but the last only choose, the last one does it. At most so many presses.
    fn task(&mut self, what: &'static str, keys: &[DeskKey], most: usize, done: impl Fn(&[Act]) -> bool) {
        for (i, key) in keys.iter().enumerate() {
            let (acts, refusals) = self.kitchen.press(*key);
            assert_eq!(refusals, [], "{what}: {key:?}");
            if i + 1 < keys.len() {
                assert_eq!(acts, [], "{what}: {key:?} did something already");
            } else {
                assert!(done(&acts), "{what}: {acts:?} {:?} alerts {:?}", self.kitchen.screen(), self.view().alerts);
            }
        }
        let turned = keys.iter().any(|key| matches!(key, Turn(_)));
        let presses = keys.iter().filter(|key| !matches!(key, Turn(_))).count();
        assert!(presses <= most, "{what}: {presses} presses, at most {most}");
        self.rows.push((what, presses, turned, most));
    }
}

fn sounds(view: &RunView, lane: u8, kind: AlertKind) -> bool {
    view.alerts.iter().any(|alert| alert.lane == lane && alert.kind == kind && alert.state == AlertState::Sounding)
}

fn one(acts: &[Act], is: impl Fn(&Act) -> bool) -> bool {
    matches!(acts, [act] if is(act))
}

#[test]
fn every_core_task_takes_at_most_the_presses_of_the_key_table() {
    let mut cook = Session { kitchen: Kitchen::new(7), rows: Vec::new() };
    cook.kitchen.wait(2);
    let silenced = |act: &Act| matches!(act, Act::Acknowledge(_, AlertSlot::Step));
    let done = |act: &Act| matches!(act, Act::Done(_));

    cook.task("start the next stage of a lane", &[Lane(1)], 1, |acts| one(acts, |act| matches!(act, Act::Start(_))));
    for lane in [2, 4] {
        cook.kitchen.press(Lane(lane));
    }
    cook.kitchen.wait(4);
    cook.task("look at a lane", &[Lane(4)], 1, <[Act]>::is_empty);
    assert!(matches!(cook.kitchen.screen(), Screen::Lane(page) if page.lane == 4));
    cook.kitchen.press(Knob);
    assert!(matches!(cook.kitchen.screen(), Screen::Board(_)));

    let ends = |cook: &Session| cook.view().lanes[3].front.as_ref().unwrap().ends.unwrap();
    let before = ends(&cook);
    cook.task("add time", &[Lane(4), Turn(2), Knob], 2, |acts| one(acts, |act| matches!(act, Act::ChangeTime(..))));
    assert_eq!(ends(&cook), before + Span::from_mins(2));
    cook.task("undo", &[KnobHold], 1, |acts| acts == [Act::Undo]);
    assert_eq!(ends(&cook), before);
    cook.task("hold", &[Lane(4), Turn(-1), Knob], 2, |acts| one(acts, |act| matches!(act, Act::Hold(..))));
    cook.kitchen.wait(30);
    cook.task("go on", &[Lane(4), Turn(-1), Knob], 2, |acts| one(acts, |act| matches!(act, Act::GoOn(_))));

    // the cream is due after twelve minutes
    cook.until("cream due", |view| sounds(view, 4, AlertKind::Due));
    cook.task("later 1 min", &[Knob], 1, |acts| one(acts, |act| matches!(act, Act::Later(_))));
    cook.until("cream due again", |view| sounds(view, 4, AlertKind::Due));
    cook.task("silence an alert", &[Lane(4)], 1, |acts| one(acts, silenced));
    cook.kitchen.press(KnobHold);
    cook.kitchen.wait(2);
    cook.task("silence an alert by the pedal", &[Pedal], 1, |acts| one(acts, silenced));
    cook.kitchen.wait(2);
    cook.task("stage done, after OK", &[Lane(4)], 1, |acts| one(acts, done));

    // the plug of the probe comes loose after a quarter of an hour
    cook.until("probe lost", |view| sounds(view, 1, AlertKind::ProbeLost));
    cook.task("go by time when the probe is lost", &[Knob], 1, |acts| one(acts, |act| matches!(act, Act::UseTime(_))));
    cook.kitchen.press(KnobHold);

    // turned at half time, when it is called
    cook.until("potatoes to turn", |view| sounds(view, 2, AlertKind::Inside));
    cook.kitchen.press(Lane(2));
    cook.until("the probe back", |view| view.alerts.iter().any(|alert| alert.kind == AlertKind::WasLost));
    cook.task("OK to a probe that was lost", &[Lane(1)], 1, |acts| {
        one(acts, |act| matches!(act, Act::Acknowledge(_, AlertSlot::Probe)))
    });

    cook.until("loin to uncover", |view| sounds(view, 1, AlertKind::Inside));
    cook.task("done inside a step", &[Lane(1)], 1, |acts| one(acts, |act| matches!(act, Act::InsideDone(_))));

    cook.until("a question", |view| sounds(view, 2, AlertKind::Question));
    let verdict = |wanted: Verdict| move |act: &Act| matches!(act, Act::Look(_, said) if *said == wanted);
    cook.task("answer NOT YET", &[Knob], 1, |acts| one(acts, verdict(Verdict::NotYet)));
    cook.until("the question again", |view| sounds(view, 2, AlertKind::Question));
    cook.task("answer YES", &[Lane(2)], 1, |acts| one(acts, verdict(Verdict::Done)));

    // whatever stands is answered before the loin is taken before its time
    cook.calm();
    cook.task("stage done early", &[Lane(1), Lane(1)], 2, |acts| one(acts, done));

    let moved = |at| MovedView {
        at,
        way: MovedWay::Late,
        landing: None,
        cannot: None,
        was: at + Span::from_mins(20),
        now: at + Span::from_mins(26),
        starts: vec![],
        can_keep: true,
    };
    // a plan never covers an alert
    cook.calm();
    let at = RunTime::from_millis(cook.kitchen.now);
    for (what, keys, wanted) in [
        ("take the new plan", &[Knob][..], Wish::TakePlan),
        ("keep the old plan", &[Turn(1), Knob][..], Wish::KeepPlan),
    ] {
        let earlier = at.earlier(Span::from_secs(if wanted == Wish::TakePlan { 3 } else { 2 }));
        cook.kitchen.station.moved = Some(moved(earlier));
        assert!(matches!(cook.kitchen.screen(), Screen::Moved(_)), "{:#?}", cook.kitchen.screen());
        let view = cook.view();
        let mut wish = None;
        for key in keys {
            wish = cook.kitchen.desk.key(*key, &view, &cook.kitchen.station, view.now).wish;
        }
        assert_eq!(wish, Some(wanted));
        cook.rows.push((what, 1, keys.len() > 1, 1));
    }
    cook.kitchen.station.moved = None;

    let lane = [3, 4, 2].into_iter().find(|lane| {
        let view = cook.view();
        let front = view.lanes[usize::from(*lane) - 1].front.as_ref();
        front.is_some_and(|stage| stage.key.is_none() && stage.began.is_some())
    });
    let lane = lane.expect("a stage that is no rest runs and asks nothing");
    let keep = |far: i8| [Lane(lane), Turn(-100), Turn(far), Knob, Turn(3), Knob];
    cook.task("skip a step", &keep(1), 3, |acts| one(acts, |act| matches!(act, Act::Skip(_))));
    cook.kitchen.press(KnobHold);
    cook.task("stop a lane", &keep(0), 3, |acts| one(acts, |act| matches!(act, Act::StopStage(..))));
    cook.kitchen.press(KnobHold);
    cook.task("give up a trial", &[Knob, Turn(5), Knob, Turn(3), Knob], 3, |acts| {
        one(acts, |act| matches!(act, Act::GiveUp(_)))
    });

    eprintln!("{:<36} {:>7} {:>5} {:>7}", "task", "presses", "turn", "at most");
    for (what, presses, turned, most) in &cook.rows {
        eprintln!("{what:<36} {presses:>7} {:>5} {most:>7}", if *turned { "yes" } else { "" });
    }
    assert_eq!(cook.rows.len(), 21);
}
