use alloc::{borrow::Cow, string::String, vec::Vec};

use embedded_graphics::{
    Pixel,
    draw_target::DrawTarget,
    geometry::{Point, Size},
    pixelcolor::Rgb565,
    primitives::Rectangle,
};
use face::Size as TextSize;
use words::Text;

use crate::colour::{TEXT, blend};

/// A place on the panel, in px.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Area {
    pub(crate) x: i32,
    pub(crate) y: i32,
    pub(crate) w: i32,
    pub(crate) h: i32,
}

impl Area {
    pub(crate) const fn new(x: i32, y: i32, w: i32, h: i32) -> Self {
        Self { x, y, w, h }
    }

    /// Smaller by `by` on each side.
    pub(crate) const fn inset(self, by: i32) -> Self {
        Self::new(self.x + by, self.y + by, self.w - 2 * by, self.h - 2 * by)
    }

    pub(crate) const fn right(self) -> i32 {
        self.x + self.w
    }

    pub(crate) const fn bottom(self) -> i32 {
        self.y + self.h
    }

    pub(crate) const fn middle(self) -> i32 {
        self.x + self.w / 2
    }
}

/// Colour of what is drawn and of what lies under it, so that edges can be smooth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Paint {
    pub(crate) ink: Rgb565,
    pub(crate) ground: Rgb565,
}

impl Paint {
    pub(crate) const fn new(ink: Rgb565, ground: Rgb565) -> Self {
        Self { ink, ground }
    }

    pub(crate) const fn reversed(self) -> Self {
        Self { ink: self.ground, ground: self.ink }
    }
}

/// Where a text stands against its x.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Align {
    Left,
    Middle,
    Right,
}

/// Draws smooth shapes and letters on any target.
///
/// A text that does not fit its room is kept in `too_wide` and drawn cut, never over its neighbour.
pub(crate) struct Canvas<'a, D> {
    target: &'a mut D,
    pub(crate) too_wide: Vec<String>,
}

impl<'a, D: DrawTarget<Color = Rgb565>> Canvas<'a, D> {
    pub(crate) fn new(target: &'a mut D) -> Self {
        Self { target, too_wide: Vec::new() }
    }

    pub(crate) fn clear(&mut self, colour: Rgb565) -> Result<(), D::Error> {
        self.target.clear(colour)
    }

    pub(crate) fn fill(&mut self, area: Area, colour: Rgb565) -> Result<(), D::Error> {
        let size = Size::new(area.w.max(0) as u32, area.h.max(0) as u32);
        self.target.fill_solid(&Rectangle::new(Point::new(area.x, area.y), size), colour)
    }

    /// A filled rectangle with round corners.
    pub(crate) fn rounded(&mut self, area: Area, radius: i32, paint: Paint) -> Result<(), D::Error> {
        self.fill(Area::new(area.x + radius, area.y, area.w - 2 * radius, area.h), paint.ink)?;
        self.fill(Area::new(area.x, area.y + radius, area.w, area.h - 2 * radius), paint.ink)?;
        let (r, far_x, far_y) = (radius as f32, (area.w - radius) as f32, (area.h - radius) as f32);
        for (x, y, cx, cy) in [
            (area.x, area.y, r, r),
            (area.right() - radius, area.y, far_x, r),
            (area.x, area.bottom() - radius, r, far_y),
            (area.right() - radius, area.bottom() - radius, far_x, far_y),
        ] {
            let (dx, dy) = ((x - area.x) as f32, (y - area.y) as f32);
            self.shape(Area::new(x, y, radius, radius), paint, |px, py| within(px + dx - cx, py + dy - cy, r))?;
        }
        Ok(())
    }

    /// A frame with round corners; `inside` is what it holds, its ground what lies round it.
    pub(crate) fn framed(
        &mut self,
        area: Area,
        radius: i32,
        width: i32,
        line: Paint,
        inside: Rgb565,
    ) -> Result<(), D::Error> {
        self.rounded(area, radius, line)?;
        self.rounded(area.inset(width), (radius - width).max(1), Paint::new(inside, line.ink))
    }

    /// All of an area for which `inside` holds, with smooth edges. Coordinates are px from the area's corner.
    pub(crate) fn shape(
        &mut self,
        area: Area,
        paint: Paint,
        inside: impl Fn(f32, f32) -> bool,
    ) -> Result<(), D::Error> {
        const SUB: i32 = 4;
        let inks = inks(paint);
        let sub = |at: i32, i: i32| at as f32 + (i as f32 + 0.5) / SUB as f32;
        let inside = &inside;
        let pixels = (0..area.h).flat_map(|y| (0..area.w).map(move |x| (x, y))).filter_map(|(x, y)| {
            // no shape here is so thin that it passes between these: most pixels are all in or all out
            let corner = |i: i32, k: i32| inside(sub(x, i), sub(y, k));
            let first = corner(0, 0);
            let even =
                [(3, 0), (0, 3), (3, 3), (1, 1), (2, 2), (2, 1), (1, 2)].iter().all(|(i, k)| corner(*i, *k) == first);
            let alpha = match (even, first) {
                (true, true) => 15,
                (true, false) => return None,
                (false, _) => {
                    let hits = (0..SUB * SUB).filter(|i| corner(i % SUB, i / SUB)).count();
                    (hits * 15).div_ceil((SUB * SUB) as usize)
                }
            };
            Some(Pixel(Point::new(area.x + x, area.y + y), inks[alpha]))
        });
        self.target.draw_iter(pixels)
    }

