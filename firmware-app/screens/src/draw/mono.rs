//! Drawing of each kind of screen for the panel of one bit, 128x64.
//!
//! It has no line at the top of the board and no strip at the bottom of a page. So the board says what the knob does
//! beside the label of the band, and a page says in its own first line which other lanes need the cook.

mod band;
mod cells;
mod entry;
mod letters;
mod lists;
mod pages;
mod sheet;
mod signs;
mod turns;

use alloc::{string::String, vec::Vec};
use core::convert::Infallible;

use embedded_graphics::{
    Pixel,
    draw_target::DrawTarget,
    geometry::{OriginDimensions, Size},
    pixelcolor::BinaryColor,
    primitives::Rectangle,
};

use self::{
    letters::Letters,
    sheet::{DARK, LIT, Line, Sheet},
};
use super::Phase;
use crate::{
    MONO_HEIGHT, MONO_WIDTH,
    canvas::Area,
    screen::{Button, Cell, Header, Screen},
};

/// Ink and ground of what stands on the dark panel.
const PLAIN: Paint = Paint { ink: LIT, ground: DARK };
/// Ink and ground of what is filled.
const FILLED: Paint = Paint { ink: DARK, ground: LIT };

/// The colour of what is drawn and of what lies under it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Paint {
    ink: BinaryColor,
    ground: BinaryColor,
}

impl Paint {
    const fn reversed(self) -> Self {
        Self { ink: self.ground, ground: self.ink }
    }
}

impl Screen {
    /// Draws the whole picture for the panel of one bit, 128x64.
    ///
    /// # Errors
    /// Those of the target.
    pub fn draw_mono<D: DrawTarget<Color = BinaryColor>>(&self, phase: Phase, target: &mut D) -> Result<(), D::Error> {
        draw(self, phase, &mut Sheet::new(target))
    }

    /// The texts of which no length fits its place on the panel of one bit; they are drawn cut. Words that a recipe's check
    /// lets pass for the colour panel can be too long here.
    pub fn too_wide_mono(&self) -> Vec<String> {
        let mut nowhere = Nowhere;
        let mut sheet = Sheet::new(&mut nowhere);
        match draw(self, Phase::STILL, &mut sheet) {
            Ok(()) => sheet.too_wide,
            Err(never) => match never {},
        }
    }
}

fn draw<D: DrawTarget<Color = BinaryColor>>(
    screen: &Screen,
    phase: Phase,
    sheet: &mut Sheet<'_, D>,
) -> Result<(), D::Error> {
    let flash = phase.flash;
    sheet.clear(DARK)?;
    match screen {
        Screen::Starting(page) => lists::starting(sheet, page),
        Screen::List(page) => lists::list(sheet, page),
        Screen::Board(board) => {
            band::draw(sheet, board, flash)?;
            board.cells.iter().try_for_each(|cell| cells::draw(sheet, cell, flash))
        }
        Screen::Lane(page) => pages::lane(sheet, page, flash),
        Screen::Keep(page) => pages::keep(sheet, page, flash),
        Screen::Resume(page) => pages::resume(sheet, page, flash),
        Screen::Moved(page) => pages::moved(sheet, page, flash),
        Screen::Outcome(page) => entry::outcome(sheet, page),
        Screen::Saved(page) => lists::saved(sheet, page),
        Screen::ProbeCheck(page) => pages::probe_check(sheet, page),
        Screen::Join(page) => entry::join(sheet, page),
    }?;
    if phase.held > 0 { hold(sheet, phase.held) } else { Ok(()) }
}

/// The hold of the knob that undoes: an arrow that turns back and a bar that fills, in place of the first line.
fn hold<D: DrawTarget<Color = BinaryColor>>(sheet: &mut Sheet<'_, D>, held: u16) -> Result<(), D::Error> {
    sheet.fill(Area::new(0, 0, WIDE, 10), DARK)?;
    signs::undo(sheet, 1, 0, LIT)?;
    let bar = Area::new(13, 0, 114, 9);
    sheet.frame(bar, 1, LIT)?;
    let inside = bar.inset(2);
    sheet.fill(Area::new(inside.x, inside.y, inside.w * i32::from(held.min(1000)) / 1000, inside.h), LIT)
}

const WIDE: i32 = MONO_WIDTH as i32;

/// The first line of a page.
fn header<D: DrawTarget<Color = BinaryColor>>(sheet: &mut Sheet<'_, D>, header: &Header) -> Result<(), D::Error> {
    // what stands at the right is said so that it leaves half the line, or all that the left does not need
    let left = Letters::Small.width(header.left.full());
    let room = (WIDE - left - GAP).max(WIDE / 2);
    let right = sheet.text(Letters::Small, &header.right, Line::right(WIDE, 0, room), LIT)?;
    let gap = if right > 0 { GAP } else { 0 };
    sheet.cut_text(Letters::Small, &header.left, Line::left(0, 0, WIDE - right - gap), LIT).map(|_| ())
}

