use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;

use super::{ON_BLACK, ON_WHITE, QUIET, band, buttons, cells, header};
use crate::{
    canvas::{Area, Canvas, Paint, Place, within},
    colour::{BLACK, GREEN, GREY, LINE, WHITE, YELLOW},
    screen::{Keep, LanePage, List, ListRow, Middle, Resume, RowSign, Saved, Starting, Tone, WindowBar},
    sign,
};

/// Height of a row of a list.
const ROW: i32 = 35;
/// Rows that are shown at once.
const ROWS: usize = 5;

pub(super) fn starting<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &Starting,
) -> Result<(), D::Error> {
    // all pixels: a bright frame and bars of each colour show a dead row, column or channel
    canvas.framed(Area::new(0, 0, 320, 240), 1, 2, ON_BLACK, BLACK)?;
    for (i, colour) in (0..).zip([WHITE, YELLOW, crate::colour::SKY, GREEN, crate::colour::VERMILION]) {
        canvas.fill(Area::new(12 + i * 60, 12, 56, 10), colour)?;
    }
    canvas.text(TextSize::Question, "tallyhob", Place::left(12, 62, 180), ON_BLACK)?;
    canvas.text(TextSize::S, &page.version, Place::right(308, 62, 110), QUIET)?;
    for (i, row) in (0..).zip(page.lines.iter().take(5)) {
        self::row(canvas, Area::new(8, 76 + i * 31, 304, 31), row, ON_BLACK)?;
    }
    Ok(())
}

pub(super) fn list<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, page: &List) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    if page.rows.is_empty() {
        canvas.text(TextSize::M, page.empty, Place::middle(160, 115, 308), QUIET)?;
    }
    let first = page.chosen.saturating_sub(ROWS / 2).min(page.rows.len().saturating_sub(ROWS));
    for (i, (at, row)) in (0..).zip(page.rows.iter().enumerate().skip(first).take(ROWS)) {
        let area = Area::new(4, 29 + i * ROW, 312, ROW - 2);
        let chosen = at == page.chosen;
        if chosen {
            canvas.rounded(area, 4, ON_BLACK)?;
        }
        self::row(canvas, area, row, if chosen { ON_WHITE } else { ON_BLACK })?;
    }
    // more rows above or below
    let more = page.rows.len() > ROWS;
    if more {
        let (all, high) = (page.rows.len() as i32, ROW * ROWS as i32 - 4);
        let (top, length) = (first as i32 * high / all, high * ROWS as i32 / all);
        canvas.fill(Area::new(318, 29 + top, 2, length), GREY)?;
    }
    buttons(canvas, 209, 28, &page.buttons)
}

fn row<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    row: &ListRow,
    paint: Paint,
) -> Result<(), D::Error> {
    let baseline = area.y + (area.h + 20) / 2;
    let aside = face::width(TextSize::S, &row.aside) as i32;
    let indent = if row.sign == RowSign::None { 8 } else { 34 };
    sign::of_row(canvas, area.x + 7, area.y + (area.h - sign::SIDE) / 2, row.sign, paint)?;
    let room = area.w - indent - 8 - if aside > 0 { aside + 8 } else { 0 };
    canvas.cut_text(TextSize::M, &row.text, Place::left(area.x + indent, baseline, room), paint)?;
    canvas.text(TextSize::S, &row.aside, Place::right(area.right() - 8, baseline, 170), paint)
}

pub(super) fn lane<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &LanePage,
    flash: bool,
) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    let badge = Area::new(4, 31, 46, 70);
    canvas.rounded(badge, 6, ON_BLACK)?;
    canvas.text(TextSize::Xl, band::number(page.lane), Place::middle(badge.middle(), 80, 46), ON_WHITE)?;
    for dot in 0..4 {
        let place = Area::new(badge.x + 3 + dot * 10, badge.bottom() - 15, 10, 10);
        let filled = dot < i32::from(page.lane);
        canvas.shape(place, ON_WHITE, |x, y| {
            within(x - 5.0, y - 5.0, 4.2) && (filled || !within(x - 5.0, y - 5.0, 2.8))
        })?;
    }

    let aside = page.aside.iter().map(|text| face::width(TextSize::S, text) as i32).max().unwrap_or(0);
    let room = 316 - 56 - if aside > 0 { aside + 8 } else { 0 };
    let fits = |size: &TextSize| face::width(*size, &page.digits) as i32 <= room;
    let size = [TextSize::Badge, TextSize::Xl].into_iter().find(fits).unwrap_or(TextSize::L);
    canvas.text(size, &page.digits, Place::left(56, 99, room), ON_BLACK)?;
    for (line, baseline) in page.aside.iter().zip([50, 75]) {
        canvas.text(TextSize::S, line, Place::right(316, baseline, 150), ON_BLACK)?;
    }
    sign::of_lane(canvas, 292, 82, page.tone, ON_BLACK)?;
    canvas.text(TextSize::S, &page.note, Place::left(6, 123, 308), ON_BLACK)?;
    match &page.middle {
        Middle::Window(bar) => window_bar(canvas, bar)?,
        Middle::Words(lines) => {
            for (line, baseline) in lines.iter().zip([147, 170]) {
                canvas.cut_text(TextSize::S, line, Place::left(6, baseline, 308), QUIET)?;
            }
        }
    }
    buttons(canvas, 179, 27, &page.buttons)?;
    cells::strip(canvas, &page.strip, flash)
}

