//! How many pairs of hands a plan wants at each moment, and when the cook has two jobs at once.
//!
//! The planner gives hands to steps that need them from start to end. A look, a turn, a stir or a half-time wants them for
//! a moment in the middle of something else; those short calls are laid over the plan here.

use alloc::{string::String, vec::Vec};

use quantities::{RunTime, Span};

use crate::{plan::Plan, project::Project};

/// A call for hands within an activity that otherwise gets on by itself: a look, a turn, a half-time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShortCall {
    /// When it is expected.
    pub at: RunTime,
    /// The activity that calls.
    pub activity: usize,
    /// What is to be done, as a cook says it: `turn potatoes`.
    pub text: String,
    /// How long the hands are away.
    pub lasts: Span,
}

/// What hands are wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum HandsJob {
    /// The activity of this index, from its start to its end.
    Activity(usize),
    /// The short call of this index.
    Call(usize),
}

/// An interval in which the same jobs want hands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Busy {
    /// Its start.
    pub from: RunTime,
    /// Its end.
    pub to: RunTime,
    /// How many pairs of hands are wanted.
    pub hands: u32,
    /// For what: activities first, then calls.
    pub jobs: Vec<HandsJob>,
}

/// What a plan asks of the cooks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HandsLoad {
    /// How many pairs of hands there are.
    pub hands: u32,
    /// Where hands are wanted, in order of time; nothing is wanted between them.
    pub busy: Vec<Busy>,
}

/// Lays the short calls over the plan, by expected times; `hands` is the resource that the hands are.
///
/// What has ended or will have ended by `project.now` is left out. A call of an activity that has the hands at that moment
/// anyway is no second job. Without such a resource there is one pair of hands, and only calls want it.
pub fn hands_load(project: &Project, plan: &Plan, hands: usize, calls: &[ShortCall]) -> HandsLoad {
    let mut wants: Vec<(RunTime, RunTime, u32, HandsJob)> = Vec::new();
    for (index, (activity, planned)) in project.activities.iter().zip(&plan.activities).enumerate() {
        let amount =
            activity.needs.iter().filter(|need| need.resource == hands).map(|need| u32::from(need.amount)).sum();
        wants.push((planned.start, planned.end, amount, HandsJob::Activity(index)));
    }
    let holds = |call: &ShortCall, from: RunTime, to: RunTime| {
        let holds =
            |want: &&(RunTime, RunTime, u32, HandsJob)| want.3 == HandsJob::Activity(call.activity) && want.2 > 0;
        wants.iter().find(holds).is_some_and(|want| want.0 <= from && to <= want.1)
    };
    let short = calls.iter().enumerate().map(|(index, call)| (call.at, call.at + call.lasts, 1, HandsJob::Call(index)));
    let short: Vec<_> = short.collect();
    // cut at each moment where something begins or ends
    let all = wants.iter().chain(&short).filter(|want| want.2 > 0 && want.0 < want.1 && want.1 > project.now);
    let mut cuts: Vec<RunTime> = all.clone().flat_map(|want| [want.0.max(project.now), want.1]).collect();
    cuts.sort_unstable();
    cuts.dedup();
    let busy = cuts.windows(2).filter_map(|cut| {
        let [from, to] = [cut[0], cut[1]];
        let meanwhile = all.clone().filter(|want| want.0 <= from && to <= want.1).filter(|want| match want.3 {
            HandsJob::Activity(_) => true,
            HandsJob::Call(index) => !holds(&calls[index], from, to),
        });
        let jobs: Vec<HandsJob> = meanwhile.clone().map(|want| want.3).collect();
        let wanted = meanwhile.map(|want| want.2).sum();
        (!jobs.is_empty()).then_some(Busy { from, to, hands: wanted, jobs })
    });
    let mut load = HandsLoad {
        hands: project.resources.get(hands).map_or(1, |resource| resource.capacity.into()),
        busy: Vec::new(),
    };
    for next in busy {
        match load.busy.last_mut() {
            Some(last) if last.to == next.from && last.jobs == next.jobs => last.to = next.to,
            _ => load.busy.push(next),
        }
    }
    load
}

