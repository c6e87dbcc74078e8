use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;

use super::{ON_BLACK, QUIET, buttons, cells, header};
use crate::{
    canvas::{Area, Canvas, Place},
    colour::{GREY, LINE},
    screen::Moved,
    sign,
};

/// Rows of stages that are shown at once.
const ROWS: usize = 2;

/// Draws that the plan has moved: which way, the old and the new end, and the stages that move with it.
pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &Moved,
    flash: bool,
) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    let [was, now] = &page.times;
    let [why, remedy] = &page.reason;
    let reasoned = !why.is_empty();
    // without a clock there is no end to show, and the words stand in the middle of its place
    let timed = !now.is_empty() && !reasoned;
    let baseline = if reasoned {
        53
    } else if timed {
        58
    } else {
        82
    };
    sign::of_way(canvas, Area::new(8, baseline - 26, 30, 26), page.way, ON_BLACK)?;
    canvas.text(TextSize::Question, &page.title, Place::left(48, baseline, 268), ON_BLACK)?;
    if timed {
        end_moves(canvas, was.full(), now.full())?;
    }
    if reasoned {
        canvas.text(TextSize::M, why, Place::left(8, 83, 304), ON_BLACK)?;
        canvas.text(TextSize::M, remedy, Place::left(8, 108, 304), ON_BLACK)?;
    }

    canvas.fill(Area::new(6, 116, 308, 1), LINE)?;
    for (i, [what, when]) in (0..).zip(page.rows.iter().take(ROWS)) {
        let baseline = 141 + i * 28;
        let wide = face::width(TextSize::S, when.full()) as i32;
        canvas.cut_text(TextSize::M, what, Place::left(8, baseline, 304 - wide - 12), ON_BLACK)?;
        canvas.text(TextSize::S, when, Place::right(312, baseline, wide.min(200)), ON_BLACK)?;
    }
    buttons(canvas, 179, 27, &page.buttons)?;
    cells::strip(canvas, &page.strip, flash)
}

/// The old end, struck through, and the new one large behind an arrow.
fn end_moves<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, was: &str, now: &str) -> Result<(), D::Error> {
    let (old, new) = (face::width(TextSize::Question, was) as i32, face::width(TextSize::Xl, now) as i32);
    let arrow = Area::new(0, 76, 34, 22);
    let gap = 16;
    let left = (320 - old - arrow.w - new - 2 * gap) / 2;
    canvas.text(TextSize::Question, &was, Place::left(left, 100, old), QUIET)?;
    canvas.fill(Area::new(left - 4, 86, old + 8, 3), GREY)?;
    let arrow = Area { x: left + old + gap, ..arrow };
    canvas.shape(arrow, ON_BLACK, |x, y| {
        let off = (y - 11.0).abs();
        (x <= 22.0 && off <= 2.5) || (x >= 20.0 && off <= (34.0 - x) * 0.8)
    })?;
    canvas.text(TextSize::Xl, &now, Place::left(arrow.right() + gap, 109, new), ON_BLACK)
}
