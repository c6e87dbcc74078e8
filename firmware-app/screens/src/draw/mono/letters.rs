//! Words on the panel of one bit. The letters are those of two faces that were drawn pixel by pixel; each takes only the
//! width it needs, so that more words fit, but figures all have one width, so that nothing jumps when a clock runs.

use alloc::{string::String, vec::Vec};

use embedded_graphics::{
    geometry::Point,
    image::GetPixel,
    mono_font::{MonoFont, iso_8859_1},
    pixelcolor::BinaryColor,
};

/// A size of words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Letters {
    /// Capitals of 9 px with strokes of 2 px.
    Bold,
    /// Capitals of 7 px, nothing is smaller.
    Small,
}

/// Both, larger first.
pub(super) const BOTH: [Letters; 2] = [Letters::Bold, Letters::Small];

/// A letter as rows of pixels, from the top of the line.
pub(super) struct Drawn {
    pub(super) inked: Vec<(i32, i32)>,
    /// From its start to the start of the next letter.
    pub(super) advance: i32,
}

impl Letters {
    /// From the top of the line to the foot of a capital.
    pub(super) const fn baseline(self) -> i32 {
        match self {
            Self::Bold => 11,
            Self::Small => 8,
        }
    }

    /// Height of a capital.
    pub(super) const fn capital(self) -> i32 {
        match self {
            Self::Bold => 9,
            Self::Small => 7,
        }
    }

    fn font(self) -> &'static MonoFont<'static> {
        match self {
            Self::Bold => &iso_8859_1::FONT_7X13_BOLD,
            Self::Small => &iso_8859_1::FONT_6X10,
        }
    }

    /// How wide a text is, without the gap after its last letter.
    pub(super) fn width(self, text: &str) -> i32 {
        (known(text).chars().map(|letter| self.letter(letter).advance).sum::<i32>() - 1).max(0)
    }

    pub(super) fn letter(self, letter: char) -> Drawn {
        if let Some(own) = own(letter) {
            return self.own(own);
        }
        if let (Self::Bold, Some(rows)) = (self, wide(letter)) {
            let top = self.baseline() - rows.len() as i32;
            let places = (0..).zip(rows).flat_map(|(y, row)| (0..8).map(move |x| (x, y, row >> (7 - x) & 1 == 1)));
            let inked = places.filter(|(_, _, inked)| *inked).map(|(x, y, _)| (x, top + y)).collect();
            return Drawn { inked, advance: 9 };
        }
        let font = self.font();
        let (wide, high) = (font.character_size.width as i32, font.character_size.height as i32);
        if letter == ' ' {
            let advance = match self {
                Self::Bold => 5,
                Self::Small => 4,
            };
            return Drawn { inked: Vec::new(), advance };
        }
        let index = font.glyph_mapping.index(letter) as i32;
        let (left, top) = (index % LETTERS_A_ROW * wide, index / LETTERS_A_ROW * high);
        let places = (0..high).flat_map(|y| (0..wide).map(move |x| (x, y)));
        let is_inked = |(x, y): &(i32, i32)| font.image.pixel(Point::new(left + x, top + y)) == Some(BinaryColor::On);
        let inked: Vec<(i32, i32)> = places.filter(is_inked).collect();
        let first = inked.iter().map(|(x, _)| *x).min().unwrap_or(0);
        let last = inked.iter().map(|(x, _)| *x).max().unwrap_or(0);
        if letter.is_ascii_digit() {
            // in the middle of the width that all figures have
            let advance = wide;
            let shift = (wide - 1 - (last - first + 1)) / 2 - first;
            return Drawn { inked: inked.into_iter().map(|(x, y)| (x + shift, y)).collect(), advance };
        }
        Drawn { inked: inked.into_iter().map(|(x, y)| (x - first, y)).collect(), advance: last - first + 2 }
    }

    /// Points that the faces draw as small crosses, and the arrow they lack: made of squares, which stay apart from figures.
    fn own(self, own: Own) -> Drawn {
        let foot = self.baseline();
        let square = |x: i32, y: i32| [(x, y), (x + 1, y), (x, y + 1), (x + 1, y + 1)];
        match own {
            Own::Point => Drawn { inked: square(0, foot - 2).into(), advance: 3 },
            Own::Colon => {
                let upper = foot - self.capital() + 2;
                Drawn { inked: square(0, upper).into_iter().chain(square(0, foot - 2)).collect(), advance: 3 }
            }
            Own::Comma => {
                let tail = [(1, foot), (0, foot + 1)];
                Drawn { inked: square(0, foot - 2).into_iter().chain(tail).collect(), advance: 3 }
            }
            Own::Arrow => {
                let middle = foot - self.capital() / 2 - 1;
                let shaft = (0..7).map(|x| (x, middle));
                let head = (1..3).flat_map(|off| [(6 - off, middle - off), (6 - off, middle + off)]);
                Drawn { inked: shaft.chain(head).collect(), advance: 8 }
            }
        }
    }
}

/// The faces have 16 letters a row in their pictures.
const LETTERS_A_ROW: i32 = 16;

/// Letters that are not taken from the faces.
#[derive(Clone, Copy)]
enum Own {
    Point,
    Colon,
    Comma,
    Arrow,
}

fn own(letter: char) -> Option<Own> {
    match letter {
        '.' => Some(Own::Point),
        ':' => Some(Own::Colon),
        ',' => Some(Own::Comma),
        '→' => Some(Own::Arrow),
        _ => None,
    }
}

