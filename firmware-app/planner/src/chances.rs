//! Durations as chances: triangular, and what is left of them once something runs.

use quantities::Span;

use crate::project::Lasts;

/// Gives the same numbers for the same seed on every machine (SplitMix64, Steele, Lea & Flood 2014).
#[derive(Clone, Debug)]
pub(crate) struct Dice {
    state: u64,
}

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self { state: seed ^ 0x5851_f42d_4c95_7f2d }
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut word = self.state;
        word = (word ^ (word >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        word = (word ^ (word >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        word ^ (word >> 31)
    }

    /// A number from zero up to, but without, one.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}

impl Lasts {
    /// The span that is not exceeded with this chance, of the triangular distribution.
    pub fn quantile(self, chance: f64) -> Span {
        let (low, likely, high) = self.numbers();
        if high <= low {
            return self.likely;
        }
        let chance = chance.clamp(0.0, 1.0);
        let width = high - low;
        let value = if chance * width < likely - low {
            low + libm::sqrt(chance * width * (likely - low))
        } else {
            high - libm::sqrt((1.0 - chance) * width * (high - likely))
        };
        span(value.clamp(low, high))
    }

    /// The mean of the triangular distribution.
    pub fn mean(self) -> Span {
        let (low, likely, high) = self.numbers();
        span((low + likely + high) / 3.0)
    }

    /// The chance that it lasts at most so long.
    pub fn chance_by(self, by: Span) -> f64 {
        let (low, likely, high) = self.numbers();
        let by = by.millis() as f64;
        if by >= high {
            1.0
        } else if by <= low {
            0.0
        } else if by < likely {
            (by - low) * (by - low) / ((high - low) * (likely - low))
        } else {
            1.0 - (high - by) * (high - by) / ((high - low) * (high - likely))
        }
    }

    /// What is left after a time in which it did not end.
    ///
    /// Exact once the likely value has passed, since what is left of a triangle beyond its peak is a triangle; before,
    /// the left edge is taken as a slope.
    pub fn left_after(self, passed: Span) -> Self {
        Self {
            low: self.low.saturating_sub(passed),
            likely: self.likely.saturating_sub(passed),
            high: self.high.saturating_sub(passed),
        }
    }

    fn numbers(self) -> (f64, f64, f64) {
        (self.low.millis() as f64, self.likely.millis() as f64, self.high.millis() as f64)
    }
}

fn span(millis: f64) -> Span {
    Span::from_millis(libm::round(millis) as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    const BAKE: Lasts =
        Lasts { low: Span::from_secs(2000), likely: Span::from_secs(2400), high: Span::from_secs(3200) };

    #[test]
    fn the_quantile_undoes_the_chance() {
        for tenth in 1..10 {
            let chance = f64::from(tenth) / 10.0;
            assert!((BAKE.chance_by(BAKE.quantile(chance)) - chance).abs() < 1e-6);
        }
        assert_eq!(BAKE.quantile(0.0), BAKE.low);
        assert_eq!(BAKE.quantile(1.0), BAKE.high);
        assert_eq!(Lasts::exactly(Span::from_secs(7)).quantile(0.9), Span::from_secs(7));
    }

    #[test]
    fn the_mean_is_the_mean_of_what_is_drawn() {
        let mut dice = Dice::new(4);
        let sum: f64 = (0..100_000).map(|_| BAKE.quantile(dice.unit()).secs()).sum();
        assert_eq!(BAKE.mean(), Span::from_millis(2_533_333));
        // standard deviation 250 s, so that of the mean is 0.8 s
        assert!((sum / 1e5 - BAKE.mean().secs()).abs() < 3.2, "{}", sum / 1e5);
    }

    #[test]
    fn what_is_left_beyond_the_peak_is_known_exactly() {
        let passed = Span::from_secs(2600);
        let left = BAKE.left_after(passed);
        assert_eq!((left.low, left.likely, left.high), (Span::ZERO, Span::ZERO, Span::from_secs(600)));
        for more in [50, 200, 500] {
            let more = Span::from_secs(more);
            let truth = (BAKE.chance_by(passed + more) - BAKE.chance_by(passed)) / (1.0 - BAKE.chance_by(passed));
            assert!((left.chance_by(more) - truth).abs() < 1e-9);
        }
    }
}
