//! The keys of the panel: which page is open, and what each key does there.

mod choice;
mod in_sight;
mod noting;
mod ready_at;
mod setting;

use alloc::{vec, vec::Vec};

use quantities::{RunTime, Span};
use recipe_model::StepId;
use run_engine::{
    Act, StageAt, TrialNo,
    view::{AlertState, AlertView, KeyWord, RunView, StageView},
};
use trial::{AlertKind, EarlyReason, PauseReason, Priority, Verdict};

use choice::Choices;
pub(crate) use choice::Chosen;
pub(crate) use choice::runs;
use in_sight::InSight;
pub(crate) use noting::Noting;
pub(crate) use ready_at::Stating;
use ready_at::{Least, least_of, of_trial, turned};
pub(crate) use setting::{CheckChoice, RowPush, SettingRow};

use crate::{
    Bath, JoinView, MovedView, OutcomeItem, OutcomeView, Screen, SelfTestView, SettingChange, StationView,
    asked::{claims, stage_at, stage_of, top_alert, unanswered, word_of},
    present,
};

/// A word that has just come up under the finger is not answered by a press that was meant for another.
const GUARD: Span = Span::from_millis(500);
/// A page of one lane goes back to the board by itself.
const BACK_AFTER: Span = Span::from_secs(20);
/// A list goes back to a running board by itself.
const LIST_BACK_AFTER: Span = Span::from_secs(60);
/// A text too long for the page of a lane shows its next part after so long.
const TEXT_TURNS: Span = Span::from_secs(4);
/// A plan that has moved is shown for so long.
const MOVED_SHOWN: Span = Span::from_secs(15);
/// A page that waits for something outside (a probe to settle, a phone) stands this long without a key.
const WAITS: Span = Span::from_mins(10);
/// Clicks of the knob from KEEP to the word.
pub(crate) const KEEP_CLICKS: u8 = 3;

/// A key of the panel, after its contact has settled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DeskKey {
    /// A lane key, 1 to 4.
    Lane(u8),
    /// The knob was pushed and let go.
    Knob,
    /// The knob was held for a second.
    KnobHold,
    /// The knob was turned by so many clicks, to the right if positive.
    Turn(i8),
    /// The pedal.
    Pedal,
}

/// What a key led to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pressed {
    /// For the engine, in this order.
    pub acts: Vec<Act>,
    /// For the service: what is no act of a run.
    pub wish: Option<Wish>,
    /// What is heard if the engine refuses none of the acts; if it refuses one, [`KeySound::NotPossible`].
    pub sound: KeySound,
}

/// What the cook asks of the service.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// The ready check for this recipe of the list.
    Prepare(usize),
    /// This line of the ready check ticked, or open again.
    Tick(usize),
    /// The dishes of the prepared trial are wanted then; none: as it comes. Nothing is planned before the start.
    ReadyAt(Option<RunTime>),
    /// The trial started, even if lines of its check are open; they go into the record.
    Start,
    /// What the plan would be if the dishes of this trial were wanted then; none: as it comes. Nothing is changed by it.
    AskPlan(TrialNo, Option<RunTime>),
    /// The dishes of a trial that goes on are wanted then: its plan moves.
    Want(TrialNo, RunTime),
    /// The new plan taken.
    TakePlan,
    /// The old plan kept.
    KeepPlan,
    /// A setting changed, seen and heard at once.
    Set(SettingChange),
    /// Lamp and beeps of a lane, 1 to 4, for the self test.
    TestLane(u8),
    /// The self test left.
    EndSelfTest,
    /// This probe checked in this bath.
    CheckProbe(usize, Bath),
    /// The check saved.
    SaveCheck,
    /// The check left as it is.
    EndCheck,
    /// What is known of this probe's checks forgotten.
    ForgetCheck(usize),
    /// A phone let in.
    OpenJoin,
    /// Nobody let in any more.
    EndJoin,
}

/// Of what a page shows a plan before anything follows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanAsked {
    /// Of the trial that is prepared.
    Prepared,
    /// Of a trial that goes on, if its dishes were wanted at another moment.
    Trial(TrialNo),
}

/// The short sound of a key. No key is silent and unseen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KeySound {
    /// Taken.
    Taken,
    /// Not possible here.
    NotPossible,
    /// Undone.
    Undone,
    /// Saved for good.
    Saved,
}

/// Where the cook stands at the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Page {
    /// What the run makes it: the board, the question after a power cut, a saved trial, or the list of recipes.
    Home,
    /// One lane.
    Lane(OpenLane),
    /// Asks before something is lost.
    Keep {
        /// What would be lost.
        loss: Loss,
        /// Clicks from KEEP.
        clicks: u8,
    },
    /// The menu.
    Menu {
        /// The row in reverse.
        row: usize,
        /// The trial for which turning states when its dishes are wanted.
        wanting: Option<TrialNo>,
    },
    /// What the plan says.
    Plan {
        /// The row in reverse.
        row: usize,
        /// The trial for which turning states when its dishes are wanted.
        wanting: Option<TrialNo>,
    },
    /// The list of recipes while a run goes on.
    Choose,
    /// The ready check.
    Check {
        /// The row in reverse.
        row: usize,
        /// Whether turning states when the dishes are wanted.
        stating: Stating,
    },
    /// The settings.
    Settings {
        /// The row in reverse.
        row: usize,
        /// Turning changes its value.
        changing: bool,
    },
    /// A probe is checked.
    ProbeCheck {
        /// Which of the station's probes.
        probe: usize,
        /// Clicks from what the knob does first.
        choice: usize,
    },
    /// A phone can join.
    Join,
}

