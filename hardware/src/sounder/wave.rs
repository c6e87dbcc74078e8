use std::f64::consts::{PI, TAU};

use super::{Level, SoundCue};

/// Renders cues as samples: one channel of 16 bits.
///
/// The tone is a one-fifth-duty pulse, added up from its partials up to 4 kHz, so that nothing folds back whatever the
/// rate. Partials above 2.5 kHz are no stronger than 14 dB below the strongest: that leaves four partials within 15 dB
/// below 4 kHz and keeps most of the power between 500 Hz and 2.5 kHz (`tests/sounds.rs` measures both). Each tone comes
/// and goes in 10 ms. The phases are spread so that the peak of a tone stays low and more of it is heard at the same
/// full scale.
#[derive(Clone, Debug)]
pub struct Wave {
    rate: u32,
    duty: u16,
    /// One turn of a sine over as many samples as there are in a second: every whole frequency is exact.
    sine: Vec<f32>,
}

impl Wave {
    /// What sound cards take.
    pub const RATE: u32 = 48_000;

    /// Samples at so many in a second, at least 8000.
    pub fn new(rate: u32) -> Self {
        let rate = rate.max(2 * TOP);
        let sine = (0..rate).map(|n| (TAU * f64::from(n) / f64::from(rate)).sin() as f32).collect();
        Self { rate, duty: DUTY, sine }
    }

    /// The same with another share of the pulse, in thousandths; for comparing spectra.
    pub fn with_duty(self, duty: u16) -> Self {
        Self { duty, ..self }
    }

    /// Samples in a second.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// The whole cue, with the silence after its last beep.
    pub fn render(&self, cue: &SoundCue, level: Level) -> Vec<i16> {
        let mut samples = Vec::new();
        for tone in cue.tones() {
            let count = tone.length.millis() * u64::from(self.rate) / 1000;
            match tone.hertz {
                Some(hertz) => self.tone(u32::from(hertz), count, level, &mut samples),
                None => samples.extend((0..count).map(|_| 0)),
            }
        }
        samples
    }

    fn tone(&self, hertz: u32, count: u64, level: Level, samples: &mut Vec<i16>) {
        let partials = self.partials(hertz);
        let peak = f64::from(FULL_SCALE) * f64::from(level.share()) / 1000.0 / highest(&partials);
        let edge = u64::from(self.rate) / EDGES_PER_SECOND;
        for n in 0..count {
            let sum: f32 = partials.iter().map(|partial| partial.at(&self.sine, n)).sum();
            // the first and the last sample are not quite silent, so that edges are symmetric
            let from_end = (n + 1).min(count - n).min(edge);
            let risen = (1.0 - (PI * from_end as f64 / edge as f64).cos()) / 2.0;
            samples.push((f64::from(sum) * peak * risen).round() as i16);
        }
    }

    fn partials(&self, hertz: u32) -> Vec<Partial> {
        let duty = f64::from(self.duty) / 1000.0;
        let strength = |n: u32| (PI * f64::from(n) * duty).sin().abs() / f64::from(n);
        let up_to = TOP / hertz;
        let strongest = (1..=up_to).map(strength).fold(0.0, f64::max);
        let capped = |n: u32| if n * hertz > BAND_ENDS { strength(n).min(strongest * CAP) } else { strength(n) };
        let heard = (1..=up_to).filter(|n| strength(*n) > strongest / 1000.0);
        let count = heard.clone().count() as f64;
        heard
            .zip(0u32..)
            .map(|(n, k)| Partial {
                hertz: n * hertz,
                strength: capped(n) as f32,
                // spread over the turn as the square of the place in the row, which keeps the sum's peak low
                turn: (f64::from(k * k) / (2.0 * count)).fract(),
            })
            .collect()
    }
}

struct Partial {
    hertz: u32,
    strength: f32,
    /// Where in its turn it begins, from 0 to 1.
    turn: f64,
}

impl Partial {
    fn at(&self, sine: &[f32], n: u64) -> f32 {
        let turn = sine.len() as u64;
        let offset = (self.turn * turn as f64) as u64;
        let place = (n * u64::from(self.hertz) + offset) % turn;
        // shorter than the table, which holds one turn
        self.strength * sine[place as usize]
    }
}

/// The highest that the sum of partials gets.
fn highest(partials: &[Partial]) -> f64 {
    let lowest = partials.iter().map(|partial| partial.hertz).min().unwrap_or(1);
    let at = |t: f64| -> f64 {
        let each = partials.iter().map(|p| {
            let turns = t * f64::from(p.hertz) / f64::from(lowest) + p.turn;
            f64::from(p.strength) * (TAU * turns).sin()
        });
        each.sum::<f64>().abs()
    };
    // the points lie closer than a tenth of the shortest turn; what lies between is under FULL_SCALE's reserve
    (0..1024).map(|n| at(f64::from(n) / 1024.0)).fold(f64::MIN_POSITIVE, f64::max)
}

/// The share of the pulse, in thousandths.
pub(super) const DUTY: u16 = 200;
/// The peak of the loudest level; the rest is reserve.
const FULL_SCALE: i16 = 31_000;
/// The highest partial, Hz.
const TOP: u32 = 4000;
/// Above this partials are held down, Hz.
const BAND_ENDS: u32 = 2500;
/// 14 dB below the strongest.
const CAP: f64 = 0.199_526;
/// An edge lasts 10 ms.
const EDGES_PER_SECOND: u64 = 100;

#[cfg(test)]
mod tests {
    use quantities::Span;

    use super::*;
    use crate::{Head, LaneKey};

    fn cue() -> SoundCue {
        SoundCue::new(Head::High, &[LaneKey::ALL[3], LaneKey::ALL[2]])
    }

    #[test]
    fn samples_last_as_long_as_the_cue_at_every_rate() {
        for rate in [8000, 16_000, 44_100, 48_000] {
            let samples = Wave::new(rate).render(&cue(), Level::LOUDEST);
            let span = Span::from_millis((samples.len() as u64 * 1000).div_ceil(u64::from(rate)));
            assert_eq!(span, cue().length(), "{rate}");
        }
        assert_eq!(Wave::new(0).rate(), 8000);
    }

    #[test]
    fn a_level_scales_and_none_clips_or_is_silent() {
        let wave = Wave::new(Wave::RATE);
        let peak = |level| wave.render(&cue(), level).into_iter().map(i16::unsigned_abs).max().unwrap_or(0);
        let loudest = peak(Level::LOUDEST);
        assert!((30_000..=31_500).contains(&loudest), "{loudest}");
        for step in 1..=5 {
            let level = Level::try_from(step).unwrap_or_default();
            let expected = f64::from(loudest) * f64::from(level.share()) / 1000.0;
            assert!((f64::from(peak(level)) - expected).abs() < 2.0, "{level}");
        }
    }

    #[test]
    fn tones_come_and_go_softly() {
        let samples = Wave::new(Wave::RATE).render(&SoundCue::plain(Head::Medium), Level::LOUDEST);
        let (first, last) = (samples[0], samples[samples.len() - 1]);
        assert!(first.abs() < 200 && last.abs() < 200, "{first} {last}");
        // after 5 ms at half of its strength, where a hard edge would be at full
        let peak = |of: &[i16]| of.iter().map(|s| f64::from(s.unsigned_abs())).fold(0.0, f64::max);
        assert!(peak(&samples[..240]) < peak(&samples) * 0.6);
    }
}
