//! Each screen on the panel of one bit against its picture in `tests/golden-mono`. After a wanted change look at the new
//! pictures that are written beside the test output, and accept them with
//! `ACCEPT_PICTURES=1 cargo test -p screens --test mono`.
#![allow(clippy::unwrap_used)]

mod common;

use std::io::Write as _;

use common::{Gallery, Picture};
use quantities::Span;
use run_engine::view::{KeyWord, LaneState, RunView};
use screens::{
    Desk, MONO_HEIGHT, MONO_WIDTH, MonoFrame, Phase, Screen, Units,
    gallery::{self, views::*},
    screen::{Band, Board},
};
use trial::AlertSlot;
use words::Language;

fn in_language(language: Language) -> Vec<(&'static str, Screen)> {
    gallery::all(language, Units::Celsius).into_iter().map(|state| (state.name, state.screen)).collect()
}

fn drawn(screen: &Screen, phase: Phase) -> MonoFrame {
    let mut frame = MonoFrame::default();
    screen.draw_mono(phase, &mut frame).unwrap();
    frame
}

fn home(view: &RunView) -> Screen {
    Desk::new().screen(view, &station())
}

/// Pictures in other phases than the still one.
const PHASES: [(&str, &str, Phase); 4] = [
    ("s05-question", "flash", Phase::FLASH),
    ("s07-overdue", "flash", Phase::FLASH),
    ("s09-overdue-and-due", "flash", Phase::FLASH),
    ("s03-board", "held", Phase { flash: false, held: 620 }),
];

fn pictures(language: Language) -> Vec<Picture> {
    let screens = in_language(language);
    let kept = |name: String, screen, phase| (name, drawn(screen, phase).to_rgb888(1));
    let still = screens.iter().map(|(name, screen)| kept((*name).to_owned(), screen, Phase::STILL));
    let moving = PHASES.iter().map(|(name, ending, phase)| {
        let (_, screen) = screens.iter().find(|(found, _)| found == name).unwrap();
        kept(format!("{name}-{ending}"), screen, *phase)
    });
    still.chain(moving).collect()
}

#[test]
fn every_screen_looks_as_it_was_accepted() {
    Gallery { folder: "golden-mono", size: (MONO_WIDTH, MONO_HEIGHT) }.looks_as_accepted(pictures);
}

