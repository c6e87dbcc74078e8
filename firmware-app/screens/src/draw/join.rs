use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;
use words::Text;

use super::{ON_BLACK, ON_WHITE, buttons, header};
use crate::{
    canvas::{Area, Canvas, Place},
    colour::{BLACK, WHITE},
    screen::{JoinPage, QrModules},
    sign,
};

/// Light modules round the code (ISO/IEC 18004).
const MARGIN: i32 = 4;
/// A code with its margin is at most so wide; the line below it holds the address.
const SQUARE: i32 = 222;

/// Draws how a phone can join: a code for its camera, or what became of it.
pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, page: &JoinPage) -> Result<(), D::Error> {
    match &page.code {
        Some(code) => with_code(canvas, page, code),
        None => without_code(canvas, page),
    }
}

/// All white, so that the code has its margin and a camera its light.
fn with_code<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &JoinPage,
    code: &QrModules,
) -> Result<(), D::Error> {
    canvas.fill(Area::new(0, 0, 320, 240), WHITE)?;
    let side = i32::from(code.side);
    let px = (SQUARE / (side + 2 * MARGIN)).max(1);
    let square = px * (side + 2 * MARGIN);
    let top = (SQUARE - square) / 2 + MARGIN * px;
    for (at, _) in (0..).zip(&code.dark).filter(|(_, dark)| **dark) {
        let (x, y) = (at % side.max(1), at / side.max(1));
        canvas.fill(Area::new((MARGIN + x) * px, top + y * px, px, px), BLACK)?;
    }

    let (left, wide) = (square, 320 - square - 4);
    let column = |baseline| Place::left(left, baseline, wide);
    let none = Text::none();
    let line = |at: usize| page.lines.get(at).unwrap_or(&none);
    canvas.lines(TextSize::M, &page.header.left, column(26), 23, 2, ON_WHITE)?;
    canvas.lines(TextSize::S, line(0), column(76), 19, 2, ON_WHITE)?;
    let [word, letters] = apart(line(2));
    canvas.text(TextSize::S, &word, column(124), ON_WHITE)?;
    let size = [TextSize::Question, TextSize::M, TextSize::S].into_iter();
    let size = size.filter(|size| face::width(*size, letters) as i32 <= wide).max_by_key(|size| size.capital());
    canvas.text(size.unwrap_or(TextSize::S), &letters, column(152), ON_WHITE)?;
    canvas.text(TextSize::S, line(3), column(174), ON_WHITE)?;
    let button = Area::new(left, 187, wide, 27);
    canvas.framed(button, 5, 1, ON_WHITE, WHITE)?;
    canvas.text(TextSize::S, &page.buttons[0].text, Place::middle(button.middle(), 209, wide - 8), ON_WHITE)?;
    canvas.text(TextSize::S, line(1), Place::middle(160, 239, 312), ON_WHITE)
}

fn without_code<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, page: &JoinPage) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    sign::of_row(canvas, Area::new(12, 80, 50, 50), page.sign, ON_BLACK)?;
    for (i, line) in (0..).zip(page.lines.iter().take(2)) {
        canvas.lines(TextSize::Question, line, Place::left(76, 100 + i * 68, 236), 34, 3, ON_BLACK)?;
    }
    buttons(canvas, 209, 28, &page.buttons)
}

/// The first word of a text, and what comes after it.
fn apart(text: &Text) -> [&str; 2] {
    text.full().split_once(' ').map_or(["", text.full()], |(word, rest)| [word, rest])
}
