//! How a plan is told: as text and as JSON.

use planner::{
    Demand, HandsJob, HandsLoad, Link, LinkWhy, Missed, Plan, Planning, ShortCall, Source, Wish, chain, hands_load,
};
use quantities::RunTime;
use serde_json::{Value, json};

use super::{Asked, Clock};
use crate::{
    failure::Failure,
    output::{Out, Table},
    planning::{Found, Reason},
    run::tell::length,
};

/// What is told of.
pub(super) struct Told<'a> {
    pub(super) asked: &'a [Asked],
    pub(super) wishes: &'a [Wish<'a>],
    pub(super) planning: &'a Planning,
    pub(super) clock: &'a Clock,
}

/// The hands, always the first resource of a project made from recipes.
pub(super) const HANDS: usize = 0;
/// So many overlaps are listed.
const OVERLAPS: usize = 8;
/// So many windows that are missed are named, and so many starts that help.
const MISSED: usize = 3;
const NOTE: &str = "times are estimates and the food decides: check by sign or core; the local food code and a trained person decide on holding";

/// Eight in ten simulated cooks land between these moments.
pub(super) fn eight_in_ten(found: &Found, landing: usize) -> (RunTime, RunTime) {
    let [low, _, high] = found.outlook.landings[landing].at;
    (low, high)
}

