//! Why a plan cannot be, and the least change that helps.

use alloc::{format, string::String, vec::Vec};

use quantities::{Drift, RunTime, Span};

use crate::{
    plan::Plan,
    project::{Edge, Gap, Project},
};

/// Something that was asked for and can be let go, one at a time, to see what stands in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Demand {
    /// The most that the food can wait in the gap of this index.
    Gap(usize),
    /// That there is no more than this of a resource.
    Resource(usize),
    /// The pair of this index, which never overlaps.
    Apart(usize),
    /// The wanted moment of a landing.
    Wanted(usize),
    /// How far apart the dishes of a landing may end.
    Within(usize),
}

/// What a try came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tried {
    /// There is a plan.
    Fits(Plan),
    /// There is none, proven.
    Cannot,
    /// Neither was found in the time given.
    Unknown,
}

/// What cannot all be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    /// The demands; none of them can be left out as far as was tried.
    pub demands: Vec<Demand>,
    /// Whether it is proven that each of them is needed for the conflict.
    pub smallest: bool,
}

/// One change that makes a plan possible, or better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// The cook begins earlier, or the landing comes later, by so much.
    Earlier(Span),
    /// One more of a resource.
    OneMore(usize),
    /// The second activity of this pair, and all that it is apart from, has an oven of its own.
    OtherOven(usize),
    /// The food waits longer in a gap, by so much.
    Wait {
        /// Which gap.
        gap: usize,
        /// By how much.
        by: Span,
    },
    /// The dishes of a landing end further apart, by so much.
    Spread {
        /// Which landing.
        landing: usize,
        /// By how much.
        by: Span,
    },
}

/// A change with what comes of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Remedy {
    /// The change.
    pub change: Change,
    /// How late the landings are with it: zero if all are on time.
    pub late: Span,
}

/// A widened gap or spread is tried up to so much.
const WIDEST: Span = Span::from_mins(64);
/// ... in steps of so much.
const GRAIN: Span = Span::from_secs(30);

impl Project {
    /// All demands of a project.
    pub fn demands(&self) -> Vec<Demand> {
        let gaps = self.gaps.iter().enumerate().filter(|(_, gap)| gap.most.is_some()).map(|(i, _)| Demand::Gap(i));
        let landings = || self.landings.iter().enumerate();
        gaps.chain((0..self.resources.len()).map(Demand::Resource))
            .chain((0..self.apart.len()).map(Demand::Apart))
            .chain(landings().filter(|(_, landing)| landing.wanted.is_some()).map(|(i, _)| Demand::Wanted(i)))
            .chain(landings().filter(|(_, landing)| landing.within.is_some()).map(|(i, _)| Demand::Within(i)))
            .collect()
    }

    /// The same project without some of its demands.
    pub fn without(&self, dropped: &[Demand]) -> Self {
        let mut project = self.clone();
        let mut apart = Vec::new();
        for demand in dropped {
            match *demand {
                Demand::Gap(gap) => project.gaps[gap].most = None,
                Demand::Resource(resource) => {
                    for activity in &mut project.activities {
                        activity.needs.retain(|need| need.resource != resource);
                    }
                }
                Demand::Apart(pair) => apart.push(pair),
                Demand::Wanted(landing) => project.landings[landing].wanted = None,
                Demand::Within(landing) => project.landings[landing].within = None,
            }
        }
        let mut index = 0;
        project.apart.retain(|_| {
            index += 1;
            !apart.contains(&(index - 1))
        });
        project
    }

    /// The same project with one change.
    pub fn with(&self, change: Change) -> Self {
        let mut project = self.clone();
        match change {
            Change::Earlier(by) => {
                for landing in &mut project.landings {
                    landing.wanted = landing.wanted.map(|at| at + by);
                }
            }
            Change::OneMore(resource) => project.resources[resource].capacity += 1,
            Change::OtherOven(pair) => {
                let resource = project.apart[pair].resource;
                project.apart.retain(|pair| pair.resource != resource);
            }
            Change::Wait { gap, by } => {
                let most = &mut project.gaps[gap].most;
                *most = most.map(|most| Drift::from_millis(most.millis().saturating_add_unsigned(by.millis())));
            }
            Change::Spread { landing, by } => {
                let within = &mut project.landings[landing].within;
                *within = within.map(|within| within + by);
            }
        }
        project
    }
}

