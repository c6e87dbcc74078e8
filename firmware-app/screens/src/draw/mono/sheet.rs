use alloc::{string::String, vec::Vec};

use embedded_graphics::{
    Pixel,
    draw_target::DrawTarget,
    geometry::{Point, Size},
    pixelcolor::BinaryColor,
    primitives::Rectangle,
};
use face::BitSize;
use words::Text;

use super::letters::{self, BOTH, Letters};
use crate::canvas::{Align, Area};

/// Lit and dark.
pub(super) const LIT: BinaryColor = BinaryColor::On;
pub(super) const DARK: BinaryColor = BinaryColor::Off;

/// Where a line of words stands: from the top of its letters' box.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub(super) x: i32,
    pub(super) y: i32,
    pub(super) align: Align,
    pub(super) room: i32,
}

impl Line {
    pub(super) const fn left(x: i32, y: i32, room: i32) -> Self {
        Self { x, y, align: Align::Left, room }
    }

    pub(super) const fn middle(x: i32, y: i32, room: i32) -> Self {
        Self { x, y, align: Align::Middle, room }
    }

    pub(super) const fn right(x: i32, y: i32, room: i32) -> Self {
        Self { x, y, align: Align::Right, room }
    }

    fn from(self, wide: i32) -> i32 {
        match self.align {
            Align::Left => self.x,
            Align::Middle => self.x - wide / 2,
            Align::Right => self.x - wide,
        }
    }
}

/// Draws in one bit on any target.
///
/// A text of which no length fits is kept in `too_wide` and drawn cut, never over its neighbour.
pub(super) struct Sheet<'a, D> {
    target: &'a mut D,
    pub(super) too_wide: Vec<String>,
}

impl<'a, D: DrawTarget<Color = BinaryColor>> Sheet<'a, D> {
    pub(super) fn new(target: &'a mut D) -> Self {
        Self { target, too_wide: Vec::new() }
    }

    pub(super) fn clear(&mut self, colour: BinaryColor) -> Result<(), D::Error> {
        self.target.clear(colour)
    }

    pub(super) fn fill(&mut self, area: Area, colour: BinaryColor) -> Result<(), D::Error> {
        let size = Size::new(area.w.max(0) as u32, area.h.max(0) as u32);
        self.target.fill_solid(&Rectangle::new(Point::new(area.x, area.y), size), colour)
    }

    /// A frame along the inside of an area.
    pub(super) fn frame(&mut self, area: Area, width: i32, colour: BinaryColor) -> Result<(), D::Error> {
        self.fill(Area::new(area.x, area.y, area.w, width), colour)?;
        self.fill(Area::new(area.x, area.bottom() - width, area.w, width), colour)?;
        self.fill(Area::new(area.x, area.y, width, area.h), colour)?;
        self.fill(Area::new(area.right() - width, area.y, width, area.h), colour)
    }

    /// All pixels of an area for which `inside` holds; counted from its corner.
    pub(super) fn shape(
        &mut self,
        area: Area,
        colour: BinaryColor,
        inside: impl Fn(i32, i32) -> bool,
    ) -> Result<(), D::Error> {
        let inside = &inside;
        let places = (0..area.h).flat_map(|y| (0..area.w).map(move |x| (x, y))).filter(|(x, y)| inside(*x, *y));
        self.target.draw_iter(places.map(|(x, y)| Pixel(Point::new(area.x + x, area.y + y), colour)))
    }

    /// The fullest length of a text that fits, in one size.
    pub(super) fn text(&mut self, size: Letters, text: &Text, at: Line, colour: BinaryColor) -> Result<i32, D::Error> {
        self.in_sizes(&[size], text, at, colour)
    }

    /// The fullest length of a text that fits: large letters if it fits so, else small ones. The line is that of the small.
    pub(super) fn large_text(&mut self, text: &Text, at: Line, colour: BinaryColor) -> Result<i32, D::Error> {
        self.in_sizes(&BOTH, text, at, colour)
    }

