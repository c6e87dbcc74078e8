//! How far the core rises after it leaves the heat.

use quantities::{Celsius, CelsiusStep, Span};

use crate::{
    course::Course,
    estimator::{Knowledge, Mix},
    job::Appliance,
    signs::{Glance, SIGNS},
};

/// Signs of a pull do not depend on a target; this one stands in for it, °C.
pub const STAND_IN: f64 = 70.0;
/// Rises are learnt in units of this many °C.
pub const UNIT: f64 = 10.0;

/// The peak if the food were pulled now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carry {
    /// Half of such rests come higher.
    pub median: Celsius,
    /// Nine in ten come at least here: what a minimum may count on.
    pub low: Celsius,
    /// One in ten comes higher.
    pub high: Celsius,
    /// From the pull to the peak: the middle, one in ten sooner, one in ten later.
    pub after: (Span, Span, Span),
}

const BOIL: Celsius = Celsius::whole(100);

/// The peak may lie under what the probe shows by this much, °C: a probe may be off.
const LEAST: f64 = -2.0;

/// Why no carry-over is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NoCarry {
    /// Too few readings or hardly any rise.
    TooEarly,
    /// In a microwave the heat lies anywhere; the core may rise by twenty degrees or not at all.
    Microwave,
    /// Parts of the food may be frozen.
    Thawing,
}

/// The signs of a pull: those of the course, and whether foil goes over the food.
pub fn signs(glance: &Glance, tented: bool) -> [f32; SIGNS + 1] {
    let mut signs = [0.0; SIGNS + 1];
    signs[..SIGNS].copy_from_slice(&glance.signs);
    signs[SIGNS] = if tented { 1.0 } else { 0.0 };
    signs
}

pub(crate) fn carry(
    knowledge: &Knowledge,
    course: &Course,
    appliance: Appliance,
    glance: &Glance,
    tented: bool,
    mix: Mix,
) -> Result<Carry, NoCarry> {
    if appliance == Appliance::Microwave {
        return Err(NoCarry::Microwave);
    }
    if glance.level < 1.0 {
        return Err(NoCarry::Thawing);
    }
    if glance.level - glance.start < 3.0 {
        return Err(NoCarry::TooEarly);
    }
    let (out, doubt) = knowledge.models.rise_and_doubt(&signs(glance, tented)).ok_or(NoCarry::TooEarly)?;
    let mut rise = [out[0] * UNIT, out[1] * UNIT, out[2] * UNIT];
    let told = rise[0];
    if mix.rise_bank > 0.0
        && let Some(likely) = knowledge.bank.rise(course, appliance)
    {
        for (rise, bank) in rise.iter_mut().zip(likely.rise) {
            *rise += mix.rise_bank * (bank - *rise);
        }
    }
    // the bank may lower what a minimum counts on, never raise it
    rise[0] = rise[0].min(told);
    let middle = rise[1];
    for rise in &mut rise {
        *rise = middle + (*rise - middle) * mix.rise_widen;
    }
    rise[0] -= mix.doubt * doubt * UNIT;
    rise[2] += mix.doubt * doubt * UNIT;
    // the probe lags behind a rising core; the fitted line does too
    let peak = |rise: f64| {
        let step = CelsiusStep::from_degrees(rise.clamp(LEAST, 60.0)).unwrap_or(CelsiusStep::ZERO);
        // wet food off the heat does not come over the boil
        let level = Celsius::from_degrees(glance.level).unwrap_or(Celsius::ABSOLUTE_ZERO);
        (level + step).min(level.max(BOIL))
    };
    let span = |root: f64| Span::from_millis((root.max(0.0) * root.max(0.0) * glance.t * 1000.0) as u64);
    Ok(Carry {
        low: peak(rise[0]),
        median: peak(rise[1]),
        high: peak(rise[2]),
        after: (span(out[4]), span(out[3]), span(out[5])),
    })
}
