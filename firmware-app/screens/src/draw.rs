//! Drawing of each kind of screen.

mod band;
mod cells;
mod pages;

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
    canvas::{Area, Canvas, Paint, Place},
    colour::{BLACK, GREY, LINE, WHITE},
    frame,
    screen::{Button, Header, Screen},
};

const ON_BLACK: Paint = Paint::new(WHITE, BLACK);
const ON_WHITE: Paint = Paint::new(BLACK, WHITE);
const QUIET: Paint = Paint::new(GREY, BLACK);

impl Screen {
    /// Draws the whole picture. `flash` is the phase of what flashes: only lane badges and the hatch differ by it, and
    /// only while an alert waits for a key.
    ///
    /// # Errors
    /// Those of the target.
    pub fn draw<D: DrawTarget<Color = Rgb565>>(&self, flash: bool, target: &mut D) -> Result<(), D::Error> {
        draw(self, flash, &mut Canvas::new(target))
    }

    /// The texts that do not fit their place and would be drawn cut; empty for every recipe that its check let pass.
    pub fn too_wide(&self) -> Vec<String> {
        let mut nowhere = Nowhere;
        let mut canvas = Canvas::new(&mut nowhere);
        match draw(self, false, &mut canvas) {
            Ok(()) => canvas.too_wide,
            Err(never) => match never {},
        }
    }
}

fn draw<D: DrawTarget<Color = Rgb565>>(
    screen: &Screen,
    flash: bool,
    canvas: &mut Canvas<'_, D>,
) -> Result<(), D::Error> {
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
    }
}

fn header<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, header: &Header) -> Result<(), D::Error> {
    let right = face::width(TextSize::S, &header.right) as i32;
    canvas.cut_text(TextSize::S, &header.left, Place::left(4, 20, 320 - 8 - right - 10), QUIET)?;
    canvas.text(TextSize::S, &header.right, Place::right(316, 20, 220), ON_BLACK)?;
    canvas.fill(Area::new(0, 24, 320, 1), LINE)
}

/// Two buttons side by side.
fn buttons<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    y: i32,
    height: i32,
    buttons: &[Button; 2],
) -> Result<(), D::Error> {
    let areas = [Area::new(4, y, 154, height), Area::new(162, y, 154, height)];
    buttons.iter().zip(areas).filter(|(button, _)| !button.text.is_empty()).try_for_each(|(button, area)| {
        let at = Place::middle(area.middle(), area.y + (height + 16) / 2, area.w - if button.turns { 24 } else { 8 });
        if button.strong {
            canvas.rounded(area, 5, ON_BLACK)?;
        } else {
            canvas.framed(area, 5, 1, ON_BLACK, BLACK)?;
        }
        let paint = if button.strong { ON_WHITE } else { ON_BLACK };
        if button.turns {
            // a triangle at each end: turn the knob for another choice
            let middle = height as f32 / 2.0;
            canvas.shape(Area::new(area.x + 4, area.y, 7, height), paint, |x, y| (y - middle).abs() <= x * 0.75)?;
            canvas.shape(Area::new(area.right() - 11, area.y, 7, height), paint, |x, y| {
                (y - middle).abs() <= (7.0 - x) * 0.75
            })?;
        }
        canvas.text(TextSize::S, &button.text, at, paint)
    })
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
