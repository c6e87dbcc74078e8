//! The acceptance checks of the colour panel that can be seen in its pictures, each by its number. Each prints what it
//! measured: `cargo test -p screens --test colour -- --nocapture`. Where a check could pass by looking at nothing, a
//! planted fault shows that it does not.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::{collections::BTreeMap, ops::Range, path::Path};

use embedded_graphics::{
    draw_target::DrawTarget,
    geometry::{Point, Size},
    pixelcolor::{IntoStorage, Rgb565, RgbColor},
    primitives::Rectangle,
};
use quantities::Span;
use run_engine::view::{KeyWord, LaneState};
use screens::{
    Desk, DeskKey, Frame, HEIGHT, JoinView, PanelFrame, Phase, Screen, Units, WIDTH,
    colour::{BLACK, GREEN, GREY, LINE, SKY, TEXT, VERMILION, WHITE, YELLOW},
    gallery::{self, State, views::*},
    number::Figures,
    screen::{Band, Cell, Tone},
};
use trial::AlertSlot;
use words::{Language, Text};

fn states(language: Language) -> Vec<State> {
    gallery::all(language, Units::Celsius)
}

/// Every state in both languages.
fn all() -> Vec<State> {
    Language::ALL.into_iter().flat_map(states).collect()
}

fn drawn(screen: &Screen) -> Frame {
    in_phase(screen, Phase::STILL)
}

fn in_phase(screen: &Screen, phase: Phase) -> Frame {
    let mut frame = Frame::default();
    frame.render(screen, phase);
    frame
}

fn bytes(to: &Frame, from: &Frame) -> usize {
    to.changes_from(from).iter().map(Frame::bytes).sum()
}

/// What every screen must be shown in.
const WANTED: [(&str, &[&str]); 25] = [
    ("s00", &["testing", "tested"]),
    ("s01", &["choose", "empty", "refused", "updating"]),
    ("s02", &["all-ticked", "check", "oven-not-hot"]),
    ("s02", &["ready-at", "ready-at-edited", "ready-at-planned", "ready-at-too-soon", "ready-at-no-clock"]),
    ("s03", &["menu-ready-at", "plan", "plan-want", "plan-want-too-soon"]),
    (
        "s03",
        &["board", "board-one-lane", "board-two-lanes", "board-six-stages", "board-ready", "board-hold", "board-done"],
    ),
    ("s04", &["lane-time", "lane-probe", "lane-hold", "lane-waiting", "lane-choices", "keep", "keep-reached"]),
    ("s03", &["board-estimate", "board-doubtful", "board-old-reading", "board-rest", "board-rest-wanted"]),
    ("s04", &["lane-carry-over", "lane-take-at", "lane-counts-as", "lane-shallow-tip"]),
    ("s04", &["lane-settling", "lane-jumped", "lane-noisy", "lane-never-moved", "lane-too-hot", "lane-old-reading"]),
    ("s04", &["lane-too-early", "lane-no-rise", "lane-thawing", "lane-may-not-reach", "lane-no-reading"]),
    ("s04", &["lane-rest", "lane-rest-wanted", "lane-rest-came-to-it"]),
    ("s07", &["called-to-take", "called-overdue", "rest-under", "rest-under-overdue"]),
    ("s05", &["question", "question-again", "two-questions"]),
    ("s06", &["window", "window-last-minute", "window-closing"]),
    ("s07", &["due", "due-acknowledged", "overdue", "overdue-acknowledged", "overdue-12m", "later"]),
    ("s08", &["no-signal", "jumped", "out-of-range", "was-lost"]),
    ("s09", &["overdue-and-due", "two-due", "lost-and-overdue", "three", "four"]),
    ("s10", &["late", "early", "cannot-fit"]),
    ("s11", &["known", "unknown", "one-answered", "one-off"]),
    ("s12", &["words", "scale", "number", "number-turning", "pick", "scale-skip"]),
    ("s13", &["saved", "sent", "not-sent", "disk-full", "given-up"]),
    ("s14", &["settling", "steady", "too-far", "saved", "no-signal"]),
    ("s15", &["open", "joined", "ended", "no-network"]),
    ("s16", &["settings", "sound", "language", "lanes", "about"]),
];

