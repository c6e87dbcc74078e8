//! The panel drawn in a terminal, with lamps and sounds as text below it, and the terminal's keys as the station's.

mod cells;
mod keys;

use std::io::{self, Stdout};

use ratatui::{
    Terminal,
    backend::{Backend, CrosstermBackend},
    buffer::Buffer,
    layout::Rect,
    style::{Color, Modifier, Style},
    text::{Line, Span},
    widgets::Widget,
};

pub use cells::{Blocks, Depth, Paint, PictureCells};
pub use keys::{Keyboard, Press, listen};

use crate::picture::Picture;

/// Columns below which the panel's small words cannot be read.
pub const LEGIBLE_COLUMNS: u16 = 100;

/// A terminal that shows a panel.
///
/// Cells that did not change are not sent again.
pub struct Live<B: Backend> {
    terminal: Terminal<B>,
    paint: Paint,
    _restore: Option<Restore>,
}

/// What is shown.
pub struct Scene<'a> {
    /// The panel's frame.
    pub picture: &'a dyn Picture,
    /// The lamps from the left.
    pub lamps: &'a [LampLine<'a>],
    /// What sounds, or sounded last.
    pub sound: &'a str,
    /// Stands in place of the key help: a question, or what went wrong.
    pub notice: Option<&'a str>,
}

/// One lamp as text: never by its colour alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LampLine<'a> {
    /// The lane's name.
    pub name: &'a str,
    /// Off, steady, flashing: in words.
    pub state: &'a str,
    /// Its colour while it is lit.
    pub lit: Option<[u8; 3]>,
}

/// Gives the terminal back when it is dropped. Panics are covered by the hook that opening sets.
struct Restore;

/// The line under the panel when there is nothing to ask.
const KEY_HELP: &str = "1-4 lane key   space pedal   enter knob   h hold knob   arrows turn   q quit";
const LINES_BELOW: u16 = 3;

impl Live<CrosstermBackend<Stdout>> {
    /// Takes over the terminal: raw keys, a screen of its own. It is given back on drop and on a panic.
    pub fn open(paint: Paint) -> io::Result<Self> {
        // made first: if taking over fails half way, it is undone
        let restore = Restore;
        let terminal = ratatui::try_init()?;
        crate::logs::hold();
        Ok(Self { terminal, paint, _restore: Some(restore) })
    }
}

impl<B: Backend> Live<B> {
    /// Draws on a terminal that someone else opened and closes.
    pub fn on(terminal: Terminal<B>, paint: Paint) -> Self {
        Self { terminal, paint, _restore: None }
    }

    /// What is drawn on.
    pub fn backend(&self) -> &B {
        self.terminal.backend()
    }

    /// Draws the scene, to the size the terminal has at this moment.
    pub fn draw(&mut self, scene: &Scene<'_>) -> Result<(), B::Error> {
        let paint = self.paint;
        self.terminal.draw(|frame| draw(scene, paint, frame.area(), frame.buffer_mut()))?;
        Ok(())
    }
}

impl Drop for Restore {
    fn drop(&mut self) {
        // the panic hook gave it back before it printed: a second time would put the cursor onto the panic's text
        if !std::thread::panicking() {
            // nothing can be shown where this fails
            let _ = ratatui::try_restore();
        }
        crate::logs::release();
    }
}

fn draw(scene: &Scene<'_>, paint: Paint, area: Rect, buffer: &mut Buffer) {
    let below = LINES_BELOW.min(area.height);
    let panel = Rect { height: area.height - below, ..area };
    PictureCells { picture: scene.picture, paint }.render(panel, buffer);
    let lines = [lamps(scene.lamps, paint), sound(scene.sound), help(scene.notice, area.width)];
    for (line, y) in lines.into_iter().zip(panel.bottom()..area.bottom()) {
        line.render(Rect { y, height: 1, ..area }, buffer);
    }
}

fn lamps<'a>(lamps: &[LampLine<'a>], paint: Paint) -> Line<'a> {
    let mut line = Line::default();
    for (lamp, lane) in lamps.iter().zip(1..) {
        let (sign, style) = match lamp.lit {
            Some(rgb) => (
                "●",
                paint
                    .depth
                    .color(rgb)
                    .map_or(Style::new(), |color| Style::new().fg(color))
                    .add_modifier(Modifier::BOLD),
            ),
            None => ("○", Style::new()),
        };
        line.push_span(Span::raw(format!("{lane} ")));
        line.push_span(Span::styled(sign, style));
        line.push_span(Span::raw(format!(" {} {}   ", lamp.name, lamp.state)));
    }
    line
}

