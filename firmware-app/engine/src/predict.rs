//! Where a prediction of a step's end comes from.
//!
//! The engine asks for one [`Predictor`] a step that ends by its core and feeds it every reading that is fit for
//! estimates. [`Learnt`] stands on simulated cooks (crate `doneness`); [`Plain`] is the straight line through the last
//! minutes, which costs nothing and needs no data.

mod learnt;

use alloc::{boxed::Box, collections::VecDeque};

use quantities::{Celsius, RunTime, Span};
use recipe_model::{Appliance, CoreTarget, Setting};
use trial::{CarryOver, Estimate, Withheld};

pub use doneness::History;
pub use learnt::Learnt;

/// What a predictor knows of a step before the first reading.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// When the step began.
    pub began: RunTime,
    /// Its target.
    pub target: &'a CoreTarget,
    /// Where it cooks.
    pub appliance: Appliance,
    /// How that is set.
    pub setting: Option<&'a Setting>,
    /// How long the same step took in earlier trials.
    pub history: Option<History>,
}

/// Something the cook did that changes how the food heats.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// Turned over.
    Turned,
    /// Another setting, a cover, or a branch of the recipe.
    Setting,
}

/// Predicts the time left until the target of one step.
pub trait Predictor: Send {
    /// Takes a reading that is fit for estimates.
    fn reading(&mut self, core: Celsius, at: RunTime);

    /// Takes a reading of the air beside the food.
    fn air(&mut self, air: Celsius, at: RunTime);

    /// Takes a change that the cook declared.
    fn changed(&mut self, change: Change, at: RunTime);

    /// The time left at `at` until the core is at `to`, or why there is no estimate. `to` is the target of the step, or
    /// the core at which the food is taken to come there in the rest.
    fn estimate(&self, to: Celsius, at: RunTime) -> Result<Estimate, Withheld>;

    /// What the core would come to if the food left the heat now; nothing where that cannot be told.
    fn carry_over(&self) -> Option<CarryOver>;

    /// The same once more, for a change that may be undone.
    fn twin(&self) -> Box<dyn Predictor>;
}

/// Makes predictors.
pub trait Predictors: Send {
    /// One for a step that begins.
    fn start(&self, job: &Job<'_>) -> Box<dyn Predictor>;
}

/// Straight lines.
#[derive(Clone, Copy, Debug, Default)]
pub struct Plain;

impl Predictors for Plain {
    fn start(&self, job: &Job<'_>) -> Box<dyn Predictor> {
        let from = job.began + job.target.expect.low() / 4;
        Box::new(Line { from, points: VecDeque::new(), first: None })
    }
}

/// The line through the last five minutes, one point each ten seconds; silent for the first quarter of the usual time,
/// in which a line says nothing about food that conducts heat.
#[derive(Clone)]
struct Line {
    from: RunTime,
    points: VecDeque<(RunTime, Celsius)>,
    first: Option<Celsius>,
}

const GRID: Span = Span::from_secs(10);
const POINTS: usize = 30;
const FEWEST: usize = 6;

impl Predictor for Line {
    fn twin(&self) -> Box<dyn Predictor> {
        Box::new(self.clone())
    }

    fn reading(&mut self, core: Celsius, at: RunTime) {
        self.first.get_or_insert(core);
        if self.points.back().is_some_and(|(last, _)| at.since(*last) < GRID) {
            return;
        }
        if self.points.len() == POINTS {
            self.points.pop_front();
        }
        self.points.push_back((at, core));
    }

    fn air(&mut self, _air: Celsius, _at: RunTime) {}

    fn changed(&mut self, _change: Change, _at: RunTime) {
        self.points.clear();
    }

    fn carry_over(&self) -> Option<CarryOver> {
        None
    }

    fn estimate(&self, to: Celsius, at: RunTime) -> Result<Estimate, Withheld> {
        let (Some(first), Some((_, last))) = (self.first, self.points.back()) else { return Err(Withheld::TooEarly) };
        if self.points.len() < FEWEST || at < self.from {
            return Err(Withheld::TooEarly);
        }
        if (*last - first).degrees() < 3.0 {
            return Err(Withheld::NoRise);
        }
        let n = self.points.len() as f64;
        let secs = |t: RunTime| t.since_start().secs() - at.since_start().secs();
        let mean_t = self.points.iter().map(|(t, _)| secs(*t)).sum::<f64>() / n;
        let mean_c = self.points.iter().map(|(_, c)| c.degrees()).sum::<f64>() / n;
        let spread: f64 = self.points.iter().map(|(t, _)| (secs(*t) - mean_t) * (secs(*t) - mean_t)).sum();
        let slope = self.points.iter().map(|(t, c)| (secs(*t) - mean_t) * (c.degrees() - mean_c)).sum::<f64>() / spread;
        let here = mean_c - slope * mean_t;
        let left = (to.degrees() - here) / slope;
        if slope <= 0.0005 || left > 24.0 * 3600.0 {
            return Err(Withheld::MayNotReach);
        }
        let left = if left > 0.0 { left } else { 0.0 };
        let span = |factor: f64| Span::from_millis(libm::round(left * factor * 1000.0) as u64);
        Ok(Estimate { median: span(1.0), low: span(0.75), high: span(1.6) })
    }
}
