use alloc::{string::String, vec::Vec};

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};
use words::Text;

use super::{
    FILLED, PLAIN, Paint, WIDE, buttons, header,
    letters::{self, Letters},
    sheet::{LIT, Line, Sheet},
    signs, turn_marks,
};
use crate::{
    canvas::Area,
    screen::{List, ListRow, RowSign, Saved, Starting, Tone},
};

/// Rows of a list that are shown at once.
const ROWS: usize = 3;
/// Height of one.
const ROW: i32 = 13;

pub(super) fn starting<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &Starting,
) -> Result<(), D::Error> {
    const SHOWN: usize = 4;
    // a lit line along each edge that has room shows a dead row or column
    sheet.fill(Area::new(0, 0, WIDE, 10), LIT)?;
    sheet.letters(Letters::Small, "tallyhob", Line::left(3, 0, 60), FILLED.ink)?;
    sheet.letters(Letters::Small, &page.version, Line::right(WIDE - 3, 0, 60), FILLED.ink)?;
    // what is not in order is always among those that have room
    let quiet = |row: &ListRow| matches!(row.sign, RowSign::Tick | RowSign::None);
    let loud = page.lines.iter().filter(|row| !quiet(row)).count();
    let mut room_for_quiet = SHOWN.saturating_sub(loud);
    let rows = page.lines.iter().filter(|row| {
        let shown = !quiet(row) || room_for_quiet > 0;
        room_for_quiet = room_for_quiet.saturating_sub(usize::from(quiet(row)));
        shown
    });
    for (i, row) in (0..).zip(rows.take(SHOWN)) {
        self::row(sheet, Area::new(0, 11 + i * 10, WIDE, 10), row, Letters::Small, PLAIN, false)?;
    }
    buttons(sheet, 53, &page.buttons)
}

pub(super) fn list<D: DrawTarget<Color = BinaryColor>>(sheet: &mut Sheet<'_, D>, page: &List) -> Result<(), D::Error> {
    header(sheet, &page.header)?;
    sheet.text(Letters::Small, &page.empty, Line::middle(64, 14, WIDE), LIT)?;
    let first = page.chosen.saturating_sub(ROWS / 2).min(page.rows.len().saturating_sub(ROWS));
    let shown: Vec<(usize, &ListRow)> = page.rows.iter().enumerate().skip(first).take(ROWS).collect();
    let more = page.rows.len() > ROWS;
    let wide = if more { WIDE - 4 } else { WIDE };
    // all rows in one size: the large one if every row has room for it
    let fits = |row: &ListRow| {
        let aside = Letters::Small.width(row.aside.least());
        indent(row) + Letters::Bold.width(row.text.full()) + if aside > 0 { aside + 5 } else { 0 } <= wide - 5
    };
    let size = if shown.iter().all(|(_, row)| fits(row)) { Letters::Bold } else { Letters::Small };
    // the row below an empty list is that of the settings, in the middle
    let top = if page.empty.is_empty() { 12 } else { 26 };
    for (i, (at, row)) in (0..).zip(shown) {
        let area = Area::new(0, top + i * ROW, wide, ROW);
        let chosen = at == page.chosen;
        let changing = chosen && page.changing;
        let paint = if chosen && !changing { FILLED } else { PLAIN };
        if paint == FILLED {
            sheet.fill(area, LIT)?;
        }
        self::row(sheet, area, row, size, paint, changing)?;
    }
    if more {
        // where these rows lie among all
        let (all, high) = (page.rows.len() as i32, ROW * ROWS as i32);
        let part = Area::new(WIDE - 2, 12 + first as i32 * high / all, 2, (high * ROWS as i32 / all).max(4));
        sheet.shape(Area::new(WIDE - 2, 12, 2, high), LIT, |x, y| x == 1 && y % 3 == 0)?;
        sheet.fill(part, LIT)?;
    }
    buttons(sheet, 53, &page.buttons)
}

/// What a sign in front of a row takes.
fn indent(row: &ListRow) -> i32 {
    if row.sign == RowSign::None { 2 } else { 12 }
}

fn row<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    row: &ListRow,
    size: Letters,
    paint: Paint,
    changing: bool,
) -> Result<(), D::Error> {
    let foot = area.y + (area.h + 7) / 2;
    signs::of_row(sheet, area.x + 2, foot - 7, row.sign, 1, paint.ink)?;
    let indent = indent(row);
    let marks = if changing { 16 } else { 0 };
    // as much of the aside as leaves the text whole; if not even the shortest does, half the row
    let beside = area.w - indent - size.width(row.text.full()) - 7;
    let least = Letters::Small.width(row.aside.least()) + marks;
    let most = if beside >= least { beside } else { area.w / 2 - 2 };
    let right = area.right() - 2 - marks / 2;
    let y = foot - Letters::Small.baseline();
    let shown = row.aside.fitting(|text| Letters::Small.width(text) <= most - marks);
    let aside = Letters::Small.width(shown);
    if changing {
        let value = Area::new(right - aside - marks / 2 - 2, area.y, aside + marks + 2, area.h);
        sheet.fill(value, LIT)?;
        turn_marks(sheet, value, FILLED.ink)?;
    }
    let ink = if changing { FILLED.ink } else { paint.ink };
    sheet.text(Letters::Small, &row.aside, Line::right(right, y, aside.max(most - marks)), ink)?;
    let room = area.w - indent - 2 - marks - if aside > 0 { aside + 5 } else { 0 };
    let line = Line::left(area.x + indent, foot - size.baseline() + i32::from(size == Letters::Bold), room);
    // a shorter way to say it is better than the beginning of a longer one
    let text = Text::from(String::from(row.text.fitting(|text| size.width(text) <= room)));
    sheet.cut_text(size, &text, line, paint.ink).map(|_| ())
}

/// A trial is over: where its record lies, and how long its last steps took.
pub(super) fn saved<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &Saved,
) -> Result<(), D::Error> {
    header(sheet, &page.header)?;
    let paint = if page.kept { PLAIN } else { FILLED };
    if !page.kept {
        sheet.fill(Area::new(0, 11, WIDE, 23), LIT)?;
    }
    let tone = if page.kept { Tone::Done } else { Tone::Overdue };
    signs::large_of_lane(sheet, 1, 13, tone, 2, paint.ink)?;
    sheet.large_text(&page.title, Line::left(21, 13, WIDE - 22), paint.ink)?;
    sheet.text(Letters::Small, &page.detail, Line::left(21, 24, WIDE - 22), paint.ink)?;
    let first = page.rows.len().saturating_sub(2);
    for (i, [name, ran, planned]) in (0..).zip(page.rows.iter().skip(first)) {
        times(sheet, 34 + i * 9, name, ran, planned)?;
    }
    buttons(sheet, 53, &page.buttons)
}

/// A step, how long it ran, and how long it was planned.
fn times<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    y: i32,
    name: &Text,
    ran: &Text,
    planned: &Text,
) -> Result<(), D::Error> {
    let alone = letters::known(planned.least());
    let planned = sheet.letters(Letters::Small, &alone, Line::right(WIDE, y, 40), LIT)?;
    let of = sheet.letters(Letters::Small, "/", Line::right(WIDE - planned - 2, y, 8), LIT)?;
    let right = WIDE - planned - of - 4;
    let ran = sheet.text(Letters::Small, ran, Line::right(right, y, 40), LIT)?;
    sheet.cut_text(Letters::Small, name, Line::left(0, y, right - ran - 4), LIT).map(|_| ())
}
