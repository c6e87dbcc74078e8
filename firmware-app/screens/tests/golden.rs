//! Each screen against its picture in `tests/golden`. After a wanted change look at the new pictures that are written
//! beside the test output, and accept them with `ACCEPT_PICTURES=1 cargo test -p screens --test golden`.
#![allow(clippy::unwrap_used)]

mod kitchen;

use std::{
    env, fs,
    io::BufWriter,
    path::{Path, PathBuf},
};

use kitchen::*;
use quantities::Span;
use run_engine::view::{AlertState, KeyWord, LaneState, RunView, UndoView};
use screens::{Desk, DeskKey, Frame, HEIGHT, Kept, Screen, StationView, WIDTH, screen};
use trial::{AlertKind, AlertSlot, Dark};

/// Every screen and state that has a picture.
fn all() -> Vec<(&'static str, Screen)> {
    let here = station();
    let home = |view: &RunView| Desk::new().screen(view, &here);
    let pressed = |keys: &[DeskKey], view: &RunView| {
        let mut desk = Desk::new();
        for key in keys {
            desk.key(*key, view, &here, view.now);
        }
        desk.screen(view, &here)
    };
    let shelved = {
        let mut view = with_state(due(), 1, running(0, 1000), Some(KeyWord::Ok(AlertSlot::Step)));
        view.alerts[0].state = AlertState::Shelved { until: after(42) };
        view
    };
    let was_lost = {
        let mut view = with_alert(four_lanes(), alert(3, AlertKind::WasLost, "", "curd", 40));
        view.lanes[2].behind = 0;
        view
    };
    let done = with_state(four_lanes(), 2, LaneState::Done { at: before(60) }, None);
    let undo = RunView { undo: Some(UndoView { at: before(3), actions: 2 }), ..four_lanes() };
    let to_core = {
        let mut view = four_lanes();
        let next = view.next.as_mut().unwrap();
        (next.lane, next.at, next.text, next.core) = (3, stage_at(3), "off heat curd".into(), Some(degrees(63.7)));
        view
    };
    let no_clock = StationView { clock: None, ..station() };
    let disk_full = StationView { kept: Kept::DiskFull, ..station() };
    let no_recipes = StationView { recipes: vec![], ..station() };
    let waiting_lane = {
        let mut view = four_lanes();
        view.lanes[1].front.as_mut().unwrap().text =
            "Warm the milk with the vanilla, lid ajar, until it steams but does not boil".into();
        view
    };
    let held =
        with_state(four_lanes(), 4, LaneState::OnHold { since: before(130), left: Some(Span::from_secs(1560)) }, None);
    let keep_to = |clicks| [DeskKey::Lane(1), DeskKey::Turn(-100), DeskKey::Knob, DeskKey::Turn(clicks)];
    vec![
        ("s00-starting", starting()),
        ("s01-choose", pressed(&[DeskKey::Turn(2)], &nothing_open())),
        ("s01-choose-end", pressed(&[DeskKey::Turn(6)], &nothing_open())),
        ("s01-choose-empty", Desk::new().screen(&nothing_open(), &no_recipes)),
        ("s02-check", pressed(&[DeskKey::Turn(2), DeskKey::Knob, DeskKey::Turn(2)], &nothing_open())),
        ("s03-board-one-lane", home(&only_lanes(1))),
        ("s03-board-two-lanes", home(&only_lanes(2))),
        ("s03-board", home(&four_lanes())),
        ("s03-board-undo", home(&undo)),
        ("s03-board-no-clock", Desk::new().screen(&four_lanes(), &no_clock)),
        ("s03-board-to-core", home(&to_core)),
        ("s03-board-ready", home(&ready())),
        ("s03-board-done", home(&done)),
        ("s03-board-wide", home(&wide_numbers())),
        ("s03-menu", pressed(&[DeskKey::Knob], &four_lanes())),
        ("s04-lane-time", pressed(&[DeskKey::Lane(1), DeskKey::Turn(1)], &four_lanes())),
        ("s04-lane-probe", pressed(&[DeskKey::Lane(3)], &four_lanes())),
        ("s04-lane-hold", pressed(&[DeskKey::Lane(4), DeskKey::Turn(-1)], &held)),
        ("s04-lane-waiting", pressed(&[DeskKey::Lane(2)], &waiting_lane)),
        ("s04-lane-choices", pressed(&[DeskKey::Lane(4), DeskKey::Turn(-3)], &many_choices())),
        ("s04-keep", pressed(&keep_to(1), &four_lanes())),
        ("s04-keep-reached", pressed(&keep_to(3), &four_lanes())),
        ("s05-question", home(&question())),
        ("s06-window", home(&window())),
        ("s07-due", home(&due())),
        ("s07-due-by-core", home(&due_by_core())),
        ("s07-due-later", home(&shelved)),
        ("s07-overdue", home(&overdue(135))),
        ("s07-overdue-acknowledged", home(&overdue_acknowledged(135))),
        ("s07-overdue-12m", home(&overdue(779))),
        ("s08-probe-lost", home(&probe_lost())),
        ("s08-was-lost", home(&was_lost)),
        ("s09-two", home(&two_alerts())),
        ("s09-three", home(&three_alerts())),
        ("s09-four", home(&four_alerts())),
        ("s11-resume", home(&resume(Dark::Known(Span::from_secs(220))))),
        ("s11-resume-one-off", pressed(&[DeskKey::Turn(2)], &resume(Dark::AtLeast(Span::from_secs(220))))),
        ("s13-saved", home(&saved())),
        ("s13-disk-full", Desk::new().screen(&saved(), &disk_full)),
    ]
}

