//! What the plan would be, before anything follows it.

use std::{collections::BTreeMap, sync::Arc};

use planner::{How, Plan, Planning, Source, Standing, arrange, choose};
use quantities::{RunTime, Span};
use recipe_model::{Programme, Recipe};
use run_engine::{TrialNo, view::StandingView};

use super::{LivePlan, Open, RUNNING, arranged, carried, spared};
use crate::planning::live;

/// So many ways to leave room are tried. On the recipes of the library the first start was that of the whole search then,
/// but for a landing within minutes of the earliest one.
const WAYS: u32 = 2;

/// What a plan would be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Preview {
    /// The step of the trial that is started first, and when; none if all have begun.
    pub first: Option<(String, RunTime)>,
    /// When the last dish of the trial lands.
    pub lands: RunTime,
    /// How much later than wanted.
    pub late: Span,
}

impl LivePlan {
    /// What the plan would be with one more trial whose dishes are wanted at a moment; none where no plan can be made.
    ///
    /// Changes nothing. Made with less search than the plan that is followed, so that it can be asked at each click of a
    /// knob.
    pub fn preview(
        &self,
        recipe: &Recipe,
        programme: &Arc<Programme>,
        wanted: RunTime,
        standing: &[StandingView],
        now: RunTime,
    ) -> Option<Preview> {
        let last = self.trials.keys().next_back();
        let no = last.map_or(TrialNo(0), |last| TrialNo(last.0.saturating_add(1)));
        let open = Open::new(recipe, Arc::clone(programme), Some(wanted));
        self.with(no, &open, standing, now)
    }

    /// The same for an open trial, if its dishes were wanted at this moment.
    pub fn preview_of(&self, no: TrialNo, wanted: RunTime, standing: &[StandingView], now: RunTime) -> Option<Preview> {
        let trial = self.trials.get(&no).filter(|trial| !trial.closed)?;
        let (programme, needs, known) = (Arc::clone(&trial.programme), trial.needs.clone(), trial.known.clone());
        self.with(no, &Open { programme, needs, wanted: Some(wanted), closed: false, known }, standing, now)
    }

    fn with(&self, no: TrialNo, open: &Open, standing: &[StandingView], now: RunTime) -> Option<Preview> {
        let mut trials: BTreeMap<TrialNo, &Open> = self.open_ones().collect();
        trials.insert(no, open);
        let order: Vec<TrialNo> = trials.keys().copied().collect();
        let place = order.iter().position(|of| *of == no)?;
        let planning = self.planning_of(&trials, standing, now)?;
        let former = self.made.as_ref().and_then(|made| carried(made, &planning, &order));
        let plan = quick(&planning, former.as_ref(), order.len() == 1)?;
        let open = planning.project.activities.iter().zip(&plan.activities).zip(&planning.sources);
        let starts = open.filter_map(|((activity, planned), source)| {
            let Source::Step { wish, .. } = *source else { return None };
            (wish == place && activity.standing == Standing::Open).then(|| (planned.start, activity.name.clone()))
        });
        let first = starts.min_by_key(|(start, _)| *start).map(|(start, name)| (name, start));
        let of_trial = plan.landings.iter().zip(&planning.landing_of).filter(|(_, wish)| **wish == place);
        let last = of_trial.map(|(landing, _)| landing).max_by_key(|landing| landing.at)?;
        Some(Preview { first, lands: last.at, late: last.late })
    }
}

