//! What was foretold in a trial, held against what came.

use quantities::{Celsius, CelsiusStep, Drift, RunTime, Span};
use recipe_model::{Programme, StepId, Until};
use serde::Serialize;
use trial::{
    CarryOver, DoneTime, EndCause, Estimate,
    record::{StepRecord, TrialRecord},
};

use super::rests::rests_after;

/// The forecasts of one core step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Score {
    /// Which step.
    pub step: StepId,
    /// Its target; none if the recipe that was kept no longer reads.
    pub target_celsius: Option<Celsius>,
    /// Whether the step ended at its target; else it ended when the cook was called to take the food.
    pub at_target: bool,
    /// How long it took.
    pub took: Span,
    /// Every forecast on record, in order.
    pub told: Vec<Told>,
    /// How many of them had the truth in their band.
    pub inside: usize,
}

/// One forecast.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Told {
    /// How much of the time was over, in thousandths.
    pub share_thousandths: u16,
    /// What was said.
    pub estimate: Estimate,
    /// What was left in truth.
    pub was: Span,
    /// The middle less the truth.
    pub off: Drift,
}

/// A peak that was foretold when food left the heat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rise {
    /// The step that it left.
    pub left: StepId,
    /// The rest in which the peak was watched; none if no rest with a probe followed.
    pub rest: Option<StepId>,
    /// What was said.
    pub said: CarryOver,
    /// The peak less the middle of what was said.
    pub off_celsius: Option<CelsiusStep>,
}

/// The shares of the time that are told in words, and how near a forecast has to be.
const SHOWN: [u16; 3] = [250, 500, 750];
const NEAR: u16 = 130;

impl Score {
    /// Of every core step that came to its end by its core.
    pub fn of(record: &TrialRecord, programme: Option<&Programme>) -> Vec<Self> {
        record.steps.iter().filter_map(|step| Self::of_step(step, programme)).collect()
    }

    fn of_step(record: &StepRecord, programme: Option<&Programme>) -> Option<Self> {
        let end = record.end.as_ref()?;
        let at_target = end.cause == EndCause::CoreHeld;
        let truth = match end.done {
            DoneTime::Exact { at } => at,
            DoneTime::Between { .. } | DoneTime::Before { .. } | DoneTime::After { .. } | DoneTime::Timed => {
                return None;
            }
        };
        let took = truth.since(record.began);
        let told: Vec<Told> = record.predictions.iter().filter_map(|told| score(*told, record.began, truth)).collect();
        let inside = told.iter().filter(|told| (told.estimate.low..=told.estimate.high).contains(&told.was)).count();
        let target = |programme: &Programme| {
            programme.steps().find_map(|(_, _, plan)| match &plan.until {
                Until::Core(core) if plan.id == record.step => Some(core.target),
                Until::Core(_)
                | Until::Time { .. }
                | Until::Cue { .. }
                | Until::Cook { .. }
                | Until::Heat { .. }
                | Until::Rest { .. }
                | Until::Rounds { .. } => None,
            })
        };
        let target_celsius = programme.and_then(target);
        (!told.is_empty()).then(|| Self { step: record.step.clone(), target_celsius, at_target, took, told, inside })
    }

    /// The forecasts that are told in words: nearest to a quarter, half and three quarters of the time.
    pub fn shown(&self) -> Vec<&Told> {
        let mut shown: Vec<&Told> = Vec::new();
        for share in SHOWN {
            let nearest = self.told.iter().min_by_key(|told| told.share_thousandths.abs_diff(share));
            let near = nearest.filter(|told| told.share_thousandths.abs_diff(share) <= NEAR);
            shown.extend(near.filter(|told| !shown.contains(told)));
        }
        shown
    }
}

fn score((at, estimate): (RunTime, Estimate), began: RunTime, truth: RunTime) -> Option<Told> {
    if at >= truth || at < began {
        return None;
    }
    let (over, whole) = (at.since(began).millis(), truth.since(began).millis());
    let was = truth.since(at);
    Some(Told {
        share_thousandths: u16::try_from(over * 1000 / whole.max(1)).ok()?,
        estimate,
        was,
        off: Drift::from_millis(estimate.median.millis() as i64 - was.millis() as i64),
    })
}

