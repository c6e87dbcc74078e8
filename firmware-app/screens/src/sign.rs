//! The signs of a lane's state, drawn as shapes in a box of 20 px.

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};

use crate::{
    canvas::{Area, Canvas, Paint, within},
    colour::{GREEN, SKY},
    screen::{MovedWay, RowSign, Tone},
};

/// Side of the box.
pub(crate) const SIDE: i32 = 20;

/// Draws the sign of a lane's state with its corner at `x`, `y`.
pub(crate) fn of_lane<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    x: i32,
    y: i32,
    tone: Tone,
    paint: Paint,
) -> Result<(), D::Error> {
    large_of_lane(canvas, Area::new(x, y, SIDE, SIDE), tone, paint)
}

/// Draws the sign of a lane's state as large as the square that it is given.
pub(crate) fn large_of_lane<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    tone: Tone,
    paint: Paint,
) -> Result<(), D::Error> {
    let running = Paint::new(SKY, paint.ground);
    match tone {
        Tone::Empty => scaled(canvas, area, paint, |x, y| bar(x, y, 5.0, 9.0, 15.0, 11.0)),
        Tone::Waiting => scaled(canvas, area, paint, |x, y| ring(x - 10.0, y - 10.0, 9.0, 2.0)),
        Tone::Ready => scaled(canvas, area, paint, play),
        Tone::Running(gone) => {
            let part = Pie::of(gone);
            let pie = |x, y| ring(x - 10.0, y - 10.0, 9.5, 2.0) || part.covers(x - 10.0, y - 10.0);
            scaled(canvas, area, running, pie)
        }
        Tone::Probe => scaled(canvas, area, running, |x, y| probe(x - 10.0, y)),
        Tone::OnHold => {
            scaled(canvas, area, paint, |x, y| bar(x, y, 4.5, 3.0, 8.5, 17.0) || bar(x, y, 11.5, 3.0, 15.5, 17.0))
        }
        Tone::Window => scaled(canvas, area, paint, bracketed_dot),
        Tone::Question => {
            scaled(canvas, area, paint, speech)?;
            scaled(canvas, area, paint.reversed(), question_mark)
        }
        Tone::Due => {
            scaled(canvas, area, paint, |x, y| within(x - 10.0, y - 10.0, 10.0))?;
            scaled(canvas, area, paint.reversed(), |x, y| exclamation(x - 10.0, y - 3.5, 9.0))
        }
        Tone::Overdue => {
            scaled(canvas, area, paint, warning_triangle)?;
            scaled(canvas, area, paint.reversed(), |x, y| exclamation(x - 10.0, y - 6.5, 7.5))
        }
        Tone::Lost => scaled(canvas, area, paint, probe_and_cross),
        Tone::Done => scaled(canvas, area, Paint::new(GREEN, paint.ground), tick),
    }
}

/// Draws the sign in front of a row of a list, as large as the square that it is given.
pub(crate) fn of_row<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    sign: RowSign,
    paint: Paint,
) -> Result<(), D::Error> {
    match sign {
        RowSign::None => Ok(()),
        RowSign::Tick => large_of_lane(canvas, area, Tone::Done, paint),
        RowSign::Open => scaled(canvas, area, paint, |x, y| ring(x - 10.0, y - 10.0, 7.5, 2.0)),
        RowSign::Lost => large_of_lane(canvas, area, Tone::Lost, paint),
        // a ring with a bar across: not to be used
        RowSign::Refused => {
            scaled(canvas, area, paint, |x, y| ring(x - 10.0, y - 10.0, 9.0, 2.5) || bar(x, y, 4.5, 8.5, 15.5, 11.5))
        }
    }
}

