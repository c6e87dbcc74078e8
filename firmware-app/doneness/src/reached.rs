//! When a target counts as reached.
//!
//! A single reading is never enough. For a minimum that protects, the mean of the last readings less the uncertainty of
//! the calibration counts; it comes late by the length of the mean and never much under. For doneness, a line through
//! the last half minute, led by the probe's lag, has to hold.

use alloc::{collections::VecDeque, vec::Vec};

use quantities::{Celsius, CelsiusStep, RunTime, Span};

/// How a target is called.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rule {
    /// A minimum that protects: the mean of this long, less the calibration's uncertainty.
    Protects {
        /// Length of the mean.
        mean: Span,
        /// Uncertainty of the calibration, taken off.
        uncertainty: CelsiusStep,
    },
    /// Doneness: the fitted line, 3 s ahead, held for 5 s.
    Doneness,
}

impl Rule {
    /// The usual rule for a minimum: the mean of 10 s.
    pub const fn protects(uncertainty: CelsiusStep) -> Self {
        Self::Protects { mean: Span::from_secs(10), uncertainty }
    }
}

/// What the readings of one probe amount to under a rule, at this moment.
///
/// ```text
/// Protects   mean of the last `mean`, less the uncertainty; where readings are sparse, of 30 s
/// Doneness   the line through the last 30 s, 3 s ahead; it never leads downwards
/// ```
#[derive(Clone, Debug)]
pub struct Gauge {
    rule: Rule,
    recent: VecDeque<(f64, f64)>,
    first: Option<RunTime>,
}

/// Watches one probe for one target.
#[derive(Clone, Debug)]
pub struct Reach {
    target: Celsius,
    gauge: Gauge,
    above: Option<RunTime>,
    reached: Option<RunTime>,
}

/// The line is fitted to this many seconds, led by this many, and held for this long.
const LINE: f64 = 30.0;
const LEAD: f64 = 3.0;
const HELD: Span = Span::from_secs(5);
/// So many readings make a stretch dense; with fewer, so many of 30 s are needed at least.
const DENSE: usize = 8;
const FEWEST: usize = 4;

impl Gauge {
    /// For a rule, before the first reading.
    pub fn new(rule: Rule) -> Self {
        Self { rule, recent: VecDeque::with_capacity(40), first: None }
    }

    /// Takes a good reading.
    pub fn reading(&mut self, core: Celsius, at: RunTime) {
        let first = *self.first.get_or_insert(at);
        let t = at.since(first).secs();
        self.recent.push_back((t, core.degrees()));
        let longest = match self.rule {
            Rule::Protects { mean, .. } => mean.secs().max(LINE),
            Rule::Doneness => LINE,
        };
        while self.recent.front().is_some_and(|(then, _)| t - then >= longest) {
            self.recent.pop_front();
        }
    }

    /// Forgets what was read: the probe was moved or lost, or was believed in vain.
    pub fn again(&mut self) {
        self.recent.clear();
    }

    /// What counts against a target; nothing while there are too few readings. Rounded down: it never claims more than
    /// was measured.
    pub fn value(&self) -> Option<Celsius> {
        Celsius::from_ten_thousandths(libm::floor(self.degrees()? * 1e4) as i32)
    }

    fn degrees(&self) -> Option<f64> {
        match self.rule {
            Rule::Protects { mean, uncertainty } => {
                let stretch = self.stretch(mean.secs(), DENSE).or_else(|| self.stretch(LINE, FEWEST))?;
                Some(mean_of(&stretch) - uncertainty.abs().degrees())
            }
            Rule::Doneness => {
                let stretch = self.stretch(LINE, DENSE).or_else(|| self.stretch(LINE, FEWEST))?;
                let mean = mean_of(&stretch);
                let middle = stretch.iter().map(|(then, _)| then).sum::<f64>() / stretch.len() as f64;
                let (mut stt, mut stc) = (0.0, 0.0);
                for (then, core) in &stretch {
                    stt += (then - middle) * (then - middle);
                    stc += (then - middle) * (core - mean);
                }
                let slope = if stt > 0.0 { (stc / stt).max(0.0) } else { 0.0 };
                let last = stretch.last()?.0;
                Some(mean + slope * (last - middle + LEAD))
            }
        }
    }

    /// The readings of the last `window` seconds if they are enough and fill six tenths of it.
    fn stretch(&self, window: f64, fewest: usize) -> Option<Vec<(f64, f64)>> {
        let last = self.recent.back()?.0;
        let within: Vec<(f64, f64)> = self.recent.iter().copied().filter(|(then, _)| last - then < window).collect();
        let filled = within.first().is_some_and(|(then, _)| last - then >= 0.6 * window);
        (filled && within.len() >= fewest).then_some(within)
    }
}

fn mean_of(stretch: &[(f64, f64)]) -> f64 {
    stretch.iter().map(|(_, core)| core).sum::<f64>() / stretch.len() as f64
}

impl Reach {
    /// For a target under a rule.
    pub fn new(target: Celsius, rule: Rule) -> Self {
        Self { target, gauge: Gauge::new(rule), above: None, reached: None }
    }

    /// Takes a good reading and says when the target was reached, if it was by now. It stays reached.
    pub fn reading(&mut self, core: Celsius, at: RunTime) -> Option<RunTime> {
        self.gauge.reading(core, at);
        if self.reached.is_none() && self.holds(at) {
            self.reached = Some(at);
        }
        self.reached
    }

    /// Forgets what was read: the probe was moved or lost.
    pub fn again(&mut self) {
        self.gauge.again();
        self.above = None;
        self.reached = None;
    }

    fn holds(&mut self, at: RunTime) -> bool {
        if self.gauge.degrees().is_none_or(|value| value < self.target.degrees()) {
            self.above = None;
            return false;
        }
        let since = *self.above.get_or_insert(at);
        match self.gauge.rule {
            Rule::Protects { .. } => true,
            Rule::Doneness => at.since(since) >= HELD,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn at(secs: u64) -> RunTime {
        RunTime::from_millis(secs * 1000)
    }

    fn celsius(degrees: f64) -> Celsius {
        Celsius::from_degrees(degrees).unwrap()
    }

    /// A rise of 0.01 °C a second from 69 °C: 70 °C is there at 100 s.
    fn called(rule: Rule, noise: impl Fn(u64) -> f64) -> Option<u64> {
        let mut reach = Reach::new(Celsius::whole(70), rule);
        (0..400)
            .find_map(|t| reach.reading(celsius(69.0 + 0.01 * t as f64 + noise(t)), at(t)))
            .map(|at| at.since_start().whole_secs())
    }

    #[test]
    fn one_wild_reading_reaches_nothing() {
        // greater steps are not believed by whoever judges the readings
        let wild = |t: u64| if t == 40 { 1.9 } else { 0.0 };
        assert!(called(Rule::protects(CelsiusStep::ZERO), wild).unwrap() >= 75);
        assert!(called(Rule::Doneness, wild).unwrap() >= 75);
    }

    #[test]
    fn a_minimum_is_called_late_by_half_the_mean_and_by_the_uncertainty() {
        assert_eq!(called(Rule::protects(CelsiusStep::ZERO), |_| 0.0), Some(105));
        let careful = called(Rule::protects(CelsiusStep::from_ten_thousandths(2000)), |_| 0.0).unwrap();
        assert_eq!(careful, 125);
    }

    #[test]
    fn doneness_is_called_near_the_truth() {
        let called = called(Rule::Doneness, |_| 0.0).unwrap();
        assert!((100..=104).contains(&called), "{called}");
    }
}