    /// The fullest length of a text that fits its room; a text of which none fits is cut, and kept in `too_wide`.
    pub(crate) fn text(&mut self, size: TextSize, text: &impl Said, at: Place, paint: Paint) -> Result<(), D::Error> {
        let text = fitting(size, text, at.room);
        let shown = cut(size, text, at.room);
        if shown != text {
            self.too_wide.push(text.into());
        }
        self.letters(size, &shown, at, paint)
    }

    /// A text that may be cut with dots: it is cut from its fullest length, for that says most in the same room.
    pub(crate) fn cut_text(
        &mut self,
        size: TextSize,
        text: &impl Said,
        at: Place,
        paint: Paint,
    ) -> Result<(), D::Error> {
        let shown = cut(size, text.full(), at.room);
        self.letters(size, &shown, at, paint)
    }

    /// A text over so many lines, broken at spaces; what does not fit is cut, and kept in `too_wide`.
    pub(crate) fn lines(
        &mut self,
        size: TextSize,
        text: &Text,
        at: Place,
        step: i32,
        count: usize,
        paint: Paint,
    ) -> Result<usize, D::Error> {
        let room = at.room.max(0) as u32;
        let broken = text.lengths().find_map(|text| broken(size, text, room, count));
        let lines = broken.unwrap_or_else(|| {
            self.too_wide.push(text.full().into());
            let mut lines = flowed(size, text.full(), room);
            lines.truncate(count);
            lines
        });
        for (i, line) in (0..).zip(&lines) {
            let place = Place { baseline: at.baseline + i * step, ..at };
            self.letters(size, &cut(size, line, at.room), place, paint)?;
        }
        Ok(lines.len())
    }

    fn letters(&mut self, size: TextSize, text: &str, at: Place, paint: Paint) -> Result<(), D::Error> {
        debug_assert!(TEXT.contains(&paint.ink) && TEXT.contains(&paint.ground), "{text:?} in a colour of signs");
        let wide = face::width(size, text) as i32 + at.tracking * text.chars().count() as i32;
        let mut x = match at.align {
            Align::Left => at.x,
            Align::Middle => at.x - wide / 2,
            Align::Right => at.x - wide,
        };
        let inks = inks(paint);
        for letter in text.chars() {
            let Some(glyph) = face::glyph(size, letter).or_else(|| face::glyph(size, '?')) else {
                x += face::width(size, "0") as i32;
                continue;
            };
            let (left, top, right) = (x + glyph.x, at.baseline + glyph.y, x + glyph.x + glyph.w as i32);
            let mut here = Point::new(left, top);
            let pixels = glyph.inks().filter_map(|ink| {
                let pixel = (ink > 0).then(|| Pixel(here, inks[usize::from(ink & 15)]));
                here.x += 1;
                if here.x == right {
                    here = Point::new(left, here.y + 1);
                }
                pixel
            });
            self.target.draw_iter(pixels)?;
            x += glyph.advance as i32 + at.tracking;
        }
        Ok(())
    }
}

/// The colours from ground to ink.
fn inks(paint: Paint) -> [Rgb565; 16] {
    core::array::from_fn(|alpha| blend(paint.ink, paint.ground, alpha as u8))
}

/// A text in one or more lengths.
pub(crate) trait Said {
    /// The fullest that fits; the shortest if none does.
    fn fitting(&self, fits: &dyn Fn(&str) -> bool) -> &str;
    /// The fullest.
    fn full(&self) -> &str;
}

impl Said for Text {
    fn fitting(&self, fits: &dyn Fn(&str) -> bool) -> &str {
        Text::fitting(self, fits)
    }

    fn full(&self) -> &str {
        Text::full(self)
    }
}

impl Said for &str {
    fn fitting(&self, _fits: &dyn Fn(&str) -> bool) -> &str {
        self
    }

    fn full(&self) -> &str {
        self
    }
}

impl Said for String {
    fn fitting(&self, _fits: &dyn Fn(&str) -> bool) -> &str {
        self
    }

    fn full(&self) -> &str {
        self
    }
}

/// The fullest length that fits a room in px and whose letters the size has.
pub(crate) fn fitting(size: TextSize, text: &impl Said, room: i32) -> &str {
    text.fitting(&|text| face::width(size, text) as i32 <= room && face::covers(size, text).is_ok())
}