fn starting() -> Screen {
    let row = |sign, text: &str, aside: &str| screen::ListRow { sign, text: text.into(), aside: aside.into() };
    Screen::Starting(screen::Starting {
        version: "0.1.0".into(),
        lines: vec![
            row(screen::RowSign::Tick, "Keys", "4 free"),
            row(screen::RowSign::Tick, "Lamps", "1 2 3 4"),
            row(screen::RowSign::Open, "Sound", "beeps 2 of 4"),
            row(screen::RowSign::Lost, "Probe A", "no signal"),
            row(screen::RowSign::Tick, "Record", "2 trials kept"),
        ],
    })
}

fn drawn(screen: &Screen, flash: bool) -> Frame {
    let mut frame = Frame::default();
    screen.draw(flash, &mut frame).unwrap();
    frame
}

#[test]
fn every_screen_looks_as_it_was_accepted() {
    let accept = env::var_os("ACCEPT_PICTURES").is_some();
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let found = Path::new(env!("CARGO_TARGET_TMPDIR")).join("screens");
    fs::create_dir_all(&found).unwrap();
    let mut changed = Vec::new();
    let mut pictures: Vec<(String, Frame)> =
        all().into_iter().map(|(name, screen)| (name.to_string(), drawn(&screen, false))).collect();
    let flashing = ["s05-question", "s07-overdue", "s09-two"];
    pictures.extend(
        all()
            .into_iter()
            .filter(|(name, _)| flashing.contains(name))
            .map(|(name, screen)| (format!("{name}-flash"), drawn(&screen, true))),
    );
    for (name, frame) in pictures {
        let path = golden.join(format!("{name}.png"));
        if accept {
            write_png(&path, &frame);
        } else if !path.exists() || read_png(&path) != frame.to_rgb888() {
            let seen = found.join(format!("{name}.png"));
            write_png(&seen, &frame);
            changed.push(seen);
        }
    }
    assert!(changed.is_empty(), "{} pictures differ from {}:\n{changed:#?}", changed.len(), golden.display());
}

#[test]
fn no_golden_picture_is_left_over() {
    let flashing = ["s05-question-flash", "s07-overdue-flash", "s09-two-flash"];
    let names: Vec<String> =
        all().into_iter().map(|(name, _)| name.to_string()).chain(flashing.map(String::from)).collect();
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    for file in fs::read_dir(golden).unwrap() {
        let path: PathBuf = file.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_string();
        assert!(names.contains(&name), "{} belongs to no screen", path.display());
    }
}

