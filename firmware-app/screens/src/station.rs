use alloc::{string::String, vec::Vec};

use quantities::{Celsius, CelsiusStep, Reading, RunTime, Span};
use run_engine::TrialNo;
use words::{Language, Text};

use crate::{DayClock, number::Units, screen::MovedWay};

/// What the panel shows besides the run: told by the service, plain data.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StationView {
    /// The time of day; none while the wall clock cannot be trusted.
    pub clock: Option<DayClock>,
    /// What the cook can set.
    pub settings: Settings,
    /// The self test, while it runs or waits to be seen.
    pub self_test: Option<SelfTestView>,
    /// Recipes in the order of their titles.
    pub recipes: Vec<RecipeLine>,
    /// The list of recipes is being read anew.
    pub updating: bool,
    /// The check before a trial, after its recipe was chosen.
    pub check: Option<CheckView>,
    /// What is asked of the plan of a trial that goes on: what if its dishes were wanted then.
    pub wanting: Option<WantingView>,
    /// The plan has moved, and nobody has said what to do.
    pub moved: Option<MovedView>,
    /// What can be noted after the trial that was closed last.
    pub outcome: Option<OutcomeView>,
    /// Where the last trial's record lies.
    pub kept: Kept,
    /// The probes that have a name.
    pub probes: Vec<ProbeLine>,
    /// The probe that is being checked.
    pub probe_check: Option<ProbeCheckView>,
    /// How a phone can join.
    pub join: JoinView,
    /// The last rows of the settings: version, where things lie.
    pub about: Vec<[Text; 2]>,
}

/// Steps of a level that the cook sets: 1 to this.
pub const LEVELS: u8 = 5;

/// What the cook can set on the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// 1 to [`LEVELS`]; never silent.
    pub sound: u8,
    /// 1 to [`LEVELS`].
    pub brightness: u8,
    /// Of temperatures.
    pub units: Units,
    /// Of all words but those of recipes.
    pub language: Language,
    /// Whether the lamps are lit.
    pub lamps: bool,
    /// Whether alerts are spoken too; none where nothing can speak.
    pub speech: Option<bool>,
    /// What the lanes are called while no recipe says so.
    pub lanes: [String; 4],
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            sound: 3,
            brightness: 4,
            units: Units::Celsius,
            language: Language::English,
            lamps: true,
            speech: None,
            lanes: [const { String::new() }; 4],
        }
    }
}

/// A change of a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SettingChange {
    /// The sound level, 1 to [`LEVELS`]; heard at once.
    Sound(u8),
    /// The brightness, 1 to [`LEVELS`].
    Brightness(u8),
    /// The unit of temperatures.
    Units(Units),
    /// The language.
    Language(Language),
    /// Lamps lit or dark.
    Lamps(bool),
    /// Alerts spoken or not.
    Speech(bool),
    /// The name of a lane, 1 to 4, so many names further in the list of usual ones.
    Lane(u8, i8),
}

/// The self test at the start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SelfTestView {
    /// What is tested and what was found.
    pub lines: Vec<TestLine>,
    /// It is over; only a key or a few seconds are waited for.
    pub over: bool,
    /// Version of the program.
    pub version: String,
}

/// A line of the self test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TestLine {
    /// What.
    pub what: Text,
    /// What was found.
    pub found: Text,
    /// How it stands.
    pub state: CheckState,
}

/// A recipe to choose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecipeLine {
    /// Its title.
    pub title: String,
    /// How many trials there are of it.
    pub trials: u32,
    /// Why its file is refused, in few words.
    pub refused: Option<Text>,
}

/// What is to be in order before a trial.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CheckView {
    /// Recipe and trial.
    pub title: String,
    /// One line each.
    pub lines: Vec<CheckLine>,
    /// When its dishes are wanted.
    pub ready_at: ReadyAtView,
}

/// When the dishes of a trial are wanted, and what a plan says of that.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadyAtView {
    /// When; none: as it comes.
    pub wanted: Option<RunTime>,
    /// The earliest moment by the plan; none while that is not known.
    pub earliest: Option<RunTime>,
    /// What the plan says of the wanted moment; none while there is none or nothing can be planned.
    pub plan: Option<PreviewView>,
}

/// What a plan would be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PreviewView {
    /// The step of the trial that is started first, as a cook calls it, and when; none if all have begun.
    pub first: Option<(String, RunTime)>,
    /// When the dishes land.
    pub lands: RunTime,
    /// How much later than wanted.
    pub late: Span,
}

/// What is asked of the plan of a trial that goes on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WantingView {
    /// The trial.
    pub trial: TrialNo,
    /// What is stated so far, and what a plan says of it.
    pub ready_at: ReadyAtView,
}

/// One thing to be in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckLine {
    /// `Oven at 165°C`.
    pub text: Text,
    /// `hot`, `9 of 9 in`.
    pub found: Text,
    /// How it stands.
    pub state: CheckState,
}

