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
mod canvas;
pub mod colour;
mod desk;
mod draw;
mod frame;
pub mod number;
mod present;
pub mod screen;
mod sign;
mod station;

pub use desk::{Desk, DeskKey, KeySound, Pressed, Wish};
pub use frame::{Frame, HEIGHT, WIDTH};
pub use number::DayClock;
pub use screen::Screen;
pub use station::{CheckLine, CheckState, CheckView, Kept, RecipeLine, StationView};
