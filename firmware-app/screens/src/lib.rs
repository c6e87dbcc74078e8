//! Panel screens as pure functions of a view, and what each key does on them.
//!
//! # Duties
//! - [`Desk`] is where the cook stands at the panel: which page is open, what the knob points at. [`Desk::key`] turns a
//!   key into acts for the engine; [`Desk::screen`] says what is shown.
//! - [`Screen`] is plain data: every text made, every number rounded.
//! - [`Screen::draw`] puts it on any target of the right colour, and is the same for a panel, a picture and a test;
//!   [`Frame`] is the whole picture kept in memory, and finds what changed since the last one.
//!
//! # The code of light and dark
//! Fill means act, bracket means you may act, plain means running. Colour never says anything alone.
//!
//! # Not here
//! No clock, no pin, no bus. When to draw, how a contact bounces and what a sound is made of belongs to the service and
//! to `hardware`. No screen says that food is safe: it says what was measured and for how long.
#![no_std]
#![forbid(unsafe_code)]
extern crate alloc;

mod asked;
mod burn_in;
mod canvas;
pub mod colour;
mod desk;
mod draw;
mod frame;
pub mod gallery;
mod mono_frame;
pub mod number;
mod present;
mod refresh;
pub mod screen;
mod sign;
mod station;

pub use burn_in::{BurnIn, DIM_AFTER, MOVES_AFTER};
pub use desk::{Desk, DeskKey, KeySound, PlanAsked, Pressed, Wish};
pub use draw::Phase;
pub use frame::{Frame, HEIGHT, WIDTH};
pub use mono_frame::{MONO_HEIGHT, MONO_WIDTH, MonoFrame};
pub use number::{DayClock, Units};
pub use refresh::{PanelFrame, Refresher, Sent};
pub use screen::Screen;
pub use station::{
    Bath, CannotView, CannotWhy, CheckLine, CheckState, CheckView, JOIN_LETTERS, JoinView, Kept, LEVELS, MovedView,
    OutcomeItem, OutcomeKind, OutcomeView, PreviewView, ProbeCheckView, ProbeLine, ReadyAtView, RecipeLine, Remedy,
    Scarce, SelfTestView, SettingChange, Settings, StationView, TestLine, WantingView,
};