/// A lane whose page is open. What the knob can choose is settled when it opens, so that no push does something else
/// than what was in sight a moment before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct OpenLane {
    /// 1 to 4.
    pub(crate) lane: u8,
    at: StageAt,
    step: StepId,
    choices: Choices,
    opened: RunTime,
    /// Clicks from "back", to the right if positive.
    clicks: i8,
}

/// What is lost for good in the eyes of a cook, though its record stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Loss {
    /// A step is not done.
    Skip(StageAt),
    /// A stage ends.
    Stop(StageAt),
    /// A trial ends.
    GiveUp(TrialNo),
    /// What is known of a probe's checks.
    ForgetCheck(usize),
}

/// The keys of the panel: which page is open, and what each key does there.
///
/// Pure: the same keys, views and moments give the same acts. No single press stops, skips or gives up anything.
/// What a contact does before it counts as pressed (bounce, two keys at once) is settled before a key comes here.
#[derive(Clone, Debug)]
pub struct Desk {
    page: Page,
    /// When a key was last used.
    touched: RunTime,
    /// The recipe in reverse.
    recipe: usize,
    /// The choice after a power cut: 0 is yes to all, else the open lane that is off.
    resume: usize,
    /// The moved plan for which keeping the old one is chosen.
    keep_plan: Option<RunTime>,
    /// The plan that was answered or had its time.
    plan_seen: Option<RunTime>,
    /// What is noted after a trial.
    noting: Option<OnSheet>,
    /// Saved trials that the cook has closed.
    closed: Vec<TrialNo>,
    /// What each key has been doing, and since when.
    in_sight: InSight,
}

/// Where the cook stands on the record sheet.
#[derive(Clone, Debug)]
struct OnSheet {
    trial: TrialNo,
    item: usize,
    noting: Noting,
    /// The things noted here, the last one at the end.
    noted: Vec<usize>,
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            page: Page::Home,
            touched: RunTime::START,
            recipe: 0,
            resume: 0,
            keep_plan: None,
            plan_seen: None,
            noting: None,
            closed: Vec::new(),
            in_sight: InSight::default(),
        }
    }
}

impl Desk {
    /// A desk at the start of the service.
    pub fn new() -> Self {
        Self::default()
    }

    /// The trial that was opened last, of those that the cook has not closed on the panel.
    pub fn last_trial(&self, run: &RunView) -> Option<TrialNo> {
        run.trials.iter().rfind(|trial| !self.closed.contains(&trial.no)).map(|trial| trial.no)
    }

    /// Takes in what the keys would do at this moment, so that none acts by a word that has only just come up. To be
    /// told of every change of the run.
    pub fn look(&mut self, run: &RunView) {
        self.in_sight.look(run);
    }

    /// What the panel shows.
    pub fn screen(&self, run: &RunView, station: &StationView) -> Screen {
        match self.page_at(run, station, run.now) {
            Page::Home => match self.home(run, station, run.now) {
                Home::SelfTest(test) => present::starting(test, station),
                Home::Resume => present::resume(run, station, self.resume),
                Home::Moved(moved) => present::moved(run, station, moved, self.keeps(moved)),
                Home::Board => present::board(run, station),
                Home::Outcome(sheet) => {
                    let (item, noting) = self.on_sheet(sheet);
                    present::outcome(station, sheet, item, &noting)
                }
                Home::Saved(no) => present::saved(run, no, station),
                Home::Choose => present::choose(station, self.recipe),
            },
            Page::Lane(open) => match open.stage(run) {
                Some(stage) => {
                    let page = run.now.since(open.opened).millis() / TEXT_TURNS.millis();
                    let chosen = open.choices.at(open.clicks);
                    present::lane(run, station, open.lane, stage, chosen, u32::try_from(page).unwrap_or(0))
                }
                None => present::board(run, station),
            },
            Page::Keep { loss, clicks } => present::keep(run, station, loss, clicks),
            Page::Menu { row, wanting } => {
                let asked = wanting.map(|no| of_trial(no, run, station));
                present::menu(run, station, &menu(run), row, asked.as_ref())
            }
            Page::Plan { row, wanting } => {
                let asked = wanting.map(|no| of_trial(no, run, station));
                present::plan(run, station, row, asked.as_ref())
            }
            Page::Choose => present::choose(station, self.recipe),
            Page::Check { row, stating } => {
                present::check(station, run.now, CheckRow::at(row, station), stating != Stating::No)
            }
            Page::Settings { row, changing } => present::settings(station, &setting::rows(station), row, changing),
            Page::ProbeCheck { choice, .. } => match &station.probe_check {
                Some(check) => present::probe_check(station, check, setting::check_choice(check, choice)),
                None => present::settings(station, &setting::rows(station), 0, false),
            },
            Page::Join => present::join(station),
        }
    }

