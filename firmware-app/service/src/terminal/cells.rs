use ratatui::{
    buffer::Buffer,
    layout::Rect,
    style::{Color, Style},
    widgets::Widget,
};

use crate::{environment::Environment, picture::Picture};

/// How finely a cell is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Blocks {
    /// Two halves, one over the other: every font has them.
    Half,
    /// Four quarters, of which two colours are kept: twice as sharp across.
    Quadrant,
}

/// How many colours the terminal has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// Red, green and blue in full.
    True,
    /// The 256 of most terminals.
    Ansi256,
    /// The terminal's own two: light is drawn, dark is left.
    Two,
}

/// How pictures are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Paint {
    /// How finely.
    pub blocks: Blocks,
    /// In how many colours.
    pub depth: Depth,
}

/// A picture as a widget: as large as fits, its shape kept, centred.
pub struct PictureCells<'a> {
    /// The picture.
    pub picture: &'a dyn Picture,
    /// How it is drawn.
    pub paint: Paint,
}

/// Quarters of a cell: 1 upper left, 2 upper right, 4 lower left, 8 lower right.
const QUARTERS: [&str; 16] = [" ", "▘", "▝", "▀", "▖", "▌", "▞", "▛", "▗", "▚", "▐", "▜", "▄", "▙", "▟", "█"];
/// One of each pair of patterns that only swap the two colours; the plainest first, so that it wins a tie.
const SPLITS: [usize; 8] = [0, 3, 5, 1, 2, 4, 8, 6];

impl Paint {
    /// By what the terminal says of itself in `COLORTERM` and `TERM`; without colour if that is asked for.
    pub fn of_terminal(environment: &Environment, color: bool) -> Self {
        let term = environment.get("TERM").unwrap_or_default();
        let full = environment.get("COLORTERM").is_some_and(|word| ["truecolor", "24bit"].contains(&word));
        let depth = match (color, full, term) {
            (false, _, _) | (true, _, "dumb" | "linux" | "vt100" | "vt220") => Depth::Two,
            (true, true, _) => Depth::True,
            (true, false, _) if term.ends_with("-direct") => Depth::True,
            (true, false, _) => Depth::Ansi256,
        };
        // the fonts of the kernel's console lack most quarters
        let blocks = if term == "linux" { Blocks::Half } else { Blocks::Quadrant };
        Self { blocks, depth }
    }
}

impl Depth {
    /// The nearest colour the terminal has; `None` where it has only its own.
    pub fn color(self, rgb: [u8; 3]) -> Option<Color> {
        match self {
            Self::True => Some(Color::Rgb(rgb[0], rgb[1], rgb[2])),
            Self::Ansi256 => Some(Color::Indexed(nearest_of_256(rgb))),
            Self::Two => None,
        }
    }
}

impl Widget for PictureCells<'_> {
    fn render(self, area: Rect, buffer: &mut Buffer) {
        let area = fitted(self.picture, area.intersection(buffer.area));
        let across = match self.paint.blocks {
            Blocks::Half => 1,
            Blocks::Quadrant => 2,
        };
        let small = scaled(self.picture, usize::from(area.width) * across, usize::from(area.height) * 2);
        for y in 0..area.height {
            for x in 0..area.width {
                let at = |right: usize, down: usize| {
                    small.at(usize::from(x) * across + right.min(across - 1), usize::from(y) * 2 + down)
                };
                let (symbol, style) = cell([at(0, 0), at(1, 0), at(0, 1), at(1, 1)], self.paint.depth);
                buffer[(area.x + x, area.y + y)].set_symbol(symbol).set_style(style);
            }
        }
    }
}

/// The largest part of the area that has the picture's shape; a cell is taken to be twice as high as wide.
fn fitted(picture: &dyn Picture, area: Rect) -> Rect {
    let (width, height) = (picture.width().max(1), picture.height().max(1));
    let (columns, rows) = (usize::from(area.width), usize::from(area.height));
    let columns_used = (rows * 2 * width / height).clamp(columns.min(1), columns);
    let rows_used = (columns_used * height).div_ceil(width * 2).clamp(rows.min(1), rows);
    // both fit in 16 bits: each is clamped to a side of the area
    let narrow = |cells: usize| u16::try_from(cells).unwrap_or(u16::MAX);
    let (columns_used, rows_used) = (narrow(columns_used), narrow(rows_used));
    Rect {
        x: area.x + (area.width - columns_used) / 2,
        y: area.y + (area.height - rows_used) / 2,
        width: columns_used,
        height: rows_used,
    }
}

