mod choice;

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

use crate::{
    Screen, StationView,
    asked::{stage_of, top_alert, unanswered, word_of},
    present,
};

/// A word that has just come up under the finger is not answered by a press that was meant for another.
const GUARD: Span = Span::from_millis(500);
/// A page of one lane goes back to the board by itself.
const BACK_AFTER: Span = Span::from_secs(20);
/// A list goes back to a running board by itself.
const LIST_BACK_AFTER: Span = Span::from_secs(60);
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
    /// The trial started, even if lines of its check are open; they go into the record.
    Start,
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
    },
    /// The list of recipes while a run goes on.
    Choose,
    /// The ready check.
    Check {
        /// The row in reverse.
        row: usize,
    },
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
    /// Saved trials that the cook has closed.
    closed: Vec<TrialNo>,
}

impl Default for Desk {
    fn default() -> Self {
        Self { page: Page::Home, touched: RunTime::START, recipe: 0, resume: 0, closed: Vec::new() }
    }
}

impl Desk {
    /// A desk at the start of the service.
    pub fn new() -> Self {
        Self::default()
    }

    /// What the panel shows.
    pub fn screen(&self, run: &RunView, station: &StationView) -> Screen {
        let page = self.page_at(run, run.now);
        let home = self.home(run);
        match page {
            Page::Home => match home {
                Home::Resume => present::resume(run, self.resume),
                Home::Board => present::board(run, station),
                Home::Saved(no) => present::saved(run, no, station),
                Home::Choose => present::choose(station, self.recipe),
            },
            Page::Lane(open) => match open.stage(run) {
                Some(stage) => present::lane(run, station, open.lane, stage, open.choices.at(open.clicks)),
                None => present::board(run, station),
            },
            Page::Keep { loss, clicks } => present::keep(run, loss, clicks),
            Page::Menu { row } => present::menu(run, &menu(run), row),
            Page::Choose => present::choose(station, self.recipe),
            Page::Check { row } => present::check(station, row),
        }
    }

    /// When the picture changes by itself though nothing happens: a page goes back to the board.
    pub fn next_deadline(&self, run: &RunView) -> Option<RunTime> {
        self.back_after(run).map(|after| self.touched + after)
    }

