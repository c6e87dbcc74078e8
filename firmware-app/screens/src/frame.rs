use alloc::{vec, vec::Vec};
use core::convert::Infallible;

use embedded_graphics::{
    Pixel,
    draw_target::DrawTarget,
    geometry::{Dimensions, OriginDimensions, Point, Size},
    pixelcolor::{IntoStorage, Rgb565, RgbColor, raw::RawU16},
    primitives::{PointsIter, Rectangle},
};

use crate::{PanelFrame, Phase, Screen, colour::BLACK};

/// Width of the colour panel.
pub const WIDTH: u32 = 320;
/// Height of the colour panel.
pub const HEIGHT: u32 = 240;
/// Width of a tile: the grain in which a change is found.
const TILE_WIDTH: u32 = 8;
/// Height of a tile.
const TILE_HEIGHT: u32 = 6;

/// A whole picture of the colour panel, drawn before any of it is sent.
#[derive(Clone, PartialEq, Eq)]
pub struct Frame {
    /// As the panel stores them, so that rows are compared as plain memory.
    pixels: Vec<u16>,
}

impl Default for Frame {
    fn default() -> Self {
        Self { pixels: vec![BLACK.into_storage(); (WIDTH * HEIGHT) as usize] }
    }
}

impl Frame {
    /// The colour of a pixel; nothing outside the panel.
    pub fn pixel(&self, x: i32, y: i32) -> Option<Rgb565> {
        place(x, y).map(|at| colour(self.pixels[at]))
    }

    /// Red, green and blue of each pixel, row by row: for a picture file.
    pub fn to_rgb888(&self) -> Vec<u8> {
        let widen5 = |value: u8| value << 3 | value >> 2;
        let widen6 = |value: u8| value << 2 | value >> 4;
        self.pixels
            .iter()
            .map(|stored| colour(*stored))
            .flat_map(|p| [widen5(p.r()), widen6(p.g()), widen5(p.b())])
            .collect()
    }

    /// The bytes of a part as the panel takes them: 16 bits a pixel, high byte first, row by row.
    pub fn to_panel_bytes(&self, part: &Rectangle) -> Vec<u8> {
        self.rows_of(part).flatten().flat_map(|stored| stored.to_be_bytes()).collect()
    }

    /// The parts that differ from what the panel shows, joined along each row of tiles; sending them makes it show this
    /// frame.
    pub fn changes_from(&self, shown: &Self) -> Vec<Rectangle> {
        let mut changes: Vec<Rectangle> = Vec::new();
        for row in 0..HEIGHT / TILE_HEIGHT {
            // most rows of tiles are as they were, and a whole row is compared in one go
            let whole = (row * TILE_HEIGHT * WIDTH) as usize..((row + 1) * TILE_HEIGHT * WIDTH) as usize;
            if self.pixels[whole.clone()] == shown.pixels[whole] {
                continue;
            }
            for column in 0..WIDTH / TILE_WIDTH {
                if self.tile_equals(shown, column, row) {
                    continue;
                }
                let corner = Point::new((column * TILE_WIDTH) as i32, (row * TILE_HEIGHT) as i32);
                match changes.last_mut() {
                    Some(last)
                        if last.top_left.y == corner.y && last.top_left.x + last.size.width as i32 == corner.x =>
                    {
                        last.size.width += TILE_WIDTH;
                    }
                    Some(_) | None => changes.push(Rectangle::new(corner, Size::new(TILE_WIDTH, TILE_HEIGHT))),
                }
            }
        }
        changes
    }

    /// The pixels of a part, as far as it lies on the panel, row by row.
    fn rows_of(&self, part: &Rectangle) -> impl Iterator<Item = &[u16]> {
        let part = part.intersection(&self.bounding_box());
        part.rows().filter_map(move |y| {
            let from = place(part.top_left.x, y)?;
            Some(&self.pixels[from..from + part.size.width as usize])
        })
    }

    fn tile_equals(&self, other: &Self, column: u32, row: u32) -> bool {
        (row * TILE_HEIGHT..(row + 1) * TILE_HEIGHT).all(|y| {
            let from = (y * WIDTH + column * TILE_WIDTH) as usize;
            let part = from..from + TILE_WIDTH as usize;
            self.pixels[part.clone()] == other.pixels[part]
        })
    }
}

impl PanelFrame for Frame {
    type Color = Rgb565;

    fn render(&mut self, screen: &Screen, phase: Phase) {
        // a frame in memory takes every pixel
        let Ok(()) = screen.draw(phase, self);
    }

    fn changes_from(&self, shown: &Self) -> Vec<Rectangle> {
        Self::changes_from(self, shown)
    }

