use alloc::string::String;

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};
use face::BitSize;
use words::Text;

use super::{
    FILLED, GAP, PLAIN, Paint, WIDE,
    letters::{self, Letters},
    number,
    sheet::{DARK, LIT, Line, Sheet, figures_width},
    signs,
};
use crate::{
    canvas::Area,
    number::DOUBT,
    screen::{Band, Board, Large, PairRow, ProbeLost, Question, Tone},
};

const BAND: Area = Area::new(0, 0, WIDE, 41);
const BADGE: Area = Area::new(0, 3, 20, 35);
/// Where the figures of the band stand.
const BASELINE: i32 = 39;
/// Width of the hatch; what stands at the left edge moves right by it.
const HATCH: i32 = 5;

pub(super) fn draw<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    board: &Board,
    flash: bool,
) -> Result<(), D::Error> {
    match &board.band {
        Band::Idle(text) => idle(sheet, board, text),
        Band::Large(large) => self::large(sheet, large, &board.notice, flash),
        Band::Question(question) => self::question(sheet, question, flash),
        Band::ProbeLost(lost) => probe_lost(sheet, lost, flash),
        Band::Pair([upper, lower]) => {
            row(sheet, upper, 0, flash)?;
            row(sheet, lower, 21, flash)
        }
    }
}

fn idle<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    board: &Board,
    text: &Text,
) -> Result<(), D::Error> {
    let above = if board.notice.is_empty() { &board.header.right } else { &board.notice };
    sheet.text(Letters::Small, above, Line::middle(64, 0, WIDE), LIT)?;
    words(sheet, text, Line::middle(64, 13, WIDE - 2), PLAIN.ink)
}

/// Two lines in bold letters, or as many small ones as there is room for.
fn words<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    text: &Text,
    at: Line,
    ink: BinaryColor,
) -> Result<(), D::Error> {
    let bold = |count, y| (Letters::Bold, Line { y: at.y + y, ..at }, 14, count);
    let small = |count, y| (Letters::Small, Line { y: at.y + y, ..at }, 10, count);
    for (size, at, step, count) in [bold(1, 7), bold(2, 1), small(2, 4), small(3, 0)] {
        if sheet.lines(size, text, at, step, count, ink)? {
            return Ok(());
        }
    }
    sheet.too_wide.push(text.full().into());
    let mut lines = letters::flowed(Letters::Small, text.full(), at.room);
    lines.truncate(3);
    sheet.all_lines(Letters::Small, &lines, at, 10, ink)
}

/// Text and ground of what stands in the band or a row of it.
pub(super) fn paint_of(tone: Tone) -> Paint {
    if tone.is_filled() { FILLED } else { PLAIN }
}

fn large<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    large: &Large,
    notice: &Text,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(large.tone);
    let phase = flash && large.sounding;
    if paint == FILLED {
        sheet.fill(BAND, LIT)?;
    }
    let (shift, right) = if large.tone == Tone::Overdue {
        hatch(sheet, Area::new(0, 0, HATCH, BAND.h), phase)?;
        (HATCH + 1, WIDE)
    } else if large.tone == Tone::Window {
        bracket(sheet, BAND)?;
        // the last figure's own margin keeps it off the bracket
        (4, WIDE - 2)
    } else {
        (i32::from(large.tone == Tone::Due), WIDE)
    };
    let badge_area = Area::new(BADGE.x + shift, BADGE.y, BADGE.w, BADGE.h);
    badge(sheet, badge_area, large.lane, paint.reversed(), phase)?;

    let from = badge_area.right() + 3;
    let room = right - badge_area.right() - 1;
    let mark = if large.doubtful { doubt(sheet, right, BASELINE, paint.ink)? } else { 0 };
    let at = Line::right(right - mark, BASELINE, room - mark);
    let digits = mark + sheet.figures(BitSize::Band, &large.digits, at, paint.ink)?;
    // beside short figures there is room for a few letters in two or three lines
    // the first figure has a margin of its own
    let beside = Line::left(from - 1, 11, right - digits - from + 2);
    // the arms of the brackets take the corners
    let end = if large.tone == Tone::Window { WIDE - 8 } else { WIDE - 1 };
    let line = Line::left(from, 0, end - from);
    if facts(sheet, &large.facts, Line { room: beside.room - 3, ..beside }, paint.ink)? {
        return if notice.is_empty() {
            sheet.text(Letters::Small, &large.label, line, paint.ink).map(|_| ())
        } else if large.tone.asks() {
            label_and_knob(sheet, &large.label, notice, line, paint.ink)
        } else {
            both(sheet, &large.label, notice, line, paint.ink)
        };
    }
    // what the line at the top of a larger panel says comes first, then the word under the label
    if !notice.is_empty() && large.tone.asks() {
        // the knob in a place of its own leaves the line to what is asked
        let lines = notice.lengths().find_map(|text| letters::broken(Letters::Small, text, beside.room, 2));
        if let Some(lines) = lines.filter(|_| fitting_line(&large.label, line.room)) {
            sheet.all_lines(Letters::Small, &lines, beside, 9, paint.ink)?;
            signs::knob(sheet, beside.x, beside.y + 9 * lines.len() as i32 + 2, paint.ink)?;
            return sheet.text(Letters::Small, &large.label, line, paint.ink).map(|_| ());
        }
        return label_and_knob(sheet, &large.label, notice, line, paint.ink);
    }
    if !notice.is_empty() {
        if sheet.lines(Letters::Small, notice, beside, 9, 3, paint.ink)? {
            return sheet.text(Letters::Small, &large.label, line, paint.ink).map(|_| ());
        }
        return both(sheet, &large.label, notice, line, paint.ink);
    }
    sheet.text(Letters::Small, &large.label, line, paint.ink)?;
    if fitting_line(&large.note, beside.room - 3) {
        sheet.text(Letters::Small, &large.note, Line { y: 12, ..beside }, paint.ink)?;
    }
    Ok(())
}