/// The smallest set of demands that cannot all be kept: each is let go in turn and stays away if there is still no plan.
///
/// `attempt` is asked once for each demand; an answer of "unknown" keeps the demand, and the set is then not said to be the
/// smallest.
pub fn conflict(project: &Project, attempt: &mut dyn FnMut(&Project) -> Tried) -> Conflict {
    let mut kept = project.demands();
    let mut dropped: Vec<Demand> = Vec::new();
    let mut smallest = true;
    let mut at = 0;
    while at < kept.len() {
        let demand = kept[at];
        dropped.push(demand);
        match attempt(&project.without(&dropped)) {
            Tried::Cannot => {
                kept.remove(at);
                continue;
            }
            Tried::Unknown => smallest = false,
            Tried::Fits(_) => {}
        }
        dropped.pop();
        at += 1;
    }
    Conflict { demands: kept, smallest }
}

/// Single changes to these demands that help: those that leave the landings less late than `late`, or at all possible
/// where `late` is none; the ones that help most first.
pub fn remedies(
    project: &Project,
    demands: &[Demand],
    late: Option<Span>,
    attempt: &mut dyn FnMut(&Project) -> Tried,
) -> Vec<Remedy> {
    let mut found = Vec::new();
    if let Some(late) = late.filter(|late| !late.is_zero()) {
        let change = Change::Earlier(late);
        found.extend(helps(project, change, Some(late), attempt).map(|late| Remedy { change, late }));
    }
    for demand in demands {
        let helped = match *demand {
            Demand::Resource(resource) => {
                let change = Change::OneMore(resource);
                helps(project, change, late, attempt).map(|late| Remedy { change, late })
            }
            Demand::Gap(gap) => least(project, &|by| Change::Wait { gap, by }, late, attempt),
            Demand::Within(landing) => least(project, &|by| Change::Spread { landing, by }, late, attempt),
            Demand::Apart(pair) => {
                // one more oven is one change, however many pairs it parts
                let resource = project.apart[pair].resource;
                let tried = demands.iter().take_while(|other| *other != demand).any(|other| match other {
                    Demand::Apart(other) => project.apart[*other].resource == resource,
                    Demand::Gap(_) | Demand::Resource(_) | Demand::Wanted(_) | Demand::Within(_) => false,
                });
                let change = Change::OtherOven(pair);
                let helped = if tried { None } else { helps(project, change, late, attempt) };
                helped.map(|late| Remedy { change, late })
            }
            Demand::Wanted(_) => None,
        };
        found.extend(helped);
    }
    found.sort_by_key(|remedy| (remedy.late, size(remedy.change)));
    found
}

/// How late the landings are with a change, if it helps.
fn helps(
    project: &Project,
    change: Change,
    late: Option<Span>,
    attempt: &mut dyn FnMut(&Project) -> Tried,
) -> Option<Span> {
    let Tried::Fits(plan) = attempt(&project.with(change)) else { return None };
    let now = plan.latest_landing_late();
    late.is_none_or(|late| now + Span::from_mins(1) <= late).then_some(now)
}

/// The least widening that does what the widest does.
fn least(
    project: &Project,
    change: &dyn Fn(Span) -> Change,
    late: Option<Span>,
    attempt: &mut dyn FnMut(&Project) -> Tried,
) -> Option<Remedy> {
    let aim = helps(project, change(WIDEST), late, attempt)?;
    let (mut misses, mut does) = (Span::ZERO, WIDEST);
    while does.saturating_sub(misses) > GRAIN {
        let middle = Span::from_millis((misses.millis() + does.millis()) / 2 / GRAIN.millis() * GRAIN.millis());
        match helps(project, change(middle), late, attempt) {
            Some(now) if now <= aim => does = middle,
            Some(_) | None => misses = middle,
        }
    }
    Some(Remedy { change: change(does), late: aim })
}

/// Small changes before large ones.
fn size(change: Change) -> (u8, Span) {
    match change {
        Change::Earlier(by) => (0, by),
        Change::Wait { by, .. } | Change::Spread { by, .. } => (1, by),
        Change::OneMore(_) | Change::OtherOven(_) => (2, Span::ZERO),
    }
}

