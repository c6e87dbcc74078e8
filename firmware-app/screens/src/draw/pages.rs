use alloc::{string::String, vec::Vec};

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;
use words::Text;

use super::{ON_BLACK, ON_WHITE, QUIET, band, buttons, cells, header, turn_marks, turns};
use crate::{
    canvas::{Area, Canvas, Paint, Place, fitting, within},
    colour::{BLACK, GREEN, GREY, LINE, SKY, VERMILION, WHITE, YELLOW},
    number,
    screen::{Keep, LanePage, List, ListRow, Middle, Resume, RowSign, Saved, Starting, Tone, WindowBar},
    sign,
};

/// Height of a row of a list.
const ROW: i32 = 35;
/// Rows that are shown at once.
const ROWS: usize = 5;
/// Room for what is known of a row.
const ASIDE: i32 = 170;

pub(super) fn starting<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &Starting,
) -> Result<(), D::Error> {
    // all pixels: a bright frame and bars of each colour show a dead row, column or channel
    canvas.framed(Area::new(0, 0, 320, 240), 1, 2, ON_BLACK, BLACK)?;
    for (i, colour) in (0..).zip([WHITE, YELLOW, SKY, GREEN, VERMILION]) {
        canvas.fill(Area::new(8 + i * 61, 8, 60, 10), colour)?;
    }
    canvas.text(TextSize::Question, &"tallyhob", Place::left(8, 52, 180), ON_BLACK)?;
    canvas.text(TextSize::S, &page.version, Place::right(308, 52, 110), QUIET)?;
    // more lines than fit leave out those that are in order
    let most = 6;
    let mut over = page.lines.len().saturating_sub(most);
    let lines: Vec<&ListRow> = page
        .lines
        .iter()
        .filter(|line| {
            let left_out = over > 0 && line.sign == RowSign::Tick;
            over -= usize::from(left_out);
            !left_out
        })
        .collect();
    let high = 146 / lines.len().clamp(5, most) as i32;
    for (i, row) in (0..).zip(lines.into_iter().take(most)) {
        self::row(canvas, Area::new(8, 59 + i * high, 304, high), row, ON_BLACK, false)?;
    }
    buttons(canvas, 207, 28, &page.buttons)
}

pub(super) fn list<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, page: &List) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    canvas.text(TextSize::M, &page.empty, Place::middle(160, 125, 308), QUIET)?;
    let first = page.chosen.saturating_sub(ROWS / 2).min(page.rows.len().saturating_sub(ROWS));
    for (i, (at, row)) in (0..).zip(page.rows.iter().enumerate().skip(first).take(ROWS)) {
        let area = Area::new(4, 29 + i * ROW, 312, ROW - 2);
        // the chosen row is filled; while its value is changed, the value alone is, and the row is framed
        let (chosen, changing) = (at == page.chosen, at == page.chosen && page.changing);
        if changing {
            canvas.framed(area, 4, 1, ON_BLACK, BLACK)?;
        } else if chosen {
            canvas.rounded(area, 4, ON_BLACK)?;
        }
        self::row(canvas, area, row, if chosen && !changing { ON_WHITE } else { ON_BLACK }, changing)?;
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
    changing: bool,
) -> Result<(), D::Error> {
    let baseline = area.y + (area.h + 20) / 2;
    let mut right = area.right() - 8;
    let indent = if row.sign == RowSign::None { 8 } else { 34 };
    // the fullest aside that leaves the text whole, if there is one
    let text = face::width(TextSize::M, row.text.full()) as i32;
    let left = area.w - indent - text - 16;
    let fits = |aside: &&str| face::width(TextSize::S, aside) as i32 <= left;
    let words = row.aside.lengths().find(fits).unwrap_or(fitting(TextSize::S, &row.aside, ASIDE));
    let mut aside = face::width(TextSize::S, words) as i32;
    let side = sign::SIDE;
    sign::of_row(canvas, Area::new(area.x + 7, area.y + (area.h - side) / 2, side, side), row.sign, paint)?;
    if changing {
        // the value between the marks of turning, in reverse
        let value = Area::new(area.right() - aside - 44, area.y + 3, aside + 40, area.h - 6);
        canvas.rounded(value, 4, paint)?;
        turn_marks(canvas, value, paint.reversed())?;
        canvas.text(TextSize::S, &words, Place::middle(value.middle(), baseline - 2, aside), paint.reversed())?;
        (aside, right) = (value.w, value.right());
    } else {
        canvas.text(TextSize::S, &words, Place::right(right, baseline, aside), paint)?;
    }
    let room = right - area.x - indent - if aside > 0 { aside + 8 } else { 0 };
    // a shorter way to say it is better than the beginning of a longer one
    let text = Text::from(String::from(fitting(TextSize::M, &row.text, room)));
    canvas.cut_text(TextSize::M, &text, Place::left(area.x + indent, baseline, room), paint)
}

