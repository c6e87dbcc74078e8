//! A run of the station: the one loop that carries time, keys and readings into the engine and facts, sounds and pictures
//! out of it.
//!
//! | module | job |
//! |---|---|
//! | [`station`] | engine, panel and record together; knows neither where time nor where keys come from |
//! | [`book`] | the thread that makes facts durable |
//! | [`shelf`] | recipe files: found, read, checked |
//! | [`offer`] | the list of recipes on the panel, kept as the files are |
//! | [`ready`], [`outcome`] | the check before a trial, and what is noted after it |
//! | [`calibration`], [`history`] | what corrects a probe; how long the steps took in earlier trials |
//! | [`plan_watch`], [`probe_check`], [`self_test`] | whether the plan moved; the check of a probe; the test at the start |
//! | [`channels`], [`signals`] | whether sound, lamps, panel and keys work; what sounds and is lit at which moment |
//! | [`sim`] | the simulated kitchen and the cook in it |
//! | [`devices`] | real probes and keys, each on a thread of its own |
//! | [`resume`] | trials that were running when the station stopped |
//! | [`drive`] | the loop, in real time, at any speed, or jumping |
//! | [`tell`] | a fact as a line of plain words |

pub mod book;
pub mod calibration;
pub mod channels;
pub mod devices;
pub mod drive;
pub mod history;
pub mod live_plan;
pub mod offer;
pub mod outcome;
pub mod plan_watch;
pub mod probe_check;
pub mod ready;
pub mod resume;
pub mod self_test;
pub mod shelf;
pub mod signals;
pub mod sim;
pub mod station;
pub mod tell;
