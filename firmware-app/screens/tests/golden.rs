//! Each screen against its picture in `tests/golden`, in each language. After a wanted change look at the new pictures
//! that are written beside the test output, and accept them with
//! `ACCEPT_PICTURES=1 cargo test -p screens --test golden`.
#![allow(clippy::unwrap_used)]

use std::{
    env, fs,
    io::BufWriter,
    path::{Path, PathBuf},
};

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
    let accept = env::var_os("ACCEPT_PICTURES").is_some();
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let found = Path::new(env!("CARGO_TARGET_TMPDIR")).join("screens");
    let mut changed = Vec::new();
    let mut known = Vec::new();
    for language in Language::ALL {
        for folder in [&golden, &found] {
            fs::create_dir_all(folder.join(language.code())).unwrap();
        }
        for (name, frame) in pictures(language) {
            let file = Path::new(language.code()).join(format!("{name}.png"));
            let path = golden.join(&file);
            if accept {
                write_png(&path, &frame);
            } else if !path.exists() || read_png(&path) != frame.to_rgb888() {
                let seen = found.join(&file);
                write_png(&seen, &frame);
                changed.push(seen);
            }
            known.push(path);
        }
    }
    assert!(changed.is_empty(), "{} pictures differ from {}:\n{changed:#?}", changed.len(), golden.display());
    for language in Language::ALL {
        for file in fs::read_dir(golden.join(language.code())).unwrap() {
            let path: PathBuf = file.unwrap().path();
            assert!(known.contains(&path), "{} belongs to no screen", path.display());
        }
    }
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

fn write_png(path: &Path, frame: &Frame) {
    let mut encoder = png::Encoder::new(BufWriter::new(fs::File::create(path).unwrap()), WIDTH, HEIGHT);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    encoder.set_filter(png::Filter::NoFilter);
    encoder.write_header().unwrap().write_image_data(&frame.to_rgb888()).unwrap();
}

fn read_png(path: &Path) -> Vec<u8> {
    let mut reader = png::Decoder::new(std::io::BufReader::new(fs::File::open(path).unwrap())).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    pixels.truncate(info.buffer_size());
    pixels
}
