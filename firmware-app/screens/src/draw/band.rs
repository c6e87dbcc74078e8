use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;
use words::Text;

use super::{ON_BLACK, QUIET};
use crate::{
    canvas::{Area, Canvas, Paint, Place, broken, fitting, within},
    colour::{BLACK, LINE, VERMILION, WHITE, YELLOW},
    number,
    screen::{Band, Large, PairRow, ProbeLost, Question, Tone},
    sign,
};

const BAND: Area = Area::new(0, 25, 320, 111);
const BADGE: Area = Area::new(4, 33, 54, 96);
/// Width of the hatch; what stands at the left edge moves right by it.
const HATCH: i32 = 10;

pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    band: &Band,
    flash: bool,
) -> Result<(), D::Error> {
    match band {
        Band::Idle(text) => canvas.text(TextSize::M, text, Place::middle(160, 90, 308), QUIET),
        Band::Large(large) => self::large(canvas, large, flash),
        Band::Question(question) => self::question(canvas, question, flash),
        Band::ProbeLost(lost) => probe_lost(canvas, lost, flash),
        Band::Pair([upper, lower]) => {
            row(canvas, upper, 25, flash)?;
            row(canvas, lower, 81, flash)
        }
    }
}

/// Text and ground of what stands in the band or a row of it.
fn paint_of(tone: Tone) -> Paint {
    if !tone.is_filled() {
        ON_BLACK
    } else if tone == Tone::Overdue || tone == Tone::Lost {
        Paint::new(BLACK, WHITE)
    } else {
        Paint::new(BLACK, YELLOW)
    }
}

/// Fill and figure of the badge on a ground.
fn badge_paint(tone: Tone) -> Paint {
    let ground = paint_of(tone).ground;
    if tone == Tone::Window {
        Paint::new(BLACK, YELLOW)
    } else if ground == BLACK {
        Paint::new(BLACK, WHITE)
    } else {
        Paint::new(ground, BLACK)
    }
}

fn large<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    large: &Large,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(large.tone);
    let phase = flash && large.sounding;
    if paint.ground != BLACK {
        canvas.fill(BAND, paint.ground)?;
    }
    let shift = if large.tone == Tone::Overdue { HATCH } else { 0 };
    if large.tone == Tone::Overdue {
        hatch(canvas, Area::new(0, BAND.y, HATCH, BAND.h), phase)?;
    }
    if large.tone == Tone::Window {
        bracket(canvas, BAND, YELLOW)?;
    }
    let inset = if large.tone == Tone::Window { 5 } else { 0 };
    badge(
        canvas,
        Area::new(BADGE.x + shift + inset, BADGE.y, BADGE.w, BADGE.h),
        large.lane,
        badge_paint(large.tone),
        paint.ground,
        phase,
    )?;

    // a window's brackets take the corners, so its label stands further in
    let from = 64
        + if large.tone == Tone::Window {
            4
        } else if large.tone == Tone::Overdue {
            6
        } else {
            0
        };
    // dots and accents over a capital need a little more height than the fill leaves above the others
    let label = fitting(TextSize::M, &large.label, 316 - from);
    let high = label.chars().any(|letter| face::glyph(TextSize::M, letter).is_some_and(|glyph| glyph.y < -23));
    canvas.text(TextSize::M, &label, Place::left(from, if high { 51 } else { 48 }, 316 - from), paint)?;
    let edge = if large.tone == Tone::Window {
        308
    } else if large.tone == Tone::Overdue {
        // a sign in front and the hatch: the last figure's own margin keeps it off the edge
        318
    } else {
        316
    };
    let right = if large.doubtful { edge - doubt_width() } else { edge };
    let digits = face::width(TextSize::Xxl, fitting(TextSize::Xxl, &large.digits, right - 68)) as i32;
    canvas.text(TextSize::Xxl, &large.digits, Place::right(right, 133, right - 68), paint)?;
    if large.doubtful {
        canvas.text(TextSize::Question, &number::DOUBT, Place::right(edge, 133, doubt_width()), paint)?;
    }
    let room = right - digits - 2 - from;
    if !large.facts.is_empty() {
        return facts(canvas, &large.facts, Place::left(from, 78, room), paint);
    }
    // the word is left out where long figures need its place
    let note = face::width(TextSize::S, large.note.least()) as i32;
    if note <= room { canvas.text(TextSize::S, &large.note, Place::left(from, 78, room), paint) } else { Ok(()) }
}

