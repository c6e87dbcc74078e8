//! Small changes before large ones: the order stays, the times move.

use alloc::vec::Vec;

use quantities::{RunTime, Span};
use thiserror::Error;

use crate::chain::{Order, Over, orders};
use crate::frame::{Aim, Frame, Who};
use crate::line;
use crate::plan::{LandingForecast, Link, LinkWhy, Plan, Planned};
use crate::project::{Project, Standing};
use crate::room::Buffers;

/// Why the order of a former plan cannot be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum NoRetime {
    /// The plan is of another project.
    #[error("expected a plan of {activities} activities, found one of {found}: plan anew")]
    OtherProject {
        /// Activities of the project.
        activities: usize,
        /// Activities of the plan.
        found: usize,
    },
    /// In that order the gaps cannot be kept with what has happened.
    #[error("the order of the plan does not fit what has happened: plan anew")]
    DoesNotFit,
}

/// Moves the times of a former plan to what has happened since, and keeps its order on every resource and of every pair.
///
/// Takes well under a millisecond. What has begun is not moved. With several landings their wanted distances are kept.
/// The least lateness that the order allows comes out, and nothing waits longer than it must.
pub fn retime(project: &Project, former: &Plan, buffers: Buffers) -> Result<Plan, NoRetime> {
    let frame = Frame::of(project, buffers, &Aim::Together, 0);
    let mut plan = retime_frame(&frame, former)?;
    let from_now = |moment: RunTime| (moment - project.now).millis();
    let starts = frame.starts_in(&plan).unwrap_or_default();
    plan.links = links(&frame, &starts.into_iter().map(from_now).collect::<Vec<_>>());
    Ok(plan)
}

/// As [`retime`], of a project that is laid out already, and without the links.
pub(crate) fn retime_frame(frame: &Frame<'_>, former: &Plan) -> Result<Plan, NoRetime> {
    let project = frame.project;
    let starts = frame
        .starts_in(former)
        .ok_or(NoRetime::OtherProject { activities: project.activities.len(), found: former.activities.len() })?;
    let starts: Vec<i64> = starts.iter().map(|&start| (start - project.now).millis()).collect();
    let begins: Vec<i64> = frame.bodies.iter().zip(&starts).map(|(body, start)| start - body.lead).collect();
    let ends: Vec<i64> = frame.bodies.iter().zip(&starts).map(|(body, start)| start + body.lasts + body.tail).collect();
    let orders = orders(frame, &begins, &ends);
    let mut exact = line::starts(frame, &orders, &starts, frame.ease).map_err(|_| NoRetime::DoesNotFit)?;
    line::pull(frame, &mut exact);
    Ok(times(frame, &exact))
}

/// The plan that starts, in milliseconds from now, make.
pub(crate) fn plan_of(frame: &Frame<'_>, starts: &[i64]) -> Plan {
    Plan { links: links(frame, starts), ..times(frame, starts) }
}

fn times(frame: &Frame<'_>, starts: &[i64]) -> Plan {
    let project = frame.project;
    let at = |millis: i64| later(project.now, millis);
    let mut plan = Plan::default();
    for (index, activity) in project.activities.iter().enumerate() {
        let (start, end) = match (activity.standing, frame.of_activity[index]) {
            (Standing::Ended { began, ended }, _) => (began, ended),
            (Standing::Running { began, .. }, Some(body)) => (began, at(starts[body] + frame.bodies[body].lasts)),
            (Standing::Open, Some(body)) => (at(starts[body]), at(starts[body] + frame.bodies[body].lasts)),
            // every activity that is not over has a body
            (Standing::Running { .. } | Standing::Open, None) => (project.now, project.now),
        };
        plan.activities.push(Planned { start, end, latest: start, critical: false });
    }
    for landing in &project.landings {
        let ends = landing.dishes.iter().map(|&dish| plan.activities[dish].end);
        let first = ends.clone().min().unwrap_or(project.now);
        let at = ends.max().unwrap_or(project.now);
        let late = landing.wanted.map_or(Span::ZERO, |wanted| at.since(wanted));
        plan.landings.push(LandingForecast { at, late, spread: at.since(first) });
    }
    plan
}

