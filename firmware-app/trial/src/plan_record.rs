//! The plan of a trial against what came of it.

use alloc::{string::String, vec::Vec};

use quantities::RunTime;
use recipe_model::StepId;
use serde::Serialize;

use crate::{Around, Entry, Fact, LandingMoved, PlanFit, StartMoved, record::StepRecord};

/// The plan of a trial: what it said first, how often it moved, and what came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanRecord {
    /// When the first plan was made.
    pub made: RunTime,
    /// How often it moved.
    pub moves: usize,
    /// Each step with a planned start, in the order in which they were planned first.
    pub starts: Vec<StartRecord>,
    /// Its landings.
    pub landings: Vec<LandingRecord>,
    /// Whether it did what was wanted, as it stood last.
    pub fit: PlanFit,
}

/// A planned start, and the actual one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StartRecord {
    /// Of which step.
    pub step: StepId,
    /// As it was planned first.
    pub planned: RunTime,
    /// As it was planned last.
    pub last: RunTime,
    /// How often it moved.
    pub moves: usize,
    /// When it began; none if it did not.
    pub began: Option<RunTime>,
}

/// A planned landing, and the actual one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LandingRecord {
    /// As a cook calls it.
    pub name: String,
    /// As it was planned first.
    pub planned: RunTime,
    /// What was said around that moment.
    pub around: Around,
    /// As it was planned last.
    pub last: RunTime,
    /// What it was wanted at last.
    pub wanted: Option<RunTime>,
    /// When the last of its dishes was ready; none while one is not, or if it is not known which dishes land in it.
    pub actual: Option<RunTime>,
}

impl PlanRecord {
    /// From the fact of a first plan; none for another fact.
    pub(crate) fn made(entry: &Entry) -> Option<Self> {
        let Fact::PlanMade { starts, landings, fit, .. } = &entry.fact else { return None };
        let mut plan =
            Self { made: entry.at, moves: 0, starts: Vec::new(), landings: Vec::new(), fit: PlanFit::default() };
        for start in starts {
            plan.start(&start.step, start.at);
        }
        for landing in landings {
            plan.landing(&landing.name, landing.at, &landing.around);
        }
        plan.fit.clone_from(fit);
        Some(plan)
    }

    pub(crate) fn moved(&mut self, moved: &[StartMoved], landings: &[LandingMoved], dropped: &[String], fit: &PlanFit) {
        for start in moved {
            self.start(&start.step, start.now);
        }
        for landing in landings {
            self.landing(&landing.name, landing.now, &landing.around);
        }
        self.landings.retain(|landing| !dropped.contains(&landing.name));
        self.fit.clone_from(fit);
        // a plan that only says that it fits again has not moved
        self.moves += usize::from(!(moved.is_empty() && landings.is_empty()));
    }

    fn start(&mut self, step: &StepId, at: RunTime) {
        match self.starts.iter_mut().find(|start| start.step == *step) {
            Some(known) => {
                known.last = at;
                known.moves += 1;
            }
            None => {
                self.starts.push(StartRecord { step: step.clone(), planned: at, last: at, moves: 0, began: None });
            }
        }
    }

    fn landing(&mut self, name: &str, at: RunTime, around: &Around) {
        match self.landings.iter_mut().find(|landing| landing.name == name) {
            Some(known) => {
                known.last = at;
                known.wanted = around.wanted;
            }
            None => self.landings.push(LandingRecord {
                name: name.into(),
                planned: at,
                around: around.clone(),
                last: at,
                wanted: around.wanted,
                actual: None,
            }),
        }
    }

