//! Drawing of each kind of screen.

mod band;
mod cells;
mod join;
mod mono;
mod moved;
mod outcome;
mod pages;
mod probe_check;
mod turns;

use alloc::{string::String, vec::Vec};
use core::convert::Infallible;

use embedded_graphics::{
    Pixel,
    draw_target::DrawTarget,
    geometry::{OriginDimensions, Size},
    pixelcolor::Rgb565,
};
use face::Size as TextSize;

use crate::{
    canvas::{Area, Canvas, Paint, Place, fitting},
    colour::{BLACK, GREY, LINE, WHITE},
    frame,
    screen::{Button, Header, Screen},
    sign,
};

const ON_BLACK: Paint = Paint::new(WHITE, BLACK);
const ON_WHITE: Paint = Paint::new(BLACK, WHITE);
const QUIET: Paint = Paint::new(GREY, BLACK);

/// What changes on a screen by itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Phase {
    /// The phase of what flashes: only lane badges and the hatch differ by it, and only while an alert waits for a key.
    pub flash: bool,
    /// How much of the hold of the knob is over that undoes, in thousandths; 0 while it is not held.
    pub held: u16,
}

impl Phase {
    /// Nothing flashes, nothing is held.
    pub const STILL: Self = Self { flash: false, held: 0 };
    /// The other phase of what flashes.
    pub const FLASH: Self = Self { flash: true, held: 0 };
}

impl Screen {
    /// Draws the whole picture for the colour panel.
    ///
    /// # Errors
    /// Those of the target.
    pub fn draw<D: DrawTarget<Color = Rgb565>>(&self, phase: Phase, target: &mut D) -> Result<(), D::Error> {
        draw(self, phase, &mut Canvas::new(target))
    }

    /// The texts that do not fit their place and would be drawn cut; empty for every recipe that its check let pass.
    pub fn too_wide(&self) -> Vec<String> {
        let mut nowhere = Nowhere;
        let mut canvas = Canvas::new(&mut nowhere);
        match draw(self, Phase::STILL, &mut canvas) {
            Ok(()) => canvas.too_wide,
            Err(never) => match never {},
        }
    }
}

fn draw<D: DrawTarget<Color = Rgb565>>(
    screen: &Screen,
    phase: Phase,
    canvas: &mut Canvas<'_, D>,
) -> Result<(), D::Error> {
    let flash = phase.flash;
    canvas.clear(BLACK)?;
    match screen {
        Screen::Starting(page) => pages::starting(canvas, page),
        Screen::List(page) => pages::list(canvas, page),
        Screen::Board(board) => {
            header(canvas, &board.header)?;
            band::draw(canvas, &board.band, flash)?;
            board.cells.iter().try_for_each(|cell| cells::draw(canvas, cell, flash))
        }
        Screen::Lane(page) => pages::lane(canvas, page, flash),
        Screen::Keep(page) => pages::keep(canvas, page, flash),
        Screen::Resume(page) => pages::resume(canvas, page, flash),
        Screen::Saved(page) => pages::saved(canvas, page),
        Screen::Moved(page) => moved::draw(canvas, page, flash),
        Screen::Outcome(page) => outcome::draw(canvas, page),
        Screen::ProbeCheck(page) => probe_check::draw(canvas, page),
        Screen::Join(page) => join::draw(canvas, page),
    }?;
    if phase.held > 0 { hold(canvas, phase.held) } else { Ok(()) }
}

/// The hold of the knob that undoes: an arrow that turns back and a bar that fills, in place of the line at the top.
fn hold<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, held: u16) -> Result<(), D::Error> {
    canvas.fill(Area::new(0, 0, 320, 24), BLACK)?;
    canvas.fill(Area::new(0, 24, 320, 1), LINE)?;
    sign::undo(canvas, 6, 2, ON_BLACK)?;
    let bar = Area::new(34, 4, 280, 16);
    canvas.framed(bar, 4, 2, ON_BLACK, BLACK)?;
    let inside = bar.inset(4);
    canvas.fill(Area::new(inside.x, inside.y, inside.w * i32::from(held.min(1000)) / 1000, inside.h), WHITE)
}