impl HandsLoad {
    /// Gives the intervals in which more hands are wanted than there are.
    pub fn overlaps(&self) -> impl Iterator<Item = &Busy> {
        self.busy.iter().filter(|busy| busy.hands > self.hands)
    }

    /// Gives how long more hands are wanted than there are, all in all.
    pub fn overlap(&self) -> Span {
        self.overlaps().map(Busy::lasts).fold(Span::ZERO, |sum, lasts| sum + lasts)
    }

    /// Gives the longest stretch without a break in which more hands are wanted than there are.
    pub fn longest_overlap(&self) -> Span {
        let (mut longest, mut stretch, mut end) = (Span::ZERO, Span::ZERO, None);
        for busy in self.overlaps() {
            stretch = if end == Some(busy.from) { stretch + busy.lasts() } else { busy.lasts() };
            end = Some(busy.to);
            longest = longest.max(stretch);
        }
        longest
    }

    /// Gives how long hands are wanted at all.
    pub fn at_work(&self) -> Span {
        self.busy.iter().map(Busy::lasts).fold(Span::ZERO, |sum, lasts| sum + lasts)
    }

    /// Gives the most pairs of hands that are wanted at once within each minute from a moment on, up to the last job.
    pub fn by_minute(&self, from: RunTime) -> Vec<u32> {
        let minutes = self.busy.last().map_or(0, |last| last.to.since(from).millis().div_ceil(60_000));
        let wanted = |minute: u64| {
            let (start, end) = (from + Span::from_mins(minute), from + Span::from_mins(minute + 1));
            let within = self.busy.iter().filter(|busy| busy.from < end && start < busy.to);
            within.map(|busy| busy.hands).max().unwrap_or(0)
        };
        (0..minutes).map(wanted).collect()
    }
}