    /// What is to be asked of a plan for the page that is open; none where it shows nothing of that.
    pub fn asks_plan(&self, run: &RunView, station: &StationView) -> Option<PlanAsked> {
        match self.page_at(run, station, run.now) {
            Page::Check { .. } => Some(PlanAsked::Prepared),
            Page::Menu { wanting, .. } | Page::Plan { wanting, .. } => wanting.map(PlanAsked::Trial),
            Page::Home
            | Page::Lane(_)
            | Page::Keep { .. }
            | Page::Choose
            | Page::Settings { .. }
            | Page::ProbeCheck { .. }
            | Page::Join => None,
        }
    }

    /// When the picture changes by itself though nothing happens: a page goes back to the board.
    pub fn next_deadline(&self, run: &RunView, station: &StationView) -> Option<RunTime> {
        let moved = match self.home(run, station, run.now) {
            Home::Moved(moved) => Some(moved.at + MOVED_SHOWN),
            Home::SelfTest(_) | Home::Resume | Home::Board | Home::Outcome(_) | Home::Saved(_) | Home::Choose => None,
        };
        let back = self.back_after(run, station, run.now).map(|after| self.touched + after);
        [moved, back].into_iter().flatten().min()
    }

    /// Takes a key: changes the page, and gives what is to be done.
    pub fn key(&mut self, key: DeskKey, run: &RunView, station: &StationView, now: RunTime) -> Pressed {
        self.page = self.page_at(run, station, now);
        self.touched = now;
        match (key, self.page.clone()) {
            (DeskKey::KnobHold, Page::Home) if matches!(self.home(run, station, now), Home::Saved(_)) => {
                self.reopen(run, station, now)
            }
            (DeskKey::KnobHold, Page::Home) if matches!(self.home(run, station, now), Home::Outcome(_)) => {
                self.undo_note(run)
            }
            (DeskKey::KnobHold, Page::Check { row, stating: Stating::Yes { before } }) => {
                self.page = Page::Check { row, stating: Stating::No };
                Pressed { acts: Vec::new(), wish: Some(Wish::ReadyAt(before)), sound: KeySound::Undone }
            }
            (DeskKey::KnobHold, Page::Menu { row, wanting: Some(_) }) => {
                self.page = Page::Menu { row, wanting: None };
                Pressed { acts: Vec::new(), wish: None, sound: KeySound::Undone }
            }
            (DeskKey::KnobHold, Page::Plan { row, wanting: Some(_) }) => {
                self.page = Page::Plan { row, wanting: None };
                Pressed { acts: Vec::new(), wish: None, sound: KeySound::Undone }
            }
            (DeskKey::KnobHold, _) => match run.undo {
                Some(_) => undo(),
                None => not_possible(),
            },
            (DeskKey::Pedal, page) => match top_alert(run) {
                Some(_) if now.since(self.in_sight.knob()) < GUARD => not_possible(),
                Some(alert) => self.lane_word(alert.lane, run, now).unwrap_or_else(not_possible),
                None => {
                    self.page = page;
                    not_possible()
                }
            },
            (DeskKey::Lane(1), Page::Check { .. }) => {
                self.page = Page::Home;
                wish(Wish::Start)
            }
            (DeskKey::Lane(_), Page::Check { .. }) => not_possible(),
            (DeskKey::Lane(lane), Page::Lane(open)) if lane == open.lane => self.same_lane(&open, run, now),
            (DeskKey::Lane(lane), Page::Home) => match self.home(run, station, now) {
                Home::SelfTest(_) => wish(Wish::TestLane(lane)),
                Home::Outcome(_) => not_possible(),
                Home::Resume | Home::Moved(_) | Home::Board | Home::Saved(_) | Home::Choose => {
                    self.lane_key(lane, run, now)
                }
            },
            (DeskKey::Lane(lane), Page::Lane(_)) => self.lane_key(lane, run, now),
            // the cells with their words are not in sight on these pages, so a lane key only looks
            (
                DeskKey::Lane(lane),
                Page::Keep { .. }
                | Page::Menu { .. }
                | Page::Plan { .. }
                | Page::Choose
                | Page::Settings { .. }
                | Page::ProbeCheck { .. }
                | Page::Join,
            ) => self.open(lane, run, now),
            (DeskKey::Knob, Page::Home) => self.knob_at_home(run, station, now),
            (DeskKey::Knob, Page::Lane(open)) => self.knob_at_lane(&open, run, now),
            (DeskKey::Knob, Page::Keep { loss, clicks }) => {
                self.page = Page::Home;
                match loss {
                    _ if clicks < KEEP_CLICKS => taken(),
                    Loss::Skip(at) => acts([Act::Skip(at)]),
                    Loss::Stop(at) => acts([Act::StopStage(at, EarlyReason::GivenUp)]),
                    Loss::GiveUp(no) => acts([Act::GiveUp(no)]),
                    Loss::ForgetCheck(probe) => wish(Wish::ForgetCheck(probe)),
                }
            }
            (DeskKey::Knob, Page::Menu { row, wanting: None }) => self.knob_at_menu(row, run),
            (DeskKey::Knob, Page::Plan { row, wanting: None }) => self.knob_at_plan(row, run),
            (DeskKey::Knob, Page::Menu { row, wanting: Some(no) }) => {
                self.want(no, Page::Menu { row, wanting: None }, run, station)
            }
            (DeskKey::Knob, Page::Plan { row, wanting: Some(no) }) => {
                self.want(no, Page::Plan { row, wanting: None }, run, station)
            }
            (DeskKey::Knob, Page::Choose) => self.open_recipe(station),
            (DeskKey::Knob, Page::Check { row, stating }) => self.knob_at_check(row, stating, station),
            (DeskKey::Knob, Page::Settings { row, changing }) => self.knob_at_settings(row, changing, station),
            (DeskKey::Knob, Page::ProbeCheck { probe, choice }) => self.knob_at_check_of(probe, choice, station),
            (DeskKey::Knob, Page::Join) => {
                self.page = Page::Settings { row: 0, changing: false };
                if matches!(station.join, JoinView::Open { .. }) { wish(Wish::EndJoin) } else { taken() }
            }
            (DeskKey::Turn(by), page) => self.turn(by, page, run, station),
        }
    }

