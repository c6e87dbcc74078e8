use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};
use face::BitSize;
use words::Text;

use super::{
    FILLED, PLAIN, WIDE, buttons, header,
    letters::{self, BOTH, Letters},
    sheet::{DARK, LIT, Line, Sheet},
    signs,
};
use crate::{
    canvas::Area,
    screen::{Entry, JoinPage, Outcome, QrModules},
};

/// One thing to note: what is asked, what is chosen so far, and how to choose.
pub(super) fn outcome<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &Outcome,
) -> Result<(), D::Error> {
    let right = sheet.text(Letters::Small, &page.header.right, Line::right(WIDE, 0, 40), LIT)?;
    sheet.text(Letters::Small, &page.question, Line::left(0, 0, WIDE - right - 6), LIT)?;
    match &page.entry {
        Entry::Scale { steps, first, chosen, words } => scale(sheet, *steps, *first, *chosen, words)?,
        Entry::Number { figures, turning, unit } => number(sheet, figures, *turning, unit)?,
        Entry::Pick { words, chosen } => pick(sheet, words, *chosen)?,
    }
    sheet.text(Letters::Small, &page.hint, Line::middle(64, 43, WIDE), LIT)?;
    buttons(sheet, 53, &page.buttons)
}

/// Boxes side by side, the chosen one filled; nothing filled: nothing is noted.
fn scale<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    steps: u8,
    first: u8,
    chosen: Option<u8>,
    words: &[Text],
) -> Result<(), D::Error> {
    /// Steps that stand side by side; of more, those round the chosen one are shown.
    const STEPS: u8 = 7;
    let shown = i32::from(steps.clamp(1, STEPS));
    let from = match chosen {
        Some(chosen) => (i32::from(chosen) - shown / 2).clamp(0, (i32::from(steps) - shown).max(0)),
        None => 0,
    };
    let wide = ((WIDE + 2) / shown - 2).min(28);
    let left = 64 - (shown * (wide + 2) - 2) / 2;
    for place in 0..shown {
        let step = from + place;
        let area = Area::new(left + place * (wide + 2), 12, wide, 20);
        let filled = chosen.is_some_and(|chosen| i32::from(chosen) == step);
        if filled {
            sheet.fill(area, LIT)?;
        } else {
            sheet.frame(area, 1, LIT)?;
        }
        let ink = if filled { DARK } else { LIT };
        let text = (i32::from(first) + step).to_string();
        let line = Line::middle(area.middle() + 1, area.y + 6, wide);
        match BitSize::Row.width(&text).filter(|figures| *figures as i32 <= wide) {
            Some(_) => sheet.figures(BitSize::Row, &text.into(), Line { x: area.middle(), y: 30, ..line }, ink)?,
            None => sheet.letters(Letters::Small, &text, line, ink)?,
        };
    }
    // more steps beyond an edge
    if from > 0 {
        sheet.shape(Area::new(0, 33, 4, 7), LIT, |x, y| (y - 3).abs() <= x)?;
    }
    if from + shown < i32::from(steps) {
        sheet.shape(Area::new(WIDE - 4, 33, 4, 7), LIT, |x, y| (y - 3).abs() <= 3 - x)?;
    }
    match chosen.and_then(|chosen| words.get(usize::from(chosen))) {
        Some(word) => sheet.cut_text(Letters::Small, word, Line::middle(64, 33, WIDE - 10), LIT).map(|_| ()),
        None => {
            let (low, high) = (words.first().cloned().unwrap_or_default(), words.last().cloned().unwrap_or_default());
            sheet.cut_text(Letters::Small, &low, Line::left(left, 33, 60), LIT)?;
            sheet.cut_text(Letters::Small, &high, Line::right(WIDE - left, 33, 60), LIT).map(|_| ())
        }
    }
}

/// A number; the figure that the knob turns is in reverse.
fn number<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    figures: &str,
    turning: Option<usize>,
    unit: &str,
) -> Result<(), D::Error> {
    const SIZE: BitSize = BitSize::Page;
    const BASELINE: i32 = 38;
    let high = SIZE.capital() as i32;
    let all = SIZE.width(figures).unwrap_or(0) as i32;
    let unit = letters::known(unit);
    let mut x = (WIDE - all - Letters::Bold.width(&unit) - 4) / 2;
    for (i, figure) in figures.chars().enumerate() {
        let text = String::from(figure);
        let wide = SIZE.width(&text).unwrap_or(0) as i32;
        let here = turning == Some(i);
        if here {
            sheet.fill(Area::new(x - 1, BASELINE - high - 2, wide + 1, high + 4), LIT)?;
        }
        let ink = if here { DARK } else { LIT };
        sheet.figures(SIZE, &text.into(), Line::left(x, BASELINE, wide), ink)?;
        x += wide;
    }
    let line = Line::left(x + 4, BASELINE - Letters::Bold.baseline(), WIDE);
    sheet.letters(Letters::Bold, &unit, line, LIT).map(|_| ())
}