    fn pixels(&self, part: &Rectangle) -> impl Iterator<Item = Rgb565> {
        self.rows_of(part).flatten().map(|stored| colour(*stored))
    }

    fn bytes(part: &Rectangle) -> usize {
        (part.size.width * part.size.height * 2) as usize
    }

    fn whole() -> Rectangle {
        Rectangle::new(Point::zero(), Size::new(WIDTH, HEIGHT))
    }
}

fn colour(stored: u16) -> Rgb565 {
    RawU16::new(stored).into()
}

fn place(x: i32, y: i32) -> Option<usize> {
    // what is negative becomes larger than any panel
    let (x, y) = (x as u32, y as u32);
    (x < WIDTH && y < HEIGHT).then_some((y * WIDTH + x) as usize)
}

impl core::fmt::Debug for Frame {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "Frame({WIDTH}x{HEIGHT})")
    }
}

impl OriginDimensions for Frame {
    fn size(&self) -> Size {
        Size::new(WIDTH, HEIGHT)
    }
}

impl DrawTarget for Frame {
    type Color = Rgb565;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb565>>>(&mut self, pixels: I) -> Result<(), Infallible> {
        for Pixel(point, ink) in pixels {
            if let Some(at) = place(point.x, point.y) {
                self.pixels[at] = ink.into_storage();
            }
        }
        Ok(())
    }

    fn fill_contiguous<I: IntoIterator<Item = Rgb565>>(
        &mut self,
        area: &Rectangle,
        colours: I,
    ) -> Result<(), Infallible> {
        let mut colours = colours.into_iter();
        let whole = area.intersection(&self.bounding_box()) == *area;
        if !whole {
            // a part outside the panel takes its colours and shows none of them
            return self.draw_iter(area.points().zip(colours).map(|(point, colour)| Pixel(point, colour)));
        }
        for y in area.rows() {
            if let Some(from) = place(area.top_left.x, y) {
                let row = &mut self.pixels[from..from + area.size.width as usize];
                row.iter_mut().zip(&mut colours).for_each(|(pixel, colour)| *pixel = colour.into_storage());
            }
        }
        Ok(())
    }

    fn fill_solid(&mut self, area: &Rectangle, colour: Rgb565) -> Result<(), Infallible> {
        let area = area.intersection(&self.bounding_box());
        for y in area.rows() {
            if let Some(from) = place(area.top_left.x, y) {
                self.pixels[from..from + area.size.width as usize].fill(colour.into_storage());
            }
        }
        Ok(())
    }

    fn clear(&mut self, colour: Rgb565) -> Result<(), Infallible> {
        self.pixels.fill(colour.into_storage());
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{WHITE, YELLOW};

    #[test]
    fn a_frame_equal_to_the_shown_one_sends_nothing() {
        assert!(Frame::default().changes_from(&Frame::default()).is_empty());
    }

    #[test]
    fn sending_the_changes_makes_the_panel_show_the_frame() {
        let shown = Frame::default();
        let mut frame = Frame::default();
        let _ = frame.fill_solid(&Rectangle::new(Point::new(5, 3), Size::new(20, 4)), WHITE);
        let _ = frame.draw_iter([Pixel(Point::new(319, 239), YELLOW)]);
        let changes = frame.changes_from(&shown);
        // the white bar lies in four tiles of two rows
        assert_eq!(changes.iter().map(|part| part.size.width).collect::<Vec<_>>(), [32, 32, 8]);

        let mut panel = shown;
        for part in &changes {
            let bytes = frame.to_panel_bytes(part);
            assert_eq!(bytes.len() as u32, part.size.width * part.size.height * 2);
            for (pixel, pair) in part.rows().flat_map(|y| part.columns().map(move |x| (x, y))).zip(bytes.chunks(2)) {
                let raw = u16::from_be_bytes([pair[0], pair[1]]);
                let colour = Rgb565::from(embedded_graphics::pixelcolor::raw::RawU16::new(raw));
                let _ = panel.draw_iter([Pixel(Point::new(pixel.0, pixel.1), colour)]);
            }
        }
        assert_eq!(panel, frame);
    }

    #[test]
    fn drawing_outside_the_panel_changes_nothing() {
        let mut frame = Frame::default();
        let _ = frame.fill_solid(&Rectangle::new(Point::new(-9, -9), Size::new(5, 5)), WHITE);
        let _ = frame.draw_iter([Pixel(Point::new(320, 0), WHITE), Pixel(Point::new(0, 240), WHITE)]);
        assert_eq!(frame, Frame::default());
    }

    #[test]
    fn white_stays_white_in_a_picture_file() {
        let mut frame = Frame::default();
        let _ = frame.clear(WHITE);
        assert!(frame.to_rgb888().iter().all(|byte| *byte == 255));
    }
}