    /// The page after what happened without a key: an alert or a long rest brings the board back.
    fn page_at(&self, run: &RunView, station: &StationView, now: RunTime) -> Page {
        let new_alert = |alert: &AlertView| {
            alert.state == AlertState::Sounding && alert.priority != Priority::Low && alert.raised >= self.touched
        };
        let rested = self.back_after(run, station, now).is_some_and(|after| now.since(self.touched) >= after);
        let gone = match &self.page {
            Page::Lane(open) => open.stage(run).is_none(),
            Page::ProbeCheck { .. } => station.probe_check.is_none(),
            Page::Menu { wanting: Some(no), .. } => !menu(run).contains(&MenuRow::ReadyAt(*no)),
            Page::Plan { wanting: Some(no), .. } => !run.landings.iter().any(|landing| landing.trial == *no),
            Page::Plan { wanting: None, .. } => !present::is_planned(run),
            Page::Home
            | Page::Keep { .. }
            | Page::Menu { wanting: None, .. }
            | Page::Choose
            | Page::Check { .. }
            | Page::Settings { .. }
            | Page::Join => false,
        };
        let called = goes_on(run) && run.alerts.iter().any(new_alert);
        if called || rested || gone || run.resume.is_some() { Page::Home } else { self.page.clone() }
    }

    fn back_after(&self, run: &RunView, station: &StationView, now: RunTime) -> Option<Span> {
        match self.page {
            Page::Home => None,
            // no page hides an alert for longer, whatever it waits for
            _ if top_alert(run).is_some() => Some(BACK_AFTER),
            Page::Lane(_) | Page::Keep { .. } | Page::Menu { .. } => Some(BACK_AFTER),
            Page::Choose | Page::Check { .. } | Page::Plan { .. } => goes_on(run).then_some(LIST_BACK_AFTER),
            Page::Settings { .. } => {
                let board = goes_on(run) || matches!(self.home(run, station, now), Home::Outcome(_));
                board.then_some(LIST_BACK_AFTER)
            }
            Page::ProbeCheck { .. } | Page::Join => Some(WAITS),
        }
    }

