use core::ops::Add;

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::PixelColor, primitives::Rectangle};

use alloc::vec::Vec;

use crate::{Phase, Screen};

/// A whole picture of a panel in memory, drawn before any of it is sent.
pub trait PanelFrame: Default + PartialEq {
    /// What a pixel of the panel is.
    type Color: PixelColor;

    /// Draws the whole picture anew.
    fn render(&mut self, screen: &Screen, phase: Phase);

    /// The parts that differ from what the panel shows.
    fn changes_from(&self, shown: &Self) -> Vec<Rectangle>;

    /// The pixels of a part, row by row.
    fn pixels(&self, part: &Rectangle) -> impl Iterator<Item = Self::Color>;

    /// The bytes that the panel's bus carries for a part.
    fn bytes(part: &Rectangle) -> usize;

    /// The whole panel.
    fn whole() -> Rectangle;
}

/// What was sent to a panel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sent {
    /// How many parts.
    pub parts: usize,
    /// Their bytes, without those that say where they belong.
    pub bytes: usize,
}

impl Add for Sent {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { parts: self.parts + other.parts, bytes: self.bytes + other.bytes }
    }
}

/// Keeps a panel at what a screen shows, and sends only the parts that changed.
///
/// It knows what the panel shows only while every part arrived: after a fault the next picture is sent whole.
#[derive(Default)]
pub struct Refresher<F> {
    shown: F,
    back: F,
    known: bool,
}

impl<F: PanelFrame> Refresher<F> {
    /// For a panel of which nothing is known: its first picture is sent whole.
    pub fn new() -> Self {
        Self { shown: F::default(), back: F::default(), known: false }
    }

    /// The panel was switched off and on, or pulled out: the next picture is sent whole.
    pub fn forget(&mut self) {
        self.known = false;
    }

    /// What the panel shows, as far as it is known.
    pub fn shown(&self) -> Option<&F> {
        self.known.then_some(&self.shown)
    }

    /// Draws the screen and sends what changed; nothing if nothing did.
    ///
    /// # Errors
    /// Those of the panel; the next picture is sent whole then.
    pub fn show<D>(&mut self, screen: &Screen, phase: Phase, panel: &mut D) -> Result<Sent, D::Error>
    where
        D: DrawTarget<Color = F::Color>,
    {
        self.back.render(screen, phase);
        let changes = if self.known { self.back.changes_from(&self.shown) } else { alloc::vec![F::whole()] };
        self.known = false;
        let mut sent = Sent::default();
        for part in &changes {
            panel.fill_contiguous(part, self.back.pixels(part))?;
            sent = sent + Sent { parts: 1, bytes: F::bytes(part) };
        }
        core::mem::swap(&mut self.shown, &mut self.back);
        self.known = true;
        Ok(sent)
    }
}

#[cfg(test)]
mod tests {
    use embedded_graphics::{
        Pixel,
        geometry::{OriginDimensions, Size},
        pixelcolor::Rgb565,
    };
    use words::Language;

    use super::*;
    use crate::{Frame, HEIGHT, Units, WIDTH, gallery};

    /// A panel whose bus fails after so many parts.
    struct Panel {
        frame: Frame,
        parts_left: usize,
        parts: usize,
    }

    impl OriginDimensions for Panel {
        fn size(&self) -> Size {
            Size::new(WIDTH, HEIGHT)
        }
    }

    impl DrawTarget for Panel {
        type Color = Rgb565;
        type Error = &'static str;

        fn draw_iter<I: IntoIterator<Item = Pixel<Rgb565>>>(&mut self, pixels: I) -> Result<(), &'static str> {
            let Ok(()) = self.frame.draw_iter(pixels);
            Ok(())
        }

        fn fill_contiguous<I: IntoIterator<Item = Rgb565>>(
            &mut self,
            area: &Rectangle,
            colors: I,
        ) -> Result<(), &'static str> {
            if self.parts_left == 0 {
                return Err("the bus is stuck");
            }
            self.parts_left -= 1;
            self.parts += 1;
            let Ok(()) = self.frame.fill_contiguous(area, colors);
            Ok(())
        }
    }

    fn states() -> Vec<Screen> {
        gallery::all(Language::English, Units::Celsius).into_iter().map(|state| state.screen).collect()
    }

    fn drawn(screen: &Screen) -> Frame {
        let mut frame = Frame::default();
        frame.render(screen, Phase::STILL);
        frame
    }

    #[test]
    fn the_panel_shows_every_screen_after_every_other() {
        let mut panel = Panel { frame: Frame::default(), parts_left: usize::MAX, parts: 0 };
        let mut refresher = Refresher::<Frame>::new();
        for screen in states() {
            refresher.show(&screen, Phase::STILL, &mut panel).ok();
            assert!(panel.frame == drawn(&screen));
            let again = refresher.show(&screen, Phase::STILL, &mut panel);
            assert_eq!(again, Ok(Sent::default()), "nothing changed, nothing is sent");
        }
    }

    #[test]
    fn after_a_fault_in_the_middle_of_a_picture_the_next_one_is_whole_and_right() {
        let screens = states();
        for at in 0..8 {
            let mut panel = Panel { frame: Frame::default(), parts_left: usize::MAX, parts: 0 };
            let mut refresher = Refresher::<Frame>::new();
            refresher.show(&screens[3], Phase::STILL, &mut panel).ok();
            panel.parts_left = at;
            assert!(refresher.show(&screens[12], Phase::STILL, &mut panel).is_err());
            assert!(refresher.shown().is_none());
            panel.parts_left = usize::MAX;
            let sent = refresher.show(&screens[12], Phase::STILL, &mut panel);
            assert_eq!(sent, Ok(Sent { parts: 1, bytes: (WIDTH * HEIGHT * 2) as usize }));
            assert!(panel.frame == drawn(&screens[12]), "after {at} parts");
        }
    }
}
