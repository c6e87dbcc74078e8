use alloc::string::{String, ToString};

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;
use words::Text;

use super::{ON_BLACK, ON_WHITE, QUIET, buttons, header};
use crate::{
    canvas::{Area, Canvas, Place},
    colour::{GREY, LINE},
    screen::{Entry, Outcome},
};

/// Where it is entered.
const PLACE: Area = Area::new(4, 66, 312, 112);
/// Words of a list that are shown at once.
const ROWS: usize = 4;
/// Steps that stand side by side; of more, those round the chosen one are shown.
const STEPS: u8 = 11;

/// Draws one thing to note: what is asked, what is chosen so far, and how to choose.
pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, page: &Outcome) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    question(canvas, &page.question)?;
    match &page.entry {
        Entry::Scale { steps, first, chosen, words } => scale(canvas, *steps, *first, *chosen, words)?,
        Entry::Number { figures, turning, unit } => number(canvas, figures, *turning, unit)?,
        Entry::Pick { words, chosen } => pick(canvas, words, *chosen)?,
    }
    canvas.text(TextSize::S, &page.hint, Place::middle(160, 200, 308), QUIET)?;
    buttons(canvas, 209, 28, &page.buttons)
}

/// What is asked, as large as all of it has room.
fn question<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, text: &Text) -> Result<(), D::Error> {
    const ROOM: i32 = 308;
    let fits = |size: &TextSize| face::width(*size, text.full()) as i32 <= ROOM;
    match [TextSize::Question, TextSize::M].into_iter().find(fits) {
        Some(size) => canvas.text(size, text, Place::middle(160, 55, ROOM), ON_BLACK),
        None => canvas.lines(TextSize::S, text, Place::middle(160, 43, ROOM), 20, 2, ON_BLACK).map(|_| ()),
    }
}

/// Boxes side by side, the chosen one filled; nothing filled: nothing is noted.
fn scale<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    steps: u8,
    first: u8,
    chosen: Option<u8>,
    words: &[Text],
) -> Result<(), D::Error> {
    let shown = i32::from(steps.clamp(1, STEPS));
    let from = match chosen {
        Some(chosen) => i32::from(chosen).saturating_sub(shown / 2).clamp(0, (i32::from(steps) - shown).max(0)),
        None => 0,
    };
    let gap = if shown > 7 { 3 } else { 6 };
    let wide = ((PLACE.w + gap) / shown - gap).min(72);
    let left = 160 - (shown * (wide + gap) - gap) / 2;
    let number = |step: i32| (i32::from(first) + step).to_string();
    let widest = number(from + shown - 1);
    let sizes = [TextSize::Xl, TextSize::L, TextSize::M];
    let size = sizes.into_iter().find(|size| face::width(*size, &widest) as i32 <= wide - 6).unwrap_or(TextSize::S);
    // the words stand in their boxes if all of them have room there, else only the chosen one below
    let inside =
        !words.is_empty() && words.iter().all(|word| face::width(TextSize::S, word.least()) as i32 <= wide - 6);
    let high = if inside || words.is_empty() { 84 } else { 62 };
    let top = if words.is_empty() { PLACE.y + 14 } else { PLACE.y + 8 };
    for place in 0..shown {
        let step = from + place;
        let area = Area::new(left + place * (wide + gap), top, wide, high);
        let filled = chosen.is_some_and(|chosen| i32::from(chosen) == step);
        let paint = if filled { ON_WHITE } else { ON_BLACK };
        canvas.framed(area, 5, 1, ON_BLACK, paint.ground)?;
        let under = if inside { 24 } else { 0 };
        let baseline = area.y + (area.h - under + size.capital() as i32) / 2;
        canvas.text(size, &number(step), Place::middle(area.middle(), baseline, wide - 4), paint)?;
        if inside && let Some(word) = words.get(step as usize) {
            canvas.text(TextSize::S, word, Place::middle(area.middle(), area.bottom() - 10, wide - 4), paint)?;
        }
    }
    if inside {
        return Ok(());
    }
    match chosen.and_then(|chosen| words.get(usize::from(chosen))) {
        Some(word) => canvas.cut_text(TextSize::Question, word, Place::middle(160, 170, 308), ON_BLACK),
        None => {
            let (low, high) = (words.first().cloned().unwrap_or_default(), words.last().cloned().unwrap_or_default());
            canvas.cut_text(TextSize::S, &low, Place::left(left, 160, 150), QUIET)?;
            canvas.cut_text(TextSize::S, &high, Place::right(320 - left, 160, 150), QUIET)
        }
    }
}

/// A number; the figure that the knob turns is in reverse between two marks.
fn number<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    figures: &str,
    turning: Option<usize>,
    unit: &str,
) -> Result<(), D::Error> {
    let unit_wide = face::width(TextSize::Question, unit) as i32;
    let wide = |size| face::width(size, figures) as i32 + 8 + unit_wide;
    let size = if wide(TextSize::Badge) <= PLACE.w { TextSize::Badge } else { TextSize::Xl };
    let high = size.capital() as i32;
    let baseline = PLACE.y + (PLACE.h + high) / 2;
    let mut x = 160 - wide(size) / 2;
    let leading = figures.bytes().take_while(|figure| *figure == b'0').count();
    for (i, figure) in figures.chars().enumerate() {
        let text = String::from(figure);
        let wide = face::width(size, &text) as i32;
        let here = turning == Some(i);
        if here {
            let figure = Area::new(x, baseline - high - 8, wide, high + 16);
            canvas.rounded(figure, 4, ON_BLACK)?;
            let reach = |x: f32, high: f32| (x - wide as f32 / 2.0).abs() <= high;
            canvas.shape(Area::new(x, figure.y - 14, wide, 10), ON_BLACK, reach)?;
            canvas.shape(Area::new(x, figure.bottom() + 4, wide, 10), ON_BLACK, |x, y| reach(x, 10.0 - y))?;
        }
        let paint = match (here, turning) {
            (true, _) => ON_WHITE,
            (false, Some(_)) if i >= leading => ON_BLACK,
            (false, Some(_) | None) => QUIET,
        };
        canvas.text(size, &text, Place::left(x, baseline, wide), paint)?;
        x += wide;
    }
    canvas.text(TextSize::Question, &unit, Place::left(x + 8, baseline, unit_wide), QUIET)
}

/// A list of words, the chosen one in reverse; more of them above or below show as a bar at the right.
fn pick<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    words: &[Text],
    chosen: Option<usize>,
) -> Result<(), D::Error> {
    const ROW: i32 = 28;
    let first = chosen.unwrap_or(0).saturating_sub(1).min(words.len().saturating_sub(ROWS));
    for (i, (at, word)) in (0..).zip(words.iter().enumerate().skip(first).take(ROWS)) {
        let area = Area::new(60, PLACE.y + i * ROW, 200, ROW);
        let filled = chosen == Some(at);
        if filled {
            canvas.rounded(area, 4, ON_BLACK)?;
        }
        let paint = if filled { ON_WHITE } else { ON_BLACK };
        canvas.cut_text(TextSize::M, word, Place::middle(160, area.y + 22, 190), paint)?;
    }
    if words.len() > ROWS {
        let (all, high) = (words.len() as i32, ROW * ROWS as i32 - 2);
        let track = Area::new(266, PLACE.y, 2, high);
        canvas.fill(track, LINE)?;
        let part = Area::new(265, PLACE.y + first as i32 * high / all, 4, high * ROWS as i32 / all);
        canvas.fill(part, GREY)?;
    }
    Ok(())
}
