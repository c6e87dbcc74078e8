//! What is known of a lane and what is to be done there, in the two lines under its note: one page after the other.

use alloc::{string::String, vec::Vec};

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};
use words::Text;

use super::{
    WIDE,
    letters::{self, Letters},
    sheet::{LIT, Line, Sheet},
};
use crate::canvas::Area;

const SIZE: Letters = Letters::Small;
const LINES: usize = 2;
const STEP: i32 = 8;
const TOP: i32 = 35;
/// Room for the mark that tells which page of how many it is.
const MARK: i32 = 4;

/// A fact alone stays in the first line, and the rest takes turns below it. More than one take turns with the rest.
pub(super) fn draw<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    facts: &[Text],
    rest: &[Text],
    page: u32,
) -> Result<(), D::Error> {
    let fits_a_line = |fact: &Text| fact.lengths().any(|text| SIZE.width(text) <= WIDE);
    match facts {
        [only] if fits_a_line(only) => {
            sheet.text(SIZE, only, Line::left(0, TOP, WIDE), LIT)?;
            in_turn(sheet, |room| flow(rest, room, LINES - 1), page, TOP + STEP, LINES - 1)
        }
        _ => {
            for fact in facts.iter().filter(|fact| !fact.is_empty() && in_lines(fact, WIDE - MARK).is_none()) {
                sheet.too_wide.push(fact.full().into());
            }
            let pages = |room| {
                let mut pages = packed(facts, room);
                pages.append(&mut flow(rest, room, LINES));
                pages
            };
            in_turn(sheet, pages, page, TOP, LINES)
        }
    }
}

type Page = Vec<String>;

/// The fullest length of a fact that two lines have room for, and its lines.
fn in_lines(fact: &Text, room: i32) -> Option<Page> {
    fact.lengths().find_map(|text| letters::even(SIZE, text, room, LINES))
}

/// Facts on as few pages as hold them in their order; none goes on to another page.
fn packed(facts: &[Text], room: i32) -> Vec<Page> {
    let mut pages: Vec<Page> = Vec::new();
    for lines in facts.iter().filter(|fact| !fact.is_empty()).filter_map(|fact| in_lines(fact, room)) {
        match pages.last_mut() {
            Some(page) if page.len() + lines.len() <= LINES => page.extend(lines),
            Some(_) | None => pages.push(lines),
        }
    }
    pages
}

/// Texts as they fill pages of so many lines, each from a page of its own.
fn flow(texts: &[Text], room: i32, lines: usize) -> Vec<Page> {
    let texts = texts.iter().filter(|text| !text.is_empty());
    let flowed = texts.map(|text| letters::flowed(SIZE, text.full(), room));
    flowed.flat_map(|text| text.chunks(lines.max(1)).map(<[String]>::to_vec).collect::<Vec<_>>()).collect()
}

/// Shows one of the pages, round and round; a mark at the right tells where it lies among all.
fn in_turn<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    pages: impl Fn(i32) -> Vec<Page>,
    page: u32,
    y: i32,
    lines: usize,
) -> Result<(), D::Error> {
    let mut all = pages(WIDE);
    let marked = all.len() > 1;
    if marked {
        all = pages(WIDE - MARK);
    }
    let Some(shown) = (page as usize).checked_rem(all.len()) else { return Ok(()) };
    sheet.all_lines(SIZE, &all[shown], Line::left(0, y, WIDE - if marked { MARK } else { 0 }), STEP, LIT)?;
    if marked {
        let (count, high) = (all.len() as i32, STEP * lines as i32);
        sheet.shape(Area::new(WIDE - 1, y + 1, 1, high), LIT, |_, y| y % 3 == 0)?;
        let part = Area::new(WIDE - 2, y + 1 + shown as i32 * high / count, 2, (high / count).max(2));
        sheet.fill(part, LIT)?;
    }
    Ok(())
}