#[test]
fn check_1_every_state_and_every_extreme_has_a_picture() {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    for language in Language::ALL {
        let shown = states(language);
        for (screen, of_screen) in WANTED {
            for state in of_screen {
                let name = format!("{screen}-{state}");
                assert!(shown.iter().any(|state| state.name == name), "{name} is not in the gallery");
                let file = golden.join(language.code()).join(format!("{name}.png"));
                assert!(file.exists(), "{} is missing", file.display());
            }
        }
        for (extreme, in_state) in [
            ("1h23", "s03-board-wide"),
            ("+12m", "s07-overdue-12m"),
            ("100°", "s03-board-wide"),
            ("−18°", "s03-board-wide"),
        ] {
            let state = shown.iter().find(|state| state.name == in_state).unwrap();
            assert!(format!("{:?}", state.screen).contains(extreme), "{extreme} is not in {in_state}");
        }
        let four = shown.iter().find(|state| state.name == "s09-four").unwrap();
        let Screen::Board(board) = &four.screen else { panic!("four alerts stand on the board") };
        assert!(board.header.left.full().starts_with('4'));
        println!("{} pictures in {language:?}", shown.len());
    }
}

#[test]
fn check_2_no_text_is_cut() {
    let mut wide = Vec::new();
    let mut looked = 0;
    for (language, units) in Language::ALL.into_iter().flat_map(|language| Units::ALL.map(|units| (language, units))) {
        for state in gallery::all(language, units) {
            let texts = state.screen.too_wide();
            wide.extend((!texts.is_empty()).then(|| format!("{} in {language:?}, {units:?}: {texts:?}", state.name)));
            looked += 1;
        }
    }
    println!("no text cut on {looked} pictures");
    assert!(wide.is_empty(), "{wide:#?}");
}

#[test]
fn check_2_one_letter_too_many_is_named() {
    let Screen::Board(mut board) = Desk::new().screen(&overdue(135), &station()) else { panic!("no board") };
    let mut label = String::from("TAKE OUT ");
    for _ in 0..30 {
        label.push('e');
        let Band::Large(large) = &mut board.band else { panic!("no number in the band") };
        large.label = label.clone().into();
        // what the recipe check lets pass is what the panel has room for
        let fits = face::fits(face::Limit::BandLabelLate, &label).is_ok();
        let found = Screen::Board(board.clone()).too_wide();
        assert_eq!(found.is_empty(), fits, "{label:?}: {found:?}");
    }
    let mut view = question();
    view.alerts[0].text = "Does the custard coat the back of the wooden spoon without running?".into();
    assert_eq!(Desk::new().screen(&view, &station()).too_wide(), [view.alerts[0].text.clone()]);
}

/// Height from the first to the last row of a part that is not all of its ground.
fn ink_height(frame: &Frame, columns: Range<i32>, rows: Range<i32>) -> i32 {
    let ground = frame.pixel(columns.start, rows.start);
    let inked = rows.filter(|y| columns.clone().any(|x| frame.pixel(x, *y) != ground));
    let inked: Vec<i32> = inked.collect();
    inked.last().zip(inked.first()).map_or(0, |(last, first)| last - first + 1)
}

fn is_number(text: &str) -> bool {
    text.chars().any(|letter| letter.is_ascii_digit())
}