/// The lines of a text, if it fits so many: as even as they can be, so that no word stands alone.
pub(crate) fn broken(size: TextSize, text: &str, room: u32, count: usize) -> Option<Vec<String>> {
    let lines = flowed(size, text, room);
    let fits = lines.len() <= count && lines.iter().all(|line| face::width(size, line) <= room);
    // a narrower room that needs no more lines makes them more even
    let even = (0..room).rev().map_while(|room| {
        let narrower = flowed(size, text, room);
        let fits = narrower.len() == lines.len() && narrower.iter().all(|line| face::width(size, line) <= room);
        fits.then_some(narrower)
    });
    fits.then(|| even.last().unwrap_or_else(|| lines.clone()))
}

/// The lines of a text as they fill a room, one after the other.
pub(crate) fn flowed(size: TextSize, text: &str, room: u32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if face::width(size, line) + face::width(size, " ") + face::width(size, word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) | None => lines.push(word.into()),
        }
    }
    lines
}

/// Where a text stands.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    pub(crate) x: i32,
    pub(crate) baseline: i32,
    pub(crate) align: Align,
    pub(crate) room: i32,
    /// Moves letters apart, or together if negative.
    pub(crate) tracking: i32,
}

impl Place {
    pub(crate) const fn left(x: i32, baseline: i32, room: i32) -> Self {
        Self { x, baseline, align: Align::Left, room, tracking: 0 }
    }

    pub(crate) const fn middle(x: i32, baseline: i32, room: i32) -> Self {
        Self { x, baseline, align: Align::Middle, room, tracking: 0 }
    }

    pub(crate) const fn right(x: i32, baseline: i32, room: i32) -> Self {
        Self { x, baseline, align: Align::Right, room, tracking: 0 }
    }
}

/// Whether a point lies within a circle round the origin.
pub(crate) fn within(x: f32, y: f32, radius: f32) -> bool {
    x * x + y * y <= radius * radius
}

/// The text, or as much of it as fits with dots after it.
pub(crate) fn cut(size: TextSize, text: &str, room: i32) -> Cow<'_, str> {
    let room = room.max(0) as u32;
    if face::width(size, text) <= room {
        return Cow::Borrowed(text);
    }
    let dots = if face::covers(size, "…").is_ok() { "…" } else { "" };
    let left = room.saturating_sub(face::width(size, dots));
    let mut taken = 0;
    let mut shown: String = text
        .chars()
        .take_while(|letter| {
            taken += face::width(size, letter.encode_utf8(&mut [0; 4]));
            taken <= left
        })
        .collect();
    shown.truncate(shown.trim_end().len());
    shown.push_str(dots);
    Cow::Owned(shown)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        Frame,
        colour::{BLACK, WHITE},
    };

    #[test]
    fn a_text_too_wide_is_reported_and_stays_in_its_room() {
        let mut frame = Frame::default();
        let mut canvas = Canvas::new(&mut frame);
        let at = Place::left(10, 30, 60);
        canvas.text(TextSize::S, &"Microwave oven", at, Paint::new(WHITE, BLACK)).unwrap();
        assert_eq!(canvas.too_wide, ["Microwave oven"]);
        let beyond = (0..240).flat_map(|y| (70..320).map(move |x| (x, y)));
        assert!(beyond.clone().all(|(x, y)| frame.pixel(x, y) == Some(BLACK)));
    }

    #[test]
    fn cut_text_keeps_its_start_and_shows_that_it_is_cut() {
        assert_eq!(cut(TextSize::S, "Slow roast shoulder", 112), "Slow roast…");
        assert_eq!(cut(TextSize::S, "Pan", 90), "Pan");
        assert!(face::width(TextSize::S, &cut(TextSize::S, "Slow roast shoulder", 112)) <= 112);
    }

    #[test]
    fn text_has_smooth_edges_between_ink_and_ground() {
        let mut frame = Frame::default();
        Canvas::new(&mut frame).text(TextSize::M, &"Oven", Place::left(0, 30, 100), Paint::new(WHITE, BLACK)).unwrap();
        let between = (0..240).flat_map(|y| (0..320).map(move |x| (x, y)));
        let greys = between.filter(|(x, y)| ![Some(BLACK), Some(WHITE)].contains(&frame.pixel(*x, *y))).count();
        assert!(greys > 50, "{greys}");
    }

    #[test]
    #[should_panic(expected = "in a colour of signs")]
    fn a_text_in_a_colour_of_signs_is_a_fault() {
        let mut frame = Frame::default();
        let paint = Paint::new(crate::colour::SKY, BLACK);
        let _ = Canvas::new(&mut frame).text(TextSize::S, &"26 min", Place::left(0, 20, 100), paint);
    }

    #[test]
    fn a_rounded_rectangle_leaves_its_corners() {
        let mut frame = Frame::default();
        Canvas::new(&mut frame).rounded(Area::new(10, 10, 40, 30), 6, Paint::new(WHITE, BLACK)).unwrap();
        assert_eq!(frame.pixel(10, 10), Some(BLACK));
        assert_eq!(frame.pixel(49, 39), Some(BLACK));
        assert_eq!(frame.pixel(30, 10), Some(WHITE));
        assert_eq!(frame.pixel(10, 25), Some(WHITE));
        assert_eq!(frame.pixel(50, 25), Some(BLACK));
    }
}