pub(super) fn lane<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &LanePage,
    flash: bool,
) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    let badge = Area::new(4, 31, 46, 70);
    canvas.rounded(badge, 6, ON_BLACK)?;
    canvas.text(TextSize::Xl, &band::lane_figure(page.lane), Place::middle(badge.middle(), 80, 46), ON_WHITE)?;
    for dot in 0..4 {
        let place = Area::new(badge.x + 3 + dot * 10, badge.bottom() - 15, 10, 10);
        let filled = dot < i32::from(page.lane);
        canvas.shape(place, ON_WHITE, |x, y| {
            within(x - 5.0, y - 5.0, 4.2) && (filled || !within(x - 5.0, y - 5.0, 2.8))
        })?;
    }

    let doubt = if page.doubtful { band::doubt_width() } else { 0 };
    // what stands beside the digits is said as fully as they leave room for in their full size
    let left = 316 - 56 - doubt - 3 - face::width(TextSize::Badge, page.digits.full()) as i32;
    let beside = page.aside.each_ref().map(|text| fitting(TextSize::S, text, left));
    let aside = beside.iter().map(|text| face::width(TextSize::S, text) as i32).max().unwrap_or(0);
    let room = 316 - 56 - if aside > 0 { aside + 3 } else { 0 } - doubt;
    let fits = |size: &TextSize| face::width(*size, page.digits.full()) as i32 <= room;
    let size = [TextSize::Badge, TextSize::Xl].into_iter().find(fits).unwrap_or(TextSize::L);
    canvas.text(size, &page.digits, Place::left(56, 99, room), ON_BLACK)?;
    if page.doubtful {
        let from = 56 + face::width(size, fitting(size, &page.digits, room)) as i32 + 1;
        canvas.text(TextSize::Question, &number::DOUBT, Place::left(from, 99, doubt), ON_BLACK)?;
    }
    for (line, baseline) in beside.iter().zip([50, 75]) {
        canvas.text(TextSize::S, line, Place::right(316, baseline, 150), ON_BLACK)?;
    }
    sign::of_lane(canvas, 292, 82, page.tone, ON_BLACK)?;
    canvas.text(TextSize::S, &page.note, Place::left(6, 123, 308), ON_BLACK)?;
    match &page.middle {
        Middle::Window(bar) => window_bar(canvas, bar)?,
        Middle::Words { facts, rest, page } => turns::draw(canvas, facts, rest, *page)?,
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

    let now_wide = face::width(TextSize::S, bar.now_text.full()) as i32;
    let window_wide = face::width(TextSize::S, bar.window_text.full()) as i32;
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
    // both words in one size, with room for the clicks between them
    let longest = |size| face::width(size, page.keep.full()).max(face::width(size, page.word.full())) as i32 + 12;
    let size = if longest(TextSize::M) <= 116 { TextSize::M } else { TextSize::S };
    let wide = longest(size).clamp(100, 116);
    for (area, text, chosen) in [
        (Area::new(6, 118, wide, 40), &page.keep, !reached),
        (Area::new(314 - wide, 118, wide, 40), &page.word, reached),
    ] {
        let at = Place::middle(area.middle(), area.y + (area.h + size.capital() as i32) / 2, area.w - 6);
        if chosen {
            canvas.rounded(area, 5, ON_BLACK)?;
            canvas.text(size, text, at, ON_WHITE)?;
        } else {
            canvas.framed(area, 5, 1, ON_BLACK, BLACK)?;
            canvas.text(size, text, at, ON_BLACK)?;
        }
    }
    let step = (308 - 2 * wide - 8) / CLICKS;
    for click in 0..CLICKS {
        let area = Area::new(160 - (CLICKS * step - 3) / 2 + click * step, 130, step - 3, 16);
        canvas.framed(area, 4, 2, ON_BLACK, if click < clicks { WHITE } else { BLACK })?;
    }
    canvas.text(TextSize::S, &page.hint, Place::middle(160, 190, 308), QUIET)?;
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
        sign::large_of_lane(canvas, Area::new(8, 36, 40, 40), Tone::Done, ON_BLACK)?;
    } else {
        sign::large_of_lane(canvas, Area::new(8, 36, 40, 40), Tone::Overdue, ON_BLACK)?;
    }
    canvas.text(TextSize::M, &page.title, Place::left(56, 54, 260), ON_BLACK)?;
    canvas.text(TextSize::S, &page.detail, Place::left(56, 77, 260), QUIET)?;
    canvas.fill(Area::new(6, 86, 308, 1), LINE)?;
    for (i, [name, ran, planned]) in (0..).zip(page.rows.iter().take(4)) {
        let baseline = 112 + i * 28;
        let room = 212 - 8 - 8 - face::width(TextSize::M, ran.full()) as i32;
        canvas.cut_text(TextSize::S, name, Place::left(8, baseline, room), ON_BLACK)?;
        canvas.text(TextSize::M, ran, Place::right(212, baseline, 74), ON_BLACK)?;
        canvas.text(TextSize::S, planned, Place::right(314, baseline, 96), QUIET)?;
    }
    buttons(canvas, 209, 28, &page.buttons)
}
