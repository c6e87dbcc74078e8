//! The signs of a lane's state in a box of 8 px, drawn pixel by pixel: at this size a scaled outline would be a blot.

use embedded_graphics::{draw_target::DrawTarget, pixelcolor::BinaryColor};

use super::sheet::Sheet;
use crate::{
    canvas::Area,
    screen::{MovedWay, RowSign, Tone},
};

/// Side of the box.
pub(super) const SIDE: i32 = 8;

/// Eight rows of eight pixels, left one high.
type Picture = [u8; 8];

const DASH: Picture = [0, 0, 0, 0b0011_1100, 0b0011_1100, 0, 0, 0];
const RING: Picture = [0x3c, 0x42, 0x81, 0x81, 0x81, 0x81, 0x42, 0x3c];
const PLAY: Picture = [0x60, 0x78, 0x7e, 0x7f, 0x7f, 0x7e, 0x78, 0x60];
const PROBE: Picture = [0x18, 0x18, 0x18, 0x18, 0x18, 0x3c, 0x3c, 0x18];
const BARS: Picture = [0, 0x66, 0x66, 0x66, 0x66, 0x66, 0x66, 0];
const LOOK: Picture = [0xe7, 0x81, 0x99, 0xbd, 0xbd, 0x99, 0x81, 0xe7];
/// A speech box with the question mark left out of it.
const ASK: Picture = [0x7e, 0xc3, 0xf3, 0xe7, 0xff, 0xe7, 0x7e, 0x10];
/// A disc with the mark left out of it.
const CALL: Picture = [0x3c, 0x66, 0xe7, 0xe7, 0xe7, 0xff, 0x66, 0x3c];
/// A triangle with the mark in it; filled, it would read as a letter.
const LATE: Picture = [0x18, 0x24, 0x24, 0x5a, 0x5a, 0x81, 0x99, 0xff];
const LOST: Picture = [0x51, 0x4a, 0x44, 0x4a, 0x51, 0xe0, 0xe0, 0xe0];
const TICK: Picture = [0, 0x01, 0x03, 0x86, 0xcc, 0x78, 0x30, 0];
const SMALL_RING: Picture = [0, 0x3c, 0x42, 0x42, 0x42, 0x42, 0x3c, 0];
const NO: Picture = [0x3c, 0x42, 0x81, 0xbd, 0xbd, 0x81, 0x42, 0x3c];
/// The knob with its pointer.
const KNOB: Picture = [0x3c, 0x66, 0xe7, 0xe7, 0xff, 0xff, 0x7e, 0x3c];
/// An arrow that turns back.
const BACK: Picture = [0x20, 0x60, 0xfc, 0x62, 0x21, 0x01, 0x02, 0x3c];
const RIGHT: Picture = [0x08, 0x0c, 0xfe, 0xff, 0xfe, 0x0c, 0x08, 0];
const LEFT: Picture = [0x10, 0x30, 0x7f, 0xff, 0x7f, 0x30, 0x10, 0];

/// Draws the sign of a lane's state.
pub(super) fn of_lane<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    tone: Tone,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    large_of_lane(sheet, x, y, tone, 1, colour)
}

/// The same, `scale` times as large; how much is gone is drawn in one size only.
pub(super) fn large_of_lane<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    tone: Tone,
    scale: i32,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    let picture = match tone {
        Tone::Empty => DASH,
        Tone::Waiting => RING,
        Tone::Ready => PLAY,
        Tone::Running(gone) => return pie(sheet, x, y, gone, colour),
        Tone::Probe => PROBE,
        Tone::OnHold => BARS,
        Tone::Window => LOOK,
        Tone::Question => ASK,
        Tone::Due => CALL,
        Tone::Overdue => LATE,
        Tone::Lost => LOST,
        Tone::Done => TICK,
    };
    draw(sheet, x, y, picture, scale, colour)
}

/// Draws the sign in front of a row of a list.
pub(super) fn of_row<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    sign: RowSign,
    scale: i32,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    let picture = match sign {
        RowSign::None => return Ok(()),
        RowSign::Tick => TICK,
        RowSign::Open => SMALL_RING,
        RowSign::Lost => LOST,
        RowSign::Refused => NO,
    };
    draw(sheet, x, y, picture, scale, colour)
}

/// Draws which way a plan has moved.
pub(super) fn of_way<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    way: MovedWay,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    let picture = match way {
        MovedWay::Late => RIGHT,
        MovedWay::Early => LEFT,
        MovedWay::CannotFit => LATE,
    };
    draw(sheet, x, y, picture, 1, colour)
}

/// Draws the knob.
pub(super) fn knob<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    draw(sheet, x, y, KNOB, 1, colour)
}

/// Draws the arrow of an undo.
pub(super) fn undo<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    draw(sheet, x, y, BACK, 1, colour)
}

fn draw<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    picture: Picture,
    scale: i32,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    let side = SIDE * scale;
    sheet.shape(Area::new(x, y, side, side), colour, |x, y| picture[(y / scale) as usize] >> (7 - x / scale) & 1 == 1)
}

/// A ring, with the part that is gone filled clockwise from the top.
fn pie<D: DrawTarget<Color = BinaryColor>>(
    sheet: &mut Sheet<'_, D>,
    x: i32,
    y: i32,
    gone: u16,
    colour: BinaryColor,
) -> Result<(), D::Error> {
    draw(sheet, x, y, RING, 1, colour)?;
    let angle = f64::from(gone.min(1000)) / 1000.0 * 2.0 * core::f64::consts::PI;
    let (end_x, end_y) = (libm::sin(angle), -libm::cos(angle));
    sheet.shape(Area::new(x, y, SIDE, SIDE), colour, |x, y| {
        let (x, y) = (f64::from(x) - 3.5, f64::from(y) - 3.5);
        let before_end = x * end_y - y * end_x >= 0.0;
        let part = if gone > 500 { x >= 0.0 || before_end } else { x >= 0.0 && before_end };
        x * x + y * y <= 15.0 && (gone >= 1000 || part)
    })
}