fn header<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, header: &Header) -> Result<(), D::Error> {
    // what the knob does must not be cut, so the right side is said shorter first
    let left = face::width(TextSize::S, header.left.full()) as i32;
    let room = (320 - 8 - 10 - left).clamp(150, 220);
    let right = face::width(TextSize::S, fitting(TextSize::S, &header.right, room)) as i32;
    canvas.cut_text(TextSize::S, &header.left, Place::left(4, 20, 320 - 8 - right - 10), QUIET)?;
    canvas.text(TextSize::S, &header.right, Place::right(316, 20, right.max(room)), ON_BLACK)?;
    canvas.fill(Area::new(0, 24, 320, 1), LINE)
}

/// Two buttons side by side, of one width if their words have room so.
fn buttons<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    y: i32,
    height: i32,
    buttons: &[Button; 2],
) -> Result<(), D::Error> {
    const ALL: i32 = 312 - BUTTON_GAP;
    let [first, second] = buttons;
    // as little is shortened as can be; of two equal ways, the marks of turning say already that it is the knob
    let ways = lengths(first).flat_map(|left| lengths(second).map(move |right| (left, right)));
    let fitting = ways.filter(|(left, right)| left.wide + right.wide <= ALL);
    let (left, right) = fitting
        .min_by_key(|(left, right)| (left.step + right.step, if first.turns { right.step } else { left.step }))
        .unwrap_or((Worded::least(first), Worded::least(second)));
    let half = ALL / 2;
    // the one that needs more than half gets it, and both have the same room to spare
    let even = left.wide + (ALL - left.wide - right.wide) / 2;
    let split = if left.wide.max(right.wide) > half { even } else { half };
    let areas = [Area::new(4, y, split, height), Area::new(4 + split + BUTTON_GAP, y, ALL - split, height)];
    let shown = buttons.iter().zip([left, right]).zip(areas);
    shown.filter(|((button, _), _)| !button.text.is_empty()).try_for_each(|((button, worded), area)| {
        let at = Place::middle(area.middle(), area.y + (height + 16) / 2, area.w - margins(button));
        if button.strong {
            canvas.rounded(area, 5, ON_BLACK)?;
        } else {
            canvas.framed(area, 5, 1, ON_BLACK, BLACK)?;
        }
        let paint = if button.strong { ON_WHITE } else { ON_BLACK };
        if button.turns {
            turn_marks(canvas, area, paint)?;
        }
        canvas.text(TextSize::S, &worded.text, at, paint)
    })
}

/// One length of a button's words, and what the button needs for it.
#[derive(Clone, Copy)]
struct Worded<'a> {
    text: &'a str,
    /// Which length, the fullest first.
    step: usize,
    wide: i32,
}

impl<'a> Worded<'a> {
    fn of(button: &Button, step: usize, text: &'a str) -> Self {
        Self { text, step, wide: face::width(TextSize::S, text) as i32 + margins(button) }
    }

    fn least(button: &'a Button) -> Self {
        Self::of(button, usize::MAX, button.text.least())
    }
}

fn lengths(button: &Button) -> impl Iterator<Item = Worded<'_>> {
    let nothing = button.text.is_empty().then(|| Worded::of(button, 0, ""));
    button.text.lengths().enumerate().map(|(step, text)| Worded::of(button, step, text)).chain(nothing)
}

/// Between two buttons.
const BUTTON_GAP: i32 = 4;

/// What a button needs beside its words.
const fn margins(button: &Button) -> i32 {
    if button.turns { 28 } else { 8 }
}

/// A triangle at each end: turn the knob for another choice.
fn turn_marks<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    paint: Paint,
) -> Result<(), D::Error> {
    let middle = area.h as f32 / 2.0;
    let mark = |x| Area::new(x, area.y, 7, area.h);
    canvas.shape(mark(area.x + 3), paint, |x, y| (y - middle).abs() <= x * 0.75)?;
    canvas.shape(mark(area.right() - 10), paint, |x, y| (y - middle).abs() <= (7.0 - x) * 0.75)
}

/// Takes a drawing and keeps nothing.
struct Nowhere;

impl OriginDimensions for Nowhere {
    fn size(&self) -> Size {
        Size::new(frame::WIDTH, frame::HEIGHT)
    }
}

impl DrawTarget for Nowhere {
    type Color = Rgb565;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb565>>>(&mut self, _pixels: I) -> Result<(), Infallible> {
        Ok(())
    }

    fn fill_solid(
        &mut self,
        _area: &embedded_graphics::primitives::Rectangle,
        _colour: Rgb565,
    ) -> Result<(), Infallible> {
        Ok(())
    }
}