    /// Gives the width that was taken. Letters of all sizes stand on the line of the smallest.
    fn in_sizes(&mut self, sizes: &[Letters], text: &Text, at: Line, colour: BinaryColor) -> Result<i32, D::Error> {
        let Some(least) = sizes.last().copied().filter(|_| !text.is_empty()) else { return Ok(0) };
        let fits = |text: &str| sizes.iter().copied().find(|size| size.width(text) <= at.room);
        let found = text.lengths().find_map(|text| fits(text).map(|size| (size, letters::known(text))));
        let (size, shown) = found.unwrap_or_else(|| {
            self.too_wide.push(text.full().into());
            (least, letters::cut(least, text.least(), at.room))
        });
        let at = Line { y: at.y + least.baseline() - size.baseline(), ..at };
        self.letters(size, &shown, at, colour)
    }

    /// A text that may be cut.
    pub(super) fn cut_text(
        &mut self,
        size: Letters,
        text: &Text,
        at: Line,
        colour: BinaryColor,
    ) -> Result<i32, D::Error> {
        let shown = letters::cut(size, text.full(), at.room);
        self.letters(size, &shown, at, colour)
    }

    /// A text over so many lines of a size; nothing is drawn if no length fits.
    pub(super) fn lines(
        &mut self,
        size: Letters,
        text: &Text,
        at: Line,
        step: i32,
        count: usize,
        colour: BinaryColor,
    ) -> Result<bool, D::Error> {
        let broken = text.lengths().find_map(|text| letters::broken(size, text, at.room, count));
        let Some(lines) = broken else { return Ok(false) };
        self.all_lines(size, &lines, at, step, colour)?;
        Ok(true)
    }

    /// These lines, one under the other.
    pub(super) fn all_lines(
        &mut self,
        size: Letters,
        lines: &[String],
        at: Line,
        step: i32,
        colour: BinaryColor,
    ) -> Result<(), D::Error> {
        for (i, line) in (0..).zip(lines) {
            let shown = letters::cut(size, line, at.room);
            self.letters(size, &shown, Line { y: at.y + i * step, ..at }, colour)?;
        }
        Ok(())
    }

    /// Letters as they are, whatever room there is; gives their width.
    pub(super) fn letters(
        &mut self,
        size: Letters,
        text: &str,
        at: Line,
        colour: BinaryColor,
    ) -> Result<i32, D::Error> {
        let wide = size.width(text);
        let mut x = at.from(wide);
        for letter in text.chars() {
            let drawn = size.letter(letter);
            self.target.draw_iter(drawn.inked.iter().map(|(px, py)| Pixel(Point::new(x + px, at.y + py), colour)))?;
            x += drawn.advance;
        }
        Ok(wide)
    }

    /// Large figures on a baseline: the fullest length that fits and that the size has, else bold letters.
    pub(super) fn figures(
        &mut self,
        size: BitSize,
        text: &Text,
        at: Line,
        colour: BinaryColor,
    ) -> Result<i32, D::Error> {
        let fits = |text: &&str| size.width(text).is_some_and(|wide| wide as i32 <= at.room);
        let Some(shown) = text.lengths().find(fits) else {
            let top = at.y - Letters::Small.baseline();
            return self.large_text(text, Line { y: top, ..at }, colour);
        };
        let wide = size.width(shown).unwrap_or(0) as i32;
        let mut x = at.from(wide);
        for glyph in shown.chars().filter_map(|letter| size.glyph(letter)) {
            self.target.draw_iter(glyph.inked().map(|(px, py)| Pixel(Point::new(x + px, at.y + py), colour)))?;
            x += glyph.advance as i32;
        }
        Ok(wide)
    }
}

/// How wide figures are drawn, if a length fits the room.
pub(super) fn figures_width(size: BitSize, text: &Text, room: i32) -> Option<i32> {
    text.lengths().filter_map(|text| size.width(text)).map(|wide| wide as i32).find(|wide| *wide <= room)
}