/// Whether a length of a text fits in one line.
fn fitting_line(text: &Text, room: i32) -> bool {
    text.lengths().any(|text| Letters::Small.width(text) <= room)
}

/// The mark behind a reading that may be wrong, with its right end here; gives the room it takes.
fn doubt<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    right: i32,
    baseline: i32,
    ink: BinaryColor,
) -> Result<i32, D::Error> {
    let top = baseline - Letters::Bold.baseline();
    sheet.letters(Letters::Bold, DOUBT, Line::right(right, top, WIDE), ink).map(|wide| wide + 1)
}

/// What is known beside the figures, in three lines; what has no room there is left out. Says whether anything is shown.
fn facts<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    facts: &[Text],
    at: Line,
    ink: BinaryColor,
) -> Result<bool, D::Error> {
    const LINES: usize = 3;
    const STEP: i32 = 9;
    let mut taken = 0;
    for (i, fact) in facts.iter().enumerate() {
        // a line is kept for each that comes after
        let most = LINES.saturating_sub(taken + facts.len() - 1 - i);
        let found = fact.lengths().find_map(|text| letters::broken(Letters::Small, text, at.room, most));
        let Some(lines) = found else { continue };
        sheet.all_lines(Letters::Small, &lines, Line { y: at.y + taken as i32 * STEP, ..at }, STEP, ink)?;
        taken += lines.len();
    }
    Ok(taken > 0)
}

/// The label, and at the right end of the line what the knob does: as much of the label as the shortest word for the knob
/// leaves room for, then as much of that word as there still is.
fn label_and_knob<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    label: &Text,
    knob: &Text,
    at: Line,
    ink: BinaryColor,
) -> Result<(), D::Error> {
    let least = knob_width(knob.least());
    let left = at.room - least - GAP / 2;
    if !fitting_line(label, left) {
        // the verb is worth more than what the knob does
        sheet.too_wide.push(knob.least().into());
        return sheet.text(Letters::Small, label, at, ink).map(|_| ());
    }
    let taken = sheet.text(Letters::Small, label, Line { room: left, ..at }, ink)?;
    let right = at.x + at.room;
    let room = at.room - taken - GAP / 2;
    let shown = String::from(knob.fitting(|text| knob_width(text) <= room));
    let wide = knob_width(&shown);
    signs::knob(sheet, right - wide, 1, ink)?;
    let words = Line::left(right - wide + signs::SIDE + 2, 0, room);
    sheet.letters(Letters::Small, &letters::known(&shown), words, ink).map(|_| ())
}

fn knob_width(text: &str) -> i32 {
    signs::SIDE + 2 + Letters::Small.width(text)
}

/// A notice that has no other place, with as much of the label as it leaves.
fn both<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    label: &Text,
    notice: &Text,
    at: Line,
    ink: BinaryColor,
) -> Result<(), D::Error> {
    let right = Line::right(at.x + at.room, at.y, at.room);
    let taken = sheet.text(Letters::Small, notice, right, ink)?;
    let left = at.room - taken - GAP;
    if fitting_line(label, left) {
        sheet.text(Letters::Small, label, Line { room: left, ..at }, ink).map(|_| ())
    } else {
        Ok(())
    }
}

fn question<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    question: &Question,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(Tone::Question);
    sheet.fill(BAND, LIT)?;
    let area = Area { x: 1, ..BADGE };
    badge(sheet, area, question.lane, paint.reversed(), flash && question.sounding)?;
    let from = area.right() + 3;
    words(sheet, &question.text, Line::left(from, 0, WIDE - from), paint.ink)?;
    knob_line(sheet, &question.no, from, paint.ink)
}

/// What the knob does, on the last line of the band.
fn knob_line<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    text: &Text,
    from: i32,
    ink: BinaryColor,
) -> Result<(), D::Error> {
    let words_from = from + signs::SIDE + 3;
    let text = text.map(|text| text.replace("  ", ": "));
    signs::knob(sheet, from, 32, ink)?;
    sheet.text(Letters::Small, &text, Line::left(words_from, 31, WIDE - words_from), ink).map(|_| ())
}

