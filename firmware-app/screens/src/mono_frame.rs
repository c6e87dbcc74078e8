use alloc::{vec, vec::Vec};
use core::convert::Infallible;

use embedded_graphics::{
    Pixel,
    draw_target::DrawTarget,
    geometry::{Dimensions, OriginDimensions, Point, Size},
    pixelcolor::BinaryColor,
    primitives::Rectangle,
};

use crate::{Phase, Screen, refresh::PanelFrame};

/// Width of the panel of one bit.
pub const MONO_WIDTH: u32 = 128;
/// Height of the panel of one bit.
pub const MONO_HEIGHT: u32 = 64;
/// Rows that a controller with page addresses takes in one byte; a tile is as wide as high.
const TILE: u32 = 8;

/// A whole picture of the panel of one bit, drawn before any of it is sent.
///
/// It is kept as such a controller takes it: pages of eight rows, a byte for each column, the upper row low.
#[derive(Clone, PartialEq, Eq)]
pub struct MonoFrame {
    pages: Vec<u8>,
}

impl Default for MonoFrame {
    fn default() -> Self {
        Self { pages: vec![0; (MONO_WIDTH * MONO_HEIGHT / 8) as usize] }
    }
}

impl MonoFrame {
    /// Whether a pixel is lit; nothing outside the panel.
    pub fn pixel(&self, x: i32, y: i32) -> Option<bool> {
        place(x, y).map(|(at, bit)| self.pages[at] & bit != 0)
    }

    /// The parts that differ from what the panel shows, joined along each page; sending them makes it show this frame.
    pub fn changes_from(&self, shown: &Self) -> Vec<Rectangle> {
        let mut changes: Vec<Rectangle> = Vec::new();
        for page in 0..MONO_HEIGHT / TILE {
            for column in 0..MONO_WIDTH / TILE {
                let from = (page * MONO_WIDTH + column * TILE) as usize;
                let tile = from..from + TILE as usize;
                if self.pages[tile.clone()] == shown.pages[tile] {
                    continue;
                }
                let corner = Point::new((column * TILE) as i32, (page * TILE) as i32);
                match changes.last_mut() {
                    Some(last)
                        if last.top_left.y == corner.y && last.top_left.x + last.size.width as i32 == corner.x =>
                    {
                        last.size.width += TILE;
                    }
                    Some(_) | None => changes.push(Rectangle::new(corner, Size::new(TILE, TILE))),
                }
            }
        }
        changes
    }

    /// The bytes of a part of whole pages, page by page and column by column.
    pub fn to_panel_bytes(&self, part: &Rectangle) -> Vec<u8> {
        let part = part.intersection(&self.bounding_box());
        let pages = part.rows().filter(|y| y % TILE as i32 == 0);
        pages
            .flat_map(|y| part.columns().map(move |x| (x, y)))
            .filter_map(|(x, y)| place(x, y).map(|(at, _)| self.pages[at]))
            .collect()
    }

    /// The same picture moved right and down; what leaves at one edge comes in at the other, so nothing is lost.
    #[must_use]
    pub fn moved_by(&self, right: u32, down: u32) -> Self {
        let mut moved = Self::default();
        let places = (0..MONO_HEIGHT).flat_map(|y| (0..MONO_WIDTH).map(move |x| (x, y)));
        for (x, y) in places.filter(|(x, y)| self.pixel(*x as i32, *y as i32) == Some(true)) {
            moved.set((x + right) % MONO_WIDTH, (y + down) % MONO_HEIGHT, true);
        }
        moved
    }

    /// Red, green and blue of each pixel, row by row, `scale` times as wide and high: for a picture file.
    pub fn to_rgb888(&self, scale: u32) -> Vec<u8> {
        let scale = scale.max(1);
        let places =
            (0..MONO_HEIGHT * scale).flat_map(|y| (0..MONO_WIDTH * scale).map(move |x| (x / scale, y / scale)));
        let level = |lit| if lit { 255 } else { 0 };
        places.flat_map(|(x, y)| [level(self.pixel(x as i32, y as i32) == Some(true)); 3]).collect()
    }

    fn set(&mut self, x: u32, y: u32, lit: bool) {
        if let Some((at, bit)) = place(x as i32, y as i32) {
            if lit {
                self.pages[at] |= bit;
            } else {
                self.pages[at] &= !bit;
            }
        }
    }
}

fn place(x: i32, y: i32) -> Option<(usize, u8)> {
    let (x, y) = (u32::try_from(x).ok()?, u32::try_from(y).ok()?);
    (x < MONO_WIDTH && y < MONO_HEIGHT).then_some(((y / TILE * MONO_WIDTH + x) as usize, 1 << (y % TILE)))
}