/// What holds the activities in their order.
fn links(frame: &Frame<'_>, starts: &[i64]) -> Vec<Link> {
    let gaps = frame.project.gaps.iter().enumerate();
    let mut links: Vec<Link> =
        gaps.map(|(index, gap)| Link { from: gap.from, to: gap.to, why: LinkWhy::Gap(index) }).collect();
    let begins: Vec<i64> = frame.bodies.iter().zip(starts).map(|(body, start)| start - body.lead).collect();
    let ends: Vec<i64> = frame.bodies.iter().zip(starts).map(|(body, start)| start + body.lasts + body.tail).collect();
    for Order { from, to, over, .. } in orders(frame, &begins, &ends) {
        if let (Who::Activity(from), Who::Activity(to)) = (frame.bodies[from].who, frame.bodies[to].who) {
            let why = match over {
                Over::Resource(index) => LinkWhy::Resource(index % frame.project.resources.len().max(1)),
                Over::Apart(index) => LinkWhy::Apart(index),
            };
            let link = Link { from, to, why };
            if !links.contains(&link) {
                links.push(link);
            }
        }
    }
    links
}

pub(crate) fn later(moment: RunTime, millis: i64) -> RunTime {
    match u64::try_from(millis) {
        Ok(ahead) => moment + Span::from_millis(ahead),
        Err(_) => moment.earlier(Span::from_millis(millis.unsigned_abs())),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::arrange::{How, arrange};
    use crate::project::{Activity, Edge, Gap, GapKind, Landing, Lasts, Need, Resource};
    use alloc::vec;
    use quantities::Drift;

    /// Two trays in one oven, each to be plated within five minutes, by one pair of hands.
    fn two_trays() -> Project {
        let mut project = Project::default();
        for name in ["oven", "hands"] {
            project.resources.push(Resource { name: name.into(), capacity: 1 });
        }
        for (lasts, resource) in [(20, 0), (20, 0), (3, 1), (3, 1)] {
            project.activities.push(Activity {
                name: "step".into(),
                lasts: Lasts::exactly(Span::from_mins(lasts)),
                needs: vec![Need { resource, amount: 1 }],
                standing: Standing::Open,
                not_before: None,
                keeps: false,
            });
        }
        for (from, to) in [(0, 2), (1, 3)] {
            let most = Some(Drift::from_millis(300_000));
            let least = Drift::ZERO;
            project.gaps.push(Gap { from, edge: Edge::End, to, least, most, kind: GapKind::Quality });
        }
        project.landings.push(Landing {
            name: "dinner".into(),
            dishes: vec![2, 3],
            within: Some(Span::from_mins(30)),
            keeps: Vec::new(),
            wanted: None,
            window: Span::from_mins(2),
            waiting_weight: 5,
        });
        project
    }

    #[test]
    fn a_tray_that_runs_late_moves_what_follows_it_in_the_same_order() {
        let mut project = two_trays();
        let plan = arrange(&project, &How::default(), None, &mut || true).unwrap().plan;
        let (first, second) = if plan.activities[0].start < plan.activities[1].start { (0, 1) } else { (1, 0) };
        project.now = RunTime::START + Span::from_mins(20);
        project.activities[first].standing =
            Standing::Running { began: RunTime::START, left: Lasts::exactly(Span::from_mins(6)) };
        let later = retime(&project, &plan, Buffers::NONE).unwrap();
        assert_eq!(later.activities[first].start, RunTime::START);
        assert_eq!(later.activities[second].start, RunTime::START + Span::from_mins(26));
        assert_eq!(later.landings[0].at, RunTime::START + Span::from_mins(49));
    }

    #[test]
    fn an_order_that_no_longer_fits_is_told() {
        let mut project = two_trays();
        let plan = arrange(&project, &How::default(), None, &mut || true).unwrap().plan;
        project.now = RunTime::START + Span::from_mins(20);
        // both ended long ago, and nothing was plated
        for tray in 0..2 {
            project.activities[tray].standing =
                Standing::Ended { began: RunTime::START, ended: RunTime::START + Span::from_mins(10) };
        }
        assert_eq!(retime(&project, &plan, Buffers::NONE), Err(NoRetime::DoesNotFit));
        let other = Plan::default();
        assert_eq!(retime(&project, &other, Buffers::NONE), Err(NoRetime::OtherProject { activities: 4, found: 0 }));
    }

    #[test]
    fn who_gives_a_resource_to_whom_is_told() {
        let project = two_trays();
        let plan = arrange(&project, &How::default(), None, &mut || true).unwrap().plan;
        let oven = plan.links.iter().filter(|link| link.why == LinkWhy::Resource(0)).count();
        assert_eq!(oven, 1);
    }
}
