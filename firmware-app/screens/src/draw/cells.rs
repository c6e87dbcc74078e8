use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;

use super::{ON_BLACK, band};
use crate::{
    canvas::{Area, Canvas, Paint, Place},
    colour::{BLACK, GREY, LINE, WHITE, YELLOW},
    number::{DOUBT, Figures},
    screen::{Cell, Tone},
    sign,
};

/// Draws a lane as a cell of the board.
pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    cell: &Cell,
    flash: bool,
) -> Result<(), D::Error> {
    let left = (i32::from(cell.number) - 1) * 80;
    let area = Area::new(left + 1, 138, 78, 102);
    let look = Look::of(cell.tone);
    let phase = flash && cell.sounding;
    let ground = look.paint.ground;
    if look.frame == 0 {
        canvas.rounded(area, 5, Paint::new(ground, BLACK))?;
    } else {
        canvas.framed(area, 5, look.frame, Paint::new(look.line, BLACK), ground)?;
    }
    if cell.tone == Tone::Question {
        canvas.shape(Area::new(area.right() - 20, area.y, 20, 20), Paint::new(BLACK, ground), |x, y| x > y)?;
    } else if cell.tone == Tone::Overdue {
        band::hatch(canvas, Area::new(area.x + 3, area.y + 2, 72, 5), false)?;
    } else if cell.tone == Tone::Lost {
        band::broken_line(canvas, Area::new(area.x + 2, area.y + 1, 74, 5), BLACK)?;
    }

    badge(canvas, Area::new(left + 6, 148, 26, 24), cell.number, look, phase)?;
    sign::of_lane(canvas, left + 36, 150, cell.tone, look.paint)?;
    figures(canvas, left + 40, 209, &cell.figures, if look.frame > 1 { 68 } else { 75 }, look.figures)?;

    let bottom = Area::new(left + 4 + look.frame / 2, 215, 72 - look.frame / 2 * 2, 22 - look.frame / 2);
    let baseline = 215 + 19 - look.frame / 2;
    if cell.word.is_empty() {
        let paint = if cell.tone == Tone::Empty { Paint::new(GREY, ground) } else { look.paint };
        return canvas.text(TextSize::S, &cell.name, Place::middle(left + 40, baseline, 76), paint);
    }
    let word = look.paint.reversed();
    if look.frame > 1 {
        // the frame itself widens to the word
        let foot = Area::new(area.x, bottom.y, area.w, area.bottom() - bottom.y);
        canvas.rounded(foot, 5, Paint::new(look.line, BLACK))?;
        canvas.fill(Area::new(foot.x, foot.y, foot.w, foot.h - 6), look.line)?;
        return canvas.text(
            TextSize::S,
            &cell.word,
            Place::middle(left + 40, baseline + 1, 70),
            Paint::new(BLACK, look.line),
        );
    }
    canvas.rounded(bottom, 5, Paint::new(word.ground, ground))?;
    canvas.text(TextSize::S, &cell.word, Place::middle(left + 40, baseline, 68), word)
}

/// Draws all lanes in short at the bottom of a page.
pub(super) fn strip<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    cells: &[Cell; 4],
    flash: bool,
) -> Result<(), D::Error> {
    canvas.fill(Area::new(0, 210, 320, 1), LINE)?;
    for cell in cells {
        let left = (i32::from(cell.number) - 1) * 80;
        let look = Look::of(cell.tone);
        if look.paint.ground != BLACK {
            canvas.fill(Area::new(left + 1, 212, 78, 28), look.paint.ground)?;
        } else if look.frame > 1 {
            // no sides: the longest word needs the width
            canvas.fill(Area::new(left + 1, 211, 78, 3), look.line)?;
            canvas.fill(Area::new(left + 1, 237, 78, 3), look.line)?;
        }
        let text = cell.figures.short();
        let shown = if cell.word.is_empty() { &text } else { &cell.word };
        // the badge makes room for the longest word
        let narrow = face::width(TextSize::S, shown.full()) > 50;
        let (from, wide, text_from) = if narrow { (3, 15, 19) } else { (5, 20, 29) };
        badge(canvas, Area::new(left + from, 215, wide, 22), cell.number, look, flash && cell.sounding)?;
        canvas.text(TextSize::S, shown, Place::left(left + text_from, 234, 80 - text_from), look.figures)?;
    }
    Ok(())
}

