/// Red, green, blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Colour(pub(super) u8, pub(super) u8, pub(super) u8);

pub(super) const WHITE: Colour = Colour(255, 255, 255);
pub(super) const BLACK: Colour = Colour(0, 0, 0);
/// Second lines, axis: 7:1 on white.
pub(super) const GREY: Colour = Colour(89, 89, 89);
/// Lines of the grid.
pub(super) const PALE: Colour = Colour(212, 212, 212);
/// Every second row.
pub(super) const SHADE: Colour = Colour(246, 246, 246);
/// Eight in ten of a landing.
pub(super) const BAND: Colour = Colour(226, 226, 226);

/// The hues that Okabe and Ito chose for all kinds of colour vision, without black and yellow: yellow has no dark shade that
/// still looks yellow.
const HUES: [Colour; 6] = [
    Colour(0, 114, 178),
    Colour(230, 159, 0),
    Colour(0, 158, 115),
    Colour(204, 121, 167),
    Colour(86, 180, 233),
    Colour(213, 94, 0),
];

impl Colour {
    /// The hue of a dish; steps of no dish, and all dishes past the sixth, are grey. The letter tells them apart.
    pub(super) fn of_dish(dish: Option<usize>) -> Self {
        dish.and_then(|dish| HUES.get(dish).copied()).unwrap_or(Colour(120, 120, 120))
    }

    /// A share of this colour over another, in hundredths.
    pub(super) fn over(self, other: Self, share: u32) -> Self {
        let share = share.min(100);
        let mix = |own: u8, other: u8| ((u32::from(own) * share + u32::from(other) * (100 - share) + 50) / 100) as u8;
        Self(mix(self.0, other.0), mix(self.1, other.1), mix(self.2, other.2))
    }

    /// For surfaces under black text.
    pub(super) fn tint(self) -> Self {
        self.over(WHITE, 28)
    }

    /// For lines and strips on white.
    pub(super) fn deep(self) -> Self {
        self.over(BLACK, 66)
    }

    pub(super) fn hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast by WCAG 2.2.
    fn contrast(one: Colour, other: Colour) -> f64 {
        let light = |colour: Colour| {
            let part = |part: u8| {
                let part = f64::from(part) / 255.0;
                if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * part(colour.0) + 0.7152 * part(colour.1) + 0.0722 * part(colour.2) + 0.05
        };
        let (one, other) = (light(one), light(other));
        one.max(other) / one.min(other)
    }

    #[test]
    fn texts_have_at_least_four_and_a_half_to_one_and_shapes_three_to_one() {
        for dish in (0..HUES.len()).map(Some).chain([None]) {
            let hue = Colour::of_dish(dish);
            assert!(contrast(BLACK, hue.tint()) > 7.0, "{dish:?}");
            assert!(contrast(hue.deep(), WHITE) >= 3.0, "{dish:?} {}", contrast(hue.deep(), WHITE));
            // strips stand on the tint
            assert!(contrast(hue.deep(), hue.tint()) >= 3.0, "{dish:?} {}", contrast(hue.deep(), hue.tint()));
        }
        for ground in [WHITE, SHADE, BAND] {
            assert!(contrast(BLACK, ground) > 7.0);
            assert!(contrast(GREY, ground) >= 4.5);
        }
    }

    #[test]
    fn dishes_past_the_sixth_are_grey_and_rely_on_their_letter() {
        assert_eq!(Colour::of_dish(Some(6)), Colour::of_dish(None));
        assert_ne!(Colour::of_dish(Some(5)), Colour::of_dish(None));
    }
}