fn sound(words: &str) -> Line<'_> {
    Line::from(format!("♪ {}", if words.is_empty() { "silent" } else { words }))
}

fn help(notice: Option<&str>, columns: u16) -> Line<'_> {
    match notice {
        Some(words) => Line::styled(words, Style::new().add_modifier(Modifier::REVERSED)),
        None if columns < LEGIBLE_COLUMNS => {
            Line::from(format!("{KEY_HELP}   ({LEGIBLE_COLUMNS} columns make the panel readable)"))
        }
        None => Line::styled(KEY_HELP, Style::new().fg(Color::Reset)),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use ratatui::backend::TestBackend;

    use super::*;
    use crate::picture::Rgb888;

    const PAINT: Paint = Paint { blocks: Blocks::Half, depth: Depth::True };

    /// A panel, white on the left half and black on the right.
    fn panel() -> Vec<u8> {
        (0..320 * 240).flat_map(|at| if at % 320 < 160 { [255; 3] } else { [0; 3] }).collect()
    }

    fn scene<'a>(picture: &'a Rgb888<'a>, lamps: &'a [LampLine<'a>], notice: Option<&'a str>) -> Scene<'a> {
        Scene { picture, lamps, sound: "due, lane 1", notice }
    }

    fn text_of(live: &Live<TestBackend>, row: u16) -> String {
        let buffer = live.backend().buffer();
        (0..buffer.area.width).map(|x| buffer[(x, row)].symbol()).collect::<String>().trim_end().to_owned()
    }

    #[test]
    fn a_frame_fills_the_terminal_with_words_below_it() {
        let bytes = panel();
        let picture = Rgb888::new(320, 240, &bytes).unwrap();
        let lamps = [
            LampLine { name: "Oven", state: "flashing", lit: Some([240, 228, 66]) },
            LampLine { name: "Pan", state: "off", lit: None },
        ];
        let mut live = Live::on(Terminal::new(TestBackend::new(160, 63)).unwrap(), PAINT);
        live.draw(&scene(&picture, &lamps, None)).unwrap();
        let buffer = live.backend().buffer();
        assert_eq!(buffer[(40, 30)].bg, Color::Rgb(255, 255, 255));
        assert_eq!(buffer[(120, 30)].bg, Color::Rgb(0, 0, 0));
        assert_eq!(text_of(&live, 60), "1 ● Oven flashing   2 ○ Pan off");
        assert_eq!(text_of(&live, 61), "♪ due, lane 1");
        assert_eq!(text_of(&live, 62), KEY_HELP);
    }

    #[test]
    fn only_changed_cells_are_sent() {
        let mut bytes = panel();
        let before = bytes.clone();
        // one cell's worth of pixels in the black half
        for y in 100..104 {
            for x in 200..202 {
                bytes[(y * 320 + x) * 3] = 255;
            }
        }
        let (before, after) = (Rgb888::new(320, 240, &before).unwrap(), Rgb888::new(320, 240, &bytes).unwrap());
        let area = Rect::new(0, 0, 160, 63);
        let drawn = |picture: &Rgb888<'_>| {
            let mut buffer = Buffer::empty(area);
            draw(&scene(picture, &[], None), PAINT, area, &mut buffer);
            buffer
        };
        let (one, two) = (drawn(&before), drawn(&after));
        assert_eq!(one.diff(&one).len(), 0);
        assert_eq!(one.diff(&two).len(), 1);
    }

    #[test]
    fn a_notice_takes_the_place_of_the_help() {
        let bytes = panel();
        let picture = Rgb888::new(320, 240, &bytes).unwrap();
        let mut live = Live::on(Terminal::new(TestBackend::new(120, 40)).unwrap(), PAINT);
        live.draw(&scene(&picture, &[], Some("leave the cook?"))).unwrap();
        assert_eq!(text_of(&live, 39), "leave the cook?");
    }

    #[test]
    fn no_size_is_too_small_to_survive() {
        let bytes = panel();
        let picture = Rgb888::new(320, 240, &bytes).unwrap();
        for (columns, rows) in [(1, 1), (1, 4), (2, 3), (7, 5), (80, 24), (400, 5), (5, 200)] {
            for blocks in [Blocks::Half, Blocks::Quadrant] {
                let mut live = Live::on(
                    Terminal::new(TestBackend::new(columns, rows)).unwrap(),
                    Paint { blocks, depth: Depth::Ansi256 },
                );
                live.draw(&scene(&picture, &[], None)).unwrap();
            }
        }
    }
}