/// Frame, fill and text of a cell.
#[derive(Clone, Copy)]
struct Look {
    /// Width of the frame; 0 for a filled cell.
    frame: i32,
    line: Rgb565,
    paint: Paint,
    figures: Paint,
    badge: Paint,
}

impl Look {
    fn of(tone: Tone) -> Self {
        let plain = |line| Self { frame: 1, line, paint: ON_BLACK, figures: ON_BLACK, badge: Paint::new(BLACK, GREY) };
        let filled = |ground| {
            let paint = Paint::new(BLACK, ground);
            Self { frame: 0, line: ground, paint, figures: paint, badge: paint.reversed() }
        };
        match tone {
            Tone::Running(_) | Tone::Probe | Tone::OnHold => plain(WHITE),
            Tone::Waiting | Tone::Empty | Tone::Done => Self { figures: Paint::new(GREY, BLACK), ..plain(LINE) },
            Tone::Ready => Self { frame: 3, ..plain(WHITE) },
            Tone::Window => Self { frame: 4, badge: Paint::new(BLACK, YELLOW), ..plain(YELLOW) },
            Tone::Question | Tone::Due => filled(YELLOW),
            Tone::Overdue | Tone::Lost => filled(WHITE),
        }
    }
}

fn badge<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    lane: u8,
    look: Look,
    phase: bool,
) -> Result<(), D::Error> {
    let shown = if phase { look.badge.reversed() } else { look.badge };
    canvas.framed(area, 4, 2, Paint::new(look.badge.ground, look.paint.ground), shown.ground)?;
    let (size, high) = if area.w < 24 { (TextSize::S, 16) } else { (TextSize::M, 20) };
    canvas.text(
        size,
        &band::lane_figure(lane),
        Place::middle(area.middle(), area.y + (area.h + high) / 2, area.w),
        shown,
    )
}

/// Figures with their unit, in the largest size that fits.
fn figures<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    middle: i32,
    baseline: i32,
    figures: &Figures,
    room: i32,
    paint: Paint,
) -> Result<(), D::Error> {
    // the mark of a doubtful reading is no unit: it is to be seen as far as the reading
    let (unit_size, gap) = if figures.unit == DOUBT { (TextSize::Question, 0) } else { (TextSize::S, 2) };
    let unit_width = |unit: &str| if unit.is_empty() { 0 } else { face::width(unit_size, unit) as i32 + gap };
    // large figures stand a little closer, so that 4:37 keeps clear of the frame
    let tracking = |size, text: &str| if size == TextSize::L && text.chars().count() > 3 { -1 } else { 0 };
    let in_size =
        |size, text: &str| face::width(size, text) as i32 + tracking(size, text) * text.chars().count() as i32;
    let fits = |size, text: &str, unit: &str| {
        face::covers(size, text).is_ok() && in_size(size, text) + unit_width(unit) <= room
    };
    // a wide frame leaves less room: the unit is then written as in a strip
    let shorter = if figures.unit == "min" { "m" } else { figures.unit };
    let sizes = [figures.unit, shorter].into_iter().flat_map(|unit| [(TextSize::L, unit), (TextSize::Question, unit)]);
    let found = sizes.into_iter().find_map(|(size, unit)| {
        figures.digits.lengths().find(|text| fits(size, text, unit)).map(|text| (size, text, unit))
    });
    let (size, text, unit_text) = found.unwrap_or((TextSize::Question, figures.digits.least(), shorter));
    let unit = unit_width(unit_text);
    let digits = in_size(size, text);
    let left = middle - (digits + unit) / 2;
    let tracking = tracking(size, text);
    let spread = tracking * text.chars().count() as i32;
    let at = Place { tracking, ..Place::left(left, baseline, room - unit - spread) };
    canvas.text(size, &text, at, paint)?;
    canvas.text(unit_size, &unit_text, Place::left(left + digits + gap, baseline, unit), paint)
}