    fn home<'a>(&self, run: &RunView, station: &'a StationView, now: RunTime) -> Home<'a> {
        // an alert is never hidden by a test or a plan
        let called = claims(run).next().is_some();
        if let Some(test) = station.self_test.as_ref().filter(|_| !called || run.resume.is_some()) {
            return Home::SelfTest(test);
        }
        if run.resume.is_some() {
            return Home::Resume;
        }
        if goes_on(run) {
            let shown = |at: RunTime| now.since(at) < MOVED_SHOWN && self.plan_seen != Some(at);
            let moved = station.moved.as_ref().filter(|moved| !called && shown(moved.at));
            return moved.map_or(Home::Board, Home::Moved);
        }
        let last = self.last_trial(run).and_then(|no| run.trials.iter().find(|trial| trial.no == no));
        let Some(last) = last else { return Home::Choose };
        let sheet = station.outcome.as_ref().filter(|sheet| sheet.trial == last.no && !last.given_up);
        match sheet {
            Some(sheet) if self.on_sheet(sheet).0 < sheet.items.len() => Home::Outcome(sheet),
            Some(_) | None => Home::Saved(last.no),
        }
    }

    /// Whether keeping the old plan is chosen: what was chosen on the page of an earlier move says nothing here.
    fn keeps(&self, moved: &MovedView) -> bool {
        self.keep_plan == Some(moved.at)
    }

    /// Which thing of the record sheet is asked, and what is entered.
    fn on_sheet(&self, sheet: &OutcomeView) -> (usize, Noting) {
        match self.noting.as_ref().filter(|on| on.trial == sheet.trial) {
            Some(on) => (on.item, on.noting.clone()),
            None => (noting::next_open(&sheet.items, 0), Noting::Nothing),
        }
    }

    /// Does the word on a lane's cell, else opens the lane.
    fn lane_key(&mut self, lane: u8, run: &RunView, now: RunTime) -> Pressed {
        match self.lane_word(lane, run, now) {
            Some(pressed) => pressed,
            None => self.open(lane, run, now),
        }
    }

    /// What the word on a lane's cell does; nothing if it has none, or has it for less than the guard time.
    fn lane_word(&mut self, lane: u8, run: &RunView, now: RunTime) -> Option<Pressed> {
        let stage = stage_of(run, lane)?;
        let since = stage.key_since.max(self.in_sight.lane(lane));
        let word = word_of(run, stage).filter(|_| now.since(since) >= GUARD)?;
        self.page = Page::Home;
        if word == KeyWord::StillOn {
            // the lanes that are left move up: what the knob had chosen would be another one
            self.resume = 0;
        }
        Some(acts([act_of(word, stage.at)]))
    }

    fn open(&mut self, lane: u8, run: &RunView, now: RunTime) -> Pressed {
        match stage_of(run, lane) {
            Some(stage) if run.resume.is_none() => self.open_stage(lane, stage.at, run, now),
            Some(_) | None => not_possible(),
        }
    }

    fn open_stage(&mut self, lane: u8, at: StageAt, run: &RunView, now: RunTime) -> Pressed {
        let Some(stage) = stage_at(run, at) else { return not_possible() };
        let of_lane = run.lanes.iter().filter(|found| found.number == lane);
        let others = of_lane.flat_map(|found| found.front.iter().chain(&found.others)).filter(|other| other.at != at);
        let choices = Choices::of(stage, others, now);
        self.page = Page::Lane(OpenLane { lane, at, step: stage.step.clone(), choices, opened: now, clicks: 0 });
        taken()
    }

    /// The key of the lane whose page is open: the word, or done early.
    fn same_lane(&mut self, open: &OpenLane, run: &RunView, now: RunTime) -> Pressed {
        let Some(stage) = open.stage(run) else { return not_possible() };
        if let Some(word) = word_of(run, stage) {
            if now.since(stage.key_since) < GUARD {
                return not_possible();
            }
            self.page = Page::Home;
            return acts([act_of(word, stage.at)]);
        }
        // a word that has just gone is not taken for "done early"
        if !runs(&stage.state) || now.since(self.in_sight.lane(open.lane)) < GUARD {
            return not_possible();
        }
        self.page = Page::Home;
        acts([Act::Done(stage.at)])
    }

    fn knob_at_home(&mut self, run: &RunView, station: &StationView, now: RunTime) -> Pressed {
        match self.home(run, station, now) {
            Home::SelfTest(_) => wish(Wish::EndSelfTest),
            Home::Moved(moved) => {
                if now.since(moved.at) < GUARD {
                    return not_possible();
                }
                self.plan_seen = Some(moved.at);
                wish(if self.keeps(moved) { Wish::KeepPlan } else { Wish::TakePlan })
            }
            Home::Outcome(sheet) => {
                if closed_just_now(run, sheet.trial, now) {
                    return not_possible();
                }
                let sheet = sheet.clone();
                self.note(&sheet)
            }
            Home::Resume => self.answer_resume(run, now),
            Home::Board => match top_alert(run) {
                Some(alert) if now.since(alert.raised.max(self.in_sight.knob())) < GUARD => not_possible(),
                // it was put off often enough: the knob leads to the menu again
                Some(alert) if !can_say_no(run, alert) => {
                    self.page = Page::Menu { row: 0, wanting: None };
                    taken()
                }
                Some(alert) => acts([no_to(run, alert)]),
                None => {
                    self.page = Page::Menu { row: 0, wanting: None };
                    taken()
                }
            },
            Home::Saved(no) => {
                if closed_just_now(run, no, now) {
                    return not_possible();
                }
                self.closed.push(no);
                taken()
            }
            Home::Choose => self.open_recipe(station),
        }
    }

    fn answer_resume(&mut self, run: &RunView, now: RunTime) -> Pressed {
        let open = unanswered(run);
        if open.iter().any(|(alert, _)| now.since(alert.raised) < GUARD) {
            return not_possible();
        }
        let answers: Vec<Act> = match self.resume {
            0 => open.iter().map(|(_, at)| Act::StillOn(*at, true)).collect(),
            off => open.get(off - 1).map(|(_, at)| Act::StillOn(*at, false)).into_iter().collect(),
        };
        self.resume = 0;
        if answers.is_empty() { not_possible() } else { acts(answers) }
    }

    fn reopen(&mut self, run: &RunView, station: &StationView, now: RunTime) -> Pressed {
        match self.home(run, station, now) {
            Home::Saved(no) => {
                self.noting = None;
                acts([Act::Reopen(no)])
            }
            Home::SelfTest(_) | Home::Resume | Home::Moved(_) | Home::Board | Home::Outcome(_) | Home::Choose => {
                not_possible()
            }
        }
    }

    /// Notes what is entered, moves on to the next figure, or skips what is not entered.
    fn note(&mut self, sheet: &OutcomeView) -> Pressed {
        let (item, noting) = self.on_sheet(sheet);
        let mut noted = self.noted_here(sheet);
        let Some(asked) = sheet.items.get(item) else { return not_possible() };
        let stand = |item, noting, noted| Some(OnSheet { trial: sheet.trial, item, noting, noted });
        match noting.pushed(&asked.kind) {
            noting::Push::Moves(next) => {
                self.noting = stand(item, next, noted);
                taken()
            }
            noting::Push::Skips => {
                self.noting = stand(noting::next_open(&sheet.items, item + 1), Noting::Nothing, noted);
                taken()
            }
            noting::Push::Notes(thousandths, unit) => {
                noted.push(item);
                self.noting = stand(noting::next_open(&sheet.items, item + 1), Noting::Nothing, noted);
                acts([Act::Measure(sheet.trial, asked.what.clone(), thousandths, unit)])
            }
        }
    }

    fn noted_here(&self, sheet: &OutcomeView) -> Vec<usize> {
        self.noting.as_ref().filter(|on| on.trial == sheet.trial).map_or_else(Vec::new, |on| on.noted.clone())
    }

    /// Clears what is entered; else takes back what was noted last, or opens the trial again.
    fn undo_note(&mut self, run: &RunView) -> Pressed {
        match &mut self.noting {
            Some(on) if on.noting != Noting::Nothing => {
                on.noting = Noting::Nothing;
                return Pressed { acts: Vec::new(), wish: None, sound: KeySound::Undone };
            }
            Some(_) | None if run.undo.is_none() => return not_possible(),
            // it is asked again, also where others were skipped after it
            Some(on) => on.item = on.noted.pop().unwrap_or(on.item),
            None => {}
        }
        undo()
    }

    fn knob_at_settings(&mut self, row: usize, changing: bool, station: &StationView) -> Pressed {
        if changing {
            self.page = Page::Settings { row, changing: false };
            return taken();
        }
        match setting::rows(station).get(row).map_or(RowPush::Back, |row| row.push()) {
            RowPush::Back => {
                self.page = Page::Home;
                taken()
            }
            RowPush::Change => {
                self.page = Page::Settings { row, changing: true };
                taken()
            }
            RowPush::Check(probe) => {
                self.page = Page::ProbeCheck { probe, choice: 0 };
                wish(Wish::CheckProbe(probe, Bath::Ice))
            }
            RowPush::Join => {
                self.page = Page::Join;
                wish(Wish::OpenJoin)
            }
            RowPush::Nothing => not_possible(),
        }
    }

    fn knob_at_check_of(&mut self, probe: usize, choice: usize, station: &StationView) -> Pressed {
        let Some(check) = &station.probe_check else { return not_possible() };
        self.page = Page::ProbeCheck { probe, choice: 0 };
        match setting::check_choice(check, choice) {
            CheckChoice::Main if setting::can_save(check) => {
                Pressed { acts: Vec::new(), wish: Some(Wish::SaveCheck), sound: KeySound::Saved }
            }
            CheckChoice::Main => {
                self.page = Page::Settings { row: 0, changing: false };
                wish(Wish::EndCheck)
            }
            CheckChoice::Bath(bath) => wish(Wish::CheckProbe(probe, bath)),
            CheckChoice::Forget => {
                self.page = Page::Keep { loss: Loss::ForgetCheck(probe), clicks: 0 };
                wish(Wish::EndCheck)
            }
        }
    }

    fn knob_at_lane(&mut self, open: &OpenLane, run: &RunView, now: RunTime) -> Pressed {
        let at = open.at;
        self.page = Page::Home;
        match open.choices.at(open.clicks).clone() {
            Chosen::Back => taken(),
            Chosen::Other(other, _) => self.open_stage(open.lane, other, run, now),
            Chosen::Time(by) => acts([Act::ChangeTime(at, by)]),
            Chosen::Hold => acts([Act::Hold(at, PauseReason::Unsaid)]),
            Chosen::GoOn => acts([Act::GoOn(at)]),
            Chosen::UseTime => acts([Act::UseTime(at)]),
            Chosen::NotYet => acts([Act::Look(at, Verdict::NotYet)]),
            Chosen::Over => acts([Act::Look(at, Verdict::Over)]),
            Chosen::StartAnyway => acts([Act::StartAnyway(at)]),
            Chosen::Mark(event, _) => acts([Act::Mark(at, event)]),
            Chosen::Branch(branch, _) => acts([Act::TakeBranch(at, branch)]),
            Chosen::PullEarly => acts([Act::Pull(at, EarlyReason::PulledEarly)]),
            Chosen::Lose(loss) => {
                self.page = Page::Keep { loss, clicks: 0 };
                taken()
            }
        }
    }

    fn knob_at_menu(&mut self, row: usize, run: &RunView) -> Pressed {
        self.page = Page::Home;
        match menu(run).get(row) {
            Some(MenuRow::Back) | None => taken(),
            Some(MenuRow::Plan) => {
                self.page = Page::Plan { row: 0, wanting: None };
                taken()
            }
            Some(MenuRow::ReadyAt(no)) => {
                self.page = Page::Menu { row, wanting: Some(*no) };
                wish(Wish::AskPlan(*no, None))
            }
            Some(MenuRow::AnotherRecipe) => {
                self.page = Page::Choose;
                taken()
            }
            Some(MenuRow::Quiet(on)) => acts([Act::Quiet(*on)]),
            Some(MenuRow::Settings) => {
                self.page = Page::Settings { row: 0, changing: false };
                taken()
            }
            Some(MenuRow::GiveUp(no)) => {
                self.page = Page::Keep { loss: Loss::GiveUp(*no), clicks: 0 };
                taken()
            }
        }
    }

    fn open_recipe(&mut self, station: &StationView) -> Pressed {
        // what the panel shows as chosen, where the list became shorter; the last row leads to the settings
        self.recipe = self.recipe.min(station.recipes.len());
        if self.recipe == station.recipes.len() {
            self.page = Page::Settings { row: 0, changing: false };
            return taken();
        }
        match station.recipes.get(self.recipe) {
            Some(line) if line.refused.is_none() => {
                self.page = Page::Check { row: 0, stating: Stating::No };
                wish(Wish::Prepare(self.recipe))
            }
            Some(_) | None => not_possible(),
        }
    }

    fn knob_at_check(&mut self, row: usize, stating: Stating, station: &StationView) -> Pressed {
        match (CheckRow::at(row, station), stating) {
            (_, Stating::Yes { .. }) => {
                self.page = Page::Check { row, stating: Stating::No };
                taken()
            }
            (CheckRow::Line(line), Stating::No) => wish(Wish::Tick(line)),
            (CheckRow::ReadyAt, Stating::No) => {
                let before = station.check.as_ref().and_then(|check| check.ready_at.wanted);
                self.page = Page::Check { row, stating: Stating::Yes { before } };
                // as it was, but what the plan says is asked from here on
                wish(Wish::ReadyAt(before))
            }
            (CheckRow::Back, Stating::No) => {
                self.page = Page::Choose;
                taken()
            }
        }
    }

    /// A landing is stated anew; every other row is only to be read, and leads back.
    fn knob_at_plan(&mut self, row: usize, run: &RunView) -> Pressed {
        let Some(landing) = present::landing_in(run, row) else {
            self.page = Page::Home;
            return taken();
        };
        self.page = Page::Plan { row, wanting: Some(landing.trial) };
        wish(Wish::AskPlan(landing.trial, landing.wanted))
    }

    /// Keeps what is stated for a trial that goes on: its plan moves if that is new, else the page stays.
    fn want(&mut self, no: TrialNo, page: Page, run: &RunView, station: &StationView) -> Pressed {
        let known = run.landings.iter().find(|landing| landing.trial == no).and_then(|landing| landing.wanted);
        match of_trial(no, run, station).wanted {
            Some(wanted) if known != Some(wanted) => {
                self.page = Page::Home;
                wish(Wish::Want(no, wanted))
            }
            Some(_) | None => {
                self.page = page;
                taken()
            }
        }
    }

    fn turn(&mut self, by: i8, page: Page, run: &RunView, station: &StationView) -> Pressed {
        let moved = |row: usize, rows: usize| row.saturating_add_signed(isize::from(by)).min(rows.saturating_sub(1));
        match page {
            Page::Home => match self.home(run, station, run.now) {
                Home::Resume => self.resume = moved(self.resume, unanswered(run).len() + 1),
                Home::Choose => self.recipe = moved(self.recipe, station.recipes.len() + 1),
                Home::Moved(plan) if plan.can_keep => {
                    self.keep_plan = if self.keeps(plan) { None } else { Some(plan.at) };
                }
                Home::Outcome(sheet) => {
                    let (item, noting) = self.on_sheet(sheet);
                    let Some(OutcomeItem { kind, .. }) = sheet.items.get(item) else { return not_possible() };
                    let noted = self.noted_here(sheet);
                    self.noting = Some(OnSheet { trial: sheet.trial, item, noting: noting.turned(by, kind), noted });
                }
                Home::SelfTest(_) | Home::Moved(_) | Home::Board | Home::Saved(_) => return not_possible(),
            },
            Page::Lane(open) => {
                let clicks = open.choices.within(open.clicks.saturating_add(by));
                self.page = Page::Lane(OpenLane { clicks, ..open });
            }
            Page::Keep { loss, clicks } => {
                self.page = Page::Keep { loss, clicks: clicks.saturating_add_signed(by).min(KEEP_CLICKS) };
            }
            Page::Menu { row, wanting: None } => {
                self.page = Page::Menu { row: moved(row, menu(run).len()), wanting: None };
            }
            Page::Plan { row, wanting: None } => {
                self.page = Page::Plan { row: moved(row, present::plan_rows(run)), wanting: None };
            }
            Page::Menu { wanting: Some(no), .. } | Page::Plan { wanting: Some(no), .. } => {
                let asked = of_trial(no, run, station);
                let stated = turned(&asked, by, least_of(no, run), station.clock, run.now);
                return stated.map_or_else(not_possible, |stated| wish(Wish::AskPlan(no, stated)));
            }
            Page::Choose => self.recipe = moved(self.recipe, station.recipes.len() + 1),
            Page::Settings { row, changing: false } => {
                self.page = Page::Settings { row: moved(row, setting::rows(station).len()), changing: false };
            }
            Page::Settings { row, changing: true } => {
                let change = setting::rows(station).get(row).and_then(|row| setting::change(*row, by, station));
                return change.map_or_else(not_possible, |change| wish(Wish::Set(change)));
            }
            Page::ProbeCheck { probe, choice } => {
                let choices = station.probe_check.as_ref().map_or(1, |check| setting::check_choices(check).len());
                self.page = Page::ProbeCheck { probe, choice: moved(choice, choices) };
            }
            Page::Join => return not_possible(),
            Page::Check { row, stating: Stating::No } => {
                self.page = Page::Check { row: moved(row, CheckRow::count(station)), stating: Stating::No };
            }
            Page::Check { stating: Stating::Yes { .. }, .. } => {
                let Some(check) = &station.check else { return not_possible() };
                let stated = turned(&check.ready_at, by, Least::AsItComes, station.clock, run.now);
                return stated.map_or_else(not_possible, |stated| wish(Wish::ReadyAt(stated)));
            }
        }
        taken()
    }
}

