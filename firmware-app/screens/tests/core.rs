//! What the panels say of a core: how far its reading is believed, how long it takes, what a rest would bring it to, and
//! what a rest brought.
#![allow(clippy::unwrap_used)]

use quantities::Span;
use run_engine::view::{AlertView, ProbeView, RunView};
use screens::{
    Desk,
    DeskKey::Lane,
    Frame, MonoFrame, PanelFrame, Phase, Screen, StationView, Units,
    gallery::{self, views::*, views_of_core::*},
    screen::{Band, Board, LanePage, Large, Middle},
};
use thermometry::{Doubt, Fault, Quality};
use trial::Withheld;
use words::{Language, Text};

fn in_units(units: Units) -> StationView {
    let mut here = station();
    here.settings.units = units;
    here
}

fn board(view: &RunView) -> Board {
    let Screen::Board(board) = Desk::new().screen(view, &station()) else { panic!("no board") };
    board
}

fn large(view: &RunView) -> Large {
    let Band::Large(large) = board(view).band else { panic!("no large number") };
    large
}

fn page_in(view: &RunView, here: &StationView) -> LanePage {
    let mut desk = Desk::new();
    desk.key(Lane(1), view, here, view.now);
    let Screen::Lane(page) = desk.screen(view, here) else { panic!("no page of a lane") };
    page
}

fn page(view: &RunView) -> LanePage {
    page_in(view, &station())
}

fn facts(page: &LanePage) -> Vec<&str> {
    match &page.middle {
        Middle::Words { facts, .. } => facts.iter().map(Text::full).collect(),
        Middle::Window(_) => panic!("a window"),
    }
}

fn full(texts: &[Text]) -> Vec<&str> {
    texts.iter().map(Text::full).collect()
}

fn loin(view: &mut RunView) -> &mut ProbeView {
    view.lanes[0].front.as_mut().unwrap().probe.as_mut().unwrap()
}

#[test]
fn an_estimate_is_said_with_its_middle_and_from_when_to_when() {
    let page = page(&roast());
    assert_eq!((page.digits.full(), page.note.full()), ("57.1°", "about 9 min to 63° (7 to 12 min)"));
    let band = large(&roast());
    assert_eq!((band.label.full(), band.digits.full()), ("To 63°: take out loin", "9m"));
    assert_eq!(full(&band.facts), ["57.1°", "7 to 12 min", "about"]);
}

#[test]
fn an_estimate_has_no_seconds_that_nobody_knows() {
    for secs in [1, 59, 61, 275, 3000] {
        let mut view = roast();
        let span = Span::from_secs(secs);
        loin(&mut view).estimate = Ok(trial::Estimate { median: span, low: span, high: span });
        assert!(!large(&view).digits.full().contains(':'), "{secs} s");
        assert!(!page(&view).note.full().contains(':'), "{secs} s");
    }
}

#[test]
fn a_withheld_estimate_is_no_number_and_says_why() {
    let mut said = Vec::new();
    for why in [Withheld::TooEarly, Withheld::NoRise, Withheld::Thawing, Withheld::MayNotReach, Withheld::NoReading] {
        let note = page(&withheld(24.3, why)).note;
        assert!(note.lengths().all(|text| !text.contains(|letter: char| letter.is_ascii_digit())), "{note}");
        said.push(String::from(note.full()));
    }
    said.sort();
    said.dedup();
    assert_eq!(said.len(), 5, "{said:?}");
}

#[test]
fn a_hold_that_runs_is_said_to_the_second() {
    let mut view = roast();
    loin(&mut view).held_since = Some(before(12));
    assert_eq!(page(&view).note.full(), "held 0:12 of 0:30");
    assert_eq!(large(&view).digits.full(), "9:00", "its end is known");
}

const DOUBTS: [(Quality, &str); 9] = [
    (Quality::Doubtful(Doubt::Settling), "probe settling"),
    (Quality::Doubtful(Doubt::Sudden(6.3)), "reading jumped, watching it"),
    (Quality::Doubtful(Doubt::Elsewhere), "reading jumped, watching it"),
    (Quality::Doubtful(Doubt::Noisy(1.4)), "reading unsteady: check the plug"),
    (Quality::Doubtful(Doubt::NeverMoved(Span::from_mins(14))), "has not moved since it went in"),
    (Quality::Doubtful(Doubt::TooHot), "hotter than the food can be: is the tip in it?"),
    (Quality::Doubtful(Doubt::Old(Span::from_secs(3))), "last reading 3 s ago"),
    (Quality::Bad(Fault::PulledOut(0.7)), "moves faster than food can: pulled out?"),
    (Quality::Bad(Fault::Stuck(Span::from_secs(61))), "stuck at one value"),
];

