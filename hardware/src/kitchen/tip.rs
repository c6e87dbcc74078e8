use std::fmt;

use quantities::{Celsius, CelsiusStep, NoReading, Reading, RunTime, Span};
use serde::{Deserialize, Serialize};

use super::{ApplianceId, ItemId};
use super::{Chance, NOT_YET, appliance::share_of_step, celsius, plan::PlannedProbe};
use crate::{ProbeId, ProbeInfo, ProbeKind};

/// Where the tip of a simulated probe is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "place", rename_all = "snake_case", deny_unknown_fields)]
pub enum Tip {
    /// In a food.
    In {
        /// Which one.
        item: ItemId,
        /// How far above the middle of a flat food, or outside the centre of a round one.
        #[serde(default)]
        offset_mm: f64,
    },
    /// In the air of an oven, on the face of a pan, in the water of a pot, on the bench.
    Air {
        /// Which one.
        appliance: ApplianceId,
    },
}

impl fmt::Display for Tip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::In { item, offset_mm } => write!(f, "in {item}, {offset_mm} mm from its middle"),
            Self::Air { appliance } => write!(f, "in the air of {appliance}"),
        }
    }
}

/// A simulated probe with its state.
#[derive(Clone, Debug)]
pub(super) struct SimProbe {
    pub(super) tip: Tip,
    pub(super) last: Reading,
    lag: Span,
    noise: CelsiusStep,
    quantum: CelsiusStep,
    offset: CelsiusStep,
    lowest: Celsius,
    highest: Celsius,
    /// What the tip itself has come to, in °C.
    tip_c: f64,
}

impl SimProbe {
    pub(super) fn new(planned: &PlannedProbe, room_c: f64) -> Self {
        Self {
            tip: planned.tip.clone(),
            last: NOT_YET,
            lag: planned.lag,
            noise: planned.noise,
            quantum: planned.quantum,
            offset: planned.offset,
            lowest: planned.lowest,
            highest: planned.highest,
            tip_c: room_c,
        }
    }

    pub(super) fn info(&self, id: &ProbeId) -> ProbeInfo {
        ProbeInfo { id: id.clone(), kind: ProbeKind::Simulated, resolution: self.quantum, conversion: Span::ZERO }
    }

    /// Lets the tip follow what is round it, and reads it.
    pub(super) fn step(&mut self, secs: f64, truth: f64, seed: u64, id: &ProbeId, now: RunTime) -> Reading {
        let share = if self.lag.is_zero() { 1.0 } else { share_of_step(secs, self.lag.secs()) };
        self.tip_c += (truth - self.tip_c) * share;
        let noise = Chance::new(seed, id.as_str(), now.millis()).normal() * self.noise.degrees();
        let shown = self.tip_c + self.offset.degrees() + noise;
        let quantum = self.quantum.degrees();
        let shown = if quantum > 0.0 { libm::round(shown / quantum) * quantum } else { shown };
        let shown = celsius(shown);
        if shown < self.lowest || shown > self.highest {
            return Err(NoReading::OutOfRange);
        }
        Ok(shown)
    }
}