/// Draws which way a plan has moved, in a box of 30 by 26 px: later points right, earlier points left, and what does not
/// fit runs into a bar from both sides.
pub(crate) fn of_way<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    way: MovedWay,
    paint: Paint,
) -> Result<(), D::Error> {
    // the tip of a wedge that points right
    let right = |x: f32, y: f32, tip: f32, wide: f32| x <= tip && x >= tip - wide && (y - 13.0).abs() <= tip - x;
    let chevrons = |x: f32, y: f32| {
        (right(x, y, 15.0, 13.0) && !right(x, y, 8.0, 13.0)) || (right(x, y, 29.0, 13.0) && !right(x, y, 22.0, 13.0))
    };
    match way {
        MovedWay::Late => canvas.shape(area, paint, chevrons),
        MovedWay::Early => canvas.shape(area, paint, |x, y| chevrons(30.0 - x, y)),
        MovedWay::CannotFit => canvas.shape(area, paint, |x, y| {
            right(x, y, 12.0, 12.0) || right(30.0 - x, y, 12.0, 12.0) || bar(x, y, 13.5, 0.0, 16.5, 26.0)
        }),
    }
}

/// Draws an arrow that turns back, in a box of 20 px: undo.
pub(crate) fn undo<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    x: i32,
    y: i32,
    paint: Paint,
) -> Result<(), D::Error> {
    canvas.shape(Area::new(x, y, SIDE, SIDE), paint, |x, y| {
        let turn = ring(x - 11.0, y - 11.0, 7.5, 2.6) && (x >= 11.0 || y >= 11.0);
        let level = bar(x, y, 7.0, 3.5, 11.0, 6.1);
        let tip = (1.0..=8.0).contains(&x) && (y - 4.8).abs() <= (x - 1.0) * 0.7;
        turn && !(x < 11.0 && y < 14.0) || level || tip
    })
}

/// A shape of a box of 20 px, as large as the square that it is given.
fn scaled<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    area: Area,
    paint: Paint,
    inside: impl Fn(f32, f32) -> bool,
) -> Result<(), D::Error> {
    let by = SIDE as f32 / area.w as f32;
    canvas.shape(area, paint, |x, y| inside(x * by, y * by))
}

fn bar(x: f32, y: f32, left: f32, top: f32, right: f32, bottom: f32) -> bool {
    (left..=right).contains(&x) && (top..=bottom).contains(&y)
}

fn ring(x: f32, y: f32, radius: f32, width: f32) -> bool {
    within(x, y, radius) && !within(x, y, radius - width)
}

/// The part of a disc that is gone, clockwise from the top.
struct Pie {
    x: f32,
    y: f32,
    over_half: bool,
    full: bool,
}

impl Pie {
    fn of(gone: u16) -> Self {
        let angle = f64::from(gone.min(1000)) / 1000.0 * 2.0 * core::f64::consts::PI;
        Self { x: libm::sin(angle) as f32, y: -libm::cos(angle) as f32, over_half: gone > 500, full: gone >= 1000 }
    }

    fn covers(&self, x: f32, y: f32) -> bool {
        // right of the line from the centre to the top, and left of the line to the end of the part
        let before_end = x * self.y - y * self.x >= 0.0;
        let inside = if self.over_half { x >= 0.0 || before_end } else { x >= 0.0 && before_end };
        within(x, y, 9.0) && (self.full || inside)
    }
}

fn play(x: f32, y: f32) -> bool {
    x >= 4.0 && (y - 10.0).abs() <= (17.0 - x) * 9.0 / 13.0
}

/// Stem and bulb, centred on x = 0.
fn probe(x: f32, y: f32) -> bool {
    (x.abs() <= 2.0 && (2.0..=14.0).contains(&y)) || within(x, y - 2.0, 2.0) || within(x, y - 15.0, 4.5)
}

fn probe_and_cross(x: f32, y: f32) -> bool {
    let (cx, cy) = (x - 14.5, y - 9.0);
    let cross = cx.abs() <= 4.8 && ((cx - cy).abs() <= 1.6 || (cx + cy).abs() <= 1.6) && cy.abs() <= 4.8;
    probe(x - 5.0, y) || cross
}