    /// Takes a key: changes the page, and gives what is to be done.
    pub fn key(&mut self, key: DeskKey, run: &RunView, station: &StationView, now: RunTime) -> Pressed {
        self.page = self.page_at(run, now);
        self.touched = now;
        match (key, self.page.clone()) {
            (DeskKey::KnobHold, Page::Home) if matches!(self.home(run), Home::Saved(_)) => self.reopen(run),
            (DeskKey::KnobHold, _) => match run.undo {
                Some(_) => Pressed { acts: vec![Act::Undo], wish: None, sound: KeySound::Undone },
                None => not_possible(),
            },
            (DeskKey::Pedal, page) => match top_alert(run) {
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
            (DeskKey::Lane(lane), Page::Home | Page::Lane(_)) => self.lane_key(lane, run, now),
            // the cells with their words are not in sight on these pages, so a lane key only looks
            (DeskKey::Lane(lane), Page::Keep { .. } | Page::Menu { .. } | Page::Choose) => self.open(lane, run, now),
            (DeskKey::Knob, Page::Home) => self.knob_at_home(run, station, now),
            (DeskKey::Knob, Page::Lane(open)) => self.knob_at_lane(&open),
            (DeskKey::Knob, Page::Keep { loss, clicks }) => {
                self.page = Page::Home;
                if clicks >= KEEP_CLICKS { acts([loss.act()]) } else { taken() }
            }
            (DeskKey::Knob, Page::Menu { row }) => self.knob_at_menu(row, run),
            (DeskKey::Knob, Page::Choose) => self.open_recipe(station),
            (DeskKey::Knob, Page::Check { row }) => self.knob_at_check(row, station),
            (DeskKey::Turn(by), page) => self.turn(by, page, run, station),
        }
    }

    /// The page after what happened without a key: an alert or a long rest brings the board back.
    fn page_at(&self, run: &RunView, now: RunTime) -> Page {
        let new_alert = |alert: &AlertView| {
            alert.state == AlertState::Sounding && alert.priority != Priority::Low && alert.raised > self.touched
        };
        let rested = self.back_after(run).is_some_and(|after| now.since(self.touched) >= after);
        let stage_gone = match &self.page {
            Page::Lane(open) => open.stage(run).is_none(),
            Page::Home | Page::Keep { .. } | Page::Menu { .. } | Page::Choose | Page::Check { .. } => false,
        };
        let called = self.goes_on(run) && run.alerts.iter().any(new_alert);
        if called || rested || stage_gone || run.resume.is_some() { Page::Home } else { self.page.clone() }
    }

    fn back_after(&self, run: &RunView) -> Option<Span> {
        match self.page {
            Page::Home => None,
            Page::Lane(_) | Page::Keep { .. } | Page::Menu { .. } => Some(BACK_AFTER),
            Page::Choose | Page::Check { .. } => self.goes_on(run).then_some(LIST_BACK_AFTER),
        }
    }

    fn goes_on(&self, run: &RunView) -> bool {
        matches!(self.home(run), Home::Board | Home::Resume)
    }

    fn home(&self, run: &RunView) -> Home {
        if run.resume.is_some() {
            return Home::Resume;
        }
        if run.trials.iter().any(|trial| trial.closed.is_none()) {
            return Home::Board;
        }
        let last = run.trials.iter().rfind(|trial| !self.closed.contains(&trial.no));
        last.map_or(Home::Choose, |trial| Home::Saved(trial.no))
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
        let word = word_of(run, stage).filter(|_| now.since(stage.key_since) >= GUARD)?;
        self.page = Page::Home;
        Some(acts([act_of(word, stage.at)]))
    }

    fn open(&mut self, lane: u8, run: &RunView, now: RunTime) -> Pressed {
        match stage_of(run, lane) {
            Some(stage) if run.resume.is_none() => {
                let (at, step) = (stage.at, stage.step.clone());
                self.page = Page::Lane(OpenLane { lane, at, step, choices: Choices::of(stage, now), clicks: 0 });
                taken()
            }
            Some(_) | None => not_possible(),
        }
    }

    /// The key of the lane whose page is open: the word, or done early.
    fn same_lane(&mut self, open: &OpenLane, run: &RunView, now: RunTime) -> Pressed {
        let Some(stage) = open.stage(run) else { return not_possible() };
        if word_of(run, stage).is_some() {
            return self.lane_word(open.lane, run, now).unwrap_or_else(not_possible);
        }
        if !runs(&stage.state) {
            return not_possible();
        }
        self.page = Page::Home;
        acts([Act::Done(stage.at)])
    }

    fn knob_at_home(&mut self, run: &RunView, station: &StationView, now: RunTime) -> Pressed {
        match self.home(run) {
            Home::Resume => self.answer_resume(run, now),
            Home::Board => match top_alert(run) {
                Some(alert) if now.since(alert.raised) < GUARD => not_possible(),
                // it was put off often enough: the knob leads to the menu again
                Some(alert) if !can_say_no(run, alert) => {
                    self.page = Page::Menu { row: 0 };
                    taken()
                }
                Some(alert) => acts([no_to(run, alert)]),
                None => {
                    self.page = Page::Menu { row: 0 };
                    taken()
                }
            },
            Home::Saved(no) => {
                let closed = run.trials.iter().find(|trial| trial.no == no).and_then(|trial| trial.closed);
                if closed.is_some_and(|at| now.since(at) < GUARD) {
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

    fn reopen(&mut self, run: &RunView) -> Pressed {
        match self.home(run) {
            Home::Saved(no) => acts([Act::Reopen(no)]),
            Home::Resume | Home::Board | Home::Choose => not_possible(),
        }
    }

    fn knob_at_lane(&mut self, open: &OpenLane) -> Pressed {
        let at = open.at;
        self.page = Page::Home;
        match open.choices.at(open.clicks).clone() {
            Chosen::Back => taken(),
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
            Some(MenuRow::AnotherRecipe) => {
                self.page = Page::Choose;
                taken()
            }
            Some(MenuRow::Quiet(on)) => acts([Act::Quiet(*on)]),
            Some(MenuRow::GiveUp(no)) => {
                self.page = Page::Keep { loss: Loss::GiveUp(*no), clicks: 0 };
                taken()
            }
        }
    }

    fn open_recipe(&mut self, station: &StationView) -> Pressed {
        // what the panel shows as chosen, where the list became shorter
        self.recipe = self.recipe.min(station.recipes.len().saturating_sub(1));
        match station.recipes.get(self.recipe) {
            Some(line) if line.refused.is_none() => {
                self.page = Page::Check { row: 0 };
                wish(Wish::Prepare(self.recipe))
            }
            Some(_) | None => not_possible(),
        }
    }

    fn knob_at_check(&mut self, row: usize, station: &StationView) -> Pressed {
        let lines = station.check.as_ref().map_or(0, |check| check.lines.len());
        if row < lines {
            return wish(Wish::Tick(row));
        }
        // the last row leads back
        self.page = Page::Choose;
        taken()
    }

    fn turn(&mut self, by: i8, page: Page, run: &RunView, station: &StationView) -> Pressed {
        let moved = |row: usize, rows: usize| row.saturating_add_signed(isize::from(by)).min(rows.saturating_sub(1));
        match page {
            Page::Home => match self.home(run) {
                Home::Resume => self.resume = moved(self.resume, unanswered(run).len() + 1),
                Home::Choose => self.recipe = moved(self.recipe, station.recipes.len()),
                Home::Board | Home::Saved(_) => return not_possible(),
            },
            Page::Lane(open) => {
                let clicks = open.choices.within(open.clicks.saturating_add(by));
                self.page = Page::Lane(OpenLane { clicks, ..open });
            }
            Page::Keep { loss, clicks } => {
                self.page = Page::Keep { loss, clicks: clicks.saturating_add_signed(by).min(KEEP_CLICKS) };
            }
            Page::Menu { row } => self.page = Page::Menu { row: moved(row, menu(run).len()) },
            Page::Choose => self.recipe = moved(self.recipe, station.recipes.len()),
            Page::Check { row } => {
                let rows = station.check.as_ref().map_or(0, |check| check.lines.len()) + 1;
                self.page = Page::Check { row: moved(row, rows) };
            }
        }
        taken()
    }
}

impl OpenLane {
    /// Its stage, while the same step is in front of the lane.
    fn stage<'a>(&self, run: &'a RunView) -> Option<&'a StageView> {
        stage_of(run, self.lane).filter(|stage| stage.at == self.at && stage.step == self.step)
    }
}

impl Loss {
    fn act(self) -> Act {
        match self {
            Self::Skip(at) => Act::Skip(at),
            Self::Stop(at) => Act::StopStage(at, EarlyReason::GivenUp),
            Self::GiveUp(no) => Act::GiveUp(no),
        }
    }
}

/// What is shown while no page is open.
enum Home {
    Resume,
    Board,
    Saved(TrialNo),
    Choose,
}

/// A row of the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum MenuRow {
    Back,
    AnotherRecipe,
    /// Turn quiet on, or off.
    Quiet(bool),
    GiveUp(TrialNo),
}

fn menu(run: &RunView) -> Vec<MenuRow> {
    let open = run.trials.iter().filter(|trial| trial.closed.is_none());
    let mut rows = vec![MenuRow::Back, MenuRow::AnotherRecipe, MenuRow::Quiet(!run.quiet)];
    rows.extend(open.map(|trial| MenuRow::GiveUp(trial.no)));
    rows
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
    let stage = stage_of(run, alert.lane).filter(|stage| stage.at == alert.at);
    stage.is_some_and(|stage| stage.looks.is_some())
}

fn acts(acts: impl Into<Vec<Act>>) -> Pressed {
    Pressed { acts: acts.into(), wish: None, sound: KeySound::Taken }
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
