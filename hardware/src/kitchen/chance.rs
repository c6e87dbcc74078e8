use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Chance that comes from a seed alone, the same on every machine.
///
/// A seed is mixed with what the chance is about and with a number, so that asking in another order, or more often,
/// changes nothing.
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    pub(crate) fn new(seed: u64, about: &str, number: u64) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        key[8..16].copy_from_slice(&number.to_le_bytes());
        key[16..24].copy_from_slice(&hash(about).to_le_bytes());
        Self(ChaCha8Rng::from_seed(key))
    }

    /// From 0 to just under 1, evenly.
    pub(crate) fn even(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * EVEN_GRAIN
    }

    /// Normal, with mean 0 and standard deviation 1 (Box and Muller).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.even()));
        radius * libm::cos(core::f64::consts::TAU * self.even())
    }

    /// True with this chance.
    pub(crate) fn happens(&mut self, chance: f64) -> bool {
        self.even() < chance
    }

    /// A whole number under `end`.
    pub(crate) fn up_to(&mut self, end: usize) -> usize {
        // below one times `end` stays below `end`
        (self.even() * end as f64) as usize
    }

    /// Above zero, with this mean and standard deviation; long waits are rarer than short ones (log-normal).
    pub(crate) fn wait(&mut self, mean: f64, sd: f64) -> f64 {
        let spread = libm::log(1.0 + (sd / mean) * (sd / mean));
        mean * libm::exp(libm::sqrt(spread) * self.normal() - spread / 2.0)
    }
}

const EVEN_GRAIN: f64 = 1.0 / (1u64 << 53) as f64;

/// FNV-1a, 64 bit.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xCBF2_9CE4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01B3))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean_and_sd(values: &[f64]) -> (f64, f64) {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let square = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n;
        (mean, square.sqrt())
    }

    #[test]
    fn the_shapes_are_right() {
        let mut chance = Chance::new(11, "shapes", 0);
        let even: Vec<f64> = (0..20_000).map(|_| chance.even()).collect();
        assert!(even.iter().all(|v| (0.0..1.0).contains(v)));
        let (mean, sd) = mean_and_sd(&even);
        assert!((mean - 0.5).abs() < 0.01 && (sd - 0.2887).abs() < 0.01);
        let normal: Vec<f64> = (0..20_000).map(|_| chance.normal()).collect();
        let (mean, sd) = mean_and_sd(&normal);
        assert!(mean.abs() < 0.03 && (sd - 1.0).abs() < 0.03);
        let waits: Vec<f64> = (0..20_000).map(|_| chance.wait(4.0, 2.0)).collect();
        assert!(waits.iter().all(|v| *v > 0.0));
        let (mean, sd) = mean_and_sd(&waits);
        assert!((mean - 4.0).abs() < 0.1 && (sd - 2.0).abs() < 0.2);
    }

    #[test]
    fn seed_subject_and_number_each_change_it() {
        let draw = |seed, about, number| Chance::new(seed, about, number).even();
        let first = draw(1, "a", 1);
        assert_eq!(first, draw(1, "a", 1));
        for other in [draw(2, "a", 1), draw(1, "b", 1), draw(1, "a", 2)] {
            assert_ne!(first, other);
        }
    }
}