/// The line of time: what is over, the window, the next look, and where it stands.
fn window_bar<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, bar: &WindowBar) -> Result<(), D::Error> {
    let place = |thousandths: u16| 10 + i32::from(thousandths.min(1000)) * 300 / 1000;
    canvas.fill(Area::new(10, 143, 300, 2), GREY)?;
    let (opens, closes) = (place(bar.opens), place(bar.closes));
    let window = Area::new(opens, 137, (closes - opens).max(4), 14);
    canvas.fill(window, WHITE)?;
    canvas.fill(window.inset(1), GREEN)?;
    if let Some(look) = bar.look {
        canvas.fill(Area::new(place(look) - 1, 135, 3, 18), WHITE)?;
    }
    // the mark of where it stands hangs over the line
    let now = place(bar.now);
    canvas.shape(Area::new(now - 8, 128, 16, 11), ON_BLACK, |x, y| (x - 8.0).abs() <= (10.5 - y) * 0.7)?;

    let now_wide = face::width(TextSize::S, &bar.now_text) as i32;
    let window_wide = face::width(TextSize::S, &bar.window_text) as i32;
    canvas.text(TextSize::S, &bar.now_text, Place::left(6, 173, now_wide), QUIET)?;
    let left =
        ((opens + closes) / 2 - window_wide / 2).clamp(6 + now_wide + 10, (314 - window_wide).max(6 + now_wide + 10));
    canvas.text(TextSize::S, &bar.window_text, Place::left(left, 173, 316 - left), ON_BLACK)
}

pub(super) fn keep<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &Keep,
    flash: bool,
) -> Result<(), D::Error> {
    const CLICKS: i32 = 3;
    header(canvas, &page.header)?;
    canvas.text(TextSize::M, &page.question[0], Place::left(10, 54, 300), QUIET)?;
    canvas.text(TextSize::Question, &page.question[1], Place::left(10, 92, 300), ON_BLACK)?;
    // from KEEP on the left to the word on the right; what is chosen is filled
    let clicks = i32::from(page.clicks).min(CLICKS);
    let reached = clicks == CLICKS;
    for (area, text, chosen) in
        [(Area::new(8, 118, 100, 40), "KEEP", !reached), (Area::new(212, 118, 100, 40), page.word, reached)]
    {
        let at = Place::middle(area.middle(), 148, area.w - 6);
        if chosen {
            canvas.rounded(area, 5, ON_BLACK)?;
            canvas.text(TextSize::M, text, at, ON_WHITE)?;
        } else {
            canvas.framed(area, 5, 1, ON_BLACK, BLACK)?;
            canvas.text(TextSize::M, text, at, ON_BLACK)?;
        }
    }
    for click in 0..CLICKS {
        let area = Area::new(114 + click * 31, 130, 28, 16);
        canvas.framed(area, 4, 2, ON_BLACK, if click < clicks { WHITE } else { BLACK })?;
    }
    let hint = if reached { "Push the knob" } else { "Turn right 3 clicks, or push to keep" };
    canvas.text(TextSize::S, hint, Place::middle(160, 190, 308), QUIET)?;
    cells::strip(canvas, &page.strip, flash)
}

pub(super) fn resume<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &Resume,
    flash: bool,
) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    let digits = face::width(TextSize::Xl, &page.dark) as i32;
    canvas.text(TextSize::Xl, &page.dark, Place::left(6, 87, 180), ON_BLACK)?;
    let from = 6 + digits + 10;
    canvas.text(TextSize::S, &page.lines[0], Place::left(from, 58, 316 - from), QUIET)?;
    canvas.text(TextSize::M, &page.lines[1], Place::left(from, 86, 316 - from), ON_BLACK)?;
    buttons(canvas, 101, 30, &page.buttons)?;
    page.cells.iter().try_for_each(|cell| cells::draw(canvas, cell, flash))
}

pub(super) fn saved<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, page: &Saved) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    if page.kept {
        sign::large_tick(canvas, 8, 32, 2, BLACK)?;
    } else {
        sign::of_lane(canvas, 18, 42, Tone::Overdue, ON_BLACK)?;
    }
    canvas.text(TextSize::M, &page.title, Place::left(56, 54, 260), ON_BLACK)?;
    canvas.text(TextSize::S, &page.detail, Place::left(56, 77, 260), QUIET)?;
    canvas.fill(Area::new(6, 86, 308, 1), LINE)?;
    for (i, [name, ran, planned]) in (0..).zip(page.rows.iter().take(4)) {
        let baseline = 112 + i * 28;
        canvas.cut_text(TextSize::S, name, Place::left(8, baseline, 126), ON_BLACK)?;
        canvas.text(TextSize::M, ran, Place::right(212, baseline, 74), ON_BLACK)?;
        canvas.text(TextSize::S, planned, Place::right(314, baseline, 96), QUIET)?;
    }
    buttons(canvas, 209, 28, &page.buttons)
}
