//! The colours of the panel. Hue only repeats what shape, word and number say.

use embedded_graphics::pixelcolor::{Rgb565, RgbColor};

/// Ground; text on bright fills.
pub const BLACK: Rgb565 = of(0x00, 0x00, 0x00);
/// Text; fill of overdue and probe lost.
pub const WHITE: Rgb565 = of(0xFF, 0xFF, 0xFF);
/// Header left, figures of a waiting lane.
pub const GREY: Rgb565 = of(0xDC, 0xDC, 0xDC);
/// Fill of due and question; brackets of a check window.
pub const YELLOW: Rgb565 = of(0xF0, 0xE4, 0x42);
/// Signs of a running lane; never text.
pub const SKY: Rgb565 = of(0x56, 0xB4, 0xE9);
/// Tick and allowed range; never text.
pub const GREEN: Rgb565 = of(0x00, 0x9E, 0x73);
/// The hatch of overdue; never text.
pub const VERMILION: Rgb565 = of(0xD5, 0x5E, 0x00);
/// Lines that part and frame what is at rest; never text, carries no meaning.
pub const LINE: Rgb565 = of(0x58, 0x58, 0x58);

/// The only colours of text: bright enough to keep 3:1 on black under kitchen glare, or black on a bright fill.
pub const TEXT: [Rgb565; 4] = [BLACK, WHITE, GREY, YELLOW];

const fn of(red: u8, green: u8, blue: u8) -> Rgb565 {
    Rgb565::new(red >> 3, green >> 2, blue >> 3)
}

/// `ink` laid over `ground`, 0 none of it, 15 nothing else.
pub(crate) fn blend(ink: Rgb565, ground: Rgb565, alpha: u8) -> Rgb565 {
    let mix = |over: u8, under: u8| {
        let (over, under, alpha) = (u32::from(over), u32::from(under), u32::from(alpha.min(15)));
        ((over * alpha + under * (15 - alpha) + 7) / 15) as u8
    };
    Rgb565::new(mix(ink.r(), ground.r()), mix(ink.g(), ground.g()), mix(ink.b(), ground.b()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance after the sRGB formula (IEC 61966-2-1, as used for contrast by WCAG 2).
    fn luminance(colour: Rgb565) -> f64 {
        let linear = |value: u8, most: u8| {
            let share = f64::from(value) / f64::from(most);
            if share <= 0.04045 { share / 12.92 } else { libm::pow((share + 0.055) / 1.055, 2.4) }
        };
        0.2126 * linear(colour.r(), 31) + 0.7152 * linear(colour.g(), 63) + 0.0722 * linear(colour.b(), 31)
    }

    #[test]
    fn text_keeps_three_to_one_under_glare_and_seven_without() {
        // a panel of 250 cd/m2 with a black of 0.5 cd/m2, and 80 cd/m2 of glare over both
        for bright in TEXT.into_iter().filter(|colour| *colour != BLACK) {
            let y = luminance(bright);
            assert!((250.0 * y + 80.0) / 80.5 >= 3.0, "{bright:?} under glare");
            assert!((y + 0.05) / 0.05 >= 7.0, "{bright:?} without");
        }
    }

    #[test]
    fn no_sign_colour_is_a_text_colour() {
        for sign in [SKY, GREEN, VERMILION, LINE] {
            assert!(!TEXT.contains(&sign));
        }
    }

    #[test]
    fn blending_ends_at_both_colours() {
        assert_eq!(blend(YELLOW, BLACK, 15), YELLOW);
        assert_eq!(blend(YELLOW, BLACK, 0), BLACK);
        assert!(blend(WHITE, BLACK, 8).g() > blend(WHITE, BLACK, 7).g());
    }
}
