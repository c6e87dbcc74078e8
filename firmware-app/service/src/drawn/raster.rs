use face::Size;

use super::{
    colour::Colour,
    scene::{Area, DASH, HALO, Line, Paint, Scene, Shape, Towards},
};

/// Three bytes a pixel, row after row.
pub(super) struct Pixels {
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) bytes: Vec<u8>,
}

/// Draws the scene pixel by pixel: all its edges lie on whole pixels, only letters and tips have soft ones.
pub(super) fn drawn(scene: &Scene) -> Pixels {
    let (width, height) = (scene.width.unsigned_abs(), scene.height.unsigned_abs());
    let mut pixels = Pixels { width, height, bytes: vec![255; width as usize * height as usize * 3] };
    for part in &scene.parts {
        match &part.shape {
            Shape::Fill { area, paint } => pixels.fill(*area, *paint),
            Shape::Outline { area, line } => pixels.outline(*area, *line),
            Shape::Stroke { from, to, line } => pixels.stroke(*from, *to, *line),
            Shape::Tip { at, towards, colour } => pixels.tip(*at, *towards, *colour),
            Shape::Text { at, text, size, colour, halo } => {
                if let Some(halo) = halo {
                    pixels.halo(*at, text, *size, *halo);
                }
                pixels.text(*at, text, *size, *colour);
            }
        }
    }
    pixels
}

impl Pixels {
    /// Lays a share of a colour, in hundredths, over a pixel; outside the picture nothing happens.
    fn lay(&mut self, x: i32, y: i32, colour: Colour, share: u32) {
        let (Ok(column), Ok(row)) = (u32::try_from(x), u32::try_from(y)) else { return };
        if column >= self.width || row >= self.height {
            return;
        }
        let at = (row as usize * self.width as usize + column as usize) * 3;
        let before = Colour(self.bytes[at], self.bytes[at + 1], self.bytes[at + 2]);
        let Colour(red, green, blue) = if share >= 100 { colour } else { colour.over(before, share) };
        self.bytes[at..at + 3].copy_from_slice(&[red, green, blue]);
    }

    fn fill(&mut self, area: Area, paint: Paint) {
        for y in area.y..area.bottom() {
            for x in area.x..area.right() {
                match paint {
                    Paint::Plain(colour) => self.lay(x, y, colour, 100),
                    Paint::Pattern(pattern, colour) if pattern.inks(x, y) => self.lay(x, y, colour, 100),
                    Paint::Pattern(..) => {}
                }
            }
        }
    }

    fn outline(&mut self, area: Area, line: Line) {
        let thick = line.thick.min(area.w / 2).min(area.h / 2).max(1);
        for y in area.y..area.bottom() {
            for x in area.x..area.right() {
                let across = y < area.y + thick || y >= area.bottom() - thick;
                let upright = x < area.x + thick || x >= area.right() - thick;
                let along = if across { x - area.x } else { y - area.y };
                if (across || upright) && (!line.dashed || along / DASH % 2 == 0) {
                    self.lay(x, y, line.colour, 100);
                }
            }
        }
    }

    fn stroke(&mut self, from: (i32, i32), to: (i32, i32), line: Line) {
        let before = line.thick / 2;
        let upright = from.0 == to.0;
        let (start, end) =
            if upright { (from.1.min(to.1), from.1.max(to.1)) } else { (from.0.min(to.0), from.0.max(to.0)) };
        for along in start..end {
            if line.dashed && (along - start) / DASH % 2 == 1 {
                continue;
            }
            for beside in -before..line.thick - before {
                let (x, y) = if upright { (from.0 + beside, along) } else { (along, from.1 + beside) };
                self.lay(x, y, line.colour, 100);
            }
        }
    }

    /// A triangle, by how much of each pixel it covers: 16 points a pixel.
    fn tip(&mut self, (x, y): (i32, i32), towards: Towards, colour: Colour) {
        for back in 0..8 {
            for beside in -6..6 {
                let points = (0..16).filter(|point| {
                    let (depth, off) = (
                        f64::from(back) + 0.125 + f64::from(point / 4) / 4.0,
                        f64::from(beside) + 0.125 + f64::from(point % 4) / 4.0,
                    );
                    off.abs() * 8.0 <= depth * 5.0
                });
                let share = points.count() as u32 * 100 / 16;
                let (column, row) = match towards {
                    Towards::Down => (x + beside, y - 1 - back),
                    Towards::Up => (x + beside, y + back),
                    Towards::Right => (x - 1 - back, y + beside),
                };
                if share > 0 {
                    self.lay(column, row, colour, share);
                }
            }
        }
    }

    /// A disc round each pixel that has more than a little ink.
    fn halo(&mut self, (mut x, y): (i32, i32), text: &str, size: Size, colour: Colour) {
        for letter in text.chars() {
            let Some(glyph) = face::glyph(size, letter) else {
                x += face::width(size, "0") as i32;
                continue;
            };
            for (at, ink) in (0..).zip(glyph.inks()).filter(|(_, ink)| *ink > 5) {
                let (column, row) = (x + glyph.x + (at % glyph.w) as i32, y + glyph.y + (at / glyph.w) as i32);
                debug_assert!(ink <= 15);
                for beside in -HALO..=HALO {
                    for below in -HALO..=HALO {
                        if beside * beside + below * below <= HALO * HALO {
                            self.lay(column + beside, row + below, colour, 100);
                        }
                    }
                }
            }
            x += glyph.advance as i32;
        }
    }

    fn text(&mut self, (mut x, y): (i32, i32), text: &str, size: Size, colour: Colour) {
        for letter in text.chars() {
            let Some(glyph) = face::glyph(size, letter) else {
                // a letter that the typeface does not have is an empty box, as wide as it counts
                let (w, h) = (face::width(size, "0") as i32, size.capital() as i32);
                self.outline(Area { x: x + 1, y: y - h, w: w - 2, h }, Line::solid(colour, 1));
                x += w;
                continue;
            };
            for (at, ink) in (0..).zip(glyph.inks()) {
                if ink > 0 {
                    let (column, row) = (at % glyph.w, at / glyph.w);
                    self.lay(x + glyph.x + column as i32, y + glyph.y + row as i32, colour, u32::from(ink) * 100 / 15);
                }
            }
            x += glyph.advance as i32;
        }
    }
}
