//! Predictions that stand on simulated cooks.

use alloc::{boxed::Box, sync::Arc};

use doneness::{Appliance, Estimator, Knowledge};
use quantities::{Celsius, RunTime};
use recipe_model::{ApplianceKind, Setting};
use trial::{CarryOver, Estimate, Withheld};

use super::{Change, Job, Predictor, Predictors};

/// Estimators that share one bank.
#[derive(Clone, Debug)]
pub struct Learnt {
    knowledge: Arc<Knowledge>,
}

impl Learnt {
    /// Of a bank with its models.
    pub fn new(knowledge: Arc<Knowledge>) -> Self {
        Self { knowledge }
    }
}

impl Predictors for Learnt {
    fn start(&self, job: &Job<'_>) -> Box<dyn Predictor> {
        let Some((appliance, dial)) = heated_by(job) else { return Box::new(Cold) };
        let job = doneness::Job { appliance, target: job.target.target, dial, history: job.history };
        Box::new(One(Estimator::new(job, Arc::clone(&self.knowledge))))
    }
}

/// What heats the food, as the bank knows it, and its dial: a liquid at a temperature heats like an oven at that
/// temperature. Nothing where no heat is.
fn heated_by(job: &Job<'_>) -> Option<(Appliance, Option<Celsius>)> {
    let dial = match job.setting {
        Some(Setting::Heat { at, .. }) => Some(*at),
        Some(Setting::Power(_) | Setting::Level(_)) | None => None,
    };
    match (job.appliance.kind, dial) {
        (ApplianceKind::Oven, dial) => Some((Appliance::Oven, dial)),
        (ApplianceKind::Microwave, _) => Some((Appliance::Microwave, None)),
        (ApplianceKind::Burner | ApplianceKind::Bench, Some(bath)) => Some((Appliance::Oven, Some(bath))),
        (ApplianceKind::Burner, None) => Some((Appliance::Pan, None)),
        (ApplianceKind::Bench, None) | (ApplianceKind::Fridge, _) => None,
    }
}

struct One(Estimator);

impl Predictor for One {
    fn reading(&mut self, core: Celsius, at: RunTime) {
        self.0.reading(core, at);
    }

    fn air(&mut self, air: Celsius, at: RunTime) {
        self.0.air(air, at);
    }

    fn changed(&mut self, change: Change, at: RunTime) {
        let change = match change {
            Change::Turned => doneness::Change::Turned,
            Change::Setting => doneness::Change::Other,
        };
        self.0.changed(change, at);
    }

    fn estimate(&self, to: Celsius, at: RunTime) -> Result<Estimate, Withheld> {
        match self.0.estimate_to(to, at) {
            Ok(told) => Ok(Estimate { median: told.median, low: told.low, high: told.high }),
            Err(why) => Err(match why {
                doneness::Withheld::TooEarly => Withheld::TooEarly,
                doneness::Withheld::NoRise => Withheld::NoRise,
                doneness::Withheld::Thawing => Withheld::Thawing,
                doneness::Withheld::MayNotReach => Withheld::MayNotReach,
                doneness::Withheld::NoReading => Withheld::NoReading,
            }),
        }
    }

    fn carry_over(&self) -> Option<CarryOver> {
        let carry = self.0.carry_over(false).ok()?;
        let (after, after_low, after_high) = carry.after;
        Some(CarryOver {
            peak_celsius: carry.median,
            low_celsius: carry.low,
            high_celsius: carry.high,
            after,
            after_low,
            after_high,
        })
    }

    fn twin(&self) -> Box<dyn Predictor> {
        Box::new(Self(self.0.clone()))
    }
}

/// For food that nothing heats: it may never come to its target.
struct Cold;

impl Predictor for Cold {
    fn reading(&mut self, _core: Celsius, _at: RunTime) {}

    fn air(&mut self, _air: Celsius, _at: RunTime) {}

    fn changed(&mut self, _change: Change, _at: RunTime) {}

    fn estimate(&self, _to: Celsius, _at: RunTime) -> Result<Estimate, Withheld> {
        Err(Withheld::MayNotReach)
    }

    fn carry_over(&self) -> Option<CarryOver> {
        None
    }

    fn twin(&self) -> Box<dyn Predictor> {
        Box::new(Self)
    }
}
