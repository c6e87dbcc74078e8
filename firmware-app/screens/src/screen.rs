//! What the panel shows, as plain data: every text made, every number rounded.

use alloc::{string::String, vec::Vec};

use words::Text;

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
    /// The plan has moved.
    Moved(Moved),
    /// What to note after a trial, one thing at a time.
    Outcome(Outcome),
    /// A trial is over.
    Saved(Saved),
    /// A probe is checked in ice water or boiling water.
    ProbeCheck(ProbeCheck),
    /// A phone can join.
    Join(JoinPage),
}

/// The line at the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// Recipe and trial, or what the knob does, or how many need the cook. Cut if too long.
    pub left: Text,
    /// When all is done, or a count.
    pub right: Text,
}

/// The self test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Starting {
    /// What is tested at this moment, and what was found.
    pub lines: Vec<ListRow>,
    /// Version of the program.
    pub version: String,
    /// What keys do; nothing while the test runs.
    pub buttons: [Button; 2],
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
    /// Turning the knob changes the value of the chosen row instead of moving on.
    pub changing: bool,
    /// Stands in place of rows if there are none.
    pub empty: Text,
    /// What keys do.
    pub buttons: [Button; 2],
}

/// A row of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListRow {
    /// A sign in front.
    pub sign: RowSign,
    /// What it is. Cut if too long.
    pub text: Text,
    /// What is known of it.
    pub aside: Text,
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
    /// It cannot be used.
    Refused,
}

/// What a key does, in its words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Button {
    /// `Key 1: DONE`.
    pub text: Text,
    /// Filled: the one that is asked for.
    pub strong: bool,
    /// Turning the knob changes it.
    pub turns: bool,
}

impl Button {
    /// The one that is asked for.
    pub fn strong(text: impl Into<Text>) -> Self {
        Self { text: text.into(), strong: true, turns: false }
    }

    /// One that is only possible.
    pub fn plain(text: impl Into<Text>) -> Self {
        Self { text: text.into(), strong: false, turns: false }
    }
}

/// The board of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    /// The line at the top.
    pub header: Header,
    /// What that line says besides the names of the trials, for a panel that has no such line: a full disk, what the knob
    /// does, an undo.
    pub notice: Text,
    /// The one thing that is large.
    pub band: Band,
    /// Four lanes in the order of the keys.
    pub cells: [Cell; 4],
}

/// What stands large over the lanes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Band {
    /// Nothing is due.
    Idle(Text),
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
    pub label: Text,
    /// `left`, where the number is time to go.
    pub note: Text,
    /// What is known beside the number, one under the other: `64.2°`, `7 to 12 min`, `about`; or `comes to 63° in the
    /// rest`. It comes before the note and before what the knob does, and is left out where the number needs its place.
    pub facts: Vec<Text>,
    /// `4:37`, `+12m`, `82.1°`; `9m` for a time that is only about right.
    pub digits: Text,
    /// The number is a reading that may be wrong: a question mark stands behind it.
    pub doubtful: bool,
    /// It waits for a key: the badge and the hatch flash.
    pub sounding: bool,
}

/// A question in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Lane, 1 to 4.
    pub lane: u8,
    /// In one or two lines, broken by the drawing.
    pub text: Text,
    /// `3  YES`.
    pub yes: Text,
    /// `Knob  NOT YET`.
    pub no: Text,
    /// It waits for a key.
    pub sounding: bool,
}

/// A probe is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProbeLost {
    /// Lane, 1 to 4.
    pub lane: u8,
    /// `PROBE LOST`.
    pub title: Text,
    /// `0:22 ago at 64°, rising`.
    pub detail: Text,
    /// `Knob: use time`.
    pub offer: Text,
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
    pub lines: [Text; 2],
    /// The number.
    pub digits: Text,
    /// It waits for a key.
    pub sounding: bool,
}

/// A lane on the board or in a strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// 1 to 4.
    pub number: u8,
    /// The place, `Pan +1`, `was lost`, or `later` with the time until the alert comes back as its number; of a core, how old
    /// its reading is (`12 s old`), what it still has to come to in a rest (`of 63°`), or how it stands there (`core 66°`).
    pub name: Text,
    /// How it stands.
    pub tone: Tone,
    /// The number.
    pub figures: Figures,
    /// What its key does; nothing: it opens the lane.
    pub word: Text,
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

impl Tone {
    /// Whether its place is filled: the cook must act.
    pub const fn is_filled(self) -> bool {
        match self {
            Self::Question | Self::Due | Self::Overdue | Self::Lost => true,
            Self::Empty
            | Self::Waiting
            | Self::Ready
            | Self::Running(_)
            | Self::Probe
            | Self::OnHold
            | Self::Window
            | Self::Done => false,
        }
    }