#[test]
fn every_text_fits_its_place() {
    for (name, screen) in all() {
        assert_eq!(screen.too_wide(), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn a_text_too_long_for_its_place_is_named() {
    let mut view = question();
    view.alerts[0].text = "Does the custard coat the back of the wooden spoon without running?".into();
    let screen = Desk::new().screen(&view, &station());
    assert_eq!(screen.too_wide(), [view.alerts[0].text.clone()]);
}

#[test]
fn digits_do_not_change_with_the_flash_phase() {
    for (name, screen) in all() {
        let (still, flash) = (drawn(&screen, false), drawn(&screen, true));
        let digits = (54..=133).flat_map(|y| (76..320).map(move |x| (x, y)));
        let changed = digits.filter(|(x, y)| still.pixel(*x, *y) != flash.pixel(*x, *y)).count();
        assert_eq!(changed, 0, "{name}");
    }
}

#[test]
fn only_what_waits_for_a_key_flashes() {
    let differs = |view: &RunView| {
        let screen = Desk::new().screen(view, &station());
        drawn(&screen, false) != drawn(&screen, true)
    };
    assert!(differs(&overdue(135)));
    assert!(differs(&two_alerts()));
    assert!(!differs(&overdue_acknowledged(135)));
    assert!(!differs(&four_lanes()));
}

#[test]
fn band_digits_are_at_least_77_px_high() {
    // the lowest and highest row with ink in the digits' part of the band, for screens with a plain number there
    for (name, view) in [
        ("board", four_lanes()),
        ("wide", wide_numbers()),
        ("window", window()),
        ("due", due()),
        ("overdue", overdue(135)),
        ("12m", overdue(779)),
    ] {
        let frame = drawn(&Desk::new().screen(&view, &station()), false);
        let ground = frame.pixel(300, 52).unwrap();
        let rows = (52..136).filter(|y| (180..312).any(|x| frame.pixel(x, *y) != Some(ground)));
        // the label's descenders end above y 54
        let rows: Vec<i32> = rows.filter(|y| *y >= 54).collect();
        let high = rows.last().unwrap() - rows.first().unwrap() + 1;
        assert!(high >= 77, "{name}: {high} px");
    }
}

#[test]
fn all_lane_states_differ_without_colour() {
    let states = [
        LaneState::Waiting { ready: None },
        LaneState::Ready { since: NOW, latest: None },
        running(277, 400),
        LaneState::Probe,
        LaneState::OnHold { since: NOW, left: Some(Span::from_secs(277)) },
        LaneState::Window { closes: after(277) },
        LaneState::Question { asked: NOW, closes: after(277) },
        LaneState::Due { since: NOW },
        LaneState::Overdue { since: NOW },
        LaneState::ProbeLost { since: NOW },
        LaneState::Done { at: NOW },
    ];
    let word = |state: &LaneState| match state {
        LaneState::Ready { .. } => Some(KeyWord::Start),
        LaneState::Window { .. } | LaneState::Due { .. } | LaneState::Overdue { .. } => Some(KeyWord::Done),
        LaneState::Question { .. } => Some(KeyWord::Yes),
        LaneState::ProbeLost { .. } => Some(KeyWord::Ok(AlertSlot::Probe)),
        LaneState::Waiting { .. }
        | LaneState::Running { .. }
        | LaneState::Probe
        | LaneState::OnHold { .. }
        | LaneState::Inside { .. }
        | LaneState::StillCooking
        | LaneState::Done { .. } => None,
    };
    let cell = |state: &LaneState| {
        let frame =
            drawn(&Desk::new().screen(&with_state(four_lanes(), 1, state.clone(), word(state)), &station()), false);
        let rgb = frame.to_rgb888();
        let pixels = (138..240).flat_map(|y| (0..80).map(move |x| (y * WIDTH as usize + x) * 3));
        // grey level after ITU-R BT.601, as a monochrome camera would see it
        pixels
            .map(|at| (299 * i32::from(rgb[at]) + 587 * i32::from(rgb[at + 1]) + 114 * i32::from(rgb[at + 2])) / 1000)
            .collect::<Vec<_>>()
    };
    let mut least = usize::MAX;
    for (i, one) in states.iter().enumerate() {
        for other in &states[i + 1..] {
            let differ = cell(one).into_iter().zip(cell(other)).filter(|(a, b)| (a - b).abs() > 48).count();
            assert!(differ >= 140, "{one:?} and {other:?} differ in {differ} px only");
            least = least.min(differ);
        }
    }
    assert!(least < 2000, "the comparison sees more than a cell: {least}");
}

#[test]
fn a_tick_of_four_running_lanes_sends_little() {
    let ticks: Vec<Frame> =
        (0..60).map(|second| drawn(&Desk::new().screen(&tick(second), &station()), false)).collect();
    let sent = |pair: &[Frame]| {
        pair[1].changes_from(&pair[0]).iter().map(|part| part.size.width * part.size.height * 2).sum::<u32>()
    };
    let most = ticks.windows(2).map(sent).max().unwrap();
    assert!(most > 0 && most <= 32_000, "{most} bytes");
}

#[test]
fn a_flash_sends_at_most_16_kb() {
    for (name, screen) in all() {
        let changes = drawn(&screen, true).changes_from(&drawn(&screen, false));
        let bytes: u32 = changes.iter().map(|part| part.size.width * part.size.height * 2).sum();
        assert!(bytes <= 16_000, "{name}: {bytes} bytes");
    }
}

/// The board so many seconds later.
fn tick(second: u64) -> RunView {
    let mut view = four_lanes();
    view.now = after(second);
    view.lanes[2].front.as_mut().unwrap().probe.as_mut().unwrap().last =
        Some((degrees(63.7 + second as f64 * 0.02), view.now));
    view
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
