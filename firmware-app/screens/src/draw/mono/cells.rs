use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};

use super::{
    band,
    letters::Letters,
    number,
    sheet::{DARK, LIT, Line, Sheet},
    signs,
};
use crate::{
    canvas::Area,
    screen::{Cell, Tone},
};

const TOP: i32 = 42;
const HIGH: i32 = 22;
const WIDE: i32 = 31;

/// Draws a lane as a cell of the board: its number and sign over its time, or over the word of its key.
pub(super) fn draw<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    cell: &Cell,
    flash: bool,
) -> Result<(), D::Error> {
    let left = (i32::from(cell.number) - 1) * 32;
    let area = Area::new(left, TOP, WIDE, HIGH);
    let paint = ground(sheet, area, cell.tone)?;

    let badge = Area::new(left + 1, TOP + 2, 9, 9);
    let shown = if flash && cell.sounding { paint.reversed() } else { paint };
    sheet.fill(badge, shown.ground)?;
    sheet.letters(Letters::Small, number(cell.number), Line::middle(badge.x + 5, TOP + 2, 9), shown.ink)?;
    signs::of_lane(sheet, left + 20, TOP + 3, cell.tone, paint.ink)?;

    let inset = if cell.tone == Tone::Window { 2 } else { 0 };
    // on a dark cell the word is filled: it asks
    let foot = !cell.tone.is_filled() && cell.tone != Tone::Window && !cell.word.is_empty();
    let line = Line::middle(left + 16, TOP + 12, WIDE - 2 * inset - if inset > 0 { 2 } else { 0 });
    if foot {
        sheet.fill(Area::new(left, TOP + 11, WIDE, HIGH - 11), LIT)?;
    }
    let ink = if foot { DARK } else { paint.ink };
    let short = cell.figures.short();
    let text = if cell.word.is_empty() { &short } else { &cell.word };
    // the arms of the brackets take the last rows
    let y = if inset > 0 { line.y - 1 } else { line.y + 1 };
    sheet.large_text(text, Line { y, ..line }, ink).map(|_| ())
}

/// Fill, frame, bracket or line of a cell.
fn ground<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    tone: Tone,
) -> Result<super::Paint, D::Error> {
    match tone {
        Tone::Empty | Tone::Waiting => {}
        Tone::Running(_) | Tone::Probe | Tone::OnHold | Tone::Done => {
            sheet.fill(Area::new(area.x, area.y, area.w, 1), LIT)?;
            sheet.fill(Area::new(area.x, area.y, 1, 4), LIT)?;
            sheet.fill(Area::new(area.right() - 1, area.y, 1, 4), LIT)?;
        }
        Tone::Ready => sheet.frame(area, 1, LIT)?,
        Tone::Window => band::bracket(sheet, area)?,
        Tone::Question => {
            sheet.fill(area, LIT)?;
            sheet.shape(Area::new(area.right() - 7, area.y, 7, 7), DARK, |x, y| x > y)?;
        }
        Tone::Due => sheet.fill(area, LIT)?,
        Tone::Overdue => {
            sheet.fill(area, LIT)?;
            band::hatch(sheet, Area::new(area.x, area.y, area.w, 2), false)?;
        }
        Tone::Lost => {
            sheet.fill(area, LIT)?;
            band::broken_line(sheet, Area::new(area.x, area.y, area.w, 2), DARK)?;
        }
    }
    Ok(band::paint_of(tone))
}
