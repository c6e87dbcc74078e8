use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};
use face::Size as TextSize;

use super::{ON_BLACK, ON_WHITE, QUIET, band, buttons, header};
use crate::{
    canvas::{Area, Canvas, Paint, Place, fitting},
    colour::{BLACK, WHITE, YELLOW},
    screen::{ProbeCheck, ProbeCheckState, Tone},
    sign,
};

/// Where the reading and its words stand.
const PLACE: Area = Area::new(0, 56, 320, 113);
/// Where the wait is drawn.
const BAR: Area = Area::new(LEFT, 171, 320 - 2 * LEFT, 9);
/// Clear of the brackets.
const LEFT: i32 = 18;
const ROOM: i32 = 318 - 2 * LEFT;

/// Draws the check of a probe. The code of light and dark holds here too: plain while it settles, brackets when it may
/// be saved, filled when something is wrong.
pub(super) fn draw<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &ProbeCheck,
) -> Result<(), D::Error> {
    header(canvas, &page.header)?;
    canvas.text(TextSize::M, &page.bath, Place::left(LEFT, 49, 318 - LEFT), ON_BLACK)?;
    let paint = match page.state {
        ProbeCheckState::TooFar | ProbeCheckState::NoSignal => ON_WHITE,
        ProbeCheckState::Settling(_) | ProbeCheckState::Steady | ProbeCheckState::Saved => ON_BLACK,
    };
    if paint.ground == WHITE {
        canvas.fill(PLACE, WHITE)?;
    }
    let place = Area::new(258, 72, 48, 48);
    match page.state {
        ProbeCheckState::Settling(gone) => {
            canvas.framed(BAR, 4, 1, ON_BLACK, BLACK)?;
            let inside = BAR.inset(2);
            canvas.fill(Area::new(inside.x, inside.y, inside.w * i32::from(gone.min(1000)) / 1000, inside.h), WHITE)?;
            sign::large_of_lane(canvas, place, Tone::Running(gone), ON_BLACK)?;
        }
        ProbeCheckState::Steady => {
            band::bracket(canvas, PLACE, YELLOW)?;
            sign::large_of_lane(canvas, place, Tone::Window, ON_BLACK)?;
        }
        ProbeCheckState::TooFar => sign::large_of_lane(canvas, place, Tone::Overdue, paint)?,
        ProbeCheckState::Saved => sign::large_of_lane(canvas, place, Tone::Done, ON_BLACK)?,
        ProbeCheckState::NoSignal => {
            band::broken_line(canvas, Area::new(0, PLACE.y, 320, 5), BLACK)?;
            sign::large_of_lane(canvas, place, Tone::Lost, paint)?;
        }
    }
    canvas.text(TextSize::Xxl, &page.digits, Place::left(LEFT - 2, 139, 250), paint)?;
    note(canvas, page, paint)?;
    canvas.text(TextSize::S, &page.last, Place::left(LEFT, 200, ROOM), QUIET)?;
    buttons(canvas, 209, 28, &page.buttons)
}

/// The same in words, as large as all of them have room.
fn note<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    page: &ProbeCheck,
    paint: Paint,
) -> Result<(), D::Error> {
    let words = fitting(TextSize::S, &page.note, ROOM);
    let large = face::width(TextSize::M, words) as i32 <= ROOM;
    let size = if large { TextSize::M } else { TextSize::S };
    canvas.text(size, &words, Place::left(LEFT, 163, ROOM), paint)
}
