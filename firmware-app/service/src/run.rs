//! A run of the station: the one loop that carries time, keys and readings into the engine and facts, sounds and pictures
//! out of it.
//!
//! | module | job |
//! |---|---|
//! | [`station`] | engine, panel and record together; knows neither where time nor where keys come from |
//! | [`book`] | the thread that makes facts durable |
//! | [`shelf`] | recipe files: found, read, checked |
//! | [`offer`] | the list of recipes on the panel, kept as the files are |
//! | [`fingers`] | from contacts to keys of the panel |
//! | [`sim`] | the simulated kitchen and the cook in it |
//! | [`devices`] | real probes and keys, each on a thread of its own |
//! | [`resume`] | trials that were running when the station stopped |
//! | [`drive`] | the loop, in real time, at any speed, or jumping |
//! | [`tell`] | a fact as a line of plain words |

pub mod book;
pub mod devices;
pub mod drive;
pub mod fingers;
pub mod offer;
pub mod resume;
pub mod shelf;
pub mod sim;
pub mod station;
pub mod tell;