impl Rise {
    /// Of every step that food left with a peak foretold.
    pub fn of(record: &TrialRecord, programme: Option<&Programme>) -> Vec<Self> {
        let mut found = Vec::new();
        for (i, step) in record.steps.iter().enumerate() {
            let Some((left_at, _, said)) = step.carry_over else { continue };
            let rest = record.steps.iter().skip(i + 1).find(|rest| {
                rest.peak.is_some()
                    && rest.began >= left_at
                    && programme.is_none_or(|programme| rests_after(programme, &rest.step, &step.step))
            });
            let off_celsius = rest.and_then(|rest| Some(rest.peak?.0 - said.peak_celsius));
            found.push(Self { left: step.step.clone(), rest: rest.map(|rest| rest.step.clone()), said, off_celsius });
        }
        found
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use trial::{Entry, Fact, TrialId, TrialInfo};

    use super::*;

    fn at(minutes: u64) -> RunTime {
        RunTime::from_start(Span::from_mins(minutes))
    }

    fn estimate(median: u64, low: u64, high: u64) -> Estimate {
        let [median, low, high] = [median, low, high].map(Span::from_mins);
        Estimate { median, low, high }
    }

    fn carry_over(peak: i32) -> CarryOver {
        let celsius = |tenths: i32| Celsius::from_ten_thousandths(tenths * 1000).unwrap();
        CarryOver {
            peak_celsius: celsius(peak),
            low_celsius: celsius(peak - 12),
            high_celsius: celsius(peak + 14),
            after: Span::from_mins(7),
            after_low: Span::from_mins(4),
            after_high: Span::from_mins(11),
        }
    }

    /// A roast from minute 10 to its target at minute 70, with these forecasts.
    fn record(told: &[(u64, Estimate)], cause: EndCause, done: DoneTime, rest: bool) -> TrialRecord {
        let (roast, resting) = (StepId::new("loin.roast"), StepId::new("rest.rest"));
        let began = |step: &StepId| Fact::StepBegan {
            step: step.clone(),
            planned: None,
            expect: Span::from_mins(60),
            over_gap: None,
            cautions: Vec::new(),
        };
        let info = TrialInfo {
            trial: TrialId::new("20261125-100000-loin").unwrap(),
            recipe: recipe_model::RecipeId::new("loin"),
            title: "Loin".into(),
            version: "0".into(),
            variant: recipe_model::VariantId::base(),
            cook: None,
            kitchen: None,
            left_open: Vec::new(),
        };
        let mut facts = vec![(at(0), Fact::TrialOpened(info)), (at(10), began(&roast))];
        facts.extend(
            told.iter()
                .map(|(minute, estimate)| (at(*minute), Fact::Predicted { step: roast.clone(), estimate: *estimate })),
        );
        let core_celsius = Some(Celsius::whole(63));
        facts.extend([
            (at(71), Fact::StepEnded { step: roast.clone(), cause, ran: Span::from_mins(61), done, core_celsius }),
            (at(72), Fact::CarryPredicted { step: roast, core_celsius, carry_over: carry_over(661) }),
        ]);
        if rest {
            facts.push((at(73), began(&resting)));
            facts.push((
                at(80),
                Fact::PeakSeen {
                    step: resting,
                    core_celsius: Celsius::whole(67),
                    when: at(80),
                    rise_celsius: CelsiusStep::whole(3),
                    at_least_celsius: None,
                },
            ));
        }
        let entries: Vec<Entry> =
            (0..).zip(facts).map(|(seq, (at, fact))| Entry { seq, at, action: None, fact }).collect();
        TrialRecord::of(&entries).unwrap()
    }

    #[test]
    fn forecasts_are_held_against_the_moment_of_the_target() {
        let told = [
            (25, estimate(41, 33, 55)),
            (40, estimate(25, 20, 28)),
            (55, estimate(16, 14, 18)),
            // said after it was there
            (70, estimate(1, 0, 2)),
        ];
        let record = record(&told, EndCause::CoreHeld, DoneTime::Exact { at: at(70) }, true);
        let [score] = Score::of(&record, None).try_into().unwrap();
        assert_eq!((score.took, score.told.len(), score.inside), (Span::from_mins(60), 3, 2));
        let shares: Vec<u16> = score.told.iter().map(|told| told.share_thousandths).collect();
        assert_eq!(shares, [250, 500, 750]);
        assert_eq!(score.told[1].was, Span::from_mins(30));
        assert_eq!(score.told[1].off, Drift::from_millis(-5 * 60_000));
        assert_eq!(score.shown().len(), 3);
    }

    #[test]
    fn food_that_was_pulled_early_scores_nothing() {
        let told = [(25, estimate(41, 33, 55))];
        let early = DoneTime::After { after: at(70), reason: trial::EarlyReason::PulledEarly };
        assert_eq!(Score::of(&record(&told, EndCause::Press, early, false), None), []);
        assert_eq!(Score::of(&record(&[], EndCause::CoreHeld, DoneTime::Exact { at: at(70) }, false), None), []);
    }

    #[test]
    fn a_foretold_peak_is_held_against_the_rest_that_measured_it() {
        let exact = DoneTime::Exact { at: at(70) };
        let [rise] = Rise::of(&record(&[], EndCause::CoreHeld, exact, true), None).try_into().unwrap();
        assert_eq!(rise.rest, Some(StepId::new("rest.rest")));
        assert_eq!(rise.off_celsius, Some(CelsiusStep::from_ten_thousandths(9_000)));
        let [rise] = Rise::of(&record(&[], EndCause::CoreHeld, exact, false), None).try_into().unwrap();
        assert_eq!((rise.rest, rise.off_celsius), (None, None));
    }
}
