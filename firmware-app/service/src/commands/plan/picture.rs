//! A plan as a timeline that can be drawn.

use std::collections::BTreeMap;

use planner::{LinkWhy, Plan, Source, chain};
use quantities::{RunTime, Span};
use recipe_model::{ApplianceKind, Until};

use super::told::{HANDS, Told, eight_in_ten};
use crate::{
    drawn::{Bar, BarKind, BarStanding, Connector, LandingMark, Row, Timeline},
    planning::Found,
};

/// The timeline of a plan.
pub(super) fn of(told: &Told<'_>, found: &Found) -> Timeline {
    let plan = &found.plan;
    let (dishes, dish_of) = dishes(told);
    let mut rows: Vec<Row> = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    // the first bar of each activity, for the arrows
    let mut bars: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
    let mut lanes: Vec<(ApplianceKind, u8, usize)> = Vec::new();
    for (at, place) in told.planning.appliances.iter().enumerate() {
        lanes.push((place.kind, place.number, at));
    }
    lanes.sort_by_key(|&(kind, number, at)| (kind, number, plan.activities[at].start, at));
    for (step, (_, _, at)) in lanes.into_iter().enumerate() {
        let label = told.planning.appliances[at].to_string();
        let row = *places.entry(label.clone()).or_insert_with(|| {
            rows.push(Row { label, detail: String::new(), bars: Vec::new() });
            rows.len() - 1
        });
        bars.insert(at, (row, rows[row].bars.len()));
        rows[row].bars.push(bar(told, plan, at, step, dish_of[at]));
    }
    for (label, row) in &places {
        rows[*row].detail = heats(told, label);
    }
    let busy: Vec<usize> = told.by_start(plan).into_iter().filter(|&at| told.needs_hands(at)).collect();
    if !busy.is_empty() {
        let pairs = told.planning.project.resources[HANDS].capacity;
        let detail = if pairs == 1 { "one cook".to_owned() } else { format!("{pairs} cooks") };
        let step_of = |at: usize| bars.get(&at).map_or(0, |&(row, bar)| rows[row].bars[bar].step);
        let bars = busy.into_iter().map(|at| bar(told, plan, at, step_of(at), dish_of[at])).collect();
        rows.push(Row { label: "hands".into(), detail, bars });
    }
    let landings = (0..plan.landings.len()).map(|landing| landing_mark(told, found, landing)).collect();
    let links = chain(&told.planning.project, plan)
        .into_iter()
        .filter_map(|link| {
            let why = match link.why {
                LinkWhy::Gap(_) => "follows".into(),
                LinkWhy::Resource(resource) => format!("gets the {}", told.resource(resource)),
                LinkWhy::Apart(_) => "waits for another heat".into(),
            };
            Some(Connector { from: *bars.get(&link.from)?, to: *bars.get(&link.to)?, why })
        })
        .collect();
    let title = told.title();
    Timeline { title, clock: Some(told.clock.since_midnight()), now: None, dishes, rows, landings, links }
}

fn bar(told: &Told<'_>, plan: &Plan, at: usize, step: usize, dish: Option<usize>) -> Bar {
    let (planned, activity) = (&plan.activities[at], &told.planning.project.activities[at]);
    let lasts = activity.lasts;
    Bar {
        step,
        name: told.short_name(at),
        dish,
        kind: kind(told, at),
        standing: BarStanding::Open,
        start: planned.start,
        end: planned.end,
        ends: (!lasts.is_exact()).then(|| (planned.start + lasts.low, planned.start + lasts.high)),
        latest: Some(planned.latest),
        critical: planned.critical,
    }
}

fn kind(told: &Told<'_>, at: usize) -> BarKind {
    let heats = |until: &Until| matches!(until, Until::Heat { .. });
    let sets_up = match told.planning.sources[at] {
        Source::Preheat { .. } => true,
        Source::Step { wish, step } => told.wishes[wish].programme.step(step).is_some_and(|step| heats(&step.until)),
    };
    if sets_up {
        BarKind::SetsUp
    } else if told.needs_hands(at) {
        BarKind::Hands
    } else if told.planning.appliances[at].kind.heats() {
        BarKind::Cooks
    } else {
        BarKind::Waits
    }
}

/// What tells the bars apart: the trials if there are several, else the dishes.
fn dishes(told: &Told<'_>) -> (Vec<String>, Vec<Option<usize>>) {
    let sources = &told.planning.sources;
    if told.wishes.len() > 1 {
        let names = told.wishes.iter().map(|wish| wish.name.clone()).collect();
        let of = |source: &Source| match *source {
            Source::Step { wish, .. } | Source::Preheat { wish, .. } => Some(wish),
        };
        return (names, sources.iter().map(of).collect());
    }
    let programme = told.wishes[0].programme;
    let names = programme.dishes.iter().map(|dish| dish.name.clone()).collect();
    let of = |source: &Source| match source {
        Source::Step { step, .. } => {
            let dish = programme.stages[usize::from(step.stage)].dish.as_ref()?;
            programme.dishes.iter().position(|known| known.id == *dish)
        }
        Source::Preheat { .. } => None,
    };
    (names, sources.iter().map(of).collect())
}

/// `200 °C fan, 180 °C` for an oven, in the order of the plan.
fn heats(told: &Told<'_>, label: &str) -> String {
    let mut heats: Vec<String> = Vec::new();
    for (at, heat) in told.planning.heats.iter().enumerate() {
        let Some((heat, fan)) = heat.filter(|_| told.planning.appliances[at].to_string() == label) else { continue };
        let text = format!("{:.0} °C{}", heat.degrees(), if fan { " fan" } else { "" });
        if !heats.contains(&text) {
            heats.push(text);
        }
    }
    heats.join(", ")
}

fn landing_mark(told: &Told<'_>, found: &Found, landing: usize) -> LandingMark {
    let asked = &told.planning.project.landings[landing];
    LandingMark {
        name: asked.name.clone(),
        at: found.plan.landings[landing].at,
        likely: Some(eight_in_ten(found, landing)),
        wanted: asked.wanted,
    }
}

/// A moment of the day as a length of time since midnight.
pub(super) fn since_midnight(hour: i8, minute: i8, second: i8) -> Span {
    let secs = |part: i8, of: u64| u64::from(part.unsigned_abs()) * of;
    RunTime::from_millis(1000 * (secs(hour, 3600) + secs(minute, 60) + secs(second, 1))).since_start()
}