struct Small {
    width: usize,
    pixels: Vec<[u8; 3]>,
}

impl Small {
    fn at(&self, x: usize, y: usize) -> [u8; 3] {
        self.pixels[y * self.width + x]
    }
}

/// Each small pixel is the mean of the area it covers, parts of pixels counted by their part.
fn scaled(picture: &dyn Picture, width: usize, height: usize) -> Small {
    let (columns, rows) = (covers(picture.width(), width), covers(picture.height(), height));
    let whole = (picture.width() * picture.height()) as u64;
    let mut pixels = Vec::with_capacity(width * height);
    for row in &rows {
        for column in &columns {
            let mut sum = [0u64; 3];
            for (y, down) in row {
                for (x, across) in column {
                    let pixel = picture.pixel(*x, *y);
                    sum.iter_mut().zip(pixel).for_each(|(sum, part)| *sum += u64::from(part) * down * across);
                }
            }
            // the weights of one small pixel add up to the pixels of the whole picture
            pixels.push(sum.map(|sum| ((sum + whole / 2) / whole) as u8));
        }
    }
    Small { width, pixels }
}

/// For each of `to` parts of a side, the pixels of `from` it covers with how much of each, in parts of `1/to`.
fn covers(from: usize, to: usize) -> Vec<Vec<(usize, u64)>> {
    (0..to)
        .map(|part| {
            let (start, end) = (part * from, (part + 1) * from);
            (start / to..end.div_ceil(to))
                .map(|pixel| (pixel, (end.min((pixel + 1) * to) - start.max(pixel * to)) as u64))
                .collect()
        })
        .collect()
}

/// The sign and colours that show four quarters with the least error.
fn cell(quarters: [[u8; 3]; 4], depth: Depth) -> (&'static str, Style) {
    if depth == Depth::Two {
        let light = (0..4).filter(|quarter| is_light(quarters[*quarter])).fold(0, |mask, quarter| mask | 1 << quarter);
        return (QUARTERS[light], Style::new());
    }
    let mut best = (u64::MAX, 0, [0; 3], [0; 3]);
    for split in SPLITS {
        let (front, back) = (mean(&quarters, split), mean(&quarters, !split & 15));
        let error = (0..4)
            .map(|quarter| distance(quarters[quarter], if split >> quarter & 1 == 1 { front } else { back }))
            .sum();
        if error < best.0 {
            best = (error, split, front, back);
        }
    }
    let (_, split, front, back) = best;
    let style = |color: [u8; 3]| depth.color(color).unwrap_or(Color::Reset);
    (QUARTERS[split], Style::new().fg(style(if split == 0 { back } else { front })).bg(style(back)))
}

fn mean(quarters: &[[u8; 3]; 4], chosen: usize) -> [u8; 3] {
    let inside = || (0..4).filter(|quarter| chosen >> quarter & 1 == 1).map(|quarter| quarters[quarter]);
    let count = (inside().count() as u32).max(1);
    [0, 1, 2].map(|part| ((inside().map(|color| u32::from(color[part])).sum::<u32>() + count / 2) / count) as u8)
}

fn distance(a: [u8; 3], b: [u8; 3]) -> u64 {
    a.into_iter().zip(b).map(|(a, b)| u64::from(a.abs_diff(b)).pow(2)).sum()
}

/// Luma by the weights of ITU-R BT.601, from memory; the limit is low, so that thin strokes and every hue of the panel stay.
fn is_light([red, green, blue]: [u8; 3]) -> bool {
    u32::from(red) * 299 + u32::from(green) * 587 + u32::from(blue) * 114 >= 96_000
}

