//! The signs of a lane's state, drawn as shapes in a box of 20 px.

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::Rgb565};

use crate::{
    canvas::{Area, Canvas, Paint, within},
    colour::{GREEN, SKY},
    screen::{RowSign, Tone},
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
    let area = Area::new(x, y, SIDE, SIDE);
    let coloured = Paint::new(SKY, paint.ground);
    match tone {
        Tone::Empty => canvas.shape(area, paint, |x, y| bar(x, y, 5.0, 9.0, 15.0, 11.0)),
        Tone::Waiting => canvas.shape(area, paint, |x, y| ring(x - 10.0, y - 10.0, 9.0, 2.0)),
        Tone::Ready => canvas.shape(area, paint, play),
        Tone::Running(gone) => {
            let part = Pie::of(gone);
            canvas.shape(area, coloured, |x, y| ring(x - 10.0, y - 10.0, 9.5, 2.0) || part.covers(x - 10.0, y - 10.0))
        }
        Tone::Probe => canvas.shape(area, coloured, |x, y| probe(x - 10.0, y)),
        Tone::OnHold => {
            canvas.shape(area, paint, |x, y| bar(x, y, 4.5, 3.0, 8.5, 17.0) || bar(x, y, 11.5, 3.0, 15.5, 17.0))
        }
        Tone::Window => canvas.shape(area, paint, bracketed_dot),
        Tone::Question => {
            canvas.shape(area, paint, speech)?;
            canvas.shape(area, paint.reversed(), question_mark)
        }
        Tone::Due => {
            canvas.shape(area, paint, |x, y| within(x - 10.0, y - 10.0, 10.0))?;
            canvas.shape(area, paint.reversed(), |x, y| exclamation(x - 10.0, y - 3.5, 9.0))
        }
        Tone::Overdue => {
            canvas.shape(area, paint, warning_triangle)?;
            canvas.shape(area, paint.reversed(), |x, y| exclamation(x - 10.0, y - 6.5, 7.5))
        }
        Tone::Lost => lost(canvas, area, paint),
        Tone::Done => canvas.shape(area, Paint::new(GREEN, paint.ground), tick),
    }
}

/// Draws the sign in front of a row of a list.
pub(crate) fn of_row<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    x: i32,
    y: i32,
    sign: RowSign,
    paint: Paint,
) -> Result<(), D::Error> {
    let area = Area::new(x, y, SIDE, SIDE);
    match sign {
        RowSign::None => Ok(()),
        RowSign::Tick => canvas.shape(area, Paint::new(GREEN, paint.ground), tick),
        RowSign::Open => canvas.shape(area, paint, |x, y| ring(x - 10.0, y - 10.0, 7.5, 2.0)),
        RowSign::Lost => lost(canvas, area, paint),
    }
}

/// Draws a probe with a cross, `scale` times as large as in a cell.
pub(crate) fn large_lost<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    x: i32,
    y: i32,
    scale: i32,
    paint: Paint,
) -> Result<(), D::Error> {
    let s = scale as f32;
    canvas.shape(Area::new(x, y, SIDE * scale, SIDE * scale), paint, |x, y| probe_and_cross(x / s, y / s))
}

/// Draws a tick, `scale` times as large as in a cell.
pub(crate) fn large_tick<D: DrawTarget<Color = Rgb565>>(
    canvas: &mut Canvas<'_, D>,
    x: i32,
    y: i32,
    scale: i32,
    ground: Rgb565,
) -> Result<(), D::Error> {
    let s = scale as f32;
    canvas.shape(Area::new(x, y, SIDE * scale, SIDE * scale), Paint::new(GREEN, ground), |x, y| tick(x / s, y / s))
}

fn lost<D: DrawTarget<Color = Rgb565>>(canvas: &mut Canvas<'_, D>, area: Area, paint: Paint) -> Result<(), D::Error> {
    canvas.shape(area, paint, probe_and_cross)
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
