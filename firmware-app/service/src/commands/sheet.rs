//! Every state of every screen on one picture, each with its name under it.

use std::io::Write;

use face::Size;
use screens::{Phase, Units, gallery};
use words::Language;

use crate::{
    args::Sheet,
    config::PanelKind,
    failure::{Failure, Outcome},
    output::{Destination, Out},
    panel::{self, Look, Pixels},
    picture::Picture,
};

/// Between two pictures.
const GAP: usize = 12;
/// Room for a name.
const NAME: usize = 26;
/// The baseline of a name in its room.
const BASELINE: usize = 19;
const GROUND: u8 = 40;

pub(super) fn run(args: &Sheet, out: &mut Out) -> Result<Outcome, Failure> {
    let kind = if args.panel == "mono" { PanelKind::Mono } else { PanelKind::Colour };
    let language = Language::of_code(&args.language).unwrap_or_default();
    let units = if args.units == "fahrenheit" { Units::Fahrenheit } else { Units::Celsius };
    let sheet = sheet(kind, language, units);
    let failed =
        |why: &dyn std::fmt::Display| Failure::Failed(format!("cannot write {}: {why}", args.to.display()).into());
    let side = |pixels: usize| u32::try_from(pixels).map_err(|why| failed(&why));
    let mut bytes = Vec::new();
    crate::frames::encode(&mut bytes, side(sheet.width())?, side(sheet.height())?, &sheet.rgb)
        .map_err(|why| failed(&why))?;
    if args.to.as_os_str() == "-" {
        out.bytes(&bytes)?;
        return Ok(Outcome::Done);
    }
    let mut nowhere = std::io::sink();
    let written = Destination::open(&args.to, &mut nowhere).and_then(|mut file| {
        file.write_all(&bytes)?;
        file.finish()
    });
    written.map_err(|why| failed(&why))?;
    Ok(Outcome::Done)
}

fn sheet(kind: PanelKind, language: Language, units: Units) -> Pixels {
    let (columns, times) = match kind {
        PanelKind::Colour => (6, 1),
        PanelKind::Mono => (8, 2),
    };
    let states = gallery::all(language, units);
    let drawn = states
        .iter()
        .map(|state| (state.name, panel::draw(kind, &state.screen, Phase::STILL, Look::FULL).enlarged(times)));
    let drawn: Vec<(&str, Pixels)> = drawn.collect();
    let (width, height) = drawn.first().map_or((0, 0), |(_, picture)| (picture.width(), picture.height()));
    let rows = drawn.len().div_ceil(columns);
    let mut sheet = Ground::new(GAP + columns * (width + GAP), GAP + rows * (height + NAME + GAP));
    for (at, (name, picture)) in drawn.iter().enumerate() {
        let (x, y) = (GAP + at % columns * (width + GAP), GAP + at / columns * (height + NAME + GAP));
        sheet.put(picture, x, y);
        sheet.name(name, x, y + height + BASELINE);
    }
    sheet.0
}

/// What is drawn on.
struct Ground(Pixels);

impl Ground {
    fn new(width: usize, height: usize) -> Self {
        Self(Pixels { width, rgb: vec![GROUND; width * height * 3] })
    }

    fn put(&mut self, picture: &Pixels, x: usize, y: usize) {
        for (row, bytes) in picture.rgb.chunks(picture.width() * 3).enumerate() {
            let from = ((y + row) * self.0.width + x) * 3;
            self.0.rgb[from..from + bytes.len()].copy_from_slice(bytes);
        }
    }

    /// Writes in the panel's own letters.
    fn name(&mut self, name: &str, x: usize, baseline: usize) {
        let mut x = x as i32;
        for letter in name.chars() {
            let Some(glyph) = face::glyph(Size::S, letter) else { continue };
            for (at, ink) in (0i32..).zip(glyph.inks()) {
                let (w, left, top) = (glyph.w as i32, x + glyph.x, baseline as i32 + glyph.y);
                self.dot(left + at % w, top + at / w, ink);
            }
            x += glyph.advance as i32;
        }
    }

    fn dot(&mut self, x: i32, y: i32, ink: u8) {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return };
        if x < self.0.width() && y < self.0.height() {
            let at = (y * self.0.width + x) * 3;
            let grey = GROUND + (u8::MAX - GROUND) / 15 * ink.min(15);
            self.0.rgb[at..at + 3].fill(grey);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_can_be_written_and_no_two_are_alike() {
        let mut names: Vec<&str> =
            gallery::all(Language::English, Units::Celsius).iter().map(|state| state.name).collect();
        assert!(names.iter().all(|name| face::covers(Size::S, name).is_ok()));
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert!(count > 60 && names.len() == count, "{count}");
    }

    #[test]
    fn a_picture_and_its_name_stand_where_they_belong() {
        let mut ground = Ground::new(100, 60);
        ground.put(&Pixels { width: 2, rgb: vec![200; 12] }, 10, 20);
        assert_eq!((ground.0.pixel(10, 20), ground.0.pixel(11, 21)), ([200; 3], [200; 3]));
        assert_eq!((ground.0.pixel(9, 20), ground.0.pixel(12, 21)), ([GROUND; 3], [GROUND; 3]));
        ground.name("H", 10, 50);
        assert!((10..30).any(|x| ground.0.pixel(x, 45) == [250; 3]), "a stem in full ink");
    }
}
