//! Chance from a seed: the same numbers on every machine.

/// A small generator of random numbers (the splitmix construction), always started from a seed.
#[derive(Clone, Debug)]
pub struct Chance {
    state: u64,
}

impl Chance {
    /// The stream of one item of one seed; streams of different items do not depend on the order they are made in.
    pub fn of(seed: u64, item: u64) -> Self {
        let mut chance = Self { state: seed ^ item.wrapping_mul(0xd134_2543_de82_ef95) };
        chance.bits();
        chance.bits();
        chance
    }

    /// Sixty-four random bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to but not 1.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly between two ends.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Evenly on the logarithm between two positive ends.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        libm::exp(self.between(libm::log(low), libm::log(high)))
    }

    /// True with this chance.
    pub fn happens(&mut self, chance: f64) -> bool {
        self.share() < chance
    }

    /// One of a list that is not empty.
    pub fn one_of<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }

    /// A whole number below `count`, which is not zero.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count - 1)
    }

    /// Nearly normal with mean 0 and spread 1: twelve even numbers summed four at a time; never beyond 6.
    pub fn normal(&mut self) -> f64 {
        let mut sum = 0.0;
        for _ in 0..4 {
            let bits = self.bits();
            sum += (bits & 0x1f_ffff) as f64 + ((bits >> 21) & 0x1f_ffff) as f64 + (bits >> 43) as f64;
        }
        sum / f64::from(1u32 << 21) - 6.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_numbers_and_another_gives_others() {
        let draw = |seed, item| {
            let mut chance = Chance::of(seed, item);
            [chance.bits(), chance.bits(), chance.bits()]
        };
        assert_eq!(draw(7, 1), draw(7, 1));
        assert_ne!(draw(7, 1), draw(7, 2));
        assert_ne!(draw(7, 1), draw(8, 1));
    }

    #[test]
    fn normal_numbers_have_mean_nought_and_spread_one() {
        let mut chance = Chance::of(3, 0);
        let n = 20_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..n {
            let x = chance.normal();
            sum += x;
            squares += x * x;
        }
        let mean = sum / f64::from(n);
        let spread = libm::sqrt(squares / f64::from(n) - mean * mean);
        assert!(mean.abs() < 0.03 && (spread - 1.0).abs() < 0.03, "mean {mean}, spread {spread}");
    }
}