fn bracketed_dot(x: f32, y: f32) -> bool {
    let left = bar(x, y, 1.0, 1.5, 3.2, 18.5) || bar(x, y, 1.0, 1.5, 6.0, 3.7) || bar(x, y, 1.0, 16.3, 6.0, 18.5);
    let right =
        bar(x, y, 16.8, 1.5, 19.0, 18.5) || bar(x, y, 14.0, 1.5, 19.0, 3.7) || bar(x, y, 14.0, 16.3, 19.0, 18.5);
    left || right || within(x - 10.0, y - 10.0, 3.4)
}

fn speech(x: f32, y: f32) -> bool {
    let body = bar(x, y, 2.0, 0.0, 18.0, 15.0) || bar(x, y, 0.0, 2.0, 20.0, 13.0) || corners(x, y);
    let tail = (15.0..=20.0).contains(&y) && x >= 4.0 && x <= 4.0 + (20.0 - y);
    body || tail
}

fn corners(x: f32, y: f32) -> bool {
    [(2.0, 2.0), (18.0, 2.0), (2.0, 13.0), (18.0, 13.0)].into_iter().any(|(cx, cy)| within(x - cx, y - cy, 2.0))
}

fn question_mark(x: f32, y: f32) -> bool {
    let hook = ring(x - 10.0, y - 5.2, 3.7, 2.0) && !(x < 10.0 && y > 5.2);
    let stem = bar(x, y, 9.0, 7.0, 11.0, 10.0);
    hook || stem || within(x - 10.0, y - 12.4, 1.3)
}

/// From y = 0, `high` px high, centred on x = 0.
fn exclamation(x: f32, y: f32, high: f32) -> bool {
    let stroke = y >= 0.0 && y <= high && x.abs() <= 1.7 - 0.7 * y / high;
    stroke || within(x, y - high - 2.6, 1.5)
}

fn warning_triangle(x: f32, y: f32) -> bool {
    (0.0..=19.0).contains(&y) && (x - 10.0).abs() <= y * 10.0 / 19.0 + 0.4
}

fn tick(x: f32, y: f32) -> bool {
    let short = (x - y + 8.0).abs() <= 2.0 && (2.0..=8.2).contains(&x);
    let long = (x + y - 23.2).abs() <= 2.0 && (6.6..=18.5).contains(&x);
    short || long
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        Frame,
        colour::{BLACK, WHITE},
    };
    use alloc::vec::Vec;

    const TONES: [Tone; 12] = [
        Tone::Empty,
        Tone::Waiting,
        Tone::Ready,
        Tone::Running(250),
        Tone::Probe,
        Tone::OnHold,
        Tone::Window,
        Tone::Question,
        Tone::Due,
        Tone::Overdue,
        Tone::Lost,
        Tone::Done,
    ];

    fn drawn(tone: Tone) -> Vec<bool> {
        let mut frame = Frame::default();
        of_lane(&mut Canvas::new(&mut frame), 0, 0, tone, Paint::new(WHITE, BLACK)).unwrap();
        (0..SIDE).flat_map(|y| (0..SIDE).map(move |x| (x, y))).map(|(x, y)| frame.pixel(x, y) != Some(BLACK)).collect()
    }

    #[test]
    fn every_pair_of_signs_differs_in_shape_alone() {
        for (i, one) in TONES.into_iter().enumerate() {
            for other in &TONES[i + 1..] {
                let differ = drawn(one).into_iter().zip(drawn(*other)).filter(|(a, b)| a != b).count();
                assert!(differ >= 40, "{one:?} and {other:?} differ in {differ} px only");
            }
        }
    }

    #[test]
    fn pie_grows_with_the_time_gone() {
        let ink = |gone| drawn(Tone::Running(gone)).into_iter().filter(|inked| *inked).count();
        let grown: Vec<_> = [0, 125, 250, 500, 625, 750, 1000].into_iter().map(ink).collect();
        assert!(grown.is_sorted_by(|a, b| a < b), "{grown:?}");
    }
}