/// How a line of the ready check stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CheckState {
    /// In order.
    Ticked,
    /// Open; the cook can tick it.
    Open,
    /// A probe without a signal: only the probe can put it right.
    NoSignal,
}

/// The plan has moved by so much that the cook should know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MovedView {
    /// When that was found.
    pub at: RunTime,
    /// Which way.
    pub way: MovedWay,
    /// Which landing moves, as a cook calls it; none: it is the moment when all is done.
    pub landing: Option<String>,
    /// When it was to come before.
    pub was: RunTime,
    /// When it is to come now.
    pub now: RunTime,
    /// The stages that move: what, its start before, its start now.
    pub starts: Vec<(String, RunTime, RunTime)>,
    /// Why it does not fit, if it does not and that is known.
    pub cannot: Option<CannotView>,
    /// Whether there is an old plan to keep.
    pub can_keep: bool,
}

/// Why a plan does not fit, and the least change with which one does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CannotView {
    /// Why.
    pub why: CannotWhy,
    /// What helps; none if nothing was found.
    pub remedy: Option<Remedy>,
}

/// What cannot all be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CannotWhy {
    /// More of something is wanted at a moment than there is.
    TooFew {
        /// Of what.
        of: Scarce,
        /// How many are wanted.
        wanted: u16,
        /// When.
        at: RunTime,
    },
    /// One oven is to have two temperatures at a moment.
    TwoHeats {
        /// When.
        at: RunTime,
    },
    /// Food would wait longer than it can.
    WaitsTooLong {
        /// Which: `loin`.
        what: String,
        /// By how much.
        by: Span,
    },
    /// The wanted moment comes before everything can be done.
    TooSoon {
        /// That moment.
        wanted: RunTime,
    },
    /// Dishes that are to land together would not.
    TooFarApart {
        /// By how much more than they may be apart.
        by: Span,
    },
}

/// What there is too little of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Scarce {
    /// Pairs of hands.
    Cooks,
    /// Ovens.
    Ovens,
    /// Shelves of an oven.
    Shelves,
    /// Microwaves.
    Microwaves,
    /// Burners.
    Burners,
}

/// The least change with which a plan fits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// It lands then.
    Earliest(RunTime),
    /// There is one more of this.
    OneMore(Scarce),
    /// Food waits longer.
    LetWait {
        /// Which: `loin`.
        what: String,
        /// By how much.
        by: Span,
    },
    /// The dishes land further apart, by so much.
    Spread(Span),
}

/// What can be noted after a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutcomeView {
    /// The trial.
    pub trial: TrialNo,
    /// What the recipe wants on record, in its order.
    pub items: Vec<OutcomeItem>,
}

/// One thing to note after a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutcomeItem {
    /// What, in the recipe's words.
    pub what: String,
    /// How.
    pub kind: OutcomeKind,
    /// Whether it is on record already.
    pub noted: bool,
}

/// How something is noted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OutcomeKind {
    /// Weighed, in grams.
    Weight,
    /// On a scale from the first to the last number.
    Scale(u8, u8),
    /// By one of these words, in order; the number of the first.
    Words(u8, Vec<String>),
}

/// Where the record of a trial lies.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Kept {
    /// On this device; there is nobody to send it to.
    #[default]
    Here,
    /// Also sent to the shared record.
    Sent,
    /// Not sent yet.
    WillSend,
    /// The disk is full: what could not be written.
    DiskFull,
}

/// A probe of the station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProbeLine {
    /// What recipes call it: `core`.
    pub name: String,
    /// Its last reading.
    pub reading: Option<Reading>,
    /// The day of its last check: `2026-11-02`.
    pub checked: Option<String>,
}

/// A probe that is being checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProbeCheckView {
    /// What recipes call it.
    pub name: String,
    /// What it hangs in.
    pub bath: Bath,
    /// What it should read there: at this altitude.
    pub expected: Celsius,
    /// Its last reading.
    pub reading: Option<Reading>,
    /// Since when it stands still; and how long it has to.
    pub steady: Option<Span>,
    /// How long it has to stand still.
    pub needed: Span,
    /// How far it is off, once it stood still long enough.
    pub off: Option<CelsiusStep>,
    /// More than this is too much.
    pub most: CelsiusStep,
    /// Whether it was saved.
    pub saved: bool,
    /// The day of its last check.
    pub checked: Option<String>,
}

/// What a probe is checked in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bath {
    /// Crushed ice and water, stirred.
    Ice,
    /// Water at a rolling boil.
    Boiling,
}

/// How a phone can join.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum JoinView {
    /// There is no network.
    #[default]
    NoNetwork,
    /// A code stands.
    Open {
        /// What the camera opens, in upper-case letters, at most [`JOIN_LETTERS`].
        address: String,
        /// To be typed in.
        code: String,
        /// When it ends.
        left: Span,
    },
    /// Somebody has joined.
    Joined(String),
    /// Nobody can join any more.
    Ended,
}

/// The longest address that a small panel can show as a code.
pub const JOIN_LETTERS: usize = 25;