impl Busy {
    /// Gives how long it is.
    pub fn lasts(&self) -> Span {
        self.to.since(self.from)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use alloc::{format, vec};

    use super::*;
    use crate::{
        plan::Planned,
        project::{Activity, Lasts, Need, Resource, Standing},
    };

    fn at(minute: u64) -> RunTime {
        RunTime::START + Span::from_mins(minute)
    }

    /// A plan of activities with a start, minutes and pairs of hands, where there is one pair.
    fn kitchen(activities: &[(&str, u64, u64, u16)]) -> (Project, Plan) {
        let mut project = Project::default();
        let mut plan = Plan::default();
        project.resources.push(Resource { name: "hands".into(), capacity: 1 });
        for (name, start, lasts, amount) in activities {
            project.activities.push(Activity {
                name: (*name).into(),
                lasts: Lasts::exactly(Span::from_mins(*lasts)),
                needs: vec![Need { resource: 0, amount: *amount }],
                standing: Standing::Open,
                not_before: None,
                keeps: false,
            });
            plan.activities.push(Planned { start: at(*start), end: at(start + lasts), ..Planned::default() });
        }
        (project, plan)
    }

    fn call(minute: u64, activity: usize, text: &str, secs: u64) -> ShortCall {
        ShortCall { at: at(minute), activity, text: text.into(), lasts: Span::from_secs(secs) }
    }

    fn told(load: &HandsLoad) -> String {
        let jobs = load.busy.iter().map(|busy| {
            let jobs = busy.jobs.iter().map(|job| match job {
                HandsJob::Activity(index) => format!("a{index}"),
                HandsJob::Call(index) => format!("c{index}"),
            });
            let secs = |moment: RunTime| moment.since_start().whole_secs();
            format!("{}-{}:{}", secs(busy.from), secs(busy.to), jobs.collect::<Vec<_>>().join("+"))
        });
        jobs.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn potatoes_to_turn_while_the_sauce_is_whisked_are_two_jobs_for_half_a_minute() {
        let (project, plan) = kitchen(&[("potatoes", 0, 40, 0), ("sauce", 15, 10, 1)]);
        let calls = [call(20, 0, "turn potatoes", 30), call(35, 0, "look at potatoes", 10)];
        let load = hands_load(&project, &plan, 0, &calls);
        assert_eq!(told(&load), "900-1200:a1 1200-1230:a1+c0 1230-1500:a1 2100-2110:c1");
        assert_eq!(load.overlap(), Span::from_secs(30));
        assert_eq!(load.longest_overlap(), Span::from_secs(30));
        assert_eq!(load.at_work(), Span::from_secs(610));
        // the turn put off until the sauce is done: no overlap
        let calls = [call(25, 0, "turn potatoes", 30)];
        assert_eq!(hands_load(&project, &plan, 0, &calls).overlap(), Span::ZERO);
    }

    #[test]
    fn call_of_what_has_the_hands_anyway_is_no_second_job() {
        let (project, plan) = kitchen(&[("sauce", 0, 10, 1)]);
        let load = hands_load(&project, &plan, 0, &[call(5, 0, "taste", 20)]);
        assert_eq!(told(&load), "0-600:a0");
        // it goes on after the step has let go of the hands
        let load = hands_load(&project, &plan, 0, &[call(9, 0, "taste", 90)]);
        assert_eq!(told(&load), "0-600:a0 600-630:c0");
    }

    #[test]
    fn two_calls_at_once_are_an_overlap_and_a_second_cook_takes_it() {
        let (mut project, plan) = kitchen(&[("rice", 0, 20, 0), ("fish", 0, 20, 0), ("salad", 9, 4, 1)]);
        let calls = [call(10, 0, "stir", 60), call(10, 1, "turn", 90), call(12, 1, "look", 30)];
        let load = hands_load(&project, &plan, 0, &calls);
        let overlaps: Vec<u32> = load.overlaps().map(|busy| busy.hands).collect();
        assert_eq!(overlaps, [3, 2, 2]);
        assert_eq!((load.overlap(), load.longest_overlap()), (Span::from_secs(120), Span::from_secs(90)));
        project.resources[0].capacity = 2;
        let load = hands_load(&project, &plan, 0, &calls);
        assert_eq!((load.overlap(), load.longest_overlap()), (Span::from_secs(60), Span::from_secs(60)));
    }

    #[test]
    fn minutes_show_the_most_that_is_wanted_in_them() {
        let (project, plan) = kitchen(&[("beans", 1, 2, 1), ("tart", 0, 9, 0)]);
        let load = hands_load(&project, &plan, 0, &[call(2, 1, "turn", 10)]);
        assert_eq!(load.by_minute(RunTime::START), [0, 1, 2]);
        assert_eq!(load.by_minute(at(2)), [2]);
        assert_eq!(load.by_minute(at(5)), []);
    }

    #[test]
    fn what_is_over_no_longer_counts() {
        let (mut project, plan) = kitchen(&[("beans", 0, 10, 1), ("tart", 0, 30, 0)]);
        project.now = at(6);
        let load = hands_load(&project, &plan, 0, &[call(2, 1, "turn", 60), call(8, 1, "turn", 60)]);
        assert_eq!(told(&load), "360-480:a0 480-540:a0+c1 540-600:a0");
    }

    #[test]
    fn kitchen_without_hands_as_a_resource_has_one_pair() {
        let (mut project, plan) = kitchen(&[("tart", 0, 30, 0)]);
        project.resources.clear();
        project.activities[0].needs.clear();
        let load = hands_load(&project, &plan, 0, &[call(2, 0, "turn", 60), call(2, 0, "look", 30)]);
        assert_eq!((load.hands, load.overlap()), (1, Span::from_secs(30)));
    }
}