/// A plan that is found in a moment: with room by the first ways that are tried, without any where it would come late.
fn quick(planning: &Planning, former: Option<&Plan>, alone: bool) -> Option<Plan> {
    let how = How { evaluations: RUNNING, ..How::default() };
    let project = spared(&planning.project);
    let in_time = |plan: &Plan| plan.latest_landing_late().is_zero();
    let tight = arrange(&project, &how, former, &mut || true).ok().map(|found| found.plan).filter(in_time);
    let Some(tight) = tight else { return Some(arranged(planning, &how, former)?.plan) };
    if former.is_some() || !alone {
        // beside a trial that goes on near its plan counts more than room, and many steps take too long to try
        return Some(tight);
    }
    let mut ways = WAYS;
    let mut go_on = || {
        ways = ways.saturating_sub(1);
        ways > 0
    };
    let roomy = choose(&project, &how, &live(how.seed), &mut go_on).ok().map(|choice| choice.plan).filter(in_time);
    Some(roomy.unwrap_or(tight))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use run_engine::view::Standing as Stands;

    use super::*;

    fn at(mins: u64) -> RunTime {
        RunTime::START + Span::from_mins(mins)
    }

    fn recipe() -> (Recipe, Arc<Programme>) {
        let text = include_str!("../../../../../recipes/library/chicken-and-pilaf.toml");
        let recipe = recipe_parser::parse("chicken-and-pilaf.toml", text).recipe.unwrap();
        let programme = Arc::new(recipe.base.clone());
        (recipe, programme)
    }

    fn open_steps(recipe: &Recipe, trial: TrialNo) -> Vec<StandingView> {
        let steps = recipe.base.steps();
        steps.map(|(at, _, step)| StandingView { trial, at, step: step.id.clone(), state: Stands::Open }).collect()
    }

    #[test]
    fn a_preview_says_nearly_what_the_plan_then_says() {
        let (recipe, programme) = recipe();
        let mut plan = LivePlan::default();
        let said = plan.preview(&recipe, &programme, at(150), &[], at(0)).unwrap();
        assert!(said.late.is_zero(), "{said:?}");
        let told = plan.open(TrialNo(0), &recipe, programme, Some(at(150)), &[], at(0)).unwrap();
        let first = told.starts.iter().map(|start| start.start).min().unwrap();
        let (name, start) = said.first.unwrap();
        assert!(start.drift_from(first).size() <= Span::from_mins(1), "{name} {start:?}, in the plan {first:?}");
        let lands = told.landings.iter().map(|landing| landing.at).max().unwrap();
        assert!(said.lands.drift_from(lands).size() <= Span::from_mins(3), "{:?}, in the plan {lands:?}", said.lands);
    }

    #[test]
    fn what_is_wanted_too_soon_is_late_and_lands_at_the_earliest_moment() {
        let (recipe, programme) = recipe();
        let plan = LivePlan::default();
        let earliest = plan.preview(&recipe, &programme, at(0), &[], at(0)).unwrap().lands;
        let said = plan.preview(&recipe, &programme, at(30), &[], at(0)).unwrap();
        assert_eq!(said.late, said.lands.since(at(30)));
        assert!(said.late > Span::from_mins(20) && said.lands.drift_from(earliest).size() < Span::from_mins(3));
        // five minutes above it there is room
        let later = plan.preview(&recipe, &programme, earliest + Span::from_mins(5), &[], at(0)).unwrap();
        assert!(later.late < Span::from_mins(1), "{later:?}");
    }

    #[test]
    fn a_preview_changes_nothing_of_the_plan_that_is_followed() {
        let (recipe, programme) = recipe();
        let no = TrialNo(0);
        let standing = open_steps(&recipe, no);
        let followed = |asked: bool| {
            let mut plan = LivePlan::default();
            plan.open(no, &recipe, Arc::clone(&programme), Some(at(150)), &[], at(0)).unwrap();
            if asked {
                let other = plan.preview_of(no, at(180), &standing, at(1)).unwrap();
                assert!(other.lands.drift_from(at(180)).size() <= Span::from_mins(3), "{other:?}");
                assert!(plan.preview(&recipe, &programme, at(240), &standing, at(1)).is_some());
            }
            plan.want(no, at(200), &standing, at(2)).unwrap()
        };
        assert_eq!(followed(true), followed(false));
    }

    #[test]
    fn a_preview_of_a_closed_trial_says_nothing() {
        let (recipe, programme) = recipe();
        let mut plan = LivePlan::default();
        plan.open(TrialNo(0), &recipe, programme, Some(at(150)), &[], at(0)).unwrap();
        plan.close(TrialNo(0));
        assert_eq!(plan.preview_of(TrialNo(0), at(180), &[], at(1)), None);
        assert_eq!(plan.want(TrialNo(0), at(180), &[], at(1)), None);
    }

    #[test]
    fn the_old_plan_that_is_kept_wants_what_was_wanted_before() {
        let (recipe, programme) = recipe();
        let no = TrialNo(0);
        let standing = open_steps(&recipe, no);
        let mut plan = LivePlan::default();
        let opened = plan.open(no, &recipe, programme, Some(at(150)), &[], at(0)).unwrap();
        let wanted = plan.want(no, at(200), &standing, at(1)).unwrap();
        assert!(wanted.landings.iter().all(|landing| landing.wanted == Some(at(200))));
        let kept = plan.keep(at(1)).unwrap();
        let moments = |plan: &run_engine::StationPlan| {
            plan.landings.iter().map(|landing| (landing.at, landing.wanted)).collect::<Vec<_>>()
        };
        assert_eq!(moments(&kept), moments(&opened));
        // and it stays so
        assert_eq!(
            plan.look(&standing, at(2)).map(|plan| moments(&plan)).unwrap_or(moments(&opened)),
            moments(&opened)
        );
        assert_eq!(plan.keep(at(2)), None, "kept once");
    }
}
