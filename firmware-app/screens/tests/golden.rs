//! Each screen against its picture in `tests/golden`, in each language. After a wanted change look at the new pictures
//! that are written beside the test output, and accept them with
//! `ACCEPT_PICTURES=1 cargo test -p screens --test golden`.
#![allow(clippy::unwrap_used)]

mod common;

use common::{Gallery, Picture};
use run_engine::view::RunView;
use screens::{
    Desk, Frame, HEIGHT, PanelFrame, Phase, Screen, Units, WIDTH,
    gallery::{self, views::*},
};
use words::Language;

/// The states that have a second picture, in the other phase of the flash.
const FLASHING: [&str; 3] = ["s05-question", "s07-overdue", "s09-overdue-and-due"];
/// The states that have a second picture while the knob is held.
const HELD: [&str; 3] = ["s03-board-undo", "s12-scale", "s04-lane-time"];

fn drawn(screen: &Screen, phase: Phase) -> Frame {
    let mut frame = Frame::default();
    frame.render(screen, phase);
    frame
}

/// Every picture with its name.
fn pictures(language: Language) -> Vec<(String, Frame)> {
    let states = gallery::all(language, Units::Celsius).into_iter();
    let of_state = |state: gallery::State| {
        let flashing = FLASHING.contains(&state.name).then_some(("-flash", Phase::FLASH));
        let held = HELD.contains(&state.name).then_some(("-held", Phase { held: 640, ..Phase::STILL }));
        let phases = [Some(("", Phase::STILL)), flashing, held].into_iter().flatten();
        let named = |(end, phase)| (format!("{}{end}", state.name), drawn(&state.screen, phase));
        phases.map(named).collect::<Vec<_>>()
    };
    states.flat_map(of_state).collect()
}

#[test]
fn every_screen_looks_as_it_was_accepted() {
    let kept = |(name, frame): (String, Frame)| -> Picture { (name, frame.to_rgb888()) };
    Gallery { folder: "golden", size: (WIDTH, HEIGHT) }
        .looks_as_accepted(|language| pictures(language).into_iter().map(kept).collect());
}

#[test]
fn a_hold_of_the_knob_changes_only_the_line_at_the_top() {
    for state in gallery::all(Language::English, Units::Celsius) {
        let still = drawn(&state.screen, Phase::STILL);
        let mut inked = 0;
        for held in [1, 400, 1000] {
            let frame = drawn(&state.screen, Phase { held, ..Phase::STILL });
            let below = frame.changes_from(&still).iter().map(|part| part.top_left.y).max();
            assert!(below.is_some_and(|y| y <= 24), "{}: {below:?}", state.name);
            let white = (0..320).filter(|x| frame.pixel(*x, 12) == Some(screens::colour::WHITE)).count();
            assert!(white > inked, "{}: the bar fills", state.name);
            inked = white;
        }
    }
}

#[test]
fn only_what_waits_for_a_key_flashes() {
    let differs = |view: &RunView| {
        let screen = Desk::new().screen(view, &station());
        drawn(&screen, Phase::STILL) != drawn(&screen, Phase::FLASH)
    };
    assert!(differs(&overdue(135)));
    assert!(differs(&two_alerts()));
    assert!(!differs(&overdue_acknowledged(135)));
    assert!(!differs(&four_lanes()));
}