impl OpenLane {
    /// Its stage, while the same step is in front of the lane.
    fn stage<'a>(&self, run: &'a RunView) -> Option<&'a StageView> {
        stage_at(run, self.at).filter(|stage| stage.step == self.step)
    }
}

/// What is shown while no page is open.
enum Home<'a> {
    SelfTest(&'a SelfTestView),
    Resume,
    Moved(&'a MovedView),
    Board,
    Outcome(&'a OutcomeView),
    Saved(TrialNo),
    Choose,
}

/// Whether a trial is open.
fn goes_on(run: &RunView) -> bool {
    run.resume.is_some() || run.trials.iter().any(|trial| trial.closed.is_none())
}

/// A press this soon after the end was meant for the board.
fn closed_just_now(run: &RunView, no: TrialNo, now: RunTime) -> bool {
    let closed = run.trials.iter().find(|trial| trial.no == no).and_then(|trial| trial.closed);
    closed.is_some_and(|at| now.since(at) < GUARD)
}

/// A row of the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum MenuRow {
    Back,
    /// What the plan says, where there is one.
    Plan,
    /// When the dishes of a trial are wanted, where there is no plan yet.
    ReadyAt(TrialNo),
    AnotherRecipe,
    /// Turn quiet on, or off.
    Quiet(bool),
    Settings,
    GiveUp(TrialNo),
}

fn menu(run: &RunView) -> Vec<MenuRow> {
    let open = run.trials.iter().filter(|trial| trial.closed.is_none());
    let mut rows = vec![MenuRow::Back];
    if present::is_planned(run) {
        rows.push(MenuRow::Plan);
    } else {
        rows.extend(open.clone().map(|trial| MenuRow::ReadyAt(trial.no)));
    }
    rows.extend([MenuRow::AnotherRecipe, MenuRow::Quiet(!run.quiet), MenuRow::Settings]);
    rows.extend(open.map(|trial| MenuRow::GiveUp(trial.no)));
    rows
}

/// A row of the ready check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum CheckRow {
    /// Something to be in order.
    Line(usize),
    /// When the dishes are wanted.
    ReadyAt,
    Back,
}