/// A list of words, the chosen one in reverse.
fn pick<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    words: &[Text],
    chosen: Option<usize>,
) -> Result<(), D::Error> {
    const ROWS: usize = 3;
    const ROW: i32 = 10;
    let first = chosen.unwrap_or(0).saturating_sub(1).min(words.len().saturating_sub(ROWS));
    for (i, (at, word)) in (0..).zip(words.iter().enumerate().skip(first).take(ROWS)) {
        let area = Area::new(14, 12 + i * ROW, 100, ROW);
        let filled = chosen == Some(at);
        if filled {
            sheet.fill(area, LIT)?;
        }
        let ink = if filled { DARK } else { LIT };
        sheet.cut_text(Letters::Small, word, Line::middle(64, area.y, area.w - 4), ink)?;
    }
    if words.len() > ROWS {
        let (all, high) = (words.len() as i32, ROW * ROWS as i32);
        sheet.shape(Area::new(WIDE - 2, 12, 2, high), LIT, |x, y| x == 1 && y % 3 == 0)?;
        let part = Area::new(WIDE - 2, 12 + first as i32 * high / all, 2, high * ROWS as i32 / all);
        sheet.fill(part, LIT)?;
    }
    Ok(())
}

/// How a phone can join: a code for its camera, or what became of it.
pub(super) fn join<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &JoinPage,
) -> Result<(), D::Error> {
    match &page.code {
        Some(code) => with_code(sheet, page, code),
        None => without_code(sheet, page),
    }
}

/// Light modules round the code (ISO/IEC 18004).
const MARGIN: i32 = 4;

/// All lit, so that the code has its margin and a camera its light.
fn with_code<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    page: &JoinPage,
    code: &QrModules,
) -> Result<(), D::Error> {
    const HIGH: i32 = 64;
    sheet.fill(Area::new(0, 0, WIDE, HIGH), LIT)?;
    let side = i32::from(code.side).max(1);
    // a code too large for two px a module would have no margin left
    let px = if (side + 2 * MARGIN) * 2 <= HIGH { 2 } else { 1 };
    let square = px * (side + 2 * MARGIN);
    let top = (HIGH - square) / 2 + MARGIN * px;
    for (at, _) in (0..).zip(&code.dark).filter(|(_, dark)| **dark) {
        let (x, y) = (at % side, at / side);
        sheet.fill(Area::new((MARGIN + x) * px, top + y * px, px, px), DARK)?;
    }
    let column = |y| Line::left(square, y, WIDE - square);
    let none = Text::none();
    let line = |at: usize| page.lines.get(at).unwrap_or(&none);
    // an address has no spaces: it is broken where a line is full
    let address = anywhere(line(1).full(), WIDE - square);
    sheet.all_lines(Letters::Small, &address, column(0), 9, DARK)?;
    sheet.large_text(line(2), column(32), DARK)?;
    sheet.text(Letters::Small, line(3), column(43), DARK)?;
    let knob = &page.buttons[0];
    let shown = letters::known(knob.text.fitting(|text| Letters::Small.width(text) <= WIDE - square - 2));
    sheet.letters(Letters::Small, &shown, column(54), DARK).map(|_| ())
}

/// A text in lines that are filled letter by letter.
fn anywhere(text: &str, room: i32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for letter in letters::known(text).chars() {
        match lines.last_mut() {
            Some(line) if Letters::Small.width(&alloc::format!("{line}{letter}")) <= room => line.push(letter),
            Some(_) | None => lines.push(String::from(letter)),
        }
    }
    lines
}

fn without_code<D: DrawTarget<Color = BinaryColor>>(sheet: &mut Sheet<'_, D>, page: &JoinPage) -> Result<(), D::Error> {
    header(sheet, &page.header)?;
    signs::of_row(sheet, 2, 20, page.sign, 2, PLAIN.ink)?;
    let at = Line::left(24, 0, WIDE - 25);
    let mut y = 13;
    for text in page.lines.iter().take(2) {
        let step = |size| if size == Letters::Bold { 13 } else { 9 };
        let mut drawn = false;
        for size in BOTH {
            let count = if size == Letters::Bold { 2 } else { 3 };
            let broken = text.lengths().next().and_then(|text| letters::broken(size, text, at.room, count));
            let Some(lines) = broken.filter(|_| !drawn) else { continue };
            sheet.all_lines(size, &lines, Line { y, ..at }, step(size), FILLED.ground)?;
            y += step(size) * lines.len() as i32;
            drawn = true;
        }
        if !drawn {
            sheet.text(Letters::Small, text, Line { y, ..at }, LIT)?;
            y += 10;
        }
    }
    buttons(sheet, 53, &page.buttons)
}