fn probe_lost<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    lost: &ProbeLost,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(Tone::Lost);
    sheet.fill(BAND, LIT)?;
    broken_line(sheet, Area::new(0, 0, WIDE, 2), paint.ink)?;
    let area = Area { x: 1, ..BADGE };
    badge(sheet, area, lost.lane, paint.reversed(), flash && lost.sounding)?;
    let from = area.right() + 3;
    sheet.large_text(&lost.title, Line::left(from, 7, WIDE - from), paint.ink)?;
    sheet.text(Letters::Small, &lost.detail, Line::left(from, 19, WIDE - from), paint.ink)?;
    knob_line(sheet, &lost.offer, from, paint.ink)
}

fn row<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    row: &PairRow,
    top: i32,
    flash: bool,
) -> Result<(), D::Error> {
    const HIGH: i32 = 20;
    let paint = paint_of(row.tone);
    let phase = flash && row.sounding;
    if paint == FILLED {
        sheet.fill(Area::new(0, top, WIDE, HIGH), LIT)?;
    }
    let shift = if row.tone == Tone::Overdue {
        hatch(sheet, Area::new(0, top, 4, HIGH), phase)?;
        6
    } else if row.tone == Tone::Window {
        bracket(sheet, Area::new(0, top, WIDE, HIGH))?;
        4
    } else {
        1
    };
    if row.tone == Tone::Lost {
        broken_line(sheet, Area::new(0, top, WIDE, 2), paint.ink)?;
    }
    let right = if row.tone == Tone::Window { WIDE - 5 } else { WIDE - 1 };
    let area = Area::new(shift, top + 2, 13, HIGH - 3);
    let fill = paint.reversed();
    let shown = if phase { fill.reversed() } else { fill };
    sheet.fill(area, fill.ground)?;
    sheet.fill(area.inset(1), shown.ground)?;
    figure(sheet, BitSize::Row, row.lane, area, shown.ink)?;

    let from = area.right() + 3;
    let digits = figures_width(BitSize::Row, &row.digits, 70).unwrap_or(0);
    sheet.figures(BitSize::Row, &row.digits, Line::right(right, top + 18, 70), paint.ink)?;
    let room = right - digits - 2 - from;
    let [verb, about] = &row.lines;
    let top = if row.tone == Tone::Lost { top + 1 } else { top };
    sheet.text(Letters::Small, verb, Line::left(from, top, room), paint.ink)?;
    // the lane says enough: the name of its food may be cut
    let about = Text::from(String::from(about.fitting(|text| Letters::Small.width(text) <= room)));
    sheet.cut_text(Letters::Small, &about, Line::left(from, top + 10, room), paint.ink).map(|_| ())
}

/// The lane's number. In the other flash phase its two colours change places, inside a frame that stays.
pub(super) fn badge<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    lane: u8,
    fill: Paint,
    phase: bool,
) -> Result<(), D::Error> {
    let shown = if phase { fill.reversed() } else { fill };
    sheet.fill(area, fill.ground)?;
    sheet.fill(area.inset(2), shown.ground)?;
    let size = if area.h > 32 { BitSize::Band } else { BitSize::Page };
    figure(sheet, size, lane, area, shown.ink)
}

/// One figure in the middle of an area, by its ink.
fn figure<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    size: BitSize,
    lane: u8,
    area: Area,
    ink: BinaryColor,
) -> Result<(), D::Error> {
    let text = number(lane);
    let columns = text.chars().filter_map(|letter| size.glyph(letter)).flat_map(|glyph| glyph.inked()).map(|(x, _)| x);
    let (first, last) = columns.fold((i32::MAX, 0), |(first, last), x| (first.min(x), last.max(x)));
    if first > last {
        return Ok(());
    }
    let x = area.x + (area.w - (last - first + 1)) / 2 - first;
    let baseline = area.y + (area.h + size.capital() as i32) / 2;
    sheet.figures(size, &text.into(), Line::left(x, baseline, WIDE), ink).map(|_| ())
}

/// Stripes of 4 px; the other flash phase moves them by half.
pub(super) fn hatch<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    phase: bool,
) -> Result<(), D::Error> {
    sheet.fill(area, DARK)?;
    let start = if phase { 4 } else { 0 };
    sheet.shape(area, LIT, |x, y| (x + y + start) / 4 % 2 == 0)
}

/// A broken line: what a lost signal looks like.
pub(super) fn broken_line<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    ink: BinaryColor,
) -> Result<(), D::Error> {
    sheet.shape(area, ink, |x, _| x % 8 < 5)
}

/// Square brackets at both ends of an area.
pub(super) fn bracket<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
) -> Result<(), D::Error> {
    let (wide, arm) = if area.w < 64 { (2, 6) } else { (3, 8) };
    sheet.shape(area, LIT, |x, y| {
        let from_end = x.min(area.w - 1 - x);
        from_end < wide || (from_end < arm && y.min(area.h - 1 - y) < 2)
    })
}