impl Plan {
    /// How late the latest landing against its wanted moment is.
    pub fn latest_landing_late(&self) -> Span {
        self.landings.iter().map(|landing| landing.late).max().unwrap_or(Span::ZERO)
    }
}

impl Demand {
    /// The demand as a sentence without a full stop; `clock` says a moment as the cook reads it.
    pub fn words(self, project: &Project, clock: &dyn Fn(RunTime) -> String) -> String {
        let name = |activity: usize| project.activities[activity].name.as_str();
        match self {
            Self::Gap(index) => gap_words(project, &project.gaps[index]),
            Self::Resource(resource) => {
                let resource = &project.resources[resource];
                let what = resource.name.as_str();
                match (what, resource.capacity) {
                    ("hands", 1) => "there is one pair of hands".into(),
                    ("hands", pairs) => format!("there are {pairs} pairs of hands"),
                    (_, 1) if what.ends_with('s') => format!("there is one {}", &what[..what.len() - 1]),
                    (_, 1) => format!("{what} takes one thing at a time"),
                    (_, count) if what.ends_with('s') => format!("there are {count} {what}"),
                    (_, count) => format!("{what} takes {count} at once"),
                }
            }
            Self::Apart(index) => {
                let pair = &project.apart[index];
                let (first, second) = (name(pair.first), name(pair.second));
                let what = &project.resources[pair.resource].name;
                format!("{first} and {second} want {what} at different temperatures, which the recipe does not let go")
            }
            Self::Wanted(index) => {
                let landing = &project.landings[index];
                let when = landing.wanted.map_or_else(String::new, clock);
                format!("{} wanted at {when}, nothing begun before {}", landing.name, clock(project.now))
            }
            Self::Within(index) => {
                let landing = &project.landings[index];
                let within = landing.within.unwrap_or(Span::ZERO);
                format!("{} ready within {} of each other", landing.name, length(within))
            }
        }
    }
}

impl Change {
    /// The change as an instruction.
    pub fn words(self, project: &Project) -> String {
        match self {
            Self::Earlier(by) => format!("start {} earlier, or land that much later", length(by)),
            Self::OneMore(resource) => {
                let what = project.resources[resource].name.as_str();
                match what {
                    "hands" => "a second pair of hands".into(),
                    _ if what.ends_with('s') => format!("one more {}", &what[..what.len() - 1]),
                    _ if what.starts_with("oven") => format!("one more shelf in {what}"),
                    _ => format!("a second {what}"),
                }
            }
            Self::OtherOven(pair) => {
                let pair = &project.apart[pair];
                let what = &project.resources[pair.resource].name;
                format!("a second {what} for {}", project.activities[pair.second].name)
            }
            Self::Wait { gap, by } => {
                let gap = &project.gaps[gap];
                let most = gap.most.map_or(Span::ZERO, |most| if most.is_early() { Span::ZERO } else { most.size() });
                let (from, to) = (&project.activities[gap.from].name, &project.activities[gap.to].name);
                format!("let {to} start up to {} after {from}, {} more", length(most + by), length(by))
            }
            Self::Spread { landing, by } => {
                let landing = &project.landings[landing];
                let within = landing.within.unwrap_or(Span::ZERO);
                format!("let {} end up to {} apart", landing.name, length(within + by))
            }
        }
    }
}

fn gap_words(project: &Project, gap: &Gap) -> String {
    let (from, to) = (&project.activities[gap.from].name, &project.activities[gap.to].name);
    let edge = match gap.edge {
        Edge::Start => "the start of ",
        Edge::End => "",
    };
    let most = gap.most.unwrap_or(Drift::ZERO);
    match (gap.least.is_early(), most == Drift::ZERO) {
        (true, _) => format!("{to} starts at most {} before {from} ends, and not after it", length(gap.least.size())),
        (false, true) => format!("{to} follows {edge}{from} at once"),
        (false, false) => format!("{to} starts within {} of {edge}{from}", length(most.size())),
    }
}

/// A length of time as a cook says it: `3 min`, `1 min 30 s`, `1 h 05 min`.
pub(crate) fn length(span: Span) -> String {
    let secs = (span.millis() + 500) / 1000;
    match (secs / 3600, secs / 60 % 60, secs % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, 0) => format!("{m} min"),
        (0, m, s) => format!("{m} min {s} s"),
        (h, m, _) => format!("{h} h {m:02} min"),
    }
}