/// Room for the mark behind a reading that may be wrong.
pub(super) fn doubt_width() -> i32 {
    face::width(TextSize::Question, number::DOUBT) as i32 + 1
}

/// What is known beside the figures, in three lines; what has no room there is left out.
fn facts<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    facts: &[Text],
    at: Place,
    paint: Paint,
) -> Result<(), D::Error> {
    const LINES: usize = 3;
    const STEP: i32 = 23;
    let mut taken = 0;
    for (i, fact) in facts.iter().enumerate() {
        // a line is kept for each that comes after
        let most = LINES.saturating_sub(taken + facts.len() - 1 - i);
        let room = at.room.max(0) as u32;
        let Some(lines) = fact.lengths().find_map(|text| broken(TextSize::S, text, room, most)) else { continue };
        for line in lines {
            canvas.text(TextSize::S, &line, Place { baseline: at.baseline + taken as i32 * STEP, ..at }, paint)?;
            taken += 1;
        }
    }
    Ok(())
}

fn question<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    question: &Question,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(Tone::Question);
    canvas.fill(BAND, paint.ground)?;
    badge(canvas, BADGE, question.lane, badge_paint(Tone::Question), paint.ground, flash && question.sounding)?;
    let single = question.text.lengths().any(|text| face::width(TextSize::Question, text) <= 246);
    let baseline = if single { 74 } else { 58 };
    canvas.lines(TextSize::Question, &question.text, Place::left(68, baseline, 246), 33, 2, paint)?;
    let yes = face::width(TextSize::S, question.yes.full()) as i32 + 24;
    let inverse = paint.reversed();
    for (x, w, text) in [(66, yes, &question.yes), (66 + yes + 8, 316 - (66 + yes + 8), &question.no)] {
        let area = Area::new(x, 103, w, 27);
        canvas.rounded(area, 5, paint)?;
        canvas.text(TextSize::S, text, Place::middle(area.middle(), 124, area.w - 8), inverse)?;
    }
    Ok(())
}

fn probe_lost<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    lost: &ProbeLost,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(Tone::Lost);
    canvas.fill(BAND, paint.ground)?;
    broken_line(canvas, Area::new(0, BAND.y, 320, 5), paint.ink)?;
    badge(canvas, BADGE, lost.lane, badge_paint(Tone::Lost), paint.ground, flash && lost.sounding)?;
    sign::large_of_lane(canvas, Area::new(64, 34, 40, 40), Tone::Lost, paint)?;
    canvas.text(TextSize::Question, &lost.title, Place::left(110, 66, 206), paint)?;
    canvas.text(TextSize::S, &lost.detail, Place::left(66, 95, 250), paint)?;
    let area = Area::new(66, 103, 250, 27);
    canvas.rounded(area, 5, paint)?;
    canvas.text(TextSize::S, &lost.offer, Place::middle(area.middle(), 124, area.w - 8), paint.reversed())
}

