use quantities::Span;

use super::prelude::*;
use crate::draft::DraftStep;

pub(super) const RULE: Rule = Rule {
    code: "alarm-flood",
    severity: Warning,
    title: "no more than 10 alerts in 10 minutes",
    why: "More is a flood: alerts are then answered unseen. The limit is the one that a good alarm system keeps (FAULTS.md 4).",
    bad: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "40 min" }
every = [{ time = "45 s", do = "TURN", press = true }]"#,
    good: r#"[[stage.step]]
id = "bake"
do = "Bake the bread."
until = { time = "40 min" }
every = [{ time = "45 s", do = "TURN" }]"#,
    level: Level::Whole,
    check,
};

fn check(checked: &Checked<'_>, found: &mut Findings<'_>) {
    let programme = checked.programme();
    let mut alerts: Vec<(u64, recipe_model::StepRef)> = Vec::new();
    for (at, _, step) in programme.steps() {
        if let Some((start, end)) = checked.plan.times.get(&at) {
            let moments = moments(step, end - start);
            alerts.extend(moments.into_iter().map(|moment| (start.saturating_add(moment), at)));
        }
    }
    alerts.sort();
    let window = Span::from_mins(10).millis();
    let worst = (0..alerts.len()).map(|i| {
        let until = alerts[i].0.saturating_add(window);
        (alerts[i..].iter().take_while(|(time, _)| *time < until).count(), core::cmp::Reverse(i))
    });
    let Some((count, core::cmp::Reverse(first))) = worst.max().filter(|(count, _)| *count > MOST) else { return };
    let (time, step) = alerts[first];
    let from = Span::from_millis(time / 60_000 * 60_000);
    let place = programme.step(step).map_or(0..0, DraftStep::place);
    let message = format!("expected at most {MOST} alerts in 10 min, found {count} from {from} on, by the usual times");
    found.add(
        place,
        message,
        "look less often, let rhythms go without a press, or let stages begin one after the other",
    );
}

const MOST: usize = 10;

/// When a step calls the cook, in milliseconds from its start, if it takes its usual time: looks up to then, its end,
/// and what happens inside. A rhythm without a press only ticks, and a warning before the end is a low sound.
fn moments(step: &DraftStep, usual: u64) -> Vec<u64> {
    let mut all = vec![usual];
    if let Some((looks, expect)) = step.end().filter(|_| step.core().is_none()).and_then(|end| end.looks()) {
        let window = looks.window(expect);
        all.extend(every(window.first.millis(), window.every.millis(), usual));
    }
    all.extend(step.timed.iter().filter_map(|event| event.time.as_ref()).map(|at| at.value.millis()));
    all.extend(step.half.iter().map(|_| usual / 2));
    for rhythm in step.every.iter().filter(|rhythm| rhythm.press) {
        let interval = rhythm.time.as_ref().map_or(0, |at| at.value.millis());
        all.extend(every(interval, interval, usual));
    }
    all
}

/// Moments from the first one on, before the end. Far more than a flood are not counted.
fn every(first: u64, interval: u64, end: u64) -> impl Iterator<Item = u64> {
    let count = if interval == 0 { 0 } else { 1000 };
    (0..count).map(move |i| first.saturating_add(interval.saturating_mul(i))).take_while(move |moment| *moment < end)
}