impl Told<'_> {
    /// The plan as text, with the reason why it is late if it is.
    pub(super) fn plan(&self, found: &Found, late: Option<&Reason>, out: &mut Out) -> Result<(), Failure> {
        let plan = &found.plan;
        self.titles(out)?;
        out.line("")?;
        for landing in 0..plan.landings.len() {
            out.line(self.landing(found, landing))?;
        }
        self.chances(found, out)?;
        if let Some(reason) = late {
            self.reason(
                if reason.proven { "not sooner, since:" } else { "no way to be on time was found; in the way:" },
                reason,
                out,
            )?;
        }
        out.line("")?;
        out.table(&self.table(plan))?;
        out.line("")?;
        let chain = chain(&self.planning.project, plan);
        if !chain.is_empty() {
            out.line(format_args!("* critical, a delay here delays the landing: {}", self.chain_words(&chain)))?;
        }
        let calls = self.planning.short_calls(self.wishes, plan);
        let load = hands_load(&self.planning.project, plan, HANDS, &calls);
        self.hands(plan, &load, &calls, out)?;
        out.note(NOTE);
        Ok(())
    }

    /// What the plan is for: the titles of its recipes, each once.
    pub(super) fn title(&self) -> String {
        let mut titles: Vec<&str> = self.asked.iter().map(|asked| asked.recipe.title.as_str()).collect();
        titles.dedup();
        titles.join("; ")
    }

    pub(super) fn needs_hands(&self, at: usize) -> bool {
        self.planning.project.activities[at].needs.iter().any(|need| need.resource == HANDS)
    }

    /// The name of an activity without that of its trial.
    pub(super) fn short_name(&self, at: usize) -> String {
        let name = &self.planning.project.activities[at].name;
        let (Source::Step { wish, .. } | Source::Preheat { wish, .. }) = self.planning.sources[at];
        let trial = &self.wishes[wish].name;
        name.strip_prefix(trial.as_str()).and_then(|rest| rest.strip_prefix(": ")).unwrap_or(name).to_owned()
    }

    /// Why there is no plan.
    pub(super) fn no_plan(&self, reason: &Reason, out: &mut Out) -> Result<(), Failure> {
        self.titles(out)?;
        out.line("")?;
        let head =
            if reason.proven { "there is no plan; these cannot all be had:" } else { "no plan was found; in the way:" };
        self.reason(head, reason, out)
    }

    fn titles(&self, out: &mut Out) -> Result<(), Failure> {
        for (asked, wish) in self.asked.iter().zip(self.wishes) {
            let name = if wish.name.is_empty() { String::new() } else { format!("{}: ", wish.name) };
            out.line(format_args!("{name}{}, variant {}", asked.recipe.title, asked.variant))?;
        }
        Ok(())
    }

    /// How many of the simulated cooks kept everything, what was missed, and what would raise it.
    fn chances(&self, found: &Found, out: &mut Out) -> Result<(), Failure> {
        let (project, outlook) = (&self.planning.project, &found.outlook);
        let share = |count: u32, of: u32| (100 * count + of / 2) / of.max(1);
        let kept = share(outlook.all_windows, outlook.runs);
        let nearly = share(outlook.nearly, outlook.runs);
        out.line(format_args!(
            "in {kept} of 100 simulated cooks everything keeps its window, in {nearly} none is missed by over 2 min"
        ))?;
        if kept >= 95 {
            return Ok(());
        }
        for (missed, count) in outlook.missed.iter().take(MISSED) {
            out.line(format_args!("  missed in {} of 100: {}", share(*count, outlook.runs), self.missed(*missed)))?;
        }
        for (activity, gained) in outlook.sooner.iter().take(MISSED) {
            let name = &project.activities[*activity].name;
            let gained = share(*gained, outlook.compared);
            if gained > 0 {
                out.line(format_args!("  started as early as can be, {name} raises it by {gained}"))?;
            }
        }
        Ok(())
    }

    fn missed(&self, missed: Missed) -> String {
        let project = &self.planning.project;
        match missed {
            Missed::Gap(gap) => Demand::Gap(gap).words(project, &|at| self.clock.time(at)),
            Missed::Waited { landing, dish } => {
                let landing = &project.landings[landing];
                let dish = landing.dishes.get(dish).map_or("", |&dish| project.activities[dish].name.as_str());
                format!("{dish} waits too long for the others")
            }
            Missed::Landing(landing) => {
                let landing = &project.landings[landing];
                format!("{} more than {} from its time", landing.name, length(landing.window))
            }
        }
    }

    fn landing(&self, found: &Found, landing: usize) -> String {
        let (asked, planned) = (&self.planning.project.landings[landing], &found.plan.landings[landing]);
        let mut text = format!("ready {}", self.clock.time(planned.at));
        text += &match asked.wanted {
            Some(wanted) if !planned.late.is_zero() => {
                format!(", {} late for {}", length(planned.at.since(wanted)), self.clock.time(wanted))
            }
            Some(wanted) if planned.at != wanted => format!(" for {}", self.clock.time(wanted)),
            Some(_) => String::new(),
            None => ", as early as can be".into(),
        };
        text += &format!(": {}", asked.name);
        if let Some(within) = asked.within {
            text += &format!(", at most {} apart", length(within));
        }
        let (low, high) = eight_in_ten(found, landing);
        if low != high {
            text += &format!("; 8 in 10 between {} and {}", self.clock.minute(low), self.clock.minute(high));
        }
        text
    }

    fn reason(&self, head: &str, reason: &Reason, out: &mut Out) -> Result<(), Failure> {
        let project = &self.planning.project;
        out.line(head)?;
        for demand in &reason.conflict.demands {
            out.line(format_args!("  - {}", self.demand(*demand)))?;
        }
        if reason.remedies.is_empty() {
            out.line("no single change helps")?;
            return Ok(());
        }
        out.line("what helps by itself, the least change first:")?;
        for remedy in &reason.remedies {
            let left =
                if remedy.late.is_zero() { String::new() } else { format!(" ({} late then)", length(remedy.late)) };
            out.line(format_args!("  - {}{left}", remedy.change.words(project)))?;
        }
        Ok(())
    }

    /// A demand in words; two temperatures of one oven with what the recipes say.
    fn demand(&self, demand: Demand) -> String {
        let project = &self.planning.project;
        if let Demand::Apart(pair) = demand {
            let pair = &project.apart[pair];
            let heat = |at: usize| match self.planning.heats[at] {
                Some((heat, fan)) => format!("{:.0} °C{}", heat.degrees(), if fan { " fan" } else { "" }),
                None => "another heat".into(),
            };
            let (first, second) = (&project.activities[pair.first].name, &project.activities[pair.second].name);
            let oven = &project.resources[pair.resource].name;
            return format!(
                "{oven} at {} for {first} and at {} for {second}: one temperature for both is not what the recipes say",
                heat(pair.first),
                heat(pair.second)
            );
        }
        demand.words(project, &|at| self.clock.time(at))
    }

    fn table(&self, plan: &Plan) -> Table {
        let mut table = Table::new(["start", "latest", "", "step", "takes", "where"]);
        for at in self.by_start(plan) {
            let (planned, activity) = (&plan.activities[at], &self.planning.project.activities[at]);
            let lasts = activity.lasts;
            let takes = if lasts.is_exact() {
                length(lasts.likely)
            } else {
                format!("{} ({} to {})", length(lasts.likely), length(lasts.low), length(lasts.high))
            };
            table.row([
                self.clock.time(planned.start),
                self.clock.time(planned.latest),
                if planned.critical { "*".into() } else { String::new() },
                activity.name.clone(),
                takes,
                self.place(at),
            ]);
        }
        table
    }

    pub(super) fn by_start(&self, plan: &Plan) -> Vec<usize> {
        let mut order: Vec<usize> = (0..plan.activities.len()).collect();
        order.sort_by_key(|&at| (plan.activities[at].start, at));
        order
    }

    /// `oven 200 °C fan, hands`.
    pub(super) fn place(&self, at: usize) -> String {
        let mut text = self.planning.appliances[at].to_string();
        if let Some((heat, fan)) = self.planning.heats[at] {
            text += &format!(" {:.0} °C{}", heat.degrees(), if fan { " fan" } else { "" });
        }
        if self.needs_hands(at) {
            text += ", hands";
        }
        text
    }

    fn chain_words(&self, chain: &[Link]) -> String {
        let name = |at: usize| self.planning.project.activities[at].name.as_str();
        let mut text = chain.first().map_or_else(String::new, |link| name(link.from).to_owned());
        for link in chain {
            let by = match link.why {
                LinkWhy::Resource(resource) => format!(" (gets the {})", self.resource(resource)),
                LinkWhy::Apart(_) => " (needs another heat)".into(),
                LinkWhy::Gap(_) => String::new(),
            };
            text += &format!(" > {}{by}", name(link.to));
        }
        text
    }

    /// A resource as one of its kind: `microwave`.
    pub(super) fn resource(&self, resource: usize) -> &str {
        let name = self.planning.project.resources[resource].name.as_str();
        if resource == HANDS { name } else { name.strip_suffix('s').unwrap_or(name) }
    }

    fn hands(&self, plan: &Plan, load: &HandsLoad, calls: &[ShortCall], out: &mut Out) -> Result<(), Failure> {
        let from = plan.activities.iter().map(|planned| planned.start).min().unwrap_or_default();
        let to = plan.activities.iter().map(|planned| planned.end).max().unwrap_or_default();
        let whole = length(to.since(from));
        if load.overlap().is_zero() {
            out.line(format_args!("hands: at work {} of {whole}, never two jobs at once", length(load.at_work())))?;
            return Ok(());
        }
        let (work, twice) = (length(load.at_work()), length(load.overlap()));
        let longest = length(load.longest_overlap());
        out.line(format_args!(
            "hands: at work {work} of {whole}; more jobs than hands for {twice}, at most {longest} on end:"
        ))?;
        let count = load.overlaps().count();
        for busy in load.overlaps().take(OVERLAPS) {
            let jobs: Vec<&str> = busy.jobs.iter().map(|job| self.job(*job, calls)).collect();
            out.line(format_args!(
                "  {} to {}  {}",
                self.clock.time(busy.from),
                self.clock.time(busy.to),
                jobs.join(" + ")
            ))?;
        }
        if count > OVERLAPS {
            out.line(format_args!("  and {} more; --json has them all", count - OVERLAPS))?;
        }
        Ok(())
    }

    fn job<'c>(&'c self, job: HandsJob, calls: &'c [ShortCall]) -> &'c str {
        match job {
            HandsJob::Activity(at) => &self.planning.project.activities[at].name,
            HandsJob::Call(at) => &calls[at].text,
        }
    }

    /// The plan as one object.
    pub(super) fn json(&self, found: &Found, late: Option<&Reason>) -> Value {
        let plan = &found.plan;
        let project = &self.planning.project;
        let calls = self.planning.short_calls(self.wishes, plan);
        let load = hands_load(project, plan, HANDS, &calls);
        let landings: Vec<Value> = (0..plan.landings.len()).map(|landing| self.json_landing(found, landing)).collect();
        let steps: Vec<Value> = self.by_start(plan).into_iter().map(|at| self.json_step(plan, at)).collect();
        let chain: Vec<Value> = chain(project, plan).iter().map(|link| self.json_link(*link)).collect();
        let overlaps: Vec<Value> = load
            .overlaps()
            .map(|busy| {
                let jobs: Vec<&str> = busy.jobs.iter().map(|job| self.job(*job, &calls)).collect();
                json!({ "from": self.clock.stamp(busy.from), "to": self.clock.stamp(busy.to), "jobs": jobs })
            })
            .collect();
        json!({
            "recipes": self.json_recipes(),
            "from": self.clock.stamp(RunTime::START),
            "plan": {
                "landings": landings,
                "steps": steps,
                "critical_chain": chain,
                "shown_to_be_the_best": found.best,
            },
            "chances": self.json_chances(found),
            "hands": { "at_work": load.at_work(), "overlap": load.overlap(), "longest_overlap": load.longest_overlap(), "overlaps": overlaps },
            "reason": late.map(|reason| self.json_reason(reason)),
        })
    }

    /// No plan, as one object with the same keys.
    pub(super) fn json_none(&self, reason: &Reason) -> Value {
        json!({
            "recipes": self.json_recipes(),
            "from": self.clock.stamp(RunTime::START),
            "plan": null,
            "chances": null,
            "hands": null,
            "reason": self.json_reason(reason),
        })
    }

    fn json_chances(&self, found: &Found) -> Value {
        let (project, outlook) = (&self.planning.project, &found.outlook);
        let missed: Vec<Value> = outlook
            .missed
            .iter()
            .map(|(missed, count)| json!({ "what": self.missed(*missed), "share": share_of(*count, outlook.runs) }))
            .collect();
        let sooner: Vec<Value> = outlook
            .sooner
            .iter()
            .map(|(at, more)| json!({ "name": project.activities[*at].name, "share": share_of(*more, outlook.compared) }))
            .collect();
        json!({
            "runs": outlook.runs,
            "all_windows_share": share_of(outlook.all_windows, outlook.runs),
            "within_two_minutes_share": share_of(outlook.nearly, outlook.runs),
            "missed": missed,
            "helps_if_started_early": sooner,
        })
    }

    fn json_recipes(&self) -> Vec<Value> {
        let recipe = |(asked, wish): (&Asked, &Wish<'_>)| {
            json!({
                "trial": wish.name,
                "recipe": asked.recipe.id,
                "title": asked.recipe.title,
                "variant": asked.variant,
                "version": asked.recipe.version,
            })
        };
        self.asked.iter().zip(self.wishes).map(recipe).collect()
    }

    fn json_landing(&self, found: &Found, landing: usize) -> Value {
        let (asked, planned) = (&self.planning.project.landings[landing], &found.plan.landings[landing]);
        let (low, high) = eight_in_ten(found, landing);
        let held = found.outlook.landings[landing].held;
        let dishes: Vec<&str> =
            asked.dishes.iter().map(|&at| self.planning.project.activities[at].name.as_str()).collect();
        json!({
            "name": asked.name,
            "at": self.clock.stamp(planned.at),
            "wanted": asked.wanted.map(|wanted| self.clock.stamp(wanted)),
            "late": planned.late,
            "apart": planned.spread,
            "within": asked.within,
            "eight_in_ten": [self.clock.stamp(low), self.clock.stamp(high)],
            "held_share": share_of(held, found.outlook.runs),
            "dishes": dishes,
        })
    }

    fn json_step(&self, plan: &Plan, at: usize) -> Value {
        let (planned, activity) = (&plan.activities[at], &self.planning.project.activities[at]);
        let (trial, step) = match self.planning.sources[at] {
            Source::Step { wish, step } => {
                let stage = &self.wishes[wish].programme.stages[usize::from(step.stage)];
                (wish, Some(stage.steps[usize::from(step.step)].id.to_string()))
            }
            Source::Preheat { wish, .. } => (wish, None),
        };
        json!({
            "trial": self.wishes[trial].name,
            "step": step,
            "name": activity.name,
            "start": self.clock.stamp(planned.start),
            "end": self.clock.stamp(planned.end),
            "latest": self.clock.stamp(planned.latest),
            "slack": planned.slack(),
            "critical": planned.critical,
            "takes": { "low": activity.lasts.low, "likely": activity.lasts.likely, "high": activity.lasts.high },
            "where": self.planning.appliances[at].to_string(),
            "heat_celsius": self.planning.heats[at].map(|(heat, _)| heat.degrees()),
            "hands": self.needs_hands(at),
        })
    }

    fn json_link(&self, link: Link) -> Value {
        let project = &self.planning.project;
        let why = match link.why {
            LinkWhy::Gap(_) => "order".to_owned(),
            LinkWhy::Resource(resource) => self.resource(resource).to_owned(),
            LinkWhy::Apart(pair) => format!("{} heat", project.resources[project.apart[pair].resource].name),
        };
        json!({ "from": project.activities[link.from].name, "to": project.activities[link.to].name, "why": why })
    }

    fn json_reason(&self, reason: &Reason) -> Value {
        let project = &self.planning.project;
        let demands: Vec<String> = reason.conflict.demands.iter().map(|demand| self.demand(*demand)).collect();
        let remedies: Vec<Value> = reason
            .remedies
            .iter()
            .map(|remedy| json!({ "change": remedy.change.words(project), "late": remedy.late }))
            .collect();
        json!({ "proven": reason.proven, "smallest": reason.conflict.smallest, "conflict": demands, "helps": remedies })
    }
}

/// A count of runs as a share of all, to three places.
fn share_of(count: u32, runs: u32) -> f64 {
    (1000.0 * f64::from(count) / f64::from(runs.max(1))).round() / 1000.0
}