#[test]
fn check_3_figures_are_as_high_as_they_must_be() {
    let (mut band, mut pair, mut cells) = (i32::MAX, i32::MAX, i32::MAX);
    for state in all() {
        let Screen::Board(board) = &state.screen else { continue };
        let frame = drawn(&state.screen);
        match &board.band {
            // below the label's descenders
            Band::Large(large) if is_number(large.digits.full()) && large.digits.full().chars().count() <= 5 => {
                let wide = face::width(face::Size::Xxl, large.digits.full()) as i32;
                let right = if large.tone == Tone::Window { 308 } else { 316 };
                band = band.min(ink_height(&frame, right - wide..right, 55..136));
            }
            Band::Pair(rows) => {
                for (row, top) in rows.iter().zip([25, 81]).filter(|(row, _)| is_number(row.digits.full())) {
                    let wide = face::width(face::Size::Xl, row.digits.full()) as i32;
                    // below a broken line
                    pair = pair.min(ink_height(&frame, 316 - wide..316, top + 4..top + 55));
                }
            }
            Band::Large(_) | Band::Idle(_) | Band::Question(_) | Band::ProbeLost(_) => {}
        }
        for cell in board.cells.iter().filter(|cell| is_number(cell.figures.digits.full())) {
            let left = (i32::from(cell.number) - 1) * 80;
            cells = cells.min(ink_height(&frame, left + 6..left + 74, 175..213));
        }
    }
    println!("least heights: band {band} px, two alerts {pair} px, cell {cells} px");
    assert!((77..200).contains(&band) && (44..200).contains(&pair) && (24..200).contains(&cells));
    let least = face::Size::ALL.into_iter().map(face::Size::capital).min().unwrap();
    let header = drawn(&Desk::new().screen(&four_lanes(), &station()));
    // `All done 12:47` has no descender
    let measured = ink_height(&header, 220..318, 0..24);
    println!("least size of text: {least} px, measured in the line at the top: {measured} px");
    assert!(least >= 16 && measured >= 16);
}

#[test]
fn check_3_sees_figures_that_lost_some_rows() {
    let mut frame = drawn(&Desk::new().screen(&four_lanes(), &station()));
    let cut = Rectangle::new(Point::new(140, 55), Size::new(180, 6));
    assert!(ink_height(&frame, 150..316, 55..136) >= 77);
    let Ok(()) = frame.fill_solid(&cut, BLACK);
    assert!(ink_height(&frame, 150..316, 55..136) < 77);
}

