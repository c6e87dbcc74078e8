//! What a probe makes of the food: lag, heat along its stem, noise, an offset, and a step of its converter.
//!
//! Ranges are those of kitchen probes (common practice, no source; the steps are those of common converters).

use crate::{chance::Chance, cook::Cooked};

/// One probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    /// Seconds to follow 63 % of a step.
    pub lag: f64,
    /// Share of the difference to the air that comes down the stem.
    pub stem: f64,
    /// Spread of the noise, °C.
    pub noise: f64,
    /// How far the noise of one second keeps to the next, 0 to 1.
    pub memory: f64,
    /// Always off by this, °C.
    pub offset: f64,
    /// Step of the converter, °C.
    pub quantum: f64,
    /// Whether there is an air probe as well.
    pub air: bool,
}

/// Readings of a cook second by second.
#[derive(Debug)]
pub struct Readings<'a> {
    probe: Probe,
    cooked: &'a Cooked,
    chance: Chance,
    felt: f64,
    wander: f64,
    place: usize,
    second: u32,
}

/// One second of a cook.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Second {
    /// Seconds since the start.
    pub t: f64,
    /// The probe, °C.
    pub core: f64,
    /// The air beside it, if it is measured, °C.
    pub air: Option<f64>,
    /// The food at the tip in truth, °C.
    pub truth: f64,
}

impl Probe {
    /// One as kitchens have it.
    pub fn drawn(chance: &mut Chance) -> Self {
        Self {
            lag: chance.between(2.5, 12.0),
            stem: if chance.happens(0.4) { chance.between(0.0, 0.01) } else { 0.0 },
            noise: chance.log_between(0.04, 0.4),
            memory: if chance.happens(0.5) { 0.0 } else { chance.between(0.0, 0.7) },
            offset: 0.17 * chance.normal(),
            quantum: chance.one_of(&[0.0625, 0.1, 0.1, 0.25, 0.25, 0.5]),
            air: chance.happens(0.65),
        }
    }

    /// Reads a cook.
    pub fn read<'a>(&self, cooked: &'a Cooked, chance: Chance) -> Readings<'a> {
        Readings { probe: *self, cooked, chance, felt: cooked.tip[0], wander: 0.0, place: 0, second: 0 }
    }
}

impl Iterator for Readings<'_> {
    type Item = Second;

    fn next(&mut self) -> Option<Second> {
        let t = f64::from(self.second);
        if t > self.cooked.end() {
            return None;
        }
        self.second += 1;
        let p = &self.probe;
        let mut here = self.place;
        let truth = self.cooked.tip_at(t, &mut here);
        let air = self.cooked.air_at(t, &mut self.place);
        let seen = truth + p.stem * (air - truth);
        self.felt += (seen - self.felt) * (1.0 - libm::exp(-1.0 / p.lag));
        let fresh = libm::sqrt(1.0 - p.memory * p.memory) * p.noise * self.chance.normal();
        self.wander = p.memory * self.wander + fresh;
        let raw = self.felt + self.wander + p.offset;
        let core = libm::round(raw / p.quantum) * p.quantum;
        let air = (p.air && self.second % 10 == 1).then(|| libm::round(air + 0.7 * self.chance.normal()));
        Some(Second { t, core, air, truth })
    }
}
