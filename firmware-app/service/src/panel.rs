//! The picture of the panel, drawn only when it changes.

use quantities::RunTime;
use screens::{BurnIn, Phase, Screen};

use crate::{config::PanelKind, picture::Picture};

/// The panel of this station, as pixels in memory.
pub struct Panel {
    kind: PanelKind,
    /// Spares the pixels of a panel that ages.
    burn_in: BurnIn,
    /// What the picture was drawn from.
    drawn: Option<Drawn>,
    pixels: Pixels,
}

/// All that a picture depends on.
#[derive(Clone, PartialEq)]
struct Drawn {
    screen: Screen,
    phase: Phase,
    look: Look,
}

/// How a picture stands on the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// 1 to 5. A colour panel is lit from behind, which no picture shows.
    pub brightness: u8,
    /// How far it was moved right and down.
    pub moved: (u32, u32),
}

/// How light a lit pixel of the one-colour panel is drawn at each level; from eye, no source.
const LIT: [u8; 5] = [70, 115, 160, 210, 255];

/// A picture of its own: three bytes a pixel, row after row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pixels {
    /// Pixels in a row.
    pub width: usize,
    /// Red, green and blue of each.
    pub rgb: Vec<u8>,
}

impl Look {
    /// As bright as it gets, where it belongs.
    pub const FULL: Self = Self { brightness: screens::LEVELS, moved: (0, 0) };
}

impl Panel {
    /// A dark panel, switched on at this moment.
    pub fn new(kind: PanelKind, now: RunTime) -> Self {
        Self { kind, burn_in: BurnIn::new(now), drawn: None, pixels: Pixels::default() }
    }

    /// A key was used: the panel is bright again.
    pub fn used(&mut self, now: RunTime) {
        self.burn_in.used(now);
    }

    /// The picture of a screen, if it is not the one drawn last. `runs` says whether a trial is open.
    pub fn draw(&mut self, screen: Screen, phase: Phase, brightness: u8, runs: bool, now: RunTime) -> Option<&Pixels> {
        self.burn_in.run(runs, now);
        let look = match self.kind {
            PanelKind::Colour => Look::FULL,
            PanelKind::Mono => Look {
                brightness: if self.burn_in.is_dim(now) { 1 } else { brightness },
                moved: self.burn_in.place(now),
            },
        };
        let drawn = Drawn { screen, phase, look };
        if self.drawn.as_ref() == Some(&drawn) {
            return None;
        }
        let pixels = draw(self.kind, &drawn.screen, phase, look);
        self.drawn = Some(drawn);
        if pixels == self.pixels {
            return None;
        }
        self.pixels = pixels;
        Some(&self.pixels)
    }

    /// When the picture changes though nothing is shown anew: it moves, or is dimmed.
    pub fn next_deadline(&self, now: RunTime) -> Option<RunTime> {
        match self.kind {
            PanelKind::Colour => None,
            PanelKind::Mono => self.burn_in.next_deadline(now),
        }
    }

    /// The picture drawn last.
    pub fn pixels(&self) -> &Pixels {
        &self.pixels
    }

    /// How many times its pixels are enlarged in a picture file.
    pub fn enlarged(&self) -> usize {
        match self.kind {
            PanelKind::Colour => 1,
            PanelKind::Mono => 4,
        }
    }
}

/// A screen on a panel of this kind.
pub fn draw(kind: PanelKind, screen: &Screen, phase: Phase, look: Look) -> Pixels {
    // a frame in memory takes every pixel
    match kind {
        PanelKind::Colour => {
            let mut frame = screens::Frame::default();
            let Ok(()) = screen.draw(phase, &mut frame);
            Pixels { width: screens::WIDTH as usize, rgb: frame.to_rgb888() }
        }
        PanelKind::Mono => {
            let mut frame = screens::MonoFrame::default();
            let Ok(()) = screen.draw_mono(phase, &mut frame);
            let (right, down) = look.moved;
            let frame = if look.moved == (0, 0) { frame } else { frame.moved_by(right, down) };
            let lit = LIT[usize::from(look.brightness.clamp(1, screens::LEVELS)) - 1];
            let rgb = frame.to_rgb888(1).into_iter().map(|tone| if tone > 0 { lit } else { 0 }).collect();
            Pixels { width: screens::MONO_WIDTH as usize, rgb }
        }
    }
}

