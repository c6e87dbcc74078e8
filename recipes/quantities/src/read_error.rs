use alloc::string::String;
use core::{fmt, ops::Range};

use crate::{Kind, Unit};

/// Why a text is no quantity, with the place inside it and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadError {
    /// What kind of fault it is.
    pub fault: Fault,
    /// What was asked for: `a duration`.
    pub expected: &'static str,
    /// The words at fault, as they stand.
    pub found: String,
    /// Where they stand, in bytes of the text.
    pub at: Range<usize>,
    /// What to do about it.
    pub help: String,
}

/// The kinds of faults in a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// There is nothing.
    Empty,
    /// There is no number where one must be.
    NoNumber,
    /// A number stands alone.
    NoUnit,
    /// The unit is not one that is read.
    UnknownUnit,
    /// The unit has several sizes, and which one is not said.
    Ambiguous,
    /// The unit measures something else.
    WrongKind {
        /// What it measures.
        found: Kind,
    },
    /// A value below zero where none can be.
    Negative,
    /// `12:30` can be two things.
    ClockTime,
    /// `1,000` can be two things.
    Thousands,
    /// The low end of a range is above the high end.
    EndsSwapped,
    /// A range where one value is asked for.
    Range,
    /// More than a kitchen can have.
    TooLarge,
    /// No gas oven has this mark.
    UnknownMark,
    /// Words after the quantity, or units in the wrong order.
    LeftOver,
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { expected, found, .. } = self;
        match self.fault {
            Fault::Empty => write!(f, "expected {expected}, found nothing"),
            Fault::NoNumber => write!(f, "expected {expected}, found `{found}` where a number must stand"),
            Fault::NoUnit => write!(f, "expected {expected} with its unit, found the number `{found}` alone"),
            Fault::UnknownUnit => {
                write!(f, "expected {expected}, found the unknown unit `{found}`")
            }
            Fault::Ambiguous => write!(f, "expected {expected}, found `{found}`, which has more than one size"),
            Fault::WrongKind { found: kind } => {
                write!(f, "expected {expected}, found `{found}`, the unit of {}", kind.words())
            }
            Fault::Negative => write!(f, "expected {expected} of zero or more, found `{found}`"),
            Fault::ClockTime => {
                write!(f, "expected {expected} with its units, found `{found}`, which can be two things")
            }
            Fault::Thousands => write!(f, "expected {expected}, found `{found}`, which can be two numbers"),
            Fault::EndsSwapped => write!(f, "expected a range from low to high, found `{found}`"),
            Fault::Range => write!(f, "expected {expected}, one value, found the range `{found}`"),
            Fault::TooLarge => write!(f, "expected {expected} that a kitchen can have, found `{found}`"),
            Fault::UnknownMark => write!(f, "expected a gas mark from 1/4 to 9, found `{found}`"),
            Fault::LeftOver => write!(f, "expected the end after {expected}, found `{found}`"),
        }
    }
}

impl core::error::Error for ReadError {}

/// A value with the unit that the writer used, so that it can be printed back in the writer's own words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Written<T> {
    /// The value.
    pub value: T,
    /// The unit that it was written in; of several, the first.
    pub unit: Unit,
}
