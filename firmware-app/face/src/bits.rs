use crate::atlas::{self, Entry};

static BITS: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/bits.bin"));

/// What the pictures of all letters of one bit take, in bytes.
pub const BITS_BYTES: usize = include_bytes!(concat!(env!("OUT_DIR"), "/bits.bin")).len();

/// The sizes of figures on a panel of one bit, largest first: figures, signs, `h m s n o w`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BitSize {
    /// The clock or temperature in the band, and the lane number beside it.
    Band,
    /// The one number of a page.
    Page,
    /// Figures when two alerts share the band.
    Row,
}

/// A letter in one bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BitGlyph {
    /// From the start of this letter to the start of the next, in px.
    pub advance: u32,
    x: i32,
    y: i32,
    w: u32,
    h: u32,
    bits: &'static [u8],
}

impl BitSize {
    /// All sizes, largest first.
    pub const ALL: [Self; 3] = [Self::Band, Self::Page, Self::Row];

    /// Height of a capital letter or a figure above the baseline, in px.
    pub const fn capital(self) -> u32 {
        match self {
            Self::Band => 29,
            Self::Page => 22,
            Self::Row => 16,
        }
    }

    fn table(self) -> &'static [Entry] {
        match self {
            Self::Band => &atlas::BIT_BAND,
            Self::Page => &atlas::BIT_PAGE,
            Self::Row => &atlas::BIT_ROW,
        }
    }

    /// The picture of a letter; nothing if this size does not have it.
    pub fn glyph(self, letter: char) -> Option<BitGlyph> {
        let table = self.table();
        let entry = &table[table.binary_search_by_key(&letter, |entry| entry.letter).ok()?];
        let (w, h) = (u32::from(entry.w), u32::from(entry.h));
        let at = entry.at as usize;
        Some(BitGlyph {
            advance: u32::from(entry.advance),
            x: i32::from(entry.x),
            y: i32::from(entry.y),
            w,
            h,
            bits: &BITS[at..at + (w * h).div_ceil(8) as usize],
        })
    }

    /// How wide a text is, in px; nothing if this size lacks one of its letters.
    pub fn width(self, text: &str) -> Option<u32> {
        text.chars().map(|letter| self.glyph(letter).map(|found| found.advance)).sum()
    }
}

impl BitGlyph {
    /// Each pixel with ink: right of the start of the letter, and below the baseline; negative is above it.
    pub fn inked(&self) -> impl Iterator<Item = (i32, i32)> + use<> {
        let Self { x, y, w, h, bits, .. } = *self;
        (0..w * h).filter(move |at| bits[(at / 8) as usize] >> (7 - at % 8) & 1 == 1).map(move |at| {
            // a picture is less than 100 px wide and high
            (x + (at % w) as i32, y + (at / w) as i32)
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    extern crate std;
    use super::*;
    use std::{collections::BTreeSet, vec::Vec};

    fn ink(size: BitSize, letter: char) -> BTreeSet<(i32, i32)> {
        size.glyph(letter).unwrap().inked().collect()
    }

    #[test]
    fn every_figure_is_as_high_as_its_size_says() {
        for size in BitSize::ALL {
            for figure in '0'..='9' {
                let rows: Vec<i32> = ink(size, figure).into_iter().map(|(_, y)| y).collect();
                let (top, bottom) = (*rows.iter().min().unwrap(), *rows.iter().max().unwrap());
                assert_eq!((top, bottom), (-(size.capital() as i32), -1), "{size:?} {figure}");
            }
        }
    }

    #[test]
    fn all_figures_of_a_size_have_one_width_and_leave_a_gap() {
        for size in BitSize::ALL {
            let advance = size.glyph('0').unwrap().advance;
            for figure in '0'..='9' {
                assert_eq!(size.glyph(figure).unwrap().advance, advance);
                let inside = |(x, _): &(i32, i32)| (0..advance as i32).contains(x);
                assert!(ink(size, figure).iter().all(inside), "{size:?} {figure}");
            }
        }
    }

    /// Two figures that are taken for each other differ in a twelfth of their ink at least.
    #[test]
    fn figures_that_look_alike_stay_apart() {
        for size in BitSize::ALL {
            for (one, other) in
                [('0', '8'), ('0', '6'), ('0', '9'), ('6', '8'), ('8', '9'), ('3', '8'), ('1', '7'), ('5', '6')]
            {
                let (a, b) = (ink(size, one), ink(size, other));
                let differ = a.symmetric_difference(&b).count();
                assert!(differ * 12 >= a.len().min(b.len()), "{size:?} {one} {other}: {differ} px");
            }
        }
    }

    #[test]
    fn upright_strokes_of_a_size_are_equally_wide() {
        // the stem of 1 and of 4, and both sides of 0 at half their height
        for size in BitSize::ALL {
            let middle = -(size.capital() as i32) / 2;
            let runs = |letter, row| {
                let columns: Vec<i32> =
                    ink(size, letter).into_iter().filter(|(_, y)| *y == row).map(|(x, _)| x).collect();
                let mut lengths = Vec::new();
                let mut last = None;
                for x in columns {
                    match (last, lengths.last_mut()) {
                        (Some(before), Some(length)) if before + 1 == x => *length += 1,
                        _ => lengths.push(1),
                    }
                    last = Some(x);
                }
                lengths
            };
            let (one, zero, four) = (runs('1', middle), runs('0', middle), runs('4', -2));
            assert_eq!((one.len(), zero.len(), four.len()), (1, 2, 1), "{size:?}");
            assert_eq!((one[0], zero[1], four[0]), (zero[0], zero[0], zero[0]), "{size:?}");
        }
    }

    #[test]
    fn every_number_format_is_covered() {
        for size in BitSize::ALL {
            for text in ["59:59", "1h23", "+12m", "+0:35", "64.2°", "100°", "−18°", "--", "now", "0:00"] {
                assert!(size.width(text).is_some(), "{size:?} {text}");
            }
            assert_eq!(size.width("left"), None);
        }
    }

    #[test]
    fn pictures_of_one_bit_take_about_2_kb() {
        let of = |entry: &Entry| (usize::from(entry.w) * usize::from(entry.h)).div_ceil(8);
        let bytes: usize = BitSize::ALL.into_iter().flat_map(BitSize::table).map(of).sum();
        assert_eq!(bytes, BITS_BYTES);
        // measured: 1899 bytes; a change of the letters or sizes belongs into the README too
        assert!((1800..2000).contains(&bytes), "{bytes} bytes");
    }

    #[test]
    fn band_figures_fit_beside_the_badge() {
        for text in ["59:59", "+9:59", "+99m", "9h59", "−9.0°", "99.9°"] {
            let wide = BitSize::Band.width(text).unwrap();
            assert!(wide <= 101, "{text}: {wide} px");
        }
    }
}