impl Pixels {
    /// The same with each pixel as a square of so many.
    pub fn enlarged(&self, times: usize) -> Self {
        if times == 1 {
            return self.clone();
        }
        let (width, height) = (self.width * times, self.height() * times);
        let at = |x: usize, y: usize| self.pixel(x / times, y / times);
        let places = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
        Self { width, rgb: places.flat_map(|(x, y)| at(x, y)).collect() }
    }
}

impl Picture for Pixels {
    fn width(&self) -> usize {
        self.width
    }

    fn height(&self) -> usize {
        self.rgb.len() / 3 / self.width.max(1)
    }

    fn pixel(&self, x: usize, y: usize) -> [u8; 3] {
        let at = (y * self.width + x) * 3;
        [self.rgb[at], self.rgb[at + 1], self.rgb[at + 2]]
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use screens::gallery;
    use words::Language;

    use super::*;

    fn screens_of(name: &str) -> Screen {
        let all = gallery::all(Language::English, screens::Units::Celsius);
        all.into_iter().find(|state| state.name == name).unwrap().screen
    }

    #[test]
    fn a_picture_is_drawn_when_it_changed_and_only_then() {
        let now = RunTime::START;
        let mut panel = Panel::new(PanelKind::Colour, now);
        let (board, due) = (screens_of("s03-board"), screens_of("s07-due"));
        assert!(panel.draw(board.clone(), Phase::STILL, 4, true, now).is_some());
        assert!(panel.draw(board.clone(), Phase::STILL, 4, true, now).is_none());
        // nothing flashes on a board without an alert
        assert!(panel.draw(board, Phase::FLASH, 4, true, now).is_none());
        assert!(panel.draw(due.clone(), Phase::STILL, 4, true, now).is_some());
        assert!(panel.draw(due, Phase::FLASH, 4, true, now).is_some());
    }

    #[test]
    fn a_one_colour_panel_is_lit_by_its_level_and_spared_while_nothing_runs() {
        let mut panel = Panel::new(PanelKind::Mono, RunTime::START);
        let choose = screens_of("s01-choose");
        let lit = |pixels: &Pixels| pixels.rgb.iter().copied().max().unwrap();
        let at = |mins| RunTime::START + quantities::Span::from_mins(mins);
        let first = panel.draw(choose.clone(), Phase::STILL, 5, false, at(0)).unwrap().clone();
        assert_eq!((first.width(), first.height(), lit(&first)), (128, 64, 255));
        assert!(first.rgb.chunks(3).all(|pixel| [[0; 3], [255; 3]].iter().any(|tone| tone == pixel)));
        let softer = panel.draw(choose.clone(), Phase::STILL, 2, false, at(1)).unwrap();
        assert_eq!(lit(softer), LIT[1]);
        assert_eq!(panel.next_deadline(at(1)), Some(at(10)));
        let idle = panel.draw(choose.clone(), Phase::STILL, 5, false, at(11)).unwrap().clone();
        assert_eq!(lit(&idle), LIT[0], "dim");
        assert_ne!(
            idle.rgb.iter().map(|tone| *tone > 0).collect::<Vec<_>>(),
            first.rgb.iter().map(|tone| *tone > 0).collect::<Vec<_>>()
        );
        panel.used(at(12));
        assert_eq!(lit(panel.draw(choose, Phase::STILL, 5, false, at(12)).unwrap()), 255);
        // a run keeps it bright for as long as it takes
        let board = screens_of("s03-board");
        assert_eq!(lit(panel.draw(board.clone(), Phase::STILL, 5, true, at(13)).unwrap()), 255);
        assert!(panel.draw(board, Phase::STILL, 5, true, at(300)).is_none());
    }

    #[test]
    fn an_enlarged_pixel_is_a_square() {
        let small = Pixels { width: 2, rgb: vec![1, 2, 3, 4, 5, 6] };
        let large = small.enlarged(2);
        assert_eq!((large.width(), large.height()), (4, 2));
        assert_eq!(
            [large.pixel(0, 0), large.pixel(1, 1), large.pixel(2, 0), large.pixel(3, 1)].concat(),
            [1, 2, 3, 1, 2, 3, 4, 5, 6, 4, 5, 6]
        );
    }
}
