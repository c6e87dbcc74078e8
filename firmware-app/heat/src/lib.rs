//! Conduction of heat in food, and what is made with it: banks of heating and rest curves, and the models trained on them.
//!
//! # Duties
//! [`food`] knows how food conducts and stores heat, [`surface`] what passes at its faces, [`line`](mod@line) and [`body`] advance
//! the temperatures inside, [`series`] holds the exact answers they are checked against.
#![forbid(unsafe_code)]

pub mod body;
pub mod chance;
pub mod cook;
pub mod family;
pub mod food;
pub mod judge;
pub mod kitchen;
pub mod lessons;
pub mod line;
pub mod packing;
pub mod probe;
pub mod series;
pub mod study;
pub mod surface;
pub mod training;