#[test]
fn a_doubtful_reading_is_marked_wherever_it_stands_and_its_page_says_why() {
    for (quality, why) in DOUBTS {
        let view = roast_in_doubt(quality, 1);
        let page = page(&view);
        assert!(page.doubtful, "{quality:?}");
        assert_eq!(facts(&page)[0], why);
        let board = board(&view);
        assert_eq!(board.cells[0].figures.short().full(), "57°?", "{quality:?}");
        let band = large(&view);
        assert_eq!(band.facts[0].full(), "57.1°?");
    }
    let sure = roast();
    assert!(!page(&sure).doubtful);
    assert_eq!(board(&sure).cells[0].figures.short().full(), "57°");
    assert_eq!(large(&sure).facts[0].full(), "57.1°");
}

#[test]
fn a_large_number_that_is_a_doubtful_reading_bears_the_mark() {
    let view = core_in_doubt(Quality::Doubtful(Doubt::Sudden(6.3)), 1);
    let band = large(&view);
    assert_eq!((band.digits.full(), band.doubtful), ("64°", true));
    let sure = core_in_doubt(Quality::Good, 1);
    assert_eq!((large(&sure).digits.full(), large(&sure).doubtful), ("63.7°", false));
}

/// The mark is a shape: it is seen on a panel without colours, and where the figures are the same.
#[test]
fn the_mark_of_a_doubtful_reading_is_a_shape_on_both_panels() {
    let (good, doubtful) = (Quality::Good, Quality::Doubtful(Doubt::Settling));
    let views = [good, doubtful].map(|quality| roast_in_doubt(quality, 1));
    let pages = views.each_ref().map(|view| Screen::Lane(page(view)));
    let boards = views.each_ref().map(|view| Screen::Board(board(view)));
    let differ = |[one, other]: [Vec<u8>; 2], wide: usize, [left, top, right, bottom]: [usize; 4]| {
        let grey = |at: usize, of: &[u8]| of[at * 3..at * 3 + 3].iter().map(|part| u32::from(*part)).sum::<u32>();
        let inside = |at: &usize| (left..right).contains(&(at % wide)) && (top..bottom).contains(&(at / wide));
        (0..one.len() / 3).filter(inside).filter(|at| grey(*at, &one).abs_diff(grey(*at, &other)) > 144).count()
    };
    // the digits of the page, and those of the first cell of the board
    let counts = [
        differ(pages.each_ref().map(on_colour), 320, [56, 30, 290, 102]),
        differ(boards.each_ref().map(on_colour), 320, [2, 174, 78, 212]),
        differ(pages.each_ref().map(on_mono), 128, [20, 10, 118, 27]),
        differ(boards.each_ref().map(on_mono), 128, [0, 53, 31, 64]),
    ];
    assert!(counts[0] >= 60 && counts[1] >= 60 && counts[2] >= 10 && counts[3] >= 10, "{counts:?}");
}

#[test]
fn a_reading_older_than_5_s_is_shown_with_its_age() {
    let at = |age| roast_in_doubt(Quality::Good, age);
    assert!(!page(&at(5)).doubtful);
    assert_eq!(board(&at(5)).cells[0].name.full(), "Oven");
    let old = at(6);
    assert!(page(&old).doubtful);
    assert_eq!(facts(&page(&old))[0], "last reading 6 s ago");
    assert_eq!((board(&old).cells[0].name.full(), board(&old).cells[0].figures.short().full()), ("6 s old", "57°?"));
    // another doubt does not hide it
    let both = roast_in_doubt(Quality::Doubtful(Doubt::Elsewhere), 8);
    assert_eq!(facts(&page(&both))[..2], ["reading jumped, watching it", "last reading 8 s ago"]);
}

#[test]
fn the_page_says_what_the_core_would_come_to() {
    assert_eq!(facts(&page(&roast())), ["If taken now: peak 62.1° in 8 min (60.4 to 64.0)", "to 63°, +1.2° a minute"]);
    assert_eq!(
        facts(&page_in(&roast(), &in_units(Units::Fahrenheit))),
        ["If taken now: peak 144° in 8 min (141 to 147)", "to 145°, +2.2° a minute"]
    );
    let mut untold = roast();
    loin(&mut untold).carry_over = None;
    assert_eq!(facts(&page(&untold)), ["to 63°, +1.2° a minute"]);
}