/// The nearest of the 6 x 6 x 6 cube (from 16) and the 24 greys (from 232) that terminals share, from memory.
fn nearest_of_256(rgb: [u8; 3]) -> u8 {
    const LEVELS: [u8; 6] = [0, 95, 135, 175, 215, 255];
    let step = rgb.map(|part| (0..6u8).min_by_key(|step| LEVELS[usize::from(*step)].abs_diff(part)).unwrap_or(0));
    let cube = (16 + 36 * step[0] + 6 * step[1] + step[2], step.map(|step| LEVELS[usize::from(step)]));
    let greys = (0..24u8).map(|step| (232 + step, [8 + 10 * step; 3]));
    greys.chain([cube]).min_by_key(|(_, color)| distance(*color, rgb)).map_or(cube.0, |(index, _)| index)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::picture::Rgb888;

    const BLACK: [u8; 3] = [0; 3];
    const WHITE: [u8; 3] = [255; 3];

    #[test]
    fn scaling_keeps_the_mean_of_the_picture_at_any_size() {
        let bytes: Vec<u8> = (0..320 * 240 * 3).map(|at| ((at * 7919) % 256) as u8).collect();
        let picture = Rgb888::new(320, 240, &bytes).unwrap();
        let mean =
            |values: &mut dyn Iterator<Item = u8>, count: usize| values.map(f64::from).sum::<f64>() / count as f64;
        let whole = mean(&mut bytes.iter().copied(), bytes.len());
        for (width, height) in [(160, 120), (100, 75), (317, 239), (640, 480), (1, 1)] {
            let small = scaled(&picture, width, height);
            let kept = mean(&mut small.pixels.iter().flatten().copied(), small.pixels.len() * 3);
            assert!((kept - whole).abs() < 1.0, "{width} x {height}: {kept} for {whole}");
        }
    }

    #[test]
    fn parts_of_a_pixel_count_by_their_part() {
        // three pixels in two: the middle one goes half to each side
        assert_eq!(covers(3, 2), [vec![(0, 2), (1, 1)], vec![(1, 1), (2, 2)]]);
        let bytes: Vec<u8> = [WHITE, BLACK, BLACK].concat();
        let small = scaled(&Rgb888::new(3, 1, &bytes).unwrap(), 2, 1);
        assert_eq!(small.pixels, [[170; 3], BLACK]);
    }

    #[test]
    fn two_colours_in_a_cell_are_shown_exactly_whatever_their_shape() {
        for mask in 0..16 {
            let quarters = [0, 1, 2, 3].map(|quarter| if mask >> quarter & 1 == 1 { WHITE } else { BLACK });
            let (symbol, style) = cell(quarters, Depth::True);
            let shown = QUARTERS.iter().position(|sign| *sign == symbol).unwrap();
            for (quarter, expected) in quarters.into_iter().enumerate() {
                let color = if shown >> quarter & 1 == 1 { style.fg } else { style.bg };
                assert_eq!(color, Depth::True.color(expected), "mask {mask}, quarter {quarter}");
            }
        }
    }

    #[test]
    fn without_colours_light_is_drawn_and_dark_is_left() {
        assert_eq!(cell([WHITE, BLACK, BLACK, WHITE], Depth::Two), ("▚", Style::new()));
        assert_eq!(cell([[240, 228, 66]; 4], Depth::Two).0, "█");
        assert_eq!(cell([[213, 94, 0]; 4], Depth::Two).0, "█");
        assert_eq!(cell([[40; 3]; 4], Depth::Two).0, " ");
    }

    #[test]
    fn the_panels_hues_stay_apart_in_256_colours() {
        let hues = [[0; 3], [255; 3], [220; 3], [240, 228, 66], [86, 180, 233], [0, 158, 115], [213, 94, 0]];
        let mut indices: Vec<u8> = hues.iter().map(|hue| nearest_of_256(*hue)).collect();
        assert_eq!((indices[0], indices[1]), (16, 231));
        indices.sort_unstable();
        indices.dedup();
        assert_eq!(indices.len(), hues.len());
    }

    #[test]
    fn the_shape_of_the_picture_is_kept_and_centred() {
        let bytes = [0; 320 * 240 * 3];
        let picture = Rgb888::new(320, 240, &bytes).unwrap();
        assert_eq!(fitted(&picture, Rect::new(0, 0, 160, 60)), Rect::new(0, 0, 160, 60));
        assert_eq!(fitted(&picture, Rect::new(0, 0, 200, 60)), Rect::new(20, 0, 160, 60));
        assert_eq!(fitted(&picture, Rect::new(0, 0, 100, 60)), Rect::new(0, 11, 100, 38));
    }

    #[test]
    fn a_terminal_is_believed_about_its_colours() {
        let paint = |pairs: &[(&str, &str)], color| Paint::of_terminal(&Environment::from(pairs), color);
        assert_eq!(paint(&[("COLORTERM", "truecolor"), ("TERM", "xterm-256color")], true).depth, Depth::True);
        assert_eq!(paint(&[("TERM", "xterm-256color")], true).depth, Depth::Ansi256);
        assert_eq!(paint(&[("TERM", "xterm-256color")], false).depth, Depth::Two);
        assert_eq!(paint(&[("TERM", "linux")], true), Paint { blocks: Blocks::Half, depth: Depth::Two });
    }
}
