//! The only source of chance: a counter scrambled by multiplications (SplitMix64, Steele, Lea & Flood 2014).

/// Gives the same numbers for the same seed on every machine.
#[derive(Clone, Debug)]
pub(crate) struct Chance {
    state: u64,
}

impl Chance {
    pub(crate) fn new(seed: u64) -> Chance {
        Chance { state: seed ^ 0x5851_f42d_4c95_7f2d }
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut word = self.state;
        word = (word ^ (word >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        word = (word ^ (word >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        word ^ (word >> 31)
    }

    /// A number from zero to one less than `count`, which is at least one.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        let wide = u128::from(self.next()) * (count.max(1) as u128);
        (wide >> 64) as usize
    }

    /// A number from zero up to, but without, one.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}