#[test]
fn food_that_may_come_to_its_target_in_the_rest_is_to_be_taken_earlier() {
    let page = page(&roast_to_rest(57.1));
    assert_eq!(page.note.full(), "about 4 min to 59.4° (3 to 6 min)", "the time is that of taking it");
    assert_eq!(facts(&page)[0], "Take at about 59.4°, comes to 63° in the rest");
    assert_eq!(large(&roast_to_rest(57.1)).label.full(), "To 63°: take out loin");
}

#[test]
fn the_call_to_take_food_early_says_what_it_comes_to() {
    let band = large(&called_to_take());
    assert_eq!((band.label.full(), full(&band.facts)), ("TAKE OUT loin", vec!["comes to 63° in the rest"]));
    // due by its target: the usual words
    let mut reached = called_to_take();
    loin(&mut reached).called = false;
    let band = large(&reached);
    assert_eq!((band.label.full(), band.facts.len(), band.digits.full()), ("TAKE OUT loin", 0, "59.4°"));
    let Band::Pair([called, _]) = board(&beside_due_curd(called_to_take())).band else { panic!("no pair") };
    assert_eq!(called.lines[1].full(), "comes to 63° in the rest");
}

#[test]
fn a_reading_at_its_target_says_what_it_counts_as_while_that_is_less() {
    let mut view = counts_as();
    assert_eq!(facts(&page(&view))[0], "Counts as 62.6° so far: the probe may be off");
    loin(&mut view).counted = Some(degrees(63.0));
    assert!(!facts(&page(&view))[0].starts_with("Counts"), "it counts now");
}

#[test]
fn a_rest_that_protects_goes_by_what_counts() {
    let mut view = rest_to_target(62.5);
    let rest = loin(&mut view);
    (rest.last, rest.peak) = (Some((degrees(63.3), NOW)), Some((degrees(63.3), NOW)));
    rest.counted = Some(degrees(62.7));
    assert_eq!((page(&view).digits.full(), page(&view).aside[0].full()), ("62.7°", "of 63°"));
    loin(&mut view).counted = Some(degrees(63.0));
    assert_eq!(page(&view).digits.full(), "8:20", "it came to it");
}

#[test]
fn a_shallow_tip_is_told_with_what_to_do() {
    assert_eq!(facts(&page(&shallow_tip()))[0], "Tip may sit too near the surface: push it to the middle");
    assert!(!facts(&page(&roast())).iter().any(|fact| fact.contains("surface")));
}

#[test]
fn a_rest_is_shown_against_what_was_said_of_it() {
    let view = rest(65.2, 65.8);
    let page = page(&view);
    assert_eq!((page.digits.full(), page.aside[0].full()), ("8:20", "core 65.2°"));
    assert_eq!(facts(&page), ["highest so far 65.8°, said 66.1° (64.9 to 67.5)"]);
    let cell = &board(&view).cells[0];
    assert_eq!((cell.figures.short().full(), cell.name.full()), ("8:20", "core 65°"));
    let fahrenheit = page_in(&view, &in_units(Units::Fahrenheit));
    assert_eq!(facts(&fahrenheit), ["highest so far 150°, said 151° (149 to 154)"]);
    let mut unsaid = rest(65.2, 65.8);
    loin(&mut unsaid).said = None;
    assert_eq!(facts(&self::page(&unsaid)), ["highest so far 65.8°"]);
}

#[test]
fn a_rest_shows_what_it_has_to_come_to_until_it_came_to_it() {
    let view = rest_to_target(62.98);
    let page = page(&view);
    assert_eq!((page.digits.full(), page.aside[0].full()), ("62.9°", "of 63°"), "not rounded up to it");
    assert_eq!(page.note.full(), "8:20 left, ends at 12:08");
    let cell = &board(&view).cells[0];
    assert_eq!((cell.figures.short().full(), cell.name.full()), ("62°", "of 63°"));
    // it came to it and cools again: its peak counts
    let mut came = rest_to_target(63.1);
    loin(&mut came).last = Some((degrees(62.5), NOW));
    assert_eq!(self::page(&came).digits.full(), "8:20");
    assert_eq!(board(&came).cells[0].name.full(), "core 63°");
}

