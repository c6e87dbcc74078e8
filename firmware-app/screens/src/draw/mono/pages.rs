use alloc::string::String;

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};
use face::BitSize;
use words::Text;

use super::{
    FILLED, GAP, PLAIN, WIDE, band, buttons, callers, cells,
    letters::{self, Letters},
    sheet::{DARK, LIT, Line, Sheet},
    signs, turns,
};
use crate::{
    canvas::Area,
    number::DOUBT,
    screen::{Keep, LanePage, Middle, Moved, MovedWay, ProbeCheck, ProbeCheckState, Resume, Tone, WindowBar},
};

/// One lane. The first line names it and the lanes that need the cook meanwhile.
pub(super) fn lane<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &LanePage,
    flash: bool,
) -> Result<(), D::Error> {
    const LEFT: i32 = 21;
    let room = callers(sheet, &page.strip, Some(page.lane), flash)?;
    // which step of how many gives way to the name
    let right = if room < WIDE { 0 } else { Letters::Small.width(page.header.right.least()) };
    let taken = if right > 0 { right + GAP } else { 0 };
    if right > 0 {
        let least = letters::known(page.header.right.least());
        sheet.letters(Letters::Small, &least, Line::right(WIDE, 0, right), LIT)?;
    }
    sheet.cut_text(Letters::Small, &page.header.left, Line::left(LEFT, 0, room - LEFT - taken), LIT)?;
    band::badge(sheet, Area::new(0, 0, 18, 26), page.lane, FILLED, false)?;

    let mut digits = sheet.figures(BitSize::Row, &page.digits, Line::left(LEFT, 26, 70), LIT)?;
    if page.doubtful {
        let mark = Line::left(LEFT + digits + 1, 26 - Letters::Bold.baseline(), WIDE);
        digits += 1 + sheet.letters(Letters::Bold, DOUBT, mark, LIT)?;
    }
    signs::of_lane(sheet, WIDE - 9, 10, page.tone, LIT)?;
    let from = LEFT + digits + 5;
    let beside = Line::left(from, 10, WIDE - from - 12);
    sheet.text(Letters::Small, &page.aside[0], beside, LIT)?;
    sheet.text(Letters::Small, &page.aside[1], Line { y: 18, room: WIDE - from, ..beside }, LIT)?;

    sheet.text(Letters::Small, &page.note, Line::left(0, 26, WIDE), LIT)?;
    match &page.middle {
        Middle::Window(bar) => window_bar(sheet, bar)?,
        Middle::Words { facts, rest, page } => turns::draw(sheet, facts, rest, *page)?,
    }
    buttons(sheet, 53, &page.buttons)
}

/// The line of time: the window as a box, the next look in it, and where it stands as a triangle over it.
fn window_bar<D: DrawTarget<Color = BinaryColor>>(sheet: &mut Sheet<'_, D>, bar: &WindowBar) -> Result<(), D::Error> {
    let place = |thousandths: u16| 2 + i32::from(thousandths.min(1000)) * (WIDE - 5) / 1000;
    sheet.fill(Area::new(0, 40, WIDE, 1), LIT)?;
    let (opens, closes) = (place(bar.opens), place(bar.closes));
    let window = Area::new(opens, 38, (closes - opens).max(3) + 1, 5);
    sheet.fill(window, DARK)?;
    sheet.frame(window, 1, LIT)?;
    if let Some(look) = bar.look {
        sheet.fill(Area::new(place(look), 38, 1, 5), LIT)?;
    }
    let now = place(bar.now);
    sheet.shape(Area::new(now - 3, 35, 7, 4), LIT, |x, y| (x - 3).abs() <= 3 - y)?;
    // how long it has run is left out where the window's own words need the line: the mark shows it
    let words = Letters::Small.width(bar.window_text.full());
    let room = WIDE - words - GAP;
    let now_words = if bar.now_text.lengths().any(|text| Letters::Small.width(text) <= room) {
        sheet.text(Letters::Small, &bar.now_text, Line::left(0, 43, room), LIT)? + GAP
    } else {
        0
    };
    sheet.text(Letters::Small, &bar.window_text, Line::right(WIDE, 43, WIDE - now_words), LIT).map(|_| ())
}

