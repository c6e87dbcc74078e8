use crate::Size;

include!(concat!(env!("OUT_DIR"), "/glyphs.rs"));

static ATLAS: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/atlas.bin"));

/// What the pictures of all letters take, in bytes.
pub const ATLAS_BYTES: usize = include_bytes!(concat!(env!("OUT_DIR"), "/atlas.bin")).len();

/// One letter in one size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Glyph {
    /// From the start of this letter to the start of the next, in px.
    pub advance: u32,
    /// Left edge of the picture, from the start of the letter.
    pub x: i32,
    /// Top edge of the picture, from the baseline; negative is above it.
    pub y: i32,
    /// Width of the picture.
    pub w: u32,
    /// Height of the picture.
    pub h: u32,
    /// Two pixels a byte, row by row without gaps, left pixel in the high half.
    pub alpha: &'static [u8],
}

impl Glyph {
    /// How much ink a pixel of the picture has, row by row: 0 none, 15 full.
    pub fn inks(&self) -> impl Iterator<Item = u8> + use<> {
        let alpha = self.alpha;
        (0..(self.w * self.h) as usize).map(move |i| alpha[i / 2] >> (4 * (1 - i % 2)) & 15)
    }
}

/// A row of the generated tables.
pub(crate) struct Entry {
    pub(crate) letter: char,
    pub(crate) at: u32,
    pub(crate) advance: u8,
    pub(crate) x: i8,
    pub(crate) y: i8,
    pub(crate) w: u8,
    pub(crate) h: u8,
}

/// The picture of a letter; nothing if this size does not have it.
pub fn glyph(size: Size, letter: char) -> Option<Glyph> {
    let table = size.table();
    let entry = &table[table.binary_search_by_key(&letter, |entry| entry.letter).ok()?];
    let (w, h) = (u32::from(entry.w), u32::from(entry.h));
    let at = entry.at as usize;
    Some(Glyph {
        advance: u32::from(entry.advance),
        x: i32::from(entry.x),
        y: i32::from(entry.y),
        w,
        h,
        alpha: &ATLAS[at..at + (w * h).div_ceil(2) as usize],
    })
}

/// How wide a text is, in px. A letter that this size does not have counts as a figure, the widest that can stand for it.
pub fn width(size: Size, text: &str) -> u32 {
    let figure = || glyph(size, '0').map_or(0, |zero| zero.advance);
    text.chars().map(|letter| glyph(size, letter).map_or_else(figure, |found| found.advance)).sum()
}

/// Whether this size has every letter of the text.
///
/// # Errors
/// The first letter that it does not have.
pub fn covers(size: Size, text: &str) -> Result<(), char> {
    text.chars().find(|letter| glyph(size, *letter).is_none()).map_or(Ok(()), Err)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const WORD_SIZES: [Size; 3] = [Size::Question, Size::M, Size::S];
    const FIGURE_SIZES: [Size; 4] = [Size::Xxl, Size::Badge, Size::Xl, Size::L];

    #[test]
    fn a_capital_is_as_high_as_the_type_scale_says() {
        for size in Size::ALL {
            let flat = ['H', '7', '4'];
            let upright =
                flat.into_iter().find(|letter| covers(size, letter.encode_utf8(&mut [0; 4])).is_ok()).unwrap();
            let found = glyph(size, upright).unwrap();
            assert_eq!((found.y, found.h), (-(size.capital() as i32), size.capital()), "{size:?} {upright}");
        }
    }

    #[test]
    fn all_figures_of_a_size_have_one_width() {
        for size in Size::ALL {
            let figures = size.table().iter().filter(|entry| entry.letter.is_ascii_digit());
            let mut advances = figures.map(|entry| entry.advance);
            let one = advances.next().unwrap();
            assert!(advances.all(|advance| advance == one), "{size:?}");
        }
    }

    #[test]
    fn word_sizes_have_english_and_german_and_the_signs_of_a_recipe() {
        let needed = "The quick brown fox jumps over 13 lazy dogs! ÄÖÜ äöüß é è ç ñ crème brûlée, 82°C - 5–6 × ½ (a/b) 'x' \"y\" & 50 % + 1: ok? →";
        for size in WORD_SIZES {
            assert_eq!(covers(size, needed), Ok(()), "{size:?}");
        }
    }

    #[test]
    fn figure_sizes_have_every_number_format() {
        for size in FIGURE_SIZES {
            for text in ["59:59", "1h23", "+12m", "+0:35", "64.2°", "100°", "−18°", "--", "now", "26 min"] {
                let known = text.replace("min", "m");
                assert_eq!(covers(size, &known), Ok(()), "{size:?} {text}");
            }
        }
    }

    #[test]
    fn a_letter_that_is_not_there_is_named() {
        assert_eq!(covers(Size::S, "abc щ"), Err('щ'));
        assert_eq!(covers(Size::Xxl, "4:37 x"), Err('x'));
        assert_eq!(width(Size::S, "щ"), width(Size::S, "0"));
    }

    #[test]
    fn every_picture_lies_in_the_atlas_and_has_ink() {
        let mut bytes = 0;
        for size in Size::ALL {
            for entry in size.table() {
                let found = glyph(size, entry.letter).unwrap();
                assert_eq!(found.inks().count(), (found.w * found.h) as usize);
                let ink = found.inks().map(u32::from).sum::<u32>();
                assert_eq!(ink == 0, entry.letter == ' ', "{size:?} {:?}", entry.letter);
                bytes += found.alpha.len();
            }
        }
        assert_eq!(bytes, ATLAS_BYTES);
    }

    #[test]
    fn atlas_takes_about_120_kb_on_the_board() {
        let of = |size: Size| {
            let pixels = |entry: &Entry| usize::from(entry.w) * usize::from(entry.h);
            size.table().iter().map(|entry| pixels(entry).div_ceil(2)).sum::<usize>()
        };
        let bytes: usize = Size::ALL.into_iter().map(of).sum();
        assert_eq!(bytes, ATLAS_BYTES);
        // measured: 117041 bytes; a change of the letters or sizes belongs into the README too
        assert!((112_000..122_000).contains(&bytes), "the atlas takes {bytes} bytes");
    }

    #[test]
    fn widths_add_up_letter_by_letter() {
        let apart: u32 = "TAKE OUT".chars().map(|letter| width(Size::M, letter.encode_utf8(&mut [0; 4]))).sum();
        assert_eq!(width(Size::M, "TAKE OUT"), apart);
        assert!(width(Size::M, "il") < width(Size::M, "mw"));
    }
}