#[test]
fn every_text_fits_its_place() {
    let mut found = Vec::new();
    for language in Language::ALL {
        for units in Units::ALL {
            for state in gallery::all(language, units) {
                found.extend(state.screen.too_wide_mono().into_iter().map(|text| (state.name, language.code(), text)));
            }
        }
    }
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn a_text_too_long_for_its_place_is_named() {
    let mut view = question();
    view.alerts[0].text = "Does the custard coat the back of the wooden spoon without running off it at once?".into();
    assert_eq!(home(&view).too_wide_mono(), [view.alerts[0].text.clone()]);
}

fn lit_rows(frame: &MonoFrame, columns: std::ops::Range<i32>, rows: std::ops::Range<i32>, ink: bool) -> i32 {
    let with_ink = rows.filter(|y| columns.clone().any(|x| frame.pixel(x, *y) == Some(ink)));
    let with_ink: Vec<i32> = with_ink.collect();
    with_ink.last().unwrap() - with_ink.first().unwrap() + 1
}

#[test]
fn band_digits_are_29_px_high() {
    for (name, view) in [
        ("board", four_lanes()),
        ("wide", wide_numbers()),
        ("window", window()),
        ("due", due()),
        ("overdue", overdue(135)),
        ("12m", overdue(779)),
    ] {
        let frame = drawn(&home(&view), Phase::STILL);
        // between the badge and the right bracket, below the label with its descenders
        let ink = frame.pixel(60, 40) != Some(true);
        assert_eq!(lit_rows(&frame, 70..119, 10..41, ink), 29, "{name}");
    }
}

#[test]
fn flashing_changes_neither_figures_nor_words() {
    let mut flashed = 0;
    for (name, screen) in in_language(Language::English) {
        let (still, flash) = (drawn(&screen, Phase::STILL), drawn(&screen, Phase::FLASH));
        let Screen::Board(Board { band, .. }) = &screen else { continue };
        // right of the badges, in the band; below the lanes' numbers, in the cells
        let from = if matches!(band, Band::Pair(_)) { 19 } else { 27 };
        let kept = (0..41).flat_map(|y| (from..128).map(move |x| (x, y)));
        let kept = kept.chain((53..64).flat_map(|y| (0..128).map(move |x| (x, y))));
        let changed = kept.filter(|(x, y)| still.pixel(*x, *y) != flash.pixel(*x, *y)).count();
        assert_eq!(changed, 0, "{name}");
        flashed += usize::from(still != flash);
    }
    assert!(flashed >= 8, "{flashed} screens flash");
}

#[test]
fn only_what_waits_for_a_key_flashes() {
    let differs = |view: &RunView| drawn(&home(view), Phase::STILL) != drawn(&home(view), Phase::FLASH);
    assert!(differs(&overdue(135)));
    assert!(differs(&two_alerts()));
    assert!(!differs(&overdue_acknowledged(135)));
    assert!(!differs(&four_lanes()));
}

#[test]
fn all_lane_states_differ_in_a_cell_with_the_same_figures() {
    let states = [
        LaneState::Waiting { ready: Some(after(277)) },
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
    let cell = |state: &LaneState| {
        // the same word on every key hides none of the other signs
        let word = Some(KeyWord::Ok(AlertSlot::Step));
        let Screen::Board(mut board) = home(&with_state(four_lanes(), 1, state.clone(), word)) else {
            panic!("no board")
        };
        board.cells[0].word = words::Text::none();
        board.cells[0].figures = board.cells[1].figures.clone();
        let frame = drawn(&Screen::Board(board), Phase::STILL);
        let places = (42..64).flat_map(|y| (0..32).map(move |x| (x, y)));
        places.map(|(x, y)| frame.pixel(x, y)).collect::<Vec<_>>()
    };
    let mut least = (usize::MAX, String::new());
    for (i, one) in states.iter().enumerate() {
        for other in &states[i + 1..] {
            let differ = cell(one).into_iter().zip(cell(other)).filter(|(a, b)| a != b).count();
            if differ < least.0 {
                least = (differ, format!("{one:?} and {other:?}"));
            }
        }
    }
    note(&format!("cells alike: {} differ in {} px", least.1, least.0));
    assert!(least.0 >= 20, "{} differ in {} px only", least.1, least.0);
}

/// The page of a lane has no strip: its first line has the number of each other lane that needs the cook.
#[test]
fn an_alert_on_another_lane_is_seen_on_the_page_of_a_lane() {
    let page = |view: &RunView| {
        let mut desk = Desk::new();
        desk.key(screens::DeskKey::Lane(4), &four_lanes(), &station(), NOW);
        desk.screen(view, &station())
    };
    let filled = |screen: &Screen, phase| {
        let frame = drawn(screen, phase);
        let place = (0..10).flat_map(|y| (118..128).map(move |x| (x, y)));
        place.filter(|(x, y)| frame.pixel(*x, *y) == Some(true)).count()
    };
    let (quiet, late) = (page(&four_lanes()), page(&overdue(135)));
    let Screen::Lane(_) = late else { panic!("the page was left") };
    assert!(filled(&late, Phase::STILL) > 60 && filled(&quiet, Phase::STILL) < 50);
    assert!(filled(&late, Phase::FLASH) < 60, "its number flashes as its badge does");
    assert_eq!(late.too_wide_mono(), Vec::<String>::new());
}

#[test]
fn a_tick_sends_at_most_420_bytes() {
    let ticks: Vec<MonoFrame> = (0..=120).map(|second| drawn(&home(&tick(second)), Phase::STILL)).collect();
    let mut sent: Vec<usize> = ticks
        .windows(2)
        .map(|pair| pair[1].changes_from(&pair[0]).iter().map(|part| pair[1].to_panel_bytes(part).len()).sum())
        .collect();
    sent.sort_unstable();
    let (median, most) = (sent[sent.len() / 2], sent[sent.len() - 1]);
    note(&format!("bytes a tick of {}: median {median}, most {most}", sent.len()));
    assert!(median > 0 && most <= 420, "{most} bytes");
}

#[test]
fn a_flash_sends_less_than_half_the_panel() {
    for (name, screen) in in_language(Language::English) {
        let (still, flash) = (drawn(&screen, Phase::STILL), drawn(&screen, Phase::FLASH));
        let bytes: usize = flash.changes_from(&still).iter().map(|part| flash.to_panel_bytes(part).len()).sum();
        assert!(bytes <= 512, "{name}: {bytes} bytes");
    }
}

#[test]
fn a_phone_reads_the_address_off_the_panel() {
    for language in Language::ALL {
        let (_, screen) = in_language(language).into_iter().find(|(name, _)| *name == "s15-open").unwrap();
        let frame = drawn(&screen, Phase::STILL);
        let Screen::Join(page) = &screen else { panic!("no join page") };
        // two px a module and four modules of margin: all round the code is lit
        let code = page.code.as_ref().unwrap();
        let side = i32::from(code.side) * 2;
        let dark = (0..64)
            .flat_map(|y| (0..side + 16).map(move |x| (x, y)))
            .filter(|(x, y)| frame.pixel(*x, *y) == Some(false));
        let (left, right) = dark.fold((i32::MAX, 0), |(left, right), (x, _)| (left.min(x), right.max(x)));
        assert_eq!((left, right), (8, 8 + side - 1));

        const SCALE: u32 = 4;
        let grey: Vec<u8> = frame.to_rgb888(SCALE).chunks(3).map(|pixel| pixel[0]).collect();
        let wide = (MONO_WIDTH * SCALE) as usize;
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(wide, (MONO_HEIGHT * SCALE) as usize, |x, y| {
            grey[y * wide + x]
        });
        let read: Vec<String> =
            picture.detect_grids().iter().filter_map(|grid| grid.decode().ok()).map(|(_, text)| text).collect();
        assert_eq!(read, [page.lines[1].full()], "{language:?}");
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

/// A figure for whoever runs the tests with `--nocapture`.
fn note(text: &str) {
    let _ = writeln!(std::io::stdout(), "{text}");
}