#[test]
fn a_rest_that_ends_below_its_target_sends_the_food_back_on_the_heat() {
    let band = large(&rest_under(61.8, 7));
    assert_eq!((band.label.full(), full(&band.facts)), ("BACK ON HEAT loin", vec!["61.8°, under 63°"]));
    assert_eq!(band.digits.full(), "61°");
    assert_eq!(large(&rest_under(61.8, 135)).label.full(), "BACK ON HEAT loin", "late too");
    assert!(large(&rest_under_in_doubt()).doubtful);
    let Band::Pair([under, _]) = board(&beside_due_curd(rest_under(61.8, 7))).band else { panic!("no pair") };
    assert_eq!((under.lines[0].full(), under.lines[1].full()), ("BACK ON HEAT", "under 63°"));
    // it came to it: the usual words
    let band = large(&rest_under(63.2, 7));
    assert_eq!((band.label.full(), band.facts.len(), band.digits.full()), ("CHECK loin", 0, "+0:07"));
}

#[test]
fn a_probe_that_was_not_heard_of_in_a_rest_did_not_come_to_its_target() {
    let mut view = rest_under(61.8, 7);
    let loin = loin(&mut view);
    (loin.last, loin.peak, loin.quality) = (None, None, None);
    let band = large(&view);
    assert_eq!((band.label.full(), band.digits.full()), ("BACK ON HEAT loin", "--°"));
    assert_eq!(full(&band.facts), ["--°, under 63°"]);
}

#[test]
fn a_doubtful_reading_above_the_target_does_not_hide_that_it_was_not_reached() {
    let mut view = rest_under(61.8, 7);
    let loin = loin(&mut view);
    loin.last = Some((degrees(66.0), NOW));
    loin.quality = Some(Quality::Doubtful(Doubt::Sudden(4.2)));
    let band = large(&view);
    assert_eq!((band.label.full(), band.digits.full(), band.doubtful), ("BACK ON HEAT loin", "61°", true));
    assert_eq!(full(&band.facts), ["61.8°?, under 63°"]);
}

#[test]
fn only_an_alert_at_the_end_of_a_step_sends_food_back() {
    let mut view = rest_under(61.8, 7);
    let soon = AlertView { kind: trial::AlertKind::Window, ..view.alerts[0].clone() };
    view.alerts[0] = soon;
    assert_eq!(large(&view).label.full(), "CHECK loin");
}

#[test]
fn no_screen_calls_food_safe() {
    for language in Language::ALL {
        for state in gallery::all(language, Units::Celsius) {
            let said = format!("{:?}", state.screen).to_lowercase();
            let mut words = said.split(|letter: char| !letter.is_alphabetic());
            assert!(!words.any(|word| ["safe", "safely", "sicher"].contains(&word)), "{}", state.name);
        }
    }
}

fn on_colour(screen: &Screen) -> Vec<u8> {
    let mut frame = Frame::default();
    frame.render(screen, Phase::STILL);
    frame.to_rgb888()
}

fn on_mono(screen: &Screen) -> Vec<u8> {
    let mut frame = MonoFrame::default();
    screen.draw_mono(Phase::STILL, &mut frame).unwrap();
    frame.to_rgb888(1)
}

/// The page of the first lane at each of its turns, until they come round.
fn turns(view: &RunView, draw: impl Fn(&Screen) -> Vec<u8>) -> Vec<Vec<u8>> {
    let mut seen: Vec<Vec<u8>> = Vec::new();
    for turn in 0..20 {
        let mut page = page(view);
        let Middle::Words { page: shown, .. } = &mut page.middle else { panic!("a window") };
        *shown = turn;
        let picture = draw(&Screen::Lane(page));
        if seen.first() == Some(&picture) {
            break;
        }
        seen.push(picture);
    }
    seen
}

#[test]
fn facts_that_need_more_than_a_line_take_turns_with_the_instruction() {
    // what it would come to, its target, the caution and the instruction
    assert_eq!(turns(&roast(), on_colour).len(), 4);
    assert_eq!(turns(&roast(), on_mono).len(), 4);
}

#[test]
fn a_fact_alone_stays_while_the_instruction_takes_turns() {
    let view = withheld(24.3, Withheld::TooEarly);
    let part = |picture: &[u8], wide: usize, rows: std::ops::Range<usize>| {
        picture[rows.start * wide * 3..rows.end * wide * 3].to_vec()
    };
    for (pictures, wide, fact, below) in
        [(turns(&view, on_colour), 320, 130..152, 153..178), (turns(&view, on_mono), 128, 36..43, 44..52)]
    {
        assert!(pictures.len() > 2, "{} turns", pictures.len());
        for pair in pictures.windows(2) {
            assert_eq!(part(&pair[0], wide, fact.clone()), part(&pair[1], wide, fact.clone()));
            assert_ne!(part(&pair[0], wide, below.clone()), part(&pair[1], wide, below.clone()));
        }
    }
}