    /// Whether it calls the cook: to an act, or to one that is possible now.
    pub const fn asks(self) -> bool {
        self.is_filled() || matches!(self, Self::Ready | Self::Window)
    }
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
    pub digits: Text,
    /// The number is a reading that may be wrong: a question mark stands behind it.
    pub doubtful: bool,
    /// Right of the digits: setting of the appliance, or the core in a rest.
    pub aside: [Text; 2],
    /// Under the digits: `left, ends at 12:09`.
    pub note: Text,
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
    /// What is known of the probe or of a rhythm, then the cautions and the instruction, in so many pages as they need,
    /// which the drawing breaks: nothing of them is cut.
    Words {
        /// What is known, what matters most first, each in one or two lines. One alone that fits one line stays above the
        /// rest; others take turns with it.
        facts: Vec<Text>,
        /// What comes after them, one after the other; each begins on a page of its own.
        rest: Vec<Text>,
        /// Which page is shown; it goes on counting, round and round.
        page: u32,
    },
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
    pub now_text: Text,
    /// `18 to 22 min`.
    pub window_text: Text,
}

/// Asks before something is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keep {
    /// The line at the top.
    pub header: Header,
    /// `Stop this lane:` and `curd: simmer?`
    pub question: [Text; 2],
    /// `KEEP`.
    pub keep: Text,
    /// The word at the end of the bar: `STOP`.
    pub word: Text,
    /// How to reach the word, or what a push does.
    pub hint: Text,
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
    pub lines: [Text; 2],
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
    pub title: Text,
    /// `not sent, will try again`.
    pub detail: Text,
    /// Step, how long it ran, how long it was planned.
    pub rows: Vec<[Text; 3]>,
    /// What keys do.
    pub buttons: [Button; 2],
}

/// The plan has moved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The line at the top.
    pub header: Header,
    /// Which way.
    pub way: MovedWay,
    /// `All done 6 min later`, `Lands 6 min later`.
    pub title: Text,
    /// The time of day it was, and the one it is now; empty while the clock is not set.
    pub times: [Text; 2],
    /// Why it does not fit, and what helps: they stand in place of the times. Empty where it fits.
    pub reason: [Text; 2],
    /// Which stages move: what, and from when to when.
    pub rows: Vec<[Text; 2]>,
    /// What keys do.
    pub buttons: [Button; 2],
    /// All lanes in short.
    pub strip: [Cell; 4],
}

/// Which way a plan has moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MovedWay {
    /// The finish is later.
    Late,
    /// The finish is earlier.
    Early,
    /// What is to land together cannot any more.
    CannotFit,
}

/// One thing to note after a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// The line at the top.
    pub header: Header,
    /// `crust`, `Weigh: loin, cooked`.
    pub question: Text,
    /// What is chosen so far.
    pub entry: Entry,
    /// How to enter it.
    pub hint: Text,
    /// What keys do.
    pub buttons: [Button; 2],
}

/// What is entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// Steps on a scale, with the words at both ends and in the middle if there are any.
    Scale {
        /// How many steps.
        steps: u8,
        /// The number of the first step.
        first: u8,
        /// The chosen step, from 0.
        chosen: Option<u8>,
        /// The words of the steps, as many as there are steps, or none.
        words: Vec<Text>,
    },
    /// A number, digit by digit.
    Number {
        /// The figures with their point: `0912.5`.
        figures: String,
        /// Which figure the knob turns, counted in the text; none while nothing is entered.
        turning: Option<usize>,
        /// `g`.
        unit: String,
    },
    /// One of a list.
    Pick {
        /// What there is.
        words: Vec<Text>,
        /// The chosen one.
        chosen: Option<usize>,
    },
}

/// A probe is checked against ice water or boiling water.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProbeCheck {
    /// The line at the top.
    pub header: Header,
    /// `in ice water: 0.0°`.
    pub bath: Text,
    /// The reading.
    pub digits: Text,
    /// How it stands.
    pub state: ProbeCheckState,
    /// The same in words.
    pub note: Text,
    /// When it was checked last.
    pub last: Text,
    /// What keys do.
    pub buttons: [Button; 2],
}

/// How the check of a probe stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProbeCheckState {
    /// It still moves; how much of the wait is over, in thousandths.
    Settling(u16),
    /// It stands still, near enough to what is expected.
    Steady,
    /// It stands still, too far from it.
    TooFar,
    /// It was saved.
    Saved,
    /// It gives no signal.
    NoSignal,
}

/// A phone can join.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JoinPage {
    /// The line at the top.
    pub header: Header,
    /// What a camera reads.
    pub code: Option<QrModules>,
    /// Stands before the lines where there is no code.
    pub sign: RowSign,
    /// Beside a code: how to use it, the address, the code in letters after a word, the time left. Else what became of it.
    pub lines: Vec<Text>,
    /// What keys do.
    pub buttons: [Button; 2],
}

/// The modules of a QR code (ISO/IEC 18004), without its margin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QrModules {
    /// Modules a side.
    pub side: u8,
    /// Dark ones, row by row.
    pub dark: Vec<bool>,
}