/// Letters with three strokes: in the face's own width their strokes run together. Rows of 8 px down to the line.
fn wide(letter: char) -> Option<&'static [u8]> {
    match letter {
        'm' => Some(&[0b1111_1110, 0b1101_1011, 0b1101_1011, 0b1101_1011, 0b1101_1011, 0b1101_1011]),
        'w' => Some(&[0b1101_1011, 0b1101_1011, 0b1101_1011, 0b1101_1011, 0b1101_1011, 0b0111_1110]),
        'M' => Some(&[0xc3, 0xe7, 0xff, 0xff, 0xdb, 0xc3, 0xc3, 0xc3, 0xc3]),
        'W' => Some(&[0xc3, 0xc3, 0xc3, 0xc3, 0xdb, 0xff, 0xff, 0xe7, 0xc3]),
        _ => None,
    }
}

/// The text in letters that the faces have (ISO 8859-1).
pub(super) fn known(text: &str) -> String {
    let mut known = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '−' | '–' | '—' => known.push('-'),
            '…' => known.push_str(".."),
            '’' | '‘' | '‚' => known.push('\''),
            '“' | '”' | '„' => known.push('"'),
            'œ' => known.push_str("oe"),
            'Œ' => known.push_str("OE"),
            '→' | ' '..='~' | '\u{a1}'..='\u{ff}' => known.push(letter),
            '\u{a0}' => known.push(' '),
            _ => known.push('?'),
        }
    }
    known
}

/// The text, or as much of it as fits a room with two points after it.
pub(super) fn cut(letters: Letters, text: &str, room: i32) -> String {
    let text = known(text);
    if letters.width(&text) <= room {
        return text;
    }
    let mut shown = text;
    while shown.pop().is_some() {
        let kept = shown.trim_end();
        let with_points = alloc::format!("{kept}..");
        if letters.width(&with_points) <= room {
            return with_points;
        }
    }
    String::new()
}

/// The lines of a text, if it fits so many.
pub(super) fn broken(letters: Letters, text: &str, room: i32, count: usize) -> Option<Vec<String>> {
    let lines = flowed(letters, text, room);
    let fits = lines.len() <= count && lines.iter().all(|line| letters.width(line) <= room);
    fits.then_some(lines)
}

/// The lines of a text, if it fits so many: as even as they can be, so that no word stands alone.
pub(super) fn even(letters: Letters, text: &str, room: i32, count: usize) -> Option<Vec<String>> {
    let lines = broken(letters, text, room, count)?;
    // a narrower room that needs no more lines makes them more even
    let narrower = (0..room).rev().map_while(|room| broken(letters, text, room, lines.len()));
    Some(narrower.last().unwrap_or(lines))
}

/// The lines of a text as they fill a room, one after the other.
pub(super) fn flowed(letters: Letters, text: &str, room: i32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in known(text).split(' ').filter(|word| !word.is_empty()) {
        let joined = lines.last().map(|line| alloc::format!("{line} {word}"));
        match (joined.filter(|joined| letters.width(joined) <= room), lines.last_mut()) {
            (Some(joined), Some(line)) => *line = joined,
            (_, _) => lines.push(word.into()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn capitals_are_at_least_7_px_high() {
        for letters in BOTH {
            for letter in ['H', 'E', 'O', 'T', 'K', '8'] {
                let rows = letters.letter(letter).inked.into_iter().map(|(_, y)| y);
                let (top, foot) = rows.fold((i32::MAX, i32::MIN), |(top, foot), y| (top.min(y), foot.max(y)));
                assert_eq!((foot - top + 1, foot + 1), (letters.capital(), letters.baseline()), "{letters:?} {letter}");
            }
            assert!(letters.capital() >= 7);
        }
    }

    #[test]
    fn figures_have_one_width_and_words_only_what_they_need() {
        for letters in BOTH {
            assert_eq!(letters.width("1111"), letters.width("8888"));
            assert!(letters.width("illi") < letters.width("mwmw"));
        }
        assert_eq!(Letters::Small.width("START"), 29);
    }

    #[test]
    fn letters_that_the_faces_lack_are_written_with_those_they_have() {
        assert_eq!(known("−18° – „Crème“… œuf щ 12 → 13"), "-18° - \"Crème\".. oeuf ? 12 → 13");
        // nothing is drawn as the face's own sign for an unknown letter
        let unknown = Letters::Small.letter('?').inked;
        for letter in "äöüÄÖÜß°é½µ×".chars() {
            assert_ne!(Letters::Small.letter(letter).inked, unknown, "{letter}");
        }
    }

    #[test]
    fn a_text_is_cut_with_points_and_broken_at_spaces() {
        assert_eq!(cut(Letters::Small, "Roast shoulder", 60), "Roast sho..");
        assert!(Letters::Small.width("Roast sho..") <= 60);
        assert_eq!(broken(Letters::Small, "Does curd coat the spoon?", 80, 2).map(|lines| lines.len()), Some(2));
        assert_eq!(broken(Letters::Small, "Does curd coat the spoon?", 80, 1), None);
        let text = "take at 59.4°, rests to 63°";
        assert_eq!(broken(Letters::Small, text, 124, 2).unwrap(), ["take at 59.4°, rests to", "63°"]);
        assert_eq!(even(Letters::Small, text, 124, 2).unwrap(), ["take at 59.4°,", "rests to 63°"]);
        assert_eq!(even(Letters::Small, text, 60, 2), None);
    }
}