fn row<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    row: &PairRow,
    top: i32,
    flash: bool,
) -> Result<(), D::Error> {
    let paint = paint_of(row.tone);
    let phase = flash && row.sounding;
    canvas.fill(Area::new(0, top, 320, 55), paint.ground)?;
    if paint.ground == BLACK {
        canvas.fill(Area::new(0, top + 55, 320, 1), LINE)?;
    }
    let late = row.tone == Tone::Overdue;
    if late {
        hatch(canvas, Area::new(0, top, 8, 55), phase)?;
    }
    if row.tone == Tone::Lost {
        broken_line(canvas, Area::new(0, top, 320, 3), paint.ink)?;
    }
    let fill = badge_paint(row.tone);
    // below the broken line
    let area = if row.tone == Tone::Lost { Area::new(11, top + 5, 44, 48) } else { Area::new(11, top + 2, 44, 51) };
    let shown = if phase { fill.reversed() } else { fill };
    canvas.framed(area, 5, 2, Paint::new(fill.ground, paint.ground), shown.ground)?;
    canvas.text(TextSize::Xl, &lane_figure(row.lane), Place::middle(area.middle(), top + 49, 44), shown)?;

    let digits = face::width(TextSize::Xl, fitting(TextSize::Xl, &row.digits, 200)) as i32;
    canvas.text(TextSize::Xl, &row.digits, Place::right(316, top + 49, 200), paint)?;
    let room = (316 - digits - 6 - 61).max(105);
    for (line, baseline) in row.lines.iter().zip([top + 24, top + 46]) {
        canvas.text(TextSize::S, line, Place::left(61, baseline, room), paint)?;
    }
    Ok(())
}

/// The lane's number over as many filled dots. In the other flash phase its two colours change places, inside a frame
/// that stays.
fn badge<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    lane: u8,
    fill: Paint,
    ground: Rgb565,
    phase: bool,
) -> Result<(), D::Error> {
    let shown = if phase { fill.reversed() } else { fill };
    canvas.framed(area, 7, 3, Paint::new(fill.ground, ground), shown.ground)?;
    canvas.text(TextSize::Badge, &lane_figure(lane), Place::middle(area.middle(), area.y + 73, 54), shown)?;
    for dot in 0..4 {
        let place = Area::new(area.x + 3 + dot * 12, area.bottom() - 18, 12, 12);
        let filled = dot < i32::from(lane);
        canvas
            .shape(place, shown, |x, y| within(x - 6.0, y - 6.0, 5.0) && (filled || !within(x - 6.0, y - 6.0, 3.5)))?;
    }
    Ok(())
}

pub(super) fn lane_figure(lane: u8) -> &'static str {
    ["?", "1", "2", "3", "4"].get(usize::from(lane)).copied().unwrap_or("?")
}

/// Stripes of 8 px; the other flash phase moves them by half.
pub(super) fn hatch<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    phase: bool,
) -> Result<(), D::Error> {
    canvas.fill(area, BLACK)?;
    let start = if phase { 8.0 } else { 0.0 };
    canvas.shape(area, Paint::new(VERMILION, BLACK), |x, y| {
        let along = x + y + start;
        // whole numbers only: the area lies at positive coordinates
        (along as i32 / 8) % 2 == 0
    })
}

/// A broken line: what a lost signal looks like.
pub(super) fn broken_line<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    ink: Rgb565,
) -> Result<(), D::Error> {
    (0..area.w / 12 + 1).try_for_each(|i| {
        let x = area.x + i * 12;
        canvas.fill(Area::new(x, area.y, 7.min(area.right() - x), area.h), ink)
    })
}

/// Square brackets at both ends of a place that is as wide as the panel.
pub(super) fn bracket<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    place: Area,
    ink: Rgb565,
) -> Result<(), D::Error> {
    const WIDE: i32 = 6;
    const ARM: i32 = 14;
    for (x, arm) in [(0, 0), (320 - WIDE, 320 - ARM)] {
        canvas.fill(Area::new(x, place.y, WIDE, place.h), ink)?;
        canvas.fill(Area::new(arm, place.y, ARM, 4), ink)?;
        canvas.fill(Area::new(arm, place.bottom() - 4, ARM, 4), ink)?;
    }
    Ok(())
}