pub(super) fn keep<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &Keep,
    flash: bool,
) -> Result<(), D::Error> {
    const CLICKS: i32 = 3;
    const TOP: i32 = 25;
    const HIGH: i32 = 13;
    let room = callers(sheet, &page.strip, None, flash)?;
    sheet.text(Letters::Small, &page.question[0], Line::left(0, 0, room), LIT)?;
    sheet.large_text(&page.question[1], Line::left(0, 13, WIDE), LIT)?;
    // from what is kept on the left to the word on the right; what is chosen is filled
    let clicks = i32::from(page.clicks).min(CLICKS);
    let reached = clicks == CLICKS;
    let needs = |text: &Text| Letters::Small.width(text.full()) + 6;
    let (left, right) = (needs(&page.keep), needs(&page.word));
    let areas = [Area::new(0, TOP, left, HIGH), Area::new(WIDE - right, TOP, right, HIGH)];
    for (area, text, chosen) in [(areas[0], &page.keep, !reached), (areas[1], &page.word, reached)] {
        if chosen {
            sheet.fill(area, LIT)?;
        } else {
            sheet.frame(area, 1, LIT)?;
        }
        let ink = if chosen { FILLED.ink } else { PLAIN.ink };
        sheet.text(Letters::Small, text, Line::middle(area.middle() + 1, TOP + 2, area.w), ink)?;
    }
    let (from, to) = (areas[0].right() + 2, areas[1].x - 2);
    let step = (to - from) / CLICKS;
    for click in 0..CLICKS {
        let area = Area::new(from + click * step + (to - from - step * CLICKS) / 2, TOP + 3, (step - 2).max(3), 7);
        if click < clicks { sheet.fill(area, LIT)? } else { sheet.frame(area, 1, LIT)? }
    }
    sheet.text(Letters::Small, &page.hint, Line::middle(64, 41, WIDE), LIT)?;
    sheet.text(Letters::Small, &page.header.left, Line::middle(64, 53, WIDE), LIT).map(|_| ())
}

/// After a power cut: how long it was dark, and the question that the cells repeat.
pub(super) fn resume<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &Resume,
    flash: bool,
) -> Result<(), D::Error> {
    let dark: Text = page.dark.clone().into();
    let digits = sheet.figures(BitSize::Row, &dark, Line::left(0, 17, 70), LIT)?;
    let from = if digits > 0 { digits + 4 } else { 0 };
    let beside = Line::left(from, 0, WIDE - from);
    if !sheet.lines(Letters::Small, &page.lines[0], beside, 9, 2, LIT)? {
        sheet.text(Letters::Small, &page.lines[0], beside, LIT)?;
    }
    sheet.large_text(&page.lines[1], Line::left(0, 20, WIDE), LIT)?;
    buttons(sheet, 30, &page.buttons)?;
    page.cells.iter().try_for_each(|cell| cells::draw(sheet, cell, flash))
}

