//! What is known of a lane and what is to be done there, in the two lines under its figures: one page after the other.

use alloc::{string::String, vec::Vec};

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;
use words::Text;

use super::{ON_BLACK, QUIET};
use crate::{
    canvas::{Area, Canvas, Place, broken, flowed},
    colour::blend,
};

const SIZE: TextSize = TextSize::S;
const LINES: usize = 2;
const STEP: i32 = 23;
const FIRST: Place = Place::left(6, 147, 308);
/// Room for the marks that tell which page of how many it is.
const MARKS: i32 = 8;

/// A fact alone stays in the first line, and the rest takes turns below it. More than one take turns with the rest.
pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    facts: &[Text],
    rest: &[Text],
    page: u32,
) -> Result<(), D::Error> {
    let fits_a_line = |fact: &Text| fact.lengths().any(|text| face::width(SIZE, text) as i32 <= FIRST.room);
    match facts {
        [only] if fits_a_line(only) => {
            canvas.text(SIZE, only, FIRST, ON_BLACK)?;
            let below = Place { baseline: FIRST.baseline + STEP, ..FIRST };
            in_turn(canvas, |room| (Vec::new(), flow(rest, room, LINES - 1)), page, below, LINES - 1)
        }
        _ => {
            let mut too_wide = Vec::new();
            for fact in facts.iter().filter(|fact| !fact.is_empty() && in_lines(fact, FIRST.room - MARKS).is_none()) {
                too_wide.push(String::from(fact.full()));
            }
            canvas.too_wide.append(&mut too_wide);
            in_turn(canvas, |room| (packed(facts, room), flow(rest, room, LINES)), page, FIRST, LINES)
        }
    }
}

type Page = Vec<String>;

/// The fullest length of a fact that two lines have room for, and its lines.
fn in_lines(fact: &Text, room: i32) -> Option<Page> {
    fact.lengths().find_map(|text| broken(SIZE, text, room.max(0) as u32, LINES))
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
    let flowed = texts.map(|text| flowed(SIZE, text.full(), room.max(0) as u32));
    flowed.flat_map(|text| text.chunks(lines.max(1)).map(<[String]>::to_vec).collect::<Vec<_>>()).collect()
}

/// Shows one of the pages, facts first; marks at the right tell which of how many.
fn in_turn<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    pages: impl Fn(i32) -> (Vec<Page>, Vec<Page>),
    page: u32,
    at: Place,
    lines: usize,
) -> Result<(), D::Error> {
    let (mut facts, mut rest) = pages(at.room);
    let marked = facts.len() + rest.len() > 1;
    if marked {
        (facts, rest) = pages(at.room - MARKS);
    }
    let count = facts.len() + rest.len();
    let Some(shown) = (page as usize).checked_rem(count) else { return Ok(()) };
    let paint = if shown < facts.len() { ON_BLACK } else { QUIET };
    for (i, line) in (0..).zip(facts.iter().chain(&rest).nth(shown).into_iter().flatten()) {
        canvas.text(SIZE, line, Place { baseline: at.baseline + i * STEP, ..at }, paint)?;
    }
    if !marked {
        return Ok(());
    }
    let high = ((lines as i32 * STEP) / count as i32 - 2).clamp(2, 8);
    let top = at.baseline - SIZE.capital() as i32;
    (0..count).try_for_each(|mark| {
        let here = Area::new(at.x + at.room - 4, top + mark as i32 * (high + 2), 4, high);
        let ink = if mark == shown { QUIET.ink } else { blend(QUIET.ink, QUIET.ground, 5) };
        canvas.fill(here, ink)
    })
}