/// Between two texts of a line.
const GAP: i32 = 6;

/// The numbers of the lanes that need the cook, filled, at the right end of the first line; gives the room that is left.
fn callers<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    strip: &[Cell; 4],
    but: Option<u8>,
    flash: bool,
) -> Result<i32, D::Error> {
    let mut right = WIDE;
    for cell in strip.iter().rev().filter(|cell| cell.tone.asks() && Some(cell.number) != but) {
        let area = Area::new(right - 9, 0, 9, 10);
        let paint = if flash && cell.sounding { PLAIN } else { FILLED };
        sheet.fill(area, LIT)?;
        sheet.fill(area.inset(1), paint.ground)?;
        sheet.letters(Letters::Small, number(cell.number), Line::middle(area.x + 5, 0, 9), paint.ink)?;
        right -= 10;
    }
    Ok(if right < WIDE { right - 2 } else { WIDE })
}

/// What two keys do, in the last 11 rows: the words of both as full as they fit side by side.
fn buttons<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    y: i32,
    buttons: &[Button; 2],
) -> Result<(), D::Error> {
    let [left, right] = buttons;
    let wide =
        |button: &Button, text: &str| if text.is_empty() { 0 } else { Letters::Small.width(text) + margins(button) };
    // of all pairs of lengths that fit, the one that says most
    let lengths = |button: &Button| -> Vec<String> {
        let all: Vec<String> = button.text.lengths().map(String::from).collect();
        if all.is_empty() { alloc::vec![String::new()] } else { all }
    };
    let (lefts, rights) = (lengths(left), lengths(right));
    let pairs = lefts.iter().flat_map(|l| rights.iter().map(move |r| (l, r)));
    let sum = |(l, r): &(&String, &String)| {
        let (l, r) = (wide(left, l), wide(right, r));
        l + r + if l > 0 && r > 0 { 2 } else { 0 }
    };
    let best = pairs.filter(|pair| sum(pair) <= WIDE).max_by_key(sum);
    let (l, r) = match best {
        Some((l, r)) => (l.clone(), r.clone()),
        None => {
            // the strong one keeps its words
            let (l, r) = (left.text.least(), right.text.least());
            sheet.too_wide.push(alloc::format!("{l} | {r}"));
            if left.strong { (l.into(), String::new()) } else { (String::new(), r.into()) }
        }
    };
    let (l_wide, r_wide) = (wide(left, &l), wide(right, &r));
    let spare = WIDE - l_wide - r_wide - if l_wide > 0 && r_wide > 0 { 2 } else { 0 };
    // one alone keeps its side; two share what is left
    let (l_more, r_more) = if l_wide > 0 && r_wide > 0 { (spare / 2, spare - spare / 2) } else { (0, 0) };
    if l_wide > 0 {
        self::button(sheet, Area::new(0, y, l_wide + l_more, 11), left, &l)?;
    }
    if r_wide > 0 {
        let wide = r_wide + r_more;
        self::button(sheet, Area::new(WIDE - wide, y, wide, 11), right, &r)?;
    }
    Ok(())
}

/// What a button needs beside its words.
const fn margins(button: &Button) -> i32 {
    if button.turns { 14 } else { 4 }
}

fn button<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    button: &Button,
    text: &str,
) -> Result<(), D::Error> {
    let paint = if button.strong { FILLED } else { PLAIN };
    if button.strong {
        sheet.fill(area, LIT)?;
    } else {
        // brackets: it may be done
        sheet.shape(area, LIT, |x, y| {
            let from_end = x.min(area.w - 1 - x);
            from_end == 0 || (from_end < 3 && (y == 0 || y == area.h - 1))
        })?;
    }
    if button.turns {
        turn_marks(sheet, area, paint.ink)?;
    }
    let shown = letters::known(text);
    sheet.letters(Letters::Small, &shown, Line::middle(area.middle(), area.y + 1, area.w), paint.ink).map(|_| ())
}

/// A triangle at each end: turn the knob for another choice.
fn turn_marks<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    area: Area,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    let middle = area.h / 2;
    sheet.shape(Area::new(area.x + 2, area.y, 4, area.h), colour, |x, y| (y - middle).abs() <= x)?;
    sheet.shape(Area::new(area.right() - 6, area.y, 4, area.h), colour, |x, y| (y - middle).abs() <= 3 - x)
}

fn number(lane: u8) -> &'static str {
    super::band::lane_figure(lane)
}

/// Takes a drawing and keeps nothing.
struct Nowhere;

impl OriginDimensions for Nowhere {
    fn size(&self) -> Size {
        Size::new(MONO_WIDTH, MONO_HEIGHT)
    }
}

impl DrawTarget for Nowhere {
    type Color = BinaryColor;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<BinaryColor>>>(&mut self, _pixels: I) -> Result<(), Infallible> {
        Ok(())
    }

    fn fill_solid(&mut self, _area: &Rectangle, _colour: BinaryColor) -> Result<(), Infallible> {
        Ok(())
    }
}
