//! What the panel shows, as plain data: every text made, every number rounded.

use alloc::{string::String, vec::Vec};

use crate::number::Figures;

/// One picture of the panel.
#[derive(Clone, Debug, PartialEq)]
pub enum Screen {
    /// Self test after power comes on.
    Starting(Starting),
    /// Rows to choose from: recipes, ready check, menu.
    List(List),
    /// The board of a run: what is next or what is asked, over four lanes.
    Board(Board),
    /// One lane.
    Lane(LanePage),
    /// Asks before something is lost: three clicks of the knob to the word.
    Keep(Keep),
    /// After a power cut.
    Resume(Resume),
    /// A trial is over.
    Saved(Saved),
}

/// The line at the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Recipe and trial, or what the knob does, or how many need the cook. Cut if too long.
    pub left: String,
    /// When all is done, or a count.
    pub right: String,
}

/// The self test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Starting {
    /// What is tested at this moment, and what was found.
    pub lines: Vec<ListRow>,
    /// Version of the program.
    pub version: String,
}

/// Rows to choose from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct List {
    /// The line at the top.
    pub header: Header,
    /// All rows; those around the chosen one are shown.
    pub rows: Vec<ListRow>,
    /// The row in reverse.
    pub chosen: usize,
    /// Stands in place of rows if there are none.
    pub empty: &'static str,
    /// What keys do.
    pub buttons: [Button; 2],
}

/// A row of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListRow {
    /// A sign in front.
    pub sign: RowSign,
    /// What it is. Cut if too long.
    pub text: String,
    /// What is known of it.
    pub aside: String,
}

/// The sign in front of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowSign {
    /// None, and no room for one.
    None,
    /// It is in order.
    Tick,
    /// It is open.
    Open,
    /// It gives no signal.
    Lost,
}

/// What a key does, in its words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Button {
    /// `Key 1: DONE`.
    pub text: String,
    /// Filled: the one that is asked for.
    pub strong: bool,
    /// Turning the knob changes it.
    pub turns: bool,
}

impl Button {
    /// The one that is asked for.
    pub fn strong(text: impl Into<String>) -> Self {
        Self { text: text.into(), strong: true, turns: false }
    }

    /// One that is only possible.
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), strong: false, turns: false }
    }
}

/// The board of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    /// The line at the top.
    pub header: Header,
    /// The one thing that is large.
    pub band: Band,
    /// Four lanes in the order of the keys.
    pub cells: [Cell; 4],
}

/// What stands large over the lanes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Band {
    /// Nothing is due.
    Idle(String),
    /// A large number with its lane.
    Large(Large),
    /// A question in words.
    Question(Question),
    /// A probe is lost.
    ProbeLost(ProbeLost),
    /// Two alerts share the band.
    Pair([PairRow; 2]),
}

/// A large number with its lane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Large {
    /// Lane, 1 to 4.
    pub lane: u8,
    /// How the lane stands.
    pub tone: Tone,
    /// `TAKE OUT shell`, `Next: blind bake`.
    pub label: String,
    /// `left`, where the number is time to go.
    pub note: &'static str,
    /// `4:37`, `+12m`, `82.1°`.
    pub digits: String,
    /// It waits for a key: the badge and the hatch flash.
    pub sounding: bool,
}

/// A question in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Lane, 1 to 4.
    pub lane: u8,
    /// One or two lines; the second may be empty.
    pub lines: [String; 2],
    /// `3  YES`.
    pub yes: String,
    /// `Knob  NOT YET`.
    pub no: String,
    /// It waits for a key.
    pub sounding: bool,
}

/// A probe is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProbeLost {
    /// Lane, 1 to 4.
    pub lane: u8,
    /// `0:22 ago at 64°, rising`.
    pub detail: String,
    /// `Knob: use time`.
    pub offer: String,
    /// It waits for a key.
    pub sounding: bool,
}

/// One of two alerts that share the band.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PairRow {
    /// Lane, 1 to 4.
    pub lane: u8,
    /// How the lane stands.
    pub tone: Tone,
    /// Verb, and what it is about.
    pub lines: [String; 2],
    /// The number.
    pub digits: String,
    /// It waits for a key.
    pub sounding: bool,
}

/// A lane on the board or in a strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// 1 to 4.
    pub number: u8,
    /// The place, `Pan +1`, `was lost`, or `later` with the time until the alert comes back as its number.
    pub name: String,
    /// How it stands.
    pub tone: Tone,
    /// The number.
    pub figures: Figures,
    /// What its key does; nothing: it opens the lane.
    pub word: &'static str,
    /// It waits for a key.
    pub sounding: bool,
}

/// How a lane stands: its sign, frame and fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// No stage.
    Empty,
    /// Waits for another.
    Waiting,
    /// Can be started.
    Ready,
    /// Runs by time; how much is gone, in thousandths.
    Running(u16),
    /// Runs to a probe reading.
    Probe,
    /// On hold.
    OnHold,
    /// The check window is open.
    Window,
    /// A question is asked.
    Question,
    /// Due.
    Due,
    /// Late.
    Overdue,
    /// Probe lost.
    Lost,
    /// Over.
    Done,
}

/// One lane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LanePage {
    /// Lane and step; which step of how many.
    pub header: Header,
    /// Lane, 1 to 4.
    pub lane: u8,
    /// How it stands.
    pub tone: Tone,
    /// Time to go, or the reading.
    pub digits: String,
    /// Right of the digits: setting of the appliance.
    pub aside: [String; 2],
    /// Under the digits: `left, ends at 12:09`.
    pub note: String,
    /// What stands in the middle.
    pub middle: Middle,
    /// What keys do.
    pub buttons: [Button; 2],
    /// All lanes in short.
    pub strip: [Cell; 4],
}

/// The middle of the page of one lane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Middle {
    /// The check window on a line of time.
    Window(WindowBar),
    /// The instruction, or what is known of the probe.
    Words([String; 2]),
}

/// A check window on a line of time. Places are in thousandths of the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WindowBar {
    /// Where it stands.
    pub now: u16,
    /// First look.
    pub opens: u16,
    /// Last moment.
    pub closes: u16,
    /// The next look.
    pub look: Option<u16>,
    /// `now 15:23`.
    pub now_text: String,
    /// `18 to 22 min`.
    pub window_text: String,
}

/// Asks before something is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keep {
    /// The line at the top.
    pub header: Header,
    /// `Stop pan: curd?`
    pub question: [String; 2],
    /// The word at the end of the bar: `STOP`.
    pub word: &'static str,
    /// How far the bar is filled, of three clicks.
    pub clicks: u8,
    /// All lanes in short.
    pub strip: [Cell; 4],
}

/// After a power cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Resume {
    /// The line at the top.
    pub header: Header,
    /// `3:40`.
    pub dark: String,
    /// Beside it: what happened to the clocks, and the question.
    pub lines: [String; 2],
    /// What keys do.
    pub buttons: [Button; 2],
    /// Four lanes in the order of the keys.
    pub cells: [Cell; 4],
}

/// A trial is over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The line at the top.
    pub header: Header,
    /// Whether it is on disk.
    pub kept: bool,
    /// `Kept on this device`.
    pub title: String,
    /// `not sent, will try again`.
    pub detail: String,
    /// Step, how long it ran, how long it was planned.
    pub rows: Vec<[String; 3]>,
    /// What keys do.
    pub buttons: [Button; 2],
}