/// Relative luminance after the sRGB formula (IEC 61966-2-1, as used for contrast by WCAG 2).
fn luminance(colour: Rgb565) -> f64 {
    let linear = |value: u8, most: u8| {
        let share = f64::from(value) / f64::from(most);
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(colour.r(), 31) + 0.7152 * linear(colour.g(), 63) + 0.0722 * linear(colour.b(), 31)
}

/// Contrast under 80 cd/m2 of glare on a panel of 250 cd/m2 whose black is 0.5 cd/m2, and without glare.
fn contrast(one: Rgb565, other: Rgb565) -> (f64, f64) {
    let (bright, dark) = (luminance(one).max(luminance(other)), luminance(one).min(luminance(other)));
    let lit = |y: f64| 250.0 * y + 0.5 + 80.0;
    (lit(bright) / lit(dark), (bright + 0.05) / (dark + 0.05))
}

fn hex(colour: Rgb565) -> String {
    let wide = |value: u8, most: u16| u16::from(value) * 255 / most;
    format!("{:02X}{:02X}{:02X}", wide(colour.r(), 31), wide(colour.g(), 63), wide(colour.b(), 31))
}

/// The two ends of every blend that two of these colours can give.
fn blends(colours: &[Rgb565]) -> BTreeMap<u16, (Rgb565, Rgb565)> {
    let mut found = BTreeMap::new();
    for (ink, ground) in colours.iter().flat_map(|ink| colours.iter().map(move |ground| (*ink, *ground))) {
        for alpha in 0..=15_u32 {
            let mix =
                |over: u8, under: u8| ((u32::from(over) * alpha + u32::from(under) * (15 - alpha) + 7) / 15) as u8;
            let colour = Rgb565::new(mix(ink.r(), ground.r()), mix(ink.g(), ground.g()), mix(ink.b(), ground.b()));
            found.entry(colour.into_storage()).or_insert((ink, ground));
        }
    }
    found
}

/// The colours that two pictures of one state, in two languages, do not share: texts, and what makes room for them.
fn words_of(one: &Frame, other: &Frame) -> Vec<Rgb565> {
    let places = (0..HEIGHT as i32).flat_map(|y| (0..WIDTH as i32).map(move |x| (x, y)));
    let pairs = places.map(|(x, y)| (one.pixel(x, y).unwrap(), other.pixel(x, y).unwrap()));
    pairs.filter(|(one, other)| one != other).flat_map(|(one, other)| [one, other]).collect()
}

/// Of these colours, the first that no text may have. Frames of what is at rest move with the words, and are no text.
fn stray(words: &[Rgb565]) -> Option<Rgb565> {
    let texts = blends(&TEXT);
    words.iter().copied().find(|colour| *colour != LINE && !texts.contains_key(&colour.into_storage()))
}

#[test]
fn check_4_text_keeps_its_contrast() {
    // the pairs that texts are drawn in
    for (ink, ground) in [(WHITE, BLACK), (GREY, BLACK), (YELLOW, BLACK), (BLACK, WHITE), (BLACK, YELLOW)] {
        let (glare, dark) = contrast(ink, ground);
        println!("{} on {}: {glare:.2}:1 under glare, {dark:.1}:1 without", hex(ink), hex(ground));
        assert!(glare >= 3.0 && dark >= 7.0);
    }
    for sign in [SKY, GREEN, VERMILION] {
        assert!(contrast(sign, BLACK).0 < 3.0, "a sign as bright as a text would need no shape");
    }
    // what differs between two languages on all pictures is made of text colours alone
    let mut full: BTreeMap<String, usize> = BTreeMap::new();
    for (english, german) in states(Language::English).iter().zip(&states(Language::German)) {
        let words = words_of(&drawn(&english.screen), &drawn(&german.screen));
        assert_eq!(stray(&words).map(hex), None, "no blend of two text colours, in {}", english.name);
        for colour in words.into_iter().filter(|colour| TEXT.contains(colour)) {
            *full.entry(hex(colour)).or_default() += 1;
        }
    }
    println!("px of full ink and ground that differ between the languages: {full:?}");
    assert!(full.len() == TEXT.len() && full.values().all(|count| *count > 100), "text in each text colour was seen");
}

#[test]
fn check_4_sees_a_text_in_a_sign_colour() {
    let frame = drawn(&Desk::new().screen(&four_lanes(), &station()));
    for sign in [SKY, GREEN, VERMILION] {
        let mut other = frame.clone();
        let place = Rectangle::new(Point::new(100, 8), Size::new(3, 16));
        let Ok(()) = other.fill_solid(&place, sign);
        assert_eq!(stray(&words_of(&frame, &other)), Some(sign));
    }
}

const LANE_STATES: usize = 11;

/// The eleven states of a lane with the word of the key.
fn lane_states() -> [(LaneState, Option<KeyWord>); LANE_STATES] {
    [
        (LaneState::Waiting { ready: None }, None),
        (LaneState::Ready { since: NOW, latest: None }, Some(KeyWord::Start)),
        (running(277, 400), None),
        (LaneState::Probe, None),
        (LaneState::OnHold { since: NOW, left: Some(Span::from_secs(277)) }, None),
        (LaneState::Window { closes: after(277) }, Some(KeyWord::Done)),
        (LaneState::Question { asked: NOW, closes: after(277) }, Some(KeyWord::Yes)),
        (LaneState::Due { since: NOW }, Some(KeyWord::Done)),
        (LaneState::Overdue { since: NOW }, Some(KeyWord::Done)),
        (LaneState::ProbeLost { since: NOW }, Some(KeyWord::Ok(AlertSlot::Probe))),
        (LaneState::Done { at: NOW }, None),
    ]
}

/// Grey levels of the first cell (ITU-R BT.601), as a camera without colour sees it.
fn grey_cell(frame: &Frame) -> Vec<i32> {
    let rgb = frame.to_rgb888();
    let places = (138..240).flat_map(|y| (0..80).map(move |x| (y * WIDTH as usize + x) * 3));
    let grey = |at: usize| 299 * i32::from(rgb[at]) + 587 * i32::from(rgb[at + 1]) + 114 * i32::from(rgb[at + 2]);
    places.map(|at| grey(at) / 1000).collect()
}

fn differing(one: &[i32], other: &[i32]) -> usize {
    one.iter().zip(other).filter(|(a, b)| (*a - *b).abs() > 48).count()
}

/// The two that are most alike, and by how many px they differ.
fn closest(cells: &[(String, Vec<i32>)]) -> (usize, &str, &str) {
    let pairs = cells.iter().enumerate().flat_map(|(i, one)| cells[i + 1..].iter().map(move |other| (one, other)));
    let differ = pairs.map(|(one, other)| (differing(&one.1, &other.1), one.0.as_str(), other.0.as_str()));
    differ.min().unwrap()
}

#[test]
fn check_5_all_lane_states_differ_without_colour() {
    let cells: Vec<(String, Vec<i32>)> = lane_states()
        .into_iter()
        .map(|(state, key)| {
            let name = format!("{state:?}");
            let view = with_state(four_lanes(), 1, state, key);
            (name, grey_cell(&drawn(&Desk::new().screen(&view, &station()))))
        })
        .collect();
    let (least, one, other) = closest(&cells);
    println!("as they occur: {one} and {other} differ in {least} px");
    assert!((140..2000).contains(&least));
}

/// A cell in a tone, with the same number and no word of its key, so that only frame, fill and sign can differ.
fn bare_cell(tone: Tone) -> Vec<i32> {
    let Screen::Board(mut board) = Desk::new().screen(&four_lanes(), &station()) else { panic!("no board") };
    let figures = Figures::plain("4:37");
    board.cells[0] = Cell { number: 1, name: "Oven".into(), tone, figures, word: Text::none(), sounding: false };
    grey_cell(&drawn(&Screen::Board(board)))
}

#[test]
fn check_5_frame_fill_and_sign_alone_tell_the_states_apart() {
    let tones = [
        Tone::Waiting,
        Tone::Ready,
        Tone::Running(400),
        Tone::Probe,
        Tone::OnHold,
        Tone::Window,
        Tone::Question,
        Tone::Due,
        Tone::Overdue,
        Tone::Lost,
        Tone::Done,
    ];
    let mut cells: Vec<_> = tones.into_iter().map(|tone| (format!("{tone:?}"), bare_cell(tone))).collect();
    assert_eq!(cells.len(), LANE_STATES);
    let (least, one, other) = closest(&cells);
    println!("with the same number and no word: {one} and {other} differ in {least} px");
    assert!(least >= 140);
    // two tones with one drawing are seen
    cells[1].1 = cells[0].1.clone();
    assert_eq!(closest(&cells).0, 0);
}

#[test]
fn check_6_figures_stay_still_while_the_badge_flashes() {
    let digits = || (54..=133).flat_map(|y| (76..320).map(move |x| (x, y)));
    let differs =
        |one: &Frame, other: &Frame| digits().filter(|(x, y)| one.pixel(*x, *y) != other.pixel(*x, *y)).count();
    let mut flashing = 0;
    for state in all() {
        let (still, flash) = (drawn(&state.screen), in_phase(&state.screen, Phase::FLASH));
        assert_eq!(differs(&still, &flash), 0, "{}", state.name);
        flashing += usize::from(still != flash);
    }
    println!("{flashing} pictures flash, and none of them in its figures");
    assert!(flashing > 20);
    let other = |secs| drawn(&Desk::new().screen(&overdue(secs), &station()));
    assert!(differs(&other(135), &other(136)) > 100, "a second more is seen");
}

/// The board so many seconds later, its probe a little warmer.
fn tick(second: u64) -> Frame {
    let mut view = four_lanes();
    view.now = after(second);
    view.lanes[2].front.as_mut().unwrap().probe.as_mut().unwrap().last =
        Some((degrees(63.7 + second as f64 * 0.02), view.now));
    drawn(&Desk::new().screen(&view, &station()))
}

#[test]
fn check_7_few_bytes_a_tick_a_flash_and_a_change_of_screen() {
    let ticks: Vec<Frame> = (0..=120).map(tick).collect();
    let mut sent: Vec<usize> = ticks.windows(2).map(|pair| bytes(&pair[1], &pair[0])).collect();
    sent.sort_unstable();
    let (median, most_of, most) = (sent[60], sent[114], sent[119]);
    println!("bytes a tick over 120 ticks: median {median}, 95 % {most_of}, most {most}");
    assert!(median > 0 && most <= 32_000);

    let frames: Vec<(String, Frame)> = Language::ALL
        .into_iter()
        .flat_map(|language| states(language).into_iter().map(move |state| (language, state)))
        .map(|(language, state)| (format!("{} {}", language.code(), state.name), drawn(&state.screen)))
        .collect();
    let flashes = all()
        .into_iter()
        .map(|state| (bytes(&in_phase(&state.screen, Phase::FLASH), &drawn(&state.screen)), state.name));
    let (flash, of) = flashes.max().unwrap();
    println!("most bytes a flash: {flash} ({of})");
    assert!(flash > 0 && flash <= 16_000);

    let pairs = frames.iter().enumerate().flat_map(|(i, one)| frames[i + 1..].iter().map(move |other| (one, other)));
    let (change, one, other) = pairs.map(|(one, other)| (bytes(&other.1, &one.1), &one.0, &other.0)).max().unwrap();
    println!("most bytes from one screen to another: {change} ({one}, {other}); whole frame {}", WIDTH * HEIGHT * 2);
    assert!(change > 60_000 && change <= 154_000);
}

/// The page on which a phone can join, with this address.
fn join_page(address: &str) -> Screen {
    let view = JoinView::Open { address: address.into(), code: "4K7 Q2M".into(), left: Span::from_secs(154) };
    let here = joining(view);
    let keys = [DeskKey::Knob, DeskKey::Turn(4), DeskKey::Knob, DeskKey::Turn(13), DeskKey::Knob];
    let mut desk = Desk::new();
    for key in keys {
        desk.key(key, &four_lanes(), &here, NOW);
    }
    desk.screen(&four_lanes(), &here)
}

fn decoded(frame: &Frame) -> Vec<String> {
    let grey = |x: usize, y: usize| frame.pixel(x as i32, y as i32).unwrap().g() << 2;
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(WIDTH as usize, HEIGHT as usize, grey);
    image.detect_grids().iter().filter_map(|grid| grid.decode().ok()).map(|(_, text)| text).collect()
}

#[test]
fn check_13_a_camera_reads_the_join_code() {
    for (address, modules) in
        [("HTTP://10.0.0.7:8080/J/4K", 21), ("HTTP://STATION-7.TERN-LANE.LAN:8080/JOIN/4K7Q2M/OPEN", 29)]
    {
        let screen = join_page(address);
        let Screen::Join(page) = &screen else { panic!("no page to join") };
        assert_eq!(page.code.as_ref().map(|code| code.side), Some(modules), "{address}");
        let frame = drawn(&screen);
        assert_eq!(decoded(&frame), [address]);

        // the finder pattern at the top left is seven modules wide
        let dark = |x: i32, y: i32| frame.pixel(x, y) == Some(BLACK);
        let top = (0..HEIGHT as i32).find(|y| (0..200).any(|x| dark(x, *y))).unwrap();
        let left = (0..WIDTH as i32).find(|x| dark(*x, top)).unwrap();
        let finder = (left..).take_while(|x| dark(*x, top)).count() as i32;
        let (px, side) = (finder / 7, finder / 7 * i32::from(modules));
        let margin = 4 * px;
        println!("{modules} modules of {px} px, margin {left} px");
        assert!(px >= 6 && left >= margin);
        let code = |x: i32, y: i32| (left..left + side).contains(&x) && (top..top + side).contains(&y);
        for y in (top - margin).max(0)..top + side + margin {
            for x in left - margin..left + side + margin {
                assert!(code(x, y) || frame.pixel(x, y) == Some(WHITE), "{x},{y} lies in the margin");
            }
        }
        assert!(top >= margin, "the margin reaches over the top edge");

        // half of it under a finger
        let mut hidden = frame.clone();
        let finger = Rectangle::new(Point::new(left, top + side / 3), Size::new(side as u32, side as u32 / 2));
        let Ok(()) = hidden.fill_solid(&finger, WHITE);
        assert!(decoded(&hidden).is_empty());
    }
}

#[test]
fn a_check_window_of_more_than_ten_minutes_fits_its_cell() {
    for left in [600, 1020, 3540, 4980] {
        let screen = Desk::new().screen(&window_closing(left), &station());
        assert_eq!(screen.too_wide(), Vec::<String>::new(), "{left} s");
    }
}