    /// Fills in what came of it, from the steps that began.
    pub(crate) fn come_true(&mut self, steps: &[StepRecord]) {
        let last_run = |step: &StepId| steps.iter().rev().find(|record| record.step == *step);
        for start in &mut self.starts {
            start.began = last_run(&start.step).map(|record| record.began);
        }
        for landing in &mut self.landings {
            // food is ready when it is off the heat
            let ready = |step: &StepId| {
                let record = last_run(step)?;
                record.taken_off.or(record.end.as_ref().map(|end| end.at))
            };
            let ready: Option<Vec<RunTime>> = landing.around.dishes.iter().map(ready).collect();
            landing.actual = ready.and_then(|ready| ready.into_iter().max());
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use alloc::vec;

    use quantities::Span;
    use recipe_model::{RecipeId, VariantId};

    use super::*;
    use crate::{DoneTime, EndCause, LandingPlanned, PlanWhy, StartPlanned, TrialId, TrialInfo, record::TrialRecord};

    fn at(mins: u64) -> RunTime {
        RunTime::START + Span::from_mins(mins)
    }

    fn info() -> TrialInfo {
        TrialInfo {
            trial: TrialId::new("t").unwrap(),
            recipe: RecipeId::new("pork-loin"),
            title: "Pork loin".into(),
            version: "0".into(),
            variant: VariantId::base(),
            cook: None,
            kitchen: None,
            left_open: vec![],
        }
    }

    fn around(dishes: &[&str]) -> Around {
        Around {
            wanted: Some(at(100)),
            low: at(98),
            high: at(104),
            dishes: dishes.iter().map(|id| StepId::new(id)).collect(),
            ..Around::default()
        }
    }

    fn record(facts: Vec<(u64, Option<u64>, Fact)>) -> TrialRecord {
        let opened = (0, None, Fact::TrialOpened(info()));
        let entries = (0..).zip(core::iter::once(opened).chain(facts));
        let entries = entries.map(|(seq, (mins, action, fact))| Entry { seq, at: at(mins), action, fact });
        TrialRecord::of(&entries.collect::<Vec<_>>()).unwrap()
    }

    fn made() -> (u64, Option<u64>, Fact) {
        let start = |step: &str, mins| StartPlanned {
            step: StepId::new(step),
            at: at(mins),
            latest: at(mins + 5),
            critical: false,
        };
        let landing =
            LandingPlanned { name: "loin and rice".into(), at: at(100), around: around(&["loin.roast", "rice.boil"]) };
        let starts = vec![start("loin.roast", 20), start("rice.boil", 70)];
        (1, None, Fact::PlanMade { why: PlanWhy::Opened, starts, landings: vec![landing], fit: PlanFit::Fits })
    }

    fn moved(mins: u64, rice: u64, landing: u64) -> (u64, Option<u64>, Fact) {
        let start = StartMoved {
            step: StepId::new("rice.boil"),
            was: Some(at(70)),
            now: at(rice),
            latest: at(rice + 2),
            critical: true,
        };
        let landings = vec![LandingMoved {
            name: "loin and rice".into(),
            was: Some(at(100)),
            now: at(landing),
            around: around(&["loin.roast", "rice.boil"]),
        }];
        let why = PlanWhy::Late { step: StepId::new("loin.roast"), by: Span::from_mins(4) };
        (mins, None, Fact::PlanMoved { why, moved: vec![start], landings, dropped: vec![], fit: PlanFit::Fits })
    }

    fn began(mins: u64, action: Option<u64>, step: &str) -> (u64, Option<u64>, Fact) {
        let fact = Fact::StepBegan {
            step: StepId::new(step),
            planned: None,
            expect: Span::from_mins(30),
            over_gap: None,
            cautions: vec![],
        };
        (mins, action, fact)
    }

    fn ended(mins: u64, step: &str) -> (u64, Option<u64>, Fact) {
        let fact = Fact::StepEnded {
            step: StepId::new(step),
            cause: EndCause::CoreHeld,
            ran: Span::from_mins(30),
            done: DoneTime::Timed,
            core_celsius: None,
        };
        (mins, None, fact)
    }

    #[test]
    fn the_first_plan_stands_beside_what_came_of_it() {
        let off = (107, None, Fact::TakenOff { step: StepId::new("loin.roast"), core_celsius: None });
        let facts = vec![
            made(),
            began(23, None, "loin.roast"),
            moved(24, 74, 104),
            began(75, None, "rice.boil"),
            ended(103, "rice.boil"),
            ended(105, "loin.roast"),
            off,
        ];
        let plan = record(facts).plan.unwrap();
        assert_eq!((plan.made, plan.moves), (at(1), 1));
        let starts: Vec<_> =
            plan.starts.iter().map(|start| (start.step.as_str(), start.planned, start.last, start.began)).collect();
        assert_eq!(starts, [("loin.roast", at(20), at(20), Some(at(23))), ("rice.boil", at(70), at(74), Some(at(75)))]);
        let landing = &plan.landings[0];
        assert_eq!((landing.planned, landing.last), (at(100), at(104)));
        assert_eq!(landing.actual, Some(at(107)), "food that is not off the heat has not landed");
    }

    #[test]
    fn a_landing_of_which_one_dish_is_not_ready_has_not_come() {
        let facts = vec![made(), began(20, None, "loin.roast"), ended(90, "loin.roast")];
        let plan = record(facts).plan.unwrap();
        assert_eq!(plan.landings[0].actual, None);
        assert_eq!(plan.starts[1].began, None);
    }

    #[test]
    fn an_undone_start_is_no_start_but_the_plan_that_moved_meanwhile_stands() {
        let undone = (26, None, Fact::Undone { action: 2 });
        let facts = vec![made(), began(23, Some(2), "loin.roast"), moved(24, 74, 104), undone];
        let plan = record(facts).plan.unwrap();
        assert_eq!(plan.starts[0].began, None);
        assert_eq!((plan.moves, plan.starts[1].last), (1, at(74)));
    }

    #[test]
    fn a_plan_that_only_fits_again_has_not_moved_and_a_dropped_landing_is_gone() {
        let cannot = PlanFit::Cannot { reason: "2 burners wanted, 1 there".into() };
        let said = |mins, dropped, fit| {
            let why = PlanWhy::TrialOpened;
            (mins, None, Fact::PlanMoved { why, moved: vec![], landings: vec![], dropped, fit })
        };
        let plan = record(vec![made(), said(5, vec![], cannot.clone())]).plan.unwrap();
        assert_eq!((plan.moves, plan.fit), (0, cannot));
        let plan = record(vec![made(), said(5, vec!["loin and rice".into()], PlanFit::Fits)]).plan.unwrap();
        assert_eq!((plan.landings.len(), plan.fit), (0, PlanFit::Fits));
    }
}
