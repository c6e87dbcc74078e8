use core::fmt;

use crate::{Size, width};

/// A place on the panel that a word of a recipe must fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Limit {
    /// The name of a lane in its cell.
    LaneName,
    /// What is next, over the large figures of the band.
    BandLabel,
    /// The same while the hatch of a late stage takes room.
    BandLabelLate,
    /// The two lines beside the figures when two alerts share the band.
    AlertPair,
    /// One of these lines.
    AlertPairLine,
    /// A question to the cook.
    Question,
    /// The word in a cell that says what its key does.
    KeyWord,
    /// The words of an appliance's setting, beside the figures on the page of one lane.
    Setting,
}

/// The room that a [`Limit`] leaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Size of the letters.
    pub size: Size,
    /// Room for one line, in px.
    pub room: u32,
    /// How many lines there are: one or two.
    pub lines: u32,
}

/// A text that is wider than its place, with the widest line of the best way to break it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooWide {
    /// Width of that line, in px.
    pub width: u32,
    /// Room for one line, in px.
    pub room: u32,
}

impl fmt::Display for TooWide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "expected at most {} px a line on the panel, found {} px; use a shorter word", self.room, self.width)
    }
}

impl core::error::Error for TooWide {}

impl Limit {
    /// All places.
    pub const ALL: [Self; 8] = [
        Self::LaneName,
        Self::BandLabel,
        Self::BandLabelLate,
        Self::AlertPair,
        Self::AlertPairLine,
        Self::Question,
        Self::KeyWord,
        Self::Setting,
    ];

    /// The table of all limits.
    pub const fn place(self) -> Place {
        match self {
            Self::LaneName => Place { size: Size::S, room: 72, lines: 1 },
            Self::BandLabel => Place { size: Size::M, room: 252, lines: 1 },
            Self::BandLabelLate => Place { size: Size::M, room: 246, lines: 1 },
            Self::AlertPair => Place { size: Size::S, room: 105, lines: 2 },
            Self::AlertPairLine => Place { size: Size::S, room: 105, lines: 1 },
            Self::Question => Place { size: Size::Question, room: 246, lines: 2 },
            Self::KeyWord => Place { size: Size::S, room: 68, lines: 1 },
            Self::Setting => Place { size: Size::S, room: 150, lines: 1 },
        }
    }
}

/// Whether a text fits its place; where the place has two lines, broken at the best space.
///
/// # Errors
/// [`TooWide`] with the widest line of the best way to break the text.
pub fn fits(limit: Limit, text: &str) -> Result<(), TooWide> {
    lines(limit, text).map(|_| ())
}

/// The text as it stands in its place: one line, and a second one that is empty if the first is enough.
///
/// A text is broken at the space that leaves the shortest wide line, so that the lines are about even; a hyphen is no
/// place to break.
///
/// # Errors
/// [`TooWide`] with the widest line of the best way to break the text.
pub fn lines(limit: Limit, text: &str) -> Result<[&str; 2], TooWide> {
    let Place { size, room, lines } = limit.place();
    let whole = width(size, text);
    if whole <= room {
        return Ok([text, ""]);
    }
    let spaces = text.char_indices().filter(|(_, letter)| *letter == ' ').map(|(at, _)| at);
    let broken = spaces.map(|at| [text[..at].trim_end(), text[at..].trim_start()]);
    let widest = |pair: &[&str; 2]| width(size, pair[0]).max(width(size, pair[1]));
    match broken.filter(|_| lines == 2).min_by_key(widest) {
        Some(pair) if widest(&pair) <= room => Ok(pair),
        Some(pair) => Err(TooWide { width: widest(&pair), room }),
        None => Err(TooWide { width: whole, room }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_words_fit_their_places() {
        for (limit, text) in [
            (Limit::LaneName, "Oven 1"),
            (Limit::LaneName, "Freezer"),
            (Limit::BandLabel, "Next: blind bake"),
            (Limit::BandLabelLate, "TAKE OUT shell"),
            (Limit::AlertPair, "TAKE OUT tart shell"),
            (Limit::AlertPairLine, "OFF HEAT"),
            (Limit::Question, "Does curd coat the spoon?"),
            (Limit::KeyWord, "START"),
        ] {
            assert_eq!(fits(limit, text), Ok(()), "{limit:?} {text}");
        }
    }

    #[test]
    fn a_word_too_long_is_refused_with_both_widths() {
        for (limit, text) in [
            (Limit::LaneName, "Microwave"),
            (Limit::BandLabel, "Next: fold in the whipped egg whites"),
            (Limit::Question, "Does the custard coat the back of the wooden spoon?"),
            (Limit::KeyWord, "NOT YET !"),
        ] {
            let TooWide { width, room } = fits(limit, text).expect_err(text);
            assert!(width > room, "{limit:?} {text}");
            assert_eq!(room, limit.place().room);
        }
    }

    #[test]
    fn a_question_is_broken_where_its_lines_are_even() {
        assert_eq!(lines(Limit::Question, "Does curd coat the spoon?"), Ok(["Does curd coat", "the spoon?"]));
        assert_eq!(lines(Limit::Question, "Rim gold?"), Ok(["Rim gold?", ""]));
    }

    #[test]
    fn a_place_of_one_line_never_breaks_its_text() {
        let name = "Oven 1 and more";
        let found = crate::width(Size::S, name);
        assert_eq!(fits(Limit::LaneName, name), Err(TooWide { width: found, room: 72 }));
    }

    #[test]
    fn one_px_over_the_room_is_too_wide() {
        // grow a word letter by letter: it must fit up to the room and not one px beyond
        let dots = "....................................................................";
        let dot = crate::width(Size::S, ".");
        for count in 1..dots.len() {
            let taken = count as u32 * dot;
            assert_eq!(fits(Limit::KeyWord, &dots[..count]).is_ok(), taken <= 68, "{taken} px");
        }
    }
}