impl CheckRow {
    fn at(row: usize, station: &StationView) -> Self {
        match station.check.as_ref().map(|check| check.lines.len()) {
            Some(lines) if row < lines => Self::Line(row),
            Some(lines) if row == lines => Self::ReadyAt,
            Some(_) | None => Self::Back,
        }
    }

    fn count(station: &StationView) -> usize {
        station.check.as_ref().map_or(1, |check| check.lines.len() + 2)
    }
}

fn act_of(word: KeyWord, at: StageAt) -> Act {
    match word {
        KeyWord::Start => Act::Start(at),
        KeyWord::Ok(slot) => Act::Acknowledge(at, slot),
        KeyWord::Done => Act::Done(at),
        KeyWord::Yes => Act::Look(at, Verdict::Done),
        KeyWord::StillOn => Act::StillOn(at, true),
        KeyWord::InsideDone => Act::InsideDone(at),
    }
}

/// What the knob answers to an alert: not yet, later, or by time.
///
/// Where a look is due the answer is a verdict, so that no look is lost to the record.
fn no_to(run: &RunView, alert: &AlertView) -> Act {
    match alert.kind {
        AlertKind::Question => Act::Look(alert.at, Verdict::NotYet),
        AlertKind::Window | AlertKind::Due | AlertKind::Overdue if is_look(run, alert) => {
            Act::Look(alert.at, Verdict::NotYet)
        }
        AlertKind::ProbeLost => Act::UseTime(alert.at),
        AlertKind::StillCooking => Act::StillOn(alert.at, true),
        AlertKind::Overdue
        | AlertKind::Due
        | AlertKind::Inside
        | AlertKind::Window
        | AlertKind::Ready
        | AlertKind::Soon
        | AlertKind::OnHold
        | AlertKind::WasLost => Act::Later(alert.at),
    }
}

/// Whether the knob has an answer to an alert: putting it off has an end.
pub(crate) fn can_say_no(run: &RunView, alert: &AlertView) -> bool {
    !matches!(no_to(run, alert), Act::Later(_)) || alert.later_left > 0
}

/// Whether an alert calls to a look at the food.
pub(crate) fn is_look(run: &RunView, alert: &AlertView) -> bool {
    stage_at(run, alert.at).is_some_and(|stage| stage.looks.is_some())
}

fn acts(acts: impl Into<Vec<Act>>) -> Pressed {
    Pressed { acts: acts.into(), wish: None, sound: KeySound::Taken }
}

fn undo() -> Pressed {
    Pressed { acts: vec![Act::Undo], wish: None, sound: KeySound::Undone }
}

fn wish(wish: Wish) -> Pressed {
    Pressed { acts: Vec::new(), wish: Some(wish), sound: KeySound::Taken }
}

fn taken() -> Pressed {
    Pressed { acts: Vec::new(), wish: None, sound: KeySound::Taken }
}

fn not_possible() -> Pressed {
    Pressed { acts: Vec::new(), wish: None, sound: KeySound::NotPossible }
}