/// The plan has moved: which way, the old end and the new one, and what moves with it.
pub(super) fn moved<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &Moved,
    flash: bool,
) -> Result<(), D::Error> {
    let room = callers(sheet, &page.strip, None, flash)?;
    let fill = match page.way {
        MovedWay::CannotFit => {
            sheet.fill(Area::new(0, 0, room, 13), LIT)?;
            FILLED
        }
        MovedWay::Late | MovedWay::Early => PLAIN,
    };
    signs::of_way(sheet, 1, 3, page.way, fill.ink)?;
    sheet.large_text(&page.title, Line::left(12, 3, room - 13), fill.ink)?;
    let [was, now] = &page.times;
    let [why, remedy] = &page.reason;
    let rows = if !why.is_empty() {
        sheet.text(Letters::Small, why, Line::left(0, 14, WIDE), LIT)?;
        sheet.text(Letters::Small, remedy, Line::left(0, 23, WIDE), LIT)?;
        33
    } else if now.is_empty() {
        16
    } else {
        let old = sheet.text(Letters::Small, was, Line::left(2, 20, 40), LIT)?;
        sheet.fill(Area::new(0, 24, old + 4, 1), LIT)?;
        sheet.letters(Letters::Small, "→", Line::left(old + 10, 20, 10), LIT)?;
        sheet.figures(BitSize::Row, now, Line::left(old + 23, 31, 70), LIT)?;
        33
    };
    for (i, [what, when]) in (0..).zip(page.rows.iter().take(((51 - rows) / 9) as usize)) {
        let y = rows + i * 9;
        // beside a long name only the new time has room
        let both = Letters::Small.width(what.full()) + GAP + Letters::Small.width(when.full()) <= WIDE;
        let new = when.full().find('→').filter(|_| !both).map_or(when.full(), |arrow| &when.full()[arrow..]);
        let new = letters::known(new);
        let wide = sheet.letters(Letters::Small, &new, Line::right(WIDE, y, WIDE), LIT)?;
        sheet.cut_text(Letters::Small, what, Line::left(0, y, WIDE - wide - 4), LIT)?;
    }
    buttons(sheet, 53, &page.buttons)
}

/// The check of a probe. The code of light and dark holds here too: plain while it settles, brackets when it may be saved,
/// filled when something is wrong.
pub(super) fn probe_check<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &ProbeCheck,
) -> Result<(), D::Error> {
    const PLACE: Area = Area::new(0, 11, WIDE, 41);
    // what it hangs in comes first: the probe's name gives way
    let name = Letters::Small.width(page.header.left.least());
    let room = (WIDE - GAP - name).max(Letters::Small.width(page.bath.least()));
    let bath = sheet.text(Letters::Small, &page.bath, Line::right(WIDE, 0, room), LIT)?;
    let room = WIDE - bath - GAP;
    let name = page.header.left.fitting(|text| Letters::Small.width(text) <= room);
    sheet.cut_text(Letters::Small, &Text::from(String::from(name)), Line::left(0, 0, room), LIT)?;
    let paint = match page.state {
        ProbeCheckState::TooFar | ProbeCheckState::NoSignal => FILLED,
        ProbeCheckState::Settling(_) | ProbeCheckState::Steady | ProbeCheckState::Saved => PLAIN,
    };
    if paint == FILLED {
        sheet.fill(PLACE, LIT)?;
    }
    let (x, y) = (WIDE - 22, PLACE.y + 10);
    let digits = sheet.figures(BitSize::Band, &page.digits, Line::left(6, PLACE.y + 31, 98), paint.ink)?;
    match page.state {
        ProbeCheckState::Settling(gone) => {
            let from = digits + 12;
            let bar = Area::new(from, PLACE.y + 14, WIDE - 2 - from, 9);
            sheet.frame(bar, 1, LIT)?;
            let inside = bar.inset(2);
            sheet.fill(Area::new(inside.x, inside.y, inside.w * i32::from(gone.min(1000)) / 1000, inside.h), LIT)?;
        }
        ProbeCheckState::Steady => band::bracket(sheet, PLACE)?,
        ProbeCheckState::TooFar => signs::large_of_lane(sheet, x, y, Tone::Overdue, 2, paint.ink)?,
        ProbeCheckState::Saved => signs::large_of_lane(sheet, x, y, Tone::Done, 2, paint.ink)?,
        ProbeCheckState::NoSignal => {
            band::broken_line(sheet, Area::new(0, PLACE.y, WIDE, 2), paint.ink)?;
            signs::large_of_lane(sheet, x, y, Tone::Lost, 2, paint.ink)?;
        }
    }
    sheet.text(Letters::Small, &page.note, Line::left(6, PLACE.y + 31, WIDE - 11), paint.ink)?;
    buttons(sheet, 53, &page.buttons)
}
