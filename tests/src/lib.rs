//! Whole-station tests: the simulated kitchen, kills, replays, layout