impl core::fmt::Debug for MonoFrame {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "MonoFrame({MONO_WIDTH}x{MONO_HEIGHT})")
    }
}

impl OriginDimensions for MonoFrame {
    fn size(&self) -> Size {
        Size::new(MONO_WIDTH, MONO_HEIGHT)
    }
}

impl DrawTarget for MonoFrame {
    type Color = BinaryColor;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<BinaryColor>>>(&mut self, pixels: I) -> Result<(), Infallible> {
        for Pixel(point, colour) in pixels {
            if let (Ok(x), Ok(y)) = (u32::try_from(point.x), u32::try_from(point.y)) {
                self.set(x, y, colour.is_on());
            }
        }
        Ok(())
    }

    fn clear(&mut self, colour: BinaryColor) -> Result<(), Infallible> {
        self.pages.fill(if colour.is_on() { 0xff } else { 0 });
        Ok(())
    }
}

impl PanelFrame for MonoFrame {
    type Color = BinaryColor;

    fn render(&mut self, screen: &Screen, phase: Phase) {
        let Ok(()) = screen.draw_mono(phase, self);
    }

    fn changes_from(&self, shown: &Self) -> Vec<Rectangle> {
        self.changes_from(shown)
    }

    fn pixels(&self, part: &Rectangle) -> impl Iterator<Item = BinaryColor> {
        let part = part.intersection(&self.bounding_box());
        let places = part.rows().flat_map(move |y| part.columns().map(move |x| (x, y)));
        places.map(|(x, y)| BinaryColor::from(self.pixel(x, y) == Some(true)))
    }

    fn bytes(part: &Rectangle) -> usize {
        (part.size.width * part.size.height).div_ceil(8) as usize
    }

    fn whole() -> Rectangle {
        Rectangle::new(Point::zero(), Size::new(MONO_WIDTH, MONO_HEIGHT))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sending_the_changes_makes_the_panel_show_the_frame() {
        let shown = MonoFrame::default();
        let mut frame = MonoFrame::default();
        let _ = frame.fill_solid(&Rectangle::new(Point::new(5, 3), Size::new(20, 7)), BinaryColor::On);
        let _ = frame.draw_iter([Pixel(Point::new(127, 63), BinaryColor::On)]);
        let changes = frame.changes_from(&shown);
        // the bar lies in four tiles of two pages
        assert_eq!(changes.iter().map(|part| part.size.width).collect::<Vec<_>>(), [32, 32, 8]);
        let mut panel = shown;
        for part in &changes {
            let bytes = frame.to_panel_bytes(part);
            assert_eq!(bytes.len(), MonoFrame::bytes(part));
            let from = place(part.top_left.x, part.top_left.y).map_or(0, |(at, _)| at);
            panel.pages[from..from + bytes.len()].copy_from_slice(&bytes);
        }
        assert_eq!(panel, frame);
        assert!(frame.changes_from(&frame).is_empty());
    }

    #[test]
    fn the_upper_row_of_a_page_is_the_low_bit() {
        let mut frame = MonoFrame::default();
        let _ = frame.draw_iter([Pixel(Point::new(2, 8), BinaryColor::On), Pixel(Point::new(2, 11), BinaryColor::On)]);
        let bytes = frame.to_panel_bytes(&Rectangle::new(Point::new(0, 8), Size::new(8, 8)));
        assert_eq!(bytes, [0, 0, 0b1001, 0, 0, 0, 0, 0]);
    }

    #[test]
    fn a_moved_picture_loses_nothing_and_comes_back() {
        let mut frame = MonoFrame::default();
        let _ =
            frame.draw_iter([Pixel(Point::new(127, 63), BinaryColor::On), Pixel(Point::new(5, 9), BinaryColor::On)]);
        let moved = frame.moved_by(1, 1);
        assert_eq!((moved.pixel(0, 0), moved.pixel(6, 10)), (Some(true), Some(true)));
        assert_eq!(moved.moved_by(MONO_WIDTH - 1, MONO_HEIGHT - 1), frame);
    }

    #[test]
    fn a_picture_file_is_as_much_larger_as_asked() {
        let mut frame = MonoFrame::default();
        let _ = frame.draw_iter([Pixel(Point::new(1, 0), BinaryColor::On)]);
        let rgb = frame.to_rgb888(2);
        assert_eq!(rgb.len(), 256 * 128 * 3);
        let lit = rgb.chunks(3).filter(|pixel| pixel[0] == 255).count();
        assert_eq!((lit, rgb[3], rgb[6], rgb[9], rgb[12]), (4, 0, 255, 255, 0));
    }
}
